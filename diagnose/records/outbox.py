"""What is kept while the server does not answer: here first, sent in order later.

An item leaves the file only once the server has said that it holds it. Each carries its token, so
one that was sent twice, for the answer was lost on the way, counts once. What a seat made upon an
item that is still here is merged upon that item's case, not upon what the server held before.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path

from diagnose.records.errors import StoreError
from diagnose.records.items import (
    ITEM,
    PHOTO,
    Item,
    PhotoItem,
    case_text,
    item_from,
    photo_from,
    photo_text,
)

MAX_PHOTOS_BYTES = 256 * 2**20

_FORMAT = 1
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
# Format 0 had the table as above.
_SINCE = (
    "ALTER TABLE items ADD COLUMN was TEXT NOT NULL DEFAULT 'open'",
    "ALTER TABLE items ADD COLUMN state TEXT NOT NULL DEFAULT 'open'",
    "ALTER TABLE items ADD COLUMN picture BLOB",
)
_ANY = "SELECT 1 FROM items WHERE case_id = ? AND picture IS NULL"


class Outbox:
    """The items of one seat in an SQLite file, in the order they were made.

    Every method raises `StoreError` if the file can't be used.
    """

    def __init__(self, path: Path) -> None:
        self._path = path

    def put(self, item: Item) -> None:
        """Keep an item; it is on disk when this returns. One with a known token is there once."""
        base = None if item.base is None else case_text(item.base)
        states = str(item.was), str(item.state)
        row = (item.token, item.case_id, item.seen, case_text(item.case), base, *states)
        with self._file() as file:
            file.execute(
                "INSERT OR IGNORE INTO items "
                '(token, case_id, seen, content, base, was, state, "by", at) '
                "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (*row, item.by, item.at),
            )

    def put_photo(
        self,
        token: str,
        case_id: str,
        data: bytes,
        texts: tuple[str, str, str],
        who: tuple[str, str],
    ) -> None:
        """Keep a photograph of a case; the very same one is there once.

        Parameters
        ----------
        token, case_id : str
        data : bytes
        texts : (str, str, str)
            Name, caption and kind.
        who : (str, str)
            Who adds it, and when.

        Raises
        ------
        StoreError
            If too many wait already.
        """
        digest = sha256(data).hexdigest()
        content = photo_text(*texts, digest)
        with self._file() as file:
            if any(photo.sha256 == digest for photo in _photos(file, case_id)):
                return
            (waiting,) = file.execute("SELECT total(length(picture)) FROM items").fetchone()
            if waiting + len(data) > MAX_PHOTOS_BYTES:
                raise StoreError(
                    f"{waiting / 2**20:.0f} MB of photographs wait for the server already; "
                    f"{texts[0]} was not added.",
                    "Nothing else is lost: add it again once the server is back.",
                )
            file.execute(
                'INSERT INTO items (token, case_id, content, "by", at, picture) '
                "VALUES (?, ?, ?, ?, ?, ?)",
                (token, case_id, content, *who, data),
            )

    def tokens(self) -> tuple[tuple[str, str], ...]:
        """Give token and case of all that waits, in its order."""
        with self._file() as file:
            return tuple(file.execute("SELECT token, case_id FROM items ORDER BY place"))

    def item(self, token: str) -> Item | PhotoItem | None:
        """Give what waits under a token; None if it does not any more."""
        with self._file() as file:
            row = file.execute(
                f"SELECT {ITEM}, picture IS NULL FROM items WHERE token = ?", (token,)
            ).fetchone()
            if row is None:
                return None
            if row[-1]:
                return item_from(row[:-1])
            photo = f"SELECT {PHOTO} FROM items WHERE token = ?"
            return photo_from(file.execute(photo, (token,)).fetchone())

    def latest(self, case_id: str) -> Item | None:
        """Give the last change of a case that waits; None if none does."""
        with self._file() as file:
            row = file.execute(
                f"SELECT {ITEM} FROM items WHERE case_id = ? AND picture IS NULL "
                "ORDER BY place DESC LIMIT 1",
                (case_id,),
            ).fetchone()
        return None if row is None else item_from(row)

    def waits(self, case_id: str) -> bool:
        """Whether a change of a case waits; its photographs do not count."""
        with self._file() as file:
            return file.execute(f"{_ANY} LIMIT 1", (case_id,)).fetchone() is not None

    def begins(self, case_id: str) -> bool:
        """Whether a case waits that the server has never had."""
        with self._file() as file:
            query = f"{_ANY} AND seen IS NULL LIMIT 1"
            return file.execute(query, (case_id,)).fetchone() is not None

    def refused(self) -> tuple[tuple[str, str], ...]:
        """Give token and reason of all that the server's store did not take."""
        with self._file() as file:
            query = "SELECT token, refused FROM items WHERE refused <> '' ORDER BY place"
            return tuple(file.execute(query))

    def photos(self, case_id: str) -> tuple[PhotoItem, ...]:
        """List the photographs of a case that wait, in their order."""
        with self._file() as file:
            return _photos(file, case_id)

    def photo(self, place: int) -> PhotoItem:
        """Give a photograph that waits, without its bytes.

        Raises
        ------
        StoreError
            If it does not wait any more.
        """
        with self._file() as file:
            query = f"SELECT {PHOTO} FROM items WHERE place = ? AND picture IS NOT NULL"
            row = file.execute(query, (place,)).fetchone()
        if row is None:
            raise _sent_by_now()
        return photo_from(row)

    def picture(self, place: int) -> bytes:
        """Give the bytes of a photograph that waits.

        Raises
        ------
        StoreError
            If it does not any more.
        """
        with self._file() as file:
            row = file.execute("SELECT picture FROM items WHERE place = ?", (place,)).fetchone()
        if row is None or row[0] is None:
            raise _sent_by_now()
        return bytes(row[0])

    def caption(self, photo: PhotoItem, words: str) -> None:
        """Write what a photograph that waits shows."""
        content = photo_text(photo.name, words, photo.kind, photo.sha256)
        with self._file() as file:
            update = "UPDATE items SET content = ? WHERE token = ?"
            file.execute(update, (content, photo.token))

    def done(self, token: str) -> None:
        """Let go of an item that the server holds, or nobody wants any more."""
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
                # Not WAL: on a full disc that could not even be read, for want of its index.
                file.execute("PRAGMA journal_mode=TRUNCATE")
                file.execute("PRAGMA synchronous=FULL")
                file.execute("BEGIN IMMEDIATE")
                _bring_up(file)
                yield file
                file.execute("COMMIT")
            finally:
                file.close()
        except (sqlite3.Error, OSError) as error:
            raise StoreError(
                f"What waits for the server could not be kept or read in {self._path}: {error}.",
                "Free some space and see that the folder may be written to; what is on the "
                "screen is not lost while it is open.",
            ) from error


def _bring_up(file: sqlite3.Connection) -> None:
    """Give the file the newest format.

    Raises
    ------
    StoreError
        If it has a newer one.
    """
    (there,) = file.execute("PRAGMA user_version").fetchone()
    if there > _FORMAT:
        raise StoreError(
            "What waits for the server was written by a newer version of the program.",
            "Update the program; what waits is unchanged.",
        )
    if there < _FORMAT:
        for statement in (_TABLE, *_SINCE, f"PRAGMA user_version = {_FORMAT}"):
            file.execute(statement)


def _photos(file: sqlite3.Connection, case_id: str) -> tuple[PhotoItem, ...]:
    query = f"SELECT {PHOTO} FROM items WHERE case_id = ? AND picture IS NOT NULL ORDER BY place"
    return tuple(photo_from(row) for row in file.execute(query, (case_id,)))


def _sent_by_now() -> StoreError:
    return StoreError("This photo has been sent to the server.", "Open the photographs again.")
