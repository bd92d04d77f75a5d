"""What components turn on together, against going through all that each of them can do."""

from functools import reduce
from itertools import product
from operator import or_

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.subsets import (
    both,
    both_back,
    carried,
    carried_back,
    each_behind,
    each_carried_back,
    each_later,
    joined_by_twos,
    mass_by_subset,
    subsets_on,
)


@st.composite
def distributions(draw, components=(1, 5), findings=(0, 2)):
    """Any positive numbers for the subsets that each of some components turns on."""
    n, m = draw(st.integers(*components)), draw(st.integers(*findings))
    return np.random.default_rng(draw(st.integers(0, 2**32 - 1))).random((n, 1 << m))


def by_cases(every):
    """Join distributions by going through all that each component can do."""
    found = np.zeros(every.shape[1])
    for choice in product(range(every.shape[1]), repeat=len(every)):
        united = reduce(or_, choice, 0)
        found[united] += np.prod([row[state] for row, state in zip(every, choice, strict=True)])
    return found


@given(st.lists(st.lists(st.floats(0.0, 1.0), min_size=3, max_size=3), min_size=1, max_size=4))
def test_each_finding_is_turned_on_for_itself(drawn):
    chances = np.array(drawn)
    for row, found in zip(chances, subsets_on(chances), strict=True):
        expected = [
            np.prod([q if state >> place & 1 else 1.0 - q for place, q in enumerate(row)])
            for state in range(8)
        ]
        assert found == pytest.approx(expected)


@given(distributions())
def test_joined_two_by_two_equals_all_cases(every):
    assert joined_by_twos(every)[-1][0] == pytest.approx(by_cases(every))


@given(distributions(components=(3, 3)))
def test_joining_has_its_adjoint(drawn):
    one, other, message = drawn
    assert both(one, other) @ message == pytest.approx(one @ both_back(other, message))


@given(distributions())
def test_behind_each_component_is_all_that_the_others_do(every):
    message = np.random.default_rng(2).random(every.shape[1])
    behind = each_behind(joined_by_twos(every), message)
    for i, reached in enumerate(behind[: len(every)]):
        for state, value in enumerate(reached):
            only = every.copy()
            only[i] = np.eye(every.shape[1])[state]
            assert value == pytest.approx(by_cases(only) @ message)


@given(distributions())
def test_later_components_are_joined_without_the_earlier_ones(every):
    later = each_later(joined_by_twos(every))
    for i in range(len(every)):
        assert later[i] == pytest.approx(by_cases(every[i + 1 :]))


@given(distributions(), st.integers(1, 3))
def test_a_table_is_carried_as_it_is_joined(every, rows):
    table, back = np.random.default_rng(3).random((2, rows, every.shape[1]))
    on = joined_by_twos(every)[-1][0]
    for before, after in zip(table, carried(table, on), strict=True):
        assert after == pytest.approx(both(before, on))
    assert np.vdot(carried(table, on), back) == pytest.approx(
        np.vdot(table, carried_back(back, on))
    )
    assert mass_by_subset(table, back) @ on == pytest.approx(np.vdot(carried(table, on), back))
    each = each_carried_back(back, every)
    assert each == pytest.approx(np.array([carried_back(back, one) for one in every]))


def test_rare_causes_lose_no_digit():
    """Three findings, each cause turns one on with 1e-9: all three take three causes."""
    every = subsets_on(1e-9 * np.eye(3))
    assert joined_by_twos(every)[-1][0][7] == pytest.approx(1e-27, rel=1e-12)
