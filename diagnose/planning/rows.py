"""What may have to be put right: the belief as rows, by the causes behind the complaints.

A set of causes that may be present says more than what has to be mended: a second fault that the
driver would not notice is not what he came for. So each set is split by which of its causes bring
what he complains of; those are what the row needs. Sets that are not listed one by one are there
too, averaged: one row for each cause, with the signs of whatever else may be present as often as
it is.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.aftermath import left_of_each
from diagnose.assess import Assessment
from diagnose.fault_sets import FaultSet
from diagnose.network import UNKNOWN, Network
from diagnose.tables import Floats

Causes = frozenset[int]
_NOTHING: Causes = frozenset()
_NEVER = 1e-12
_SELDOM = 1e-3  # causes that bring a complaint less often than this are not behind it
_LISTED = 150  # sets of causes that have rows of their own
_TRIFLE = 1e-6  # rows that are less likely are left out
_REST = 1e-3  # causes that are less often in the sets that are not listed are left out of them


@dataclass(frozen=True, eq=False)
class Rows:
    """Rows of a planning problem; the last is the vehicle that is well.

    Attributes
    ----------
    weights : ndarray, shape (S,)
    needs : ndarray of bool, shape (S, C)
    sets : tuple of frozenset of int
        The causes that are present in each row.
    on : ndarray, shape (S, F)
        Chance that each finding is there.
    rest : ndarray of int, shape (S, C)
        The row that is left of each row once a cause is taken away.
    listed : float
        Share of the belief whose sets of causes are listed one by one.
    """

    weights: Floats
    needs: NDArray[np.bool_]
    sets: tuple[Causes, ...]
    on: Floats
    rest: NDArray[np.intp]
    listed: float


def rows_of(assessment: Assessment) -> Rows:
    """Give the belief of an assessment as rows.

    Parameters
    ----------
    assessment : Assessment

    Returns
    -------
    Rows
    """
    network = assessment.network
    told = _told(assessment)
    brings: NDArray[np.bool_] = np.any(network.q[:, told] > _SELDOM, axis=1, keepdims=False)
    for group in network.groups:
        brings[list(group.members)] = True
    outside = {network.cause_index[UNKNOWN]}  # no repair takes that away
    weight: dict[tuple[Causes, Causes], float] = {}
    listed = assessment.found.sets[:_LISTED]
    covered = sum(found.p for found in listed)
    ways = left_of_each(network, assessment.situation, listed)
    for found, outcomes in zip(listed, ways, strict=True):
        for needed, share in _behind(network, found.causes, told, brings):
            for left, p in outcomes:
                kept = needed & (left | outside)
                key = (left, kept) if kept else (_NOTHING, _NOTHING)
                weight[key] = weight.get(key, 0.0) + p * share
    weight = {key: p for key, p in weight.items() if p > _TRIFLE}
    others, off = _averaged(assessment, told, listed)
    rows = _closed(weight)
    sets = [s for s, _ in rows] + [frozenset({c}) for c in others] + [_NOTHING]
    all_needed = [n for _, n in rows] + [frozenset({c}) for c in others] + [_NOTHING]
    needs = np.zeros((len(sets), len(network.causes)), dtype=bool)
    for row, causes in zip(needs, all_needed, strict=True):
        row[list(causes)] = True
    missed = _missed(network, sets)
    missed[len(rows) : len(rows) + len(others)] *= off
    cured = _cured(assessment)
    rest = np.array([p * (1.0 - cured.get(c, 0.0)) for c, p in others.items()])
    well = weight.get((_NOTHING, _NOTHING), 0.0) + sum(others.values()) - rest.sum()
    weights = np.array([*(weight.get(row, 0.0) for row in rows), *rest, well])
    on = 1.0 - (1.0 - network.leak) * missed
    return Rows(weights / weights.sum(), needs, tuple(sets), on, _rest(rows, needs), covered)


def _rest(rows: list[tuple[Causes, Causes]], needs: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Number the row that is left of each row once a cause is taken away."""
    number = {row: i for i, row in enumerate(rows)}
    well = len(needs) - 1
    rest = np.repeat(np.arange(len(needs))[:, None], needs.shape[1], axis=1)
    for row, cause in np.argwhere(needs).tolist():
        rest[row, cause] = well
        if row < len(rows):
            causes, needed = rows[row]
            rest[row, cause] = number.get((causes - {cause}, needed - {cause}), well)
    return rest


def _cured(assessment: Assessment) -> dict[int, float]:
    """Chance that the repairs nobody has driven with have taken each cause away."""
    cured: dict[int, float] = {}
    for _, cures in assessment.situation.pending:
        for cause, p in cures.items():
            cured[cause] = 1.0 - (1.0 - cured.get(cause, 0.0)) * (1.0 - p)
    return cured


def _told(assessment: Assessment) -> list[int]:
    """Complaints that are there, as findings' numbers."""
    network = assessment.network
    return [
        network.finding_index[name]
        for name, seen in assessment.situation.observed.items()
        if name in network.base.complaints and seen.ratio > 1.0
    ]


def _behind(
    network: Network, causes: Causes, told: list[int], brings: NDArray[np.bool_]
) -> Iterator[tuple[Causes, float]]:
    """Yield which causes of a set bring the complaints, and how likely it is just these.

    A complaint that none of them brings is laid on what this tool does not know.
    """
    members = [c for c in sorted(causes) if brings[c]]
    outsider = network.cause_index[UNKNOWN]
    if not told:
        yield causes, 1.0
        return
    if not members:
        yield frozenset({outsider}), 1.0
        return
    if len(members) == 1:
        only, leak = network.q[members[0], told], network.leak[told]
        missed = leak * (1.0 - only)
        # All of it may come from elsewhere, and the cause be there by chance.
        by_chance = float(np.prod(missed / np.maximum(only + missed, _NEVER)))
        yield frozenset(members), 1.0 - by_chance
        yield frozenset({outsider}), by_chance
        return
    belief = {frozenset[int](): 1.0}
    for finding in told:
        chance = {frozenset[int](): 1.0}
        for cause in members:
            q = float(network.q[cause, finding])
            chance = {
                subset: p
                for before, share in chance.items()
                for subset, p in ((before, share * (1.0 - q)), (before | {cause}, share * q))
                if p > 0.0
            }
        nobody = chance.pop(frozenset(), 0.0) * float(network.leak[finding])
        together = _acting_together(network, causes, finding)
        if together > sum(chance.values()):
            chance = {causes: together}
        if nobody > 0.0:
            chance[frozenset({outsider})] = chance.get(frozenset({outsider}), 0.0) + nobody
        total = sum(chance.values())
        if total <= 0.0:
            continue
        joined: dict[Causes, float] = {}
        for before, share in belief.items():
            for subset, p in chance.items():
                joined[before | subset] = joined.get(before | subset, 0.0) + share * p / total
        belief = joined
    for subset, p in belief.items():
        # If something unexplained is among it, mending the rest is still what can be done.
        known = subset - {outsider} if len(subset) > 1 else subset
        yield (known or causes), p


def _acting_together(network: Network, causes: Causes, finding: int) -> float:
    """Chance that causes which only act together bring a complaint."""
    for group in network.groups:
        members = causes.intersection(group.members)
        if len(members) > 1 and members == causes:
            return float(group.together[members][finding])
    return 0.0


def _closed(weight: dict[tuple[Causes, Causes], float]) -> list[tuple[Causes, Causes]]:
    """List rows, with those that are left once causes are taken away; without the well one."""
    listed = dict.fromkeys(weight)
    todo = list(weight)
    while todo:
        causes, needed = todo.pop()
        for cause in needed:
            row = (causes - {cause}, needed - {cause})
            if row[1] and row not in listed:
                listed[row] = None
                todo.append(row)
    return [row for row in listed if row[1]]


def _averaged(
    assessment: Assessment, told: list[int], listed: Sequence[FaultSet]
) -> tuple[dict[int, float], Floats]:
    """Sets that are not listed: the weight of each cause's row, and what else is off there.

    The second, shape (R, F), is the chance that none of the other causes turns a finding on.
    """
    network = assessment.network
    left = max(0.0, 1.0 - sum(found.p for found in listed))
    share = np.array(assessment.marginals.cause, dtype=float)
    for found in listed:
        share[list(found.causes)] -= found.p
    share = np.clip(share, 0.0, None)
    behind = network.q[:, told].sum(axis=1) if told else np.ones(len(share))
    weight = np.where(share > _REST, share * behind, 0.0)
    if left <= _REST or weight.sum() <= 0.0:
        return {}, np.ones((0, len(network.findings)))
    weight *= left / weight.sum()
    chosen = np.flatnonzero(weight > _TRIFLE)
    present = np.clip(share / left, 0.0, 1.0)
    off = 1.0 - present[:, None] * network.q
    every = np.prod(off, axis=0)
    others = every / np.maximum(off[chosen], 1e-9)
    return {int(c): float(weight[c]) for c in chosen}, np.minimum(others, 1.0)


def _missed(network: Network, sets: Sequence[Causes]) -> Floats:
    """Chance of each finding that none of the causes of a set brings it; shape (S, F)."""
    number = {causes: i for i, causes in enumerate(dict.fromkeys(sets))}
    width = max(1, *(len(causes) for causes in number))
    none = len(network.causes)  # pads
    member = np.full((len(number), width), none, dtype=np.intp)
    joined: list[tuple[int, Floats]] = []
    for causes, row in number.items():
        alone = set(causes)
        for group in network.groups:
            members = causes.intersection(group.members)
            if len(members) > 1:
                alone -= members
                joined.append((row, 1.0 - group.together[members]))
        member[row, : len(alone)] = sorted(alone)
    off = np.concatenate((1.0 - network.q, np.ones((1, len(network.findings)))))
    missed: Floats = np.prod(off[member], axis=1)
    for row, together in joined:
        missed[row] *= together
    return missed[[number[causes] for causes in sets]]
