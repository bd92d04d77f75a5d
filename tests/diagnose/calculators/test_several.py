"""Several values in one line, as people type them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculators.several import several
from diagnose.physics.clock import clock_angle
from knowledge.quantity import parse_quantity


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("0 3 -2 3", ("0", "3", "-2", "3")),
        ("0 3 -2 3 thou", ("0 thou", "3 thou", "-2 thou", "3 thou")),
        ("0, 3, -2, 3 thou", ("0 thou", "3 thou", "-2 thou", "3 thou")),
        ("0,05; 0,1", ("0,05", "0,1")),
        ("0 mm 3 thou", ("0 mm", "3 thou")),
        ("1 in 1 1/2 in", ("1 in", "1 1/2 in")),
        ("1 to 1 1/2 in", ("1 in", "1 1/2 in")),
        ('1 and 1-3/8"', ('1 "', '1-3/8"')),
        ("1 - 3/8 in", ("1 - 3/8 in",)),
        ("3/8 5/8", ("3/8", "5/8")),
        ("−2 .5 +1", ("−2", ".5", "+1")),
        ("12 1:30 3", ("12", "1:30", "3")),
        ("12 o'clock 3 o'clock", ("12 o'clock", "3 o'clock")),
        ("0 90 180 270 deg", ("0 deg", "90 deg", "180 deg", "270 deg")),
        ("25.4 to 38.1 mm", ("25.4 mm", "38.1 mm")),
        ("push", ("push",)),
        ("", ()),
        (" ; ", ()),
    ],
)
def test_as_people_type_them(text, values):
    assert several(text) == values


def test_they_can_be_read():
    found = [parse_quantity(text).value for text in several("1 to 1 1/2 in")]
    assert found == pytest.approx([25.4, 38.1])
    assert [clock_angle(text) for text in several("12 1:30 3")] == [0.0, 45.0, 90.0]
    assert [clock_angle(text) for text in several("0 45 90 deg")] == [0.0, 45.0, 90.0]


@given(
    st.lists(st.integers(-500, 500).map(lambda n: n / 100), min_size=1, max_size=12),
    st.sampled_from([" ", "; ", ", ", "  "]),
    st.sampled_from(["", " mm", " thou", "in"]),
)
def test_as_many_come_out_as_went_in(numbers, between, unit):
    texts = several(between.join(f"{number:g}" for number in numbers) + unit)
    expected = [parse_quantity(f"{number:g}{unit}").value for number in numbers]
    assert [parse_quantity(text).value for text in texts] == pytest.approx(expected)
