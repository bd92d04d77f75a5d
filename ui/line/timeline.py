"""Who said what and when, from the numbered changes of a case.

A change names what it touched, not the words; an answer is told by the last change that gave it,
for earlier ones were changed since. What the program notes by itself is left out. What one person
did within a minute is one line, and what is said twice in it is told once.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from diagnose.case import Case, Entry
from diagnose.records.kept import Change, What
from knowledge.model import KnowledgeBase
from ui.line.moments import by_whom, sentence
from ui.questions import answered, asked

# Fields that a person changes on purpose, as one would tell it. All others are left out: hours
# that add up, cautions that were read, versions, the ranking.
_FIELDS: Mapping[str, str] = {
    "title": "named the case",
    "setup": "said what is fitted",
    "facts": "said what is fitted",
    "kit": "noted figures of the kit’s sheet",
    "hours": "set own hours for the way in",
    "words": "noted the driver’s words",
    "skipped": "left a check out",
    "limit": "noted the customer’s limit",
    "labour": "noted the money for an hour",
    "parts": "noted the price of parts",
    "found": "said what was found",
    "note": "wrote the handover note",
}
# The vehicle moves with every check; it is told only where somebody moved it by hand.
_ALONE: Mapping[str, str] = {"stands": "said where one can work now"}
_MOST = 4  # more things of one change are only counted
_POOLS = ("complaint", "check", "work", "repair")
_ACTS: Mapping[str, str] = {
    "added": "answered",
    "changed": "changed the answer to",
    "removed": "took back",
    "settled": "settled",
}
_PHOTO: Mapping[str, str] = {
    "removed": "took a photograph away",
    "changed": "said what a photograph shows",
}


@dataclass(frozen=True)
class Line:
    """One line of the timeline: what somebody did, the latest first, and who and when.

    ``number`` is that of its last change.
    """

    number: int
    texts: tuple[str, ...]
    who: str


def timeline(
    base: KnowledgeBase, case: Case, changes: Sequence[Change], now: str
) -> tuple[Line, ...]:
    """Tell the changes of a case, the latest first.

    Parameters
    ----------
    base : KnowledgeBase
    case : Case
        As it is after the last change: the answers are told from it.
    changes : sequence of Change
        In their order.
    now : str

    Returns
    -------
    tuple of Line
    """
    lines = []
    for who, told in groupby(_told(base, case, changes, now), lambda one: one[0]):
        numbers, texts = zip(*((number, text) for _, number, text in told), strict=True)
        lines.append(Line(numbers[0], tuple(dict.fromkeys(texts)), who))
    return tuple(lines)


def _told(
    base: KnowledgeBase, case: Case, changes: Sequence[Change], now: str
) -> Iterator[tuple[str, int, str]]:
    """Give who and when, the number and what was done of each change, the latest first."""
    seen: set[tuple[str, str]] = set()
    for change in reversed(changes):
        parts = list(dict.fromkeys(_parts(base, case, change, seen)))
        if parts:
            text = sentence(_short(parts))
            if change.number == 1:
                text = f"Began the case. {text}"
            yield by_whom(change.by, change.at, now), change.number, text


def _parts(
    base: KnowledgeBase, case: Case, change: Change, seen: set[tuple[str, str]]
) -> Iterator[str]:
    """Tell what one change did; `seen` holds what later changes touched, and is added to."""
    told = any(w.kind in (*_POOLS, *_FIELDS, "state", "photo") for w in change.what)
    # Complaints before all: a case that came in as a whole is told by them.
    for what in sorted(change.what, key=lambda w: w.kind != "complaint"):
        if what.kind in _POOLS:
            subject = what.kind, what.name
            last = subject not in seen
            seen.add(subject)
            yield _about(base, case, what, last=last)
        elif what.kind == "state":
            yield f"set the case to “{what.name}”"
        elif what.kind == "photo":
            yield _PHOTO.get(what.act, "added a photograph")
        elif what.act == "settled":
            yield "settled two entries that differed"
        elif what.kind in _FIELDS:
            yield _FIELDS[what.kind]
        elif what.kind in _ALONE and not told:
            yield _ALONE[what.kind]


def _short(parts: Sequence[str]) -> str:
    """Tell some of what a change did, and how much more it was."""
    if len(parts) <= _MOST:
        return "; ".join(parts)
    return f"{'; '.join(parts[: _MOST - 1])}; and {len(parts) - _MOST + 1} more"


def _about(base: KnowledgeBase, case: Case, what: What, *, last: bool) -> str:
    place = case.latest((what.kind, what.name))
    entry = None if place is None else case.entries[place]
    name = subject_words(base, what.kind, what.name)
    if what.kind == "repair" and what.act == "added":
        return f"put right: {name}"
    act = "noted the complaint" if what == What("added", "complaint", what.name) else None
    text = f"{act or _ACTS.get(what.act, what.act)} “{name}”"
    if what.act == "removed" or entry is None or not last:
        return text
    return f"{text}: {answered(base, entry)}"


def subject_words(base: KnowledgeBase, kind: str, name: str) -> str:
    """Name what an entry is about; by its id where the knowledge no longer holds it."""
    pools: Mapping[str, Mapping[str, object]] = {
        "complaint": base.complaints,
        "check": base.checks,
        "work": base.work,
        "repair": base.causes,
    }
    if name not in pools.get(kind, {}):
        return name
    if kind == "repair":
        return base.causes[name].name
    return asked(base, Entry.model_validate({kind: name, "answer": "-"}))
