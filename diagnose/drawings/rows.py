"""What stands in the rows of a layered layout, and in which order.

References
----------
Barycentres: K. Sugiyama, S. Tagawa, M. Toda, "Methods for visual understanding of hierarchical
system structures", IEEE Transactions on Systems, Man, and Cybernetics 11, 1981, 109-125.
"""

from bisect import bisect_right, insort
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

_SWEEPS = 24  # up and down in turn


class Size(NamedTuple):
    """Width and height, in units of the drawing."""

    width: float
    height: float


class Box(NamedTuple):
    """A rectangle; x runs to the right, y downward."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """The lower edge."""
        return self.top + self.height

    @property
    def middle(self) -> float:
        """Half way from left to right."""
        return self.left + self.width / 2.0


@dataclass(eq=False)
class Item:
    """Something in a row: a box, the word of a link, or its lane where it passes."""

    key: tuple[str, int]
    size: Size
    above: list["Item"] = field(default_factory=list)
    below: list["Item"] = field(default_factory=list)
    x: float = 0.0  # middle
    top: float = 0.0
    floor: float = 0.0  # lower edge of its row

    @property
    def box(self) -> Box:
        """Where it stands."""
        return Box(self.x - self.size.width / 2.0, self.top, *self.size)

    @property
    def is_box(self) -> bool:
        """Whether it is a box, and not a word or lane of a link."""
        return self.key[1] < 0

    @property
    def is_lane(self) -> bool:
        """Whether it is the lane of a link."""
        return not self.is_box and self.size.width == 0.0


Rows = list[list[Item]]


def order_rows(rows: Rows) -> None:
    """Order each row by the middles of its neighbours, and keep the order with fewest crossings."""
    _start_order(rows)
    best = [list(row) for row in rows]
    fewest = _crossings(rows)
    for sweep in range(_SWEEPS):
        if not fewest:
            break
        downward = sweep % 2 == 0
        numbers = range(1, len(rows)) if downward else range(len(rows) - 2, -1, -1)
        for number in numbers:
            beside = rows[number - 1] if downward else rows[number + 1]
            at = {id(item): place for place, item in enumerate(beside)}
            middles = []
            for place, item in enumerate(rows[number]):
                seen = [at[id(other)] for other in (item.above if downward else item.below)]
                middles.append((sum(seen) / len(seen) if seen else float(place), place, item))
            rows[number] = [item for _, _, item in sorted(middles, key=lambda m: m[:2])]
        crossings = _crossings(rows)
        if crossings < fewest:
            fewest, best = crossings, [list(row) for row in rows]
    rows[:] = best


def _start_order(rows: Rows) -> None:
    """Order the rows as a walk from the heads down comes to them: what belongs together is near."""
    seen: dict[int, int] = {}

    def visit(item: Item) -> None:
        todo = [item]
        while todo:
            here = todo.pop()
            if id(here) not in seen:
                seen[id(here)] = len(seen)
                todo.extend(reversed(here.below))

    for row in rows:
        for item in row:
            visit(item)
    for row in rows:
        row.sort(key=lambda item: seen[id(item)])


def _crossings(rows: Rows) -> int:
    total = 0
    for upper, lower in pairwise(rows):
        at = {id(item): place for place, item in enumerate(upper)}
        passed: list[int] = []
        for item in lower:
            ends = sorted(at[id(other)] for other in item.above)
            total += sum(len(passed) - bisect_right(passed, end) for end in ends)
            for end in ends:
                insort(passed, end)
    return total
