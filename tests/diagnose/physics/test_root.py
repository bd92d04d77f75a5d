"""The first zero along a walk, for many functions at once."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics.root import first_zero


def walk(low, high, steps=8):
    return np.linspace(low, high, steps + 1)


@given(st.lists(st.floats(0.001, 9.999), min_size=1, max_size=6))
def test_rising_functions_are_solved_together(zeros):
    at = np.array(zeros)
    found = first_zero(lambda x: np.expm1(x - at), walk(np.zeros_like(at), np.full_like(at, 10.0)))
    assert found == pytest.approx(at, abs=1e-10)


@given(st.floats(0.1, 5.0), st.floats(0.05, 40.0))
def test_a_kink_and_a_steep_rise_are_solved(at, slope):
    def bent(x):
        return np.where(x < at, (x - at) * 1e-3, (x - at) * slope)

    found = first_zero(bent, walk(np.zeros(1), np.full(1, 6.0)))
    assert found == pytest.approx(at, abs=1e-9)


def test_the_first_of_three_zeros_is_taken():
    found = first_zero(
        lambda x: (x - 1.0) * (x - 2.5) * (x - 4.0), walk(np.zeros(1), np.full(1, 6.0))
    )
    assert found == pytest.approx(1.0)


def test_ends_are_given_where_the_sign_does_not_turn():
    offset = np.array([1.0, -1.0, 0.0])
    found = first_zero(lambda x: 0.0 * x + offset, walk(np.zeros(3), np.full(3, 2.0)))
    assert found.tolist() == [0.0, 2.0, 0.0]


def test_a_walk_of_no_length_stays_where_it_is():
    found = first_zero(lambda x: x - 5.0, walk(np.full(1, 3.0), np.full(1, 3.0)))
    assert found.tolist() == [3.0]
