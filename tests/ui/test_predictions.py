"""What a gauge should show, ready to be seen: rows, words for how a reading fits, limits."""

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.assess import assess
from diagnose.case import Case, Entry
from diagnose.comparison import FIT_WORDS, LEADING, fit_word
from diagnose.forecasts import Forecast, forecasts, spoken_band, verdicts
from diagnose.gauge import Span, plausible_range, read_gauge
from diagnose.physics.uncertainty import conformity
from diagnose.sentences import counts
from tests.small_bases import make_base
from ui.predictions import (
    alone_words,
    chart_for,
    few_verdict_lines,
    foresee,
    verdict_lines,
)

NINE_IN_TEN = 1.6448536269514722  # of a normal law, on either side (JCGM 100, table G.2)
SLIPS = Entry(complaint="slips", answer="yes")


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    """A gap of 10 +- 0.4 mm, read to 0.3 mm: +- 0.5 mm in all; and one that nothing predicts."""
    causes = {
        "wide": {"rate": 0.3, "shifts": {"gap": (4.0, 1.2)}},
        "twin": {"rate": 0.2, "shifts": {"gap": (4.0, 1.2)}},
        "mostly": {"rate": 0.15, "shifts": {"gap": {"by": -3.0, "spread": 0.0, "chance": "often"}}},
        "still": {"rate": 0.1},
        "dry": {"rate": 0.09},
        "late": {"rate": 0.08, "shifts": {"gap": (-6.0, 0.5)}},
        "rare": {"rate": 0.001, "shifts": {"gap": (9.0, 0.5)}},
    }
    instruments = {
        "rule": {"name": "steel rule", "uncertainty": "0.3 mm"},
        "tape": {"name": "tape measure", "uncertainty": "3 mm"},
    }
    limit = {"name": "as sold", "source": "common practice"}
    return make_base(
        tmp_path_factory.mktemp("base") / "base",
        complaints={"slips": {}},
        findings={"little": {"unexplained": 0.1}},
        causes={name: {"brings": {"slips": 0.5}, **cause} for name, cause in causes.items()},
        measurements={
            "gap": {
                "healthy": {"mean": "10 mm", "spread": "0.4 mm"},
                "plausible": ["0 mm", "40 mm"],
                "instruments": instruments,
                "limits": [
                    {**limit, "at_least": "9 mm", "at_most": "11 mm"},
                    {**limit, "at_most": "30 mm"},
                    {**limit, "at_least": "2 mm"},
                    {**limit, "at_most": "12 mm"},
                ],
            },
            "colour": {},
        },
        checks={
            name: {
                "gauge": name,
                "answers": {"low": {"little": "yes"}, "high": {"little": "no"}},
                "edges": ["10 mm"],
            }
            for name in ("gap", "colour")
        },
    )


@pytest.fixture(scope="module")
def found(base):
    return assess(base, Case(entries=(SLIPS,)))


def twin(knowledge, *entries, **more):
    """The shipped set-up with two discs and an outside slave, gears grinding."""
    facts = dict(knowledge.setups["twin_external"].facts)
    entries = (Entry(complaint="gears_grind", answer="yes"), *entries)
    return Case(setup="twin_external", facts=facts, entries=entries, **more)


class TestRows:
    def test_no_fault_first_then_what_moves_it(self, found):
        rows = foresee(found, "gap", None).shown
        assert [row.forecast.cause for row in rows] == ["", "wide", "mostly", "late"]
        assert rows[1].others == ("twin",)

    def test_bands_hold_nine_in_ten(self, found):
        """By hand: 0.4 and 0.3 mm make 0.5, with the 1.2 of the fault 1.3."""
        healthy, wide, *_ = (row.forecast for row in foresee(found, "gap", None).shown)
        assert (healthy.low, healthy.high) == pytest.approx(
            (10 - 0.5 * NINE_IN_TEN, 10 + 0.5 * NINE_IN_TEN)
        )
        assert (wide.low, wide.high) == pytest.approx(
            (14 - 1.3 * NINE_IN_TEN, 14 + 1.3 * NINE_IN_TEN)
        )

    def test_a_coarser_instrument_makes_them_wider(self, found):
        fine, coarse = (foresee(found, "gap", name).shown for name in ("rule", "tape"))
        for one, other in zip(fine, coarse, strict=True):
            assert other.forecast.high - other.forecast.low > one.forecast.high - one.forecast.low

    def test_the_unlikely_are_left_out(self, found):
        assert found.cause("rare").p < 0.005
        assert "rare" not in str(foresee(found, "gap", None).shown)

    def test_who_leaves_it_alone_is_counted(self, found):
        foreseen = foresee(found, "gap", None)
        assert foreseen.alone == ("still", "dry")
        assert len(found.causes) > LEADING
        assert alone_words(foreseen) == (
            "As with no fault: “Still” and 1 other of the 5 likeliest."
        )

    def test_shipped_rows_are_what_the_engine_predicts(self, knowledge):
        found = assess(knowledge, twin(knowledge))
        predicted = forecasts(found, "fork_free_travel", top=len(found.causes))
        by_cause = {f.cause: f for f in predicted}
        foreseen = foresee(found, "fork_free_travel", None)
        assert foreseen.shown[0].forecast == predicted[0]
        for row in foreseen.shown[1:]:
            assert row.forecast == by_cause[row.forecast.cause]
            assert row.forecast.moved
        leading = [f for f in predicted[1 : LEADING + 1] if not f.moved]
        assert foreseen.alone == tuple(f.name for f in leading)


class TestFit:
    @pytest.mark.parametrize(
        ("away", "word"), [(0.0, 0), (1.2, 0), (1.35, 1), (1.9, 1), (2.0, 2), (9.0, 2)]
    )
    def test_in_standard_deviations(self, found, away, word):
        """The band ends at 1.64; 20 in 100 lie beyond 1.28, 5 in 100 beyond 1.96."""
        healthy = foresee(found, "gap", None).shown[0].forecast
        for side in (-1, 1):
            value = 10 + side * away * 0.5
            assert fit_word(healthy, [Span(value, value)]) == FIT_WORDS[word]

    def test_one_side_of_a_reading_is_enough(self, found):
        healthy = foresee(found, "gap", None).shown[0].forecast
        assert fit_word(healthy, [Span(9.9, inf)]) == "fits"
        assert fit_word(healthy, [Span(12.0, inf)]) == "does not fit"
        assert fit_word(healthy, [Span(-inf, 8.0)]) == "does not fit"
        assert fit_word(healthy, [Span(7.0, 10.0)]) == "fits"
        assert fit_word(healthy, []) == ""

    @given(st.floats(0, 40), st.floats(0, 40))
    def test_farther_from_the_middle_never_fits_better(self, found, one, other):
        healthy = foresee(found, "gap", None).shown[0].forecast
        near, far = sorted((one, other), key=lambda v: abs(v - 10))
        words = [FIT_WORDS.index(fit_word(healthy, [Span(v, v)])) for v in (near, far)]
        assert words[0] <= words[1]


class TestChart:
    def chart(self, found, typed):
        record = found.network.base.measurements["gap"]
        spans = read_gauge(record, typed) if typed else ()
        return chart_for(foresee(found, "gap", None), spans, typed, found.case)

    def test_bands_carry_chance_fit_and_ends_in_words(self, found):
        healthy, wide, mostly, _ = self.chart(found, "14 mm").bands
        assert (healthy.name, healthy.note, healthy.fit) == ("no fault", "", "does not fit")
        record, row = found.network.base.measurements["gap"], foresee(found, "gap", None).shown[0]
        assert healthy.said == spoken_band(record, row.forecast.low, row.forecast.high)
        assert healthy.weight == "bare"
        p = found.cause("wide").p
        assert wide.note == f"{counts(p)}, and 1 other just like it"
        assert (wide.fit, wide.weight) == ("fits", "full")
        assert mostly.note.endswith("; moves it in 50 of 100 cases")
        assert mostly.other == pytest.approx((healthy.low, healthy.high))

    def test_without_a_reading_no_band_fits_or_not(self, found):
        assert {(b.fit, b.weight) for b in self.chart(found, "").bands} == {("", "light")}

    def test_limits_and_reading_in_the_unit_of_the_axis(self, found):
        chart = self.chart(found, "1/2 in")
        assert chart.unit == "mm"
        assert (chart.marks[0].low, chart.marks[0].high) == pytest.approx((12.7, 12.7))
        assert set(chart.edges) >= {9.0, 11.0, 12.0}

    def test_limits_that_may_not_hold_are_not_drawn(self, knowledge):
        """The good fits of a twin disc are no limit for what may have one disc."""
        case = twin(knowledge)
        found = assess(knowledge, case)
        foreseen = foresee(found, "fork_free_travel", None)
        assert chart_for(foreseen, (), "", case).edges == pytest.approx((1.0, 1.5))
        open_ = case.with_facts({k: v for k, v in case.facts.items() if k != "discs"})
        assert chart_for(foreseen, (), "", open_).edges == ()


class TestLimits:
    def lines(self, found, typed, how=verdict_lines):
        record = found.network.base.measurements["gap"]
        return how(record, found.case, read_gauge(record, typed), None)

    def test_each_limit_with_its_chance_and_source(self, found):
        """R-DECIDE-1: the chance that the true value keeps the limit."""
        p = conformity(11.2, 0.3, 9.0, 11.0)
        first = self.lines(found, "11.2 mm")[0]
        assert first == f"Outside 9 to 11 mm (as sold): {counts(1 - p)} sure. [common practice]"
        assert len(self.lines(found, "11.2 mm")) == 4

    def test_kept_and_broken(self, found):
        lines = self.lines(found, "10 mm")
        assert all("more than 99 in 100 sure" in line for line in lines)
        assert {line.split(" (")[0] for line in lines} == {
            "Within 9 to 11 mm",
            "Not above 30 mm",
            "Not below 2 mm",
            "Not above 12 mm",
        }
        assert {line.split(" (")[0] for line in self.lines(found, "1 mm")} >= {"Below 2 mm"}
        assert {line.split(" (")[0] for line in self.lines(found, "35 mm")} >= {"Above 30 mm"}

    def test_many_limits_in_few_lines(self, found):
        lines = self.lines(found, "11.2 mm", few_verdict_lines)
        assert len(lines) == 3
        assert lines[:2] == self.lines(found, "11.2 mm")[:2]
        assert lines[2] == "2 other limits: 2 kept, 0 not, and more surely so than these."

    def test_only_values_are_held_against_limits(self, found):
        assert self.lines(found, "more than 12 mm") == ()
        assert self.lines(found, "10 to 12 mm") == ()


class TestNothingPredicted:
    def test_what_to_answer_is_said(self, knowledge):
        found = assess(knowledge, Case(entries=(Entry(complaint="gears_grind", answer="yes"),)))
        foreseen = foresee(found, "fork_free_travel", None)
        assert foreseen.shown == ()
        for fact in ("release", "cover", "discs"):
            assert knowledge.facts[fact].name.lower() in foreseen.why_not

    def test_what_counts_by_its_band_says_so(self, found):
        assert "by the band" in foresee(found, "colour", None).why_not


class TestKitFigure:
    def test_the_kits_figure_is_asked_for_where_it_decides(self, knowledge):
        hint = foresee(assess(knowledge, twin(knowledge)), "finger_height", None).hint
        assert "Type the kit’s figure “Finger height” on the Kit page" in hint

    def test_the_promise_is_kept(self, knowledge):
        """With the figure typed the band is as narrow as it was said to be."""
        hint = foresee(assess(knowledge, twin(knowledge)), "finger_height", None).hint
        case = twin(knowledge, kit={"finger_height": "45 mm"})
        told = foresee(assess(knowledge, case), "finger_height", None)
        healthy: Forecast = told.shown[0].forecast
        assert f"± {(healthy.high - healthy.low) / 2:.2f} mm" in hint
        assert told.hint == ""

    def test_what_hangs_on_no_kit_is_not_asked_for(self, knowledge):
        found = assess(knowledge, twin(knowledge))
        for name in ("bore_runout", "spin_down", "fork_tip_travel"):
            assert foresee(found, name, None).hint == ""


def test_every_measurement_of_the_shipped_knowledge_can_be_shown(knowledge):
    case = twin(knowledge)
    found = assess(knowledge, case)
    shown = 0
    for name, record in knowledge.measurements.items():
        for instrument in (None, *record.instruments):
            foreseen = foresee(found, name, instrument)
            assert bool(foreseen.shown) != bool(foreseen.why_not)
            if foreseen.shown:
                middle = sum(plausible_range(record)) / 2
                chart = chart_for(foreseen, [Span(middle, middle)], "middle", case)
                assert chart.low < chart.high
                assert chart.ticks
                shown += 1
                lines = verdict_lines(record, case, [Span(middle, middle)], instrument)
                held = verdicts(record, case.facts, [Span(middle, middle)], instrument)
                assert len(lines) == len(held)
    assert shown > len(knowledge.measurements) / 2
