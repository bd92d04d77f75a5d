"""The most probable sets of causes: order, probabilities and covered mass against enumeration.

Sources: T3 and T4 are the engine notes' worked examples.
"""

from math import inf

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose import fault_sets
from diagnose.fault_sets import best_sets
from diagnose.noisy_or import Evidence, Modes, infer
from tests.diagnose.oracles import enumeration, random_nets
from tests.strategies import groups_for, modes_of, networks

T3 = (np.array([0.1, 0.2]), np.array([[0.8], [0.6]]), np.array([0.05]))
T4 = (
    np.array([0.02, 0.05, 0.1]),
    np.array([[0.9, 0.0, 0.3], [0.5, 0.7, 0.0], [0.0, 0.4, 0.6]]),
    np.array([0.01, 0.02, 0.03]),
)
EVERYTHING = {"limit": 5000, "mass": 2.0, "floor": 0.0}


def sets_of(modes, leak, ratios, *, need_cause=False, **limits):
    found = infer(modes, leak, Evidence.of(ratios), need_cause=need_cause)
    return best_sets(found.messages, modes.present, **limits)


def ranked(net, ratios, **limits):
    """(causes counted from 1, probability), most probable first."""
    prior, q, leak = net
    found = sets_of(Modes.independent(prior, q), leak, ratios, **limits)
    return [({c + 1 for c in s.causes}, s.p) for s in found.sets]


def test_two_causes():
    """T3."""
    expected = [({2}, 0.483367983), ({1}, 0.280665281), (set(), 0.155925156), ({1, 2}, 0.080041580)]
    found = ranked(T3, {0: inf}, **EVERYTHING)
    assert [causes for causes, _ in found] == [causes for causes, _ in expected]
    assert [p for _, p in found] == pytest.approx([p for _, p in expected], abs=5e-10)


@pytest.mark.parametrize(
    ("third", "expected"),
    [
        (0.0, [({2}, 0.887449), ({2, 3}, 0.046012), ({1, 2}, 0.023862), ({1}, 0.012175)]),
        (inf, [({2, 3}, 0.441934), ({1, 3}, 0.182032), ({2}, 0.167132), ({3}, 0.083177)]),
    ],
)
def test_three_causes(third, expected):
    """T4."""
    found = ranked(T4, {0: inf, 1: inf, 2: third}, limit=4, mass=2.0)
    assert [causes for causes, _ in found] == [causes for causes, _ in expected]
    assert [p for _, p in found] == pytest.approx([p for _, p in expected], abs=6e-7)


def test_the_best_single_cause_need_not_be_the_best_set():
    """T4: cause 3 leads the marginals, yet alone it is only the fourth of the sets."""
    prior, q, leak = T4
    ratios = {0: inf, 1: inf, 2: inf}
    marginals = infer(Modes.independent(prior, q), leak, Evidence.of(ratios)).cause
    assert np.argmax(marginals) + 1 == 3
    assert [causes for causes, _ in ranked(T4, ratios)].index({3}) == 3


class TestAgainstEnumeration:
    @given(networks(causes=(1, 7)), st.booleans())
    def test_all_sets(self, net, need_cause):
        masses = enumeration.joint(*net)
        modes = Modes.independent(net.prior, net.q)
        self.compare(modes, net, masses, need_cause=need_cause)

    @given(networks(causes=(3, 6)), st.data(), st.booleans())
    def test_causes_that_act_together(self, net, data, need_cause):
        groups = data.draw(groups_for(net))
        together = {s: row for group in groups for s, row in group.together.items()}
        masses = enumeration.joint(*net, together)
        self.compare(modes_of(net, groups), net, masses, need_cause=need_cause)

    def compare(self, modes, net, masses, *, need_cause):
        if need_cause:
            known = enumeration.without_nobody(masses)
            assume(sum(known.values()) > 1e-4 * sum(masses.values()))
            masses = known
        expected = {s: p for s, p in enumeration.posterior(masses).items() if p > 1e-13}
        found = sets_of(modes, net.leak, net.ratios, need_cause=need_cause, **EVERYTHING)
        listed = {s.causes: s.p for s in found.sets}
        assert expected.keys() <= listed.keys()
        assert {s: listed[s] for s in expected} == pytest.approx(expected, abs=1e-10)
        assert found.covered == pytest.approx(1.0, abs=1e-10)

    @given(networks(causes=(2, 7)), st.integers(1, 6))
    def test_the_first_ones_are_the_most_probable(self, net, limit):
        posterior = enumeration.posterior(enumeration.joint(*net))
        best = sorted(posterior.values(), reverse=True)[:limit]
        modes = Modes.independent(net.prior, net.q)
        found = sets_of(modes, net.leak, net.ratios, limit=limit, mass=2.0, floor=0.0)
        probable = [p for p in best if p > 1e-13]
        assert [s.p for s in found.sets][: len(probable)] == pytest.approx(probable, abs=1e-10)
        for s in found.sets:
            assert s.p == pytest.approx(posterior[s.causes], abs=1e-10)
        assert found.covered == pytest.approx(sum(s.p for s in found.sets), abs=1e-12)
        assert len(found.sets) <= limit

    @given(networks(causes=(4, 7), findings=(3, 5)), st.integers(1, 6))
    def test_where_room_runs_out_the_list_is_shorter_but_as_certain(self, net, rows):
        posterior = enumeration.posterior(enumeration.joint(*net))
        best = sorted(posterior.values(), reverse=True)
        modes = Modes.independent(net.prior, net.q)
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(fault_sets, "_ROOM", rows << len(net.ratios))
            found = sets_of(modes, net.leak, net.ratios, limit=100, mass=2.0, floor=1e-9)
        chances = [s.p for s in found.sets]
        assert chances == pytest.approx(best[: len(chances)], abs=1e-10)
        assert found.covered == pytest.approx(sum(chances), abs=1e-12)


def test_with_room_for_one_branch_the_best_set_is_still_found(monkeypatch):
    """T4, first and second finding positive, third negative."""
    monkeypatch.setattr(fault_sets, "_ROOM", 4)
    found = ranked(T4, {0: inf, 1: inf, 2: 0.0}, **EVERYTHING)
    assert found[0] == ({2}, pytest.approx(0.887449, abs=6e-7))
    assert len(found) < 4
    monkeypatch.setattr(fault_sets, "_ROOM", 4 * 8)
    assert len(ranked(T4, {0: inf, 1: inf, 2: 0.0}, **EVERYTHING)) == 8


def test_causes_that_an_absent_finding_rules_out_are_in_no_set():
    """Both would surely bring the second finding; the third cause is as likely as not."""
    prior, leak = np.array([0.3, 0.3, 0.5]), np.array([0.5, 0.5])
    q = np.array([[0.5, 1.0], [0.5, 1.0], [0.0, 0.0]])
    found = ranked((prior, q, leak), {0: inf, 1: 0.0}, **EVERYTHING)
    assert [p for _, p in found] == [pytest.approx(0.5), pytest.approx(0.5)]
    assert [causes for causes, _ in found] == [set(), {3}]


class TestLimits:
    @pytest.fixture
    def net(self):
        rng = np.random.default_rng(7)
        net = random_nets.random_net(rng)
        positive, negative = random_nets.evidence_of_faults(rng, net, 6, 12)
        ratios = dict.fromkeys(map(int, positive), inf) | dict.fromkeys(map(int, negative), 0.0)
        return Modes.independent(net.prior, net.q), net.leak, ratios

    def test_falling_order(self, net):
        chances = [s.p for s in sets_of(*net, limit=200).sets]
        assert chances == sorted(chances, reverse=True)
        assert len(chances) == 200

    def test_a_longer_list_only_appends(self, net):
        short, long = sets_of(*net, limit=20), sets_of(*net, limit=60)
        assert [s.causes for s in long.sets[:20]] == [s.causes for s in short.sets]

    def test_enough_mass_stops_the_search(self, net):
        found = sets_of(*net, limit=5000, mass=0.5)
        assert 0.5 <= found.covered < 0.5 + found.sets[-1].p + 1e-12

    def test_a_floor_leaves_out_only_what_is_below_it(self, net):
        with_floor = sets_of(*net, limit=5000, mass=2.0, floor=1e-3)
        without = sets_of(*net, limit=len(with_floor.sets) + 50, mass=2.0, floor=1e-9)
        above = [s.causes for s in without.sets if s.p > 1e-3]
        assert [s.causes for s in with_floor.sets] == above
        assert with_floor.covered == pytest.approx(sum(s.p for s in with_floor.sets), abs=1e-12)
        assert with_floor.covered < 0.999

    def test_sixty_causes_agree_with_the_chance_of_the_set_itself(self, net):
        """Each probability against the product of priors and likelihoods, set by set."""
        modes, leak, ratios = net
        prior = modes.weight[1::2]
        q = modes.q[1::2]
        marginals = infer(modes, leak, Evidence.of(ratios))
        for found in sets_of(*net, limit=40).sets:
            there = sorted(found.causes)
            gone = np.setdiff1d(np.arange(len(prior)), there)
            on = 1.0 - (1.0 - leak) * np.prod(1.0 - q[there], axis=0)
            logs = [np.log(on[f] if r else 1.0 - on[f]) for f, r in ratios.items()]
            mass = np.log(prior[there]).sum() + np.log1p(-prior[gone]).sum() + sum(logs)
            assert found.p == pytest.approx(np.exp(mass - marginals.log_evidence), rel=1e-9)
