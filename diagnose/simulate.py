"""Comebacks drawn from the base, as the inference takes them to come about.

Causes are drawn by their priors (never none at all), complaints and findings by the links of the
causes that are there and by their leaks, and gauges from one release system whose figures scatter
and are shifted by the causes: through the release model itself, not through its linearised law.
Each thing is there or not, and each gauge shows what it shows: whoever looks twice sees the same.

Three things the base leaves open. What was done at the job has no prior, so nobody tells of work.
The answers of a choice compete: each is given in proportion to how well it fits all that is there,
as the planner foresees it, while the inference weighs the one that was given by itself. And a
driver tells some of what is there; that he is silent about the rest is no evidence to the
inference, though it would be some. Only who is asked about complaints that were picked beforehand,
and says yes or no to each, tells no more than his answers.

References
----------
Drawing from the model to test the inference: Cook, Gelman and Rubin (2006), Validation of software
for Bayesian models, Journal of Computational and Graphical Statistics 15(3).
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import floor, log10
from zlib import crc32

import numpy as np
from numpy.random import Generator, default_rng
from numpy.typing import NDArray

from diagnose.assess import network_for
from diagnose.case import Case, Entry
from diagnose.effects import Effects, effects_for
from diagnose.errors import ContradictionError, UnknownIdError
from diagnose.gauge import answer_for_reading, plausible_range
from diagnose.network import UNKNOWN, Network
from diagnose.noisy_or import Modes
from diagnose.physics.figures import FIGURE_NAMES, HIGHEST, LOWEST
from diagnose.physics.observables import read_many
from diagnose.readings import instrument_uncertainty
from diagnose.system import system_of
from knowledge.model import Check, CheckAnswer, KnowledgeBase, Measurement
from knowledge.quantity import in_unit

_CANT_TELL = "can't tell"
_TRIES = 100_000


@dataclass(frozen=True)
class Manner:
    """How people answer.

    Attributes
    ----------
    most_told : int
        The driver tells one to so many of the complaints that are there.
    blank : float
        Share of checks that nobody can tell anything from, whatever is there.
    hesitant : float
        Share of looks that end in "probably" where the finding is there, and in "probably not"
        where it is not; the other way round so much less often as the scale's ratios say.
    """

    most_told: int = 3
    blank: float = 0.05
    hesitant: float = 0.15


@dataclass(frozen=True, eq=False)
class Comeback:
    """One comeback with all that is true of it; any answer can be asked for, in any order.

    Attributes
    ----------
    start : Case
        The set-up, before anybody has said anything.
    network : Network
    causes : frozenset of str
        What is wrong; `UNKNOWN` may be among it.
    there : frozenset of str
        Complaints and findings that are there.
    told : tuple of str
        Complaints that the driver tells.
    seed : int
        What all answers hang on.
    manner : Manner
    """

    start: Case
    network: Network
    causes: frozenset[str]
    there: frozenset[str]
    told: tuple[str, ...]
    seed: int
    manner: Manner = Manner()

    @property
    def complaints(self) -> tuple[str, ...]:
        """All complaints that are there."""
        return tuple(name for name in self.network.base.complaints if name in self.there)

    @cached_property
    def case(self) -> Case:
        """The case as it starts: the set-up, and what the driver tells."""
        case = self.start
        for complaint in self.told:
            case = case.with_entry(self.ask(complaint))
        return case

    def ask(self, complaint: str) -> Entry:
        """Give the driver's answer when he is asked about a complaint."""
        return Entry(complaint=complaint, answer="yes" if complaint in self.there else "no")

    def answer(self, check: str) -> Entry:
        """Give what a check shows.

        Parameters
        ----------
        check : str
            Id of a check that fits the set-up.

        Returns
        -------
        Entry
            With a reading where the set-up predicts what the check measures.

        Raises
        ------
        KeyError
            If the base has no such check.
        """
        base = self.network.base
        record = base.checks[check]
        if self._chance("blank", check).random() < self.manner.blank:
            return Entry(check=check, answer=_CANT_TELL)
        if record.finding is not None:
            return Entry(check=check, answer=self._graded(record.finding))
        measurement = base.measurements[record.gauge] if record.gauge else None
        axis = self._effects.axis_of(measurement) if measurement else None
        if measurement is None or axis is None:
            return Entry(check=check, answer=self._chosen(record))
        text = self._read(check, measurement, axis)
        answer = answer_for_reading(base, record, text)
        return Entry(check=check, answer=answer.id, reading=text)

    def value(self, measurement: str) -> float | None:
        """Give the true value of a measurement, in its inside unit.

        Returns
        -------
        float or None
            None if nothing predicts it on this set-up.
        """
        axis = self._effects.axis_of(self.network.base.measurements[measurement])
        return None if axis is None else self._value(axis)

    def _graded(self, finding: str) -> str:
        """Answer about one finding: sure, or in doubt as often as the ratios of the scale say."""
        ratio, hint = self.network.base.scale.answer, self.manner.hesitant
        if finding in self.there:
            sure, right, wrong, slip = "yes", "probably", "probably not", ratio["probably not"]
        else:
            sure, right, wrong, slip = "no", "probably not", "probably", 1.0 / ratio["probably"]
        drawn = self._chance("finding", finding).random()
        if drawn < hint:
            return right
        return wrong if drawn < hint * (1.0 + slip) else sure

    def _chosen(self, check: Check) -> str:
        """Answer a choice; where none of the answers fits what is there, nobody can tell."""
        fit = np.array([self._fit(answer) for answer in check.answers])
        if not fit.any():
            return _CANT_TELL
        drawn = self._chance("choice", check.id).choice(len(fit), p=fit / fit.sum())
        return check.answers[int(drawn)].id

    def _fit(self, answer: CheckAnswer) -> float:
        """How well an answer fits the findings that are there, by the ratios of the scale."""
        fit = 1.0
        for finding, word in answer.shows.items():
            there = finding in self.there
            if word == "yes":
                fit *= there
            elif word == "no":
                fit *= not there
            else:
                ratio = self.network.base.scale.answer[word]
                fit *= (ratio if there else 1.0) / (1.0 + ratio)
        return fit

    def _read(self, check: str, measurement: Measurement, axis: str) -> str:
        """Read a gauge, with what the instrument adds; a few readings are slips, or riddles."""
        scale = self.network.base.scale
        strange = scale.unknown.moves if UNKNOWN in self.causes else 0.0
        chance = self._chance("reading", check)
        least, most = plausible_range(measurement)
        uncertainty = instrument_uncertainty(measurement, None)
        if chance.random() < scale.mistyped + (1.0 - scale.mistyped) * strange:
            return _typed(measurement, float(chance.uniform(least, most)), uncertainty)
        return _typed(measurement, chance.normal(self._value(axis), uncertainty), uncertainty)

    def _value(self, axis: str) -> float:
        if axis in self._chain:
            return self._chain[axis]
        laws = self._effects.laws(axis, self._numbers)
        chance = self._chance("value", axis)
        law = laws[chance.choice(len(laws), p=[law.weight for law in laws])]
        return float(chance.normal(law.mean, law.deviation))

    @cached_property
    def _chain(self) -> Mapping[str, float]:
        """What can be read on the release system of this very vehicle."""
        system, names = self._effects.system, self._effects.chain
        if system is None:
            return {}
        chance = self._chance("system")
        scatter = system.uncertainty * chance.standard_normal(len(FIGURE_NAMES))
        figures = system.nominal + scatter
        for shift in self._effects.shifts(self._numbers):
            figures[FIGURE_NAMES.index(shift.figure)] += chance.normal(shift.amount, shift.spread)
        figures = np.clip(figures, LOWEST, HIGHEST)
        values = read_many(system, names, figures[:, np.newaxis])
        return dict(zip(names, values[:, 0].tolist(), strict=True))

    @cached_property
    def _effects(self) -> Effects:
        return effects_for(self.network, system_of(self.start), self.start.kit)

    @cached_property
    def _numbers(self) -> tuple[int, ...]:
        return self._effects.effects_of(self.network.cause_index[name] for name in self.causes)

    def _chance(self, *of: str) -> Generator:
        """Chance of one thing's own, so that it does not matter what was asked before."""
        return default_rng([self.seed, crc32(" ".join(of).encode())])


def draw(
    base: KnowledgeBase,
    start: Case,
    rng: Generator,
    *,
    causes: Collection[str] | None = None,
    manner: Manner = Manner(),
) -> Comeback:
    """Draw a comeback; the driver has at least one complaint.

    Parameters
    ----------
    base : KnowledgeBase
    start : Case
        The set-up, its facts and the figures of the kit's sheet; without entries.
    rng : Generator
    causes : collection of str, optional
        Just these, instead of causes drawn by their rates.
    manner : Manner

    Returns
    -------
    Comeback

    Raises
    ------
    UnknownIdError
        If the set-up does not allow one of the causes.
    ContradictionError
        If they bring no complaint.
    """
    network = network_for(base, tuple(sorted((k, tuple(v)) for k, v in start.facts.items())))
    given = None if causes is None else _mask(network, causes)
    for _ in range(_TRIES):
        present = given if given is not None else rng.random(len(network.prior)) < network.prior
        if given is None and not present.any():  # a comeback has a cause
            continue
        there = rng.random(len(network.findings)) < _chances(network, present)
        found = [name for name, on in zip(network.findings, there, strict=True) if on]
        complaints = [name for name in found if name in base.complaints]
        if complaints:
            number = int(rng.integers(1, manner.most_told, endpoint=True))
            told = rng.permutation(complaints)[:number].tolist()
            return Comeback(
                start,
                network,
                frozenset(network.causes[i] for i in np.flatnonzero(present)),
                frozenset(found),
                tuple(told),
                int(rng.integers(2**63)),
                manner,
            )
    raise ContradictionError("Nothing that is wrong here brings a complaint.", "")


def _mask(network: Network, causes: Collection[str]) -> NDArray[np.bool_]:
    mask = np.zeros(len(network.causes), dtype=bool)
    for name in causes:
        if name not in network.cause_index:
            raise UnknownIdError(f"The set-up knows no cause {name!r}.", "Choose one it allows.")
        mask[network.cause_index[name]] = True
    return mask


def _chances(network: Network, present: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Chance of each finding if just these causes are present; shape (F,)."""
    modes, first, component = _modes(network)
    fitting = np.where((modes.present & ~present).any(axis=1), -1, modes.present.sum(axis=1))
    largest = np.maximum.reduceat(fitting, first)  # of each component, all that is present of it
    on = modes.q[(fitting == largest[component]) & (fitting > 0)]
    chances: NDArray[np.float64] = 1.0 - (1.0 - network.leak) * np.prod(1.0 - on, axis=0)
    return chances


@lru_cache(maxsize=8)
def _modes(network: Network) -> tuple[Modes, NDArray[np.intp], NDArray[np.intp]]:
    """Modes of a network, where each component starts, and which component each is of."""
    modes = network.modes(network.prior)
    first = np.flatnonzero(np.diff(modes.component, prepend=-1))
    return modes, first, np.cumsum(np.isin(np.arange(len(modes.component)), first)) - 1


def _typed(measurement: Measurement, value: float, uncertainty: float) -> str:
    """Write a reading to a third of its uncertainty or finer; beyond all readings, as their end."""
    least, most = plausible_range(measurement)
    if not least < value < most:
        return measurement.plausible[0 if value <= least else 1]
    unit = measurement.unit
    places = -floor(log10((in_unit(uncertainty, unit) - in_unit(0.0, unit)) / 3.0))
    number = round(in_unit(value, unit), places) + 0.0  # no "-0"
    return f"{number:.{max(places, 0)}f} {unit}"
