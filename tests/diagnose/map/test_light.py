"""The light on the map against the tree, the network and plain enumeration; and cut sets."""

from itertools import combinations
from math import prod

import numpy as np
import pytest

from diagnose.assess import assess
from diagnose.case import Case, Entry
from diagnose.map import MapGraph, cut_sets, light_of
from diagnose.map.light import mechanisms_reached
from diagnose.network import compile_network
from knowledge.tree import Tree
from tests.small_bases import make_base


def test_many_sets_reach_mechanisms_as_the_tree_says_of_each(knowledge):
    network = compile_network(knowledge, {})
    rng = np.random.default_rng(4)
    present = rng.random((30, len(network.causes))) < 0.03
    found = mechanisms_reached(network, present)
    tree = Tree(knowledge, {})
    for number, row in enumerate(present):
        causes = [network.causes[c] for c in np.flatnonzero(row)]
        reach = tree.reach(causes)
        for name in knowledge.mechanisms:
            assert found[name][number] == pytest.approx(reach.get(name, 0.0), abs=1e-12)


@pytest.fixture
def gated(tmp_path):
    """Two causes act only together, a third alone."""
    return make_base(
        tmp_path / "base",
        complaints={"shakes": {"unexplained": 0.01}, "smells": {"unexplained": 0.01}},
        mechanisms={
            "both": {"gate": "all", "of": ["rough", "loose"], "brings": {"shakes": "always"}},
            "hot": {"brings": {"smells": "often"}},
        },
        causes={
            "rough": {},
            "loose": {},
            "bent": {"brings": {"shakes": "often", "hot": "often"}, "rate": "rare"},
        },
    )


def told(base, **answers):
    entries = tuple(Entry(complaint=name, answer=answer) for name, answer in answers.items())
    return assess(base, Case(entries=entries))


def enumerated(assessment):
    """Sets of causes with their chance given one certain complaint, by plain enumeration."""
    network = assessment.network
    prior = network.prior
    names = network.causes
    chances = {}
    for size in range(1, len(names) + 1):
        for subset in combinations(range(len(names)), size):
            mass = prod(prior[c] if c in subset else 1.0 - prior[c] for c in range(len(names)))
            missed = 1.0 - network.leak[network.finding_index["shakes"]]
            for c in subset:
                missed *= 1.0 - network.q[c, network.finding_index["shakes"]]
            pair = {names.index("rough"), names.index("loose")}
            if pair <= set(subset):
                missed *= 1.0 - 0.97
            chances[subset] = mass * (1.0 - missed)
    total = sum(chances.values())
    return {frozenset(names[c] for c in subset): p / total for subset, p in chances.items()}


def test_the_light_of_a_small_base_is_that_of_enumeration(gated):
    assessment = told(gated, shakes="yes")
    light = light_of(assessment)
    sets = enumerated(assessment)
    # Sets below one in a hundred thousand are not listed.
    both = sum(p for causes, p in sets.items() if {"rough", "loose"} <= causes)
    assert light.chance["mechanisms", "both"] == pytest.approx(both, abs=2e-3)
    bent = sum(p for causes, p in sets.items() if "bent" in causes)
    assert light.chance["mechanisms", "hot"] == pytest.approx(0.5 * bent, abs=2e-3)
    assert light.chance["causes", "bent"] == pytest.approx(bent, abs=1e-9)
    unknown = sum(p for causes, p in sets.items() if "unknown" in causes)
    smells = sum(
        p * (1.0 - 0.99 * (1.0 - 0.25 * ("bent" in causes)) * (1.0 - 0.1 * ("unknown" in causes)))
        for causes, p in sets.items()
    )
    assert 0.0 < unknown < 1.0
    assert light.chance["complaints", "smells"] == pytest.approx(smells, abs=2e-3)


def test_what_was_answered_is_lit_or_dark_and_marked(gated):
    light = light_of(told(gated, shakes="yes", smells="no"))
    assert light.chance["complaints", "shakes"] == pytest.approx(1.0)
    assert light.chance["complaints", "smells"] == 0.0
    assert light.told == {("complaints", "shakes"), ("complaints", "smells")}


def test_a_group_of_causes_is_lit_by_the_chance_that_any_of_it_is_there(gated):
    assessment = told(gated, shakes="yes")
    graph = MapGraph.of(gated, {})
    group = graph.groups["group", "causes/somewhere"]
    known = sum(p for causes, p in enumerated(assessment).items() if causes != {"unknown"})
    assert light_of(assessment).of_group(group) == pytest.approx(known, abs=2e-3)


def test_the_cut_sets_are_the_least_sets_that_suffice_the_smaller_first(gated):
    found = cut_sets(gated, {}, "shakes")
    assert [cut.causes for cut in found] == [("bent",), ("loose", "rough")]
    assert found[0].p == pytest.approx(0.05)
    assert found[1].p == pytest.approx(0.2 * 0.2)


def test_in_a_case_cut_sets_of_one_size_come_by_their_chance_there(knowledge):
    facts = knowledge.setups["twin_external"].facts
    entry = Entry(complaint="gears_grind", answer="yes")
    assessment = assess(knowledge, Case(setup="twin_external", facts=facts, entries=(entry,)))
    light = light_of(assessment)
    found = cut_sets(knowledge, facts, "gears_grind", light)
    ranked = [(len(cut.causes), -cut.now) for cut in found]
    assert ranked == sorted(ranked)
    assert found[0].now == assessment.cause(found[0].causes[0]).p


def test_of_two_sets_the_chance_now_is_that_both_are_there(gated):
    assessment = told(gated, shakes="yes")
    pair = cut_sets(gated, {}, "shakes", light_of(assessment))[1]
    sets = enumerated(assessment)
    both = sum(p for causes, p in sets.items() if {"rough", "loose"} <= causes)
    assert pair.now == pytest.approx(both, abs=2e-3)


def test_what_nothing_leads_to_has_no_cut_sets(tmp_path):
    base = make_base(tmp_path / "base", complaints={"hums": {}}, causes={"a": {}})
    assert cut_sets(base, {}, "hums") == ()
