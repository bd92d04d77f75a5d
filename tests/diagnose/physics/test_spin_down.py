"""The coasting input shaft: the equation of motion, and two rules that must not be mixed."""

from math import inf, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics.spin_down import (
    GRIND_TEST,
    WAIT_TEST,
    angular_speed,
    drag_torque,
    drive_torque,
    grind_within_limit,
    stop_time,
)

inertias = st.floats(1e-3, 0.1)
speeds = st.floats(300.0, 1500.0)
torques = st.floats(50.0, 5000.0)


def stepped(inertia, speed, drag, drive, oil):
    """Time to standstill by small steps of the equation itself (Heun's rule)."""
    start = speed = speed * 2.0 * pi / 60.0
    time, step = 0.0, 1e-4

    def slows(w):
        return (drag - drive + oil * w / start) / 1000.0 / inertia

    while speed > 0.0:
        half = slows(speed)
        speed -= step * (half + slows(max(0.0, speed - step * half))) / 2.0
        time += step
    return time


def test_a_hand_example():
    # 0.01 kg m2 at 600 rpm is 62.83 rad/s; 0.2094 N m stops it in 3 s.
    assert angular_speed(600.0) == pytest.approx(62.83, abs=5e-3)
    assert drag_torque(0.01, 600.0, 3.0) == pytest.approx(209.4, abs=0.05)
    assert stop_time(0.01, 600.0, 209.4395) == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("drag", "drive", "oil"), [(400.0, 0.0, 0.0), (400.0, 150.0, 0.0), (400.0, 100.0, 900.0)]
)
def test_the_equation_of_motion(drag, drive, oil):
    # J dw/dt = T_drive - T_drag, stepped through
    expected = stepped(0.012, 750.0, drag, drive, oil)
    assert stop_time(0.012, 750.0, drag, drive=drive, oil=oil) == pytest.approx(expected, abs=2e-4)


@given(inertias, speeds, torques)
def test_time_and_torque_are_inverse(inertia, speed, drag):
    time = stop_time(inertia, speed, drag)
    assert drag_torque(inertia, speed, time) == pytest.approx(drag)


@given(inertias, speeds, torques, st.floats(0.0, 0.99))
def test_what_still_drives_it_is_found_again(inertia, speed, drag, share):
    time = stop_time(inertia, speed, drag, drive=share * drag)
    assert drive_torque(inertia, speed, drag, time) == pytest.approx(share * drag, abs=1e-6 * drag)


@given(inertias, speeds, torques, st.floats(1.0, 3.0))
def test_a_driven_shaft_never_stops(inertia, speed, drag, share):
    assert stop_time(inertia, speed, drag, drive=share * drag) == inf


@given(inertias, speeds, torques, st.floats(1e-6, 1e4))
def test_oil_only_shortens_it(inertia, speed, drag, oil):
    plain = stop_time(inertia, speed, drag)
    assert 0.0 < stop_time(inertia, speed, drag, oil=oil) <= plain * (1.0 + 1e-12)


def test_the_two_rules_are_kept_apart():  # R-DRAG-1, R-DRAG-2
    assert (GRIND_TEST.seconds, GRIND_TEST.source) == (3.0, "R-DRAG-1")
    assert (WAIT_TEST.seconds, WAIT_TEST.source) == (9.0, "R-DRAG-2")
    # Nine seconds of grinding are far beyond the first rule, whatever the second allows.
    assert grind_within_limit(9.0, uncertainty=0.5) < 1e-6


def test_three_seconds_are_normal():  # R-DRAG-1: at or under 3 s the clutch is cleared
    assert grind_within_limit(2.0, uncertainty=0.3) > 0.999
    assert grind_within_limit(3.0, uncertainty=0.3) == pytest.approx(0.5)
    assert grind_within_limit(4.0, uncertainty=0.3) < 1e-3


@pytest.mark.parametrize("time", [0.0, -1.0])
def test_a_time_is_above_nothing(time):
    with pytest.raises(ValueError, match="time"):
        drag_torque(0.01, 600.0, time)


def test_a_torque_is_not_negative():
    with pytest.raises(ValueError, match="drive"):
        stop_time(0.01, 600.0, 100.0, drive=-1.0)
