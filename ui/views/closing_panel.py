"""While it is open: what is worth a look before it closes, and what to see to then."""

from PySide6.QtCore import QModelIndex, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from diagnose.planning.record import Advice
from knowledge.model import KnowledgeBase
from ui.advice_words import glance_line
from ui.models.rows import KEY, RowsModel
from ui.session import Session
from ui.views.panels import EntryList
from ui.views.parts import sentence
from ui.widgets.rows import Ranked
from ui.widgets.text import Words, heading

_LOOK, _SEE_TO = "look", "see to"


class ClosingPanel(QWidget):
    """Looks that pay before it closes, in order, then the closing list.

    Signals
    -------
    look_wanted(str)
        Id of the check the user wants on the card.
    cause_wanted(str)
        Id of the cause that a line of the closing list is for.
    """

    look_wanted = Signal(str)
    cause_wanted = Signal(str)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.model = RowsModel(self)
        self.view = EntryList("Before it closes")
        self.view.setModel(self.model)
        self.view.opened.connect(self._on_opened)
        self.summary = Words("", role="small", tone="muted", wrap=False)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        head = QHBoxLayout()
        head.addWidget(heading("Before it closes (I)"))
        head.addStretch(1)
        head.addWidget(self.summary)
        column.addLayout(head)
        column.addWidget(self.view, 1)
        self.hide()

    @property
    def has_rows(self) -> bool:
        """Whether there is anything to see to."""
        return self.model.rowCount() > 0

    def refresh(self) -> None:
        """Show what the advice lists; nothing once the fault is found, or before it is opened."""
        standing = self._session.standing
        found = self._session.case.found is not None
        advice = None if standing is None or found else standing.advice
        marked = self.view.currentIndex().data(KEY)
        self.model.set_rows([] if advice is None else _rows(self._session.base, advice))
        row = self.model.row_of(marked)
        if row >= 0:
            self.view.setCurrentIndex(self.model.index(row, 0))
        if advice is not None:
            self.summary.setText(_summary(len(advice.glances), len(advice.closing)))
        self.setVisible(self.has_rows)

    def _on_opened(self, index: QModelIndex) -> None:
        kind, name, _ = index.data(KEY)
        (self.look_wanted if kind == _LOOK else self.cause_wanted).emit(name)


def _rows(base: KnowledgeBase, advice: Advice) -> list[tuple[tuple[str, str, str], Ranked]]:
    looks = [
        ((_LOOK, glance.step.id, ""), Ranked(f"{place}. {glance.step.name}", glance_line(glance)))
        for place, glance in enumerate(advice.glances, start=1)
    ]
    lines = [
        ((_SEE_TO, line.cause, line.text), Ranked(line.text, f"for: {_name(base, line.cause)}"))
        for line in advice.closing
    ]
    return [*looks, *lines]


def _name(base: KnowledgeBase, cause: str) -> str:
    return sentence(base.causes[cause].name) if cause in base.causes else cause


def _summary(looks: int, points: int) -> str:
    parts = ((looks, "look", "looks"), (points, "point to see to", "points to see to"))
    return ", ".join(f"{n} {one if n == 1 else many}" for n, one, many in parts if n)
