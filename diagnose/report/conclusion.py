"""The conclusion: what it is, how surely in words and a number, and what follows."""

from collections.abc import Iterator

from diagnose.advice_words import step_words
from diagnose.assess import Assessment, CauseChance
from diagnose.case import Found
from diagnose.planning.record import Advice
from diagnose.report.evidence import UNLIKELY
from diagnose.report.told import first_large
from diagnose.sentences import chance_words, counts, verdict

SURE = {
    "part seen": "the faulty part was seen",
    "complaint gone": "the complaint was gone after the repair",
    "customer silent": "nothing was heard from the customer since",
    "not confirmed": "not confirmed",
}
_NEXT = 2  # so many further causes are named
_WORTH_NAMING = 0.05
_TWO = 2
_QUOTED_NAMES = 5


def conclusion(assessment: Assessment, advice: Advice | None, *, timed: bool) -> Iterator[str]:
    """Say the conclusion in at most three lines.

    Parameters
    ----------
    assessment : Assessment
    advice : Advice or None
        While the case is open.
    timed : bool
        Whether hours may be told.
    """
    found = assessment.case.found
    if found is not None:
        yield from _of_closed(assessment, found)
    else:
        yield from _of_open(assessment, advice, timed=timed)


def how_sure(chance: float) -> str:
    """Say a chance in a word and in counts."""
    return f"{chance_words(chance)}, {counts(chance)}"


def _of_closed(assessment: Assessment, found: Found) -> Iterator[str]:
    base = assessment.network.base
    names = [base.causes[name].name for name in found.causes]
    if len(names) == 1:
        yield f"Found: {names[0]}."
    else:
        fits = "either" if len(names) == _TWO else "any of them"
        yield f"Found: {'; or '.join(names)}. What was seen fits {fits}."
    yield f"How surely: {SURE[found.sure]}. {_by_the_answers(assessment, found)}"
    repaired = [e for e in assessment.case.entries if e.repair is not None]
    if repaired:
        done = dict.fromkeys(base.causes[str(e.repair)].name for e in repaired)
        yield f"Put right: {_listed(list(done))}."


def _by_the_answers(assessment: Assessment, found: Found) -> str:
    """Say how likely what was found is by the answers alone."""
    rank = {cause.id: place for place, cause in enumerate(assessment.causes, 1)}
    said = []
    for name in found.causes:
        if name not in rank:
            said.append("ruled out by the set-up as told")
            continue
        p = assessment.cause(name).p
        said.append(f"{how_sure(p)}, number {rank[name]} of {len(rank)}")
    if len(said) > 1:
        names = (assessment.network.base.causes[name].name for name in found.causes)
        said = [f"{name} ({sure})" for name, sure in zip(names, said, strict=True)]
    return f"By the answers and readings alone: {'; '.join(said)}."


def _of_open(assessment: Assessment, advice: Advice | None, *, timed: bool) -> Iterator[str]:
    first, *rest = assessment.causes
    unknown = f"something this tool does not know ({how_sure(assessment.unknown)})"
    if assessment.unknown > first.p:
        yield f"No cause known here explains it well: it is {unknown}."
        yield f"Of the known causes the likeliest: {_named(first)}."
    else:
        yield f"{_head(assessment, first)}: {first.name} ({how_sure(first.p)})."
        yield first_large("; ".join([*_further(assessment, rest), unknown])) + "."
    if advice is None:
        return
    said = []
    if advice.inside is not None or advice.outside is not None:
        head, reason = verdict(assessment, advice)
        said.append(f"{head}. {reason}" if timed else f"{head}.")
    if advice.options:
        said.append(f"Next: {step_words(advice.options[0].step)}.")
    if said:
        yield " ".join(said)


def _head(assessment: Assessment, first: CauseChance) -> str:
    if not assessment.case.entries:
        return "Nothing was told yet; by experience alone the likeliest"
    return "Most likely" if first.p >= UNLIKELY else "No cause stands out yet; the likeliest"


def _further(assessment: Assessment, rest: list[CauseChance]) -> Iterator[str]:
    named = [cause for cause in rest[:_NEXT] if cause.p >= _WORTH_NAMING]
    if named:
        yield f"then: {'; '.join(_named(cause) for cause in named)}"
    yield f"several at once ({counts(assessment.several)})"


def _named(cause: CauseChance) -> str:
    return f"{cause.name} ({how_sure(cause.p)})"


def _listed(names: list[str]) -> str:
    more = len(names) - _QUOTED_NAMES
    listed = "; ".join(names[:_QUOTED_NAMES])
    return f"{listed}; and {more} more" if more > 0 else listed
