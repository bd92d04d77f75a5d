"""The tree of the knowledge base, compiled for one set-up to the arrays the inference works on.

Along a path of the tree strengths multiply, and paths that meet combine as noisy-OR where they
meet. Causes that feed one AND or voting gate become one component whose modes are the subsets of
them, so that what they bring about only together is exact. A condition (``when``) that the set-up
leaves open weighs with the share of comebacks that meet it.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from diagnose.noisy_or import Modes
from diagnose.tables import Floats
from diagnose.together import Ints
from knowledge.model import KnowledgeBase, Needs
from knowledge.tree import MAX_TOGETHER, Tree, gate_groups, share_that_fits, share_with

UNKNOWN = "unknown"
_SUREST = 0.99


@dataclass(frozen=True, eq=False)
class Network:
    """Causes and findings of one set-up.

    Attributes
    ----------
    causes : tuple of str, length C
        Ids of the causes that the set-up allows; the last is `UNKNOWN`, for all that this tool
        does not know.
    findings : tuple of str, length F
        Ids of complaints and findings.
    prior : ndarray, shape (C,)
    q : ndarray, shape (C, F)
        Chance that a cause alone turns a finding on (net of leak).
    leak : ndarray, shape (F,)
    groups : tuple of Group
        Causes that bring something about only together.
    """

    base: KnowledgeBase
    facts: Needs
    causes: tuple[str, ...]
    findings: tuple[str, ...]
    prior: Floats
    q: Floats
    leak: Floats
    groups: tuple["Group", ...]

    @cached_property
    def cause_index(self) -> Mapping[str, int]:
        """Cause id -> index on axis C."""
        return {name: i for i, name in enumerate(self.causes)}

    @cached_property
    def finding_index(self) -> Mapping[str, int]:
        """Complaint or finding id -> index on axis F."""
        return {name: i for i, name in enumerate(self.findings)}

    def modes(self, prior: Floats) -> Modes:
        """Give the modes of all components for a prior of shape (C,)."""
        member, there, modes = self._unweighed
        # The causes of a component, padded with one that is surely there.
        p = np.append(prior, 1.0)[member]
        return replace(modes, weight=np.where(there, p, 1.0 - p).prod(axis=1))

    @cached_property
    def _unweighed(self) -> tuple[Ints, NDArray[np.bool_], Modes]:
        """What modes are whatever the prior; see `_modes`."""
        return _modes(self.q, self.groups)


@dataclass(frozen=True)
class Group:
    """Causes (indices) that feed one gate, and what each subset of two or more turns on.

    ``together`` maps the present members to the chances, shape (F,).
    """

    members: tuple[int, ...]
    together: Mapping[frozenset[int], Floats]


class NetworkError(ValueError):
    """The tree can't be compiled; the message names the records."""


def compile_network(base: KnowledgeBase, facts: Needs) -> Network:
    """Compile the base for a set-up.

    Parameters
    ----------
    base : KnowledgeBase
    facts : Mapping
        For each known fact the values that are still possible.

    Returns
    -------
    Network

    Raises
    ------
    NetworkError
        If more than `MAX_TOGETHER` causes feed gates that hang together.
    """
    shares = {c.id: share_that_fits(base, facts, c.when) for c in base.causes.values()}
    causes = tuple(name for name, share in shares.items() if share > 0.0)
    findings = (*base.complaints, *base.findings)
    tree = Tree(base, facts)
    unknown = base.scale.unknown
    rates = [share_with(base, facts, base.causes[name]) for name in causes]
    rows = [_row(tree, (name,), findings) for name in causes]
    leak = [base.strength(base.observable(name).unexplained) for name in findings]
    brings = [
        unknown.brings if name in base.complaints else min(unknown.brings, unknown.shows * chance)
        for name, chance in zip(findings, leak, strict=True)
    ]
    index = {name: i for i, name in enumerate(causes)}
    groups = tuple(
        _group(tree, [c for c in group if c in index], index, findings)
        for group in gate_groups(base)
        if sum(c in index for c in group) > 1
    )
    return Network(
        base=base,
        facts=dict(facts),
        causes=(*causes, UNKNOWN),
        findings=findings,
        prior=prior_from_rates(np.array([*rates, unknown.rate]), base.scale.faults_per_comeback),
        q=np.array([*rows, brings]),
        leak=np.array(leak),
        groups=groups,
    )


def prior_from_rates(rates: Floats, mean: float) -> Floats:
    """Turn shares of comebacks into independent priors.

    A comeback has at least one cause, so the empty set is excluded from the inference. The priors
    are chosen so that after that exclusion each cause is present in its share of comebacks, and
    `mean` causes are present on average.

    Parameters
    ----------
    rates : ndarray, shape (C,)
        Shares of comebacks, up to a common factor: a set-up that rules causes out makes the others
        likelier.
    mean : float
        Causes per comeback, above 1.

    Returns
    -------
    ndarray, shape (C,)
    """
    shares = rates * (mean / rates.sum())
    low, high, some = 0.0, 1.0, 0.5
    for _ in range(60):  # bisection for the chance that an independent draw is not empty
        some = (low + high) / 2.0
        if 1.0 - np.prod(1.0 - some * shares) > some:
            low = some
        else:
            high = some
    prior: Floats = np.minimum(some * shares, _SUREST)
    return prior


def _row(tree: Tree, present: Iterable[str], findings: tuple[str, ...]) -> Floats:
    reach = tree.reach(present)
    return np.array([reach.get(name, 0.0) for name in findings])


def _group(
    tree: Tree, members: list[str], index: Mapping[str, int], findings: tuple[str, ...]
) -> Group:
    if len(members) > MAX_TOGETHER:
        names = ", ".join(members)
        message = f"{len(members)} causes act together, at most {MAX_TOGETHER} fit: {names}"
        raise NetworkError(message)
    together = {
        frozenset(index[name] for name in subset): _row(tree, subset, findings)
        for size in range(2, len(members) + 1)
        for subset in combinations(members, size)
    }
    return Group(tuple(index[name] for name in members), together)


def _modes(q: Floats, groups: tuple[Group, ...]) -> tuple[Ints, NDArray[np.bool_], Modes]:
    """Give all modes with a weight of 1; besides, the causes of the component of each.

    The causes, and whether they are there in the mode, are of shape (M, w), padded with number C
    as if that were there.
    """
    grouped = {c for group in groups for c in group.members}
    single = [(c,) for c in range(len(q)) if c not in grouped]
    components = (*single, *(group.members for group in groups))
    every = [
        (number, members, subset)
        for number, members in enumerate(components)
        for size in range(len(members) + 1)
        for subset in combinations(members, size)
    ]
    together = {frozenset(s): links for group in groups for s, links in group.together.items()}
    together.update({frozenset({c}): row for c, row in enumerate(q)})
    together[frozenset()] = np.zeros(q.shape[1])
    member = np.full((len(every), max(map(len, components))), len(q), dtype=np.intp)
    there = np.ones(member.shape, dtype=bool)
    present = np.zeros((len(every), len(q)), dtype=bool)
    for i, (_, members, subset) in enumerate(every):
        member[i, : len(members)] = members
        there[i, : len(members)] = [c in subset for c in members]
        present[i, list(subset)] = True
    number = np.array([number for number, *_ in every], dtype=np.intp)
    links = np.array([together[frozenset(subset)] for *_, subset in every])
    return member, there, Modes(number, np.ones(len(every)), present, links)
