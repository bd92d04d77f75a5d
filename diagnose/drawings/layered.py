"""Layered layout: boxes in rows, every link upward, nothing on top of anything else.

Heads stand above tails. A link that passes a row gets a lane of its own in it, and its word a place
of its own in the row just above its tail, so that words, lanes and boxes never meet: links may
cross only in the gaps between rows. The order in a row comes from barycentres, the places from
moving each row toward its neighbours' middles without changing that order.

References
----------
Layers and lanes: K. Sugiyama, S. Tagawa, M. Toda, "Methods for visual understanding of hierarchical
system structures", IEEE Transactions on Systems, Man, and Cybernetics 11, 1981, 109-125.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from graphlib import TopologicalSorter
from itertools import pairwise
from typing import NamedTuple

from diagnose.drawings.rows import Box, Item, Rows, Size, order_rows
from diagnose.drawings.spread import spread

_PASSES = 40  # of the places
_LANE_PULL = 4.0  # a lane is held straight so many times as firmly as a box


class Link(NamedTuple):
    """From a tail up to a head; the size of its word, if it has one."""

    tail: str
    head: str
    word: Size | None = None


class Run(NamedTuple):
    """An upright piece of a link's way, from below to above; between two runs it swings over."""

    x: float
    below: float
    above: float


@dataclass(frozen=True)
class Way:
    """The way of one link, from its tail's upper edge to its head's lower one.

    Attributes
    ----------
    link : Link
    pieces : tuple of tuple of Run
        Two if it is broken by its word, else one.
    word : Box or None
        Place of its word.
    """

    link: Link
    pieces: tuple[tuple[Run, ...], ...]
    word: Box | None


@dataclass(frozen=True)
class Layout:
    """Places of all boxes, and the ways of all links in the order they were given."""

    size: Size
    boxes: Mapping[str, Box]
    ways: tuple[Way, ...]


@dataclass(frozen=True)
class Spacing:
    """Distances in units of the drawing.

    ``across`` is between two boxes of a row, ``lane`` beside a lane or a word, ``down`` between two
    rows, ``swing`` what each link that moves sideways there adds to it, ``port`` between two links
    at one box.
    """

    across: float = 24.0
    lane: float = 12.0
    down: float = 20.0
    swing: float = 2.5
    port: float = 12.0


def lay_out(
    sizes: Mapping[str, Size], links: Sequence[Link], *, room: float, spacing: Spacing | None = None
) -> Layout:
    """Place boxes in rows with every head above its tails.

    Parameters
    ----------
    sizes : Mapping
        Box id -> size.
    links : sequence of Link
        Between boxes, without a cycle.
    room : float
        No row has more boxes than fit this width, unless one alone is wider; lanes may add to it.
    spacing : Spacing, optional

    Returns
    -------
    Layout
        The same input gives the same layout, whatever the order of ``sizes``.

    Raises
    ------
    ValueError
        If links form a cycle, or one names a box that is not there.
    """
    gaps = spacing or Spacing()
    levels = _levels(sizes, links, room, gaps)
    rows, chains = _items(sizes, links, levels)
    order_rows(rows)
    width = _move_across(rows, room, gaps)
    edges, height = _edges(rows, gaps)
    boxes: dict[str, Box] = {}
    floors: dict[str, float] = {}
    for row, (top, bottom) in zip(rows, edges, strict=True):
        for item in row:
            item.top, item.floor = top, bottom
            if item.is_box:
                boxes[item.key[0]] = item.box
                floors[item.key[0]] = bottom
    ports = _ports(rows, gaps)
    ways = []
    for number, (link, chain) in enumerate(zip(links, chains, strict=True)):
        tail, head = boxes[link.tail], boxes[link.head]
        leaves = Run(ports[link.tail, number, False], tail.top, tail.top)
        arrives = Run(ports[link.head, number, True], floors[link.head], head.bottom)
        ways.append(_way(link, chain, leaves, arrives))
    return Layout(Size(width, height), {name: boxes[name] for name in sizes}, tuple(ways))


def _levels(
    sizes: Mapping[str, Size], links: Sequence[Link], room: float, gaps: Spacing
) -> dict[str, int]:
    """Give each box its row, 0 on top: below all its heads, and where there is still room.

    Of several the one with the longest chain of tails behind it comes first.
    """
    heads: dict[str, set[str]] = {name: set() for name in sizes}
    for link in links:
        if link.tail not in sizes or link.head not in sizes:
            missing = link.tail if link.tail not in sizes else link.head
            message = f"no box is called {missing!r}"
            raise ValueError(message)
        heads[link.tail].add(link.head)
    order = [*TopologicalSorter({k: sorted(heads[k]) for k in sorted(sizes)}).static_order()]
    behind: dict[str, int] = dict.fromkeys(sizes, 0)
    for name in reversed(order):
        for head in heads[name]:
            behind[head] = max(behind[head], behind[name] + 1)
    waiting = sorted(sizes, key=lambda name: (-behind[name], name))
    level: dict[str, int] = {}
    number = 0
    while waiting:
        used = 0.0
        left = []
        for name in waiting:
            free = all(level.get(head, number) < number for head in heads[name])
            wide = sizes[name].width + gaps.across
            if free and (not used or used + wide <= room + gaps.across):
                level[name] = number
                used += wide
            else:
                left.append(name)
        waiting, number = left, number + 1
    return level


def _items(
    sizes: Mapping[str, Size], links: Sequence[Link], levels: Mapping[str, int]
) -> tuple[Rows, list[list[Item]]]:
    """Make the rows, with a row for words and lanes between any two rows of boxes.

    Gives as well the items that each link passes, from its tail upward.
    """
    rows: Rows = [[] for _ in range(2 * max(levels.values(), default=-1) + 1)]
    boxes = {name: Item((name, -1), sizes[name]) for name in sorted(sizes)}
    for name, item in boxes.items():
        rows[2 * levels[name]].append(item)
    chains: list[list[Item]] = []
    for number, link in enumerate(links):
        start, end = 2 * levels[link.tail], 2 * levels[link.head]
        chain = []
        for row in range(start - 1, end, -1):
            word = link.word if row == start - 1 else None
            item = Item((link.tail, number), word or Size(0.0, 0.0))
            rows[row].append(item)
            chain.append(item)
        chains.append(chain)
        whole = [boxes[link.tail], *chain, boxes[link.head]]
        for lower, upper in pairwise(whole):
            lower.above.append(upper)
            upper.below.append(lower)
    return rows, chains


def _move_across(rows: Rows, room: float, gaps: Spacing) -> float:
    """Find the middles; gives the width of the whole."""
    packed = [_packed(row, gaps) for row in rows]
    width = max([room, *(wide for _, wide in packed)])
    if not any(rows):
        return 0.0
    for (offsets, wide), row in zip(packed, rows, strict=True):
        for item, offset in zip(row, offsets, strict=True):
            item.x = offset + (width - wide) / 2.0
    for count in range(_PASSES):
        downward = count % 2 == 0
        for number in range(len(rows)) if downward else range(len(rows) - 1, -1, -1):
            row, (offsets, wide) = rows[number], packed[number]
            wanted = [_wanted(item, downward=downward) for item in row]
            weights = [_LANE_PULL if item.is_lane else 1.0 for item in row]
            for item, x in zip(
                row, spread(wanted, offsets, width - wide, weights=weights), strict=True
            ):
                item.x = x
    left = min(item.x - item.size.width / 2.0 for row in rows for item in row)
    right = max(item.x + item.size.width / 2.0 for row in rows for item in row)
    for row in rows:
        for item in row:
            item.x -= left
    return right - left


def _wanted(item: Item, *, downward: bool) -> float:
    near = (item.above or item.below) if downward else (item.below or item.above)
    return sum(other.x for other in near) / len(near) if near else item.x


def _packed(row: Sequence[Item], gaps: Spacing) -> tuple[list[float], float]:
    """Give the middles with everything as far left as it goes, and the width that takes."""
    offsets: list[float] = []
    edge = 0.0
    before: Item | None = None
    for item in row:
        if before is not None:
            edge += gaps.across if before.is_box and item.is_box else gaps.lane
        offsets.append(edge + item.size.width / 2.0)
        edge += item.size.width
        before = item
    return offsets, edge


def _edges(rows: Rows, gaps: Spacing) -> tuple[list[tuple[float, float]], float]:
    """Give upper and lower edge of each row, and the height of the whole."""
    edges = []
    top = 0.0
    for row in rows:
        bottom = top + max((item.size.height for item in row), default=0.0)
        edges.append((top, bottom))
        steps = (abs(other.x - item.x) for item in row for other in item.below)
        swings = sum(step > gaps.across for step in steps)
        top = bottom + gaps.down + gaps.swing * swings
    return edges, edges[-1][1] if edges else 0.0


_Ports = dict[tuple[str, int, bool], float]  # box, number of the link, whether it arrives there


def _ports(rows: Rows, gaps: Spacing) -> _Ports:
    """Say where on its box each link leaves and arrives: as nearly straight as the others allow."""
    ports: _Ports = {}
    for row in rows:
        for box in (item for item in row if item.is_box):
            for near, arrives in ((box.above, False), (box.below, True)):
                order = sorted(near, key=lambda other: other.x)
                inner = box.size.width - 2.0 * gaps.port
                step = min(gaps.port, inner / max(1, len(order) - 1)) if inner > 0.0 else 0.0
                left = box.x - max(0.0, inner) / 2.0
                offsets = [left + step * i for i in range(len(order))]
                slack = max(0.0, inner - step * max(0, len(order) - 1))
                places = spread([other.x for other in order], offsets, slack)
                for other, x in zip(order, places, strict=True):
                    ports[box.key[0], other.key[1], arrives] = x
    return ports


def _way(link: Link, chain: Iterable[Item], leaves: Run, arrives: Run) -> Way:
    """Lead a link from its tail through its word and its lanes up to its head."""
    pieces: list[list[Run]] = [[leaves]]
    word = None
    for item in chain:
        if item.is_lane:
            pieces[-1].append(Run(item.x, item.floor, item.top))
        else:
            word = item.box
            pieces[-1].append(Run(item.x, item.floor, word.bottom))
            pieces.append([Run(item.x, word.top, word.top)])
    pieces[-1].append(arrives)
    return Way(link, tuple(tuple(piece) for piece in pieces), word)
