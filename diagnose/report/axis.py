"""An axis for one reading: where it begins and ends, and the round values on it."""

from collections.abc import Iterable
from math import ceil, floor, isfinite, log10
from typing import NamedTuple

from diagnose.gauge import plausible_range
from diagnose.report.record import Figure
from knowledge.quantity import in_unit, on_tape

_INCHES = (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0, 2.0)
_FINEST = 16
_MOST_TICKS = 7
_PAD = 0.05  # of the axis, beyond the outermost thing drawn
_NEAR = 1.5  # widths of all bands, within which a limit is still drawn


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
    low, high = _apart(ends)
    room = _NEAR * (high - low)
    low, high = _apart(
        [low, high, *(e for e in limits_of(figure) if low - room <= e < high + room)]
    )
    pad = _PAD * (high - low)
    low, high = max(least, low - pad), min(most, high + pad)
    return Axis(low, high, ticks(low, high, unit))


def limits_of(figure: Figure) -> tuple[float, ...]:
    """Give the ends of the limits that hold for a reading, in the unit of the measurement."""
    record = figure.measurement
    texts = [t for v in figure.limits for t in (v.limit.at_least, v.limit.at_most) if t is not None]
    return tuple(sorted({in_unit(record.value(text), record.unit) for text in texts}))


def _apart(values: Iterable[float]) -> tuple[float, float]:
    listed = list(values)
    low, high = min(listed), max(listed)
    if low < high:
        return low, high
    room = 0.1 * abs(low) or 1.0
    return low - room, high + room


def ticks(low: float, high: float, unit: str) -> tuple[tuple[float, str], ...]:
    """Give round values of an axis with their labels.

    Inches are parted as on a tape, down to sixteenths; below that, and in every other unit, by
    tens, twos and fives.
    """
    least = (high - low) / _MOST_TICKS
    step = next((s for s in _INCHES if s >= least), 0.0) if unit == "in" else 0.0
    tape = step > 0.0 and least > _INCHES[0] / 2
    if not tape:
        power = 10.0 ** floor(log10(least))
        step = next(n * power for n in (1.0, 2.0, 5.0, 10.0) if n * power >= least * (1.0 - 1e-9))
    places = range(ceil(low / step - 1e-9), floor(high / step + 1e-9) + 1)
    if tape:
        return tuple((n * step, on_tape(n * step, _FINEST)) for n in places)
    digits = max(0, -floor(log10(step) + 1e-9))
    return tuple((n * step, f"{n * step:.{digits}f}" if n else "0") for n in places)
