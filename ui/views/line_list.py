"""The list of cases at the left edge: search, states, and the next one by one key."""

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QEvent, QModelIndex, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QButtonGroup, QPushButton, QVBoxLayout, QWidget

from diagnose.errors import PullOnceError
from diagnose.records.kept import State
from ui import theme
from ui.jobs import Job, Jobs
from ui.line.listing import Found, Row, look_up, rows, steady
from ui.models.rows import KEY, RowsModel
from ui.session import Session
from ui.views.panels import EntryList
from ui.widgets.even_grid import EvenGrid
from ui.widgets.field import Field
from ui.widgets.rows import Ranked
from ui.widgets.text import Words

SHOWN = 60
# State -> its name on the button, and its key; with Shift the key puts the case into the state.
STATES: Mapping[State | None, tuple[str, str]] = {
    None: ("All", "U"),
    State.OPEN: ("Open", "Q"),
    State.WAITING_CALLER: ("Caller", "K"),
    State.WAITING_PARTS: ("Parts", "P"),
    State.CLOSED: ("Closed", "Z"),
}
_ENTERS = {Qt.Key.Key_Return, Qt.Key.Key_Enter}
_EMPTY = "No case yet. Ctrl+N begins one."
_NOTHING = "No case has all of these words. Take one away, or another state."


class LineList(QWidget):
    """Finds cases as one types, off the window's thread.

    Signals
    -------
    opened(str)
        Id of the case the user wants.
    left
        The user is done with the search.
    """

    opened = Signal(object)
    left = Signal()

    def __init__(self, session: Session, jobs: Jobs, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._jobs = jobs
        self._state: State | None = None
        self._found: tuple[Found, ...] = ()
        self.field = Field()
        self.field.setAccessibleName("Search the cases")
        self.field.setPlaceholderText("Search (Ctrl+F)")
        self.field.setClearButtonEnabled(True)
        self.model = RowsModel(self)
        self.view = EntryList("Cases", least=6)
        self.view.setModel(self.model)
        self._note = Words("", role="small", tone="muted")
        self.filters: dict[State | None, QPushButton] = {}
        self._lay_out()
        self.field.textChanged.connect(lambda _text: self._search())
        self.field.installEventFilter(self)
        self.view.opened.connect(lambda index: self.opened.emit(index.data(KEY)))

    def _lay_out(self) -> None:
        grid = EvenGrid(3, gap=theme.STEP // 2)
        group = QButtonGroup(self)
        for state, (name, key) in STATES.items():
            button = QPushButton(f"{name} ({key})")
            button.setCheckable(True)
            button.setChecked(state is None)
            theme.mark(button, kind="quiet")
            button.setAccessibleName(f"Show {str(state) if state else 'all'} cases, key {key}")
            button.clicked.connect(lambda _=False, s=state: self.show_state(s))
            group.addButton(button)
            grid.add(button)
            self.filters[state] = button
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.STEP // 2)
        column.addWidget(self.field)
        column.addWidget(grid)
        column.addWidget(self._note)
        column.addWidget(self.view, 1)

    @property
    def state(self) -> State | None:
        """The state whose cases are shown; None for all."""
        return self._state

    def show_state(self, state: State | None) -> None:
        """Show the cases in one state only, or all."""
        self._state = state
        self.filters[state].setChecked(True)
        self._search()

    def refresh(self) -> None:
        """Ask the store again; what is shown keeps its places."""
        self._ask([one.listed.id for one in self._found])

    def take_focus(self) -> None:
        """Put the focus on the search."""
        self.field.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.field.selectAll()

    def go(self, step: int) -> None:
        """Open the case so many rows further down, stopping at the ends."""
        if self.model.rowCount():
            row = self.view.currentIndex().row()
            row = max(0, min(self.model.rowCount() - 1, row + step if row >= 0 else 0))
            self._mark(row)
            self.opened.emit(self.model.index(row, 0).data(KEY))

    def show_open(self) -> None:
        """Mark the case that is on the screen."""
        self._show()
        row = self.model.row_of(self._open_id())
        if row >= 0:
            self._mark(row)

    def eventFilter(self, watched: QObject, event: QEvent, /) -> bool:
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            key = Qt.Key(event.key())
            # With Alt the arrow is a key of the window: on to the next case.
            if key == Qt.Key.Key_Down and not event.modifiers() & Qt.KeyboardModifier.AltModifier:
                self.view.setFocus(Qt.FocusReason.TabFocusReason)
                return True
            if key in _ENTERS and not event.modifiers():
                index = self.view.currentIndex()
                if index.isValid():
                    self.opened.emit(index.data(KEY))
                return True
            if key == Qt.Key.Key_Escape:
                self.field.clear()
                self.left.emit()
                return True
        return super().eventFilter(watched, event)

    def _search(self) -> None:
        """Look for something else: what is found stands in the order of the store."""
        self.view.setCurrentIndex(QModelIndex())
        self._ask(())

    def _ask(self, before: Sequence[str]) -> None:
        words, state, store = self.field.text(), self._state, self._session.records
        self._jobs.start(
            "line list",
            Job(
                lambda: look_up(store.store, words, state, SHOWN),
                lambda found: self._on_found(found, before),
                self._on_failed,
            ),
        )

    def _on_found(self, found: tuple[Found, ...], before: Sequence[str]) -> None:
        marked = self.view.currentIndex().data(KEY)
        self._found = steady(before, found)
        self._show()
        row = self.model.row_of(marked if marked is not None else self._open_id())
        if row < 0 and self.field.hasFocus() and self.field.text().strip():
            row = 0  # Enter opens what was found
        self._mark(row)

    def _on_failed(self, error: Exception) -> None:
        if not isinstance(error, PullOnceError):
            raise error
        self._note.say(error.sentence)

    def _show(self) -> None:
        session = self._session
        told = rows(session.base, self._found, self._open_id(), session.now())
        self.model.set_rows([(row.id, _ranked(row)) for row in told])
        searching = bool(self.field.text().strip()) or self._state is not None
        note = "" if told else _NOTHING if searching else _EMPTY
        if len(told) == SHOWN:
            note = f"The latest {SHOWN}. Type to find older ones."
        self._note.say(note)

    def _open_id(self) -> str:
        kept = self._session.kept
        return "" if kept is None else kept.id

    def _mark(self, row: int) -> None:
        if 0 <= row < self.model.rowCount():
            self.view.setCurrentIndex(self.model.index(row, 0))
            self.view.scrollTo(self.view.currentIndex())


def _ranked(row: Row) -> Ranked:
    note = "open here" if row.here else ""
    return Ranked(row.title, "\n".join(row.lines), note=note, sign="good" if row.closed else "")
