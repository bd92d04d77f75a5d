"""The advice in sentences: each says only what a field of the record says."""

from collections.abc import Iterator

from diagnose.assess import Assessment
from diagnose.case import Case
from diagnose.planning.record import Advice, Flip, Glance, Option, Outcome, Step
from diagnose.sentences import advice_reason, counts, hours, verdict

_SAME = 1 / 60.0  # hours that are not told apart


def step_words(step: Step) -> str:
    """Name something to do, as an order."""
    if step.kind == "ask":
        return f"ask the driver: {step.name}"
    if step.kind == "repair":
        return f"put right: {step.name}"
    return step.name[0].lower() + step.name[1:]


def why_lines(assessment: Assessment, advice: Advice) -> list[str]:
    """Say why the first option is advised, and how sure that is."""
    lines = [advice_reason(assessment, advice)]
    if advice.options:
        best = advice.options[0]
        if best.way >= _SAME:
            lines.append(f"{hours(best.way)} of that is the way there.")
        lines.append(f"With it the fix takes about {hours(advice.expected)} from here, all told.")
    lines.extend(line for line in (gap_line(advice), limit_line(advice)) if line)
    return lines


def gap_line(advice: Advice) -> str:
    """Say how far the plan may be from the best; empty where that was not worked out."""
    if advice.gap is None:
        return ""
    held = counts(advice.gap_share)
    if advice.gap < _SAME:
        return f"On the leading causes ({held}) no plan is quicker."
    within = f"the plan is within {hours(advice.gap)} of the best possible"
    return f"On the leading causes ({held}) {within}."


def outcome_line(outcome: Outcome) -> str:
    """Say what one answer would lead to."""
    chance = f"{outcome.text}: {counts(outcome.p)}"
    if outcome.then is None:
        return f"{chance}; that is the end of it."
    where = " with the gearbox out" if outcome.inside else ""
    after = f"then {step_words(outcome.then)}{where}; {hours(outcome.expected)} from there"
    return f"{chance}; {after}."


def runner_up_line(advice: Advice, option: Option) -> str:
    """Say what another option would take, beside the advised one."""
    more = option.expected - advice.expected
    longer = f"{hours(more)} longer on average" if more >= _SAME else "as quick on average"
    return f"{step_words(option.step)}: {hours(option.hours)}, {longer}."


def pull_lines(assessment: Assessment, advice: Advice) -> list[str]:
    """Say whether to go inside, the hours each way, and what would turn it round."""
    head, reason = verdict(assessment, advice)
    return [f"{head}. {reason}", *(flip_line(advice, flip) for flip in advice.flips)]


def flip_line(advice: Advice, flip: Flip) -> str:
    """Say which answer would turn the advice on opening round."""
    turned = "it need not come out next" if advice.go_inside else "it has to come out next"
    said = f"{step_words(flip.step)} - “{flip.outcome.text}” ({counts(flip.outcome.p)})"
    return f"If {said}: {turned}."


def glance_line(glance: Glance) -> str:
    """Say what is worth looking at while it is open, and why."""
    return (
        f"{glance.step.name}: {hours(glance.hours)}; finds something in {counts(glance.p)}, "
        f"saves {hours(glance.saves)} on average."
    )


def limit_line(advice: Advice) -> str:
    """Say what the customer's limit keeps from being done; empty without a limit."""
    if advice.left is None:
        return ""
    if advice.left <= 0.0:
        return "The hours the customer allows are spent."
    left = f"Of what the customer allows, {hours(advice.left)} are left."
    if not advice.too_long:
        return left
    better = advice.too_long[0]
    longer = f"takes longer: {hours(better.hours)}, and the way back."
    return f"{left} {_first(step_words(better.step))} {longer}"


def money_line(case: Case, advice: Advice) -> str:
    """Say what the fix is expected to cost; empty without a rate."""
    if advice.money is None:
        return ""
    return f"Expected to cost about {advice.money:.0f} {case.currency}".strip() + "."


def next_line(assessment: Assessment, option: Option) -> str:
    """Name the next step, where it is done, and what it takes."""
    level = assessment.network.base.levels[option.level].name
    return f"Next: {step_words(option.step)} ({level}, {hours(option.hours)})"


def account(assessment: Assessment, advice: Advice, *, runners_up: int = 4) -> Iterator[str]:
    """Yield all that the advice rests on, in lines for a terminal or a report."""
    yield from (f"  {line}" for line in why_lines(assessment, advice))
    money = money_line(assessment.case, advice)
    if money:
        yield f"  {money}"
    if advice.options and advice.options[0].outcomes:
        yield "What it would lead to:"
        yield from (f"  {outcome_line(outcome)}" for outcome in advice.options[0].outcomes)
    others = advice.options[1 : 1 + runners_up]
    if others:
        yield "Or:"
        yield from (f"  {runner_up_line(advice, option)}" for option in others)
    if advice.options:
        yield "Pull the gearbox?"
        yield from (f"  {line}" for line in pull_lines(assessment, advice))
    if advice.glances:
        yield "While it is open, in this order:"
        yield from (f"  {glance_line(glance)}" for glance in advice.glances)
    if advice.closing:
        yield "Before it closes:"
        yield from (f"  {line.text}" for line in advice.closing)


def _first(text: str) -> str:
    return text[0].upper() + text[1:]
