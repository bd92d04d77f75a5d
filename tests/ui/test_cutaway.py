"""The cutaway on the screen: moved by keys and mouse, told in words, in the theme's colours."""

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QImage, QPainter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from diagnose.assess import assess
from diagnose.case import Case
from diagnose.drawings.cutaway.layout import View, layout_of, subject_of
from diagnose.drawings.cutaway.scene import cutaway
from diagnose.physics.presets import PRESETS
from tests.ui.painted import overlapping, words_painted
from ui import theme
from ui.views.cutaway_page import CutawayPage
from ui.widgets import cutaway_table
from ui.widgets.cutaway import Cutaway
from ui.widgets.cutaway_painting import Canvas, paint

HUB = "hub_drags"  # of its clearance most is missing: the longest of all figures


def case_of(base, setup):
    facts = {name: tuple(values) for name, values in base.setups[setup].facts.items()}
    return Case(setup=setup, facts=facts)


@pytest.fixture
def make_page(qtbot, dressed, base):
    def make(setup="twin_external", **more):
        page = CutawayPage(base, case_of(base, setup), **more)
        qtbot.addWidget(page)
        page.resize(1280, 740)
        page.show()
        QApplication.processEvents()
        return page

    return make


@pytest.fixture
def drawing(qtbot, dressed):
    made = Cutaway(subject_of(PRESETS["twin_external"]))
    qtbot.addWidget(made)
    made.resize(840, 600)
    made.show()
    return made


# Keys and mouse


def test_keys_move_the_pedal(drawing):
    step = drawing.travel / 60
    QTest.keyClick(drawing, Qt.Key.Key_Right)
    assert drawing.pad == pytest.approx(step)
    QTest.keyClick(drawing, Qt.Key.Key_Down)
    QTest.keyClick(drawing, Qt.Key.Key_Left)
    assert drawing.pad == pytest.approx(step)
    QTest.keyClick(drawing, Qt.Key.Key_End)
    assert drawing.pad == drawing.travel == 155.0
    QTest.keyClick(drawing, Qt.Key.Key_Right)
    assert drawing.pad == drawing.travel
    QTest.keyClick(drawing, Qt.Key.Key_Home)
    assert drawing.pad == 0.0


def test_the_mouse_takes_the_pad_along(drawing):
    """The pad moves as far on the screen as the hand does, to the left as it goes down."""
    start = QPoint(600, 300)
    QTest.mousePress(drawing, Qt.MouseButton.LeftButton, pos=start)
    QTest.mouseMove(drawing, start - QPoint(50, 0))
    scale = layout_of(drawing.subject, drawing.views()[0][0]).pedal_scale
    assert drawing.pad == pytest.approx(50.0 / scale)
    QTest.mouseRelease(drawing, Qt.MouseButton.LeftButton, pos=start)
    QTest.mouseMove(drawing, start)
    assert drawing.pad == pytest.approx(50.0 / scale)


def test_a_move_is_announced_once_whoever_makes_it(drawing, qtbot):
    seen = []
    drawing.pad_changed.connect(seen.append)
    drawing.set_pad(40.0)
    drawing.set_pad(40.0)
    drawing.set_pad(900.0)
    assert seen == [40.0, 155.0]


# Words


def test_the_description_tells_the_figures_in_words(drawing, qtbot):
    drawing.set_pad(drawing.travel)
    down = drawing.subject.healthy.at(drawing.travel)
    wanted = f"Clearance per face {down.clearance:.2f} mm"
    qtbot.waitUntil(lambda: wanted in drawing.accessibleDescription(), timeout=5000)
    assert drawing.accessibleDescription().startswith("Healthy.")
    assert drawing.accessibleName() == "Cutaway of the release system"


def test_the_text_follows_the_font_of_the_program(drawing, dressed, face):
    before = drawing.views()[0][0].em
    theme.apply(dressed, "light", 1.5, face)
    QApplication.processEvents()
    assert drawing.views()[0][0].em == pytest.approx(1.5 * before, abs=0.5)
    drawing.resize(1400, 1000)
    theme.apply(dressed, "light", 2.0, face)
    QApplication.processEvents()
    assert drawing.views()[0][0].em == 2.0 * before


# Painting


@pytest.mark.parametrize("name", ["light", "dark", "contrast"])
def test_it_is_painted_in_the_colours_of_the_theme(drawing, dressed, face, name):
    theme.apply(dressed, name, 1.0, face)
    QApplication.processEvents()
    image = drawing.grab().toImage()
    tokens = theme.THEMES[name]
    colours = {image.pixelColor(x, y).name().upper() for x in range(840) for y in range(0, 600, 7)}
    assert tokens.surface.upper() in colours
    assert tokens.ink.upper() in colours
    assert tokens.accent.upper() in colours


def test_what_is_kept_of_a_picture_looks_as_if_painted_anew(drawing, dressed):
    """The still part is kept as an image; a second travel must not show anything of the first."""
    subject, view = drawing.subject, View(840.0, 600.0)
    canvas = Canvas(dressed.palette(), dressed.font())

    def image():
        made = QImage(840, 600, QImage.Format.Format_ARGB32_Premultiplied)
        made.fill(dressed.palette().base().color())
        return made

    for pad in (0.0, 90.0):
        kept, anew = image(), image()
        painter = QPainter(kept)
        canvas.paint(painter, cutaway(subject, view, pad))
        painter.end()
        painter = QPainter(anew)
        paint(painter, cutaway(subject, view, pad), dressed.palette(), dressed.font())
        painter.end()
        assert kept == anew


# The page


def test_slider_drawing_and_figures_go_together(make_page):
    page = make_page()
    page.slider.setValue(500)
    assert page.drawing.pad == pytest.approx(77.5)
    page.drawing.set_pad(155.0)
    assert page.slider.value() == 1000
    assert page.table.rows[0].values == ("155 mm",)


def test_a_cause_is_shown_beside_the_healthy_system(make_page, qtbot):
    page = make_page()
    with qtbot.waitSignal(page.cause_changed) as signal:
        page.search.field.setText("air in")
        QTest.keyClick(page.search.field, Qt.Key.Key_Return)
    assert signal.args == ["air_in_system"]
    page.drawing.set_pad(155.0)
    clearance = next(row for row in page.table.rows if row.name == "Clearance per face")
    assert clearance.values == ("0.34 mm", "0.17 mm")
    assert "Faulty: 22 % up" in page.curve.accessibleDescription()


def test_both_are_overlaid_or_stand_side_by_side(make_page):
    page = make_page()
    page.show_cause("air_in_system")
    assert page.drawing.manner == "overlay"
    QTest.mouseClick(page.buttons["beside"], Qt.MouseButton.LeftButton)
    shown = [(view.show, place) for view, place in page.drawing.views()]
    half = page.drawing.width() / 2.0
    assert shown == [("healthy", QPointF(0.0, 0.0)), ("faulty", QPointF(half, 0.0))]
    assert page.buttons["beside"].isChecked()
    assert not page.buttons["overlay"].isChecked()


def test_without_a_cause_nothing_is_to_be_compared(make_page):
    page = make_page()
    assert not page.buttons["overlay"].isVisible()
    page.show_cause("air_in_system")
    assert page.buttons["overlay"].isVisible()
    page.show_cause("")
    assert page.drawing.manner == "healthy"


def test_the_pedal_stays_where_it_is_when_the_cause_changes(make_page):
    page = make_page()
    page.drawing.set_pad(60.0)
    page.show_cause("disc_too_thick")
    assert page.drawing.pad == pytest.approx(60.0)
    assert page.slider.value() == round(1000 * 60.0 / 155.0)


def test_a_key_takes_the_cause_away_and_another_opens_the_handbook(make_page, qtbot):
    page = make_page()
    page.show_cause("pilot_tight")
    with qtbot.waitSignal(page.record_wanted) as wanted:
        QTest.keyClick(page, Qt.Key.Key_H)
    assert wanted.args == ["causes", "pilot_tight"]
    QTest.keyClick(page, Qt.Key.Key_N)
    assert page.cause == ""
    assert not page.no_cause.isVisible()


def test_a_key_tells_all_lengths_in_inches_and_again_in_mm(make_page):
    page = make_page()
    page.drawing.set_pad(155.0)
    QTest.keyClick(page, Qt.Key.Key_I)
    told = {row.name: row.values for row in page.table.every}
    assert told["Free travel at the fork"] == ("1.20 in",)
    assert told["Pedal"] == ("6.1 in",)
    assert " in." in page.drawing.accessibleDescription()
    assert " mm" not in page.drawing.accessibleDescription()
    QTest.keyClick(page, Qt.Key.Key_I)
    assert {row.name: row.values for row in page.table.every}["Pedal"] == ("155 mm",)


def test_a_cause_that_moves_no_figure_says_so(make_page):
    page = make_page()
    page.show_cause("pilot_tight")
    assert page.unmoved.isVisible()
    assert all(one == other for one, other in (row.values for row in page.table.rows))
    page.show_cause("air_in_system")
    assert not page.unmoved.isVisible()


def test_only_causes_that_the_set_up_allows_can_be_chosen(make_page):
    page = make_page("light_cable")
    assert "cable_adjuster_not_reset" in page.causes
    assert "air_in_system" not in page.causes
    with pytest.raises(KeyError):
        page.show_cause("air_in_system")


def test_a_set_up_that_is_not_known_says_what_is_missing(qtbot, dressed, base):
    page = CutawayPage(base, Case())
    qtbot.addWidget(page)
    page.show()
    assert page.unknown.isVisible()
    assert not page.drawing.isVisible()
    page.set_case(case_of(base, "old_rods"))
    assert page.drawing.isVisible()
    assert not page.unknown.isVisible()


def test_an_assessment_shows_what_its_leading_cause_would_look_like(make_page, base):
    page = make_page()
    assessment = assess(base, case_of(base, "light_external"))
    page.set_case(assessment)
    leading = next(chance.id for chance in assessment.causes if chance.id in page.causes)
    assert page.cause == leading


def test_the_sheets_figures_are_in_the_drawing(qtbot, dressed, base):
    facts = case_of(base, "twin_external").facts
    page = CutawayPage(base, Case(setup="twin_external", facts=facts, kit={"fork_ratio": "2.1"}))
    qtbot.addWidget(page)
    measures = page.drawing.subject.measures
    reach = measures.tip_y - measures.pivot_y
    assert reach / abs(measures.pivot_y) == pytest.approx(2.1)


# Large text


@pytest.fixture
def make_large(make_page, dressed, face):
    def make(scale, cause=""):
        theme.apply(dressed, "light", scale, face)
        page = make_page()
        page.resize(1280, 690)
        page.show_cause(cause)
        for _ in range(5):
            QApplication.processEvents()
        return page

    return make


@pytest.mark.parametrize("scale", [1.0, 1.3, 1.5])
@pytest.mark.parametrize("cause", ["", "air_in_system", HUB])
def test_all_beside_the_drawing_fits_without_scrolling(make_large, scale, cause):
    page = make_large(scale, cause)
    assert page._beside.verticalScrollBar().maximum() == 0
    names = [row.name for row in page.table.rows]
    assert {"Clearance per face", "Bites, from the floor"} <= set(names)
    assert page.more.isVisible() == (len(names) < len(page.table.every))


def test_what_is_left_out_is_shown_when_it_is_asked_for(make_large):
    page = make_large(1.5, "air_in_system")
    left_out = len(page.table.rows)
    assert left_out < len(page.table.every)
    QTest.mouseClick(page.more, Qt.MouseButton.LeftButton)
    assert page.table.rows == page.table.every
    assert page.more.isVisible()
    QTest.mouseClick(page.more, Qt.MouseButton.LeftButton)
    assert len(page.table.rows) == left_out


def test_figures_that_differ_stay_before_those_that_do_not(make_large):
    page = make_large(1.5, "air_in_system")
    page.drawing.set_pad(155.0)
    kept = {row.name for row in page.table.rows}
    differ = {row.name for row in page.table.every if len(set(row.values)) > 1}
    same = {row.name for row in page.table.every} - page.table._differ
    assert differ
    assert differ <= kept or not same & kept


@pytest.mark.parametrize("scale", [1.0, 1.3, 1.5, 2.0])
@pytest.mark.parametrize("share", [0.0, 1.0])
def test_no_figure_is_cut_or_runs_into_another(make_large, monkeypatch, scale, share):
    page = make_large(scale, HUB)
    page.show_every_figure(True)
    page.drawing.set_pad(share * page.drawing.travel)
    QApplication.processEvents()
    words = words_painted(monkeypatch, cutaway_table, page.table)
    assert len(words) == 3 * len(page.table.every) + 2
    assert [w.text for w in words if w.is_cut] == []
    assert overlapping(words) == []


@pytest.mark.parametrize("scale", [1.0, 1.3, 1.5, 2.0])
@pytest.mark.parametrize("manner", ["overlay", "beside"])
def test_no_caption_of_the_drawing_is_cut(make_large, scale, manner):
    page = make_large(scale, HUB)
    page.show_manner(manner)
    QApplication.processEvents()
    for view, _ in page.drawing.views():
        for words in cutaway(page.drawing.subject, view, 0.0).words:
            font = QFont(page.drawing.font())
            font.setPixelSize(round(words.size))
            font.setBold(words.bold)
            wide = QFontMetricsF(font).horizontalAdvance(words.text)
            left = words.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[words.anchor] * wide
            assert left >= -1.0, words.text
            assert left + wide <= view.width + 1.0, words.text
            assert words.baseline <= view.height, words.text
