"""What if, in a window: causes chosen, figures slid, and what follows listed."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton

from diagnose.case import Case
from diagnose.sliders import SLIDERS
from diagnose.what_if import WhatIf
from tests.ui.painted import overlapping, words_painted
from ui import theme
from ui.jobs import Jobs
from ui.views.what_if_page import WhatIfPage
from ui.what_if_rows import chance_strips, reading_strips, slid_words
from ui.widgets import what_if_strips

TWIN = "twin_external"


@pytest.fixture
def case(base):
    return Case(setup=TWIN, facts=base.setups[TWIN].facts)


@pytest.fixture
def make_page(base, dressed, qtbot):
    pages = []

    def make(case=None, jobs=None):
        page = WhatIfPage(base, case, jobs)
        page.resize(1280, 740)
        page.show()
        page.activateWindow()
        qtbot.waitUntil(page.isActiveWindow)
        pages.append(page)
        return page

    yield make
    for page in pages:
        page.close()
        page.deleteLater()
    QApplication.processEvents()


@pytest.fixture
def page(make_page, case):
    return make_page(case)


def row(strips, name):
    return next(strip for strip in strips.rows if strip.name == name)


def press(key):
    QTest.keyClick(QApplication.focusWidget(), key)
    QApplication.processEvents()


def test_at_first_it_is_the_vehicle_without_a_fault(page):
    assert not any(strip.changed for strip in page.chances.rows + page.readings.rows)
    assert "without a fault" in page._about.text()


def test_a_cause_is_added_by_its_words_and_taken_away_by_delete(page):
    page.take_focus()
    QTest.keyClicks(page.search.field, "air in the hydr")
    press(Qt.Key.Key_Return)
    assert page.causes == ("air_in_system",)
    assert page.chances.rows[0].changed
    page.chosen.setFocus()
    page.chosen.setCurrentIndex(page.model.index(0, 0))
    press(Qt.Key.Key_Delete)
    assert page.causes == ()


def test_what_is_listed_is_what_was_worked_out(page, base, case):
    what_if = WhatIf.of(base, case)
    page.set_causes(("air_in_system", "disc_bent"))
    page.slide("stack", -1.0)
    chosen, slid = ("air_in_system", "disc_bent"), {"stack": -1.0}
    chances = [c for c in what_if.chances(chosen, slid) if c.id in base.complaints]
    assert page.chances.rows == chance_strips(chances)
    assert page.readings.rows == reading_strips(what_if.readings(chosen, slid))


def test_what_changes_most_comes_first(page):
    page.set_causes(("air_in_system",))
    rises = [strip.band[2] - strip.usual_band[2] for strip in page.chances.rows]
    assert rises == sorted(rises, reverse=True)
    changed = [strip.changed for strip in page.readings.rows]
    assert changed == sorted(changed, reverse=True)


def test_arrow_keys_slide_a_figure_and_say_how_far(page):
    bar = page._sliders["stack"].bar
    bar.setFocus()
    press(Qt.Key.Key_Left)
    press(Qt.Key.Key_Left)
    assert page.slid == {"stack": pytest.approx(-0.2)}
    assert bar.accessibleName() == "Clamped stack, too thick: −0.2 mm"
    assert row(page.readings, "Height of the fingers").changed


def test_start_again_chooses_nothing_and_slides_all_back(page):
    page.set_causes(("disc_bent",))
    page.slide("air", 3.0)
    page.clear()
    assert page.causes == ()
    assert not any(page.slid.values())
    assert not any(strip.changed for strip in page.chances.rows + page.readings.rows)


def test_f_shows_findings_in_place_of_complaints(page, base):
    page.chances.setFocus()
    press(Qt.Key.Key_F)
    assert len(page.chances.rows) == len(base.findings)
    press(Qt.Key.Key_F)
    assert len(page.chances.rows) == len(base.complaints)


def test_a_screen_reader_hears_what_changes(page):
    page.set_causes(("pivot_spacer_left_in",))
    said = page.readings.accessibleDescription()
    assert said.startswith("1 of ")
    assert "Free travel at the end of the fork" in said
    assert "without a fault" in said


def test_h_on_a_chosen_cause_wants_it_in_the_handbook(page, qtbot):
    page.set_causes(("disc_bent",))
    page.chosen.setFocus()
    page.chosen.setCurrentIndex(page.model.index(0, 0))
    with qtbot.waitSignal(page.record_wanted) as wanted:
        press(Qt.Key.Key_H)
    assert wanted.args == ["causes", "disc_bent"]
    page.show_record("causes", "air_in_system")
    assert page.causes == ("disc_bent", "air_in_system")


def test_another_set_up_drops_what_it_rules_out(page, base):
    page.set_causes(("air_in_system", "disc_bent"))
    cable = base.setups["light_cable"].facts
    page.set_case(Case(setup="light_cable", facts=cable))
    assert page.causes == ("disc_bent",)
    assert "air" not in page._sliders


def test_the_same_set_up_keeps_what_is_slid(page, case):
    page.slide("air", 2.0)
    page.set_case(case.model_copy(update={"title": "another finding later"}))
    assert page.slid == {"air": 2.0}


def test_with_nothing_chosen_the_sliders_have_all_the_room(page):
    assert not page.chosen.isVisible()
    page.set_causes(("disc_bent",))
    assert page.chosen.isVisible()
    page.clear()
    assert not page.chosen.isVisible()


def test_without_a_set_up_nothing_can_be_slid_and_it_says_why(make_page):
    page = make_page()
    assert not page._sliders
    assert "set-up" in page._about.text()


def test_with_jobs_the_set_up_is_worked_out_off_the_windows_thread(make_page, case, qtbot):
    jobs = Jobs()
    page = make_page(case, jobs)
    page.set_causes(("disc_bent", "no_such_cause"))
    qtbot.waitUntil(lambda: bool(page.chances.rows))
    assert page.causes == ("disc_bent",)
    jobs.close()


def test_escape_leaves(page, qtbot):
    page.chances.setFocus()
    with qtbot.waitSignal(page.left):
        press(Qt.Key.Key_Escape)


def test_everything_that_takes_the_focus_has_a_name(page):
    for widget in (page.chances, page.readings, page.chosen, page.search.field):
        assert widget.accessibleName()
    assert all(slide.bar.accessibleName() for slide in page._sliders.values())
    assert all(button.text() for button in page.findChildren(QPushButton) if button.isVisible())


@pytest.mark.parametrize(
    ("slider", "amount", "said"),
    [
        ("spacer", 0.0, "as designed"),
        ("spacer", 6.5, "+6.5 mm (1/4 in)"),
        ("spacer", -6.5, "−6.5 mm (1/4 in)"),
        ("air", 0.25, "+0.25 cm³"),
        ("step", 0.8, "+0.8 mm"),
    ],
)
def test_how_far_a_figure_is_slid_is_said_in_its_unit_and_on_a_tape(slider, amount, said):
    assert slid_words(SLIDERS[slider], amount) == said


@pytest.mark.parametrize("scale", [1.0, 1.3, 1.5, 2.0])
def test_large_text_takes_more_lines_and_none_is_cut(page, dressed, face, monkeypatch, scale):
    theme.apply(dressed, "light", scale, face)
    page.set_causes(["air_in_system"])
    QApplication.processEvents()
    for strips in (page.chances, page.readings):
        bar = strips.verticalScrollBar()
        for place in (0, bar.maximum() // 2, bar.maximum()):
            bar.setValue(place)
            words = words_painted(monkeypatch, what_if_strips, strips)
            assert len(words) > 6
            assert [w.text for w in words if w.is_cut] == []
            assert overlapping(words) == []
            edge = strips.viewport().height()
            assert all(w.box.top() >= 0 and w.box.bottom() <= edge for w in words)


def test_every_row_can_be_scrolled_to(page, dressed, face, monkeypatch):
    theme.apply(dressed, "light", 1.5, face)
    page.set_causes(["air_in_system"])
    QApplication.processEvents()
    bar, seen = page.readings.verticalScrollBar(), set()
    for place in range(0, bar.maximum() + 100, 100):
        bar.setValue(place)
        seen |= {w.text for w in words_painted(monkeypatch, what_if_strips, page.readings)}
    assert {r.name[:1].upper() + r.name[1:] for r in page.readings.rows} <= seen
