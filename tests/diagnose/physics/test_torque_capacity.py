"""Torque capacity against textbook examples (Bhandari; Shigley)."""

from math import inf, nan, pi, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics.torque_capacity import (
    allowable_wear,
    friction_faces,
    pressure_clamp_load,
    pressure_radius,
    slip_margin,
    torque_capacity,
    wear_clamp_load,
    wear_radius,
)

inner_over_outer = st.floats(0.0, 0.99)


def kilowatts(torque, speed):
    return torque * 2 * pi * speed / 60 / 1e6


def test_a_single_face_by_uniform_wear():  # R-TORQUE-2 (Bhandari 11.1)
    clamp = wear_clamp_load(1.0, 200.0, 100.0)
    torque = torque_capacity(1, 0.2, clamp, wear_radius(200.0, 100.0))
    assert clamp == pytest.approx(15707.963, abs=1e-3)
    assert torque == pytest.approx(235619.449, abs=1e-3)
    assert kilowatts(torque, 750) == pytest.approx(18.5055, abs=1e-4)


def test_the_same_face_by_uniform_pressure():  # R-TORQUE-3 (Bhandari 11.2)
    clamp = pressure_clamp_load(1.0, 200.0, 100.0)
    torque = torque_capacity(1, 0.2, clamp, pressure_radius(200.0, 100.0))
    assert clamp == pytest.approx(23561.945, abs=1e-3)
    assert torque == pytest.approx(366519.143, abs=1e-3)
    assert kilowatts(torque, 750) == pytest.approx(28.7863, abs=1e-4)


def test_many_plates_by_uniform_wear():  # R-TORQUE-4 (Bhandari 11.8)
    faces = friction_faces(5, 4)
    clamp = wear_clamp_load(0.3, 150.0, 75.0)
    torque = torque_capacity(faces, 0.1, clamp, wear_radius(150.0, 75.0))
    assert faces == 8
    assert clamp == pytest.approx(2650.719, abs=1e-3)
    assert torque == pytest.approx(119282.346, abs=1e-3)
    assert kilowatts(torque, 750) == pytest.approx(9.3684, abs=1e-4)


def test_a_spring_clamped_disc_new_bedded_and_worn():  # R-TORQUE-5 (Bhandari 11.6)
    engine, clamp, rate = 250e3, 9 * 800.0, 9 * 160.0
    new = torque_capacity(2, 0.35, clamp, pressure_radius(250.0, 175.0))
    bedded_radius = wear_radius(250.0, 175.0)
    bedded = torque_capacity(2, 0.35, clamp, bedded_radius)
    needed = engine / torque_capacity(2, 0.35, 1.0, bedded_radius)
    assert slip_margin(new, engine) == pytest.approx(2.164235, abs=1e-6)
    assert slip_margin(bedded, engine) == pytest.approx(2.142000, abs=1e-6)
    assert allowable_wear(clamp, needed, rate) == pytest.approx(2.665733, abs=1e-6)


@pytest.mark.parametrize(
    ("inner", "by_pressure", "by_wear"), [(180.0, 95.088, 95.0), (50.0, 70.0, 62.5)]
)
def test_effective_radii(inner, by_pressure, by_wear):  # R-TORQUE-6
    assert pressure_radius(200.0, inner) == pytest.approx(by_pressure, abs=5e-4)
    assert wear_radius(200.0, inner) == pytest.approx(by_wear)


def test_both_models_at_the_same_clamp_load():  # R-TORQUE-7
    clamp = wear_clamp_load(0.7, 300.0, 130.0)
    by_wear = torque_capacity(2, 0.2, clamp, wear_radius(300.0, 130.0))
    by_pressure = torque_capacity(2, 0.2, clamp, pressure_radius(300.0, 130.0))
    assert clamp == pytest.approx(24300.2, abs=0.05)
    assert by_wear == pytest.approx(1044.91e3, abs=5)
    assert by_pressure == pytest.approx(1099.35e3, abs=5)


def test_seven_steel_and_six_friction_plates():  # R-TORQUE-8
    clamp = wear_clamp_load(0.1, 200.0, 130.0)
    torque = torque_capacity(friction_faces(7, 6), 0.28, clamp, wear_radius(200.0, 130.0))
    assert clamp == pytest.approx(1429.42, abs=5e-3)
    assert torque == pytest.approx(396.2e3, abs=50)


def test_the_best_inner_diameter():  # R-TORQUE-9 (Shigley 16-19)
    def torque(ratio):
        clamp = wear_clamp_load(1.0, 200.0, 200.0 * ratio)
        return torque_capacity(2, 0.3, clamp, wear_radius(200.0, 200.0 * ratio))

    best = 1 / sqrt(3)
    assert best == pytest.approx(0.577, abs=5e-4)
    assert all(torque(best) > torque(best + step) for step in (-0.02, -1e-4, 1e-4, 0.02))


@given(st.floats(1.0, 1000.0), inner_over_outer)
def test_wear_never_gives_the_larger_radius(outer, share):  # R-TORQUE-1
    inner = outer * share
    assert inner / 2 <= wear_radius(outer, inner) <= pressure_radius(outer, inner) * (1 + 1e-15)
    assert pressure_radius(outer, inner) <= outer / 2


@given(st.floats(100.0, 500.0))
def test_a_thin_ring_makes_both_radii_equal(outer):  # R-TORQUE-1
    inner = outer * (1 - 1e-7)
    assert wear_radius(outer, inner) == pytest.approx(pressure_radius(outer, inner), rel=1e-13)


@given(st.floats(0.0, 1.0), st.floats(0.0, 5e4), st.floats(1.0, 300.0), st.integers(1, 20))
def test_capacity_is_in_proportion_to_every_factor(friction, clamp, radius, faces):
    once = torque_capacity(1, friction, clamp, radius)
    assert torque_capacity(faces, friction, clamp, radius) == pytest.approx(faces * once)
    assert torque_capacity(1, friction, 2 * clamp, radius) == pytest.approx(2 * once)


@pytest.mark.parametrize(
    ("outer", "inner"), [(100.0, 100.0), (100.0, 120.0), (0.0, 0.0), (nan, 1.0), (inf, 1.0)]
)
def test_diameters_that_make_no_ring_are_refused(outer, inner):
    for formula in (wear_radius, pressure_radius):
        with pytest.raises(ValueError, match="outer"):
            formula(outer, inner)


def test_values_out_of_range_are_refused_by_name():
    with pytest.raises(ValueError, match="friction"):
        torque_capacity(2, -0.3, 5000.0, 100.0)
    with pytest.raises(ValueError, match="face"):
        torque_capacity(0, 0.3, 5000.0, 100.0)
    with pytest.raises(ValueError, match="engine_torque"):
        slip_margin(1e5, 0.0)
    with pytest.raises(ValueError, match="rate"):
        allowable_wear(5000.0, 4000.0, 0.0)
    with pytest.raises(ValueError, match="plate"):
        friction_faces(1, 0)
    with pytest.raises(ValueError, match="pressure"):
        pressure_clamp_load(-1.0, 200.0, 100.0)
