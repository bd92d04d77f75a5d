"""Two people's changes to one case, laid together: three-way, and no answer is lost.

`base` is the case both started from, `theirs` what was committed first, `mine` what comes after.
What one of them changed is kept. Where both changed the same thing to something else, what was
committed first counts, and the other value is kept in a `Conflict` until somebody settles it.

Entries have no name of their own. Each side's timeline is laid against the base: equal entries
first, then those about the same thing, as an answer is changed where it stands. What stays over
was removed or added. What both added is put in the order of time; of two answers to one question
with no repair between them, one counts.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.case import Case, Entry
from diagnose.records.timelines import Clash, asks_the_same, merged_timeline, says

# Fields that mean nothing without each other are merged as one.
_TOGETHER = (("limit", "limit_from"), ("labour", "currency"))
_ALONE = ("title", "stands", "words", "note", "found", "origin", "knowledge")
_BY_KEY = ("kit", "hours", "parts")
_LISTS = ("acknowledged", "skipped")
_Three = tuple[Case, Case, Case]


@dataclass(frozen=True)
class Conflict:
    """One thing that two people changed differently.

    Attributes
    ----------
    field : str
        The field of the case; "entries" for an answer.
    key : str
        The key of a field with keys, as the fact of the set-up; for an answer what it is about,
        as "check pedal_sinks"; else empty.
    first : Any
        What was committed first and counts: an entry, the value of a key, or the fields that
        belong together with their values, as JSON holds them. None if it was removed.
    other : Any
        The same for what came later.
    """

    field: str
    key: str
    first: Any
    other: Any

    @property
    def entries(self) -> tuple[Entry | None, Entry | None]:
        """Both answers, what counts first; None for one that was removed, or for no answer."""
        if self.field != "entries":
            return None, None
        return _entry(self.first), _entry(self.other)


@dataclass(frozen=True)
class Merged:
    """A case with both people's changes, and what they did not agree on."""

    case: Case
    conflicts: tuple[Conflict, ...] = ()


def merged(base: Case, mine: Case, theirs: Case) -> Merged:
    """Lay two people's changes to a case together.

    Parameters
    ----------
    base : Case
        What both started from.
    mine : Case
        What comes later.
    theirs : Case
        What was committed first, and counts where both changed the same thing.

    Returns
    -------
    Merged
        Every answer that one of them gave and the other did not touch, is in the case; of those
        to the same question the one is in the case and the other in a conflict.
    """
    if mine in (base, theirs):
        return Merged(theirs)
    if theirs == base:
        return Merged(mine)
    conflicts: list[Conflict] = []
    changes: dict[str, object] = {"moved": _moved(base, mine, theirs)}
    three = base, mine, theirs
    for names in (*((n,) for n in _ALONE), *_TOGETHER):
        changes |= _group(names, three, conflicts)
    changes |= _setup(three, conflicts)
    for name in _BY_KEY:
        changes[name] = _mapping(name, three, conflicts)
    for name in _LISTS:
        changes[name] = _listed(*(getattr(c, name) for c in three))
    entries, clashes = merged_timeline(base.entries, mine.entries, theirs.entries)
    conflicts += map(_conflict, clashes)
    return Merged(theirs.model_copy(update={**changes, "entries": entries}), tuple(conflicts))


def resolved(case: Case, conflict: Conflict) -> Case:
    """Give the case with the other side of a conflict in the place of what counts.

    An answer keeps the hours that were spent on it by both. One that is no longer in the case is
    added at the end.
    """
    if conflict.field == "entries":
        return _with_other_entry(case, conflict)
    if not conflict.key:
        found = Case.model_validate(conflict.other)
        return case.model_copy(update={name: getattr(found, name) for name in conflict.other})
    values = dict(getattr(case, conflict.field))
    values.pop(conflict.key, None)
    if conflict.other is not None:
        kept = Case.model_validate({conflict.field: {conflict.key: conflict.other}})
        values |= getattr(kept, conflict.field)
    return case.model_copy(update={conflict.field: values})


def _with_other_entry(case: Case, conflict: Conflict) -> Case:
    first, other = conflict.entries
    place = _place(case, first, other)
    if place is None:
        added = () if other is None else (other,)
        return case.model_copy(update={"entries": (*case.entries, *added)})
    if other is None:
        return case.without_entry(place)
    other = other.model_copy(update={"hours": case.entries[place].hours})
    entries = (*case.entries[:place], other, *case.entries[place + 1 :])
    return case.model_copy(update={"entries": entries})


def _place(case: Case, first: Entry | None, other: Entry | None) -> int | None:
    """Find the entry that the other one replaces: what counted, else the latest about it."""
    if first is None:
        return None
    same = [i for i, e in enumerate(case.entries) if asks_the_same(e, first)]
    if other is None:
        same = [i for i in same if says(case.entries[i]) == says(first)]
    counts = [i for i in same if says(case.entries[i]) == says(first)]
    return max(counts or same, default=None)


def _moved(base: Case, mine: Case, theirs: Case) -> float:
    """Add up the hours that both spent besides their answers."""
    if mine.moved in (base.moved, theirs.moved):
        return theirs.moved
    return max(0.0, round(theirs.moved + mine.moved - base.moved, 6))


def _group(names: tuple[str, ...], three: _Three, conflicts: list[Conflict]) -> dict[str, object]:
    """Merge fields that are one thing; gives those that are mine."""
    old, my, their = ([getattr(case, name) for name in names] for case in three)
    if my in (old, their):
        return {}
    if their != old:
        first, other = (case.model_dump(mode="json", include=set(names)) for case in three[:0:-1])
        conflicts.append(Conflict(names[0], "", first, other))
        return {}
    return dict(zip(names, my, strict=True))


def _setup(three: _Three, conflicts: list[Conflict]) -> dict[str, object]:
    """Merge the set-up and its facts; two set-ups are never mixed."""
    old, my, their = (case.setup for case in three)
    if my not in (old, their) and their != old:
        return _group(("setup", "facts"), three, conflicts)
    setup = their if my == old else my
    return {"setup": setup, "facts": _mapping("facts", three, conflicts)}


def _mapping(name: str, three: _Three, conflicts: list[Conflict]) -> Mapping[str, object]:
    """Merge a field with keys, key by key; a key that is missing has the value None."""
    old, my, their = (getattr(case, name) for case in three)
    if my in (old, their):
        return their  # type: ignore[no-any-return]
    values = dict(their)
    for key in old | my:
        before, mine, theirs = old.get(key), my.get(key), their.get(key)
        if mine in (before, theirs):
            continue
        if theirs != before:
            first, other = (_plain(case, name).get(key) for case in three[:0:-1])
            conflicts.append(Conflict(name, key, first, other))
        elif mine is None:
            del values[key]
        else:
            values[key] = mine
    return values


def _plain(case: Case, name: str) -> Mapping[str, Any]:
    values: Mapping[str, Any] = case.model_dump(mode="json", include={name})[name]
    return values


def _listed(
    base: tuple[str, ...], mine: tuple[str, ...], theirs: tuple[str, ...]
) -> tuple[str, ...]:
    """Merge a set that is written as a list: what one added is in, what one took out is out."""
    if mine in (base, theirs):
        return theirs
    if theirs == base:
        return mine
    out = (set(base) - set(mine)) | (set(base) - set(theirs))
    return tuple(n for n in dict.fromkeys((*theirs, *mine)) if n not in out)


def _conflict(clash: Clash) -> Conflict:
    asked = clash.first or clash.other
    kind, name = asked.subject if asked else ("", "")
    first, other = (_entry_data(e) for e in (clash.first, clash.other))
    return Conflict("entries", f"{kind} {name}", first, other)


def _entry_data(entry: Entry | None) -> dict[str, Any] | None:
    return None if entry is None else entry.model_dump(mode="json", exclude_defaults=True)


def _entry(data: Any) -> Entry | None:
    return None if data is None else Entry.model_validate(data)
