"""The set-up page: the labour rate and the customer's limit, and what is said of wrong input."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QScrollArea

from diagnose.case import left_today
from ui import messages, moves

TAB = Qt.Key.Key_Tab


@pytest.fixture
def page(window):
    """A new case, on its first page."""
    window.window.activateWindow()
    window.session.start()
    window.window.show_intake(0)
    window.settle()
    page = window.intake.setup
    page.refresh()
    yield page
    for field in (page.hours, page.labour, page.limit):
        field.clear()
    page.leave()
    window.settle()


def put(field, text):
    """Type into a field, and leave it by Tab."""
    field.setFocus()
    field.selectAll()
    QTest.keyClick(field, Qt.Key.Key_Backspace)
    QTest.keyClicks(field, text)
    QTest.keyClick(field, TAB)


@pytest.mark.parametrize(
    ("text", "rate", "currency", "shown"),
    [
        ("85", 85.0, "", "85"),
        ("84,50 EUR", 84.5, "EUR", "84.5 EUR"),
        ("$ 120", 120.0, "$", "120 $"),
        ("95 EUR/h", 95.0, "EUR", "95 EUR"),
    ],
)
def test_the_rate_is_read_with_its_currency(window, page, text, rate, currency, shown):
    put(page.labour, text)
    case = window.session.case
    assert (case.labour, case.currency) == (rate, currency)
    assert page._said.text() == ""
    window.session.undo()
    assert page.labour.text() == ""
    window.session.redo()
    assert page.labour.text() == shown


@pytest.mark.parametrize("text", ["much", "-5", "$85 EUR"])
def test_what_is_no_rate_is_said_and_not_kept(window, page, text):
    put(page.labour, text)
    assert page._said.text() == messages.NO_MONEY
    assert window.session.case.labour is None
    assert page.labour.text() == text
    put(page.labour, "")
    assert page._said.text() == ""


def test_the_currency_of_priced_parts_stays_when_the_rate_is_taken_out(window, page):
    session = window.session
    put(page.labour, "85 EUR")
    session.change(moves.with_part(session.case, "disc_bent_fitting", 120.0), "the price")
    put(page.labour, "")
    assert (session.case.labour, session.case.currency) == (None, "EUR")
    page.leave()
    assert session.case.currency == "EUR"


def test_the_limit_counts_from_when_it_is_typed(window, page):
    put(page.limit, "2 h")
    assert window.session.case.limit == 2.0
    assert left_today(window.session.case) == 2.0
    put(page.limit, "")
    assert window.session.case.limit is None


@pytest.mark.parametrize("text", ["two", "0"])
def test_what_is_no_limit_is_said_and_not_kept(window, page, text):
    put(page.limit, text)
    assert page._said.text() == messages.NO_LIMIT
    assert window.session.case.limit is None


def test_leaving_the_page_again_does_not_begin_the_limit_anew(window, page):
    put(page.limit, "2")
    session = window.session
    session.change(session.case.model_copy(update={"moved": 1.5}), "a way")
    page.leave()
    assert left_today(session.case) == 0.5


def test_every_wrong_field_is_named(page):
    put(page.hours, "long")
    put(page.labour, "much")
    put(page.limit, "soon")
    said = page._said.text()
    assert said == f"{messages.NO_HOURS} {messages.NO_MONEY} {messages.NO_LIMIT}"


def test_they_are_reached_by_keyboard_and_named_for_a_screen_reader(window, page):
    page.hours.setFocus()
    window.press(TAB)
    assert QApplication.focusWidget() is page.labour
    window.press(TAB)
    assert QApplication.focusWidget() is page.limit
    for field, name in ((page.labour, "Labour"), (page.limit, "limit")):
        assert name in field.accessibleName()
        assert field.accessibleDescription()


def test_all_of_it_fits_a_small_screen(window, page):
    window.window.resize(1280, 800)
    put(page.labour, "much")
    window.settle()
    for area in page.findChildren(QScrollArea):
        assert area.verticalScrollBar().maximum() == 0
        assert area.horizontalScrollBar().maximum() == 0
