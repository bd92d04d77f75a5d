"""Causes that readings tie together, against plain enumeration; and what is left out of large sets.

The oracle enumerates all sets of causes and shares no code with the engine
(`tests.diagnose.oracles.enumeration`); the readings are any function of the causes present.
"""

from typing import ClassVar

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.errors import ContradictionError
from diagnose.fault_sets import best_sets
from diagnose.noisy_or import Evidence, Modes, Tied, infer
from tests.diagnose.oracles import enumeration
from tests.strategies import chances, groups_for, inner_chances, modes_of, networks

EVERYTHING = {"limit": 5000, "mass": 2.0, "floor": 0.0}


def any_readings(seed, tied_causes):
    """A log-likelihood for every set of the tied causes, and one for the outsider's two states."""

    def log_likelihood(present, outsider):
        causes = sorted(set(present) & set(tied_causes))
        key = [seed, int(outsider), *(c + 1 for c in causes)]
        return float(np.random.default_rng(key).normal(0.0, 3.0))

    return log_likelihood


def tie(modes, causes, log_likelihood, outsider=None, **limits):
    """Tie causes, and those in one component with them, by a likelihood of the causes present."""
    components = frozenset(int(modes.component[np.argmax(modes.present[:, c])]) for c in causes)
    states = [False] if outsider is None else [False, True]

    def likelihood(rows):
        present = [
            {int(c) for row in chosen if row >= 0 for c in np.flatnonzero(modes.present[row])}
            for chosen in rows.tolist()
        ]
        return np.array([[log_likelihood(p, u) for u in states] for p in present])

    return Tied(components, likelihood, **{"most": 800, **limits})


def weighted(masses, log_likelihood, outsider=None):
    return {
        causes: mass * np.exp(log_likelihood(causes, outsider in causes))
        for causes, mass in masses.items()
    }


@given(st.data(), networks(causes=(2, 6), links=inner_chances), st.integers(0, 1000))
def test_all_that_is_told_equals_enumeration(data, net, seed):
    groups = data.draw(st.one_of(st.just(()), groups_for(net)))
    modes = modes_of(net, groups)
    together = {s: links for group in groups for s, links in group.together.items()}
    grouped = {c for group in groups for c in group.members}
    alone = [c for c in range(len(net.prior)) if c not in grouped]
    outsider = data.draw(st.sampled_from([None, *alone]))
    free = [c for c in range(len(net.prior)) if c != outsider]
    causes = data.draw(st.lists(st.sampled_from(free), min_size=1, unique=True))
    log_likelihood = any_readings(seed, causes)
    tied = tie(modes, causes, log_likelihood, outsider)

    masses = enumeration.joint(net.prior, net.q, net.leak, net.ratios, together)
    expected = enumeration.without_nobody(weighted(masses, log_likelihood, outsider))
    total = sum(expected.values())
    assume(total > 1e-250)
    found = infer(
        modes,
        net.leak,
        Evidence.of(net.ratios),
        need_cause=True,
        outsider=outsider,
        tied=tied,
    )
    assert found.left_out == 0.0
    assert found.cause == pytest.approx(enumeration.marginals(expected, len(net.prior)), abs=1e-9)
    lonely = expected.get(frozenset({outsider}), 0.0) / total
    assert found.outsider == pytest.approx(lonely, abs=1e-9)

    sets = best_sets(found.messages, modes.present, **EVERYTHING)
    chances = {s.causes: s.p for s in sets.sets}
    wanted = {causes: mass / total for causes, mass in expected.items() if mass > 1e-280}
    assert sum(chances.values()) == pytest.approx(1.0, abs=1e-9)
    for causes, chance in wanted.items():
        assert chances.get(causes, 0.0) == pytest.approx(chance, abs=1e-9)
    order = [s.p for s in sets.sets]
    assert order == sorted(order, reverse=True)


@given(networks(causes=(2, 6), links=inner_chances), st.integers(0, 1000), st.data())
def test_evidence_and_what_stays_unexplained(net, seed, data):
    causes = data.draw(
        st.lists(st.integers(0, len(net.prior) - 1), min_size=1, max_size=4, unique=True)
    )
    log_likelihood = any_readings(seed, causes)
    modes = Modes.independent(net.prior, net.q)
    evidence = Evidence.of(net.ratios)
    plain = infer(modes, net.leak, evidence)
    found = infer(modes, net.leak, evidence, tied=tie(modes, causes, log_likelihood))
    masses = enumeration.joint(net.prior, net.q, net.leak, net.ratios)
    total = sum(masses.values())
    ratio = sum(weighted(masses, log_likelihood).values()) / total
    # Soft answers are scaled in the same way in both.
    assert found.log_evidence - plain.log_evidence == pytest.approx(np.log(ratio), abs=1e-9)
    for finding, share in found.unexplained.items():
        rest = {f: r for f, r in net.ratios.items() if f != finding}
        on = enumeration.likelihood(net.ratios[finding], 1)
        silent = {
            causes: mass * enumeration.missed(causes, finding, net.q) * net.leak[finding] * on
            for causes, mass in enumeration.joint(net.prior, net.q, net.leak, rest).items()
        }
        whole = sum(weighted(masses, log_likelihood).values())
        expected = sum(weighted(silent, log_likelihood).values()) / whole
        assert share == pytest.approx(expected, abs=1e-9)


@given(networks(causes=(3, 6), links=inner_chances))
def test_readings_that_say_nothing_change_nothing(net):
    modes = Modes.independent(net.prior, net.q)
    evidence = Evidence.of(net.ratios)
    plain = infer(modes, net.leak, evidence, need_cause=True)
    found = infer(
        modes, net.leak, evidence, need_cause=True, tied=tie(modes, (0, 1), lambda *_: -3.0)
    )
    assert found.cause == pytest.approx(plain.cause, abs=1e-12)
    assert found.log_evidence == pytest.approx(plain.log_evidence - 3.0, abs=1e-9)


class TestManyTiedCauses:
    """Fourteen causes are too many for all their sets to be weighed: 16384 of them."""

    rng = np.random.default_rng(5)
    prior = rng.uniform(0.005, 0.03, 14)
    q = np.where(rng.random((14, 5)) < 0.5, rng.uniform(0.1, 0.9, (14, 5)), 0.0)
    leak = rng.uniform(0.01, 0.05, 5)
    ratios: ClassVar = {0: np.inf, 1: np.inf, 2: 0.0, 3: 5.0}

    @staticmethod
    def one_number(present, outsider):
        """A reading that each cause moves by its number, the healthy one being 0."""
        del outsider
        middle, spread = sum(present), 1.0 + 0.3 * len(present)
        return -0.5 * ((4.0 - middle) / spread) ** 2 - np.log(spread)

    def found(self, **limits):
        modes = Modes.independent(self.prior, self.q)
        tied = tie(modes, range(14), self.one_number, **limits)
        return infer(modes, self.leak, Evidence.of(self.ratios), need_cause=True, tied=tied)

    def expected(self):
        return enumeration.without_nobody(weighted(self.plain(), self.one_number))

    def missing(self, found):
        """The share of the whole mass that was not weighed."""
        modes = Modes.independent(self.prior, self.q)
        plain = infer(modes, self.leak, Evidence.of(self.ratios))
        scale = plain.log_evidence - np.log(sum(self.plain().values()))
        whole = np.log(sum(self.expected().values()))
        return 1.0 - np.exp(found.log_evidence - scale - whole)

    def plain(self):
        return enumeration.joint(self.prior, self.q, self.leak, self.ratios)

    @pytest.mark.parametrize("most", [20, 60, 100, 200, 400])
    def test_the_share_left_out_is_told(self, most):
        """It is an estimate; too little would be worse than too much."""
        found = self.found(most=most)
        missing = self.missing(found)
        assert missing > 0.0
        assert found.left_out > 0.5 * missing
        assert most < 100 or found.left_out < 10.0 * missing + 1e-3

    @pytest.mark.parametrize("most", [20, 60, 100, 200, 400])
    def test_no_chance_is_further_off_than_what_is_missing(self, most):
        found = self.found(most=most)
        expected = enumeration.marginals(self.expected(), 14)
        assert np.abs(found.cause - expected).max() <= self.missing(found) + 1e-12

    def test_sets_are_added_until_little_is_left_out(self):
        found = self.found(most=5000, tolerance=0.01)
        assert self.missing(found) < 0.01
        assert len(found.messages.tied.rows) < 5000

    def test_sets_of_one_are_all_weighed(self):
        found = self.found(most=20)
        chances = {
            s.causes: s.p for s in best_sets(found.messages, _present(14), **EVERYTHING).sets
        }
        assert all(chances[frozenset({c})] > 0.0 for c in range(14))


@given(st.data(), networks(causes=(2, 6), links=chances), st.integers(0, 1000), st.integers(1, 6))
def test_the_first_sets_are_the_most_probable(data, net, seed, limit):
    """Some causes are likelier there than not, and some that no answer speaks of."""
    modes = Modes.independent(net.prior, net.q)
    *free, outsider = data.draw(st.permutations(range(len(net.prior))))
    causes = data.draw(st.lists(st.sampled_from(free), min_size=1, unique=True))
    log_likelihood = any_readings(seed, causes)
    expected = weighted(enumeration.joint(*net), log_likelihood, outsider)
    assume(sum(expected.values()) > 1e-250)
    expected = enumeration.posterior(expected)
    tied = tie(modes, causes, log_likelihood, outsider)
    found = infer(modes, net.leak, Evidence.of(net.ratios), outsider=outsider, tied=tied)
    listed = best_sets(found.messages, modes.present, limit=limit, mass=2.0, floor=0.0).sets
    best = [p for p in sorted(expected.values(), reverse=True)[:limit] if p > 1e-13]
    assert [s.p for s in listed][: len(best)] == pytest.approx(best, abs=1e-10)
    for s in listed:
        assert s.p == pytest.approx(expected[s.causes], abs=1e-10)


def test_what_is_likely_whatever_the_answers_may_follow_what_is_not():
    """The outsider with the tied cause is rare alone, and common with a third that is likely."""
    prior = np.array([0.3, 0.9, 0.4])
    modes = Modes.independent(prior, np.zeros((3, 1)))
    found = infer(
        modes, np.zeros(1), Evidence.of({}), outsider=2, tied=tie(modes, (0,), lambda *_: 0.0, 2)
    )
    listed = best_sets(found.messages, modes.present, limit=4, mass=2.0, floor=0.0).sets
    assert [(set(s.causes), s.p) for s in listed] == [
        ({1}, pytest.approx(0.7 * 0.9 * 0.6)),
        ({1, 2}, pytest.approx(0.7 * 0.9 * 0.4)),
        ({0, 1}, pytest.approx(0.3 * 0.9 * 0.6)),
        ({0, 1, 2}, pytest.approx(0.3 * 0.9 * 0.4)),
    ]


def _present(n):
    return Modes.independent(np.full(n, 0.5), np.zeros((n, 1))).present


def test_answers_that_contradict_each_other():
    modes = Modes.independent(np.array([0.3, 0.2]), np.array([[0.5], [0.0]]))
    tied = tie(modes, (0, 1), lambda *_: 0.0)
    with pytest.raises(ContradictionError):
        infer(
            modes,
            np.zeros(1),
            Evidence.of({0: np.inf}),
            need_cause=True,
            tied=Tied(tied.components, lambda rows: np.full((len(rows), 1), -np.inf), 800),
        )
