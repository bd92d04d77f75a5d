"""What the pairs of causes say, as lines for the terminal and as JSON."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from math import inf
from typing import Any

from diagnose.apart import SURE, TELLS, Act, Pair
from diagnose.errors import UnknownIdError
from diagnose.sentences import hours
from knowledge.model import Cause, KnowledgeBase
from knowledge.translate import guess_at

_HARDEST = 10
_NO_REASON = "no reason given"
_MEASURE = (
    f"What names the right one in {100 * TELLS:.0f} of 100, both being as likely before, tells "
    "them apart. Hours are from the seat and back."
)

Lines = Iterable[str]


def cause_named(base: KnowledgeBase, name: str) -> Cause:
    """Give the cause with this id.

    Raises
    ------
    UnknownIdError
        If there is none, with the one that was probably meant.
    """
    if name not in base.causes:
        guess = guess_at(name, base.causes)
        raise UnknownIdError(
            f"The knowledge holds no cause {name!r}.",
            f"Did you mean {guess!r}?" if guess else "Its id stands in the files of the knowledge.",
        )
    return base.causes[name]


def neighbours(found: Sequence[Pair], cause: Cause) -> tuple[Pair, ...]:
    """Give the pairs of one cause, those that cost least to tell apart first."""
    mine = (pair for pair in found if cause.id in pair.causes)
    return tuple(sorted(mine, key=lambda pair: (_hours(pair), pair.causes)))


def hardest(found: Sequence[Pair]) -> tuple[Pair, ...]:
    """Give pairs that are told apart, those that cost most and are told least surely first."""
    told = [pair for pair in found if pair.cheapest]
    return tuple(sorted(told, key=lambda p: (-_hours(p), _chance(p.cheapest), p.causes)))


def _hours(pair: Pair) -> float:
    return pair.cheapest.hours if pair.cheapest else inf


def _chance(act: Act | None) -> float:
    return act.chance if act else 0.0


def summary_json(base: KnowledgeBase, found: Sequence[Pair]) -> dict[str, Any]:
    """Give the summary in its stable JSON form."""
    return {
        "tells": TELLS,
        "pairs": len(found),
        "levels": _levels(base, found),
        "hardest": [_pair_json(pair) for pair in hardest(found)[:_HARDEST]],
        "inseparable": [_pair_json(pair) for pair in found if pair.cheapest is None],
    }


def neighbours_json(found: Sequence[Pair], cause: Cause) -> dict[str, Any]:
    """Give one cause's neighbours in their stable JSON form."""
    return {
        "tells": TELLS,
        "cause": cause.id,
        "neighbours": [_pair_json(pair) for pair in neighbours(found, cause)],
    }


def _pair_json(pair: Pair) -> dict[str, Any]:
    return asdict(pair) | {"facts": {name: list(v) for name, v in pair.facts.items()}}


def _levels(base: KnowledgeBase, found: Sequence[Pair]) -> dict[str, int]:
    """Pairs by the level of the cheapest act that tells them apart."""
    counts = Counter(pair.cheapest.level for pair in found if pair.cheapest)
    return {level: counts[level] for level in base.levels}


def summary_lines(base: KnowledgeBase, found: Sequence[Pair]) -> Lines:
    """Say in lines how well causes are told apart, and which are not."""
    yield (
        f"{len(found)} pairs of causes can be taken for each other: one vehicle can have either, "
        "and both lead to the same mechanism or complaint."
    )
    yield _MEASURE
    yield "Cheapest to tell apart, each pair in the set-up where it costs most:"
    levels = _levels(base, found)
    rows = [(count, base.levels[level].name) for level, count in levels.items()]
    for count, name in (*rows, (len(found) - sum(levels.values()), "by nothing")):
        yield f"{count:>6}  {100 * count / max(len(found), 1):3.0f} in 100  {name}"
    for heading, some in (
        ("Hardest:", hardest(found)[:_HARDEST]),
        ("Nothing tells apart:", [pair for pair in found if pair.cheapest is None]),
    ):
        if some:
            yield heading
        for pair in some:
            names = " / ".join(base.causes[name].name for name in pair.causes)
            yield _line(base, pair, names)


def neighbour_lines(base: KnowledgeBase, found: Sequence[Pair], cause: Cause) -> Lines:
    """Say in lines what tells one cause from each that it can be taken for."""
    mine = neighbours(found, cause)
    count = "1 other cause" if len(mine) == 1 else f"{len(mine) or 'no'} other causes"
    yield f"{cause.name}: can be taken for {count}."
    if mine:
        yield _MEASURE
    for pair in mine:
        other = next(name for name in pair.causes if name != cause.id)
        yield _line(base, pair, base.causes[other].name)


def _line(base: KnowledgeBase, pair: Pair, names: str) -> str:
    """Say what tells two causes apart, and where; where that is weak, what tells more surely."""
    setup = base.setups[pair.setup].name if pair.setup else "in no shipped set-up"
    cheapest, surest = pair.cheapest, pair.surest
    if cheapest is None:
        best = f"; the best is {_act(base, surest)}, {hours(surest.hours)}" if surest else ""
        return f"{'-':>8}  {names}: {pair.because or _NO_REASON}{best} [{setup}]"
    said = _act(base, cheapest)
    if cheapest.chance < SURE and surest and surest.id != cheapest.id:
        said += f"; more surely {_act(base, surest)}, {hours(surest.hours)}"
    return f"{hours(cheapest.hours):>8}  {names}: {said} [{setup}]"


def _act(base: KnowledgeBase, act: Act) -> str:
    asked = "ask: " if act.kind == "ask" else ""
    return f"{asked}{act.name} ({base.levels[act.level].name}, {100 * act.chance:.0f} in 100)"
