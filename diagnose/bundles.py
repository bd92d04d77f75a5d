"""Components as they take their turns: their modes, and bundles that take one turn together.

Components that can turn on just the same few bits make one bundle. What all of them do is one
distribution over these bits (`diagnose.subsets`); a component that is alone acts bit by bit.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.subsets import (
    Ints,
    carried,
    carried_back,
    each_behind,
    joined_by_twos,
    mass_by_subset,
    subsets_on,
)
from diagnose.tables import (
    Floats,
    Links,
    Turn,
    folded,
    turn_on,
    turn_on_back,
    unfolded,
)

_SHARED = 6  # bits that components may have in common to take their turn together


@dataclass(frozen=True)
class Mode:
    """One mode of a component: its row in `Modes`, its weight, and the bits it turns on."""

    row: int
    weight: float
    links: Links


Part = tuple[Mode, ...]  # the modes of one component, the absent one first; weights sum to 1
Bundle = tuple[Part, ...]  # components that can turn on the same bits, and take one turn


def bits_of(parts: Sequence[Part]) -> frozenset[int]:
    """All bits that any mode of some components can turn on."""
    return frozenset(bit for part in parts for mode in part for bit, _ in mode.links)


def bundles_of(live: Sequence[tuple[Part, frozenset[int]]], nobody: list[bool]) -> list[Bundle]:
    """Gather components, each given with its bits, that have just the same, where these are few.

    One that turns bits on with no cause present stays alone: the search for sets needs that.
    """
    bundles: dict[tuple[frozenset[int], int], list[Part]] = {}
    for part, bits in live:
        alone = len(bits) > _SHARED or any(mode.links and nobody[mode.row] for mode in part)
        bundles.setdefault((bits, part[0].row if alone else -1), []).append(part)
    return [tuple(bundle) for bundle in bundles.values()]


def link_chances(modes: Sequence[Mode], turn: Turn) -> tuple[list[int], Floats]:
    """Give the places of the bits that modes turn on, and their chances, shape (M, places)."""
    places = sorted({turn.places[bit] for mode in modes for bit, _ in mode.links})
    column = {place: i for i, place in enumerate(places)}
    chances = np.zeros((len(modes), len(places)))
    for row, mode in zip(chances, modes, strict=True):
        for bit, chance in mode.links:
            row[column[turn.places[bit]]] = chance
    return places, chances


def placed(mode: Mode, turn: Turn) -> Links:
    """Links of a mode, as places in the table of its turn."""
    return tuple((turn.places[bit], chance) for bit, chance in mode.links)


def mixed(table: Floats, part: Part, turn: Turn) -> Floats:
    """Let every mode of a component act with its weight."""
    mixed = _idle_weight(part) * table
    for mode in part:
        if mode.links:
            mixed += turn_on(table, placed(mode, turn), mode.weight)
    return mixed


def _idle_weight(part: Part) -> float:
    """Weight of the modes that turn nothing on."""
    return sum(mode.weight for mode in part if not mode.links)


def turn_back(
    front: Floats, table: Floats, part: Part, turn: Turn, mass: dict[int, float]
) -> Floats:
    """Carry the backward message past a component, and note the mass of each of its modes."""
    untouched = float(np.vdot(front, table))
    mixed: Floats = _idle_weight(part) * table
    for mode in part:
        if mode.links:
            acted = turn_on_back(table, placed(mode, turn), mode.weight)
            mass[mode.row] = float(np.vdot(front, acted))
            mixed += acted
        else:
            mass[mode.row] = mode.weight * untouched
    return mixed


@dataclass(frozen=True)
class Together:
    """What the components of a bundle do in their turn.

    Attributes
    ----------
    places : list of int, length m
        Of the bits that they can turn on.
    rows : list of int, length M
        Rows in `Modes` of all their modes.
    component : ndarray of int, shape (M,)
        Place in the bundle.
    weight : ndarray, shape (M,)
    on : ndarray, shape (M, 2^m)
        Chance that a mode turns just each subset on.
    stages : list of ndarray
        What the components turn on, joined two by two.
    """

    places: list[int]
    rows: list[int]
    component: Ints
    weight: Floats
    on: Floats
    stages: list[Floats]

    @classmethod
    def of(cls, bundle: Bundle, turn: Turn) -> "Together | None":
        """Make arrays of a bundle; none of a single component, which acts bit by bit."""
        if len(bundle) == 1:
            return None
        modes = [mode for part in bundle for mode in part]
        places, chances = link_chances(modes, turn)
        weight = np.array([mode.weight for mode in modes])
        on = subsets_on(chances)
        sizes = [len(part) for part in bundle]
        every = np.add.reduceat(weight[:, None] * on, np.cumsum([0, *sizes[:-1]]))
        rows = [mode.row for mode in modes]
        component = np.repeat(np.arange(len(bundle)), sizes)
        return cls(places, rows, component, weight, on, joined_by_twos(every))

    def mixed(self, table: Floats) -> Floats:
        """Let every mode of all components act with its weight."""
        after = carried(folded(table, self.places), self.stages[-1][0])
        return unfolded(after, self.places, table.shape)

    def turn_back(self, front: Floats, table: Floats, mass: dict[int, float]) -> Floats:
        """Carry the backward message past them, and note the mass of each mode."""
        before, after = folded(front, self.places), folded(table, self.places)
        behind = each_behind(self.stages, mass_by_subset(before, after))
        masses = self.weight * np.einsum("mt,mt->m", self.on, behind[self.component])
        mass.update(zip(self.rows, masses.tolist(), strict=True))
        return unfolded(carried_back(after, self.stages[-1][0]), self.places, table.shape)
