"""The planning problem as plain arrays: what may be wrong, what can be done, what each costs.

Nothing here knows of clutches, so one policy serves the vehicle on the lift, a published example
and a problem drawn at random, and can be held against the exact optimum where that is in reach.

A row is one thing that may be the case. The complaint is there as long as any cause the row needs
put right is there. A test tells about the row without changing it. A repair may take causes out of
it, which shows only when the vehicle is whole again and driven. Handing over ends it.

References
----------
The state - belief, what is open, what was done - and repairs as interventions with a system test
after them: Breese and Heckerman (1996), and the planners for heavy vehicles in engine notes 1.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from diagnose.access import Access
from diagnose.tables import Floats

Kind: TypeAlias = Literal["ask", "check", "repair", "drive", "hand_over"]
Key: TypeAlias = tuple[Kind, str]

DRIVE: Key = ("drive", "")
HAND_OVER: Key = ("hand_over", "")
_NEVER = 1e-12


@dataclass(frozen=True, eq=False)
class Test:
    """Something that tells about what is wrong without changing it.

    Attributes
    ----------
    key : tuple of str
        ("ask" | "check", id).
    depth : int
        Number of the level it is done from.
    hours : float
        Without the way to its level.
    likelihood : ndarray, shape (V, S)
        Chance of each answer given each row; columns sum to 1.
    reads : frozenset of str
        What it reads; once all of that was read, doing it tells nothing more.
    """

    __test__ = False  # it is no class of tests

    key: Key
    depth: int
    hours: float
    likelihood: Floats
    reads: frozenset[str]


@dataclass(frozen=True, eq=False)
class Repair:
    """Something that may put causes right.

    Attributes
    ----------
    key : tuple of str
        ("repair", id).
    depth : int
        Number of the level it is done from.
    hours : float
        Without the way to its level and without the drive.
    cures : ndarray, shape (C,)
        Chance that it takes each cause away, each for itself. Before the next drive it is done
        once; where that was in vain it can be done again.
    """

    key: Key
    depth: int
    hours: float
    cures: Floats


@dataclass(frozen=True, eq=False)
class Problem:
    """What may be wrong and what can be done, whatever has been done so far.

    Attributes
    ----------
    access : Access
        Hours from level to level.
    needs : ndarray of bool, shape (S, C)
        The causes that have to be put right in each row before the complaint is gone. Rows are
        closed under taking causes away; a row without any is a vehicle that is well.
    tests : tuple of Test
    repairs : tuple of Repair
    proofs : ndarray of int, shape (C,) or (C, P)
        For each cause the numbers in `tests` of looks that would settle it, the nearest first, -1
        where there is none.
    sees : ndarray, of the same shape
        Chance that this look sees the cause where it is.
    mends : ndarray of int, shape (C,)
        For each cause the number in `repairs` of what puts it right, -1 without one.
    drive : float
        Hours to prove on the road, with the vehicle whole, whether the complaint is gone.
    hand_over : ndarray, shape (S,)
        Hours that it still takes, given each row, when somebody else has to take over, also of a
        vehicle that is well. It is closed up before that.
    rest : ndarray of int, shape (S, C)
        The row that is left of each row once a cause is taken away.
    """

    access: Access
    needs: NDArray[np.bool_]
    tests: tuple[Test, ...]
    repairs: tuple[Repair, ...]
    proofs: NDArray[np.intp]
    sees: Floats
    mends: NDArray[np.intp]
    drive: float
    hand_over: Floats
    rest: NDArray[np.intp]

    @cached_property
    def well(self) -> NDArray[np.bool_]:
        """Rows in which the complaint is gone."""
        well: NDArray[np.bool_] = np.logical_not(self.needs.any(axis=1))
        return well

    @cached_property
    def last(self) -> NDArray[np.intp]:
        """The cause that is found last in each row, shape (S,): the one that takes most to reach.

        0 in the row of a vehicle that is well.
        """
        both = np.cumsum(np.array(self.access.down) + np.array(self.access.up))
        reach = np.zeros(self.needs.shape[1])
        first = self.proofs.reshape(len(reach), -1)[:, 0]
        for cause, (look, mend) in enumerate(zip(first, self.mends, strict=True)):
            acts: list[Test | Repair] = [self.repairs[mend]] if mend >= 0 else []
            acts += [self.tests[look]] if look >= 0 else []
            if acts:  # the look, or the repair without one, behind the deepest level of both
                reach[cause] = both[max(act.depth for act in acts)] + acts[-1].hours
        found: NDArray[np.intp] = np.argmax(np.where(self.needs, reach, -1.0), axis=1)
        return found

    @cached_property
    def share(self) -> Floats:
        """Each row laid on the cause that is found last in it, shape (S, C)."""
        share: Floats = np.zeros(self.needs.shape)
        share[np.arange(len(share)), self.last] = 1.0
        share[self.well] = 0.0
        return share

    @cached_property
    def again(self) -> Floats:
        """Hours that the other causes of each row add: repair and drive, and in again if inside."""
        both = np.cumsum(np.array(self.access.down) + np.array(self.access.up))
        each = np.zeros(self.needs.shape[1])
        for cause, number in enumerate(self.mends.tolist()):
            if number >= 0:
                repair = self.repairs[number]
                way = 0.0 if self.access.drivable[repair.depth] else both[repair.depth]
                each[cause] = way + repair.hours + self.drive
        others: Floats = (self.needs & (self.share == 0.0)) @ each
        return others

    @cached_property
    def same(self) -> NDArray[np.bool_]:
        """Which test makes which other needless, shape (T, T): it reads all that the other does."""
        reads = [test.reads for test in self.tests]
        return np.array([[theirs <= mine for theirs in reads] for mine in reads], dtype=bool)


@dataclass(frozen=True, eq=False)
class State:
    """Where it stands: the belief, what is open, and what is left to do.

    Attributes
    ----------
    weights : ndarray, shape (S,)
        Belief; sums to 1.
    here : int
        Number of the level the vehicle stands at.
    tests : ndarray of bool, shape (T,)
        Tests that are left.
    repairs : ndarray of bool, shape (R,)
        Repairs that are left.
    mended : bool
        Whether something was repaired and nobody has driven since.
    """

    weights: Floats
    here: int
    tests: NDArray[np.bool_]
    repairs: NDArray[np.bool_]
    mended: bool = False


def hours_of(problem: Problem, state: State, key: Key) -> float:
    """Give the hours of an act with the way to where it is done; of handing over, on average."""
    access, here = problem.access, state.here
    if key == DRIVE:
        return access.way_out(here) + problem.drive
    if key == HAND_OVER:
        return access.way_out(here) + float(state.weights @ problem.hand_over)
    act = act_of(problem, key)
    return access.move(here, act.depth)[0] + act.hours


def act_of(problem: Problem, key: Key) -> Test | Repair:
    """Give the test or repair with this key.

    Raises
    ------
    KeyError
        If there is none.
    """
    acts: tuple[Test | Repair, ...] = (*problem.tests, *problem.repairs)
    for act in acts:
        if act.key == key:
            return act
    raise KeyError(key)


def after(problem: Problem, state: State, key: Key) -> Iterator[tuple[float, State | None]]:
    """Yield what an act may lead to: its chance, and the state then; None where it is all over.

    Parameters
    ----------
    problem : Problem
    state : State
    key : tuple of str
        A test or repair that is left, `DRIVE`, or `HAND_OVER`.

    Yields
    ------
    tuple
        In the order of a test's answers; those that can't be are left out.
    """
    if key == HAND_OVER:
        yield 1.0, None
    elif key == DRIVE:
        gone = float(state.weights[problem.well].sum())
        if gone > _NEVER:
            yield gone, None
        if 1.0 - gone > _NEVER:
            left = np.where(problem.well, 0.0, state.weights)
            # What was tried in vain may be tried once more.
            again = np.ones_like(state.repairs)
            belief = left / left.sum()
            yield 1.0 - gone, State(belief, 0, state.tests, again)
    elif key[0] == "repair":
        yield 1.0, _repaired(problem, state, key)
    else:
        yield from _tested(problem, state, key)


def _tested(problem: Problem, state: State, key: Key) -> Iterator[tuple[float, State]]:
    number = next(i for i, test in enumerate(problem.tests) if test.key == key)
    test = problem.tests[number]
    _, here = problem.access.move(state.here, test.depth)
    left = state.tests & ~problem.same[number]
    for row in test.likelihood:
        joint = state.weights * row
        mass = float(joint.sum())
        if mass > _NEVER:
            yield mass, replace(state, weights=joint / mass, here=here, tests=left)


def _repaired(problem: Problem, state: State, key: Key) -> State:
    number = next(i for i, repair in enumerate(problem.repairs) if repair.key == key)
    repair = problem.repairs[number]
    _, here = problem.access.move(state.here, repair.depth)
    weights = state.weights
    for cause in np.flatnonzero(repair.cures).tolist():
        rows = np.flatnonzero(problem.needs[:, cause] & (weights > 0.0))
        if len(rows):
            cured = weights[rows] * repair.cures[cause]
            weights = weights.copy()
            weights[rows] -= cured
            np.add.at(weights, problem.rest[rows, cause], cured)
    left = state.repairs.copy()
    left[number] = False
    return replace(state, weights=weights, here=here, repairs=left, mended=True)
