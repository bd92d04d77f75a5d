"""The base as a fault tree: against the network, which is compiled apart from it."""

import numpy as np
import pytest

from diagnose.complaint_tree import complaint_tree, strongest_path
from diagnose.fault_tree import minimal_cut_sets, paths, top_probability
from diagnose.network import compile_network
from knowledge.model import Gate, KnowledgeBase
from knowledge.tree import gate_groups

EXTERNAL = {"release": ("external_slave",), "discs": ("one",)}


def test_single_cause_cut_sets_are_the_causes_that_reach_the_complaint(
    knowledge: KnowledgeBase,
) -> None:
    network = compile_network(knowledge, EXTERNAL)
    for complaint in knowledge.complaints:
        column = network.q[:-1, network.finding_index[complaint]]
        reaching = {network.causes[i] for i in np.flatnonzero(column > 0.0)}
        if not reaching:
            with pytest.raises(KeyError):
                complaint_tree(knowledge, EXTERNAL, complaint)
            continue
        sets = minimal_cut_sets(complaint_tree(knowledge, EXTERNAL, complaint), complaint)
        single = {
            next(iter(causes))
            for causes in (cut - conditions(cut) for cut in sets)
            if len(causes) == 1
        }
        assert single == reaching, complaint


def conditions(cut: frozenset[str]) -> set[str]:
    return {name for name in cut if name.endswith(" possible")}


def test_what_needs_two_causes_is_a_cut_set_of_two(knowledge: KnowledgeBase) -> None:
    gate = next(m for m in knowledge.mechanisms.values() if m.gate is Gate.ALL)
    (group,) = gate_groups(knowledge)
    tree = complaint_tree(knowledge, {}, gate.id)
    assert minimal_cut_sets(tree, gate.id) == (frozenset(group),)
    rates = [knowledge.rate(knowledge.causes[name].rate) for name in group]
    assert top_probability(tree, gate.id) == pytest.approx(np.prod(rates))


def test_an_open_condition_is_an_inhibit_gate_and_a_met_one_falls_away(
    knowledge: KnowledgeBase,
) -> None:
    for facts, name in (({}, "cable_frayed"), ({"release": ("cable",)}, "cable_frayed")):
        tree = complaint_tree(knowledge, facts, "cable_strands_broken")
        assert tree.graph.nodes[name]["probability"] == pytest.approx(
            knowledge.rate(knowledge.causes[name].rate) * (1.0 if facts else 0.18)
        )
    with pytest.raises(KeyError):
        complaint_tree(knowledge, EXTERNAL, "cable_strands_broken")


def test_unknown_top_is_refused(knowledge: KnowledgeBase) -> None:
    with pytest.raises(KeyError):
        complaint_tree(knowledge, {}, "no_such_complaint")


def test_strongest_path_is_one_of_the_trees_paths(knowledge: KnowledgeBase) -> None:
    chain = strongest_path(knowledge, EXTERNAL, "air_in_system", "hard_to_select")
    tree = complaint_tree(knowledge, EXTERNAL, "hard_to_select")
    assert chain in paths(tree, "air_in_system", "hard_to_select")
    assert chain[:3] == ("air_in_system", "fork_stroke_short", "bearing_travels_too_little")
    assert strongest_path(knowledge, EXTERNAL, "air_in_system", "oil_leak") == ()
