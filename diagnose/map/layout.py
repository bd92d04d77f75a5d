"""Where everything on the map stands: layers as columns, links from left to right.

The geometry is that of `diagnose.drawings`, laid on its side: what is a row there is a column here.
Blocks (a group with its opened members, or one record) are ordered so that few links cross, and
moved toward the middle of what they are joined to. A link that passes a layer has a lane there as
long as lanes are few; where they are many it has none, and is drawn only when one end is marked.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf
from typing import NamedTuple

from diagnose.drawings.cards import Key
from diagnose.drawings.rows import Box, Item, Rows, Size, order_rows
from diagnose.drawings.spread import spread
from diagnose.map.columns import blocks_of, columns_of, keep_order
from diagnose.map.shown import Bond, Shown

_PASSES = 12
_MOST_LANES = 24  # of a layer


@dataclass(frozen=True)
class Room:
    """Distances in units of the drawing.

    ``across`` is between two layers, ``block`` between two blocks and ``inside`` between two boxes
    of one, ``indent`` how far members stand in, ``lane`` the height of a lane. ``stages`` is the
    most columns that mechanisms may take. Within the height ``screen`` a column is moved toward
    what it is joined to; farther down it would be out of sight.
    """

    across: float = 72.0
    block: float = 14.0
    inside: float = 5.0
    indent: float = 14.0
    lane: float = 12.0
    stages: int = 1
    screen: float = inf


class Curve(NamedTuple):
    """The way of a bond.

    Attributes
    ----------
    bond : Bond
    points : tuple of (float, float)
        Where it runs level, from its tail's right edge to its head's left one.
    quiet : bool
        Whether it is drawn only when one of its ends is marked.
    beside : bool
        Whether it joins two boxes of one column, round their right edges.
    """

    bond: Bond
    points: tuple[tuple[float, float], ...]
    quiet: bool = False
    beside: bool = False


@dataclass(frozen=True)
class Placed:
    """The map laid out.

    Attributes
    ----------
    size : Size
    boxes : Mapping
        Key -> place.
    curves : tuple of Curve
        In the order of the bonds.
    columns : tuple of tuple of str
        Keys from left to right, and of each column from above.
    """

    size: Size
    boxes: Mapping[Key, Box]
    curves: tuple[Curve, ...]
    columns: tuple[tuple[Key, ...], ...]


def place(
    content: Shown,
    sizes: Mapping[Key, Size],
    room: Room | None = None,
    *,
    beside: Key | None = None,
) -> Placed:
    """Lay the map out.

    Parameters
    ----------
    content : Shown
    sizes : Mapping
        Key of each box -> its size.
    room : Room, optional
    beside : tuple of str, optional
        Key of a box that the other columns stand beside, as far as they go.

    Returns
    -------
    Placed
        The same input gives the same picture.
    """
    gaps = room or Room()
    blocks = blocks_of(content)
    columns = columns_of(content, blocks, gaps.stages)
    rows, lanes = _rows(content, blocks, columns, sizes, gaps)
    order_rows(rows)
    keep_order(rows, {name: content.boxes[keys[0]] for name, keys in blocks.items()})
    grouped = [
        any(content.boxes[k].is_group for i in r if i.is_box for k in blocks[i.key[0]])
        for r in rows
    ]
    height = _move(rows, grouped, gaps)
    if beside is not None and beside in content.boxes:
        _stand_beside(content, rows, height, blocks, beside)
    boxes, edges, width = _boxes(content, blocks, rows, sizes, gaps)
    curves = _curves(content, boxes, edges, columns, blocks, lanes)
    order = tuple(
        tuple(key for item in row if item.is_box for key in blocks[item.key[0]]) for row in rows
    )
    return Placed(Size(width, height), boxes, curves, order)


def _rows(
    content: Shown,
    blocks: Mapping[str, Sequence[Key]],
    columns: Mapping[str, int],
    sizes: Mapping[Key, Size],
    gaps: Room,
) -> tuple[Rows, dict[tuple[str, str], list[Item]]]:
    """Make the columns with their blocks, and the lanes of the bonds that pass some of them."""
    rows: Rows = [[] for _ in range(max(columns.values(), default=-1) + 1)]
    items: dict[str, Item] = {}
    for name, keys in blocks.items():
        tall = sum(sizes[key].height for key in keys) + gaps.inside * (len(keys) - 1)
        wide = max(sizes[key].width for key in keys)
        items[name] = Item((name, -1), Size(tall, wide))
        rows[columns[name]].append(items[name])
    home = {key: name for name, keys in blocks.items() for key in keys}
    pairs = dict.fromkeys((home[bond.tail], home[bond.head]) for bond in content.bonds)
    passing = [0] * len(rows)
    for tail, head in pairs:
        for number in range(columns[tail] + 1, columns[head]):
            passing[number] += 1
    lanes: dict[tuple[str, str], list[Item]] = {}
    for i, (tail, head) in enumerate(pairs):
        between = range(columns[tail] + 1, columns[head])
        if columns[tail] >= columns[head] or any(passing[n] > _MOST_LANES for n in between):
            continue
        chain = [Item((tail, i), Size(0.0, 0.0)) for _ in between]
        for number, item in zip(between, chain, strict=True):
            rows[number].append(item)
        lanes[tail, head] = chain
        whole = [items[tail], *chain, items[head]]
        for before, after in pairwise(whole):
            # Laid on its side, the first row is the first column.
            before.below.append(after)
            after.above.append(before)
    return rows, lanes


def _stand_beside(
    content: Shown, rows: Rows, height: float, blocks: Mapping[str, Sequence[Key]], key: Key
) -> None:
    """Shift each other column as a whole, so that what is joined to a box is level with it."""
    home = {k: name for name, keys in blocks.items() for k in keys}
    near = {home[b.tail] for b in content.into.get(key, ())}
    near |= {home[b.head] for b in content.out_of.get(key, ())}
    own = next(item for row in rows for item in row if item.is_box and item.key[0] == home[key])
    keys = blocks[home[key]]
    level = own.x + own.size.width * ((keys.index(key) + 0.5) / len(keys) - 0.5)
    for row in rows:
        joined = [item.x for item in row if item.is_box and item.key[0] in near]
        if own in row or not joined:
            continue
        top = min(item.x - item.size.width / 2.0 for item in row)
        bottom = max(item.x + item.size.width / 2.0 for item in row)
        shift = level - sum(joined) / len(joined)
        shift = min(max(shift, -top), height - bottom)
        for item in row:
            item.x += shift


def _move(rows: Rows, grouped: Sequence[bool], gaps: Room) -> float:
    """Find the middles along each column; gives the height of the whole.

    A column with groups stays packed, so that opening one moves only what is below it.
    """
    packed = [_packed(row, gaps) for row in rows]
    height = max((tall for _, tall in packed), default=0.0)
    for row, (offsets, _) in zip(rows, packed, strict=True):
        for item, offset in zip(row, offsets, strict=True):
            item.x = offset
    for count in range(_PASSES):
        leftward = count % 2 == 0
        numbers = range(len(rows)) if leftward else range(len(rows) - 1, -1, -1)
        for number in numbers:
            row, (offsets, tall) = rows[number], packed[number]
            slack = 0.0 if grouped[number] else max(0.0, min(height, gaps.screen) - tall)
            wanted = []
            for item in row:
                near = [*item.above, *item.below]
                wanted.append(sum(n.x for n in near) / len(near) if near else item.x)
            for item, x in zip(row, spread(wanted, offsets, slack), strict=True):
                item.x = x
    return height


def _packed(row: Sequence[Item], gaps: Room) -> tuple[list[float], float]:
    """Give the middles with everything as high as it goes, and the height that takes."""
    offsets: list[float] = []
    edge = 0.0
    for i, item in enumerate(row):
        size = item.size.width if item.is_box else gaps.lane
        edge += gaps.block if i and item.is_box and row[i - 1].is_box else 0.0
        offsets.append(edge + size / 2.0)
        edge += size
    return offsets, edge


def _boxes(
    content: Shown,
    blocks: Mapping[str, Sequence[Key]],
    rows: Rows,
    sizes: Mapping[Key, Size],
    gaps: Room,
) -> tuple[dict[Key, Box], list[tuple[float, float]], float]:
    """Give the place of each box, the two edges of each column, and the width of the whole."""
    boxes: dict[Key, Box] = {}
    edges = []
    left = 0.0
    for row in rows:
        wide = max((item.size.height for item in row if item.is_box), default=0.0)
        for item in row:
            if not item.is_box:
                continue
            top = item.x - item.size.width / 2.0
            keys = blocks[item.key[0]]
            for key in keys:
                inset = gaps.indent if len(keys) > 1 and not content.boxes[key].is_group else 0.0
                boxes[key] = Box(left + inset, top, wide - inset, sizes[key].height)
                top += sizes[key].height + gaps.inside
        edges.append((left, left + wide))
        left += wide + gaps.across
    return boxes, edges, max(0.0, left - gaps.across)


def _curves(
    content: Shown,
    boxes: Mapping[Key, Box],
    edges: Sequence[tuple[float, float]],
    columns: Mapping[str, int],
    blocks: Mapping[str, Sequence[Key]],
    lanes: Mapping[tuple[str, str], Sequence[Item]],
) -> tuple[Curve, ...]:
    """Lead each bond from its tail, through its lanes, to its head."""
    home = {key: name for name, keys in blocks.items() for key in keys}
    ports = _ports(content.bonds, boxes)
    curves = []
    for bond, (leaves, arrives) in zip(content.bonds, ports, strict=True):
        tail, head = home[bond.tail], home[bond.head]
        start = (boxes[bond.tail].right, leaves)
        if columns[tail] >= columns[head]:
            curves.append(Curve(bond, (start, (boxes[bond.head].right, arrives)), beside=True))
            continue
        end = (boxes[bond.head].left, arrives)
        chain = lanes.get((tail, head))
        points = [start]
        for number, item in enumerate(chain or (), columns[tail] + 1):
            left, right = edges[number]
            points.extend(((left, item.x), (right, item.x)))
        curves.append(Curve(bond, (*points, end), quiet=chain is None))
    return tuple(curves)


def _ports(bonds: Sequence[Bond], boxes: Mapping[Key, Box]) -> list[tuple[float, float]]:
    """Say at which height each bond leaves and arrives: in the order of the other ends."""
    heights = []
    for leaves in (True, False):
        ends: dict[Key, list[tuple[float, int]]] = {}
        for number, bond in enumerate(bonds):
            near, far = (bond.tail, bond.head) if leaves else (bond.head, bond.tail)
            ends.setdefault(near, []).append((boxes[far].top, number))
        at = [0.0] * len(bonds)
        for key, some in ends.items():
            step = boxes[key].height / (len(some) + 1.0)
            for place_, (_, number) in enumerate(sorted(some), 1):
                at[number] = boxes[key].top + step * place_
        heights.append(at)
    return list(zip(*heights, strict=True))
