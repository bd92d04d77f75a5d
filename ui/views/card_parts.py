"""Rows of the card of the next step, and how it finds its option in the advice."""

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPushButton, QWidget

from diagnose.planning.record import Advice, Option
from ui import theme
from ui.questions import Question, Voice
from ui.views.parts import quiet_button
from ui.widgets.text import Words


class SecondThoughts(QWidget):
    """One line that another step turned out to be better, with a key to take it."""

    def __init__(self, take: Callable[[], None]) -> None:
        super().__init__()
        self._words = Words("")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self._words, 1, Qt.AlignmentFlag.AlignVCenter)
        row.addWidget(quiet_button("&Take it (T)", take))
        self.hide()

    def text(self) -> str:
        """Give what it says."""
        return self._words.text()

    def say(self, text: str) -> None:
        """Say something else; nothing takes no room."""
        self._words.setText(text)
        self.setVisible(bool(text))


def voices_row(
    question: Question, spoken: Voice, speak: Callable[[str], None], owner: QWidget
) -> QHBoxLayout:
    """Lay out a button for each voice of a question, the one that is spoken marked."""
    row = QHBoxLayout()
    row.setSpacing(theme.STEP)
    group = QButtonGroup(owner)
    for voice in question.voices:
        button = QPushButton(voice.name)
        button.setCheckable(True)
        button.setChecked(voice is spoken)
        button.setToolTip("Another voice (V)")
        button.clicked.connect(lambda _=False, v=voice.id: speak(v))
        theme.mark(button, kind="quiet")
        group.addButton(button)
        row.addWidget(button)
    row.addStretch(1)
    return row


def first_of(advice: Advice | None) -> tuple[str, str] | None:
    """Give kind and id of what is advised; None if nothing is."""
    if advice is None or not advice.options:
        return None
    return advice.options[0].kind, advice.options[0].id


def found_in(advice: Advice, key: tuple[str, str] | None) -> Option | None:
    """Give the option with a kind and id; None if the advice has no such one."""
    return next((option for option in advice.options if (option.kind, option.id) == key), None)
