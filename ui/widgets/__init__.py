"""Pieces of a screen that know Qt and nothing of clutches."""
