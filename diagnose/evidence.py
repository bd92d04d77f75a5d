"""What a case's timeline means for the network: likelihoods, odds, and what has gone stale.

Work done at the clutch job changes the odds of causes. Work done since, with the complaint still
there, may have cured a cause: the cause then splits into *still present* and *cured*, and the cured
mode explains only what was seen before that repair. So evidence goes stale exactly where the repair
touched its cause. What the driver complains of is always about now.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from diagnose.case import NO_EVIDENCE, Case, Entry
from diagnose.effects import effects_for
from diagnose.errors import UnknownIdError
from diagnose.network import Network
from diagnose.noisy_or import Evidence, Modes
from diagnose.readings import ReadingEvidence, stale_keys, take_readings
from diagnose.system import system_of
from diagnose.tables import Floats
from knowledge.model import Check, CheckAnswer, KnowledgeBase, WorkAnswer

CERTAIN = float("inf")
_TELLING = 0.05  # a cause that shows a finding less often than this has not changed it


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
        With the cured modes of what was repaired since.
    observed : Mapping
        Finding id -> `Observed`.
    measured : ReadingEvidence
        Readings that count as numbers.
    stale : frozenset of str
        Findings, and keys of readings, that were seen before a repair of what may have shown them:
        worth another look.
    """

    prior: Floats
    modes: Modes
    observed: Mapping[str, Observed]
    measured: ReadingEvidence
    stale: frozenset[str] = frozenset()

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
    observed: dict[str, Observed] = {}
    effects = effects_for(network, system_of(case), case.kit)
    taken = () if by_bands else take_readings(effects, case)
    numbers = {t.entry for t in taken}
    repaired = -1
    for i, entry in enumerate(case.entries):
        if entry.is_repair:
            repaired = i
        if i in numbers:  # counts by itself, not by the findings of its band
            continue
        for name, ratio in likelihood_ratios(network.base, entry).items():
            old = observed.get(name)
            # A look that only hints at something does not unsay one that was sure of it.
            if old is None or _is_sure(ratio) or not _is_sure(old.ratio) or old.entry < repaired:
                observed[name] = Observed(ratio, i)
    prior = _prior_with_work(network, case)
    repairs = _repairs(network, case)
    modes = _with_cures(network, network.modes(prior), repairs, observed)
    holding, gone = stale_keys(effects, taken, {r.entry: frozenset(r.cures) for r in repairs})
    return Situation(
        prior,
        modes,
        observed,
        ReadingEvidence(effects, holding),
        _stale(network, repairs, observed) | gone,
    )


def _is_sure(ratio: float) -> bool:
    return ratio in {0.0, CERTAIN}


def likelihood_ratios(base: KnowledgeBase, entry: Entry) -> dict[str, float]:
    """Give the likelihood ratio that an entry says for each finding it speaks about.

    Raises
    ------
    UnknownIdError
        If the entry's id or answer is not known.
    """
    if entry.work is not None or entry.answer in NO_EVIDENCE:
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
            raise _unknown_answer(entry)
        return {finding: ratios[entry.answer]}
    answer = check_answer(base.checks[name], entry.answer)
    if answer is None:
        raise _unknown_answer(entry)
    return {finding: ratios[reading] for finding, reading in answer.shows.items()}


def check_answer(check: Check, answer: str) -> CheckAnswer | None:
    """Give the check's answer with this id."""
    return next((a for a in check.answers if a.id == answer), None)


def _unknown_answer(entry: Entry) -> UnknownIdError:
    kind, name = entry.subject
    return UnknownIdError(
        f"{entry.answer!r} is no answer to the {kind} {name!r}.", "Correct the case file."
    )


def _work_answer(network: Network, entry: Entry) -> WorkAnswer | None:
    if entry.work is None or entry.answer in NO_EVIDENCE:
        return None
    if entry.work not in network.base.work:
        raise UnknownIdError(
            f"The knowledge base holds no work {entry.work!r}.", "Correct the case file."
        )
    answers = network.base.work[entry.work].answers
    found = next((a for a in answers if a.id == entry.answer), None)
    if found is None:
        raise _unknown_answer(entry)
    return found


def _prior_with_work(network: Network, case: Case) -> Floats:
    odds = network.prior / (1.0 - network.prior)
    for entry in case.entries:
        answer = _work_answer(network, entry)
        if answer is None or entry.when != "job":
            continue
        for cause, word in answer.changes.items():
            if cause in network.cause_index:
                odds[network.cause_index[cause]] *= network.base.scale.change[word]
    prior: Floats = odds / (1.0 + odds)
    return prior


@dataclass(frozen=True)
class _Repair:
    """Work done since: its timeline index, and the chance that it cured each cause (index)."""

    entry: int
    cures: Mapping[int, float]


def _repairs(network: Network, case: Case) -> tuple[_Repair, ...]:
    """The work done since that may have cured something, in the order it was done."""
    found = []
    for i, entry in enumerate(case.entries):
        answer = _work_answer(network, entry)
        if answer is None or entry.when != "since":
            continue
        cures = {
            network.cause_index[cause]: network.base.strength(strength)
            for cause, strength in answer.cures.items()
            if cause in network.cause_index
        }
        if cures:
            found.append(_Repair(i, cures))
    return tuple(found)


def _with_cures(
    network: Network,
    modes: Modes,
    repairs: tuple[_Repair, ...],
    observed: Mapping[str, Observed],
) -> Modes:
    """Split the modes of what was repaired by what each repair may have cured.

    A mode then says which causes are there now; what was seen before a repair is turned on by
    those that were there at that time.
    """
    if not repairs:
        return modes
    done = np.array([_repairs_before(network, f, repairs, observed) for f in network.findings])
    touched = modes.present[:, sorted({c for r in repairs for c in r.cures})].any(axis=1)
    sets = [frozenset(np.flatnonzero(row).tolist()) for row in modes.present]
    row_of = {(int(modes.component[i]), causes): i for i, causes in enumerate(sets)}
    split: dict[tuple[int, int, bytes], tuple[float, Floats]] = {}
    for i in np.flatnonzero(touched).tolist():
        component = int(modes.component[i])
        for weight, states in _histories(float(modes.weight[i]), (sets[i],), repairs):
            rows = np.array([row_of[component, causes] for causes in states])
            links = modes.q[rows[done], np.arange(len(done))]
            key = (component, int(rows[-1]), links.tobytes())
            split[key] = (split.get(key, (0.0, links))[0] + weight, links)
    now = [row for _, row, _ in split]
    components = np.concatenate((modes.component[~touched], modes.component[now]))
    order = np.argsort(components, kind="stable")
    return Modes(
        components[order],
        np.concatenate((modes.weight[~touched], [w for w, _ in split.values()]))[order],
        np.concatenate((modes.present[~touched], modes.present[now]))[order],
        np.concatenate((modes.q[~touched], [links for _, links in split.values()]))[order],
    )


def _repairs_before(
    network: Network, finding: str, repairs: tuple[_Repair, ...], observed: Mapping[str, Observed]
) -> int:
    """How many repairs had been done when a finding was seen; a complaint is about now."""
    if finding in network.base.complaints or finding not in observed:
        return len(repairs)
    return sum(repair.entry < observed[finding].entry for repair in repairs)


def _stale(
    network: Network, repairs: tuple[_Repair, ...], observed: Mapping[str, Observed]
) -> frozenset[str]:
    """Findings that a repair done after they were seen may have changed."""
    return frozenset(
        finding
        for finding in observed
        for repair in repairs[_repairs_before(network, finding, repairs, observed) :]
        if any(network.q[c, network.finding_index[finding]] >= _TELLING for c in repair.cures)
    )


def _histories(
    weight: float, states: tuple[frozenset[int], ...], repairs: tuple[_Repair, ...]
) -> Iterator[tuple[float, tuple[frozenset[int], ...]]]:
    """Yield all that the repairs may have done: its chance, and the causes left after each."""
    if len(states) > len(repairs):
        yield weight, states
        return
    cures = repairs[len(states) - 1].cures
    left = states[-1]
    tried = [cause for cause in left if cause in cures]
    for size in range(len(tried) + 1):
        for cured in combinations(tried, size):
            chance = weight
            for cause in tried:
                chance *= cures[cause] if cause in cured else 1.0 - cures[cause]
            if chance > 0.0:
                yield from _histories(chance, (*states, left.difference(cured)), repairs)
