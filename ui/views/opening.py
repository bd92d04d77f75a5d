"""What is shown before there is a case: opening, what is wrong with the knowledge, all cases."""

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from ui import messages, theme
from ui.models.rows import KEY, RowsModel
from ui.widgets.rows import Ranked, RowView
from ui.widgets.scroll import Scroll
from ui.widgets.text import Words, heading

if TYPE_CHECKING:  # the page is shown before the store is needed
    from diagnose.records.kept import Listed


class OpeningPage(QWidget):
    """Shown while the knowledge base is read."""

    def __init__(self) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.addStretch(1)
        words = Words(messages.LOADING, role="title", tone="muted")
        words.setAlignment(Qt.AlignmentFlag.AlignCenter)
        column.addWidget(words)
        column.addStretch(2)


class TroublePage(QWidget):
    """Shown when the knowledge base can't be used: every problem, and the way on.

    Signals
    -------
    without_folders
        Go on without the folders laid over the base.
    """

    without_folders = Signal()

    def __init__(self, problems: str, *, folders: bool) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        margin = 3 * theme.STEP
        column.setContentsMargins(margin, margin, margin, margin)
        column.setSpacing(2 * theme.STEP)
        column.addWidget(Words(messages.LOADING_FAILED, role="title", weight="bold"))
        if folders:
            column.addWidget(Words(messages.SHOP_FOLDER_FAILED))
        column.addWidget(Scroll(Words(problems)), 1)
        self.button = QPushButton("&Go on without the folder")
        theme.mark(self.button, kind="primary")
        self.button.setVisible(folders)
        self.button.clicked.connect(lambda _=False: self.without_folders.emit())
        column.addWidget(self.button)


class _Cases(RowView):
    """The list of cases: Enter opens one."""

    opened = Signal(object)

    def __init__(self) -> None:
        super().__init__("Cases on this machine")
        self.clicked.connect(lambda index: self.opened.emit(index.data(KEY)))
        self.activated.connect(lambda index: self.opened.emit(index.data(KEY)))


class CasesPage(QWidget):
    """Start a case, or go on with one.

    Signals
    -------
    new_wanted, open_wanted
    case_wanted(str)
    """

    new_wanted = Signal()
    open_wanted = Signal()
    case_wanted = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self.new = QPushButton("&New case")
        theme.mark(self.new, kind="primary", role="lead")
        self.new.clicked.connect(lambda _=False: self.new_wanted.emit())
        self.open = QPushButton("&Open a case file …")
        self.open.clicked.connect(lambda _=False: self.open_wanted.emit())
        self._model = RowsModel(self)
        self.cases = _Cases()
        self.cases.setModel(self._model)
        self.cases.opened.connect(self.case_wanted)
        self._empty = Words("No case yet. Every case you start is kept here.", tone="muted")
        column = QVBoxLayout(self)
        margin = 3 * theme.STEP
        column.setContentsMargins(margin, margin, margin, 2 * theme.STEP)
        column.setSpacing(theme.STEP)
        title = "A fresh clutch, and it is back?"
        column.addWidget(Words(title, role="display", weight="bold"))
        column.addWidget(
            Words(
                "Say what is fitted and what the driver says. One check after the other leads to "
                "the fault, and the gearbox comes out once more at the most.",
                role="lead",
                tone="muted",
            )
        )
        row = QHBoxLayout()
        row.setSpacing(theme.STEP)
        row.addWidget(self.new)
        row.addWidget(self.open)
        row.addStretch(1)
        column.addSpacing(theme.STEP)
        column.addLayout(row)
        column.addSpacing(2 * theme.STEP)
        column.addWidget(heading("Cases on this machine"))
        column.addWidget(self._empty)
        column.addWidget(self.cases, 1)

    def show_cases(self, cases: "Sequence[Listed]") -> None:
        """List the cases."""
        rows = [(c.id, Ranked(c.title or messages.UNNAMED, _how_far(c))) for c in cases]
        self._model.set_rows(rows)
        self._empty.setVisible(not rows)
        self.cases.setVisible(bool(rows))

    def take_focus(self) -> None:
        """Put the focus on the way to a new case."""
        self.new.setFocus(Qt.FocusReason.OtherFocusReason)


def _how_far(case: "Listed") -> str:
    """Say when a case was changed last, by whom, and how far it is."""
    when = f"{datetime.fromisoformat(case.updated):%d %b %Y, %H:%M}"
    who = f", {case.by}" if case.by else ""
    return f"{when}{who}. {case.state.capitalize()}, {case.answers} answers so far"
