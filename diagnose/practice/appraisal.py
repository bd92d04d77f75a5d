"""What each move is worth at one point of an exercise, by the planner's expected hours.

What the advice lists has the figure it lists. Anything else is weighed one act deep, and what it
costs more than the best by that is added to the best of the advice. No move but handing over costs
more than its own hours and the ways it adds: whoever made it can still go on with what was best
before, as if he had not (own derivation: what is learnt can be ignored, and a repair does no harm).
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import islice
from math import inf
from typing import NamedTuple

from diagnose.assess import Assessment, assess
from diagnose.planning.advice import advices
from diagnose.planning.comeback import Planned, planned
from diagnose.planning.lookahead import Lookahead, Move
from diagnose.planning.problem import DRIVE, HAND_OVER, Key, after, hours_of
from diagnose.planning.record import Advice, Option
from diagnose.practice.shop import Shop
from diagnose.practice.telling import NOTHING, could_tell


class Price(NamedTuple):
    """Expected hours to the fix if a move is made, and whether its answer might tell anything.

    `tells` is judged before the answer, and is True for all that is no question or check.
    """

    expected: float
    tells: bool


@dataclass(frozen=True, eq=False)
class Appraisal:
    """One point of an exercise as the planner sees it.

    Attributes
    ----------
    shop : Shop
    assessment : Assessment
    advice : Advice
        Nothing in it goes against a stop notice; handing over is always among its options.
    """

    shop: Shop
    assessment: Assessment
    advice: Advice

    @property
    def options(self) -> tuple[Option, ...]:
        """What the advice lists, the cheapest first."""
        return self.advice.options

    @property
    def best(self) -> Option:
        """The cheapest move."""
        return self.options[0]

    def regret(self, act: Key | None) -> float:
        """Give the minutes by which a move is dearer than the cheapest one, on average.

        Parameters
        ----------
        act : tuple of str or None
            None: it is given back without a drive.

        Returns
        -------
        float
        """
        expected = self._given_back() if act is None else self.price(act).expected
        return max(0.0, 60.0 * (expected - self.best.expected))

    def price(self, act: Key) -> Price:
        """Give what a move would cost to the end.

        Parameters
        ----------
        act : tuple of str

        Returns
        -------
        Price
        """
        for option in self.advice.options:
            if (option.kind, option.id) == act:
                return Price(min(option.expected, self._at_most(act)), tells=True)
        move = self._one_deep.get(act) or self._unlisted(act)
        least = min(m.expected for m in self._one_deep.values())
        expected = self.advice.expected + max(0.0, move.expected - least)
        return Price(min(expected, self._at_most(act)), tells=self._tells(act, move))

    def _given_back(self) -> float:
        """Hours if the customer drives it first; uncured it comes back, and is handed over then."""
        problem, state = self._plan.problem, self._plan.state
        back = ((p, then) for p, then in after(problem, state, DRIVE) if then is not None)
        again = sum(p * hours_of(problem, then, HAND_OVER) for p, then in back)
        return hours_of(problem, state, DRIVE) + again

    def _at_most(self, act: Key) -> float:
        """Hours if the move is made and then gone on with what was best before."""
        if act == HAND_OVER:
            return inf
        own, there = self._own(act)
        access, here = self.shop.access, self.shop.here
        best: Key = (self.best.kind, self.best.id)
        if best in {DRIVE, HAND_OVER}:
            return own + self.best.expected + access.way_out(there) - access.way_out(here)
        depth = self._level(best)
        more = access.move(there, depth)[0] - access.move(here, depth)[0]
        # Both ways end where the best is done, so the ways after it are the same but for this:
        # what was opened deeper than that is closed up later.
        deeper = access.way_out(access.move(there, depth)[1])
        return own + self.best.expected + more + deeper - access.way_out(self._then(depth))

    def _then(self, depth: int) -> int:
        """Level it stands at after something was done at a level."""
        return self.shop.access.move(self.shop.here, depth)[1]

    def _own(self, act: Key) -> tuple[float, int]:
        """Hours of a move with its way, and the level it stands at then."""
        base, access, here = self.shop.base, self.shop.access, self.shop.here
        kind, name = act
        if kind == "drive":
            return access.way_out(here) + self.shop.drive_hours, 0
        own = base.scale.ask_minutes / 60.0
        if kind == "check":
            own = base.checks[name].minutes / 60.0
        elif kind == "repair":
            own = base.causes[name].repair.hours
        way, there = access.move(here, self._level(act))
        return way + own, there

    def _tells(self, act: Key, move: Move) -> bool:
        """Whether an answer, were it free, would save something, or might tell something."""
        if act[0] not in {"ask", "check"}:
            return True
        saved = 0.0
        if act in self._one_deep:
            saved = self._going_on(self._level(act)) - (move.expected - move.hours)
        return saved > NOTHING or could_tell(self.assessment, self._plan, self._look, act)

    def _unlisted(self, act: Key) -> Move:
        """Weigh what is no act of the planner's problem, or one it does not think of."""
        problem, state = self._plan.problem, self._plan.state
        known = {repair.key for repair in problem.repairs}
        if act == DRIVE or act in known:
            hours = hours_of(problem, state, act)
            onward = [(p, then) for p, then in after(problem, state, act) if then is not None]
            values = self._look.going_on([then for _, then in onward])
            rest = sum(p * float(v) for (p, _), v in zip(onward, values, strict=True))
            return Move(act, hours, hours + rest)
        own, there = self._own(act)
        mended = state.mended or act[0] == "repair"
        (rest,) = self._look.going_on([replace(state, here=there, mended=mended)])
        return Move(act, own, own + float(rest))

    def _level(self, act: Key) -> int:
        kind, name = act
        if kind == "check":
            return self.shop.access.index(self.shop.base.checks[name].from_)
        return self.shop.depth(name) if kind == "repair" else self.shop.here

    def _going_on(self, depth: int) -> float:
        _, there = self.shop.access.move(self.shop.here, depth)
        (value,) = self._look.going_on([replace(self._plan.state, here=there)])
        return float(value)

    @cached_property
    def _plan(self) -> Planned:
        return planned(self.assessment)

    @cached_property
    def _look(self) -> Lookahead:
        return Lookahead(self._plan.problem)

    @cached_property
    def _one_deep(self) -> dict[Key, Move]:
        return {move.key: move for move in self._look.moves([self._plan.state])[0]}


def appraise(
    shop: Shop, *, refined: bool = True, cancelled: Callable[[], bool] = lambda: False
) -> Appraisal:
    """Weigh the moves from where the shop stands.

    Parameters
    ----------
    shop : Shop
    refined : bool
        Whether the leading acts are followed further, as the advice does in its second answer.
    cancelled : callable, optional
        Asked between pieces of work.

    Returns
    -------
    Appraisal

    Raises
    ------
    CancelledError
        As soon as `cancelled` says so.
    """
    assessment = assess(shop.base, shop.case)
    *_, advice = islice(advices(assessment, cancelled=cancelled), 2 if refined else 1)
    return Appraisal(shop, assessment, advice)
