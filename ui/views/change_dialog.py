"""Changing an answer that was given: the same question again, the answer so far marked."""

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPushButton, QWidget

from diagnose.case import Entry
from ui import theme
from ui.questions import DONE_SEEN, DONE_UNSEEN, answered, question_for
from ui.session import Session
from ui.views.answer_pad import AnswerPad
from ui.widgets.panel_dialog import PanelDialog
from ui.widgets.text import Words, heading


class ChangeDialog(PanelDialog):
    """Asks again.

    Signals
    -------
    changed(int, str, str, str, str)
        Index of the entry, id of the choice, reading, instrument, and when (for work).
    removed(int)
        Index of the entry.
    """

    changed = Signal(int, str, str, str, str)
    removed = Signal(int)

    def __init__(self, session: Session, place: int, parent: QWidget) -> None:
        super().__init__("Change a finding", parent)
        self._session = session
        entry: Entry = session.case.entries[place]
        question = question_for(session.base, *entry.subject, batch=entry.is_pending)
        self.column.addWidget(heading("Found so far"))
        self.column.addWidget(Words(question.title, role="title", weight="bold"))
        stands = f"So far: {answered(session.base, entry)}"
        by = f"{entry.by}: " if entry.by else ""
        self.column.addWidget(Words(stands, tone="muted"))
        if entry.note:
            self.column.addWidget(Words(f"{by}{entry.note}", tone="muted"))
        self.when = WhenSwitch(entry.when == "since")
        self.when.setVisible(entry.work is not None)
        self.column.addWidget(self.when)
        self.pad = AnswerPad(session.base)
        self.pad.show_question(
            question,
            chosen=_chosen(entry),
            reading=entry.reading,
            instrument=entry.instrument or "",
        )
        self.pad.answered.connect(lambda *answer: self._on_answered(place, *answer))
        self.column.addWidget(self.pad)
        self.column.addStretch(1)
        remove = self.add_button("Re&move this finding")
        remove.clicked.connect(lambda _=False: self._on_removed(place))
        self.buttons.addStretch(1)
        keep = self.add_button("&Keep it as it is (Esc)")
        keep.clicked.connect(self.reject)
        session.assessment_changed.connect(self._show_predictions)
        self._show_predictions()
        self.pad.take_focus()

    def _show_predictions(self) -> None:
        """Show what the causes would make it read, once the answers so far have been weighed."""
        standing = self._session.standing
        if self.pad.gauge is not None and standing is not None and not self._session.busy:
            self.pad.gauge.show_assessment(standing.assessment)
            QTimer.singleShot(0, self, self.fit)  # what was added takes room from the next event on

    def _on_answered(self, place: int, choice: str, reading: str, instrument: str) -> None:
        self.accept()
        when = "since" if self.when.since else "job"
        self.changed.emit(place, choice, reading, instrument, when)

    def _on_removed(self, place: int) -> None:
        self.accept()
        self.removed.emit(place)


def _chosen(entry: Entry) -> str:
    """The choice of the question that stands for an entry's answer."""
    if entry.is_pending:
        return DONE_SEEN if entry.seen else DONE_UNSEEN
    return entry.answer


class WhenSwitch(QWidget):
    """Whether work was done at the clutch job, or since, with the complaint still there."""

    def __init__(self, since: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._job = QPushButton("At the &job")
        self._since = QPushButton("S&ince; the complaint stayed")
        group = QButtonGroup(self)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(theme.STEP)
        for button in (self._job, self._since):
            button.setCheckable(True)
            button.setAutoDefault(False)
            theme.mark(button, kind="quiet")
            group.addButton(button)
            row.addWidget(button)
        row.addStretch(1)
        self.set_since(since)

    @property
    def since(self) -> bool:
        """Whether it was done since."""
        return self._since.isChecked()

    def set_since(self, since: bool) -> None:
        """Set the switch."""
        (self._since if since else self._job).setChecked(True)
