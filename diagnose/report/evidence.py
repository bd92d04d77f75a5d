"""What speaks for the conclusion, and what was ruled out by what."""

import numpy as np

from diagnose.assess import Assessment, run
from diagnose.explain import Explanation, Weight, explain
from diagnose.network import UNKNOWN
from diagnose.report.record import Account, Edition, RuledOut, Spoken
from diagnose.sentences import SILENT, explanation_lines, statement
from diagnose.tables import Floats

UNLIKELY = 0.10  # from here down a cause is called unlikely
_LIKELY_AT_FIRST = 0.02
_LOWERED = 0.5  # an unlikely cause counts as ruled out if its chance has fallen to this share
_MOST: dict[Edition, int] = {"customer": 6, "job": 12}


def account(assessment: Assessment, cause: str, edition: Edition) -> Account:
    """Account for a cause.

    Parameters
    ----------
    assessment : Assessment
    cause : str
        Id of a cause that the set-up allows.
    edition : str

    Returns
    -------
    Account
    """
    explained = explain(assessment, cause)
    chance = assessment.cause(cause)
    return Account(
        cause,
        chance.name,
        chance.p,
        chance.prior,
        _spoken(assessment, explained),
        tuple(explanation_lines(assessment, explained)) if edition == "job" else (),
    )


def _spoken(assessment: Assessment, explained: Explanation) -> tuple[Spoken, ...]:
    weighty = sorted(explained.weights, key=lambda w: -abs(w.left_out))
    return tuple(
        Spoken(statement(assessment, w.key), w.left_out, _name(assessment, w.explained_by))
        for w in weighty
        if abs(w.left_out) >= SILENT
    )


def ruled_out(
    assessment: Assessment, *, besides: tuple[str, ...], edition: Edition
) -> tuple[RuledOut, ...]:
    """List the causes that fit the complaint and that the answers since have made unlikely.

    Parameters
    ----------
    assessment : Assessment
    besides : tuple of str
        Causes that are not to be listed: what was found.
    edition : str
        So many are listed.

    Returns
    -------
    tuple of RuledOut
        What was likeliest when only the complaint was known, first.
    """
    network = assessment.network
    first = _by_the_complaint(assessment)
    chances = [c for c in assessment.causes if c.id != UNKNOWN and c.id not in besides]
    gone = [
        (float(first[network.cause_index[c.id]]), c)
        for c in chances
        if c.p < UNLIKELY
        and first[network.cause_index[c.id]] >= _LIKELY_AT_FIRST
        and c.p < _LOWERED * first[network.cause_index[c.id]]
    ]
    gone.sort(key=lambda pair: (-round(pair[0], 12), pair[1].id))
    listed = []
    for p, chance in gone[: _MOST[edition]]:
        weight = _against(explain(assessment, chance.id))
        by = statement(assessment, weight.key) if weight else ""
        other = _name(assessment, weight.explained_by) if weight else ""
        listed.append(RuledOut(chance.id, chance.name, p, chance.p, by, other))
    return tuple(listed)


def _by_the_complaint(assessment: Assessment) -> Floats:
    """Chances with set-up, work and complaint known, and no finding; shape (C,)."""
    complaints = assessment.network.base.complaints
    others = frozenset(key for key in assessment.situation.keys if key not in complaints)
    return np.asarray(run(assessment.network, assessment.situation, without=others).cause)


def _against(explained: Explanation) -> Weight | None:
    """The answer that did most against a cause: by itself, else along the chain."""
    if not explained.weights:
        return None
    alone = min(explained.weights, key=lambda w: w.left_out)
    if alone.left_out <= -SILENT:
        return alone
    chain = min(explained.weights, key=lambda w: w.chain)
    return chain if chain.chain <= -SILENT else None


def _name(assessment: Assessment, cause: str | None) -> str:
    return assessment.network.base.causes[cause].name if cause else ""
