"""The knowledge base as a fault tree: what can bring about one complaint or finding, and how.

Gates become those of the tree, ``when`` an inhibit gate: a condition the set-up meets for sure
falls away, one that is open is a conditioning event with the share of comebacks that meet it. The
strengths of the links are left out, so the tree says what can lead where, not how often; the
network (`diagnose.network`) says how often.
"""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from diagnose import fault_tree
from diagnose.fault_tree import FaultTree
from knowledge.model import Cause, Gate, KnowledgeBase, Mechanism, Needs
from knowledge.tree import share_that_fits, share_with

if TYPE_CHECKING:
    import networkx as nx


@dataclass
class _Parts:
    gates: dict[str, fault_tree.Gate] = field(default_factory=dict)
    events: dict[str, float | None] = field(default_factory=dict)
    conditions: dict[str, float | None] = field(default_factory=dict)


def complaint_tree(base: KnowledgeBase, facts: Needs, top: str) -> FaultTree:
    """Build the fault tree behind a complaint, finding or mechanism.

    Parameters
    ----------
    base : KnowledgeBase
    facts : Mapping
        What is known of the set-up; causes it rules out are left out.
    top : str
        Id of the complaint, finding or mechanism.

    Returns
    -------
    FaultTree
        Basic events are causes, with their rates in this set-up.

    Raises
    ------
    KeyError
        If nothing has that id, or if no cause of this set-up leads there.
    """
    parts = _Parts()
    if top not in {*base.complaints, *base.findings, *base.mechanisms}:
        raise KeyError(top)
    if not _add(base, facts, top, parts):
        raise KeyError(top)
    return FaultTree.build(parts.gates, parts.events, parts.conditions)


def _add(base: KnowledgeBase, facts: Needs, name: str, parts: _Parts) -> bool:
    """Add a node and all behind it; whether anything of this set-up can bring it about."""
    if name in parts.gates or name in parts.events:
        return True
    if name in base.causes:
        share = share_that_fits(base, facts, base.causes[name].when)
        if share > 0.0:
            parts.events[name] = share_with(base, facts, base.causes[name])
        return share > 0.0
    mechanism = base.mechanisms.get(name)
    if mechanism is None or mechanism.gate is Gate.ANY:
        inputs = tuple(n for n in _sources(base, facts, name) if _add(base, facts, n, parts))
        gate = fault_tree.Gate("or", inputs)
    else:
        inputs = tuple(n for n in mechanism.of if _add(base, facts, n, parts))
        needed = len(mechanism.of) if mechanism.gate is Gate.ALL else mechanism.k or 1
        if len(inputs) < needed:
            return False
        everything = needed == len(inputs)
        gate = (
            fault_tree.Gate("and", inputs)
            if everything
            else fault_tree.Gate("vote", inputs, k=needed)
        )
    return bool(inputs) and _add_gate(base, facts, name, gate, parts)


def _add_gate(
    base: KnowledgeBase, facts: Needs, name: str, gate: fault_tree.Gate, parts: _Parts
) -> bool:
    mechanism = base.mechanisms.get(name)
    share = share_that_fits(base, facts, mechanism.when) if mechanism else 1.0
    if share == 0.0:
        return False
    if share == 1.0:
        parts.gates[name] = gate
    else:
        parts.gates[f"{name} brought about"] = gate
        parts.conditions[f"{name} possible"] = share
        parts.gates[name] = fault_tree.Gate(
            "inhibit", (f"{name} brought about",), condition=f"{name} possible"
        )
    return True


def _sources(base: KnowledgeBase, facts: Needs, name: str) -> list[str]:
    """Ids of the causes and mechanisms with a link to a node that this set-up allows."""
    records: list[Cause | Mechanism] = [*base.causes.values(), *base.mechanisms.values()]
    return [
        record.id
        for record in records
        for target, strength in (*record.brings.items(), *record.shows.items())
        if target == name and share_that_fits(base, facts, strength.when) > 0.0
    ]


def strongest_path(base: KnowledgeBase, facts: Needs, cause: str, effect: str) -> tuple[str, ...]:
    """Give the most probable chain of ids from a cause to a complaint or finding.

    Returns
    -------
    tuple of str
        Cause and effect included; empty if the tree has no such chain outside AND gates.
    """
    graph = _weighted(base, facts)
    import networkx as nx

    if cause not in graph or effect not in graph or not nx.has_path(graph, cause, effect):
        return ()
    chain: list[str] = nx.shortest_path(graph, cause, effect, weight="length")
    return tuple(chain)


def _weighted(base: KnowledgeBase, facts: Needs) -> "nx.DiGraph[str]":
    """All links, each with the negative log of its strength as its length."""
    import math

    import networkx as nx

    graph: nx.DiGraph[str] = nx.DiGraph()
    records: list[Cause | Mechanism] = [*base.causes.values(), *base.mechanisms.values()]
    for record in records:
        for target, strength in (*record.brings.items(), *record.shows.items()):
            chance = base.strength(strength) * share_that_fits(base, facts, strength.when)
            if chance > 0.0:
                graph.add_edge(record.id, target, length=-math.log(chance))
    return graph
