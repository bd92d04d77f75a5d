"""Dial readings round a bore, a shaft or a face: T.I.R., offset, ovality and tilt.

Clock positions are told looking from the gearbox at the engine, in degrees clockwise from 12
o'clock. Plus is the plunger pushed in. Over one turn an offset shows once (first harmonic) and an
oval twice (second harmonic), so the offset follows from all readings together and not from the
two extremes alone.

The dial of a `bore` points outward and reads less where the bore lies farther away; that of a
`shaft` points inward and reads more where the shaft stands out; that of a `face` reads more where
the face stands toward it. A dial that the crankshaft carries round hangs on a bracket that sags,
and on a shaft that lies low in its bearings by half their clearance: both make the part look too
high. Neither touches the horizontal pair or a face (R-TIR-5).

References
----------
Highest less lowest reading, closing on zero: TM 5-3810-305-23, TM 9-2815-202-34 (R-TIR-1, R-TIR-2).
Crank lift: R-TIR-3, TM 5-3825-226-24 (R-TIR-4). Offset is half of the reading, bracket sag:
TM 10-4320-307-24 (R-TIR-5). The other convention: TM 5-3895-369-14 (R-TIR-6).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import atan2, degrees, hypot, isfinite, sqrt
from typing import Literal, NamedTuple

import numpy as np

from diagnose.errors import PullOnceError
from diagnose.physics.domain import Floats, require_not_negative, require_positive

Surface = Literal["bore", "shaft", "face"]
Convention = Literal["max_min", "totals"]

_MOST = 5.0  # mm; no housing or flywheel that went together is that far out (judgement)
_WIDEST_GAP = 120.0  # degrees between neighbouring positions; less is no turn (judgement)
_LEAST_GAP = 2.0
_WORST_CONDITION = 10.0  # of the fit; evenly spaced positions have 1.4

# Sign with which an offset of the part enters the reading.
_SIGN: dict[Surface, float] = {"bore": -1.0, "shaft": 1.0, "face": 1.0}


class RunoutError(PullOnceError):
    """A set of dial readings that can't be used."""


@dataclass(frozen=True)
class DialSet:
    """One turn of a dial.

    Attributes
    ----------
    angles : tuple of float
        Degrees clockwise from 12 o'clock, N of them, all round the turn; N is at least 4.
    readings : tuple of float
        mm, plus with the plunger in.
    surface : Surface
    closing : float or None
        Reading back at the first position, mm; None if it was not taken.
    graduation : float
        One division of the dial, mm.
    sag_reading : float
        What the same dial and bracket read at the bottom of a straight pipe when zeroed at its
        top, mm; 0 or less.
    crank_lift : float
        Movement of a dial on the crankshaft when that is lifted in its bearings, mm, at least 0.

    Raises
    ------
    RunoutError
        If the set does not close on its zero, does not go round, or can't be right.
    """

    angles: tuple[float, ...]
    readings: tuple[float, ...]
    surface: Surface = "bore"
    closing: float | None = None
    graduation: float = 0.01
    sag_reading: float = 0.0
    crank_lift: float = 0.0

    def __post_init__(self) -> None:
        require_positive(graduation=self.graduation)
        require_not_negative(crank_lift=self.crank_lift)
        self._check_positions()
        self._check_readings()
        self._check_closing()
        if not (isfinite(self.sag_reading) and self.sag_reading <= 0.0):
            raise RunoutError(
                f"A bracket hangs down, so on a pipe the dial reads minus at the bottom, "
                f"not {self.sag_reading:+g} mm.",
                "Zero it at the top, swing it to the bottom, and give that reading with its sign.",
            )

    def _check_positions(self) -> None:
        n = len(self.angles)
        if n < 4 or n != len(self.readings):
            raise RunoutError(
                f"There are {n} clock positions and {len(self.readings)} readings.",
                "Take one reading at each of 4 or more positions.",
            )
        if not all(isfinite(a) for a in self.angles):
            raise RunoutError("A clock position is no number.")
        turn = np.sort(np.mod(self.angles, 360.0))
        gaps = np.diff(np.append(turn, turn[0] + 360.0))
        if gaps.max() > _WIDEST_GAP + 1e-9:
            raise RunoutError(
                f"The positions leave {gaps.max():.0f} degrees of the turn unread.",
                "Read all the way round, best evenly spaced.",
            )
        if gaps.min() < _LEAST_GAP:
            raise RunoutError(
                "One position was read twice.",
                "Give the second reading at the first position as the closing reading.",
            )

    def _check_readings(self) -> None:
        for reading in (*self.readings, *(() if self.closing is None else (self.closing,))):
            if not abs(reading) <= _MOST:
                raise RunoutError(
                    f"A dial reading of {reading:g} mm can hardly be right here.",
                    "Check the unit (thou, mm), or the dial ran off its travel.",
                )

    def _check_closing(self) -> None:
        # Read to a graduation, the same reading comes again exactly or the dial has moved.
        if self.closing is None or abs(self.closing - self.readings[0]) <= self.graduation / 2:
            return
        raise RunoutError(
            f"The set does not close: the dial began at {self.readings[0]:+.4g} mm and came back "
            f"to {self.closing:+.4g} mm, so it or its bracket moved and the set is void.",
            "Make it fast, zero it and go round again.",
        )

    @property
    def closes(self) -> bool | None:
        """Whether the set came back to its zero; None if that was not read."""
        return None if self.closing is None else True

    @cached_property
    def unsagged(self) -> Floats:
        """Readings without the sag of the bracket, mm, shape (N,)."""
        return self._without(-self.sag_reading / 2.0)

    @cached_property
    def corrected(self) -> Floats:
        """Readings without sag and crank lift, mm, shape (N,)."""
        return self._without((self.crank_lift - self.sag_reading) / 2.0)

    def _without(self, looks_high: float) -> Floats:
        readings = np.array(self.readings)
        if self.surface == "face":
            return readings
        up = np.cos(np.radians(self.angles))
        return np.asarray(readings - _SIGN[self.surface] * looks_high * up)

    def at(self, angle: float, values: Floats) -> float | None:
        """One of N values, by the angle it was read at; None if nothing was read there."""
        for position, value in zip(self.angles, values, strict=True):
            if abs((position - angle + 180.0) % 360.0 - 180.0) < 0.5:
                return float(value)
        return None


def evenly_spaced(count: int, *, start: float = 0.0) -> tuple[float, ...]:
    """Angles of evenly spaced clock positions, degrees, clockwise from `start`."""
    return tuple(float((start + 360.0 * i / count) % 360.0) for i in range(count))


def tir(dial: DialSet, *, convention: Convention = "max_min") -> float:
    """Total indicator reading, mm.

    Parameters
    ----------
    dial : DialSet
    convention : Convention
        ``max_min``, the usual one: highest less lowest reading, sag and crank lift corrected.
        ``totals`` adds the difference of the vertical pair, less **half** the crank lift, to that
        of the horizontal pair; some manuals call this sum T.I.R. too. It is larger for an offset
        that is neither upright nor level, and no limit for the usual reading fits it.

    Raises
    ------
    RunoutError
        If ``totals`` lacks a reading at 12, 3, 6 or 9 o'clock.

    References
    ----------
    R-TIR-1, R-TIR-2; ``totals``: R-TIR-6, whose printed example does not add up.
    """
    if convention == "max_min":
        return float(np.ptp(dial.corrected))
    both = _pairs(dial, dial.unsagged)
    if both is None:
        raise RunoutError(
            "The sum of the vertical and horizontal totals needs 12, 3, 6 and 9 o'clock.",
            "Read there, or take highest less lowest reading.",
        )
    vertical, horizontal = both
    lift = -_SIGN[dial.surface] * dial.crank_lift / 2.0 if dial.surface != "face" else 0.0
    return abs(vertical + lift) + abs(horizontal)


class Pairs(NamedTuple):
    """Differences across the two upright diameters, mm, with their signs.

    Attributes
    ----------
    vertical : float
        Reading at 12 less reading at 6 o'clock.
    horizontal : float
        Reading at 9 less reading at 3 o'clock.
    """

    vertical: float
    horizontal: float


def pairs(dial: DialSet) -> Pairs | None:
    """Vertical and horizontal difference, sag and crank lift corrected (R-TIR-3, R-TIR-4).

    Returns
    -------
    Pairs or None
        None if there is no reading at 12, 3, 6 or 9 o'clock.
    """
    return _pairs(dial, dial.corrected)


def _pairs(dial: DialSet, values: Floats) -> Pairs | None:
    top, right, bottom, left = (dial.at(angle, values) for angle in (0.0, 90.0, 180.0, 270.0))
    if top is None or right is None or bottom is None or left is None:
        return None
    return Pairs(top - bottom, left - right)


def cross_difference(dial: DialSet) -> float | None:
    """Top and bottom less left and right reading, mm; None without all four.

    A rule of thumb calls a set good where this is zero. No source confirms it here, and an oval
    part breaks it too, so it is a question to the reader of the dial and never a refusal (R-TIR-5).
    """
    values = dial.corrected
    four = [dial.at(angle, values) for angle in (0.0, 180.0, 90.0, 270.0)]
    if None in four:
        return None
    top, bottom, right, left = (float(value or 0.0) for value in four)
    return top + bottom - left - right


@dataclass(frozen=True)
class Harmonics:
    """What the readings consist of.

    Attributes
    ----------
    once : float
        Amplitude of what comes once a turn, mm, at least 0.
    direction : float or None
        Where it lies, degrees clockwise from 12 o'clock: for a bore or shaft the side its centre
        is off to, for a face the side that stands nearest the dial; None if there is none.
    twice : float or None
        Amplitude of what comes twice a turn; None where 4 positions can't tell it.
    long_axis : float or None
        One end of the longest diameter (bore, shaft) or of the high sides (face), 0 to below 180.
    all_oval : bool
        Whether an oval in any direction would show; 4 positions see one of two directions.
    rest : float
        Root mean square of what neither explains, mm.
    doubt : float
        Standard uncertainty of `once`, for a standard uncertainty of 1 mm of each reading.
    """

    once: float
    direction: float | None
    twice: float | None
    long_axis: float | None
    all_oval: bool
    rest: float
    doubt: float


def harmonics(dial: DialSet) -> Harmonics:
    """Split the corrected readings into what comes once and what comes twice a turn.

    Least squares; with 4 evenly spaced positions the second harmonic is known along the measured
    diameters only, with 4 others not at all.
    """
    angles = np.radians(dial.angles)
    columns = [np.ones_like(angles), np.cos(angles), np.sin(angles)]
    both = [*columns, np.cos(2 * angles), np.sin(2 * angles)]
    all_oval = len(angles) > 4 and float(np.linalg.cond(np.array(both))) < _WORST_CONDITION
    steps = np.diff(np.sort(np.mod(dial.angles, 90.0)))
    crossed = len(angles) == 4 and bool(np.all(steps < 0.5))
    first = angles[0]
    if all_oval:
        columns = both
    elif crossed:
        columns = [*columns, np.cos(2 * (angles - first))]
    table = np.array(columns).T
    inverse = np.linalg.pinv(table)
    fit = inverse @ dial.corrected
    left_over = dial.corrected - table @ fit
    sign = _SIGN[dial.surface]
    up, right = sign * float(fit[1]), sign * float(fit[2])
    once = hypot(up, right)
    twice, long_axis = None, None
    if all_oval or crossed:
        along = sign * float(fit[3])
        across = sign * float(fit[4]) if all_oval else 0.0
        twice = hypot(along, across)
        turned = 0.0 if all_oval else degrees(first)
        long_axis = (degrees(atan2(across, along)) / 2.0 + turned) % 180.0 if twice else None
    doubt = sqrt(float(np.linalg.eigvalsh((inverse @ inverse.T)[1:3, 1:3]).max()))
    return Harmonics(
        once,
        degrees(atan2(right, up)) % 360.0 if once > 0.0 else None,
        twice,
        long_axis,
        all_oval,
        float(np.sqrt(np.mean(left_over**2))),
        doubt,
    )


def ovality(found: Harmonics) -> float | None:
    """Longest less shortest diameter of a bore or shaft, mm: four amplitudes of the radius."""
    return None if found.twice is None else 4.0 * found.twice


def tilt(found: Harmonics, radius: float) -> float:
    """Slope of a face against the axis, mm for each mm, read at a radius in mm."""
    require_positive(radius=radius)
    return found.once / radius


class DowelChoice(NamedTuple):
    """Offset dowels for a housing whose bore is off centre.

    Attributes
    ----------
    throw : float
        Chosen throw, mm; 0 for straight dowels.
    direction : float or None
        Where to point the throw of both dowels, the way the housing has to go: degrees clockwise
        from 12 o'clock; None for straight dowels.
    remaining : float
        Offset that is left, mm; the T.I.R. it causes is twice that.
    """

    throw: float
    direction: float | None
    remaining: float


def offset_dowels(offset: float, direction: float | None, throws: Sequence[float]) -> DowelChoice:
    """Choose the dowels that bring a bore nearest to the centre.

    Parameters
    ----------
    offset : float
        Distance of the bore from the axis of the crankshaft, mm, at least 0.
    direction : float or None
        Side it is off to, degrees clockwise from 12 o'clock.
    throws : sequence of float
        Throws to be had, mm: from the axis of the dowel's one end to that of the other, as much as
        it moves the housing. Straight dowels always count as one.

    References
    ----------
    The housing moves by half the T.I.R. (R-TIR-5).
    """
    require_not_negative(offset=offset)
    for throw in throws:
        require_positive(throw=throw)
    chosen = min((0.0, *sorted(throws)), key=lambda throw: abs(offset - throw))
    if chosen == 0.0 or direction is None:
        return DowelChoice(0.0, None, offset)
    return DowelChoice(chosen, (direction + 180.0) % 360.0, abs(offset - chosen))
