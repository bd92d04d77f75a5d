"""What apprentices made of their exercises: a line for each of them, and one for each exercise."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from diagnose.practice.results import Read
from ui import theme
from ui.models.rows import RowsModel
from ui.practice_words import result_rows, summary_rows
from ui.views.parts import quiet_button
from ui.widgets.rows import RowView
from ui.widgets.text import Words, heading

_NONE = "Nothing is kept yet. Type a name before an exercise, and its result stands here."


class PracticeResults(QWidget):
    """Lists results.

    Signals
    -------
    export_wanted
        The user wants them as a table.
    left
        The user is done here.
    """

    export_wanted = Signal()
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.note = Words("", tone="muted")
        self._people, self._all = RowsModel(self), RowsModel(self)
        self.people = RowView("Apprentices", least=6)
        self.people.setModel(self._people)
        self.every = RowView("Exercises", least=6)
        self.every.setModel(self._all)
        self.export = quiet_button("&Export as a table (CSV) …", self.export_wanted.emit)
        self._lay_out()

    def show_results(self, read: Read) -> None:
        """Show the results of a file."""
        self._people.set_rows(summary_rows(read.results))
        self._all.set_rows(result_rows(read.results))
        said = "" if read.results else _NONE
        if read.broken:
            lines = "1 line" if read.broken == 1 else f"{read.broken} lines"
            said = f"{said} {lines} of the file could not be read and are left out.".strip()
        self.note.say(said)
        self.export.setEnabled(bool(read.results))

    def show_trouble(self, sentence: str) -> None:
        """Say why there is nothing to show."""
        self._people.set_rows([])
        self._all.set_rows([])
        self.note.say(sentence)
        self.export.setEnabled(False)

    def take_focus(self) -> None:
        """Put the focus on the list."""
        self.every.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def _lay_out(self) -> None:
        gap = theme.STEP
        head = QHBoxLayout()
        head.addWidget(Words("Results", role="title", weight="bold"), 1)
        head.addWidget(self.export)
        head.addWidget(quiet_button("&Close (Esc)", self.left.emit))
        lists = QHBoxLayout()
        lists.setSpacing(3 * gap)
        for share, name, view in (
            (1, "Apprentices, who loses least first", self.people),
            (2, "Exercises, the latest first", self.every),
        ):
            column = QVBoxLayout()
            column.setSpacing(gap // 2)
            column.addWidget(heading(name))
            column.addWidget(view, 1)
            lists.addLayout(column, share)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(2 * gap, gap, 2 * gap, gap)
        outer.setSpacing(gap)
        outer.addLayout(head)
        outer.addWidget(self.note)
        outer.addLayout(lists, 1)
