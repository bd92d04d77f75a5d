"""What to do next, from an assessment: the one call of this room.

The first answer weighs every act one step deep. It is then refined: the leading acts are followed
further on the leading rows and checks, and on a problem small enough for it the planner's figure is
held against the exact optimum. What that leaves open is the gap; nothing that opens the gearbox is
advised before another way unless it is better by more than that.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from diagnose.assess import Assessment
from diagnose.case import left_today
from diagnose.planning.closing import closing_list, glances
from diagnose.planning.comeback import Planned, parts_in_hours, planned
from diagnose.planning.exact import solve
from diagnose.planning.leading import leading
from diagnose.planning.lookahead import Lookahead, Move
from diagnose.planning.problem import DRIVE, HAND_OVER, Key, Problem, Repair, Test, after
from diagnose.planning.record import Advice, Flip, Glance, Option, Outcome, Step
from diagnose.stops import against, stops_that_hold

_CANDIDATES = 4  # acts that are followed further, and of those inside
_INSIDE = 2
_ROWS, _TESTS = 60, 12  # what they are followed on
_FURTHER = 1
_LIKELY = 0.03  # causes whose looks are kept
_NEAR = 2.0  # hours above the best beyond which nothing is followed
_LEAST = 0.1  # states less likely than this are not followed
# Sizes of the problem that is solved exactly: rows, checks, states at most.
_EXACT = ((3, 2, 300), (5, 3, 600))
_APART = 0.01  # bounds this near to each other, as a share, count as met
_TO_THE_END = 20
_LEADERS = 3  # acts that are followed to the end there
_NOTHING = 0.5 / 60.0  # hours that a check has to save to be worth anything


def advise(assessment: Assessment, *, cancelled: Callable[[], bool] = lambda: False) -> Advice:
    """Say what to do next, as well as it can be said.

    Parameters
    ----------
    assessment : Assessment
    cancelled : callable, optional
        Asked between pieces of work.

    Returns
    -------
    Advice

    Raises
    ------
    CancelledError
        As soon as `cancelled` says so.
    """
    *_, last = advices(assessment, cancelled=cancelled)
    return last


def advices(
    assessment: Assessment, *, cancelled: Callable[[], bool] = lambda: False
) -> Iterator[Advice]:
    """Yield what to do next at once, then refined, and then with how far it may be from the best.

    Parameters
    ----------
    assessment : Assessment
    cancelled : callable, optional
        Asked between pieces of work.

    Yields
    ------
    Advice
    """
    desk = _Desk(assessment, cancelled)
    moves = desk.moves()
    yield desk.advice(moves)
    followed, tests = desk.rolled_out(moves)
    yield desk.advice(moves, followed)
    gap, share = desk.gap(tests)
    outcomes = desk.outcomes(followed.values())
    yield desk.advice(moves, followed, outcomes, gap=gap, share=share)


def _carried_over(moves: Iterable[Move], followed: Mapping[Key, Move]) -> dict[Key, Move]:
    """Put the figures of acts that were followed in, and shift the others by as much on average.

    None of the others passes the best that was followed: their figures are estimates.
    """
    listed = list(moves)
    shifts = [
        followed[m.key].expected - m.expected
        for m in listed
        if m.key in followed and m.key != HAND_OVER
    ]
    shift = sum(shifts) / len(shifts) if shifts else 0.0
    least = min((move.expected for move in followed.values()), default=0.0)
    rest = {
        m.key: replace(m, expected=max(m.expected + (shift if m.key != HAND_OVER else 0.0), least))
        for m in listed
        if m.key not in followed
    }
    return {**rest, **followed}


def _sure(problem: Problem) -> Problem:
    """Give a problem whose repairs cure for sure."""
    repairs = tuple(replace(r, cures=np.where(r.cures > 0.0, 1.0, 0.0)) for r in problem.repairs)
    return replace(problem, repairs=repairs)


class _Desk:
    """What one piece of advice needs."""

    def __init__(self, assessment: Assessment, cancelled: Callable[[], bool]) -> None:
        self.assessment = assessment
        self.base = assessment.network.base
        self.case = assessment.case
        self.plan: Planned = planned(assessment)
        self.cancelled = cancelled
        self.look = Lookahead(self.plan.problem, cancelled)
        self.access = self.plan.problem.access
        problem = self.plan.problem
        self.acts: dict[Key, Test | Repair] = {t.key: t for t in problem.tests}
        self.acts.update({r.key: r for r in problem.repairs})
        self.depth = {key: act.depth for key, act in self.acts.items()} | {DRIVE: 0, HAND_OVER: 0}
        self.number = {test.key: i for i, test in enumerate(self.plan.problem.tests)}
        self.begins: set[Key] = set()
        self.going_on = self._going_on()

    def _going_on(self) -> list[float]:
        """Expected hours of moving to each level and just going on from there."""
        here, levels = self.plan.state.here, range(len(self.access.names))
        moved = [replace(self.plan.state, here=self.access.move(here, d)[1]) for d in levels]
        values = self.look.going_on(moved)
        return [
            self.access.move(here, d)[0] + float(value)
            for d, value in zip(levels, values, strict=True)
        ]

    def moves(self) -> list[Move]:
        """All acts from here by expected hours; with the way in as well where it is closed."""
        found = self.look.moves([self.plan.state])[0]
        self.begins = {self.look.begun([self.plan.state])[0].key}
        here, inside = self.plan.state.here, self._first_inside()
        if inside is not None and self.access.drivable[here]:
            way = self.access.move(here, inside)[0]
            opened = replace(self.plan.state, here=inside)
            (first,) = self.look.begun([opened])
            if first.key not in {DRIVE, HAND_OVER} and self.is_inside(first.key):
                found.append(Move(first.key, self._hours(first.key), way + first.expected))
                self.begins.add(first.key)
        held = stops_that_hold(self.assessment.network, self.case)
        best: dict[Key, Move] = {}
        for move in found:
            if against(self.base, held, *move.key):
                continue  # the drive; of the checks only the safe ones are in the problem
            if move.key not in best or move.expected < best[move.key].expected:
                best[move.key] = move
        return sorted(best.values(), key=lambda m: (m.expected, m.key))

    def _first_inside(self) -> int | None:
        return next((d for d, whole in enumerate(self.access.drivable) if not whole), None)

    def _hours(self, key: Key) -> float:
        way, _ = self.access.move(self.plan.state.here, self.depth[key])
        return way + self.acts[key].hours

    def is_inside(self, key: Key) -> bool:
        """Whether an act needs the gearbox out."""
        return not self.access.drivable[self.depth[key]]

    def rolled_out(self, moves: Sequence[Move]) -> tuple[dict[Key, Move], list[int]]:
        """Follow the leading acts further, on the leading rows and tests; with these tests."""
        best = moves[0].expected
        worth = [m for m in moves if self._is_worth_it(m) and m.expected <= best + _NEAR]
        inside = [m for m in worth if self.is_inside(m.key)]
        outside = [m for m in worth if not self.is_inside(m.key)]
        chosen = [*outside[:_CANDIDATES], *inside[:_INSIDE]]
        if not self.access.drivable[self.plan.state.here]:
            chosen = [*inside[:_CANDIDATES], *outside[:_INSIDE]]
        tests = [self.number[m.key] for m in moves if m.key in self.number][:_TESTS]
        tests += [self.number[m.key] for m in inside if m.key in self.number][:_INSIDE]
        problem, state, _ = leading(
            self.plan.problem, self.plan.state, rows=_ROWS, tests={*tests, *self._looks()}
        )
        look = Lookahead(problem, self.cancelled)
        there = {m.key: m for m in look.moves([state])[0]}
        among = [there[m.key] for m in chosen if m.key in there]
        found: dict[Key, Move] = {}
        full = {m.key: m for m in moves}
        for move in look.rolled_out(state, among, further=_FURTHER, least=_LEAST):
            key = move.key
            # What following changes is carried over: the level is that of the whole belief.
            changed = move.expected - there[key].expected
            expected = full[key].expected + (0.0 if key == HAND_OVER else changed)
            found[key] = replace(full[key], expected=expected)
        return found, tests

    def _looks(self) -> list[int]:
        """The looks that would settle the causes that are likely enough."""
        chance = self.plan.state.weights @ self.plan.problem.needs
        proofs = self.plan.problem.proofs
        likely = np.flatnonzero(chance > _LIKELY)
        return [t for t in proofs[likely, 0].tolist() if t >= 0]

    def gap(self, tests: Sequence[int]) -> tuple[float | None, float]:
        """Hours that the planner is above the least possible, on the largest problem that closes.

        Repairs count as sure there: trying them again and again has no end. With the share of the
        belief that this problem holds; None if not even the smallest closes.
        """
        found: tuple[float | None, float] = None, 0.0
        for rows, checks, states in _EXACT:
            problem, state, share = leading(
                self.plan.problem, self.plan.state, rows=rows, tests=set(tests[:checks])
            )
            problem = _sure(problem)
            best = solve(problem, state, most=states, apart=_APART)
            if not best.closed:
                break
            look = Lookahead(problem, self.cancelled)
            leaders = look.moves([state])[0][:_LEADERS]
            mine = look.rolled_out(state, leaders, further=_TO_THE_END)[0]
            found = max(0.0, mine.expected - best.lower), share
        return found

    def _is_worth_it(self, move: Move) -> bool:
        return move.key not in self.number or move.key in self.begins or self.gain(move) > _NOTHING

    def gain(self, move: Move) -> float:
        """Expected hours that a question or check saves against going on without it.

        Nothing for what going on would begin with, here or inside.
        """
        if move.key not in self.number:
            return 0.0
        now = self.going_on[self.plan.state.here]
        gain = min(now, self.going_on[self.depth[move.key]]) - move.expected
        return max(gain, 0.0) if move.key in self.begins else gain

    def advice(
        self,
        moves: Sequence[Move],
        followed: Mapping[Key, Move] | None = None,
        outcomes: Mapping[Key, tuple[Outcome, ...]] | None = None,
        *,
        gap: float | None = None,
        share: float = 0.0,
    ) -> Advice:
        """Put the record together."""
        gains = {move.key: self.gain(move) for move in moves}
        better = _carried_over(moves, followed or {})
        options = [
            self._option(better[move.key], (outcomes or {}).get(move.key, ()), gains[move.key])
            for move in moves
            if self._is_worth_it(move)
        ]
        options = self._ranked(options, gap or 0.0)
        left = left_today(self.case)
        fitting = [o for o in options if left is None or self._takes(o) <= left]
        too_long = [o for o in options if o not in fitting][: len(options) if not fitting else 1]
        if fitting and too_long and too_long[0].expected >= fitting[0].expected:
            too_long = []
        inside = self._least(options, inside=True)
        outside = self._least(options, inside=False)
        expected = options[0].expected if options else self.going_on[self.plan.state.here]
        open_now = not self.access.drivable[self.plan.state.here]
        goes_in = bool(options) and self.is_inside((options[0].kind, options[0].id))
        looking = open_now or goes_in
        return Advice(
            options=tuple(fitting),
            expected=expected,
            outside=outside,
            inside=inside,
            go_inside=goes_in,
            gap=gap,
            gap_share=share,
            flips=tuple(self._flips(options, goes_in)) if self._steady(moves, goes_in) else (),
            glances=self._glances if looking else (),
            closing=closing_list(self.assessment) if looking else (),
            too_long=tuple(too_long[:1]),
            left=left,
            money=None if self.case.labour is None else expected * self.case.labour,
            refined=followed is not None,
        )

    @cached_property
    def _glances(self) -> tuple[Glance, ...]:
        return glances(self.assessment, self.plan)

    def _least(self, options: Iterable[Option], *, inside: bool) -> float | None:
        mine = (o.expected for o in options if self.is_inside((o.kind, o.id)) == inside)
        return min(mine, default=None)

    def _ranked(self, options: list[Option], gap: float) -> list[Option]:
        """Cheapest first; but nothing that opens before what is as good within the gap."""
        ranked = sorted(options, key=lambda o: (o.expected, o.kind, o.id))
        if not ranked or not self.access.drivable[self.plan.state.here]:
            return ranked
        if not self.is_inside((ranked[0].kind, ranked[0].id)):
            return ranked
        instead = [
            o
            for o in ranked
            if o.gain > _NOTHING
            and not self.is_inside((o.kind, o.id))
            and o.expected <= ranked[0].expected + gap
        ]
        return [*instead, *(o for o in ranked if o not in instead)]

    def _takes(self, option: Option) -> float:
        """Hours until the vehicle is whole again, with the drive where something was mended."""
        _, there = self.access.move(self.plan.state.here, self.depth[option.kind, option.id])
        drive = self.plan.problem.drive if option.kind == "repair" else 0.0
        return (
            option.hours + drive + (0.0 if option.kind == "drive" else self.access.way_out(there))
        )

    def _option(self, move: Move, outcomes: tuple[Outcome, ...], gain: float) -> Option:
        kind, name = move.key
        step = self.step(move.key)
        way, _ = self.access.move(self.plan.state.here, self.depth[move.key])
        if move.key in {DRIVE, HAND_OVER}:
            way = self.access.way_out(self.plan.state.here)
        # Parts are weighed as hours, but take none.
        parts = parts_in_hours(self.case, name) if kind == "repair" else 0.0
        return Option(
            kind,
            name,
            step.name,
            step.level,
            move.hours - parts,
            way,
            move.expected,
            gain,
            outcomes,
            step.designed,
        )

    def step(self, key: Key) -> Step:
        """Name an act."""
        kind, name = key
        level = self.access.names[self.depth[key]]
        if kind == "ask":
            return Step(kind, name, self.base.complaints[name].ask, self.case.stands)
        if kind == "check":
            return Step(kind, name, self.base.checks[name].name, level)
        if kind == "repair":
            cause = self.base.causes[name]
            return Step(kind, name, cause.name, level, cause.kind == "designed")
        if kind == "drive":
            return Step(kind, name, "Close it up and drive", level)
        return Step(kind, name, "Hand it over", level)

    def outcomes(self, followed: Iterable[Move]) -> dict[Key, tuple[Outcome, ...]]:
        """What each answer to each of some acts leads to, one act deep on the whole belief.

        The leading rows would not do: what an answer proves may stand on none of them. The hours
        are in the proportion in which they are one act deep, and on average those of the act.
        """
        problem, state = self.plan.problem, self.plan.state
        ways = {move.key: tuple(after(problem, state, move.key)) for move in followed}
        then = [after_it for way in ways.values() for _, after_it in way if after_it is not None]
        firsts = iter([moves[0] for moves in self.look.moves(then)])
        return {
            move.key: tuple(
                self._outcomes(
                    move,
                    [(p, None if s is None else next(firsts)) for p, s in ways[move.key]],
                )
            )
            for move in followed
        }

    def _outcomes(self, move: Move, then: Sequence[tuple[float, Move | None]]) -> Iterator[Outcome]:
        """What the answers to one act lead to, each with its chance and the first act after it."""
        onward = sum(p * act.expected for p, act in then if act is not None)
        share = (move.expected - move.hours) / onward if onward else 0.0
        for (p, act), (answer, text) in zip(then, self._answers(move.key), strict=True):
            if act is None:
                yield Outcome(answer, text, p, 0.0, None, inside=False)
            else:
                # Whoever asks the driver needs nothing open, wherever the vehicle stands now.
                inside = act.key[0] != "ask" and self.is_inside(act.key)
                hours = max(share * act.expected, 0.0)
                yield Outcome(answer, text, p, hours, self.step(act.key), inside)

    def _answers(self, key: Key) -> list[tuple[str, str]]:
        """The answers of an act that can be, in order: id and text."""
        kind, name = key
        if kind == "drive":
            return [("gone", "the complaint is gone"), ("still there", "it is still there")]
        if kind == "ask":
            listed = [("yes", "yes"), ("no", "no")]
        elif kind == "check":
            check = self.base.checks[name]
            listed = [("yes", "yes"), ("no", "no")]
            if check.finding is None:
                listed = [(a.id, a.text) for a in check.answers]
        else:
            return [("", "")]
        mass = self.plan.problem.tests[self.number[key]].likelihood @ self.plan.state.weights
        return [answer for answer, p in zip(listed, mass.tolist(), strict=True) if p > 1e-9]

    def _steady(self, moves: Sequence[Move], goes_in: bool) -> bool:
        """Whether one act deep the next step is on the same side as after following.

        Else it is nearly equal, and an answer would seem to turn round what it leaves as it is:
        answers are judged one act deep.
        """
        first = next((m for m in moves if self._is_worth_it(m)), None)
        return first is not None and self.is_inside(first.key) == goes_in

    def _flips(self, options: Iterable[Option], goes_in: bool) -> Iterator[Flip]:
        """Answers after which the next step is inside although this one is not, or vice versa."""
        found = [
            Flip(option.step, outcome)
            for option in options
            for outcome in option.outcomes
            if option.kind in {"ask", "check"}
            and not self.is_inside((option.kind, option.id))
            and outcome.then is not None
            and outcome.inside != goes_in
        ]
        yield from sorted(found, key=lambda f: -f.outcome.p)[:5]
