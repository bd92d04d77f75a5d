"""The list of cases at the left edge: search, states, and the next one by one key."""

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QEvent, QModelIndex, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QButtonGroup, QPushButton, QVBoxLayout, QWidget

from diagnose.errors import PullOnceError
from diagnose.records.kept import State
from ui import theme
from ui.jobs import Job, Jobs
from ui.line.listing import Found, Page, Row, count_of, look_up, rows, shown_words, steady
from ui.models.rows import KEY, RowsModel
from ui.session import Session
from ui.views.panels import EntryList
from ui.widgets.even_grid import EvenGrid
from ui.widgets.field import Field
from ui.widgets.rows import Ranked
from ui.widgets.text import Words

SHOWN = 60  # cases, and so many more each time somebody wants more
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
_MORE = "more"  # key of the row that shows more; no id of a case


class LineList(QWidget):
    """Finds cases as one types, off the window's thread.

    Signals
    -------
    opened(str)
        Id of the case the user wants.
    left
        The user is done with the search.
    counted(object)
        How many cases there are by state, where nothing is searched for.
    """

    opened = Signal(object)
    left = Signal()
    counted = Signal(object)

    def __init__(self, session: Session, jobs: Jobs, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._jobs = jobs
        self._state: State | None = None
        self._found: tuple[Found, ...] = ()
        self._counts: Mapping[State, int] | None = None
        self._limit = SHOWN
        self._asked = ""  # id of the case that was wanted last; opening it takes a moment
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
        self.view.opened.connect(self._open)

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

    def refresh(self, *, count: bool = True) -> None:
        """Ask the store again; what is shown keeps its places.

        Parameters
        ----------
        count : bool
            Whether to count all cases anew as well.
        """
        self._ask([one.listed.id for one in self._found], count=count)

    def show_more(self) -> None:
        """Show as many cases more, after those that are shown."""
        self._limit += SHOWN
        self.refresh(count=False)

    def take_focus(self) -> None:
        """Put the focus on the search."""
        self.field.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.field.selectAll()

    def go(self, step: int) -> None:
        """Open the case so many rows further down, stopping at the ends; first the marked one."""
        if self._found:
            last, marked = len(self._found) - 1, self.view.currentIndex()
            been = marked.data(KEY) in {self._asked, self._open_id()}
            row = max(0, min(last, marked.row() + (step if been else 0)))
            if row == last and self._has_more():
                self.show_more()
            self._mark(row)
            self._open(self.model.index(row, 0))

    def show_open(self) -> None:
        """Mark the case that is on the screen."""
        self._asked = ""
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
                    self._open(index)
                return True
            if key == Qt.Key.Key_Escape:
                self.field.clear()
                self.left.emit()
                return True
        return super().eventFilter(watched, event)

    def _search(self) -> None:
        """Look for something else: what is found stands in the order of the store."""
        self.view.setCurrentIndex(QModelIndex())
        self._limit = SHOWN
        self._ask((), count=True)

    def _open(self, index: QModelIndex) -> None:
        if index.data(KEY) == _MORE:
            self.show_more()
        else:
            self._asked = index.data(KEY)
            self.opened.emit(self._asked)

    def _ask(self, before: Sequence[str], *, count: bool) -> None:
        words, state, store = self.field.text(), self._state, self._session.records
        limit = self._limit
        self._jobs.start(
            "line list",
            Job(
                lambda: look_up(store.store, words, state, limit, count=count),
                lambda page: self._on_found(page, before),
                self._on_failed,
            ),
        )

    def _on_found(self, page: Page, before: Sequence[str]) -> None:
        index = self.view.currentIndex()
        marked, place = index.data(KEY), index.row()
        self._found = steady(before, page.found)
        if page.counts is not None:
            self._counts = page.counts
            if not self.field.text().strip():
                self.counted.emit(page.counts)
        self._show()
        # Where more were wanted, the first of them is marked.
        row = place if marked == _MORE else self.model.row_of(marked or self._open_id())
        if row < 0 and self._enter_opens():
            row = 0
        self._mark(row)

    def _enter_opens(self) -> bool:
        """Whether Enter opens what is marked: in the list, and where something was looked for."""
        searching = self.field.hasFocus() and bool(self.field.text().strip())
        return searching or self.view.hasFocus()

    def _on_failed(self, error: Exception) -> None:
        if not isinstance(error, PullOnceError):
            raise error
        self._note.say(error.sentence)

    def _show(self) -> None:
        session = self._session
        told = rows(session.base, self._found, self._open_id(), session.now())
        keyed = [(row.id, _ranked(row)) for row in told]
        if self._has_more():
            more = min(SHOWN, self._count() - len(told))
            keyed.append((_MORE, Ranked(f"{more} more", "Enter shows older ones")))
        self.model.set_rows(keyed)
        searching = bool(self.field.text().strip()) or self._state is not None
        nothing = _NOTHING if searching else _EMPTY
        self._note.say(shown_words(len(told), self._count()) if told else nothing)

    def _count(self) -> int:
        """How many cases there are, shown or not; those shown where nobody has counted them."""
        counted = 0 if self._counts is None else count_of(self._counts, self._state)
        return max(counted, len(self._found))

    def _has_more(self) -> bool:
        return self._count() > len(self._found)

    def _open_id(self) -> str:
        kept = self._session.kept
        return "" if kept is None else kept.id

    def _mark(self, row: int) -> None:
        if 0 <= row < self.model.rowCount():
            self.view.setCurrentIndex(self.model.index(row, 0))
            self.view.scrollTo(self.view.currentIndex())


def _ranked(row: Row) -> Ranked:
    note = "open here" if row.here else row.when
    sign = "good" if row.closed else ""
    return Ranked(row.title, "\n".join(row.lines), note=note, sign=sign, here=row.here)
