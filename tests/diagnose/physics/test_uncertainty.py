"""Uncertainty and decisions against the examples of JCGM 100 (GUM) and JCGM 106."""

from math import exp, inf, nan, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics.uncertainty import (
    acceptance_limit,
    combined,
    conformity,
    coverage_factor,
    effective_freedom,
    freedom_from_reliability,
    from_rectangle,
    from_resolution,
    from_triangle,
    from_u_shape,
    incomplete_beta,
    risks,
    type_a,
)

TEMPERATURES = (
    96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
    100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
)  # fmt: skip


def test_the_end_gauge():  # R-GUM-1 (annex H.1), nm
    comparator = (5.8, 3.9, 6.7)
    difference = combined(comparator)
    freedom = effective_freedom(comparator, (24, 5, 8))
    assert difference == pytest.approx(9.7, abs=0.05)
    assert freedom * (9.7 / difference) ** 4 == pytest.approx(25.6, abs=0.05)  # the guide rounds
    length = 50e6
    expansion = length * 0.1 * from_rectangle(1e-6)  # at -0.1 degrees C from the reference
    temperatures = length * 11.5e-6 * from_rectangle(0.05)
    parts = (25.0, difference, expansion, temperatures)
    assert parts == pytest.approx((25.0, 9.7, 2.9, 16.6), abs=0.08)
    total = combined(parts)
    assert total == pytest.approx(31.66, abs=0.01)
    assert round(total**2) == pytest.approx(1002, abs=1)
    effective = effective_freedom(parts, (18, freedom, 50, 2))
    assert effective == pytest.approx(16.7, abs=0.1)
    k = coverage_factor(0.99, 16)
    assert k == pytest.approx(2.92, abs=0.005)
    assert k * total == pytest.approx(92.5, abs=0.05)  # unrounded
    assert round(round(k, 2) * round(total)) == 93  # as the guide rounds


def test_repeated_temperatures():  # R-GUM-2 (4.4.3)
    found = type_a(TEMPERATURES)
    assert found.mean == pytest.approx(100.145, abs=5e-4)
    assert found.deviation == pytest.approx(1.489, abs=5e-4)
    assert found.uncertainty == pytest.approx(0.333, abs=5e-4)
    assert found.freedom == 19


def test_welch_and_satterthwaite():  # R-GUM-3 (G.4.1)
    parts, freedom = (0.25, 0.57, 0.82), (9, 4, 14)
    total, effective = combined(parts), effective_freedom(parts, freedom)
    k = coverage_factor(0.95, 19)
    assert total == pytest.approx(1.03, abs=5e-3)
    assert effective == pytest.approx(19.0, abs=0.05)
    assert k == pytest.approx(2.09, abs=5e-3)
    assert k * total == pytest.approx(2.2, abs=0.05)


def test_divisors_and_reliability():  # R-GUM-4 (4.3, G.4.2)
    assert from_rectangle(1.0) == pytest.approx(1 / sqrt(3))
    assert from_triangle(1.0) == pytest.approx(1 / sqrt(6))
    assert from_u_shape(1.0) == pytest.approx(1 / sqrt(2))
    assert from_resolution(1.0) == pytest.approx(1 / sqrt(12))
    assert [freedom_from_reliability(r) for r in (0.25, 0.1, 0.5)] == pytest.approx([8, 50, 2])


@pytest.mark.parametrize(("coverage", "k"), [(0.95, 2.12), (0.9545, 2.17), (0.99, 2.92)])
def test_coverage_factors_for_sixteen_degrees_of_freedom(coverage, k):  # R-GUM-4 (table G.2)
    assert coverage_factor(coverage, 16) == pytest.approx(k, abs=5e-3)


def test_conformity_on_two_sides():  # R-DECIDE-1 (JCGM 106, 7.4)
    assert conformity(13.6, 1.8, 12.5, 16.3) == pytest.approx(0.6626, abs=5e-5)


def gamma_of_four(x):
    """Gamma density of shape 4 and scale 1/4."""
    return 4.0**4 / 6.0 * x**3 * exp(-4.0 * x)


def test_ball_bearings():  # R-DECIDE-2 (JCGM 106, 9.5.4), micrometres
    support = (0.0, 15.0)
    plain = risks(gamma_of_four, support, 2.0, 0.25, accept_to=2.0)
    assert plain.outside == pytest.approx(0.04238, abs=5e-6)
    assert plain.consumer == pytest.approx(0.00802, abs=5e-6)
    limit = acceptance_limit(gamma_of_four, support, 2.0, 0.25, consumer_risk=0.001)
    assert limit == pytest.approx(1.6718, abs=1e-4)
    assert 2.0 - limit == pytest.approx(0.3282, abs=1e-4)
    guarded = risks(gamma_of_four, support, 2.0, 0.25, accept_to=limit)
    assert guarded.producer > plain.producer


@given(st.floats(-5.0, 5.0), st.floats(0.01, 5.0), st.floats(-5.0, 5.0))
def test_one_sided_and_two_sided_conformity_hang_together(value, u, limit):
    below, above = conformity(value, u, upper=limit), conformity(value, u, lower=limit)
    assert below + above == pytest.approx(1.0)
    assert conformity(value, u, limit - 1.0, limit) <= below
    assert conformity(limit, u, upper=limit) == 0.5


@given(st.floats(0.5, 0.999), st.floats(1.0, 200.0))
def test_few_degrees_of_freedom_cover_less(coverage, freedom):
    k = coverage_factor(coverage, freedom)
    assert k >= coverage_factor(coverage, freedom * 2.0) >= coverage_factor(coverage)


def test_closed_forms_of_the_quantile():
    assert coverage_factor(0.95) == pytest.approx(1.959964, abs=1e-6)
    assert coverage_factor(0.5, 1) == pytest.approx(1.0)  # Cauchy
    assert coverage_factor(0.9, 2) == pytest.approx(0.9 * sqrt(2 / (1 - 0.81)))


@given(st.floats(0.1, 50.0), st.floats(0.1, 50.0), st.floats(0.01, 0.99))
def test_the_incomplete_beta_function_mirrors(a, b, x):
    assert incomplete_beta(a, b, x) + incomplete_beta(b, a, 1.0 - x) == pytest.approx(1.0)
    assert incomplete_beta(a, 1.0, x) == pytest.approx(x**a)


@given(st.lists(st.floats(0.0, 100.0), min_size=1, max_size=5))
def test_combining_never_gives_less_than_the_largest_part(parts):
    total = combined(parts)
    assert max(parts) <= total * (1 + 1e-12) <= sum(parts) * (1 + 2e-12)
    assert effective_freedom(parts, [inf] * len(parts)) == inf


def test_values_out_of_range_are_refused():
    with pytest.raises(ValueError, match="2 readings"):
        type_a([1.0])
    with pytest.raises(ValueError, match="coverage"):
        coverage_factor(1.0)
    with pytest.raises(ValueError, match="freedom"):
        coverage_factor(0.95, 0.0)
    with pytest.raises(ValueError, match="as many"):
        effective_freedom([1.0, 2.0], [3.0])
    with pytest.raises(ValueError, match="above 0"):
        effective_freedom([1.0], [0.0])
    with pytest.raises(ValueError, match="uncertainty"):
        conformity(1.0, 0.0, upper=2.0)
    with pytest.raises(ValueError, match="not below"):
        conformity(1.0, 0.1, 3.0, 2.0)
    with pytest.raises(ValueError, match="inside"):
        risks(gamma_of_four, (0.0, 1.0), 2.0, 0.25, 2.0)
    with pytest.raises(ValueError, match="half_width"):
        from_rectangle(-1.0)
    with pytest.raises(ValueError, match="x lies"):
        incomplete_beta(1.0, 1.0, nan)
