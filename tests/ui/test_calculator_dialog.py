"""The calculators in the window: forms from records, results as typed, their way into a case."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QDialog, QLabel, QLineEdit

from diagnose.calculators import CALCULATORS, calculate, from_case, with_known
from tests.ui.test_accessibility import (
    cut_off,
    keys_given_twice,
    nameless,
    small_targets,
    sticks_out,
    visible,
)
from ui.views.calculator_dialog import CalculatorDialog
from ui.views.calculator_memory import CalculatorMemory
from ui.views.dial_face import DialFace
from ui.widgets.choice_box import ChoiceBox
from ui.widgets.notice import Notice

ALT = Qt.KeyboardModifier.AltModifier
CTRL = Qt.KeyboardModifier.ControlModifier
ENTER = Qt.Key.Key_Return
PATIENCE = 20_000
FILLED = {
    "runout": {"readings": "0 3 -2 3 thou", "closing": "0", "size": "1"},
    "slave-travel": {"measured": "12 mm"},
    "torque": {"engine": "900 Nm"},
    "bolt": {"size": "3/8-16", "grade": "8", "torque": "50 Nm"},
    "stack-or-fork": {"fingers": "45", "free-travel": "0", "tip-travel": "19"},
    "fluid": {"class": "5.1", "boils": "190"},
    "spin-down": {"test": "grind", "time": "5 s", "idle": "750"},
    "frequency": {"frequency": "12.5", "engine": "750", "cylinders": "8"},
    "convert": {"quantity": "1 3/8 in", "to": "mm"},
}


@pytest.fixture
def opened(at_bench):
    """Open the dialog by its key, on a calculator if one is named."""

    def open_(name="", **texts):
        if name:
            at_bench.bench.card.choose("complaint", next(iter(at_bench.session.base.complaints)))
            memory = at_bench.window._worked_out
            memory.chosen = name
            memory.texts[name] = {key.replace("_", "-"): text for key, text in texts.items()}
        at_bench.press(Qt.Key.Key_K, CTRL)
        dialog = shown(at_bench)
        at_bench.qtbot.waitUntil(dialog.isActiveWindow, timeout=PATIENCE)
        return dialog

    return open_


def settled():
    """What was made shows itself with the next events."""
    for _ in range(3):
        QApplication.processEvents()


def shown(driver):
    (dialog,) = [d for d in driver.window.findChildren(QDialog) if d.isVisible()]
    assert isinstance(dialog, CalculatorDialog)
    return dialog


def words(root):
    settled()
    return [label.text() for label in visible(root, QLabel) if label.text()]


def notices(root):
    settled()
    return [notice.accessibleName() for notice in visible(root, Notice)]


def test_every_calculator_has_a_form_of_its_record(at_bench, opened):
    dialog = opened()
    assert dialog.list.model().rowCount() == len(CALCULATORS)
    for name, calculator in CALCULATORS.items():
        dialog.choose(name)
        settled()
        assert dialog.calculator is calculator
        # Nothing flashes up as a window of its own on the way.
        windows = {w for w in QApplication.topLevelWidgets() if w.isVisible()}
        assert windows == {at_bench.window, dialog}
        assert list(dialog.form.fields) == [
            *(option.name for option in calculator.options if not option.seldom),
            *(option.name for option in calculator.options if option.seldom),
        ]
        for option in calculator.options:
            field = dialog.form.fields[option.name]
            assert isinstance(field, ChoiceBox if option.choices else QLineEdit)
            assert field.accessibleName().casefold() == option.label.casefold()
            assert option.text in field.accessibleDescription()


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_names_keys_targets_and_room_for_the_words(at_bench, opened, scale):
    window = at_bench.window
    window.remember(text_scale=scale)
    window.dress()
    window._worked_out.texts.update(FILLED)
    dialog = opened()
    assert dialog.width() <= window.width() == 1280
    assert dialog.height() <= window.height() == 800
    for name in CALCULATORS:
        dialog.choose(name)
        for everything in (False, True):
            dialog.form.more.setChecked(everything)
            for _ in range(10):
                QApplication.processEvents()
            assert dialog.outcome.settled, name
            assert nameless(dialog) == [], name
            assert keys_given_twice(dialog) == [], name
            assert small_targets(dialog) == [], name
            assert cut_off(dialog) == [], name
            assert sticks_out(dialog) == [], name


def test_the_result_stays_in_sight_where_the_text_is_large(at_bench, opened):
    at_bench.window.remember(text_scale=2.0)
    at_bench.window.dress()
    dialog = opened("torque")
    assert dialog.said.isVisible()
    assert dialog.said.text() == dialog.outcome.said
    assert not dialog.list.isVisible()
    dialog.choice.setCurrentIndex(dialog.choice.findData("bolt"))
    dialog.choice.activated.emit(dialog.choice.currentIndex())
    assert dialog.calculator.name == "bolt"
    assert dialog.said.text() == "Thread is missing."


def test_it_is_worked_out_as_one_types(at_bench, opened):  # R-TIR-1
    dialog = opened("runout")
    assert QApplication.focusWidget() is dialog.form.fields["readings"]
    assert "missing" in dialog.outcome.said
    at_bench.type("0 3 -2 ")
    assert "4 or more" in " ".join(notices(dialog.outcome))
    at_bench.type("3 thou")
    assert "T.I.R. 0.127 mm (0.005 in). The set is not closed yet." in words(dialog.outcome)
    outcome = calculate(dialog.calculator, dialog.form.typed())
    for result in outcome.results:
        assert result.words in words(dialog.outcome)
    for note in outcome.notes:
        assert note in words(dialog.outcome)
    (face,) = visible(dialog.outcome, DialFace)
    assert "3 o'clock 3 thou" in face.accessibleName()
    assert face.accessibleName().endswith("The arrow points to 6 o'clock.")


def test_a_set_that_does_not_close_is_refused(at_bench, opened):  # R-TIR-1
    dialog = opened("runout", readings="0 3 -2 3 thou")
    assert dialog.taking.buttons
    at_bench.type("2 thou")  # the focus is on the reading back at the first place
    assert QApplication.focusWidget() is dialog.form.fields["closing"]
    (said,) = notices(dialog.outcome)
    assert "does not close" in said
    assert "go round again" in said
    assert dialog.taking.buttons == []
    assert not dialog.taking.isVisible()


def test_what_the_setup_knows_stands_in_grey(at_bench, opened):
    dialog = opened("torque")
    known = from_case(dialog.calculator, at_bench.session.case)
    assert known
    for name, value in known.items():
        field = dialog.form.fields[name]
        assert field.text() == ""
        assert field.placeholderText() == f"{value.text}, from the set-up"
    outcome = calculate(dialog.calculator, with_known({}, known))
    assert outcome.headline in words(dialog.outcome)
    clamp = dialog.form.fields["clamp"]
    clamp.setFocus()
    at_bench.type("5000 N")  # typed over
    assert outcome.headline not in words(dialog.outcome)
    clamp.clear()
    assert outcome.headline in words(dialog.outcome)


def test_the_sheet_is_told_from_the_setup(at_bench, opened):
    session = at_bench.session
    session.change(session.case.with_kit({"clamp_load": "10000 N"}), "the sheet")
    at_bench.settle()
    dialog = opened("torque")
    assert dialog.form.fields["clamp"].placeholderText() == "10000 N, from the kit's sheet"
    assert dialog.form.fields["discs"].placeholderText() == "2, from the set-up"


def test_a_sheet_that_can_not_be_is_said_and_stops_nothing(at_bench, opened, monkeypatch):
    dialog = opened("torque", outer="265", inner="180", clamp="9 kN", friction="0.3", discs="2")
    assert dialog.outcome.settled
    case = at_bench.session.case.with_kit({"facing_outer": "2 mm"})
    monkeypatch.setattr(type(at_bench.session), "case", property(lambda _: case))
    dialog.form.changed.emit()
    assert dialog.form.legend.property("tone") == "caution"
    assert "facing" in dialog.form.legend.text()
    assert dialog.outcome.settled


def test_without_a_setup_it_says_where_to_say_it(driver, qtbot):
    memory = CalculatorMemory(chosen="slave-travel")
    dialog = CalculatorDialog(driver.session, memory, None, driver.window)
    dialog.open()
    assert "intake" in dialog.form.legend.text()
    assert dialog.outcome.said == "Bore of the master and bore of the slave are missing."
    dialog.choose("convert")
    assert not dialog.form.legend.isVisible()
    dialog.close()
    dialog.deleteLater()


def test_a_reading_goes_into_the_case_by_keyboard(at_bench, opened, base):  # R-TIR-1, R-TIR-5
    session, before = at_bench.session, at_bench.session.case
    at_bench.bench.card.choose("check", "bore_runout")
    dialog = opened()
    assert dialog.calculator.name == "runout"
    assert dialog.form.fields["part"].currentData() == "housing-bore"
    at_bench.type("0 3 -2 3 thou")
    at_bench.press(ENTER)
    assert QApplication.focusWidget() is dialog.form.fields["closing"]
    at_bench.type("0")
    settled()
    at_bench.press(Qt.Key.Key_1, ALT)
    at_bench.qtbot.waitUntil(lambda: dialog.taking.read_button is not None, timeout=PATIENCE)

    check = base.checks["bore_runout"]
    unread = [c for c in check.cautions if c not in before.acknowledged]
    assert unread
    said = " ".join(notices(dialog.taking))
    assert all(base.cautions[c].text in said for c in unread)
    assert session.case == before
    assert QApplication.focusWidget() is dialog.taking.read_button
    at_bench.press_and_settle(Qt.Key.Key_Space)

    entry = session.case.entries[-1]
    assert (entry.check, entry.reading, entry.instrument) == ("bore_runout", "0.005 in", "dial")
    assert entry.answer == "within"
    assert "dial readings 0 thou, 3 thou, -2 thou, 3 thou" in entry.note
    assert set(check.cautions) <= set(session.case.acknowledged)
    assert session.case.stands == check.from_
    assert session.standing.assessment.case == session.case
    assert session.records.read(session.kept.id).case == session.case
    assert any("In the case" in said for said in notices(dialog.taking))
    assert QApplication.focusWidget() is dialog.close_button

    at_bench.leave_dialog()
    at_bench.press_and_settle(Qt.Key.Key_Z, CTRL)
    assert session.case.entries == before.entries


def test_cautions_that_were_read_are_not_asked_for_again(at_bench, opened, base):
    session = at_bench.session
    session.amend(session.case.with_acknowledged(tuple(base.checks["bore_runout"].cautions)))
    dialog = opened("runout", **FILLED["runout"])
    with at_bench.qtbot.waitSignal(session.assessment_changed, timeout=PATIENCE):
        dialog.taking.buttons[0].click()
    assert session.case.entries[-1].reading == "0.005 in"


def test_a_second_reading_takes_the_place_of_the_first(at_bench, opened):
    session = at_bench.session
    place = session.case.latest(("check", "fork_free_travel_twin"))
    old = session.case.entries[place]
    dialog = opened("stack-or-fork", free_travel="2 in")
    (button,) = dialog.taking.buttons
    assert f"So far: {old.reading}" in button.accessibleDescription()
    button.click()
    dialog.taking.acknowledge()
    at_bench.settle()
    assert session.case.entries[place].reading == "2 in"
    assert len(session.case.entries) == place + 1 + len(session.case.entries[place + 1 :])
    assert dialog.taking.buttons == []


def test_which_part_turns_becomes_an_answer(at_bench, opened):
    dialog = opened("frequency", frequency="12.5", engine="750")
    assert dialog.taking.buttons == []  # crankshaft or disc: not settled
    choice = dialog.form.fields["pedal-down"]
    choice.setCurrentIndex(choice.findData("goes"))
    (button,) = dialog.taking.buttons
    assert "answer to" in button.text()
    button.click()
    dialog.taking.acknowledge()
    at_bench.settle()
    entry = at_bench.session.case.entries[-1]
    assert (entry.check, entry.answer) == ("vibration_frequency", "input_shaft")
    assert entry.reading == ""
    assert "engine speed 750" in entry.note


def test_a_reading_that_can_hardly_be_right_is_not_taken(at_bench, opened):
    dialog = opened("runout", part="flywheel-face", readings="0 4 -4 4")
    assert dialog.taking.buttons == []
    assert any("8 mm is no reading of" in text for text in words(dialog.taking))


def test_a_stop_comes_with_the_result(at_bench, opened, base):
    dialog = opened("stack-or-fork", free_travel="0")
    said = notices(dialog.outcome)
    assert said[0].startswith("Stop")
    assert base.cautions["stop_no_travel"].text in said[0]


def test_cautions_stand_above_the_form_until_they_are_read(at_bench, opened, base):
    session = at_bench.session
    dialog = opened("fluid")
    text = base.cautions["brake_fluid"].text
    assert any(text in said for said in notices(dialog))
    session.amend(session.case.with_acknowledged(("brake_fluid",)))
    assert not any(text in said for said in notices(dialog))


def test_what_was_typed_is_kept_for_the_case_and_not_beyond(at_bench, opened, example):
    dialog = opened("bolt")
    at_bench.type("3/8-16")
    at_bench.leave_dialog()
    dialog = opened()
    assert dialog.calculator.name == "bolt"
    assert dialog.form.fields["size"].text() == "3/8-16"
    at_bench.leave_dialog()
    at_bench.open(example)
    at_bench.bench.card.choose("complaint", next(iter(at_bench.session.base.complaints)))
    dialog = opened()
    assert dialog.calculator.name == next(iter(CALCULATORS))
    dialog.choose("bolt")
    assert dialog.form.fields["size"].text() == ""


def test_readings_of_another_part_are_dropped(at_bench, opened):
    memory = CalculatorMemory({"runout": {"part": "disc-face", "readings": "0 1 2 1"}})
    memory.begin("runout", {"part": "disc-face"})
    assert memory.texts["runout"]["readings"] == "0 1 2 1"
    memory.begin("runout", {"part": "housing-bore"})
    assert memory.texts["runout"] == {"part": "housing-bore"}


def test_more_figures_open_where_something_stands_in_them(at_bench, opened):
    dialog = opened("runout", limit="0.1 mm")
    assert dialog.form.fields["limit"].isVisible()
    dialog.choose("bolt")
    settled()
    assert not dialog.form.fields["proof"].isVisible()
    dialog.take_focus()
    at_bench.press(Qt.Key.Key_M, ALT)
    at_bench.qtbot.waitUntil(dialog.form.fields["proof"].isVisible, timeout=PATIENCE)


def test_the_fields_can_be_emptied(at_bench, opened):
    dialog = opened("runout", part="disc-face", **FILLED["runout"])
    usual = {"part": "housing-bore", "unit": "mm", "convention": "max-min"}
    assert dialog.form.texts() != usual
    at_bench.press(Qt.Key.Key_P, ALT)
    at_bench.qtbot.waitUntil(lambda: dialog.form.texts() == usual, timeout=PATIENCE)
    assert QApplication.focusWidget() is dialog.form.fields["readings"]


def test_a_key_of_the_dialog_does_not_end_up_in_a_figure(at_bench, opened):
    dialog = opened("bolt")
    assert dialog.taking.buttons == []
    at_bench.press(Qt.Key.Key_1, ALT)
    at_bench.type("3")
    assert dialog.form.texts()["size"] == "3"


def test_the_list_by_keys(at_bench, opened):
    dialog = opened()
    dialog.list.setFocus()
    at_bench.press(Qt.Key.Key_End)
    assert dialog.calculator.name == list(CALCULATORS)[-1]
    settled()
    at_bench.press(ENTER)
    assert QApplication.focusWidget() is dialog.form.fields["quantity"]
    at_bench.type("35 mm")
    at_bench.press(ENTER)
    at_bench.type("in")
    assert any("1 3/8 in" in text for text in words(dialog.outcome))


def test_tab_goes_round_from_the_list_to_the_result(at_bench, opened):
    dialog = opened("runout", **FILLED["runout"])
    dialog.list.setFocus()
    seen = []
    for _ in range(30):
        seen.append(QApplication.focusWidget())
        at_bench.press(Qt.Key.Key_Tab)
        if QApplication.focusWidget() is seen[0]:
            break
    usual = [o.name for o in CALCULATORS["runout"].options if not o.seldom]
    assert seen == [
        dialog.list,
        *(dialog.form.fields[name] for name in usual),
        dialog.form.more,
        *dialog.taking.buttons,
        dialog.empty_button,
        dialog.close_button,
    ]


def test_what_a_field_takes_is_said_below(at_bench, opened):
    dialog = opened("runout")
    for name, field in dialog.form.fields.items():
        if field.isVisible():
            field.setFocus()
            label = CALCULATORS["runout"].option(name).label
            assert label.casefold() in dialog.form.hint.text().casefold()


def test_it_is_in_the_menu_and_needs_a_case(at_bench):
    action = at_bench.window.actions_["work_out"]
    assert action in at_bench.window.header._menu.actions()
    assert action.isEnabled()
    at_bench.window.show_cases()
    assert not action.isEnabled()


def test_it_opens_in_the_intake_too(at_bench, opened):
    at_bench.window.show_intake(0)
    assert opened().calculator.name == next(iter(CALCULATORS))
