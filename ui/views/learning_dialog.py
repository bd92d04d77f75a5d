"""What closed cases have taught: the words that moved, the ledger, and taking a case out of it."""

from datetime import datetime
from threading import Event

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from diagnose.errors import PullOnceError
from diagnose.learning import Move
from knowledge.model import KnowledgeBase
from ui import messages
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
_EMPTY = "No case has been closed with something found. Close one with Ctrl+E."
_LEDGER = "Enter leaves the marked case out, or takes it in again."
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
        self.moved = RowView("Words that have moved", least=1)
        self.moved.setModel(self._moved)
        self.ledger = _Ledger()
        self.ledger.setModel(self._ledger)
        self.ledger.taken.connect(self._toggle)
        self._heads = (heading("Words that have moved"), heading("The ledger"))
        self._how = Words(_LEDGER, tone="muted")
        for widget in (
            self.switch,
            self.about,
            self.used,
            self._heads[0],
            self.moved,
            self._heads[1],
            self._how,
            self.ledger,
        ):
            self.column.addWidget(widget)
        self.column.addStretch(1)
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
        stale = Event()
        self.about.setText(_WAIT)
        self._jobs.start(
            "lessons",
            Job(
                lambda: learn(base, records.store, left_out, lambda: stale.wait(_PAUSE)),
                self._on_learned,
                self._on_failed,
                stale.set,
            ),
        )

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
        for widget in (*self._heads, self.moved, self._how, self.ledger):
            widget.setVisible(shown)
        if not on or lessons is None:
            self.about.setText(_WAIT if on else _OFF)
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

    def fit(self) -> None:
        line = self.fontMetrics().height()
        for view, most in ((self.moved, 14), (self.ledger, 18)):
            view.setFixedHeight(max(1, min(view.content_height(), most * line)))
        super().fit()


class _Ledger(RowView):
    """The closed cases: Enter, a click or Delete leaves one out or takes it in again."""

    taken = Signal(str)

    def __init__(self) -> None:
        super().__init__("The ledger of closed cases", least=1)
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


def _told(lessons: Lessons) -> str:
    if not lessons.lines:
        return _EMPTY
    moves = len(_visible(lessons))
    cases = f"{lessons.counted} of {len(lessons.lines)} closed cases count"
    older = f" Of {lessons.older} closed before these nothing is learned." if lessons.older else ""
    most = f" The first {_MOVED_LISTED} are shown." if moves > _MOVED_LISTED else ""
    last = f" The latest {LATEST} are looked at." if lessons.older else ""
    return (
        f"{cases}; {moves} numbers have moved so far that it shows, the farthest "
        f"first.{most}{last}{older} {messages.LEARNED_NEXT}"
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
    return f"counts {line.lesson.weight:.1f}"
