"""All that every act may lead to, from many states of a planning problem at once.

One product of matrices gives every answer of every test for a whole batch of states. What no
longer matters is left out of a state, so that states that differ in it only are the same: tests
that can't tell apart what is still possible, repairs of what can't be there.
"""

from collections import defaultdict
from dataclasses import dataclass, replace

import numpy as np

from diagnose.planning.batch import Batch, joined, picked
from diagnose.planning.compiled import Bools, Compiled, Ints
from diagnose.planning.known_fault import KnownFault
from diagnose.planning.problem import DRIVE, HAND_OVER, Key, State
from diagnose.tables import Floats

END = -1  # the number of the child where it is all over
_NEVER = 1e-12
_NOTHING = 1e-16  # weight of a row that only rounding leaves
_TELLS_NOTHING = 1e-13  # spread of the chance of an answer over what is possible


@dataclass(frozen=True, eq=False)
class Acts:
    """Acts of a batch and what they lead to.

    Attributes
    ----------
    parent : ndarray of int, shape (A,)
        Number in the batch; ascending.
    hours : ndarray, shape (A,)
        What it costs at once, on average.
    key : ndarray of int, shape (A,)
        Number in `Expansion.keys`.
    act : ndarray of int, shape (O,)
        The act each outcome belongs to; ascending.
    child : ndarray of int, shape (O,)
        Number in `children`, or `END`.
    chance : ndarray, shape (O,)
    children : Batch
    """

    parent: Ints
    hours: Floats
    key: Ints
    act: Ints
    child: Ints
    chance: Floats
    children: Batch


@dataclass(frozen=True, eq=False)
class _Outcomes:
    """Outcomes of acts of one kind, side by side."""

    parent: Ints
    key: Ints
    chance: Floats
    hours: Floats  # after the outcome; those of an act are the mean over its outcomes
    ends: Bools
    then: Batch


class Expansion:
    """The acts from any batch of states, and bounds of what it takes from there.

    Parameters
    ----------
    compiled : Compiled
    """

    def __init__(self, compiled: Compiled) -> None:
        self._c = compiled  # in every line below, so it is short
        self._known = KnownFault(compiled.problem, compiled.mendings, compiled.sure)
        self._first_acts: dict[tuple[int, int], Floats] = {}
        self._squared = compiled.likelihood**2
        self._starts = np.searchsorted(compiled.test_of, np.arange(len(compiled.depth)))
        problem = compiled.problem
        self.keys: tuple[Key, ...] = (
            *(test.key for test in problem.tests),
            *(repair.key for repair in problem.repairs),
            DRIVE,
            HAND_OVER,
        )

    def start(self, state: State) -> Batch:
        """Give a state as a batch of one."""
        weights = state.weights[self._c.rows][None]
        return self._plain(
            Batch(weights, np.array([state.here]), state.tests[None], state.repairs[None])
        )

    def state(self, batch: Batch, i: int) -> State:
        """Give one state of a batch; what no longer matters counts as done."""
        weights = np.zeros(self._c.all_rows)
        weights[self._c.rows] = batch.weights[i]
        well = bool(batch.weights[i] @ self._c.well > _NEVER)
        return State(weights, int(batch.here[i]), batch.tests[i], batch.repairs[i], mended=well)

    def layer(self, batch: Batch) -> Ints:
        """Give a number that acts raise, shape (N,), but for drives after a repair in vain.

        A test or repair uses itself up; a drive takes away that the vehicle may be well, which
        only a repair brings back.
        """
        left = batch.tests.sum(axis=1) + batch.repairs.sum(axis=1)
        most = batch.tests.shape[1] + batch.repairs.shape[1]
        layer: Ints = 2 * (most - left) + (batch.weights @ self._c.well <= _NEVER)
        return layer

    def leave(self, batch: Batch) -> Floats:
        """Give the hours of handing over at once, shape (N,)."""
        return self._c.ways.out[batch.here] + batch.weights @ self._c.problem.hand_over

    def bounds(self, batch: Batch) -> tuple[Floats, Floats]:
        """Give hours to the end that can't be undercut, and hours that some policy takes."""
        lower = self._lower(batch)
        sure = self._c.sure & ((batch.weights > 0.0).sum(axis=1) == 1)
        problem = self._c.problem
        broken = batch.weights @ np.where(problem.well, 0.0, problem.hand_over)
        driven = self._c.ways.out[batch.here] + problem.drive + broken
        upper = np.minimum(self.leave(batch), driven)
        return lower, np.maximum(np.where(sure, lower, upper), lower)

    def acts(self, batch: Batch) -> Acts:
        """Give every act that can help, from every state of a batch."""
        kinds = [self._looks(batch), *self._repairs(batch), self._drives(batch)]
        parent = np.concatenate([k.parent for k in kinds])
        key = np.concatenate([k.key for k in kinds])
        chance = np.concatenate([k.chance for k in kinds])
        hours = np.concatenate([k.hours for k in kinds])
        ends = np.concatenate([k.ends for k in kinds])
        then = joined([k.then for k in kinds])
        order = np.lexsort((key, parent))
        mark = parent[order] * len(self.keys) + key[order]
        first = np.flatnonzero(np.diff(mark, prepend=-1))
        ends_now = ends[order]
        child = np.where(ends_now, END, np.cumsum(~ends_now) - 1)
        mean = np.add.reduceat((chance * hours)[order], first) if len(first) else np.empty(0)
        return Acts(
            parent=parent[order][first],
            hours=mean,
            key=key[order][first],
            act=np.repeat(np.arange(len(first)), np.diff(first, append=len(order))),
            child=child,
            chance=chance[order],
            children=self._plain(picked(then, order[~ends_now])),
        )

    def _lower(self, batch: Batch) -> Floats:
        """Hours of the best act if after it all were known, shape (N,)."""
        answers = self._c.calling
        looks = self._c.test_of[answers]
        left = batch.tests[:, looks] & batch.repairs[:, self._c.calls[answers]]
        mendings = np.hstack([batch.repairs[:, self._c.alone], left])
        tests = batch.tests.copy()
        tests[:, looks] &= ~left
        drive = self._may_drive(batch)
        can = np.hstack([tests, mendings, drive[:, None]])
        groups: dict[tuple[bytes, int], list[int]] = defaultdict(list)
        for i, mark in enumerate(zip(np.packbits(mendings, axis=1), batch.here, strict=True)):
            groups[mark[0].tobytes(), int(mark[1])].append(i)
        lower = self.leave(batch)
        for (_, here), which in groups.items():
            number = sum(1 << i for i in np.flatnonzero(mendings[which[0]]).tolist())
            hours = batch.weights[which] @ self._hours_if_known(here, number).T
            hours[~can[which]] = np.inf
            lower[which] = np.minimum(lower[which], hours.min(axis=1))
        return lower

    def _hours_if_known(self, here: int, left: int) -> Floats:
        """Hours of each test, mending and of driving, and then to the end if it is known then."""
        if (here, left) not in self._first_acts:
            known, problem = self._known, self._c.problem
            stands = self._c.ways.stands[here, self._c.depth].tolist()
            then = [known.hours(there, left) for there in stands]
            hours = self._c.ways.hours[here, self._c.depth] + self._c.hours
            tested = [h + t for h, t in zip(hours.tolist(), then, strict=True)]
            mended = [known.mended(here, left, i) for i in range(len(known.mendings))]
            out = self._c.ways.out[here] + problem.drive
            back = left | (1 << len(self._c.alone)) - 1
            driven = out + np.where(problem.well, 0.0, known.hours(0, back))
            self._first_acts[here, left] = np.stack([*tested, *mended, driven])
        return self._first_acts[here, left]

    def _plain(self, batch: Batch) -> Batch:
        """Leave out tests that can tell nothing any more and repairs of what isn't there."""
        weights = np.where(batch.weights < _NOTHING, 0.0, batch.weights)
        possible = (weights > 0.0).astype(float)
        repairs = batch.repairs & (possible @ self._c.helps.T > 0.0)
        reached = (possible @ self._c.reach > 0.0).astype(float)
        tells = self._tells(reached / reached.sum(axis=1, keepdims=True))
        if self._c.sure and not len(self._c.calling):
            tells &= possible.sum(axis=1, keepdims=True) > 1.0
        return Batch(weights, batch.here, batch.tests & tells, repairs)

    def _tells(self, weights: Floats) -> Bools:
        """Whether each test can tell anything under a belief, shape (N, T)."""
        mean = weights @ self._c.likelihood.T
        spread = weights @ self._squared.T - mean**2
        if not len(self._starts):
            return np.zeros((len(weights), 0), dtype=bool)
        tells: Bools = np.add.reduceat(spread, self._starts, axis=1) > _TELLS_NOTHING
        return tells

    def _looks(self, batch: Batch) -> _Outcomes:
        masses = batch.weights @ self._c.likelihood.T
        tells = batch.tests & self._tells(batch.weights)
        calls = self._c.calling
        for answer in calls.tolist():
            test = self._c.test_of[answer]
            tells[:, test] |= batch.tests[:, test] & (masses[:, answer] > _NEVER)
        parent, answer = np.nonzero(tells[:, self._c.test_of] & (masses > _NEVER))
        test = self._c.test_of[answer]
        chance = masses[parent, answer]
        weights = batch.weights[parent] * self._c.likelihood[answer] / chance[:, None]
        here, depth = batch.here[parent], self._c.depth[test]
        hours = self._c.ways.hours[here, depth] + self._c.hours[test]
        stands = self._c.ways.stands[here, depth]
        tests = batch.tests[parent] & ~self._c.problem.same[test]
        repairs = batch.repairs[parent]
        for call in calls.tolist():
            mended = np.flatnonzero((answer == call) & repairs[:, self._c.calls[call]])
            number = int(self._c.calls[call])
            repair = self._c.problem.repairs[number]
            hours[mended] += self._c.ways.hours[stands[mended], repair.depth] + repair.hours
            stands[mended] = self._c.ways.stands[stands[mended], repair.depth]
            weights[mended] = weights[mended] @ self._c.moves[number]
            repairs[mended, number] = False
        then = Batch(weights, stands, tests, repairs)
        return _Outcomes(parent, test, chance, hours, np.zeros(len(parent), dtype=bool), then)

    def _repairs(self, batch: Batch) -> list[_Outcomes]:
        return [self._repair(batch, number) for number in self._c.alone.tolist()]

    def _repair(self, batch: Batch, number: int) -> _Outcomes:
        repair = self._c.problem.repairs[number]
        parent = np.flatnonzero(batch.repairs[:, number])
        here = batch.here[parent]
        repairs = batch.repairs[parent]
        repairs[:, number] = False
        stands = self._c.ways.stands[here, repair.depth]
        then = Batch(
            batch.weights[parent] @ self._c.moves[number], stands, batch.tests[parent], repairs
        )
        key = np.full(len(parent), len(self._c.problem.tests) + number)
        hours = self._c.ways.hours[here, repair.depth] + repair.hours
        return _Outcomes(
            parent, key, np.ones(len(parent)), hours, np.zeros(len(parent), dtype=bool), then
        )

    def _may_drive(self, batch: Batch) -> Bools:
        """Whether a drive can end it, or lets something be done again that was in vain."""
        possible = (batch.weights > 0.0).astype(float)
        vain = ~batch.repairs & (possible @ self._c.helps.T > 0.0)
        vain[:, self._c.calls[self._c.calling]] = False
        may: Bools = (batch.weights @ self._c.well > _NEVER) | vain.any(axis=1)
        return may

    def _drives(self, batch: Batch) -> _Outcomes:
        gone = batch.weights @ self._c.well
        may = self._may_drive(batch)
        done = np.flatnonzero(may & (gone > _NEVER))
        fails = np.flatnonzero(may & (1.0 - gone > _NEVER))
        parent = np.concatenate([done, fails])
        again = batch.repairs.copy()
        again[:, self._c.alone] = True
        then = picked(replace(batch, here=np.zeros_like(batch.here), repairs=again), parent)
        then.weights[len(done) :] *= (1.0 - self._c.well) / (1.0 - gone[fails, None])
        return _Outcomes(
            parent,
            np.full(len(parent), len(self.keys) - 2),
            np.concatenate([gone[done], 1.0 - gone[fails]]),
            self._c.ways.out[batch.here[parent]] + self._c.problem.drive,
            np.arange(len(parent)) < len(done),
            then,
        )
