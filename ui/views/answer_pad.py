"""The answers of one question: large buttons with single keys, or a field for a reading."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from diagnose.assess import Assessment
from diagnose.case import GRADES
from knowledge.model import KnowledgeBase
from ui import theme
from ui.questions import Question
from ui.views.gauge_pad import GaugePad
from ui.widgets.answer_button import AnswerButton
from ui.widgets.even_grid import EvenGrid
from ui.widgets.field import Field
from ui.widgets.text import Words

KEYS = "1234567890ABCDEFGH"  # no letter that is a key of the window
_MANY = 6  # with more answers than this, what they mean is told by their tips


class AnswerPad(QWidget):
    """Takes the answer to a question.

    Signals
    -------
    answered(str, str, str)
        Id of the choice, the reading as typed, and the instrument it was read with (both empty
        without a gauge).
    typed
        Something is typed into the field for a reading.
    """

    answered = Signal(str, str, str)
    typed = Signal()

    def __init__(self, base: KnowledgeBase, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._base = base
        self._asked: tuple[str, str] | None = None
        self.gauge: GaugePad | None = None
        self.buttons: list[AnswerButton] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._content: QWidget | None = None

    @property
    def field(self) -> Field | None:
        """The field for the reading; None without a gauge."""
        return None if self.gauge is None else self.gauge.field

    def show_question(
        self,
        question: Question,
        *,
        chosen: str = "",
        reading: str = "",
        instrument: str = "",
        assessment: Assessment | None = None,
    ) -> None:
        """Show the answers of a question, and which of them stands already.

        Parameters
        ----------
        question : Question
        chosen : str
            Id of the choice that stands.
        reading, instrument : str
            What was read, and with what.
        assessment : Assessment, optional
            What predictions of a reading are made of.
        """
        if self._content is not None:
            self._column.removeWidget(self._content)
            self._content.hide()
            self._content.deleteLater()
        self._asked = question.subject
        self.buttons, self.gauge = [], None
        self._content = QWidget()
        column = QVBoxLayout(self._content)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.STEP)
        self._column.addWidget(self._content)
        if question.gauge is not None:
            self.gauge = GaugePad(
                self._base,
                question,
                reading=reading,
                instrument=instrument,
                assessment=assessment,
            )
            self.gauge.given.connect(self._on_given)
            self.gauge.typed.connect(self.typed)
            column.addWidget(self.gauge)
        else:
            self._add_buttons(column, question, chosen)
        if question.yes:
            column.addLayout(_meanings(question))

    def typed_for(self, question: Question) -> tuple[str, str]:
        """Give what is typed so far for a question, and the instrument; empty if it is another."""
        if self.gauge is None or self._asked != question.subject:
            return "", ""
        return self.gauge.field.text(), self.gauge.instrument

    def take_focus(self) -> None:
        """Put the focus where the answer is given."""
        if self.field is not None:
            self.field.setFocus(Qt.FocusReason.OtherFocusReason)
        elif self.buttons:
            stands = next((b for b in self.buttons if b.chosen), self.buttons[0])
            stands.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_given(self, choice: str, reading: str, instrument: str) -> None:
        self._asked = None  # asked again, it starts anew
        self.answered.emit(choice, reading, instrument)

    def _add_buttons(self, column: QVBoxLayout, question: Question, chosen: str) -> None:
        graded = tuple(c.id for c in question.choices) == GRADES
        many = len(question.choices) > _MANY
        grid = EvenGrid(5 if graded else 3 if many else 2)
        for key, choice in zip(KEYS, question.choices, strict=False):
            means = "" if many else choice.means
            button = AnswerButton(key, choice.text, means, stacked=graded)
            button.setToolTip(choice.means if many else "")
            if choice.id == chosen:
                button.set_chosen(True)
            button.setShortcut(QKeySequence(key))
            button.clicked.connect(lambda _=False, a=choice.id: self.answered.emit(a, "", ""))
            grid.add(button)
            self.buttons.append(button)
        column.addWidget(grid)


def _meanings(question: Question) -> QHBoxLayout:
    """What yes and no mean, below the ends of the row of grades."""
    row = QHBoxLayout()
    row.setSpacing(3 * theme.STEP)
    yes = Words(f"Yes: {question.yes}", role="small", tone="muted")
    no = Words(f"No: {question.no}", role="small", tone="muted")
    row.addWidget(yes, 1, Qt.AlignmentFlag.AlignTop)
    row.addWidget(no, 1, Qt.AlignmentFlag.AlignTop)
    return row
