"""Scores of recorded cases: how well the ranking finds what was wrong in the end.

References
----------
Scores: engine notes T11 (Brier score, log loss, top-n, mean reciprocal rank).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import log
from typing import Literal

from diagnose.assess import Assessment, assess
from diagnose.case import Case
from diagnose.errors import PullOnceError
from knowledge.model import KnowledgeBase

_LEAST = 1e-6  # a chance of nothing would make the log score infinite


@dataclass(frozen=True)
class CaseScore:
    """How one stage of one case was judged.

    Attributes
    ----------
    id : str
    stage : str
        ``before`` the gearbox came out, or ``all`` that was known.
    rank : int
        Place of the true cause; where the report is coarser than the base, of the best that fits.
    p : float
        Chance given to the true cause; to any that fits, if several do.
    brier : float
        Squared error over all causes, those that fit taken as one: between 0 and 2.
    """

    id: str
    stage: Literal["before", "all"]
    rank: int
    p: float
    brier: float


@dataclass(frozen=True)
class Scores:
    """Scores over a number of cases; ``log_score`` is the mean of ln p, 0 at best."""

    n: int
    top1: float
    top3: float
    top5: float
    mrr: float
    brier: float
    log_score: float


def evaluate(base: KnowledgeBase, cases: Iterable[tuple[str, Case]]) -> tuple[CaseScore, ...]:
    """Judge recorded cases at both stages.

    Parameters
    ----------
    base : KnowledgeBase
    cases : iterable of (id, Case)

    Returns
    -------
    tuple of CaseScore

    Raises
    ------
    PullOnceError
        If a case does not say what was found, or names a cause that its set-up rules out.
    """
    scores = []
    for name, case in cases:
        scores.append(_score(name, "before", assess(base, case.before_opening())))
        scores.append(_score(name, "all", assess(base, case)))
    return tuple(scores)


def _score(name: str, stage: Literal["before", "all"], assessment: Assessment) -> CaseScore:
    found = assessment.case.found
    if found is None:
        raise PullOnceError(f"The case {name!r} does not say what was found.", "Add 'found' to it.")
    true = [c for c in found.causes if c in assessment.network.cause_index]
    if not true:
        listed = ", ".join(found.causes)
        raise PullOnceError(
            f"The set-up of the case {name!r} rules out what was found ({listed}).",
            "Correct its facts or what was found.",
        )
    ids = [c.id for c in assessment.causes]
    p = _any_of(assessment, true)
    wrong = sum(c.p**2 for c in assessment.causes if c.id not in true)
    rank = min(ids.index(c) for c in true) + 1
    return CaseScore(name, stage, rank, p, (1.0 - p) ** 2 + wrong)


def _any_of(assessment: Assessment, causes: Sequence[str]) -> float:
    """Chance that at least one of some causes is present, from the sets that are listed."""
    if len(causes) == 1:
        return assessment.cause(causes[0]).p
    listed = sum(s.p for s in assessment.sets if set(s.ids) & set(causes))
    return min(1.0, max(listed, *(assessment.cause(c).p for c in causes)))


def summarise(scores: Sequence[CaseScore]) -> Scores:
    """Average the scores of a number of cases."""
    n = len(scores)
    ranks = [s.rank for s in scores]
    return Scores(
        n=n,
        top1=top(ranks, 1),
        top3=top(ranks, 3),
        top5=top(ranks, 5),
        mrr=mean_reciprocal_rank(ranks),
        brier=sum(s.brier for s in scores) / n if n else 0.0,
        log_score=sum(log(max(s.p, _LEAST)) for s in scores) / n if n else 0.0,
    )


def top(ranks: Sequence[int | None], n: int) -> float:
    """Give the share of ranks that are at most n; None is a miss."""
    return sum(r is not None and r <= n for r in ranks) / len(ranks) if ranks else 0.0


def mean_reciprocal_rank(ranks: Sequence[int | None]) -> float:
    """Give the mean of 1/rank; a miss counts 0."""
    return sum(0.0 if r is None else 1.0 / r for r in ranks) / len(ranks) if ranks else 0.0


def brier_score(pairs: Sequence[tuple[float, int]]) -> float:
    """Give the mean squared error of (chance, outcome) pairs."""
    return sum((p - y) ** 2 for p, y in pairs) / len(pairs)


def log_loss(pairs: Sequence[tuple[float, int]]) -> float:
    """Give the mean negative log likelihood of (chance, outcome) pairs, in nats."""
    return -sum(log(p if y else 1.0 - p) for p, y in pairs) / len(pairs)
