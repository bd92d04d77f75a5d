"""Closing, photographs, reports, settings, learning and the shop's numbers, by keyboard alone."""

import csv
from datetime import date
from uuid import uuid4

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QApplication, QDialog, QPushButton

from diagnose.case import Case, Entry, Found, Leading, Ranking, spent, weighed_digest
from diagnose.case_file import read_case, write_case_file
from diagnose.case_photos import CasePhoto
from diagnose.records.connecting import sqlite_url
from diagnose.records.kept import State
from diagnose.records.store import open_store
from tests.ui.conftest import wait_until
from tests.ui.test_accessibility import (
    cut_off,
    keys_given_twice,
    nameless,
    small_targets,
    sticks_out,
)
from ui import messages
from ui.settings import Places, Settings, read_settings
from ui.views.close_dialog import CloseDialog
from ui.views.photo_views import LargePhoto
from ui.views.photos_dialog import PhotosDialog
from ui.views.report_dialog import ReportDialog
from ui.views.settings_dialog import SettingsDialog
from ui.views.then_dialog import ThenDialog
from ui.widgets.text import Words

CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
KEY = Qt.Key


def shown(driver, kind=QDialog):
    """The dialog that is open, once it has the keyboard."""
    driver.settle()
    wait_until(lambda: any(d.isVisible() for d in driver.window.findChildren(kind)))
    found = next(d for d in driver.window.findChildren(kind) if d.isVisible())
    wait_until(found.isActiveWindow)
    return found


def alt(driver, key):
    """Press a key with Alt, and wait until the button it belongs to has come up again."""
    driver.press(key, Qt.KeyboardModifier.AltModifier)
    wait_until(lambda: not any(b.isDown() for b in driver.window.findChildren(QPushButton)))


def gone(driver):
    """Wait until no dialog is open and nothing is under way."""
    wait_until(lambda: not [d for d in driver.window.findChildren(QDialog) if d.isVisible()])
    driver.window.activateWindow()
    driver.settle()


def picture(path, width=300, height=200, colour="#336699"):
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(QColor(colour))
    assert image.save(str(path))
    return str(path)


def closed_case(store, cause, day, sure="part seen", **more):
    entries = (Entry(complaint="gears_grind", answer="yes", hours=1.0),)
    found = Found(causes=(cause,), sure=sure, **more)
    kept = store.new(
        Case(title=f"Van of {day}", entries=entries, found=found),
        "ada",
        f"{day}T08:00+00:00",
        str(uuid4()),
    )
    store.set_state(kept.id, State.CLOSED, "ada", f"{day}T16:00+00:00")
    return kept.id


@pytest.fixture(scope="module")
def one(window):
    """One window for all tests here: each starts a case of its own in it."""
    return window


@pytest.fixture
def kept(one, example, qtbot):
    """The example at the bench, kept as a case of its own."""
    one.qtbot = qtbot
    for old in one.window.findChildren(QDialog):
        old.close()
    one.window.clear_trouble()
    one.window.activateWindow()
    one.window.open_path(example)
    one.settle()
    one.session.change(one.session.case.model_copy(update={"title": str(uuid4())}), "the name")
    one.settle()
    return one


def in_store(driver):
    return driver.session.records.store.read(driver.session.kept.id)


class TestClosing:
    def test_a_case_is_closed_by_keyboard(self, kept):
        session = kept.session
        first = session.standing.assessment.causes[0]
        kept.press(KEY.Key_E, CTRL)
        asked = shown(kept, CloseDialog)
        kept.type(first.name[:12])
        kept.press(KEY.Key_Return)
        assert asked._keys == [first.id]
        alt(kept, KEY.Key_2)
        assert asked.sure.value == "complaint gone"
        alt(kept, KEY.Key_H)
        asked.hours.selectAll()
        kept.type("4,5")
        alt(kept, KEY.Key_Y)
        kept.type("seen on the lift")
        alt(kept, KEY.Key_C)
        gone(kept)
        found = in_store(kept)
        assert found.state is State.CLOSED
        assert found.case.found.causes == (first.id,)
        assert (found.case.found.sure, found.case.found.why) == (
            "complaint gone",
            "seen on the lift",
        )
        assert spent(found.case) == pytest.approx(4.5)
        assert found.case.found.at_once > 0.0
        (what,) = [
            {what.kind for what in change.what}
            for change in session.records.store.timeline(found.id)
            if "state" in {what.kind for what in change.what}
        ]
        assert "found" in what  # no seat ever sees a closed case without its end
        (ended,) = [c for c in session.records.store.closings() if c.id == found.id]
        assert ended.hours == pytest.approx(4.5)

    def test_a_case_in_which_nothing_was_told_says_why_it_is_not_closed(self, kept):
        kept.session.start()
        kept.settle()
        kept.press(KEY.Key_E, CTRL)
        QApplication.processEvents()
        assert not [d for d in kept.window.findChildren(CloseDialog) if d.isVisible()]
        assert kept.window.header.said.text() == messages.NOTHING_TO_CLOSE

    def test_several_causes_are_taken_and_one_is_taken_out(self, kept):
        one, other = kept.session.standing.assessment.causes[:2]
        kept.press(KEY.Key_E, CTRL)
        asked = shown(kept, CloseDialog)
        for cause in (one, other):
            alt(kept, KEY.Key_W)
            kept.type(cause.name)
            kept.press(KEY.Key_Return)
        assert asked._keys == [one.id, other.id]
        asked.found.setFocus()
        asked.found.setCurrentIndex(asked.found.model().index(0, 0))
        kept.press(KEY.Key_Delete)
        assert asked._keys == [other.id]
        kept.leave_dialog()
        assert kept.session.case.found is None

    @pytest.mark.parametrize(("hours", "said"), [("", "a number"), ("often", "a number")])
    def test_what_is_missing_is_said_and_nothing_is_closed(self, kept, hours, said):
        kept.press(KEY.Key_E, CTRL)
        asked = shown(kept, CloseDialog)
        alt(kept, KEY.Key_C)
        assert asked.trouble.text().startswith("Say what was found")
        asked._take(kept.session.standing.assessment.causes[0].id)
        asked.hours.setText(hours)
        alt(kept, KEY.Key_C)
        assert said in asked.trouble.text()
        assert asked.isVisible()
        kept.leave_dialog()
        assert kept.session.case.found is None
        assert in_store(kept).state is State.OPEN

    def test_taking_it_back_opens_the_case_again(self, kept):
        self.close_it(kept)
        with kept.qtbot.waitSignal(kept.session.saved_changed):
            kept.press(KEY.Key_Z, CTRL)
        kept.settle()
        wait_until(lambda: in_store(kept).state is State.OPEN)
        assert in_store(kept).case.found is None

    def test_a_closed_case_is_opened_again(self, kept):
        self.close_it(kept)
        kept.press(KEY.Key_E, CTRL)
        asked = shown(kept, CloseDialog)
        assert asked._keys == list(kept.session.case.found.causes)
        alt(kept, KEY.Key_O)
        gone(kept)
        assert in_store(kept).state is State.OPEN
        assert kept.session.case.found is None

    def test_what_another_seat_found_asks_nothing(self, kept):
        session, store = kept.session, kept.session.records.store
        there = in_store(kept)
        cause = session.standing.assessment.causes[0].id
        found = there.case.model_copy(update={"found": Found(causes=(cause,))})
        store.save(there.id, found, there.number, "Bo", "2026-03-04T10:00+00:00", str(uuid4()))
        session.change(session.case.model_copy(update={"words": "it grinds"}), "the words")
        kept.settle()
        QApplication.processEvents()
        assert session.case.found is not None
        assert not [d for d in kept.window.findChildren(CloseDialog) if d.isVisible()]

    @staticmethod
    def close_it(driver):
        driver.press(KEY.Key_E, CTRL)
        asked = shown(driver, CloseDialog)
        asked._take(driver.session.standing.assessment.causes[0].id)
        alt(driver, KEY.Key_C)
        gone(driver)
        assert in_store(driver).state is State.CLOSED
        driver.bench.take_focus()


class TestPhotographs:
    def test_pictures_are_added_described_enlarged_and_taken_away(self, kept, tmp_path):
        paths = [picture(tmp_path / f"{n}.png", 2500, 40 + n) for n in (1, 2)]
        paths.append(str(tmp_path / "notes.txt"))
        (tmp_path / "notes.txt").write_text("no picture")
        kept.press(KEY.Key_P, CTRL | SHIFT)
        grid = shown(kept, PhotosDialog)
        grid.ask_paths = lambda: paths
        alt(kept, KEY.Key_A)
        kept.settle()
        assert [s.photo.name for s in grid.shown] == ["1.png", "2.png"]
        assert "notes.txt is neither" in grid.trouble.text()
        grid.grid.setCurrentRow(0)
        alt(kept, KEY.Key_S)
        kept.type("the worn pad")
        kept.press(KEY.Key_Return)
        kept.settle()
        assert [s.photo.caption for s in grid.shown] == ["the worn pad", ""]
        assert grid.grid.currentRow() == 0
        alt(kept, KEY.Key_S)
        kept.type("the worn pad, cracked")  # Alt+S has marked all of the old words
        kept.press(KEY.Key_Return)
        kept.settle()
        assert [s.photo.caption for s in grid.shown] == ["the worn pad, cracked", ""]
        grid.grid.setFocus()
        kept.press(KEY.Key_Return)
        large = shown(kept, LargePhoto)
        assert large.words.text() == "the worn pad, cracked"
        kept.press(KEY.Key_Escape)
        wait_until(lambda: QApplication.activeModalWidget() is grid)
        grid.activateWindow()
        wait_until(grid.isActiveWindow)
        alt(kept, KEY.Key_T)
        kept.settle()
        assert [s.photo.name for s in grid.shown] == ["2.png"]
        kept.leave_dialog()
        assert [p.name for p in kept.session.records.store.photos(kept.session.kept.id)] == [
            "2.png"
        ]

    def test_they_are_in_the_written_file_and_come_in_with_it(
        self, kept, make_driver, tmp_path, base
    ):
        store, case_id = kept.session.records.store, kept.session.kept.id
        kept.press(KEY.Key_P, CTRL | SHIFT)
        grid = shown(kept, PhotosDialog)
        grid.take([picture(tmp_path / "fork.jpg")])
        kept.settle()
        kept.leave_dialog()
        data = store.photo(store.photos(case_id)[0].id)
        path = tmp_path / "case.yaml"
        kept.window.files.ask_save_path = lambda: str(path)
        kept.press(KEY.Key_S, CTRL | SHIFT)
        kept.settle()
        assert read_case(path, base).photographs == (CasePhoto("fork.jpg", "", data),)
        other = make_driver()
        other.open(path)
        there = other.session.records.store
        (photo,) = there.photos(other.session.kept.id)
        assert there.photo(photo.id) == data

    def test_a_hostile_one_is_left_out_and_told(self, kept, tmp_path):
        path = tmp_path / "case.yaml"
        write_case_file(path, Case(title="From afar"), (CasePhoto("x.jpg", "", b"MZ" * 40),))
        kept.open(path)
        assert kept.session.case.title == "From afar"
        texts = [w.text() for w in kept.window.trouble.notice.findChildren(Words)]
        assert any("x.jpg is neither a JPEG nor a PNG" in text for text in texts)
        assert kept.session.records.store.photos(kept.session.kept.id) == ()


class TestReport:
    @pytest.mark.parametrize(("name", "begins"), [("r.pdf", b"%PDF-"), ("r.html", b"<!DOCTYPE")])
    def test_it_is_written_where_it_was_said_with_its_photographs(
        self, kept, tmp_path, name, begins
    ):
        session = kept.session
        kept.press(KEY.Key_P, CTRL | SHIFT)
        shown(kept, PhotosDialog).take([picture(tmp_path / "fork.jpg")])
        kept.settle()
        kept.leave_dialog()
        kept.press(KEY.Key_R, CTRL)
        asked = shown(kept, ReportDialog)
        alt(kept, KEY.Key_J)
        assert asked.hours.value == "yes"
        alt(kept, KEY.Key_L)
        alt(kept, KEY.Key_T)
        asked.where.setText(str(tmp_path / name))
        kept.press(KEY.Key_Return)
        gone(kept)
        content = (tmp_path / name).read_bytes()
        assert content.startswith(begins)
        if name.endswith("html"):
            assert b"fork.jpg" in content
            assert session.case.title.encode() in content
        assert str(tmp_path / name) in kept.window.header.said.text()

    @pytest.mark.parametrize("name", ["r.txt", "", "none/r.pdf"])
    def test_a_place_that_can_not_be_is_said(self, kept, tmp_path, name):
        kept.press(KEY.Key_R, CTRL)
        asked = shown(kept, ReportDialog)
        asked.where.setText(str(tmp_path / name) if name else "")
        alt(kept, KEY.Key_R)
        assert "ends in .pdf" in asked.said.text()
        kept.leave_dialog()
        assert list(tmp_path.iterdir()) == []

    def test_a_silent_customer_can_be_reported(self, kept, tmp_path):
        kept.press(KEY.Key_E, CTRL)
        shown(kept, CloseDialog)._take(kept.session.standing.assessment.causes[0].id)
        alt(kept, KEY.Key_3)
        alt(kept, KEY.Key_C)
        gone(kept)
        kept.press(KEY.Key_R, CTRL)
        asked = shown(kept, ReportDialog)
        asked.where.setText(str(tmp_path / "r.html"))
        alt(kept, KEY.Key_R)
        gone(kept)
        assert "nothing was heard from the customer" in (tmp_path / "r.html").read_text()


class TestSettings:
    def test_who_sits_here_holds_at_once_and_a_store_from_the_next_start(self, driver, tmp_path):
        window, old = driver.window, driver.session.records.url
        driver.press(KEY.Key_Comma, CTRL)
        asked = shown(driver, SettingsDialog)
        driver.type("Ada")
        alt(driver, KEY.Key_C)
        new = tmp_path / "elsewhere" / "cases.sqlite"
        driver.type(str(new))
        alt(driver, KEY.Key_N)
        assert asked.learning.value == "on"
        alt(driver, KEY.Key_T)
        gone(driver)
        assert driver.session.records.by == "Ada"
        assert driver.session.records.url == old
        assert "from the next start" in window.header.said.text()
        written = read_settings(window.places.settings)
        assert (written.author, written.store, written.learning) == (
            "Ada",
            sqlite_url(new),
            True,
        )

    def test_what_can_not_be_used_is_said_and_nothing_is_taken(self, driver, tmp_path):
        (tmp_path / "notes.sqlite").write_text("my notes")
        driver.press(KEY.Key_Comma, CTRL)
        asked = shown(driver, SettingsDialog)
        driver.type("Ada")
        asked.where.setText(str(tmp_path / "notes.sqlite"))
        alt(driver, KEY.Key_T)
        driver.settle()
        assert asked.isVisible()
        assert asked.said.text().endswith("Nothing was changed.")
        driver.leave_dialog()
        assert driver.window.settings.author == ""

    def test_a_folder_that_does_not_fit_is_not_taken(self, driver, tmp_path):
        folder = tmp_path / "mine"
        folder.mkdir()
        (folder / "causes.yaml").write_text("cause: nonsense\n")
        driver.press(KEY.Key_Comma, CTRL)
        asked = shown(driver, SettingsDialog)
        asked.ask_folder = lambda: str(folder)
        alt(driver, KEY.Key_A)
        alt(driver, KEY.Key_T)
        driver.settle()
        assert "do not fit" in asked.said.text()
        asked.folders.setFocus()
        asked.folders.setCurrentIndex(asked.folders.model().index(0, 0))
        driver.press(KEY.Key_Delete)
        alt(driver, KEY.Key_T)
        gone(driver)
        assert driver.window.settings.overlays == ()

    def test_the_environment_outranks_and_says_so(self, driver, monkeypatch):
        monkeypatch.setenv("PULL_ONCE_STORE", "sqlite:///x")
        driver.press(KEY.Key_Comma, CTRL)
        asked = shown(driver, SettingsDialog)
        assert "outranks" in asked.outranked.text()
        assert not asked.where.isEnabled()
        driver.leave_dialog()


class TestLearning:
    @pytest.fixture
    def places(self, tmp_path):
        return Places(tmp_path / "config", tmp_path / "data")

    @pytest.fixture
    def ids(self, places, base):
        places.data.mkdir(parents=True)
        store = open_store(sqlite_url(places.store))
        causes = [c.id for c in base.causes.values() if not c.when][:3]
        made = [closed_case(store, c, f"2026-02-{n:02}") for n, c in enumerate(causes, 1)]
        store.close()
        return made

    def test_it_is_off_until_it_is_switched_on_and_used_from_the_next_start(
        self, make_driver, places, ids, base
    ):
        driver = make_driver(places=places)
        assert not driver.window.learned.isVisible()
        driver.press(KEY.Key_L, CTRL | SHIFT)
        page = shown(driver)
        assert page.about.text().startswith("Learning is off")
        assert not page.ledger.isVisible()
        told = []
        page._progressed.connect(lambda done, of: told.append((done, of)))
        assert not places.learned.exists()
        alt(driver, KEY.Key_N)
        driver.settle()
        assert page.about.text().startswith("3 of 3 closed cases count")
        assert page.moved.model().rowCount() > 0
        assert told == [(1, 3), (2, 3), (3, 3)]
        assert driver.session.base is base
        driver.leave_dialog()
        assert read_settings(places.settings).learning

        again = make_driver(settings=read_settings(places.settings), places=places)
        assert again.session.base.version.startswith(f"{base.version[:20]}+")
        assert "learned from 3 closed cases" in again.window.learned.text()
        assert again.window.learned.isVisible()

    def test_a_case_is_left_out_by_a_key_and_taken_in_again(self, make_driver, places, ids):
        settings = Settings(theme="light", learning=True)
        driver = make_driver(settings=settings, places=places)
        driver.press(KEY.Key_L, CTRL | SHIFT)
        page = shown(driver)
        whole = page.lessons.learned.moves()
        page.ledger.setFocus()
        page.ledger.setCurrentIndex(page.ledger.model().index(0, 0))  # the latest
        driver.press(KEY.Key_Return)
        driver.settle()
        assert driver.window.settings.left_out == (ids[2],)
        assert page.about.text().startswith("2 of 3 closed cases count")
        assert page.lessons.learned.moves() != whole
        driver.press(KEY.Key_Return)
        driver.settle()
        assert driver.window.settings.left_out == ()
        assert page.lessons.learned.moves() == whole
        driver.leave_dialog()

    def test_a_start_learns_anew_only_from_other_cases(self, make_driver, places, ids):
        settings = Settings(theme="light", learning=True)
        first = make_driver(settings=settings, places=places)
        assert first.window.header.said.text() == messages.LEARNED_ANEW.format(closings=3)
        written = places.learned.read_bytes()
        before = places.learned.stat().st_mtime_ns
        second = make_driver(settings=settings, places=places)
        assert second.session.base.version != first.session.base.version
        assert (places.learned.read_bytes(), places.learned.stat().st_mtime_ns) == (
            written,
            before,
        )


class TestNumbers:
    @pytest.fixture
    def counted(self, one, base, tmp_path):
        one.window.activateWindow()
        wait_until(one.window.isActiveWindow)
        store = one.session.records.store
        air, other = [c.id for c in base.causes.values() if not c.when][:2]
        known = {c.id for c in store.closings()}
        if not any(store.read(i).case.title == "Van of 2026-01-05" for i in known):
            closed_case(store, air, "2026-01-05", at_once=6.0)
            closed_case(store, air, "2026-03-05", "not confirmed")
            closed_case(store, other, "2026-03-06")
        one.window.show_cases()
        one.press(KEY.Key_N, CTRL | SHIFT)
        page = one.window.office.numbers
        page._today = lambda: date(2026, 3, 31)
        page.refresh()
        one.settle()
        yield page
        if one.window.stack.currentWidget() is page:
            page.left.emit()

    def test_they_are_counted_by_period_by_keyboard(self, one, counted):
        def days():
            return sorted(j.day.isoformat() for j in counted.shown if j.title.startswith("Van of"))

        assert {"2026-01-05", "2026-03-05", "2026-03-06"} <= set(days())
        counted.period.buttons["year"].setFocus()
        one.press(KEY.Key_Left)
        one.settle()
        assert counted.period.value == "quarter"
        assert set(days()) == {"2026-01-05", "2026-03-05", "2026-03-06"}
        names = [column.name for column in counted.charts.cases.columns]
        assert names == ["Jan ’26", "Feb", "Mar"]
        assert counted.charts.cases.accessibleDescription().endswith("Feb: 0, Mar: 2")
        first, second, third = counted.charts.cases.boxes()
        assert second.height() == 0.0
        assert third.height() == pytest.approx(2.0 * first.height())
        one.press(KEY.Key_Escape)
        assert one.window.stack.currentWidget() is one.window.cases

    def test_hours_that_were_corrected_are_counted_anew_and_only_those_are_read(self, one, counted):
        store = one.session.records.store
        old = next(job for job in counted.shown if job.title == "Van of 2026-01-05")
        kept = store.read(old.id)
        case = kept.case.model_copy(update={"moved": 7.0})
        store.save(old.id, case, kept.number, "ada", "2026-03-30T08:00+00:00", str(uuid4()))
        told = []
        counted._progressed.connect(lambda done, of: told.append((done, of)))
        counted.refresh()
        one.settle()
        new = next(job for job in counted.shown if job.id == old.id)
        assert new.hours == pytest.approx(old.hours + 7.0)
        (done, of) = told[0]
        assert (done, of >= len(counted.shown)) == (0, True)
        assert "closed" in counted.about.text()
        others = [job for job in counted.shown if job.id != old.id]
        assert others
        assert all(job in counted._known.values() for job in others if job.day < date(2026, 3, 31))

    def test_they_are_saved_as_a_table(self, one, counted, tmp_path):
        counted.ask_path = lambda: str(tmp_path / "cases")
        alt(one, KEY.Key_S)
        path = tmp_path / "cases.csv"
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = list(csv.reader(file))
        assert len(rows) == 1 + len(counted.shown)
        assert "Van of 2026-01-05" in {row[1] for row in rows}


class TestWeighedAnew:
    def test_an_older_case_shows_what_has_changed(self, kept):
        session = kept.session
        leading = (Leading(cause="long_gone", p=0.6),)
        ranked = Ranking(knowledge="of old", weighed=weighed_digest(session.case), leading=leading)
        session.start(session.case.model_copy(update={"ranked": ranked}))
        told = shown(kept, ThenDialog)
        texts = [row.name for row in told.findChildren(Words) and _rows(told)]
        assert "Long gone" in texts
        kept.leave_dialog()

    def test_the_same_ranking_is_said_in_a_sentence(self, kept):
        session = kept.session
        kept.window.new_case()
        case = kept.session.records.store.find(limit=1)[0]
        left = kept.session.records.store.read(case.id)
        assert left.case.ranked is not None
        old = left.case.ranked.model_copy(update={"knowledge": "of old"})
        session.start(left.case.model_copy(update={"ranked": old}))
        kept.settle()
        assert kept.window.header.said.text() == messages.WEIGHED_ANEW

    def test_a_case_that_was_only_looked_at_stays_as_it_is(self, kept):
        kept.window.new_case()
        kept.settle()
        store = kept.session.records.store
        case_id = store.find(limit=1)[0].id
        number = store.read(case_id).number
        kept.open_kept(case_id)
        kept.window.new_case()
        assert store.read(case_id).number == number


def _rows(dialog):
    from ui.widgets.rows import ROW

    model = dialog.rows.model()
    rows = [model.index(i, 0).data(ROW) for i in range(model.rowCount())]
    return [type("Row", (), {"name": row.title}) for row in rows]


SCREENS = ("close", "found", "settings", "report", "photographs", "learning", "numbers", "then")


@pytest.mark.parametrize("name", SCREENS)
@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_names_keys_targets_and_room_for_the_words(kept, tmp_path, name, scale):
    window, session = kept.window, kept.session
    window.remember(text_scale=scale)
    window.dress()
    kept.settle()

    def found():
        kept.press(KEY.Key_E, CTRL)
        for cause in session.standing.assessment.causes[:2]:
            shown(kept, CloseDialog)._take(cause.id)

    def photographs():
        kept.press(KEY.Key_P, CTRL | SHIFT)
        shown(kept, PhotosDialog).take([picture(tmp_path / "fork.jpg")])

    def learning():
        kept.press(KEY.Key_L, CTRL | SHIFT)
        shown(kept).switch.buttons["on"].click()

    def then():
        leading = tuple(
            Leading(cause=c.id, p=0.01) for c in session.standing.assessment.causes[3:8]
        )
        digest = weighed_digest(session.case)
        ranked = Ranking(knowledge="of old", weighed=digest, leading=leading)
        session.start(session.case.model_copy(update={"ranked": ranked}))

    ways = {
        "close": lambda: kept.press(KEY.Key_E, CTRL),
        "found": found,
        "settings": lambda: kept.press(KEY.Key_Comma, CTRL),
        "report": lambda: kept.press(KEY.Key_R, CTRL),
        "photographs": photographs,
        "learning": learning,
        "numbers": lambda: kept.press(KEY.Key_N, CTRL | SHIFT),
        "then": then,
    }
    assert set(ways) == set(SCREENS)
    ways[name]()
    root = window if name == "numbers" else shown(kept)
    kept.settle()
    for _ in range(10):
        QApplication.processEvents()
    try:
        assert nameless(root) == []
        assert keys_given_twice(root) == []
        assert small_targets(root) == []
        assert cut_off(root) == []
        assert sticks_out(root) == []
    finally:
        window.remember(text_scale=1.0, learning=False)
        window.dress()
        if name == "numbers":
            window.office.toggle_numbers()
