"""The intake: five short pages, each to be left and come back to at any time."""

from PySide6.QtCore import Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from ui import theme
from ui.session import Session
from ui.views.intake_complaint import ComplaintPage
from ui.views.intake_kit import KitPage
from ui.views.intake_page import IntakePage
from ui.views.intake_setup import SetupPage
from ui.views.intake_stands import StandsPage
from ui.views.intake_work import WorkPage
from ui.widgets.scroll import Scroll

_NAMES = ("Set-up", "Kit", "Complaint", "Work done", "Open now")


class Intake(QWidget):
    """The pages, the row that leads to each, and the way on.

    Signals
    -------
    finished
        The user wants to go to the bench.
    """

    finished = Signal()

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.setup = SetupPage(session)
        self.kit = KitPage(session)
        self.complaint = ComplaintPage(session)
        self.work = WorkPage(session)
        self.stands = StandsPage(session)
        self.pages: tuple[IntakePage, ...] = (
            self.setup,
            self.kit,
            self.complaint,
            self.work,
            self.stands,
        )
        self._stack = QStackedWidget()
        self._tabs = [QPushButton(f"&{i}  {name}") for i, name in enumerate(_NAMES, start=1)]
        self._back = QPushButton("&Back")
        self._next = QPushButton("&Next")
        self._bench = QPushButton("To the bench (Ctrl+Enter)")
        self._lay_out()
        for page in self.pages:
            page.passed.connect(self.go_on)
        session.case_changed.connect(self._on_case_changed)
        back = QShortcut(QKeySequence("Esc"), self)
        back.activated.connect(self.go_back)

    def _lay_out(self) -> None:
        tabs = QHBoxLayout()
        tabs.setSpacing(theme.STEP)
        group = QButtonGroup(self)
        for i, button in enumerate(self._tabs):
            button.setCheckable(True)
            theme.mark(button, kind="quiet")
            button.clicked.connect(lambda _=False, page=i: self.show_page(page))
            group.addButton(button)
            tabs.addWidget(button)
        tabs.addStretch(1)
        foot = QHBoxLayout()
        foot.setSpacing(theme.STEP)
        theme.mark(self._next, kind="primary")
        self._back.clicked.connect(lambda _=False: self.go_back())
        self._next.clicked.connect(lambda _=False: self.go_on())
        self._bench.clicked.connect(lambda _=False: self._finish())
        foot.addWidget(self._back)
        foot.addStretch(1)
        foot.addWidget(self._bench)
        foot.addWidget(self._next)
        for page in self.pages:
            self._stack.addWidget(Scroll(page))
        column = QVBoxLayout(self)
        margin = 3 * theme.STEP
        column.setContentsMargins(margin, theme.STEP, margin, 2 * theme.STEP)
        column.setSpacing(2 * theme.STEP)
        column.addLayout(tabs)
        column.addWidget(self._stack, 1)
        column.addLayout(foot)

    @property
    def place(self) -> int:
        """Number of the page that is shown, from 0."""
        return self._stack.currentIndex()

    def show_page(self, place: int) -> None:
        """Show a page, keeping what was typed on the one before."""
        self.pages[self.place].leave()
        self._stack.setCurrentIndex(place)
        self._tabs[place].setChecked(True)
        self._back.setEnabled(place > 0)
        last = place == len(self.pages) - 1
        self._next.setText("To the be&nch" if last else "&Next")
        self._bench.setVisible(not last)
        self.pages[place].refresh()
        self.take_focus()

    def take_focus(self) -> None:
        """Put the focus where the page starts."""
        self.pages[self.place].take_focus()

    def go_on(self) -> None:
        """Go to the next page, and from the last one to the bench."""
        if self.place + 1 < len(self.pages):
            self.show_page(self.place + 1)
        else:
            self._finish()

    def go_back(self) -> None:
        """Go to the page before."""
        if self.place > 0:
            self.show_page(self.place - 1)

    def leave(self) -> None:
        """Put into the case what is still only typed."""
        self.pages[self.place].leave()

    def _finish(self) -> None:
        self.leave()
        self.finished.emit()

    def _on_case_changed(self) -> None:
        if self.isVisible():
            self.pages[self.place].refresh()
