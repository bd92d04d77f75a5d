"""What is typed into a gauge field, said back; and slips of the unit."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.gauge import read_gauge
from knowledge.quantity import parse_quantity
from tests.small_bases import make_base
from ui.gauge_entry import (
    Refused,
    Understood,
    begins_no_reading,
    how_to_write,
    short_as_typed,
    understand,
    unit_written,
)

WORDED = (
    *("more than 2", "over 2", "above 2", "at least 2", "less than 2", "under 2", "below 2"),
    *("at most 2", "no more than 2", "up to 2", "between 1 and 2", "from 1 to 2"),
    *("none", "nothing", "stuck", "no movement", "would not move", "didn't move", "won't move"),
)


@pytest.mark.parametrize("typed", WORDED)
def test_letters_that_begin_a_reading_are_known(base, typed):
    assert read_gauge(base.measurements["travel"], typed)
    assert not begins_no_reading(typed[0])
    assert not begins_no_reading(typed[0].upper())


def test_all_other_letters_begin_none_and_figures_and_signs_may(base):
    begun = {typed[0] for typed in WORDED}
    for letter in set("abcdefghijklmnopqrstuvwxyz") - begun:
        assert begins_no_reading(letter)
    assert not any(begins_no_reading(key) for key in ("1", ".", ",", ">", "<", "-", " ", "", "½"))


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    """One tape, one dial and one watch."""
    measurements = {
        "travel": {"unit": "in", "plausible": ["0 in", "4 in"], "open_below": True},
        "runout": {"unit": "mm", "plausible": ["0 mm", "0.9 mm"]},
        "time": {
            "unit": "s",
            "plausible": ["0 s", "120 s"],
            "instruments": {"watch": {"name": "watch", "uncertainty": "0.3 s"}},
        },
    }
    edges = {"travel": "1 in", "runout": "0.2 mm", "time": "3 s"}
    return make_base(
        tmp_path_factory.mktemp("base") / "base",
        complaints={"sticks": {}},
        findings={"little": {"unexplained": 0.1}},
        causes={"worn": {"brings": {"sticks": 0.5}, "shows": {"little": 0.5}}},
        measurements=measurements,
        checks={
            name: {
                "gauge": name,
                "answers": {"low": {"little": "yes"}, "high": {"little": "no"}},
                "edges": [edge],
            }
            for name, edge in edges.items()
        },
    )


def read(base, check, typed):
    return understand(base, base.checks[check], typed)


class TestSaidBack:
    @pytest.mark.parametrize(
        ("typed", "said", "band"),
        [
            ("1 3/8 in", "1 3/8 in = 34.9 mm", "high"),
            ('1-3/8"', "1 3/8 in = 34.9 mm", "high"),
            ("1 3/8", "1 3/8 in = 34.9 mm", "high"),
            ("20 mm", "20 mm = 0.787 in", "low"),
            ("3 cm", "3 cm = 30 mm", "high"),
            ("900 thou", "900 thou = 22.9 mm", "low"),
            ("1.3 in", "1.3 in = 33 mm", "high"),
            ("1 to 1 1/4 in", "1 to 1 1/4 in = 25.4 to 31.8 mm", "high"),
            ("between 20 and 22 mm", "20 to 22 mm = 0.787 to 0.866 in", "low"),
            ("more than 2 in", "more than 2 in = 50.8 mm", "high"),
            ("less than 1/2 in", "at most 1/2 in = 12.7 mm", "low"),
            ("0", "0 in: at most 0.0394 in = 1 mm", "low"),
            ("would not move", "would not move: at most 0.0394 in = 1 mm", "low"),
            (
                "1/2 in; 20 mm; 7/8",
                "1/2 in = 12.7 mm; 20 mm = 0.787 in; 7/8 in = 22.2 mm; their mean is 0.721 in",
                "low",
            ),
        ],
    )
    def test_in_the_typed_unit_and_the_other_one(self, base, typed, said, band):
        found = read(base, "travel", typed)
        assert isinstance(found, Understood)
        assert found.said == said
        assert found.band.id == band

    @pytest.mark.parametrize(
        ("typed", "said"), [("2.5", "2.5 s"), ("2 min", "2 min = 120 s"), ("2.5 s", "2.5 s")]
    )
    def test_what_has_no_other_unit_is_said_once(self, base, typed, said):
        assert read(base, "time", typed).said == said

    @given(st.decimals(0, 4, places=3), st.sampled_from(["in", "mm", ""]))
    def test_what_is_said_reads_the_same(self, base, number, unit):
        record = base.measurements["travel"]
        typed = f"{number} {unit}".strip()
        said = short_as_typed(record, typed).partition(":")[0]
        assert parse_quantity(said).value == pytest.approx(
            parse_quantity(typed, default_unit="in").value, abs=1e-4
        )


class TestHowToWrite:
    def test_with_numbers_that_could_be_read(self, base):
        assert how_to_write(base.measurements["travel"]) == (
            "A value, a range (1 to 2 in), one side of it (more than 2 in), or several with “;”."
        )

    def test_every_example_can_be_taken(self, knowledge):
        for check in knowledge.checks.values():
            if check.gauge is not None:
                said = how_to_write(knowledge.measurements[check.gauge])
                examples = re.findall(r"\(([^)]+)\)", said)
                assert len(examples) == 2
                for example in examples:
                    assert isinstance(understand(knowledge, check, example), Understood)


class TestSlips:
    @pytest.mark.parametrize(
        ("check", "typed", "guess"),
        [
            ("travel", "35 in", "35 mm"),
            ("travel", "35", "35 mm"),
            ("travel", "30 to 35 in", "30 mm to 35 mm"),
            ("travel", "more than 35 in", "more than 35 mm"),
            ("travel", "35 in; 1 in", "35 mm; 1 in"),
            ("travel", "35 in; 36 in", "35 mm; 36 mm"),
            ("time", "3 min", "3 s"),
        ],
    )
    def test_what_was_probably_meant(self, base, check, typed, guess):
        found = read(base, check, typed)
        assert isinstance(found, Refused)
        assert "can hardly be right here" in found.why
        assert "Did you mean" in found.next_step
        assert found.guess == guess
        assert isinstance(read(base, check, guess), Understood)

    @pytest.mark.parametrize("typed", ["soft", "35 N", "1,250", "2 to 1 in", "1e9 mm", "5 1", ";"])
    def test_what_is_no_reading_has_no_guess(self, base, typed):
        found = read(base, "travel", typed)
        assert isinstance(found, Refused)
        assert found.why.endswith(".")
        assert found.guess == ""

    def test_units_are_not_listed_in_a_field(self, base):
        assert "lbf" not in read(base, "travel", "1 1").why

    def test_every_guess_of_the_shipped_knowledge_can_be_taken(self, knowledge):
        """A number in the other unit of a tape: offered wherever it would be plausible."""
        guessed = 0
        for check in knowledge.checks.values():
            if check.gauge is None:
                continue
            record = knowledge.measurements[check.gauge]
            for number in (2, 5, 8, 35, 60, 90):
                found = understand(knowledge, check, f"{number} {record.unit}")
                if isinstance(found, Refused) and re.match("Did you mean", found.next_step):
                    assert read_gauge(record, found.guess)
                    guessed += 1
        assert guessed


@pytest.mark.parametrize(
    ("text", "unit"),
    [("1 3/8", ""), ("1 to 2", ""), ("1 to 2 in", "in"), ('1 3/8"', "in"), ("3 i", ""), ("", "")],
)
def test_the_unit_that_is_written(text, unit):
    assert unit_written(text) == unit
