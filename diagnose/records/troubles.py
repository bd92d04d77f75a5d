"""What a database engine complains of, in our words and with a next step."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.engine import URL
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from diagnose.records.errors import ServerLostError, StoreError

_SENTENCES = {
    "full": (
        "The disc is full, so this change was not kept.",
        "Free some space and try again; what is on the screen is not lost while it is open.",
    ),
    "failing": (
        "The disc is full or failing, so the store at {place} can't be used now.",
        "Free some space and try again; what is on the screen is not lost while it is open.",
    ),
    "readonly": (
        "The store can only be read here, so this change was not kept.",
        "Ask for the right to write to {place}, or choose another store.",
    ),
    "closed": (
        "The store can't be opened: {place}.",
        "Check that its folder is there and may be written to, or choose another store.",
    ),
    "locked": (
        "Another program holds the store, so this change was not kept.",
        "Wait a moment and try again; close other programs that use {place}.",
    ),
    "damaged": (
        "The store is damaged: {place}.",
        "Start the program again: it sets the file aside and takes the newest good backup.",
    ),
    "refused": (
        "The server does not let this user in, or has no such store: {place}.",
        "Check name, password and the store's name in PULL_ONCE_STORE.",
    ),
    "lost": (
        "The store's server does not answer: {place} ({reason}).",
        "Check PULL_ONCE_STORE, the network and the server; what was not kept can be sent again "
        "without harm.",
    ),
}
_UNKNOWN = (
    "The store at {place} could not do that: {reason}.",
    "Nothing was changed; try again, and if it stays so, start the program anew.",
)
# https://sqlite.org/rescode.html, primary codes
_SQLITE = {
    sqlite3.SQLITE_BUSY: "locked",
    sqlite3.SQLITE_LOCKED: "locked",
    sqlite3.SQLITE_READONLY: "readonly",
    sqlite3.SQLITE_PERM: "closed",
    sqlite3.SQLITE_CANTOPEN: "closed",
    sqlite3.SQLITE_FULL: "full",
    sqlite3.SQLITE_IOERR: "failing",  # WAL without room for its index says this, not "full"
    sqlite3.SQLITE_CORRUPT: "damaged",
    sqlite3.SQLITE_NOTADB: "damaged",
}
# PostgreSQL 15, appendix A; the first that fits counts.
_SQLSTATE = {
    "53100": "full",
    "25006": "readonly",
    "42501": "readonly",
    "55P03": "locked",
    "40P01": "locked",
    "3D000": "refused",
    "28": "refused",
    "08": "lost",
    "57P": "lost",
    "53300": "lost",
}
_LOST = ("lost", "refused")


@contextmanager
def in_our_words(url: URL) -> Iterator[None]:
    """Turn what SQLAlchemy raises into a `StoreError`.

    Raises
    ------
    ServerLostError
        If the server does not answer.
    StoreError
        If the disc is full, the store is locked, damaged, or may only be read.
    """
    try:
        yield
    except PoolTimeout as error:
        raise _error("locked", error, url) from error
    except DBAPIError as error:
        raise _error(_kind(error), error, url) from error
    except SQLAlchemyError as error:
        raise _error(None, error, url) from error


def place_of(url: URL) -> str:
    """Say where a store is, without its password."""
    if url.get_backend_name() == "sqlite":
        return (url.database or "").removeprefix("file:").partition("?")[0]
    return f"{url.database} on {url.host or url.query.get('host', 'this machine')}"


def _kind(error: DBAPIError) -> str | None:
    code = getattr(error.orig, "sqlite_errorcode", None)
    if isinstance(code, int):
        return _SQLITE.get(code & 0xFF)
    state = getattr(error.orig, "sqlstate", None)
    if state:
        return next((kind for start, kind in _SQLSTATE.items() if state.startswith(start)), None)
    # A connection that could not be made, or broke, has no code of the server's.
    connection = type(error.orig).__name__ in {"OperationalError", "ConnectionTimeout"}
    return "lost" if connection or error.connection_invalidated else None


def _error(kind: str | None, error: SQLAlchemyError, url: URL) -> StoreError:
    lines = str(getattr(error, "orig", None) or error).strip().splitlines()
    words = {"place": place_of(url), "reason": lines[0] if lines else type(error).__name__}
    sentence, step = (text.format(**words) for text in _SENTENCES.get(kind or "", _UNKNOWN))
    return (ServerLostError if kind in _LOST else StoreError)(sentence, step)
