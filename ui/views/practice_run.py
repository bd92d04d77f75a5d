"""A running exercise: complaint, the chosen move, what was found, and what there is to choose."""

from collections.abc import Callable

from PySide6.QtCore import QModelIndex, QSignalBlocker, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from diagnose.planning.problem import DRIVE, HAND_OVER, Key
from diagnose.practice.harm import cautions_before
from diagnose.practice.run import HINT_STEPS, Run
from ui import theme
from ui.models.rows import KEY, RowsModel
from ui.practice_choices import Choices, title_of, toll_of, toll_words, where_words
from ui.practice_words import DIFFICULTIES, answer_words, lower, minutes, told_rows
from ui.questions import question_for, steps
from ui.views.parts import clear, quiet_button
from ui.views.search_box import Rows, SearchBox
from ui.views.taking import steps_and_drawing
from ui.widgets.choice_box import ChoiceBox
from ui.widgets.even_grid import EvenGrid
from ui.widgets.notice import Notice
from ui.widgets.rows import RowView
from ui.widgets.scroll import Scroll
from ui.widgets.text import Words, heading

_CHOOSE = "Choose what to do first: a question, a check, a repair."
_UNREAD = "There are cautions for this. Read them before you begin (R)."
_NO_CAUTIONS = "There are no cautions for this one."
_BACK = "give back"  # the move that is none of the planner's


class PracticeRun(QWidget):
    """Shows a run, and says what the apprentice wants.

    Signals
    -------
    move_wanted(object)
        A move; None: give it back without a drive.
    cautions_read(object)
        Ids.
    hint_wanted
    left
        The user looks elsewhere; the exercise goes on.
    """

    move_wanted = Signal(object)
    cautions_read = Signal(object)
    hint_wanted = Signal()
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._run: Run | None = None
        self._choices: Choices | None = None
        self._act: Key | None = None
        self._giving_back = False
        self._shows_read = False
        self.words = Words("", role="lead", weight="bold")
        self.state = Words("", tone="muted")
        self.paid = Words("", role="lead", weight="bold", wrap=False)
        self.hints = QWidget()
        self._hints = QVBoxLayout(self.hints)
        self._hints.setContentsMargins(0, 0, 0, 0)
        self.search = SearchBox("&Find what to do ( / )", self._find, keeps=True)
        self.group = ChoiceBox()
        self.group.setAccessibleName("Kind of move")
        self._body = QWidget()
        column = QVBoxLayout(self._body)
        column.setContentsMargins(0, 0, theme.STEP, 0)
        self._card = QVBoxLayout()
        self._card.setSpacing(theme.STEP)
        column.addWidget(self.hints)
        column.addLayout(self._card, 1)
        self._scroll = Scroll(self._body)
        self.do = QPushButton()
        theme.mark(self.do, kind="primary", role="lead")
        self.cautions = quiet_button("Cautions (R)", self.read)
        self.back = quiet_button("Something else (Esc)", self.put_away)
        self.hint = quiet_button("&Hint (H)", self.hint_wanted.emit)
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
            self.search.field.clear()
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
        self._act, self._giving_back = None, False
        self._refresh_hint()
        self._show_card()
        self.search.refresh()

    def refresh(self, run: Run) -> None:
        """Show the same point of the run: cautions were read, or a hint was taken."""
        self._run = run
        self._refresh_hint()
        self._show_card()

    def show_hints(self, texts: tuple[str, ...], *, waiting: bool = False) -> None:
        """Show the steps of the hint that were taken here."""
        clear(self._hints)
        for i, text in enumerate(texts):
            row = QHBoxLayout()
            name = Words(f"Hint {i + 1}", tone="accent", weight="bold", wrap=False)
            row.addWidget(name, 0, Qt.AlignmentFlag.AlignTop)
            row.addWidget(Words(text), 1)
            self._hints.addLayout(row)
        if waiting:
            self._hints.addWidget(Words("Thinking about it …", tone="muted"))
        self.hints.setVisible(bool(texts) or waiting)

    def choose(self, act: Key) -> None:
        """Put a move on the card."""
        self._act, self._giving_back, self._shows_read = act, False, False
        self._show_card()
        self.do.setFocus(Qt.FocusReason.OtherFocusReason)

    def choose_giving_back(self) -> None:
        """Put giving it back without a drive on the card."""
        self._act, self._giving_back = None, True
        self._show_card()
        self.do.setFocus(Qt.FocusReason.OtherFocusReason)

    def put_away(self) -> None:
        """Take the move from the card."""
        self._act, self._giving_back = None, False
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
        if self._giving_back:
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
            bar = self._scroll.verticalScrollBar()
            down = 1 if event.key() == Qt.Key.Key_PageDown else -1
            bar.setValue(bar.value() + down * bar.pageStep())
        elif event.key() == Qt.Key.Key_Escape:
            if self._act is not None or self._giving_back:
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
        card = QFrame()
        theme.mark(card, kind="card")
        inside = QVBoxLayout(card)
        inside.setContentsMargins(3 * gap, 2 * gap, 2 * gap, gap)
        inside.setSpacing(gap)
        inside.addWidget(self._scroll, 1)
        foot = QHBoxLayout()
        foot.addWidget(self.do)
        foot.addWidget(self.cautions)
        foot.addWidget(self.back)
        foot.addStretch(1)
        foot.addWidget(self.hint)
        inside.addLayout(foot)
        left = QVBoxLayout()
        left.setSpacing(gap)
        left.addLayout(head)
        left.addWidget(self.state)
        left.addWidget(card, 7)
        left.addWidget(heading("Found so far, the latest first"))
        left.addWidget(self.found, 3)
        right = QVBoxLayout()
        right.setSpacing(gap)
        right.addWidget(self.group)
        right.addWidget(self.search, 1)
        right.addWidget(heading("When you think that is it"))
        grid = EvenGrid(3, gap=gap // 2)
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
            (_BACK, "Give it bac&k", self.choose_giving_back),
        )

    def _connect(self) -> None:
        self.do.clicked.connect(lambda _=False: self.make_move())
        self.search.picked.connect(self._on_picked)
        self.group.currentIndexChanged.connect(lambda _place: self._on_group())
        for keys, handler in (
            ("R", self.read),
            ("H", self.hint_wanted.emit),
            ("/", self.take_focus),
        ):
            shortcut = QShortcut(QKeySequence(keys), self, handler)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)

    # -- what is on the card

    def _show_card(self) -> None:
        run = self._run
        if run is None:
            return
        clear(self._card)
        self._scroll.verticalScrollBar().setValue(0)
        act = self._act
        if act is not None:
            self._add_move(run, act)
        elif self._giving_back:
            self._card.addWidget(Words("Give it back without a drive", role="title", weight="bold"))
            self._card.addWidget(
                Words("It is closed up and goes back. Nobody knows whether it is cured.")
            )
        else:
            self._add_last(run)
        self._card.addStretch(1)
        chosen = act is not None or self._giving_back
        self.do.setVisible(chosen)
        self.back.setVisible(chosen)
        self.cautions.setVisible(act is not None)
        paid = f": {minutes(60.0 * sum(toll_of(run.shop, act)))}" if act else ""
        self.do.setText(f"Do it{'' if act == HAND_OVER else paid} (Enter)")

    def _add_move(self, run: Run, act: Key) -> None:
        base = run.shop.base
        where = ", ".join(w for w in (where_words(base, act), toll_words(run.shop, act)) if w)
        self._card.addWidget(Words(where, tone="muted"))
        self._card.addWidget(Words(title_of(base, act), role="title", weight="bold"))
        needed = cautions_before(base, act)
        unread = [name for name in needed if name not in run.case.acknowledged]
        if unread:
            self._card.addWidget(Notice("caution", _UNREAD))
        elif self._shows_read:
            for name in needed:
                self._card.addWidget(Notice("caution", base.cautions[name].text))
            if not needed:
                self._card.addWidget(Words(_NO_CAUTIONS, tone="muted"))
        if act[0] == "repair":
            self._card.addLayout(
                steps_and_drawing(question_for(base, *act), steps(base.causes[act[1]].repair.do))
            )
        elif act[0] != "ask":
            question = question_for(base, *act)
            self._card.addLayout(steps_and_drawing(question, question.voices[0].steps))

    def _add_last(self, run: Run) -> None:
        """What the last move told, or where to begin."""
        if not run.moves:
            self._card.addWidget(Words(_CHOOSE, role="lead", tone="muted"))
            return
        made, base = run.moves[-1], run.shop.base
        self._card.addWidget(heading("What it told"))
        if made.act is not None:
            self._card.addWidget(Words(title_of(base, made.act), tone="muted"))
        self._card.addWidget(Words(answer_words(base, made), role="title", weight="bold"))
        self._card.addWidget(Words(f"It took {minutes(made.minutes)}.", tone="muted"))

    def _refresh_hint(self) -> None:
        if self._run is not None:
            taken = self._run.hints
            self.hint.setText(f"&Hint {min(taken + 1, HINT_STEPS)} of {HINT_STEPS} (H)")
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
