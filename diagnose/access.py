"""Ways in and out: what it costs to get from where the vehicle stands to where a check is done.

And the order in which to look when things hide behind each other: the best cluster is weighed as
one action together with the cost of opening it, from the innermost outwards.

References
----------
The order: p over c, optimal for one fault with perfect inspections; with nested access the
bottom-up form for clusters that can be tested while open (Ottosen and Jensen). Numbers to compare
with: engine notes T1 and T2.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate
from typing import Literal, TypeAlias

from diagnose.case import Case
from knowledge.model import KnowledgeBase


@dataclass(frozen=True)
class Access:
    """Hours from level to level; levels are numbered from the seat inwards.

    Attributes
    ----------
    names : tuple of str
    down, up : tuple of float
        Hours of the step into a level from the one before, and out of it again.
    drivable : tuple of bool
        Whether the vehicle is complete at the level.
    """

    names: tuple[str, ...]
    down: tuple[float, ...]
    up: tuple[float, ...]
    drivable: tuple[bool, ...]

    def index(self, name: str) -> int:
        """Give the number of a level.

        Raises
        ------
        ValueError
            If there is no such level.
        """
        return self.names.index(name)

    def move(self, here: int, there: int) -> tuple[float, int]:
        """Give the hours to be able to work at a level, and where the vehicle then stands.

        What is done from outside the gearbox can't be done with it out; what is done with it out
        can still be done with more taken off.
        """
        return self._moves[here][there]

    def way_out(self, here: int) -> float:
        """Give the hours to close everything up from a level."""
        return self._ways_out[here]

    def opening(self, here: int) -> tuple[float, ...]:
        """Give the hours to open each level and close it again; 0 for what stands open."""
        return self._openings[here]

    # Worked out once: the planner asks a hundred thousand times for one piece of advice.

    @cached_property
    def _moves(self) -> tuple[tuple[tuple[float, int], ...], ...]:
        levels = range(len(self.names))
        return tuple(tuple(self._move(here, there) for there in levels) for here in levels)

    @cached_property
    def _ways_out(self) -> tuple[float, ...]:
        return tuple(sum(self.up[1 : here + 1]) for here in range(len(self.names)))

    @cached_property
    def _openings(self) -> tuple[tuple[float, ...], ...]:
        both = [down + up for down, up in zip(self.down, self.up, strict=True)]
        levels = range(len(both))
        return tuple(tuple(0.0 if d <= here else both[d] for d in levels) for here in levels)

    def _move(self, here: int, there: int) -> tuple[float, int]:
        if there >= here:
            return sum(self.down[here + 1 : there + 1]), there
        if not self.drivable[there]:
            return 0.0, here
        return sum(self.up[there + 1 : here + 1]), there


def access_for(base: KnowledgeBase, case: Case) -> Access:
    """Give the ways in and out for a case: the user's hours, else the set-up's, else the base's."""
    setup = base.setups.get(case.setup or "")
    own: Mapping[str, float] = {**(setup.hours if setup else {}), **case.hours}
    levels = tuple(base.levels.values())
    down = [own.get(level.id, level.down) for level in levels]
    ratio = [d / level.down if level.down else 1.0 for d, level in zip(down, levels, strict=True)]
    return Access(
        names=tuple(level.id for level in levels),
        down=tuple(down),
        up=tuple(level.up * r for level, r in zip(levels, ratio, strict=True)),
        drivable=tuple(level.drivable for level in levels),
    )


StepKey: TypeAlias = tuple[Literal["check", "repair"], str]


@dataclass(frozen=True, slots=True)
class Item:
    """One look or repair that settles some causes.

    Attributes
    ----------
    key : tuple of str
        ("check" | "repair", id).
    p : float
        Chance that the fault is among what it settles.
    cost : float
        Hours of the look itself (of the repair, where it is tried without a look).
    depth : int
        Level it is done at.
    fix : float
        Hours of the repair once the look has found the fault.
    fix_depth : int
        Level the repair is done at.
    """

    key: StepKey
    p: float
    cost: float
    depth: int
    fix: float = 0.0
    fix_depth: int = 0


def access_order(items: Sequence[Item], opening: Sequence[float]) -> list[Item]:
    """Order items by p over c, each level weighed with the cost of opening it.

    Parameters
    ----------
    items : sequence of Item
    opening : sequence of float
        Hours to open each level, 0 where it stands open.

    Returns
    -------
    list of Item
    """
    sequence: list[_Cluster] = []
    for depth in range(len(opening) - 1, -1, -1):
        own = [_Cluster(i.p, i.cost, [i]) for i in items if i.depth == depth]
        sequence = sorted([*own, *sequence], key=_Cluster.efficiency, reverse=True)
        if opening[depth] > 0.0 and sequence:
            sequence = _open_as_one(sequence, opening[depth])
    return [item for cluster in sequence for item in cluster.items]


def shut_once(order: Sequence[Item], access: Access, here: int) -> list[Item]:
    """Keep an order from closing the vehicle up and opening it again.

    What can only be done with the vehicle whole is done before what is inside, or after it:
    whichever of the two costs less.
    """
    outside = [item for item in order if access.drivable[item.depth]]
    inside = [item for item in order if not access.drivable[item.depth]]
    if not outside or not inside:
        return list(order)
    late = [*inside, *outside]
    if access.drivable[here]:
        first = next(i for i, item in enumerate(order) if not access.drivable[item.depth])
        late = [*order[:first], *inside, *(i for i in order[first:] if access.drivable[i.depth])]
    return min(
        [*outside, *inside], late, key=lambda o: expected_cost(o, access, here, hand_over=0.0)
    )


@dataclass(frozen=True, slots=True)
class _Cluster:
    p: float
    cost: float
    items: list[Item]

    def efficiency(self) -> float:
        return self.p / self.cost if self.cost > 0.0 else float("inf")


def _open_as_one(sequence: list[_Cluster], opening: float) -> list[_Cluster]:
    """Join the prefix that pays best for the opening into one action."""
    p = list(accumulate(c.p for c in sequence))
    cost = list(accumulate(c.cost for c in sequence))
    best = max(range(len(sequence)), key=lambda i: p[i] / (opening + cost[i]))
    joined = [item for c in sequence[: best + 1] for item in c.items]
    return [_Cluster(p[best], opening + cost[best], joined), *sequence[best + 1 :]]


def expected_cost(order: Sequence[Item], access: Access, here: int, *, hand_over: float) -> float:
    """Expected hours to a verified fix, looking in this order until the fault is found and mended.

    Parameters
    ----------
    order : sequence of Item
        Their chances sum to at most 1; what is missing is handed over at the end.
    access : Access
    here : int
        Where the vehicle stands.
    hand_over : float
        Hours if nothing is found.

    Returns
    -------
    float
    """
    left = 1.0
    total = 0.0
    moves, ways_out = access._moves, access._ways_out
    for item in order:
        way, here = moves[here][item.depth]
        total += left * (way + item.cost)
        if item.fix_depth > here:
            deeper, mended_at = moves[here][item.fix_depth]
            total += item.p * (deeper + item.fix + ways_out[mended_at])
        else:
            total += item.p * (item.fix + ways_out[here])
        left -= item.p
    return total + max(left, 0.0) * (hand_over + ways_out[here])
