"""Looking ahead from the base policy: one act deep, and rollout.

One act deep: what the fix costs if this is done first and the order that is best then is followed
(`Orders`). Doing at every state what is best by that is a policy of its own, the *myopic* one.
Rollout weighs an act by following the myopic policy after it. Where a problem is small it is
followed to the end, and the figure is exact for that policy; where it is large, so many acts
further as asked for, and only where the chance of getting there is worth it.

References
----------
Expected cost after an observation: Heckerman, Breese and Rommelse (1995). One step of rollout on
that policy removes most of what is left to the optimum: engine notes 3, which also has the numbers
that `tests/bench/bench_families.py` is held against.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from diagnose.planning.orders import Beliefs, Orders
from diagnose.planning.problem import (
    DRIVE,
    HAND_OVER,
    Key,
    Problem,
    State,
    after,
    hours_of,
)
from diagnose.tables import Floats

_NEVER = 1e-12
_WORTH_TRYING = 0.15  # chance of a cause below which its repair is not weighed by itself
_ROOM = 2_000_000  # numbers in the table of all beliefs at once


@dataclass(frozen=True, slots=True)
class Move:
    """One act from a state.

    Attributes
    ----------
    key : tuple of str
    hours : float
        Of the act, with the way to where it is done.
    expected : float
        Expected hours to the end if it is done first.
    """

    key: Key
    hours: float
    expected: float


class Lookahead:
    """Weighs acts of one problem.

    Parameters
    ----------
    problem : Problem
    cancelled : callable, optional
        Asked between pieces of work; what is under way ends with `CancelledError` once it says so.
    """

    def __init__(self, problem: Problem, cancelled: Callable[[], bool] = lambda: False) -> None:
        self.problem = problem
        self._cancelled = cancelled
        self._orders: dict[int, Orders] = {}
        access = problem.access
        self._there = np.array(
            [[access.move(h, t.depth)[1] for t in problem.tests] for h in range(len(access.names))],
            dtype=np.intp,
        ).reshape(len(access.names), len(problem.tests))
        self._hours = np.array(
            [
                [access.move(h, t.depth)[0] + t.hours for t in problem.tests]
                for h in range(len(access.names))
            ]
        ).reshape(len(access.names), len(problem.tests))

    def orders(self, here: int) -> Orders:
        """Give the base policy from a level."""
        if here not in self._orders:
            self._orders[here] = Orders(self.problem, here)
        return self._orders[here]

    def going_on(self, states: Sequence[State]) -> Floats:
        """Expected hours of following only the base policy's order from each state; shape (N,)."""
        values = np.zeros(len(states))
        for here, mine in _by_level(states).items():
            values[mine] = self.orders(here).costs(_beliefs([states[i] for i in mine]))
        pending = [i for i, state in enumerate(states) if state.mended]
        driven = self._driven([states[i] for i in pending])
        values[pending] = np.minimum(values[pending], driven)
        return values

    def begun(self, states: Sequence[State]) -> list[Move]:
        """Give the act that following the order begins with, from each state."""
        first: list[Move] = [Move(HAND_OVER, 0.0, 0.0)] * len(states)
        for here, mine in _by_level(states).items():
            hours, keys = self.orders(here).begun(_beliefs([states[i] for i in mine]))
            for i, value, key in zip(mine, hours.tolist(), keys, strict=True):
                own = hours_of(self.problem, states[i], key)
                first[i] = Move(key, own, own if key == HAND_OVER else value)
        return first

    def _driven(self, states: Sequence[State]) -> list[float]:
        """Expected hours when the vehicle is closed up and driven first."""
        gone = [float(state.weights[self.problem.well].sum()) for state in states]
        left = [i for i, chance in enumerate(gone) if 1.0 - chance > _NEVER]
        onward = np.zeros(len(states))
        if left:
            beliefs = _beliefs([states[i] for i in left])
            weights = np.where(self.problem.well, 0.0, beliefs.weights)
            weights = weights / weights.sum(axis=1, keepdims=True)
            again = np.ones_like(beliefs.repairs)
            onward[left] = self.orders(0).costs(Beliefs(weights, beliefs.tests, again))
        return [
            hours_of(self.problem, state, DRIVE) + (1.0 - chance) * float(more)
            for state, chance, more in zip(states, gone, onward, strict=True)
        ]

    def moves(self, states: Sequence[State]) -> list[list[Move]]:
        """List the acts of each state by the expected hours one act deep, cheapest first.

        Parameters
        ----------
        states : sequence of State
        """
        found = self._others(states)
        chosen = np.arange(len(self.problem.tests))
        for here, mine in _by_level(states).items():
            for there in np.unique(self._there[here, chosen]).tolist():
                group = chosen[self._there[here, chosen] == there]
                width = sum(len(self.problem.tests[t].likelihood) for t in group.tolist())
                step = max(1, _ROOM // max(1, width * self.problem.needs.shape[0]))
                for start in range(0, len(mine), step):
                    self._stop_if_cancelled()
                    part = mine[start : start + step]
                    after_each = self._after_tests([states[i] for i in part], there, group)
                    for i, row in zip(part, after_each, strict=True):
                        for t, expected in row:
                            hours = float(self._hours[here, t])
                            key = self.problem.tests[t].key
                            found[i].append(Move(key, hours, hours + expected))
        return [_cheapest_first(moves) for moves in found]

    def _after_tests(
        self, states: Sequence[State], there: int, group: NDArray[np.intp]
    ) -> list[list[tuple[int, float]]]:
        """Expected hours after each of some tests that all end at one level."""
        now = _beliefs(states)
        tables = [self.problem.tests[t].likelihood for t in group.tolist()]
        which = np.repeat(group, [len(table) for table in tables])
        joint = now.weights[:, None, :] * np.concatenate(tables)[None]
        mass = joint.sum(axis=2)
        state_of, row_of = np.nonzero((mass > _NEVER) & now.tests[:, which])
        chance = mass[state_of, row_of]
        test_of = which[row_of]
        left = now.tests[state_of] & ~self.problem.same[test_of]
        beliefs = joint[state_of, row_of] / chance[:, None]
        costs = self.orders(there).costs(Beliefs(beliefs, left, now.repairs[state_of]))
        total = np.zeros((len(states), len(self.problem.tests)))
        np.add.at(total, (state_of, test_of), chance * costs)
        return [
            [(t, float(row[t])) for t in group.tolist() if can_be_done[t]]
            for row, can_be_done in zip(total, now.tests, strict=True)
        ]

    def _others(self, states: Sequence[State]) -> list[list[Move]]:
        """Everything but tests: going on by the order, repairs, driving, handing over."""
        problem = self.problem
        first = self.begun(states)
        pending = [i for i, state in enumerate(states) if state.mended]
        driven = dict(zip(pending, self._driven([states[i] for i in pending]), strict=True))
        found: list[list[Move]] = []
        repaired: list[State] = []
        of: list[tuple[int, Key]] = []
        for i, state in enumerate(states):
            handed = hours_of(problem, state, HAND_OVER)
            moves = [first[i], Move(HAND_OVER, handed, handed)]
            if i in driven:
                moves.append(Move(DRIVE, hours_of(problem, state, DRIVE), driven[i]))
            found.append(moves)
            chance = state.weights @ problem.needs
            likely = problem.mends[(chance > _WORTH_TRYING) & (problem.mends >= 0)]
            for number in np.unique(likely).tolist():
                if state.repairs[number]:
                    key = problem.repairs[number].key
                    ((_, then),) = after(problem, state, key)
                    if then is not None:
                        repaired.append(then)
                        of.append((i, key))
        onward = self.going_on(repaired)
        for (i, key), value in zip(of, onward.tolist(), strict=True):
            hours = hours_of(problem, states[i], key)
            found[i].append(Move(key, hours, hours + value))
        return found

    def follow(
        self,
        states: Sequence[State],
        *,
        further: int | NDArray[np.intp],
        least: float = 0.0,
        reach: Floats | None = None,
    ) -> list[Move]:
        """Follow the myopic policy from each state.

        Parameters
        ----------
        states : sequence of State
        further : int or ndarray of int, shape (N,)
            So many acts are followed; then the estimate one act deep stands for the rest. A repair
            tells nothing before the drive and is not counted.
        least : float
            States that are reached with less than this chance are not followed.
        reach : ndarray, shape (N,), optional
            Chance of getting to each state, 1 without it.

        Returns
        -------
        list of Move
            What the policy does first, and what it then takes to the end.
        """
        if not states:
            return []
        left = np.broadcast_to(further, len(states))
        reached = np.ones(len(states)) if reach is None else reach
        best = [moves[0] for moves in self.moves(states)]
        followed = [
            i
            for i in np.flatnonzero((left > 0) & (reached >= least)).tolist()
            if best[i].key != HAND_OVER
        ]
        acts = [
            (best[i], states[i], int(left[i]) - (best[i].key[0] != "repair"), float(reached[i]))
            for i in followed
        ]
        for i, then in zip(followed, self._followed(acts, least), strict=True):
            best[i] = replace(best[i], expected=best[i].hours + _rest(then))
        return best

    def _followed(
        self, acts: Sequence[tuple[Move, State, int, float]], least: float
    ) -> list[tuple[tuple[float, Move | None], ...]]:
        """Follow the myopic policy after acts: each with its state, acts further, and its reach."""
        ways = [list(after(self.problem, state, move.key)) for move, state, _, _ in acts]
        onward = [
            (reach * p, further, child)
            for (_, _, further, reach), outcomes in zip(acts, ways, strict=True)
            for p, child in outcomes
            if child is not None
        ]
        found = iter(
            self.follow(
                [child for _, _, child in onward],
                further=np.array([further for _, further, _ in onward], dtype=np.intp),
                least=least,
                reach=np.array([p for p, _, _ in onward]),
            )
        )
        return [
            tuple((p, next(found) if child is not None else None) for p, child in outcomes)
            for outcomes in ways
        ]

    def rolled_out(
        self, state: State, moves: Iterable[Move], *, further: int, least: float = 0.0
    ) -> list[Move]:
        """Weigh acts again, by following the myopic policy after each.

        Parameters
        ----------
        state : State
        moves : iterable of Move
        further, least
            As of `follow`.

        Returns
        -------
        list of Move
            Cheapest first.
        """
        listed = list(moves)
        acts = [(move, state, further + (move.key[0] == "repair"), 1.0) for move in listed]
        followed = [
            replace(move, expected=move.hours + _rest(then))
            for move, then in zip(listed, self._followed(acts, least), strict=True)
        ]
        return sorted(followed, key=lambda move: (move.expected, move.key))

    def _stop_if_cancelled(self) -> None:
        if self._cancelled():
            raise CancelledError


class CancelledError(Exception):
    """Nobody waits for this advice any more."""


def _rest(then: Iterable[tuple[float, Move | None]]) -> float:
    """Expected hours after an act."""
    return sum(p * move.expected for p, move in then if move is not None)


def _beliefs(states: Sequence[State]) -> Beliefs:
    return Beliefs(
        np.array([state.weights for state in states]),
        np.array([state.tests for state in states], dtype=bool),
        np.array([state.repairs for state in states], dtype=bool),
    )


def _by_level(states: Sequence[State]) -> dict[int, list[int]]:
    levels: dict[int, list[int]] = {}
    for i, state in enumerate(states):
        levels.setdefault(state.here, []).append(i)
    return levels


def _cheapest_first(moves: Iterable[Move]) -> list[Move]:
    best: dict[Key, Move] = {}
    for move in moves:
        if move.key not in best or move.expected < best[move.key].expected:
            best[move.key] = move
    return sorted(best.values(), key=lambda move: (move.expected, move.key))
