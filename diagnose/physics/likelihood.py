"""How well a set of faults explains readings: their joint likelihood.

A reading is a value, an interval ("between 1 and 1 1/4 in") or one-sided ("more than 2 in", "would
not move": at most none). Values have a density, intervals a probability given the values. Repeats
of one observable share its prediction and differ by the instrument only. A small share of readings
is mistyped: such a one may lie anywhere in its plausible range, and up to two at once are counted,
so that no single slip decides a case.

References
----------
The sweep operator: Beaton (1964), Goodnight (1979); swept over the values, one table holds the
quadratic form and the conditional mean and covariance of the intervals. Boxes: `normal`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import log, log1p, pi

import numpy as np

from diagnose.errors import UnknownIdError
from diagnose.physics.domain import Floats
from diagnose.physics.normal import box_probability
from diagnose.physics.predict import Predictions

MAX_MISTYPED = 2


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of one observable, in its inside unit.

    Attributes
    ----------
    observable : str
    low, high : float
        The interval that was read; equal for a value, one of them infinite if one-sided.
    uncertainty : float
        Standard uncertainty of the instrument and the hand that held it, above 0.
    plausible : tuple of float
        Range in which a mistyped reading could lie.

    Raises
    ------
    ValueError
        If the interval is empty, both ends are infinite, the uncertainty is not positive, or
        nothing of the reading lies in the plausible range.
    """

    observable: str
    low: float
    high: float
    uncertainty: float
    plausible: tuple[float, float]

    def __post_init__(self) -> None:
        if not self.low <= self.high or np.isinf([self.low, self.high]).all():
            message = f"{self.observable} can't be read as {self.low} to {self.high}"
            raise ValueError(message)
        if not (np.isfinite(self.uncertainty) and self.uncertainty > 0.0):
            message = f"{self.observable} was read with an instrument, not with {self.uncertainty}"
            raise ValueError(message)
        least, most = self.plausible
        if not (np.isfinite(self.plausible).all() and least < most):
            message = f"{self.observable} can't plausibly lie between {least} and {most}"
            raise ValueError(message)
        inside = least <= self.low <= most if self.is_value else self.flat > 0.0
        if not inside:
            message = f"{self.observable} was read outside its plausible range {least} to {most}"
            raise ValueError(message)

    @property
    def is_value(self) -> bool:
        """Whether a value was read, not an interval."""
        return self.low == self.high

    @property
    def flat(self) -> float:
        """Likelihood of the reading if it is mistyped: a density, or a probability."""
        least, most = self.plausible
        if self.is_value:
            return 1.0 / (most - least)
        return max(0.0, min(self.high, most) - max(self.low, least)) / (most - least)


def value_read(
    observable: str, value: float, uncertainty: float, plausible: tuple[float, float]
) -> Reading:
    """Make the reading of a value."""
    return Reading(observable, value, value, uncertainty, plausible)


def log_likelihoods(
    predictions: Predictions, readings: Sequence[Reading], *, mistyped: float = 0.0
) -> Floats:
    """Natural log of the joint likelihood of readings under each set of faults.

    Parameters
    ----------
    predictions : Predictions
        For H sets of faults.
    readings : sequence of Reading
        At most four of them intervals.
    mistyped : float
        Share of mistyped readings, from 0 to below 1. Three or more at once are left out, which
        takes less than k**3 mistyped**3 / 6 from the weight of k readings.

    Returns
    -------
    ndarray, shape (H,)

    Raises
    ------
    UnknownIdError
        If a reading is of something that was not predicted.
    ValueError
        If `mistyped` is out of range or there are too many intervals.
    """
    if not 0.0 <= mistyped < 1.0:
        message = f"a share of mistyped readings lies between 0 and 1, unlike {mistyped}"
        raise ValueError(message)
    for reading in readings:
        if reading.observable not in predictions.names:
            raise UnknownIdError(f"{reading.observable!r} was read but not predicted.")
    k = len(readings)
    most_gone = min(k, MAX_MISTYPED) if mistyped > 0.0 else 0
    log_odds = log(mistyped) - log1p(-mistyped) if mistyped > 0.0 else 0.0
    swept: dict[tuple[int, ...], _Swept] = {(): _swept_over_values(predictions, readings)}
    terms = []
    for count in range(most_gone + 1):
        for gone in combinations(range(k), count):
            if gone:
                before = swept[gone[:-1]]
                swept[gone] = before.without(gone[-1]) if readings[gone[-1]].is_value else before
            slips = sum(log_odds + log(readings[i].flat) for i in gone)
            terms.append(slips + _log_likelihood(swept[gone], readings, gone))
    return k * log1p(-mistyped) + _log_sum(np.array(terms))


@dataclass(frozen=True)
class _Swept:
    """Joint normal law of the readings, swept over the values that count.

    The last row and column hold the readings less their means. Once swept over some values, the
    block of the others holds their covariance given these, the last column what is left of their
    readings, and the corner minus the quadratic form.
    """

    table: Floats  # (H, k + 1, k + 1)
    log_det: Floats  # (H,), of the covariance of the values swept over

    def with_value(self, i: int) -> "_Swept":
        """Sweep over one more value."""
        pivot = self.table[:, i, i]
        return _Swept(_sweep(self.table, i, 1.0), self.log_det + np.log(pivot))

    def without(self, i: int) -> "_Swept":
        """Take one value out again."""
        pivot = -1.0 / self.table[:, i, i]
        return _Swept(_sweep(self.table, i, -1.0), self.log_det - np.log(pivot))


def _sweep(table: Floats, i: int, direction: float) -> Floats:
    pivot = table[:, i, i, np.newaxis]
    row = table[:, i, :] / pivot
    swept = table - table[:, :, i, np.newaxis] * row[:, np.newaxis, :]
    swept[:, i, :] = direction * row
    swept[:, :, i] = direction * row
    swept[:, i, i] = -1.0 / pivot[:, 0]
    return np.asarray(swept)


def _swept_over_values(predictions: Predictions, readings: Sequence[Reading]) -> _Swept:
    at = [predictions.names.index(r.observable) for r in readings]
    k, cases = len(at), len(predictions.mean)
    table = np.zeros((cases, k + 1, k + 1))
    table[:, :k, :k] = predictions.covariance[:, at][:, :, at]
    table[:, range(k), range(k)] += np.array([r.uncertainty**2 for r in readings])
    read = np.array([r.low if r.is_value else 0.0 for r in readings])
    table[:, :k, k] = table[:, k, :k] = read - predictions.mean[:, at]
    swept = _Swept(table, np.zeros(cases))
    for i, reading in enumerate(readings):
        if reading.is_value:
            swept = swept.with_value(i)
    return swept


def _log_likelihood(swept: _Swept, readings: Sequence[Reading], gone: tuple[int, ...]) -> Floats:
    """Log density of the values and log probability of the intervals given them, less `gone`."""
    left = [i for i in range(len(readings)) if i not in gone]
    values = sum(readings[i].is_value for i in left)
    density = 0.5 * (swept.table[:, -1, -1] - swept.log_det - values * log(2.0 * pi))
    boxes = [i for i in left if not readings[i].is_value]
    if not boxes:
        return density
    mean = -swept.table[:, boxes, -1]
    covariance = swept.table[:, boxes][:, :, boxes]
    low = np.array([readings[i].low for i in boxes])
    high = np.array([readings[i].high for i in boxes])
    with np.errstate(divide="ignore"):  # a probability of nothing is a log of minus infinity
        return density + np.log(box_probability(mean, covariance, low, high))


def _log_sum(terms: Floats) -> Floats:
    most = terms.max(axis=0)
    shift = np.where(np.isfinite(most), most, 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(shift + np.log(np.exp(terms - shift).sum(axis=0)))
