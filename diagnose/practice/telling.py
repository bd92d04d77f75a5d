"""Whether a question or check could have told anything, judged before its answer is known.

A check that did not help was not needless for that: it is judged by all that it might have told,
never by the answer that came. It is redundant only if knowing the answer would save next to
nothing, and no answer that can be expected would move the belief in any cause noticeably or turn
the next step into another.
"""

from collections.abc import Iterable

import numpy as np

from diagnose.assess import Assessment
from diagnose.outlook import Outlook
from diagnose.planning.comeback import Planned, reads_of
from diagnose.planning.lookahead import Lookahead
from diagnose.planning.problem import Key, State, after
from diagnose.tables import Floats

WORTH_TELLING = 0.02  # of belief: an answer that moves it so far tells something
_EXPECTED = 0.005  # an answer that is less likely is less than 1 in 100, as the counts say it


def could_tell(assessment: Assessment, plan: Planned, look: Lookahead, act: Key) -> bool:
    """Whether an answer might move belief or the next step.

    Parameters
    ----------
    assessment : Assessment
    plan : Planned
        Its planning problem.
    look : Lookahead
        Weighs the acts of that problem.
    act : tuple of str
        A question or check.

    Returns
    -------
    bool
        Of what was answered already, False. The belief is that in what has to be put right.
    """
    states = _after_answers(assessment, plan, act)
    return _moves_belief(plan, states) or _turns_the_step(plan, look, states)


def _after_answers(assessment: Assessment, plan: Planned, act: Key) -> list[State]:
    """Where it stands after each answer that can be expected."""
    if any(test.key == act for test in plan.problem.tests):
        found = after(plan.problem, plan.state, act)
        return [then for p, then in found if then is not None and p >= _EXPECTED]
    # The planner leaves out what tells little on the whole; one of its answers may still tell much.
    joint = [row * plan.state.weights for row in _left_out(assessment, plan, act)]
    sums = [float(row.sum()) for row in joint]
    return [
        State(row / p, plan.state.here, plan.state.tests, plan.state.repairs, plan.state.mended)
        for row, p in zip(joint, sums, strict=True)
        if p >= _EXPECTED
    ]


def _left_out(assessment: Assessment, plan: Planned, act: Key) -> Iterable[Floats]:
    """Chance of each answer in each row; nothing if it was answered, or all it reads was read."""
    kind, name = act
    situation, base = assessment.situation, assessment.network.base
    if assessment.case.latest(("complaint" if kind == "ask" else "check", name)) is not None:
        return ()
    outlook = Outlook(situation.measured, plan.rows.sets)
    if kind == "ask":
        return outlook.yes_or_no(name, plan.rows.on)
    check = base.checks[name]
    if reads_of(outlook, check) <= frozenset(situation.keys) - situation.stale:
        return ()
    return outlook.answers(check, plan.rows.on)


def _moves_belief(plan: Planned, states: Iterable[State]) -> bool:
    before = plan.state.weights @ plan.problem.needs
    return any(
        float(np.abs(then.weights @ plan.problem.needs - before).max()) >= WORTH_TELLING
        for then in states
    )


def _turns_the_step(plan: Planned, look: Lookahead, states: Iterable[State]) -> bool:
    """Whether the cheapest act after some answer is another than without it, from that level."""
    then = list(states)
    if not then:
        return False
    there = State(
        plan.state.weights, then[0].here, then[0].tests, plan.state.repairs, plan.state.mended
    )
    without, *each = (moves[0].key for moves in look.moves([there, *then]))
    return any(key != without for key in each)
