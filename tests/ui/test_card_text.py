"""What the card says of a closed case."""

import pytest

from diagnose.case import Found
from ui.views.card_text import found_words
from ui.widgets.notice import Notice
from ui.widgets.text import Words


@pytest.mark.parametrize(
    ("sure", "ticked"),
    [
        ("part seen", True),
        ("complaint gone", True),
        ("customer silent", False),
        ("not confirmed", False),
    ],
)
def test_only_what_was_proved_has_the_green_tick(dressed, knowledge, sure, ticked):
    found = Found(causes=("air_in_system",), sure=sure, why="As the caller said")
    shown = found_words(knowledge, found, "seat")
    assert any(isinstance(widget, Notice) for widget in shown) == ticked
    texts = [widget.text() for widget in shown if isinstance(widget, Words)]
    assert "Air in the hydraulics" in texts
    assert any("As the caller said" in text for text in texts) != ticked
