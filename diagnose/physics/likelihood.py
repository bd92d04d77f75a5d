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

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import log, log1p, pi

import numpy as np
from numpy.typing import NDArray

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
    return np.asarray(log_likelihoods_by_share(predictions, readings, (mistyped,))[0])


def log_likelihoods_by_share(
    predictions: Predictions, readings: Sequence[Reading], shares: Sequence[float]
) -> Floats:
    """Give the same as `log_likelihoods` for several shares of mistyped readings at once.

    Parameters
    ----------
    predictions : Predictions
    readings : sequence of Reading
    shares : sequence of float
        S shares, each from 0 to below 1.

    Returns
    -------
    ndarray, shape (S, H)
    """
    for mistyped in shares:
        if not 0.0 <= mistyped < 1.0:
            message = f"a share of mistyped readings lies between 0 and 1, unlike {mistyped}"
            raise ValueError(message)
    for reading in readings:
        if reading.observable not in predictions.names:
            raise UnknownIdError(f"{reading.observable!r} was read but not predicted.")
    k = len(readings)
    most_gone = min(k, MAX_MISTYPED) if any(shares) else 0
    values = [i for i, r in enumerate(readings) if r.is_value]
    boxes = [i for i, r in enumerate(readings) if not r.is_value]
    slip = [log(r.flat) for r in readings] if most_gone else [0.0] * k
    law = _law_without(*_swept(predictions, readings, values), values, boxes, most_gone)
    slips = np.array([[sum(slip[i] for i in gone)] for gone in law.gone])
    terms: list[Floats] = []
    slips_in: list[int] = []
    for count in range(min(len(boxes), most_gone) + 1):
        some = sum(len(gone) + count <= most_gone for gone in law.gone)
        for gone in combinations(boxes, count):
            left = [i for i in boxes if i not in gone]
            chance = _log_chance(law, some, readings, left)
            terms.append(law.density[:some] + chance + slips[:some] + sum(slip[i] for i in gone))
            slips_in.extend(len(group) + count for group in law.gone[:some])
    every, number = np.concatenate(terms), np.array(slips_in)
    return np.stack([_with_share(every, number, k, share) for share in shares])


def _with_share(terms: Floats, slips: NDArray[np.intp], k: int, share: float) -> Floats:
    """Sum the terms of k readings, each with its number of slips, for one share of slips."""
    if share <= 0.0:
        return _log_sum(terms[slips == 0])
    odds = log(share) - log1p(-share)
    return k * log1p(-share) + _log_sum(terms + (odds * slips)[:, np.newaxis])


def _swept(
    predictions: Predictions, readings: Sequence[Reading], values: Sequence[int]
) -> tuple[Floats, Floats]:
    """Joint normal law of the k readings under each set of faults, swept over the values.

    Returns
    -------
    table : ndarray, shape (k + 1, k + 1, H)
        Among the values minus the inverse of their covariance, among the others their covariance
        given the values. In the last row what is left of the readings less their means, and in the
        corner minus the quadratic form.
    log_det : ndarray, shape (H,)
        Of the covariance of the values.
    """
    at = [predictions.names.index(r.observable) for r in readings]
    k, cases = len(at), len(predictions.mean)
    table = np.zeros((k + 1, k + 1, cases))
    table[:k, :k] = np.moveaxis(predictions.covariance[:, at][:, :, at], 0, -1)
    table[range(k), range(k)] += np.array([[r.uncertainty**2] for r in readings]).reshape(k, 1)
    read = np.array([[r.low if r.is_value else 0.0] for r in readings]).reshape(k, 1)
    table[:k, k] = table[k, :k] = read - predictions.mean[:, at].T
    log_det = np.zeros(cases)
    for i in values:
        pivot = table[i, i].copy()
        row = table[i] / pivot
        table -= table[:, i, np.newaxis] * row
        table[i] = table[:, i] = row
        table[i, i] = -1.0 / pivot
        log_det += np.log(pivot)
    return table, log_det


@dataclass(frozen=True)
class _Law:
    """Law of the readings without each small group of values; the smaller groups first.

    Attributes
    ----------
    gone : tuple of tuple of int
        The G groups of readings.
    density : ndarray, shape (G, H)
        Log density of the values that are left.
    table : ndarray, shape (G, m + 1, m + 1, H)
        Covariance of the m intervals given these; in the last row minus their means.
    row : mapping
        Where each interval stands in the table.
    """

    gone: tuple[tuple[int, ...], ...]
    density: Floats
    table: Floats
    row: Mapping[int, int]


def _law_without(
    table: Floats, log_det: Floats, values: Sequence[int], boxes: Sequence[int], most_gone: int
) -> _Law:
    """Take each value, and each pair of values, out of a swept table again."""
    others = [*boxes, len(table) - 1]
    v = len(values)
    precision = -table[np.ix_(values, values)]  # (v, v, H)
    share = table[np.ix_(values, others)]  # (v, m + 1, H)
    gone: list[tuple[int, ...]] = [()]
    tables, log_dets, left = [table[np.ix_(others, others)][np.newaxis]], [log_det[np.newaxis]], [v]
    if most_gone >= 1 and v:
        pivot = precision[range(v), range(v)]
        gone += [(i,) for i in values]
        tables.append(tables[0] + _square(share, pivot))
        log_dets.append(log_det + np.log(pivot))
        left += [v - 1] * v
        if most_gone >= 2:
            i, j = np.triu_indices(v, 1)
            ratio = precision[i, j] / pivot[i]
            second = pivot[j] - precision[i, j] * ratio
            gone += [(values[a], values[b]) for a, b in zip(i.tolist(), j.tolist(), strict=True)]
            pairs = share[j] - ratio[:, np.newaxis] * share[i]
            tables.append(tables[1][i] + _square(pairs, second))
            log_dets.append(log_dets[1][i] + np.log(second))
            left += [v - 2] * len(i)
    whole = np.concatenate(tables)
    constant = np.array(left)[:, np.newaxis] * log(2.0 * pi)
    density = 0.5 * (whole[:, -1, -1] - np.concatenate(log_dets) - constant)
    return _Law(tuple(gone), density, whole, {box: row for row, box in enumerate(boxes)})


def _square(share: Floats, pivot: Floats) -> Floats:
    """Give ``share share' / pivot`` for each row of a table, shape (n, m + 1, m + 1, H)."""
    return share[:, :, np.newaxis] * (share / pivot[:, np.newaxis])[:, np.newaxis]


def _log_chance(law: _Law, some: int, readings: Sequence[Reading], left: Sequence[int]) -> Floats:
    """Log probability of some intervals given the values that are left, for the first groups."""
    cases = law.density.shape[1]
    if not left:
        return np.zeros((some, cases))
    rows = [law.row[i] for i in left]
    mean = -law.table[:some, rows, -1].transpose(0, 2, 1)
    covariance = law.table[np.ix_(range(some), rows, rows)].transpose(0, 3, 1, 2)
    low = np.array([readings[i].low for i in left])
    high = np.array([readings[i].high for i in left])
    m = len(left)
    found = box_probability(mean.reshape(-1, m), covariance.reshape(-1, m, m), low, high)
    with np.errstate(divide="ignore"):  # a probability of nothing is a log of minus infinity
        return np.log(found).reshape(some, cases)


def _log_sum(terms: Floats) -> Floats:
    most = terms.max(axis=0)
    shift = np.where(np.isfinite(most), most, 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(shift + np.log(np.exp(terms - shift).sum(axis=0)))
