"""Readings by keyboard: typing, slips, instrument, predictions, limits, the page of numbers."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QApplication, QDialog

from diagnose.case import Case, Entry
from diagnose.forecasts import forecasts
from tests.ui.test_accessibility import (
    cut_off,
    keys_given_twice,
    nameless,
    small_targets,
    sticks_out,
)
from ui import messages
from ui.actions import ACTIONS
from ui.drawings.how_to import HowTo
from ui.settings import Settings
from ui.views.numbers_panel import NumbersDialog
from ui.widgets.forecast_chart import ForecastChart
from ui.widgets.text import Words

PATIENCE = 20_000
ALT = Qt.KeyboardModifier.AltModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
ENTER, TAB = Qt.Key.Key_Return, Qt.Key.Key_Tab
CHECK, GAUGE = "fork_free_travel_twin", "fork_free_travel"
COMPLAINTS = tuple(Entry(complaint=c, answer="yes") for c in ("gears_grind", "creeps_pedal_down"))


@pytest.fixture(scope="module")
def one_driver(window):
    """One window for all tests here: each starts a case of its own in it."""
    return window


@pytest.fixture
def driver(one_driver, qtbot):
    """The window as it is opened: no dialog, usual size and text."""
    window = one_driver.window
    one_driver.qtbot = qtbot
    window.remember(theme="light", voice="do")
    window.dress()
    window.resize(1280, 800)
    yield one_driver
    for dialog in window.findChildren(QDialog):
        dialog.close()
        dialog.deleteLater()
    one_driver.settle()
    window.activateWindow()


def start(driver, base, *entries, setup="twin_external"):
    """The bench with a case on the set-up with two discs, or on one that is not known."""
    facts = dict(base.setups[setup].facts) if setup else {}
    case = Case(setup=setup, facts=facts, entries=(*COMPLAINTS, *entries))
    with driver.qtbot.waitSignal(driver.session.assessment_changed, timeout=PATIENCE):
        driver.session.start(case)
        driver.window.show_bench()
    driver.settle()


def ask(driver, check=CHECK):
    """Put a check on the card with its cautions read; gives its field for the reading."""
    driver.bench.card.choose("check", check)
    if driver.bench.card.unread():
        driver.press(Qt.Key.Key_R)
    gauge = driver.bench.card.pad.gauge
    assert gauge.field.hasFocus()
    return gauge


def type_in(driver, text):
    driver.type(text)
    QApplication.processEvents()


def words(widget):
    return [w.text() for w in widget.findChildren(Words) if w.isVisible()]


@pytest.fixture
def twin(driver, base):
    start(driver, base)
    return driver


@pytest.fixture
def gauge(twin):
    return ask(twin)


class TestTyping:
    def test_what_is_understood_is_said_in_both_units_with_its_band(self, twin, gauge, base):
        type_in(twin, "1 3/8 in")
        band = next(a for a in base.checks[CHECK].answers if a.id == "right")
        assert gauge.said.text() == f"1 3/8 in = 34.9 mm: {band.text}. {band.means}"
        assert gauge.take.isEnabled()

    def test_enter_gives_the_reading_as_typed(self, twin, gauge, base):
        type_in(twin, "1 to 1 1/4 in")
        twin.press_and_settle(ENTER)
        entry = twin.session.case.entries[-1]
        assert (entry.check, entry.answer, entry.reading) == (CHECK, "right", "1 to 1 1/4 in")
        assert twin.session.records.read(twin.session.kept.id).case == twin.session.case
        taken = twin.session.standing.assessment.situation.measured.taken
        assert [t.check for t in taken] == [CHECK]

    @pytest.mark.parametrize("typed", ["more than 2 in", "would not move", "1 in; 1 1/8 in"])
    def test_other_ways_to_say_it(self, twin, gauge, typed):
        type_in(twin, typed)
        twin.press_and_settle(ENTER)
        assert twin.session.case.entries[-1].reading == typed

    def test_the_unit_stands_beside_what_has_none(self, twin, gauge):
        assert (gauge.unit.text(), gauge.unit.isVisible()) == ("in", True)
        type_in(twin, "30")
        assert gauge.unit.isVisible()
        type_in(twin, " mm")
        assert not gauge.unit.isVisible()

    def test_nothing_is_taken_while_nothing_can_be(self, twin, gauge):
        twin.press(ENTER)
        assert gauge.said.text() == messages.NOTHING_TYPED
        type_in(twin, "soft")
        twin.press(ENTER)
        assert gauge.said.text().startswith("Not yet: ")
        assert not gauge.take.isEnabled()
        assert twin.session.case.answer_to(("check", CHECK)) is None

    def test_letters_that_are_keys_of_the_window_are_typed(self, twin, gauge):
        type_in(twin, "now")
        assert gauge.field.text() == "now"
        assert not twin.window.findChildren(QDialog)

    def test_cannot_tell_by_its_key(self, twin, gauge):
        twin.press_and_settle(Qt.Key.Key_C, ALT)
        entry = twin.session.case.entries[-1]
        assert (entry.answer, entry.reading, entry.instrument) == ("can't tell", "", None)

    def test_what_is_typed_outlives_another_voice(self, twin, gauge):
        type_in(twin, "1 in")
        twin.bench.card.next_voice()
        assert twin.bench.card.pad.field.text() == "1 in"

    def test_another_check_starts_empty(self, twin, gauge):
        type_in(twin, "1 in")
        assert ask(twin, "finger_spread").field.text() == ""
        assert ask(twin).field.text() == ""


class TestSlips:
    def test_enter_takes_over_what_was_meant_and_gives_nothing_yet(self, twin, gauge):
        type_in(twin, "35 in")
        assert "35 in can hardly be right here. Did you mean 35 mm?" in gauge.said.text()
        assert gauge.take.text() == "&Yes, 35 mm (Enter)"
        twin.press(ENTER)
        assert gauge.field.text() == "35 mm"
        assert gauge.field.hasFocus()
        assert twin.session.case.answer_to(("check", CHECK)) is None
        twin.press_and_settle(ENTER)
        assert twin.session.case.entries[-1].reading == "35 mm"

    def test_so_does_its_key(self, twin, gauge):
        type_in(twin, "35 in")
        twin.press(Qt.Key.Key_Y, ALT)
        twin.qtbot.waitUntil(lambda: gauge.field.text() == "35 mm", timeout=PATIENCE)

    def test_a_slip_without_a_guess_is_only_refused(self, twin, gauge):
        type_in(twin, "9999 mm")
        assert not gauge.take.isEnabled()
        twin.press(ENTER)
        assert gauge.field.text() == "9999 mm"


class TestInstrument:
    def test_the_usual_one_stands_there_and_goes_into_the_case(self, twin, gauge, base):
        names = [i.name for i in base.measurements[GAUGE].instruments.values()]
        shown = [gauge.instruments.itemText(i) for i in range(gauge.instruments.count())]
        assert shown == names
        type_in(twin, "1 in")
        twin.press_and_settle(ENTER)
        assert twin.session.case.entries[-1].instrument == "tape"

    def test_another_one_is_chosen_by_keys_and_shown_again(self, twin, gauge):
        twin.press(TAB)
        assert gauge.instruments.hasFocus()
        twin.press(Qt.Key.Key_Down)
        twin.press(TAB, SHIFT)
        type_in(twin, "1 in")
        twin.press_and_settle(ENTER)
        place = len(twin.session.case.entries) - 1
        assert twin.session.case.entries[place].instrument == "rule"
        assert "1 in, steel rule" in twin.bench.findings.model.index(0, 0).data()
        twin.bench.open_change(place)
        again = twin.window.findChildren(QDialog)[0].pad.gauge
        assert (again.field.text(), again.instrument) == ("1 in", "rule")

    def test_it_can_be_changed_later(self, driver, base):
        told = Entry(check=CHECK, answer="right", reading="1 in", instrument="rule")
        start(driver, base, told)
        place = len(driver.session.case.entries) - 1
        driver.bench.open_change(place)
        dialog = driver.window.findChildren(QDialog)[0]
        driver.qtbot.waitUntil(dialog.isActiveWindow, timeout=PATIENCE)
        driver.press(Qt.Key.Key_W, ALT)
        driver.press(Qt.Key.Key_Up)
        driver.press(TAB, SHIFT)
        driver.press_and_settle(ENTER)
        entry = driver.session.case.entries[place]
        assert (entry.reading, entry.instrument) == ("1 in", "tape")

    def test_the_bands_follow_it(self, twin, gauge):
        def width():
            band = gauge.chart.chart.bands[0]
            return band.high - band.low

        tape = width()
        gauge.instruments.setCurrentIndex(1)
        assert width() < tape

    def test_where_there_is_one_only_there_is_no_choice(self, twin):
        gauge = ask(twin, "finger_spread")
        assert not gauge.instruments.isVisible()
        type_in(twin, "0.2")
        twin.press_and_settle(ENTER)
        assert twin.session.case.entries[-1].instrument is None


class TestKeysOfTheWindow:
    def test_in_an_empty_field_a_letter_that_begins_no_reading_is_one(self, twin, gauge):
        twin.press_and_settle(Qt.Key.Key_X)
        assert CHECK in twin.session.case.skipped

    def test_a_letter_that_may_begin_one_is_typed(self, twin, gauge):
        shown = twin.bench.card.shown
        type_in(twin, "over")
        assert gauge.field.text() == "over"
        type_in(twin, "x")  # no longer empty
        assert gauge.field.text() == "overx"
        assert twin.bench.card.shown == shown

    def test_escape_leaves_the_field_to_all_of_them(self, twin, gauge):
        twin.press(Qt.Key.Key_Escape)
        assert twin.bench.card.skip_button.hasFocus()
        twin.press(Qt.Key.Key_W)
        shown = [d for d in twin.window.findChildren(QDialog) if d.isVisible()]
        assert [d.windowTitle()[:4] for d in shown] == ["Why:"]


class TestChart:
    def test_bands_are_the_engines_and_the_reading_is_among_them(self, twin, gauge):
        type_in(twin, "more than 2 in")
        found = twin.session.standing.assessment
        healthy = forecasts(found, GAUGE, top=0, instrument="tape")[0]
        chart = gauge.chart.chart
        assert gauge.chart.isVisible()
        assert chart.bands[0].middle == pytest.approx(healthy.middle / 25.4)
        assert chart.bands[0].fit == "does not fit"
        assert any(band.fit == "fits" for band in chart.bands)
        assert chart.marks[0].low == pytest.approx(2.0)
        assert chart.edges == pytest.approx((1.0, 1.5))

    def test_the_words_of_the_chart_are_spoken(self, twin, gauge):
        type_in(twin, "1 3/8 in")
        spoken = gauge.chart.accessibleDescription()
        assert spoken.startswith("Read: 1 3/8 in. no fault, ")
        face = QAccessible.queryAccessibleInterface(gauge.chart)
        assert face.text(QAccessible.Text.Description) == spoken
        for band in gauge.chart.chart.bands:
            assert f"{band.name}, " in spoken
            assert band.fit in spoken

    def test_who_leaves_it_alone_is_told(self, twin, gauge):
        type_in(twin, "1 in")
        still = [f for f in forecasts(twin.session.standing.assessment, GAUGE)[1:] if not f.moved]
        assert len(still) > 1
        assert gauge.alone.isVisible()
        assert f"and {len(still) - 1} other" in gauge.alone.text()

    def test_where_there_is_little_room_it_comes_with_the_reading(self, twin, gauge):
        twin.qtbot.waitUntil(lambda: not gauge.chart.isVisible(), timeout=PATIENCE)
        assert gauge.usual.text().startswith("Without a fault: ")
        type_in(twin, "1 in")
        assert gauge.chart.isVisible()
        assert not gauge.usual.isVisible()

    def test_where_there_is_room_it_is_there_before(self, twin):
        twin.window.resize(1920, 1080)
        twin.settle()
        gauge = ask(twin)
        twin.qtbot.waitUntil(gauge.chart.isVisible, timeout=PATIENCE)
        assert {band.fit for band in gauge.chart.chart.bands} == {""}

    def test_what_to_answer_is_said_where_nothing_is_predicted(self, driver, base):
        start(driver, base, setup=None)
        gauge = ask(driver)
        assert not gauge.chart.isVisible()
        assert gauge.hint.isVisible()
        assert base.facts["discs"].name.lower() in gauge.hint.text()
        type_in(driver, "1 in")
        driver.press_and_settle(ENTER)
        assert driver.session.case.entries[-1].answer == "right"

    def test_limits_with_their_source(self, twin, gauge):
        assert not gauge.limits.isVisible()
        type_in(twin, "1 1/4 in")
        assert gauge.limits.text().startswith("Within 1 to 1 1/2 in (")
        assert "more than 99 in 100 sure" in gauge.limits.text()
        assert gauge.limits.text().endswith("[common practice]")

    def test_predictions_follow_the_assessment(self, twin, gauge):
        type_in(twin, "1 in")
        before = gauge.chart.chart
        told = Entry(complaint="slips", answer="yes")
        with twin.qtbot.waitSignal(twin.session.assessment_changed, timeout=PATIENCE):
            twin.session.change(twin.session.case.with_entry(told), "slips")
        twin.settle()
        gauge = ask(twin)
        type_in(twin, "1 in" if not gauge.field.text() else "")
        assert gauge.chart.chart.bands[0] == before.bands[0]
        assert gauge.chart.chart.bands[1:] != before.bands[1:]


class TestHowTo:
    def test_drawing_and_words_beside_the_steps(self, twin, gauge, base):
        drawings = twin.bench.card.findChildren(HowTo)
        assert sum(drawing.isVisible() for drawing in drawings) == 1
        assert base.measurements[GAUGE].how in words(twin.bench.card)

    def test_a_check_without_a_gauge_has_none(self, twin, base):
        check = next(c for c in base.checks.values() if c.finding and not c.cautions)
        twin.bench.card.choose("check", check.id)
        assert twin.bench.card.pad.gauge is None
        assert not [d for d in twin.bench.card.findChildren(HowTo) if d.isVisible()]


class TestNumbers:
    READINGS = (
        Entry(check="bore_runout", answer="at_limit", reading="0.009"),
        Entry(check=CHECK, answer="far_too_much", reading="more than 2 in", instrument="rule"),
    )

    @pytest.fixture
    def numbers(self, driver, base):
        answers = [a.id for a in base.checks["bore_runout"].answers]
        bore = self.READINGS[0].model_copy(update={"answer": answers[1]})
        fork = self.READINGS[1].model_copy(update={"answer": base.checks[CHECK].answers[-1].id})
        start(driver, base, bore, fork)
        driver.bench.causes.view.setFocus()
        driver.press(Qt.Key.Key_N)
        (dialog,) = driver.window.findChildren(NumbersDialog)
        driver.qtbot.waitUntil(dialog.isActiveWindow, timeout=PATIENCE)
        driver.settle()
        return driver, dialog

    def test_by_its_key_every_reading_beside_its_bands(self, numbers, base):
        _, dialog = numbers
        charts = dialog.findChildren(ForecastChart)
        assert [chart.chart.reading for chart in charts] == ["more than 2 in", "0.009 in"]
        shown = words(dialog)
        assert base.measurements[GAUGE].name in shown
        assert any(text.startswith("More than 2 in = 50.8 mm, steel rule: ") for text in shown)

    def test_which_cause_goes_with_all(self, numbers):
        driver, dialog = numbers
        shown = words(dialog)
        causes = driver.session.standing.assessment.causes[:5]
        assert all(f"{c.name[:1].upper()}{c.name[1:]}" in shown for c in causes)
        assert any(text.startswith("fits ") for text in shown)

    def test_all_limits_stand_there(self, numbers, base):
        _, dialog = numbers
        told = " ".join(words(dialog))
        for limit in base.measurements["bore_runout"].limits:
            assert limit.name in told

    def test_the_page_keys_scroll_and_escape_closes(self, numbers):
        driver, dialog = numbers
        bar = dialog.findChildren(type(dialog._area))[0].verticalScrollBar()
        assert bar.maximum() > 0
        driver.press(Qt.Key.Key_PageDown)
        assert bar.value() > 0
        driver.press(Qt.Key.Key_PageUp)
        assert bar.value() == 0
        driver.leave_dialog()

    def test_without_readings_it_says_what_to_do(self, twin):
        twin.bench.causes.view.setFocus()
        assert not twin.bench.findings.numbers.isVisible()
        twin.press(Qt.Key.Key_N)
        (dialog,) = twin.window.findChildren(NumbersDialog)
        assert any("No reading has been taken yet" in text for text in words(dialog))

    def test_the_button_beside_the_findings(self, numbers):
        driver, _ = numbers
        driver.leave_dialog()
        assert driver.bench.findings.numbers.isVisible()
        driver.bench.findings.numbers.click()
        assert any(d.isVisible() for d in driver.window.findChildren(NumbersDialog))

    def test_its_key_is_no_other_ones(self):
        taken = {key for name, a in ACTIONS.items() if name != "numbers" for key in a.keys}
        assert "N" not in taken


@pytest.mark.parametrize("scale", [1.0, 2.0])
@pytest.mark.parametrize("screen", ["typed", "slip", "change", "numbers"])
def test_readable_and_reachable(make_driver, base, screen, scale):
    driver = make_driver(settings=Settings(theme="light", text_scale=scale))
    driver.window.dress()
    told = Entry(check=CHECK, answer="right", reading="1 in; 30 mm", instrument="rule")
    start(driver, base, *(() if screen in {"typed", "slip"} else (told,)))
    root = driver.window
    if screen in {"typed", "slip"}:
        ask(driver)
        type_in(driver, "1 1/16 to 1 3/16 in" if screen == "typed" else "35 in")
    elif screen == "change":
        driver.bench.open_change(len(driver.session.case.entries) - 1)
    else:
        driver.bench.open_numbers()
    driver.settle()
    for _ in range(10):
        QApplication.processEvents()
    if screen in {"change", "numbers"}:
        root = next(d for d in driver.window.findChildren(QDialog) if d.isVisible())
    assert (driver.window.width(), driver.window.height()) == (1280, 800)
    assert cut_off(root) == []
    assert sticks_out(root) == []
    assert nameless(root) == []
    assert keys_given_twice(root) == []
    assert small_targets(root) == []
