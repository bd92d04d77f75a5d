"""What the pages of the room for teaching have in common."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from diagnose.assess import assess
from diagnose.case import Case
from ui.cause_search import CauseSearch
from ui.views.class_page import case_of
from ui.views.cutaway_page import CutawayPage
from ui.views.map_page import MapPage
from ui.views.what_if_page import WhatIfPage

TWIN = "twin_external"
SLASH = Qt.Key.Key_Slash
ESC, ENTER = Qt.Key.Key_Escape, Qt.Key.Key_Return


@pytest.fixture
def case(base):
    return Case(setup=TWIN, facts=base.setups[TWIN].facts)


@pytest.fixture(params=[CutawayPage, MapPage, WhatIfPage])
def page(request, base, case, dressed, qtbot):
    made = request.param(base, case)
    made.resize(1280, 740)
    made.show()
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow)
    made.take_focus()
    QApplication.processEvents()
    yield made
    made.close()
    made.deleteLater()
    QApplication.processEvents()


def press(key, modifiers=Qt.KeyboardModifier.NoModifier):
    QTest.keyClick(QApplication.focusWidget(), key, modifiers)
    QApplication.processEvents()


def test_what_is_found_stands_in_the_place_of_what_is_told(page):
    told = page.layout().itemAt(1).layout().itemAt(1).widget()
    assert told.isVisible()
    assert not page.search.view.isVisible()
    page.search.field.setText("pilot")
    assert not told.isVisible()
    assert page.search.view.isVisible()
    page.search.clear()
    assert told.isVisible()


@pytest.mark.parametrize("keys", [(SLASH,), (Qt.Key.Key_F, Qt.KeyboardModifier.ControlModifier)])
def test_slash_and_control_f_go_to_the_search(page, keys):
    page.search.field.clearFocus()
    page.setFocus()
    QTest.keyClick(page, *keys)
    assert page.search.field.hasFocus()


def test_escape_forgets_what_was_typed_before_it_leaves(page, qtbot):
    page.focus_search()
    page.search.field.setText("pilot")
    press(ESC)
    assert page.search.field.text() == ""
    with qtbot.waitSignal(page.left):
        press(ESC)


def test_enter_takes_the_first_that_is_found(page):
    page.focus_search()
    QTest.keyClicks(page.search.field, "air in the hydraulics")
    press(ENTER)
    if isinstance(page, MapPage):
        assert page.view.mark == ("causes", "air_in_system")
    elif isinstance(page, CutawayPage):
        assert page.cause == "air_in_system"
    else:
        assert page.causes == ("air_in_system",)


def test_a_case_an_assessment_and_none_are_all_a_case(base, case):
    assert case_of(case) is case
    assert case_of(assess(base, case)).facts == case.facts
    assert case_of(None) == Case()


def test_causes_are_found_by_name_and_by_zone(base):
    search = CauseSearch(base, ("air_in_system", "hose_swells", "pilot_tight"))
    assert search.find("hose")[0][0] == "hose_swells"
    zone = base.zones[base.causes["pilot_tight"].zone].name
    assert [name for name, _ in search.find(zone)] == ["pilot_tight"]
    assert search.find("air in", leave_out=("air_in_system",)) == []
