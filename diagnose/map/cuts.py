"""Cut sets of a complaint or finding: the least sets of causes that can bring it about.

They are those of the engine's own fault tree (`diagnose.complaint_tree`, `diagnose.fault_tree`):
exact, and minimal. The strengths of the links are no part of them: they say what can bring it
about, not how surely.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import prod

from diagnose.complaint_tree import complaint_tree
from diagnose.fault_tree import minimal_cut_sets
from diagnose.map.light import Light
from knowledge.model import KnowledgeBase, Needs


@dataclass(frozen=True)
class CutSet:
    """One minimal cut set.

    Attributes
    ----------
    causes : tuple of str
        Ids, by name.
    conditions : tuple of str
        Ids of the mechanisms that are possible in some set-ups only; open ones are listed.
    p : float
        Product of the shares of comebacks that have each cause and meet each condition.
    now : float or None
        Chance that all the causes are there in the present case, as far as its sets are listed;
        exact for a single cause. None without a case.
    """

    causes: tuple[str, ...]
    conditions: tuple[str, ...]
    p: float
    now: float | None = None


def cut_sets(
    base: KnowledgeBase, facts: Needs, top: str, light: Light | None = None
) -> tuple[CutSet, ...]:
    """List the minimal cut sets of a complaint, finding or mechanism.

    Parameters
    ----------
    base : KnowledgeBase
    facts : Mapping
    top : str
    light : Light, optional
        Of the present case.

    Returns
    -------
    tuple of CutSet
        The smallest first, of those the most probable: in the present case, if there is one, else
        by the shares. Empty if no cause of this set-up leads there.
    """
    found = _found(base, tuple(sorted((k, tuple(v)) for k, v in facts.items())), top)
    listed = [
        CutSet(cut.causes, cut.conditions, cut.p, None if light is None else _now(cut, light))
        for cut in found
    ]
    return tuple(
        sorted(
            listed,
            key=lambda cut: (len(cut.causes), -(cut.now or 0.0), -cut.p, cut.causes),
        )
    )


@lru_cache(maxsize=64)
def _found(
    base: KnowledgeBase, facts: tuple[tuple[str, tuple[str, ...]], ...], top: str
) -> tuple[CutSet, ...]:
    try:
        tree = complaint_tree(base, dict(facts), top)
    except KeyError:
        return ()
    nodes = tree.graph.nodes
    found = []
    for events in minimal_cut_sets(tree, top):
        causes = tuple(sorted(name for name in events if name in base.causes))
        conditions = tuple(sorted(name.removesuffix(" possible") for name in events - {*causes}))
        found.append(CutSet(causes, conditions, prod(nodes[e]["probability"] for e in events)))
    return tuple(found)


def _now(cut: CutSet, light: Light) -> float:
    keys = frozenset(("causes", name) for name in cut.causes)
    if len(keys) == 1:
        return light.chance.get(next(iter(keys)), 0.0)
    return min(1.0, sum(weight for causes, weight in light.sets if keys <= causes))
