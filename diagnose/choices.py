"""What components can be, as the search for the most probable sets of causes takes them up.

Every choice is a set of causes of one component, with odds against having none of them. At a turn
the choices of a whole bundle are weighed at once, by what follows each of them.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from diagnose.bundles import Mode, Part, link_chances, placed
from diagnose.subsets import (
    Ints,
    both,
    each_carried_back,
    each_later,
    joined_by_twos,
    subsets_on,
)
from diagnose.tables import (
    Floats,
    Links,
    Turn,
    each_turned_on,
    each_turned_on_back,
    folded,
    turn_on,
    turn_on_back,
    unfolded,
)

NONE: frozenset[int] = frozenset()


class Component(NamedTuple):
    """A component's modes by their causes, and the weight of having none of them.

    Cured modes share the set of causes with others: together they are one choice.
    """

    none: float
    modes: dict[frozenset[int], list[Mode]]

    @classmethod
    def of(cls, part: Part, causes_of: Sequence[frozenset[int]]) -> "Component":
        """Sort the modes of a component."""
        modes: dict[frozenset[int], list[Mode]] = {}
        for mode in part:
            if mode.weight > 0.0:
                modes.setdefault(causes_of[mode.row], []).append(mode)
        return cls(sum(mode.weight for mode in modes[NONE]), modes)


def _others(
    components: Sequence[Component],
) -> list[tuple[int, frozenset[int], float, list[Mode]]]:
    """List all but having no cause: component, causes, its weight of having none, modes."""
    return [
        (number, causes, component.none, modes)
        for number, component in enumerate(components)
        for causes, modes in component.modes.items()
        if causes
    ]


@dataclass(frozen=True)
class Choices:
    """What the components of a bundle can be, other than none of their causes.

    Attributes
    ----------
    causes : list of frozenset of int, length n
    component : ndarray of int, shape (n,)
        Place of the component in the bundle, rising.
    places : list of int, length m
        Of the bits in the table.
    odds : ndarray, shape (k, n)
        Of up to k modes, against having none of the causes.
    chances : ndarray, shape (k, n, m)
        Chance that each mode turns on each bit.
    """

    causes: list[frozenset[int]]
    component: Ints
    places: list[int]
    odds: Floats
    chances: Floats

    @classmethod
    def of(cls, bundle: Sequence[Component], turn: Turn) -> "Choices":
        """Make them of the components of a bundle."""
        every = _others(bundle)
        most = max((len(modes) for *_, modes in every), default=0)
        nothing = Mode(-1, 0.0, ())
        padded = [m[k] if k < len(m) else nothing for k in range(most) for *_, m in every]
        places, chances = link_chances(padded, turn)
        weight = np.array([mode.weight for mode in padded]).reshape(most, len(every))
        return cls(
            [causes for _, causes, *_ in every],
            np.array([number for number, *_ in every], dtype=np.intp),
            places,
            weight / np.array([none for _, _, none, _ in every]),
            chances.reshape(most, len(every), len(places)),
        )

    def act(self, table: Floats, which: Ints) -> Floats:
        """Let one choice act on each row of a table."""
        acted = np.zeros_like(table)
        for odds, chances in zip(self.odds, self.chances, strict=True):
            weighed = odds[which, None] * table
            acted += each_turned_on(weighed, self.places, chances[which])
        return acted

    def ahead(self, table: Floats, alone: Floats, components: int) -> tuple[Floats, Floats]:
        """Carry messages from behind the bundle past each choice, shape (n, U, 2^w).

        The first also past all that the later components can be, the second past nothing else.
        """
        if components == 1:
            return self._act_back(table), self._act_back(alone)
        parts = zip(self.odds, self.chances, strict=True)
        on = np.sum([odds[:, None] * subsets_on(chances) for odds, chances in parts], axis=0)
        every = np.zeros((components, on.shape[1]))
        every[:, 0] = 1.0
        np.add.at(every, self.component, on)
        later = each_later(joined_by_twos(every))[self.component]
        return self._carried_back(table, both(on, later)), self._carried_back(alone, on)

    def _act_back(self, table: Floats) -> Floats:
        """The adjoint of `act`, of each choice."""
        u, size = table.shape
        rows = np.tile(table, (len(self.causes), 1))
        back = np.zeros_like(rows)
        for odds, chances in zip(self.odds, self.chances, strict=True):
            weighed = np.repeat(odds, u)[:, None] * rows
            back += each_turned_on_back(weighed, self.places, np.repeat(chances, u, axis=0))
        return back.reshape(-1, u, size)

    def _carried_back(self, table: Floats, on: Floats) -> Floats:
        """Carry a message back past each of some distributions, shape (n, 2^m)."""
        u, size = table.shape
        back = each_carried_back(folded(table, self.places), on)
        return unfolded(back, self.places, (len(on) * u, size)).reshape(len(on), u, size)


@dataclass(frozen=True)
class Stop:
    """A turn as the search meets it.

    Attributes
    ----------
    turn : Turn
    components : int
        How many take it.
    idle : Component or None
        A single component, if it may turn bits on with no cause present.
    choices : Choices
    ahead : ndarray, shape (n, U, 2^w)
        Mass of each choice with all that can follow it.
    only : ndarray, shape (n, U, 2^w)
        Mass of each choice if nothing comes after it.
    going_on : ndarray, shape (U, 2^w)
        Mass of all that can follow behind the turn.
    """

    turn: Turn
    components: int
    idle: Component | None
    choices: Choices
    ahead: Floats
    only: Floats
    going_on: Floats

    def none(self, table: Floats) -> Floats:
        """Let the components have none of their causes."""
        return self._none(table, turn_on)

    def none_back(self, table: Floats) -> Floats:
        """The adjoint of `none`."""
        return self._none(table, turn_on_back)

    def _none(self, table: Floats, turned: Callable[[Floats, Links, float], Floats]) -> Floats:
        if self.idle is None:
            return table
        none, modes = self.idle.none, self.idle.modes[NONE]
        acted = [turned(table, placed(m, self.turn), m.weight / none) for m in modes]
        return np.asarray(np.sum(acted, axis=0))


@dataclass(frozen=True)
class Still:
    """What the components can be that the answers say nothing about.

    Attributes
    ----------
    causes : list of frozenset of int, length n
    component : ndarray of int, shape (n,)
        Rising; those come first that are likeliest to have a cause.
    odds : ndarray, shape (n,)
        Against the component having none of its causes.
    ahead : ndarray, shape (n,)
        These times the odds of all that the later ones can be.
    everything : float
        Odds of all that all of them can be.
    """

    causes: list[frozenset[int]]
    component: Ints
    odds: Floats
    ahead: Floats
    everything: float

    @classmethod
    def of(cls, still: Sequence[Component]) -> "Still":
        """Make it of the components."""
        every = _others(still)
        component = np.array([number for number, *_ in every], dtype=np.intp)
        odds = np.array([sum(m.weight for m in modes) / none for *_, none, modes in every])
        whole = np.array([1.0 / one.none for one in still])
        later = np.append(np.cumprod(whole[::-1])[::-1][1:], 1.0)
        ahead = odds * later[component] if every else odds
        return cls([c for _, c, *_ in every], component, odds, ahead, float(np.prod(whole)))
