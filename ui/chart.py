"""A chart of bands on one axis, as data: what is drawn, and what is said of it; Qt-free."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isfinite
from typing import Literal

from diagnose.axis import reach, ticks
from knowledge.quantity import on_tape

Weight = Literal["full", "light", "bare"]

_FINEST = 64  # a tape or a rule is marked in no finer parts of an inch
_PAD = 0.04  # of the axis, beyond the outermost thing drawn


@dataclass(frozen=True)
class Band:
    """One row: what a gauge would show in one state of things.

    Attributes
    ----------
    name, note : str
        The state, and a remark in smaller letters.
    low, middle, high : float
        The band that holds 9 of 10 readings and its middle, in the unit of the axis.
    said : str
        The band in words.
    fit : str
        How the reading goes with it, in words; empty without a reading.
    weight : str
        How the band is drawn: ``full``, ``light``, or ``bare``, its outline only.
    other : tuple of float, optional
        A second band, where the first holds in some cases only.
    """

    name: str
    note: str
    low: float
    middle: float
    high: float
    said: str
    fit: str = ""
    weight: Weight = "light"
    other: tuple[float, float] | None = None


@dataclass(frozen=True)
class Mark:
    """A reading: a value if both ends are equal; an end may be infinite."""

    low: float
    high: float


@dataclass(frozen=True)
class Chart:
    """Bands, readings and limits on one axis.

    Attributes
    ----------
    unit : str
    low, high : float
        The ends of the axis.
    ticks : tuple of (float, str)
    bands : tuple of Band
    marks : tuple of Mark
        Readings.
    reading : str
        What was read, in words; empty without a reading.
    edges : tuple of float
        Limits.
    """

    unit: str
    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]
    bands: tuple[Band, ...]
    marks: tuple[Mark, ...] = ()
    reading: str = ""
    edges: tuple[float, ...] = ()

    def spoken(self) -> str:
        """Give the chart as a screen reader says it."""
        read = [f"Read: {self.reading}."] if self.reading else []
        rows = [
            ", ".join(part for part in (band.name, band.note, band.said, band.fit) if part)
            for band in self.bands
        ]
        return " ".join((*read, *(f"{row}." for row in rows)))


def chart_of(
    unit: str,
    bands: Sequence[Band],
    *,
    within: tuple[float, float],
    marks: Sequence[Mark] = (),
    reading: str = "",
    edges: Sequence[float] = (),
) -> Chart:
    """Lay bands, readings and limits on an axis that holds them all.

    Parameters
    ----------
    unit : str
    bands : sequence of Band
        At least one.
    within : tuple of float
        What can be read at all; nothing is drawn beyond it.
    marks : sequence of Mark
    reading : str
        The readings in words.
    edges : sequence of float

    Returns
    -------
    Chart
    """
    least, most = within
    clipped = tuple(_clipped(band, least, most) for band in bands)
    limits = tuple(sorted({edge for edge in edges if isfinite(edge)}))
    low, high = reach(
        [v for band in clipped for v in _ends(band)],
        limits,
        within=within,
        pad=_PAD,
        besides=[v for m in marks for v in (m.low, m.high) if isfinite(v)],
    )
    return Chart(
        unit,
        low,
        high,
        ticks(low, high, unit),
        clipped,
        tuple(marks),
        reading,
        tuple(edge for edge in limits if low <= edge <= high),
    )


def _clipped(band: Band, least: float, most: float) -> Band:
    low, middle, high = (min(max(v, least), most) for v in (band.low, band.middle, band.high))
    other = band.other and (max(band.other[0], least), min(band.other[1], most))
    return replace(band, low=low, middle=middle, high=high, other=other)


def _ends(band: Band) -> tuple[float, ...]:
    return (band.low, band.high, *(band.other or ()))


def mixed(number: float) -> str:
    """Give a number as on a tape ("1 3/8"); empty if it stands on none of its marks."""
    parts = round(_FINEST * abs(number)) if isfinite(number) else 0
    if abs(parts - _FINEST * abs(number)) > 1e-6:
        return ""
    return on_tape(number, _FINEST)
