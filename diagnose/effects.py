"""What causes do to readings, and what sets of causes predict for them; kept for one set-up.

A cause shifts figures of the release system, which then predicts what its gauges show, and it
shifts readings that stand alone. Causes that shift the same things by the same amounts have one
*effect*, and predictions are worked out once for each set of effects.
"""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from functools import lru_cache
from math import hypot
from threading import Lock
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.network import UNKNOWN, Network
from diagnose.physics.observables import observables_of
from diagnose.physics.predict import Predictions, Shift, predict_many
from diagnose.physics.release_system import ReleaseSystem
from diagnose.system import DISCS, kit_figure
from diagnose.tables import Floats
from knowledge import model
from knowledge.model import Measurement, Needs, shift_value
from knowledge.release import FIGURE_KINDS
from knowledge.tree import share_that_fits

_HOLDS = 0.5  # a shift counts from this share of set-ups on, where the facts leave it open
_FELT = 0.02  # in standard deviations: what moves a reading by less does not move it


class Moved(NamedTuple):
    """What a cause does to a reading that stands alone, in its inside unit, and how often."""

    measurement: str
    amount: float
    spread: float
    chance: float


class Law(NamedTuple):
    """One normal law that a reading may follow, and how often it does."""

    weight: float
    mean: float
    deviation: float


class Effect(NamedTuple):
    """All that a cause does to readings."""

    chain: tuple[Shift, ...] = ()
    alone: tuple[Moved, ...] = ()


class Effects:
    """Effects of all causes of a network on one release system.

    Attributes
    ----------
    chain : tuple of str
        Observables of the release system that some measurement reads.
    alone : tuple of str
        Measurements that stand alone.
    of_cause : ndarray of int, shape (C,)
        Number of each cause's effect; 0 for none.
    moves : dict
        For each of these axes, which effects move it noticeably; ndarray of bool, shape (E,).
    foreseen : dict
        What `diagnose.outlook` has worked out for sets of effects, kept as long as these.
    """

    def __init__(
        self, network: Network, system: ReleaseSystem | None, kit: Mapping[str, str]
    ) -> None:
        self.network, self.system = network, system
        measurements = network.base.measurements
        known = observables_of(system) if system else ()
        read = {m.model for m in measurements.values()}
        self.chain = tuple(name for name in known if name in read)
        self.alone = tuple(name for name, m in measurements.items() if m.healthy)
        self._healthy = {name: _law(measurements[name]) for name in self.alone}
        self._kit = kit
        self._facts = {**network.facts, **_arranged(system)}
        effects: dict[Effect, int] = {Effect(): 0}
        numbers = [effects.setdefault(self._effect(name), len(effects)) for name in network.causes]
        self.of_cause = np.array(numbers, dtype=np.intp)
        self._effects = tuple(effects)
        self._row: dict[tuple[int, ...], int] = {}
        self._mean = np.empty((0, len(self.chain)))
        self._covariance = np.empty((0, len(self.chain), len(self.chain)))
        self._laws: dict[tuple[str, tuple[int, ...]], tuple[Law, ...]] = {}
        self.foreseen: dict[Hashable, dict[tuple[int, ...], Floats]] = {}
        self._lock = Lock()
        self.moves = self._noticed()

    def axis_of(self, measurement: Measurement) -> str | None:
        """Give the axis a measurement reads; None if nothing predicts it on this system."""
        name = measurement.model or measurement.id
        return name if name in self.moves else None

    def predict(self, sets: Sequence[tuple[int, ...]], axes: Sequence[str]) -> Predictions:
        """Predict readings on the release system under sets of effects.

        Parameters
        ----------
        sets : sequence of tuple of int
            Numbers of effects, rising; one may come twice.
        axes : sequence of str
            Among ``chain``.

        Returns
        -------
        Predictions
        """
        with self._lock:
            rows = [self._row.get(s, -1) for s in sets]
            if -1 in rows:
                self._work_out(list(dict.fromkeys(s for s in sets if s not in self._row)))
                rows = [self._row[s] for s in sets]
            at_row = np.array(rows, dtype=np.intp)
            mean, covariance = self._mean, self._covariance
        at = np.array([self.chain.index(name) for name in axes], dtype=np.intp)
        return Predictions(
            tuple(axes), mean[np.ix_(at_row, at)], covariance[np.ix_(at_row, at, at)]
        )

    def laws(self, axis: str, effects: tuple[int, ...]) -> tuple[Law, ...]:
        """Give the laws that one reading may follow under a set of effects; the weights sum to 1.

        Where a cause moves a reading in some cases only, there is one for each state of affairs.
        """
        key = (axis, effects)
        if key not in self._laws:
            self._laws[key] = self._laws_of(axis, effects)
        return self._laws[key]

    def _laws_of(self, axis: str, effects: tuple[int, ...]) -> tuple[Law, ...]:
        if axis in self.chain:
            found = self.predict([effects], (axis,))
            return (Law(1.0, float(found.mean[0, 0]), float(np.sqrt(found.covariance[0, 0, 0]))),)
        laws = [self._healthy[axis]]
        for moved in (m for e in effects for m in self._effects[e].alone if m.measurement == axis):
            shifted = [
                Law(
                    law.weight * moved.chance,
                    law.mean + moved.amount,
                    hypot(law.deviation, moved.spread),
                )
                for law in laws
            ]
            still = [law._replace(weight=law.weight * (1.0 - moved.chance)) for law in laws]
            laws = [law for law in (*shifted, *still) if law.weight > 0.0]
        return tuple(laws)

    def effects_of(self, causes: Iterable[int]) -> tuple[int, ...]:
        """Give the numbers of the effects that some causes (indices) have together."""
        return tuple(sorted(int(self.of_cause[c]) for c in causes if self.of_cause[c]))

    def shifts(self, effects: Iterable[int]) -> tuple[Shift, ...]:
        """Give what some effects do, together, to the figures of the release system."""
        return tuple(shift for e in effects for shift in self._effects[e].chain)

    def _work_out(self, sets: Sequence[tuple[int, ...]]) -> None:
        if self.system is None:
            raise AssertionError(sets)  # without a system there are no axes to predict
        found = predict_many(self.system, self.chain, [self.shifts(s) for s in sets])
        first = len(self._row)
        self._row.update((s, first + i) for i, s in enumerate(sets))
        self._mean = np.concatenate((self._mean, found.mean))
        self._covariance = np.concatenate((self._covariance, found.covariance))

    def _noticed(self) -> dict[str, NDArray[np.bool_]]:
        noticed: dict[str, NDArray[np.bool_]] = {}
        numbers = range(1, len(self._effects))
        if self.chain:
            found = self.predict([(), *((e,) for e in numbers)], self.chain)
            spread = np.sqrt(np.einsum("hii->hi", found.covariance))
            unit = np.maximum(spread[0], 1e-12)
            shifted = np.abs(found.mean - found.mean[0]) > _FELT * unit
            moved = shifted | (np.abs(spread - spread[0]) > _FELT * unit)
            noticed.update(zip(self.chain, moved.T, strict=True))
        for name in self.alone:
            named = [any(m.measurement == name for m in e.alone) for e in self._effects]
            noticed[name] = np.array(named)
        return noticed

    def _effect(self, name: str) -> Effect:
        if name == UNKNOWN:
            return Effect()
        base, facts = self.network.base, self._facts
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
                        chance = base.scale.strength[shift.chance] if shift.chance else 1.0
                        alone.append(Moved(target, amount, spread, chance))
        return Effect(tuple(chain), tuple(alone))

    def _amount(self, shift: model.Shift, unit: str) -> float:
        if shift.by is not None:
            return shift_value(shift.by, unit)
        name = str(shift.kit)
        if self.system is None:
            return 0.0  # the size of a part that nobody knows
        return shift.times * kit_figure(self.system, self._kit, name)


def _law(measurement: Measurement) -> Law:
    healthy = measurement.healthy
    if healthy is None:
        raise AssertionError(measurement.id)
    return Law(1.0, measurement.value(healthy.mean), measurement.spread(healthy.spread))


def _arranged(system: ReleaseSystem | None) -> Needs:
    """Facts that a release system settles where the set-up leaves them open."""
    if system is None:
        return {}
    discs = next(name for name, number in DISCS.items() if number == system.discs)
    return {
        "release": (system.linkage,),
        "fork": (system.fork,),
        "cover": (system.cover,),
        "discs": (discs,),
    }


@lru_cache(maxsize=16)
def _kept(
    network: Network, system: ReleaseSystem | None, kit: tuple[tuple[str, str], ...]
) -> Effects:
    return Effects(network, system, dict(kit))


def effects_for(network: Network, system: ReleaseSystem | None, kit: Mapping[str, str]) -> Effects:
    """Give the effects of a network's causes on a system, or those worked out before."""
    return _kept(network, system, tuple(sorted(kit.items())))
