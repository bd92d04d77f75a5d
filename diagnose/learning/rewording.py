"""A loaded base with other numbers for its words; the files stay as they are."""

from collections.abc import Mapping
from dataclasses import replace
from typing import TypeVar

from diagnose.learning.paths import is_open
from diagnose.learning.words import Key
from knowledge.model import Cause, KnowledgeBase, Observable, Shift, Strength

T = TypeVar("T", bound=Observable)

SOURCE = "closed cases"
_SHIPPED = " (as shipped)"
_HIGHEST = 0.9  # rates count relative to each other, so they are scaled down to stay shares


def reworded(base: KnowledgeBase, numbers: Mapping[Key, float]) -> KnowledgeBase:
    """Give a base in which some words and causes have other numbers.

    What closings say nothing about keeps its shipped number where its word moves: how surely
    repairs cure, and in how many cases a cause moves a reading.

    Parameters
    ----------
    base : KnowledgeBase
    numbers : Mapping
        By kind and name, as in `diagnose.learning.words`.
    """
    links = {name: p for (kind, name), p in numbers.items() if kind == "link"}
    kept = {name + _SHIPPED: base.scale.strength[name] for name in links}
    highest = max([p for (kind, _), p in numbers.items() if kind in {"rate", "cause"}], default=0.0)
    down = min(1.0, _HIGHEST / highest) if highest > 0.0 else 1.0
    rates = {name: down * p for (kind, name), p in numbers.items() if kind == "rate"}
    scale = base.scale.model_copy(
        update={
            "strength": {**base.scale.strength, **links, **kept},
            "rate": {**{w: down * p for w, p in base.scale.rate.items()}, **rates},
            "unknown": base.scale.unknown.model_copy(
                update={"rate": down * base.scale.unknown.rate}
            ),
        }
    )
    return replace(
        base,
        scale=scale,
        causes={c.id: _cause(base, c, numbers, links, down) for c in base.causes.values()},
        complaints={o.id: _leaking(base, o, numbers) for o in base.complaints.values()},
        findings={o.id: _leaking(base, o, numbers) for o in base.findings.values()},
    )


def _leaking(base: KnowledgeBase, record: T, numbers: Mapping[Key, float]) -> T:
    word = record.unexplained.word
    if not is_open(base, record.unexplained) or not {("leak", word), ("link", word)} & set(numbers):
        return record
    p = numbers.get(("leak", word), base.scale.strength[word])
    return record.model_copy(update={"unexplained": _numbered(record.unexplained, p)})


def _cause(
    base: KnowledgeBase,
    cause: Cause,
    numbers: Mapping[Key, float],
    links: Mapping[str, float],
    down: float,
) -> Cause:
    shipped = base.rate(cause.rate)
    now = numbers.get(("cause", cause.id), shipped)
    factor = down * (now / shipped if shipped > 0.0 else 1.0)
    changes: dict[str, object] = {}
    if factor != 1.0:
        changes["rate"] = _numbered(cause.rate, factor * shipped)
        where = (_numbered(r, min(1.0, factor * base.rate(r))) for r in cause.rate_where)
        changes["rate_where"] = tuple(where)
    cures = cause.repair.cures
    if cures.word in links:
        kept = cures.model_copy(update={"word": cures.word + _SHIPPED})
        changes["repair"] = cause.repair.model_copy(update={"cures": kept})
    shifts = {name: tuple(_kept(s, links) for s in some) for name, some in cause.shifts.items()}
    if shifts != cause.shifts:
        changes["shifts"] = shifts
    return cause.model_copy(update=changes)


def _kept(shift: Shift, links: Mapping[str, float]) -> Shift:
    if shift.chance not in links:
        return shift
    return shift.model_copy(update={"chance": shift.chance + _SHIPPED})


def _numbered(strength: Strength, p: float) -> Strength:
    return Strength(p=p, when=strength.when, source=(SOURCE,))
