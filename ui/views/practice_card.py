"""The card of a running exercise: hints; a move, a way to end it, or what the last move told."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QVBoxLayout, QWidget

from diagnose.planning.problem import HAND_OVER, Key
from diagnose.practice.harm import cautions_before
from diagnose.practice.run import Run
from ui import theme
from ui.practice_choices import title_of, toll_words, where_words
from ui.practice_words import answer_words, minutes
from ui.questions import question_for, steps
from ui.views.parts import clear
from ui.views.taking import steps_and_drawing
from ui.widgets.notice import Notice
from ui.widgets.scroll import Scroll
from ui.widgets.text import Words, heading

_CHOOSE = "Choose what to do first: a question, a check, a repair."
_UNREAD = "There are cautions for this. Read them before you begin (R)."
_NO_CAUTIONS = "There are no cautions for this one."
_PASSED_ON = (
    "It is closed up and passed to somebody who can look further. He begins from the start, and "
    "opens it again."
)


class PracticeCard(QFrame):
    """Shows one thing at a time, below the hints that were taken.

    Attributes
    ----------
    foot : QHBoxLayout
        For the buttons that go with what is shown.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        theme.mark(self, kind="card")
        gap = theme.STEP
        self.hints = QWidget()
        self._hints = QVBoxLayout(self.hints)
        self._hints.setContentsMargins(0, 0, 0, 0)
        self._shown = QVBoxLayout()
        self._shown.setSpacing(gap)
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, gap, 0)
        column.addWidget(self.hints)
        column.addLayout(self._shown, 1)
        self.area = Scroll(body)
        self.foot = QHBoxLayout()
        inside = QVBoxLayout(self)
        inside.setContentsMargins(3 * gap, 2 * gap, 2 * gap, gap)
        inside.setSpacing(gap)
        inside.addWidget(self.area, 1)
        inside.addLayout(self.foot)

    def show_hints(self, texts: tuple[str, ...], *, waiting: bool) -> None:
        """Show the steps of the hint that were taken, and whether one is being thought about."""
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

    def show_move(self, run: Run, act: Key, *, read: bool) -> None:
        """Show a move that may be made, with its cautions where they are being read."""
        base = run.shop.base
        where = ", ".join(w for w in (where_words(base, act), toll_words(run.shop, act)) if w)
        self._begin()
        self._shown.addWidget(Words(where, tone="muted"))
        self._shown.addWidget(Words(title_of(base, act), role="title", weight="bold"))
        needed = cautions_before(base, act)
        unread = [name for name in needed if name not in run.case.acknowledged]
        if unread:
            self._shown.addWidget(Notice("caution", _UNREAD))
        elif read:
            for name in needed:
                self._shown.addWidget(Notice("caution", base.cautions[name].text))
            if not needed:
                self._shown.addWidget(Words(_NO_CAUTIONS, tone="muted"))
        if act == HAND_OVER:
            self._shown.addWidget(Words(_PASSED_ON))
        elif act[0] == "repair":
            self._shown.addLayout(
                steps_and_drawing(question_for(base, *act), steps(base.causes[act[1]].repair.do))
            )
        elif act[0] != "ask":
            question = question_for(base, *act)
            self._shown.addLayout(steps_and_drawing(question, question.voices[0].steps))
        self._shown.addStretch(1)

    def show_ending(self, title: str, about: str) -> None:
        """Show a way to end it that is no move."""
        self._begin()
        self._shown.addWidget(Words(title, role="title", weight="bold"))
        self._shown.addWidget(Words(about))
        self._shown.addStretch(1)

    def show_last(self, run: Run) -> None:
        """Show what the last move told, or where to begin."""
        self._begin()
        if run.moves:
            made, base = run.moves[-1], run.shop.base
            self._shown.addWidget(heading("What it told"))
            self._shown.addWidget(Words(title_of(base, made.act), tone="muted"))
            self._shown.addWidget(Words(answer_words(base, made), role="title", weight="bold"))
            self._shown.addWidget(Words(f"It took {minutes(made.minutes)}.", tone="muted"))
        else:
            self._shown.addWidget(Words(_CHOOSE, role="lead", tone="muted"))
        self._shown.addStretch(1)

    def turn(self, pages: int) -> None:
        """Scroll down by pages, or up."""
        bar = self.area.verticalScrollBar()
        bar.setValue(bar.value() + pages * bar.pageStep())

    def _begin(self) -> None:
        clear(self._shown)
        self.area.verticalScrollBar().setValue(0)
