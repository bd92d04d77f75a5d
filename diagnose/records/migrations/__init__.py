"""Alembic's migrations of the store; `diagnose.records.schema` runs them."""
