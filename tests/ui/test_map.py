"""The map in a window: walked by keys, opened, followed, searched, and told to a screen reader."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QImage, QPainter, QPalette, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from diagnose.assess import assess
from diagnose.case_file import read_case_file
from diagnose.drawings.rows import Box
from diagnose.map import cut_sets
from tests.ui.painted import words_painted
from ui import theme
from ui.jobs import Jobs
from ui.map_words import cut_head, spoken
from ui.views.map_page import MapPage
from ui.widgets import map_canvas
from ui.widgets.map_canvas import ZOOMS
from ui.widgets.map_painting import Face, Look, paint_box

HYDRAULICS = ("group", "causes/hydraulics")
AIR, HUB = ("causes", "air_in_system"), ("causes", "hub_drags")
GRIND, STAYS = ("complaints", "gears_grind"), ("mechanisms", "disc_stays_on")


@pytest.fixture(scope="module")
def assessment(base, example):
    return assess(base, read_case_file(example, base))


@pytest.fixture
def make_page(base, dressed, qtbot):
    pages = []

    def make(assessment=None, jobs=None, size=(1280, 740)):
        page = MapPage(base, assessment, jobs)
        page.resize(*size)
        page.show()
        page.activateWindow()
        qtbot.waitUntil(page.isActiveWindow)
        page.take_focus()
        QApplication.processEvents()
        pages.append(page)
        return page

    yield make
    for page in pages:
        page.close()
        page.deleteLater()
    QApplication.processEvents()


@pytest.fixture
def page(make_page, assessment):
    return make_page(assessment)


@pytest.fixture
def bare(make_page):
    return make_page()


def press(page, *keys, modifier=Qt.KeyboardModifier.NoModifier):
    for key in keys:
        QTest.keyClick(QApplication.focusWidget() or page.view, key, modifier)
        QApplication.processEvents()


def boxes(page):
    return page.view.content.boxes


def test_at_first_all_stands_in_groups_and_the_likeliest_is_marked(page):
    groups = [box for box in boxes(page).values() if box.is_group and box.layer == 0]
    assert len(groups) == 9
    assert not any(box.is_open for box in boxes(page).values())
    assert boxes(page)[page.view.mark].chance == max(box.chance for box in groups)


@pytest.mark.parametrize("scale", [1.0, 1.3, 1.5, 2.0])
def test_nothing_needs_to_be_scrolled_sideways_on_a_small_projector(
    page, dressed, face, monkeypatch, scale
):
    theme.apply(dressed, "light", scale, face)
    QApplication.processEvents()
    view = page.view
    assert view.horizontalScrollBar().maximum() == 0
    page.toggle_all()
    QApplication.processEvents()
    assert view.horizontalScrollBar().maximum() == 0
    if scale <= 1.5:  # larger text is made smaller rather than scrolled
        assert view.zoom == 1.0
    heads = [w for w in words_painted(monkeypatch, map_canvas, view) if w.text.isupper()]
    assert len(heads) == 3
    assert [w.text for w in heads if w.is_cut] == []


def test_enter_opens_a_group_and_closes_it_again(page):
    page.view.set_mark(HYDRAULICS)
    press(page, Qt.Key.Key_Return)
    assert boxes(page)[HYDRAULICS].is_open
    assert AIR in boxes(page)
    assert page.view.mark == HYDRAULICS
    press(page, Qt.Key.Key_Return)
    assert AIR not in boxes(page)


def test_a_box_that_is_opened_stays_where_it_is_on_the_screen(page):
    page.view.set_mark(HYDRAULICS)
    before = page.view._on_screen(HYDRAULICS)
    press(page, Qt.Key.Key_Return)
    after = page.view._on_screen(HYDRAULICS)
    assert (after - before).manhattanLength() <= 2.0


def test_right_and_left_go_along_the_strongest_link(page):
    page.show_record(*STAYS)
    content = page.view.content
    head, tail = content.out_of[STAYS][0].head, content.into[STAYS][0].tail
    press(page, Qt.Key.Key_Right)
    assert page.view.mark == head
    page.view.set_mark(STAYS)
    press(page, Qt.Key.Key_Left)
    assert page.view.mark == tail


def test_up_and_down_go_through_a_column_and_stop_at_its_ends(page):
    column = page.view.placed.columns[0]
    page.view.set_mark(column[0])
    press(page, Qt.Key.Key_Down, Qt.Key.Key_Down)
    assert page.view.mark == column[2]
    press(page, Qt.Key.Key_Up)
    assert page.view.mark == column[1]
    press(page, Qt.Key.Key_End, Qt.Key.Key_Down)
    assert page.view.mark == column[-1]
    press(page, Qt.Key.Key_Home)
    assert page.view.mark == column[0]


def test_the_marked_box_is_always_in_sight(page):
    page.toggle_all()
    column = page.view.placed.columns[0]
    for key in column[:: max(1, len(column) // 12)]:
        page.view.set_mark(key)
        assert page.view._on_screen(key) is not None


def test_u_shows_only_causes_d_only_consequences_and_w_the_whole(page):
    page.show_record(*GRIND)
    press(page, Qt.Key.Key_U)
    assert page.state.root == GRIND
    assert set(page.view.content.stands_for) == {GRIND} | page.graph.behind(GRIND)
    page.show_record(*STAYS)
    press(page, Qt.Key.Key_D)
    assert set(page.view.content.stands_for) == {STAYS} | page.graph.beyond(STAYS)
    press(page, Qt.Key.Key_B)
    both = {STAYS} | page.graph.beyond(STAYS) | page.graph.behind(STAYS)
    assert set(page.view.content.stands_for) == both
    press(page, Qt.Key.Key_W)
    assert page.state.root is None
    assert page.view.mark == STAYS


def test_escape_goes_back_to_the_whole_map_and_then_leaves(page, qtbot):
    page.follow(GRIND, "up")
    press(page, Qt.Key.Key_Escape)
    assert page.state.root is None
    with qtbot.waitSignal(page.left):
        press(page, Qt.Key.Key_Escape)


def test_plus_and_minus_zoom_and_0_fits_all(page):
    press(page, Qt.Key.Key_Plus)
    assert page.view.zoom == 1.25
    press(page, Qt.Key.Key_Minus, Qt.Key.Key_Minus)
    assert page.view.zoom == 0.8
    for _ in ZOOMS:
        press(page, Qt.Key.Key_Minus)
    assert page.view.zoom == ZOOMS[0]
    page.follow(HUB, "down")
    press(page, Qt.Key.Key_0)
    assert page.view.verticalScrollBar().maximum() == 0


def test_the_wheel_with_ctrl_zooms_about_the_pointer(page):
    at = QPointF(300.0, 300.0)
    key = page.view.box_at(at)
    event = QWheelEvent(
        at,
        page.view.mapToGlobal(at),
        QPoint(),
        QPoint(0, 120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.ControlModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(page.view.viewport(), event)
    assert page.view.zoom > 1.0
    assert page.view.box_at(at) == key


@pytest.mark.parametrize("slash", [True, False])
def test_slash_or_ctrl_f_searches_by_the_drivers_words_too(page, slash):
    if slash:
        press(page, Qt.Key.Key_Slash)
    else:
        press(page, Qt.Key.Key_F, modifier=Qt.KeyboardModifier.ControlModifier)
    assert QApplication.focusWidget() is page.search.field
    QTest.keyClicks(page.search.field, "air in the hydr")
    assert page.search.view.isVisible()
    press(page, Qt.Key.Key_Return)
    assert page.view.mark == AIR
    assert page.view.hasFocus()
    assert page.panel.isVisible()


def test_enter_on_a_record_wants_it_in_the_handbook_and_the_way_back_marks_it(page, qtbot):
    page.show_record(*HUB)
    with qtbot.waitSignal(page.record_wanted) as wanted:
        press(page, Qt.Key.Key_Return)
    assert wanted.args == [*HUB]
    page.follow(AIR, "down")
    page.show_record(*HUB)
    assert page.view.mark == HUB
    page.show_record("checks", "pump_pedal")
    assert page.view.mark == HUB


def test_c_lists_the_cut_sets_of_a_complaint(page, base):
    page.show_record(*GRIND)
    press(page, Qt.Key.Key_C)
    facts = page.graph.facts
    listed = cut_sets(base, facts, "gears_grind", page._light)
    assert page.panel.into.model.rowCount() == len(listed) > 50
    assert page.panel.into.note.text() == cut_head(listed)
    first = page.panel.into.model.index(0, 0).data()
    assert base.causes[listed[0].causes[0]].name.lower() in first.lower()
    page.panel.into.view.setCurrentIndex(page.panel.into.model.index(0, 0))
    page.panel.into.view.setFocus()
    press(page, Qt.Key.Key_Return)
    assert page.view.mark == ("causes", listed[0].causes[0])


def test_c_again_shows_the_links_again(page):
    page.show_record(*GRIND)
    links = page.panel.into.head.text()
    press(page, Qt.Key.Key_C)
    assert page.panel.shows_cuts
    press(page, Qt.Key.Key_C)
    assert not page.panel.shows_cuts
    assert page.panel.into.head.text() == links


def test_a_screen_reader_hears_name_chance_in_words_and_links(page, assessment):
    page.show_record(*HUB)
    name = page.view.accessibleName()
    assert name == f"Map: {spoken(page.view.content, HUB)}"
    assert "the hub of a disc drags on the spline, cause, possible, about" in name
    out = len(page.view.content.out_of[HUB])
    assert f"no links from causes, {out} links to consequences" in name
    page.view.set_mark(HYDRAULICS)
    assert "group of" in page.view.accessibleName()
    assert "closed" in page.view.accessibleName()
    assert "slash searches" in page.view.accessibleDescription()


def test_without_a_case_no_chance_is_shown(bare):
    assert all(box.chance is None for box in boxes(bare).values())
    bare.show_record(*HUB)
    assert "in 100" not in bare.view.accessibleName()
    assert bare.graph.facts == {}


def test_what_was_answered_is_told_as_answered(page):
    page.show_record(*GRIND)
    assert "answered in this case" in page.view.accessibleName()


def test_the_panel_lists_all_links_of_a_record_the_strongest_first(page):
    page.show_record(*AIR)
    rows = [page.panel.out_of.model.index(i, 0).data() for i in range(4)]
    links = page.graph.out_of[AIR]
    assert page.panel.out_of.model.rowCount() == len(links)
    for row, link in zip(rows, links, strict=False):
        assert page.graph.nodes[link.head].name.lower() in row.lower()
        assert link.word in row


def test_a_click_on_the_sign_opens_a_group(page):
    box = page.view.placed.boxes[HYDRAULICS]
    at = page.view._origin() + QPointF(box.left + 14, box.top + 14) * page.view.zoom
    QTest.mouseClick(page.view.viewport(), Qt.MouseButton.LeftButton, pos=at.toPoint())
    assert boxes(page)[HYDRAULICS].is_open


def test_another_case_keeps_what_is_opened(page, assessment):
    page.toggle(HYDRAULICS)
    page.set_case(None)
    assert boxes(page)[HYDRAULICS].is_open
    page.set_case(assessment)
    assert boxes(page)[HYDRAULICS].is_open


def test_with_jobs_the_map_is_made_off_the_windows_thread(make_page, assessment, qtbot):
    jobs = Jobs()
    page = make_page(assessment, jobs)
    page.show_record(*AIR)
    qtbot.waitUntil(lambda: page.graph is not None)
    assert page.view.mark == AIR
    jobs.close()


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
def test_text_scales_and_every_name_has_room(qapp, face, page, scale):
    theme.apply(qapp, "dark", scale, face)
    QApplication.processEvents()
    page.toggle_all()
    placed = page.view.placed
    line = page.view.fontMetrics().height()
    assert line >= 15 * scale
    for key in boxes(page):
        assert placed.boxes[key].height >= line
        assert page.view.needed(key) <= placed.boxes[key].height + 0.5
    theme.apply(qapp, "light", 1.0, face)


def dark_pixels(page, box, look):
    """How much of a painted box is dark once all colour is taken out of it."""
    image = QImage(240, 80, QImage.Format.Format_RGB32)
    image.fill(page.palette().color(QPalette.ColorRole.Window))
    painter = QPainter(image)
    face = Face.of(page.view.font())
    paint_box(painter, page.palette(), face, box, Box(5.0, 5.0, 220.0, 60.0), look)
    painter.end()
    grey = image.convertToFormat(QImage.Format.Format_Grayscale8)
    return sum(grey.pixelColor(x, y).value() < 128 for x in range(240) for y in range(80))


def test_what_is_marked_and_how_likely_it_is_is_seen_without_colour(page):
    page.show_record(*HUB)
    box = replace(boxes(page)[HUB], chance=0.3)
    plain = dark_pixels(page, box, Look())
    assert dark_pixels(page, box, Look(marked=True)) > plain + 400  # a thick frame all round
    assert dark_pixels(page, replace(box, chance=0.9), Look()) > plain + 100  # a longer bar
