"""Before an exercise: who practises, on what, how hard; and what a trainer does with it."""

from typing import cast

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from diagnose.practice.exercise import Difficulty, Exercise
from knowledge.model import KnowledgeBase
from ui import theme
from ui.practice_desk import Wanted
from ui.practice_words import DIFFICULTIES, exercise_name
from ui.views.parts import quiet_button
from ui.widgets.choice_box import ChoiceBox
from ui.widgets.even_grid import EvenGrid
from ui.widgets.field import Field
from ui.widgets.labelled import Labelled
from ui.widgets.scroll import Scroll
from ui.widgets.text import Words, hairline, heading

_ABOUT = (
    "A vehicle with something hidden in it, drawn from what this program knows. Every question, "
    "check and repair costs minutes. Find what is wrong, put it right, and prove it by a drive."
)
_RULES = (
    "Verify the complaint before you work: drive it, or check what goes with it.",
    "Read the cautions before each step (R). What is begun without, or against a stop notice, ends "
    "the exercise.",
    "Each move is held against the cheapest one, on average over all that fits what is known then: "
    "luck does not count.",
    "Hints take no minutes, but they are counted. So is every time the gearbox comes out.",
    "A drive proves the repair. Handed over, or given back uncured, somebody begins anew.",
)
_MOST_NAME = 80
_SEED = "Whoever types the same number with the same choices gets the same vehicle"
_MOST_SEED = 999_999_999


class PracticeSetup(QWidget):
    """Chooses an exercise.

    Signals
    -------
    begin_wanted, open_wanted, example_wanted, save_wanted, results_wanted
    worksheet_wanted(bool)
        Whether the answer sheet is wanted, not the worksheet.
    """

    begin_wanted = Signal()
    open_wanted = Signal()
    example_wanted = Signal()
    save_wanted = Signal()
    results_wanted = Signal()
    worksheet_wanted = Signal(bool)

    def __init__(self, base: KnowledgeBase, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._base = base
        self._given: Exercise | None = None
        self.name, self.seed = Field(), Field()
        self.name.setMaxLength(_MOST_NAME)
        self.seed.setMaxLength(len(str(_MOST_SEED)))
        self.setup, self.difficulty, self.zone = ChoiceBox(), ChoiceBox(), ChoiceBox()
        self.paper = ChoiceBox()
        self._drawn = EvenGrid(2, gap=2 * theme.STEP)  # what an exercise is drawn by
        _fill(self.setup, [("any", ""), *((s.name, s.id) for s in base.setups.values())])
        _fill(self.difficulty, [(said, name) for name, said in DIFFICULTIES.items()])
        _fill(self.zone, [("anywhere", ""), *((z.name, z.id) for z in base.zones.values())])
        _fill(self.paper, [("A4", "a4"), ("Letter", "letter")])
        self.begin = QPushButton("&Begin (Enter)")
        theme.mark(self.begin, kind="primary", role="lead")
        self.begin.clicked.connect(lambda _=False: self.begin_wanted.emit())
        self.said = Words("", tone="caution")
        self.chosen = Words("", weight="bold")
        self.draw_instead = quiet_button("Draw one i&nstead", lambda: self.show_given(None))
        self._lay_out()
        self.show_given(None)

    @property
    def apprentice(self) -> str:
        """Who practises; empty if nobody said."""
        return self.name.text().strip()

    def wanted(self) -> Wanted | None:
        """Give what is chosen; None, and said why, if the number is none."""
        typed = self.seed.text().strip()
        if typed and not (typed.isascii() and typed.isdigit()):
            self.say("Write the number with figures only, or leave it empty.")
            self.seed.setFocus(Qt.FocusReason.OtherFocusReason)
            return None
        self.say("")
        return Wanted(
            cast("Difficulty", self.difficulty.currentData()),
            str(self.setup.currentData()) or None,
            str(self.zone.currentData()) or None,
            int(typed) if typed else None,
            self._given,
        )

    def say(self, text: str) -> None:
        """Say why it can't begin; nothing takes no room."""
        self.said.say(text)

    def show_given(self, exercise: Exercise | None) -> None:
        """Take the exercise of a file, or one that is drawn."""
        self._given = exercise
        given = exercise is not None
        self.chosen.say(f"From a file: {exercise_name(self._base, exercise)}" if exercise else "")
        self.draw_instead.setVisible(given)
        self._drawn.setVisible(not given)
        for field in (self.setup, self.difficulty, self.zone, self.seed):
            field.setEnabled(not given)
        self.say("")

    def take_focus(self) -> None:
        """Put the focus where a person starts."""
        first = self.begin if self.apprentice else self.name
        first.setFocus(Qt.FocusReason.OtherFocusReason)

    def _lay_out(self) -> None:
        left = QVBoxLayout()
        left.setContentsMargins(0, 0, theme.STEP, 0)
        left.setSpacing(2 * theme.STEP)
        left.addWidget(Words("Practice", role="title", weight="bold"))
        left.addWidget(Words(_ABOUT, role="lead"))
        name, about = "Apprentice (results are kept by name)", "May stay empty: nothing is kept"
        left.addWidget(Labelled(name, about, self.name, lines=15))
        for name, about, field in (
            ("How hard", "What is hidden", self.difficulty),
            ("Set-up", "What it is fitted to", self.setup),
            ("Where the fault is", "The zone of the first fault", self.zone),
            ("Number (empty: a new one)", _SEED, self.seed),
        ):
            self._drawn.add(Labelled(name, about, field, lines=15))
        left.addWidget(self._drawn)
        left.addWidget(self.chosen)
        left.addWidget(self.said)
        row = QHBoxLayout()
        row.addWidget(self.begin)
        row.addWidget(self.draw_instead)
        row.addStretch(1)
        left.addWidget(hairline())
        left.addWidget(heading("How it is judged"))
        rules = QVBoxLayout()
        rules.setSpacing(theme.STEP)
        for rule in _RULES:
            rules.addWidget(Words(rule))
        left.addLayout(rules)
        left.addStretch(1)
        content = QWidget()
        content.setLayout(left)
        beside = QVBoxLayout()
        beside.setSpacing(2 * theme.STEP)
        beside.addWidget(Scroll(content, snug=True), 100)
        beside.addLayout(row)
        beside.addStretch(0)
        outer = QHBoxLayout(self)
        outer.setContentsMargins(2 * theme.STEP, theme.STEP, 2 * theme.STEP, theme.STEP)
        outer.setSpacing(4 * theme.STEP)
        outer.addLayout(beside, 2)
        outer.addWidget(Scroll(self._side()), 1)

    def _side(self) -> QWidget:
        side = QWidget()
        column = QVBoxLayout(side)
        column.setContentsMargins(0, 0, theme.STEP, 0)
        column.setSpacing(theme.STEP)
        column.addWidget(heading("Exercises as files"))
        self.buttons = [
            quiet_button("&Open an exercise …", self.open_wanted.emit),
            quiet_button("The e&xample", self.example_wanted.emit),
            quiet_button("&Save this exercise …", self.save_wanted.emit),
            quiet_button("&Worksheet as PDF …", lambda: self.worksheet_wanted.emit(False)),
            quiet_button("&Answer sheet as PDF …", lambda: self.worksheet_wanted.emit(True)),
            quiet_button("&Results", self.results_wanted.emit),
        ]
        for button in self.buttons[:3]:
            column.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
        column.addWidget(
            Words("A file says what is hidden: not for the apprentice.", role="small", tone="muted")
        )
        column.addWidget(hairline())
        column.addWidget(heading("On paper"))
        for button in self.buttons[3:5]:
            column.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
        column.addWidget(Labelled("Paper", "Size of the sheets", self.paper, lines=8))
        column.addWidget(hairline())
        column.addWidget(heading("What was made of them"))
        column.addWidget(self.buttons[5], 0, Qt.AlignmentFlag.AlignLeft)
        column.addStretch(1)
        return side


def _fill(box: ChoiceBox, items: list[tuple[str, str]]) -> None:
    for text, data in items:
        box.addItem(text, data)
