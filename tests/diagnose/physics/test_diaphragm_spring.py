"""The diaphragm spring against Almen and Laszlo, DIN 2093 and a textbook design."""

from math import inf, nan, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics.diaphragm_spring import (
    FALLING_ABOVE,
    SNAPPING_ABOVE,
    DiscSpring,
    curve,
    load,
    peak_and_valley,
    relative_load,
    relative_load_terms,
    shape_factor,
    sized_for,
    textbook_load,
    textbook_shape_factor,
)


@pytest.fixture
def designed():
    """The spring of the textbook's design example: 4500 N when flat, 1375 MPa."""
    return sized_for(4500.0, 1375.0, 1.75, 1.5, modulus=207_000.0)


def test_the_shape_factors():  # R-SPRING-1
    assert textbook_shape_factor(1.75) == pytest.approx(0.6268, abs=5e-5)
    assert shape_factor(1.75) == pytest.approx(0.6301, abs=5e-5)


def test_the_design_example(designed):  # R-SPRING-2 (Bhandari 10.26)
    assert textbook_shape_factor(1.75) == pytest.approx(0.62684, abs=5e-6)
    assert designed.thickness == pytest.approx(2.652980, abs=1e-6)
    assert designed.height == pytest.approx(3.979470, abs=1e-6)
    assert designed.outer == pytest.approx(154.818478, abs=1e-5)
    assert designed.inner == pytest.approx(88.467702, abs=1e-5)


@pytest.mark.parametrize(
    ("share", "newtons"), [(0.25, 2786.1), (0.5, 4148.4), (0.75, 4561.5), (1.0, 4500.0)]
)
def test_the_curve_of_that_spring(designed, share, newtons):  # R-SPRING-2
    assert textbook_load(designed, share * designed.height) == pytest.approx(newtons, abs=0.06)


def test_the_peak_and_valley_of_that_spring(designed):  # R-SPRING-2
    peak, valley = peak_and_valley(designed.height, 1.5)
    assert peak / designed.height == pytest.approx(0.8075, abs=1e-4)
    assert valley / designed.height == pytest.approx(1.1925, abs=1e-4)
    assert textbook_load(designed, peak) == pytest.approx(4572.2, abs=0.05)
    assert textbook_load(designed, valley) == pytest.approx(4427.8, abs=0.05)


@pytest.mark.parametrize(
    ("outer", "inner", "thickness", "height", "table", "computed"),
    [
        (8, 4.2, 0.4, 0.20, 210, 209.6),
        (10, 5.2, 0.5, 0.25, 329, 325.4),
        (12.5, 6.2, 0.7, 0.30, 673, 659.6),
        (16, 8.2, 0.9, 0.35, 1000, 1012.9),
        (20, 10.2, 1.1, 0.45, 1530, 1520.8),
        (25, 12.2, 1.5, 0.55, 2910, 2926.0),
        (31.5, 16.3, 1.75, 0.70, 3900, 3871.2),
    ],
)
def test_catalogue_springs(outer, inner, thickness, height, table, computed):
    """R-SPRING-3: DIN 2093 series A at three quarters of the height."""
    force = load(DiscSpring(outer, inner, thickness, height), 0.75 * height)
    assert force == pytest.approx(computed, abs=0.06)
    assert force == pytest.approx(table, rel=0.021)


def test_the_shape_thresholds():  # R-SPRING-4
    share = np.linspace(0.001, 2.0, 4001)
    assert np.all(np.diff(relative_load(share, FALLING_ABOVE - 0.01)) > 0)
    assert np.any(np.diff(relative_load(share, FALLING_ABOVE + 0.01)) < 0)
    assert np.all(relative_load(share, SNAPPING_ABOVE - 0.01) > 0)
    assert np.any(relative_load(share, SNAPPING_ABOVE + 0.01) < 0)
    assert pytest.approx((1.41421356, 2.82842712)) == (FALLING_ABOVE, SNAPPING_ABOVE)
    assert peak_and_valley(4.0, FALLING_ABOVE - 0.01) is None
    assert peak_and_valley(4.0, sqrt(2)) == pytest.approx((4.0, 4.0), abs=1e-6)


springs = st.builds(
    lambda inner, ratio, thickness, cone: DiscSpring(
        inner * ratio, inner, thickness, cone * thickness
    ),
    st.floats(20.0, 200.0),
    st.floats(1.15, 2.0),
    st.floats(0.5, 4.0),
    st.floats(0.1, 2.7),
)


@given(springs, st.floats(0.05, 2.0))
def test_both_forms_agree(spring, share):  # R-SPRING-1: within 1 %, up to a ratio of 2
    deflection = share * spring.height
    ratio = textbook_load(spring, deflection) / load(spring, deflection)
    assert ratio == pytest.approx(1.0, abs=0.01)


@given(springs, st.floats(0.0, 2.0))
def test_the_relative_curve_is_the_whole_curve(spring, share):
    flat = load(spring, spring.height)
    relative = relative_load(share, spring.height / spring.thickness)
    assert load(spring, share * spring.height) == pytest.approx(relative * flat, rel=1e-9, abs=1e-6)


@given(st.floats(0.0, 3.0), st.floats(0.0, 4.0))
def test_the_curve_is_symmetric_about_flat(share, height_ratio):
    other = relative_load(2.0 - share, height_ratio)
    assert relative_load(share, height_ratio) + other == pytest.approx(2.0, abs=1e-9)


@given(st.floats(FALLING_ABOVE + 0.01, 4.0))
def test_peak_and_valley_are_the_extremes_around_flat(height_ratio):
    peak, valley = peak_and_valley(1.0, height_ratio)
    share = np.linspace(peak, valley, 401)
    loads = relative_load(share, height_ratio)
    assert np.all(np.diff(loads) < 0)
    for turn in (peak, valley):
        beside = relative_load(np.array([turn - 1e-4, turn + 1e-4]), height_ratio)
        between = relative_load(turn, height_ratio)
        assert np.all(beside < between) if turn == peak else np.all(beside > between)


def test_a_curve_to_draw():
    spring = DiscSpring(150.0, 90.0, 2.5, 4.0)
    deflection, force = curve(spring, count=5, to=1.0)
    assert deflection == pytest.approx([0, 1, 2, 3, 4])
    assert force == pytest.approx([load(spring, s) for s in deflection])


@pytest.mark.parametrize(
    "values",
    [
        (90.0, 150.0, 2.5, 4.0),
        (150.0, 0.0, 2.5, 4.0),
        (150.0, 90.0, 0.0, 4.0),
        (150.0, 90.0, 2.5, nan),
        (inf, 90.0, 2.5, 4.0),
    ],
)
def test_springs_that_cannot_be_are_refused(values):
    with pytest.raises(ValueError, match="must be finite"):
        DiscSpring(*values)


def test_other_values_out_of_range_are_refused():
    with pytest.raises(ValueError, match="Poisson"):
        DiscSpring(150.0, 90.0, 2.5, 4.0, poisson=0.7)
    with pytest.raises(ValueError, match="larger"):
        shape_factor(1.0)
    with pytest.raises(ValueError, match="larger"):
        textbook_shape_factor(0.8)
    with pytest.raises(ValueError, match="height_ratio"):
        peak_and_valley(4.0, 0.0)


@given(st.floats(0.0, 1.6), st.floats(-0.3, 1.0), st.floats(0.0, 2.8))
def test_the_terms_of_a_further_deflection_make_up_the_load(start, further, height_ratio):
    terms = relative_load_terms(np.array(start), np.array(height_ratio))
    cubic = sum(term * further**power for power, term in enumerate(terms))
    assert cubic == pytest.approx(relative_load(start + further, height_ratio), abs=1e-12)
