"""Why a cause stands where it does: weights of evidence, computed first and put in words after.

A weight is 10 log10 of the factor by which an answer moves the odds of a cause, in decibans. Along
a chain the weights sum to the whole movement exactly, but the share of a single answer depends on
the order; what is lost when it alone is left out does not. Both are given.

References
----------
Weight of evidence: I. J. Good. Numbers to compare with: engine notes T5.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import prod
from typing import NamedTuple

import numpy as np

from diagnose.assess import Assessment, run
from diagnose.network import UNKNOWN
from diagnose.physics.likelihood import Reading
from diagnose.tables import Floats

_COULD_SPEAK = 0.05
_FITS_BADLY = 0.1
_SURE = 1e-12


@dataclass(frozen=True)
class Weight:
    """What one answer says for or against one cause, in decibans (10 log10 of the ratio).

    Attributes
    ----------
    key : str
        Complaint or finding id, or the key of a measurement's readings.
    entry : int
        Index in the case's timeline.
    chain : float
        Its share when the answers are taken in the order they were given; these sum to the total.
    left_out : float
        What is lost when just this answer is left out.
    explained_by : str or None
        The cause that explains the finding away, where it could speak for the cause but does not.
    """

    key: str
    entry: int
    chain: float
    left_out: float
    explained_by: str | None


@dataclass(frozen=True)
class Explanation:
    """The account of one cause.

    ``prior`` is the log-odds before any answer, in decibans; ``total`` the sum of all weights.
    """

    cause: str
    prior: float
    total: float
    weights: tuple[Weight, ...]


@dataclass(frozen=True)
class Doubt:
    """An answer that the others make improbable: its chance, given all of them."""

    key: str
    entry: int
    chance: float


def decibans(p: float) -> float:
    """Give the log-odds of a chance in decibans; from -120 to 120, where certainty ends up."""
    p = min(max(p, _SURE), 1.0 - _SURE)
    return float(10.0 * (np.log10(p) - np.log10(1.0 - p)))


def weights_of(
    posterior: Callable[[frozenset[str]], float], names: Sequence[str]
) -> tuple[float, dict[str, tuple[float, float]]]:
    """Weigh answers for one cause.

    Parameters
    ----------
    posterior : callable
        Gives the cause's chance with a set of the answers left out.
    names : sequence of str
        The answers, in the order they were given.

    Returns
    -------
    prior : float
        Log-odds with all answers left out, in decibans.
    weights : dict
        For each answer its weight in the chain and its weight by leaving it out, in decibans.
    """
    everything = decibans(posterior(frozenset()))
    prior = before = decibans(posterior(frozenset(names)))
    weights: dict[str, tuple[float, float]] = {}
    for i, name in enumerate(names):
        after = decibans(posterior(frozenset(names[i + 1 :])))
        weights[name] = (after - before, everything - decibans(posterior(frozenset({name}))))
        before = after
    return prior, weights


class _LeftOut(NamedTuple):
    """What holds with some of the answers left out."""

    cause: Floats
    log_evidence: float


@lru_cache(maxsize=512)
def _left_out(assessment: Assessment, without: frozenset[str]) -> _LeftOut:
    """Run the inference without some answers; kept, as every cause's account asks the same."""
    found = run(assessment.network, assessment.situation, without=without)
    return _LeftOut(found.cause, found.log_evidence)


def explain(assessment: Assessment, cause: str) -> Explanation:
    """Account for one cause.

    Parameters
    ----------
    assessment : Assessment
    cause : str
        Id of a cause that the set-up allows.

    Returns
    -------
    Explanation

    Raises
    ------
    KeyError
        If the set-up rules the cause out or the base does not hold it.
    """
    situation = assessment.situation
    index = assessment.network.cause_index[cause]
    names = situation.keys

    def posterior(without: frozenset[str]) -> float:
        return float(_left_out(assessment, without).cause[index])

    prior, weights = weights_of(posterior, names)
    account = tuple(
        Weight(
            key=name,
            entry=situation.entry_of(name),
            chain=chain,
            left_out=left_out,
            explained_by=_explained_by(assessment, cause, name) if left_out < 0.0 else None,
        )
        for name, (chain, left_out) in weights.items()
    )
    return Explanation(cause, prior, sum(w.chain for w in account), account)


def _explained_by(assessment: Assessment, cause: str, finding: str) -> str | None:
    """The cause that takes a finding away from another that could have brought it about."""
    network = assessment.network
    if finding not in network.finding_index:
        return None
    column = network.q[:, network.finding_index[finding]]
    seen = assessment.situation.observed[finding].ratio > 1.0
    if not seen or column[network.cause_index[cause]] < _COULD_SPEAK:
        return None
    credit = assessment.marginals.cause * column
    credit[[network.cause_index[cause], network.cause_index[UNKNOWN]]] = 0.0
    best = int(np.argmax(credit))
    return network.causes[best] if credit[best] > 0.0 else None


def doubts(assessment: Assessment) -> tuple[Doubt, ...]:
    """List the answers that fit badly with all the others, the worst first."""
    whole = assessment.marginals.log_evidence
    found = []
    for name, seen in assessment.situation.observed.items():
        rest = _left_out(assessment, frozenset({name})).log_evidence
        # A soft answer is scaled so that its two likelihoods sum to 1; a fair one then gives 1/2.
        chance = float(np.exp(whole - rest))
        if chance < _FITS_BADLY:
            found.append(Doubt(name, seen.entry, chance))
    measured = assessment.situation.measured
    for key in dict.fromkeys(taken.key for taken in measured.taken):
        rest = _left_out(assessment, frozenset({key})).log_evidence
        readings = [r for t in measured.taken if t.key == key for r in t.readings]
        chance = _no_slip(assessment, readings, float(np.exp(whole - rest)))
        if chance < _FITS_BADLY:
            found.append(Doubt(key, assessment.situation.entry_of(key), chance))
    return tuple(sorted(found, key=lambda d: (d.chance, d.key)))


def _no_slip(assessment: Assessment, readings: Sequence[Reading], likelihood: float) -> float:
    """Chance that all readings of one measurement are no slips, given all other evidence."""
    share = assessment.network.base.scale.mistyped
    slips = prod(share * reading.flat for reading in readings)
    return max(0.0, 1.0 - slips / likelihood) if likelihood > 0.0 else 0.0


def conflict(assessment: Assessment) -> float:
    """Say how badly all the answers go together; see `conflict_of`."""

    def log_evidence(without: frozenset[str]) -> float:
        return _left_out(assessment, without).log_evidence

    return conflict_of(log_evidence, assessment.situation.keys)


def conflict_of(log_evidence: Callable[[frozenset[str]], float], names: Sequence[str]) -> float:
    """Compare the answers one by one with all of them together.

    Parameters
    ----------
    log_evidence : callable
        Gives ln P(answers) with a set of the answers left out.
    names : sequence of str

    Returns
    -------
    float
        log2 of prod P(answer) / P(all answers). Below 0 they support each other; above 0 they are
        likelier apart than together, so one may be wrong, or several causes be present.

    References
    ----------
    The conflict measure of F. V. Jensen. Numbers to compare with: engine notes T5.
    """
    every = frozenset(names)
    nothing = log_evidence(every)
    apart = sum(log_evidence(every - {name}) - nothing for name in names)
    together = log_evidence(frozenset()) - nothing
    return float((apart - together) / np.log(2.0))
