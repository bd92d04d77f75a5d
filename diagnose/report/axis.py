"""The axis of one reading's drawing."""

from math import isfinite
from typing import NamedTuple

from diagnose.axis import reach, ticks
from diagnose.comparison import limit_ends
from diagnose.gauge import plausible_range
from diagnose.report.record import Figure
from knowledge.quantity import in_unit

_MOST_TICKS = 7
_PAD = 0.05  # of the axis, beyond the outermost thing drawn


class Axis(NamedTuple):
    """The ends of an axis and its ticks with their labels, in the unit of the measurement."""

    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]

    def share(self, value: float) -> float:
        """Give where a value lies, from 0 to 1; an end for what lies beyond."""
        return min(1.0, max(0.0, (value - self.low) / (self.high - self.low)))


def axis_of(figure: Figure) -> Axis:
    """Lay an axis that holds all bands, the reading, and the limits that are near.

    Parameters
    ----------
    figure : Figure
        With something foretold.

    Returns
    -------
    Axis
        Not beyond what can be read at all.
    """
    unit = figure.measurement.unit
    least, most = (in_unit(end, unit) for end in plausible_range(figure.measurement))
    ends = [
        min(max(in_unit(end, unit), least), most)
        for row in figure.foretold
        for end in (row.forecast.low, row.forecast.high)
    ]
    ends += [in_unit(v, unit) for s in figure.spans for v in (s.low, s.high) if isfinite(v)]
    low, high = reach(ends, limits_of(figure), within=(least, most), pad=_PAD)
    return Axis(low, high, ticks(low, high, unit, most=_MOST_TICKS))


def limits_of(figure: Figure) -> tuple[float, ...]:
    """Give the ends of the limits that hold for a reading, in the unit of the measurement."""
    return limit_ends(figure.measurement, figure.limits)
