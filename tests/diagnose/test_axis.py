"""An axis for readings: how far it reaches, and the round values on it."""

from itertools import pairwise
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.axis import reach, ticks

ANYTHING = (-inf, inf)


class TestReach:
    """By hand: what has to be shown is 10 wide, so a limit is near within 15 of it."""

    def test_it_holds_what_is_shown_with_room_beyond(self):
        assert reach([20.0, 10.0], [], within=ANYTHING, pad=0.1) == (9.0, 21.0)

    def test_a_near_limit_widens_it_and_a_far_one_does_not(self):
        ends = reach([10.0, 20.0], [35.0, 35.1, -5.1], within=ANYTHING, pad=0.0)
        assert ends == (10.0, 35.0)

    def test_what_is_shown_besides_widens_it_but_not_what_is_near(self):
        ends = reach([10.0, 20.0], [60.0], within=ANYTHING, pad=0.0, besides=[50.0])
        assert ends == (10.0, 50.0)

    def test_it_does_not_go_beyond_what_can_be_read(self):
        assert reach([0.0, 10.0], [], within=(0.0, 10.2), pad=0.1) == (0.0, 10.2)

    @pytest.mark.parametrize(("value", "ends"), [(50.0, (45.0, 55.0)), (0.0, (-1.0, 1.0))])
    def test_one_value_alone_has_room_on_either_side(self, value, ends):
        assert reach([value], [], within=ANYTHING, pad=0.0) == ends


class TestTicks:
    @pytest.mark.parametrize("unit", ["in", "mm", "s"])
    @given(low=st.floats(-50, 50), span=st.floats(0.002, 500))
    def test_few_even_and_inside(self, unit, low, span):
        found = [value for value, _ in ticks(low, low + span, unit)]
        assert 1 <= len(found) <= 9
        assert all(low - 1e-6 <= v <= low + span + 1e-6 for v in found)
        steps = [b - a for a, b in pairwise(found)]
        assert all(step == pytest.approx(steps[0]) for step in steps)

    def test_inches_are_parted_as_on_a_tape(self):
        assert [words for _, words in ticks(0.4, 2.1, "in")] == [
            "1/2", "3/4", "1", "1 1/4", "1 1/2", "1 3/4", "2"
        ]  # fmt: skip

    def test_small_inches_and_millimetres_have_decimals(self):
        assert [w for _, w in ticks(0.0, 0.0302, "in")][:3] == ["0", "0.005", "0.010"]
        assert [w for _, w in ticks(0.0, 3.6, "mm")][:3] == ["0", "0.5", "1.0"]

    def test_other_units_are_not_parted_so(self):
        assert [w for _, w in ticks(-1.0, 1.0, "mm")] == ["-1.0", "-0.5", "0", "0.5", "1.0"]


@pytest.mark.parametrize(
    ("low", "high", "unit"),
    [(0.4, 2.6, "in"), (0.0, 0.03, "in"), (0.0, 0.7, "mm"), (-3.0, 250.0, "N"), (1e-4, 2e-4, "V")],
)
def test_ticks_are_round_few_and_within_the_axis(low, high, unit):
    found = ticks(low, high, unit, most=7)
    assert 2 <= len(found) <= 9
    assert all(low - 1e-9 <= value <= high + 1e-9 for value, _ in found)
    assert len({words for _, words in found}) == len(found)
