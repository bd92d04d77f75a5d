"""The one call: a case and the knowledge base become an assessment."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from diagnose.case import Case
from diagnose.errors import ContradictionError, TooWideError, UnknownIdError
from diagnose.evidence import CERTAIN, Observed, Situation, read_case
from diagnose.fault_sets import FaultSets, best_sets
from diagnose.network import UNKNOWN, Network, compile_network
from diagnose.noisy_or import Marginals, infer
from diagnose.stops import stops_that_hold
from knowledge.model import KnowledgeBase

# How surely a "certain" answer is taken when certain answers contradict each other.
_SOFTENED = 200.0
# Sets of causes below this share are not searched for; what is left out counts as not covered.
_FLOOR = 1e-5
# So many sets of causes that readings tie together are weighed; accounts make do with fewer.
_MOST = 3000
_FEWER = 800


@dataclass(frozen=True)
class CauseChance:
    """One cause and its chance of being present; ``prior`` is that before any answer."""

    id: str
    name: str
    p: float
    prior: float


@dataclass(frozen=True)
class SetChance:
    """One set of causes, as cause ids, and the chance that just these are present."""

    ids: tuple[str, ...]
    p: float


@dataclass(frozen=True, eq=False)
class Assessment:
    """What the answers so far say.

    Attributes
    ----------
    found : FaultSets
        The most probable sets as indices of the network, `UNKNOWN` among them: for planning.
    causes : tuple of CauseChance
        Every cause the set-up allows, most probable first.
    sets : tuple of SetChance
        The most probable sets of causes, most probable first.
    unknown : float
        Chance that nothing in the base is the cause.
    covered : float
        Share of the belief that ``sets`` and ``unknown`` hold together.
    several : float
        Chance that two or more known causes are present, as far as covered.
    unexplained : Mapping
        For each positive finding, the chance that none of the present causes brought it about.
    softened : bool
        Whether certain answers contradicted each other and were taken as merely very sure.
    by_bands : bool
        Whether so many answers hang together that readings count by their bands only.
    """

    case: Case
    network: Network
    situation: Situation
    marginals: Marginals
    found: FaultSets
    causes: tuple[CauseChance, ...]
    sets: tuple[SetChance, ...]
    unknown: float
    covered: float
    several: float
    unexplained: Mapping[str, float]
    softened: bool
    by_bands: bool = False

    def cause(self, name: str) -> CauseChance:
        """Give the entry of one cause.

        Raises
        ------
        KeyError
            If the set-up rules the cause out or the base does not hold it.
        """
        for chance in self.causes:
            if chance.id == name:
                return chance
        raise KeyError(name)

    def stops(self) -> tuple[str, ...]:
        """Give the ids of the stop notices that hold."""
        held = stops_that_hold(self.network, self.case)
        return tuple(dict.fromkeys(h.notice for h in held))


def assess(base: KnowledgeBase, case: Case, *, sets: int = 300) -> Assessment:
    """Assess a case.

    Parameters
    ----------
    base : KnowledgeBase
    case : Case
    sets : int
        At most so many sets of causes are listed.

    Returns
    -------
    Assessment

    Raises
    ------
    UnknownIdError
        If the case names what the base does not hold.
    """
    for cause in case.found.causes if case.found is not None else ():
        if cause not in base.causes:
            raise UnknownIdError(
                f"The knowledge base holds no cause {cause!r}, which was found in this case.",
                "Use the knowledge it was closed with, or correct the case file.",
            )
    network = network_for(base, tuple(sorted((k, tuple(v)) for k, v in case.facts.items())))
    situation = read_case(network, case)
    by_bands = False
    try:
        situation, marginals, softened = _weighed(network, situation)
    except TooWideError:
        if not situation.measured.taken:
            raise
        # Readings hold all findings open that their causes bring; without that it mostly fits.
        by_bands = True
        situation, marginals, softened = _weighed(network, read_case(network, case, by_bands=True))
    return _gather(case, network, situation, marginals, sets, softened=softened, by_bands=by_bands)


def _weighed(network: Network, situation: Situation) -> tuple[Situation, Marginals, bool]:
    """Run the inference; answers that contradict each other are softened, which is told."""
    try:
        return situation, run(network, situation, most=_MOST), False
    except ContradictionError:
        softer = _soften(situation)
        return softer, run(network, softer, most=_MOST), True


@lru_cache(maxsize=8)
def network_for(base: KnowledgeBase, facts: tuple[tuple[str, tuple[str, ...]], ...]) -> Network:
    """Compile the base for a set-up, or give the network compiled before."""
    return compile_network(base, dict(facts))


def run(
    network: Network,
    situation: Situation,
    *,
    without: frozenset[str] = frozenset(),
    most: int = _FEWER,
) -> Marginals:
    """Run the inference for a situation, optionally without some of its evidence.

    Where readings tie many causes together, about `most` sets of them are weighed.
    """
    return infer(
        situation.modes,
        network.leak,
        situation.evidence(network, without=without),
        need_cause=True,
        outsider=network.cause_index[UNKNOWN],
        tied=situation.measured.without(without).tie(situation.modes, most),
    )


def _soften(situation: Situation) -> Situation:
    """Take certain answers as very sure ones: a contradiction then has a best explanation."""
    limits = {CERTAIN: _SOFTENED, 0.0: 1.0 / _SOFTENED}
    softer = {
        name: Observed(limits.get(seen.ratio, seen.ratio), seen.entry)
        for name, seen in situation.observed.items()
    }
    return replace(situation, observed=softer)


def _gather(
    case: Case,
    network: Network,
    situation: Situation,
    marginals: Marginals,
    limit: int,
    *,
    softened: bool,
    by_bands: bool,
) -> Assessment:
    base = network.base
    known = [c for c in network.causes if c != UNKNOWN]
    p = marginals.cause.tolist()
    before = situation.prior / (1.0 - np.prod(1.0 - situation.prior))  # given that it came back
    chances = [
        CauseChance(c, base.causes[c].name, now, then)
        for c, now, then in zip(known, p, before.tolist(), strict=False)  # p is of the unknown too
    ]
    outsider = network.cause_index[UNKNOWN]
    found = best_sets(marginals.messages, situation.modes.present, limit=limit, floor=_FLOOR)
    merged: dict[frozenset[int], float] = {}
    for fault_set in found.sets:
        inside = fault_set.causes - {outsider}
        merged[inside] = merged.get(inside, 0.0) + fault_set.p
    listed = {causes: chance for causes, chance in merged.items() if causes}
    ranked = sorted(listed.items(), key=lambda item: (-item[1], sorted(item[0])))
    covered = min(1.0, sum(listed.values()) + marginals.outsider)
    return Assessment(
        case=case,
        network=network,
        situation=situation,
        marginals=marginals,
        found=found,
        # Rounded: causes that nothing tells apart come by id, not by the last digit of a sum.
        causes=tuple(sorted(chances, key=lambda c: (-round(c.p, 12), c.id))),
        sets=tuple(
            SetChance(tuple(network.causes[i] for i in sorted(causes, key=lambda i: -p[i])), chance)
            for causes, chance in ranked
        ),
        unknown=marginals.outsider,
        covered=covered,
        several=sum(chance for causes, chance in listed.items() if len(causes) > 1),
        unexplained={network.findings[f]: share for f, share in marginals.unexplained.items()},
        softened=softened,
        by_bands=by_bands,
    )
