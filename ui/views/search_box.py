"""A field to search with, above the list of what it finds; the keys of the field work both."""

from collections.abc import Callable, Sequence
from typing import Any

from PySide6.QtCore import QEvent, QModelIndex, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from ui import theme
from ui.models.rows import KEY, RowsModel
from ui.widgets.field import Field
from ui.widgets.rows import Ranked, RowView
from ui.widgets.text import Words

_MOVES = {
    Qt.Key.Key_Down: 1,
    Qt.Key.Key_Up: -1,
    Qt.Key.Key_PageDown: 5,
    Qt.Key.Key_PageUp: -5,
}
Rows = Sequence[tuple[Any, Ranked]]


class SearchBox(QWidget):
    """Finds rows by what is typed.

    Parameters
    ----------
    label : str
        With its mnemonic.
    find : callable
        Gives the keyed rows for a text, best first.
    keeps : bool
        Whether what was typed and found stays when a row is picked.

    Signals
    -------
    picked(object, bool)
        Key of a row, and whether Shift was held.
    passed
        Enter with nothing typed and nothing marked: the user is done here.
    """

    picked = Signal(object, bool)
    passed = Signal()

    def __init__(
        self,
        label: str,
        find: Callable[[str], Rows],
        parent: QWidget | None = None,
        *,
        keeps: bool = False,
    ) -> None:
        super().__init__(parent)
        self._find = find
        self._keeps = keeps
        self.field = Field()
        self.field.setAccessibleName(label.replace("&", ""))
        self.field.setClearButtonEnabled(True)
        self.model = RowsModel(self)
        self.view = RowView(f"Found by {label.replace('&', '')}", least=10)
        self.view.setModel(self.model)
        self.view.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        # The keys stay with the field, and the row they would take is lit as if the list had them.
        self.view.setFocusProxy(self.field)
        name = Words(label, weight="bold", wrap=False)
        name.setTextFormat(Qt.TextFormat.AutoText)
        name.setBuddy(self.field)
        self._nothing = Words("Nothing is called that. Try another word.", tone="muted")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.STEP // 2)
        column.addWidget(name)
        column.addWidget(self.field)
        column.addWidget(self._nothing)
        column.addWidget(self.view, 1)
        self.field.textChanged.connect(self._on_typed)
        self.field.installEventFilter(self)
        self.view.clicked.connect(lambda index: self._pick(index, shifted=False))

    def refresh(self) -> None:
        """Search again, keeping what is marked."""
        marked = self.view.currentIndex().data(KEY)
        rows = self._find(self.field.text())
        self.model.set_rows(rows)
        self._nothing.setVisible(not rows and bool(self.field.text().strip()))
        row = self.model.row_of(marked)
        if row >= 0:
            self._mark(row)

    def clear(self) -> None:
        """Forget what was typed and marked."""
        self.field.clear()
        self.view.setCurrentIndex(QModelIndex())
        self.refresh()

    def mark_first(self) -> None:
        """Mark the first row, so that Enter takes it."""
        self._mark(0)

    def eventFilter(self, watched: QObject, event: QEvent, /) -> bool:
        if event.type() in {QEvent.Type.FocusIn, QEvent.Type.FocusOut}:
            self.view.viewport().update()
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            key = Qt.Key(event.key())
            if key in _MOVES:
                row = self.view.currentIndex().row() + _MOVES[key]
                self._mark(max(0, min(self.model.rowCount() - 1, row)))
                return True
            if key in {Qt.Key.Key_Return, Qt.Key.Key_Enter} and not (
                event.modifiers() & Qt.KeyboardModifier.ControlModifier
            ):
                shifted = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
                self._on_enter(shifted=shifted)
                return True
        return super().eventFilter(watched, event)

    def _on_typed(self, typed: str) -> None:
        self.view.setCurrentIndex(QModelIndex())
        self.refresh()
        if typed.strip():
            self._mark(0)

    def _on_enter(self, *, shifted: bool) -> None:
        if self.view.currentIndex().isValid():
            self._pick(self.view.currentIndex(), shifted=shifted)
        elif not self.field.text().strip():
            self.passed.emit()

    def _pick(self, index: QModelIndex, *, shifted: bool) -> None:
        key = index.data(KEY)
        if not self._keeps:
            self.clear()
        self.picked.emit(key, shifted)

    def _mark(self, row: int) -> None:
        if 0 <= row < self.model.rowCount():
            self.view.setCurrentIndex(self.model.index(row, 0))
            self.view.scrollTo(self.view.currentIndex())
