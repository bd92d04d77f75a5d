"""Normal probabilities against closed forms and a one-factor integral."""

from math import asin, inf, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

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
    assert found == pytest.approx(0.25 + asin(r) / (2 * pi), abs=1e-8)


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


def test_nothing_to_hold_is_sure_and_too_much_is_refused():
    assert box_probability(
        np.zeros((2, 0)), np.zeros((2, 0, 0)), np.zeros(0), np.zeros(0)
    ).tolist() == [1, 1]
    with pytest.raises(ValueError, match="5 readings"):
        box_probability(np.zeros((1, 5)), np.eye(5)[np.newaxis], np.zeros(5), np.ones(5))
