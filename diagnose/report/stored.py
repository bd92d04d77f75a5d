"""A case of the store, as a report tells it: found by words, with its photographs."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from diagnose.case import Case
from diagnose.errors import PullOnceError
from diagnose.records.kept import KeptConflict
from diagnose.report.record import Photograph

if TYPE_CHECKING:
    from diagnose.records.album import Album
    from diagnose.records.store import Store

_NAMED = 5  # so many cases that the words find are named


@dataclass(frozen=True)
class Stored:
    """A case with all that a report tells beside it.

    Attributes
    ----------
    case : Case
    photographs : tuple of Photograph
    conflicts : tuple of KeptConflict
        Those that nobody has settled.
    """

    case: Case
    photographs: tuple[Photograph, ...]
    conflicts: tuple[KeptConflict, ...] = ()


def stored_case(url: str, words: str) -> Stored:
    """Give the one case of a store that has some words, and what belongs to it.

    Parameters
    ----------
    url : str
        Of the store; a file that is not there is not made.
    words : str
        Beginnings of words; the case must have all of them.

    Raises
    ------
    PullOnceError
        If none or several cases have them, or the store can't be read.
    """
    from diagnose.records.connecting import sqlite_file
    from diagnose.records.store import open_store

    file = sqlite_file(url)
    if file is not None and not file.exists():
        raise _unknown(words)
    store = open_store(url)
    try:
        case_id = _found(store, words)
        kept = store.read(case_id)
        return Stored(kept.case, photographs_of(store, case_id), kept.conflicts)
    finally:
        store.close()


def _found(store: "Store", words: str) -> str:
    """Give the id of the one case that words find."""
    listed = store.find(words, limit=_NAMED + 1)
    if not listed:
        raise _unknown(words)
    if len(listed) > 1:
        titles = "; ".join(case.title or "a case without a title" for case in listed[:_NAMED])
        more = "; and more" if len(listed) > _NAMED else ""
        raise PullOnceError(
            f"Several cases of the store have these words: {titles}{more}.",
            "Use words that only one of them has.",
        )
    return listed[0].id


def _unknown(words: str) -> PullOnceError:
    return PullOnceError(
        f"There is no file {words}, and no case of the store has these words.",
        "Name a case file, or words of the case's title.",
    )


def photographs_of(album: "Album", case_id: str) -> tuple[Photograph, ...]:
    """Give the photographs of a case of the store as a report prints them.

    Raises
    ------
    StoreError
        If one can't be read.
    """
    return tuple(Photograph(p.name, p.caption, album.photo(p.id)) for p in album.photos(case_id))
