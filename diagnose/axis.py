"""An axis for readings: how far it reaches, and the round values on it."""

from collections.abc import Iterable
from math import ceil, floor, log10

from knowledge.quantity import on_tape

_INCHES = (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0, 2.0)
_FINEST = 16
_NEAR = 1.5  # widths of all that has to be shown, within which a limit is still drawn


def reach(
    shown: Iterable[float],
    limits: Iterable[float],
    *,
    within: tuple[float, float],
    pad: float,
    besides: Iterable[float] = (),
) -> tuple[float, float]:
    """Give the ends of an axis that holds all that has to be shown, and the limits that are near.

    Parameters
    ----------
    shown : iterable of float
        At least one; what is near is measured by how far they lie apart.
    limits : iterable of float
        They widen the axis only where they are near.
    within : tuple of float
        What can be read at all; the axis does not go beyond.
    pad : float
        Share of the axis that is left free beyond the outermost thing.
    besides : iterable of float
        What has to be shown as well, however far off it is.

    Returns
    -------
    tuple of float
        In the unit of what was given.
    """
    low, high = _apart(shown)
    room = _NEAR * (high - low)
    low, high = _apart([low, high, *(e for e in limits if low - room <= e <= high + room)])
    low, high = _apart([low, high, *besides])
    free = pad * (high - low)
    return max(within[0], low - free), min(within[1], high + free)


def _apart(values: Iterable[float]) -> tuple[float, float]:
    listed = list(values)
    low, high = min(listed), max(listed)
    if low < high:
        return low, high
    room = 0.1 * abs(low) or 1.0
    return low - room, high + room


def ticks(low: float, high: float, unit: str, *, most: int = 8) -> tuple[tuple[float, str], ...]:
    """Give round values of an axis with their labels.

    Inches are parted as on a tape, down to sixteenths; below that, and in every other unit, by
    tens, twos and fives.

    Parameters
    ----------
    low, high : float
        The ends, in the unit.
    unit : str
    most : int
        So many steps the axis has at most.

    Returns
    -------
    tuple of (float, str)
    """
    least = (high - low) / most
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
