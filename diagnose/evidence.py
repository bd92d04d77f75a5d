"""What a case's timeline means for the network: likelihoods, odds, and what has gone stale.

Work done at the clutch job changes the odds of causes. Work done since, with the complaint still
there, may have cured a cause: the cause then splits into *still present* and *cured*, and the cured
mode explains only what was seen before that repair. So evidence goes stale exactly where the repair
touched its cause. What the driver complains of is always about now.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from diagnose.case import NO_EVIDENCE, Case, Entry
from diagnose.errors import UnknownIdError
from diagnose.network import Network
from diagnose.noisy_or import Evidence, Floats, Modes
from knowledge.model import Check, CheckAnswer, KnowledgeBase, WorkAnswer

CERTAIN = float("inf")


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
    """

    prior: Floats
    modes: Modes
    observed: Mapping[str, Observed]

    def evidence(self, network: Network, *, without: frozenset[str] = frozenset()) -> Evidence:
        """Give the evidence, optionally without some findings."""
        index = network.finding_index
        return Evidence.of(
            {index[name]: seen.ratio for name, seen in self.observed.items() if name not in without}
        )


def read_case(network: Network, case: Case) -> Situation:
    """Turn a case into what the inference needs.

    Parameters
    ----------
    network : Network
        Compiled for the case's facts.
    case : Case

    Returns
    -------
    Situation

    Raises
    ------
    UnknownIdError
        If an entry names what the base does not hold.
    """
    observed: dict[str, Observed] = {}
    for i, entry in enumerate(case.entries):
        for name, ratio in likelihood_ratios(network.base, entry).items():
            observed[name] = Observed(ratio, i)
    prior = _prior_with_work(network, case)
    modes = _with_cures(network, network.modes(prior), _cures(network, case), observed)
    return Situation(prior, modes, observed)


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


def _cures(network: Network, case: Case) -> dict[int, list[tuple[int, float]]]:
    """For each cause the repairs since: (timeline index, chance of cure)."""
    cures: dict[int, list[tuple[int, float]]] = {}
    for i, entry in enumerate(case.entries):
        answer = _work_answer(network, entry)
        if answer is None or entry.when != "since":
            continue
        for cause, strength in answer.cures.items():
            if cause in network.cause_index:
                chance = network.base.strength(strength)
                cures.setdefault(network.cause_index[cause], []).append((i, chance))
    return cures


def _with_cures(
    network: Network,
    modes: Modes,
    cures: Mapping[int, list[tuple[int, float]]],
    observed: Mapping[str, Observed],
) -> Modes:
    """Split the mode of each repaired cause into still present and cured at one of its repairs."""
    weight = modes.weight.copy()
    component, weights, present, q = [modes.component], [weight], [modes.present], [modes.q]
    stamp = np.array(
        [
            observed[f].entry
            if f in observed and f not in network.base.complaints
            else len(network.q[0]) + 10**6
            for f in network.findings
        ]
    )
    for cause, repairs in cures.items():
        for row in np.flatnonzero(modes.present[:, cause]):
            others = modes.present[row].copy()
            others[cause] = False
            left = weight[row]
            for place, chance in repairs:
                component.append(modes.component[row : row + 1])
                weights.append(np.array([left * chance]))
                present.append(others[None, :])
                # Together with others in a gate, what is seen now is taken as theirs alone.
                now = _row_of(modes, modes.component[row], others)
                q.append(np.where(stamp < place, modes.q[row], now)[None, :])
                left *= 1.0 - chance
            weight[row] = left
    order = np.argsort(np.concatenate(component), kind="stable")
    return Modes(
        np.concatenate(component)[order],
        np.concatenate(weights)[order],
        np.concatenate(present)[order],
        np.concatenate(q)[order],
    )


def _row_of(modes: Modes, component: int, present: np.ndarray) -> Floats:
    """The links of the mode of a component in which exactly these causes are present."""
    rows = np.flatnonzero(modes.component == component)
    match = next(r for r in rows if np.array_equal(modes.present[r], present))
    links: Floats = modes.q[match]
    return links
