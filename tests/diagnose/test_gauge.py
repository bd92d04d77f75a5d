"""A reading as typed: the band it falls in, or a sentence and what may have been meant."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import PullOnceError
from diagnose.gauge import ReadingError, answer_for_reading
from knowledge.model import Check, Gauge, quantity_value


def check_of(unit, plausible, *edges):
    """A check whose answers are named by their place, with bands between the edges."""
    bounds = [None, *edges, None]
    answers = [
        {"id": f"band_{i}", "text": "a", "means": "b", "at_least": low, "below": high}
        for i, (low, high) in enumerate(pairwise(bounds))
    ]
    texts = {"do": "Do.", "say": "Say.", "why": "Why."}
    gauge = {"unit": unit, "plausible": plausible, "how": "Rule."}
    return Check.model_validate(
        {"id": "play", "name": "Play", "from": "seat", "minutes": 1, "source": "judgement"}
        | {"gauge": gauge, "answers": answers}
        | texts
    )


PLAY = check_of("in", ("0 in", "4 in"), "1/2 in", "1-1/2 in")
STROKE = check_of("mm", ("5 mm", "40 mm"), "12 mm")


class TestBands:
    @pytest.mark.parametrize(
        ("text", "band"),
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
        ],
    )
    def test_the_band_it_falls_in(self, text, band):
        assert answer_for_reading(PLAY, text).id == f"band_{band}"

    @given(st.floats(0.0, 4.0))
    def test_every_plausible_reading_has_one(self, inches):
        answer = answer_for_reading(PLAY, f"{inches:.6f} in")
        value = quantity_value(f"{inches:.6f} in", "in")
        if answer.at_least is not None:
            assert value >= quantity_value(answer.at_least, "in")
        if answer.below is not None:
            assert value < quantity_value(answer.below, "in")

    @given(st.lists(st.floats(0.0, 4.0), min_size=2).map(sorted))
    def test_more_never_gives_a_lower_band(self, inches):
        bands = [answer_for_reading(PLAY, f"{x:.6f} in").id for x in inches]
        assert bands == sorted(bands)


def refused(check, text):
    with pytest.raises(ReadingError) as caught:
        answer_for_reading(check, text)
    assert isinstance(caught.value, PullOnceError)
    return caught.value.sentence, caught.value.next_step


class TestNotPlausible:
    @pytest.mark.parametrize(
        ("check", "text", "meant"),
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
            (check_of("thou", ("0.5 thou", "20 thou"), "5 thou"), "50 thou", "50 um"),
            (check_of("s", ("2 s", "300 s"), "9 s"), "1.5 s", "1.5 min"),
            (check_of("bar", ("0.5 bar", "60 bar"), "9 bar"), "600 bar", "600 psi"),
            (check_of("degC", ("0 degC", "150 degC"), "90 degC"), "180 °C", "180 degF"),
            (check_of("N m", ("5 N m", "90 N m"), "30 N m"), "3.9 Nm", "3.9 lbf ft"),
        ],
    )
    def test_the_unit_that_may_have_been_meant(self, check, text, meant):
        sentence, step = refused(check, text)
        assert sentence == f"{text.strip()} can hardly be right here."
        assert step == f"Did you mean {meant}?"
        assert answer_for_reading(check, meant)  # the guess itself is plausible

    @pytest.mark.parametrize(
        ("check", "text"),
        [
            (PLAY, "-1 in"),
            (PLAY, "5000 in"),
            (PLAY, "2 m"),
            (STROKE, "0"),
            (STROKE, "-1 mm"),
            (STROKE, "41 mm"),
        ],
    )
    def test_none_that_would_help(self, check, text):
        sentence, step = refused(check, text)
        assert sentence == f"{text} can hardly be right here."
        assert step == "Read the gauge again."


class TestNoReading:
    @pytest.mark.parametrize(
        ("text", "sentence"),
        [
            ("", "'' is not a number with a unit, such as '1 3/8 in' or '35 mm'."),
            ("plenty", "'plenty' is not a number with a unit"),
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

    def test_a_check_without_gauge(self):
        check = PLAY.model_copy(update={"gauge": None})
        assert refused(check, "1 in") == (
            "'Play' takes no reading.",
            "Choose one of its answers.",
        )

    @given(st.text(max_size=45))
    def test_any_text_is_answered_or_refused(self, text):
        try:
            answer, refusal = answer_for_reading(PLAY, text), None
        except ReadingError as error:
            answer, refusal = None, error
        if refusal is None:
            assert answer in PLAY.answers
        else:
            assert refusal.sentence[-1] in ".?"
            assert refusal.next_step


def test_a_gauge_knows_the_way_its_range_runs():
    with pytest.raises(ValueError, match="from the smaller value to the larger"):
        Gauge(unit="mm", plausible=("1 in", "20 mm"), how="Rule.")
