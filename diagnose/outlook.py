"""What a check that has not been done yet would answer, for each set of causes.

Of a gauge, the readings taken already narrow it: a fork that stands where it should makes the next
reading near it less of a riddle. Ranges that were read are left out of that.
"""

from collections.abc import Sequence
from math import inf

import numpy as np

from diagnose.gauge import plausible_range
from diagnose.network import UNKNOWN
from diagnose.physics.normal import probability_between
from diagnose.readings import ReadingEvidence, distinct, instrument_uncertainty
from diagnose.tables import Floats
from diagnose.together import Ints
from knowledge.model import Check, Measurement

# How far from the mean of a law, in its deviations, the edges of its cells lie.
_EDGES = np.arange(-16, 17) / 4.0
_FEW = 20  # ends: bands are kept, laws in many cells are not


class Outlook:
    """Coming answers and readings under sets of causes.

    Parameters
    ----------
    measured : ReadingEvidence
        What was read so far.
    sets : sequence of frozenset of int
        Sets of causes (indices), the unknown one among them.
    """

    def __init__(self, measured: ReadingEvidence, sets: Sequence[frozenset[int]]) -> None:
        self._measured, self._effects = measured, measured.effects
        outsider = self._effects.network.cause_index[UNKNOWN]
        numbers: dict[tuple[int, ...], int] = {}
        known = (self._effects.effects_of(s - {outsider}) for s in sets)
        self._which = np.array([numbers.setdefault(n, len(numbers)) for n in known], dtype=np.intp)
        self._sets = tuple(numbers)
        width = max(1, *(len(n) for n in numbers)) if numbers else 1
        self._padded = np.zeros((len(numbers), width), dtype=np.intp)
        for row, n in zip(self._padded, numbers, strict=True):
            row[: len(n)] = n
        self._strange = np.array([outsider in s for s in sets])

    def predicts(self, measurement: Measurement) -> bool:
        """Whether anything predicts a measurement on this set-up."""
        return self._effects.axis_of(measurement) is not None

    def measurement(self, check: Check) -> Measurement | None:
        """Give what a check reads as a number; None where it counts by its findings."""
        found = self._effects.network.base.measurements[check.gauge] if check.gauge else None
        return found if found is not None and self.predicts(found) else None

    def answers(self, check: Check, on: Floats) -> list[Floats]:
        """Chance of each answer of a check, given each set; each of shape (S,).

        ``on``, shape (S, F), is the chance that each finding is there, given each set.
        """
        if check.finding:
            return self.yes_or_no(check.finding, on)
        measurement = self.measurement(check)
        if measurement is not None:
            return self.bands(check, measurement)
        return self._chosen(check, on)

    def yes_or_no(self, finding: str, on: Floats) -> list[Floats]:
        """Chance that a complaint or finding is there, and that it is not, given each set."""
        there = on[:, self._effects.network.finding_index[finding]]
        return [there, 1.0 - there]

    def _chosen(self, check: Check, on: Floats) -> list[Floats]:
        """Chance of each answer of a choice, given each set; sums to 1 over the answers."""
        rows = []
        for answer in check.answers:
            row = np.ones(len(on))
            for finding, reading in answer.shows.items():
                there, missing = self.yes_or_no(finding, on)
                row *= there if reading in {"yes", "probably"} else missing
            rows.append(row)
        total = np.sum(rows, axis=0)
        # Where a set of causes allows none of the answers, any of them may be given.
        none = total <= 0.0
        return [np.where(none, 1.0, row) / np.where(none, len(rows), total) for row in rows]

    def bands(self, check: Check, measurement: Measurement) -> list[Floats]:
        """Chance of each answer of a measured check, given each set; each of shape (S,)."""
        edges = [measurement.value(a.below) for a in check.answers if a.below is not None]
        return list(self._between(measurement, np.array(edges)))

    def readings(self, measurement: Measurement) -> Floats:
        """Chance of a reading in each of many small cells, given each set; shape (N, S).

        The cells are a quarter as wide as what scatters there, so that two laws differ over the
        cells as they do over numbers, to 0.004 in total variation. What lies beyond the plausible
        range is one cell at either end: such a reading is taken as "none", or not at all.
        """
        laws = self._laws(measurement, self._told_apart(measurement)[0])
        where = np.unique(np.concatenate([np.column_stack(law[2:]) for law in laws]), axis=0)
        edges = (where[:, :1] + where[:, 1:] * _EDGES).ravel()
        return self._between(measurement, np.unique(np.clip(edges, *plausible_range(measurement))))

    def _between(self, measurement: Measurement, edges: Floats) -> Floats:
        """Chance of a reading between each two of some rising edges; shape (len(edges) + 1, S)."""
        scale = self._effects.network.base.scale
        least, most = plausible_range(measurement)
        astray = scale.mistyped + (1.0 - scale.mistyped) * self._strange * scale.unknown.moves
        ends = np.concatenate(([-inf], edges, [inf]))[:, None]
        sets, of = self._told_apart(measurement)
        inside = self._kept(measurement, ends, sets)
        flat = np.diff(np.clip(ends, least, most), axis=0) / (most - least)
        return (1.0 - astray) * inside[of[self._which]].T + astray * flat

    def _kept(
        self, measurement: Measurement, ends: Floats, sets: Sequence[tuple[int, ...]]
    ) -> Floats:
        """Chances between some ends for sets of effects, worked out once for the same readings.

        Answers that are no readings change what is likely, not what a set would read.
        """
        taken = tuple(r for r in self._measured.readings if r.observable in self._effects.chain)
        if len(ends) > _FEW:
            return self._inside(measurement, ends, sets)
        kept = self._effects.foreseen.setdefault((measurement.id, ends.tobytes(), taken), {})
        new = [effects for effects in sets if effects not in kept]
        if new:
            kept.update(zip(new, self._inside(measurement, ends, new), strict=True))
        return np.array([kept[effects] for effects in sets])

    def _inside(
        self, measurement: Measurement, ends: Floats, sets: Sequence[tuple[int, ...]]
    ) -> Floats:
        inside = np.zeros((len(sets), len(ends) - 1))
        for which, weight, mean, deviation in self._laws(measurement, sets):
            z = (ends - mean) / deviation
            part = weight * probability_between(z[:-1], z[1:])
            np.add.at(inside, which, part.T)
        return inside

    def _told_apart(self, measurement: Measurement) -> tuple[list[tuple[int, ...]], Ints]:
        """Sets of effects that a reading, with those taken, can tell apart, and which each is."""
        axis = str(self._effects.axis_of(measurement))
        moving = np.array(self._effects.moves[axis])
        if axis in self._effects.chain:
            for reading in self._measured.readings:
                if reading.observable in self._effects.chain:
                    moving = moving | self._effects.moves[reading.observable]
        kept = np.sort(np.where(moving[self._padded], self._padded, 0), axis=1)
        first, which = distinct(kept)
        return [tuple(e for e in row if e) for row in kept[first].tolist()], which

    def _laws(
        self, measurement: Measurement, sets: Sequence[tuple[int, ...]]
    ) -> list[tuple[Ints, Floats, Floats, Floats]]:
        """Laws of the next reading: which set each is for, its weight, mean and deviation."""
        axis = str(self._effects.axis_of(measurement))
        own = instrument_uncertainty(measurement, None) ** 2
        if axis in self._effects.chain:
            mean, variance = self._next(axis, own, sets)
            every = np.arange(len(sets))
            return [(every, np.ones(len(every)), mean, np.sqrt(variance))]
        found = [
            (number, *law)
            for number, effects in enumerate(sets)
            for law in self._effects.laws(axis, effects)
        ]
        which, weight, mean, deviation = (np.array(column) for column in zip(*found, strict=True))
        return [(which.astype(np.intp), weight, mean, np.sqrt(deviation**2 + own))]

    def _next(
        self, axis: str, own: float, sets: Sequence[tuple[int, ...]]
    ) -> tuple[Floats, Floats]:
        """Mean and variance of the next reading on the chain, given those taken."""
        chain = self._effects.chain
        taken = [r for r in self._measured.readings if r.is_value and r.observable in chain]
        axes = tuple(dict.fromkeys((axis, *(r.observable for r in taken))))
        found = self._effects.predict(tuple(sets), axes)
        at = [axes.index(r.observable) for r in taken]
        mean, variance = found.mean[:, 0].copy(), found.covariance[:, 0, 0] + own
        if taken:
            spread = found.covariance[:, at][:, :, at] + np.diag([r.uncertainty**2 for r in taken])
            off = np.array([r.low for r in taken]) - found.mean[:, at]
            tied = found.covariance[:, 0, at]
            gain = np.linalg.solve(spread, tied[..., None])[..., 0]
            mean += (gain * off).sum(axis=1)
            variance -= (gain * tied).sum(axis=1)
        return mean, np.maximum(variance, own)
