"""What a gauge that has not been read yet would show, for each set of causes that is believed in.

The readings taken already narrow it: a fork that stands where it should makes the next reading
near it less of a riddle. Ranges that were read are left out of that.
"""

from collections.abc import Sequence

import numpy as np

from diagnose.gauge import band, plausible_range
from diagnose.network import UNKNOWN
from diagnose.physics.normal import probability_between
from diagnose.readings import ReadingEvidence, instrument_uncertainty
from diagnose.tables import Floats
from diagnose.together import Ints
from knowledge.model import Check, Measurement


class Outlook:
    """Bands of coming readings under sets of causes.

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
        self._which = [numbers.setdefault(n, len(numbers)) for n in known]
        self._sets = tuple(numbers)
        self._strange = np.array([outsider in s for s in sets])

    def predicts(self, measurement: Measurement) -> bool:
        """Whether anything predicts a measurement on this set-up."""
        return self._effects.axis_of(measurement) is not None

    def bands(self, check: Check, measurement: Measurement) -> list[Floats]:
        """Chance of each answer of a measured check, given each set; each of shape (S,)."""
        laws = self._laws(measurement)
        scale = self._effects.network.base.scale
        least, most = plausible_range(measurement)
        astray = scale.mistyped + (1.0 - scale.mistyped) * self._strange * scale.unknown.moves
        rows = []
        for answer in check.answers:
            span = band(measurement, answer)
            inside = np.zeros(len(self._sets))
            for which, weight, mean, deviation in laws:
                part = probability_between(
                    (span.low - mean) / deviation, (span.high - mean) / deviation
                )
                np.add.at(inside, which, weight * part)
            flat = max(0.0, min(span.high, most) - max(span.low, least)) / (most - least)
            rows.append((1.0 - astray) * inside[self._which] + astray * flat)
        return rows

    def _laws(self, measurement: Measurement) -> list[tuple[Ints, Floats, Floats, Floats]]:
        """Laws of the next reading: which set each is for, its weight, mean and deviation."""
        axis = str(self._effects.axis_of(measurement))
        own = instrument_uncertainty(measurement, None) ** 2
        if axis in self._effects.chain:
            mean, variance = self._next(axis, own)
            every = np.arange(len(self._sets))
            return [(every, np.ones(len(every)), mean, np.sqrt(variance))]
        found = [
            (number, *law)
            for number, effects in enumerate(self._sets)
            for law in self._effects.laws(axis, effects)
        ]
        which, weight, mean, deviation = (np.array(column) for column in zip(*found, strict=True))
        return [(which.astype(np.intp), weight, mean, np.sqrt(deviation**2 + own))]

    def _next(self, axis: str, own: float) -> tuple[Floats, Floats]:
        """Mean and variance of the next reading on the chain, given those taken."""
        chain = self._effects.chain
        taken = [r for r in self._measured.readings if r.is_value and r.observable in chain]
        axes = tuple(dict.fromkeys((axis, *(r.observable for r in taken))))
        found = self._effects.predict(self._sets, axes)
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
