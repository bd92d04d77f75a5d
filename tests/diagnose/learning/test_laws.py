"""Laws of words: numbers from engine notes T8, and moments held against what they must be."""

from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.learning.laws import Beta, Gamma, matched, mixed, nodes

counts = st.floats(0.3, 500.0)
chances = st.floats(0.0, 1.0)
betas = st.builds(Beta, counts, counts)
gammas = st.builds(Gamma, counts, counts)


class TestNumbersOfTheEngineNotes:
    """T8."""

    def test_a_sure_case_is_counted(self):
        law = Beta(2.0, 8.0).seen(1.0)
        assert (law.a, law.b) == (pytest.approx(3.0, rel=1e-12), pytest.approx(8.0, rel=1e-12))
        assert law.mean == pytest.approx(3.0 / 11.0, rel=1e-12)

    def test_a_doubtful_case_is_matched_in_mean_and_variance(self):
        law = Beta(2.0, 8.0).seen(0.7)
        assert law.mean == pytest.approx(0.7 * 3 / 11 + 0.3 * 2 / 11, rel=1e-12)
        assert law.mean == pytest.approx(0.245455, abs=5e-7)
        assert law.variance == pytest.approx(0.01702479, abs=5e-9)
        assert law.a == pytest.approx(2.42476, abs=5e-6)
        assert law.b == pytest.approx(7.45388, abs=5e-6)

    def test_a_doubtful_case_may_leave_less_certainty_than_there_was(self):
        assert Beta(2.0, 8.0).seen(0.7).size == pytest.approx(9.879, abs=5e-4)

    def test_the_same_comes_out_by_nodes_and_likelihood(self):
        # likelihood l1 x + l0 (1 - x) that makes the case one with a chance of 0.7
        law = Beta(2.0, 8.0)
        points, share = nodes(law, 4)
        likely = 0.7 / 0.2 * points + 0.3 / 0.8 * (1.0 - points)
        by_nodes, by_mixture = law.weighed(points, share * likely), law.seen(0.7)
        assert by_nodes.a == pytest.approx(by_mixture.a, rel=1e-11)
        assert by_nodes.b == pytest.approx(by_mixture.b, rel=1e-11)

    def test_three_of_ten(self):
        law = Beta(1.0, 19.0)
        for there in (1.0,) * 3 + (0.0,) * 7:
            law = law.seen(there)
        assert law.mean == pytest.approx(4.0 / 30.0, rel=1e-12)
        assert sqrt(law.variance) == pytest.approx(0.061054, abs=5e-7)

    def test_rates_with_one_exposure_are_a_dirichlet_law(self):
        laws = [Gamma(shape, 10.0) for shape in (6.0, 3.0, 1.0)]
        likely = 1.0
        for which in (0, 1, 1, 1, 1):
            means = np.array([law.mean for law in laws])
            likely *= means[which] / means.sum()
            laws = [law.counted(float(i == which), 0.0, 1.0) for i, law in enumerate(laws)]
        shares = np.array([law.mean for law in laws])
        assert shares / shares.sum() == pytest.approx([0.466667, 0.466667, 0.066667], abs=5e-7)
        assert likely == pytest.approx(0.008991009, abs=5e-10)


@given(betas, chances)
def test_a_doubtful_case_has_the_moments_of_its_mixture(law, there):
    after = law.seen(there)
    parts = ((there, Beta(law.a + 1, law.b)), (1.0 - there, Beta(law.a, law.b + 1)))
    assert after.mean == pytest.approx(sum(w * p.mean for w, p in parts), rel=1e-9)
    second = sum(w * (p.variance + p.mean**2) for w, p in parts)
    assert after.variance + after.mean**2 == pytest.approx(second, rel=1e-9)


@given(betas)
def test_what_was_to_be_expected_teaches_nothing(law):
    after = law.seen(law.mean)
    assert (after.a, after.b) == (pytest.approx(law.a, rel=1e-6), pytest.approx(law.b, rel=1e-6))


@given(betas, chances)
def test_a_likelier_case_never_lowers_a_chance(law, there):
    assert law.seen(1.0).mean >= law.seen(there).mean * (1 - 1e-12) >= law.seen(0.0).mean * 0.999999


@given(betas)
def test_a_law_is_matched_by_its_own_moments(law):
    same, alone = matched(law.mean, law.second), mixed(((1.0, law),))
    assert same.a == pytest.approx(law.a, rel=1e-6)
    assert alone.b == pytest.approx(law.b, rel=1e-6)


@given(betas, st.integers(2, 8))
def test_nodes_give_the_moments_of_a_beta_law(law, number):
    points, share = nodes(law, number)
    assert ((points > 0.0) & (points < 1.0)).all()
    # E x^k is the product of (a + i) / (a + b + i)
    moment = 1.0
    for k in range(2 * number):
        assert float(share @ points**k) == pytest.approx(moment, rel=1e-7)
        moment *= (law.a + k) / (law.size + k)


@given(gammas, chances, st.floats(0.0, 5.0))
def test_a_doubtful_count_has_the_moments_of_its_mixture(law, there, exposure):
    after = law.counted(there, there * (1.0 - there), exposure)
    below = law.exposure + exposure
    parts = ((there, law.shape + 1.0), (1.0 - there, law.shape))
    mean = sum(w * shape / below for w, shape in parts)
    second = sum(w * shape * (shape + 1.0) / below**2 for w, shape in parts)
    assert after.mean == pytest.approx(mean, rel=1e-9)
    assert after.mean**2 * (1.0 + 1.0 / after.shape) == pytest.approx(second, rel=1e-9)


@given(st.one_of(betas, gammas), st.floats(0.5, 100.0))
def test_fading_keeps_the_mean_and_holds_the_size_below_the_cap(law, most):
    faded = law.faded(most)
    assert faded.size <= most * (1 + 1e-12)
    assert faded.mean == pytest.approx(law.mean, rel=1e-12)
    assert faded.faded(most).mean == pytest.approx(law.mean, rel=1e-12)


@given(st.floats(0.0005, 0.9995), st.floats(0.05, 1.0))
def test_doubt_is_the_spread_of_the_log_odds(mean, doubt):
    # first order: sd of the chance = sd of the log-odds x m (1 - m)
    law = Beta.around(mean, doubt)
    assert law.mean == pytest.approx(mean, rel=1e-12)
    assert mean * (1 - mean) / law.size == pytest.approx((doubt * mean * (1 - mean)) ** 2, rel=1e-9)
    rate = Gamma.around(mean, doubt)
    assert (rate.mean, rate.shape**-0.5) == (pytest.approx(mean), pytest.approx(doubt))
