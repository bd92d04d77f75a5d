"""Whether a question or check could have told anything, judged before its answer is known.

A check that did not help was not needless for that: it is judged by all that it might have told,
never by the answer that came. It is redundant only if knowing the answer would save next to
nothing, and no answer that can be expected would move the belief in any cause noticeably or turn
the next step into another.
"""

from collections.abc import Iterable
from dataclasses import replace
from math import inf

import numpy as np

from diagnose.assess import Assessment
from diagnose.network import UNKNOWN
from diagnose.outlook import Outlook
from diagnose.planning.comeback import Planned, reads_of
from diagnose.planning.lookahead import Lookahead
from diagnose.planning.problem import Key, State, after
from diagnose.tables import Floats

WORTH_TELLING = 0.02  # of belief: an answer that moves it so far tells something
NOTHING = 0.5 / 60.0  # hours that are worth nothing, as of the advice
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
    access, here = plan.problem.access, plan.state.here
    if act[0] == "check":
        level = access.index(assessment.network.base.checks[act[1]].from_)
        _, here = access.move(here, level)
    return [
        replace(plan.state, weights=row / row.sum(), here=here)
        for row in joint
        if row.sum() >= _EXPECTED
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
    """Whether some answer moves the belief in a cause that has a name."""
    # Any odd sign makes "something else" likelier, which is no reason to look for one.
    known = plan.problem.needs[:, [cause != UNKNOWN for cause in plan.causes]]
    before = plan.state.weights @ known
    moved = (np.abs(then.weights @ known - before).max(initial=0.0) for then in states)
    return any(float(by) >= WORTH_TELLING for by in moved)


def _turns_the_step(plan: Planned, look: Lookahead, states: Iterable[State]) -> bool:
    """Whether after some answer the step that is cheapest without it is no longer.

    Both are taken from the level where the answer is got, and dearer by next to nothing is a tie.
    """
    then = list(states)
    if not then:
        return False
    there = replace(plan.state, here=then[0].here, tests=then[0].tests)
    without, *each = look.moves([there, *then])
    return any(
        min((m.expected for m in moves if m.key == without[0].key), default=inf)
        > moves[0].expected + NOTHING
        for moves in each
    )
