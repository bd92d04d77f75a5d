"""Scores of recorded cases.

Source: T11 gives Brier score, log loss, top-n and mean reciprocal rank by hand; Brier 1950 for the
score over several classes.
"""

from math import log

import pytest

from diagnose.assess import assess
from diagnose.case import Case, Entry, Found
from diagnose.errors import PullOnceError
from diagnose.evaluate import (
    brier_score,
    evaluate,
    log_loss,
    mean_reciprocal_rank,
    summarise,
    top,
)
from tests.small_bases import make_base

PAIRS = [(0.9, 1), (0.7, 1), (0.4, 0), (0.2, 0), (0.6, 0)]
RANKS = [1, 1, 2, 4, None]


class TestByHand:
    """T11."""

    def test_brier(self):
        assert brier_score(PAIRS) == pytest.approx(0.132, abs=1e-12)

    def test_log_loss(self):
        assert log_loss(PAIRS) == pytest.approx(0.422459, abs=5e-7)

    @pytest.mark.parametrize(("n", "share"), [(1, 0.4), (3, 0.6), (5, 0.8)])
    def test_top(self, n, share):
        assert top(RANKS, n) == pytest.approx(share)

    def test_mean_reciprocal_rank(self):
        assert mean_reciprocal_rank(RANKS) == pytest.approx(0.55)

    def test_nothing_to_score(self):
        assert (top([], 3), mean_reciprocal_rank([])) == (0.0, 0.0)
        assert summarise(()).n == 0


@pytest.fixture
def base(tmp_path):
    facts = {
        "drive": {
            "values": {"front": {"name": "f", "share": 0.5}, "rear": {"name": "r", "share": 0.5}}
        }
    }
    return make_base(
        tmp_path,
        facts=facts,
        complaints={"drags": {}},
        findings={"spongy": {}, "bent": {}},
        causes={
            "air": {"rate": 0.3, "brings": {"drags": 0.8}, "shows": {"spongy": 0.9}},
            "disc": {"rate": 0.2, "brings": {"drags": 0.7}, "shows": {"bent": 0.9}},
            "shaft": {"rate": 0.1, "brings": {"drags": 0.7}, "when": {"drive": ["rear"]}},
        },
        checks={"pump": {"finding": "spongy"}, "turn": {"finding": "bent", "from": "out"}},
    )


def case(*causes, turn="yes", **more):
    entries = (
        Entry(complaint="drags", answer="yes"),
        Entry(check="pump", answer="no"),
        Entry(check="turn", answer=turn, stage="inside"),
    )
    found = Found(causes=causes) if causes else None
    return Case(entries=entries, found=found, **more)


class TestRecordedCases:
    def test_both_stages(self, base):
        before, whole = evaluate(base, [("one", case("disc"))])
        assert (before.stage, whole.stage) == ("before", "all")
        assert (before.id, whole.id) == ("one", "one")
        assert before.p == pytest.approx(
            assess(base, case("disc").before_opening()).cause("disc").p
        )
        assert whole.p == pytest.approx(assess(base, case("disc")).cause("disc").p)
        assert whole.p > before.p
        assert (before.rank, whole.rank) == (1, 1)

    def test_rank_and_brier_of_one_that_was_missed(self, base):
        (_, whole) = evaluate(base, [("one", case("air"))])
        chances = {c.id: c.p for c in assess(base, case("air")).causes}
        assert whole.rank == sorted(chances.values(), reverse=True).index(chances["air"]) + 1
        assert whole.rank > 1
        expected = (1 - chances["air"]) ** 2 + chances["disc"] ** 2 + chances["shaft"] ** 2
        assert whole.brier == pytest.approx(expected)

    def test_a_report_that_fits_several_counts_any_of_them(self, base):
        """Chance of air or disc, by the sets: no less than of either, no more than of both."""
        (_, whole) = evaluate(base, [("one", case("air", "disc"))])
        assessment = assess(base, case("air", "disc"))
        air, disc = assessment.cause("air").p, assessment.cause("disc").p
        assert max(air, disc) <= whole.p <= air + disc
        assert whole.p == pytest.approx(
            sum(s.p for s in assessment.sets if {"air", "disc"} & set(s.ids)), abs=1e-6
        )
        assert whole.rank == 1

    def test_summary(self, base):
        scores = evaluate(base, [("a", case("disc")), ("b", case("air"))])
        found = summarise(scores)
        assert found.n == 4
        ranks = [s.rank for s in scores]
        assert found.top1 == top(ranks, 1)
        assert found.mrr == pytest.approx(sum(1 / r for r in ranks) / 4)
        assert found.brier == pytest.approx(sum(s.brier for s in scores) / 4)
        assert found.log_score == pytest.approx(sum(log(s.p) for s in scores) / 4)
        assert found.log_score < 0.0

    def test_a_case_without_an_end_is_refused(self, base):
        with pytest.raises(PullOnceError, match="nobody"):
            evaluate(base, [("nobody", case())])

    def test_an_end_that_the_set_up_rules_out_is_refused(self, base):
        with pytest.raises(PullOnceError, match="shaft"):
            evaluate(base, [("front", case("shaft", facts={"drive": ("front",)}))])
