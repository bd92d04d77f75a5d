"""The advice as lines for a terminal, in the order in which one reads them out on the phone."""

from collections.abc import Container, Iterator

from diagnose.advice_words import account, next_line
from diagnose.assess import Assessment
from diagnose.case import Found, spent
from diagnose.planning.record import Advice, Option
from diagnose.sentences import hours
from diagnose.stops import against, stops_that_hold
from knowledge.model import Check, KnowledgeBase

_SURE = {
    "part seen": "the fault was seen",
    "complaint gone": "the complaint is gone",
    "customer silent": "nothing was heard from the customer since",
}
_DESIGNED = {
    "part seen": "it works as designed, and that was shown",
    "complaint gone": "it works as designed, and the driver is content with that",
}
_STOPPED = "A stop notice holds, and for this the engine runs: see to the notice first."
_CAUTION = "The maker's figures, local rules and licensed practice come before this advice."


def sure_words(base: KnowledgeBase, found: Found) -> str:
    """Say how surely a case was closed; what works as designed was no fault."""
    designed = all(base.causes[cause].kind == "designed" for cause in found.causes)
    usual = _SURE.get(found.sure, found.sure)
    return _DESIGNED.get(found.sure, usual) if designed else usual


def stopped_line(assessment: Assessment, kind: str, name: str) -> str:
    """Say that a stop notice comes before a step that goes against it; empty if none does."""
    base = assessment.network.base
    held = stops_that_hold(assessment.network, assessment.case)
    return _STOPPED if against(base, held, kind, name) else ""


def advice_lines(found: Assessment, advice: Advice) -> Iterator[str]:
    """Yield the next step with how it is done, and all that the advice rests on.

    Parameters
    ----------
    found : Assessment
        Of a case that is still open.
    advice : Advice

    Yields
    ------
    str
        Cautions stand before the work.
    """
    base = found.network.base
    if advice.options:
        best = advice.options[0]
        yield next_line(found, best)
        listed = {line.text for line in advice.closing}
        stopped = stopped_line(found, best.kind, best.id)
        if stopped:
            yield f"  {stopped}"
        yield from (f"  {line}" for line in _how_lines(base, best, listed))
    yield from account(found, advice)
    yield from _last_lines(found)


def found_lines(found: Assessment) -> Iterator[str]:
    """Yield what a closed case came to, and what to see to for it; nothing while it is open.

    Parameters
    ----------
    found : Assessment

    Yields
    ------
    str
    """
    base, closed = found.network.base, found.case.found
    if closed is None:
        return
    causes = [base.causes[cause] for cause in closed.causes]
    yield f"Found: {' or '.join(cause.name for cause in causes)}; {sure_words(base, closed)}."
    if closed.why:
        yield f"  {closed.why}"
    closed_up = base.levels[found.case.stands].drivable
    for cause in causes:
        if cause.before_closing and not closed_up:
            yield f"Before it closes: {cause.before_closing}"
        if cause.next_time:
            yield f"Next time: {cause.next_time}"
    yield from _last_lines(found)


def _how_lines(base: KnowledgeBase, option: Option, listed: Container[str]) -> Iterator[str]:
    """How a step is done; a question and a drive say it by their names.

    What is `listed` among what to see to before it closes is not said twice.
    """
    yield from (f"Caution: {base.cautions[caution].text}" for caution in _cautions(base, option))
    if option.kind == "check":
        check = base.checks[option.id]
        yield check.do
        yield f"On the phone: “{check.say}”"
        yield from _meanings(check)
    elif option.kind == "repair":
        cause = base.causes[option.id]
        yield cause.repair.do
        if cause.before_closing and cause.before_closing not in listed:
            yield f"Before it closes: {cause.before_closing}"


def _cautions(base: KnowledgeBase, option: Option) -> tuple[str, ...]:
    """Ids of the cautions of a step."""
    if option.kind == "check":
        return tuple(base.checks[option.id].cautions)
    if option.kind == "repair":
        return tuple(caution.id for caution in base.repair_cautions(base.causes[option.id]))
    return ()


def _meanings(check: Check) -> Iterator[str]:
    """What yes and no mean, where these are the answers."""
    if check.finding is not None:
        yield f"Yes: {check.yes}"
        yield f"No: {check.no}"


def _last_lines(found: Assessment) -> Iterator[str]:
    if spent(found.case):
        yield f"Spent so far: {hours(spent(found.case))}."
    yield _CAUTION
