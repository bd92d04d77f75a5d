"""Tables over subsets of open findings, and the order in which findings open and close.

A table holds in its last axis one number for each subset T of the findings that are open: entry t
is the subset of the places whose bits are set in t. A finding opens when the first component that
can bring it takes its turn, and closes with its likelihood after the last one. Only what is open
at the same time costs memory and time: 2^(open findings) numbers, however many findings there are.

Each step forwards has its adjoint, which carries a message the other way.

References
----------
The order is that of bucket elimination with the smallest next table first, as in Dechter (1999).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Links = tuple[tuple[int, float], ...]  # (place or finding, chance)


def opened(table: Floats, n: int) -> Floats:
    """Open n more findings at the topmost places; nothing has turned them on yet."""
    if n == 0:
        return table
    rows, size = table.shape
    wider = np.zeros((rows, size << n))
    wider[:, :size] = table
    return wider


def opened_back(table: Floats, n: int) -> Floats:
    """The adjoint of `opened`."""
    return table if n == 0 else np.ascontiguousarray(table[:, : table.shape[1] >> n])


def turn_on(table: Floats, links: Links, weight: float = 1.0) -> Floats:
    """Move mass from 'off' to 'on' for each (place, chance), and weigh it all."""
    table = weight * table
    for place, chance in links:
        off, on = _halves(table, place)
        moved = chance * off
        on += moved
        off -= moved
    return table


def turn_on_back(table: Floats, links: Links, weight: float = 1.0) -> Floats:
    """The adjoint of `turn_on`."""
    table = weight * table
    for place, chance in links:
        off, on = _halves(table, place)
        off *= 1.0 - chance
        off += chance * on
    return table


def each_turned_on(table: Floats, places: Sequence[int], chances: Floats) -> Floats:
    """Do `turn_on` for each row with chances of its own, of shape (rows, places)."""
    states = np.array(table.T, order="C")  # with the rows last, so that all loops are long
    for place, chance in zip(places, np.ascontiguousarray(chances.T), strict=True):
        split = states.reshape(-1, 2, 1 << place, len(table))
        off, on = split[:, 0], split[:, 1]
        moved = chance * off
        on += moved
        off -= moved
    return states.T


def each_turned_on_back(table: Floats, places: Sequence[int], chances: Floats) -> Floats:
    """The adjoint of `each_turned_on`."""
    states = np.array(table.T, order="C")
    for place, chance in zip(places, np.ascontiguousarray(chances.T), strict=True):
        split = states.reshape(-1, 2, 1 << place, len(table))
        off, on = split[:, 0], split[:, 1]
        off *= 1.0 - chance
        off += chance * on
    return states.T


def closed(table: Floats, place: int, off: Floats, on: float) -> Floats:
    """Weigh a finding with its likelihood, if off (for each row) or on, and leave it out."""
    rows, size = table.shape
    was_off, was_on = _halves(table, place)
    return (was_off * off[:, None, None] + was_on * on).reshape(rows, size >> 1)


def closed_back(table: Floats, place: int, off: Floats, on: float) -> Floats:
    """The adjoint of `closed`."""
    rows, size = table.shape
    wider = np.empty((rows, size << 1))
    was_off, was_on = _halves(wider, place)
    parts = table.reshape(was_off.shape)
    was_off[...] = parts * off[:, None, None]
    was_on[...] = parts * on
    return wider


def off_mass(front: Floats, back: Floats, place: int) -> Floats:
    """Mass, for each row, of the subsets in which a finding that closes next has stayed off.

    `front` still holds the finding, `back` is the message behind its closing.
    """
    was_off, _ = _halves(front, place)
    mass: Floats = np.einsum("rt,rt->r", was_off.reshape(back.shape), back)
    return mass


def _halves(table: Floats, place: int) -> tuple[Floats, Floats]:
    """Views of the entries with the place off, and on; shape (rows, higher, lower)."""
    rows, size = table.shape
    split = table.reshape(rows, size >> (place + 1), 2, 1 << place)
    return split[:, :, 0], split[:, :, 1]


def folded(table: Floats, places: Sequence[int]) -> Floats:
    """Bring some places of a table to its end, the first of them lowest; shape (R, 2^m)."""
    return np.ascontiguousarray(_by_places(table, places)).reshape(-1, 1 << len(places))


def unfolded(table: Floats, places: Sequence[int], shape: tuple[int, ...]) -> Floats:
    """Undo `folded`; the shape is that of the table before."""
    wide = np.empty(shape)
    view = _by_places(wide, places)
    view[...] = table.reshape(view.shape)
    return wide


def _by_places(table: Floats, places: Sequence[int]) -> Floats:
    """View of a table with an axis for each place, those that are named last, the first lowest."""
    rows, size = table.shape
    width = size.bit_length() - 1
    others = [width - place for place in range(width) if place not in places]
    axes = (0, *others, *(width - place for place in reversed(places)))
    return table.reshape(rows, *[2] * width).transpose(axes)


@dataclass(frozen=True)
class Turn:
    """One component's turn.

    Attributes
    ----------
    component : int
        Index of the component among those that were scheduled.
    opens : int
        How many findings open before it.
    places : dict
        Finding -> place, for all that are open during the turn.
    closes : tuple of (place, finding)
        What closes after it, one after the other.
    """

    component: int
    opens: int
    places: dict[int, int]
    closes: tuple[tuple[int, int], ...]


def schedule(
    touched: Sequence[frozenset[int]], kept: frozenset[int] = frozenset()
) -> tuple[tuple[Turn, ...], int, tuple[int, ...]]:
    """Order components so that few findings are open at a time.

    Parameters
    ----------
    touched : sequence of frozenset of int
        The findings that each component can turn on; none is empty.
    kept : frozenset of int
        Findings that stay open to the end.

    Returns
    -------
    turns : tuple of Turn
    width : int
        The most findings that are open at once.
    left : tuple of int
        What is open in the end, by place; those that no component touched come last, and have
        still to be opened.
    """
    order = _order(touched, kept)
    last = {f: i for i, c in enumerate(order) for f in touched[c] if f not in kept}
    active: list[int] = []
    turns = []
    width = 0
    for i, c in enumerate(order):
        new = [f for f in sorted(touched[c]) if f not in active]
        active += new
        width = max(width, len(active))
        places = {f: place for place, f in enumerate(active)}
        closes = []
        for f in [f for f in active if last.get(f) == i]:
            closes.append((active.index(f), f))
            active.remove(f)
        turns.append(Turn(c, len(new), places, tuple(closes)))
    left = (*active, *sorted(kept.difference(active)))
    return tuple(turns), max(width, len(left)), left


def _order(touched: Sequence[frozenset[int]], kept: frozenset[int]) -> list[int]:
    """Close findings one by one, each time the one that then leaves the fewest open."""
    near: dict[int, set[int]] = {}
    for findings in touched:
        for f in findings - kept:
            near.setdefault(f, set()).update(findings)
    closed_ones: dict[int, int] = {}
    active: set[int] = set()
    while len(closed_ones) < len(near):
        best = min(
            (f for f in near if f not in closed_ones),
            key=lambda f: (len((active | near[f]) - closed_ones.keys()), f),
        )
        active = (active | near[best]) - closed_ones.keys() - {best}
        closed_ones[best] = len(closed_ones)
    latest = len(closed_ones)
    return sorted(
        range(len(touched)),
        key=lambda c: (
            min(closed_ones.get(f, latest) for f in touched[c]),
            len(touched[c]),
            c,
        ),
    )
