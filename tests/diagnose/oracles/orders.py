"""Orders of looking the slow way: one belief, one order at a time, walked step by step.

The same costs as `diagnose.planning.orders`, with nothing in common with it but `Access`: the hours
of an order are added up along the way, and the best is found by trying every order and every place
to stop.

References
----------
p over c, optimal for one fault with perfect looks; with nested access the bottom-up form for
clusters that can be looked at while open (Ottosen and Jensen). Numbers: engine notes T1 and T2.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, permutations

from diagnose.access import Access


@dataclass(frozen=True, slots=True)
class Item:
    """One look, or a repair that is tried without one, that settles it with a chance.

    Attributes
    ----------
    name : str
    p : float
        Chance that the fault is what it settles.
    cost : float
        Hours of the look itself (of the repair and the drive, where it is tried without a look).
    depth : int
        Level it is done at.
    fix : float
        Hours of the repair, with the drive, once the look has found the fault.
    fix_depth : int
        Level the repair is done at.
    """

    name: str
    p: float
    cost: float
    depth: int
    fix: float = 0.0
    fix_depth: int = 0


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
    for item in order:
        way, here = access.move(here, item.depth)
        total += left * (way + item.cost)
        deeper, mended_at = (
            access.move(here, item.fix_depth) if item.fix_depth > here else (0, here)
        )
        total += item.p * (deeper + item.fix + access.way_out(mended_at))
        left -= item.p
    return total + max(left, 0.0) * (hand_over + access.way_out(here))


def all_orders(items: Sequence[Item]) -> Iterator[tuple[Item, ...]]:
    """Yield every order of every choice of items."""
    for n in range(len(items) + 1):
        yield from permutations(items, n)


def least_cost(items: Sequence[Item], access: Access, here: int, *, hand_over: float) -> float:
    """Expected hours of the best order with the best place to hand over, by trying them all."""
    return min(expected_cost(o, access, here, hand_over=hand_over) for o in all_orders(items))


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
