"""A graph of states, acts and outcomes with two bounds at every state.

Acts raise the layer of a state (`Expansion.layer`), so one pass over the layers from the innermost
outwards carries bounds back, and one pass inwards follows the acts that look best. Only where a
repair in vain can be done again do states lead back; then passes are repeated until nothing moves.
"""

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from diagnose.planning.batch import Batch, picked
from diagnose.planning.compiled import Bools, Ints
from diagnose.planning.expansion import Acts, Expansion
from diagnose.planning.problem import HAND_OVER, Key, State
from diagnose.tables import Floats

_END, _START = 0, 1
_ROOM = 256
_PASSES = 1000
_HARDLY, _RARELY = 1e-13, 1e-9


@dataclass(eq=False)
class _Layer:
    """Opened states of one layer, their acts and the outcomes of these, in ascending order."""

    parent: Ints  # (P,) state
    acts: Ints  # (P,) number of the first act
    hours: Floats  # (A,)
    key: Ints  # (A,)
    outcomes: Ints  # (A,) number of the first outcome
    child: Ints  # (O,) state
    chance: Floats  # (O,)
    lower: Floats = field(default_factory=lambda: np.empty(0))  # (A,) as carried back last

    def with_more(self, other: "_Layer") -> "_Layer":
        return _Layer(
            np.concatenate([self.parent, other.parent]),
            np.concatenate([self.acts, other.acts + len(self.hours)]),
            np.concatenate([self.hours, other.hours]),
            np.concatenate([self.key, other.key]),
            np.concatenate([self.outcomes, other.outcomes + len(self.child)]),
            np.concatenate([self.child, other.child]),
            np.concatenate([self.chance, other.chance]),
        )

    def of_acts(self, bound: Floats) -> Floats:
        """Give a bound of every act, given that of every state."""
        found: Floats = self.hours + np.add.reduceat(self.chance * bound[self.child], self.outcomes)
        return found


class Graph:
    """The states met so far; 0 is the end, 1 the start.

    Parameters
    ----------
    expansion : Expansion
    start : Batch
        Of one state.
    """

    def __init__(self, expansion: Expansion, start: Batch) -> None:
        self._expansion = expansion
        self._numbers: dict[bytes, int] = {}
        self._layers: dict[int, _Layer] = {}
        self._count = 0
        self._slack = 0.0
        self._states = picked(start, np.zeros(_ROOM, dtype=np.intp))
        self._lower = np.zeros(_ROOM)
        self._upper = np.zeros(_ROOM)
        self._leave = np.zeros(_ROOM)
        self._layer_of = np.full(_ROOM, np.iinfo(np.intp).max)
        self._circles = False
        self._opened: Bools = np.zeros(_ROOM, dtype=bool)
        self._opened[_END] = True
        self._count = 1
        self._meet(start)

    @property
    def lower_at_start(self) -> float:
        """Hours that no policy undercuts."""
        return float(self._lower[_START])

    @property
    def upper_at_start(self) -> float:
        """Hours that some policy takes."""
        return float(self._upper[_START])

    def closed(self, tolerance: float) -> bool:
        """Whether the bounds at the start meet."""
        return self.upper_at_start - self.lower_at_start <= tolerance

    def gap(self, states: Ints) -> Floats:
        """Give the upper minus the lower bound of states."""
        gap: Floats = self._upper[states] - self._lower[states]
        return gap

    def state(self, number: int) -> State:
        """Give one state."""
        return self._expansion.state(self._states, number)

    def first(self, tolerance: float) -> Key:
        """Give the best first act once it is closed, else the one known to cost least."""
        layer = self._layers[int(self._layer_of[_START])]
        hours = layer.of_acts(self._lower if self.closed(tolerance) else self._upper)
        acts, _ = _near_best(layer, np.flatnonzero(layer.parent == _START), np.inf)
        if not len(acts) or self._leave[_START] <= hours[acts].min() + tolerance:
            return HAND_OVER
        return self._expansion.keys[int(layer.key[acts[np.argmin(hours[acts])]])]

    def worth_opening(self, most: int, tolerance: float) -> Ints:
        """Give states where following the best acts ends, those that matter most first."""
        if not self._opened[_START]:
            return np.array([_START])
        is_open = self._upper[: self._count] - self._lower[: self._count] > tolerance
        reach = self._reach(is_open)
        edge = np.flatnonzero((reach > 0.0) & ~self._opened[: self._count] & is_open)
        self._widen(len(edge) < most // 2)
        matters = reach[edge] * self.gap(edge)
        return edge[np.argsort(-matters, kind="stable")[:most]]

    def _reach(self, is_open: Bools) -> Floats:
        """Follow acts that look best, or nearly so, from the start, shape (N,): visits expected."""
        reach = np.zeros(self._count)
        coming = np.zeros(self._count)
        coming[_START] = 1.0
        for _ in range(_PASSES):
            now, coming = coming, np.zeros(self._count)
            for depth, layer in sorted(self._layers.items()):
                on = np.flatnonzero((now[layer.parent] > 0.0) & is_open[layer.parent])
                if len(on):
                    acts, place = _near_best(layer, on, self._slack)
                    which, owner = _outcomes_of(layer, acts)
                    child = layer.child[which]
                    share = now[layer.parent[place]] / np.bincount(place)[place]
                    flow = share[owner] * layer.chance[which]
                    ahead = self._layer_of[child] > depth
                    np.add.at(now, child[ahead], flow[ahead])
                    np.add.at(coming, child[~ahead], flow[~ahead])
            reach += now
            if coming.sum() < _RARELY:
                break
        return reach

    def _widen(self, wider: bool) -> None:
        """Follow more acts than the best next time, or fewer, so that rounds are worth their while.

        What is nearly the best is likely to be opened before the bounds meet anyway.
        """
        least = 1e-4 * max(1.0, self.upper_at_start)
        self._slack = max(1.5 * self._slack, least) if wider else self._slack / 1.5

    def bound(self, found: list[tuple[int, float]]) -> None:
        """Take upper bounds of states and carry them back."""
        for number, hours in found:
            self._upper[number] = max(self._lower[number], min(self._upper[number], hours))
        self._carry_back()

    def open(self, states: Ints) -> None:
        """Add all that can follow from states and carry their bounds back."""
        layers = self._expansion.layer(picked(self._states, states))
        order = np.argsort(layers, kind="stable")
        states, layers = states[order], layers[order]
        acts = self._expansion.acts(picked(self._states, states))
        numbers = np.concatenate([self._meet(acts.children), [_END]])
        self._opened[states] = True
        idle = np.delete(states, acts.parent)
        self._lower[idle] = self._upper[idle] = self._leave[idle]  # nothing else helps
        ahead = self._layer_of[numbers[acts.child]] > layers[acts.parent[acts.act]]
        self._circles |= not bool(ahead.all())
        edges = np.flatnonzero(np.diff(layers, prepend=-1, append=-1))
        for first, last in pairwise(edges.tolist()):
            more = _layer(acts, states, numbers, first, last)
            depth = int(layers[first])
            known = self._layers.get(depth)
            self._layers[depth] = more if known is None else known.with_more(more)
        self._carry_back()

    def _carry_back(self) -> None:
        for _ in range(_PASSES if self._circles else 1):
            before = self._lower[: self._count] - self._upper[: self._count]
            for _, layer in sorted(self._layers.items(), reverse=True):
                if len(layer.parent):
                    self._carry_over(layer)
            after = self._lower[: self._count] - self._upper[: self._count]
            if np.abs(after - before).max() < _HARDLY:
                break

    def _carry_over(self, layer: _Layer) -> None:
        parent = layer.parent
        layer.lower = layer.of_acts(self._lower)
        lower = np.minimum(np.minimum.reduceat(layer.lower, layer.acts), self._leave[parent])
        upper = np.minimum.reduceat(layer.of_acts(self._upper), layer.acts)
        self._lower[parent] = np.maximum(self._lower[parent], lower)
        self._upper[parent] = np.minimum(self._upper[parent], upper)

    def _meet(self, batch: Batch) -> Ints:
        """Give the numbers of states, new ones for those not met before."""
        keys = batch.keys()
        known = self._numbers
        count = self._count
        found = np.empty(len(keys), dtype=np.intp)
        new: list[int] = []
        for i, key in enumerate(keys):
            number = known.get(key)
            if number is None:
                number = known[key] = count + len(new)
                new.append(i)
            found[i] = number
        if new:
            self._add(picked(batch, np.array(new)))
        return found

    def _add(self, batch: Batch) -> None:
        first, self._count = self._count, self._count + len(batch)
        if self._count > len(self._lower):
            self._grow()
        which = slice(first, self._count)
        for ours, theirs in zip(self._states.columns(), batch.columns(), strict=True):
            ours[which] = theirs
        self._lower[which], self._upper[which] = self._expansion.bounds(batch)
        self._leave[which] = self._expansion.leave(batch)
        self._layer_of[which] = self._expansion.layer(batch)
        self._opened[which] = False

    def _grow(self) -> None:
        wider = np.resize(np.arange(len(self._lower)), 2 * self._count)
        self._states = picked(self._states, wider)
        self._lower, self._upper = self._lower[wider], self._upper[wider]
        self._leave, self._opened = self._leave[wider], self._opened[wider]
        self._layer_of = self._layer_of[wider]


def _layer(acts: Acts, states: Ints, numbers: Ints, first: int, last: int) -> _Layer:
    """Cut out what belongs to the parents from first to last."""
    a, b = np.searchsorted(acts.parent, [first, last]).tolist()
    o, p = np.searchsorted(acts.act, [a, b]).tolist()
    starts = np.flatnonzero(np.diff(acts.parent[a:b], prepend=-1))
    return _Layer(
        parent=states[acts.parent[a:b][starts]],
        acts=starts,
        hours=acts.hours[a:b],
        key=acts.key[a:b],
        outcomes=np.flatnonzero(np.diff(acts.act[o:p], prepend=-1)),
        child=numbers[acts.child[o:p]],
        chance=acts.chance[o:p],
    )


def _near_best(layer: _Layer, on: Ints, slack: float) -> tuple[Ints, Ints]:
    """Give the acts of some parents whose lower bound is near the least, and their parents."""
    counts = np.diff(layer.acts, append=len(layer.hours))
    owner = np.repeat(np.arange(len(layer.acts)), counts)
    limit = np.full(len(layer.acts), -np.inf)
    limit[on] = np.minimum.reduceat(layer.lower, layer.acts)[on] + slack
    acts = np.flatnonzero(layer.lower <= limit[owner])
    return acts, owner[acts]


def _outcomes_of(layer: _Layer, acts: Ints) -> tuple[Ints, Ints]:
    """Give the outcomes of acts, and for each the place of its act in `acts`."""
    ends = np.append(layer.outcomes[1:], len(layer.child))
    counts = ends[acts] - layer.outcomes[acts]
    owner = np.repeat(np.arange(len(acts)), counts)
    before = np.cumsum(counts) - counts
    return np.arange(len(owner)) - before[owner] + layer.outcomes[acts][owner], owner
