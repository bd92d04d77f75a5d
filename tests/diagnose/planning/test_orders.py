"""The base policy: orders and their costs, against published numbers, every order, and by hand.

Sources: T1 is p over c for one fault (Kadane and Simon 1977), T2 the same behind an access action;
the engine notes give every order's expected cost. `oracles.orders` tries all orders the slow way.
"""

from dataclasses import replace
from itertools import pairwise, permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.access import Access
from diagnose.planning.exact import expected_of
from diagnose.planning.orders import Beliefs, Orders
from diagnose.planning.problem import (
    DRIVE,
    HAND_OVER,
    Problem,
    Repair,
    Test,
)
from tests.diagnose.oracles.orders import Item, access_order, all_orders, expected_cost, least_cost
from tests.diagnose.planning.examples import FLAT, HOUSING, fresh, rows_without, t1, t2
from tests.strategies import plans, problems

some, few = settings(max_examples=40), settings(max_examples=15)
# Repairs so long that nobody mends what he has not seen; added to all that a policy may end with.
BLIND = 100.0


def believed(state):
    return Beliefs(state.weights[None], state.tests[None], state.repairs[None])


def costs(problem, state):
    return float(Orders(problem, state.here).costs(believed(state))[0])


def names(problem, state):
    return "".join(name for _, name in Orders(problem, state.here).keys(believed(state)))


def dear_repairs(problem):
    repairs = tuple(replace(r, hours=r.hours + BLIND) for r in problem.repairs)
    return replace(problem, repairs=repairs, hand_over=problem.hand_over + BLIND)


def problem_of(items, access, *, hand_over):
    """Looks at single causes, and one more cause that nobody can find; (problem, state)."""
    n = len(items)
    needs = np.eye(n + 2, n + 1, dtype=bool)
    tests = [
        Test(
            ("check", item.name),
            item.depth,
            item.cost,
            np.stack([needs[:, i], ~needs[:, i]]) * 1.0,
            frozenset({item.name}),
        )
        for i, item in enumerate(items)
    ]
    repairs = [
        Repair(("repair", item.name), item.fix_depth, item.fix + BLIND, np.eye(n + 1)[i])
        for i, item in enumerate(items)
    ]
    number = np.array([*range(n), -1])
    problem = Problem(
        access=access,
        needs=needs,
        tests=tuple(tests),
        repairs=tuple(repairs),
        proofs=number,
        sees=np.ones(n + 1),
        mends=number,
        drive=0.0,
        hand_over=np.full(n + 2, hand_over + BLIND),
        rest=rows_without(needs),
    )
    chances = [item.p for item in items]
    return problem, fresh(problem, [*chances, max(0.0, 1.0 - sum(chances)), 0.0])


LOOKS_T1 = {
    "1": Item("1", 0.5, 10.0, 0, 5.0),
    "2": Item("2", 0.3, 3.0, 0, 8.0),
    "3": Item("3", 0.2, 1.0, 0, 20.0),
}
LOOKS_T2 = {
    "A": Item("A", 0.20, 4.0, 0),
    "B": Item("B", 0.10, 5.0, 0),
    "X": Item("X", 0.35, 6.0, 1),
    "Y": Item("Y", 0.25, 5.0, 1),
    "Z": Item("Z", 0.10, 10.0, 1),
}


class TestTheSlowWay:
    """The oracle itself, against the published numbers."""

    @pytest.mark.parametrize(
        ("order", "expected"),
        [("123", 20.6), ("132", 20.3), ("213", 19.1), ("231", 17.6), ("312", 18.8), ("321", 17.3)],
    )
    def test_every_order_of_one_fault(self, order, expected):
        found = expected_cost([LOOKS_T1[n] for n in order], FLAT, 0, hand_over=0.0)
        assert found == pytest.approx(expected, abs=1e-9)

    @pytest.mark.parametrize(
        ("order", "expected"),
        [("ABXYZ", 42.95), ("ABYXZ", 43.20), ("BAXYZ", 43.55), ("XAYBZ", 52.85)],
    )
    def test_orders_behind_an_access(self, order, expected):
        found = expected_cost([LOOKS_T2[n] for n in order], HOUSING, 0, hand_over=0.0)
        assert found == pytest.approx(expected, abs=1e-9)

    def test_the_best_and_the_worst_behind_an_access(self):
        orders = permutations(LOOKS_T2.values())
        found = sorted(expected_cost(order, HOUSING, 0, hand_over=0.0) for order in orders)
        assert (found[0], found[-1]) == (pytest.approx(42.95), pytest.approx(62.80))

    def test_the_cluster_is_weighed_with_its_opening(self):
        for opening, order in ((40.0, "ABXYZ"), (0.0, "XAYBZ")):
            found = access_order(list(LOOKS_T2.values()), [0.0, opening])
            assert "".join(item.name for item in found) == order

    def test_a_look_and_its_repair_deeper_in(self):
        """Looked at from below, mended with the gearbox out: in and out once, if it is that."""
        access = Access(("seat", "under", "out"), (0, 0.3, 4.0), (0, 0.2, 3.0), (True, True, False))
        item = Item("weep", 0.4, 0.1, 1, 1.0, 2)
        expected = 0.3 + 0.1 + 0.4 * (4.0 + 1.0 + 3.2) + 0.6 * (7.0 + 0.2)
        assert expected_cost([item], access, 0, hand_over=7.0) == pytest.approx(expected)

    def test_nothing_to_look_for_is_handed_over(self):
        access = Access(("seat", "out"), (0.0, 4.0), (0.0, 3.0), (True, False))
        assert expected_cost([], access, 1, hand_over=7.0) == pytest.approx(10.0)

    @some
    @given(plans(items=(1, 4)))
    def test_p_over_c_with_the_openings_is_the_best_of_all_orders(self, plan):
        items, access = plan
        order = access_order(items, access.opening(0))
        best = min(expected_cost(o, access, 0, hand_over=5.0) for o in permutations(items))
        assert expected_cost(order, access, 0, hand_over=5.0) == pytest.approx(best, rel=1e-9)


class TestPublished:
    def test_p_over_c_is_the_best_of_one_fault(self):
        """T1."""
        problem, state = t1()
        assert names(dear_repairs(problem), state) == "321"
        assert costs(dear_repairs(problem), state) - BLIND == pytest.approx(17.3, abs=1e-9)

    @pytest.mark.parametrize(
        ("service", "expected", "order"), [(12.0, 12.0, ""), (16.0, 16.0, ""), (30.0, 17.3, "321")]
    )
    def test_handing_over_after_some_steps(self, service, expected, order):
        """T1: the least of what handing over after none, one, two and three looks takes."""
        problem, state = t1(service)
        assert names(dear_repairs(problem), state) == order
        assert costs(dear_repairs(problem), state) - BLIND == pytest.approx(expected, abs=1e-9)

    def test_behind_an_access_the_cluster_is_weighed_with_its_opening(self):
        """T2."""
        problem, state = t2()
        assert names(dear_repairs(problem), state) == "ABXYZ"
        assert costs(dear_repairs(problem), state) - BLIND == pytest.approx(42.95, abs=1e-9)

    def test_once_it_is_open_the_opening_no_longer_counts(self):
        """T2: what p over c alone does."""
        problem, state = t2()
        assert names(dear_repairs(problem), replace(state, here=1)) == "XAYBZ"
        assert costs(dear_repairs(problem), replace(state, here=1)) - BLIND == pytest.approx(12.85)

    def test_repairs_that_cost_no_more_than_the_look_are_simply_tried(self):
        """T1 with repairs of 5, 8 and 20 hours: the first costs less than its look of 10."""
        problem, state = t1()
        keys = Orders(problem, 0).keys(believed(state))
        assert keys[0] == ("check", "3")
        assert set(keys[1:]) == {("check", "2"), ("repair", "1")}, "0.3 / 3 and 0.5 / 5 are equal"
        assert costs(problem, state) == pytest.approx(1.0 + 0.2 * 20 + 0.8 * 3 + 0.3 * 8 + 0.5 * 5)


def goes_in_once(order, access):
    inside = [not access.drivable[item.depth] for item in order]
    return sum(now and not before for before, now in pairwise([False, *inside])) <= 1


class TestTryingEveryOrder:
    @some
    @given(plans(), st.data())
    def test_no_order_is_cheaper(self, plan, data):
        """Where what is outside can still be looked at with the gearbox out, from every level."""
        items, access = plan
        here = data.draw(st.integers(0, len(access.names) - 1))
        problem, state = problem_of(items, access, hand_over=1000.0)
        found = costs(problem, replace(state, here=here)) - BLIND
        assert found == pytest.approx(least_cost(items, access, here, hand_over=1000.0), rel=1e-9)

    @some
    @given(plans(items=(1, 4)), st.floats(1.0, 40.0))
    def test_nor_a_better_place_to_hand_over(self, plan, hand_over):
        """Repairs take as long for whoever takes over, so only the looks are weighed here.

        A prefix of p over c is not quite the best of any choice of looks: within one in 500.
        """
        items, access = plan
        items = [replace(item, fix=0.0) for item in items]
        problem, state = problem_of(items, access, hand_over=hand_over)
        best = least_cost(items, access, 0, hand_over=hand_over)
        found = costs(problem, state) - BLIND
        assert best - 1e-9 <= found <= best * 1.002 + 1e-9

    @given(plans(items=(1, 4), levels=(2, 3), drivable=True), st.data())
    def test_it_costs_what_walking_along_it_costs(self, plan, data):
        """With a vehicle that has to be closed up for what is done from outside."""
        items, access = plan
        here = data.draw(st.integers(0, len(access.names) - 1))
        problem, state = problem_of(items, access, hand_over=20.0)
        state = replace(state, here=here)
        item = {item.name: item for item in items}
        keys = Orders(problem, here).keys(believed(state))
        walked = expected_cost([item[name] for _, name in keys], access, here, hand_over=20.0)
        assert costs(problem, state) - BLIND == pytest.approx(walked, rel=1e-9)
        depths = [access.drivable[item[name].depth] for _, name in keys]
        first = depths.index(False) if False in depths else len(depths)
        assert depths[first:] == sorted(depths[first:]), "inside, then outside, never back in"

    @given(plans(items=(1, 4), levels=(2, 3), drivable=True))
    def test_from_the_seat_it_is_nearly_the_best_of_all_that_go_in_once(self, plan):
        """Where the way in takes as long as the longest look."""
        items, access = plan
        access = replace(access, down=(0.0, *(hours + 5.0 for hours in access.down[1:])))
        problem, state = problem_of(items, access, hand_over=20.0)
        best = min(
            expected_cost(order, access, 0, hand_over=20.0)
            for order in all_orders(items)
            if goes_in_once(order, access)
        )
        assert best - 1e-9 <= costs(problem, state) - BLIND <= best * 1.05

    @some
    @given(plans(), st.lists(st.floats(0.0, 1.0), min_size=7, max_size=7))
    def test_free_information_never_costs_anything(self, plan, signs):
        """T14: the expected cost after a free answer is at most what it was before it.

        But for what is left to whoever takes over as it is less likely than 1 in 2000.
        """
        items, access = plan
        problem, state = problem_of(items, access, hand_over=20.0)
        yes = np.array(signs[: len(state.weights)])
        joint = state.weights * np.stack([yes, 1.0 - yes])
        mass = joint.sum(axis=1)
        can_be = mass > 1e-9
        told = [
            replace(state, weights=j / m) for j, m in zip(joint[can_be], mass[can_be], strict=True)
        ]
        after = sum(m * costs(problem, s) for m, s in zip(mass[can_be], told, strict=True))
        assert after <= costs(problem, state) + len(items) * 20.0 / 2000

    def test_the_way_in_counts_every_level_down_to_it(self):
        access = Access(("seat", "under", "out"), (0, 0.25, 4), (0, 0.25, 3), (True, True, False))
        items = [Item("disc", 1.0, 0.1, 2, 1.0, 2)]
        problem, state = problem_of(items, access, hand_over=1000.0)
        assert costs(problem, state) - BLIND == pytest.approx(0.25 + 4 + 0.1 + 1.0 + 3 + 0.25)


class TestManyAtOnce:
    @few
    @given(problems(perfect=True), st.integers(1, 6))
    def test_many_beliefs_give_the_same_as_one_by_one(self, drawn, n):
        """None so unlikely that it is left out where it is so in all of them."""
        problem, state = drawn
        rng = np.random.default_rng(n)
        rows = len(state.weights)
        many = Beliefs(
            0.9 * rng.dirichlet(np.ones(rows), size=n) + 0.1 / rows,
            rng.random((n, len(state.tests))) < 0.7,
            rng.random((n, len(state.repairs))) < 0.7,
        )
        orders = Orders(problem, state.here)
        alone = [float(orders.costs(many.one(i))[0]) for i in range(n)]
        assert orders.costs(many) == pytest.approx(alone, rel=1e-12)
        hours, keys = orders.begun(many)
        assert hours == pytest.approx(alone, rel=1e-12)
        assert keys == [orders.begun(many.one(i))[1][0] for i in range(n)]
        assert keys == [(orders.keys(many.one(i)) or [HAND_OVER])[0] for i in range(n)]

    def test_no_belief_at_all(self):
        problem, _ = t1()
        none = Beliefs(np.zeros((0, 4)), np.zeros((0, 3), bool), np.zeros((0, 3), bool))
        assert len(Orders(problem, 0).costs(none)) == 0
        assert Orders(problem, 0).begun(none)[1] == []

    @some
    @given(plans(items=(2, 5)))
    def test_what_can_not_be_changes_nothing_and_is_not_done(self, plan):
        items, access = plan
        never = replace(items[0], p=0.0)
        with_it = problem_of([never, *items[1:]], access, hand_over=1000.0)
        without = problem_of(items[1:], access, hand_over=1000.0)
        assert costs(*with_it) == pytest.approx(costs(*without), rel=1e-9)
        assert never.name not in [k[1] for k in Orders(with_it[0], 0).keys(believed(with_it[1]))]

    @few
    @given(problems())
    def test_what_was_done_is_not_done_again(self, drawn):
        problem, state = drawn
        done = replace(
            state, tests=np.zeros_like(state.tests), repairs=np.array([False, True, True])
        )
        keys = Orders(problem, state.here).keys(believed(done))
        assert set(keys) <= {("repair", "1"), ("repair", "2")}

    def test_where_nothing_can_be_mended_it_is_driven_or_handed_over(self):
        problem, state = two_causes(EITHER, [0.6, 0.0, 0.4], (0, 0))
        unmendable = replace(problem, repairs=(), mends=np.full(2, -1))
        state = replace(state, repairs=np.zeros(0, dtype=bool))
        assert costs(unmendable, state) == pytest.approx(0.6 * 40 + 0.4 * 0.5)


WAYS = Access(("seat", "out", "apart"), (0.0, 4.0, 0.5), (0.0, 3.0, 0.5), (True, False, False))
EITHER = np.array([[1, 0], [0, 1], [0, 0]], dtype=bool)
BOTH = np.array([[1, 1], [1, 0], [0, 1], [0, 0]], dtype=bool)


def two_causes(needs, chances, depths, *, cures=(1.0, 1.0), looks=(), drive=0.5, hand_over=40.0):
    """Two causes with repairs of 1 and 2 hours, with looks of a given depth or without one."""
    tests = tuple(
        Test(
            ("check", "ab"[i]),
            depth,
            0.1,
            np.stack([needs[:, i], ~needs[:, i]]) * 1.0,
            frozenset({"ab"[i]}),
        )
        for i, depth in enumerate(looks)
    )
    repairs = tuple(
        Repair(("repair", "ab"[i]), depths[i], 1.0 + i, np.eye(2)[i] * cures[i]) for i in range(2)
    )
    problem = Problem(
        access=WAYS,
        needs=needs,
        tests=tests,
        repairs=repairs,
        proofs=np.arange(2) if looks else np.full(2, -1),
        sees=np.ones(2),
        mends=np.arange(2),
        drive=drive,
        hand_over=np.where(needs.any(axis=1), hand_over, drive),
        rest=rows_without(needs),
    )
    return problem, fresh(problem, chances)


class TestByHand:
    def test_outside_one_drives_after_every_try(self):
        """The likelier first, for 1 hour and a drive; then the other, for 2 and a drive."""
        problem, state = two_causes(EITHER, [0.6, 0.4, 0.0], (0, 0))
        assert Orders(problem, 0).keys(believed(state)) == [("repair", "a"), ("repair", "b")]
        assert costs(problem, state) == pytest.approx(1.5 + 0.4 * 2.5)
        walked = expected_of(
            problem,
            state,
            lambda s: (
                DRIVE if s.mended else ("repair", "a") if s.weights[0] > 0 else ("repair", "b")
            ),
        )
        assert costs(problem, state) == pytest.approx(walked)

    def test_inside_both_are_tried_before_it_closes(self):
        problem, state = two_causes(EITHER, [0.6, 0.4, 0.0], (1, 1), drive=0.0)
        assert Orders(problem, 0).keys(believed(state)) == [("repair", "a"), ("repair", "b")]
        assert costs(problem, state) == pytest.approx(4 + 1 + 2 + 3)

    def test_a_deeper_level_is_opened_for_the_batch(self):
        problem, state = two_causes(EITHER, [0.6, 0.4, 0.0], (1, 2), drive=0.0)
        assert costs(problem, state) == pytest.approx(4 + 1 + 0.5 + 2 + 0.5 + 3)

    def test_what_does_not_pay_is_not_in_the_batch(self):
        """One in fifty saves 0.8 hours of handing over and takes 2."""
        problem, state = two_causes(EITHER, [0.98, 0.02, 0.0], (1, 1), drive=0.0)
        assert Orders(problem, 0).keys(believed(state)) == [("repair", "a")]
        assert costs(problem, state) == pytest.approx(4 + 1 + 3 + 0.02 * 40)

    def test_the_drive_after_the_batch_counts(self):
        problem, state = two_causes(EITHER, [0.6, 0.4, 0.0], (1, 1))
        assert costs(problem, state) == pytest.approx(4 + 1 + 2 + 3 + 0.5)

    def test_a_batch_after_what_was_tried_outside_is_paid_only_where_that_was_in_vain(self):
        """In 4 of 100 it takes 9 hours with the ways, and saves 40 of handing over."""
        problem, state = two_causes(EITHER, [0.96, 0.04, 0.0], (0, 1), drive=0.0)
        assert Orders(problem, 0).keys(believed(state)) == [("repair", "a"), ("repair", "b")]
        assert costs(problem, state) == pytest.approx(1 + 0.04 * (4 + 2 + 3))

    def test_what_seldom_cures_is_done_again_once_it_was_seen(self):
        """Seen outside for 0.1; a cure of 0.8 takes 1.25 tries on average, each with a drive."""
        problem, state = two_causes(EITHER, [1.0, 0.0, 0.0], (0, 0), cures=(0.8, 1.0), looks=(0, 0))
        assert costs(problem, state) == pytest.approx(0.1 + 1.25 * 1.5)

    def test_a_look_that_misses_leaves_the_repair_to_be_tried(self):
        """Seen in half of all cases; else tried for 1 hour and a drive."""
        problem, state = two_causes(EITHER, [1.0, 0.0, 0.0], (0, 0), looks=(0, 0))
        half = replace(problem, sees=np.array([0.5, 1.0]))
        assert costs(half, state) == pytest.approx(0.1 + 0.5 * 1.5 + 0.5 * 1.5)
        assert Orders(half, 0).keys(believed(state)) == [("check", "a"), ("repair", "a")]

    def test_a_repair_that_was_done_before_this_drive_is_not_counted_on(self):
        problem, state = two_causes(EITHER, [0.6, 0.4, 0.0], (0, 0))
        tried = replace(state, repairs=np.array([False, True]))
        assert Orders(problem, 0).keys(believed(tried)) == [("repair", "b")]
        assert costs(problem, tried) == pytest.approx(2.5 + 0.6 * 40)

    def test_of_two_that_are_both_needed_the_one_that_takes_longer_settles_it(self):
        """b needs the gearbox out; a is mended outside, for 1 hour and a drive more."""
        problem, state = two_causes(BOTH, [1.0, 0.0, 0.0, 0.0], (0, 1), looks=(0, 1))
        assert Orders(problem, 0).keys(believed(state)) == [("check", "b")]
        assert costs(problem, state) == pytest.approx(4 + 0.1 + 2 + 3 + 0.5 + 1.5)

    def test_a_second_one_inside_adds_the_way_in_again(self):
        problem, state = two_causes(BOTH, [1.0, 0.0, 0.0, 0.0], (1, 1), looks=(1, 1))
        once = 4 + 0.1 + 1 + 3 + 0.5
        assert costs(problem, state) == pytest.approx(once + 4 + 2 + 3 + 0.5)

    def test_a_vehicle_that_may_be_well_is_driven_and_not_handed_over(self):
        problem, state = two_causes(EITHER, [0.0, 0.0, 1.0], (0, 0))
        assert costs(problem, state) == pytest.approx(0.5)
        assert Orders(problem, 0).keys(believed(state)) == []
        assert costs(problem, replace(state, here=1)) == pytest.approx(3 + 0.5)

    def test_what_is_found_deeper_in_is_mended_there(self):
        """Seen from the seat; put right with the cover off, in and out once."""
        problem, state = two_causes(EITHER, [0.3, 0.7, 0.0], (2, 0), looks=(0, 0))
        b_first = 0.1 + 0.7 * 2.5 + 0.3 * (0.1 + 4.5 + 1 + 3.5 + 0.5)
        assert costs(problem, state) == pytest.approx(b_first)
