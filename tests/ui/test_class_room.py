"""The room for teaching: pages made late, the case goes along, keys there and back."""

import subprocess
import sys

import pytest
from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QApplication

from ui import theme
from ui.settings import read_settings
from ui.views.class_projector import fitting
from ui.views.class_room import PAGES

CTRL, ALT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.AltModifier
NUMBERS = (Qt.Key.Key_1, Qt.Key.Key_2, Qt.Key.Key_3, Qt.Key.Key_4)


@pytest.fixture
def in_class(at_bench):
    at_bench.press(Qt.Key.Key_3, CTRL)
    at_bench.settle()
    return at_bench


@pytest.fixture
def room(in_class):
    return in_class.window.class_room


def leading(driver):
    return driver.session.standing.assessment.causes


def test_no_page_is_made_or_imported_before_it_is_shown(at_bench):
    room = at_bench.window.class_room
    assert [room.page(name) for name in PAGES] == [None] * 4
    heavy = "ui.views.practice_page", "ui.views.map_page", "ui.views.cutaway_page"
    script = (
        "import sys; import ui.views.main_window; "
        f"print([m for m in {heavy!r} + ('diagnose.practice.run',) if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_alt_and_a_figure_shows_each_page(in_class, room):
    for name, key in zip(PAGES, NUMBERS, strict=True):
        in_class.press(key, ALT)
        in_class.settle()
        assert room.name == name
        assert room.stack.currentWidget() is room.page(name)
        assert room.buttons[name].isChecked()
        assert room.buttons[name].accessibleName().endswith("shown now")
        focus = QApplication.focusWidget()
        assert focus is not None
        assert room.page(name).isAncestorOf(focus)


def test_the_case_goes_along(in_class, room):
    shown = room.cutaway.cause
    drawn = [c.id for c in leading(in_class) if c.id in room.cutaway.causes]
    assert shown == drawn[0]
    room.show_page("map")
    in_class.settle()
    light = room.map._light
    first = leading(in_class)[0]
    assert light is not None
    assert light.chance["causes", first.id] == pytest.approx(first.p)


def test_esc_goes_back_to_the_bench(in_class):
    in_class.press(Qt.Key.Key_Escape)
    assert in_class.window.stack.currentWidget() is in_class.bench


def test_ctrl_d_shows_what_the_leading_cause_looks_like_and_goes_back(at_bench):
    window = at_bench.window
    at_bench.press(Qt.Key.Key_D, CTRL)
    at_bench.settle()
    room = window.class_room
    assert window.stack.currentWidget() is room
    drawn = [c.id for c in leading(at_bench) if c.id in room.cutaway.causes]
    assert room.cutaway.cause == drawn[0]
    at_bench.press(Qt.Key.Key_D, CTRL)
    assert window.stack.currentWidget() is at_bench.bench


def test_ctrl_d_shows_the_cause_that_is_marked(at_bench):
    view = at_bench.bench.causes.view
    at_bench.window.class_room.show_cause(None)
    drawable = at_bench.window.class_room.cutaway.causes
    marked = [c.id for c in leading(at_bench) if c.id in drawable][1]
    at_bench.window.show_bench()
    view.setCurrentIndex(view.model().index(view.model().row_of(marked), 0))
    at_bench.press(Qt.Key.Key_D, CTRL)
    assert at_bench.window.class_room.cutaway.cause == marked


def test_the_map_opens_the_handbook_and_the_handbook_sends_back(in_class, room):
    window = in_class.window
    room.show_page("map")
    in_class.settle()
    room.map.record_wanted.emit("causes", "air_in_system")
    in_class.settle()
    assert window.handbook.open
    assert window.handbook.page.key == ("causes", "air_in_system")
    in_class.press(Qt.Key.Key_M, CTRL)
    in_class.settle()
    assert window.stack.currentWidget() is room
    assert room.name == "map"
    assert room.map.view.mark == ("causes", "air_in_system")


def test_from_the_map_a_cause_is_seen_in_the_cutaway(in_class, room):
    room.show_page("map")
    in_class.settle()
    room.map.show_record("causes", "hose_swells")
    in_class.press(Qt.Key.Key_V)
    assert room.name == "cutaway"
    assert room.cutaway.cause == "hose_swells"


def test_from_what_if_the_handbook_sends_a_cause_back_to_what_if(in_class, room):
    room.show_page("what if")
    in_class.settle()
    room.what_if.record_wanted.emit("causes", "air_in_system")
    in_class.settle()
    in_class.press(Qt.Key.Key_M, CTRL)
    in_class.settle()
    assert room.name == "what if"
    assert room.what_if.causes == ("air_in_system",)


def test_closing_the_handbook_comes_back_to_the_room(in_class, room):
    room.show_page("map")
    in_class.settle()
    room.map.record_wanted.emit("causes", "air_in_system")
    in_class.settle()
    in_class.press(Qt.Key.Key_Escape)
    assert in_class.window.stack.currentWidget() is room


def test_for_a_projector_the_text_is_two_sizes_larger_and_only_until_it_is_ended(in_class):
    window, places = in_class.window, in_class.window.places
    in_class.press(Qt.Key.Key_F11)
    assert window.settings.text_scale == theme.TEXT_SCALES[2]
    assert window.isFullScreen()
    in_class.press(Qt.Key.Key_T, CTRL)  # another setting is kept, the large text is not
    assert read_settings(places.settings).text_scale == 1.0
    assert read_settings(places.settings).theme == window.settings.theme
    in_class.press(Qt.Key.Key_F11)
    assert window.settings.text_scale == 1.0
    assert not window.isFullScreen()


@pytest.mark.parametrize(
    ("screen", "scale"), [((1280, 800), 1.5), ((1920, 1080), 2.0), ((1024, 768), 1.5)]
)
def test_the_text_grows_no_further_than_every_page_fits(screen, scale):
    assert fitting(QSize(*screen)) == scale


def test_for_a_projector_text_that_is_large_already_is_not_made_smaller(in_class):
    window = in_class.window
    window.remember(text_scale=theme.TEXT_SCALES[-1])
    in_class.press(Qt.Key.Key_F11)
    assert window.settings.text_scale == theme.TEXT_SCALES[-1]
    in_class.press(Qt.Key.Key_F11)


@pytest.mark.parametrize("scale", [1.3, 1.5])
def test_on_a_projector_every_page_fits_1280_by_800(in_class, room, scale):
    window = in_class.window
    window.remember(text_scale=scale)
    window.dress()
    window.resize(1280, 800)
    for name in PAGES:
        room.show_page(name)
        in_class.settle()
        least = window.minimumSizeHint()
        assert least.width() <= 1280, name
        assert least.height() <= 800, name
        assert (window.width(), window.height()) == (1280, 800)
