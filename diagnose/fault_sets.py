"""The most probable sets of causes, in certified order, with the mass they cover.

The forward pass of `diagnose.noisy_or` is done once more with the sets kept apart: at each
component's turn every set so far goes on without it, and once with each of its choices. The
backward message gives the exact mass of everything that can still follow, so a branch is dropped as
soon as all it holds is less than the least of the sets that are already good enough for the list.
What was dropped can therefore not have belonged there.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.noisy_or import Messages, Mode, Part, placed
from diagnose.tables import (
    Floats,
    Turn,
    closed,
    closed_back,
    opened,
    opened_back,
    turn_on,
    turn_on_back,
)

_ROOM = 1 << 20  # numbers in the tables of all branches together


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
class _Choice:
    """What a component can be: a set of causes, and its modes with their odds.

    The odds are against the component having none of its causes. Cured modes share the set of
    causes with others; together they are one choice.
    """

    causes: frozenset[int]
    modes: Part

    def act(self, table: Floats, turn: Turn) -> Floats:
        """Let the modes act on a table, and add them up."""
        acted = [turn_on(table, placed(m, turn), m.weight) for m in self.modes]
        return acted[0] if len(acted) == 1 else np.sum(acted, axis=0)

    def act_back(self, table: Floats, turn: Turn) -> Floats:
        """The adjoint of `act`."""
        acted = [turn_on_back(table, placed(m, turn), m.weight) for m in self.modes]
        return acted[0] if len(acted) == 1 else np.sum(acted, axis=0)

    @property
    def idle(self) -> bool:
        """Whether it changes no table."""
        return len(self.modes) == 1 and not self.modes[0].links


def _choices(
    part: Part, causes_of: Sequence[frozenset[int]]
) -> tuple[float, _Choice, list[_Choice]]:
    """Give the weight of having none of the causes, that choice, and all others."""
    by_causes: dict[frozenset[int], list[Mode]] = {}
    for mode in part:
        if mode.weight > 0.0:
            by_causes.setdefault(causes_of[mode.row], []).append(mode)
    none = sum(mode.weight for mode in by_causes[frozenset()])
    made = [
        _Choice(causes, tuple(Mode(m.row, m.weight / none, m.links) for m in modes))
        for causes, modes in by_causes.items()
    ]
    nobody = next(choice for choice in made if not choice.causes)
    return none, nobody, [choice for choice in made if choice.causes]


@dataclass(frozen=True)
class _Stop:
    """A turn as the search meets it; the messages are those behind the component's own choice.

    Attributes
    ----------
    nobody : _Choice
    others : list of (_Choice, ndarray, shape (U, 2^w))
        Each choice with the mass of all that can follow it.
    going_on : ndarray, shape (U, 2^w)
        Mass of all that can follow if it is none of them.
    alone : ndarray, shape (U, 2^w)
        Mass if nothing at all comes after.
    """

    turn: Turn
    nobody: _Choice
    others: list[tuple[_Choice, Floats]]
    going_on: Floats
    alone: Floats


@dataclass(frozen=True)
class _Last:
    """What the components that are taken together come to, set by set.

    Attributes
    ----------
    nobody : ndarray, shape (U, 2^k)
        Mass that follows with none of their causes from each state of the k bits that are open at
        the end and that a component before has opened.
    others : list of (frozenset of int, ndarray, shape (U, 2^k))
        The same for each set of causes, the one with the most mass first.
    everything : ndarray, shape (U, 2^k)
        Sum of all.
    """

    nobody: Floats
    others: list[tuple[frozenset[int], Floats]]
    everything: Floats

    @classmethod
    def of(cls, messages: Messages, causes_of: Sequence[frozenset[int]], floor: float) -> "_Last":
        """Tell the sets apart that hold more than the floor."""
        tied = messages.tied
        if tied is None:
            whole = np.ones((len(messages.outsider), 1))
            return cls(whole, [], whole)
        opened_before = set().union(*(turn.places for turn in messages.turns))
        left = len(set(messages.open_bits) - opened_before)
        mass = tied.mass.sum(axis=1)
        members: dict[frozenset[int], list[int]] = {}
        for i in np.flatnonzero(mass > floor).tolist():
            causes = frozenset[int]().union(*(causes_of[r] for r in tied.rows[i] if r >= 0))
            members.setdefault(causes, []).append(i)
        for i in np.flatnonzero(mass <= floor).tolist():
            if not any(causes_of[r] for r in tied.rows[i] if r >= 0):
                members.setdefault(frozenset(), []).append(i)
        listed = sorted(members.items(), key=lambda item: -mass[item[1]].sum())
        size = tied.back.shape[1] >> left  # bits that nothing before has opened are off
        ahead = [
            (causes, tied.following(np.array(at))[:, :, :size].sum(axis=0)) for causes, at in listed
        ]
        nobody = next(a for causes, a in ahead if not causes)
        return cls(nobody, [a for a in ahead if a[0]], tied.back[:, :size])


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
        live = [_choices(part, causes_of) for part in messages.live]
        still = [_choices(part, causes_of) for part in messages.still]
        touched = set(messages.open_bits).union(*(turn.places for turn in messages.turns))
        untouched = sorted(set(range(len(messages.on))) - touched)
        nobody = float(np.prod([none for none, _, _ in (*live, *still)]))
        weight = np.array([mode.weight for mode in messages.outsider])
        self.start = weight * nobody * messages.off[:, untouched].prod(axis=1)
        self.still = sorted(
            ((none, [(_weight(c), c.causes) for c in others]) for none, _, others in still),
            key=lambda entry: entry[0],
        )
        self.stops = self._stops(live)

    def _stops(self, live: list[tuple[float, _Choice, list[_Choice]]]) -> list[_Stop]:
        """Go backwards through the turns, with the messages of all choices and of none."""
        m = self.messages
        alone = np.ascontiguousarray(self.last.nobody)
        table = self.last.everything / np.prod([none for none, _ in self.still])
        stops = []
        for turn, (_, nobody, others) in zip(reversed(m.turns), reversed(live), strict=True):
            for place, bit in reversed(turn.closes):
                table = closed_back(table, place, m.off[:, bit], m.on[bit])
                alone = closed_back(alone, place, m.off[:, bit], m.on[bit])
            ahead = [(choice, choice.act_back(table, turn)) for choice in others]
            stops.append(_Stop(turn, nobody, ahead, table, alone))
            kept = table if nobody.idle else nobody.act_back(table, turn)
            alone = alone if nobody.idle else nobody.act_back(alone, turn)
            table = opened_back(np.sum([kept, *(after for _, after in ahead)], axis=0), turn.opens)
            alone = opened_back(alone, turn.opens)
        self.alone = self.start * alone[:, 0]
        return stops[::-1]

    def run(self, u: int, own: frozenset[int]) -> None:
        """Search with the outsider's component in one of its modes, which has causes of its own."""
        table = self.start[u : u + 1, None]
        nodes = self._add(np.array([-1]), own, self.alone[u : u + 1])
        for stop in self.stops:
            table, nodes = self._take(stop, u, opened(table, stop.turn.opens), nodes)
        values = table @ self.last.nobody[u]
        bare = nodes
        for causes, ahead in self.last.others:
            found = table @ ahead[u]
            keep = np.flatnonzero(found > self.least)
            if len(keep):
                nodes = np.concatenate((nodes, self._add(bare[keep], causes, found[keep])))
                values = np.concatenate((values, found[keep]))
        behind = float(np.prod([1.0 / none for none, _ in self.still]))
        for none, others in self.still:
            behind *= none
            before = (values, nodes)
            for weight, causes in others:
                keep = np.flatnonzero(before[0] * (weight * behind) > self.least)
                if len(keep):
                    more = before[0][keep] * weight
                    nodes = np.concatenate((nodes, self._add(before[1][keep], causes, more)))
                    values = np.concatenate((values, more))

    def _take(
        self, stop: _Stop, u: int, table: Floats, nodes: NDArray[np.intp]
    ) -> tuple[Floats, NDArray[np.intp]]:
        """Let a component take its turn; rows of the table are sets, `nodes` their numbers."""
        tables = [table if stop.nobody.idle else stop.nobody.act(table, stop.turn)]
        numbers = [nodes]
        for choice, ahead in stop.others:
            keep = np.flatnonzero(table @ ahead[u] > self.least)
            if len(keep):
                acted = choice.act(table[keep], stop.turn)
                tables.append(acted)
                numbers.append(self._add(nodes[keep], choice.causes, acted @ stop.alone[u]))
        if len(tables) > 1:
            table, nodes = np.concatenate(tables), np.concatenate(numbers)
        else:
            table = tables[0]
        if stop.turn.closes or table.size > _ROOM:
            mass = table @ stop.going_on[u]
            self._make_room(mass, _ROOM // table.shape[1])
            keep = np.flatnonzero(mass > self.least)
            table, nodes = table[keep], nodes[keep]
            off, on = self.messages.off[u : u + 1], self.messages.on
            for place, bit in stop.turn.closes:
                table = closed(table, place, off[:, bit], on[bit])
        return table, nodes

    def _make_room(self, mass: Floats, rows: int) -> None:
        """Ask for more where there are more branches than rows: what is left out counts as such."""
        if len(mass) > rows:
            self.floor = max(self.floor, float(np.partition(mass, -rows - 1)[-rows - 1]))
            self.least = max(self.least, self.floor)

    def _add(
        self, parents: NDArray[np.intp], causes: frozenset[int], masses: Floats
    ) -> NDArray[np.intp]:
        """Note sets with their masses; gives their numbers."""
        first = len(self.parents)
        self.parents.extend(parents.tolist())
        self.causes.extend([causes] * len(parents))
        self.masses.extend(masses.tolist())
        if causes or parents[0] >= 0 or not self.messages.empty:
            self.top = np.concatenate((self.top, masses))
        if len(self.top) >= self.limit:
            self.top = np.partition(self.top, -self.limit)[-self.limit :]
            self.least = max(self.least, float(self.top[0]))
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


def _weight(choice: _Choice) -> float:
    return sum(mode.weight for mode in choice.modes)
