"""What went wrong, above the page, until it is put right."""

from PySide6.QtWidgets import QVBoxLayout, QWidget

from ui import theme
from ui.widgets.notice import Notice


class TroubleBar(QWidget):
    """Shows one trouble at most; takes no room while there is none."""

    def __init__(self) -> None:
        super().__init__()
        self.notice: Notice | None = None
        self._column = QVBoxLayout(self)
        margin = 3 * theme.STEP
        self._column.setContentsMargins(margin, theme.STEP, margin, theme.STEP)
        self.hide()

    def show_trouble(self, sentence: str, next_step: str) -> None:
        """Say what went wrong, instead of what went wrong before."""
        self.clear()
        self.notice = Notice("caution", sentence, next_step)
        self._column.addWidget(self.notice)
        self.show()

    def clear(self) -> None:
        """Take the trouble from the screen."""
        if self.notice is not None:
            self.notice.deleteLater()
            self.notice = None
            self.hide()
