"""The kit page: by keyboard, wrong input told at once, undo, and back to it from the bench."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QScrollArea

from diagnose.case import Case
from diagnose.case_file import write_case_file
from diagnose.kit_sheet import in_words, sheet_for
from diagnose.physics.presets import PRESETS
from diagnose.system import expected, figure_of, system_of, with_sheet
from ui import moves
from ui.widgets.text import Words

ENTER, TAB, ESC = Qt.Key.Key_Return, Qt.Key.Key_Tab, Qt.Key.Key_Escape
ALT, CTRL = Qt.KeyboardModifier.AltModifier, Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
KIT = 1
PATIENCE = 20_000


@pytest.fixture
def driver(window, qtbot):
    window.qtbot = qtbot
    window.window.activateWindow()
    yield window
    window.settle()


@pytest.fixture
def at_kit(driver):
    """A new case of the twin disc with an outside slave, on its kit page."""
    start(driver, "twin_external")
    return driver


def start(driver, setup):
    session = driver.session
    session.start()
    if setup is not None:
        session.change(moves.with_setup(session.base, session.case, setup), "the set-up")
    driver.window.show_intake(KIT)
    driver.settle()


def press_and_get_to(driver, key, place):
    """Press the key of a button by Alt and wait for the page; buttons go down before they act."""
    driver.press(key, ALT)
    driver.qtbot.waitUntil(lambda: driver.intake.place == place, timeout=PATIENCE)


def page(driver):
    return driver.intake.kit


def line(driver, figure):
    return page(driver).lines[figure]


def focused(driver):
    """The figure whose field has the focus."""
    field = QApplication.focusWidget()
    return next((f for f, one in page(driver).lines.items() if one.field is field), None)


def go_to(driver, figure):
    line(driver, figure).field.setFocus()


def texts(driver):
    return [w.text() for w in page(driver).findChildren(Words) if w.isVisible()]


def value_of(driver, observable):
    return page(driver).facts[observable].value.text()


def test_the_whole_page_by_keyboard(driver, base):
    driver.press(Qt.Key.Key_N, CTRL)
    presets = list(base.setups)
    for _ in range(presets.index("twin_external") + 1):
        driver.press(Qt.Key.Key_Down)
    driver.press(ENTER)
    assert driver.intake.place == KIT
    driver.settle()
    order = [row.figure for group in sheet_for(PRESETS["twin_external"]) for row in group.rows]
    assert list(page(driver).lines) == order
    assert focused(driver) == order[0]

    # Tab goes down the sheet, in the order it is read, and back.
    for figure in order[1:]:
        driver.press(TAB)
        assert focused(driver) == figure
        seen = line(driver, figure).field.visibleRegion().boundingRect()
        assert seen.height() >= line(driver, figure).field.height() // 2
    for figure in reversed(order[:-1]):
        driver.press(TAB, SHIFT)
        assert focused(driver) == figure

    # Enter takes what is typed and goes to the next field; in an empty one it goes on.
    driver.type("152 mm")
    driver.press(ENTER)
    assert focused(driver) == order[1]
    driver.type("5.4 : 1")
    driver.press(ENTER)
    driver.type('7/8"')
    driver.press(ENTER)
    assert dict(driver.session.case.kit) == {
        "pedal_travel": "152 mm",
        "pedal_ratio": "5.4 : 1",
        "master_bore": '7/8"',
    }
    assert focused(driver) == "slave_bore"
    driver.press(ENTER)
    assert driver.intake.place == KIT + 1
    driver.settle()
    assert driver.session.records.read(driver.session.kept.id).case == driver.session.case
    assert system_of(driver.session.case).figures.pedal_travel.nominal == 152.0

    driver.press(Qt.Key.Key_Z, CTRL)
    press_and_get_to(driver, Qt.Key.Key_2, KIT)
    assert line(driver, "master_bore").text == ""
    assert line(driver, "pedal_ratio").text == "5.4 : 1"


def test_it_can_be_skipped(at_kit):
    kit = at_kit.session.case.kit
    at_kit.press(ENTER)
    assert at_kit.intake.place == KIT + 1
    press_and_get_to(at_kit, Qt.Key.Key_2, KIT)
    press_and_get_to(at_kit, Qt.Key.Key_N, KIT + 1)
    at_kit.press(ESC)
    assert at_kit.intake.place == KIT
    at_kit.press(ESC)
    assert at_kit.intake.place == 0
    assert at_kit.session.case.kit == kit == {}


def test_the_last_field_leads_on(at_kit):
    figure = list(page(at_kit).lines)[-1]
    go_to(at_kit, figure)
    at_kit.type("0.29")
    at_kit.press(ENTER)
    assert at_kit.intake.place == KIT + 1
    assert at_kit.session.case.kit == {"friction": "0.29"}


@pytest.mark.parametrize("setup", sorted(PRESETS))
def test_the_lines_are_those_of_the_set_up(driver, setup):
    start(driver, setup)
    rows = [row for group in sheet_for(PRESETS[setup]) for row in group.rows]
    assert list(page(driver).lines) == [row.figure for row in rows]
    assert [one.row.name for one in page(driver).lines.values()] == [row.name for row in rows]
    assert {group.title.upper() for group in sheet_for(PRESETS[setup])} <= set(texts(driver))


def test_beside_each_field_stands_what_is_taken_without_it(at_kit):
    any_kit = with_sheet(PRESETS["twin_external"], {})
    for figure, one in page(at_kit).lines.items():
        usual = figure_of(any_kit, figure)
        unit = one.otherwise.text().partition("else ")[0].strip()
        assert f"else {in_words(usual.nominal, unit, digits=3)}" in one.otherwise.text()
        assert ("(" in one.otherwise.text()) == (usual.uncertainty > 0.0)
    assert line(at_kit, "finger_height").otherwise.text() == "mm  else 45 (30 to 60)"
    assert line(at_kit, "friction").otherwise.text() == "else 0.3 (0.26 to 0.34)"


class TestWrongInput:
    @pytest.mark.parametrize(
        ("figure", "typed", "said"),
        [
            ("finger_height", "tall", "Not taken. 'tall' is not a number"),
            ("fork_free_travel", "35 in", "Did you mean 35 mm?"),
            ("master_bore", "7/8", "Did you mean 7/8 in?"),
            ("facing_inner", "300 mm", "inner diameter must be below"),
        ],
    )
    def test_is_told_at_once_and_blocks_nothing(self, at_kit, figure, typed, said):
        go_to(at_kit, figure)
        at_kit.type(typed)
        told = line(at_kit, figure).said
        assert told.isVisible()
        assert said in told.text()
        press_and_get_to(at_kit, Qt.Key.Key_N, KIT + 1)
        assert at_kit.session.case.kit == {}
        at_kit.press(ESC)  # what was typed stands there to be put right
        assert line(at_kit, figure).text == typed
        assert line(at_kit, figure).said.isVisible()

    def test_nothing_is_said_of_what_is_right(self, at_kit):
        go_to(at_kit, "finger_height")
        at_kit.type("45 +- 1 mm")
        assert not any(one.said.isVisible() for one in page(at_kit).lines.values())

    def test_what_lies_far_off_is_asked_about_and_taken(self, at_kit):
        go_to(at_kit, "clamp_load")
        at_kit.type("2000")
        assert "Did you mean 2000 lbf?" in line(at_kit, "clamp_load").said.text()
        at_kit.press(TAB)
        assert at_kit.session.case.kit == {"clamp_load": "2000"}

    def test_put_right_it_is_taken(self, at_kit):
        go_to(at_kit, "fork_free_travel")
        at_kit.type("35 in")
        at_kit.press(TAB)
        assert at_kit.session.case.kit == {}
        at_kit.press(TAB, SHIFT)
        at_kit.type("1 1/8 in")  # the text was marked by Tab
        at_kit.press(TAB)
        assert at_kit.session.case.kit == {"fork_free_travel": "1 1/8 in"}
        assert not line(at_kit, "fork_free_travel").said.isVisible()

    def test_a_figure_that_became_wrong_holds_no_more(self, at_kit):
        go_to(at_kit, "finger_height")
        at_kit.type("45")
        at_kit.press(TAB)
        at_kit.press(TAB, SHIFT)
        at_kit.type("4x")
        at_kit.press(TAB)
        assert at_kit.session.case.kit == {}
        at_kit.press(Qt.Key.Key_Z, CTRL)
        assert at_kit.session.case.kit == {"finger_height": "45"}
        assert line(at_kit, "finger_height").text == "45"

    def test_two_that_only_fit_together(self, at_kit):
        go_to(at_kit, "facing_inner")
        at_kit.type("280 mm")
        assert "Not taken" in line(at_kit, "facing_inner").said.text()
        go_to(at_kit, "facing_outer")
        at_kit.type("400 mm")
        assert not line(at_kit, "facing_inner").said.isVisible()
        at_kit.press(ENTER)
        assert set(at_kit.session.case.kit) == {"facing_inner", "facing_outer"}


class TestWhatItLeadsTo:
    def test_follows_every_letter(self, at_kit):
        before = value_of(at_kit, "fork_free_travel")
        go_to(at_kit, "fork_free_travel")
        for typed, shown in (("1", "1 in"), (".", "1 in"), ("4", "1.4 in")):
            at_kit.type(typed)
            assert value_of(at_kit, "fork_free_travel") in {shown, before}
        assert value_of(at_kit, "fork_free_travel") == "1.4 in"
        assert at_kit.session.case.kit == {}  # not before the field is left

    @pytest.mark.parametrize("setup", ["twin_external", "light_concentric", "old_rods"])
    def test_is_what_the_model_reads(self, driver, setup):
        start(driver, setup)
        for found in expected(with_sheet(PRESETS[setup], {})):
            unit = value_of(driver, found.observable).split()[-1]
            assert value_of(driver, found.observable).split()[0] == in_words(
                found.value, unit, digits=3
            )
            band = page(driver).facts[found.observable].band.text()
            low, high = (in_words(v, unit, digits=2) for v in (found.low, found.high))
            assert band == f"9 in 10 at {low} to {high} {unit}"

    def test_narrows_when_the_sheet_is_typed(self, at_kit):
        def width():
            words = page(at_kit).facts["fork_free_travel"].band.text().split()
            return float(words[6]) - float(words[4])

        before = width()
        go_to(at_kit, "fork_free_travel")
        at_kit.type("1 to 1 1/4 in")
        assert width() < 0.7 * before

    def test_figures_that_never_release_are_told_in_words(self, at_kit):
        go_to(at_kit, "slave_bore")
        at_kit.type("45 mm")
        assert value_of(at_kit, "engagement_height") == "never comes free"
        assert "-" not in value_of(at_kit, "fork_tip_travel")


class TestUnknown:
    def test_says_what_to_answer(self, driver, base):
        start(driver, None)
        shown = [text for text in texts(driver) if "can’t be told yet" in text]
        assert len(shown) == 1
        for fact in ("release", "cover", "discs"):
            assert base.facts[fact].name.lower() in shown[0]
        assert page(driver).lines == {}
        assert QApplication.focusWidget() is page(driver).go_on
        driver.press(ENTER)
        assert driver.intake.place == KIT + 1

    def test_only_what_is_open_is_asked(self, driver, base):
        start(driver, None)
        facts = {"release": ("cable",), "cover": ("push",)}
        driver.session.change(driver.session.case.with_facts(facts), "facts")
        driver.settle()
        shown = next(text for text in texts(driver) if "can’t be told yet" in text)
        assert base.facts["discs"].name.lower() in shown
        assert base.facts["release"].name.lower() not in shown

    def test_an_arrangement_nobody_knows(self, driver):
        start(driver, None)
        facts = {"release": ("cable",), "cover": ("pull",), "discs": ("one",)}
        driver.session.change(driver.session.case.with_facts(facts), "facts")
        driver.settle()
        assert any("No release system is known" in text for text in texts(driver))

    def test_lines_come_as_soon_as_it_is_known(self, driver):
        start(driver, None)
        driver.session.change(
            moves.with_setup(driver.session.base, driver.session.case, "light_cable"), "x"
        )
        driver.settle()
        assert "fork_ratio" in page(driver).lines
        assert not page(driver).unknown.isVisible()
        assert not page(driver).go_on.isVisible()


class TestTheCase:
    def test_is_on_disk_and_each_field_is_one_step(self, at_kit, base):
        go_to(at_kit, "master_bore")
        at_kit.type("22 mm")
        at_kit.press(TAB)
        at_kit.type("1 in")
        at_kit.press(TAB)
        at_kit.settle()
        session = at_kit.session
        assert session.records.read(session.kept.id).case.kit == session.case.kit
        assert session.undoes == "bore of the slave cylinder"
        at_kit.press(Qt.Key.Key_Z, CTRL)
        assert session.case.kit == {"master_bore": "22 mm"}
        assert line(at_kit, "slave_bore").text == ""
        at_kit.press(Qt.Key.Key_Z, CTRL | SHIFT)
        assert session.case.kit == {"master_bore": "22 mm", "slave_bore": "1 in"}
        assert line(at_kit, "slave_bore").text == "1 in"

    def test_an_emptied_field_gives_the_preset_back(self, at_kit):
        go_to(at_kit, "master_bore")
        at_kit.type("20 mm")
        at_kit.press(TAB)
        at_kit.press(TAB, SHIFT)
        at_kit.press(Qt.Key.Key_Delete)
        at_kit.press(TAB)
        assert at_kit.session.case.kit == {}
        assert system_of(at_kit.session.case).figures.master_bore.nominal == 22.225

    def test_figures_of_another_set_up_are_kept_aside(self, at_kit):
        go_to(at_kit, "fork_ratio")
        at_kit.type("1.9")
        at_kit.press(TAB)
        session = at_kit.session
        session.change(moves.with_setup(session.base, session.case, "light_concentric"), "set-up")
        at_kit.settle()
        assert "fork_ratio" not in page(at_kit).lines
        assert any("not used with this set-up: fork ratio" in text for text in texts(at_kit))
        go_to(at_kit, "slave_core")
        at_kit.type("36 mm")
        at_kit.press(TAB)
        assert session.case.kit == {"fork_ratio": "1.9", "slave_core": "36 mm"}
        at_kit.settle()
        assert session.standing.assessment.case.kit == session.case.kit

    def test_a_figure_that_goes_with_the_new_set_up_no_more_stops_nothing(self, at_kit):
        go_to(at_kit, "facing_inner")
        at_kit.type("230 mm")
        at_kit.press(TAB)
        session = at_kit.session
        session.change(moves.with_setup(session.base, session.case, "light_external"), "set-up")
        at_kit.settle()
        assert session.standing.assessment.case == session.case
        assert "Not taken" in line(at_kit, "facing_inner").said.text()

    def test_undo_of_the_set_up_brings_its_lines_back(self, at_kit):
        session = at_kit.session
        session.change(moves.with_setup(session.base, session.case, "light_cable"), "the set-up")
        at_kit.settle()
        go_to(at_kit, "friction")
        at_kit.press(Qt.Key.Key_Z, CTRL)
        at_kit.settle()
        assert "slave_bore" in page(at_kit).lines
        assert focused(at_kit) == "pedal_travel"

    def test_a_new_case_begins_with_empty_fields(self, at_kit):
        go_to(at_kit, "master_bore")
        at_kit.type("no bore")
        start(at_kit, "twin_external")
        assert line(at_kit, "master_bore").text == ""

    def test_a_case_that_is_opened_shows_its_figures(self, driver, base, tmp_path):
        facts = dict(base.setups["twin_external"].facts)
        case = Case(setup="twin_external", facts=facts, kit={"finger_height": "44 to 46 mm"})
        write_case_file(tmp_path / "mine.yaml", case)
        driver.open(tmp_path / "mine.yaml")
        driver.press(Qt.Key.Key_I, CTRL)
        press_and_get_to(driver, Qt.Key.Key_2, KIT)
        assert line(driver, "finger_height").text == "44 to 46 mm"

    def test_it_is_reached_again_from_the_bench(self, at_kit):
        go_to(at_kit, "finger_height")
        at_kit.type("46 mm")
        at_kit.press(ENTER, CTRL)
        assert at_kit.window.stack.currentWidget() is at_kit.bench
        assert at_kit.session.case.kit == {"finger_height": "46 mm"}
        at_kit.settle()
        at_kit.press(Qt.Key.Key_I, CTRL)
        assert at_kit.intake.place == KIT  # where the user left it
        press_and_get_to(at_kit, Qt.Key.Key_1, 0)
        press_and_get_to(at_kit, Qt.Key.Key_2, KIT)
        assert line(at_kit, "finger_height").text == "46 mm"


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_no_line_needs_sideways_scrolling(at_kit, scale):
    window = at_kit.window
    window.remember(text_scale=scale)
    window.dress()
    window.show_intake(KIT)
    at_kit.settle()
    for _ in range(10):
        QApplication.processEvents()
    go_to(at_kit, "fork_free_travel")
    at_kit.type("35 in")
    for _ in range(10):
        QApplication.processEvents()
    scrolls = page(at_kit).findChildren(QScrollArea)
    assert scrolls
    for scroll in scrolls:
        assert scroll.widget().width() <= scroll.viewport().width()
    for one in page(at_kit).lines.values():
        assert one.field.height() >= 40
        assert one.field.width() >= 6 * one.field.fontMetrics().averageCharWidth()
    go_to(at_kit, "pedal_travel")
    for figure in list(page(at_kit).lines)[1:]:
        at_kit.press(TAB)
        assert focused(at_kit) == figure
        assert not line(at_kit, figure).field.visibleRegion().isEmpty()
    window.remember(text_scale=1.0)
    window.dress()
