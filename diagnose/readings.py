"""Readings of a case: which count as numbers, and how likely they are under sets of causes.

A reading counts as a number where the set-up predicts it; else the band it falls in is an answer
like any other. A band that was chosen without a number is an interval. A reading goes stale when
work done later may have cured a cause that moves it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import groupby
from math import hypot, inf, isfinite, log, sqrt
from operator import attrgetter, itemgetter

import numpy as np
from numpy import logaddexp

from diagnose.case import NO_EVIDENCE, Case, Entry
from diagnose.effects import Effects
from diagnose.errors import UnknownIdError
from diagnose.gauge import Span, band, plausible_range, read_gauge
from diagnose.network import UNKNOWN
from diagnose.noisy_or import Modes, Tied
from diagnose.physics.likelihood import (
    MAX_MISTYPED,
    Reading,
    log_likelihoods_by_share,
    value_read,
)
from diagnose.physics.normal import MAX_BOX
from diagnose.physics.predict import Predictions
from diagnose.physics.uncertainty import from_rectangle, type_a
from diagnose.tables import Floats
from diagnose.together import Ints
from knowledge.model import Check, Measurement

_PREFIX = "reading:"
_APART = 20.0  # times the instrument's uncertainty: repeats that scatter more hold a slip


@dataclass(frozen=True)
class Taken:
    """Readings of one measurement that one entry tells.

    Attributes
    ----------
    check : str
        The check that asked for them.
    measurement : Measurement
    entry : int
        Index in the timeline.
    readings : tuple of Reading
    """

    check: str
    measurement: Measurement
    entry: int
    readings: tuple[Reading, ...]

    @property
    def key(self) -> str:
        """Name of this evidence beside the ids of findings; the same for all of a measurement."""
        return reading_key(self.measurement.id)


def reading_key(measurement: str) -> str:
    """Give the name that readings of a measurement have as evidence, beside ids of findings."""
    return _PREFIX + measurement


def measurement_in(key: str) -> str | None:
    """Give the measurement whose readings a name of evidence stands for; None for a finding."""
    return key.removeprefix(_PREFIX) if key.startswith(_PREFIX) else None


def take_readings(effects: Effects, case: Case) -> tuple[Taken, ...]:
    """List the readings of a case that count as numbers.

    Parameters
    ----------
    effects : Effects
    case : Case

    Returns
    -------
    tuple of Taken
        Of those on the chain, and of each thing that stands alone, no more intervals than can be
        taken together.
    """
    found: dict[str, list[Taken]] = {}
    for i, entry in enumerate(case.entries):
        check = effects.network.base.checks.get(entry.check or "")
        if check is None or check.gauge is None or entry.answer in NO_EVIDENCE:
            continue
        measurement = effects.network.base.measurements[check.gauge]
        axis = effects.axis_of(measurement)
        if axis is None:
            continue
        readings = readings_of(measurement, axis, check, entry)
        if readings:
            law = "" if axis in effects.chain else axis
            found.setdefault(law, []).append(Taken(check.id, measurement, i, readings))
    fitting = (taken for law in found.values() for taken in _fitting(law))
    return tuple(sorted(fitting, key=attrgetter("entry")))


def _fitting(law: Sequence[Taken]) -> list[Taken]:
    """Make do with as many intervals as can be taken together.

    Of more, the narrowest ranges are read as values; of what is then still too many, the earliest
    count by their bands.
    """
    intervals = [r for t in law for r in t.readings if not r.is_value]
    narrow = sorted(r.flat for r in intervals if isfinite(r.high - r.low))
    too_many = max(0, len(intervals) - MAX_BOX)
    widest = max(narrow[:too_many], default=0.0)
    fitting: list[Taken] = []
    room = MAX_BOX
    for taken in reversed(law):
        readings = tuple(_as_value(r) if r.flat <= widest else r for r in taken.readings)
        wide = sum(not r.is_value for r in readings)
        if wide <= room:
            room -= wide
            fitting.append(replace(taken, readings=readings))
    return fitting


def _as_value(reading: Reading) -> Reading:
    """Take a range as its middle, known no better than it is wide; else leave it as it is.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.7: a rectangle (R-GUM-4).
    """
    half = (reading.high - reading.low) / 2.0
    if reading.is_value or not isfinite(half):
        return reading
    uncertainty = hypot(reading.uncertainty, from_rectangle(half))
    return value_read(reading.observable, reading.low + half, uncertainty, reading.plausible)


def readings_of(
    measurement: Measurement, axis: str, check: Check, entry: Entry
) -> tuple[Reading, ...]:
    """Make readings of what an entry says; none of an answer that is no band.

    Repeats are one reading, known the better: what moves one of them moves them all. Only of those
    that lie far apart any one may be a slip.

    Raises
    ------
    UnknownIdError
        If the measurement has no such instrument.
    """
    if entry.instrument is not None and entry.instrument not in measurement.instruments:
        raise UnknownIdError(
            f"{measurement.name} is not read with {entry.instrument!r}.",
            f"Correct the case file: {', '.join(measurement.instruments)}.",
        )
    uncertainty = instrument_uncertainty(measurement, entry.instrument)
    plausible = plausible_range(measurement)
    spans = spans_of(measurement, check, entry)
    values = [span.low for span in spans if span.low == span.high]
    own = uncertainty
    if values and max(values) - min(values) <= _APART * uncertainty:
        mean, own = mean_read(values, uncertainty)
        values = [mean]
    wide = dict.fromkeys(span for span in spans if span.low < span.high)
    return (
        *(value_read(axis, value, own, plausible) for value in values),
        *(
            Reading(axis, span.low, span.high, uncertainty, _room(span, plausible, uncertainty))
            for span in wide
        ),
    )


def spans_of(measurement: Measurement, check: Check, entry: Entry) -> tuple[Span, ...]:
    """Give what an entry says was read: a band, where it names no number; none if it is no band."""
    if entry.reading:
        return read_gauge(measurement, entry.reading)
    answer = next((a for a in check.answers if a.id == entry.answer), None)
    return () if answer is None else (band(measurement, answer),)


def _room(span: Span, plausible: tuple[float, float], uncertainty: float) -> tuple[float, float]:
    """Give the plausible range, a little wider where all of a one-sided reading lies beyond it."""
    least, most = plausible
    return min(least, span.high - uncertainty), max(most, span.low + uncertainty)


def mean_read(values: Sequence[float], uncertainty: float) -> tuple[float, float]:
    """Give the mean of repeats, and its standard uncertainty.

    Parameters
    ----------
    values : sequence of float
    uncertainty : float
        Of the instrument, for one of them. Where they scatter more than that, their scatter counts.

    References
    ----------
    JCGM 100:2008 (GUM), 4.2.3 (R-GUM-2).
    """
    n = len(values)
    scatter = type_a(values).uncertainty if n > 1 else 0.0
    return sum(values) / n, max(uncertainty / sqrt(n), scatter)


def instrument_uncertainty(measurement: Measurement, instrument: str | None) -> float:
    """Give the standard uncertainty of an instrument; of what is usually taken if unknown."""
    first = next(iter(measurement.instruments))
    chosen = measurement.instruments.get(instrument or first, measurement.instruments[first])
    return measurement.spread(chosen.uncertainty)


@dataclass(frozen=True)
class ReadingEvidence:
    """Readings that count, and what they say of sets of causes.

    Attributes
    ----------
    effects : Effects
    taken : tuple of Taken
    """

    effects: Effects
    taken: tuple[Taken, ...]

    @cached_property
    def axes(self) -> tuple[str, ...]:
        """What was read, each once."""
        return tuple(dict.fromkeys(r.observable for t in self.taken for r in t.readings))

    @cached_property
    def readings(self) -> tuple[Reading, ...]:
        """All readings."""
        return tuple(reading for taken in self.taken for reading in taken.readings)

    def without(self, keys: frozenset[str]) -> "ReadingEvidence":
        """Give it without the readings of some measurements."""
        return ReadingEvidence(self.effects, tuple(t for t in self.taken if t.key not in keys))

    def movers(self) -> frozenset[int]:
        """Causes (indices) that move anything that was read."""
        moving = np.zeros(len(self.effects.of_cause), dtype=bool)
        for axis in self.axes:
            moving |= self.effects.moves[axis][self.effects.of_cause]
        return frozenset(np.flatnonzero(moving).tolist())

    def tie(self, modes: Modes, most: int) -> Tied | None:
        """Tie the components whose causes move what was read; None without readings."""
        if not self.taken:
            return None
        network = self.effects.network
        movers = sorted(self.movers())
        outsider = network.cause_index[UNKNOWN]
        moving = modes.present[:, movers].any(axis=1)
        components = frozenset(modes.component[moving].tolist())
        mine = np.flatnonzero(modes.present[:, outsider])
        states = modes.present[modes.component == modes.component[mine[0]], outsider]
        shares = network.base.scale.mistyped, network.base.scale.unknown.moves
        likelihood = self._likelihood(modes, movers, states.tolist(), *shares)
        return Tied(components, likelihood, most=most)

    def _likelihood(
        self, modes: Modes, movers: Sequence[int], states: list[bool], slip: float, moved: float
    ) -> Callable[[Ints], Floats]:
        """Give the likelihood of sets of rows of modes, worked out once for each set of effects.

        What this tool does not know may move any reading to anywhere, each for itself: just what
        a slip does, only more often.
        """
        among = frozenset(movers)
        effects: list[tuple[int, ...]] = [()] * len(modes.present)
        for row, causes in groupby(np.argwhere(modes.present).tolist(), key=itemgetter(0)):
            effects[row] = self.effects.effects_of(among.intersection(c for _, c in causes))
        width = max(1, *(len(numbers) for numbers in effects))
        of_row = np.zeros((len(effects) + 1, width), dtype=np.intp)  # the last for the -1 that pads
        for row, numbers in zip(of_row, effects, strict=False):
            row[: len(numbers)] = numbers
        slips = [slip + state * moved * (1.0 - slip) for state in states]

        def likelihood(rows: Ints) -> Floats:
            numbers = np.sort(of_row[rows].reshape(len(rows), -1), axis=1)
            return self._log_likelihood(numbers, slips).T

        return likelihood

    def _log_likelihood(self, numbers: Ints, slips: Sequence[float]) -> Floats:
        """Log-likelihood of all readings for sets of effects, shape (N, w), rising, 0 for none.

        One row for each share of slips.
        """
        total = np.zeros((len(slips), len(numbers)))
        on_chain = [r for r in self.readings if r.observable in self.effects.chain]
        if on_chain:
            axes = tuple(dict.fromkeys(r.observable for r in on_chain))
            sets, which = self._sets(numbers, axes)
            found = self.effects.predict(sets, axes)
            total += _with_all_astray(found, on_chain, slips)[:, which]
        for axis in self.axes:
            mine = [r for r in self.readings if r.observable == axis]
            if axis not in self.effects.chain:
                sets, which = self._sets(numbers, (axis,))
                total += self._alone(axis, sets, mine, slips)[:, which]
        return total

    def _alone(
        self,
        axis: str,
        sets: Sequence[tuple[int, ...]],
        readings: Sequence[Reading],
        slips: Sequence[float],
    ) -> Floats:
        """Log-likelihood of readings of something that stands alone, for sets of effects."""
        laws = [self.effects.laws(axis, effects) for effects in sets]
        weight, mean, deviation = np.array([law for several in laws for law in several]).T
        predictions = Predictions((axis,), mean[:, None], deviation[:, None, None] ** 2)
        found = _with_all_astray(predictions, readings, slips) + np.log(weight)
        starts = np.cumsum([0, *(len(several) for several in laws[:-1])])
        return np.asarray(logaddexp.reduceat(found, starts, axis=1))

    def _sets(self, numbers: Ints, axes: Sequence[str]) -> tuple[list[tuple[int, ...]], Ints]:
        """Tell sets of effects apart by those that move some axes; gives which each set is."""
        moving = np.any([self.effects.moves[axis] for axis in axes], axis=0)
        kept = np.sort(np.where(moving[numbers], numbers, 0), axis=1)
        first, which = distinct(kept)
        rows = kept[first]
        idle = np.count_nonzero(rows == 0, axis=1)  # they come first
        return [tuple(r[n:]) for r, n in zip(rows.tolist(), idle.tolist(), strict=True)], which


def _with_all_astray(
    predictions: Predictions, readings: Sequence[Reading], shares: Sequence[float]
) -> Floats:
    """Log-likelihood of readings of which up to two may be astray, or all of them.

    Without the last, three readings that nothing explains would be laid on whichever causes come
    nearest, however far that is, and never on what this tool does not know.
    """
    found = log_likelihoods_by_share(predictions, readings, shares)
    if len(readings) <= MAX_MISTYPED:
        return found
    anywhere = sum(log(reading.flat) for reading in readings)
    every = [len(readings) * log(share) + anywhere if share else -inf for share in shares]
    return np.asarray(logaddexp(found, np.array(every)[:, None]))


def distinct(rows: Ints) -> tuple[Ints, Ints]:
    """Tell rows of small numbers apart.

    Parameters
    ----------
    rows : ndarray of int, shape (N, w)
        Not negative.

    Returns
    -------
    first : ndarray of int, shape (n,)
        Where each different row comes first.
    which : ndarray of int, shape (N,)
        Which of them each row is.
    """
    which = np.zeros(len(rows), dtype=np.intp)
    first = np.zeros(min(1, len(rows)), dtype=np.intp)
    for column in rows.T:  # so many are different so far; no number grows beyond N times the most
        _, first, which = np.unique(
            which * (int(rows.max(initial=0)) + 1) + column, return_index=True, return_inverse=True
        )
    return first, which


def stale_keys(
    effects: Effects, taken: Sequence[Taken], repairs: Mapping[int, frozenset[int]]
) -> tuple[tuple[Taken, ...], frozenset[str]]:
    """Tell the readings that still hold from those that later work may have changed.

    Parameters
    ----------
    effects : Effects
    taken : sequence of Taken
    repairs : mapping
        Timeline index of work done since -> the causes (indices) it may have cured.

    Returns
    -------
    holding : tuple of Taken
    stale : frozenset of str
        Keys of measurements none of whose readings holds.
    """
    holding = []
    for t in taken:
        axis = t.readings[0].observable
        later = (causes for i, causes in repairs.items() if i > t.entry)
        touched = {c for causes in later for c in causes}
        if not any(effects.moves[axis][effects.of_cause[c]] for c in touched):
            holding.append(t)
    fresh = {t.key for t in holding}
    return tuple(holding), frozenset(t.key for t in taken if t.key not in fresh)
