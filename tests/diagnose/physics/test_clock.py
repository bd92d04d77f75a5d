"""Clock positions."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics.clock import ClockError, clock_angle, clock_words


@pytest.mark.parametrize(
    ("text", "angle"),
    [
        ("12", 0),
        ("3", 90),
        ("6 o'clock", 180),
        ("9", 270),
        ("1:30", 45),
        ("12:30", 15),
        ("45 deg", 45),
    ],
)
def test_positions(text, angle):
    assert clock_angle(text) == angle


@pytest.mark.parametrize("text", ["", "13", "0", "3:60", "45", "north", "400 deg", "-3"])
def test_no_positions(text):
    with pytest.raises(ClockError):
        clock_angle(text)


@given(st.integers(0, 23))
def test_words_are_read_back(half):
    assert clock_angle(clock_words(half * 15.0)) == half * 15.0


@pytest.mark.parametrize(
    ("angle", "words"), [(359.0, "12 o'clock"), (0.0, "12 o'clock"), (134.0, "4:30 o'clock")]
)
def test_nearest_half_hour(angle, words):
    assert clock_words(angle) == words
