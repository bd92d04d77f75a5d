"""What a case's timeline means for the network: likelihoods, odds, and what has gone stale.

Work done at the clutch job changes the odds of causes. Work done since, with the complaint still
there, may have cured a cause: the cause then splits into *still present* and *cured*, and the cured
mode explains only what was seen before that repair. So evidence goes stale exactly where the repair
touched its cause. What the driver complains of is always about now.

A repair that nobody has driven with yet changes nothing of that: *now* is then the last time the
vehicle was driven, for that is what the complaint tells of. What is seen after the repair tells of
the state it has left, which is turned on by those causes only that it has not cured. How likely
each cause is to be still there after it, is for planning: `diagnose.aftermath`.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from math import inf

import numpy as np

from diagnose.case import NO_EVIDENCE, Case, Entry
from diagnose.effects import Effects, effects_for
from diagnose.errors import UnknownIdError
from diagnose.mending import (
    Repair,
    Repairs,
    repairs_in,
    unknown_answer,
    with_cures,
    work_answer,
)
from diagnose.network import Network
from diagnose.noisy_or import Evidence, Modes
from diagnose.readings import ReadingEvidence, Taken, stale_keys, take_readings
from diagnose.system import system_of
from diagnose.tables import Floats
from knowledge.model import Check, CheckAnswer, KnowledgeBase

CERTAIN = inf
MISTAKEN = 0.02  # that a part which is called faulty when it is put right was not (judgement)


@dataclass(frozen=True)
class Observed:
    """The answer about one finding: likelihood ratio, and the timeline index it comes from."""

    ratio: float
    entry: int


@dataclass(frozen=True)
class Situation:
    """A case as the inference sees it.

    Attributes
    ----------
    prior : ndarray, shape (C,)
        Chance of each cause given set-up and work done at the job.
    modes : Modes
        With the cured modes of what was repaired since; they say which causes were there when the
        vehicle was driven last.
    observed : Mapping
        Finding id -> `Observed`.
    measured : ReadingEvidence
        Readings that count as numbers.
    stale : frozenset of str
        Findings, and keys of readings, that were seen before a repair of what may have shown them:
        worth another look.
    pending : tuple
        Repairs that nobody has driven with, in order: timeline index, and cause index -> chance
        that it cured the cause. What `modes` say is not changed by them.
    after : Mapping
        Finding id -> the answer about it that was given after the first of these.
    """

    prior: Floats
    modes: Modes
    observed: Mapping[str, Observed]
    measured: ReadingEvidence
    stale: frozenset[str] = frozenset()
    pending: tuple[tuple[int, Mapping[int, float]], ...] = ()
    after: Mapping[str, Observed] = field(default_factory=dict)

    @property
    def keys(self) -> tuple[str, ...]:
        """Names of all evidence, findings and readings, in the order it was given."""
        entries = {name: seen.entry for name, seen in self.observed.items()}
        for taken in self.measured.taken:
            entries[taken.key] = taken.entry
        return tuple(sorted(entries, key=lambda name: entries[name]))

    def entry_of(self, key: str) -> int:
        """Give the timeline index that a piece of evidence comes from, the latest if several."""
        if key in self.observed:
            return self.observed[key].entry
        return max(t.entry for t in self.measured.taken if t.key == key)

    def evidence(self, network: Network, *, without: frozenset[str] = frozenset()) -> Evidence:
        """Give the evidence, optionally without some findings."""
        index = network.finding_index
        return Evidence.of(
            {index[name]: seen.ratio for name, seen in self.observed.items() if name not in without}
        )


def read_case(network: Network, case: Case, *, by_bands: bool = False) -> Situation:
    """Turn a case into what the inference needs.

    Parameters
    ----------
    network : Network
        Compiled for the case's facts.
    case : Case
    by_bands : bool
        Take readings by the bands they fall in only.

    Returns
    -------
    Situation

    Raises
    ------
    UnknownIdError
        If an entry names what the base does not hold.
    """
    repairs = repairs_in(network, case)
    effects = effects_for(network, system_of(case), case.kit)
    every = () if by_bands else take_readings(effects, case)
    taken = tuple(t for t in every if not _taken_of_another_state(effects, t, repairs))
    observed, after = _observed(network, case, repairs, frozenset(t.entry for t in taken))
    prior = _prior_with_work(network, case)
    done = {
        name: repairs.driven if name in network.base.complaints else repairs.before(seen.entry)
        for name, seen in observed.items()
    }
    modes = with_cures(network, _sighted(network, network.modes(prior), case), repairs, done)
    driven = repairs.every[: repairs.driven]
    holding, _ = stale_keys(effects, taken, _touched(driven))
    _, gone = stale_keys(effects, every, _touched(repairs.every))
    return Situation(
        prior,
        modes,
        observed,
        ReadingEvidence(effects, holding),
        _stale(network, repairs, {**observed, **after}) | gone,
        tuple((repair.entry, repair.cures) for repair in repairs.pending),
        after,
    )


def _sighted(network: Network, modes: Modes, case: Case) -> Modes:
    """Weigh in the faults that were seen when they were put right: each was there before."""
    weight = modes.weight.copy()
    seen = {e.repair for e in case.entries if e.repair is not None and e.seen}
    for cause in sorted(seen & network.cause_index.keys()):
        there = modes.present[:, network.cause_index[cause]]
        mine = np.isin(modes.component, modes.component[there])
        weight[mine & ~there] *= MISTAKEN
    return replace(modes, weight=weight)


def _observed(
    network: Network, case: Case, repairs: Repairs, numbers: frozenset[int]
) -> tuple[dict[str, Observed], dict[str, Observed]]:
    """Gather the answers that count, and those given after a repair that is pending.

    Of a finding that such a repair may have changed, the answer from before it counts for what the
    complaint tells of, the one from after it only for what is left.
    """
    complaints = network.base.complaints
    observed: dict[str, Observed] = {}
    after: dict[str, Observed] = {}
    repaired = -1
    for i, entry in enumerate(case.entries):
        if entry.is_repair:
            repaired = i
        if i in numbers:  # counts by itself, not by the findings of its band
            continue
        for name, ratio in likelihood_ratios(network.base, entry).items():
            later = [] if name in complaints else [r for r in repairs.pending if r.place < i]
            touching = [r for r in later if r.changed(network, name)]
            old, seen = after.get(name, observed.get(name)), Observed(ratio, i)
            if not (_unsays(seen, old, repaired) or _lies_between(touching, old)):
                continue
            if later:
                after[name] = seen
            if not _lies_between(touching, observed.get(name)):
                observed[name] = seen
    return observed, after


def _unsays(seen: Observed, old: Observed | None, repaired: int) -> bool:
    """Whether an answer counts instead of an older one.

    A look that only hints at something does not unsay one that was sure of it.
    """
    if old is None or _is_sure(seen.ratio) or not _is_sure(old.ratio):
        return True
    return old.entry < repaired


def _lies_between(repairs: Iterable[Repair], old: Observed | None) -> bool:
    """Whether any of some repairs was done after an answer."""
    return old is not None and any(old.entry < repair.place for repair in repairs)


def _is_sure(ratio: float) -> bool:
    return ratio in {0.0, CERTAIN}


def likelihood_ratios(base: KnowledgeBase, entry: Entry) -> dict[str, float]:
    """Give the likelihood ratio that an entry says for each finding it speaks about.

    Raises
    ------
    UnknownIdError
        If the entry's id or answer is not known.
    """
    if entry.work is not None or entry.repair is not None or entry.answer in NO_EVIDENCE:
        return {}
    ratios: dict[str, float] = {"yes": CERTAIN, "no": 0.0}
    ratios.update((str(word), ratio) for word, ratio in base.scale.answer.items())
    kind, name = entry.subject
    known = base.complaints if kind == "complaint" else base.checks
    if name not in known:
        raise UnknownIdError(
            f"The knowledge base holds no {kind} {name!r}.", "Correct the case file."
        )
    if kind == "complaint" or base.checks[name].finding is not None:
        finding = name if kind == "complaint" else str(base.checks[name].finding)
        if entry.answer not in ratios:
            raise unknown_answer(entry)
        return {finding: ratios[entry.answer]}
    answer = check_answer(base.checks[name], entry.answer)
    if answer is None:
        raise unknown_answer(entry)
    return {finding: ratios[reading] for finding, reading in answer.shows.items()}


def check_answer(check: Check, answer: str) -> CheckAnswer | None:
    """Give the check's answer with this id."""
    return next((a for a in check.answers if a.id == answer), None)


def _prior_with_work(network: Network, case: Case) -> Floats:
    odds = network.prior / (1.0 - network.prior)
    for entry in case.entries:
        answer = work_answer(network.base, entry)
        if answer is None or entry.when != "job":
            continue
        for cause, word in answer.changes.items():
            if cause in network.cause_index:
                odds[network.cause_index[cause]] *= network.base.scale.change[word]
    prior: Floats = odds / (1.0 + odds)
    return prior


def _taken_of_another_state(effects: Effects, taken: Taken, repairs: Repairs) -> bool:
    """Whether a pending repair, done before a reading, may have moved it."""
    moves = effects.moves[taken.readings[0].observable]
    causes = (c for repair in repairs.pending if repair.place < taken.entry for c in repair.cures)
    return any(moves[effects.of_cause[c]] for c in causes)


def _touched(repairs: Iterable[Repair]) -> dict[int, frozenset[int]]:
    """What was repaired, by where in the timeline it counts as done."""
    touched: dict[int, frozenset[int]] = {}
    for repair in repairs:
        touched[repair.place] = touched.get(repair.place, frozenset()).union(repair.cures)
    return touched


def _stale(network: Network, repairs: Repairs, latest: Mapping[str, Observed]) -> frozenset[str]:
    """Findings that a repair done after they were seen may have changed."""
    findings = network.base.findings
    return frozenset(
        name
        for name, seen in latest.items()
        if name in findings
        and not findings[name].past
        and any(r.changed(network, name) for r in repairs.every[repairs.before(seen.entry) :])
    )
