"""The advice in the window, by keyboard: why, second thoughts, the strip, before it closes."""

import time
from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QApplication, QDialog, QLabel

from diagnose.advice_words import flip_words, flips_line, glance_words, step_lines
from diagnose.case import Entry, spent
from diagnose.planning.record import Closing, Flip, Glance, Outcome, Step
from diagnose.sentences import hours, verdict
from ui import moves
from ui.models.rows import KEY
from ui.views import card_parts

PATIENCE = 20_000
ENTER = Qt.Key.Key_Return
OUT = "gearbox_out"


@pytest.fixture
def bench(window, example, qtbot):
    """The example opened anew at the bench, its cautions read."""
    for old in window.window.findChildren(QDialog):
        old.close()
    window.qtbot = qtbot
    window.window.activateWindow()
    window.window.open_path(example)
    window.settle()
    window.bench.card.acknowledge()
    return window


def texts(widget):
    return [w.text() for w in widget.findChildren(QLabel) if w.isVisible()]


def dialog(driver):
    shown = [d for d in driver.window.findChildren(QDialog) if d.isVisible()]
    assert len(shown) == 1
    driver.qtbot.waitUntil(shown[0].isActiveWindow, timeout=PATIENCE)
    return shown[0]


def refined(driver, **changes):
    """Let refined advice come in with these fields."""
    session = driver.session
    advice = replace(session.standing.advice, refined=True, **changes)
    session.standing = replace(session.standing, advice=advice)
    session.advice_changed.emit()
    QApplication.processEvents()
    return advice


def swapped(driver, saves):
    """Refined options in which the second passes the first by so many hours."""
    first, second, *rest = driver.session.standing.advice.options
    return (replace(second, expected=first.expected - saves), first, *rest)


def changed(driver, case, what="a test"):
    with driver.qtbot.waitSignal(driver.session.assessment_changed, timeout=PATIENCE):
        driver.session.change(case, what)
    driver.settle()


class TestSecondThoughts:
    def test_at_once_the_better_step_takes_the_place(self, bench):
        card = bench.bench.card
        card.follow()
        card.take_focus()
        advice = refined(bench, options=swapped(bench, 0.2))
        assert card.option() is advice.options[0]
        assert not card.better.isVisible()
        assert QApplication.focusWidget() is not None
        assert card.isAncestorOf(QApplication.focusWidget())

    @pytest.mark.parametrize("begun", ["typed", "another field", "waited", "read"])
    def test_under_the_hands_the_step_stays_and_one_key_takes_the_better(
        self, bench, begun, monkeypatch
    ):
        card = bench.bench.card
        card.follow()
        card.take_focus()
        QApplication.processEvents()
        shown = card.shown
        if begun == "typed":
            assert card.pad.field is not None
            bench.type("2")
        elif begun == "another field":
            bench.press(Qt.Key.Key_Tab)
        elif begun == "waited":
            later = time.monotonic() + card_parts.SETTLED + 0.1
            monkeypatch.setattr(card_parts.time, "monotonic", lambda: later)
        else:
            card.acknowledge()
        why = card._reason.text()
        focus = QApplication.focusWidget()
        advice = refined(bench, options=swapped(bench, 0.2))
        assert card.shown == shown
        assert QApplication.focusWidget() is focus
        assert card._reason.text() == why
        assert card.better.isVisible()
        assert card.better.text().startswith("On second thoughts")
        assert "12 more min" in card.better.text()
        if begun == "typed":
            assert card.pad.field.text() == "2"
        # In the field of a reading a letter is typed; with Alt it is a key there too.
        bench.press(Qt.Key.Key_T, Qt.KeyboardModifier.AltModifier)
        bench.qtbot.waitUntil(lambda: card.option() is advice.options[0], timeout=PATIENCE)
        assert not card.better.isVisible()

    def test_a_step_chosen_by_hand_stays_without_a_word(self, bench):
        card = bench.bench.card
        other = bench.session.standing.advice.options[2]
        card.choose(other.kind, other.id)
        refined(bench, options=swapped(bench, 0.2))
        assert card.shown == (other.kind, other.id)
        assert not card.better.isVisible()

    def test_a_trifle_is_not_worth_a_word(self, bench):
        card = bench.bench.card
        card.follow()
        card.acknowledge()
        refined(bench, options=swapped(bench, 0.001))
        assert not card.better.isVisible()

    def test_the_same_step_is_not_drawn_again(self, bench):
        card = bench.bench.card
        button = card.pad.buttons[0] if card.pad.buttons else card.pad.field
        refined(bench)
        assert (card.pad.buttons[0] if card.pad.buttons else card.pad.field) is button


class TestWhyThis:
    @pytest.fixture
    def why(self, bench):
        """The dialog over refined advice with every field filled."""
        session = bench.session
        first, *rest = session.standing.advice.options
        look = Step("check", "pilot_look", "Look at the pilot through the hub", OUT)
        outcomes = (
            Outcome("a", "it is low", 0.2, 3.0, look, inside=True),
            Outcome("b", "it is high", 0.8, 5.0, rest[0].step, inside=False),
        )
        told = replace(first, outcomes=outcomes)
        changed(bench, moves.with_labour(session.case, 80.0, "EUR"))
        advice = refined(
            bench,
            options=(told, *rest),
            flips=(Flip(told.step, outcomes[0]),),
            gap=0.2,
            gap_share=0.62,
            money=1000.0,
        )
        bench.window.activateWindow()
        bench.bench.causes.view.setFocus()
        bench.press(Qt.Key.Key_Y)
        return bench, dialog(bench), advice

    def test_one_key_tells_everything(self, why):
        driver, shown, advice = why
        said = texts(shown)
        assessment = driver.session.standing.assessment
        for line in step_lines(assessment, advice, advice.options[0]):
            assert line in said
        assert ". ".join(verdict(assessment, advice)) in said
        assert flips_line(advice) in said
        assert flip_words(advice.flips[0]) in said
        assert any("quicker by 12 min at most" in line for line in said)
        assert any("about 1000 EUR" in line for line in said)
        rows = [shown.outcomes.model().index(i, 0).data() for i in range(2)]
        assert rows[0].startswith("It is low, about 20 in 100; then “look at the pilot")
        assert "5.0 h to the fix" in rows[1]

    def test_the_lists_are_named_whole_and_reached_by_tab(self, why):
        driver, shown, _ = why
        for view in (shown.outcomes, shown.runners):
            face = QAccessible.queryAccessibleInterface(view)
            assert face.text(QAccessible.Text.Name)
            assert view.height() >= view.content_height()
        reached = set()
        for _ in range(6):
            reached.add(QApplication.focusWidget())
            driver.press(Qt.Key.Key_Tab)
        assert {shown.outcomes, shown.runners} <= reached

    def test_enter_takes_a_runner_up_to_the_card(self, why):
        driver, shown, advice = why
        shown.runners.setFocus()
        driver.press(Qt.Key.Key_Down)
        key = shown.runners.currentIndex().data(KEY)
        assert key != (advice.options[0].kind, advice.options[0].id)
        driver.press(ENTER)
        assert not shown.isVisible()
        assert driver.bench.card.shown == key

    def test_the_marked_row_is_brought_into_sight(self, why):
        driver, shown, _ = why
        shown.runners.setFocus()
        driver.press(Qt.Key.Key_End)
        row = shown.runners.visualRect(shown.runners.currentIndex())
        port = shown._area.viewport()
        middle = shown.runners.mapTo(shown._area.widget(), row.center())
        at = shown._area.widget().mapTo(port, middle).y()
        assert 0 <= at <= port.height()

    def test_esc_closes_it_and_nothing_has_changed(self, why):
        driver, shown, _ = why
        before = driver.bench.card.shown
        gone = []
        shown.finished.connect(gone.append)
        driver.leave_dialog()
        assert gone == [QDialog.DialogCode.Rejected]
        assert driver.bench.card.shown == before

    def test_refined_advice_renews_it(self, bench):
        bench.bench.open_advice()
        shown = dialog(bench)
        assert any(line.startswith("These are first figures") for line in texts(shown))
        refined(bench, gap=0.0, gap_share=0.3)
        said = texts(shown)
        assert not any(line.startswith("These are first figures") for line in said)
        assert any("no plan is quicker" in line for line in said)


class TestStrip:
    def test_hours_spent_to_come_and_the_change_by_the_answer(self, bench):
        session, strip = bench.session, bench.bench.strip
        assert strip.spent.text() == "nothing yet"
        before = session.standing.advice.expected
        option = session.standing.advice.options[0]
        bench.bench.card.pad.answered.emit(*_an_answer(bench))
        bench.settle()
        assert session.before is not None
        now = session.standing.advice.expected
        assert strip.spent.text() == hours(spent(session.case)) == hours(option.hours)
        assert strip.fix.text() == f"about {hours(now)}"
        note = strip._cost.note.text()
        way = "added" if now > before else "took"
        assert note.startswith(
            f"was {hours(before)}, the last answer {way} {hours(abs(now - before))}"
        )
        session.undo()
        bench.settle()
        assert strip._cost.note.text() == f"was {hours(now)}"

    def test_figures_are_compared_only_with_figures_followed_as_far(self, bench):
        session, strip = bench.session, bench.bench.strip
        before = session.standing.first.expected
        refined(bench, expected=before - 2.0)
        changed(bench, moves.stands(session.base, session.case, OUT))
        assert strip._cost.note.text() == f"was {hours(before)}"
        refined(bench, expected=1.7)
        assert strip._cost.note.text() == f"was {hours(before - 2.0)}"
        assert strip.fix.text() == "about 1.7 h"

    def test_the_limit_of_the_customer_is_told_with_what_does_not_fit(self, bench):
        session = bench.session
        changed(bench, moves.with_limit(session.case, 1.4))
        assert bench.bench.strip._so_far.note.text().startswith("84 min left today")
        look = next(o for o in session.standing.advice.options if o.kind == "check")
        refined(bench, too_long=(replace(look, hours=5.0),), left=1.4)
        assert any(
            "takes 5.0 h" in line and "84 min left today" in line
            for line in texts(bench.bench.card)
        )

    def test_where_nothing_fits_the_card_says_so(self, bench):
        session = bench.session
        look = session.standing.advice.options[0]
        refined(bench, options=(), too_long=(look,), left=0.0)
        bench.bench.card.follow()
        QApplication.processEvents()
        said = texts(bench.bench.card)
        assert "Nothing fits into what is left today" in said
        assert any("nothing left today" in line for line in said)


def test_a_stop_notice_comes_before_what_runs_the_engine(bench):
    session, card = bench.session, bench.bench.card
    said = "A stop notice holds, and for this the engine runs: see to the notice first."
    card.choose("check", "pump_pedal")
    assert said not in texts(card)
    seen = Entry(check="fingers_through_window", answer="uneven", by_the_way=True)
    changed(bench, session.case.with_entry(seen))
    assert session.standing.assessment.stops() == ("stop_fingers",)
    card.choose("check", "pump_pedal")
    assert said in texts(card)
    card.choose("check", "pedal_feel")
    assert said not in texts(card)
    card.choose("check", "pump_pedal", seen=True)  # it was running when it was seen
    assert said not in texts(card)


def _an_answer(driver):
    """An answer to what is on the card: choice, reading, instrument."""
    question = driver.bench.card.question
    if question.gauge is None:
        return question.choices[0].id, "", ""
    base = driver.session.base
    check = base.checks[question.subject[1]]
    reading = base.measurements[check.gauge].plausible[0]
    return check.answers[0].id, reading, ""


class TestBeforeItCloses:
    @pytest.fixture
    def open_(self, bench):
        """The gearbox out, with looks and points of our own."""
        session = bench.session
        changed(bench, moves.stands(session.base, session.case, OUT))
        checks = [c for c in session.base.checks.values() if c.from_ == OUT][:2]
        looks = tuple(
            Glance(Step("check", c.id, c.name, OUT), 0.1, p, s)
            for c, p, s in zip(checks, (0.23, 0.05), (1.1, 0.2), strict=True)
        )
        cause = session.standing.assessment.causes[0].id
        refined(bench, glances=looks, closing=(Closing(cause, "Fingers level."),))
        return bench, looks, cause

    def test_nothing_is_listed_while_it_is_closed(self, bench):
        assert bench.session.standing.advice.glances == ()
        assert not bench.bench.closing.isVisible()

    def test_looks_stand_in_order_then_the_closing_list(self, open_):
        driver, looks, _ = open_
        panel = driver.bench.closing
        assert panel.isVisible()
        rows = [panel.model.index(i, 0).data() for i in range(panel.model.rowCount())]
        assert [looks[i].step.name in rows[i] and glance_words(looks[i]) in rows[i] for i in (0, 1)]
        assert rows[2].startswith("Fingers level.")
        assert panel.summary.text() == "2 looks, 1 point to see to"
        assert panel.view.accessibleName() == "Before it closes"

    def test_of_many_looks_those_that_save_most_stand_first_and_enter_shows_the_rest(self, open_):
        driver, _, cause = open_
        checks = [c for c in driver.session.base.checks.values() if c.from_ == OUT][:7]
        saves = (0.1, 1.0, 0.2, 0.9, 0.8, 0.7, 0.6)
        looks = [
            Glance(Step("check", c.id, c.name, OUT), 0.1, 0.2, s)
            for c, s in zip(checks, saves, strict=True)
        ]
        refined(driver, glances=tuple(looks), closing=(Closing(cause, "Fingers level."),))
        panel = driver.bench.closing

        def shown():
            keys = [panel.model.index(i, 0).data(KEY) for i in range(panel.model.rowCount())]
            return [name for kind, name, _ in keys if kind == "look"]

        assert shown() == [checks[i].id for i in (1, 3, 4, 5, 6)]
        assert panel.summary.text() == "7 looks, 1 point to see to"
        driver.press(Qt.Key.Key_I)
        for _ in range(5):
            driver.press(Qt.Key.Key_Down)
        row = panel.view.currentIndex().data()
        assert row == "2 more looks, none saves more than 12 min; Enter shows them"
        driver.press(ENTER)
        assert shown() == [c.id for c in checks]
        assert QApplication.focusWidget() is panel.view
        assert panel.view.currentIndex().data().startswith("Only the looks that save most")
        driver.press(ENTER)
        assert len(shown()) == 5

    def test_another_case_begins_with_the_list_folded(self, open_, example):
        driver, _, _ = open_
        driver.bench.closing._everything = True
        driver.open(example)
        assert not driver.bench.closing._everything

    def test_one_key_goes_there_and_enter_takes_a_look_to_the_card(self, open_):
        driver, looks, _ = open_
        driver.press(Qt.Key.Key_I)
        assert QApplication.focusWidget() is driver.bench.closing.view
        driver.press(Qt.Key.Key_Down)
        driver.press(ENTER)
        assert driver.bench.card.shown == ("check", looks[1].step.id)
        assert not driver.bench.card.by_the_way

    def test_enter_on_a_point_tells_of_its_cause(self, open_):
        driver, _, cause = open_
        driver.press(Qt.Key.Key_I)
        driver.press(Qt.Key.Key_End)
        driver.press(ENTER)
        assert driver.session.base.causes[cause].name in dialog(driver).windowTitle()

    def test_the_panel_keys_come_by_it(self, open_):
        driver, _, _ = open_
        bench = driver.bench
        bench.card.take_focus()
        seen = []
        for _ in range(4):
            driver.press(Qt.Key.Key_F6)
            seen.append(QApplication.focusWidget())
        assert seen[:3] == [bench.causes.view, bench.closing.view, bench.findings.view]
        assert bench.card.isAncestorOf(seen[3])

    def test_it_fits_beside_the_other_panels(self, open_):
        driver, _, _ = open_
        assert (driver.window.width(), driver.window.height()) == (1280, 800)
        line = driver.bench.fontMetrics().height()
        for view in (
            driver.bench.causes.view,
            driver.bench.closing.view,
            driver.bench.findings.view,
        ):
            assert view.height() >= 5 * line
        bar = driver.bench._scroll.verticalScrollBar()
        assert bar.maximum() == 0


class TestSeenByTheWay:
    def search(self, driver, typed):
        driver.bench.causes.view.setFocus()
        driver.press(Qt.Key.Key_S)
        dialog(driver)
        driver.type(typed)
        driver.press(ENTER)
        driver.window.activateWindow()
        driver.qtbot.waitUntil(driver.window.isActiveWindow, timeout=PATIENCE)
        if driver.bench.card.unread():
            driver.bench.card.acknowledge()

    def test_what_is_found_by_the_search_costs_nothing_and_moves_nothing(self, bench):
        session, card = bench.session, bench.bench.card
        self.search(bench, "look at the pilot")
        assert card.question.subject == ("check", "pilot_look")
        assert card.by.isVisible()
        assert card.by_the_way
        stands = session.case.stands
        assert session.base.checks["pilot_look"].from_ != stands
        with bench.qtbot.waitSignal(session.assessment_changed, timeout=PATIENCE):
            bench.press(Qt.Key.Key_1)
        entry = session.case.entries[-1]
        assert (entry.check, entry.by_the_way, entry.hours) == ("pilot_look", True, None)
        assert session.case.stands == stands
        assert spent(session.case) == 0.0
        assert not card.by.isVisible()

    def test_it_can_be_done_for_this_as_well_and_then_counts(self, bench):
        session, card = bench.session, bench.bench.card
        self.search(bench, "look at the pilot")
        bench.press(Qt.Key.Key_D, Qt.KeyboardModifier.AltModifier)
        bench.qtbot.waitUntil(lambda: not card.by_the_way, timeout=PATIENCE)
        assert any("the way included, are counted" in line for line in texts(card))
        with bench.qtbot.waitSignal(session.assessment_changed, timeout=PATIENCE):
            bench.press(Qt.Key.Key_1)
        assert session.case.stands == OUT
        assert spent(session.case) > 4.0

    def test_a_finding_leads_to_the_check_that_shows_it(self, bench):
        base, card = bench.session.base, bench.bench.card
        finding = next(c.finding for c in base.checks.values() if c.finding)
        card.choose("finding", finding, seen=True)
        kind, name = card.question.subject
        assert kind == "check"
        assert finding in base.checks[name].reads()
        assert card.shown == ("check", name)

    def test_what_the_driver_says_can_be_told_as_well(self, bench):
        session = bench.session
        told = {e.complaint for e in session.case.entries}
        complaint = next(c for c in session.base.complaints.values() if c.id not in told)
        bench.bench.card.choose("ask", complaint.id, seen=True)
        QApplication.processEvents()
        with bench.qtbot.waitSignal(session.assessment_changed, timeout=PATIENCE):
            bench.press(Qt.Key.Key_1)
        assert session.case.entries[-1].complaint == complaint.id
        assert spent(session.case) == 0.0

    def test_leaving_it_goes_back_to_the_advice_and_leaves_nothing_out(self, bench):
        session, card = bench.session, bench.bench.card
        before = session.case
        card.choose("check", "pilot_look", seen=True)
        bench.press(Qt.Key.Key_X)
        assert session.case == before
        assert card.option() is session.standing.advice.options[0]
