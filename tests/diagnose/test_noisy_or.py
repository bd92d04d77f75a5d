"""Exact inference against published and recomputed numbers, enumeration and pyAgrum.

Sources: T3, T4 and T14 are the engine notes' worked examples and properties of the noisy-OR of
Heckerman (1989); T13 is the chest clinic of Lauritzen and Spiegelhalter (1988).
"""

from decimal import Decimal, localcontext
from fractions import Fraction
from itertools import product
from math import exp, inf, log

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from diagnose.errors import ContradictionError, TooWideError
from diagnose.noisy_or import MAX_WIDTH, Evidence, Modes, infer
from tests.diagnose.oracles import agrum, enumeration, random_nets
from tests.diagnose.oracles.quickscore import quickscore
from tests.strategies import chances, groups_for, inner_chances, modes_of, networks, soft_ratios

T3 = (np.array([0.1, 0.2]), np.array([[0.8], [0.6]]), np.array([0.05]))
T4 = (
    np.array([0.02, 0.05, 0.1]),
    np.array([[0.9, 0.0, 0.3], [0.5, 0.7, 0.0], [0.0, 0.4, 0.6]]),
    np.array([0.01, 0.02, 0.03]),
)


def ask(net, ratios, **options):
    prior, q, leak = net[:3]
    return infer(Modes.independent(prior, q), leak, Evidence.of(ratios), **options)


def certain(positive, negative=()):
    return dict.fromkeys(map(int, positive), inf) | dict.fromkeys(map(int, negative), 0.0)


class TestTwoCauses:
    """T3."""

    def test_positive(self):
        found = ask(T3, {0: inf})
        assert exp(found.log_evidence) == pytest.approx(0.23088, rel=1e-12)
        assert found.cause == pytest.approx([0.360706861, 0.563409563], abs=5e-10)

    def test_negative(self):
        assert ask(T3, {0: 0.0}).cause == pytest.approx([0.021739130, 0.090909091], abs=5e-10)

    @pytest.mark.parametrize(("other", "expected"), [(1.0, 0.142066421), (0.0, 0.642857143)])
    def test_explaining_away(self, other, expected):
        """Knowing that the second cause is there takes the finding away from the first."""
        prior, q, leak = T3
        found = ask((np.array([prior[0], other]), q, leak), {0: inf})
        assert found.cause[0] == pytest.approx(expected, abs=5e-10)

    def test_the_leak_is_net(self):
        """The trap: a compound link q' = P(finding | only this cause) holds the leak already."""
        compound = 0.8
        net = 1.0 - (1.0 - compound) / (1.0 - 0.05)
        assert net == pytest.approx(0.789473684, abs=5e-10)
        alone = ask((np.array([1.0]), np.array([[net]]), np.array([0.05])), {0: inf})
        assert exp(alone.log_evidence) == pytest.approx(compound, rel=1e-12)

    def test_the_leak_convention_is_that_of_noisy_or_net(self):
        bn = random_nets.Net(*T3)
        ours = ask(T3, {0: inf}).cause
        names = ["c0", "c1"]
        assert ours == pytest.approx(
            agrum.posteriors(agrum.noisy_or(bn), {"f0": 1}, names), abs=1e-12
        )
        other = agrum.posteriors(agrum.noisy_or(bn, compound=True), {"f0": 1}, names)
        assert max(abs(ours - other)) > 1e-3


class TestThreeCauses:
    """T4."""

    @pytest.mark.parametrize(
        ("ratios", "evidence", "causes"),
        [
            ({0: inf, 1: inf, 2: 0.0}, 0.017185536506, (0.04842042, 0.95856008, 0.06705588)),
            ({0: inf, 1: inf, 2: inf}, 0.002822262374, (0.3059761, 0.69796231, 0.72734733)),
            ({0: inf, 1: inf}, None, (0.08475074, 0.92180065, 0.16019534)),
            ({0: inf, 1: inf, 2: 4.0}, None, (0.15053108, 0.85524335, 0.32883537)),
        ],
    )
    def test_posterior(self, ratios, evidence, causes):
        found = ask(T4, ratios)
        assert found.cause == pytest.approx(causes, abs=6e-9)
        if evidence is not None:
            assert exp(found.log_evidence) == pytest.approx(evidence, abs=6e-13)


class TestChestClinic:
    """T13. The three diseases share a parent, and two of them a gate: one component of 8 modes.

    What the x-ray and the dyspnoea depend on is given by tables, which become links net of leak.
    """

    @pytest.mark.parametrize(
        ("context", "findings", "expected"),
        [
            ({"asia": 1}, ("xray",), (0.337715595224, 0.371487154746, 0.491102227889)),
            ({}, ("xray", "dysp"), (0.113933325391, 0.621252796678, 0.681868538459)),
            (
                {"smoke": 0},
                ("xray", "dysp"),
                (0.255625124266, 0.245793388718, 0.565204986274),
            ),
        ],
    )
    def test_posterior(self, context, findings, expected):
        names = ("xray", "dysp")
        found = infer(
            self.modes(**context),
            np.array([0.05, 0.1]),
            Evidence.of({names.index(name): inf for name in findings}),
        )
        assert found.cause == pytest.approx(expected, abs=1e-9)
        oracle = agrum.posteriors(
            agrum.asia(), context | dict.fromkeys(findings, 1), ["tub", "lung", "bronc"]
        )
        assert found.cause == pytest.approx(oracle, abs=1e-12)

    def modes(self, asia=None, smoke=None):
        present = np.array(list(product((False, True), repeat=3)))
        weight = [self.prior(tuple(row), asia, smoke) for row in present.tolist()]
        either = present[:, 0] | present[:, 1]
        xray = np.where(either, 0.98, 0.05)
        dysp = [
            agrum.ASIA_DYSPNOEA[int(e), int(b)] for e, b in zip(either, present[:, 2], strict=True)
        ]
        q = 1.0 - (1.0 - np.stack((xray, dysp), axis=1)) / (1.0 - np.array([0.05, 0.1]))
        return Modes(np.zeros(8, dtype=np.intp), np.array(weight), present, q)

    @staticmethod
    def prior(state, asia, smoke):
        """Joint chance of the diseases, with what is not known of asia and smoke summed out."""
        tub, lung, bronc = state
        p_asia = 0.01 if asia is None else asia
        p_tub = p_asia * 0.05 + (1.0 - p_asia) * 0.01
        total = 0.0
        p_smoke = 0.5 if smoke is None else smoke
        for weight, p_lung, p_bronc in ((1.0 - p_smoke, 0.01, 0.3), (p_smoke, 0.1, 0.6)):
            total += (
                weight * (p_lung if lung else 1.0 - p_lung) * (p_bronc if bronc else 1.0 - p_bronc)
            )
        return total * (p_tub if tub else 1.0 - p_tub)


class TestAgainstEnumeration:
    """T14: posterior marginals equal full enumeration."""

    @given(networks(causes=(1, 3), findings=(1, 3)).filter(lambda n: np.sum(n.q > 0) <= 6))
    @settings(max_examples=30)
    def test_the_oracle_agrees_with_first_principles(self, net):
        closed = enumeration.joint(*net)
        assert enumeration.joint_by_links(*net) == pytest.approx(closed, rel=1e-12, abs=1e-300)

    @given(networks(causes=(1, 8)))
    def test_every_number(self, net):
        self.compare(net)

    @given(networks(causes=(9, 12), findings=(3, 8)))
    @settings(max_examples=8)
    def test_up_to_twelve_causes(self, net):
        self.compare(net)

    @given(networks(causes=(1, 5), leaks=chances))
    def test_contradictions_are_just_those_of_the_oracle(self, net):
        told = {f: r if r == inf else Fraction(r) for f, r in net.ratios.items()}
        exact = (*map(enumeration.exact, net[:3]), told)
        if sum(enumeration.joint(*exact).values()) > 0:
            self.compare(net, exact)
        else:
            with pytest.raises(ContradictionError):
                ask(net, net.ratios)

    def compare(self, net, numbers=None):
        """Compare with the oracle; in other numbers than doubles, if they are given."""
        n = len(net.prior)
        numbers = numbers or net
        masses = enumeration.joint(*numbers)
        found = ask(net, net.ratios)
        expected = list(map(float, enumeration.marginals(masses, n)))
        assert found.cause == pytest.approx(expected, abs=1e-12)
        assert found.log_evidence == pytest.approx(log(sum(masses.values())), abs=1e-10)
        positive = {f for f, r in net.ratios.items() if r > 1.0}
        assert found.unexplained.keys() == positive
        for f in positive:
            expected = float(enumeration.unexplained(*numbers, f))
            assert found.unexplained[f] == pytest.approx(expected, abs=1e-12)

    @given(networks(causes=(2, 7)), st.data())
    def test_need_cause_and_outsider(self, net, data):
        n = len(net.prior)
        outsider = data.draw(st.integers(0, n - 1))
        every = enumeration.joint(*net)
        masses = enumeration.without_nobody(every)
        assume(sum(masses.values()) > 1e-4 * sum(every.values()))
        found = ask(net, net.ratios, need_cause=True, outsider=outsider)
        assert found.cause == pytest.approx(enumeration.marginals(masses, n), abs=1e-10)
        alone = enumeration.posterior(masses)[frozenset({outsider})]
        assert found.outsider == pytest.approx(alone, abs=1e-10)
        assert found.log_evidence == pytest.approx(log(sum(masses.values())), abs=1e-8)
        for f, share in found.unexplained.items():
            expected = enumeration.unexplained(*net, f, need_cause=True)
            assert share == pytest.approx(expected, abs=1e-10)

    @given(networks(causes=(3, 7)), st.data())
    def test_causes_that_act_together(self, net, data):
        groups = data.draw(groups_for(net))
        together = {s: row for group in groups for s, row in group.together.items()}
        masses = enumeration.joint(*net, together)
        found = infer(modes_of(net, groups), net.leak, Evidence.of(net.ratios))
        assert found.cause == pytest.approx(
            enumeration.marginals(masses, len(net.prior)), abs=1e-12
        )
        for f, share in found.unexplained.items():
            expected = enumeration.unexplained(*net, f, together=together)
            assert share == pytest.approx(expected, abs=1e-12)


class TestProperties:
    """T14."""

    @given(networks(), st.randoms(use_true_random=False))
    def test_order_of_evidence_is_irrelevant(self, net, random):
        items = list(net.ratios.items())
        random.shuffle(items)
        assert ask(net, dict(items)).cause == pytest.approx(ask(net, net.ratios).cause, abs=1e-12)

    @given(networks(findings=(2, 5)), st.data())
    def test_a_finding_nobody_looked_for_changes_nothing(self, net, data):
        f = data.draw(st.integers(0, len(net.leak) - 1))
        told = {k: v for k, v in net.ratios.items() if k != f}
        less = (net.prior, np.delete(net.q, f, axis=1), np.delete(net.leak, f))
        renumbered = {k - (k > f): v for k, v in told.items()}
        assert ask(net, told).cause == pytest.approx(ask(less, renumbered).cause, abs=1e-12)

    @given(networks(), st.data())
    def test_a_ratio_of_one_changes_nothing(self, net, data):
        f = data.draw(st.integers(0, len(net.leak) - 1))
        rest = {k: v for k, v in net.ratios.items() if k != f}
        with_it, without = ask(net, rest | {f: 1.0}), ask(net, rest)
        assert with_it.cause == pytest.approx(without.cause, abs=1e-12)
        assert with_it.log_evidence == without.log_evidence
        nearly = ask(net, rest | {f: 1.0 + 1e-9})
        assert nearly.cause == pytest.approx(without.cause, abs=1e-8)

    @given(networks(links=inner_chances), st.data(), st.sampled_from([(1e12, inf), (1e-12, 0.0)]))
    def test_extreme_ratios_tend_to_certain_answers(self, net, data, ratios):
        f = data.draw(st.integers(0, len(net.leak) - 1))
        nearly, quite = ratios
        assert ask(net, net.ratios | {f: nearly}).cause == pytest.approx(
            ask(net, net.ratios | {f: quite}).cause, abs=1e-7
        )

    @given(networks())
    def test_no_evidence_returns_the_priors(self, net):
        found = ask(net, {})
        assert found.cause == pytest.approx(net.prior, abs=1e-15)
        assert found.log_evidence == pytest.approx(0.0, abs=1e-12)
        assert found.unexplained == {}

    @given(networks())
    def test_a_cause_that_never_comes_changes_nothing(self, net):
        more = (
            np.append(net.prior, 0.0),
            np.vstack((net.q, np.full(len(net.leak), 0.9))),
            net.leak,
        )
        found = ask(more, net.ratios)
        assert found.cause[:-1] == pytest.approx(ask(net, net.ratios).cause, abs=1e-12)
        assert found.cause[-1] == 0.0

    @given(networks(answers=soft_ratios), st.data())
    def test_a_likelier_finding_makes_no_cause_of_it_less_likely(self, net, data):
        """With no other answer, more belief in a finding never speaks against its causes."""
        f = data.draw(st.integers(0, len(net.leak) - 1))
        low, high = sorted((data.draw(soft_ratios), data.draw(soft_ratios)))
        assert np.all(ask(net, {f: high}).cause >= ask(net, {f: low}).cause - 1e-12)


class TestBigNets:
    """Section 9 of the notes: 60 causes, 120 findings, 3 to 8 parents each."""

    @pytest.mark.parametrize("draw", [random_nets.evidence_of_faults, random_nets.random_evidence])
    @pytest.mark.parametrize("seed", [1, 2, 3])
    def test_pyagrum_gives_the_same(self, draw, seed):
        rng = np.random.default_rng(seed)
        net = random_nets.random_net(rng)
        positive, negative = draw(rng, net, 8, 12)
        oracle = agrum.posteriors(
            agrum.noisy_or(net),
            {f"f{f}": 1 for f in positive} | {f"f{f}": 0 for f in negative},
            [f"c{c}" for c in range(60)],
        )
        assert ask(net, certain(positive, negative)).cause == pytest.approx(oracle, abs=1e-12)

    def test_pyagrum_gives_the_same_for_soft_answers(self):
        rng = np.random.default_rng(4)
        net = random_nets.random_net(rng, causes=30, findings=60)
        chosen = rng.permutation(60)[:10]
        told = dict(zip(map(int, chosen), [5.0, 0.2] * 5, strict=True))
        oracle = agrum.posteriors(
            agrum.noisy_or(net),
            {f"f{f}": (1.0, ratio) for f, ratio in told.items()},
            [f"c{c}" for c in range(30)],
        )
        assert ask(net, told).cause == pytest.approx(oracle, abs=1e-12)

    def test_nothing_cancels_with_twelve_positives(self):
        """Against Quickscore in 60 digits; in doubles the same formula loses seven of them."""
        rng = np.random.default_rng(5)
        net = random_nets.random_net(rng, causes=40, findings=60)
        positive, negative = random_nets.random_evidence(rng, net, 12, 12)
        with localcontext() as context:
            context.prec = 60
            exact, _ = quickscore(*decimals(net), list(positive), list(negative))
        ours = ask(net, certain(positive, negative)).cause
        assert ours == pytest.approx([float(p) for p in exact], abs=1e-14, rel=1e-12)
        doubles, _ = quickscore(*(a.tolist() for a in net), list(positive), list(negative))
        assert max(abs(p - float(e)) for p, e in zip(doubles, exact, strict=True)) > 1e-9

    def test_nothing_cancels_with_sixteen_positives(self):
        """Against enumeration in fractions, which are exact."""
        rng = np.random.default_rng(6)
        net = random_nets.random_net(rng, causes=9, findings=16, parents=(2, 4), prior=(1e-4, 1e-3))
        told = dict.fromkeys(range(16), inf)
        masses = enumeration.joint(*map(enumeration.exact, net), told)
        exact = enumeration.marginals(masses, 9)
        found = ask(net, told)
        assert found.cause == pytest.approx([float(p) for p in exact], rel=1e-12)
        assert exp(found.log_evidence) == pytest.approx(float(sum(masses.values())), rel=1e-10)


def decimals(net):
    return [
        [[Decimal(float(x)) for x in row] for row in part]
        if part.ndim == 2
        else [Decimal(float(x)) for x in part]
        for part in net
    ]


class TestRefusals:
    def test_answers_that_nothing_can_bring_about(self):
        net = (np.array([0.1]), np.array([[0.5]]), np.array([0.0]))
        with pytest.raises(ContradictionError):
            ask((np.array([0.0]), *net[1:]), {0: inf})

    def test_a_cause_that_is_certain_and_certainly_shows(self):
        net = (np.array([1.0]), np.array([[1.0]]), np.array([0.1]))
        with pytest.raises(ContradictionError):
            ask(net, {0: 0.0})

    def test_need_cause_with_nothing_but_leaks(self):
        net = (np.array([0.0]), np.array([[0.5]]), np.array([0.1]))
        with pytest.raises(ContradictionError):
            ask(net, {0: inf}, need_cause=True)

    def test_too_many_findings_that_hang_together(self):
        n = MAX_WIDTH + 1
        net = (np.array([0.1, 0.1]), np.full((2, n), 0.5), np.full(n, 0.1))
        with pytest.raises(TooWideError, match=str(n)):
            ask(net, dict.fromkeys(range(n), inf))

    def test_the_outsider_ties_nothing_together(self):
        """It may bring all of them; conditioned on it, the rest falls apart."""
        n = 3 * MAX_WIDTH
        q = np.vstack((0.8 * np.eye(n), np.full(n, 0.1)))
        net = (np.full(n + 1, 0.1), q, np.full(n, 0.05))
        found = ask(net, dict.fromkeys(range(n), inf), outsider=n)
        mass = {}
        for there, p in ((0, 0.9), (1, 0.1)):
            silent = (1 - 0.05) * (1 - 0.1 * there)
            one, none = 0.1 * (1 - silent * (1 - 0.8)), 0.9 * (1 - silent)
            mass[there] = (p * (one + none) ** n, one / (one + none))
        total = mass[0][0] + mass[1][0]
        assert found.log_evidence == pytest.approx(log(total))
        assert found.cause[-1] == pytest.approx(mass[1][0] / total)
        expected = sum(whole * p for whole, p in mass.values()) / total
        assert found.cause[:-1] == pytest.approx(np.full(n, expected))

    def test_certain_negatives_cost_nothing(self):
        net = (np.full(5, 0.1), np.full((5, 60), 0.5), np.full(60, 0.1))
        found = ask(net, dict.fromkeys(range(60), 0.0))
        assert np.all(found.cause < 1e-9)
