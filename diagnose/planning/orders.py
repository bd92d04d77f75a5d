"""The base policy: look and mend in the best order, each way in counted once.

For every belief it gives what it costs to go through looks and repairs in an order fixed
beforehand, until the fault is found, put right and proved on the road. A level is weighed together
with the looks behind it: the prefix that pays best for the opening joins into one act, from the
innermost level outwards. What is inside is done in one go, before or amid what is outside. Repairs
without a look are tried one by one where driving between them is cheap, and in one batch where the
vehicle has to be closed up first. It ends by handing over where that costs less than going on.

Many beliefs are worked out at once: one call weighs every answer of every check.

References
----------
p over c for one fault; nested levels bottom-up where one can look with the level open (Langseth
and Jensen; Ottosen and Jensen); the prefix of that order before a service call (Lin 2014); batches
where opening costs more than parts (Stern, Kalech and Shinitzky 2016). Numbers: engine notes T1
and T2.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from diagnose.planning.problem import HAND_OVER, Key, Problem
from diagnose.tables import Floats

_TRIFLE = 0.0005  # what settles less than this in every belief is left to whoever takes over
_LEAST_CURE = 0.3  # however seldom a repair cures, it is done a few times at the most
_NONE = -1.0  # efficiency of what settles nothing


@dataclass(frozen=True, eq=False)
class _Sequence:
    """Items in order, for each of N beliefs; arrays of shape (N, m).

    ``which`` numbers the items; ``worth`` is the chance per hour of the cluster an item is in;
    ``cost`` has the opening of a level in it, at the item that opens it.
    """

    which: NDArray[np.intp]
    worth: Floats
    cost: Floats

    def put_in_order(self, order: NDArray[np.intp]) -> "_Sequence":
        return _Sequence(
            np.take_along_axis(self.which, order, 1),
            np.take_along_axis(self.worth, order, 1),
            np.take_along_axis(self.cost, order, 1),
        )

    def before(self, other: "_Sequence") -> "_Sequence":
        return _Sequence(
            np.concatenate((self.which, other.which), axis=1),
            np.concatenate((self.worth, other.worth), axis=1),
            np.concatenate((self.cost, other.cost), axis=1),
        )


@dataclass(frozen=True, eq=False)
class _Best:
    """The best order of each of N beliefs.

    ``hours``, shape (N,); ``cut``, shape (N,), how many items come before the end; ``which``, shape
    (N, m), the items in order; ``p``, shape (N, K), the chance that each settles it.
    """

    hours: Floats
    cut: NDArray[np.intp]
    which: NDArray[np.intp]
    p: Floats

    def or_better(self, other: "_Best") -> "_Best":
        better = other.hours < self.hours
        return _Best(
            np.where(better, other.hours, self.hours),
            np.where(better, other.cut, self.cut),
            np.where(better[:, None], other.which, self.which),
            self.p,
        )

    def items(self, row: int) -> Iterator[int]:
        """Give the items of one belief that settle anything, up to its end."""
        for number in self.which[row, : int(self.cut[row])].tolist():
            if self.p[row, number] > 0.0:
                yield number


@dataclass(frozen=True, eq=False)
class Beliefs:
    """Beliefs of many states that stand at one level, and what is left to do in each.

    Attributes
    ----------
    weights : ndarray, shape (N, S)
        Each row sums to 1.
    tests : ndarray of bool, shape (N, T)
    repairs : ndarray of bool, shape (N, R)
    """

    weights: Floats
    tests: NDArray[np.bool_]
    repairs: NDArray[np.bool_]

    def one(self, number: int) -> "Beliefs":
        """Give a single one of them."""
        row = slice(number, number + 1)
        return Beliefs(self.weights[row], self.tests[row], self.repairs[row])


class Orders:
    """Access-aware orders from one level.

    Parameters
    ----------
    problem : Problem
    here : int
        Number of the level the vehicle stands at.
    """

    def __init__(self, problem: Problem, here: int) -> None:
        self.problem, self.here = problem, here
        access = problem.access
        self._opening = np.array(access.opening(here))
        self._way_out = access.way_out(here)
        drivable = np.array(access.drivable)
        self._drivable = drivable
        mendable = problem.mends >= 0
        depth = np.array([r.depth for r in problem.repairs] or [0])[problem.mends]
        hours = np.array([r.hours for r in problem.repairs] or [0.0])[problem.mends]
        tried = hours + np.where(drivable[depth], problem.drive, 0.0)
        self._cure = self._cures()
        looks = problem.proofs.reshape(len(mendable), -1)
        self._sees = problem.sees.reshape(looks.shape) * (looks >= 0)
        self._looked = np.unique(looks[looks >= 0])
        look_hours = np.array([problem.tests[t].hours for t in self._looked])
        look_depth = np.array([problem.tests[t].depth for t in self._looked], dtype=np.intp)
        # A repair that costs no more than the look is simply tried.
        near = np.array([access.move(here, d)[0] for d in range(len(drivable))])
        at_look = np.full(looks.shape, np.inf)
        item_of = np.searchsorted(self._looked, np.maximum(looks, 0))
        if len(self._looked):
            at_look = np.where(looks >= 0, (near[look_depth] + look_hours)[item_of], np.inf)
        worth_it = mendable[:, None] & (at_look < (near[depth] + tried)[:, None])
        self._pairs = np.argwhere(worth_it)
        self._item = item_of[worth_it]
        self._mendable = mendable
        self._fix = self._fixes(depth, hours, look_depth)
        # Items: the looks, then one try for each cause.
        self._cost = np.concatenate((look_hours, tried))
        self._depth = np.concatenate((look_depth, depth))
        self._into = np.zeros((len(self._pairs), len(look_hours)))
        self._into[np.arange(len(self._pairs)), self._item] = 1.0
        trying = np.arange(len(self._cost)) >= len(look_hours)
        self._batched = trying & ~drivable[self._depth]

    def _cures(self) -> Floats:
        problem = self.problem
        return np.array(
            [
                problem.repairs[number].cures[cause] if number >= 0 else 0.0
                for cause, number in enumerate(problem.mends.tolist())
            ]
        )

    def _fixes(
        self, depth: NDArray[np.intp], hours: Floats, look_depth: NDArray[np.intp]
    ) -> Floats:
        """Hours of putting right what a look has found, for each pair of cause and look.

        With the way deeper, the drive, and what it takes to do it again where it does not cure.
        """
        access = self.problem.access
        both = np.cumsum(np.array(access.down) + np.array(access.up))
        causes = self._pairs[:, 0]
        stands = np.maximum(self.here, look_depth[self._item])
        deeper = np.maximum(both[depth[causes]] - both[stands], 0.0)
        once = hours[causes] + self.problem.drive
        cure = np.maximum(self._cure[causes], _LEAST_CURE)
        fixes: Floats = once + deeper + (1.0 - cure) / cure * (both[depth[causes]] + once)
        return fixes

    def costs(self, beliefs: Beliefs) -> Floats:
        """Expected hours of going through the order, for many beliefs at once; shape (N,)."""
        return self._best(beliefs).hours if len(beliefs.weights) else np.zeros(0)

    def begun(self, beliefs: Beliefs) -> tuple[Floats, list[Key]]:
        """Give the expected hours, shape (N,), and the act that each order begins with."""
        if not len(beliefs.weights):
            return np.zeros(0), []
        best = self._best(beliefs)
        keys = []
        for i in range(len(best.hours)):
            first = next(best.items(i), None)
            if first is None:
                keys.append(HAND_OVER)
            elif first < len(self._cost):
                keys.append(self._key(first))
            else:
                keys.append(self._batch_keys(beliefs.one(i))[0])
        return best.hours, keys

    def keys(self, beliefs: Beliefs) -> list[Key]:
        """Give the acts of the order of a single belief, up to handing over."""
        keys: list[Key] = []
        for number in self._best(beliefs).items(0):
            if number < len(self._cost):
                keys.append(self._key(number))
            else:
                keys.extend(self._batch_keys(beliefs))
        return keys

    def _key(self, number: int) -> Key:
        if number < len(self._looked):
            return self.problem.tests[int(self._looked[number])].key
        cause = number - len(self._looked)
        return self.problem.repairs[int(self.problem.mends[cause])].key

    def _batch_keys(self, beliefs: Beliefs) -> list[Key]:
        p, _ = self._chances(beliefs)
        chosen, _, _ = self._batch(p, self._handing_over(beliefs.weights))
        items = sorted(np.flatnonzero(chosen[0]).tolist(), key=lambda number: -p[0, number])
        return [self._key(number) for number in items]

    def _handing_over(self, weights: Floats) -> Floats:
        well = self.problem.well
        left = 1.0 - weights[:, well].sum(axis=1)
        hours: Floats = (weights @ self.problem.hand_over) / np.where(left > 0.0, left, 1.0)
        return hours

    def _chances(self, beliefs: Beliefs) -> tuple[Floats, Floats]:
        """Chance that each item settles it, shape (N, K), and hours of mending weighed with it."""
        weights = beliefs.weights
        chance = (weights @ self.problem.share) * beliefs.repairs[:, self.problem.mends]
        open_looks = beliefs.tests[:, self._looked]
        causes, places = self._pairs.T
        seen = np.zeros((len(chance), len(causes)))
        unseen = np.ones_like(chance)
        for place in range(self._sees.shape[1]):
            mine = places == place
            can_be_done = open_looks[:, self._item[mine]]
            sees = can_be_done * self._sees[causes[mine], place]
            seen[:, mine] = chance[:, causes[mine]] * unseen[:, causes[mine]] * sees
            unseen[:, causes[mine]] *= 1.0 - sees
        by_try = chance * unseen * self._cure * self._mendable
        return (
            np.concatenate((seen @ self._into, by_try), axis=1),
            np.concatenate(((seen * self._fix) @ self._into, np.zeros_like(by_try)), axis=1),
        )

    def _batch(self, p: Floats, handing_over: Floats) -> tuple[NDArray[np.bool_], Floats, Floats]:
        """What is worth trying inside before it closes: a mask of items, its chance, its hours."""
        left = np.maximum(1.0 - p[:, : len(self._looked)].sum(axis=1), 0.0)[:, None]
        saves = p * (handing_over[:, None] + self.problem.drive)
        chosen = self._batched & (saves > left * self._cost) & (p > _TRIFLE)
        hours = np.where(chosen, self._cost, 0.0).sum(axis=1)
        # Deeper levels are opened for the batch alone: it comes last.
        first_inside = int(np.argmin(self._drivable)) if not self._drivable.all() else 0
        for depth in range(first_inside + 1, len(self._opening)):
            deep = (chosen & (self._depth >= depth)).any(axis=1)
            hours = hours + np.where(deep, self._opening[depth], 0.0)
        return chosen, np.where(chosen, p, 0.0).sum(axis=1), hours

    def _best(self, beliefs: Beliefs) -> "_Best":
        """Give the best order of each belief."""
        weights = beliefs.weights
        p, fixing = self._chances(beliefs)
        handing_over = self._handing_over(weights)
        _, batch_p, batch_cost = self._batch(p, handing_over)
        p = np.column_stack((np.where(self._batched, 0.0, p), batch_p))
        fixing = np.column_stack((fixing, np.zeros(len(p))))
        cost = np.column_stack((np.broadcast_to(self._cost, (len(p), len(self._cost))), batch_cost))
        inside = int(np.argmin(self._drivable)) if not self._drivable.all() else len(self._opening)
        depth = np.append(self._depth, inside)
        used = np.flatnonzero((p > _TRIFLE).any(axis=0))
        outer = self._sequence(p, cost, depth, used, range(inside))
        inner = self._sequence(p, cost, depth, used, range(inside, len(self._opening)))
        tail = handing_over[:, None]
        again = weights @ self.problem.again
        well = weights[:, self.problem.well].sum(axis=1)
        best, *others = (
            _Best(*self._ended(sequence, p, fixing, tail, well), sequence.which, p)
            for sequence in self._shapes(outer, inner)
        )
        for other in others:
            best = best.or_better(other)
        return replace(best, hours=best.hours + self._way_out + again)

    def _shapes(self, outer: _Sequence, inner: _Sequence) -> list[_Sequence]:
        """The ways to lay what is inside between what is outside."""
        if not inner.which.shape[1] or not outer.which.shape[1]:
            return [outer.before(inner)]
        if not self._drivable[self.here]:
            return [inner.before(outer)]
        both = outer.before(inner)
        # What pays better than going in comes first, the rest when all is closed again.
        late = (outer.worth < inner.worth[:, :1]).astype(np.intp) * 2
        place = np.concatenate((late, np.ones(inner.which.shape, dtype=np.intp)), axis=1)
        return [both, both.put_in_order(np.argsort(place, axis=1, kind="stable"))]

    def _sequence(
        self,
        p: Floats,
        cost: Floats,
        depth: NDArray[np.intp],
        used: NDArray[np.intp],
        levels: range,
    ) -> _Sequence:
        """Order the items of some levels, the innermost level first."""
        rows = len(p)
        empty = np.zeros((rows, 0))
        sequence = _Sequence(np.zeros((rows, 0), dtype=np.intp), empty, empty)
        for level in reversed(levels):
            own = used[depth[used] == level]
            mine_p, mine_cost = p[:, own], cost[:, own]
            # What settles nothing goes last and costs nothing.
            mine_cost = np.where(mine_p > 0.0, mine_cost, 0.0)
            worth = np.where(
                mine_p > 0.0, mine_p / np.where(mine_cost > 0.0, mine_cost, 1e-9), _NONE
            )
            which = np.broadcast_to(own, (rows, len(own)))
            sequence = _Sequence(which, worth, mine_cost).before(sequence)
            if not sequence.which.shape[1]:
                continue
            sequence = sequence.put_in_order(np.argsort(-sequence.worth, axis=1, kind="stable"))
            if self._opening[level] > 0.0:
                sequence = _opened(sequence, p, float(self._opening[level]))
        return sequence

    def _ended(
        self, sequence: _Sequence, p: Floats, fixing: Floats, tail: Floats, well: Floats
    ) -> tuple[Floats, NDArray[np.intp]]:
        """Hours of a sequence with the best place to hand over, and that place."""
        chance = np.take_along_axis(p, sequence.which, 1)
        mending = np.take_along_axis(fixing, sequence.which, 1)
        settled = np.cumsum(chance, axis=1)
        left = np.maximum(1.0 - settled, 0.0)
        spent = np.cumsum((left + chance) * sequence.cost + mending, axis=1)
        start = np.zeros((len(p), 1))
        left = np.concatenate((start + 1.0, left), axis=1)
        ends = np.concatenate((start, spent), axis=1)
        # A vehicle that is well is not handed over: it is driven.
        left = np.maximum(left - well[:, None], 0.0)
        ends = ends + left * tail + well[:, None] * self.problem.drive
        cut = np.argmin(ends, axis=1)
        hours: Floats = np.take_along_axis(ends, cut[:, None], 1)[:, 0]
        return hours, cut


def _opened(sequence: _Sequence, p: Floats, opening: float) -> _Sequence:
    """Join the prefix that pays best for opening a level into one act."""
    chance = np.take_along_axis(p, sequence.which, 1)
    cost = sequence.cost.copy()
    cost[:, 0] += np.where(chance[:, 0] > 0.0, opening, 0.0)
    settled, spent = np.cumsum(chance, axis=1), np.cumsum(cost, axis=1)
    ratio = settled / np.where(spent > 0.0, spent, 1.0)
    end = np.argmax(ratio, axis=1)[:, None]
    joined = np.arange(cost.shape[1]) <= end
    best = np.take_along_axis(ratio, end, 1)
    worth = np.where(joined & (chance[:, :1] > 0.0), best, sequence.worth)
    return _Sequence(sequence.which, worth, cost)
