"""The answers of one question: large buttons with single keys, or a field for a reading."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from diagnose.case import GRADES
from diagnose.errors import PullOnceError
from knowledge.model import KnowledgeBase
from ui import messages, theme
from ui.questions import CANT_TELL, Question, band_of
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
    answered(str, str)
        Id of the choice, and the reading as typed (empty without a gauge).
    """

    answered = Signal(str, str)

    def __init__(self, base: KnowledgeBase, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._base = base
        self.field: Field | None = None
        self.buttons: list[AnswerButton] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._content: QWidget | None = None

    def show_question(self, question: Question, *, chosen: str = "", reading: str = "") -> None:
        """Show the answers of a question, and which of them stands already."""
        if self._content is not None:
            self._column.removeWidget(self._content)
            self._content.hide()
            self._content.deleteLater()
        self.buttons, self.field = [], None
        self._content = QWidget()
        column = QVBoxLayout(self._content)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.STEP)
        self._column.addWidget(self._content)
        if question.gauge is not None:
            column.addLayout(self._gauge(question, reading))
        else:
            self._add_buttons(column, question, chosen)
        if question.yes:
            column.addLayout(_meanings(question))

    def take_focus(self) -> None:
        """Put the focus where the answer is given."""
        if self.field is not None:
            self.field.setFocus(Qt.FocusReason.OtherFocusReason)
        elif self.buttons:
            stands = next((b for b in self.buttons if b.chosen), self.buttons[0])
            stands.setFocus(Qt.FocusReason.OtherFocusReason)

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
            button.clicked.connect(lambda _=False, answer=choice.id: self.answered.emit(answer, ""))
            grid.add(button)
            self.buttons.append(button)
        column.addWidget(grid)

    def _gauge(self, question: Question, reading: str) -> QVBoxLayout:
        field = Field(reading)
        self.field = field
        unit = question.gauge or "as a number"
        label = Words(f"&Reading in {unit}", wrap=False, weight="bold")
        label.setTextFormat(Qt.TextFormat.AutoText)
        label.setBuddy(field)
        field.setAccessibleName(f"Reading in {unit}")
        field.setAccessibleDescription(question.how)
        field.setMaxLength(40)
        take = QPushButton("Take it (Enter)")
        theme.mark(take, kind="primary")
        unsure = QPushButton("&Can't tell")
        unsure.clicked.connect(lambda _=False: self.answered.emit(CANT_TELL, ""))
        said = Words(question.how, tone="muted")
        check = question.subject[1]

        def judge(typed: str) -> None:
            _say_band(self._base, check, typed, said, take, question.how)

        def answer() -> None:
            if not field.text().strip():
                said.setText(messages.NOTHING_TYPED)
            elif take.isEnabled():
                band = band_of(self._base, check, field.text())
                self.answered.emit(band.id, field.text().strip())

        field.textChanged.connect(judge)
        field.returnPressed.connect(answer)
        take.clicked.connect(answer)
        judge(reading)
        row = QHBoxLayout()
        row.setSpacing(theme.STEP)
        row.addWidget(label)
        row.addWidget(field, 1)
        row.addWidget(take)
        row.addWidget(unsure)
        column = QVBoxLayout()
        column.addLayout(row)
        column.addWidget(said)
        return column


def _say_band(
    base: KnowledgeBase, check: str, typed: str, said: Words, take: QPushButton, how: str
) -> None:
    """Say what a reading would mean while it is typed."""
    if not typed.strip():
        said.set_tone("muted")
        said.setText(how)
        take.setEnabled(False)
        return
    try:
        band = band_of(base, check, typed)
    except PullOnceError as error:
        said.set_tone("caution")
        said.setText(f"Not yet: {error}")
        take.setEnabled(False)
        return
    said.set_tone("")
    said.setText(f"{band.text}. {band.means}"[:1].upper() + f"{band.text}. {band.means}"[1:])
    take.setEnabled(True)


def _meanings(question: Question) -> QHBoxLayout:
    """What yes and no mean, below the ends of the row of grades."""
    row = QHBoxLayout()
    row.setSpacing(3 * theme.STEP)
    yes = Words(f"Yes: {question.yes}", role="small", tone="muted")
    no = Words(f"No: {question.no}", role="small", tone="muted")
    row.addWidget(yes, 1, Qt.AlignmentFlag.AlignTop)
    row.addWidget(no, 1, Qt.AlignmentFlag.AlignTop)
    return row
