"""The strip above the bench: where one can work, hours spent and to come, pull or not."""

from PySide6.QtCore import QSize, Signal
from PySide6.QtWidgets import QFrame, QMenu, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from diagnose.advice_words import change_line, left_words
from diagnose.case import Case, spent
from diagnose.sentences import hours, verdict
from ui import theme
from ui.session import Session
from ui.weighing import Standing
from ui.widgets.even_grid import EvenGrid
from ui.widgets.text import Words, heading

_CELL_LINES = 10  # narrower than this, the cells go below each other


class _Cell(QWidget):
    """One thing to know: its name, its value, and a note."""

    def __init__(self, name: str, value: QWidget) -> None:
        super().__init__()
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.note = Words("", role="small", tone="muted")
        self.note.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(heading(name))
        column.addWidget(value)
        column.addWidget(self.note)
        column.addStretch(1)

    def sizeHint(self) -> QSize:
        least = self.minimumSizeHint().width()
        high = super().sizeHint().height()
        return QSize(max(least, _CELL_LINES * self.fontMetrics().height()), high)


class Strip(QFrame):
    """The four things to know at a glance.

    Signals
    -------
    stands_changed(str)
        The user says that the vehicle is taken apart to another level.
    """

    stands_changed = Signal(str)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        theme.mark(self, kind="band")
        self._session = session
        self.stands = QPushButton()
        theme.mark(self.stands, kind="link", role="lead", weight="bold")
        self.stands.setToolTip("Say where you can work now")
        self.stands.clicked.connect(lambda _=False: self.open_levels())
        self.spent = Words("", role="lead", weight="bold")
        self.fix = Words("", role="lead", weight="bold")
        self.headline = Words("", role="lead", weight="bold")
        self._place = _Cell("You can work now", self.stands)
        self._so_far = _Cell("Spent so far", self.spent)
        self._cost = _Cell("To the fix", self.fix)
        self._pull = _Cell("Gearbox", self.headline)
        grid = EvenGrid(4, gap=3 * theme.STEP)
        for cell in (self._place, self._so_far, self._cost, self._pull):
            grid.add(cell)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(3 * theme.STEP, theme.STEP, 3 * theme.STEP, theme.STEP)
        outer.addWidget(grid)

    def refresh(self) -> None:
        """Show the case and what is advised."""
        case, base = self._session.case, self._session.base
        name = base.levels[case.stands].name
        self.stands.setText(name)
        self.stands.setAccessibleName(f"You can work now {name}. Change it")
        hours_spent = spent(case)
        self.spent.setText(hours(hours_spent) if hours_spent else "nothing yet")
        self._so_far.note.say(left_words(case))
        standing = self._session.standing
        if standing is None:
            return
        if case.found is not None:
            self._show_found(closed=base.levels[case.stands].drivable)
            return
        self.fix.setText(f"about {hours(standing.advice.expected)}")
        self._cost.note.say(_change(self._session.before, standing))
        head, reason = verdict(standing.assessment, standing.advice)
        self.headline.setText(head)
        self.headline.set_tone("caution" if standing.advice.go_inside else "good")
        self._pull.note.say(reason)

    def _show_found(self, *, closed: bool) -> None:
        """Show that there is nothing more to look for."""
        self.fix.setText("found")
        self._cost.note.say("")
        self.headline.setText("Nothing more to open" if closed else "Close it up")
        self.headline.set_tone("good")
        self._pull.note.say("" if closed else "First go through what comes before closing.")

    def open_levels(self) -> None:
        """Let the user say where the vehicle stands."""
        menu = QMenu(self)
        for level in self._session.base.levels.values():
            action = menu.addAction(level.name)
            action.setCheckable(True)
            action.setChecked(level.id == self._session.case.stands)
            action.triggered.connect(lambda _=False, key=level.id: self.stands_changed.emit(key))
        menu.popup(self.stands.mapToGlobal(self.stands.rect().bottomLeft()))


def _change(before: Standing | None, now: Standing) -> str:
    """Say how the expected hours changed; only figures that were followed as far are compared."""
    if before is None:
        return "expected, all told"
    answered = _answered(before.assessment.case, now.assessment.case)
    if before.advice.refined == now.advice.refined:
        return change_line(before.advice, now.advice, answered=answered)
    return change_line(before.first, now.first, answered=answered)


def _answered(before: Case, now: Case) -> bool:
    """Whether an answer was given or changed from one case to the next, and none taken back."""
    return before.entries != now.entries and len(now.entries) >= len(before.entries)
