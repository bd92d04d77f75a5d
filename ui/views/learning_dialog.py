"""What closed cases have taught: the words that moved, the ledger, and taking a case out of it."""

from datetime import datetime
from threading import Event

from PySide6.QtCore import QModelIndex, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from diagnose.errors import PullOnceError
from diagnose.learning import Move
from knowledge.model import KnowledgeBase
from ui import messages, theme
from ui.closing import grade_name
from ui.jobs import Job, Jobs
from ui.learned import LATEST, Lessons, Line, in_hundred, learn, move_name
from ui.models.rows import KEY, RowsModel
from ui.records import Records
from ui.views.parts import sentence
from ui.widgets.panel_dialog import PanelDialog
from ui.widgets.rows import Ranked, RowView
from ui.widgets.switch import Switch
from ui.widgets.text import Words, heading

_OFF = (
    "Learning is off: the words mean what they meant when they were shipped. Switched on, every "
    "closed case in which something was found moves them a little, towards what your own vehicles "
    "come back with. Each case can be taken out again, and then it is as if it had never been."
)
_WAIT = "Learning from the closed cases …"
_UNDER_WAY = "Learning from the closed cases: {done} of {of}."
_EMPTY = "No case has been closed with something found. Close one with Ctrl+E."
_MOVED = "By how much, and by how many closed cases."
_LEDGER = "Enter leaves the marked case out, or takes it in again."
_LEAST = 10  # lines of text that a list has at least
_WIDE, _HIGH = 66, 42  # lines of text; narrower than _STACKED, the lists stand below each other
_STACKED = 50
_PAUSE = 0.01  # seconds after each closing, so that the window gets its turn
_MOVED_LISTED = 60


class LearningDialog(PanelDialog):
    """Shows what is learned.

    Parameters
    ----------
    base : KnowledgeBase
        As shipped, with the shop's own folders: nothing learned is in it.
    records : Records
    jobs : Jobs
    on : bool
        Whether learning is switched on.
    left_out : tuple of str
        Ids of closed cases that nothing is learned from.
    used : str
        What the words are that the program works with now.
    parent : QWidget

    Signals
    -------
    switched(bool)
        The user switched it on or off.
    left_out_changed(object)
        Other cases are left out: a tuple of their ids.
    learned(object)
        What the closed cases teach: `Lessons`.
    """

    _progressed = Signal(int, int)  # from the thread that learns
    switched = Signal(bool)
    left_out_changed = Signal(object)
    learned = Signal(object)

    def __init__(
        self,
        base: KnowledgeBase,
        records: Records,
        jobs: Jobs,
        *,
        on: bool,
        left_out: tuple[str, ...],
        used: str,
        parent: QWidget,
    ) -> None:
        super().__init__("What closed cases have taught", parent)
        self._base, self._records, self._jobs = base, records, jobs
        self._left_out = left_out
        self.lessons: Lessons | None = None
        self.column.addWidget(Words("What closed cases have taught", role="title", weight="bold"))
        self.switch = Switch("Learning", (("off", "O&ff"), ("on", "O&n")), most=2)
        self.switch.set_value("on" if on else "off")
        self.switch.changed.connect(self._on_switched)
        self.about = Words(_OFF)
        self.used = Words(used, tone="muted")
        self._moved, self._ledger = RowsModel(self), RowsModel(self)
        self.moved = RowView("Words that have moved", least=_LEAST)
        self.moved.setModel(self._moved)
        self.ledger = _Ledger()
        self.ledger.setModel(self._ledger)
        self.ledger.taken.connect(self._toggle)
        self._lists = QWidget()
        self._grid = QGridLayout(self._lists)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(3 * theme.STEP)
        self._panels = (
            _panel("Words that have moved", _MOVED, self.moved),
            _panel("The ledger", _LEDGER, self.ledger),
        )
        for widget in (self.switch, self.about, self.used):
            self.column.addWidget(widget)
        self.column.addWidget(self._lists, 1)
        self.column.addStretch(0)
        self._progressed.connect(self._on_progressed)
        self.buttons.addStretch(1)
        close = self.add_button("&Close (Esc)", kind="primary")
        close.clicked.connect(self.reject)
        self._show()
        self.switch.buttons[self.switch.value].setFocus(Qt.FocusReason.OtherFocusReason)
        if on:
            self._learn()

    def done(self, result: int, /) -> None:
        """Close it; what is still being learned is of no matter then."""
        self._jobs.drop("lessons")
        super().done(result)

    def _on_switched(self, key: str) -> None:
        self.switched.emit(key == "on")
        self._show()
        if key == "on":
            self._learn()
        else:
            self._jobs.drop("lessons")

    def _learn(self) -> None:
        base, records, left_out = self._base, self._records, self._left_out
        before, stale = self.lessons, Event()
        self.about.setText(_WAIT)

        def pause(done: int, of: int) -> bool:
            self._progressed.emit(done, of)
            return stale.wait(_PAUSE)

        self._jobs.start(
            "lessons",
            Job(
                lambda: learn(base, records.store, left_out, pause, before),
                self._on_learned,
                self._on_failed,
                stale.set,
            ),
        )

    def _on_progressed(self, done: int, of: int) -> None:
        if self.switch.value == "on":
            self.about.setText(_UNDER_WAY.format(done=done, of=of))

    def _on_learned(self, lessons: Lessons | None) -> None:
        if lessons is not None:
            self.lessons = lessons
            self._show()
            self.learned.emit(lessons)

    def _on_failed(self, error: Exception) -> None:
        if not isinstance(error, PullOnceError):
            raise error
        self.about.setText(f"{error.sentence} {error.next_step}")

    def _toggle(self, name: str) -> None:
        """Leave a case out, or take it in again, and learn anew."""
        out = self._left_out
        self._left_out = tuple(k for k in out if k != name) if name in out else (*out, name)
        self.left_out_changed.emit(self._left_out)
        self._learn()

    def _show(self) -> None:
        on, lessons = self.switch.value == "on", self.lessons
        shown = on and lessons is not None and bool(lessons.lines)
        self._lists.setVisible(shown)
        if not on or lessons is None:
            self.about.setText(_WAIT if on else _OFF)
            self.fit()
            return
        self.about.setText(_told(lessons))
        moves = sorted(_visible(lessons), key=_how_far, reverse=True)
        rows = [(move.key, _moved_row(self._base, move)) for move in moves[:_MOVED_LISTED]]
        self._moved.set_rows(rows)
        marked = self.ledger.currentIndex().data(KEY)
        self._ledger.set_rows([(line.id, _line_row(line)) for line in reversed(lessons.lines)])
        row = self._ledger.row_of(marked)
        if row >= 0:
            self.ledger.setCurrentIndex(self._ledger.index(row, 0))
        self.fit()

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        beside = self.width() >= _STACKED * self.fontMetrics().height()
        for place, panel in enumerate(self._panels):
            self._grid.addWidget(panel, 0 if beside else place, place if beside else 0)
        for column in range(2):
            self._grid.setColumnStretch(column, 1 if beside or column == 0 else 0)

    def _wanted(self, line: int) -> QSize:
        """Room for both lists beside each other, once there is something in them."""
        usual = super()._wanted(line)
        return QSize(_WIDE * line, _HIGH * line) if self._lists.isVisibleTo(self) else usual


class _Ledger(RowView):
    """The closed cases: Enter, a click or Delete leaves one out or takes it in again."""

    taken = Signal(str)

    def __init__(self) -> None:
        super().__init__("The ledger of closed cases", least=_LEAST)
        self.activated.connect(self._on_taken)

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        keys = {Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Delete, Qt.Key.Key_Space}
        if Qt.Key(event.key()) in keys:
            self._on_taken(self.currentIndex())
        else:
            super().keyPressEvent(event)

    def _on_taken(self, index: QModelIndex) -> None:
        if index.isValid():
            self.taken.emit(index.data(KEY))


def _panel(title: str, about: str, view: RowView) -> QWidget:
    panel = QWidget()
    column = QVBoxLayout(panel)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(theme.STEP // 2)
    column.addWidget(heading(title))
    column.addWidget(Words(about, role="small", tone="muted"))
    column.addWidget(view, 1)
    return panel


def _told(lessons: Lessons) -> str:
    if not lessons.lines:
        return _EMPTY
    moves = len(_visible(lessons))
    cases = f"{lessons.counted} of {len(lessons.lines)} closed cases count"
    older = f" Of {lessons.older} closed before these nothing is learned." if lessons.older else ""
    moved = "1 number has" if moves == 1 else f"{moves or 'no'} numbers have"
    first = ", the farthest first" if moves > 1 else ""
    most = f" The first {_MOVED_LISTED} are shown." if moves > _MOVED_LISTED else ""
    last = f" The latest {LATEST} are looked at." if lessons.older else ""
    return (
        f"{cases}; {moved} moved so far that it shows{first}."
        f"{most}{last}{older} {messages.LEARNED_NEXT}"
    )


def _visible(lessons: Lessons) -> list[Move]:
    """Give the numbers that have moved so far that their figures differ."""
    moves = lessons.learned.moves()
    return [move for move in moves if in_hundred(move.shipped) != in_hundred(move.now)]


def _how_far(move: Move) -> float:
    """How far a number moved, as the greater over the smaller."""
    low, high = sorted((move.shipped, move.now))
    return max(high, 1e-9) / max(low, 1e-9)


def _moved_row(base: KnowledgeBase, move: Move) -> Ranked:
    name, kind = move_name(base, move.key)
    by = "1 closing" if move.closings == 1 else f"{move.closings} closings"
    words = f"{kind}: {in_hundred(move.shipped)} as shipped, {in_hundred(move.now)} now"
    sign = "up" if move.now > move.shipped else "down"
    return Ranked(sentence(name), words, note=f"by {by}", sign=sign)


def _line_row(line: Line) -> Ranked:
    day = f"{datetime.fromisoformat(line.closed):%d %b %Y}" if line.closed else ""
    causes = " or ".join(line.causes)
    told = f"{day}. Found: {causes}. {grade_name(line.sure)}."
    return Ranked(line.title or messages.UNNAMED, told, note=_effect(line))


def _effect(line: Line) -> str:
    if line.left_out:
        return "left out"
    if line.lesson is None:
        return "names what the knowledge no longer holds"
    if line.lesson.why:
        return line.lesson.why
    weight = line.lesson.weight
    return "counts in full" if weight >= 1.0 else f"counts as {weight:.1f} of a case"
