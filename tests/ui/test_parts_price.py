"""The price of parts on the card of a repair, by keyboard."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QApplication, QDialog

from diagnose.advice_words import parts_line
from ui import messages, moves
from ui.money import money_text, read_money

PATIENCE = 20_000
ENTER = Qt.Key.Key_Return


@pytest.fixture
def repair(window, example, qtbot):
    """The repair of the likeliest cause on the card, its cautions read; with the cause's id."""
    for old in window.window.findChildren(QDialog):
        old.close()
    window.qtbot = qtbot
    window.window.activateWindow()
    window.open(example)
    cause = window.session.standing.assessment.causes[0].id
    window.bench.card.choose("repair", cause)
    if window.bench.card.unread():
        window.bench.card.acknowledge()
    QApplication.processEvents()
    return window, window.bench.card, cause


def priced(driver, text):
    """Type a price into the field by keyboard, and wait until it is weighed."""
    driver.press(Qt.Key.Key_P, Qt.KeyboardModifier.AltModifier)
    field = driver.bench.card.price.field
    driver.qtbot.waitUntil(field.hasFocus, timeout=PATIENCE)
    field.selectAll()
    driver.type(text)
    driver.press_and_settle(ENTER)


def test_a_price_goes_into_the_case_and_the_card_stays_on_its_repair(repair):
    driver, card, cause = repair
    priced(driver, "120 EUR")
    case = driver.session.case
    assert (case.parts, case.currency) == ({cause: 120.0}, "EUR")
    assert card.shown == ("repair", cause)
    assert card.price.field.text() == "120 EUR"
    assert card.price.words.text() == parts_line(case, cause)
    assert QApplication.focusWidget() in card.pad.buttons


def test_with_the_labour_it_says_what_the_parts_count(repair):
    """Parts at 120 are worth 1.5 hours at 80 an hour."""
    driver, card, cause = repair
    session = driver.session
    with driver.qtbot.waitSignal(session.assessment_changed, timeout=PATIENCE):
        session.change(moves.with_labour(session.case, 80.0, "EUR"), "the labour rate")
    driver.settle()
    card.choose("repair", cause)
    before = card.option()
    priced(driver, "120")
    assert card.price.words.text() == "Its parts at 120 EUR count as 1.5 h of work."
    assert card.price.field.text() == "120 EUR"
    assert before is not None
    # They are weighed, but take no time.
    assert card.option().hours == pytest.approx(before.hours)
    assert card.option().expected > before.expected


def test_undo_takes_the_price_back_and_redo_gives_it_again(repair):
    driver, card, cause = repair
    priced(driver, "120 EUR")
    driver.press_and_settle(Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert driver.session.case.parts == {}
    card.choose("repair", cause)
    assert card.price.field.text() == ""
    driver.session.redo()
    driver.settle()
    assert driver.session.case.parts == {cause: 120.0}


def test_an_emptied_field_takes_the_price_out(repair):
    driver, card, _ = repair
    priced(driver, "120 EUR")
    card.price.field.setFocus()
    card.price.field.selectAll()
    driver.press(Qt.Key.Key_Backspace)
    driver.press_and_settle(ENTER)
    assert driver.session.case.parts == {}
    assert card.price.words.text() == ""


@pytest.mark.parametrize("typed", ["dear", "-5", "12 or 14"])
def test_what_is_no_price_is_said_in_a_sentence_and_changes_nothing(repair, typed):
    driver, card, _ = repair
    before = driver.session.case
    card.price.field.setFocus()
    driver.type(typed)
    driver.press(ENTER)
    assert card.price.words.text() == messages.NO_PRICE
    assert card.price.words.property("tone") == "caution"
    assert card.price.field.text() == typed
    assert driver.session.case == before


def test_another_currency_than_that_of_the_case_is_refused(repair):
    driver, card, _ = repair
    priced(driver, "120 EUR")
    before = driver.session.case
    card.price.field.setFocus()
    card.price.field.selectAll()
    driver.type("90 USD")
    driver.press(ENTER)
    assert card.price.words.text() == messages.OTHER_CURRENCY.format(currency="EUR")
    assert driver.session.case == before


def test_digits_typed_there_are_no_answers(repair):
    driver, card, _ = repair
    answered = []
    card.answered.connect(lambda *said: answered.append(said))
    card.price.field.setFocus()
    driver.type("1")
    assert answered == []
    assert card.price.field.text() == "1"


def test_a_screen_reader_names_the_field(repair):
    _, card, _ = repair
    face = QAccessible.queryAccessibleInterface(card.price.field)
    assert face.text(QAccessible.Text.Name) == "Parts cost"
    assert "labour" in face.text(QAccessible.Text.Description)


def test_it_is_on_the_card_of_a_repair_only(repair):
    driver, card, _ = repair
    assert card.price.isVisible()
    check = next(o for o in driver.session.standing.advice.options if o.kind == "check")
    card.choose("check", check.id)
    assert not card.price.isVisible()


@pytest.mark.parametrize("text", ["85", "84.5 EUR", "120 $", "0.25"])
def test_money_is_written_the_way_it_is_read(text):
    assert money_text(*read_money(text)) == text


@pytest.mark.parametrize("text", ["", "EUR", "$5 EUR", "1000001", "1 2"])
def test_what_is_no_money_is_not_read(text):
    assert read_money(text) is None
