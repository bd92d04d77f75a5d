"""What a gauge would show under a cause, how well a reading fits it, and limits kept or not.

Bands are held against `diagnose.physics.predict`, asked directly; the probability of conformity
against the worked examples of JCGM 106:2012 (R-DECIDE-1, R-DECIDE-3).
"""

from math import erf, hypot, inf, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.assess import assess
from diagnose.case import Case, Entry
from diagnose.effects import Law
from diagnose.forecasts import (
    HEALTHY,
    Forecast,
    forecasts,
    predicted,
    spoken,
    spoken_band,
    verdicts,
)
from diagnose.gauge import Span, read_gauge
from diagnose.physics.predict import Shift, predict
from diagnose.physics.presets import PRESETS
from diagnose.physics.uncertainty import NEARLY_ALL
from diagnose.system import system_of
from knowledge.model import Measurement
from knowledge.quantity import parse_quantity
from tests.small_bases import make_base

TWIN = "twin_external"
INCH = 25.4
NINE_OF_TEN = 1.6448536269514722  # standard deviations, both sides
CAUSES = {
    "spacer": {"shifts": {"pivot_height": (6.35, 0.5)}},
    "thin": {"rate": "rare", "shifts": {"stack_excess": (-1.5, 0.6), "runout": (0.02, 0.01)}},
    "bore": {"rate": "rare", "shifts": {"runout": {"by": 0.3, "spread": 0.15, "chance": "often"}}},
    "oil": {"rate": "rare"},
}
MEASUREMENTS = {
    "free": {
        "model": "fork_free_travel",
        "unit": "in",
        "plausible": ["0 in", "4 in"],
        "open_below": True,
        "instruments": {
            "tape": {"name": "tape", "uncertainty": "1.5 mm"},
            "rule": {"name": "rule", "uncertainty": "0.5 mm"},
        },
    },
    "runout": {
        "healthy": {"mean": "0.06 mm", "spread": "0.03 mm"},
        "plausible": ["0 mm", "5 mm"],
        "instruments": {"dial": {"name": "dial", "uncertainty": "0.02 mm"}},
    },
    "depth": {},
}


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    return make_base(
        tmp_path_factory.mktemp("base") / "base",
        complaints={"sticks": {}},
        findings={"off": {}},
        causes={name: {**c, "brings": {"sticks": 0.5}} for name, c in CAUSES.items()},
        measurements=MEASUREMENTS,
        checks={
            f"read_{name}": {
                "gauge": name,
                "answers": {"low": {"off": "yes"}, "high": {"off": "no"}},
                "edges": ["0.2 mm"],
            }
            for name in MEASUREMENTS
        },
    )


@pytest.fixture(scope="module")
def found(base):
    return assess(base, Case(setup=TWIN, entries=(Entry(complaint="sticks", answer="yes"),)))


def one(found, measurement, cause, instrument=None):
    """The healthy forecast, and that of one cause."""
    return forecasts(found, measurement, causes=(cause,), instrument=instrument)


class TestBands:
    @pytest.mark.parametrize(("instrument", "own"), [(None, 1.5), ("tape", 1.5), ("rule", 0.5)])
    @pytest.mark.parametrize("cause", ["spacer", "thin"])
    def test_they_are_the_model_s_with_the_instrument(self, found, cause, instrument, own):
        figures = {"spacer": ("pivot_height", 6.35, 0.5), "thin": ("stack_excess", -1.5, 0.6)}
        system = system_of(found.case)
        healthy, mine = one(found, "free", cause, instrument)
        for forecast, shifts in ((healthy, ()), (mine, (Shift(*figures[cause]),))):
            expected = predict(system, ("fork_free_travel",), shifts)
            reach = NINE_OF_TEN * hypot(sqrt(expected.covariance[0, 0, 0]), own)
            assert forecast.middle == pytest.approx(expected.mean[0, 0])
            assert forecast.high - forecast.middle == pytest.approx(reach)
            assert forecast.middle - forecast.low == pytest.approx(reach)
        assert (healthy.cause, healthy.p, healthy.moved) == (HEALTHY, 0.0, False)
        assert (mine.p, mine.moved, mine.chance) == (found.cause(cause).p, True, 1.0)

    @pytest.mark.parametrize(
        ("measurement", "cause"), [("free", "oil"), ("free", "bore"), ("runout", "spacer")]
    )
    def test_a_cause_that_leaves_it_alone(self, found, measurement, cause):
        healthy, mine = one(found, measurement, cause)
        assert not mine.moved
        assert mine.chance == 0.0
        assert (mine.low, mine.middle, mine.high) == (healthy.low, healthy.middle, healthy.high)

    def test_where_it_is_moved_in_some_cases_the_band_is_that_of_those(self, found):
        healthy, mine = one(found, "runout", "bore")
        assert (healthy.middle, mine.middle) == (pytest.approx(0.06), pytest.approx(0.36))
        assert mine.chance == 0.5
        reach = NINE_OF_TEN * hypot(0.03, 0.15, 0.02)
        assert mine.high - mine.middle == pytest.approx(reach)
        assert [law.weight for law in mine.laws] == [0.5, 0.5]

    def test_the_likeliest_causes_come_first_behind_the_healthy_vehicle(self, found):
        told = forecasts(found, "free", top=2)
        assert [f.cause for f in told] == [HEALTHY, *(c.id for c in found.causes[:2])]
        assert forecasts(found, "free", top=0) == told[:1]

    def test_a_cause_that_is_not_there_is_a_mistake(self, found):
        with pytest.raises(KeyError):
            forecasts(found, "free", causes=("dragon",))

    def test_what_nothing_predicts_has_none(self, base, found):
        assert not predicted(found, "depth")
        assert forecasts(found, "depth") == ()
        unknown = assess(base, Case())
        assert not predicted(unknown, "free")
        assert forecasts(unknown, "free") == ()
        assert predicted(unknown, "runout")
        assert len(forecasts(unknown, "runout", top=3)) == 4

    def test_a_healthy_twin_disc_shows_what_good_fits_have(self, knowledge):
        """Common practice, trade notes section 4: 1 to 1 1/2 in, most 1 to 1 1/4."""
        setup = knowledge.setups[TWIN]
        told = forecasts(assess(knowledge, Case(setup=TWIN, facts=setup.facts)), "fork_free_travel")
        assert 1.0 * INCH <= told[0].middle <= 1.25 * INCH
        assert told[0].low > 0.75 * INCH
        assert told[0].high < 1.75 * INCH

    @pytest.mark.parametrize("setup", PRESETS)
    def test_every_shipped_cause_has_one_in_order(self, knowledge, setup):
        case = Case(setup=setup, facts=knowledge.setups[setup].facts)
        assessment = assess(knowledge, case)
        for measurement in knowledge.measurements:
            told = forecasts(assessment, measurement, top=len(assessment.causes))
            assert len(told) in {0, 1 + len(assessment.causes)}
            for forecast in told:
                assert forecast.low < forecast.middle < forecast.high
                assert 0.0 <= forecast.chance <= 1.0
                assert sum(law.weight for law in forecast.laws) == pytest.approx(1.0)


def tails(z):
    """Chance of more than z standard deviations on either side."""
    return 1.0 - erf(z / sqrt(2.0))


class TestFit:
    def plain(self, mean=10.0, deviation=2.0):
        law = Law(1.0, mean, deviation)
        reach = NINE_OF_TEN * deviation
        return Forecast("c", "c", 0.5, mean - reach, mean, mean + reach, 1.0, (law,))

    @pytest.mark.parametrize(
        ("spans", "z"),
        [
            ([(10.0, 10.0)], 0.0),
            ([(12.0, 12.0)], 1.0),
            ([(6.0, 6.0)], 2.0),
            ([(9.0, 11.0)], 0.0),  # a range that holds the middle
            ([(12.0, 15.0)], 1.0),  # the nearer end
            ([(4.0, 8.0)], 1.0),
            ([(14.0, inf)], 2.0),
            ([(5.0, inf)], 0.0),
            ([(-inf, 8.0)], 1.0),
            ([(8.0, 8.0), (12.0, 12.0)], 0.0),  # the mean counts
            ([(11.0, 11.0), (13.0, 13.0)], 1.0),
        ],
    )
    def test_it_is_the_chance_of_lying_so_far_off(self, spans, z):
        assert self.plain().fit([Span(*ends) for ends in spans]) == pytest.approx(tails(z))

    def test_the_ends_of_the_band_leave_one_in_ten(self):
        forecast = self.plain()
        for end in (forecast.low, forecast.high):
            assert forecast.fit([Span(end, end)]) == pytest.approx(1.0 - NEARLY_ALL)

    def test_of_several_laws_each_counts_by_its_weight(self, found):
        healthy, mine = one(found, "runout", "bore")
        for value in (0.06, 0.2, 0.36, 1.0):
            moved = tails(abs(value - 0.36) / hypot(0.03, 0.15, 0.02))
            still = tails(abs(value - 0.06) / hypot(0.03, 0.02))
            span = [Span(value, value)]
            assert mine.fit(span) == pytest.approx(0.5 * moved + 0.5 * still)
            assert healthy.fit(span) == pytest.approx(still)

    @given(value=st.floats(-50.0, 50.0), further=st.floats(0.0, 50.0))
    def test_further_off_never_fits_better(self, value, further):
        off = value - 10.0
        beyond = value + further if off >= 0.0 else value - further
        forecast = self.plain()
        near, far = (forecast.fit([Span(x, x)]) for x in (value, beyond))
        assert 0.0 <= far <= near <= 1.0


def limited(*limits, uncertainty="1 mm"):
    return Measurement.model_validate(
        {
            "id": "play",
            "name": "Play",
            "unit": "mm",
            "plausible": ["-100 mm", "600 mm"],
            "instruments": {
                "first": {"name": "first", "uncertainty": uncertainty},
                "coarse": {"name": "coarse", "uncertainty": "50 mm"},
            },
            "how": "Rule.",
            "source": "judgement",
            "limits": [{"name": "a maker", "source": "judgement", **limit} for limit in limits],
        }
    )


def value(x):
    return (Span(x, x),)


class TestVerdicts:
    @pytest.mark.parametrize(
        ("reading", "uncertainty", "limit", "expected"),
        [
            (13.6, "1.8 mm", {"at_least": "12.5 mm", "at_most": "16.3 mm"}, 0.6626),  # R-DECIDE-1
            (-5.47, "0.05 mm", {"at_most": "-5.40 mm"}, 0.919),  # R-DECIDE-3
            (509.7, "8.6 mm", {"at_least": "490 mm"}, 0.989),  # R-DECIDE-3
        ],
    )
    def test_the_probability_of_conformity(self, reading, uncertainty, limit, expected):
        measurement = limited(limit, uncertainty=uncertainty)
        (verdict,) = verdicts(measurement, {}, value(reading), None)
        assert verdict.conformity == pytest.approx(expected, abs=5e-4)
        assert verdict.limit == measurement.limits[0]

    def test_a_reading_on_the_limit_keeps_it_in_half_of_all_cases(self):
        measurement = limited({"at_most": "10 mm"})
        for instrument in (None, "first", "coarse"):
            (verdict,) = verdicts(measurement, {}, value(10.0), instrument)
            assert verdict.conformity == pytest.approx(0.5)

    def test_repeats_are_known_the_better(self):
        """Four that agree: half the uncertainty. R-GUM-2: else their scatter counts."""
        measurement = limited({"at_most": "10 mm"}, uncertainty="2 mm")
        close = tuple(Span(x, x) for x in (8.9, 9.1, 9.0, 9.0))
        (verdict,) = verdicts(measurement, {}, close, None)
        assert verdict.conformity == pytest.approx(0.5 * (1.0 + erf(1.0 / sqrt(2.0))))
        apart = tuple(Span(x, x) for x in (3.0, 15.0, 3.0, 15.0))  # s is 6.93, of the mean 3.46
        (verdict,) = verdicts(measurement, {}, apart, None)
        assert verdict.conformity == pytest.approx(0.5 * (1.0 + erf(1.0 / 3.4641016 / sqrt(2.0))))

    @pytest.mark.parametrize("span", [Span(1.0, 2.0), Span(-inf, 1.0), Span(3.0, inf)])
    def test_a_range_is_not_held_against_limits(self, span):
        assert verdicts(limited({"at_most": "10 mm"}), {}, (span,), None) == ()

    @pytest.mark.parametrize(
        ("facts", "held"),
        [
            ({"cover": ("push",), "discs": ("two",)}, [0, 2]),
            ({"cover": ("push",), "discs": ("one",)}, [0]),
            ({"cover": ("pull",)}, [1]),
            ({"cover": ("push", "pull")}, []),  # it is not known which
            ({}, []),
        ],
    )
    def test_only_limits_that_the_set_up_is_known_to_meet(self, facts, held):
        measurement = limited(
            {"at_most": "10 mm", "when": {"cover": ["push"]}},
            {"at_most": "50 mm", "when": {"cover": ["pull"]}},
            {"at_least": "5 mm", "when": {"cover": ["push"], "discs": ["two", "three"]}},
        )
        found = verdicts(measurement, facts, value(7.0), None)
        assert [v.limit for v in found] == [measurement.limits[i] for i in held]


class TestSpoken:
    @pytest.mark.parametrize(
        ("amount", "unit", "text"),
        [
            ("1 3/8 in", "in", "1 3/8 in"),
            ("2 in", "in", "2 in"),
            ("0.99 in", "in", "1 in"),  # nearly whole
            ("1.999 in", "in", "2 in"),
            ("0.97 in", "in", "1 in"),
            ("0.96 in", "in", "15/16 in"),
            ("0.25 in", "in", "1/4 in"),
            ("0.26 in", "in", "1/4 in"),
            ("-1 3/8 in", "in", "-1 3/8 in"),
            ("-0.5 in", "in", "-1/2 in"),
            ("0.24 in", "in", "0.24 in"),  # no tape shows that
            ("0.006 in", "in", "0.006 in"),
            ("-0.004 in", "in", "-0.004 in"),
            ("0 in", "in", "0 in"),
            ("35 mm", "in", "1 3/8 in"),
            ("12.7 mm", "mm", "12.7 mm"),
            ("1/2 in", "mm", "12.7 mm"),
            ("9.999 mm", "mm", "10 mm"),
            ("149.6 mm", "mm", "150 mm"),
            ("0.035 mm", "mm", "0.035 mm"),
            ("-4.25 mm", "mm", "-4.25 mm"),
            ("-0.0001 mm", "mm", "0 mm"),
            ("2.25 s", "s", "2.25 s"),
            ("90 s", "min", "1.5 min"),
            ("780.4 1/min", "1/min", "780 1/min"),
            ("232.04 N", "N", "232 N"),
            ("0.2 N", "N", "0.2 N"),
            ("-55.5 N", "N", "-55.5 N"),
            ("50 degF", "degC", "10 degC"),
        ],
    )
    def test_as_it_stands_on_a_tape_or_a_dial(self, amount, unit, text):
        assert spoken(parse_quantity(amount).value, unit) == text

    @given(
        inches=st.floats(-50.0, 50.0),
        unit=st.sampled_from(["in", "mm"]),
    )
    def test_what_is_said_is_what_is_meant(self, inches, unit):
        said = parse_quantity(spoken(inches * INCH, unit)).value / INCH
        near = 1 / 32 if unit == "in" and abs(inches) >= 0.25 else max(0.006 * abs(inches), 0.0006)
        assert said == pytest.approx(inches, abs=near + 1e-9)


def gauge(unit, least, most, *, open_below=False):
    return Measurement.model_validate(
        {
            "id": "play",
            "name": "Play",
            "unit": unit,
            "plausible": [least, most],
            "instruments": {"first": {"name": "first", "uncertainty": "1 mm"}},
            "how": "Rule.",
            "source": "judgement",
            "open_below": open_below,
        }
    )


class TestSpokenBand:
    FORK = gauge("in", "0 in", "4 in", open_below=True)
    PLAY = gauge("mm", "0 mm", "150 mm")
    HEIGHT = gauge("mm", "-20 mm", "150 mm")
    RUNOUT = gauge("in", "0 in", "0.5 in")

    @pytest.mark.parametrize(
        ("measurement", "low", "high", "text"),
        [
            (FORK, 25.4, 38.1, "1 to 1 1/2 in"),
            (FORK, -5.0, 12.7, "none to 1/2 in"),
            (FORK, -30.0, -5.0, "none"),
            (FORK, 1.6, 9.5, "1/16 to 3/8 in"),  # one kind of fraction in one breath
            (FORK, 0.3, 6.35, "0 to 1/4 in"),
            (PLAY, 3.49, 12.96, "3.5 to 13 mm"),
            (PLAY, -28.6, 34.7, "0 to 35 mm"),  # no rule shows less than nothing
            (PLAY, -0.016, 0.616, "0 to 0.62 mm"),
            (PLAY, 60.2, 106.4, "60 to 106 mm"),
            (HEIGHT, -3.1, 4.2, "-3.1 to 4.2 mm"),
            (RUNOUT, -0.02, 0.18, "0 to 0.007 in"),
            (RUNOUT, 0.23, 1.09, "0.009 to 0.043 in"),
        ],
    )
    def test_what_is_read_aloud(self, measurement, low, high, text):
        assert spoken_band(measurement, low, high) == text

    @given(ends=st.tuples(st.floats(0.5, 140.0), st.floats(0.5, 140.0)).map(sorted))
    def test_it_can_be_typed_again(self, ends):
        low, high = ends
        said = spoken_band(self.PLAY, low, high)
        if " to " in said:
            (span,) = read_gauge(self.PLAY, said)
            assert (span.low, span.high) == (
                pytest.approx(low, abs=0.5),
                pytest.approx(high, abs=0.5),
            )
        else:  # too narrow to tell its ends apart
            assert high - low < 0.01
