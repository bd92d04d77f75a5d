"""The Line room while nobody is on the phone: how many cases wait, and the keys that go on."""

from collections.abc import Mapping

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from diagnose.records.kept import State
from ui import theme
from ui.line.listing import waiting_words
from ui.widgets.text import Words

_KEYS = (
    ("Ctrl+N", "Somebody calls: one line of text makes the case."),
    ("F8", "The next case of the list; F7 the one above it."),
    ("Ctrl+F", "Search by name, vehicle or complaint."),
    ("K, P, Q", "Only what waits for the caller, for parts, or is open; U shows all."),
)


class LineEmpty(QWidget):
    """Says what can be done."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._waiting = Words("", role="lead")
        self._waiting.say("")
        keys = QGridLayout()
        keys.setHorizontalSpacing(2 * theme.STEP)
        keys.setVerticalSpacing(theme.STEP)
        keys.setColumnStretch(1, 1)
        for row, (key, words) in enumerate(_KEYS):
            name = Words(key, weight="bold", wrap=False)
            keys.addWidget(name, row, 0, Qt.AlignmentFlag.AlignTop)
            keys.addWidget(Words(words, tone="muted"), row, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * theme.STEP)
        column.addWidget(Words("Nobody is on the phone", role="title", weight="bold"))
        column.addWidget(self._waiting)
        column.addLayout(keys)

    def show_counts(self, counts: Mapping[State, int]) -> None:
        """Say how many cases are to be seen to."""
        self._waiting.say(waiting_words(counts))
