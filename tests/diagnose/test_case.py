"""A case is a frozen value: each change makes the next case, and the one before stays as it was."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from diagnose.case import GRADES, PENDING, STILL_THERE, Case, Entry, Found, left_today, spent

PEDAL = Entry(check="pedal", answer="no")
FORK = Entry(check="fork", answer="probably")
SHIFTS = Entry(complaint="hard_to_shift", answer="yes")
BLED = Entry(work="bled", answer="well", when="since")
BLEEDING = Entry(repair="air", answer=PENDING)
IN_VAIN = Entry(repair="air", answer=STILL_THERE)
BLED_AT_JOB = Entry(work="bled", answer="well", when="job")


def case_of(*entries: Entry) -> Case:
    case = Case()
    for entry in entries:
        case = case.with_entry(entry)
    return case


class TestEntry:
    def test_names_exactly_one_thing(self):
        assert PEDAL.subject == ("check", "pedal")
        assert SHIFTS.subject == ("complaint", "hard_to_shift")
        assert BLED.subject == ("work", "bled")
        assert BLEEDING.subject == ("repair", "air")
        for names in (
            {},
            {"check": "pedal", "work": "bled"},
            {"complaint": "a", "check": "b"},
            {"work": "bled", "repair": "air"},
        ):
            with pytest.raises(ValidationError, match="exactly one of"):
                Entry(**names, answer="yes")

    @pytest.mark.parametrize(
        "wrong",
        [
            {"answer": ""},
            {"answer": "x" * 81},
            {"reading": "x" * 81},
            {"instrument": "Not An Id"},
            {"note": "x" * 2001},
            {"check": "Not An Id"},
            {"when": "tomorrow"},
            {"stage": "outside"},
            {"colour": "red"},
            {"reading": 35},
            {"hours": -0.1},
            {"hours": float("nan")},
            {"by_the_way": "perhaps"},
        ],
    )
    def test_refuses(self, wrong):
        with pytest.raises(ValidationError):
            Entry.model_validate({"check": "pedal", "answer": "yes", **wrong})

    def test_work_since_and_what_did_not_help_are_repairs(self):
        assert BLED.is_repair
        assert IN_VAIN.is_repair
        assert not IN_VAIN.is_pending
        assert BLEEDING.is_pending
        assert not BLEEDING.is_repair
        assert [e.mends for e in (BLED, IN_VAIN, BLEEDING, BLED_AT_JOB, PEDAL)] == [
            True,
            True,
            True,
            False,
            False,
        ]
        assert not BLED_AT_JOB.is_repair
        assert not Entry(check="pedal", answer="yes", when="since").is_repair


class TestFrozen:
    @pytest.mark.parametrize("record", [Case(), PEDAL, Found(causes=("air",))])
    def test_no_field_can_be_set(self, record):
        for name in type(record).model_fields:
            with pytest.raises(ValidationError, match="frozen"):
                setattr(record, name, "other")
        with pytest.raises(ValidationError):
            record.more = 1

    def test_every_change_leaves_the_case_before_as_it_was(self):
        case = case_of(SHIFTS, PEDAL)
        kept = case.model_dump_json()
        for changed in (
            case.with_entry(FORK),
            case.with_entry(Entry(check="pedal", answer="yes")),
            case.without(("check", "pedal")),
            case.with_facts({"release": ("cable",)}, setup="plain"),
            case.with_skipped("fork"),
            case.with_acknowledged(("stands",)),
            case.with_stands("under"),
            case.with_entry(BLEEDING),
            case.without_entry(0),
        ):
            assert changed != case
            assert case.model_dump_json() == kept

    def test_what_a_case_was_made_of_can_change_without_it(self):
        facts = {"release": ("cable",)}
        case = Case().with_facts(facts)
        facts["release"] = ("cylinder",)
        assert case.facts == {"release": ("cable",)}


class TestWithEntry:
    def test_new_ones_follow_in_the_order_they_were_given(self):
        assert case_of(SHIFTS, PEDAL, FORK).entries == (SHIFTS, PEDAL, FORK)

    def test_about_the_same_it_is_changed_in_place(self):
        firm = Entry(check="pedal", answer="yes", note="looked again")
        assert case_of(SHIFTS, PEDAL, FORK, firm).entries == (SHIFTS, firm, FORK)

    def test_a_check_and_a_complaint_of_one_name_are_two_things(self):
        complaint = Entry(complaint="pedal", answer="yes")
        assert case_of(PEDAL, complaint).entries == (PEDAL, complaint)

    def test_after_a_repair_it_is_added_and_the_old_one_stays(self):
        firm = Entry(check="pedal", answer="yes")
        case = case_of(PEDAL, BLED, firm)
        assert case.entries == (PEDAL, BLED, firm)
        assert case.answer_to(("check", "pedal")) == "yes"

    def test_after_that_the_added_one_is_changed_in_place(self):
        firm, soft = Entry(check="pedal", answer="yes"), Entry(check="pedal", answer="no")
        assert case_of(PEDAL, BLED, firm, FORK, soft).entries == (PEDAL, BLED, soft, FORK)

    def test_work_at_the_job_makes_nothing_stale(self):
        firm = Entry(check="pedal", answer="yes")
        assert case_of(PEDAL, BLED_AT_JOB, firm).entries == (firm, BLED_AT_JOB)

    def test_the_same_work_at_the_job_and_since_are_two_things(self):
        assert case_of(BLED_AT_JOB, BLED).entries == (BLED_AT_JOB, BLED)
        badly = Entry(work="bled", answer="badly", when="job")
        assert case_of(BLED_AT_JOB, BLED, badly).entries == (badly, BLED)

    def test_a_check_that_is_done_after_all_is_skipped_no_longer(self):
        case = Case().with_skipped("pedal").with_skipped("fork").with_skipped("pedal")
        assert case.skipped == ("pedal", "fork")
        assert case.with_entry(PEDAL).skipped == ("fork",)
        assert case.with_entry(Entry(complaint="pedal", answer="yes")).skipped == ("pedal", "fork")


class TestRepairs:
    def test_what_is_seen_after_a_pending_repair_is_added(self):
        firm = Entry(check="pedal", answer="yes")
        assert case_of(PEDAL, BLEEDING, firm).entries == (PEDAL, BLEEDING, firm)

    def test_a_complaint_told_after_it_is_of_the_last_drive_and_is_corrected(self):
        probably = Entry(complaint="hard_to_shift", answer="probably")
        assert case_of(SHIFTS, BLEEDING, probably).entries == (probably, BLEEDING)
        assert case_of(SHIFTS, IN_VAIN, probably).entries == (SHIFTS, IN_VAIN, probably)

    def test_several_may_be_pending(self):
        fork = Entry(repair="fork", answer=PENDING)
        assert case_of(BLEEDING, fork).entries == (BLEEDING, fork)

    def test_the_drive_tells_of_the_same_repair(self):
        assert case_of(BLEEDING, PEDAL, IN_VAIN).entries == (IN_VAIN, PEDAL)

    def test_one_that_did_not_help_and_is_done_once_more_is_another(self):
        assert case_of(IN_VAIN, BLEEDING).entries == (IN_VAIN, BLEEDING)
        assert case_of(IN_VAIN, BLEEDING, IN_VAIN).entries == (IN_VAIN, IN_VAIN)


class TestHours:
    LOOK = Entry(check="pedal", answer="no", hours=0.1)

    def test_what_was_spent_is_what_the_entries_and_the_ways_cost(self):
        case = case_of(self.LOOK, SHIFTS, Entry(repair="air", answer=PENDING, hours=1.5))
        assert spent(Case()) == 0.0
        assert spent(case) == pytest.approx(1.6)
        assert spent(case.model_copy(update={"moved": 0.25})) == pytest.approx(1.85)

    def test_done_again_it_costs_again(self):
        again = case_of(self.LOOK, Entry(check="pedal", answer="yes", hours=0.2))
        assert spent(again) == pytest.approx(0.3)
        assert len(again.entries) == 1

    def test_a_correction_costs_nothing_and_saves_nothing(self):
        assert spent(case_of(self.LOOK, PEDAL)) == pytest.approx(0.1)

    def test_an_entry_that_is_taken_out_was_work_all_the_same(self):
        case = case_of(self.LOOK, SHIFTS)
        for shorter in (case.without(("check", "pedal")), case.without_entry(0)):
            assert shorter.entries == (SHIFTS,)
            assert spent(shorter) == pytest.approx(0.1)

    def test_the_limit_counts_from_when_it_was_set(self):
        case = case_of(self.LOOK)
        assert left_today(case) is None
        limited = case.model_copy(update={"limit": 2.0, "limit_from": spent(case)})
        assert left_today(limited) == 2.0
        more = limited.with_entry(Entry(check="fork", answer="no", hours=1.5))
        assert left_today(more) == pytest.approx(0.5)
        assert left_today(more.with_entry(Entry(repair="air", answer=PENDING, hours=3.0))) == 0.0

    @pytest.mark.parametrize(
        "wrong",
        [
            {"limit": -1.0},
            {"labour": float("inf")},
            {"parts": {"air": -5.0}},
            {"parts": {"Not An Id": 5.0}},
            {"currency": "x" * 13},
            {"moved": -0.1},
        ],
    )
    def test_refuses(self, wrong):
        with pytest.raises(ValidationError):
            Case.model_validate(wrong)


class TestLooking:
    def test_the_latest_counts(self):
        firm = Entry(check="pedal", answer="yes")
        case = case_of(PEDAL, BLED, firm)
        assert case.latest(("check", "pedal")) == 2
        assert case.without(("check", "pedal")).entries == (PEDAL, BLED)
        assert case.latest(("check", "fork")) is None
        assert case.answer_to(("check", "fork")) is None
        assert case.without(("check", "fork")) == case

    def test_before_opening(self):
        inside = Entry(check="fork", answer="yes", stage="inside")
        case = case_of(SHIFTS, inside, BLED)
        assert case.before_opening().entries == (SHIFTS, BLED)

    def test_cautions_are_listed_once(self):
        case = Case().with_acknowledged(("stands", "gloves")).with_acknowledged(("gloves", "eyes"))
        assert case.acknowledged == ("stands", "gloves", "eyes")


names = st.sampled_from(["air", "fork", "disc"])
answers = st.sampled_from(GRADES)
answered = st.one_of(
    st.builds(Entry, complaint=names, answer=answers),
    st.builds(Entry, check=names, answer=answers),
    st.builds(Entry, work=names, answer=answers, when=st.sampled_from(["job", "since"])),
    st.builds(Entry, repair=names, answer=st.sampled_from([PENDING, STILL_THERE])),
)


@given(st.lists(answered, max_size=12))
def test_answers_are_never_lost(entries):
    """The last answer about each thing is the one that counts, and each repair splits the time."""
    case = case_of(*entries)
    for entry in entries:
        assert case.latest(entry.subject) is not None
    if entries:
        assert entries[-1] in case.entries
    between = []
    for entry in case.entries:
        if entry.mends:
            between = []
        else:
            key = (entry.subject, entry.when)
            assert key not in between, "two answers about one thing with no repair between them"
            between.append(key)


@given(
    st.lists(
        answered.flatmap(
            lambda e: st.floats(0.0, 9.0).map(lambda h: e.model_copy(update={"hours": h}))
        ),
        max_size=12,
    )
)
def test_every_hour_stays_spent(entries):
    case = case_of(*entries)
    expected = sum(entry.hours for entry in entries)
    assert spent(case) == pytest.approx(expected, abs=1e-4)
    while case.entries:
        case = case.without_entry(len(case.entries) // 2)
        assert spent(case) == pytest.approx(expected, abs=1e-4)


@given(st.lists(answered, max_size=8), answered)
def test_the_same_answer_twice_changes_nothing(entries, entry):
    once = case_of(*entries, entry)
    if not entry.mends:
        assert once.with_entry(entry) == once
