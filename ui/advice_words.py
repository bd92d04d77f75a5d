"""What is advised, as lines to show: made only of the fields of the advice; Qt-free."""

from diagnose.assess import Assessment
from diagnose.case import Case, left_today, spent
from diagnose.planning.record import Advice, Flip, Glance, Option, Outcome, Step
from diagnose.sentences import advice_reason, counts, hours, verdict

_MINUTE = 1.0 / 60.0  # hours
_LEADS = {"ask": "Ask: ", "repair": "Put right: "}


def step_words(step: Step | Option) -> str:
    """Name a step with what is done: "Ask: Does it slip?"."""
    name = _LEADS.get(step.kind, "") + step.name
    return name[:1].upper() + name[1:]


def reason(assessment: Assessment, advice: Advice, option: Option | None) -> str:
    """Say in a sentence or two why an option is on the card; empty where nothing is known of it."""
    if option is None:
        return ""
    if option is not advice.options[0]:
        more = option.expected - advice.options[0].expected
        if more < _MINUTE:
            return "It is as good as the advised step."
        return f"Not the advised step: with it first the fix takes {hours(more)} longer on average."
    if option.kind == "drive":
        pending = sum(entry.is_pending for entry in assessment.case.entries)
        done = {0: "", 1: "One repair waits"}.get(pending, f"{pending} repairs wait")
        proves = f"{done} to be proved: only the road shows it. " if done else ""
        return f"{proves}It takes {hours(option.hours)} with closing up."
    return advice_reason(assessment, advice)


def advice_lines(assessment: Assessment, advice: Advice, option: Option | None) -> list[str]:
    """Account for the step on the card, in sentences.

    Parameters
    ----------
    assessment : Assessment
    advice : Advice
    option : Option or None
        The step; None if the planner knows nothing of it.

    Returns
    -------
    list of str
    """
    if option is None:
        return ["The planner did not weigh this step: it tells nothing more, or can't be done now."]
    lines = [reason(assessment, advice, option)]
    if option.way >= _MINUTE and option.kind not in {"drive", "hand_over"}:
        own = hours(max(0.0, option.hours - option.way))
        lines.append(f"Getting there takes {hours(option.way)}, the step itself {own}.")
    with_it, without = hours(option.expected), hours(option.expected + option.gain)
    total = f"With it first the fix is expected in {with_it}"
    if without != with_it:
        total += f"; going on without it, in {without}"
    return [*lines, f"{total}."]


def outcome_line(outcome: Outcome) -> str:
    """Say how often an answer is to be expected, what is done then, and the hours from there."""
    if outcome.then is None:
        return f"{counts(outcome.p)}; that is the end of it"
    then = f"then {_quoted(step_words(outcome.then))}"
    return f"{counts(outcome.p)}; {then}, {hours(outcome.expected)} to the fix"


def runner_line(advice: Advice, option: Option) -> str:
    """Say how many more hours another option takes than the advised one."""
    more = option.expected - advice.options[0].expected
    if option is advice.options[0]:
        return "the advised step"
    return "as good" if more < _MINUTE else f"{hours(more)} longer to the fix on average"


def pull_lines(assessment: Assessment, advice: Advice) -> list[str]:
    """Say whether to go inside, the hours each way, and the answers that would turn it round."""
    head, why = verdict(assessment, advice)
    return [f"{head}. {why}", *(_flip_line(flip) for flip in advice.flips)]


def _flip_line(flip: Flip) -> str:
    asked, answer = _quoted(flip.step.name), _quoted(flip.outcome.text)
    then = "go inside next" if flip.outcome.inside else "stay outside next"
    return f"It would turn with {asked}: {answer} ({counts(flip.outcome.p)}). Then {then}."


def money(case: Case, time: float) -> str:
    """Give what hours of work cost; empty without a rate."""
    if case.labour is None:
        return ""
    return f"{time * case.labour:.0f} {case.currency}".strip()


def money_line(case: Case, advice: Advice) -> str:
    """Say what the way to the fix costs, and what was spent; empty without a rate."""
    if advice.money is None:
        return ""
    so_far = money(case, spent(case))
    to_come = f"{advice.money:.0f} {case.currency}".strip()
    return f"To the fix about {to_come}; the hours so far come to {so_far}."


def limit_line(case: Case) -> str:
    """Say what is left of the hours the customer allows; empty without a limit."""
    left = left_today(case)
    if left is None or case.limit is None:
        return ""
    if left < 0.5 * _MINUTE:
        return f"nothing left of the customer's {hours(case.limit)}"
    return f"{hours(left)} left today of the customer's {hours(case.limit)}"


def too_long_line(advice: Advice) -> str:
    """Name the step that would be better but does not fit into today; empty if there is none."""
    if not advice.too_long or advice.left is None:
        return ""
    step = advice.too_long[0]
    better = "better step" if advice.options else "next step"
    left = "nothing is" if advice.left < 0.5 * _MINUTE else f"{hours(advice.left)} are"
    return (
        f"The {better} {_quoted(step_words(step))} takes {hours(step.hours)}, "
        f"with closing up longer; {left} left today."
    )


def glance_line(glance: Glance) -> str:
    """Say how often a look finds something, what it takes, and what it saves."""
    return (
        f"finds something in {counts(glance.p)}; takes {hours(glance.hours)}, "
        f"saves {hours(glance.saves)} on average"
    )


def second_thoughts(kept: Option | None, better: Option) -> str:
    """Say that another step than the one on the card is better after all; empty if hardly so."""
    name = _quoted(step_words(better))
    if kept is None:
        return f"On second thoughts {name} is better."
    saves = kept.expected - better.expected
    if saves < _MINUTE:
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
    if abs(change) < 0.5 * _MINUTE:
        return "as before the last answer" if answered else "as before"
    was = f"was {hours(before.expected)}"
    if not answered:
        return was
    much = hours(abs(change))
    return f"{was}, the last answer {f'added {much}' if change > 0.0 else f'took {much} off'}"


def _quoted(text: str) -> str:
    return f"“{text}”"
