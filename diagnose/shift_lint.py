"""Rules for what causes do to readings: the base held against the release systems of its set-ups.

`knowledge.lint` looks at records alone. Whether a shift can move anything, and which way, only the
release system knows that it is made on; so these rules run it in every shipped set-up.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

from diagnose.effects import Effects, effects_for
from diagnose.network import Network, compile_network
from diagnose.physics.predict import influences
from diagnose.system import arrangement
from knowledge.lint import Found, Issue, Severity, gather_issues
from knowledge.model import Cause, Check, KnowledgeBase, Needs
from knowledge.release import FIGURE_KINDS
from knowledge.tree import Tree, share_that_fits

_SHOWS = 0.5  # chance from which on a cause is taken to show a finding
_PLAIN = 0.5  # standard deviations of good vehicles: a reading that is moved plainly


@dataclass(frozen=True)
class _SetUp:
    """One set-up whose release system is known."""

    facts: Needs
    network: Network
    effects: Effects
    figures: frozenset[str]  # those that can move some reading

    def moved(self, cause: str, axis: str) -> float | None:
        """Give how far a cause moves a reading, in standard deviations; None if not at all."""
        effect = int(self.effects.of_cause[self.network.cause_index[cause]])
        if not self.effects.moves[axis][effect]:
            return None
        healthy, faulty = (
            sum(law.weight * law.mean for law in self.effects.laws(axis, effects))
            for effects in ((), (effect,))
        )
        return (faulty - healthy) / self.effects.laws(axis, ())[0].deviation


@dataclass(frozen=True)
class _View:
    """A base with what the rules look at."""

    base: KnowledgeBase

    @cached_property
    def setups(self) -> tuple[_SetUp, ...]:
        found = []
        for setup in self.base.setups.values():
            system = arrangement(setup.id, setup.facts)
            if system is not None:
                network = compile_network(self.base, setup.facts)
                figures = frozenset(f for f, moved in influences(system).items() if moved)
                effects = effects_for(network, system, {})
                found.append(_SetUp(setup.facts, network, effects, figures))
        return tuple(found)

    def where(self, cause: Cause) -> tuple[_SetUp, ...]:
        """Set-ups in which a cause can occur."""
        return tuple(s for s in self.setups if cause.id in s.network.cause_index)

    @cached_property
    def by_gauge_alone(self) -> Mapping[str, tuple[Check, ...]]:
        """Findings that only bands of predicted readings tell, and the checks that tell them."""
        readers: dict[str, list[Check]] = {}
        for check in self.base.checks.values():
            for name in check.reads():
                readers.setdefault(name, []).append(check)
        return {
            name: tuple(checks)
            for name, checks in readers.items()
            if name in self.base.findings and all(self._is_predicted(check) for check in checks)
        }

    def _is_predicted(self, check: Check) -> bool:
        if check.gauge is None:
            return False
        measurement = self.base.measurements[check.gauge]
        return bool(measurement.model) or measurement.healthy is not None

    @cached_property
    def shown(self) -> tuple[tuple[Cause, str, Check], ...]:
        """Causes with the findings they show that only gauges tell, and each of these checks."""
        tree = Tree(self.base, {})
        return tuple(
            (cause, finding, check)
            for cause in self.base.causes.values()
            for finding, chance in tree.reach((cause.id,)).items()
            if finding in cause.shows or chance >= _SHOWS
            for check in self.by_gauge_alone.get(finding, ())
        )

    def moves(self, cause: Cause, check: Check) -> tuple[float | None, ...]:
        """How far a cause moves what a check measures, in each set-up where both can be."""
        measurement = self.base.measurements[str(check.gauge)]
        return tuple(
            setup.moved(cause.id, axis)
            for setup in self.where(cause)
            if share_that_fits(self.base, setup.facts, check.when) > 0.0
            and (axis := setup.effects.axis_of(measurement)) is not None
        )


def shift_issues(base: KnowledgeBase) -> tuple[Issue, ...]:
    """Hold the shifts of all causes against the set-ups in which they can occur.

    Parameters
    ----------
    base : KnowledgeBase

    Returns
    -------
    tuple of Issue
        Sorted by place.
    """
    return gather_issues(base, RULES, _View(base))


def _idle(view: _View) -> Found:
    """Shifts of figures that no reading hangs on, wherever the cause can occur."""
    for name, cause in view.base.causes.items():
        here = ("causes", name)
        for target, shifts in cause.shifts.items():
            if target not in FIGURE_KINDS:
                continue
            for shift in shifts:
                setups = [
                    setup
                    for setup in view.where(cause)
                    if share_that_fits(view.base, setup.facts, shift.when) > 0.0
                ]
                if setups and not any(target in setup.figures for setup in setups):
                    yield (
                        here,
                        f"no reading depends on {target!r}, which {name!r} shifts",
                    )
                elif not setups and view.where(cause):
                    yield (
                        here,
                        f"{name!r} occurs in no set-up in which its shift of {target!r} is",
                    )


def _unmoved(view: _View) -> Found:
    """Findings of a gauge alone that count for a cause by its bands, and not as a number."""
    for cause, finding, check in view.shown:
        moves = view.moves(cause, check)
        if moves and all(move is None for move in moves):
            yield (
                ("causes", cause.id),
                f"{cause.id!r} shows {finding!r}, but shifts nothing that {check.id!r} measures",
            )


def _other_way(view: _View) -> Found:
    """Shifts that move a reading away from the bands that tell what their cause shows."""
    for cause, finding, check in view.shown:
        side = _side(check, finding)
        moves = [move for move in view.moves(cause, check) if move is not None]
        if side and moves and all(side * move < -_PLAIN for move in moves):
            yield (
                ("causes", cause.id),
                f"{cause.id!r} shows {finding!r}, but its shifts move the reading of "
                f"{check.id!r} {'up' if side < 0 else 'down'}",
            )


def _side(check: Check, finding: str) -> int:
    """Tell whether a finding stands for the lowest bands, -1, the highest, 1, or neither, 0."""
    there = [answer.shows.get(finding) in {"yes", "probably"} for answer in check.answers]
    count = sum(there)
    if not 0 < count < len(there):
        return 0
    if all(there[:count]):
        return -1
    return 1 if all(there[-count:]) else 0


RULES: Mapping[str, tuple[Severity, Callable[[_View], Found]]] = {
    "idle-shift": ("error", _idle),
    "no-shift": ("warning", _unmoved),
    "other-way": ("warning", _other_way),
}
