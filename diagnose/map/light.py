"""The light on the map: how likely each of its parts is in the present case.

Causes have their own exact chance. Everything else follows from the sets of causes that the
assessment lists: a mechanism is reached from a set as the tree says (`knowledge.tree.Tree`), a
complaint or finding is there as the network has it, with the answer that was given about it. What
the listed sets do not cover is taken to be like what they do.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.assess import Assessment
from diagnose.drawings.cards import Key
from diagnose.map.graph import Group
from diagnose.network import Network
from diagnose.tables import Floats
from diagnose.what_if import chances_on
from knowledge.model import Gate, Mechanism
from knowledge.tree import Tree, share_that_fits


@dataclass(frozen=True)
class Light:
    """Chances in the present case.

    Attributes
    ----------
    chance : Mapping
        Key of a record -> its chance, 0 to 1.
    told : frozenset of tuple of str
        Complaints and findings that were answered.
    sets : tuple
        Causes (keys) and weight of each listed set; the weights sum to 1.
    covered : float
        Share of the belief that the listed sets hold.
    """

    chance: Mapping[Key, float]
    told: frozenset[Key]
    sets: tuple[tuple[frozenset[Key], float], ...]
    covered: float

    def of_group(self, group: Group) -> float:
        """Chance that any cause of a group is there; of other groups the highest in it."""
        if group.kind == "causes":
            inside = frozenset(group.members)
            return min(1.0, sum(weight for causes, weight in self.sets if causes & inside))
        return max((self.chance.get(key, 0.0) for key in group.members), default=0.0)


def light_of(assessment: Assessment) -> Light:
    """Work out the light of a case.

    Parameters
    ----------
    assessment : Assessment

    Returns
    -------
    Light
    """
    network = assessment.network
    found = assessment.found.sets
    covered = sum(one.p for one in found)
    weight = np.array([one.p for one in found]) / covered
    present = np.zeros((len(found), len(network.causes)), dtype=bool)
    for row, one in zip(present, found, strict=True):
        row[list(one.causes)] = True
    chance: dict[Key, float] = {("causes", c.id): c.p for c in assessment.causes}
    reached = mechanisms_reached(network, present)
    chance.update((("mechanisms", name), float(weight @ p)) for name, p in reached.items())
    seen = assessment.situation.observed
    stale = assessment.situation.stale
    on = chances_on(network, [frozenset(one.causes) for one in found])
    told = []
    for name, there in zip(network.findings, on.T, strict=True):
        key = ("complaints" if name in network.base.complaints else "findings", name)
        counts = name in seen and name not in stale
        if counts:
            told.append(key)
        chance[key] = float(weight @ (_given(there, seen[name].ratio) if counts else there))
    causes = [frozenset(("causes", network.causes[c]) for c in one.causes) for one in found]
    return Light(
        chance,
        frozenset(told),
        tuple(zip(causes, weight.tolist(), strict=True)),
        min(1.0, covered),
    )


def _given(on: Floats, ratio: float) -> Floats:
    """Chance of a finding that was answered about, from that before the answer."""
    if np.isinf(ratio):
        return np.ones(len(on))
    return ratio * on / (ratio * on + 1.0 - on)


def mechanisms_reached(network: Network, present: NDArray[np.bool_]) -> Mapping[str, Floats]:
    """Chance that each mechanism is at work, given sets of causes; each of shape (S,).

    Parameters
    ----------
    network : Network
    present : ndarray of bool, shape (S, C)

    Returns
    -------
    Mapping
        What `knowledge.tree.Tree.reach` gives, for many sets at once.
    """
    tree = Tree(network.base, network.facts)
    none = np.zeros(len(present))
    reach: dict[str, Floats] = {
        name: column.astype(float) for name, column in zip(network.causes, present.T, strict=True)
    }
    found: dict[str, Floats] = {}
    for mechanism in tree.order:
        if mechanism.gate is Gate.ANY:
            missed = np.ones(len(present))
            for source, chance in tree.into.get(mechanism.id, ()):
                missed *= 1.0 - reach.get(source, none) * chance
            at_work = 1.0 - missed
        else:
            at_work = _enough(mechanism, [reach.get(name, none) for name in mechanism.of])
        share = share_that_fits(network.base, network.facts, mechanism.when)
        found[mechanism.id] = reach[mechanism.id] = share * at_work
    return found


def _enough(mechanism: Mechanism, inputs: Sequence[Floats]) -> Floats:
    """Chance that at least k of some inputs are there, each on its own."""
    needed = len(inputs) if mechanism.gate is Gate.ALL else mechanism.k or 1
    counts = np.zeros((len(inputs) + 1, len(inputs[0])))
    counts[0] = 1.0
    for p in inputs:
        counts[1:] = counts[1:] * (1.0 - p) + counts[:-1] * p
        counts[0] *= 1.0 - p
    return np.asarray(counts[needed:].sum(axis=0))
