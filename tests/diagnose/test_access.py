"""Orders and their costs against worked examples and against trying every order.

Sources: T1 is p over c for one fault (Kadane and Simon 1977), T2 the same behind an access action;
the engine notes give every order's expected cost.
"""

from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.access import Access, Item, access_for, access_order, expected_cost, shut_once
from diagnose.case import Case
from tests.small_bases import make_base
from tests.strategies import plans

FLAT = Access(("here",), (0.0,), (0.0,), (True,))
# The housing is opened once and what is outside can be looked at with it open.
HOUSING = Access(("outside", "housing"), (0.0, 40.0), (0.0, 0.0), (False, False))


def look(name, p, cost, depth=0, fix=0.0):
    return Item(("check", name), p, cost, depth, fix, depth)


T1 = {
    "1": look("1", 0.5, 10.0, fix=5.0),
    "2": look("2", 0.3, 3.0, fix=8.0),
    "3": look("3", 0.2, 1.0, fix=20.0),
}
T2 = {
    "A": look("A", 0.20, 4.0),
    "B": look("B", 0.10, 5.0),
    "X": look("X", 0.35, 6.0, 1),
    "Y": look("Y", 0.25, 5.0, 1),
    "Z": look("Z", 0.10, 10.0, 1),
}


def cost(items, order, access, hand_over=0.0):
    return expected_cost([items[name] for name in order], access, 0, hand_over=hand_over)


class TestOneFault:
    """T1."""

    @pytest.mark.parametrize(
        ("order", "expected"),
        [("123", 20.6), ("132", 20.3), ("213", 19.1), ("231", 17.6), ("312", 18.8), ("321", 17.3)],
    )
    def test_every_order(self, order, expected):
        assert cost(T1, order, FLAT) == pytest.approx(expected, abs=1e-9)

    def test_p_over_c_is_the_best(self):
        assert [i.key[1] for i in access_order(list(T1.values()), [0.0])] == ["3", "2", "1"]

    @pytest.mark.parametrize(
        ("service", "expected"),
        [
            (12.0, (12.0, 14.6, 15.8, 17.3)),
            (16.0, (16.0, 17.8, 17.8, 17.3)),
            (30.0, (30.0, 29.0, 24.8, 17.3)),
        ],
    )
    def test_handing_over_after_some_steps(self, service, expected):
        found = [cost(T1, "321"[:k], FLAT, hand_over=service) for k in range(4)]
        assert found == pytest.approx(expected, abs=1e-9)


class TestBehindAccess:
    """T2."""

    @pytest.mark.parametrize(
        ("order", "expected"),
        [("ABXYZ", 42.95), ("ABYXZ", 43.20), ("BAXYZ", 43.55), ("XAYBZ", 52.85)],
    )
    def test_orders(self, order, expected):
        assert cost(T2, order, HOUSING) == pytest.approx(expected, abs=1e-9)

    def test_the_best_and_the_worst(self):
        costs = sorted(cost(T2, order, HOUSING) for order in permutations("ABXYZ"))
        assert costs[0] == pytest.approx(42.95, abs=1e-9)
        assert costs[-1] == pytest.approx(62.80, abs=1e-9)

    def test_the_cluster_is_weighed_with_its_opening(self):
        order = access_order(list(T2.values()), [0.0, 40.0])
        assert "".join(i.key[1] for i in order) == "ABXYZ"

    def test_once_it_is_open_the_opening_no_longer_counts(self):
        order = access_order(list(T2.values()), [0.0, 0.0])
        assert "".join(i.key[1] for i in order) == "XAYBZ"


class TestTryingEveryOrder:
    @given(plans())
    def test_no_order_is_cheaper(self, plan):
        """Where what is outside can still be looked at with the gearbox out."""
        items, access = plan
        order = access_order(items, access.opening(0))
        best = min(expected_cost(o, access, 0, hand_over=5.0) for o in permutations(items))
        assert expected_cost(order, access, 0, hand_over=5.0) == pytest.approx(best, rel=1e-9)

    @given(plans(), st.data())
    def test_from_anywhere_inside(self, plan, data):
        items, access = plan
        here = data.draw(st.integers(0, len(access.names) - 1))
        order = access_order(items, access.opening(here))
        best = min(expected_cost(o, access, here, hand_over=5.0) for o in permutations(items))
        assert expected_cost(order, access, here, hand_over=5.0) == pytest.approx(best, rel=1e-9)

    @given(plans(), st.lists(st.floats(0.0, 1.0), min_size=5, max_size=5))
    def test_free_information_never_costs_anything(self, plan, signs):
        """T14: the expected cost after a free answer is at most what it was before it."""
        items, access = plan

        def best(listed):
            order = access_order(listed, access.opening(0))
            return expected_cost(order, access, 0, hand_over=5.0)

        rest = 1.0 - sum(i.p for i in items)
        after = 0.0
        for yes in (True, False):
            chance = [s if yes else 1.0 - s for s in signs]
            joint = [i.p * c for i, c in zip(items, chance, strict=False)]
            mass = sum(joint) + rest * 0.5
            if mass > 1e-9:
                told = [replace(i, p=j / mass) for i, j in zip(items, joint, strict=True)]
                after += mass * best(told)
        assert after <= best(items) + 1e-9

    @given(plans(levels=(2, 3), drivable=True))
    def test_shutting_once_drops_and_adds_nothing(self, plan):
        items, access = plan
        order = access_order(items, [0.0] * len(access.names))
        shut = shut_once(order, access, 0)
        assert sorted(i.key for i in shut) == sorted(i.key for i in order)
        whole = [access.drivable[i.depth] for i in shut]
        first_inside = whole.index(False) if False in whole else len(whole)
        outside_again = whole[first_inside:]
        assert outside_again == sorted(outside_again), "inside, then outside, never back in"


class TestWays:
    ACCESS = Access(
        ("seat", "under", "out", "apart"),
        (0.0, 0.3, 4.0, 0.5),
        (0.0, 0.2, 3.0, 0.4),
        (True, True, False, False),
    )

    @pytest.mark.parametrize(
        ("here", "there", "expected"),
        [
            (0, 0, (0.0, 0)),
            (0, 2, (4.3, 2)),
            (1, 3, (4.5, 3)),
            (2, 1, (3.0, 1)),
            (3, 0, (3.6, 0)),
            (3, 2, (0.0, 3)),  # with the cover off, what needs the gearbox out can be done too
        ],
    )
    def test_from_level_to_level(self, here, there, expected):
        hours, stands = self.ACCESS.move(here, there)
        assert (hours, stands) == (pytest.approx(expected[0]), expected[1])

    @pytest.mark.parametrize(("here", "hours"), [(0, 0.0), (1, 0.2), (2, 3.2), (3, 3.6)])
    def test_out(self, here, hours):
        assert self.ACCESS.way_out(here) == pytest.approx(hours)

    @pytest.mark.parametrize(
        ("here", "opening"), [(0, (0.0, 0.5, 7.0, 0.9)), (2, (0.0, 0.0, 0.0, 0.9))]
    )
    def test_opening_counts_down_and_up(self, here, opening):
        assert self.ACCESS.opening(here) == pytest.approx(opening)

    def test_names(self):
        assert self.ACCESS.index("out") == 2
        with pytest.raises(ValueError, match="not in"):
            self.ACCESS.index("roof")


class TestHours:
    @pytest.fixture
    def base(self, tmp_path):
        facts = {
            "drive": {
                "values": {
                    "front": {"name": "f", "share": 0.5},
                    "rear": {"name": "r", "share": 0.5},
                }
            }
        }
        return make_base(
            tmp_path,
            facts=facts,
            setups={"van": {"name": "van", "facts": {"drive": ["rear"]}, "hours": {"out": 6.0}}},
        )

    def test_of_the_base(self, base):
        access = access_for(base, Case())
        assert access.down == (0.0, 0.25, 4.0, 0.5)
        assert access.up == (0.0, 0.25, 3.0, 0.5)
        assert access.drivable == (True, True, False, False)

    def test_of_the_set_up_and_the_way_up_with_them(self, base):
        access = access_for(base, Case(setup="van"))
        assert access.down[2] == 6.0
        assert access.up[2] == pytest.approx(4.5)

    def test_the_users_own_come_first(self, base):
        access = access_for(base, Case(setup="van", hours={"out": 2.0}))
        assert access.down[2] == 2.0
        assert access.up[2] == pytest.approx(1.5)


class TestExpectedCost:
    def test_a_look_and_its_repair_deeper_in(self):
        """Looked at from below, mended with the gearbox out: in and out once, if it is that."""
        access = TestWays.ACCESS
        item = Item(("check", "weep"), 0.4, 0.1, 1, 1.0, 2)
        expected = 0.3 + 0.1 + 0.4 * (4.0 + 1.0 + 3.2) + 0.6 * (7.0 + 0.2)
        assert expected_cost([item], access, 0, hand_over=7.0) == pytest.approx(expected)

    def test_nothing_to_look_for_is_handed_over(self):
        assert expected_cost([], TestWays.ACCESS, 2, hand_over=7.0) == pytest.approx(10.2)

    def test_with_the_gearbox_out_what_needs_it_whole_costs_the_way_up(self):
        road_test = look("road_test", 0.5, 0.5, 0)
        inside = expected_cost([road_test], TestWays.ACCESS, 2, hand_over=0.0)
        outside = expected_cost([road_test], TestWays.ACCESS, 0, hand_over=0.0)
        assert inside - outside == pytest.approx(3.2)
