"""The compiled network: priors, links, leaks and groups, against the tree and by hand."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.network import (
    UNKNOWN,
    NetworkError,
    compile_network,
    prior_from_rates,
)
from diagnose.noisy_or import Evidence, infer
from knowledge.tree import MAX_TOGETHER, Tree
from tests.small_bases import make_base

FACTS = {
    "release": {
        "values": {
            "cable": {"name": "a cable", "share": 0.25},
            "slave": {"name": "a slave", "share": 0.75},
        }
    }
}


@pytest.fixture
def base(tmp_path):
    """Two causes that meet in a mechanism, two that act only together, one for cables only."""
    return make_base(
        tmp_path,
        facts=FACTS,
        complaints={"drags": {"unexplained": 0.01}, "rattles": {"unexplained": 0.02}},
        findings={"spongy": {"unexplained": 0.03}, "grooved": {"unexplained": 0.2}},
        mechanisms={
            "short": {"brings": {"drags": 0.8}},
            "tips": {"gate": "all", "of": ["fork", "pivot"], "brings": {"short": 0.9}},
        },
        causes={
            "air": {"rate": 0.2, "brings": {"short": 0.5}, "shows": {"spongy": 0.9}},
            "bent": {"rate": 0.1, "brings": {"drags": 0.6, "short": 0.5}},
            "fork": {"rate": 0.1, "brings": {"rattles": 0.3}, "shows": {"grooved": 1.0}},
            "pivot": {"rate": 0.05, "brings": {"rattles": 0.4}},
            "cable": {"rate": 0.4, "when": {"release": ["cable"]}, "brings": {"drags": 0.7}},
        },
    )


class TestPriors:
    @given(st.lists(st.floats(0.001, 0.2), min_size=5, max_size=40), st.floats(1.05, 2.0))
    def test_given_some_cause_the_shares_and_their_sum_are_as_wanted(self, rates, mean):
        prior = prior_from_rates(np.array(rates), mean)
        shares = np.array(rates) * mean / sum(rates)
        assume(np.all(shares < 0.7))
        given_some = prior / (1.0 - np.prod(1.0 - prior))
        assert given_some == pytest.approx(shares, rel=1e-9)
        assert given_some.sum() == pytest.approx(mean, rel=1e-9)

    def test_they_weigh_the_rates_with_the_share_of_the_set_up(self, base):
        network = compile_network(base, {})
        names = [*base.causes, UNKNOWN]
        assert list(network.causes) == names
        rates = [0.2, 0.1, 0.1, 0.05, 0.4 * 0.25, base.scale.unknown.rate]
        ratio = network.prior / np.array(rates)
        assert ratio == pytest.approx(np.full(6, ratio[0]))
        alone = infer(network.modes(network.prior), network.leak, Evidence.of({}), need_cause=True)
        assert alone.cause.sum() == pytest.approx(base.scale.faults_per_comeback)

    def test_a_cause_that_the_set_up_rules_out_is_not_there(self, base):
        network = compile_network(base, {"release": ("slave",)})
        assert "cable" not in network.causes
        assert network.prior.shape == (5,)
        known = compile_network(base, {"release": ("cable",)})
        i, j = known.cause_index["cable"], known.cause_index["air"]
        assert known.prior[i] / known.prior[j] == pytest.approx(0.4 / 0.2)


class TestLinks:
    def test_each_row_is_what_the_cause_alone_reaches(self, base):
        network = compile_network(base, {})
        expected = {
            "air": {"drags": 0.4, "spongy": 0.9},
            "bent": {"drags": 1 - 0.4 * (1 - 0.4)},
            "fork": {"rattles": 0.3, "grooved": 1.0},
            "pivot": {"rattles": 0.4},
            "cable": {"drags": 0.7},
        }
        for cause, finding in product(expected, network.findings):
            q = network.q[network.cause_index[cause], network.finding_index[finding]]
            assert q == pytest.approx(expected[cause].get(finding, 0.0)), (cause, finding)

    def test_leaks_are_what_is_unexplained(self, base):
        assert compile_network(base, {}).leak == pytest.approx([0.01, 0.02, 0.03, 0.2])

    def test_the_unknown_cause_brings_any_complaint(self, base):
        """And shows a finding twice as often as unexplained, at most as often as a complaint."""
        network = compile_network(base, {})
        assert network.causes[-1] == UNKNOWN
        assert network.q[-1] == pytest.approx([0.1, 0.1, 0.06, 0.1])


class TestGroups:
    def test_what_is_brought_about_only_together(self, base):
        network = compile_network(base, {})
        (group,) = network.groups
        assert {network.causes[i] for i in group.members} == {"fork", "pivot"}
        (together,) = group.together.values()
        expected = Tree(base, {}).reach(["fork", "pivot"])
        for finding, q in zip(network.findings, together, strict=True):
            assert q == pytest.approx(expected.get(finding, 0.0))
        assert together[network.finding_index["drags"]] == pytest.approx(0.9 * 0.8)
        assert together[network.finding_index["rattles"]] == pytest.approx(1 - 0.7 * 0.6)

    def test_modes_are_all_subsets_with_their_priors(self, base):
        network = compile_network(base, {})
        modes = network.modes(network.prior)
        sums = np.bincount(modes.component, weights=modes.weight)
        assert sums == pytest.approx(np.ones(len(sums)))
        for c, p in enumerate(network.prior):
            assert modes.weight[modes.present[:, c]].sum() == pytest.approx(p)
        starts = np.flatnonzero(np.diff(modes.component, prepend=-1))
        assert not modes.present[starts].any(), "the absent mode comes first"
        assert not modes.q[starts].any()

    def test_a_gate_whose_partner_is_ruled_out_makes_no_group(self, tmp_path):
        base = make_base(
            tmp_path,
            facts=FACTS,
            complaints={"drags": {}},
            mechanisms={"both": {"gate": "all", "of": ["a", "b"], "brings": {"drags": 0.9}}},
            causes={"a": {"when": {"release": ["cable"]}}, "b": {}},
        )
        assert len(compile_network(base, {}).groups) == 1
        assert compile_network(base, {"release": ("slave",)}).groups == ()

    def test_too_many_together_are_refused_by_name(self, tmp_path):
        """Loading refuses them first; a base put together otherwise is refused here."""
        names = tuple(f"c{i}" for i in range(MAX_TOGETHER + 1))
        base = make_base(
            tmp_path,
            complaints={"drags": {}},
            mechanisms={"gate": {"gate": "all", "of": ["c0", "c1"], "brings": {"drags": 0.9}}},
            causes={name: {} for name in names},
        )
        gate = base.mechanisms["gate"].model_copy(update={"of": names})
        with pytest.raises(NetworkError, match="c0, c1, c2"):
            compile_network(replace(base, mechanisms={"gate": gate}), {})


def test_the_index_finds_every_name(base):
    network = compile_network(base, {})
    assert [network.cause_index[name] for name in network.causes] == list(range(6))
    assert [network.finding_index[name] for name in network.findings] == list(range(4))
