"""The advice in sentences: each says only what a field of the record says.

The window, the command line and the report lay them out; none has sentences of its own.
"""

from collections.abc import Iterator

from diagnose.assess import Assessment
from diagnose.case import Case, left_today, spent
from diagnose.planning.record import Advice, Flip, Glance, Option, Outcome, Step
from diagnose.sentences import advice_reason, counts, hours, verdict

_SAME = 1 / 60.0  # hours that are not told apart
_NOTHING = 0.5 * _SAME


def step_words(step: Step | Option) -> str:
    """Name something to do, as an order."""
    if step.kind == "ask":
        return f"ask the driver: {step.name}"
    if step.kind == "repair":
        return f"{'explain it' if step.designed else 'put right'}: {step.name}"
    return step.name[0].lower() + step.name[1:]


def step_title(step: Step | Option) -> str:
    """Name something to do, to stand by itself."""
    return _first(step_words(step))


def reason(assessment: Assessment, advice: Advice, option: Option | None) -> str:
    """Say in a sentence or two why an option is shown; empty where the planner did not weigh it."""
    if option is None:
        return ""
    if advice.options and option is not advice.options[0]:
        more = option.expected - _best(advice)
        if more < _SAME:
            return "It is as good as the advised step."
        return f"Not the advised step: with it first the fix takes {hours(more)} longer on average."
    return advice_reason(assessment, advice)


def step_lines(assessment: Assessment, advice: Advice, option: Option | None) -> list[str]:
    """Account for one step: why it, the way to it, and the fix with it and without.

    Parameters
    ----------
    assessment : Assessment
    advice : Advice
    option : Option or None
        The step; None if the planner did not weigh it.

    Returns
    -------
    list of str
    """
    if option is None:
        return ["The planner did not weigh this step: it tells nothing more, or can't be done now."]
    lines = [reason(assessment, advice, option)]
    priced = option.kind == "repair" and option.id in assessment.case.parts
    if option.way >= _SAME and option.kind not in {"drive", "hand_over"}:
        own = hours(max(0.0, option.hours - option.way))
        lines.append(f"Getting there takes {hours(option.way)}, the step itself {own}.")
    if priced:
        lines.append(parts_line(assessment.case, option.id))
    with_it, without = hours(option.expected), hours(option.expected + option.gain)
    total = f"With it first the fix takes about {with_it} from here"
    return [*lines, f"{total}; without it, {without}." if without != with_it else f"{total}."]


def why_lines(assessment: Assessment, advice: Advice) -> list[str]:
    """Say why the first option is advised, and how sure that is."""
    if advice.options:
        lines = step_lines(assessment, advice, advice.options[0])
    else:
        lines = [advice_reason(assessment, advice)]
    more = (gap_line(advice), limit_line(assessment.case, advice))
    return [*lines, *(line for line in more if line)]


def gap_line(advice: Advice) -> str:
    """Say how far the plan may be from the best; empty where that was not worked out."""
    if advice.gap is None:
        return ""
    held = f"Worked out to the end for the likeliest causes alone ({counts(advice.gap_share)}):"
    if advice.gap < _SAME:
        return f"{held} no plan is quicker."
    return f"{held} the best plan would be quicker by {hours(advice.gap)} at most."


def outcome_line(outcome: Outcome) -> str:
    """Say what one answer would lead to; what has no answers leads to one thing."""
    if outcome.text:
        return f"{outcome.text}: {outcome_words(outcome)}."
    return f"{_first(_onward(outcome))}."


def outcome_words(outcome: Outcome) -> str:
    """Say how often an answer is to be expected, what is done then, and the hours from there."""
    return f"{counts(outcome.p)}; {_onward(outcome)}"


def _onward(outcome: Outcome) -> str:
    if outcome.then is None:
        return "that is the end of it"
    where = " with the gearbox out" if outcome.inside else ""
    then = f"then {_quoted(step_words(outcome.then))}{where}"
    return f"{then}, {hours(outcome.expected)} to the fix"


def runner_up_line(advice: Advice, option: Option) -> str:
    """Say what another option would take, beside the advised one."""
    took = cost_words("", option)
    return f"{_headed(step_words(option))} {took}, {runner_up_words(advice, option)}."


def cost_words(level: str, option: Option) -> str:
    """Say at which level, by name, a step is done, and what it takes with the way there.

    A question needs no level, and neither does closing up.
    """
    took = hours(option.hours)
    if option.kind == "hand_over":
        return f"counts as {took}"
    if option.kind == "drive":
        return f"{took}, closing up included" if option.way >= _SAME else took
    return f"{level}, {took}" if level and option.kind != "ask" else took


def runner_up_words(advice: Advice, option: Option) -> str:
    """Say how many more hours another option takes than the advised one."""
    if advice.options and option is advice.options[0]:
        return "the advised step"
    more = option.expected - _best(advice)
    return "as quick on average" if more < _SAME else f"{hours(more)} longer to the fix on average"


def pull_lines(assessment: Assessment, advice: Advice) -> list[str]:
    """Say whether to go inside, the hours each way, and what would turn it round."""
    head, why = verdict(assessment, advice)
    said = [f"{head}. {why}"]
    if advice.flips:
        said += [flips_line(advice), *(f"- {flip_words(flip)}" for flip in advice.flips)]
    return said


def flips_line(advice: Advice) -> str:
    """Head the answers that would turn the advice on opening round; all turn it the same way."""
    which = "one of these answers" if len(advice.flips) > 1 else "this answer"
    where = "in" if advice.go_inside else "out"
    return f"With {which} the next step is with the gearbox {where}:"


def flip_words(flip: Flip) -> str:
    """Name one such answer, and how often it is to be expected."""
    return f"{_headed(flip.step.name)} {_quoted(flip.outcome.text)}, {counts(flip.outcome.p)}"


def glance_line(glance: Glance) -> str:
    """Say what is worth looking at while it is open, and why."""
    return f"{glance.step.name}: {glance_words(glance)}."


def glance_words(glance: Glance) -> str:
    """Say what a look takes, how often it finds something, and what it saves."""
    return (
        f"{hours(glance.hours)}; finds something in {counts(glance.p)}, "
        f"saves {hours(glance.saves)} on average"
    )


def limit_line(case: Case, advice: Advice) -> str:
    """Say what the customer's limit leaves, and what it keeps from being done; empty without."""
    left = left_words(case)
    return too_long_line(advice) or (f"{_first(left)}." if left else "")


def left_words(case: Case) -> str:
    """Say what is left of the hours the customer allows; empty without a limit."""
    left = left_today(case)
    if left is None or case.limit is None:
        return ""
    if left < _NOTHING:
        return f"nothing left of the customer's {hours(case.limit)}"
    return f"{hours(left)} left today of the customer's {hours(case.limit)}"


def too_long_line(advice: Advice) -> str:
    """Name the step that would be better but does not fit into today; empty if there is none."""
    if not advice.too_long or advice.left is None:
        return ""
    step = advice.too_long[0]
    better = "better step" if advice.options else "next step"
    left = "nothing" if advice.left < _NOTHING else hours(advice.left)
    return (
        f"The {better}, {_quoted(step_words(step))}, takes {hours(step.hours)} without the way "
        f"back, and there is {left} left today."
    )


def money(case: Case, amount: float) -> str:
    """Give an amount of money in the currency of the case."""
    return f"{amount:.0f} {case.currency}".strip()


def money_line(case: Case, advice: Advice) -> str:
    """Say what the way to the fix costs, and what was spent; empty without a rate."""
    if advice.money is None or case.labour is None:
        return ""
    parts = ", parts with a price included" if case.parts else ""
    so_far = spent(case) * case.labour
    before = f"; the hours so far come to {money(case, so_far)}" if so_far else ""
    return f"To the fix about {money(case, advice.money)}{parts}{before}."


def parts_line(case: Case, cause: str) -> str:
    """Say how the price of the parts that put a cause right counts; empty without a price."""
    price = case.parts.get(cause)
    if price is None:
        return ""
    at = f"Its parts at {money(case, price)} count"
    if not case.labour:
        return f"{at} only once the labour for an hour is known."
    return f"{at} as {hours(price / case.labour)} of work."


def second_thoughts(kept: Option | None, better: Option) -> str:
    """Say that another step than the one shown is better after all; empty if hardly so."""
    name = _quoted(step_words(better))
    if kept is None:
        return f"On second thoughts {name} is better."
    saves = kept.expected - better.expected
    if saves < _SAME:
        return ""
    more = f"{round(60 * saves)} more min" if saves < 1.5 else f"{saves:.1f} more h"
    return f"On second thoughts {name} saves {more}."


def change_line(before: Advice, now: Advice, *, answered: bool) -> str:
    """Say what the expected hours were, and how they changed; both figures of the same kind.

    Parameters
    ----------
    before, now : Advice
    answered : bool
        Whether an answer made the change, rather than taking one back.
    """
    change = now.expected - before.expected
    if abs(change) < _NOTHING:
        return "as before the last answer" if answered else "as before"
    was = f"was {hours(before.expected)}"
    if not answered:
        return was
    much = hours(abs(change))
    return f"{was}, the last answer {f'added {much}' if change > 0.0 else f'took {much} off'}"


def next_line(assessment: Assessment, option: Option) -> str:
    """Name the next step, where it is done, and what it takes."""
    level = assessment.network.base.levels[option.level].name
    return f"Next: {step_words(option)} ({cost_words(level, option)})"


def account(assessment: Assessment, advice: Advice, *, runners_up: int = 4) -> Iterator[str]:
    """Yield all that the advice rests on, in lines for a terminal or a report."""
    yield from (f"  {line}" for line in why_lines(assessment, advice))
    cost = money_line(assessment.case, advice)
    if cost:
        yield f"  {cost}"
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


def _best(advice: Advice) -> float:
    """Expected hours with the advised step."""
    return advice.options[0].expected if advice.options else advice.expected


def _headed(text: str) -> str:
    """A text as the head of what follows; a question stands as it is."""
    return text if text.endswith("?") else f"{text}:"


def _quoted(text: str) -> str:
    return f"“{text}”"


def _first(text: str) -> str:
    return text[0].upper() + text[1:]
