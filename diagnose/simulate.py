"""Comebacks drawn from the base, as the inference takes them to come about.

Causes are drawn by their priors (never none at all), complaints and findings by the links of the
causes that are there and by their leaks, and gauges from one release system whose figures scatter
and are shifted by the causes: through the release model itself, not through its linearised law.
Each thing is there or not, and each gauge shows what it shows: whoever looks twice sees the same.

A comeback can be mended. A noisy-OR says that each cause that is there, or group of causes that
act together, and the leak turns a finding on or not, each for itself. So every finding that is
there has been drawn with what turned it on, and taking causes away leaves just what the others
turned on. Each source has one uniform number, and turns the finding on iff that lies below its
chance: of a group the chance falls as members are taken away, and what was off is never turned on.

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

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from hashlib import blake2b
from itertools import accumulate, combinations
from math import floor, log10, sqrt
from typing import NamedTuple
from zlib import crc32

import numpy as np
from numpy.random import Generator, default_rng
from numpy.typing import NDArray

from diagnose.assess import network_for
from diagnose.case import Case, Entry
from diagnose.effects import Effects, Law, effects_for
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
class Origin:
    """What a comeback was when it came in; all its mended states share it.

    Attributes
    ----------
    network : Network
    present : ndarray of bool, shape (C,)
        Causes that were there.
    there : ndarray of bool, shape (F,)
        Complaints and findings that were there.
    seed : int
    """

    network: Network
    present: NDArray[np.bool_]
    there: NDArray[np.bool_]
    seed: int

    @cached_property
    def states(self) -> dict[frozenset[str], "Comeback"]:
        """States of the vehicle that were worked out already, by the causes that are left."""
        return {}

    @cached_property
    def causes(self) -> tuple[int, ...]:
        """Causes (indices) that were there, in the order of the network."""
        return tuple(np.flatnonzero(self.present).tolist())

    def still_there(self, present: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Which findings are there when only some of the causes are left; shape (F,)."""
        q = _sources(self.network, present, self._components)
        return np.asarray((self._numbers < q).any(axis=0))

    def members(self, findings: Collection[int]) -> tuple[int, ...]:
        """Causes (indices) that turn on any of some findings, alone or in their group."""
        q = _sources(self.network, self.present, self._components)
        on = (self._numbers < q)[:-1, list(findings)].any(axis=1)
        modes, _, component = _modes(self.network)
        mine = np.isin(component, self._components[on])
        return tuple(np.flatnonzero(modes.present[mine].any(axis=0) & self.present).tolist())

    @cached_property
    def _components(self) -> NDArray[np.intp]:
        """Components of the causes that were there; shape (K,)."""
        modes, _, component = _modes(self.network)
        return np.unique(component[(modes.present & self.present).any(axis=1)])

    @cached_property
    def _numbers(self) -> NDArray[np.float64]:
        """The uniform number of each source of each finding, the leak last; shape (K + 1, F).

        Of a finding that is there, the first source that turned it on is drawn by what it adds to
        the chance, those before it are off, and those after it are as free as ever.
        """
        q = _sources(self.network, self.present, self._components)
        chances = 1.0 - np.cumprod(1.0 - q, axis=0)  # that one of the first k turns it on
        rng = default_rng([self.seed, crc32(b"sources")])
        first = (rng.random(len(self.there)) * chances[-1] >= chances[:-1]).sum(axis=0)
        row, free = np.arange(len(q))[:, None], rng.random(q.shape)
        off = (row < first) | ~self.there
        return np.where(off, q + (1.0 - q) * free, np.where(row == first, q * free, free))


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
        Complaints that the driver told when he came.
    seed : int
        What all answers hang on.
    manner : Manner
    origin : Origin
        What it was before anything was put right.
    """

    start: Case
    network: Network
    causes: frozenset[str]
    there: frozenset[str]
    told: tuple[str, ...]
    seed: int
    manner: Manner
    origin: Origin

    @property
    def complaints(self) -> tuple[str, ...]:
        """All complaints that are there."""
        return tuple(name for name in self.network.base.complaints if name in self.there)

    @property
    def gone(self) -> bool:
        """Whether none of the complaints that the driver told is there any more."""
        return self.there.isdisjoint(self.told)

    @cached_property
    def case(self) -> Case:
        """The case as it starts: the set-up, and what the driver tells."""
        case = self.start
        for complaint in self.told:
            case = case.with_entry(self.ask(complaint))
        return case

    def mended(self, causes: Collection[str]) -> "Comeback":
        """Give the same vehicle without some causes.

        What only they brought is gone, all else stays, and its scatter is the same.

        Parameters
        ----------
        causes : collection of str
            Those that are not there change nothing.

        Returns
        -------
        Comeback
        """
        left = self.causes.difference(causes)
        if left == self.causes:
            return self
        states = self.origin.states
        if left not in states:
            there = self.origin.still_there(_mask(self.network, left))
            states[left] = replace(self, causes=left, there=_named(self.network, there))
        return states[left]

    def repaired(self, repair: str, cures: Mapping[str, float], *, attempt: int = 0) -> "Comeback":
        """Give the vehicle after a repair; each attempt has a chance of its own.

        Parameters
        ----------
        repair : str
            Name of the repair.
        cures : mapping of str to float
            Chance that it puts each cause right, each for itself.
        attempt : int
            How often it was done before; the same attempt does the same again.

        Returns
        -------
        Comeback
        """
        tried = self.causes.intersection(cures)
        return self.mended(
            {c for c in tried if self._number("cure", repair, c, str(attempt)) < cures[c]}
        )

    @cached_property
    def needed(self) -> frozenset[str]:
        """The fewest causes that have to be put right before the told complaints are gone.

        Where an unexplained leak or the unknown keeps some of them alive, before the others are.
        Of several such sets, the first in the order of the network.
        """
        index, names = self.network.finding_index, self.network.causes
        told = [index[name] for name in self.told if name in self.there]
        behind = [names[i] for i in self.origin.members(told)]
        some = [name for name in behind if name in self.causes and name != UNKNOWN]
        least = self.mended(some).there.intersection(self.told)
        for size in range(len(some)):
            for few in combinations(some, size):
                if self.mended(few).there.intersection(self.told) == least:
                    return frozenset(few)
        return frozenset(some)

    @cached_property
    def mendable(self) -> bool:
        """Whether putting causes right makes the told complaints go away.

        False where an unexplained leak keeps one of them alive, or what this tool does not know.
        """
        return self.mended(self.needed).gone

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
        if check not in self._answers:
            self._answers[check] = self._answer(self.network.base.checks[check])
        return self._answers[check]

    def value(self, measurement: str) -> float | None:
        """Give the true value of a measurement, in its inside unit.

        Returns
        -------
        float or None
            None if nothing predicts it on this set-up.
        """
        axis = self._effects.axis_of(self.network.base.measurements[measurement])
        return None if axis is None else self._value(axis)

    @cached_property
    def _answers(self) -> dict[str, Entry]:
        """Answers given already; entries are frozen."""
        return {}

    def _answer(self, check: Check) -> Entry:
        base = self.network.base
        if self._number("blank", check.id) < self.manner.blank:
            return Entry(check=check.id, answer=_CANT_TELL)
        if check.finding is not None:
            return Entry(check=check.id, answer=self._graded(check.finding))
        measurement = base.measurements[check.gauge] if check.gauge else None
        axis = self._effects.axis_of(measurement) if measurement else None
        if measurement is None or axis is None:
            return Entry(check=check.id, answer=self._chosen(check))
        text = self._read(check.id, measurement, axis)
        answer = answer_for_reading(base, check, text)
        return Entry(check=check.id, answer=answer.id, reading=text)

    def _graded(self, finding: str) -> str:
        """Answer about one finding: sure, or in doubt as often as the ratios of the scale say."""
        ratio, hint = self.network.base.scale.answer, self.manner.hesitant
        if finding in self.there:
            sure, right, wrong, slip = "yes", "probably", "probably not", ratio["probably not"]
        else:
            sure, right, wrong, slip = "no", "probably not", "probably", 1.0 / ratio["probably"]
        drawn = self._number("finding", finding)
        if drawn < hint:
            return right
        return wrong if drawn < hint * (1.0 + slip) else sure

    def _chosen(self, check: Check) -> str:
        """Answer a choice; where none of the answers fits what is there, nobody can tell."""
        fit = list(accumulate(self._fit(answer) for answer in check.answers))
        if not fit[-1]:
            return _CANT_TELL
        drawn = self._number("choice", check.id) * fit[-1]
        return next(a.id for a, most in zip(check.answers, fit, strict=True) if drawn < most)

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
        gauge = _gauge(self.network.base, measurement.id)
        slip, place, error = chance.random(), chance.random(), chance.standard_normal()
        if slip < scale.mistyped + (1.0 - scale.mistyped) * strange:
            value = gauge.least + (gauge.most - gauge.least) * float(place)
        else:
            value = self._value(axis) + gauge.uncertainty * float(error)
        return _typed(measurement, value, gauge)

    def _value(self, axis: str) -> float:
        """What an ideal gauge would show; every cause has the same part in it until it is gone."""
        if axis in self._chain:
            return self._chain[axis]
        ((_, mean, deviation),) = self._effects.laws(axis, ())
        chance = self._chance("value", axis)
        value = mean + deviation * float(chance.standard_normal())
        for cause in self.origin.causes:
            drawn, size = float(chance.random()), float(chance.standard_normal())
            number = int(self._effects.of_cause[cause])
            if number and self.network.causes[cause] in self.causes:
                law = _drawn_of(self._effects.laws(axis, (number,)), drawn)
                value += law.mean - mean + sqrt(max(law.deviation**2 - deviation**2, 0.0)) * size
        return value

    @cached_property
    def _chain(self) -> Mapping[str, float]:
        """What can be read on the release system of this very vehicle."""
        effects = self._effects
        system, names = effects.system, effects.chain
        if system is None:
            return {}
        chance = self._chance("system")
        figures = system.nominal + system.uncertainty * chance.standard_normal(len(FIGURE_NAMES))
        for cause in sorted(self.origin.causes, key=lambda c: int(effects.of_cause[c])):
            shifts = effects.shifts((int(effects.of_cause[cause]),))
            sizes = [chance.normal(shift.amount, shift.spread) for shift in shifts]
            if self.network.causes[cause] in self.causes:
                for shift, size in zip(shifts, sizes, strict=True):
                    figures[FIGURE_NAMES.index(shift.figure)] += size
        figures = np.clip(figures, LOWEST, HIGHEST)
        values = read_many(system, names, figures[:, np.newaxis])
        return dict(zip(names, values[:, 0].tolist(), strict=True))

    @cached_property
    def _effects(self) -> Effects:
        return effects_for(self.network, system_of(self.start), self.start.kit)

    def _number(self, *of: str) -> float:
        """Draw from 0 to 1 what is a thing's own, whatever was asked before; fast."""
        digest = blake2b(" ".join(of).encode(), digest_size=8, key=self.seed.to_bytes(8)).digest()
        return float((int.from_bytes(digest) >> 11) * 2.0**-53)

    def _chance(self, *of: str) -> Generator:
        """Give numbers that are a thing's own, whatever was asked before."""
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
        found = _named(network, there)
        complaints = [name for name in base.complaints if name in found]
        if complaints:
            number = int(rng.integers(1, manner.most_told, endpoint=True))
            told = rng.permutation(complaints)[:number].tolist()
            seed = int(rng.integers(2**63))
            wrong = frozenset(network.causes[i] for i in np.flatnonzero(present))
            origin = Origin(network, np.asarray(present), there, seed)
            return Comeback(start, network, wrong, found, tuple(told), seed, manner, origin)
    raise ContradictionError("Nothing that is wrong here brings a complaint.", "")


def _mask(network: Network, causes: Collection[str]) -> NDArray[np.bool_]:
    mask = np.zeros(len(network.causes), dtype=bool)
    for name in causes:
        if name not in network.cause_index:
            raise UnknownIdError(f"The set-up knows no cause {name!r}.", "Choose one it allows.")
        mask[network.cause_index[name]] = True
    return mask


def _named(network: Network, there: NDArray[np.bool_]) -> frozenset[str]:
    return frozenset(network.findings[f] for f in np.flatnonzero(there).tolist())


def _chances(network: Network, present: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Chance of each finding if just these causes are present; shape (F,)."""
    modes, _, component = _modes(network)
    touched = np.unique(component[(modes.present & present).any(axis=1)])
    q = _sources(network, present, touched)
    chances: NDArray[np.float64] = 1.0 - np.prod(1.0 - q, axis=0)
    return chances


def _sources(
    network: Network, present: NDArray[np.bool_], components: NDArray[np.intp]
) -> NDArray[np.float64]:
    """Chance that each of some components, and the leak, turns each finding on; shape (K + 1, F).

    A component is in the largest of its modes of which all is present.
    """
    modes, first, _ = _modes(network)
    rows = []
    for start, end in zip(first[components], _ends(first, modes)[components], strict=True):
        mine = modes.present[start:end]
        size = np.where((mine & ~present).any(axis=1), -1, mine.sum(axis=1))
        rows.append(modes.q[start + int(size.argmax())])
    return np.array([*rows, network.leak])


def _ends(first: NDArray[np.intp], modes: Modes) -> NDArray[np.intp]:
    return np.append(first[1:], len(modes.component))


@lru_cache(maxsize=8)
def _modes(network: Network) -> tuple[Modes, NDArray[np.intp], NDArray[np.intp]]:
    """Modes of a network, where each component starts, and which component each is of."""
    modes = network.modes(network.prior)
    first = np.flatnonzero(np.diff(modes.component, prepend=-1))
    return modes, first, np.cumsum(np.isin(np.arange(len(modes.component)), first)) - 1


def _drawn_of(laws: Sequence[Law], drawn: float) -> Law:
    """Choose one of some laws by a number from 0 to 1."""
    upto = accumulate(law.weight for law in laws)
    return next((law for law, most in zip(laws, upto, strict=True) if drawn < most), laws[-1])


class _Gauge(NamedTuple):
    """What readings lie between, how surely they are taken, and to how many places."""

    least: float
    most: float
    uncertainty: float
    places: int


@lru_cache(maxsize=1000)
def _gauge(base: KnowledgeBase, measurement: str) -> _Gauge:
    record = base.measurements[measurement]
    uncertainty, unit = instrument_uncertainty(record, None), record.unit
    step = (in_unit(uncertainty, unit) - in_unit(0.0, unit)) / 3.0
    return _Gauge(*plausible_range(record), uncertainty, -floor(log10(step)))


def _typed(measurement: Measurement, value: float, gauge: _Gauge) -> str:
    """Write a reading to a third of its uncertainty or finer; beyond all readings, as their end."""
    if not gauge.least < value < gauge.most:
        return measurement.plausible[0 if value <= gauge.least else 1]
    number = round(in_unit(value, measurement.unit), gauge.places) + 0.0  # no "-0"
    return f"{number:.{max(gauge.places, 0)}f} {measurement.unit}"
