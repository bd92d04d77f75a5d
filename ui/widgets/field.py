"""Fields to type in, whose undo and redo give way to those of the window when they have nothing."""

from PySide6.QtCore import QEvent
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QLineEdit, QPlainTextEdit

_UNDO = QKeySequence.StandardKey.Undo
_REDO = QKeySequence.StandardKey.Redo


def _is_for_window(event: QEvent, *, undo: bool, redo: bool) -> bool:
    """Whether a key is one for undo or redo that the field itself has no use for."""
    if not isinstance(event, QKeyEvent) or event.type() != QEvent.Type.ShortcutOverride:
        return False
    return (event.matches(_UNDO) and not undo) or (event.matches(_REDO) and not redo)


class Field(QLineEdit):
    """One line to type in."""

    def event(self, event: QEvent, /) -> bool:
        if _is_for_window(event, undo=self.isUndoAvailable(), redo=self.isRedoAvailable()):
            event.ignore()
            return True
        return super().event(event)


class TextField(QPlainTextEdit):
    """Some lines to type in; Tab leaves it."""

    def __init__(self) -> None:
        super().__init__()
        self.setTabChangesFocus(True)

    def event(self, event: QEvent, /) -> bool:
        document = self.document()
        undo, redo = document.isUndoAvailable(), document.isRedoAvailable()
        if _is_for_window(event, undo=undo, redo=redo):
            event.ignore()
            return True
        return super().event(event)
