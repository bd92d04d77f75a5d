"""A reading as typed: what was read, the band it falls in, or a sentence and what was meant."""

from dataclasses import replace
from itertools import pairwise
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import PullOnceError
from diagnose.gauge import (
    MOST_REPEATS,
    ReadingError,
    Span,
    answer_for_reading,
    band,
    measurement_of,
    plausible_range,
    read_gauge,
)
from knowledge.model import Check, Law, Measurement
from knowledge.quantity import quantity_value


def measurement_in(unit, plausible, uncertainty="1 mm", **more):
    instruments = {"first": {"name": "first", "uncertainty": uncertainty}}
    instruments["second"] = instruments["first"] | {"uncertainty": uncertainty.replace("1", "3")}
    record = {"id": "play", "name": "Play", "how": "Rule.", "source": "judgement"}
    record |= {"unit": unit, "plausible": plausible, "instruments": instruments}
    return Measurement.model_validate(record | more)


def check_of(*edges):
    """A check whose answers are named by their place, with bands between the edges."""
    bounds = [None, *edges, None]
    answers = [
        {"id": f"band_{i}", "text": "a", "means": "b", "at_least": low, "below": high}
        for i, (low, high) in enumerate(pairwise(bounds))
    ]
    texts = {"do": "Do.", "say": "Say.", "why": "Why."}
    return Check.model_validate(
        {"id": "play", "name": "Play", "from": "seat", "minutes": 1, "source": "judgement"}
        | {"gauge": "play", "answers": answers}
        | texts
    )


def gauged(knowledge, measurement, *edges):
    """A base that knows one measurement, and a check that takes it."""
    return replace(knowledge, measurements={"play": measurement}), check_of(*edges)


PLAY = measurement_in("in", ("0 in", "4 in"))
STROKE = measurement_in("mm", ("5 mm", "40 mm"))
HEAT = measurement_in("degC", ("0 degC", "150 degC"), "1 degC")
HEIGHT = measurement_in("mm", ("-20 mm", "150 mm"))
INCH = 25.4


@pytest.fixture
def play(knowledge):
    return gauged(knowledge, PLAY, "1/2 in", "1-1/2 in")


class TestWhatWasRead:
    @pytest.mark.parametrize(
        ("text", "inches"),
        [
            ("0", 0.0),
            ("1 3/8 in", 1.375),
            ('1-3/8"', 1.375),
            ("2,5", 2.5),
            ("35 mm", 35 / INCH),
            (" 4 in ", 4.0),
        ],
    )
    def test_a_value(self, text, inches):
        (span,) = read_gauge(PLAY, text)
        assert span.low == span.high == pytest.approx(inches * INCH)
        assert span.middle == span.low

    @pytest.mark.parametrize(
        ("text", "low", "high"),
        [
            ("1 to 1 1/4 in", 1.0, 1.25),
            ("1 in to 1 1/4 in", 1.0, 1.25),
            ("between 1 and 1 1/4 in", 1.0, 1.25),
            ("Between 1/2 in and 3/4 in", 0.5, 0.75),
            ("1-1/4 to 1-1/2", 1.25, 1.5),
            ("25 to 30 mm", 25 / INCH, 30 / INCH),  # the unit at the end holds for both
            ("25 mm to 1 1/2 in", 25 / INCH, 1.5),
            ("1/2 to 25 mm", 0.5 / INCH, 25 / INCH),
            ("1 .. 2 in", 1.0, 2.0),
            ("1…2 in", 1.0, 2.0),
            ("1–1 1/4 in", 1.0, 1.25),
            ("10-12 mm", 10 / INCH, 12 / INCH),
            ("0.5 - 1.5 in", 0.5, 1.5),
            ("1-2", 1.0, 2.0),
        ],
    )
    def test_a_range(self, text, low, high):
        (span,) = read_gauge(PLAY, text)
        assert (span.low, span.high) == pytest.approx((low * INCH, high * INCH))
        assert span.middle == pytest.approx((low + high) / 2 * INCH)

    @pytest.mark.parametrize(
        "text",
        [
            "more than 2 in",
            "More than 2",
            "over 2 in",
            "above 2 in",
            "at least 2 in",
            "> 2 in",
            ">2",
            ">= 2 in",
            "≥ 2 in",
            " more than 50.8 mm ",
        ],
    )
    def test_more_than_something(self, text):
        (span,) = read_gauge(PLAY, text)
        assert (span.low, span.high) == (pytest.approx(2 * INCH), inf)
        assert span.middle == span.low

    @pytest.mark.parametrize(
        "text",
        [
            "less than 2 in",
            "under 2 in",
            "below 2 in",
            "at most 2 in",
            "no more than 2 in",
            "up to 2 in",
            "< 2 in",
            "<2",
            "<= 2 in",
            "≤ 2 in",
        ],
    )
    def test_less_than_something(self, text):
        (span,) = read_gauge(PLAY, text)
        assert (span.low, span.high) == (-inf, pytest.approx(2 * INCH))
        assert span.middle == span.high

    @pytest.mark.parametrize(
        "text",
        [
            "would not move",
            "Wouldn't move",
            "does not move",
            "doesn't move",
            "did not move",
            "Won't move",
            "none",
            "nothing",
            "No movement",
            "no play",
            " stuck ",
        ],
    )
    def test_no_movement_is_at_most_what_the_instrument_would_miss(self, text):
        assert read_gauge(PLAY, text) == (Span(-inf, 1.0),)  # the first instrument's 1 mm
        # Where less than nothing can be read, none is still none.
        assert read_gauge(HEIGHT, text) == (Span(-inf, 1.0),)

    def test_several(self):
        assert read_gauge(STROKE, "12 mm; 13; 1/2 in; more than 14") == (
            Span(12.0, 12.0),
            Span(13.0, 13.0),
            Span(12.7, 12.7),
            Span(14.0, inf),
        )
        assert read_gauge(STROKE, "; 12 mm ;") == (Span(12.0, 12.0),)
        assert len(read_gauge(STROKE, ";".join(["12"] * MOST_REPEATS))) == MOST_REPEATS

    def test_the_lowest_value_of_what_can_not_go_lower_is_an_end(self):
        opened = measurement_in("in", ("0 in", "4 in"), open_below=True)
        # As far as the instrument shows: its uncertainty is 1 mm.
        assert read_gauge(opened, "0") == (Span(-inf, 1.0),)
        assert read_gauge(opened, "0.1 mm") == (Span(0.1, 0.1),)
        assert read_gauge(PLAY, "0") == (Span(0.0, 0.0),)

    def test_signs_of_values_and_ranges(self):
        assert read_gauge(HEIGHT, "-5 mm") == (Span(-5.0, -5.0),)
        assert read_gauge(HEIGHT, "-5 to 5 mm") == (Span(-5.0, 5.0),)
        assert read_gauge(HEIGHT, "less than -5") == (Span(-inf, -5.0),)

    def test_degrees_have_a_zero_of_their_own(self):
        assert read_gauge(HEAT, "50 to 68 °F")[0].low == pytest.approx(10.0)
        assert plausible_range(HEAT) == (0.0, 150.0)
        assert HEAT.spread("5 degC") == pytest.approx(5.0)

    @given(st.floats(0.0, 1.9), st.floats(0.01, 2.0))
    def test_a_range_holds_both_its_ends(self, low, width):
        (span,) = read_gauge(PLAY, f"{low:.4f} to {low + width:.4f} in")
        assert span.low == pytest.approx(low * INCH, abs=0.002)
        assert span.high == pytest.approx((low + width) * INCH, abs=0.002)


class TestBands:
    @pytest.mark.parametrize(
        ("text", "expected"),
        [
            ("0", 0),
            ("0.4999", 0),
            ("1/2", 1),  # an edge belongs to the band above it
            ("0,5 in", 1),
            ("12.7 mm", 1),
            ('1-3/8"', 1),
            ("38 mm", 1),
            ("1 1/2 in", 2),
            ("38.1 mm", 2),
            ("4 in", 2),
            (" 100 mm ", 2),
            ("would not move", 0),
            ("less than 1/2 in", 0),  # all of it lies below the edge
            ("more than 1/2 in", 1),
            ("less than 1 1/2 in", 1),
            ("more than 1 1/2 in", 2),
            ("1/4 to 5/8 in", 0),  # the middle counts
            ("1/4 to 1 in", 1),
            ("1/4 in; 1/4 in; 3 in", 1),  # of several, the mean
            ("less than 1/2 in; less than 1/2 in", 0),
            ("less than 1/2 in; 1/2 in", 1),
        ],
    )
    def test_the_band_it_falls_in(self, text, expected, play):
        assert answer_for_reading(*play, text).id == f"band_{expected}"

    @pytest.mark.parametrize("text", ["none", "would not move", "0", "less than 0.5 mm"])
    def test_none_is_the_lowest_band_though_an_instrument_may_miss_a_little(self, knowledge, text):
        """The first edge, 0.8 mm, lies below the 1 mm that the instrument may miss."""
        base, check = gauged(knowledge, PLAY, "0.8 mm", "20 mm")
        assert answer_for_reading(base, check, text).id == "band_0"
        assert answer_for_reading(base, check, "less than 2 mm").id == "band_1"

    @given(st.floats(0.0, 4.0))
    def test_every_plausible_reading_has_one(self, knowledge, inches):
        base, check = gauged(knowledge, PLAY, "1/2 in", "1-1/2 in")
        answer = answer_for_reading(base, check, f"{inches:.6f} in")
        value = quantity_value(f"{inches:.6f} in", "in")
        span = band(PLAY, answer)
        assert span.low <= value < span.high

    @given(st.lists(st.floats(0.0, 4.0), min_size=2).map(sorted))
    def test_more_never_gives_a_lower_band(self, knowledge, inches):
        base, check = gauged(knowledge, PLAY, "1/2 in", "1-1/2 in")
        bands = [answer_for_reading(base, check, f"{x:.6f} in").id for x in inches]
        assert bands == sorted(bands)

    def test_what_a_band_says_of_the_reading(self, play):
        low, middle, high = (band(PLAY, answer) for answer in play[1].answers)
        assert low == Span(-inf, 0.5 * INCH)
        assert middle == Span(0.5 * INCH, 1.5 * INCH)
        assert high == Span(1.5 * INCH, inf)

    def test_every_shipped_gauge_can_be_read_in_each_of_its_bands(self, knowledge):
        gauges = [check for check in knowledge.checks.values() if check.gauge is not None]
        assert gauges
        for check in gauges:
            measurement = measurement_of(knowledge, check)
            low, high = plausible_range(measurement)
            for answer in check.answers:
                told = band(measurement, answer)
                middle = (max(told.low, low) + min(told.high, high)) / 2
                assert max(told.low, low) < min(told.high, high), (check.id, answer.id)
                unit = measurement.unit
                inside = (middle - quantity_value("0", unit)) / measurement.spread(f"1 {unit}")
                assert answer_for_reading(knowledge, check, f"{inside:.6f} {unit}") == answer


def refused(measurement, text):
    with pytest.raises(ReadingError) as caught:
        read_gauge(measurement, text)
    assert isinstance(caught.value, PullOnceError)
    return caught.value.sentence, caught.value.next_step


class TestNotPlausible:
    @pytest.mark.parametrize(
        ("measurement", "text", "meant"),
        [
            (PLAY, "35 in", "35 mm"),
            (PLAY, "35", "35 mm"),
            (PLAY, '35"', "35 mm"),
            (PLAY, "35 ”", "35 mm"),
            (PLAY, "35 INCHES", "35 mm"),
            (PLAY, "5 1/2 in", "5.5 mm"),
            (PLAY, "350 in", "350 thou"),
            (STROKE, "1 3/8 mm", "1.375 in"),
            (STROKE, "1.2", "1.2 in"),
            (STROKE, "1 MM", "1 in"),
            (measurement_in("thou", ("0.5 thou", "20 thou")), "50 thou", "50 um"),
            (measurement_in("s", ("2 s", "300 s"), "1 s"), "1.5 s", "1.5 min"),
            (measurement_in("bar", ("0.5 bar", "60 bar"), "1 bar"), "600 bar", "600 psi"),
            (HEAT, "180 °C", "180 degF"),
            (measurement_in("N m", ("5 N m", "90 N m"), "1 N m"), "3.9 Nm", "3.9 lbf ft"),
        ],
    )
    def test_the_unit_that_may_have_been_meant(self, measurement, text, meant):
        sentence, step = refused(measurement, text)
        assert sentence == f"{text.strip()} can hardly be right here."
        assert step == f"Did you mean {meant}?"
        assert read_gauge(measurement, meant)  # the guess itself is plausible

    @pytest.mark.parametrize("text", ["more than 35 in", "< 35 in", "1 in; 35 in", "1 to 35 in"])
    def test_an_end_of_what_was_read_is_no_more_plausible(self, text):
        assert refused(PLAY, text) == ("35 in can hardly be right here.", "Did you mean 35 mm?")

    @pytest.mark.parametrize(
        ("measurement", "text"),
        [
            (PLAY, "-1 in"),
            (PLAY, "5000 in"),
            (PLAY, "2 m"),
            (STROKE, "0"),
            (STROKE, "-1 mm"),
            (STROKE, "41 mm"),
        ],
    )
    def test_none_that_would_help(self, measurement, text):
        sentence, step = refused(measurement, text)
        assert sentence == f"{text} can hardly be right here."
        assert step == "Read the gauge again."

    @pytest.mark.parametrize(("healthy", "guess"), [("4 thou", "8 thou"), ("5 mm", "8 mm")])
    def test_of_two_units_the_one_nearer_to_what_good_vehicles_read(self, healthy, guess):
        law = Law(mean=healthy, spread="1 thou")
        runout = measurement_in("in", ("0 in", "0.5 in")).model_copy(update={"healthy": law})
        with pytest.raises(ReadingError) as caught:
            read_gauge(runout, "8 in")
        assert (caught.value.doubted, caught.value.guess) == ("8 in", guess)


class TestNoReading:
    @pytest.mark.parametrize(
        ("text", "sentence"),
        [
            ("", "'' is not a number with a unit, such as '1 3/8 in' or '35 mm'."),
            (";", "';' is not a number with a unit, such as '1 3/8 in' or '35 mm'."),
            ("plenty", "'plenty' is not a number with a unit"),
            ("more than plenty", "'plenty' is not a number with a unit"),
            ("1 to plenty", "'plenty' is not a number with a unit"),
            ("some to 1 in", "'some' is not a number with a unit"),
            ("1/0 in", "'1/0 in' divides by nothing."),
            ("1e999", "'1e999' is too large a number."),
            ("1,250", "'1,250' can be read in two ways"),
            ("35 N", "'35 N' is a force, but a length is wanted here."),
            ("3 s", "'3 s' is a time, but a length is wanted here."),
            ("3 furlongs", "'furlongs' is not a unit this program knows"),
        ],
    )
    def test_a_sentence_and_how_to_write_it(self, text, sentence):
        said, step = refused(PLAY, text)
        assert said.startswith(sentence)
        assert said.endswith(".")
        assert step == "Write it like '1 3/8 in' or '35 mm'; in is taken if no unit stands there."

    def test_the_way_to_write_it_is_that_of_its_kind(self):
        sentence, step = refused(HEAT, "warm")
        assert sentence.startswith("'warm' is not a number")
        assert step == "Write it like '12 degC'; degC is taken if no unit stands there."

    @pytest.mark.parametrize(
        "text", ["2 to 1 in", "12-10 mm", "1 in to 1 in", "between 2 and 1 in"]
    )
    def test_a_range_runs_upwards(self, text):
        sentence, step = refused(PLAY, text)
        assert sentence.endswith("is no range.")
        assert step == "Write the smaller value first."

    def test_too_many_of_one_thing(self):
        assert refused(PLAY, "1;" * (MOST_REPEATS + 1)) == (
            f"{MOST_REPEATS + 1} readings of one thing are too many.",
            f"Give at most {MOST_REPEATS}.",
        )

    def test_a_check_without_gauge(self, play):
        base, check = play
        check = check.model_copy(update={"gauge": None})
        with pytest.raises(ReadingError) as caught:
            answer_for_reading(base, check, "1 in")
        assert caught.value.sentence == "'Play' takes no reading."
        assert caught.value.next_step == "Choose one of its answers."

    @given(st.text(max_size=45))
    def test_any_text_is_answered_or_refused(self, knowledge, text):
        base, check = gauged(knowledge, PLAY, "1/2 in", "1-1/2 in")
        try:
            answer, refusal = answer_for_reading(base, check, text), None
        except ReadingError as error:
            answer, refusal = None, error
        if refusal is None:
            assert answer in check.answers
        else:
            assert refusal.sentence[-1] in ".?"
            assert refusal.next_step


def test_a_measurement_knows_the_way_its_range_runs():
    with pytest.raises(ValueError, match="from the smaller value to the larger"):
        measurement_in("mm", ("1 in", "20 mm"))
