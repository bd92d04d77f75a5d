"""The most probable sets of causes, in certified order, with the mass they cover.

The backward messages of `diagnose.noisy_or` give the exact mass of everything that can still follow
a choice. A best-first search with that mass as its bound therefore pops sets in their true order:
nothing left unopened can be more probable than what has been taken.
"""

import heapq
from dataclasses import dataclass
from itertools import count

import numpy as np
from numpy.typing import NDArray

from diagnose.noisy_or import Floats, Messages, turn_on


@dataclass(frozen=True)
class FaultSet:
    """One set of causes (indices) and its posterior probability."""

    causes: frozenset[int]
    p: float


@dataclass(frozen=True)
class FaultSets:
    """Sets by falling probability, and the mass they cover together."""

    sets: tuple[FaultSet, ...]
    covered: float


def best_sets(
    messages: Messages,
    present: NDArray[np.bool_],
    *,
    limit: int = 20,
    mass: float = 0.999,
    floor: float = 1e-7,
) -> FaultSets:
    """List the most probable sets.

    Parameters
    ----------
    messages : Messages
        From `diagnose.noisy_or.infer`.
    present : ndarray of bool, shape (M, C)
        `Modes.present` of the same network.
    limit : int
        At most so many sets.
    mass : float
        Stop when the sets cover this share.
    floor : float
        Branches that hold less than this share are left out, and count as not covered.

    Returns
    -------
    FaultSets
        ``covered`` is at most 1; what is missing is in sets that are not listed.
    """
    search = _Search(messages)
    share = messages.total - messages.empty
    found: dict[frozenset[int], float] = {}
    covered = 0.0
    ticket = count()
    heap: list[tuple[float, int, tuple[int, ...], Floats | None, float, int]] = []

    least = floor * share

    def push(
        value: float, chosen: tuple[int, ...], branch: tuple[Floats | None, float, int]
    ) -> None:
        if value > least:
            heapq.heappush(heap, (-value, next(ticket), chosen, *branch))

    push(messages.total, (), (search.start(), 1.0, -1))
    while heap and len(found) < limit and covered < mass:
        value, _, chosen, table, factor, place = heapq.heappop(heap)
        if table is None:  # a finished set
            causes = frozenset(int(c) for m in chosen for c in np.flatnonzero(present[m]))
            if causes or not messages.empty:
                found[causes] = found.get(causes, 0.0) - value / share
                covered -= value / share
            continue
        here = search.open(table, chosen, factor, place, least)
        push(here.alone, chosen, (None, 1.0, place))
        for mode, mass_below, position, through in here.branches:
            push(mass_below, (*chosen, mode), (here.table, through, position))
    ranked = sorted(found.items(), key=lambda item: (-item[1], sorted(item[0])))
    return FaultSets(tuple(FaultSet(causes, p) for causes, p in ranked), min(covered, 1.0))


@dataclass(frozen=True)
class _Opened:
    table: Floats
    alone: float
    branches: list[tuple[int, float, int, float]]


class _Search:
    """Masses below every choice of the next mode that is not its component's absent one."""

    def __init__(self, messages: Messages) -> None:
        self.messages = messages
        parts = (*messages.live, *messages.still)
        self.n_live = len(messages.live)
        nulls = np.array([part.weight[0] for part in parts])
        self.null_log = np.concatenate(([0.0], np.cumsum(np.log(nulls))))
        rows = [
            (m, float(w), i, m in messages.ahead)
            for i, part in enumerate(parts)
            for m, w in zip(part.rows[1:], part.weight[1:], strict=True)
            if w > 0.0
        ]
        self.mode = [r[0] for r in rows]
        self.weight = np.array([r[1] for r in rows])
        self.position = np.array([r[2] for r in rows], dtype=np.intp)
        live_rows = [m for m, _, _, is_live in rows if is_live]
        size = len(messages.end)
        self.ahead = np.array([messages.ahead[m] for m in live_rows]).reshape(len(live_rows), size)

    def start(self) -> Floats:
        table = np.zeros(len(self.messages.end))
        table[0] = 1.0
        return table

    def open(
        self, table: Floats, chosen: tuple[int, ...], factor: float, place: int, least: float
    ) -> _Opened:
        """Take the last chosen mode into the table; weigh what may follow.

        The table carries the weights of all modes chosen before; `factor` is the weight of the last
        one, with those of the absent modes between it and the one before. Branches that hold no
        more than `least` are left out.
        """
        if chosen:
            table = turn_on(table, self.messages.links.get(chosen[-1], ())) * factor
        first = int(np.searchsorted(self.position, place, side="right"))
        through = np.exp(self.null_log[self.position[first:]] - self.null_log[place + 1])
        ends_here = float(table @ self.messages.end)
        below = np.full(len(self.mode) - first, ends_here)
        n_ahead = len(self.ahead) - first
        if n_ahead > 0:
            below[:n_ahead] = self.ahead[first:] @ table
        through *= self.weight[first:]
        below *= through
        alone = ends_here * float(np.exp(self.null_log[-1] - self.null_log[place + 1]))
        branches = [
            (
                self.mode[first + i],
                float(below[i]),
                int(self.position[first + i]),
                float(through[i]),
            )
            for i in np.flatnonzero(below > least).tolist()
        ]
        return _Opened(table, alone, branches)
