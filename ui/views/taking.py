"""How something is done: the steps, and beside them how its reading is taken, with a drawing."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout

from ui import theme
from ui.drawings.how_to import HowTo
from ui.drawings.registry import DRAWINGS
from ui.questions import Question
from ui.views.parts import numbered
from ui.widgets.text import Words


def steps_and_drawing(question: Question, steps: tuple[str, ...]) -> QHBoxLayout:
    """Lay out the steps of a question; beside a reading's how it is taken.

    Parameters
    ----------
    question : Question
    steps : tuple of str
        In the voice that is spoken.

    Returns
    -------
    QHBoxLayout
    """
    row = QHBoxLayout()
    row.setSpacing(2 * theme.STEP)
    column = QVBoxLayout()
    column.setSpacing(theme.STEP)
    column.addLayout(numbered(steps))
    if question.how:
        column.addWidget(Words(question.how, tone="muted"))
    column.addStretch(1)
    row.addLayout(column, 1)
    if question.drawing in DRAWINGS:
        row.addWidget(HowTo(question.drawing), 0, Qt.AlignmentFlag.AlignTop)
    return row
