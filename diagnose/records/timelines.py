"""Two timelines that were made from one, laid together."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from difflib import SequenceMatcher

from diagnose.case import Entry

Entries = tuple[Entry, ...]
# What is taken over from whoever changed it, besides the answer, the note and the hours.
_QUIET = ("when", "stage", "by_the_way", "by", "at")


@dataclass(frozen=True)
class Clash:
    """One question with two answers: what was committed first, and the other; None if removed."""

    first: Entry | None
    other: Entry | None


def asks_the_same(one: Entry, other: Entry) -> bool:
    """Whether two entries are about the same thing; work at the job and since are two things."""
    return one.subject == other.subject and (one.work is None or one.when == other.when)


def says(entry: Entry) -> tuple[object, ...]:
    """Give what an entry answers, apart from who said it and when."""
    return entry.answer, entry.reading, entry.instrument, entry.seen


def merged_timeline(
    base: Entries, mine: Entries, theirs: Entries
) -> tuple[Entries, tuple[Clash, ...]]:
    """Lay two timelines together; `theirs` was committed first.

    Returns
    -------
    entries : tuple of Entry
    clashes : tuple of Clash
        Where both answered one question differently; the first answer is in the entries.
    """
    my, their = _laid(base, mine), _laid(base, theirs)
    clashes: list[Clash] = []
    items: list[_Item] = []
    for place in range(len(base) + 1):
        items += _together(my.added.get(place, []), their.added.get(place, []))
        if place < len(base):
            entry, clash = _changed(base[place], my.kept.get(place), their.kept.get(place))
            items += [] if entry is None else [_Item(entry, "")]
            clashes += [] if clash is None else [clash]
    clashes += _join_answers(items)
    return tuple(item.entry for item in items), tuple(clashes)


@dataclass(frozen=True)
class _Laid:
    """A timeline laid against the base: what became of its entries, what was added before which."""

    kept: dict[int, Entry]
    added: dict[int, list[Entry]]


@dataclass
class _Item:
    """An entry on its way into the timeline, and which side added it; empty if none alone did."""

    entry: Entry
    side: str


def _laid(base: Entries, side: Entries) -> _Laid:
    pairs = dict(_pairs(base, side))
    kept = {i: side[j] for j, i in pairs.items()}
    added: dict[int, list[Entry]] = {}
    place = len(base)
    for j in reversed(range(len(side))):
        if j in pairs:
            place = pairs[j]
        else:
            added.setdefault(place, []).insert(0, side[j])
    return _Laid(kept, added)


def _pairs(base: Entries, side: Entries) -> Iterator[tuple[int, int]]:
    """Pair the entries of a timeline with those of the base: (index in it, index in the base)."""
    i = j = 0
    for at, to, size in _matches(base, side):
        questions = [_question(e) for e in base[i:at]], [_question(e) for e in side[j:to]]
        for a, b, length in _matches(*questions):
            yield from ((j + b + n, i + a + n) for n in range(length))
        yield from ((to + n, at + n) for n in range(size))
        i, j = at + size, to + size


def _matches(one: Sequence[object], other: Sequence[object]) -> list[tuple[int, int, int]]:
    matcher = SequenceMatcher(None, one, other, autojunk=False)
    return [(m.a, m.b, m.size) for m in matcher.get_matching_blocks()]


def _question(entry: Entry) -> tuple[object, ...]:
    return (*entry.subject, entry.when if entry.work is not None else "")


def _together(mine: list[Entry], theirs: list[Entry]) -> Iterator[_Item]:
    """Put what both added at one place in order; what is the same in all is there once."""
    i = j = 0
    for at, to, size in _matches(mine, theirs):
        yield from _by_time(mine[i:at], theirs[j:to])
        yield from (_Item(entry, "") for entry in mine[at : at + size])
        i, j = at + size, to + size


def _by_time(mine: list[Entry], theirs: list[Entry]) -> Iterator[_Item]:
    """Put what both added in the order of time, each side's own order kept."""
    i = 0
    for their in theirs:
        while i < len(mine) and _earlier(mine[i], their):
            yield _Item(mine[i], "mine")
            i += 1
        yield _Item(their, "theirs")
    yield from (_Item(entry, "mine") for entry in mine[i:])


def _earlier(one: Entry, other: Entry) -> bool:
    first, second = _time(one), _time(other)
    return first is not None and second is not None and first < second


def _time(entry: Entry) -> datetime | None:
    try:
        time = datetime.fromisoformat(entry.at)
    except ValueError:
        return None
    return None if time.tzinfo is None else time


def _changed(
    base: Entry, mine: Entry | None, theirs: Entry | None
) -> tuple[Entry | None, Clash | None]:
    """Give what becomes of an entry of the base; None for one that is removed."""
    if mine in (base, theirs):
        return theirs, None
    if theirs == base:
        return mine, None
    if mine is None or theirs is None:
        return theirs, Clash(theirs, mine)
    return _joined(base, mine, theirs)


def _joined(base: Entry | None, mine: Entry, theirs: Entry) -> tuple[Entry, Clash | None]:
    """Join two entries about one question; `base` is None if both added it."""
    if mine == theirs:
        return theirs, None
    before = None if base is None else says(base)
    said, note = (says(mine), says(theirs)), base.note if base else ""
    agreed = said[0] == said[1] or before in said
    winner = mine if before == said[1] and said[0] != before else theirs
    changes: dict[str, object] = {"hours": _hours(base, mine, theirs)}
    if base is not None:
        changes |= {n: _either(n, base, mine, theirs, winner) for n in _QUIET}
    if mine.note != theirs.note:
        agreed = agreed and note in (mine.note, theirs.note)
        changes["note"] = mine.note if theirs.note == note else theirs.note
    clash = None if agreed else Clash(theirs, mine)
    return winner.model_copy(update=changes), clash


def _either(name: str, base: Entry, mine: Entry, theirs: Entry, winner: Entry) -> object:
    old, my, their = (getattr(e, name) for e in (base, mine, theirs))
    if my == old:
        return their
    return my if their == old else getattr(winner, name)


def _hours(base: Entry | None, mine: Entry, theirs: Entry) -> float | None:
    """Add up what both spent on one question."""
    before = base.hours if base else None
    if mine.hours == before:
        return theirs.hours
    if theirs.hours == before:
        return mine.hours
    total = (mine.hours or 0.0) + (theirs.hours or 0.0) - (before or 0.0)
    return max(0.0, round(total, 6))


def _join_answers(items: list[_Item]) -> Iterator[Clash]:
    """Join what both added about one question with no repair between, where theirs stands."""
    for item in [i for i in items if i.side == "mine"]:
        place = next(n for n, i in enumerate(items) if i is item)
        twin = _twin(items, place)
        if twin is not None:
            twin.entry, clash = _joined(None, item.entry, twin.entry)
            twin.side = ""
            del items[place]
            if clash is not None:
                yield clash


def _twin(items: list[_Item], place: int) -> _Item | None:
    """Find the other side's answer to the same question, the nearest in the same stretch."""
    entry = items[place].entry
    for way in (reversed(items[:place]), items[place + 1 :]):
        for item in way:
            if item.side == "theirs" and asks_the_same(item.entry, entry):
                return item
            if _parts(item.entry, entry):
                break
    return None


def _parts(between: Entry, asked: Entry) -> bool:
    """Whether a repair parts two answers: a driver tells of what he drove, the job was once."""
    if asked.work is not None and asked.when == "job":
        return False
    return between.is_repair if asked.complaint is not None else between.mends
