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
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from diagnose.planning.problem import HAND_OVER, Key, Problem
from diagnose.tables import Floats

_TRIFLE = 1e-9  # what settles less than this settles nothing
_LEAST_CURE = 0.3  # however seldom a repair cures, it is done a few times at the most
_NONE = -1.0  # efficiency of what settles nothing


# Items in order, for each of N beliefs: one array of shape (5, N, m), so that they move as one.
# Its planes: the item's number; the chance per hour of the cluster it is in; its hours, with the
# opening of a level where it opens it; the chance that it settles it; hours of mending then, times
# that chance.
Items: TypeAlias = Floats
_NUMBER, _WORTH, _COST, _P, _MENDING = range(5)


@dataclass(frozen=True, eq=False)
class _Best:
    """The best order of each of N beliefs.

    ``hours``, shape (N,); ``cut``, shape (N,), how many items come before the end; ``which`` and
    ``p``, shape (N, m), the items in order, and the chance that each settles it.
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
            np.where(better[:, None], other.p, self.p),
        )

    def items(self, row: int) -> Iterator[int]:
        """Give the items of one belief that settle anything, up to its end."""
        end = int(self.cut[row])
        for number, p in zip(self.which[row, :end].tolist(), self.p[row, :end], strict=True):
            if p > 0.0:
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
        """Hours of handing over a vehicle that is not well, on average; shape (N,)."""
        ill = np.where(self.problem.well, 0.0, weights)
        left = ill.sum(axis=1)
        hours: Floats = (ill @ self.problem.hand_over) / np.where(left > 0.0, left, 1.0)
        return hours

    def _left(self, repairs: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Which causes can still be mended in each state, shape (N, C)."""
        if not repairs.shape[1]:
            return np.zeros((len(repairs), len(self._mendable)), dtype=bool)
        return repairs[:, self.problem.mends] & self._mendable

    def _chances(self, beliefs: Beliefs) -> tuple[Floats, Floats]:
        """Chance that each item settles it, shape (N, K), and hours of mending weighed with it."""
        weights = beliefs.weights
        chance = (weights @ self.problem.share) * self._left(beliefs.repairs)
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
        by_try = chance * unseen * self._cure
        return (
            np.concatenate((seen @ self._into, by_try), axis=1),
            np.concatenate(((seen * self._fix) @ self._into, np.zeros_like(by_try)), axis=1),
        )

    def _batch(self, p: Floats, handing_over: Floats) -> tuple[NDArray[np.bool_], Floats, Floats]:
        """What is worth trying inside before it closes: a mask of items, its chance, its hours."""
        single = np.where(self._batched, 0.0, p).sum(axis=1)
        left = np.maximum(1.0 - single, 0.0)[:, None]
        saves = p * (handing_over[:, None] + self.problem.drive)
        chosen = self._batched & (saves > left * self._cost) & (p > _TRIFLE)
        # They are proved by one drive together.
        hours = np.where(chosen, self._cost, 0.0).sum(axis=1)
        hours = hours + np.where(chosen.any(axis=1), self.problem.drive, 0.0)
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
        inside = int(np.argmin(self._drivable)) if not self._drivable.all() else len(self._opening)
        depth = np.append(self._depth, inside)
        used = np.flatnonzero((p > _TRIFLE).any(axis=0))
        items = np.zeros((5, len(p), len(used)))
        items[_NUMBER] = used
        items[_P] = p[:, used]
        items[_COST] = np.append(self._cost, 0.0)[used]
        single = used[used < len(self._cost)]
        items[_MENDING, :, : len(single)] = fixing[:, single]
        items[_COST, :, len(single) :] = batch_cost[:, None]
        # What settles nothing goes last and costs nothing.
        nothing = items[_P] <= 0.0
        items[_COST][nothing] = 0.0
        items[_WORTH] = items[_P] / np.maximum(items[_COST], 1e-9)
        items[_WORTH][nothing] = _NONE
        sequence = self._sequence(items, depth[used])
        is_inside = depth >= inside
        well = weights[:, self.problem.well].sum(axis=1)
        best, *others = (
            self._ended(shape, handing_over, well) for shape in self._shapes(sequence, is_inside)
        )
        for other in others:
            best = best.or_better(other)
        return replace(best, hours=best.hours + self._way_out + weights @ self.problem.again)

    def _shapes(self, sequence: Items, is_inside: NDArray[np.bool_]) -> list[Items]:
        """The ways to lay what is inside, in one go, between what is outside."""
        inside = is_inside[sequence[_NUMBER].astype(np.intp)] & (sequence[_P] > 0.0)
        if not inside.any() or not (~inside & (sequence[_P] > 0.0)).any():
            return [sequence]
        if not self._drivable[self.here]:
            return [_in_order(sequence, np.argsort(~inside, axis=1, kind="stable"))]
        # What pays better than going in comes first, the rest when all is closed again.
        before = np.arange(inside.shape[1]) < np.argmax(inside, axis=1)[:, None]
        place = np.where(inside, 1, np.where(before, 0, 2))
        return [
            _in_order(sequence, np.argsort(inside, axis=1, kind="stable")),
            _in_order(sequence, np.argsort(place, axis=1, kind="stable")),
        ]

    def _sequence(self, items: Items, depth: NDArray[np.intp]) -> Items:
        """Order the items of all levels, the innermost level first."""
        sequence: Items = items[:, :, :0]
        for level in reversed(range(len(self._opening))):
            sequence = np.concatenate((items[:, :, depth == level], sequence), axis=2)
            if sequence.shape[2]:
                worth = sequence[_WORTH]
                sequence = _in_order(sequence, np.argsort(-worth, axis=1, kind="stable"))
                if self._opening[level] > 0.0:
                    _open(sequence, float(self._opening[level]))
        return sequence

    def _ended(self, items: Items, handing_over: Floats, well: Floats) -> _Best:
        """Hours of a sequence that ends where it is best to hand over."""
        rows = len(well)
        left = np.ones((rows, items.shape[2] + 1))
        left[:, 1:] = np.maximum(1.0 - np.cumsum(items[_P], axis=1), 0.0)
        ends = np.zeros_like(left)
        np.cumsum(
            (left[:, 1:] + items[_P]) * items[_COST] + items[_MENDING], axis=1, out=ends[:, 1:]
        )
        # A vehicle that is well is not handed over: it is driven.
        left = np.maximum(left - well[:, None], 0.0)
        ends += left * handing_over[:, None] + well[:, None] * self.problem.drive
        cut = np.argmin(ends, axis=1)
        return _Best(ends[np.arange(rows), cut], cut, items[_NUMBER].astype(np.intp), items[_P])


def _in_order(items: Items, order: NDArray[np.intp]) -> Items:
    return items[:, np.arange(order.shape[0])[:, None], order]


def _open(items: Items, opening: float) -> None:
    """Join, in place, the prefix that pays best for opening a level into one act."""
    some = items[_P, :, 0] > 0.0
    items[_COST, :, 0] += np.where(some, opening, 0.0)
    spent = np.cumsum(items[_COST], axis=1)
    ratio = np.cumsum(items[_P], axis=1) / np.where(spent > 0.0, spent, 1.0)
    end = np.argmax(ratio, axis=1)
    joined = (np.arange(items.shape[2]) <= end[:, None]) & some[:, None]
    best = ratio[np.arange(len(end)), end]
    items[_WORTH] = np.where(joined, best[:, None], items[_WORTH])
