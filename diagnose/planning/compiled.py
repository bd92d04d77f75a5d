"""A planning problem as stacked arrays, without the rows that can't be."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from diagnose.planning.known_fault import Mending, moved_by
from diagnose.planning.problem import Problem, State
from diagnose.tables import Floats

Bools: TypeAlias = NDArray[np.bool_]
Ints: TypeAlias = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Ways:
    """Hours from level to level; N levels.

    Attributes
    ----------
    hours : ndarray, shape (N, N)
    stands : ndarray of int, shape (N, N)
        Where the vehicle stands once it is brought from one level to another.
    out : ndarray, shape (N,)
    """

    hours: Floats
    stands: Ints
    out: Floats


@dataclass(frozen=True, eq=False)
class Compiled:
    """A problem in arrays.

    Attributes
    ----------
    problem : Problem
        Of the rows that are kept only.
    rows : ndarray of int, shape (S,)
        Their numbers.
    all_rows : int
        How many there were before.
    well : ndarray, shape (S,)
        1 where the complaint is gone, else 0.
    ways : Ways
    likelihood : ndarray, shape (A, S)
        Of the answers of all tests.
    test_of : ndarray of int, shape (A,)
    depth, hours : ndarray, shape (T,)
        Of each test.
    moves : tuple of ndarray, shape (S, S)
        Chance of each row after each repair given each row before it.
    helps : ndarray of bool, shape (R, S)
        Whether a repair can change a row.
    reach : ndarray, shape (S, S)
        1 where any repairs can make the second row of the first.
    calls : ndarray of int, shape (A,)
        The repair that is done with the look on this answer, -1 for none.
    calling : ndarray of int
        Answers that call for a repair.
    alone : ndarray of int
        Repairs that are acts of their own.
    mendings : tuple of Mending
        Those of `alone`, then those of `calling`.
    sure : bool
        Whether all of these do or do not work for sure.
    """

    problem: Problem
    rows: Ints
    all_rows: int
    well: Floats
    ways: Ways
    likelihood: Floats
    test_of: Ints
    depth: Ints
    hours: Floats
    moves: tuple[Floats, ...]
    helps: Bools
    reach: Floats
    calls: Ints
    calling: Ints
    alone: Ints
    mendings: tuple[Mending, ...]
    sure: bool


def compiled(problem: Problem, start: State, *, coupled: bool) -> Compiled:
    """Bring a problem into arrays.

    Parameters
    ----------
    problem : Problem
    start : State
        Only the rows that can come from here are kept.
    coupled : bool
        Whether looking at a cause and mending it is one act.

    Returns
    -------
    Compiled

    Raises
    ------
    ValueError
        If coupled and one answer of a look calls for two repairs.
    """
    rows = _rows_from(problem, start.weights > 0.0)
    kept = _only(problem, rows)
    tables = [test.likelihood for test in kept.tests]
    likelihood = np.vstack([*tables, np.zeros((0, len(rows)))])
    test_of = np.repeat(np.arange(len(tables)), [len(table) for table in tables]).astype(np.intp)
    moves = tuple(moved_by(kept, number) for number in range(len(kept.repairs)))
    calls = np.full(len(test_of), -1, dtype=np.intp)
    if coupled:
        calls = _called_for(kept, likelihood, test_of)
    calling = np.flatnonzero(calls >= 0)
    alone = np.setdiff1d(np.arange(len(moves)), calls)
    mendings = (
        *(_mending(kept, moves, number) for number in alone.tolist()),
        *(
            _mending(kept, moves, int(calls[a]), int(test_of[a]), likelihood[a])
            for a in calling.tolist()
        ),
    )
    changes = [1.0 - np.diagonal(table) for table in moves]
    return Compiled(
        problem=kept,
        rows=rows,
        all_rows=len(problem.needs),
        well=kept.well.astype(float),
        ways=_ways(kept),
        likelihood=likelihood,
        test_of=test_of,
        depth=np.array([test.depth for test in kept.tests], dtype=np.intp),
        hours=np.array([test.hours for test in kept.tests], dtype=float),
        moves=moves,
        helps=np.array(changes).reshape(len(moves), len(rows)) > 0.0,
        reach=_reach(moves, len(rows)),
        calls=calls,
        calling=calling,
        alone=alone,
        mendings=mendings,
        sure=_sure(table for m in mendings for table in (m.moves, m.found)),
    )


def _rows_from(problem: Problem, possible: Bools) -> Ints:
    kept = possible.copy()
    for _ in range(problem.needs.shape[1]):
        kept[problem.rest[kept].ravel()] = True
    return np.flatnonzero(kept)


def _only(problem: Problem, rows: Ints) -> Problem:
    """Leave out the rows that can never be."""
    number = np.full(len(problem.needs), -1, dtype=np.intp)
    number[rows] = np.arange(len(rows))
    return replace(
        problem,
        needs=problem.needs[rows],
        tests=tuple(replace(t, likelihood=t.likelihood[:, rows]) for t in problem.tests),
        hand_over=problem.hand_over[rows],
        rest=number[problem.rest[rows]],
    )


def _ways(problem: Problem) -> Ways:
    access = problem.access
    levels = range(len(access.names))
    ways = [[access.move(here, there) for there in levels] for here in levels]
    return Ways(
        hours=np.array([[hours for hours, _ in row] for row in ways]),
        stands=np.array([[there for _, there in row] for row in ways]),
        out=np.array([access.way_out(here) for here in levels], dtype=float),
    )


def _called_for(problem: Problem, likelihood: Floats, test_of: Ints) -> Ints:
    """Give the repair that each answer calls for: the answer that speaks most for the cause."""
    calls = np.full(len(test_of), -1, dtype=np.intp)
    proofs = problem.proofs.reshape(len(problem.mends), -1)
    for cause, place in np.argwhere(proofs >= 0).tolist():
        look, repair = proofs[cause, place], problem.mends[cause]
        there = problem.needs[:, cause]
        if repair < 0 or not there.any():
            continue
        answers = np.flatnonzero(test_of == look)
        table = likelihood[answers]
        speaks = table[:, there].mean(axis=1) - table[:, ~there].mean(axis=1)
        answer = int(answers[np.argmax(speaks)])
        if calls[answer] not in {-1, int(repair)}:
            name = problem.tests[int(look)].key[1]
            raise ValueError(f"{name}: one answer calls for two repairs; give each its own look")
        calls[answer] = repair
    return calls


def _mending(
    problem: Problem,
    moves: Sequence[Floats],
    number: int,
    look: int | None = None,
    found: Floats | None = None,
) -> Mending:
    repair = problem.repairs[number]
    test = None if look is None else problem.tests[look]
    return Mending(
        look=None if test is None else (test.depth, test.hours),
        depth=repair.depth,
        hours=repair.hours,
        found=np.ones(len(problem.needs)) if found is None else found,
        moves=moves[number],
    )


def _reach(moves: Sequence[Floats], rows: int) -> Floats:
    """Which rows may come of which by any repairs, as 0 and 1, shape (S, S)."""
    reach = (np.eye(rows) + sum(moves, np.zeros((rows, rows))) > 0.0).astype(float)
    for _ in range(len(moves).bit_length()):  # so many doublings cover every repair in turn
        reach = (reach @ reach > 0.0).astype(float)
    return reach


def _sure(tables: Iterable[Floats]) -> bool:
    return all(bool(np.isin(table, (0.0, 1.0)).all()) for table in tables)
