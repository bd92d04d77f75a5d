"""What came out of a calculator, as it is typed."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from diagnose.calculators import Calculator, MissingError, Outcome, Result
from diagnose.errors import PullOnceError
from knowledge.model import KnowledgeBase
from ui import theme
from ui.views.dial_face import DialFace
from ui.views.parts import clear, sentence
from ui.widgets.notice import Notice
from ui.widgets.share_bar import ShareBar
from ui.widgets.text import Words, hairline, heading

_ONE_LINE = 28  # characters: a figure with its unit stays on one line


class ResultPanel(QFrame):
    """A card: the result in large letters, what the case could take of it, figures and notes.

    Parameters
    ----------
    base : KnowledgeBase
    taking : QWidget
        What stands below the result in large letters.
    """

    def __init__(self, base: KnowledgeBase, taking: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        theme.mark(self, kind="card")
        self._base = base
        self.said = ""  # the result in one sentence, or why there is none
        self.settled = False  # whether there is a result
        self._lead = QVBoxLayout()
        self._rest = QVBoxLayout()
        column = QVBoxLayout(self)
        margin = 2 * theme.STEP
        column.setContentsMargins(margin, margin, margin, margin)
        column.setSpacing(theme.STEP)
        column.addLayout(self._lead)
        column.addWidget(taking)
        column.addLayout(self._rest)
        for layout in (self._lead, self._rest):
            layout.setSpacing(theme.STEP)

    def show_outcome(self, calculator: Calculator, outcome: Outcome) -> None:
        """Show what came out."""
        self._clear()
        for name in outcome.cautions:
            caution = self._base.cautions[name]
            self._lead.addWidget(Notice(caution.level, caution.text))
        self._lead.addWidget(heading("Result"))
        self.said, self.settled = outcome.headline or sentence(outcome.results[0].line), True
        self._lead.addWidget(Words(self.said, role="lead", weight="bold"))
        if outcome.turn is not None:
            self._rest.addWidget(DialFace(outcome.turn))
        self._rest.addLayout(_figures(outcome.results))
        for note in outcome.notes:
            self._rest.addWidget(Words(note))
        self._rest.addWidget(hairline())
        sources = f"{calculator.deferral} Sources: {'; '.join(calculator.sources)}."
        self._rest.addWidget(Words(sources, role="small", tone="muted"))

    def show_refusal(self, error: PullOnceError) -> None:
        """Show what is still wanted, or why what was typed can't be used."""
        self._clear()
        self.said, self.settled = error.sentence, False
        if isinstance(error, MissingError):
            self._lead.addWidget(heading("Result"))
            self._lead.addWidget(Words(error.sentence, role="lead", tone="muted"))
            if error.next_step:
                self._lead.addWidget(Words(error.next_step, tone="muted"))
        else:
            lines = tuple(text for text in (error.sentence, error.next_step) if text)
            self._lead.addWidget(Notice("caution", *lines, word="Not so"))

    def _clear(self) -> None:
        clear(self._lead)
        clear(self._rest)


def _figures(results: tuple[Result, ...]) -> QGridLayout:
    """Names on the left, figures on the right; a chance has its bar."""
    grid = QGridLayout()
    grid.setHorizontalSpacing(theme.STEP)
    grid.setVerticalSpacing(theme.STEP // 2)
    grid.setColumnStretch(0, 1)
    for row, result in enumerate(results):
        name = QHBoxLayout()
        if result.label.startswith(" "):  # it belongs to the figure above
            name.addSpacing(2 * theme.STEP)
        name.addWidget(Words(sentence(result.label.strip()), tone="muted"))
        grid.addLayout(name, row, 0)
        if result.unit == "share" and not result.shown and isinstance(result.value, float):
            grid.addLayout(_chance(result.words, result.value), row, 1)
        else:
            short = len(result.words) <= _ONE_LINE
            figure = Words(result.words, weight="bold", wrap=not short)
            figure.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
            grid.addWidget(figure, row, 1)
    return grid


def _chance(words: str, share: float) -> QVBoxLayout:
    column = QVBoxLayout()
    column.setSpacing(0)
    column.addWidget(Words(words, weight="bold", wrap=False))
    column.addWidget(ShareBar(share), 0, Qt.AlignmentFlag.AlignLeft)
    return column
