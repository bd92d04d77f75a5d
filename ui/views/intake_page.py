"""What the pages of the intake share: a title, a sentence, and a body."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from ui import theme
from ui.session import Session
from ui.widgets.text import Words


class IntakePage(QWidget):
    """One page; every entry on it goes into the case at once.

    Signals
    -------
    passed
        The user is done here.
    """

    passed = Signal()

    def __init__(self, session: Session, title: str, text: str) -> None:
        super().__init__()
        self.session = session
        self.text = Words(text, tone="muted")
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(theme.STEP)
        self.column.addWidget(Words(title, role="title", weight="bold"))
        self.column.addWidget(self.text)

    def refresh(self) -> None:
        """Show the case."""
        raise NotImplementedError

    def take_focus(self) -> None:
        """Put the focus where a person starts."""
        raise NotImplementedError

    def leave(self) -> None:
        """Put into the case what is still only typed."""
