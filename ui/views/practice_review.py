"""After an exercise: how it ended, the way taken beside the planner's, belief and hours."""

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from diagnose.practice.review import Point, Review
from diagnose.practice.run import Run
from diagnose.practice.scoring import Score, act_words
from ui import theme
from ui.models.rows import RowsModel
from ui.practice_words import (
    capital,
    end_words,
    hours_rows,
    judged_lines,
    minutes,
    misled_words,
    planner_words,
    scored_rows,
    way_rows,
)
from ui.views.parts import clear, quiet_button
from ui.views.practice_plot import BeliefPlot, Course
from ui.widgets.notice import Notice
from ui.widgets.rows import RowView
from ui.widgets.scroll import Scroll
from ui.widgets.sign import Sign
from ui.widgets.text import Words, heading

_SCORING = "Every move is being weighed …"
_PLAYING = "The planner is playing the same vehicle …"
_SHARES = (4, 3, 4)  # of the way taken, the planner's, and the figures


class PracticeReview(QWidget):
    """Looks back at an exercise; the planner's part comes when it is ready.

    Signals
    -------
    again_wanted, other_wanted, results_wanted
        The same exercise once more; another one; the list of results.
    record_wanted(str, str)
        Kind and id of a record that is wanted in the handbook.
    """

    again_wanted = Signal()
    other_wanted = Signal()
    results_wanted = Signal()
    record_wanted = Signal(str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._run: Run | None = None
        self.title = Words("", role="title", weight="bold")
        self.hidden = Words("", role="lead")
        self.about = Words("", tone="muted")
        self.kept = Words("", role="small", tone="muted")
        self._reason = QVBoxLayout()
        self._models = {name: RowsModel(self) for name in ("mine", "planner", "hours")}
        self.mine = RowView("Your way", least=6)
        self.planner = RowView("The planner's way", least=6)
        self.hours = RowView("Hours", least=8)
        for name, view in (("mine", self.mine), ("planner", self.planner), ("hours", self.hours)):
            view.setModel(self._models[name])
        self.waiting = Words("", tone="muted")
        self.plot = BeliefPlot()
        self.other = QPushButton("&Another exercise (Enter)")
        theme.mark(self.other, kind="primary")
        self._judged = QGridLayout()
        self._judged.setHorizontalSpacing(theme.STEP)
        self._judged.setVerticalSpacing(2)
        self._judged.setColumnStretch(1, 1)
        self._lay_out()
        self.other.clicked.connect(lambda _=False: self.other_wanted.emit())

    def begin(self, run: Run) -> None:
        """Show a run that has ended, and that it is being weighed."""
        self._run = run
        base = run.shop.base
        self.title.setText("Stopped: not safe" if run.stopped else "It has ended")
        names = " and ".join(f"“{base.causes[c].name}”" for c in run.exercise.causes)
        self.hidden.setText(f"Hidden was {names}.")
        notes = (misled_words(base, run.exercise), run.exercise.note)
        self.about.say(" ".join(note for note in notes if note))
        self.kept.say("")
        clear(self._reason)
        if run.stopped is not None:
            move = capital(act_words(base, run.stopped.act))
            self._reason.addWidget(Notice("stop", f"{move}. {run.stopped.reason}"))
        clear(self._judged)
        for model in self._models.values():
            model.set_rows([])
        self.plot.show_courses(())
        self.waiting.say(_SCORING)

    def show_score(self, score: Score, belief: tuple[Point, ...]) -> None:
        """Show the moves of the apprentice, weighed."""
        run = self._run
        if run is None:
            return
        base = run.shop.base
        paid = f"Paid: {minutes(score.minutes)}" if score.minutes else "Nothing was paid"
        self.title.setText(f"{end_words(score)}. {paid}")
        self._models["mine"].set_rows(scored_rows(base, run, score))
        clear(self._judged)
        for row, (sign, said) in enumerate(judged_lines(score)):
            mark = Sign(sign)
            theme.mark(mark, tone=sign)
            self._judged.addWidget(mark, row, 0, Qt.AlignmentFlag.AlignTop)
            self._judged.addWidget(Words(said), row, 1)
        self.plot.show_courses((Course("You", belief),))
        self.waiting.say(_PLAYING)

    def show_review(self, review: Review) -> None:
        """Show everything."""
        self.waiting.say(planner_words(review))
        base = review.run.shop.base
        self._models["planner"].set_rows(way_rows(base, review.planner))
        self._models["hours"].set_rows(hours_rows(review))
        self._fit_hours()
        self.plot.show_courses(
            (
                Course("You", review.belief),
                Course("The planner", review.planner_belief, dashed=True),
            )
        )

    def say_failed(self, sentence: str) -> None:
        """Say that it could not be weighed."""
        self.waiting.say(capital(sentence))

    def say_kept(self, sentence: str) -> None:
        """Say where the result is kept, or why it is not."""
        self.kept.say(sentence)

    def take_focus(self) -> None:
        """Put the focus on the moves."""
        self.mine.setFocus(Qt.FocusReason.OtherFocusReason)

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        self._fit_hours()

    def changeEvent(self, event: QEvent, /) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit_hours()

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        keys = {Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Escape}
        if event.key() in keys:
            self.other_wanted.emit()
        else:
            super().keyPressEvent(event)

    def _lay_out(self) -> None:
        gap = theme.STEP
        buttons = QHBoxLayout()
        buttons.setSpacing(gap)
        buttons.addWidget(self.other)
        buttons.addWidget(quiet_button("&The same again", self.again_wanted.emit))
        buttons.addWidget(quiet_button("Look it &up", self._look_up))
        buttons.addWidget(quiet_button("&Results", self.results_wanted.emit))
        self.kept.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        buttons.addWidget(self.kept, 1)
        columns = QHBoxLayout()
        columns.setSpacing(3 * gap)
        figures = QWidget()
        third = QVBoxLayout(figures)
        third.setContentsMargins(0, 0, gap, 0)
        third.setSpacing(gap)
        third.addLayout(self._judged)
        third.addWidget(heading("Chance of what was wrong, in 100"))
        third.addWidget(self.plot, 3)
        third.addWidget(heading("Time on this vehicle, with its luck"))
        third.addWidget(self.hours)
        for share, part in zip(
            _SHARES,
            (
                _column("Your way; bars: minutes lost", self.mine),
                _column("The planner’s way", self.waiting, self.planner),
                Scroll(figures),
            ),
            strict=True,
        ):
            columns.addWidget(part, share)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(2 * gap, gap, 2 * gap, gap)
        outer.setSpacing(gap)
        outer.addWidget(self.title)
        outer.addWidget(self.hidden)
        outer.addWidget(self.about)
        outer.addLayout(self._reason)
        outer.addLayout(columns, 1)
        outer.addLayout(buttons)

    def _fit_hours(self) -> None:
        """Show all bars of time; what is too high scrolls with the whole column."""
        rows = self._models["hours"].rowCount()
        self.hours.setFixedHeight(self.hours.content_height() if rows else 0)

    def _look_up(self) -> None:
        if self._run is not None:
            self.record_wanted.emit("causes", self._run.exercise.causes[0])


def _column(name: str, *parts: QWidget) -> QWidget:
    made = QWidget()
    column = QVBoxLayout(made)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(theme.STEP // 2)
    column.addWidget(heading(name))
    for part in parts:
        column.addWidget(part, 1 if isinstance(part, RowView) else 0)
    return made
