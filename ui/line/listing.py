"""The rows of the list of cases, and the order they keep while somebody works through them."""

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.records.glances import Glance
from diagnose.records.kept import Listed, State
from diagnose.records.store import Store
from knowledge.model import KnowledgeBase
from ui.line.moments import by_whom, sentence

UNNAMED = "Case without a name"
_WORDS = 80  # letters of the driver's own words, where no complaint is noted


@dataclass(frozen=True)
class Found:
    """A case of the list, with what its driver complains of."""

    listed: Listed
    glance: Glance


@dataclass(frozen=True)
class Row:
    """One row: its title, and what stands below it, line by line.

    Attributes
    ----------
    id, title : str
    lines : tuple of str
        Complaint; state and answers so far; who and when.
    here : bool
        Whether it is the case on the screen.
    closed : bool
    """

    id: str
    title: str
    lines: tuple[str, ...]
    here: bool
    closed: bool


def look_up(store: Store, words: str, state: State | None, limit: int) -> tuple[Found, ...]:
    """Find the cases of one page of the list; slow stores make this one wait, not the window.

    Parameters
    ----------
    store : Store
    words : str
        Beginnings of words, all of which a case must have.
    state : State or None
        Only cases in this state; all if None.
    limit : int

    Raises
    ------
    StoreError
        If the store can't be asked.
    """
    listed = store.find(words, () if state is None else (state,), limit)
    known = store.glances([case.id for case in listed])
    return tuple(Found(case, known.get(case.id, Glance((), ""))) for case in listed)


def steady(before: Sequence[str], found: Sequence[Found]) -> tuple[Found, ...]:
    """Keep cases where they stood, so that none moves under the hands; new ones come on top.

    Parameters
    ----------
    before : sequence of str
        Ids in the order they were shown in.
    found : sequence of Found
        In the order of the store: changed last first.
    """
    places = {case_id: place for place, case_id in enumerate(before)}
    return tuple(sorted(found, key=lambda f: places.get(f.listed.id, -1)))


def rows(base: KnowledgeBase, found: Sequence[Found], open_id: str, now: str) -> tuple[Row, ...]:
    """Say what stands in the list.

    Parameters
    ----------
    base : KnowledgeBase
    found : sequence of Found
    open_id : str
        Id of the case on the screen; empty if it is not in the store.
    now : str
    """
    return tuple(_row(base, one, now, here=one.listed.id == open_id) for one in found)


def _row(base: KnowledgeBase, found: Found, now: str, *, here: bool) -> Row:
    listed = found.listed
    lines = (
        complaint_words(base, found.glance),
        f"{sentence(listed.state)}, {answers_words(listed.answers)}",
        by_whom(listed.by, listed.updated, now),
    )
    return Row(
        listed.id,
        listed.title or UNNAMED,
        tuple(line for line in lines if line),
        here,
        listed.state is State.CLOSED,
    )


def complaint_words(base: KnowledgeBase, glance: Glance) -> str:
    """Name the complaints, or else quote the driver; empty where he has said nothing."""
    names = [base.complaints[c].name for c in glance.complaints if c in base.complaints]
    if names:
        return sentence(", ".join(names))
    words = " ".join(glance.words.split())
    if not words:
        return ""
    return f"“{words}”" if len(words) <= _WORDS else f"“{words[:_WORDS].rstrip()} …”"


def answers_words(count: int) -> str:
    """Say how many answers a case holds."""
    return "1 answer" if count == 1 else f"{count} answers"
