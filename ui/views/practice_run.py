"""A running exercise: complaint, the chosen move, what was found, and what there is to choose."""

from collections.abc import Callable
from typing import NamedTuple

from PySide6.QtCore import QModelIndex, QSignalBlocker, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from diagnose.planning.problem import DRIVE, HAND_OVER, Key
from diagnose.practice.harm import cautions_before
from diagnose.practice.run import HINT_STEPS, Run
from ui import theme
from ui.models.rows import KEY, RowsModel
from ui.practice_choices import Choices, toll_of
from ui.practice_words import DIFFICULTIES, lower, minutes, told_rows
from ui.views.parts import quiet_button
from ui.views.practice_card import PracticeCard
from ui.views.search_box import Rows, SearchBox
from ui.widgets.choice_box import ChoiceBox
from ui.widgets.even_grid import EvenGrid
from ui.widgets.rows import RowView
from ui.widgets.text import Words, heading


class _Ending(NamedTuple):
    """A way to end an exercise that is none of the planner's moves."""

    title: str
    about: str


_BACK = _Ending(
    "Give it back without a drive",
    "It is closed up and goes back. Nobody knows whether it is cured: if not, it comes back, and "
    "that costs as much as handing it over.",
)
_OFF = _Ending("Break the exercise off", "There is no review, and nothing of it is kept.")


class PracticeRun(QWidget):
    """Shows a run, and says what the apprentice wants.

    Signals
    -------
    move_wanted(object)
        A move; None: give it back without a drive.
    cautions_read(object)
        Ids.
    hint_wanted
    broken_off
        The user wants an end of it, without a review.
    left
        The user looks elsewhere; the exercise goes on.
    """

    move_wanted = Signal(object)
    cautions_read = Signal(object)
    hint_wanted = Signal()
    broken_off = Signal()
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._run: Run | None = None
        self._choices: Choices | None = None
        self._act: Key | None = None
        self._ending: _Ending | None = None
        self._shows_read = False
        self.words = Words("", role="lead", weight="bold")
        self.state = Words("", tone="muted")
        self.paid = Words("", role="lead", weight="bold", wrap=False)
        self.card = PracticeCard()
        self.search = SearchBox("&Find what to do ( / )", self._find, keeps=True)
        self.group = ChoiceBox()
        self.group.setAccessibleName("Kind of move")
        self.do = QPushButton()
        theme.mark(self.do, kind="primary", role="lead")
        self.cautions = quiet_button("Cautions (R)", self.read)
        self.back = quiet_button("Something else (Esc)", self.put_away)
        self.hint = quiet_button("&Hint", self.hint_wanted.emit)
        self._found = RowsModel(self)
        self.found = RowView("Found so far", least=4)
        self.found.setModel(self._found)
        self.ends: dict[str, QPushButton] = {}
        self._lay_out()
        self._connect()

    @property
    def chosen(self) -> Key | None:
        """The move on the card."""
        return self._act

    def show_run(self, run: Run, *, new: bool = False) -> None:
        """Show a run as it stands; `new` if it has just begun."""
        base = run.shop.base
        self._run = run
        if new:
            self._choices = Choices(run)
            with QSignalBlocker(self.group):
                self.group.clear()
                for group in self._choices.groups:
                    self.group.addItem(group.name, group.id)
            self.show_hints(())
        case = run.case
        self.words.setText(f"“{run.exercise.words}”" if run.exercise.words else "A comeback")
        hidden = DIFFICULTIES[run.exercise.difficulty]
        setup = base.setups.get(str(run.exercise.setup))
        fitted = f"{hidden}; {lower(setup.name)}" if setup is not None else hidden
        self.state.setText(f"{fitted}. You can work {base.levels[case.stands].name}.")
        self.paid.setText(f"Paid: {minutes(run.minutes)}" if run.moves else "Nothing paid yet")
        self._found.set_rows(told_rows(base, run))
        self.found.scrollToTop()
        self._act, self._ending = None, None
        self._refresh_hint()
        self._show_card()
        self.search.clear()

    def refresh(self, run: Run) -> None:
        """Show the same point of the run: cautions were read, or a hint was taken."""
        self._run = run
        self._refresh_hint()
        self._show_card()

    def show_hints(self, texts: tuple[str, ...], *, waiting: bool = False) -> None:
        """Show the steps of the hint that were taken here."""
        self.card.show_hints(texts, waiting=waiting)

    def choose(self, act: Key) -> None:
        """Put a move on the card."""
        self._choose(act, None)

    def choose_giving_back(self) -> None:
        """Put giving it back without a drive on the card."""
        self._choose(None, _BACK)

    def choose_breaking_off(self) -> None:
        """Put breaking the exercise off on the card."""
        self._choose(None, _OFF)

    def _choose(self, act: Key | None, ending: _Ending | None) -> None:
        self._act, self._ending, self._shows_read = act, ending, False
        self._show_card()
        self.do.setFocus(Qt.FocusReason.OtherFocusReason)

    def put_away(self) -> None:
        """Take the move from the card."""
        self._act, self._ending = None, None
        self._show_card()
        self.take_focus()

    def read(self) -> None:
        """Read the cautions of what is on the card."""
        if self._run is not None and self._act is not None:
            self._shows_read = True
            self.cautions_read.emit(cautions_before(self._run.shop.base, self._act))
            self.do.setFocus(Qt.FocusReason.OtherFocusReason)

    def make_move(self) -> None:
        """Do what is on the card."""
        if self._ending is _OFF:
            self.broken_off.emit()
        elif self._ending is _BACK:
            self.move_wanted.emit(None)
        elif self._act is not None:
            self.move_wanted.emit(self._act)

    def take_focus(self) -> None:
        """Put the focus where the next move is chosen."""
        self.search.field.setFocus(Qt.FocusReason.OtherFocusReason)
        self.search.field.selectAll()

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter} and self.do.isVisible():
            self.make_move()
        elif event.key() in {Qt.Key.Key_PageDown, Qt.Key.Key_PageUp}:
            self.card.turn(1 if event.key() == Qt.Key.Key_PageDown else -1)
        elif event.key() == Qt.Key.Key_Escape:
            if self._act is not None or self._ending is not None:
                self.put_away()
            elif self.search.field.text():
                self.search.clear()
            else:
                self.left.emit()
        else:
            super().keyPressEvent(event)

    # -- making

    def _lay_out(self) -> None:
        gap = theme.STEP
        head = QHBoxLayout()
        head.setSpacing(2 * gap)
        head.addWidget(self.words, 1)
        head.addWidget(self.paid, 0, Qt.AlignmentFlag.AlignTop)
        foot = self.card.foot
        foot.addWidget(self.do)
        foot.addWidget(self.cautions)
        foot.addWidget(self.back)
        foot.addStretch(1)
        foot.addWidget(self.hint)
        left = QVBoxLayout()
        left.setSpacing(gap)
        left.addLayout(head)
        left.addWidget(self.state)
        left.addWidget(self.card, 7)
        left.addWidget(heading("Found so far, the latest first"))
        left.addWidget(self.found, 3)
        right = QVBoxLayout()
        right.setSpacing(gap)
        right.addWidget(self.group)
        right.addWidget(self.search, 1)
        right.addWidget(heading("Drive, or end it"))
        grid = EvenGrid(2, gap=gap // 2)
        for key, text, handler in self._endings():
            self.ends[key] = quiet_button(text, handler)
            grid.add(self.ends[key])
        right.addWidget(grid)
        row = QHBoxLayout(self)
        row.setContentsMargins(2 * gap, gap, 2 * gap, gap)
        row.setSpacing(3 * gap)
        row.addLayout(left, 2)
        row.addLayout(right, 1)

    def _endings(self) -> tuple[tuple[str, str, Callable[[], None]], ...]:
        return (
            ("drive", "&Drive it", lambda: self.choose(DRIVE)),
            ("hand_over", "Hand it o&ver", lambda: self.choose(HAND_OVER)),
            ("give_back", "Give it bac&k", self.choose_giving_back),
            ("break_off", "&Break it off", self.choose_breaking_off),
        )

    def _connect(self) -> None:
        self.do.clicked.connect(lambda _=False: self.make_move())
        self.search.picked.connect(self._on_picked)
        self.group.currentIndexChanged.connect(lambda _place: self._on_group())
        for keys, handler in (
            ("R", self.read),
            ("/", self.take_focus),
        ):
            shortcut = QShortcut(QKeySequence(keys), self, handler)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)

    # -- what is on the card

    def _show_card(self) -> None:
        run, act = self._run, self._act
        if run is None:
            return
        if act is not None:
            self.card.show_move(run, act, read=self._shows_read)
        elif self._ending is not None:
            self.card.show_ending(self._ending.title, self._ending.about)
        else:
            self.card.show_last(run)
        chosen = act is not None or self._ending is not None
        self.do.setVisible(chosen)
        self.back.setVisible(chosen)
        self.cautions.setVisible(act is not None)
        paid = f": {minutes(60.0 * sum(toll_of(run.shop, act)))}" if act else ""
        self.do.setText(f"Do it{'' if act == HAND_OVER else paid} (Enter)")

    def _refresh_hint(self) -> None:
        if self._run is not None:
            taken = self._run.hints
            self.hint.setText(f"&Hint {min(taken + 1, HINT_STEPS)} of {HINT_STEPS} (Alt+H)")
            self.hint.setEnabled(taken < HINT_STEPS)

    # -- choosing

    def _find(self, typed: str) -> Rows:
        run, choices = self._run, self._choices
        if run is None or choices is None:
            return []
        acts = choices.found(typed, str(self.group.currentData()))
        return [(act, choices.row(run.shop, act)) for act in acts]

    def _on_picked(self, act: Key, _shifted: bool) -> None:
        self.choose(act)

    def _on_group(self) -> None:
        self.search.view.setCurrentIndex(QModelIndex())
        if self.search.field.text():
            self.search.field.clear()  # searches again
        else:
            self.search.refresh()

    @property
    def rows(self) -> list[object]:
        """Keys of the moves that are listed."""
        model = self.search.model
        return [model.index(row, 0).data(KEY) for row in range(model.rowCount())]
