"""The two lists of the bench: what it may be, and what has been found so far."""

from PySide6.QtCore import QEvent, QModelIndex, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from diagnose.assess import Assessment
from diagnose.case import Entry
from diagnose.sentences import counts, left_out_line
from knowledge.model import KnowledgeBase
from ui.models.causes import REST, CauseModel
from ui.models.findings import FindingModel
from ui.models.rows import KEY
from ui.session import Session
from ui.views.parts import quiet_button
from ui.widgets.notice import Notice
from ui.widgets.rows import RowView
from ui.widgets.text import Words, heading

_EMPTY = (
    "Nothing yet. Note first what the driver complains of, in the intake (Ctrl+I), or answer what "
    "the card asks."
)
_OPENING_KEYS = {Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_F2}


class EntryList(RowView):
    """A list that says which row is opened or removed, by key or by click."""

    opened = Signal(QModelIndex)
    removed = Signal(QModelIndex)

    def __init__(self, name: str, *, least: int = 3) -> None:
        super().__init__(name, least=least)
        self.clicked.connect(self.opened)

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        index = self.currentIndex()
        if index.isValid() and event.key() in _OPENING_KEYS:
            self.opened.emit(index)
        elif index.isValid() and event.key() in {Qt.Key.Key_Delete, Qt.Key.Key_Backspace}:
            self.removed.emit(index)
        else:
            super().keyPressEvent(event)

    def event(self, event: QEvent, /) -> bool:
        # A list that is tabbed into starts at its first row.
        if (
            event.type() == QEvent.Type.FocusIn
            and not self.currentIndex().isValid()
            and self.model().rowCount()
        ):
            self.setCurrentIndex(self.model().index(0, 0))
        return super().event(event)


class CausesPanel(QWidget):
    """The causes, most probable first.

    Signals
    -------
    opened(str)
        Id of the cause the user wants to have explained.
    """

    opened = Signal(str)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._everything = False
        self.model = CauseModel(self)
        self.view = EntryList("What it may be")
        self.view.setModel(self.model)
        self.view.opened.connect(self._on_opened)
        self._several = Words("", role="small", tone="muted")
        self._unknown = Words("", role="small", tone="muted")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        head = QHBoxLayout()
        head.addWidget(heading("What it may be"))
        head.addStretch(1)
        head.addWidget(Words("open one to see why (W)", role="small", tone="muted", wrap=False))
        column.addLayout(head)
        column.addWidget(self.view, 1)
        column.addWidget(self._several)
        column.addWidget(self._unknown)

    def refresh(self) -> None:
        """Show the assessment, keeping the marked cause; the most probable ones stay in sight."""
        standing, before = self._session.standing, self._session.before
        if standing is None:
            return
        marked = self.view.currentIndex().data(KEY)
        self.model.show(
            standing.assessment,
            before.assessment if before is not None else None,
            everything=self._everything,
        )
        row = self.model.row_of(marked)
        if row >= 0:
            self.view.setCurrentIndex(self.model.index(row, 0))
        if not self.view.hasFocus():
            self.view.scrollToTop()
        self._several.setText(_several(standing.assessment))
        unknown = f"Something this program does not know: {counts(standing.assessment.unknown)}."
        self._unknown.setText(f"{unknown} {left_out_line(standing.assessment)}".strip())

    @property
    def marked(self) -> str | None:
        """Id of the marked cause; None if none is."""
        key = self.view.currentIndex().data(KEY)
        return None if key == REST else key

    def open_marked(self) -> None:
        """Open the marked cause, or the most probable one."""
        index = self.view.currentIndex()
        if self.model.rowCount():
            self._on_opened(index if index.isValid() else self.model.index(0, 0))

    def _on_opened(self, index: QModelIndex) -> None:
        key = index.data(KEY)
        if key == REST:
            self._everything = True
            self.refresh()
        else:
            self.opened.emit(key)


class FindingsPanel(QWidget):
    """What has been found so far, the latest first.

    Signals
    -------
    opened(int), removed(int)
        Index of the entry to change or to remove.
    numbers_wanted
        The user wants to see all readings beside what is predicted.
    """

    opened = Signal(int)
    removed = Signal(int)
    numbers_wanted = Signal()

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.model = FindingModel(self)
        self.view = EntryList("Found so far")
        self.view.setModel(self.model)
        self.view.opened.connect(lambda index: self.opened.emit(index.data(KEY)))
        self.view.removed.connect(lambda index: self.removed.emit(index.data(KEY)))
        self.numbers = quiet_button("Numbers (N)", self.numbers_wanted.emit)
        self.numbers.setToolTip("All readings beside what each cause predicts")
        self._again = QVBoxLayout()
        self._notice: Notice | None = None
        self._empty = Words(_EMPTY, tone="muted")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        head = QHBoxLayout()
        head.addWidget(heading("Found so far"))
        tip = Words("open a line to change it, Delete removes it", role="small", tone="muted")
        tip.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        head.addWidget(tip, 1)
        head.addWidget(self.numbers)
        column.addLayout(head)
        column.addLayout(self._again)
        column.addWidget(self._empty, 1, Qt.AlignmentFlag.AlignTop)
        column.addWidget(self.view, 1)

    def refresh(self) -> None:
        """Show the timeline, with what is known about it by now."""
        session = self._session
        marked = self.view.currentIndex().data(KEY)
        fresh = session.standing if not session.busy else None
        assessment = fresh.assessment if fresh is not None else None
        self.model.show(session.base, session.case, assessment, session.doubts.moved)
        row = self.model.row_of(marked)
        if row >= 0:
            self.view.setCurrentIndex(self.model.index(row, 0))
        self.numbers.setVisible(any(_is_reading(session.base, e) for e in session.case.entries))
        self._empty.setVisible(not session.case.entries)
        self.view.setVisible(bool(session.case.entries))
        if self._notice is not None:
            self._notice.hide()
            self._notice.deleteLater()
            self._notice = None
        if session.doubts.lines:
            self._notice = Notice("caution", *session.doubts.lines, word="Doubtful")
            self._again.addWidget(self._notice)


def _is_reading(base: KnowledgeBase, entry: Entry) -> bool:
    """Whether an entry answers a check that takes a reading."""
    return entry.check is not None and base.checks[entry.check].gauge is not None


def _several(assessment: Assessment) -> str:
    pair = next((s for s in assessment.sets if len(s.ids) > 1), None)
    text = f"Two or more at once: {counts(assessment.several)}."
    if pair is None:
        return text
    names = " with ".join(f"“{assessment.cause(c).name}”" for c in pair.ids)
    return f"{text} Likeliest: {names}, {counts(pair.p)}."
