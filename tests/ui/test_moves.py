"""Moves: each makes a case that a file could hold, and what was spent stays spent."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.assess import assess
from diagnose.case import PENDING, STILL_THERE, Case, Entry, left_today, spent
from diagnose.case_file import possible_answers
from tests.small_bases import make_base
from ui import moves
from ui.questions import (
    COMPLAINT_GONE,
    DONE_SEEN,
    DONE_UNSEEN,
    PART_SEEN,
    answered,
    asked,
    meaning,
    question_for,
)

REPAIR_CHOICES = (DONE_SEEN, DONE_UNSEEN, PART_SEEN, COMPLAINT_GONE, STILL_THERE)
COMPLAINT = Entry(complaint="drags", answer="yes")


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """Ways: 0.25 h under and back, 4 h out and 3 h in, 0.5 h for the cover; drives of 20 min."""
    return make_base(
        tmp_path_factory.mktemp("bases") / "moves",
        complaints={"drags": {}, "knocks": {}},
        findings={"spongy": {}, "grooved": {}, "worn": {}},
        causes={
            "air": {
                "brings": {"drags": 0.6},
                "shows": {"spongy": 0.8},
                "repair": {"from": "under", "hours": 0.5},
            },
            "fork": {
                "brings": {"drags": 0.6},
                "shows": {"grooved": 0.8},
                "repair": {"from": "out", "hours": 1.0},
            },
            "disc": {
                "brings": {"knocks": 0.6},
                "shows": {"worn": 0.8},
                "repair": {"from": "apart", "hours": 1.0},
            },
        },
        checks={
            "press": {"finding": "spongy", "minutes": 6},
            "look_up": {"answers": {"dry": {"spongy": "no"}, "wet": {}}, "from": "under"},
            "look_fork": {"finding": "grooved", "from": "out", "minutes": 12},
            "look_disc": {"finding": "worn", "from": "apart", "minutes": 12},
        },
        work={"bled": {"answers": {"well": {"cures": {"air": 0.97}}}}},
    )


def do(base, case, kind, name, choice, **more):
    return moves.answer(base, case, question_for(base, kind, name), choice, **more)


class TestHours:
    def test_a_check_costs_its_minutes_and_the_way_to_it(self, small):
        case = do(small, Case(), "check", "press", "yes")
        assert case.entries[-1].hours == pytest.approx(0.1)
        case = do(small, case, "check", "look_fork", "no")
        assert case.entries[-1].hours == pytest.approx(0.25 + 4.0 + 0.2)
        assert case.stands == "out"
        assert spent(case) == pytest.approx(4.55)

    def test_asking_costs_the_minutes_of_the_scale(self, small):
        case = do(small, Case(), "ask", "drags", "yes")
        assert case.entries[-1].hours == pytest.approx(3.0 / 60.0)

    def test_what_the_driver_said_when_he_came_costs_nothing(self, small):
        case = moves.with_asked(small, Case(), "drags", "yes", "")
        assert case.entries[-1].hours is None
        assert spent(do(small, case, "work", "bled", "well")) == 0.0

    def test_by_the_way_costs_nothing_and_moves_nothing(self, small):
        open_ = Case(stands="out")
        case = do(small, open_, "check", "press", "yes", by_the_way=True)
        entry = case.entries[-1]
        assert (entry.by_the_way, entry.hours, entry.stage) == (True, None, "inside")
        assert case.stands == "out"
        assert spent(case) == 0.0
        told = do(small, case, "complaint", "knocks", "no", by_the_way=True)
        assert spent(told) == 0.0
        assert answered(small, entry) == "yes (seen by the way)"

    @pytest.mark.parametrize(
        ("here", "there", "hours"),
        [
            ("seat", "out", 4.25),
            ("out", "seat", 3.25),
            ("apart", "out", 0.5),
            ("under", "apart", 4.5),
            ("out", "out", 0.0),
        ],
    )
    def test_a_way_by_hand_counts(self, small, here, there, hours):
        case = moves.stands(small, Case(stands=here), there)
        assert case.stands == there
        assert spent(case) == pytest.approx(hours)

    def test_the_users_own_hours_count(self, small):
        case = moves.with_hours(Case(), "out", 8.0)
        assert spent(moves.stands(small, case, "out")) == pytest.approx(8.25)

    def test_a_correction_keeps_its_hours_and_a_removal_keeps_them_spent(self, small):
        case = do(small, Case(), "check", "look_fork", "no")
        corrected = moves.change(case, 0, answer="yes")
        assert corrected.entries[0].hours == case.entries[0].hours
        assert spent(moves.remove(corrected, 0)) == spent(case)

    def test_the_limit_is_counted_from_when_it_is_said(self, small):
        case = moves.with_limit(do(small, Case(), "check", "look_up", "wet"), 2.0)
        assert left_today(case) == 2.0
        case = do(small, case, "check", "press", "no")
        assert left_today(case) == pytest.approx(2.0 - 0.25 - 0.1)  # down from under, and 6 minutes
        assert moves.with_limit(case, 2.0) == case
        assert left_today(moves.with_limit(case, 3.0)) == 3.0
        assert left_today(moves.with_limit(case, None)) is None


class TestRepairs:
    def test_a_repair_waits_for_its_drive_where_it_was_done(self, small):
        case = moves.mended(small, Case(), "fork", "10:00", seen=True)
        entry = case.entries[-1]
        assert entry.is_pending
        assert (entry.repair, entry.seen, entry.stage, entry.at) == (
            "fork",
            True,
            "inside",
            "10:00",
        )
        assert entry.hours == pytest.approx(5.25)
        assert case.stands == "out"
        assert moves.mended(small, Case(stands="apart"), "fork").stands == "apart"

    def test_several_are_proved_by_one_drive(self, small):
        case = moves.mended(small, moves.mended(small, Case(), "disc"), "fork")
        assert spent(case) == pytest.approx(4.75 + 1.0 + 1.0)
        vain = moves.driven(small, case, gone=False, at="12:00")
        assert [(e.repair, e.answer, e.at) for e in vain.entries] == [
            ("disc", STILL_THERE, "12:00"),
            ("fork", STILL_THERE, "12:00"),
        ]
        assert vain.stands == "seat"
        assert spent(vain) == pytest.approx(spent(case) + 3.75 + 20.0 / 60.0, abs=1e-4)
        gone = moves.driven(small, case, gone=True)
        assert gone.found.causes == ("disc", "fork")
        assert gone.found.sure == "complaint gone"
        assert spent(gone) == spent(vain)

    def test_what_was_seen_is_what_is_found(self, small):
        case = moves.mended(small, moves.mended(small, Case(), "disc", seen=True), "fork")
        found = moves.driven(small, case, gone=True).found
        assert (found.causes, found.sure) == (("disc",), "part seen")

    def test_only_what_was_put_right_since_the_last_drive_is_found(self, small):
        case = moves.mended(small, moves.tried(small, Case(), "air", ""), "fork")
        assert moves.driven(small, case, gone=True).found.causes == ("fork",)

    def test_a_drive_with_nothing_put_right_finds_nothing(self, small):
        case = moves.driven(small, Case(entries=(COMPLAINT,)), gone=True)
        assert case.found is None
        assert spent(case) == pytest.approx(20.0 / 60.0, abs=1e-4)

    def test_a_complaint_that_is_back_opens_the_case_again(self, small):
        closed = moves.driven(small, moves.mended(small, Case(), "air"), gone=True)
        assert closed.found is not None
        back = moves.driven(small, closed, gone=False)
        assert back.found is None
        assert back.entries[-1].is_repair

    @pytest.mark.parametrize("cause", ["air", "fork", "disc"])
    def test_pending_then_driven_is_tried(self, small, cause):
        start = Case(entries=(COMPLAINT,), stands="out")
        tried = moves.tried(small, start, cause, "9:00")
        repair = small.causes[cause].repair
        way = {"air": 3.0, "fork": 0.0, "disc": 0.5}[cause]
        out = {"air": 0.25, "fork": 3.25, "disc": 3.75}[cause]
        assert tried.entries[-1] == Entry(
            repair=cause,
            answer=STILL_THERE,
            stage="before" if cause == "air" else "inside",
            hours=way + repair.hours,
            at="9:00",
        )
        assert tried.stands == "seat"
        assert spent(tried) == pytest.approx(way + repair.hours + out + 1.0 / 3.0, abs=1e-4)
        done = moves.mended(small, start, cause, "9:00")
        assert moves.driven(small, done, gone=False, at="9:00") == tried

    def test_tried_in_vain_weighs_as_the_work_that_stands_for_it(self, small):
        """Bleeding cures air as surely as its repair does: always, 0.97."""
        case = Case(entries=(COMPLAINT,))
        work = Entry(work="bled", answer="well", when="since")
        tried, told = moves.tried(small, case, "air", ""), case.with_entry(work)
        assert [c.p for c in assess(small, tried).causes] == pytest.approx(
            [c.p for c in assess(small, told).causes]
        )

    def test_a_cause_of_another_base_can_not_be_tried(self, small):
        assert moves.tried(small, Case(), "rust", "") is None

    @pytest.mark.parametrize("choice", REPAIR_CHOICES)
    def test_the_card_says_it_all_in_one_answer(self, small, choice):
        case = do(small, Case(), "repair", "fork", choice, at="8:00")
        entry = case.entries[-1]
        assert entry.answer == (STILL_THERE if choice == STILL_THERE else PENDING)
        assert entry.seen == (choice in {DONE_SEEN, PART_SEEN})
        assert (case.found is not None) == (choice in {PART_SEEN, COMPLAINT_GONE})
        assert case.stands == ("out" if choice in {DONE_SEEN, DONE_UNSEEN} else "seat")

    @pytest.mark.parametrize("choice", REPAIR_CHOICES)
    def test_what_was_said_of_a_repair_can_be_changed(self, small, choice):
        case = moves.tried(small, Case(), "fork", "")
        changed = moves.change(case, 0, answer=choice, reading="", instrument=None, when="job")
        entry = changed.entries[0]
        assert entry.answer in possible_answers(small, entry)
        assert entry.answer == (STILL_THERE if choice == STILL_THERE else PENDING)
        assert entry.hours == case.entries[0].hours
        assert (changed.found is not None) == (choice in {PART_SEEN, COMPLAINT_GONE})

    @pytest.mark.parametrize(
        ("kind", "name"), [("repair", "fork"), ("drive", ""), ("hand_over", "")]
    )
    def test_an_answer_that_is_none_is_refused(self, small, kind, name):
        with pytest.raises(ValueError, match=r"perhaps|hand_over"):
            do(small, Case(), kind, name, "perhaps")


class TestMoney:
    def test_is_set_and_taken_back(self):
        case = moves.with_part(moves.with_labour(Case(), 85.0, "EUR"), "disc", 120.0)
        assert (case.labour, case.currency, case.parts) == (85.0, "EUR", {"disc": 120.0})
        assert moves.with_part(moves.with_labour(case, None, ""), "disc", None) == Case()


def any_move(base):
    """A strategy of moves: (name for the report, function from case to case)."""
    levels, causes = st.sampled_from(list(base.levels)), st.sampled_from(list(base.causes))
    checks = st.sampled_from(sorted(base.checks))
    return st.one_of(
        st.tuples(st.just("check"), checks, st.integers(0, 9), st.booleans()),
        st.tuples(st.just("ask"), st.sampled_from(sorted(base.complaints)), st.booleans()),
        st.tuples(st.just("repair"), causes, st.sampled_from(REPAIR_CHOICES)),
        st.tuples(st.just("drive"), st.booleans()),
        st.tuples(st.just("stands"), levels),
        st.tuples(st.just("change"), st.integers(0, 30), st.integers(0, 9)),
        st.tuples(st.just("remove"), st.integers(0, 30)),
        st.tuples(st.just("limit"), st.none() | st.floats(0.1, 50.0)),
        st.tuples(st.just("since"), st.booleans()),
    )


def moved(base, case, move):  # noqa: PLR0911 - one line for each kind of move
    kind, *rest = move
    if kind == "check":
        question = question_for(base, "check", rest[0])
        choice = question.choices[rest[1] % len(question.choices)].id
        return moves.answer(base, case, question, choice, by_the_way=rest[2])
    if kind == "ask":
        return do(base, case, "ask", rest[0], "yes" if rest[1] else "no")
    if kind == "repair":
        return do(base, case, "repair", *rest)
    if kind == "drive":
        return do(base, case, "drive", "", COMPLAINT_GONE if rest[0] else STILL_THERE)
    if kind == "stands":
        return moves.stands(base, case, rest[0])
    if kind == "limit":
        return moves.with_limit(case, rest[0])
    if kind == "since":
        return do(base, case, "work", "bled", "well", since=rest[0])
    if not case.entries:
        return case
    place = rest[0] % len(case.entries)
    if kind == "remove":
        return moves.remove(case, place)
    question = question_for(base, *case.entries[place].subject, batch=True)
    return moves.change(case, place, answer=question.choices[rest[1] % len(question.choices)].id)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(st.data())
def test_every_move_makes_a_valid_case_and_spends_no_less(small, data):
    case = Case()
    for _ in range(data.draw(st.integers(1, 10))):
        before = spent(case)
        case = moved(small, case, data.draw(any_move(small)))
        assert Case.model_validate(case.model_dump()) == case
        assert spent(case) >= before - 1e-9
        for entry in case.entries:
            assert entry.answer in possible_answers(small, entry)
            assert asked(small, entry)
            assert answered(small, entry)
            assert isinstance(meaning(small, entry), str)
        assert case.stands in small.levels
    assess(small, case)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(st.data())
def test_after_a_drive_nothing_waits_for_one_but_what_was_found(small, data):
    case = Case()
    for _ in range(data.draw(st.integers(1, 8))):
        case = moved(small, case, data.draw(any_move(small)))
    pending = [e.repair for e in case.entries if e.is_pending]
    vain = moves.driven(small, case, gone=False)
    assert not any(e.is_pending for e in vain.entries)
    assert [e.subject for e in vain.entries] == [e.subject for e in case.entries]
    gone = moves.driven(small, case, gone=True)
    assert gone.entries == case.entries
    assert gone.stands == vain.stands == "seat"
    if pending:
        assert set(gone.found.causes) <= set(pending)
