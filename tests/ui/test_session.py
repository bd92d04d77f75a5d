import threading
import time
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from diagnose.case import Case, Entry
from diagnose.case_file import read_case_file
from diagnose.errors import CaseFileError
from diagnose.planning.lookahead import CancelledError
from ui import session as session_module
from ui.jobs import Jobs
from ui.session import Session

PATIENCE = 20_000
NOW = datetime(2026, 3, 4, 15, 6, tzinfo=UTC)


@pytest.fixture
def jobs(qtbot):
    made = Jobs()
    yield made
    made.close()


@pytest.fixture
def session(base, jobs, tmp_path):
    return Session(base, jobs, tmp_path / "cases", clock=lambda: NOW)


def complain(session, *names):
    for name in names:
        case = session.case.with_entry(Entry(complaint=name, answer="yes"))
        session.change(case, name)


def assessed(session, qtbot):
    qtbot.waitUntil(lambda: session.standing is not None and not session.busy, timeout=PATIENCE)


def test_nothing_is_written_before_the_first_change(session):
    session.start()
    assert not session.folder.exists()
    assert not session.saved


def test_each_answer_is_on_disk_before_anybody_hears_of_it(session, base):
    session.start()
    heard = []
    session.case_changed.connect(lambda: heard.append(read_case_file(session.path, base)))
    complain(session, "slips", "gears_grind", "knock")
    assert heard[-1] == session.case
    assert [len(case.entries) for case in heard] == [1, 2, 3]
    assert session.saved
    assert session.path.name == "case 2026-03-04 1506.yaml"


def test_a_second_case_does_not_overwrite_the_first(session):
    session.start()
    complain(session, "slips")
    first = session.path
    session.start()
    complain(session, "knock")
    assert session.path != first
    assert len(list(session.folder.iterdir())) == 2


def test_undo_and_redo_go_through_the_cases_and_the_file(session, base):
    session.start()
    assert (session.undoes, session.redoes) == ("", "")
    complain(session, "slips", "knock")
    session.undo()
    assert [e.complaint for e in session.case.entries] == ["slips"]
    assert (session.undoes, session.redoes) == ("slips", "knock")
    assert read_case_file(session.path, base) == session.case
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
    real = session_module.assess

    def slow(base, case, **options):
        gate.wait(20)
        seen.append(len(case.entries))
        return real(base, case, **options)

    monkeypatch.setattr(session_module, "assess", slow)
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
    assert session.path is None
    complain(session, "slips")
    assert session.path.parent == session.folder
    assert example.read_bytes() == before


def test_a_bad_file_leaves_the_case_alone(session, tmp_path):
    session.start()
    complain(session, "slips")
    bad = tmp_path / "bad.yaml"
    bad.write_text("pull_once_case: 1\nentries:\n- {complaint: slipps, answer: 'yes'}\n")
    with pytest.raises(CaseFileError, match="slipps"):
        session.open(bad)
    assert session.case.entries[0].complaint == "slips"


class TestSavingFails:
    @pytest.fixture
    def stuck(self, base, jobs, tmp_path):
        # A file stands where the folder should be: nobody, not even root, can write below it.
        (tmp_path / "cases").write_text("", encoding="utf-8")
        return Session(base, jobs, tmp_path / "cases", clock=lambda: NOW)

    def test_it_says_so_and_keeps_the_case(self, stuck, qtbot):
        stuck.start()
        with qtbot.waitSignal(stuck.failed) as failure:
            complain(stuck, "slips")
        sentence, next_step = failure.args
        assert "could not be saved" in sentence
        assert next_step
        assert stuck.case.entries[0].complaint == "slips"
        assert not stuck.saved
        assert stuck.trouble == sentence

    def test_it_is_tried_again_at_the_next_change(self, stuck, base):
        stuck.start()
        complain(stuck, "slips")
        stuck.folder.unlink()
        complain(stuck, "knock")
        assert stuck.saved
        assert stuck.trouble == ""
        assert len(read_case_file(stuck.path, base).entries) == 2

    def test_it_can_be_saved_somewhere_else(self, stuck, base, tmp_path):
        stuck.start()
        complain(stuck, "slips")
        place = tmp_path / "stick" / "mine.yaml"
        assert stuck.save_as(place)
        assert stuck.path == place
        assert read_case_file(place, base) == stuck.case

    def test_a_failed_save_as_stays_with_the_old_file(self, session, tmp_path):
        session.start()
        complain(session, "slips")
        old = session.path
        (tmp_path / "file").write_text("", encoding="utf-8")
        assert not session.save_as(tmp_path / "file" / "x.yaml")
        assert session.path == old


def test_an_error_of_the_engine_is_told_and_nothing_is_lost(session, qtbot, monkeypatch, base):
    def broken(base, case):
        raise session_module.PullOnceError("It can't be weighed.", "Take it back.")

    monkeypatch.setattr(session_module, "assess", broken)
    with qtbot.waitSignal(session.failed, timeout=PATIENCE) as failure:
        session.start()
        complain(session, "slips")
    assert failure.args == ["It can't be weighed.", "Take it back."]
    assert not session.busy
    assert read_case_file(session.path, base) == session.case


class TestRefining:
    """The first advice is there at once; what it becomes is heard of later, or never."""

    @pytest.fixture
    def slow(self, monkeypatch):
        """Advice that is refined once the gate is open, unless it is cancelled before."""
        first_only = session_module.advices
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

        monkeypatch.setattr(session_module, "advices", refined)
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
