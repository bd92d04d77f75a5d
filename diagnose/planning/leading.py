"""A smaller problem that holds what matters most: the heaviest rows and the chosen tests."""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from diagnose.planning.problem import Problem, State


def leading(
    problem: Problem, state: State, *, rows: int, tests: Iterable[int]
) -> tuple[Problem, State, float]:
    """Keep the heaviest rows with all that may be left of them, and some of the tests.

    Parameters
    ----------
    problem : Problem
    state : State
    rows : int
        So many of the heaviest rows are kept.
    tests : iterable of int
        Numbers of the tests that are kept.

    Returns
    -------
    problem : Problem
    state : State
        Its belief is that of `state` on the rows that are kept.
    share : float
        What these rows hold of the belief.
    """
    heaviest = np.argsort(-state.weights, kind="stable")[:rows]
    kept = set(heaviest[state.weights[heaviest] > 0.0].tolist())
    todo = list(kept)
    while todo:
        row = todo.pop()
        for left in np.unique(problem.rest[row, problem.needs[row]]).tolist():
            if left not in kept:
                kept.add(left)
                todo.append(left)
    which = np.array(sorted(kept), dtype=np.intp)
    place = np.zeros(len(problem.needs), dtype=np.intp)
    place[which] = np.arange(len(which))
    chosen = sorted(tests)
    number = {old: new for new, old in enumerate(chosen)}
    needed = problem.needs[which].any(axis=0)
    causes = np.flatnonzero(needed)
    repairs = sorted({int(r) for r in problem.mends[causes] if r >= 0})
    mended = {old: new for new, old in enumerate(repairs)}
    proofs = problem.proofs.reshape(len(problem.mends), -1)[causes]
    smaller = Problem(
        access=problem.access,
        needs=problem.needs[np.ix_(which, causes)],
        tests=tuple(
            replace(problem.tests[t], likelihood=problem.tests[t].likelihood[:, which])
            for t in chosen
        ),
        repairs=tuple(
            replace(problem.repairs[r], cures=problem.repairs[r].cures[causes]) for r in repairs
        ),
        proofs=np.array(
            [[number.get(t, -1) for t in row] for row in proofs.tolist()], dtype=np.intp
        ).reshape(proofs.shape),
        sees=problem.sees.reshape(len(problem.mends), -1)[causes],
        mends=np.array([mended.get(r, -1) for r in problem.mends[causes].tolist()], dtype=np.intp),
        drive=problem.drive,
        hand_over=problem.hand_over[which],
        rest=place[problem.rest[np.ix_(which, causes)]],
    )
    weights = state.weights[which]
    share = float(weights.sum())
    return (
        smaller,
        State(
            weights / share,
            state.here,
            state.tests[chosen],
            state.repairs[repairs],
            state.mended,
        ),
        share,
    )
