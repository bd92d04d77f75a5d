"""Closing a case: its sum of hours, its end, and what opening at once was expected to take."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.assess import assess
from diagnose.case import PENDING, STILL_THERE, Case, Entry, Found, spent
from diagnose.planning.advice import advices
from ui.closing import (
    Ending,
    at_the_beginning,
    closed,
    grade_name,
    hours_if_opened_at_once,
    hours_typed,
    names_of,
    reopened,
    suggested,
    with_spent,
)

HOURS = st.floats(0, 50).map(lambda h: round(h, 4))
COMPLAINT = Entry(complaint="gears_grind", answer="yes", hours=0.1)


def case_of(hours, moved):
    entries = tuple(Entry(check=f"c{i}", answer="yes", hours=h) for i, h in enumerate(hours))
    return Case(entries=entries, moved=moved)


@given(st.lists(st.one_of(st.none(), HOURS), max_size=5), HOURS, HOURS)
def test_the_corrected_sum_is_the_sum_that_was_typed(hours, moved, typed):
    case = case_of(hours, moved)
    after = with_spent(case, typed)
    assert spent(after) == pytest.approx(typed, abs=0.006)
    assert Case.model_validate(after.model_dump()) == after
    assert [e.answer for e in after.entries] == [e.answer for e in case.entries]


def test_ways_take_the_difference_and_answers_keep_their_hours():
    case = case_of([1.0, 2.0], 0.5)
    assert with_spent(case, 5.0).moved == pytest.approx(2.0)
    assert with_spent(case, 3.2).entries == case.entries
    assert with_spent(case, 3.5) is case


def test_answers_shrink_in_proportion_where_ways_can_not_take_it():
    after = with_spent(case_of([1.0, 2.0, None], 0.5), 1.5)
    assert [e.hours for e in after.entries] == [0.5, 1.0, None]
    assert after.moved == 0.0


@pytest.mark.parametrize(
    ("typed", "hours"),
    [
        ("3.5", 3.5),
        (" 3,5 h ", 3.5),
        ("40 min", 40 / 60),
        ("0", 0.0),
        ("", None),
        ("much", None),
        ("-1", None),
        ("1e9", None),
        ("nan", None),
        ("inf", None),
    ],
)
def test_hours_as_they_are_typed(typed, hours):
    assert hours_typed(typed) == (None if hours is None else pytest.approx(hours))


class TestSuggested:
    def test_what_was_found_stands(self, knowledge):
        found = Found(causes=("air",), sure="customer silent", why="no call")
        case = Case(found=found, moved=2.0)
        told = Ending(("air",), "customer silent", 2.0, "no call")
        assert suggested(knowledge, case, None) == told

    def test_what_was_seen_outranks_what_was_only_done(self, knowledge):
        first, second = list(knowledge.causes)[:2]
        done = [Entry(repair=c, answer=PENDING, seen=c == second) for c in (first, second)]
        told = suggested(knowledge, Case(entries=tuple(done)), None)
        assert (told.causes, told.sure) == ((second,), "part seen")

    def test_what_did_not_help_is_not_suggested(self, knowledge):
        first = next(iter(knowledge.causes))
        case = Case(entries=(Entry(repair=first, answer=STILL_THERE),))
        assert suggested(knowledge, case, None).causes == ()


def test_the_end_is_in_the_case_and_can_be_taken_back():
    case = Case(entries=(COMPLAINT,))
    ending = Ending(("air", "worn"), "complaint gone", 4.0, "bled twice")
    done = closed(case, ending, at_once=7.25)
    assert done.found == Found(
        causes=("air", "worn"), sure="complaint gone", why="bled twice", at_once=7.25
    )
    assert spent(done) == pytest.approx(4.0)
    # Corrected once more, what the advice said stays on record.
    assert closed(done, ending).found.at_once == 7.25
    assert reopened(done).found is None


def test_what_opening_at_once_takes_is_what_the_advice_says_of_the_case_as_it_came(knowledge):
    work = next(iter(knowledge.work.values()))
    job = Entry(work=work.id, answer="yes" if not work.answers else work.answers[0].id)
    later = (
        Entry(check="pilot_look", answer="no", stage="inside", hours=6.0),
        Entry(repair=next(iter(knowledge.causes)), answer=PENDING, stage="inside"),
    )
    case = Case(entries=(COMPLAINT, job, *later), stands="gearbox_out", moved=5.0)
    came = at_the_beginning(knowledge, case)
    assert came.entries == (COMPLAINT, job)
    assert knowledge.levels[came.stands].drivable
    expected = next(advices(assess(knowledge, Case(entries=(COMPLAINT, job))))).inside
    assert hours_if_opened_at_once(knowledge, case) == pytest.approx(expected, abs=1e-3)


def test_names_and_grades_are_told_in_words(knowledge):
    first = next(iter(knowledge.causes.values()))
    assert names_of(knowledge, [first.id, "long_gone"]) == (first.name, "long gone")
    assert grade_name("part seen") == "The faulty part was seen"
    assert grade_name("of old") == "of old"
