import threading
import time
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from diagnose.case import Case, Entry, Found
from diagnose.case_file import read_case_file, write_case_file
from diagnose.errors import CaseFileError
from diagnose.planning.lookahead import CancelledError
from diagnose.records.connecting import sqlite_url
from diagnose.records.kept import State
from ui import messages, weighing
from ui.jobs import Jobs
from ui.records import Records
from ui.session import Session

PATIENCE = 20_000
NOW = datetime(2026, 3, 4, 15, 6, tzinfo=UTC)


@pytest.fixture
def jobs(qtbot):
    made = Jobs()
    yield made
    made.close()


@pytest.fixture
def records(base, tmp_path):
    made = Records(base, sqlite_url(tmp_path / "store.sqlite"), tmp_path / "outbox.sqlite", "Odrin")
    yield made
    made.close()


@pytest.fixture
def session(base, jobs, records):
    return Session(base, jobs, records, clock=lambda: NOW)


def on_disk(session):
    """The case as somebody else would read it."""
    return session.records.store.read(session.kept.id).case


def complain(session, *names):
    for name in names:
        case = session.case.with_entry(Entry(complaint=name, answer="yes"))
        session.change(case, name)


def assessed(session, qtbot):
    qtbot.waitUntil(lambda: session.standing is not None and not session.busy, timeout=PATIENCE)


def test_nothing_is_written_before_the_first_change(session):
    session.start()
    assert session.kept is None
    assert session.records.store.find() == ()
    assert not session.saved


def test_each_answer_is_on_disk_before_anybody_hears_of_it(session):
    session.start()
    heard = []
    session.case_changed.connect(lambda: heard.append(on_disk(session)))
    complain(session, "slips", "gears_grind", "knock")
    assert heard[-1] == session.case
    assert [len(case.entries) for case in heard] == [1, 2, 3]
    assert session.saved
    assert {entry.by for entry in session.case.entries} == {"Odrin"}


def test_a_second_case_does_not_overwrite_the_first(session):
    session.start()
    complain(session, "slips")
    first = session.kept.id
    session.start()
    complain(session, "knock")
    assert session.kept.id != first
    assert len(session.records.store.find()) == 2


def test_undo_and_redo_go_through_the_cases_and_the_store(session):
    session.start()
    assert (session.undoes, session.redoes) == ("", "")
    complain(session, "slips", "knock")
    session.undo()
    assert [e.complaint for e in session.case.entries] == ["slips"]
    assert (session.undoes, session.redoes) == ("slips", "knock")
    assert on_disk(session) == session.case
    session.redo()
    assert [e.complaint for e in session.case.entries] == ["slips", "knock"]
    session.undo()
    complain(session, "grabs")
    assert session.redoes == ""
    for _ in range(5):
        session.undo()
    assert session.case.entries == ()


def test_a_part_of_a_step_is_undone_with_it(session):
    session.start()
    complain(session, "slips")
    session.amend(session.case.with_acknowledged(("road",)))
    assert session.case.acknowledged == ("road",)
    session.undo()
    assert session.case == Case(knowledge=session.base.version)


def test_reading_cautions_starts_no_assessment(session, qtbot):
    session.start()
    complain(session, "slips")
    assessed(session, qtbot)
    standing = session.standing
    session.amend(session.case.with_acknowledged(("road",)))
    assert not session.busy
    assert session.standing is standing


def test_the_assessment_is_of_the_latest_case(session, qtbot, monkeypatch):
    gate, seen = threading.Event(), []
    real = weighing.assess

    def slow(base, case, **options):
        gate.wait(20)
        seen.append(len(case.entries))
        return real(base, case, **options)

    monkeypatch.setattr(weighing, "assess", slow)
    told = []
    session.assessment_changed.connect(
        lambda: told.append(len(session.standing.assessment.case.entries))
    )
    session.start()
    complain(session, "slips", "knock", "grabs")
    gate.set()
    assessed(session, qtbot)
    assert told == [3]
    assert seen[:2] == [0, 3]


def test_the_standing_before_is_kept_for_comparison(session, qtbot):
    session.start()
    complain(session, "slips")
    assessed(session, qtbot)
    first = session.standing
    complain(session, "burning_smell")
    assessed(session, qtbot)
    assert session.before is first
    session.start()
    assert session.before is None


@pytest.mark.usefixtures("with_doubts")
def test_what_moved_the_ranking_is_found(session, qtbot, example):
    with qtbot.waitSignal(session.doubts_changed, timeout=PATIENCE):
        session.open(example)
    moved = session.doubts.moved
    assert moved
    assert len(moved) <= 2
    assert all(session.case.entries[i].work is None and 0 < m <= 1 for i, m in moved.items())


def test_an_example_becomes_a_copy(session, example, qtbot):
    before = example.read_bytes()
    session.open(example)
    assert session.kept is None
    complain(session, "slips")
    assert on_disk(session) == session.case
    assert example.read_bytes() == before


def test_a_bad_file_leaves_the_case_alone(session, tmp_path):
    session.start()
    complain(session, "slips")
    bad = tmp_path / "bad.yaml"
    bad.write_text("pull_once_case: 1\nentries:\n- {complaint: slipps, answer: 'yes'}\n")
    with pytest.raises(CaseFileError, match="slipps"):
        session.open(bad)
    assert session.case.entries[0].complaint == "slips"


class TestFiles:
    def test_a_file_is_taken_in_once_and_stays_as_it_is(self, session, tmp_path):
        path = tmp_path / "sent.yaml"
        write_case_file(path, Case(title="From the line"))
        before = path.read_bytes()
        session.open(path)
        first = session.kept.id
        complain(session, "slips")
        session.start()
        session.open(path)
        assert session.kept.id == first
        assert [e.complaint for e in session.case.entries] == ["slips"]
        assert path.read_bytes() == before

    def test_a_case_is_written_whole_and_the_store_goes_on(self, session, base, tmp_path):
        session.start()
        complain(session, "slips")
        place = tmp_path / "stick" / "mine.yaml"
        assert session.write(place)
        assert read_case_file(place, base) == session.case
        complain(session, "knock")
        assert len(on_disk(session).entries) == 2
        assert len(read_case_file(place, base).entries) == 1

    def test_that_it_can_not_be_written_is_told(self, session, qtbot, tmp_path):
        session.start()
        complain(session, "slips")
        (tmp_path / "file").write_text("", encoding="utf-8")
        with qtbot.waitSignal(session.failed):
            assert not session.write(tmp_path / "file" / "x.yaml")
        assert session.saved


class TestSavingFails:
    @pytest.fixture
    def stuck(self, base, jobs, tmp_path):
        # A file stands where the folder should be: nobody, not even root, can write below it.
        (tmp_path / "data").write_text("", encoding="utf-8")
        url = sqlite_url(tmp_path / "data" / "store.sqlite")
        records = Records(base, url, tmp_path / "outbox.sqlite", "Odrin")
        yield Session(base, jobs, records, clock=lambda: NOW)
        records.close()

    def test_it_says_so_and_keeps_the_case(self, stuck, qtbot):
        stuck.start()
        with qtbot.waitSignal(stuck.failed) as failure:
            complain(stuck, "slips")
        sentence, next_step = failure.args
        assert "folder can't be made" in sentence
        assert next_step
        assert stuck.case.entries[0].complaint == "slips"
        assert not stuck.saved
        assert stuck.trouble == sentence

    def test_it_is_tried_again_at_the_next_change(self, stuck, tmp_path):
        stuck.start()
        complain(stuck, "slips")
        (tmp_path / "data").unlink()
        complain(stuck, "knock")
        assert stuck.saved
        assert stuck.trouble == ""
        assert len(on_disk(stuck).entries) == 2

    def test_a_case_that_is_left_unsaved_is_held_and_saved_with_the_next(self, stuck, tmp_path):
        stuck.start()
        complain(stuck, "slips")
        stuck.start()
        assert stuck.trouble == messages.LEFT_UNSAVED
        complain(stuck, "knock")
        (tmp_path / "data").unlink()
        complain(stuck, "grabs")
        assert (stuck.saved, stuck.trouble) == (True, "")
        cases = [stuck.records.read(c.id).case for c in stuck.records.store.find()]
        told = sorted([e.complaint for e in case.entries] for case in cases)
        assert told == [["knock", "grabs"], ["slips"]]

    def test_a_left_case_that_can_not_be_kept_holds_up_no_other(self, stuck, tmp_path):
        stuck.start()
        entries = tuple(Entry(complaint="slips", answer="yes", at=f"t{i}") for i in range(1001))
        stuck.change(Case().model_copy(update={"entries": entries}), "far too much")
        heard = []
        stuck.failed.connect(lambda *words: heard.append(words))
        stuck.start()
        assert heard == [(messages.LEFT_UNSAVED, messages.LEFT_NEXT)]
        (tmp_path / "data").unlink()
        for name in ("knock", "grabs"):
            complain(stuck, name)
            assert (stuck.saved, stuck.trouble) == (True, messages.LEFT_UNSAVED)
        (listed,) = stuck.records.store.find()
        assert len(stuck.records.read(listed.id).case.entries) == 2
        assert not stuck.save()  # who closes the window is asked first

    def test_who_stays_after_all_has_the_case_once(self, stuck, tmp_path):
        stuck.start()
        complain(stuck, "slips")
        stuck.leave()  # the window was to be closed
        assert stuck.trouble
        (tmp_path / "data").unlink()
        complain(stuck, "knock")
        assert stuck.saved
        (listed,) = stuck.records.store.find()
        assert [e.complaint for e in stuck.records.read(listed.id).case.entries] == [
            "slips",
            "knock",
        ]

    def test_a_state_that_could_not_be_kept_is_kept_with_the_next_answer(self, stuck, tmp_path):
        stuck.start()
        complain(stuck, "slips")
        stuck.set_state(State.WAITING_CALLER)
        assert not stuck.saved
        (tmp_path / "data").unlink()
        complain(stuck, "knock")
        assert stuck.kept.state is State.WAITING_CALLER

    def test_it_can_be_written_somewhere_else(self, stuck, base, tmp_path):
        stuck.start()
        complain(stuck, "slips")
        assert stuck.write(tmp_path / "stick" / "mine.yaml")
        assert read_case_file(tmp_path / "stick" / "mine.yaml", base) == stuck.case


class TestTwoSeats:
    """Another seat works on the same case in the same store."""

    @pytest.fixture
    def other(self, base, session, tmp_path):
        made = Records(base, session.records.url, tmp_path / "other.sqlite", "Maive")
        yield made
        made.close()

    def test_what_the_other_said_comes_in_with_the_next_answer(self, session, other, qtbot):
        session.start()
        complain(session, "slips")
        kept = other.read(session.kept.id)
        entry = Entry(complaint="knock", answer="yes", by="Maive")
        other.keep(kept, kept.case.with_entry(entry), "2026-03-04T15:07+00:00")
        with qtbot.waitSignal(session.joined):
            complain(session, "grabs")
        assert {e.complaint for e in session.case.entries} == {"slips", "knock", "grabs"}
        assert on_disk(session) == session.case
        assert session.undoes == ""  # undo would take back what the other said

    def test_two_answers_to_one_question_are_a_conflict_until_it_is_settled(
        self, session, other, qtbot
    ):
        session.start()
        complain(session, "slips")
        kept = other.read(session.kept.id)
        entry = Entry(complaint="knock", answer="no", by="Maive")
        other.keep(kept, kept.case.with_entry(entry), "2026-03-04T15:07+00:00")
        complain(session, "knock")
        (conflict,) = session.kept.conflicts
        assert session.case.answer_to(("complaint", "knock")) == "no"
        session.settle(conflict.id, other=True)
        qtbot.waitUntil(lambda: session.kept.conflicts == (), timeout=PATIENCE)
        assert session.case.answer_to(("complaint", "knock")) == "yes"

    def test_two_that_are_settled_at_once_are_both_settled(self, session, other, qtbot):
        session.start()
        complain(session, "slips")
        kept = other.read(session.kept.id)
        for name in ("knock", "grabs", "oil_leak"):
            kept = other.keep(
                kept,
                kept.case.with_entry(Entry(complaint=name, answer="no", by="Maive")),
                "2026-03-04T15:07+00:00",
            )
        case = session.case
        for name in ("knock", "grabs", "oil_leak"):
            case = case.with_entry(Entry(complaint=name, answer="yes"))
        session.change(case, "three at once")
        assert len(session.kept.conflicts) == 3
        for conflict in session.kept.conflicts:
            session.settle(conflict.id, other=True)
        qtbot.waitUntil(lambda: session.kept.conflicts == (), timeout=PATIENCE)
        answers = [e.answer for e in on_disk(session).entries]
        assert answers == ["yes"] * 4

    def test_an_end_and_the_state_are_one_change(self, session, other):
        session.start()
        complain(session, "slips")
        found = Found(causes=(next(iter(session.base.causes)),), sure="part seen")
        ended = session.case.model_copy(update={"found": found})
        session.change(ended, "closing", State.CLOSED)
        (*_, last) = other.store.timeline(session.kept.id)
        assert [(w.kind, w.name) for w in last.what] == [("found", ""), ("state", "closed")]
        assert session.kept.state is State.CLOSED

    def test_two_states_are_a_conflict_until_it_is_settled(self, session, other, qtbot):
        session.start()
        complain(session, "slips")
        kept = other.read(session.kept.id)
        other.keep(kept, kept.case, "2026-03-04T15:07+00:00", State.CLOSED)
        session.set_state(State.WAITING_CALLER)
        assert session.kept.state is State.CLOSED
        (conflict,) = session.kept.conflicts
        session.settle(conflict.id, other=True)
        qtbot.waitUntil(lambda: session.kept.conflicts == (), timeout=PATIENCE)
        assert other.read(kept.id).state is State.WAITING_CALLER
        assert other.store.read(kept.id, session.kept.number).state is State.WAITING_CALLER

    def test_how_far_a_case_is_is_kept(self, session, other, qtbot):
        session.start()
        complain(session, "slips")
        session.set_state(State.WAITING_PARTS)
        qtbot.waitUntil(lambda: session.kept.state is State.WAITING_PARTS, timeout=PATIENCE)
        assert other.read(session.kept.id).state is State.WAITING_PARTS


def test_an_error_of_the_engine_is_told_and_nothing_is_lost(session, qtbot, monkeypatch):
    def broken(base, case):
        raise weighing.PullOnceError("It can't be weighed.", "Take it back.")

    monkeypatch.setattr(weighing, "assess", broken)
    with qtbot.waitSignal(session.failed, timeout=PATIENCE) as failure:
        session.start()
        complain(session, "slips")
    assert failure.args == ["It can't be weighed.", "Take it back."]
    assert not session.busy
    assert on_disk(session) == session.case


class TestRefining:
    """The first advice is there at once; what it becomes is heard of later, or never."""

    @pytest.fixture
    def slow(self, monkeypatch):
        """Advice that is refined once the gate is open, unless it is cancelled before."""
        first_only = weighing.advices
        gate, ended = threading.Event(), []

        def refined(assessment, *, cancelled):
            first = next(first_only(assessment))
            yield first
            while not gate.is_set():
                if cancelled():
                    ended.append(len(assessment.case.entries))
                    raise CancelledError
                time.sleep(0.001)
            yield replace(first, refined=True)
            yield replace(first, refined=True, gap=0.1)

        monkeypatch.setattr(weighing, "advices", refined)
        return gate, ended

    def test_the_first_advice_does_not_wait_for_the_refined_one(self, session, qtbot, slow):
        gate, _ = slow
        session.start()
        complain(session, "slips")
        assessed(session, qtbot)
        first = session.standing.advice
        assert not first.refined
        with qtbot.waitSignal(session.advice_changed, timeout=PATIENCE):
            gate.set()
        assert session.standing.advice.refined
        assert session.standing.first is first
        qtbot.waitUntil(lambda: session.standing.advice.gap == 0.1, timeout=PATIENCE)
        assert session.standing.first is first
        assert not session.busy

    def test_a_newer_case_cancels_the_older_refinement(self, session, qtbot, slow):
        gate, ended = slow
        heard = []
        session.failed.connect(lambda *told: heard.append(told))
        session.advice_changed.connect(
            lambda: heard.append(len(session.standing.assessment.case.entries))
        )
        session.start()
        complain(session, "slips")
        assessed(session, qtbot)
        complain(session, "knock")
        assessed(session, qtbot)
        qtbot.waitUntil(lambda: ended[-1:] == [1], timeout=PATIENCE)
        gate.set()
        qtbot.waitUntil(lambda: bool(heard), timeout=PATIENCE)
        qtbot.waitUntil(lambda: session.standing.advice.gap is not None, timeout=PATIENCE)
        assert heard == [2, 2]

    def test_closing_does_not_wait_for_the_refinement(self, session, qtbot, jobs, slow):
        _, ended = slow
        session.start()
        complain(session, "slips")
        assessed(session, qtbot)
        jobs.close()
        assert ended[-1:] == [1]
