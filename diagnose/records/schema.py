"""The store's schema brought up to date, by Alembic and from code."""

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from diagnose.records.connecting import reading, writing
from diagnose.records.errors import StoreError
from diagnose.records.troubles import place_of

SCHEMAS = ("1",)
"""Every schema there ever was, the newest last."""

_TABLE = "alembic_version"
_LOCK = 7_202_611  # any number, the same for all seats


def bring_up(engine: Engine) -> None:
    """Bring a store to the newest schema; an empty one gets all tables.

    Raises
    ------
    StoreError
        If it has a newer schema, or is a database of something else; it is unchanged.
    """
    with reading(engine) as connection:
        if _schema(connection) == SCHEMAS[-1]:
            return
    with writing(engine) as connection:
        if engine.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
        if _schema(connection) != SCHEMAS[-1]:  # another seat may have been first
            _upgrade(connection)


def _schema(connection: Connection) -> str | None:
    """Give the schema of a store; None for an empty one."""
    there = inspect(connection)
    place = place_of(connection.engine.url)
    if not there.has_table(_TABLE):
        if there.get_table_names():
            raise StoreError(
                f"This is no store of cases: {place}.", "Choose another one in PULL_ONCE_STORE."
            )
        return None
    schema = connection.execute(text(f"SELECT version_num FROM {_TABLE}")).scalar()
    if schema is None or schema in SCHEMAS:
        return schema
    raise StoreError(
        f"The store was made by a newer version of the program "
        f"(schema {schema}, this one knows up to {SCHEMAS[-1]}): {place}.",
        "Update the program; the store is unchanged.",
    )


def _upgrade(connection: Connection) -> None:
    from alembic.config import Config
    from alembic.runtime.environment import EnvironmentContext
    from alembic.script import ScriptDirectory

    script = ScriptDirectory(str(Path(__file__).parent / "migrations"))
    steps = EnvironmentContext(
        Config(), script, fn=lambda schema, _: script._upgrade_revs(SCHEMAS[-1], schema)
    )
    with steps:
        # Both engines undo DDL, so a migration is all or nothing, in our transaction.
        steps.configure(connection=connection, transactional_ddl=True)
        steps.run_migrations()
