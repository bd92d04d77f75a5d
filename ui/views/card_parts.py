"""Rows of the card of the next step, and how it finds its option in the advice."""

import time
from collections.abc import Callable, Container

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QApplication,
    QButtonGroup,
    QHBoxLayout,
    QLayout,
    QPushButton,
    QWidget,
)

from diagnose.planning.record import Advice, Option
from ui import theme
from ui.questions import Question, Voice
from ui.views.parts import quiet_button
from ui.views.taking import steps_and_drawing
from ui.widgets.notice import Notice
from ui.widgets.text import Words, heading

SETTLED = 1.5  # seconds after which a step on the card is being read, and stays


class Hands:
    """Tells whether somebody has begun to read or work on what a card shows."""

    def __init__(self, card: QWidget) -> None:
        self._card = card
        self._placed: QWidget | None = None
        self.rest()

    def rest(self) -> None:
        """Begin anew: another step is shown."""
        self._touched = False
        self._shown_at = time.monotonic()

    def touch(self) -> None:
        """Note that something was done on the card."""
        self._touched = True

    def place(self) -> None:
        """Note where the focus was put, which nobody has moved by that."""
        self._placed = QApplication.focusWidget()

    def have_begun(self) -> bool:
        """Whether something was done, the focus was moved, or there was time enough to read."""
        focus = QApplication.focusWidget()
        moved = focus is not None and focus is not self._placed and self._card.isAncestorOf(focus)
        return self._touched or moved or time.monotonic() - self._shown_at > SETTLED


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


def head_row(name: str, where: str) -> QHBoxLayout:
    """Lay out what the card is about, and where it is done and how long it takes."""
    row = QHBoxLayout()
    row.addWidget(heading(name))
    row.addStretch(1)
    row.addWidget(Words(where, role="small", tone="muted", wrap=False))
    return row


def notices(question: Question, unread: Container[str], *, every: bool) -> list[Notice]:
    """Give the cautions of a question: those not read yet, every stop, and all if asked for."""
    return [
        Notice(caution.level, caution.text)
        for caution in question.cautions
        if every or caution.id in unread or caution.level == "stop"
    ]


def how_to(
    question: Question, voice: str, speak: Callable[[str], None], owner: QWidget
) -> tuple[QLayout, QLayout]:
    """Lay out the voices of a question, and its steps in the one that is spoken."""
    spoken = next((v for v in question.voices if v.id == voice), question.voices[0])
    row = voices_row(question, spoken, speak, owner)
    return row, steps_and_drawing(question, spoken.steps)


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


def following(advice: Advice | None, option: Option | None) -> Option | None:
    """Give what comes after an option, as good as the planner sees it; None after the last."""
    if advice is None or option is None:
        return None
    place = advice.options.index(option) + 1
    return advice.options[place] if place < len(advice.options) else None
