"""A dialog whose content scrolls above one row of buttons."""

from PySide6.QtCore import QSize
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from ui import theme
from ui.widgets.scroll import Scroll


class PanelDialog(QDialog):
    """Content above, buttons below; Esc closes it.

    Parameters
    ----------
    title : str
    parent : QWidget
    """

    def __init__(self, title: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self._window = parent.window()
        self._content = QWidget()
        self.column = QVBoxLayout(self._content)
        self.column.setContentsMargins(0, 0, theme.STEP, 0)
        self.column.setSpacing(theme.STEP)
        self.buttons = QHBoxLayout()
        self.buttons.setSpacing(theme.STEP)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(3 * theme.STEP, 3 * theme.STEP, 2 * theme.STEP, 2 * theme.STEP)
        outer.setSpacing(2 * theme.STEP)
        outer.addWidget(Scroll(self._content), 1)
        outer.addLayout(self.buttons)

    def add_button(self, text: str, *, kind: str = "") -> QPushButton:
        """Add a button to the row below."""
        button = QPushButton(text)
        button.setAutoDefault(False)
        theme.mark(button, kind=kind)
        self.buttons.addWidget(button)
        return button

    def showEvent(self, event: QShowEvent, /) -> None:
        self.fit()
        super().showEvent(event)

    def fit(self) -> None:
        """Take the size the content needs, in the middle of the window."""
        wanted = self._wanted(self.fontMetrics().height())
        self.resize(wanted.boundedTo(self._window.size() * 0.94))
        middle = self._window.mapToGlobal(self._window.rect().center())
        self.move(middle - self.rect().center())

    def _wanted(self, line: int) -> QSize:
        """The size for a line length that reads well, as high as the content if that is less."""
        wide = 42 * line
        inner = self._content.heightForWidth(wide - 8 * theme.STEP)
        return QSize(
            wide, min(38 * line, inner + self.buttons.sizeHint().height() + 9 * theme.STEP)
        )
