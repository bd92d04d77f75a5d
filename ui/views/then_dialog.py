"""A case weighed anew: what it came to when it was left, and what it comes to now."""

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QWidget

from diagnose.sentences import counts
from ui.models.rows import RowsModel
from ui.then_and_now import Difference
from ui.views.parts import sentence
from ui.widgets.panel_dialog import PanelDialog
from ui.widgets.rows import Ranked, RowView
from ui.widgets.text import Words

_ABOUT = (
    "This case was left with knowledge {then}, and has been weighed anew with {now}. The answers "
    "are the same; what they say of the causes has changed:"
)


class ThenDialog(PanelDialog):
    """Shows the leading causes with their chances then and now."""

    def __init__(self, found: Difference, parent: QWidget) -> None:
        super().__init__("Weighed anew", parent)
        self.column.addWidget(Words("Weighed anew", role="title", weight="bold"))
        self.column.addWidget(Words(_ABOUT.format(then=found.then, now=found.now)))
        model = RowsModel(self)
        model.set_rows([(row.cause, _row(row.name, row.then, row.now)) for row in found.rows])
        self.rows = RowView("Leading causes, then and now")
        self.rows.setModel(model)
        self.column.addWidget(self.rows)
        self.column.addStretch(1)
        self.buttons.addStretch(1)
        close = self.add_button("&Go on (Esc)", kind="primary")
        close.clicked.connect(self.reject)
        close.setFocus(Qt.FocusReason.OtherFocusReason)

    def showEvent(self, event: QShowEvent, /) -> None:
        super().showEvent(event)
        QTimer.singleShot(0, self, self.fit)  # by then the rows know how wide they are

    def fit(self) -> None:
        self.rows.setFixedHeight(max(1, self.rows.content_height()))
        super().fit()


def _row(name: str, then: float | None, now: float) -> Ranked:
    old = "not among the first five then" if then is None else f"{counts(then)} then"
    moved = 0.0 if then is None else now - then
    sign = "up" if moved >= 0.01 else "down" if moved <= -0.01 else ""
    return Ranked(sentence(name), f"{counts(now)} now, {old}", share=now, sign=sign)
