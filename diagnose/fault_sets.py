"""The most probable sets of causes, in certified order, with the mass they cover.

The forward pass of `diagnose.noisy_or` is done once more with the sets kept apart: at each
component's turn every set so far goes on without it, and once with each of its choices; components
that take a turn together are taken by the first of them that has a cause, then the next. The
backward message gives the exact mass of everything that can still follow, so a branch is dropped as
soon as all it holds is less than the least of the sets that are already good enough for the list.
What was dropped can therefore not have belonged there.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from operator import attrgetter

import numpy as np
from numpy.typing import NDArray

from diagnose.choices import NONE, Choices, Component, Still, Stop
from diagnose.noisy_or import Messages
from diagnose.tables import Floats, closed, closed_back, opened, opened_back
from diagnose.together import Ints, Weighed

_ROOM = 1 << 20  # numbers in the tables of all branches together
_AT_ONCE = 64  # sets of tied causes that are looked at before the list is looked at again


@dataclass(frozen=True)
class FaultSet:
    """One set of causes (indices) and its posterior probability."""

    causes: frozenset[int]
    p: float


@dataclass(frozen=True)
class FaultSets:
    """Sets by falling probability, and the mass they cover together."""

    sets: tuple[FaultSet, ...]
    covered: float


def best_sets(
    messages: Messages,
    present: NDArray[np.bool_],
    *,
    limit: int = 20,
    mass: float = 0.999,
    floor: float = 1e-7,
) -> FaultSets:
    """List the most probable sets.

    Parameters
    ----------
    messages : Messages
        From `diagnose.noisy_or.infer`.
    present : ndarray of bool, shape (M, C)
        `Modes.present` of the same network.
    limit : int
        At most so many sets.
    mass : float
        List no more once the sets cover this share.
    floor : float
        Branches that hold no more than this share are left out, and count as not covered. Where
        very many findings hang together, larger ones may be left out too; the list is then shorter.

    Returns
    -------
    FaultSets
        ``covered`` is at most 1; what is missing is in sets that are not listed, and none of them
        is more probable than the last that is.
    """
    share = messages.total - messages.empty
    causes_of = _causes_of(present)
    search = _Search(messages, causes_of, limit, floor * share)
    for u, mode in enumerate(messages.outsider):
        search.run(u, frozenset() if mode.row < 0 else causes_of[mode.row])
    listed: list[FaultSet] = []
    covered = 0.0
    for causes, value in search.best():
        if covered >= mass:
            break
        listed.append(FaultSet(causes, value / share))
        covered += value / share
    return FaultSets(tuple(listed), min(covered, 1.0))


def _causes_of(present: NDArray[np.bool_]) -> list[frozenset[int]]:
    """The causes that are present in each mode."""
    causes: list[set[int]] = [set() for _ in present]
    for row, cause in np.argwhere(present).tolist():
        causes[row].add(cause)
    return [frozenset(c) for c in causes]


@dataclass(frozen=True)
class _Last:
    """What the components that are taken together come to, set by set.

    Attributes
    ----------
    nobody : ndarray, shape (U, 2^k)
        Mass that follows with none of their causes from each state of the k bits that are open at
        the end and that a component before has opened.
    everything : ndarray, shape (U, 2^k)
        The same of all sets.
    weighed : Weighed or None
    causes : list of frozenset of int, length n
        Sets of causes that may be good enough.
    members : list of ndarray of int
        The weighed sets that each of them is; there are several where something was cured.
    mass : ndarray, shape (n, U)
        Mass of each.
    """

    nobody: Floats
    everything: Floats
    weighed: Weighed | None
    causes: list[frozenset[int]]
    members: list[Ints]
    mass: Floats

    @classmethod
    def of(cls, messages: Messages, causes_of: Sequence[frozenset[int]], floor: float) -> "_Last":
        """Tell the sets apart that hold more than the floor."""
        tied = messages.tied
        if tied is None:
            whole = np.ones((len(messages.outsider), 1))
            return cls(whole, whole, None, [], [], np.zeros((0, len(whole))))
        opened_before = set().union(*(turn.places for turn in messages.turns))
        left = len(set(messages.open_bits) - opened_before)
        size = tied.back.shape[1] >> left  # bits that nothing before has opened are off
        some = np.array([*map(bool, causes_of), False])[tied.rows].any(axis=1)  # the last pads
        nobody = tied.following(np.flatnonzero(~some))[:, :, :size].sum(axis=0)
        members: dict[frozenset[int], list[int]] = {}
        chosen = np.flatnonzero(some & (tied.mass.sum(axis=1) > floor))
        for i, rows in zip(chosen.tolist(), tied.rows[chosen].tolist(), strict=True):
            causes = frozenset[int]().union(*(causes_of[row] for row in rows if row >= 0))
            members.setdefault(causes, []).append(i)
        arrays = [np.array(at, dtype=np.intp) for at in members.values()]
        mass = np.zeros((len(arrays), len(nobody)))
        for number, at in enumerate(arrays):
            mass[number] = tied.mass[at[0]] if len(at) == 1 else tied.mass[at].sum(axis=0)
        return cls(
            nobody,
            tied.back[:, :size],
            tied,
            list(members),
            arrays,
            mass,
        )

    def found(self, table: Floats, which: Ints, u: int) -> Floats:
        """Mass of some of the sets after each row of a table, shape (rows, sets)."""
        if self.weighed is None:
            raise AssertionError(which)  # then there are no sets
        members = [self.members[i] for i in which.tolist()]
        found = self.weighed.after(table, np.concatenate(members), u)
        if found.shape[1] > len(members):
            starts = np.cumsum([0, *(len(at) for at in members[:-1])])
            found = np.add.reduceat(found, starts, axis=1)
        return found


class _Search:
    """All sets that may be good enough, found turn by turn."""

    def __init__(
        self, messages: Messages, causes_of: Sequence[frozenset[int]], limit: int, floor: float
    ) -> None:
        self.messages = messages
        self.limit = limit
        self.floor = floor  # branches of no more than this have been left out
        self.least = floor  # a set must have more than this to be good enough for the list
        self.top = np.zeros(0)  # the largest masses so far, no more than the limit
        self.parents: list[int] = []  # a set is another one and the causes of one more choice
        self.causes: list[frozenset[int]] = []
        self.masses: list[float] = []
        self.last = _Last.of(messages, causes_of, floor)
        live = [[Component.of(part, causes_of) for part in bundle] for bundle in messages.live]
        still = [Component.of(part, causes_of) for part in messages.still]
        touched = set(messages.open_bits).union(*(turn.places for turn in messages.turns))
        untouched = sorted(set(range(len(messages.on))) - touched)
        nobody = float(np.prod([one.none for one in chain(*live, still)]))
        weight = np.array([mode.weight for mode in messages.outsider])
        self.start = weight * nobody * messages.off[:, untouched].prod(axis=1)
        self.still = Still.of(sorted(still, key=attrgetter("none")))
        self.stops = self._stops(live)

    def _stops(self, live: Sequence[Sequence[Component]]) -> list[Stop]:
        """Go backwards through the turns, with the messages of all choices and of none."""
        m = self.messages
        alone = np.ascontiguousarray(self.last.nobody)
        table = self.last.everything * self.still.everything
        stops = []
        for turn, bundle in zip(reversed(m.turns), reversed(live), strict=True):
            for place, bit in reversed(turn.closes):
                table = closed_back(table, place, m.off[:, bit], m.on[bit])
                alone = closed_back(alone, place, m.off[:, bit], m.on[bit])
            idle = bundle[0] if len(bundle) == 1 else None
            if idle and not any(mode.links for mode in idle.modes[NONE]):
                idle = None
            choices = Choices.of(bundle, turn)
            ahead, only = choices.ahead(table, alone, len(bundle))
            stop = Stop(turn, len(bundle), idle, choices, ahead, only, table)
            stops.append(stop)
            table = opened_back(stop.none_back(table) + stop.ahead.sum(axis=0), turn.opens)
            alone = opened_back(stop.none_back(alone), turn.opens)
        self.alone = self.start * alone[:, 0]
        return stops[::-1]

    def run(self, u: int, own: frozenset[int]) -> None:
        """Search with the outsider's component in one of its modes, which has causes of its own."""
        table = self.start[u : u + 1, None]
        if own or not self.messages.empty:
            self._noted(self.alone[u : u + 1])
        nodes = self._add(np.array([-1]), [own], self.alone[u : u + 1])
        for stop in self.stops:
            table, nodes = self._take(stop, u, opened(table, stop.turn.opens), nodes)
        values, nodes = self._take_last(u, table, nodes)
        self._take_still(values, nodes)

    def _take(self, stop: Stop, u: int, table: Floats, nodes: Ints) -> tuple[Floats, Ints]:
        """Let a bundle take its turn; rows of the table are sets, `nodes` their numbers.

        At first each row takes its first cause of the bundle; rows that have taken one may go on to
        those of later components.
        """
        tables, numbers = [stop.none(table)], [nodes]
        choices = stop.choices
        taken = np.full(len(table), -1)
        for _ in range(stop.components):
            found = table @ stop.ahead[:, u].T
            found[choices.component <= taken[:, None]] = 0.0
            some = np.flatnonzero(found.max(axis=1, initial=0.0) > self.least)
            table, nodes, found = table[some], nodes[some], found[some]
            row, which = np.nonzero(found > self.least)
            # What ends here may fill the list already: then fewer rows have to go on.
            masses, found = (table @ stop.only[:, u].T)[row, which], found[row, which]
            self._noted(masses)
            self._make_room(found, _ROOM // table.shape[1])
            good = (found > self.least) | (masses >= self.least)
            row, which, masses = row[good], which[good], masses[good]
            if not len(row):
                break
            table = choices.act(table[row], which)
            causes = [choices.causes[i] for i in which.tolist()]
            nodes = self._add(nodes[row], causes, masses)
            taken = choices.component[which]
            tables.append(table)
            numbers.append(nodes)
        table, nodes = np.concatenate(tables), np.concatenate(numbers)
        mass = table @ stop.going_on[u]
        self._make_room(mass, _ROOM // table.shape[1])
        keep = np.flatnonzero(mass > self.least)
        table, nodes = table[keep], nodes[keep]
        off, on = self.messages.off[u : u + 1], self.messages.on
        for place, bit in stop.turn.closes:
            table = closed(table, place, off[:, bit], on[bit])
        return table, nodes

    def _take_last(self, u: int, table: Floats, nodes: Ints) -> tuple[Floats, Ints]:
        """Let those that are taken together follow, the sets with the most mass first."""
        values, numbers = [table @ self.last.nobody[u]], [nodes]
        most = self.last.mass[:, u]
        order = np.argsort(-most, kind="stable")
        step = max(1, min(_AT_ONCE, _ROOM // max(1, table.size)))
        for first in range(0, len(order), step):
            which = order[first : first + step]
            which = which[most[which] > self.least]
            if not len(which) or not len(nodes):
                break
            found = self.last.found(table, which, u)
            row, column = np.nonzero(found * self.still.everything > self.least)
            if len(row):
                causes = [self.last.causes[i] for i in which[column].tolist()]
                values.append(found[row, column])
                self._noted(values[-1])
                numbers.append(self._add(nodes[row], causes, values[-1]))
        return np.concatenate(values), np.concatenate(numbers)

    def _take_still(self, values: Floats, nodes: Ints) -> None:
        """Let those follow that the answers say nothing about."""
        still = self.still
        taken = np.full(len(values), -1)
        while len(values) and len(still.causes):
            good = np.flatnonzero(values * still.ahead.max() > self.least)
            values, nodes, taken = values[good], nodes[good], taken[good]
            found = values[:, None] * still.ahead
            found[still.component <= taken[:, None]] = 0.0
            row, which = np.nonzero(found > self.least)
            values = values[row] * still.odds[which]
            self._noted(values)
            taken = still.component[which]
            nodes = self._add(nodes[row], [still.causes[i] for i in which.tolist()], values)

    def _make_room(self, mass: Floats, rows: int) -> None:
        """Ask for more where there are more branches than rows: what is left out counts as such."""
        if len(mass) > rows:
            self.floor = max(self.floor, float(np.partition(mass, -rows - 1)[-rows - 1]))
            self.least = max(self.least, self.floor)

    def _noted(self, masses: Floats) -> None:
        """Ask for as much as the list holds already with some more sets."""
        more = masses[masses > self.least]
        if not len(more):
            return
        self.top = np.concatenate((self.top, more))
        if len(self.top) >= self.limit:
            self.top = np.partition(self.top, -self.limit)[-self.limit :]
            self.least = max(self.least, float(self.top[0]))

    def _add(self, parents: Ints, causes: Sequence[frozenset[int]], masses: Floats) -> Ints:
        """Take down sets with their masses; gives their numbers."""
        first = len(self.parents)
        self.parents.extend(parents.tolist())
        self.causes.extend(causes)
        self.masses.extend(masses.tolist())
        return np.arange(first, len(self.parents))

    def best(self) -> list[tuple[frozenset[int], float]]:
        """Give the best sets with their masses, the most probable first."""
        masses = np.array(self.masses)
        order = np.argsort(-masses, kind="stable")[: self.limit + len(self.messages.outsider)]
        good = [(self._set(i), float(masses[i])) for i in order.tolist() if masses[i] > self.floor]
        listed = [(causes, value) for causes, value in good if causes or not self.messages.empty]
        return sorted(listed, key=lambda s: (-s[1], sorted(s[0])))[: self.limit]

    def _set(self, number: int) -> frozenset[int]:
        causes: frozenset[int] = frozenset()
        while number >= 0:
            causes |= self.causes[number]
            number = self.parents[number]
        return causes
