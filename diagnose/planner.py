"""What to do next: the expected hours to a verified fix, with the way in and out counted once.

First version: the access-aware order of repairs, and for every check the expected cost after its
answers on that order (one check deep). The belief is the list of fault sets.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from diagnose.access import (
    Access,
    Item,
    StepKey,
    access_for,
    access_order,
    expected_cost,
    shut_once,
)
from diagnose.assess import Assessment
from diagnose.network import UNKNOWN, Network
from diagnose.outlook import Outlook
from diagnose.proofs import Proof, proofs_of
from diagnose.readings import reading_key
from diagnose.tables import Floats
from knowledge.model import Check
from knowledge.tree import share_that_fits

_TRIFLE = 0.0005  # causes below this chance are looked for last of all, with the unknown
_NOTICEABLE = 0.002
_BLAMELESS = 0.001


@dataclass(frozen=True)
class Option:
    """One thing that can be done from where the vehicle stands.

    Attributes
    ----------
    kind : str
        ``ask`` (a complaint's question), ``check``, or ``repair`` (a cause's repair).
    id : str
        Complaint, check or cause id.
    name : str
    level : str
        Level it is done from.
    hours : float
        What it costs itself, with the way to its level.
    expected : float
        Expected hours to a verified fix when this is done first.
    gain : float
        Expected hours saved against going on without it, from here or from where it is done
        (0 for repairs).
    """

    kind: Literal["ask", "check", "repair"]
    id: str
    name: str
    level: str
    hours: float
    expected: float
    gain: float


@dataclass(frozen=True)
class Advice:
    """The next step, the runners-up, and whether to go inside.

    Attributes
    ----------
    options : tuple of Option
        Best first; the first is the advice. Empty only if nothing is left to do.
    expected : float
        Expected hours to a verified fix from here.
    outside, inside : float or None
        Expected hours of the best plan whose next step leaves the gearbox in, and of the best one
        whose next step needs it out; None where there is no such step.
    go_inside : bool
        Whether the next step should be with the gearbox out.
    """

    options: tuple[Option, ...]
    expected: float
    outside: float | None
    inside: float | None
    go_inside: bool


def advise(assessment: Assessment) -> Advice:
    """Say what to do next.

    Parameters
    ----------
    assessment : Assessment

    Returns
    -------
    Advice
    """
    plan = _Plan(assessment)
    now = plan.going_on_from(plan.here)
    options = {(o.kind, o.id): o for o in (*plan.questions(now), *plan.checks(now))}
    worth = {key: o for key, o in options.items() if o.gain > 0.0}
    for option in (*plan.repairs(), *plan.first_steps()):
        key = (option.kind, option.id)
        if key not in worth or option.expected < worth[key].expected:
            worth[key] = option
    ranked = tuple(sorted(worth.values(), key=lambda o: (o.expected, o.id)))
    drivable = dict(zip(plan.access.names, plan.access.drivable, strict=True))
    every = (*ranked, *options.values())
    outside = min((o.expected for o in every if drivable[o.level]), default=None)
    inside = min((o.expected for o in ranked if not drivable[o.level]), default=None)
    go_inside = bool(ranked) and not drivable[ranked[0].level]
    return Advice(ranked, ranked[0].expected if ranked else now, outside, inside, go_inside)


@dataclass(frozen=True)
class _Belief:
    """Fault sets for planning.

    Attributes
    ----------
    weights : ndarray, shape (S,)
    share : ndarray, shape (S, C)
        Each set's weight shared among its causes, by how strongly they bring what the driver
        complains of: a second fault that he would not notice is not what is looked for. Rows sum
        to 1.
    on : ndarray, shape (S, F)
        Chance that each finding is there, given the set.
    """

    weights: Floats
    share: Floats
    on: Floats


def _belief(assessment: Assessment) -> _Belief:
    network = assessment.network
    sets = [tuple(sorted(s.causes)) for s in assessment.found.sets]
    weights = np.array([s.p for s in assessment.found.sets])
    weights = weights / weights.sum()
    member = np.zeros((len(sets), len(network.causes)))
    for row, causes in zip(member, sets, strict=True):
        row[list(causes)] = 1.0
    off = np.array([_missed(network, causes) for causes in sets])
    on = 1.0 - (1.0 - network.leak) * off
    blame = member * (_behind_complaint(assessment) + _BLAMELESS)
    return _Belief(weights, blame / blame.sum(axis=1, keepdims=True), on)


def _missed(network: Network, causes: tuple[int, ...]) -> Floats:
    """Chance of each finding that none of some causes brings it; shape (F,)."""
    apart = set(causes)
    off = np.ones(len(network.findings))
    for group in network.groups:
        members = frozenset(causes).intersection(group.members)
        if len(members) > 1:
            apart -= members
            off *= 1.0 - group.together[members]
    missed: Floats = off * np.prod(1.0 - network.q[sorted(apart)], axis=0)
    return missed


def _behind_complaint(assessment: Assessment) -> Floats:
    """How strongly each cause brings the complaints that are there; shape (C,)."""
    network, observed = assessment.network, assessment.situation.observed
    there = [
        network.finding_index[name]
        for name, seen in observed.items()
        if name in network.base.complaints and seen.ratio > 1.0
    ]
    strength: Floats = network.q[:, there].sum(axis=1)
    return strength


class _Plan:
    """What one round of advice needs: the belief, the ways in, and what proves what."""

    def __init__(self, assessment: Assessment) -> None:
        self.assessment = assessment
        self.network: Network = assessment.network
        self.base = self.network.base
        self.case = assessment.case
        self.access: Access = access_for(self.base, self.case)
        self.here = self.access.index(self.case.stands)
        self.belief = _belief(assessment)
        self.stale = assessment.situation.stale
        self.used = frozenset(assessment.situation.observed) - self.stale
        self.proofs = proofs_of(self.network)
        self.open_checks = [c for c in self.base.checks.values() if self._can_be_done(c)]
        self.open_ids = frozenset(c.id for c in self.open_checks)
        sets = [s.causes for s in assessment.found.sets]
        self.outlook = Outlook(assessment.situation.measured, sets)
        self.looks: dict[int, list[_Look | None]] = {}
        self.onward: dict[int, list[Item]] = {}

    def _can_be_done(self, check: Check) -> bool:
        answered = self.case.answer_to(("check", check.id)) is not None
        key = reading_key(check.gauge) if check.gauge else ""
        answered = answered and not self.stale.intersection((*check.reads(), key))
        fits = share_that_fits(self.base, self.case.facts, check.when) > 0.0
        return fits and not answered and check.id not in self.case.skipped

    def cost_of_going_on(self, weights: Floats, here: int, known: frozenset[str]) -> float:
        """Expected hours when from here on only the access-aware order is followed."""
        return self.cost_of(self.order(weights, here, known), here)

    def cost_of(self, order: list[Item], here: int) -> float:
        """Expected hours of an order from where the vehicle stands."""
        return expected_cost(order, self.access, here, hand_over=self.base.scale.hand_over)

    def order(self, weights: Floats, here: int, known: frozenset[str]) -> list[Item]:
        """The access-aware order of looks and repairs for a belief of shape (S,)."""
        chance = weights @ self.belief.share
        looks = self._looks_from(here)
        items: dict[StepKey, Item] = {}
        for i in np.flatnonzero(chance > _TRIFLE):
            look = looks[i]
            if look is not None and look.finding in known and look.finding not in self.used:
                look = self._look(self.network.causes[i], here, known)
            if look is not None:
                item = look.item(float(chance[i]))
                old = items.get(item.key)
                items[item.key] = item if old is None else _joined(old, item)
        order = access_order(list(items.values()), self.access.opening(here))
        return shut_once(order, self.access, here)

    def _looks_from(self, here: int) -> list["_Look | None"]:
        """For each cause, how it would be looked for from a level with what is known now."""
        if here not in self.looks:
            self.looks[here] = [self._look(c, here, self.used) for c in self.network.causes]
        return self.looks[here]

    def _look(self, cause: str, here: int, known: frozenset[str]) -> "_Look | None":
        """How a cause would be looked for: by the proof nearest at hand, or by its repair."""
        if cause == UNKNOWN:
            return None
        repair = self.base.causes[cause].repair
        depth = self.access.index(repair.from_)
        proof = self._proof(cause, here, known)
        tried = self._near(here, depth, repair.hours)
        if proof is None or self._near(here, proof.depth, proof.hours) >= tried:
            return _Look(("repair", cause), repair.hours, depth, 0.0, depth, "")
        return _Look(
            ("check", proof.check), proof.hours, proof.depth, repair.hours, depth, proof.finding
        )

    def _proof(self, cause: str, here: int, known: frozenset[str]) -> Proof | None:
        usable = (
            proof
            for proof in self.proofs.get(cause, ())
            if proof.check in self.open_ids and proof.finding not in known
        )
        return min(usable, key=lambda p: self._near(here, p.depth, p.hours), default=None)

    def _near(self, here: int, depth: int, hours: float) -> float:
        """Hours of something done at a level, with the way there."""
        return self.access.move(here, depth)[0] + hours

    def questions(self, now: float) -> list[Option]:
        """Complaints that have not been asked about yet."""
        options = []
        for complaint in self.base.complaints.values():
            if self.case.answer_to(("complaint", complaint.id)) is None:
                hours = self.base.scale.ask_minutes / 60.0
                likelihoods = self.outlook.yes_or_no(complaint.id, self.belief.on)
                if not self._tells_something(likelihoods):
                    continue
                after = hours + self._after(likelihoods, self.here, frozenset({complaint.id}))
                level = self.case.stands
                options.append(
                    Option("ask", complaint.id, complaint.ask, level, hours, after, now - after)
                )
        return options

    def checks(self, now: float) -> list[Option]:
        """Every check that can be done, with the way to it."""
        options = []
        for check in self.open_checks:
            way, there = self.access.move(self.here, self.access.index(check.from_))
            hours = way + check.minutes / 60.0
            likelihoods = self.outlook.answers(check, self.belief.on)
            if not self._tells_something(likelihoods):
                continue
            after = hours + self._after(likelihoods, there, frozenset(check.reads()))
            gain = min(now, way + self.going_on_from(there)) - after
            options.append(Option("check", check.id, check.name, check.from_, hours, after, gain))
        return options

    def going_on_from(self, there: int) -> float:
        """Expected hours of just going on from a level: what a mere move there is worth."""
        return self.cost_of(self._order_from(there), there)

    def _order_from(self, there: int) -> list[Item]:
        if there not in self.onward:
            self.onward[there] = self.order(self.belief.weights, there, self.used)
        return self.onward[there]

    def first_steps(self) -> list[Option]:
        """The first step of just going on: from where the vehicle stands, and with it opened."""
        starts = {self.here, next(i for i, whole in enumerate(self.access.drivable) if not whole)}
        options = []
        for start in sorted(starts):
            way, there = self.access.move(self.here, start)
            order = self._order_from(there)
            if order and (start == self.here or not self.access.drivable[order[0].depth]):
                kind, name = order[0].key
                record = self.base.checks[name] if kind == "check" else self.base.causes[name]
                step, _ = self.access.move(there, order[0].depth)
                hours = way + step + order[0].cost
                expected = way + self.cost_of(order, there)
                level = self.access.names[order[0].depth]
                options.append(Option(kind, name, record.name, level, hours, expected, 0.0))
        return options

    def repairs(self) -> list[Option]:
        """Repairs of the likelier causes, tried without a further look."""
        weights = self.belief.weights
        chance = weights @ self.belief.share
        options = []
        for i in np.flatnonzero(chance > 0.05):
            name = self.network.causes[i]
            if name == UNKNOWN:
                continue
            cause = self.base.causes[name]
            way, there = self.access.move(self.here, self.access.index(cause.repair.from_))
            hours = way + cause.repair.hours
            cured = float(chance[i]) * self.base.strength(cause.repair.cures)
            rest = weights * (1.0 - self.belief.share[:, i])
            # Whether it cured is known only once the vehicle is whole again and driven.
            left = rest.sum()
            onward = self.cost_of_going_on(rest / left, 0, self.used) if left > 0.0 else 0.0
            after = hours + self.access.way_out(there) + (1.0 - cured) * onward
            options.append(
                Option("repair", name, cause.name, cause.repair.from_, hours, after, 0.0)
            )
        return options

    def _after(self, likelihoods: list[Floats], here: int, read: frozenset[str]) -> float:
        """Expected hours after a check's answer, over all its answers."""
        total = 0.0
        for likelihood in likelihoods:
            joint = self.belief.weights * likelihood
            mass = float(joint.sum())
            if mass > 1e-9:
                total += mass * self.cost_of_going_on(joint / mass, here, self.used | read)
        return total

    def _tells_something(self, likelihoods: list[Floats]) -> bool:
        """Whether any answer's chance differs noticeably from fault set to fault set."""
        return any(
            float(self.belief.weights @ np.abs(row - self.belief.weights @ row)) > _NOTICEABLE
            for row in likelihoods
        )


@dataclass(frozen=True, slots=True)
class _Look:
    """An item without its chance; ``finding`` is what the look reads."""

    key: StepKey
    cost: float
    depth: int
    fix: float
    fix_depth: int
    finding: str

    def item(self, p: float) -> Item:
        return Item(self.key, p, self.cost, self.depth, self.fix, self.fix_depth)


def _joined(one: Item, other: Item) -> Item:
    """Make one item of what one look settles."""
    p = one.p + other.p
    fix = (one.p * one.fix + other.p * other.fix) / p
    return Item(one.key, p, one.cost, one.depth, fix, max(one.fix_depth, other.fix_depth))
