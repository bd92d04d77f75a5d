"""Clock positions: "12", "4:30", "45 deg" to degrees clockwise from 12 o'clock, and back."""

import re

from diagnose.errors import PullOnceError

_HOURS = re.compile(r"(\d{1,2})(?::(\d{2}))?\s*(?:o'?clock)?")
_DEGREES = re.compile(r"(\d{1,3}(?:\.\d+)?)\s*(?:deg|degrees|°)")


class ClockError(PullOnceError):
    """A text that is no clock position."""


def clock_angle(text: str) -> float:
    """Angle of a clock position.

    Parameters
    ----------
    text : str
        Hours from 1 to 12 ("3", "4:30"), or degrees with their sign ("45 deg").

    Returns
    -------
    float
        Degrees clockwise from 12 o'clock, 0 to below 360.

    Raises
    ------
    ClockError
        If it is neither.

    Examples
    --------
    >>> clock_angle("4:30")
    135.0
    """
    plain = text.strip().casefold()
    turned = _DEGREES.fullmatch(plain)
    if turned and float(turned[1]) <= 360.0:
        return float(turned[1]) % 360.0
    hours = _HOURS.fullmatch(plain)
    if hours and 1 <= int(hours[1]) <= 12 and int(hours[2] or 0) < 60:
        return (int(hours[1]) + int(hours[2] or 0) / 60.0) % 12.0 * 30.0
    raise ClockError(f"{text!r} is no clock position.", "Write it like 3, 4:30 or 45 deg.")


def clock_words(angle: float) -> str:
    """Clock position of an angle in degrees, to the nearest half hour ("4:30 o'clock")."""
    halves = round(angle / 15.0) % 24
    hour = halves // 2 or 12
    return f"{hour}:30 o'clock" if halves % 2 else f"{hour} o'clock"
