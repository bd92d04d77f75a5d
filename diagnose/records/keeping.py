"""An SQLite store looked after at each start: is it whole, and when was it backed up last.

One backup a day, made whole beside and then moved in; the seven newest stay, and of each of the
four weeks before them the newest. A damaged file is never written to again: it is set aside, with
its journal, and the newest backup that is whole takes its place. Only `sqlite3` is needed, so
this can be done while the window is shown already and before SQLAlchemy is imported.
"""

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from pathlib import Path

from diagnose.records.errors import StoreError

DAYS = 7
WEEKS = 4
_DAMAGE = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}
_JOURNALS = ("", "-wal", "-shm")


class Outcome(StrEnum):
    """What came of looking after the store."""

    NEW = "there was no store yet"
    WHOLE = "whole, and backed up today already"
    BACKED_UP = "whole, and backed up now"
    NOT_BACKED_UP = "whole, but it could not be backed up"
    RESTORED = "damaged; a backup took its place"
    STARTED_ANEW = "damaged, and no backup was whole"


@dataclass(frozen=True)
class Care:
    """What was done for the store.

    Attributes
    ----------
    outcome : Outcome
    sentence, next_step : str
        What to tell the user; empty where all is well.
    backup : Path or None
        The backup that was made, or that took the store's place.
    aside : Path or None
        Where the damaged file lies now.
    """

    outcome: Outcome
    sentence: str = ""
    next_step: str = ""
    backup: Path | None = None
    aside: Path | None = None


def look_after(path: Path, now: datetime) -> Care:
    """See that an SQLite store is whole, and back it up once a day.

    Parameters
    ----------
    path : Path
        The store; its backups lie in the folder ``backups`` beside it.
    now : datetime
        Local time: it names the backup.

    Returns
    -------
    Care

    Raises
    ------
    StoreError
        If the file can't be read, or a damaged one can't be set aside.
    """
    there = backups(path)
    if not path.exists() and not there:
        return Care(Outcome.NEW)
    if not is_whole(path, store=bool(there)):
        return _restore(path, now)
    today = _backup_path(path, now.date())
    if today in there:
        return Care(Outcome.WHOLE, backup=today)
    try:
        _back_up(path, today)
        for old in _outlived(backups(path)):
            old.unlink()
    except (OSError, sqlite3.Error) as error:
        return Care(
            Outcome.NOT_BACKED_UP,
            f"The cases are safe, but today's backup could not be made: {error}.",
            f"Free some space, or see that {today.parent} may be written to.",
        )
    return Care(Outcome.BACKED_UP, backup=today)


def look_after_outbox(path: Path, now: datetime) -> Care | None:
    """See that what waits for a server can be read; a damaged file is set aside.

    Parameters
    ----------
    path : Path
        Of the outbox; there need be none.
    now : datetime
        Local time: it names the damaged file.

    Returns
    -------
    Care or None
        None where all is well.

    Raises
    ------
    StoreError
        If the file can't be read for another reason than damage, or not be set aside.
    """
    if not path.exists() or is_whole(path, store=False):
        return None
    with _said_of(path):
        aside = _set_aside(path, now)
    kept = "" if aside is None else f" The damaged file is kept as {aside.name}."
    return Care(
        Outcome.STARTED_ANEW,
        "What waited here for the server could not be read and was set aside.",
        f"Look through the cases of the last days for answers that are missing.{kept}",
        aside=aside,
    )


def backups(path: Path) -> tuple[Path, ...]:
    """List the backups of a store, the newest first."""
    found = (path.parent / "backups").glob(f"{path.stem}-*{path.suffix}")
    return tuple(sorted((f for f in found if _date_of(f)), key=lambda f: f.stem, reverse=True))


def is_whole(path: Path, *, store: bool = True) -> bool:
    """Whether an SQLite file can be read to the end.

    Parameters
    ----------
    path : Path
    store : bool
        Whether it must hold a store as well: an empty file is whole to SQLite.

    Raises
    ------
    StoreError
        If it can't be read for another reason than damage.
    """
    if not path.exists():
        return False
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=rw", uri=True)) as file:
            said = [row[0] for row in file.execute("PRAGMA integrity_check")]
            stray = file.execute("PRAGMA foreign_key_check").fetchall()
            tables = [row[0] for row in file.execute("SELECT name FROM sqlite_master")]
    except sqlite3.DatabaseError as error:
        if getattr(error, "sqlite_errorcode", 0) & 0xFF in _DAMAGE:
            return False
        raise StoreError(
            f"The store can't be checked: {path}: {error}.",
            "Close other programs that use it, see that it may be read and that the disc is not "
            "full, and start again.",
        ) from error
    return said == ["ok"] and not stray and ("cases" in tables or not store)


def _back_up(path: Path, backup: Path) -> None:
    """Write a backup whole, or not at all."""
    backup.parent.mkdir(exist_ok=True)
    part = backup.with_name(backup.name + ".part")
    part.unlink(missing_ok=True)
    try:
        with closing(sqlite3.connect(path)) as file:
            file.execute("VACUUM INTO ?", (str(part),))
        _move_in(part, backup)
    finally:
        part.unlink(missing_ok=True)


def _restore(path: Path, now: datetime) -> Care:
    """Set a damaged or missing file aside and put the newest whole backup in its place."""
    with _said_of(path):
        aside = _set_aside(path, now)
        backup = next((b for b in backups(path) if is_whole(b)), None)
        if backup is not None:
            part = path.with_name(path.name + ".part")
            shutil.copyfile(backup, part)
            _move_in(part, path)
    what = "could not be read and was set aside" if aside else "was missing"
    kept = f"The damaged file is kept as {aside.name}" if aside else "Nothing else was changed"
    if backup is None:
        return Care(
            Outcome.STARTED_ANEW,
            f"The store of cases {what}; no backup was whole, so it starts empty.",
            f"{kept}; somebody who knows SQLite may get cases out of it.",
            aside=aside,
        )
    return Care(
        Outcome.RESTORED,
        f"The store of cases {what}; the backup of {_date_of(backup)} took its place.",
        f"Look through the cases changed since that day. {kept}.",
        backup,
        aside,
    )


@contextmanager
def _said_of(path: Path) -> Iterator[None]:
    """Say of a damaged file that it could not be set aside, or replaced."""
    try:
        yield
    except OSError as error:
        raise StoreError(
            f"The store is damaged and could not be set aside: {path}: {error.strerror}.",
            "See that its folder may be written to, and start again.",
        ) from error


def _set_aside(path: Path, now: datetime) -> Path | None:
    """Rename a damaged file with its journals; gives its new name, None if there was none."""
    name = f"{path.stem}-damaged-{now:%Y%m%d-%H%M%S}{path.suffix}"
    aside = path.with_name(name)
    for ending in _JOURNALS:
        journal = path.with_name(path.name + ending)
        if journal.exists():
            journal.rename(aside.with_name(name + ending))
    return aside if aside.exists() else None


def _move_in(part: Path, path: Path) -> None:
    """Put a finished file in place once it is on disk."""
    with part.open("rb+") as file:
        os.fsync(file.fileno())
    part.replace(path)


def _backup_path(path: Path, day: date) -> Path:
    return path.parent / "backups" / f"{path.stem}-{day:%Y-%m-%d}{path.suffix}"


def _date_of(backup: Path) -> date | None:
    try:
        return date.fromisoformat(backup.stem[-10:])
    except ValueError:
        return None


def _outlived(newest_first: tuple[Path, ...]) -> Iterator[Path]:
    """Give the backups that are neither of the newest days nor the newest of a week before."""
    weeks: dict[tuple[int, int], Path] = {}
    older = newest_first[DAYS:]
    for backup in older:
        day = _date_of(backup)
        if day is not None:
            weeks.setdefault(day.isocalendar()[:2], backup)
    kept = list(weeks.values())[:WEEKS]
    yield from (backup for backup in older if backup not in kept)
