"""Which block of the map stands in which column, and what keeps its order there."""

from bisect import bisect_left
from collections.abc import Mapping, Sequence

from diagnose.drawings.cards import Key
from diagnose.drawings.rows import Rows
from diagnose.map.shown import AsShown, Shown


def blocks_of(content: Shown) -> dict[str, list[Key]]:
    """Give the boxes of each block, by a name that tells it from all others."""
    blocks: dict[str, list[Key]] = {}
    for box in content.boxes.values():
        blocks.setdefault("/".join(box.block), []).append(box.key)
    return blocks


def columns_of(content: Shown, blocks: Mapping[str, Sequence[Key]], stages: int) -> dict[str, int]:
    """Give each block its column: mechanisms in as many stages as there are and may be."""
    single = {keys[0] for keys in blocks.values() if len(keys) == 1}
    middle = [b for b in content.boxes.values() if b.kind == "mechanisms" and b.key in single]
    depth = _depths(content, middle)
    deepest = max(depth.values(), default=0)
    used = min(stages, deepest + 1)
    grouped = any(b.kind == "mechanisms" and b.key not in depth for b in content.boxes.values())
    if grouped or any(box.is_group for box in middle):
        used = 1
    before = sorted(depth.values())  # as many in each stage as the chains allow
    column = {}
    for name, keys in blocks.items():
        box = content.boxes[keys[0]]
        if box.layer == 0:
            column[name] = 0
        elif box.kind == "mechanisms":
            earlier = bisect_left(before, depth.get(box.key, 0))
            column[name] = 1 + earlier * used // max(1, len(before))
        else:
            column[name] = 1 + used
    taken = {number: i for i, number in enumerate(sorted(set(column.values())))}
    return {name: taken[number] for name, number in column.items()}


def _depths(content: Shown, boxes: Sequence[AsShown]) -> dict[Key, int]:
    """Say how many of these boxes the longest chain to each passes before it."""
    inside = {box.key for box in boxes}
    depth: dict[Key, int] = {}

    def visit(key: Key, path: frozenset[Key]) -> int:
        if key not in depth:
            near = [b.tail for b in content.into.get(key, ()) if b.tail in inside - path]
            depth[key] = max((1 + visit(tail, path | {key}) for tail in near), default=0)
        return depth[key]

    for box in boxes:
        visit(box.key, frozenset())
    return depth


def keep_order(rows: Rows, heads: Mapping[str, AsShown]) -> None:
    """Keep zones and levels in the order of the base, and complaints above findings.

    A person finds them where they were before; and links cross little more for it.
    """
    number = {name: i for i, name in enumerate(heads)}
    for row in rows:
        boxes = [item for item in row if item.is_box]
        if not any(heads[item.key[0]].is_group for item in boxes):
            row.sort(key=lambda item: item.is_box and heads[item.key[0]].kind == "findings")
            continue
        ordered = iter(sorted(boxes, key=lambda item: number[item.key[0]]))
        row[:] = [next(ordered) if item.is_box else item for item in row]
