"""The Line room by keyboard, in a window: calls, search, states, papers, and two seats."""

from datetime import UTC, datetime

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication

from diagnose.case import Case, Entry, Found
from diagnose.records.kept import State
from diagnose.sentences import verdict
from tests.ui.conftest import close, wait_until
from tests.ui.test_accessibility import (
    cut_off,
    keys_given_twice,
    nameless,
    small_targets,
    sticks_out,
)
from ui import messages, theme
from ui.jobs import Jobs
from ui.line.timeline import subject_words
from ui.records import Records
from ui.session import Session
from ui.settings import Places, Settings
from ui.views import line_list
from ui.views.close_dialog import CloseDialog
from ui.views.line_paper import PaperDialog
from ui.views.line_print import write_text

CTRL, ALT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.AltModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
AT = "2026-03-04T15:06+00:00"
LINE = "Marten, blue tractor, grinds going into first"


class Hands:
    """A driver of the window that counts the keys it presses."""

    def __init__(self, driver):
        self.driver = driver
        self.pressed = 0

    @property
    def room(self):
        return self.driver.window.line.page

    @property
    def session(self):
        return self.driver.session

    def press(self, key, modifier=Qt.KeyboardModifier.NoModifier):
        QApplication.processEvents()
        self.pressed += 1
        self.driver.press(key, modifier)
        self.driver.settle()

    def type(self, text):
        self.pressed += len(text)
        self.driver.type(text)
        self.driver.settle()

    def call(self, line):
        """Take a caller by one line."""
        self.press(Qt.Key.Key_N, CTRL)
        self.type(line)
        self.press(Qt.Key.Key_Return)
        wait_until(lambda: self.session.standing is not None and not self.session.busy)
        self.driver.settle()

    def titles(self):
        model = self.room.list.model
        return [model.index(row, 0).data().partition(",")[0] for row in range(model.rowCount())]

    def answer(self):
        """Read the cautions, if there are any, and give the first answer; wait for what follows."""
        before = len(self.session.case.entries)
        if self.room.card.unread():
            self.press(Qt.Key.Key_R)
        pad = self.room.card.pad
        if pad.field is not None:
            check = self.session.base.checks[self.room.card.question.subject[1]]
            self.type(self.session.base.measurements[check.gauge].plausible[0])
            self.press(Qt.Key.Key_Return)
        else:
            self.press(Qt.Key.Key_1)
        wait_until(lambda: len(self.session.case.entries) > before and not self.session.busy)
        self.driver.settle()

    def choose(self, check):
        """Put a check on the card."""
        self.room.card.choose("check", check)
        for _ in range(10):  # until everything on it has its place
            self.driver.settle()

    def leave_field(self):
        """Leave the field for a reading, where letters are typed."""
        self.room.list.view.setFocus()


@pytest.fixture
def hands(driver):
    made = Hands(driver)
    made.press(Qt.Key.Key_2, CTRL)
    made.pressed = 0
    return made


def put(session, title, *complaints, state=State.OPEN, found=None, by="Sorrel"):
    """Put a case of another seat into the store."""
    entries = tuple(Entry(complaint=c, answer="yes", by=by, at=AT) for c in complaints)
    case = Case(title=title, entries=entries, found=Found(causes=(found,)) if found else None)
    records = Records(session.base, session.records.url, session.records.file, by)
    kept = records.keep(None, case, AT)
    if state is not State.OPEN:
        kept = records.store.set_state(kept.id, state, by, AT)
    records.close()
    return kept


@pytest.fixture
def three(hands):
    """Three cases in the list, the one put last on top."""
    for title in ("Aspen", "Birch", "Calla"):
        put(hands.session, title, "slips")
    hands.room.list.refresh()
    hands.driver.settle()
    assert hands.titles() == ["Calla", "Birch", "Aspen"]
    return hands


class TestNewCaller:
    def test_a_new_case_and_its_first_answer_take_few_keys(self, hands):
        hands.call(LINE)
        assert hands.pressed == len(LINE) + 2
        case = hands.session.case
        assert case.title == "Marten, blue tractor"
        assert case.entries[0].complaint == "gears_grind"
        assert hands.session.records.store.read(hands.session.kept.id).case == case
        hands.answer()
        assert len(hands.session.case.entries) == 2
        assert hands.pressed <= len(LINE) + 2 + 8

    def test_the_room_says_what_enter_will_note(self, hands):
        hands.press(Qt.Key.Key_N, CTRL)
        hands.type("Marten, tractor, judders, grinds going into first")
        base = hands.session.base.complaints
        said = hands.room.new._noted.text()
        assert said.startswith("Enter begins “Marten, tractor”: ")
        assert base["chatters"].name in said
        assert base["gears_grind"].name in said
        hands.press(Qt.Key.Key_Down)
        assert base["gears_grind"].name not in hands.room.new._noted.text()
        assert base["chatters"].name in hands.room.new._noted.text()

    def test_without_a_complaint_a_case_begins_with_the_words(self, hands):
        hands.call("Marten, tractor, qwertz")
        assert hands.session.case.words == "qwertz"
        assert hands.session.case.entries == ()
        assert hands.session.kept is not None
        assert hands.room.card.asks

    def test_esc_goes_back_and_nothing_is_kept(self, hands):
        hands.press(Qt.Key.Key_N, CTRL)
        hands.type("Marten")
        hands.press(Qt.Key.Key_Escape)
        assert not hands.room.new.isVisible()
        assert hands.session.records.store.find() == ()


class TestList:
    def test_the_next_case_the_one_above_and_the_one_before_by_one_key(self, three):
        for key, modifier, title in (
            (Qt.Key.Key_F8, None, "Calla"),
            (Qt.Key.Key_F8, None, "Birch"),
            (Qt.Key.Key_Down, ALT, "Aspen"),
            (Qt.Key.Key_F7, None, "Birch"),
            (Qt.Key.Key_F9, None, "Aspen"),
            (Qt.Key.Key_F9, None, "Birch"),
        ):
            three.press(key, modifier or Qt.KeyboardModifier.NoModifier)
            assert three.session.case.title == title
        assert three.driver.window.line.open

    def test_a_case_that_is_answered_keeps_its_place(self, three):
        three.press(Qt.Key.Key_F8)
        three.press(Qt.Key.Key_F8)
        three.answer()
        assert three.session.records.store.find()[0].title == "Birch"
        assert three.titles() == ["Calla", "Birch", "Aspen"]
        three.press(Qt.Key.Key_F8)
        assert three.session.case.title == "Aspen"

    def test_the_search_finds_as_one_types_and_enter_opens(self, three):
        three.press(Qt.Key.Key_F, CTRL)
        three.type("bir")
        assert three.titles() == ["Birch"]
        three.press(Qt.Key.Key_Return)
        assert three.session.case.title == "Birch"
        three.press(Qt.Key.Key_F, CTRL)
        three.type("qqq")
        assert three.titles() == []
        assert "No case" in three.room.list._note.text()
        three.press(Qt.Key.Key_Escape)
        assert three.titles() == ["Calla", "Birch", "Aspen"]

    def test_complaints_are_found_by_their_names(self, three):
        put(three.session, "Dorn", "gears_grind")
        three.press(Qt.Key.Key_Slash)
        three.type("grind")
        assert three.titles() == ["Dorn"]

    def test_single_keys_show_one_state_and_with_shift_set_it(self, three):
        three.press(Qt.Key.Key_F8)
        three.leave_field()
        three.press(Qt.Key.Key_K, SHIFT)
        assert three.session.kept.state is State.WAITING_CALLER
        assert three.room.head.state.text() == "State: waiting for caller"
        three.press(Qt.Key.Key_K)
        assert three.titles() == ["Calla"]
        three.press(Qt.Key.Key_Q)
        assert three.titles() == ["Birch", "Aspen"]
        three.press(Qt.Key.Key_Z)
        assert three.titles() == []
        three.press(Qt.Key.Key_U)
        assert len(three.titles()) == 3
        assert three.room.list.state is None

    def test_the_list_goes_on_by_enter_and_by_itself(self, hands, monkeypatch):
        monkeypatch.setattr(line_list, "SHOWN", 2)
        for title in ("Aspen", "Birch", "Calla", "Dorn", "Elder"):
            put(hands.session, title, "slips")
        hands.room.list.show_state(None)
        hands.driver.settle()
        assert hands.titles() == ["Elder", "Dorn", "2 more"]
        assert hands.room.list._note.text() == "The latest 2 of 5."
        hands.press(Qt.Key.Key_End)
        hands.press(Qt.Key.Key_Return)
        assert hands.titles() == ["Elder", "Dorn", "Calla", "Birch", "1 more"]
        hands.press(Qt.Key.Key_Return)
        assert hands.session.case.title == "Calla"
        hands.leave_field()
        hands.press(Qt.Key.Key_F8)
        assert hands.session.case.title == "Birch"
        assert hands.titles()[-1] == "Aspen"
        assert hands.room.list._note.text() == "5 cases."
        hands.press(Qt.Key.Key_Q)
        assert hands.titles() == ["Elder", "Dorn", "2 more"]

    def test_without_a_case_keys_work_and_the_room_says_what_waits(self, three):
        put(three.session, "Dorn", "slips", state=State.WAITING_PARTS)
        three.room.list.refresh()
        three.driver.settle()
        assert three.room.list.view.hasFocus()
        assert "3 open, 1 waiting for parts." in _texts(three.room._empty)
        assert not three.room.side.isVisible()
        three.press(Qt.Key.Key_P)
        assert three.titles() == ["Dorn"]
        three.press(Qt.Key.Key_Return)
        assert three.session.case.title == "Dorn"
        assert three.room.side.isVisible()

    @pytest.mark.parametrize("way", ["key", "menu"])
    def test_a_case_is_closed_by_saying_what_was_found(self, three, way):
        three.press(Qt.Key.Key_F8)
        three.leave_field()
        if way == "key":
            three.press(Qt.Key.Key_Z, SHIFT)
        else:
            three.room.head.state_wanted.emit(State.CLOSED)
        wait_until(lambda: QApplication.activeModalWidget() is not None)
        asked = QApplication.activeModalWidget()
        assert isinstance(asked, CloseDialog)
        wait_until(asked.isActiveWindow)
        three.driver.settle()
        three.driver.leave_dialog()
        assert three.session.kept.state is State.OPEN

    def test_after_a_case_is_closed_the_keys_of_the_list_work(self, three):
        from ui.closing import Ending

        three.press(Qt.Key.Key_F8)
        ending = Ending(("air_in_system",), "part seen", 1.0, "")
        three.driver.window.office.end.close(ending)
        three.driver.settle()
        wait_until(lambda: not three.session.busy)
        three.room.take_focus()
        three.press(Qt.Key.Key_Z)
        assert three.titles() == ["Calla"]
        assert not three.room.side.may_be.isVisible()
        three.press(Qt.Key.Key_Q, SHIFT)
        wait_until(lambda: not three.session.busy)
        kept = three.session.records.store.read(three.session.kept.id)
        assert (kept.state, kept.case.found) == (State.OPEN, None)
        wait_until(lambda: three.room.card.asks)

    def test_a_store_that_fails_is_told_and_the_list_stays(self, three, monkeypatch):
        from diagnose.records.errors import StoreError

        def fails(*_, **__):
            raise StoreError("The store does not answer.")

        monkeypatch.setattr(line_list, "look_up", fails)
        three.room.list.refresh()
        three.driver.settle()
        assert three.room.list._note.text() == "The store does not answer."
        assert len(three.titles()) == 3


class TestCard:
    def test_the_sentence_to_say_is_the_largest(self, hands):
        hands.call(LINE)
        check = next(
            c.id for c in hands.session.base.checks.values() if not c.cautions and not c.gauge
        )
        hands.choose(check)
        say = hands.session.base.checks[check].say
        sizes = {
            w.text(): w.fontInfo().pixelSize()
            for w in hands.room.card.findChildren(theme.QWidget)
            if hasattr(w, "text") and callable(w.text) and w.isVisible()
        }
        assert sizes[f"“{say}”"] == theme.pixels("title", 1.0) == 24
        assert all(size < 24 for text, size in sizes.items() if say not in text)
        hands.press(Qt.Key.Key_V)
        assert not any(say in t for t in _texts(hands.room.card))
        assert hands.driver.window.settings.voice == "do"

    def test_cautions_stand_before_the_sentence_and_are_read_first(self, hands):
        hands.call(LINE)
        check = next(c for c in hands.session.base.checks.values() if len(c.cautions) > 1)
        hands.choose(check.id)
        texts = _texts(hands.room.card._body)
        base = hands.session.base
        for caution in check.cautions:
            assert texts.index(base.cautions[caution].text) < texts.index(f"“{check.say}”")
        assert not hands.room.card.pad.isVisible()
        hands.press(Qt.Key.Key_R)
        assert hands.room.card.pad.isVisible()

    def test_a_stop_notice_stands_above_all(self, hands):
        hands.call(LINE)
        base = hands.session.base
        finding = next(f for f in base.findings.values() if f.stop)
        check = next(c for c in base.checks.values() if finding.id == c.finding)
        hands.choose(check.id)
        hands.answer()
        assert hands.room.stop is not None
        assert hands.room.stop.isVisible()

    def test_why_this_and_what_was_seen_open_by_key(self, hands):
        hands.call(LINE)
        for key in (Qt.Key.Key_Y, Qt.Key.Key_S):
            hands.leave_field()
            hands.press(key)
            assert QApplication.activeModalWidget() is not None
            hands.driver.leave_dialog()


def _texts(widget):
    from PySide6.QtWidgets import QLabel

    labels = [w for w in widget.findChildren(QLabel) if w.isVisible()]
    return [w.text() for w in sorted(labels, key=lambda w: w.mapTo(widget, w.pos() * 0).y())]


class TestSide:
    def test_the_timeline_follows_each_answer(self, hands):
        hands.call(LINE)
        assert hands.room.side._told.rowCount() == 1
        hands.answer()
        entry = hands.session.case.entries[-1]
        name = subject_words(hands.session.base, *entry.subject)
        latest = hands.room.side._told.index(0, 0).data()
        assert latest.startswith(f"{hands.session.records.by}, today ")
        assert name in latest

    def test_what_it_may_be_and_whether_to_pull_stand_beside_the_card(self, hands):
        hands.call(LINE)
        side, standing = hands.room.side, hands.session.standing
        causes = standing.assessment.causes[:3]
        shown = [side._may_be.index(row, 0).data().lower() for row in range(3)]
        assert all(text.startswith(c.name.lower()) for text, c in zip(shown, causes, strict=True))
        assert side._verdict.text() == f"{verdict(standing.assessment, standing.advice)[0]}."
        hands.answer()
        causes = hands.session.standing.assessment.causes
        assert side._may_be.index(0, 0).data().lower().startswith(causes[0].name.lower())

    def test_a_long_note_leaves_room_for_the_timeline(self, hands):
        hands.call(LINE)
        case = hands.session.case.model_copy(update={"note": "look at the pedal. " * 100})
        hands.session.change(case, "the handover note")
        hands.driver.settle()
        assert len(hands.room.side._note.text()) < 200
        assert hands.room.side.told.height() >= 5 * hands.room.fontMetrics().height()

    def test_closed_cases_like_this_one_are_shown_and_opened(self, hands):
        other = put(
            hands.session, "Elder", "gears_grind", state=State.CLOSED, found="air_in_system"
        )
        hands.call(LINE)
        here = hands.session.kept.id
        shown = hands.room.side._alike.index(0, 0).data()
        name = hands.session.base.causes["air_in_system"].name
        assert name.lower() in shown.lower()
        assert "The same complaint" in shown
        hands.room.side.alike.setFocus()
        hands.press(Qt.Key.Key_Return)
        assert hands.session.kept.id == other.id
        hands.press(Qt.Key.Key_F9)
        assert hands.session.kept.id == here


class TestPapers:
    def paper(self, hands, key):
        hands.leave_field()
        hands.press(key)
        dialog = QApplication.activeModalWidget()
        assert isinstance(dialog, PaperDialog)
        return dialog

    @pytest.mark.parametrize("key", [Qt.Key.Key_J, Qt.Key.Key_M])
    def test_while_the_answers_are_weighed_it_says_so(self, hands, monkeypatch, key):
        hands.call(LINE)
        hands.leave_field()
        monkeypatch.setattr(hands.session, "busy", True)
        hands.press(key)
        assert QApplication.activeModalWidget() is None
        assert hands.driver.window.header.said.text() == messages.BEING_WEIGHED

    def test_the_list_for_the_caller_is_copied_printed_and_saved(self, hands, tmp_path):
        hands.call(LINE)
        dialog = self.paper(hands, Qt.Key.Key_J)
        text = dialog.text.toPlainText()
        assert text.startswith("Marten, blue tractor")
        assert "\n1. " in text
        hands.press(Qt.Key.Key_C, ALT)
        wait_until(lambda: QGuiApplication.clipboard().text() == text)
        printed = []
        dialog.print_text = lambda words, _parent: bool(printed.append(words)) or True
        hands.press(Qt.Key.Key_P, ALT)
        wait_until(lambda: printed == [text])
        dialog.ask_path = lambda: str(tmp_path / "list")
        hands.press(Qt.Key.Key_S, ALT)
        wait_until((tmp_path / "list.txt").exists)
        assert (tmp_path / "list.txt").read_text(encoding="utf-8") == text
        dialog.ask_path = lambda: str(tmp_path / "list.pdf")
        hands.press(Qt.Key.Key_S, ALT)
        wait_until(lambda: dialog.said.text().endswith("list.pdf."))
        assert (tmp_path / "list.pdf").read_bytes().startswith(b"%PDF")
        dialog.ask_path = lambda: str(tmp_path / "no" / "list.txt")
        hands.press(Qt.Key.Key_S, ALT)
        wait_until(lambda: "could not be written" in dialog.said.text())
        hands.driver.leave_dialog()

    def test_a_pdf_that_cannot_be_written_says_so(self, dressed, tmp_path):
        with pytest.raises(OSError, match="No such file"):
            write_text(tmp_path / "no" / "list.pdf", "words")

    def test_the_handover_note_is_kept_with_the_case_and_shown(self, hands):
        hands.call(LINE)
        dialog = self.paper(hands, Qt.Key.Key_M)
        assert dialog.text.toPlainText().startswith("Known: ")
        dialog.text.setPlainText("Ask him about the pedal.")
        hands.press(Qt.Key.Key_K, ALT)
        wait_until(lambda: hands.session.case.note and not hands.session.busy)
        hands.driver.settle()
        kept = hands.session.records.store.read(hands.session.kept.id)
        assert kept.case.note == "Ask him about the pedal."
        assert "Ask him about the pedal." in _texts(hands.room.side)
        assert "Wrote the handover note" in hands.room.side._told.index(0, 0).data()
        hands.driver.window.activateWindow()
        again = self.paper(hands, Qt.Key.Key_M)
        assert again.text.toPlainText() == "Ask him about the pedal."
        again.text.setPlainText("x" * 2001)
        hands.press(Qt.Key.Key_K, ALT)
        wait_until(lambda: "take 1 away" in again.said.text())
        hands.driver.leave_dialog()

    def test_a_note_that_another_seats_has_replaced_is_offered_again(self, hands):
        hands.call(LINE)
        dialog = self.paper(hands, Qt.Key.Key_M)
        dialog.text.setPlainText("Mine.")
        hands.press(Qt.Key.Key_K, ALT)
        wait_until(lambda: hands.session.case.note and not hands.session.busy)
        other = seat(hands.session, "Sorrel")
        other.change(other.case.model_copy(update={"note": "Theirs."}), "a note")
        leave(other)
        said = []
        hands.session.said.connect(said.append)
        hands.session.change(hands.session.case.model_copy(update={"title": "New"}), "the name")
        assert hands.session.case.note == "Theirs."
        assert any("yours is kept" in sentence for sentence in said)
        wait_until(lambda: not hands.session.busy)
        hands.driver.settle()
        hands.driver.window.activateWindow()
        again = self.paper(hands, Qt.Key.Key_M)
        assert again.text.toPlainText() == "Mine.\n\nTheirs."
        hands.driver.leave_dialog()


def seat(session, by):
    """Another seat that has the case of a session open."""
    jobs = Jobs()
    records = Records(session.base, session.records.url, session.records.file, by)
    other = Session(session.base, jobs, records, clock=lambda: datetime(2026, 3, 4, tzinfo=UTC))
    other.start(kept=records.read(session.kept.id))
    return other


def leave(other):
    other._jobs.close()
    other.records.close()


def differ(hands, check):
    """Let two seats answer one question differently; the other seat was first."""
    other = seat(hands.session, "Sorrel")
    other.change(other.case.with_entry(Entry(check=check, answer="no", at=AT)), "their answer")
    leave(other)
    mine = hands.session.case.with_entry(Entry(check=check, answer="yes", at=AT))
    hands.session.change(mine, "my answer")
    wait_until(lambda: not hands.session.busy)
    hands.driver.settle()


class TestTwoSeats:
    @pytest.fixture
    def check(self, base):
        return next(c.id for c in base.checks.values() if c.finding and not c.gauge)

    @pytest.mark.parametrize(("key", "answer"), [(Qt.Key.Key_F3, "no"), (Qt.Key.Key_F4, "yes")])
    def test_a_conflict_shows_both_and_is_settled_by_one_key(self, hands, check, key, answer):
        hands.call(LINE)
        differ(hands, check)
        notice = hands.room.conflicts
        assert notice.isVisible()
        assert hands.session.case.answer_to(("check", check)) == "no"
        texts = _texts(notice)
        assert any("Sorrel" in text and "counts so far" in text for text in texts)
        assert {"yes", "no"} <= set(texts)
        hands.press(key)
        wait_until(lambda: not hands.session.busy)
        hands.driver.settle()
        assert not notice.isVisible()
        assert hands.session.case.answer_to(("check", check)) == answer
        kept = hands.session.records.store.read(hands.session.kept.id)
        assert kept.case.answer_to(("check", check)) == answer
        assert kept.conflicts == ()
        told = hands.session.records.store.conflicts(kept.id)
        assert len(told) == 1  # what was not chosen is still there
        assert told[0].settled_by == hands.session.records.by

    def test_the_bench_shows_the_same_notice(self, hands, check):
        hands.call(LINE)
        differ(hands, check)
        hands.press(Qt.Key.Key_1, CTRL)
        assert hands.driver.bench.conflicts.isVisible()
        hands.press(Qt.Key.Key_F3)
        assert not hands.driver.bench.conflicts.isVisible()

    def test_what_another_seat_said_is_joined_with_the_next_answer(self, hands, check):
        hands.call(LINE)
        other = seat(hands.session, "Sorrel")
        other.change(other.case.with_entry(Entry(check=check, answer="no", at=AT)), "theirs")
        leave(other)
        hands.session.change(hands.session.case.model_copy(update={"title": "Named"}), "the name")
        wait_until(lambda: not hands.session.busy)
        hands.driver.settle()
        assert hands.session.case.answer_to(("check", check)) == "no"
        assert hands.session.case.title == "Named"
        lines = [hands.room.side._told.index(i, 0).data() for i in range(3)]
        assert any(line.startswith("Sorrel") for line in lines)

    def test_only_a_servers_store_is_looked_at_again_and_only_while_shown(self, hands, monkeypatch):
        assert not hands.room._timer.isActive()
        monkeypatch.setattr(Records, "has_server", property(lambda _self: True))
        monkeypatch.setattr(Records, "send", lambda _self: None)
        hands.press(Qt.Key.Key_1, CTRL)
        hands.press(Qt.Key.Key_2, CTRL)
        assert hands.room._timer.isActive()
        put(hands.session, "Fennel", "slips")
        hands.room._look()
        hands.driver.settle()
        assert hands.titles() == ["Fennel"]
        hands.press(Qt.Key.Key_3, CTRL)
        assert not hands.room._timer.isActive()


class TestRooms:
    def test_three_keys_lead_to_three_rooms_and_the_header_says_which(self, hands):
        window = hands.driver.window
        hands.call(LINE)
        for key, name, page in (
            (Qt.Key.Key_1, "vehicle", window.bench),
            (Qt.Key.Key_2, "line", window.line.page),
            (Qt.Key.Key_3, "class", window.class_room),
            (Qt.Key.Key_1, "vehicle", window.bench),
        ):
            hands.press(key, CTRL)
            assert window.stack.currentWidget() is page
            assert [n for n, b in window.header.rooms.items() if b.isChecked()] == [name]

    def test_without_a_case_the_vehicle_is_the_list_of_cases(self, hands):
        hands.press(Qt.Key.Key_1, CTRL)
        assert hands.driver.window.stack.currentWidget() is hands.driver.window.cases

    def test_keys_of_the_line_do_nothing_elsewhere(self, hands):
        hands.call(LINE)
        hands.press(Qt.Key.Key_1, CTRL)
        hands.press(Qt.Key.Key_Z, SHIFT)
        assert hands.session.kept.state is State.OPEN

    def test_f6_goes_round_the_panels(self, hands):
        hands.call(LINE)
        hands.driver.settle()
        room, seen = hands.room, []
        for _ in range(4):
            hands.press(Qt.Key.Key_F6)
            focus = QApplication.focusWidget()
            seen.append(next((n for n, w in _panels(room).items() if _inside(w, focus)), "?"))
        assert sorted(seen) == ["alike", "card", "list", "told"]


def _panels(room):
    return {
        "list": room.list,
        "card": room.card,
        "told": room.side.told,
        "alike": room.side.alike,
    }


def _inside(panel, focus):
    return focus is not None and (panel is focus or panel.isAncestorOf(focus))


@pytest.fixture(scope="module")
def shown_at(qapp, face, new_driver, tmp_path_factory):
    """One window for all sizes of text, with a case, a conflict and closed cases."""
    theme.apply(qapp, "light", 1.0, face)
    folder = tmp_path_factory.mktemp("home")
    driver = new_driver(Settings(theme="light"), Places(folder / "config", folder / "data"))
    driver.window.load()
    driver.settle()
    hands = Hands(driver)
    hands.press(Qt.Key.Key_2, CTRL)
    put(driver.session, "Elder", "gears_grind", state=State.CLOSED, found="air_in_system")
    put(driver.session, "Dorn, a long name", "slips", "gears_grind", state=State.WAITING_PARTS)
    hands.call(LINE)
    check = next(c.id for c in driver.session.base.checks.values() if c.finding and not c.gauge)
    differ(hands, check)

    def show(name, scale):
        window = driver.window
        if window.settings.text_scale != scale:
            window.remember(text_scale=scale)
            window.dress()
        hands.room.new.left.emit()
        if name == "new":
            hands.press(Qt.Key.Key_N, CTRL)
            hands.type(LINE)
        for _ in range(10):
            QApplication.processEvents()
        return window

    yield show
    close(driver.window)


@pytest.mark.parametrize("name", ["case", "new"])
@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_names_targets_and_room_for_words(shown_at, name, scale):
    window = shown_at(name, scale)
    assert (window.width(), window.height()) == (1280, 800)
    assert window.line.page.conflicts.isVisible()
    if name == "new":
        field = window.line.page.new.search.field
        assert field.visibleRegion().boundingRect().height() == field.height()
    assert nameless(window) == []
    assert keys_given_twice(window) == []
    assert small_targets(window) == []
    assert cut_off(window) == []
    assert sticks_out(window) == []
