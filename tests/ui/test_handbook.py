"""The handbook in the window: found by words, joined by links, and the way back by keyboard."""

import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QFont, QFontDatabase, QFontMetricsF, QImage, QPainter
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog, QLabel, QPushButton

from diagnose.drawings.shapes import text_width
from diagnose.drawings.svg import style_sheet, svg
from diagnose.handbook import SECTIONS, drawing_of, handbook
from diagnose.handbook.style import DARK, LIGHT
from knowledge.raw import KINDS
from tests.small_bases import make_base
from ui import theme
from ui.handbook import FRONT, PLACE, Handbook, key_of
from ui.settings import Places, Settings
from ui.views.handbook_text import HandbookText

ROOT = Path(__file__).parents[2]
CTRL, ALT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.AltModifier


@pytest.fixture(scope="module")
def book(base):
    return Handbook.of(base)


@pytest.fixture
def reading(driver):
    """The window with the handbook open."""
    driver.press(Qt.Key.Key_H, CTRL)
    driver.settle()
    return driver


def page_of(driver):
    return driver.window.handbook.page


def said(driver):
    return page_of(driver).text.toPlainText()


class TestContents:
    def test_nothing_typed_lists_the_sections(self, book, base):
        rows = book.find("  ")
        assert rows[0].key == FRONT
        assert [row.key for row in rows[1:]] == [("section", s.id) for s in SECTIONS]
        counts = {row.key[1]: row.count for row in rows}
        assert counts["causes"] == str(len(base.causes))
        assert counts["overview"] == ""

    def test_every_page_can_be_shown(self, book, base):
        keys = [row.key for row in book.find("")]
        keys += [(kind, name) for kind in KINDS for name in getattr(base, kind)]
        for key in keys:
            shown = book.show(key)
            assert shown.title
            assert (PLACE in shown.html) is bool(shown.drawing)

    def test_what_is_not_there(self, book):
        with pytest.raises(KeyError):
            book.show(("causes", "no_such_cause"))

    @pytest.mark.parametrize(
        ("typed", "complaint"),
        [
            ("judder", "chatters"),
            ("JUDDERS", "chatters"),
            ("kangaroos", "chatters"),
            ("won't go into gear", "hard_to_select"),
            ("grinding", "gears_grind"),
        ],
    )
    def test_words_of_a_complaint_find_it(self, book, typed, complaint):
        assert book.find(typed)[0].key == ("complaints", complaint)

    def test_a_name_finds_its_record(self, book, base):
        for kind in ("causes", "checks", "mechanisms", "measurements"):
            for name, record in list(getattr(base, kind).items())[::9]:
                assert (kind, name) in [row.key for row in book.find(record.name)]

    def test_a_whole_sentence_finds_what_is_nearest(self, book):
        assert book.find("my old clutch pedal feels spongy when I press it")
        assert book.find("xyzzy") == ()

    def test_a_link_says_where_it_leads(self):
        assert key_of("#causes-air_in_system") == ("causes", "air_in_system")
        assert key_of("sources-R-JUDDER-1") == ("sources", "R-JUDDER-1")
        assert key_of("complaints") == ("section", "complaints")

    def test_it_is_made_without_qt(self):
        program = "import sys, ui.handbook\nassert not {'PySide6', 'shiboken6'} & set(sys.modules)"
        done = subprocess.run(
            [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr


class TestByKeyboard:
    def test_open_search_follow_a_link_and_back(self, reading, base):
        driver = reading
        page = page_of(driver)
        assert driver.window.stack.currentWidget() is page
        assert "licensed practice come first" in said(driver)
        driver.type("judder")
        driver.press(Qt.Key.Key_Return)
        assert page.key == ("complaints", "chatters")
        assert base.complaints["chatters"].ask in said(driver)
        # The text has the focus: Tab goes to its first link, Enter follows it.
        assert QApplication.focusWidget() is page.text
        driver.press(Qt.Key.Key_Tab)
        driver.press(Qt.Key.Key_Return)
        followed = page.key
        assert followed != ("complaints", "chatters")
        driver.press(Qt.Key.Key_Left, ALT)
        assert page.key == ("complaints", "chatters")
        assert base.complaints["chatters"].ask in said(driver)
        driver.press(Qt.Key.Key_Backspace)
        assert page.key == FRONT
        driver.press(Qt.Key.Key_Backspace)
        assert page.key == FRONT

    def test_what_was_found_stays_while_pages_are_read(self, reading):
        page = page_of(reading)
        reading.type("pilot")
        first = page.search.model.rowCount()
        assert first > 1
        reading.press(Qt.Key.Key_Down)
        reading.press(Qt.Key.Key_Return)
        assert page.search.field.text() == "pilot"
        assert page.search.model.rowCount() == first

    def test_nothing_found_says_what_to_do(self, reading):
        page = page_of(reading)
        reading.type("xyzzy")
        assert page.search.model.rowCount() == 0
        seen = [label.text() for label in page.search.findChildren(QLabel) if label.isVisible()]
        assert "Nothing is called that. Try another word." in seen

    def test_esc_leads_back_to_where_it_was_opened(self, at_bench):
        at_bench.press(Qt.Key.Key_H, CTRL)
        at_bench.settle()
        assert at_bench.window.stack.currentWidget() is page_of(at_bench)
        at_bench.press(Qt.Key.Key_Escape)
        assert at_bench.window.stack.currentWidget() is at_bench.bench
        at_bench.press(Qt.Key.Key_H, CTRL)
        page_of(at_bench).text.setFocus()
        at_bench.press(Qt.Key.Key_Escape)
        assert at_bench.window.stack.currentWidget() is at_bench.bench
        at_bench.press(Qt.Key.Key_H, CTRL)
        at_bench.press(Qt.Key.Key_H, CTRL)
        assert at_bench.window.stack.currentWidget() is at_bench.bench

    def test_the_page_before_is_there_only_where_there_is_one(self, reading):
        action = reading.window.actions_["page_before"]
        assert not action.isEnabled()
        page_of(reading).open(("section", "causes"))
        assert action.isEnabled()
        reading.window.handbook.leave()
        assert not action.isEnabled()

    def test_a_page_is_found_where_it_was_left(self, reading):
        page = page_of(reading)
        page.open(("section", "causes"))
        bar = page.text.verticalScrollBar()
        assert bar.maximum() > 100
        bar.setValue(100)
        page.open(("section", "checks"))
        assert bar.value() == 0
        page.back()
        assert bar.value() == 100


class TestFromTheBench:
    def test_what_is_asked(self, at_bench, base):
        check = next(o.id for o in at_bench.session.standing.advice.options if o.kind == "check")
        at_bench.bench.card.choose("check", check)
        at_bench.press(Qt.Key.Key_L)
        at_bench.settle()
        assert page_of(at_bench).key == ("checks", check)
        assert base.checks[check].say in said(at_bench)

    def test_the_marked_cause(self, at_bench):
        causes = at_bench.bench.causes
        causes.view.setFocus()
        causes.view.setCurrentIndex(causes.model.index(1, 0))
        at_bench.press(Qt.Key.Key_L)
        at_bench.settle()
        assert page_of(at_bench).key == (
            "causes",
            at_bench.session.standing.assessment.causes[1].id,
        )

    def test_from_why_this_cause(self, at_bench):
        cause = at_bench.session.standing.assessment.causes[0].id
        at_bench.bench.open_why(cause)
        at_bench.settle()
        dialog = next(d for d in at_bench.window.findChildren(QDialog) if d.isVisible())
        buttons = {button.text(): button for button in dialog.findChildren(QPushButton)}
        buttons["&Handbook page"].click()
        at_bench.settle()
        assert page_of(at_bench).key == ("causes", cause)
        assert at_bench.window.stack.currentWidget() is page_of(at_bench)


class TestDrawing:
    def test_a_complaint_shows_its_drawing_as_wide_as_the_text(self, reading):
        page = page_of(reading)
        page.open(("complaints", "chatters"))
        assert page.text.drawing is not None
        assert page.text.drawing.title.startswith("What leads to")
        assert page.text.horizontalScrollBar().maximum() == 0
        page.open(("section", "causes"))
        assert page.text.drawing is None

    def test_a_click_on_a_name_leads_to_its_record(self, reading):
        page = page_of(reading)
        page.open(("complaints", "knock"))
        reading.settle()
        page.text.grab()  # what was painted is where it is
        text = page.text
        label = next(x for x in text.drawing.labels if x.link.startswith("#causes"))
        points = [QPointF(x, y) for y in range(0, 650, 4) for x in range(0, 600, 6)]
        point = next(p for p in points if text.link_at(p) == label.link)
        QTest.mouseClick(
            text.viewport(),
            Qt.MouseButton.LeftButton,
            Qt.KeyboardModifier.NoModifier,
            QPoint(int(point.x()), int(point.y())),
        )
        assert page.key == key_of(label.link)
        assert text.link_at(point) == ""

    @pytest.mark.parametrize("scale", [1.0, 2.0])
    def test_nothing_has_to_be_scrolled_sideways(self, qtbot, book, base, dressed, scale):
        text = HandbookText()
        qtbot.addWidget(text)
        text.resize(850, 700)
        text.dress(theme.THEMES["light"], scale)
        text.show()
        keys = [("complaints", name) for name in base.complaints]
        keys += [row.key for row in book.find("")]
        keys += [(kind, name) for kind in KINDS for name in list(getattr(base, kind))[::3]]
        for key in keys:
            text.show_page(book, key)
            assert text.document().size().width() <= text.viewport().width(), key
            assert text.horizontalScrollBar().maximum() == 0

    def test_a_page_is_shown_once_whatever_the_scroll_bar_does(self, qtbot, book, dressed):
        text = HandbookText()
        qtbot.addWidget(text)
        text.resize(850, 400)
        text.dress(theme.THEMES["light"], 1.0)
        text.show()
        for key in (("section", "causes"), FRONT, ("checks", "gears_engine_off"), FRONT):
            text.show_page(book, key)
            assert text.toPlainText().count(book.show(key).title + "\n") == 1

    def test_it_is_drawn_in_the_colours_of_the_screen(self, qtbot, book, dressed):
        text = HandbookText()
        qtbot.addWidget(text)
        text.resize(850, 700)
        text.show()
        for name in ("light", "dark", "contrast"):
            tokens = theme.THEMES[name]
            text.dress(tokens, 1.0)
            text.show_page(book, ("complaints", "knock"))
            seen = text.grab().toImage()
            colours = {
                seen.pixelColor(x, y).name().upper()
                for x in range(0, seen.width(), 2)
                for y in range(0, seen.height(), 2)
            }
            assert tokens.accent.upper() in colours


@pytest.mark.parametrize("family", ["Atkinson Hyperlegible", "DejaVu Sans"])
def test_no_line_of_a_drawing_is_wider_than_its_room(base, book, face, family):
    """The table of widths holds for the program's face and for the widest fallback."""
    if family not in QFontDatabase.families():
        pytest.skip(f"{family} is not here")
    for complaint in base.complaints:
        for label in drawing_of(book.book, complaint).labels:
            font = QFont(family)
            font.setPixelSize(round(label.size * 10))
            font.setBold(label.bold)
            wide = QFontMetricsF(font).horizontalAdvance(label.words) / 10
            assert wide <= text_width(label.words, label.size, bold=label.bold) + 0.01, label.words


def test_the_page_and_the_screens_have_the_same_colours():
    for colours, name in ((LIGHT, "light"), (DARK, "dark")):
        tokens = theme.THEMES[name]
        assert colours == {key: getattr(tokens, key) for key in colours}


def test_a_hostile_base_stays_text(qtbot, dressed, tmp_path):
    hostile = "<b>bold</b> <a href='#causes-x'>link</a> <script>x</script>"
    base = make_base(
        tmp_path / "base",
        complaints={"slips": {"name": hostile, "ask": hostile}},
        causes={"worn": {"name": hostile, "brings": {"slips": "often"}}},
    )
    text = HandbookText()
    qtbot.addWidget(text)
    text.resize(700, 500)
    text.dress(theme.THEMES["light"], 1.0)
    text.show()
    text.show_page(Handbook.of(base), ("causes", "worn"))
    assert hostile in text.toPlainText()
    text.show_page(Handbook.of(base), ("complaints", "slips"))
    assert hostile in text.toPlainText()


def test_the_drawing_can_be_read_by_qt(book, base):
    """Every drawing of the page is one that the screen can draw too, at its own size."""
    colours = {"ink": "#000", "muted": "#555", "accent": "#055", "rule": "#ccc"}
    sheet = style_sheet({**colours, "card": "#fff", "soft": "#eff"})
    for complaint in base.complaints:
        drawing = drawing_of(book.book, complaint)
        renderer = QSvgRenderer(svg(drawing, "d", style=sheet).encode())
        assert renderer.isValid()
        assert renderer.defaultSize().width() == pytest.approx(drawing.size.width, abs=1.0)
        image = QImage(200, 200, QImage.Format.Format_RGB32)
        image.fill(0xFFFFFF)
        painter = QPainter(image)
        renderer.render(painter)
        painter.end()
        assert len({image.pixel(x, y) for x in range(200) for y in range(200)}) > 2


class TestSaving:
    def test_the_whole_is_written_beside_the_window(self, reading, tmp_path):
        reading.window.handbook.ask_path = lambda: str(tmp_path / "mine")
        reading.press(Qt.Key.Key_H, CTRL | Qt.KeyboardModifier.ShiftModifier)
        reading.settle()
        path = tmp_path / "mine.html"
        same = path.read_text(encoding="utf-8") == handbook(reading.session.base)
        assert same
        assert reading.window.header.said.text() == f"The handbook is in {path}."

    def test_changing_ones_mind(self, reading, tmp_path):
        reading.window.handbook.ask_path = lambda: ""
        page_of(reading).save_button.click()
        reading.settle()
        assert list(tmp_path.glob("*.html")) == []

    def test_where_it_can_not_be_written(self, reading, tmp_path):
        reading.window.handbook.ask_path = lambda: str(tmp_path / "gone" / "book.html")
        page_of(reading).save_button.click()
        reading.settle()
        words = [label.text() for label in reading.window.trouble.notice.findChildren(QLabel)]
        assert any("could not be written" in w for w in words)
        assert any("Choose a folder that is there" in w for w in words)


def test_it_waits_for_the_knowledge(new_driver, qtbot, dressed, tmp_path):
    driver = new_driver(Settings(), Places(tmp_path / "config", tmp_path / "data"), qtbot)
    driver.window.handbook.show()
    driver.window.handbook.save()
    assert driver.window.handbook.page is None
    assert not driver.window.actions_["handbook"].isEnabled()
    driver.window.close()
    driver.window.deleteLater()
    QApplication.processEvents()


def test_text_size_and_colours_follow_the_settings(reading):
    page = page_of(reading)
    page.open(("causes", "air_in_system"))
    before = page.text.document().size().height()
    for _ in range(5):
        reading.window.step_text(1)
    reading.settle()
    assert page.text.document().defaultFont().pixelSize() == 30
    assert page.text.document().size().height() > 1.5 * before
    assert page.key == ("causes", "air_in_system")
