"""Normal probabilities against closed forms and a one-factor integral."""

from math import asin, erfc, inf, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics import normal
from diagnose.physics.normal import MAX_BOX, box_probability, cdf, log_density, probability_between


def equally_correlated(m, r):
    covariance = np.full((1, m, m), r)
    covariance[0, range(m), range(m)] = 1.0
    return covariance


def test_known_values():
    assert cdf(0.0) == 0.5
    assert cdf(1.959964) == pytest.approx(0.975, abs=1e-7)
    assert cdf(-8.0) == pytest.approx(6.220960574271786e-16, rel=1e-9)
    assert probability_between(-1.0, 1.0) == pytest.approx(0.6826894921, abs=1e-10)


@given(st.floats(-26.0, 26.0) | st.floats(-1e-3, 1e-3))
def test_the_error_function_is_that_of_the_standard_library(x):
    assert normal.erfc(x) == pytest.approx(erfc(x), rel=2e-15, abs=1e-300)


def test_the_ends_of_the_error_function():
    x = np.array([-inf, -40.0, 0.0, 40.0, inf, 0.46875, 4.0, -0.46875, -4.0])
    assert normal.erfc(x) == pytest.approx([erfc(v) for v in x], rel=2e-15, abs=0.0)
    assert normal.erfc(np.empty((0, 3))).shape == (0, 3)


@given(st.floats(-30.0, 30.0), st.floats(0.01, 10.0))
def test_intervals_lose_no_digits_in_either_tail(low, width):
    right, left = probability_between(low, low + width), probability_between(-low - width, -low)
    assert right == pytest.approx(left, rel=1e-9, abs=0.0)
    assert np.all(right >= 0.0)


@given(st.floats(-0.99, 0.99))
def test_the_quadrant_of_two_variables(r):
    """Sheppard (1899): 1/4 + asin(r) / 2 pi."""
    found = box_probability(
        np.zeros((1, 2)), equally_correlated(2, r), np.full(2, -inf), np.zeros(2)
    )
    assert found == pytest.approx(0.25 + asin(r) / (2 * pi), abs=1e-14)


@given(
    st.floats(-0.99, 0.99),
    st.lists(st.floats(-4.0, 4.0), min_size=4, max_size=4),
    st.lists(st.booleans(), min_size=4, max_size=4),
)
def test_any_box_of_two_variables(r, edges, ends_open):
    """Against the integral over the first one, in 2000 panels of 8 nodes."""
    low, high = np.sort(np.reshape(edges, (2, 2)), axis=0)
    low = np.where(ends_open[:2], -inf, low)
    high = np.where(ends_open[2:], inf, high)
    ends = np.linspace(max(low[0], -9.0), min(high[0], 9.0), 2001)
    nodes, weights = np.polynomial.legendre.leggauss(8)
    half = np.diff(ends)[:, np.newaxis] / 2.0
    z = ends[:-1, np.newaxis] + half * (nodes + 1.0)
    rest = np.sqrt(1.0 - r * r)
    given_z = probability_between((low[1] - r * z) / rest, (high[1] - r * z) / rest)
    expected = (half * weights * np.exp(log_density(z)) * given_z).sum()
    found = box_probability(np.zeros((1, 2)), equally_correlated(2, r), low, high)
    assert found == pytest.approx(expected, abs=1e-10)


@given(st.floats(-0.45, 0.98))
def test_the_octant_of_three_variables(r):
    found = box_probability(
        np.zeros((1, 3)), equally_correlated(3, r), np.full(3, -inf), np.zeros(3)
    )
    assert found == pytest.approx(0.125 + 3 * asin(r) / (4 * pi), abs=1e-5)


@given(st.integers(1, MAX_BOX), st.floats(0.0, 0.95), st.integers(0, 10**6))
def test_boxes_against_the_integral_over_their_common_factor(m, r, seed):
    rng = np.random.default_rng(seed)
    low = np.where(rng.random(m) < 0.3, -inf, rng.normal(-1.0, 1.0, m))
    high = np.where(rng.random(m) < 0.3, inf, np.maximum(low, -3.0) + rng.uniform(0.1, 3.0, m))
    common = np.linspace(-9.0, 9.0, 4001)
    inside = np.exp(log_density(common))
    for a, b in zip(low, high, strict=True):
        shift, rest = np.sqrt(r) * common, np.sqrt(1.0 - r)
        inside = inside * probability_between((a - shift) / rest, (b - shift) / rest)
    found = box_probability(np.zeros((1, m)), equally_correlated(m, r), low, high)
    assert found == pytest.approx(np.trapezoid(inside, common), abs=1e-4)


def test_many_cases_at_once_are_each_case_alone():
    rng = np.random.default_rng(3)
    mean, root = rng.normal(size=(5, 3)), rng.normal(size=(5, 3, 3))
    covariance = root @ root.transpose(0, 2, 1) + np.eye(3)
    low, high = np.array([-1.0, -inf, 0.0]), np.array([1.0, 0.5, inf])
    together = box_probability(mean, covariance, low, high)
    alone = [
        box_probability(mean[h : h + 1], covariance[h : h + 1], low, high)[0] for h in range(5)
    ]
    assert together == pytest.approx(alone)


@pytest.mark.parametrize("m", [2, 3, 4])
def test_what_is_as_good_as_impossible_is_told_by_its_bound(m):
    low, high = np.full(m, 9.0), np.full(m, inf)
    found = box_probability(np.zeros((1, m)), equally_correlated(m, 0.5), low, high)
    assert found == probability_between(9.0, inf)
    likely = box_probability(np.full((1, m), 9.0), equally_correlated(m, 0.5), low, high)
    assert likely[0] > 0.19  # seen from there nothing is impossible about it


def test_variables_that_are_one_and_the_same():
    for r, expected in ((1.0, 0.5), (-1.0, 0.0)):
        covariance = equally_correlated(2, r) * 4.0
        found = box_probability(np.zeros((1, 2)), covariance, np.full(2, -inf), np.zeros(2))
        assert found == pytest.approx(expected, abs=1e-12)


def test_nothing_to_hold_is_sure_and_too_much_is_refused():
    assert box_probability(
        np.zeros((2, 0)), np.zeros((2, 0, 0)), np.zeros(0), np.zeros(0)
    ).tolist() == [1, 1]
    with pytest.raises(ValueError, match="5 readings"):
        box_probability(np.zeros((1, 5)), np.eye(5)[np.newaxis], np.zeros(5), np.ones(5))
