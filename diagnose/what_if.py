"""What if: just these causes, and figures of the release system moved by hand.

Chances come from the network that the diagnosis uses, given that exactly the chosen causes are
there; readings follow the laws that the diagnosis weighs readings by (`diagnose.effects`). A figure
that is slid is moved by a known amount, with no spread of its own. What a slid figure does to
complaints is what the release model says of its own margins: a plate that no longer clears, a
clutch that holds less than the engine gives, a bearing that is never free, fingers pressed too far,
a bite at the very bottom or top of the pedal. The chance by which a margin is broken *more* than
without the slide brings what lies beyond it; with nothing slid that is none, and the chances are
the network's own.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np

from diagnose.assess import network_for
from diagnose.case import Case
from diagnose.effects import Effects, Law, effects_for
from diagnose.network import UNKNOWN, Network
from diagnose.physics.normal import cdf
from diagnose.physics.predict import Shift, predict, predict_many
from diagnose.physics.uncertainty import nearly_all
from diagnose.readings import instrument_uncertainty
from diagnose.sliders import MARGINS, SLIDERS, Slider
from diagnose.system import system_of
from diagnose.tables import Floats
from knowledge.model import KnowledgeBase, Measurement
from knowledge.tree import Tree, share_that_fits

_STILL = 1e-9  # what moves a reading by less leaves it alone


@dataclass(frozen=True)
class Chance:
    """A complaint or finding, its chance in this state, and on a vehicle without a fault."""

    id: str
    name: str
    p: float
    healthy: float


@dataclass(frozen=True)
class Reading:
    """What a gauge would show in this state, and on a vehicle without a fault.

    Attributes
    ----------
    measurement : Measurement
    laws, healthy : tuple of Law
        With the instrument that is usually taken; the weights sum to 1. The first is that where
        the causes have moved the reading.
    band, healthy_band : tuple of float
        Low end, middle, high end of what holds 9 of 10 readings by the first law; inside unit.
    moved : float
        By how many of the healthy law's deviations the middle has moved, each law by its weight.
    """

    measurement: Measurement
    laws: tuple[Law, ...]
    healthy: tuple[Law, ...]
    band: tuple[float, float, float]
    healthy_band: tuple[float, float, float]
    moved: float


class WhatIf:
    """What follows from chosen causes and slid figures on one set-up.

    Parameters
    ----------
    network : Network
    effects : Effects
        Of the same set-up.
    """

    def __init__(self, network: Network, effects: Effects) -> None:
        self.network, self.effects = network, effects
        base, facts = network.base, network.facts
        self._tree = Tree(base, facts)
        self._taken = {
            check.gauge
            for check in base.checks.values()
            if check.gauge is not None and share_that_fits(base, facts, check.when) > 0.0
        }

    @classmethod
    def of(cls, base: KnowledgeBase, case: Case) -> "WhatIf":
        """Make it for the set-up of a case, from what its diagnosis is made from."""
        facts = tuple(sorted((name, tuple(values)) for name, values in case.facts.items()))
        network = network_for(base, facts)
        return cls(network, effects_for(network, system_of(case), case.kit))

    @property
    def causes(self) -> tuple[str, ...]:
        """Ids of the causes that can be chosen."""
        return tuple(name for name in self.network.causes if name != UNKNOWN)

    def sliders(self) -> tuple[Slider, ...]:
        """Give what can be slid: what moves anything on this release system."""
        system = self.effects.system
        if system is None:
            return ()
        names = tuple(dict.fromkeys((*self.effects.chain, *(m.observable for m in MARGINS))))
        cases = [_moved({s.id: end}) for s in SLIDERS.values() for end in (s.low, s.high)]
        found = predict_many(system, names, ((), *cases)).mean
        moving = (np.abs(found[1:] - found[0]) > _STILL).any(axis=1).reshape(-1, 2).any(axis=1)
        return tuple(s for s, moves in zip(SLIDERS.values(), moving, strict=True) if moves)

    def chances(
        self, causes: Iterable[str] = (), slid: Mapping[str, float] | None = None
    ) -> tuple[Chance, ...]:
        """Give the chance of each complaint and finding when exactly some causes are there.

        Parameters
        ----------
        causes : iterable of str
            Ids; none is the healthy vehicle.
        slid : Mapping, optional
            Slider id -> how far, in its unit.

        Returns
        -------
        tuple of Chance
            In the order of the network.

        Raises
        ------
        KeyError
            If the set-up rules a cause out, or there is no such slider.
        """
        chosen = frozenset(self.network.cause_index[name] for name in causes)
        there, healthy = chances_on(self.network, [chosen, frozenset()])
        missed = 1.0 - there
        for name, more in self._broken(chosen, _moved(slid)).items():
            # A margin is broken or not: in the first case what is beyond it brings what it brings.
            reach = self._tree.reach((name,))
            brought = np.array([reach.get(finding, 0.0) for finding in self.network.findings])
            missed = missed * (1.0 - more * brought)
        base = self.network.base
        rows = zip(self.network.findings, 1.0 - missed, healthy, strict=True)
        return tuple(
            Chance(name, base.observable(name).name, float(p), float(before))
            for name, p, before in rows
        )

    def _broken(self, chosen: frozenset[int], moved: Sequence[Shift]) -> dict[str, float]:
        """Chance that a slide breaks a margin that holds without it, by what lies beyond it."""
        system = self.effects.system
        if system is None or not moved:
            return {}
        margins = [m for m in MARGINS if self._has(m.brings)]
        shifts = self.effects.shifts(self.effects.effects_of(chosen))
        broken = []
        for some in ((*shifts, *moved), shifts):
            found = predict(system, [m.observable for m in margins], some)
            deviation = np.sqrt(np.diag(found.covariance[0]))
            deviation = np.maximum(deviation, 1e-12)
            below = np.array([m.least for m in margins]) - found.mean[0]
            above = found.mean[0] - np.array([m.most for m in margins])
            broken.append(cdf(below / deviation) + cdf(above / deviation))
        after, before = broken
        more = np.maximum(0.0, after - before) / np.maximum(1.0 - before, 1e-12)
        return {m.brings: float(p) for m, p in zip(margins, more, strict=True) if p > 0.0}

    def _has(self, name: str) -> bool:
        """Whether the set-up knows a mechanism, complaint or finding."""
        network = self.network
        return name in network.base.mechanisms or name in network.finding_index

    def readings(
        self, causes: Iterable[str] = (), slid: Mapping[str, float] | None = None
    ) -> tuple[Reading, ...]:
        """Give what each gauge would show when exactly some causes are there.

        Takes and refuses what `chances` does.

        Returns
        -------
        tuple of Reading
            Every measurement that can be taken on this set-up and that anything predicts, in the
            order of the base.
        """
        chosen = frozenset(self.network.cause_index[name] for name in causes)
        numbers = self.effects.effects_of(chosen)
        chain = self._chain(numbers, _moved(slid))
        found = []
        for record in self.network.base.measurements.values():
            axis = self.effects.axis_of(record)
            if axis is None or record.id not in self._taken:
                continue
            if axis in chain:
                laws: tuple[Law, ...] = (chain[axis],)
            else:
                off = sum(SLIDERS[n].readings.get(axis, 0.0) * v for n, v in (slid or {}).items())
                kept = self.effects.laws(axis, numbers)
                laws = tuple(law._replace(mean=law.mean + off) for law in kept)
            found.append(_reading(record, laws, self.effects.laws(axis, ())))
        return tuple(found)

    def _chain(self, numbers: tuple[int, ...], moved: Sequence[Shift]) -> dict[str, Law]:
        """Give the laws of what is read on the release system, without the instrument."""
        system, names = self.effects.system, self.effects.chain
        if system is None or not names:
            return {}
        found = (
            predict(system, names, (*self.effects.shifts(numbers), *moved))
            if moved
            else self.effects.predict([numbers], names)
        )
        deviation = np.sqrt(np.diag(found.covariance[0]))
        rows = zip(names, found.mean[0].tolist(), deviation.tolist(), strict=True)
        return {name: Law(1.0, mean, spread) for name, mean, spread in rows}


def _moved(slid: Mapping[str, float] | None) -> tuple[Shift, ...]:
    """Give slides as shifts of figures; one that is not moved is none."""
    return tuple(
        Shift(figure, share * amount)
        for name, amount in (slid or {}).items()
        for figure, share in SLIDERS[name].figures.items()
        if amount
    )


def _reading(record: Measurement, laws: tuple[Law, ...], healthy: tuple[Law, ...]) -> Reading:
    own = instrument_uncertainty(record, None)

    def read(some: tuple[Law, ...]) -> tuple[Law, ...]:
        return tuple(law._replace(deviation=hypot(law.deviation, own)) for law in some)

    told, usual = read(laws), read(healthy)
    middle = sum(law.weight * law.mean for law in told)
    usual_middle = sum(law.weight * law.mean for law in usual)
    return Reading(
        record,
        told,
        usual,
        _band(told[0]),
        _band(usual[0]),
        (middle - usual_middle) / usual[0].deviation,
    )


def _band(law: Law) -> tuple[float, float, float]:
    low, high = nearly_all(law.mean, law.deviation)
    return low, law.mean, high


def chances_on(network: Network, sets: Sequence[frozenset[int]]) -> Floats:
    """Chance of each complaint and finding, given that just these causes are there.

    Parameters
    ----------
    network : Network
    sets : sequence of frozenset of int
        Indices of causes.

    Returns
    -------
    ndarray, shape (S, F)
        With the leak: what nothing in the set brings may be there all the same.
    """
    missed = np.ones((len(sets), len(network.findings)))
    for number, causes in enumerate(sets):
        alone = set(causes)
        for group in network.groups:
            members = causes.intersection(group.members)
            if len(members) > 1:
                alone -= members
                missed[number] *= 1.0 - group.together[members]
        missed[number] *= np.prod(1.0 - network.q[sorted(alone)], axis=0)
    return np.asarray(1.0 - (1.0 - network.leak) * missed)
