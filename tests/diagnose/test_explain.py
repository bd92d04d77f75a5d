"""Weights of evidence: published sums, and what really happens when an answer is left out.

Sources: T5 is the engine notes' worked example on the network of T4, in decibans (I. J. Good);
the conflict measure is that of F. V. Jensen.
"""

from math import inf, log10
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.assess import assess
from diagnose.case import Case, Entry
from diagnose.explain import (
    conflict,
    conflict_of,
    decibans,
    doubts,
    explain,
    weights_of,
)
from diagnose.noisy_or import Evidence, Modes, infer
from tests.small_bases import make_base

T4 = (
    np.array([0.02, 0.05, 0.1]),
    np.array([[0.9, 0.0, 0.3], [0.5, 0.7, 0.0], [0.0, 0.4, 0.6]]),
    np.array([0.01, 0.02, 0.03]),
)
NAMES = ("f1", "f2", "f3")


def infer_without(without):
    prior, q, leak = T4
    ratios = {i: inf for i, name in enumerate(NAMES) if name not in without}
    return infer(Modes.independent(prior, q), leak, Evidence.of(ratios))


class TestWorkedExample:
    """T5."""

    @pytest.mark.parametrize(
        ("cause", "prior", "chain", "left_out"),
        [
            (0, -16.902, (14.150, -7.582, 6.777), (11.068, -6.934, 6.777)),
            (1, -12.788, (12.665, 10.837, -7.077), (11.913, 8.072, -7.077)),
            (2, -9.542, (0.0, 2.347, 11.457), (-7.552, 6.828, 11.457)),
        ],
    )
    def test_chain_and_leave_one_out(self, cause, prior, chain, left_out):
        before, weights = weights_of(lambda without: infer_without(without).cause[cause], NAMES)
        assert before == pytest.approx(prior, abs=6e-4)
        assert [weights[n][0] for n in NAMES] == pytest.approx(chain, abs=6e-4)
        assert [weights[n][1] for n in NAMES] == pytest.approx(left_out, abs=6e-4)
        total = {0: 13.345, 1: 16.425, 2: 13.804}[cause]
        assert sum(w for w, _ in weights.values()) == pytest.approx(total, abs=6e-4)

    def test_conflict(self):
        """Negative: the three answers go together better than apart."""
        assert conflict_of(lambda without: infer_without(without).log_evidence, NAMES) == (
            pytest.approx(-2.6494, abs=6e-5)
        )

    def test_simple_odds(self):
        """Ratios of 8, 1/2 and 4 bring a chance of .1 to .64."""
        weights = [10.0 * log10(ratio) for ratio in (8.0, 0.5, 4.0)]
        assert weights == pytest.approx([9.031, -3.010, 6.021], abs=6e-4)
        assert decibans(0.1) == pytest.approx(-9.542, abs=6e-4)
        assert decibans(0.64) == pytest.approx(decibans(0.1) + sum(weights), abs=1e-9)
        assert decibans(0.64) == pytest.approx(2.499, abs=6e-4)

        def posterior(without):
            odds = 0.1 / 0.9
            for name, ratio in zip("abc", (8.0, 0.5, 4.0), strict=True):
                odds *= 1.0 if name in without else ratio
            return odds / (1.0 + odds)

        _, found = weights_of(posterior, "abc")
        assert [found[n] for n in "abc"] == [pytest.approx((w, w)) for w in weights]


def test_certainty_has_a_finite_weight():
    """The scale ends at 120 dB, one in a million million, so that sums stay numbers."""
    assert decibans(1.0) == pytest.approx(120.0, abs=1e-3)
    assert decibans(0.0) == pytest.approx(-120.0, abs=1e-3)


FINDINGS = ("spongy", "wet", "bent", "grooved", "lazy")


@pytest.fixture(scope="module")
def base():
    with TemporaryDirectory() as folder:
        return make_base(
            Path(folder),
            complaints={"drags": {}, "judders": {"unexplained": 0.001}},
            scale={"unknown": {"rate": 0.01, "brings": 0.1, "shows": 2.0, "moves": 0.2}},
            findings={name: {"unexplained": 0.03} for name in FINDINGS},
            causes={
                "air": {
                    "rate": 0.3,
                    "brings": {"drags": 0.8},
                    "shows": {"spongy": 0.9, "lazy": 0.5},
                },
                "leak": {"rate": 0.2, "brings": {"drags": 0.5}, "shows": {"wet": 0.9, "lazy": 0.4}},
                "disc": {
                    "rate": 0.2,
                    "brings": {"drags": 0.7, "judders": 0.6},
                    "shows": {"bent": 0.9},
                },
                "fork": {"rate": 0.1, "brings": {"drags": 0.4}, "shows": {"grooved": 0.95}},
            },
            checks={f"look_{name}": {"finding": name} for name in FINDINGS},
        )


answers = st.dictionaries(
    st.sampled_from(["drags", "judders", *FINDINGS]),
    st.sampled_from(["yes", "probably", "probably not", "no"]),
    min_size=1,
)


def case_of(told):
    entries = [
        Entry(complaint=name, answer=answer)
        if name in {"drags", "judders"}
        else Entry(check=f"look_{name}", answer=answer)
        for name, answer in told.items()
    ]
    return Case(entries=tuple(entries))


class TestExplain:
    @given(answers, st.sampled_from(["air", "leak", "disc", "fork"]))
    def test_the_chain_sums_to_the_posterior(self, base, told, cause):
        assessment = assess(base, case_of(told))
        account = explain(assessment, cause)
        assert account.prior + account.total == pytest.approx(
            decibans(assessment.cause(cause).p), abs=0.01
        )
        assert account.total == pytest.approx(sum(w.chain for w in account.weights))
        assert account.prior == pytest.approx(
            decibans(assess(base, Case()).cause(cause).p), abs=1e-9
        )

    @given(answers)
    def test_taking_the_most_cited_answer_away_moves_the_posterior_as_said(self, base, told):
        assessment = assess(base, case_of(told))
        cause = assessment.causes[0].id
        account = explain(assessment, cause)
        top = max(account.weights, key=lambda w: abs(w.left_out))
        less = {name: answer for name, answer in told.items() if name != top.key}
        after = assess(base, case_of(less)).cause(cause).p
        moved = decibans(assessment.cause(cause).p) - decibans(after)
        assert top.left_out == pytest.approx(moved, abs=0.01)

    def test_a_finding_that_counts_against_is_explained_by_another_cause(self, tmp_path):
        """T5, with a weak link more: finding 2 counts against cause 1, which could bring it too."""
        _, q, leak = T4
        q = q.copy()
        q[0, 1] = 0.06
        base = make_base(
            tmp_path,
            scale={"unknown": {"rate": 0.001, "brings": 0.0, "shows": 0.0, "moves": 0.2}},
            complaints={"any": {}},
            findings={f"f{j + 1}": {"unexplained": float(leak[j])} for j in range(3)},
            causes={
                f"c{i + 1}": {
                    "rate": (0.02, 0.05, 0.1)[i],
                    "shows": {f"f{j + 1}": float(p) for j, p in enumerate(row) if p},
                }
                for i, row in enumerate(q)
            },
            checks={f"look_f{j}": {"finding": f"f{j}"} for j in (1, 2, 3)},
        )
        entries = tuple(Entry(check=f"look_{name}", answer="yes") for name in NAMES)
        assessment = assess(base, Case(entries=entries))
        against = {
            (cause, w.key): w.explained_by
            for cause in ("c1", "c2", "c3")
            for w in explain(assessment, cause).weights
            if w.left_out < 0.0
        }
        # Cause 2 can't bring finding 3, nor cause 3 finding 1: there is nothing to explain away.
        assert against == {("c1", "f2"): "c2", ("c2", "f3"): None, ("c3", "f1"): None}

    def test_order_of_the_timeline(self, base):
        told = {"drags": "yes", "spongy": "no", "wet": "yes"}
        account = explain(assess(base, case_of(told)), "leak")
        assert [w.key for w in account.weights] == list(told)
        assert [w.entry for w in account.weights] == [0, 1, 2]

    def test_an_unknown_cause_is_a_key_error(self, base):
        with pytest.raises(KeyError):
            explain(assess(base, Case()), "gremlins")


class TestDoubts:
    def test_an_answer_that_goes_against_the_others(self, base):
        """Hardly anything but the disc makes it judder, and a disc that does is seen to be bent."""
        told = {"drags": "yes", "judders": "yes", "wet": "no"}
        assert doubts(assess(base, case_of(told))) == ()
        told["bent"] = "no"
        whole = assess(base, case_of(told))
        found = {d.key: d.chance for d in doubts(whole)}
        assert "judders" in found
        for name in told:
            rest = assess(base, case_of({k: v for k, v in told.items() if k != name}))
            chance = np.exp(whole.marginals.log_evidence - rest.marginals.log_evidence)
            assert (name in found) == (chance < 0.1)
            assert found.get(name, chance) == pytest.approx(chance)

    def test_the_worst_comes_first(self, base):
        told = dict.fromkeys(("judders", "wet", "grooved", "spongy"), "yes")
        chances = [d.chance for d in doubts(assess(base, case_of(told)))]
        assert chances == sorted(chances)
        assert chances


class TestConflict:
    def test_answers_of_one_cause_agree(self, base):
        assert conflict(assess(base, case_of({"judders": "yes", "bent": "yes"}))) < -1.0

    def test_signs_of_two_causes_conflict(self, base):
        assert conflict(assess(base, case_of({"spongy": "yes", "grooved": "yes"}))) > 0.0

    @pytest.mark.parametrize("told", [{}, {"wet": "yes"}])
    def test_fewer_than_two_answers_can_not(self, base, told):
        assert conflict(assess(base, case_of(told))) == pytest.approx(0.0, abs=1e-12)
