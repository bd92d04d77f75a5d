"""Two answers that two people gave to one question, in words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from diagnose.case import Entry, Found
from diagnose.records.kept import KeptConflict
from knowledge.model import KnowledgeBase
from ui.closing import grade_name, names_of
from ui.line.moments import by_whom, sentence
from ui.line.timeline import subject_words
from ui.questions import answered

_FIELDS: Mapping[str, str] = {
    "title": "Name of the case",
    "state": "How far the case is",
    "stands": "Where one can work",
    "words": "The driver’s own words",
    "found": "What was found",
    "origin": "Where the case comes from",
    "knowledge": "Version of the knowledge",
    "limit": "The customer’s limit",
    "labour": "Money for an hour",
    "setup": "What is fitted",
    "note": "The handover note",
    "kit": "Figure of the kit’s sheet",
    "hours": "Own hours for the way in",
    "parts": "Price of the parts",
    "facts": "What is fitted",
}
_NOT_TOLD = "nothing"
_NOTHING: tuple[Any, ...] = (None, "", {}, [])


@dataclass(frozen=True)
class Side:
    """One of two answers, and who gave it when."""

    said: str
    who: str


@dataclass(frozen=True)
class Both:
    """A question with two answers; the first is the one that counts so far.

    Attributes
    ----------
    id : int
        Of the conflict in the store.
    about : str
        What it is about.
    first, other : Side
    """

    id: int
    about: str
    first: Side
    other: Side


def both(base: KnowledgeBase, kept: KeptConflict, now: str) -> Both:
    """Put a conflict in words.

    Parameters
    ----------
    base : KnowledgeBase
    kept : KeptConflict
    now : str

    Returns
    -------
    Both
    """
    conflict = kept.conflict
    came = by_whom(kept.by, kept.at, now)
    if conflict.field == "entries":
        kind, _, name = conflict.key.partition(" ")
        first, other = conflict.entries
        about = f"“{sentence(subject_words(base, kind, name))}”"
        sides = (_of_entry(base, first, now, ""), _of_entry(base, other, now, came))
        return Both(kept.id, about, *sides)
    about = _FIELDS.get(conflict.field, conflict.field)
    if conflict.key:
        about = f"{about}, {_key_words(base, conflict.field, conflict.key)}"
    first_said, other_said = (
        _value_words(base, conflict.field, conflict.key, v)
        for v in (conflict.first, conflict.other)
    )
    return Both(kept.id, about, Side(first_said, "what came first"), Side(other_said, came))


def _of_entry(base: KnowledgeBase, entry: Entry | None, now: str, came: str) -> Side:
    """Tell an answer; where it does not say who gave it, who brought it to the store."""
    if entry is None:
        return Side("taken back", came)
    note = f"; note: {entry.note}" if entry.note else ""
    who = by_whom(entry.by, entry.at, now) or came
    return Side(f"{answered(base, entry)}{note}", who)


def _key_words(base: KnowledgeBase, field: str, key: str) -> str:
    if field == "parts" and key in base.causes:
        return base.causes[key].name
    if field == "hours" and key in base.levels:
        return base.levels[key].name
    if field == "facts" and key in base.facts:
        return base.facts[key].name
    return key.replace("_", " ")


def _value_words(base: KnowledgeBase, field: str, key: str, value: Any) -> str:
    """Say the value of a field, or of one key of it, as the store holds it."""
    if not key and isinstance(value, Mapping):
        told = [_field_words(base, name, v) for name, v in value.items() if v not in _NOTHING]
        return "; ".join(told) or _NOT_TOLD
    if value in _NOTHING:
        return _NOT_TOLD
    return _fact_words(base, key, value) if field == "facts" else _plain(value)


def _field_words(base: KnowledgeBase, field: str, value: Any) -> str:
    """Say what a field of the case holds."""
    if field == "stands" and value in base.levels:
        return base.levels[value].name
    if field == "setup" and value in base.setups:
        return base.setups[value].name
    if field == "found":
        return f"{' or '.join(names_of(base, value['causes']))}. {grade_name(_sure(value))}"
    if field == "facts":
        return "; ".join(
            f"{_key_words(base, field, k)}: {_fact_words(base, k, v)}" for k, v in value.items()
        )
    return _plain(value)


def _sure(found: Mapping[str, Any]) -> str:
    """How surely something was found; what is a default is left out as the store holds it."""
    return str(found.get("sure", Found.model_fields["sure"].default))


def _fact_words(base: KnowledgeBase, fact: str, values: Sequence[str]) -> str:
    known = base.facts[fact].values if fact in base.facts else {}
    return " or ".join(known[v].name if v in known else v for v in values)


def _plain(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)
