"""What causes do to readings, and what sets of causes predict for them; kept for one set-up.

A cause shifts figures of the release system, which then predicts what its gauges show, and it
shifts readings that stand alone. Causes that shift the same things by the same amounts have one
*effect*, and predictions are worked out once for each set of effects.
"""

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from threading import Lock
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.network import UNKNOWN, Network
from diagnose.physics.observables import observables_of
from diagnose.physics.predict import Predictions, Shift, predict_many
from diagnose.physics.release_system import ReleaseSystem
from diagnose.system import kit_figure
from knowledge import model
from knowledge.model import Measurement, shift_value
from knowledge.release import FIGURE_KINDS
from knowledge.tree import share_that_fits

_HOLDS = 0.5  # a shift counts from this share of set-ups on, where the facts leave it open
_FELT = 0.02  # in standard deviations: what moves a reading by less does not move it


class Moved(NamedTuple):
    """What a cause does to a reading that stands alone, in its inside unit."""

    measurement: str
    amount: float
    spread: float


class Effect(NamedTuple):
    """All that a cause does to readings."""

    chain: tuple[Shift, ...] = ()
    alone: tuple[Moved, ...] = ()


class Effects:
    """Effects of all causes of a network on one release system.

    Attributes
    ----------
    axes : tuple of str
        What can be predicted: observables of the release system that some measurement reads, and
        measurements that stand alone.
    of_cause : ndarray of int, shape (C,)
        Number of each cause's effect; 0 for none.
    moves : ndarray of bool, shape (E, n)
        Which axes each effect moves noticeably.
    """

    def __init__(
        self, network: Network, system: ReleaseSystem | None, kit: Mapping[str, str]
    ) -> None:
        self.network, self.system = network, system
        measurements = network.base.measurements
        known = observables_of(system) if system else ()
        read = {m.model for m in measurements.values()}
        self._chain = tuple(name for name in known if name in read)
        self._alone = tuple(name for name, m in measurements.items() if m.healthy)
        self.axes = (*self._chain, *self._alone)
        laws = [_law(measurements[name]) for name in self._alone]
        self._law = np.array(laws, dtype=float).reshape(len(laws), 2)
        self._kit = kit
        effects: dict[Effect, int] = {Effect(): 0}
        numbers = [effects.setdefault(self._effect(name), len(effects)) for name in network.causes]
        self.of_cause = np.array(numbers, dtype=np.intp)
        self._effects = tuple(effects)
        self._row: dict[tuple[int, ...], int] = {}
        self._mean = np.empty((0, len(self.axes)))
        self._covariance = np.empty((0, len(self.axes), len(self.axes)))
        self._lock = Lock()
        self.moves = self._noticed()

    def axis_of(self, measurement: Measurement) -> str | None:
        """Give the axis a measurement reads; None if nothing predicts it on this system."""
        name = measurement.model or measurement.id
        return name if name in self.axes else None

    def predict(self, sets: Sequence[tuple[int, ...]], axes: Sequence[str]) -> Predictions:
        """Predict readings under sets of effects.

        Parameters
        ----------
        sets : sequence of tuple of int
            Numbers of effects, rising; one may come twice.
        axes : sequence of str

        Returns
        -------
        Predictions
        """
        with self._lock:
            new = list(dict.fromkeys(s for s in sets if s not in self._row))
            if new:
                self._work_out(new)
            rows = np.array([self._row[s] for s in sets], dtype=np.intp)
            mean, covariance = self._mean, self._covariance
        at = np.array([self.axes.index(name) for name in axes], dtype=np.intp)
        return Predictions(tuple(axes), mean[np.ix_(rows, at)], covariance[np.ix_(rows, at, at)])

    def effects_of(self, causes: Iterable[int]) -> tuple[int, ...]:
        """Give the numbers of the effects that some causes (indices) have together."""
        return tuple(sorted(int(self.of_cause[c]) for c in causes if self.of_cause[c]))

    def _work_out(self, sets: Sequence[tuple[int, ...]]) -> None:
        chosen = [[self._effects[e] for e in numbers] for numbers in sets]
        chain, n = len(self._chain), len(self.axes)
        mean = np.zeros((len(sets), n))
        covariance = np.zeros((len(sets), n, n))
        if self.system is not None and chain:
            shifts = [[shift for effect in effects for shift in effect.chain] for effects in chosen]
            found = predict_many(self.system, self._chain, shifts)
            mean[:, :chain] = found.mean
            covariance[:, :chain, :chain] = found.covariance
        place = {name: chain + i for i, name in enumerate(self._alone)}
        mean[:, chain:] = self._law[:, 0]
        variance = np.tile(self._law[:, 1] ** 2, (len(sets), 1))
        for row, effects in enumerate(chosen):
            for moved in (moved for effect in effects for moved in effect.alone):
                mean[row, place[moved.measurement]] += moved.amount
                variance[row, place[moved.measurement] - chain] += moved.spread**2
        at = np.arange(chain, n)
        covariance[:, at, at] = variance
        first = len(self._row)
        self._row.update((s, first + i) for i, s in enumerate(sets))
        self._mean = np.concatenate((self._mean, mean))
        self._covariance = np.concatenate((self._covariance, covariance))

    def _noticed(self) -> NDArray[np.bool_]:
        alone = self.predict([(), *((e,) for e in range(1, len(self._effects)))], self.axes)
        spread = np.sqrt(np.einsum("hii->hi", alone.covariance))
        unit = np.maximum(spread[0], 1e-12)
        shifted = np.abs(alone.mean - alone.mean[0]) > _FELT * unit
        wider = np.abs(spread - spread[0]) > _FELT * unit
        noticed: NDArray[np.bool_] = shifted | wider
        return noticed

    def _effect(self, name: str) -> Effect:
        if name == UNKNOWN:
            return Effect()
        base, facts = self.network.base, self.network.facts
        chain, alone = [], []
        for target, shifts in base.causes[name].shifts.items():
            on_chain = target in FIGURE_KINDS
            if on_chain and self.system is None:
                continue
            unit = FIGURE_KINDS[target].unit if on_chain else base.measurements[target].unit
            for shift in shifts:
                if share_that_fits(base, facts, shift.when) >= _HOLDS:
                    amount = self._amount(shift, unit)
                    spread = shift_value(shift.spread, unit)
                    if on_chain:
                        chain.append(Shift(target, amount, spread))
                    else:
                        alone.append(Moved(target, amount, spread))
        return Effect(tuple(chain), tuple(alone))

    def _amount(self, shift: model.Shift, unit: str) -> float:
        if shift.by is not None:
            return shift_value(shift.by, unit)
        name = str(shift.kit)
        if self.system is None:
            return 0.0  # the size of a part that nobody knows
        return shift.times * kit_figure(self.system, self._kit, name)


def _law(measurement: Measurement) -> tuple[float, float]:
    healthy = measurement.healthy
    if healthy is None:
        raise AssertionError(measurement.id)
    return measurement.value(healthy.mean), measurement.spread(healthy.spread)


@lru_cache(maxsize=16)
def _kept(
    network: Network, system: ReleaseSystem | None, kit: tuple[tuple[str, str], ...]
) -> Effects:
    return Effects(network, system, dict(kit))


def effects_for(network: Network, system: ReleaseSystem | None, kit: Mapping[str, str]) -> Effects:
    """Give the effects of a network's causes on a system, or those worked out before."""
    return _kept(network, system, tuple(sorted(kit.items())))
