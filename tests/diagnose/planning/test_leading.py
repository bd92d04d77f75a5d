"""The smaller problem: what it keeps is as it was, and what it drops is said."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.planning.leading import leading
from diagnose.planning.lookahead import Lookahead
from diagnose.planning.problem import DRIVE, after, hours_of
from tests.strategies import problems

few = settings(max_examples=15)
chosen_tests = st.sets(st.integers(0, 3))


def by_needs(problem, weights):
    """Weight of each set of causes to mend, by the repairs that mend them."""
    names = [problem.repairs[r].key[1] for r in problem.mends]
    return {
        frozenset(names[c] for c in np.flatnonzero(row)): w
        for row, w in zip(problem.needs, weights.tolist(), strict=True)
        if w > 0.0
    }


@few
@given(problems())
def test_with_all_rows_and_tests_nothing_changes(drawn):
    problem, state = drawn
    smaller, there, share = leading(problem, state, rows=99, tests=range(4))
    assert share == pytest.approx(1.0)
    mine, same = (
        {m.key: m.expected for m in Lookahead(p).moves([s])[0]}
        for p, s in ((problem, state), (smaller, there))
    )
    assert same == pytest.approx(mine)


@few
@given(problems(), st.integers(1, 6), chosen_tests)
def test_it_keeps_the_heaviest_rows_in_proportion(drawn, rows, tests):
    problem, state = drawn
    smaller, there, share = leading(problem, state, rows=rows, tests=tests)
    heaviest = sorted(state.weights.tolist(), reverse=True)[:rows]
    assert share >= sum(heaviest) - 1e-12, "with what may be left of them"
    assert there.weights.sum() == pytest.approx(1.0)
    whole = by_needs(problem, state.weights)
    for needs, weight in by_needs(smaller, there.weights).items():
        assert weight * share == pytest.approx(whole[needs])


@few
@given(problems(), st.integers(1, 6), chosen_tests)
def test_it_keeps_just_the_tests_that_were_chosen(drawn, rows, tests):
    problem, state = drawn
    smaller, there, _ = leading(problem, state, rows=rows, tests=tests)
    assert [t.key for t in smaller.tests] == [problem.tests[t].key for t in sorted(tests)]
    assert len(there.tests) == len(tests)
    for test in smaller.tests:
        assert test.likelihood.sum(axis=0) == pytest.approx(np.ones(len(smaller.needs)))
    for cause, look in enumerate(smaller.proofs[:, 0].tolist()):
        repair = smaller.repairs[smaller.mends[cause]].key[1]
        wanted = ("check", f"look {repair}")
        kept = [t.key for t in smaller.tests]
        assert (smaller.tests[look].key == wanted) if look >= 0 else wanted not in kept


@few
@given(problems(), st.integers(1, 6))
def test_what_is_left_of_a_row_is_kept_with_it(drawn, rows):
    """A repair and the drive after it lead to rows that are kept."""
    problem, state = drawn
    smaller, there, _ = leading(problem, state, rows=rows, tests=[0])
    assert smaller.rest.max(initial=0) < len(smaller.needs)
    for repair in smaller.repairs:
        ((_, then),) = after(smaller, there, repair.key)
        assert then.weights.sum() == pytest.approx(1.0)
        outcomes = list(after(smaller, then, DRIVE))
        assert sum(p for p, _ in outcomes) == pytest.approx(1.0)
        assert hours_of(smaller, there, repair.key) == hours_of(problem, state, repair.key)
    for row, cause in np.argwhere(smaller.needs).tolist():
        left = smaller.needs[row].copy()
        left[cause] = False
        assert smaller.needs[smaller.rest[row, cause]].tolist() == left.tolist()


@few
@given(problems(), st.integers(1, 6))
def test_hours_stay_the_hours_they_were(drawn, rows):
    problem, state = drawn
    smaller, there, _ = leading(problem, state, rows=rows, tests=[])
    assert (smaller.drive, smaller.access) == (problem.drive, problem.access)
    assert there.here == state.here
    handed = set(problem.hand_over.tolist())
    assert set(smaller.hand_over.tolist()) <= handed
