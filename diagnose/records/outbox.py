"""What is saved while the server does not answer: kept here first, sent in order later.

An item leaves the file only once the server has said that it holds it. Each carries its token, so
one that was sent twice, for the answer was lost on the way, counts once. What a seat made upon an
item that is still here is merged upon that item's case, not upon what the server held before.
"""

import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from diagnose.case import Case
from diagnose.records.errors import StoreError
from diagnose.records.patches import data_of

_TABLE = """
CREATE TABLE IF NOT EXISTS items (
    place INTEGER PRIMARY KEY AUTOINCREMENT,
    token TEXT NOT NULL UNIQUE,
    case_id TEXT NOT NULL,
    seen INTEGER,
    content TEXT NOT NULL,
    base TEXT,
    "by" TEXT NOT NULL,
    at TEXT NOT NULL,
    refused TEXT NOT NULL DEFAULT ''
)
"""


@dataclass(frozen=True)
class Item:
    """A change that waits to be sent.

    Attributes
    ----------
    token, case_id, by, at : str
    seen : int or None
        The change the seat knew; None for a case that is new.
    case : Case
    base : Case or None
        What the seat began with, where the server never held it.
    refused : str
        Why the server's store did not take it; empty while it was not tried.
    """

    token: str
    case_id: str
    seen: int | None
    case: Case
    base: Case | None
    by: str
    at: str
    refused: str = ""


class Outbox:
    """The items of one seat in an SQLite file, in the order they were made."""

    def __init__(self, path: Path) -> None:
        self._path = path
        with self._file() as file:
            file.execute(_TABLE)

    def put(self, item: Item) -> None:
        """Keep an item; it is on disk when this returns. One with a known token is there once."""
        base = None if item.base is None else _text(item.base)
        row = (item.token, item.case_id, item.seen, _text(item.case), base, item.by, item.at)
        with self._file() as file:
            file.execute(
                'INSERT OR IGNORE INTO items (token, case_id, seen, content, base, "by", at) '
                "VALUES (?, ?, ?, ?, ?, ?, ?)",
                row,
            )

    def items(self) -> tuple[Item, ...]:
        """Give all items in their order."""
        with self._file() as file:
            rows = file.execute(
                'SELECT token, case_id, seen, content, base, "by", at, refused FROM items '
                "ORDER BY place"
            ).fetchall()
        return tuple(_item(row) for row in rows)

    def done(self, token: str) -> None:
        """Let go of an item that the server holds."""
        with self._file() as file:
            file.execute("DELETE FROM items WHERE token = ?", (token,))

    def refuse(self, token: str, sentence: str) -> None:
        """Note why the server's store does not take an item; it stays in the file."""
        with self._file() as file:
            file.execute("UPDATE items SET refused = ? WHERE token = ?", (sentence, token))

    @contextmanager
    def _file(self) -> Iterator[sqlite3.Connection]:
        """Give the file for one transaction, of whatever thread."""
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            file = sqlite3.connect(self._path, isolation_level=None)
            try:
                file.execute("PRAGMA journal_mode=WAL")
                file.execute("PRAGMA synchronous=FULL")
                file.execute("BEGIN IMMEDIATE")
                yield file
                file.execute("COMMIT")
            finally:
                file.close()
        except (sqlite3.Error, OSError) as error:
            raise StoreError(
                f"What waits for the server could not be kept in {self._path}: {error}.",
                "Free some space and see that the folder may be written to; what is on the "
                "screen is not lost while it is open.",
            ) from error


def _item(row: tuple[Any, ...]) -> Item:
    token, case_id, seen, content, base, by, at, refused = row
    began = None if base is None else Case.model_validate(json.loads(base))
    case = Case.model_validate(json.loads(content))
    return Item(token, case_id, seen, case, began, by, at, refused)


def _text(case: Case) -> str:
    return json.dumps(data_of(case))
