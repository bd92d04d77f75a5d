"""Where the store is, and how it is reached: an SQLite file or PostgreSQL, by URL."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from diagnose.records.errors import StoreError
from diagnose.records.troubles import in_our_words

_APP = "pull-once"
_FILE = "cases.sqlite"
_PATIENCE = 5.0
# A server whose machine is gone says nothing at all: without these, TCP waits for a quarter of an
# hour. PostgreSQL 15, sections 34.1.2 and 20.11.
_SERVER = {
    "connect_timeout": 5,
    "keepalives_idle": 10,
    "keepalives_interval": 5,
    "keepalives_count": 3,
    "tcp_user_timeout": 20_000,
    "options": "-c lock_timeout=10s -c client_encoding=UTF8",
}
_PRAGMAS = ("journal_mode=WAL", "foreign_keys=ON", "synchronous=FULL")


def default_url() -> str:
    """Give the store's URL: ``PULL_ONCE_STORE``, else an SQLite file in the user's data folder.

    ``PULL_ONCE_HOME`` moves that folder, as it does all others of the program.
    """
    url = os.environ.get("PULL_ONCE_STORE")
    if url:
        return url
    home = os.environ.get("PULL_ONCE_HOME")
    if home:
        return sqlite_url(Path(home, "data", _FILE))
    import platformdirs

    return sqlite_url(platformdirs.user_data_path(_APP, appauthor=False) / _FILE)


def sqlite_url(path: Path) -> str:
    """Give the URL of an SQLite file."""
    return URL.create("sqlite", database=str(path)).render_as_string()


def sqlite_file(url: str) -> Path | None:
    """Give the file of a URL; None if it is that of a server."""
    found = _parsed(url)
    return Path(found.database) if _is_sqlite(found) and found.database else None


def connect(url: str) -> Engine:
    """Give the engine of a store; nothing is asked of it yet.

    Raises
    ------
    StoreError
        If the URL is none, or its folder can't be made.
    """
    found = _parsed(url)
    if _is_sqlite(found):
        return _sqlite(found)
    arguments = {k: v for k, v in _SERVER.items() if k not in found.query}
    found = found.set(drivername="postgresql+psycopg")
    # Asked before each use: after a server was away its old connections are replaced.
    return create_engine(found, connect_args=arguments, pool_pre_ping=True)


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Give a connection that reads one state of the store.

    Raises
    ------
    StoreError
        As `diagnose.records.troubles` says.
    """
    options = {} if engine.dialect.name == "sqlite" else {"isolation_level": "REPEATABLE READ"}
    with in_our_words(engine.url), engine.connect() as connection:
        connection.execution_options(**options)
        with connection.begin():
            yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Give a connection that writes; what it wrote is on disk once the context is left.

    Raises
    ------
    StoreError
        As `diagnose.records.troubles` says; then nothing was written.
    """
    with in_our_words(engine.url), engine.connect() as connection:
        connection.execution_options(writes=True)
        with connection.begin():
            yield connection


def _parsed(url: str) -> URL:
    try:
        found = make_url(url)
    except (ArgumentError, ValueError) as error:
        raise _no_url() from error
    if found.get_backend_name() not in {"sqlite", "postgresql"}:
        raise _no_url()
    if _is_sqlite(found) and found.database in (None, "", ":memory:"):
        raise StoreError(
            "The store's address names no file, so every case would be gone with the window.",
            "Write where the file is, as sqlite:////folder/cases.sqlite.",
        )
    return found


def _no_url() -> StoreError:
    return StoreError(
        "The store's address can't be used: it begins with neither sqlite:// nor postgresql://.",
        "Correct PULL_ONCE_STORE, as sqlite:////folder/cases.sqlite or "
        "postgresql://name@server/store.",
    )


def _is_sqlite(url: URL) -> bool:
    return url.get_backend_name() == "sqlite"


def _sqlite(url: URL) -> Engine:
    path = Path(url.database or "")
    if "uri" not in url.query:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise StoreError(
                f"The store's folder can't be made: {path.parent}.",
                "Choose another place for it in PULL_ONCE_STORE.",
            ) from error
    arguments = {} if "timeout" in url.query else {"timeout": _PATIENCE}
    engine = create_engine(url.set(drivername="sqlite+pysqlite"), connect_args=arguments)
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def _prepare(connection: Any, _record: object) -> None:
    """Let transactions begin where we say so, and see that a commit is on disk."""
    connection.isolation_level = None
    for pragma in _PRAGMAS:
        connection.execute(f"PRAGMA {pragma}")


def _begin(connection: Connection) -> None:
    """Take the right to write at once: two who read first would block each other later."""
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
