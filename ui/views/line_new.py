"""A new caller: one line of text makes the case."""

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from ui import theme
from ui.line.caller import Complaints, caller, new_case
from ui.line.moments import sentence
from ui.models.rows import KEY
from ui.session import Session
from ui.views.search_box import Rows, SearchBox
from ui.widgets.rows import Ranked
from ui.widgets.text import Words

_TIP = (
    "Name, vehicle, and what he says, with commas between. More commas note more complaints. "
    "Down takes another complaint for the last part, Enter starts, Esc goes back."
)
_BEFORE = "Here stands what Enter begins, as you type."
_NONE = ""  # key of the row that notes no complaint for the last part


class NewCaller(QWidget):
    """The line, and the complaints that its last part may speak of.

    Signals
    -------
    started
        The session has the new case.
    left
        The user goes back.
    """

    started = Signal()
    left = Signal()

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._complaints = Complaints(session.base)
        self.search = SearchBox("Name, vehicle, complaint", self._find, keeps=True)
        self._noted = Words(_BEFORE, weight="bold")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.STEP)
        column.addWidget(Words("Who calls, and what does he say?", role="title", weight="bold"))
        column.addWidget(Words(_TIP, tone="muted"))
        column.addWidget(self._noted)
        column.addWidget(self.search, 1)
        self.search.picked.connect(lambda key, _shifted: self._start(key))
        self.search.field.installEventFilter(self)
        self.search.view.selectionModel().currentChanged.connect(lambda *_: self._say_noted())

    def begin(self) -> None:
        """Take a new line."""
        self.search.clear()
        self.search.field.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def eventFilter(self, watched: QObject, event: QEvent, /) -> bool:
        if (
            isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.KeyPress
            and event.key() == Qt.Key.Key_Escape
        ):
            self.left.emit()
            return True
        return super().eventFilter(watched, event)

    def _find(self, typed: str) -> Rows:
        base = self._session.base
        line = caller(typed)
        before = self._complaints.noted(line, "")
        if not typed.strip():
            return []
        found = [name for name in self._complaints.found(line.complaints[-1]) if name not in before]
        rows = [
            (name, Ranked(sentence(base.complaints[name].name), base.complaints[name].ask))
            for name in found
        ]
        none = "No more complaints" if before else "No complaint yet: ask the caller"
        return [*rows, (_NONE, Ranked(none, ""))]

    def _say_noted(self) -> None:
        """Say what Enter would note now."""
        key = self.search.view.currentIndex().data(KEY)
        line = caller(self.search.field.text())
        noted = self._complaints.noted(line, key or _NONE)
        names = "; ".join(self._session.base.complaints[name].name for name in noted)
        title = f"“{line.title}”" if line.title else "a case without a name"
        begun = bool(self.search.field.text().strip())
        said = f"Enter begins {title}: {names or 'no complaint yet'}."
        self._noted.setText(said if begun else _BEFORE)

    def _start(self, last: str) -> None:
        session = self._session
        line = caller(self.search.field.text())
        noted = self._complaints.noted(line, last)
        session.start()
        session.change(new_case(session.base, line, noted, session.now()), "the call")
        self.search.clear()
        self.started.emit()
