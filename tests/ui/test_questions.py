import pytest

from diagnose.case import GRADES, OUTCOMES, PENDING, STILL_THERE, Case, Entry, Found
from diagnose.case_file import possible_answers
from diagnose.errors import PullOnceError
from ui import moves
from ui.actions import ACTIONS
from ui.questions import (
    CANT_TELL,
    COMPLAINT_GONE,
    DONE_SEEN,
    DONE_UNSEEN,
    PART_SEEN,
    answered,
    asked,
    band_of,
    meaning,
    question_for,
    steps,
)
from ui.views.answer_pad import KEYS


def ids(question):
    return tuple(choice.id for choice in question.choices)


def gauge_check(base):
    return next(c for c in base.checks.values() if c.gauge is not None)


def test_every_answer_offered_can_be_kept(base):
    subjects = [
        *(("complaint", key) for key in base.complaints),
        *(("check", key) for key in base.checks),
        *(("work", key) for key in base.work),
    ]
    for kind, key in subjects:
        question = question_for(base, kind, key)
        for answer in ids(question):
            entry = Entry.model_validate({kind: key, "answer": answer})
            assert answer in possible_answers(base, entry)
            assert asked(base, entry)
            assert answered(base, entry)


def test_more_answers_than_keys_would_be_out_of_reach(base):
    window_keys = {key for action in ACTIONS.values() for key in action.keys}
    assert not window_keys & set(KEYS)
    for key in base.checks:
        assert len(question_for(base, "check", key).choices) <= len(KEYS)
    for key in base.work:
        assert len(question_for(base, "work", key).choices) <= len(KEYS)


def test_graded_checks_say_what_yes_and_no_mean(base):
    for check in base.checks.values():
        question = question_for(base, "check", check.id)
        if check.finding:
            assert ids(question) == GRADES
            assert (question.yes, question.no) == (check.yes, check.no)
            assert meaning(base, Entry(check=check.id, answer="yes")) == check.yes
        else:
            assert ids(question)[-1] == CANT_TELL
            assert meaning(base, Entry(check=check.id, answer=ids(question)[0]))
        assert [c.id for c in question.cautions] == list(check.cautions)


def test_the_planner_speaks_of_complaints_as_asks(base):
    assert question_for(base, "ask", "slips") == question_for(base, "complaint", "slips")


def test_a_repair_shows_what_comes_before_closing(base):
    cause = next(c for c in base.causes.values() if c.before_closing and base.repair_cautions(c))
    question = question_for(base, "repair", cause.id)
    assert question.cautions == base.repair_cautions(cause)
    assert question.voices[0].steps[-1] == f"Before it closes: {cause.before_closing}"
    assert cause.prove in question.voices[1].steps


def test_bands_and_slips_of_a_reading(base):
    check = gauge_check(base)
    low = base.measurements[check.gauge].plausible[0]
    assert band_of(base, check.id, low).id == check.answers[0].id
    for typed in ("", "soft", "1e9 mm"):
        with pytest.raises(PullOnceError):
            band_of(base, check.id, typed)


def test_a_gauge_brings_how_it_is_taken_and_its_drawing(base):
    for check in base.checks.values():
        question = question_for(base, "check", check.id)
        record = base.measurements[check.gauge] if check.gauge else None
        assert question.how == (record.how if record else "")
        assert question.drawing == ((record.drawing or "") if record else "")


def test_a_reading_is_told_with_its_unit_and_an_unusual_instrument(base):
    check = next(
        c
        for c in base.checks.values()
        if c.gauge and len(base.measurements[c.gauge].instruments) > 1
    )
    record = base.measurements[check.gauge]
    usual, other = list(record.instruments)[:2]
    value, unit = record.plausible[0].split(" ", 1)
    told = {
        name: answered(
            base,
            Entry(check=check.id, answer=check.answers[0].id, reading=value, instrument=name),
        )
        for name in (None, usual, other)
    }
    assert told[None] == told[usual] == f"{value} {unit}: {check.answers[0].text}"
    assert told[other].startswith(f"{value} {unit}, {record.instruments[other].name}: ")
    worded = Entry(check=check.id, answer=check.answers[0].id, reading="would not move")
    assert answered(base, worded).startswith("would not move: ")


def test_the_instrument_goes_into_the_case_and_can_be_changed(base):
    check = gauge_check(base)
    low = base.measurements[check.gauge].plausible[0]
    question = question_for(base, "check", check.id)
    first = check.answers[0].id
    case = moves.answer(base, Case(), question, first, reading=low, instrument="dial")
    assert case.entries[-1].instrument == "dial"
    assert moves.answer(base, Case(), question, first, reading=low).entries[-1].instrument is None
    assert moves.change(case, 0, instrument=None).entries[0].instrument is None


def test_sentences_become_steps():
    assert steps("Fork off. Unscrew the pivot. Is it 3.5 mm?") == (
        "Fork off.",
        "Unscrew the pivot.",
        "Is it 3.5 mm?",
    )


def test_a_check_takes_the_vehicle_to_its_level(base):
    check = next(c for c in base.checks.values() if c.from_ == "gearbox_out" and c.finding)
    case = moves.answer(base, Case(), question_for(base, "check", check.id), "no")
    assert case.stands == "gearbox_out"
    assert case.entries[-1].stage == "inside"
    seat = next(c for c in base.checks.values() if c.from_ == "seat" and c.finding)
    back = moves.answer(base, case, question_for(base, "check", seat.id), "yes")
    assert back.stands == "seat"
    assert back.entries[-1].stage == "before"


@pytest.mark.parametrize(
    ("batch", "choices"),
    [
        (False, (PART_SEEN, COMPLAINT_GONE, STILL_THERE)),
        (True, (DONE_SEEN, DONE_UNSEEN, COMPLAINT_GONE, STILL_THERE)),
    ],
)
def test_a_repair_is_told_as_done_only_where_a_drive_can_follow(base, batch, choices):
    for cause in base.causes.values():
        explained = (PART_SEEN, COMPLAINT_GONE, STILL_THERE)
        found = ids(question_for(base, "repair", cause.id, batch=batch))
        assert found == (explained if cause.kind == "designed" else choices)


def test_what_works_as_designed_is_explained_not_put_right(base):
    """It stays as it is: nobody can say of it that the complaint is gone."""
    cause = next(c for c in base.causes.values() if c.kind == "designed")
    question = question_for(base, "repair", cause.id)
    assert question.title == f"Explain it: {cause.name}"
    assert [c.text for c in question.choices] == [
        "it is that, and it was shown",
        "the driver is content with that",
        "there is more to it",
    ]
    shown, more = (
        moves.answer(base, Case(), question, choice) for choice in (PART_SEEN, STILL_THERE)
    )
    assert shown.found == Found(causes=(cause.id,), sure="part seen")
    assert more.found is None
    assert asked(base, more.entries[-1]) == f"explained: {cause.name}"
    assert answered(base, more.entries[-1]) == "told to the driver; there was more to it"
    assert answered(base, Entry(repair=cause.id, answer=PENDING, seen=True)) == "it was shown"


def test_every_choice_of_a_repair_makes_an_entry_that_can_be_kept(base):
    cause = next(iter(base.causes))
    for batch in (False, True):
        question = question_for(base, "repair", cause, batch=batch)
        for choice in ids(question):
            entry = moves.answer(base, Case(), question, choice).entries[-1]
            assert entry.answer in possible_answers(base, entry) == OUTCOMES


def test_a_repair_in_the_timeline_says_how_it_came_out(base):
    cause = next(c.id for c in base.causes.values() if c.kind == "fault")
    entry = Entry(repair=cause, answer=PENDING, seen=True)
    assert asked(base, entry) == f"put right: {base.causes[cause].name}"
    assert answered(base, entry) == "done, the fault was seen"
    vain = Entry(repair=cause, answer=STILL_THERE)
    assert answered(base, vain) == "done, the fault was not seen; driven, the complaint stayed"
    assert meaning(base, entry) == ""


def test_a_drive_goes_through_the_closing_list_first(base):
    question = question_for(base, "drive", "")
    assert question.subject == ("drive", "")
    assert question.title == "Close it up and drive"
    first, then, *_ = question.voices[0].steps
    assert "closing list" in first
    assert then.startswith("Close")
    assert ids(question) == (COMPLAINT_GONE, STILL_THERE)
    assert question.minutes == base.scale.drive_minutes == 20.0
    assert base.levels[question.level].drivable


def test_handing_over_asks_nothing(base):
    question = question_for(base, "hand_over", "")
    assert question.choices == ()
    assert len(question.voices) == 1
    assert question.minutes == 60.0 * base.scale.hand_over


def test_every_finding_that_a_check_shows_can_be_told(base):
    shown = {finding for check in base.checks.values() for finding in check.reads()}
    for finding in shown & base.findings.keys():
        kind, name = question_for(base, "finding", finding).subject
        assert kind == "check"
        assert finding in base.checks[name].reads()
        by_itself = [c.id for c in base.checks.values() if c.finding == finding]
        assert not by_itself or name in by_itself
    with pytest.raises(KeyError):
        question_for(base, "finding", "nothing_of_the_kind")


def test_a_repair_that_did_not_cure_counts_whether_work_stands_for_it_or_not(base):
    causes = {c for w in base.work.values() for a in w.answers for c in a.cures}
    without = next(c for c in base.causes if c not in causes)
    for cause in (min(causes), without):
        case = moves.tried(base, Case(stands="gearbox_out"), cause, "2026-01-01T10:00")
        entry = case.entries[-1]
        assert entry.is_repair
        assert entry.subject == ("repair", cause)
        assert case.stands == next(iter(base.levels))


def test_changing_keeps_the_place_and_removing_takes_it(base):
    first, second = list(base.complaints)[:2]
    case = Case(
        entries=(Entry(complaint=first, answer="yes"), Entry(complaint=second, answer="yes"))
    )
    changed = moves.change(case, 0, answer="probably")
    assert [e.answer for e in changed.entries] == ["probably", "yes"]
    assert [e.complaint for e in moves.remove(case, 0).entries] == [second]


def test_facts_and_hours_can_be_set_and_forgotten(base):
    setup = next(iter(base.setups))
    case = moves.with_setup(base, Case(), setup)
    assert case.facts == base.setups[setup].facts
    fact = next(iter(base.facts))
    value = next(iter(base.facts[fact].values))
    assert moves.with_fact(case, fact, (value,)).facts[fact] == (value,)
    assert fact not in moves.with_fact(case, fact, ()).facts
    timed = moves.with_hours(case, "gearbox_out", 6.5)
    assert timed.hours == {"gearbox_out": 6.5}
    assert moves.with_hours(timed, "gearbox_out", None).hours == {}
    assert moves.with_setup(base, case, None).facts == {}
