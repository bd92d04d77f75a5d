"""The planning problem: what an act may lead to, and what is worked out from its arrays."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.planning.problem import (
    DRIVE,
    HAND_OVER,
    act_of,
    after,
    hours_of,
)
from tests.diagnose.planning.examples import rows_without, t1
from tests.strategies import problems

few = settings(max_examples=15)


def keys_of(problem):
    return [act.key for act in (*problem.tests, *problem.repairs)]


def mended(problem, state, name):
    ((_, then),) = after(problem, state, ("repair", name))
    return then


class TestAfter:
    @few
    @given(problems())
    def test_chances_and_beliefs_sum_to_one(self, drawn):
        problem, state = drawn
        for key in [*keys_of(problem), DRIVE, HAND_OVER]:
            outcomes = list(after(problem, state, key))
            assert sum(p for p, _ in outcomes) == pytest.approx(1.0, abs=1e-9)
            for _, then in outcomes:
                if then is not None:
                    assert then.weights.sum() == pytest.approx(1.0, abs=1e-9)
                    assert (then.weights >= 0.0).all()

    @few
    @given(problems())
    def test_a_test_leaves_the_belief_what_it_is_on_average(self, drawn):
        problem, state = drawn
        for test in problem.tests:
            mean = sum(p * then.weights for p, then in after(problem, state, test.key))
            assert mean == pytest.approx(state.weights, abs=1e-12)

    @few
    @given(problems())
    def test_a_tests_answer_is_weighed_by_the_rule_of_bayes(self, drawn):
        problem, state = drawn
        test = problem.tests[0]
        (p, seen), *_ = after(problem, state, test.key)
        assert p == pytest.approx(float(test.likelihood[0] @ state.weights))
        assert seen.weights * p == pytest.approx(test.likelihood[0] * state.weights)

    @few
    @given(problems())
    def test_what_reads_all_that_another_reads_makes_it_needless_but_not_the_other_way(self, drawn):
        """The second test reads all that the first does, and more."""
        problem, state = drawn
        for key, left in (
            (("check", "test 0"), (False, True)),
            (("check", "test 1"), (False,) * 2),
        ):
            for _, then in after(problem, state, key):
                assert tuple(then.tests[-2:]) == left
                assert then.tests[:-2].all()

    def test_an_answer_that_can_not_be_is_left_out(self):
        problem, state = t1()
        sure = replace(state, weights=np.array([0.0, 1.0, 0.0, 0.0]))
        assert [p for p, _ in after(problem, sure, ("check", "1"))] == [1.0]

    @few
    @given(problems())
    def test_it_stands_where_the_act_was_done(self, drawn):
        problem, state = drawn
        for key in keys_of(problem):
            _, there = problem.access.move(state.here, act_of(problem, key).depth)
            assert {then.here for _, then in after(problem, state, key)} == {there}


class TestRepairs:
    @few
    @given(problems())
    def test_it_takes_its_causes_away_as_often_as_it_cures(self, drawn):
        problem, state = drawn
        before = state.weights @ problem.needs
        for repair in problem.repairs:
            then = mended(problem, state, repair.key[1])
            expected = before * (1.0 - repair.cures)
            assert then.weights @ problem.needs == pytest.approx(expected, abs=1e-12)
            assert then.mended

    @few
    @given(problems())
    def test_before_the_next_drive_it_is_done_once(self, drawn):
        problem, state = drawn
        then = mended(problem, state, "1")
        assert then.repairs.tolist() == [True, False, True]
        assert then.tests.all()

    @few
    @given(problems(), st.lists(st.sampled_from("012"), min_size=1, max_size=3, unique=True))
    def test_after_a_drive_in_vain_all_may_be_tried_again(self, drawn, names):
        problem, state = drawn
        for name in names:
            state = mended(problem, state, name)
        *_, (p, then) = after(problem, state, DRIVE)
        assert then is not None
        assert p == pytest.approx(1.0 - state.weights[problem.well].sum())
        assert then.repairs.all()
        assert not then.mended
        assert then.here == 0
        assert then.weights[problem.well].sum() == 0.0
        assert then.weights * p == pytest.approx(np.where(problem.well, 0.0, state.weights))

    def test_a_drive_with_a_vehicle_that_is_surely_well_is_the_end(self):
        problem, state = t1()
        well = replace(state, weights=np.array([0.0, 0.0, 0.0, 1.0]), mended=True)
        assert list(after(problem, well, DRIVE)) == [(1.0, None)]

    def test_handing_over_ends_it(self):
        assert list(after(*t1(), HAND_OVER)) == [(1.0, None)]


class TestHours:
    @few
    @given(problems())
    def test_each_act_takes_its_own_and_the_way_there(self, drawn):
        problem, state = drawn
        access, here = problem.access, state.here
        for act in (*problem.tests, *problem.repairs):
            way, _ = access.move(here, act.depth)
            assert hours_of(problem, state, act.key) == pytest.approx(way + act.hours)
        assert hours_of(problem, state, DRIVE) == pytest.approx(access.way_out(here) + 0.3)
        handed = float(state.weights @ problem.hand_over)
        assert hours_of(problem, state, HAND_OVER) == pytest.approx(access.way_out(here) + handed)

    def test_an_act_that_is_not_there_is_refused(self):
        problem, _ = t1()
        with pytest.raises(KeyError):
            act_of(problem, ("check", "4"))


class TestRows:
    def test_a_row_without_a_cause_is_the_row_of_the_others(self):
        needs = np.array([[0, 0], [1, 0], [0, 1], [1, 1]], dtype=bool)
        assert rows_without(needs).tolist() == [[0, 0], [0, 1], [2, 0], [2, 1]]

    def test_rows_that_are_not_closed_are_refused(self):
        with pytest.raises(KeyError):
            rows_without(np.array([[1, 1], [1, 0], [0, 0]], dtype=bool))

    @few
    @given(problems())
    def test_each_row_is_laid_on_one_of_its_causes(self, drawn):
        problem, _ = drawn
        assert problem.share.sum(axis=1).tolist() == (~problem.well).astype(float).tolist()
        assert not (problem.share.astype(bool) & ~problem.needs).any()

    def test_it_is_the_one_that_takes_most_to_reach(self):
        """T1: looks of 10, 3 and 1 hours on one level, without a look the repair counts."""
        problem, _ = t1()
        both = np.array([[1, 1, 1], [0, 1, 1], [0, 0, 1], [0, 0, 0]], dtype=bool)
        two = replace(problem, needs=both)
        assert two.last.tolist() == [0, 1, 2, 0]
        blind = replace(two, proofs=np.array([-1, -1, 2]))
        assert blind.last.tolist() == [1, 1, 2, 0], "repairs of 5 and 8 hours"

    @few
    @given(problems(perfect=True))
    def test_every_other_cause_adds_its_repair_and_a_drive_and_the_way_in_if_inside(self, drawn):
        problem, _ = drawn
        ways = [0.0, 0.0, 4.0]  # one can drive between tries from below: no way in of its own
        for row, needed in enumerate(problem.needs):
            others = set(np.flatnonzero(needed).tolist()) - {int(problem.last[row])}
            hours = [ways[r.depth] + r.hours + 0.3 for r in problem.repairs]
            assert problem.again[row] == pytest.approx(sum(hours[c] for c in others))
