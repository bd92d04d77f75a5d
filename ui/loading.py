"""What the window works with: the knowledge base and the store, made ready beside it; Qt-free."""

import os
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from ui import messages
from ui.settings import Places, Settings, author

if TYPE_CHECKING:  # loaded once the window is on the screen
    from knowledge.model import KnowledgeBase
    from ui.learned import Wording
    from ui.records import Records


def read_base(folders: list[Path]) -> "KnowledgeBase":
    """Read the knowledge base with a shop's own folders laid over it."""
    from knowledge.load import load_base

    return load_base(*folders)


class Loaded(NamedTuple):
    """What the window works with, and what is to be told about the store, in two sentences.

    `shipped` is the base as its files have it; `base` has the learned words of `wording`, if any.
    """

    base: "KnowledgeBase"
    records: "Records"
    trouble: tuple[str, str] | None
    shipped: "KnowledgeBase"
    wording: "Wording | None"


def load(places: Places, settings: Settings) -> Loaded:
    """Read the knowledge base and open the store; the engine is imported here as well.

    Raises
    ------
    KnowledgeError
        If the base can't be used.
    """
    import diagnose.planning.advice
    import diagnose.sentences  # noqa: F401 - the views find it imported
    from diagnose.records.connecting import sqlite_url
    from diagnose.records.errors import StoreError
    from ui.records import Records

    shipped = read_base([Path(folder) for folder in settings.overlays])
    wording = _wording(places, shipped) if settings.learning else None
    base = shipped if wording is None else wording[1]
    url, own = os.environ.get("PULL_ONCE_STORE") or settings.store, sqlite_url(places.store)
    by, trouble = author(settings), None
    try:
        records = Records(base, url or own, places.outbox, by)
    except StoreError as error:  # an address that is none
        records = Records(base, own, places.outbox, by)
        trouble = (f"{error.sentence} {messages.OWN_STORE}", error.next_step)
    try:
        trouble = trouble or _looked_after(records, places)
    except StoreError as error:
        trouble = (error.sentence, error.next_step)
    return Loaded(base, records, trouble, shipped, None if wording is None else wording[0])


def _looked_after(records: "Records", places: Places) -> tuple[str, str] | None:
    """See that the store is whole, and take old case files into it; gives what is to be told.

    Raises
    ------
    StoreError
        If it can't be used.
    """
    now = datetime.now().astimezone()
    care = records.look_after(now)
    unread = list(records.take_in_folder(places.cases, now.isoformat(timespec="minutes")))
    if care is not None and care.sentence:
        return care.sentence, care.next_step
    if unread:
        names = ", ".join(path.name for path in unread)
        return messages.NOT_TAKEN_IN.format(names=names), ""
    count = records.stranded()
    if count:
        return messages.STRANDED.format(count=count), messages.STRANDED_NEXT
    return None


def _wording(places: Places, shipped: "KnowledgeBase") -> "tuple[Wording, KnowledgeBase] | None":
    """Give the learned words that are kept, and the base with them; None if there are none."""
    from ui.learned import applied, read_wording

    wording = read_wording(places.learned)
    if wording is None:
        return None
    base = applied(shipped, wording)
    return None if base is shipped else (wording, base)
