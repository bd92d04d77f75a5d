"""The case store: cases as numbered changes, in an SQLite file or in PostgreSQL.

`patches` and `merging` are pure. SQLAlchemy is imported by `store` and what it stands on, and
nobody imports those before the window is shown.
"""
