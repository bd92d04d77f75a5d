"""The rows of the list of cases, and the order they keep while somebody works through them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diagnose.records.glances import Glance
from diagnose.records.kept import Listed, State
from diagnose.records.store import Store
from knowledge.model import KnowledgeBase
from ui.line.moments import brief, sentence

UNNAMED = "Case without a name"
_WORDS = 80  # letters of the driver's own words, where no complaint is noted


@dataclass(frozen=True)
class Found:
    """A case of the list, with what its driver complains of."""

    listed: Listed
    glance: Glance


@dataclass(frozen=True)
class Page:
    """The cases of the list as far as it is shown.

    Attributes
    ----------
    found : tuple of Found
    counts : mapping of State to int, or None
        Of all cases that have the words, also those that are not shown; None if not counted.
    """

    found: tuple[Found, ...]
    counts: Mapping[State, int] | None = None


@dataclass(frozen=True)
class Row:
    """One row: its title, and what stands below it, line by line.

    Attributes
    ----------
    id, title : str
    when : str
        When it was changed last, in few letters.
    lines : tuple of str
        Complaint; state, answers so far and who was there last.
    here : bool
        Whether it is the case on the screen.
    closed : bool
    """

    id: str
    title: str
    when: str
    lines: tuple[str, ...]
    here: bool
    closed: bool


def look_up(
    store: Store, words: str, state: State | None, limit: int, *, count: bool = True
) -> Page:
    """Find the cases of the list; slow stores make this one wait, not the window.

    Parameters
    ----------
    store : Store
    words : str
        Beginnings of words, all of which a case must have.
    state : State or None
        Only cases in this state; all if None.
    limit : int
    count : bool
        Whether to count all that there are; among many cases that takes a server a while.

    Raises
    ------
    StoreError
        If the store can't be asked.
    """
    listed = store.find(words, () if state is None else (state,), limit)
    known = store.glances([case.id for case in listed])
    found = tuple(Found(case, known.get(case.id, Glance((), ""))) for case in listed)
    return Page(found, store.counts(words) if count else None)


def count_of(counts: Mapping[State, int], state: State | None) -> int:
    """Give how many cases there are in a state; in any if None."""
    return sum(counts.values()) if state is None else counts[state]


def shown_words(shown: int, count: int) -> str:
    """Say how many cases there are, and how many of them are in the list."""
    many = "1 case." if count == 1 else f"{count} cases."
    return many if shown >= count else f"The latest {shown} of {count}."


def waiting_words(counts: Mapping[State, int]) -> str:
    """Say how many cases are to be seen to; empty if there are none at all."""
    if not any(counts.values()):
        return ""
    told = [
        f"{counts[state]} {state}"
        for state in (State.OPEN, State.WAITING_CALLER, State.WAITING_PARTS)
        if counts[state]
    ]
    return f"{sentence(', '.join(told))}." if told else "Every case is closed."


def steady(before: Sequence[str], found: Sequence[Found]) -> tuple[Found, ...]:
    """Keep cases where they stood, so that none moves under the hands.

    New ones come on top, and what is older than all that were shown at the end.

    Parameters
    ----------
    before : sequence of str
        Ids in the order they were shown in.
    found : sequence of Found
        In the order of the store: changed last first.
    """
    places = {case_id: place for place, case_id in enumerate(before)}
    known = [place for place, f in enumerate(found) if f.listed.id in places]
    older = max(known, default=len(found))
    at_end = {f.listed.id for f in found[older + 1 :]}

    def place(case: Found) -> int:
        return places.get(case.listed.id, len(before) if case.listed.id in at_end else -1)

    return tuple(sorted(found, key=place))


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
    so_far = (listed.state, answers_words(listed.answers), listed.by)
    lines = (
        complaint_words(base, found.glance),
        sentence(", ".join(part for part in so_far if part)),
    )
    return Row(
        listed.id,
        listed.title or UNNAMED,
        brief(listed.updated, now),
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
