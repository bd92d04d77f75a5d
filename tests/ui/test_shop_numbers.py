"""Numbers of the shop: counted by hand from a few cases, and written as a table."""

import csv
import io
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.case import PENDING, STILL_THERE, Case, Entry, Found
from diagnose.records.kept import Closing
from ui.shop_numbers import Job, first_day, job_of, numbers_of, openings, within
from ui.shop_words import COLUMNS, csv_text, month_names, pull_lines, safe_cell

OUT = "gearbox_out"


def job(name, day, **more):
    told = {
        "title": name,
        "complaints": ("gears_grind",),
        "causes": ("air_in_system",),
        "sure": "part seen",
        "hours": 2.0,
        "openings": 0,
    }
    return Job(id=name, day=date.fromisoformat(day), **{**told, **more})


JOBS = (
    job("a", "2026-01-10", hours=2.5, at_once=7.5),
    job("b", "2026-01-20", hours=1.5, causes=("air_in_system", "fork_bent"), at_once=5.5),
    job("c", "2026-03-01", hours=9.0, openings=1, complaints=("gears_grind", "slips")),
    job("d", "2026-03-31", hours=14.0, openings=3, sure="not confirmed", at_once=8.0),
    job("e", "2026-03-31", hours=1.0, complaints=()),
)


def looked(check, stage):
    return Entry(check=check, answer="no", stage=stage)


class TestOpenings:
    @pytest.mark.parametrize(
        ("entries", "stands", "count"),
        [
            ((), "seat", 0),
            ((looked("a", "before"),), "seat", 0),
            ((looked("a", "before"),), OUT, 1),
            ((looked("a", "inside"),), OUT, 1),
            ((looked("a", "inside"), looked("b", "inside")), "seat", 1),
            ((looked("a", "inside"), looked("b", "before"), looked("c", "inside")), "seat", 2),
            (
                (
                    Entry(repair="x", answer=STILL_THERE, stage="inside"),
                    Entry(repair="y", answer=PENDING, stage="inside"),
                ),
                "seat",
                2,
            ),
            (
                (
                    Entry(repair="x", answer=PENDING, stage="inside"),
                    Entry(repair="y", answer=PENDING, stage="inside"),
                ),
                "seat",
                1,
            ),
            ((Entry(work="w", answer="yes", when="job", stage="inside"),), "seat", 0),
        ],
    )
    def test_the_gearbox_is_out_where_something_was_answered_with_it_out(
        self, knowledge, entries, stands, count
    ):
        assert openings(knowledge, Case(entries=entries, stands=stands)) == count


def test_a_case_is_counted_as_it_ended(knowledge):
    case = Case(
        title="Van",
        entries=(
            Entry(complaint="gears_grind", answer="no"),
            Entry(complaint="slips", answer="probably", hours=0.5),
            Entry(complaint="creeps", answer="can't tell"),
        ),
        moved=1.0,
        found=Found(causes=("air",), sure="complaint gone", at_once=6.5),
    )
    ended = Closing("id", ("air",), "complaint gone", 1.5, "2026-01-01T08:00+01:00", "2026-02-03")
    assert job_of(knowledge, ended, case) == Job(
        "id", "Van", date(2026, 2, 3), ("slips",), ("air",), "complaint gone", 1.5, 0, 6.5
    )


class TestNumbers:
    @pytest.fixture
    def numbers(self, knowledge):
        return numbers_of(knowledge, JOBS)

    def test_complaints_and_causes_are_counted_the_most_frequent_first(self, numbers, knowledge):
        assert [(b.id, b.times) for b in numbers.complaints] == [("gears_grind", 4), ("slips", 1)]
        assert numbers.complaints[0].name == knowledge.complaints["gears_grind"].name
        assert [(b.id, b.times) for b in numbers.causes] == [("air_in_system", 5), ("fork_bent", 1)]

    def test_months_without_a_case_are_there_too(self, numbers):
        assert [(m.first, m.cases, m.hours) for m in numbers.months] == [
            (date(2026, 1, 1), 2, 4.0),
            (date(2026, 2, 1), 0, 0.0),
            (date(2026, 3, 1), 3, 24.0),
        ]
        assert [m.hours_said for m in numbers.months] == ["4.0 h", "0.0 h", "24 h"]
        assert month_names(numbers.months) == ("Jan ’26", "Feb", "Mar")
        assert numbers.hours == 28.0
        assert (numbers.cases, numbers.confirmed) == (5, 4)

    @pytest.mark.parametrize(
        ("days", "names"),
        [
            (("2025-11-02", "2026-02-02"), ("Nov ’25", "Dec", "Jan ’26", "Feb")),
            (("2025-12-02", "2026-02-02"), ("Dec", "Jan ’26", "Feb")),
            (("2025-12-02",), ("Dec ’25",)),
            ((), ()),
        ],
    )
    def test_the_year_stands_where_it_is_needed(self, knowledge, days, names):
        jobs = [job(day, day) for day in days]
        assert month_names(numbers_of(knowledge, jobs).months) == names

    def test_a_bar_says_among_how_many(self, numbers):
        assert numbers.causes[1].among(numbers.cases) == "1 of 5, 20 %"

    def test_pulls_are_counted_from_the_records_alone(self, numbers):
        assert numbers.inside == (3, 1, 1)
        # d was opened, and e has nothing on record: 7.5 + 5.5 hours against 2.5 + 1.5.
        assert numbers.saved == (numbers.saved.__class__)(2, 13.0, 4.0)
        first, second = pull_lines(numbers)
        assert first == (
            "Of 5 cases, 3 closed with the gearbox in. It came out once in 1, more than once in 1."
        )
        assert "13.0 h in all. They took 4.0 h, 4.5 h fewer for each." in second

    def test_hours_that_were_lost_by_not_opening_are_told_as_well(self, knowledge):
        lost = numbers_of(knowledge, [job("a", "2026-01-10", hours=9.0, at_once=5.0)])
        assert "4.0 h more for each" in pull_lines(lost)[1]

    def test_nothing_is_made_up_where_nothing_is_on_record(self, knowledge):
        none = numbers_of(knowledge, [job("a", "2026-01-10")])
        assert none.saved.cases == 0
        first, second = pull_lines(none)
        assert first.endswith("It came out once in none, more than once in none.")
        assert second.endswith("on record for none.")
        assert numbers_of(knowledge, []).months == ()


@pytest.mark.parametrize(
    ("period", "first", "names"),
    [
        ("quarter", date(2026, 2, 1), ["c", "d", "e"]),
        ("year", date(2025, 5, 1), ["a", "b", "c", "d", "e"]),
        ("all", None, ["a", "b", "c", "d", "e"]),
    ],
)
def test_a_period_is_of_whole_months_and_ends_today(period, first, names):
    today = date(2026, 4, 5)
    assert first_day(period, today) == first
    assert [j.id for j in within(reversed(JOBS), period, today)] == names


class TestTable:
    def test_every_case_is_a_line(self, knowledge):
        rows = list(csv.reader(io.StringIO(csv_text(knowledge, JOBS))))
        assert tuple(rows[0]) == COLUMNS
        assert len(rows) == 1 + len(JOBS)
        air, slips = knowledge.causes["air_in_system"].name, knowledge.complaints["slips"].name
        assert rows[1][3:] == [air, "The faulty part was seen", "2.50", "0", "7.50"]
        assert rows[3][2].endswith(f"; {slips}")

    @pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
    def test_no_cell_is_a_formula(self, knowledge, start):
        text = csv_text(knowledge, [job("x", "2026-01-01", title=f'{start}cmd|" /C calc"!A0')])
        (_, row) = csv.reader(io.StringIO(text))
        assert row[1] == f'\'{start}cmd|" /C calc"!A0'

    @given(st.text(max_size=20))
    def test_any_title_comes_back_but_for_the_apostrophe(self, knowledge, title):
        text = csv_text(knowledge, [job("x", "2026-01-01", title=title)])
        (_, row) = csv.reader(io.StringIO(text, newline=""))
        assert row[1] == safe_cell(title)
        assert not row[1].startswith(("=", "+", "-", "@"))
