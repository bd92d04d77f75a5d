"""Which causes can be told apart, by what, and for how many hours.

Two causes that lead to one mechanism or complaint are taken for each other. What tells them apart
is a check, or a question about a complaint, whose answers the two make likely in different ways,
each being there alone. Its measure is the chance of naming the right one of the two from the
answer, when both were as likely before: one half and half the total variation between the two laws
of the answer. A reading counts as the number it is where the set-up predicts it.

Work done is no such question: the base says how it changes the odds of causes, not how often it is
done.

References
----------
Le Cam (1986), Asymptotic Methods in Statistical Decision Theory: of two laws, equally likely, the
best guess is right with one half and half their total variation.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product
from math import inf
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from diagnose.access import Access, access_for
from diagnose.case import Case
from diagnose.effects import Effects
from diagnose.network import UNKNOWN, compile_network
from diagnose.outlook import Outlook
from diagnose.readings import ReadingEvidence
from diagnose.system import arrangement
from diagnose.tables import Floats
from knowledge.model import Cause, Check, KnowledgeBase, Mechanism, Needs
from knowledge.tree import Tree, share_that_fits

# What one cause usually shows (0.8) and the other seldom (0.1) names the right one in 84 of 100;
# what one often shows (0.55) and the other never, in 77: that is a hint and settles nothing.
TELLS = 0.8
# Below this the surest act is named beside the cheapest.
SURE = 0.9
GUESS = 0.5

Flags = NDArray[np.bool_]
Ints = NDArray[np.intp]


@dataclass(frozen=True)
class Act:
    """One check, or one question about a complaint, and how it tells two causes apart.

    Attributes
    ----------
    kind : str
        ``ask`` (a complaint's question) or ``check``.
    id, name : str
    level : str
        Level it is done from.
    hours : float
        From the seat and back, with the act itself.
    chance : float
        Chance of naming the right one of the two, 0.5 to 1.
    """

    kind: Literal["ask", "check"]
    id: str
    name: str
    level: str
    hours: float
    chance: float


@dataclass(frozen=True)
class Pair:
    """Two causes that are taken for each other, in the set-up where telling them costs most.

    Attributes
    ----------
    causes : tuple of str
        The two, in the order of the base.
    setup : str
        Id of that set-up; empty where no shipped set-up fits both.
    facts : Mapping
        Facts of it.
    cheapest : Act or None
        The act of the fewest hours that tells them apart; None if nothing does.
    surest : Act or None
        The act that tells best, whatever it costs; None if all are as good as a guess.
    because : str
        Why it does not matter that nothing tells them apart, as the base says; else empty.
    """

    causes: tuple[str, str]
    setup: str
    facts: Needs
    cheapest: Act | None
    surest: Act | None
    because: str


@lru_cache(maxsize=2)
def pairs(base: KnowledgeBase) -> tuple[Pair, ...]:
    """List every two causes that are taken for each other, and what tells them apart.

    Parameters
    ----------
    base : KnowledgeBase

    Returns
    -------
    tuple of Pair
        In the order of the base. A pair is judged in each shipped set-up that it can occur in;
        where there is none, in every kind of vehicle that has what the two demand.
    """
    worst = _Worst(base)
    for setup in base.setups.values():
        for facts in _settled(base, setup.facts):
            worst.take(_Vehicle(base, setup.id, facts))
    homeless = worst.related & ~worst.found
    if homeless.any():
        for facts in _settled(base, {}):
            if homeless[np.ix_(*[_allowed(base, facts)] * 2)].any():
                worst.take(_Vehicle(base, "", facts), homeless)
    return tuple(worst.pairs())


def _allowed(base: KnowledgeBase, facts: Needs) -> Ints:
    """Places of the causes that a set-up allows."""
    fits = [share_that_fits(base, facts, c.when) > 0.0 for c in base.causes.values()]
    return np.flatnonzero(fits)


def _settled(base: KnowledgeBase, facts: Needs) -> Iterator[Needs]:
    """Give the set-ups that a set-up may be, with every fact settled that a link depends on.

    Facts that only say which causes and checks there are stay open: a check counts for a pair
    where it can be done for sure.
    """
    records: tuple[Cause | Mechanism, ...] = (*base.causes.values(), *base.mechanisms.values())
    needs = [m.when for m in base.mechanisms.values()]
    needs += [link.when for r in records for link in (*r.brings.values(), *r.shows.values())]
    needs += [s.when for c in base.causes.values() for some in c.shifts.values() for s in some]
    depended_on = {fact for need in needs for fact in need}
    names = [name for name in base.facts if name in depended_on]
    values = [facts.get(name) or tuple(base.facts[name].values) for name in names]
    for chosen in product(*values):
        yield {**facts, **{name: (value,) for name, value in zip(names, chosen, strict=True)}}


class _Vehicle:
    """One set-up: its causes, and how well each act tells any two of them apart.

    Attributes
    ----------
    causes : ndarray of int, shape (n,)
        Those that the set-up allows, as places in the base.
    acts : tuple of Act
        All, cheapest first; their chance is that of a guess.
    """

    def __init__(self, base: KnowledgeBase, setup: str, facts: Needs) -> None:
        self.base, self.setup, self.facts = base, setup, facts
        network = compile_network(base, facts)
        known = [i for i, name in enumerate(network.causes) if name != UNKNOWN]
        names = [network.causes[i] for i in known]
        self.causes = np.array([list(base.causes).index(name) for name in names], dtype=np.intp)
        self._values = {fact: self._possible(fact, names) for fact in base.facts}
        self._on = 1.0 - (1.0 - network.leak) * (1.0 - network.q[known])
        effects = Effects(network, arrangement(setup or None, facts), {})
        self._outlook = Outlook(ReadingEvidence(effects, ()), [frozenset({i}) for i in known])
        access = access_for(base, Case(setup=setup or None))
        self.acts = tuple(sorted(self._acts(access), key=lambda a: (a.hours, a.kind, a.id)))

    def _possible(self, fact: str, names: Sequence[str]) -> Ints:
        """Values of a fact, as bits, that each cause leaves; shape (n,)."""
        whens = [self.base.causes[name].when for name in names]
        here = self._bits(fact, self.facts)
        return np.array([here & self._bits(fact, when) for when in whens], dtype=np.intp)

    def _bits(self, fact: str, needs: Needs) -> int:
        values = list(self.base.facts[fact].values)
        return sum(1 << values.index(v) for v in needs.get(fact) or values)

    def _acts(self, access: Access) -> Iterator[Act]:
        minutes = self.base.scale.ask_minutes
        for complaint in self.base.complaints.values():
            yield Act("ask", complaint.id, complaint.ask, access.names[0], minutes / 60.0, GUESS)
        for check in self.base.checks.values():
            way, there = access.move(0, access.index(check.from_))
            hours = way + check.minutes / 60.0 + access.way_out(there)
            yield Act("check", check.id, check.name, check.from_, hours, GUESS)

    def can_be_both(self) -> Flags:
        """Tell which two causes one vehicle can have; shape (n, n)."""
        fits: Flags = np.ones((len(self.causes), len(self.causes)), dtype=bool)
        for values in self._values.values():
            fits &= values[:, None] & values != 0
        return fits

    def chances(self) -> Floats:
        """Chance that an act names the right one of two causes; shape (acts, n, n).

        It is that of a guess where the act can't be done for sure.
        """
        n = len(self.causes)
        return np.reshape([self._chance(act) for act in self.acts], (len(self.acts), n, n))

    def _chance(self, act: Act) -> Floats:
        if act.kind == "ask":
            return (1.0 + total_variation(self._outlook.yes_or_no(act.id, self._on))) / 2.0
        check = self.base.checks[act.id]
        measurement = self.base.measurements[check.gauge] if check.gauge else None
        if measurement and self._outlook.predicts(measurement):
            # Most causes leave a gauge alone: each law once.
            laws, which = np.unique(
                self._outlook.readings(measurement), axis=1, return_inverse=True
            )
            apart = total_variation(laws)[np.ix_(which.ravel(), which.ravel())]
        else:
            apart = total_variation(self._outlook.answers(check, self._on))
        return np.where(self._can_be_done(check), (1.0 + apart) / 2.0, GUESS)

    def _can_be_done(self, check: Check) -> Flags:
        """Tell for which two causes a check fits every vehicle that may have both."""
        fits: Flags = np.ones((len(self.causes), len(self.causes)), dtype=bool)
        for fact in check.when:
            values = self._values[fact]
            fits &= values[:, None] & values & ~self._bits(fact, check.when) == 0
        return fits


def total_variation(laws: Sequence[Floats] | Floats) -> Floats:
    """Give how far laws over the same answers lie apart, each from each.

    Parameters
    ----------
    laws : sequence of ndarray, shape (N, S)
        Chance of each of N answers under each of S laws.

    Returns
    -------
    ndarray, shape (S, S)
        Half the sum of the differences: 0 for the same law, 1 for laws that share no answer.
    """
    apart: Floats = sum(np.abs(row[:, None] - row) for row in np.asarray(laws)) / 2.0
    return apart


@dataclass(frozen=True, eq=False)
class _Best:
    """The cheapest act that tells, and the surest act, for every two causes of one set-up.

    Attributes
    ----------
    acts : tuple of Act or None
        The first is none at all, which is as good as any guess.
    places : ndarray of int, shape (2, n, n)
        Places of the cheapest and of the surest among the acts.
    chances : ndarray, shape (2, n, n)
        Their chances of naming the right one.
    hours : ndarray, shape (n, n)
        Of the cheapest; infinite where nothing tells.
    """

    vehicle: _Vehicle
    acts: tuple[Act | None, ...]
    places: Ints
    chances: Floats
    hours: Floats

    @classmethod
    def of(cls, vehicle: _Vehicle) -> "_Best":
        """Choose among the acts of a set-up; of those equally sure to 1 in 100, the cheapest."""
        n = len(vehicle.causes)
        chances = np.concatenate([np.full((1, n, n), GUESS), vehicle.chances()])
        hours = np.array([inf, *(act.hours for act in vehicle.acts)])
        cheapest, surest = (chances >= TELLS).argmax(axis=0), chances.round(2).argmax(axis=0)
        places = np.array([cheapest, surest])
        chosen = np.take_along_axis(chances, places, axis=0)
        return cls(vehicle, (None, *vehicle.acts), places, chosen, hours[cheapest])

    def pair(self, one: int, other: int) -> Pair:
        """Give what tells two causes, as places in the base, apart here."""
        causes = list(self.vehicle.base.causes.values())
        i, j = np.searchsorted(self.vehicle.causes, (one, other))
        chosen = [self.acts[place] for place in self.places[:, i, j]]
        cheapest, surest = (
            act and replace(act, chance=float(chance))
            for act, chance in zip(chosen, self.chances[:, i, j], strict=True)
        )
        first, second = causes[one], causes[other]
        because = first.alike.get(second.id) or second.alike.get(first.id, "")
        ids = (first.id, second.id)
        return Pair(ids, self.vehicle.setup, self.vehicle.facts, cheapest, surest, because)


def _related(base: KnowledgeBase) -> Flags:
    """Tell which two causes lead to one mechanism or complaint, along any path; shape (C, C)."""
    tree = Tree(base, {})
    middle = (*base.mechanisms, *base.complaints)
    reached = [tree.reach((name,)) for name in base.causes]
    leads = np.reshape(
        [[name in nodes for name in middle] for nodes in reached], (len(reached), len(middle))
    ).astype(np.intp)
    related: Flags = leads @ leads.T > 0
    np.fill_diagonal(related, val=False)
    return related


class _Worst:
    """For every two causes, the set-up met so far in which telling them apart costs most."""

    def __init__(self, base: KnowledgeBase) -> None:
        n = len(base.causes)
        self.related = _related(base)
        self.found: Flags = np.zeros((n, n), dtype=bool)
        self._hours, self._surest = np.full((n, n), -1.0), np.full((n, n), GUESS)
        self._where = np.zeros((n, n), dtype=np.intp)
        self._met: list[_Best] = []

    def take(self, vehicle: _Vehicle, among: Flags | None = None) -> None:
        """Judge pairs in one more set-up; only those of `among`, shape (C, C), if given."""
        rows = np.ix_(vehicle.causes, vehicle.causes)
        related = self.related[rows] & vehicle.can_be_both()
        if among is not None:
            related &= among[rows]
        if not related.any():
            return
        best = _Best.of(vehicle)
        hours, surest = best.hours, best.chances[1]
        old = self._hours[rows]
        worse = related & ((hours > old) | ((hours == old) & (surest < self._surest[rows])))
        self._hours[rows] = np.where(worse, hours, old)
        self._surest[rows] = np.where(worse, surest, self._surest[rows])
        self._where[rows] = np.where(worse, len(self._met), self._where[rows])
        self.found[rows] |= related
        self._met.append(best)

    def pairs(self) -> Iterator[Pair]:
        """Give what was found."""
        for one, other in np.argwhere(np.triu(self.found)).tolist():
            yield self._met[self._where[one, other]].pair(one, other)
