"""Beside the card: what it may be, the note, who said what when, closed cases like this one."""

from collections.abc import Sequence
from textwrap import shorten

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from diagnose.errors import PullOnceError
from diagnose.records.alike import Alike
from diagnose.records.kept import Change
from diagnose.sentences import counts, verdict
from ui import theme
from ui.jobs import Job, Jobs
from ui.line.likeness import row as alike_row
from ui.line.moments import sentence
from ui.line.timeline import timeline
from ui.models.rows import KEY, RowsModel
from ui.session import Session
from ui.views.panels import EntryList
from ui.widgets.rows import Ranked, RowView
from ui.widgets.text import Words, heading

_LIKELIEST = 3
_NOTE = 160  # letters of the note that are shown; the whole of it is a key away
_NONE_ALIKE = "None yet with the same complaint and kind of set-up."
_NOT_ON_SERVER = "It waits here for the server; what was done is told once it is there."


class LineSide(QWidget):
    """What is known of the case on the screen; the store is read off the window's thread.

    Signals
    -------
    case_wanted(str)
        Id of the closed case the user wants to look at.
    """

    case_wanted = Signal(object)

    def __init__(self, session: Session, jobs: Jobs, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._jobs = session, jobs
        self._may_be_head = heading("What it may be")
        self._verdict = Words("", weight="bold")
        self._may_be = RowsModel(self)
        self.may_be = RowView("What it may be", least=1)
        self.may_be.setModel(self._may_be)
        self.may_be.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # there is nothing to open
        self._note_head, self._note = heading("Handover note (M)"), Words("")
        self._told = RowsModel(self)
        self.told = RowView("Timeline", least=5)
        self.told.setModel(self._told)
        self._told_note = Words("", role="small", tone="muted")
        self._alike = RowsModel(self)
        self.alike = EntryList("Closed cases like this one", least=5)
        self.alike.setModel(self._alike)
        self.alike.opened.connect(lambda index: self.case_wanted.emit(index.data(KEY)))
        self._alike_note = Words("", role="small", tone="muted")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.STEP // 2)
        for widget in (self._may_be_head, self._verdict, self.may_be):
            column.addWidget(widget)
        column.addSpacing(theme.STEP)
        column.addWidget(self._note_head)
        column.addWidget(self._note)
        column.addWidget(heading("Timeline"))
        column.addWidget(self._told_note)
        column.addWidget(self.told, 3)
        column.addSpacing(theme.STEP)
        column.addWidget(heading("Closed cases like this one"))
        column.addWidget(self._alike_note)
        column.addWidget(self.alike, 2)

    def refresh(self) -> None:
        """Show what belongs to the case as it is kept now."""
        note = self._session.case.note
        self._note.say(shorten(note, _NOTE, placeholder=" …"))
        self._note_head.setVisible(bool(note))
        self._weigh()
        self._refresh_timeline()

    def follow(self) -> None:
        """Show what belongs to the case as it is weighed now."""
        self._weigh()
        self._refresh_alike()

    def _weigh(self) -> None:
        session = self._session
        standing = None if session.case.found is not None else session.standing
        causes = () if standing is None else standing.assessment.causes[:_LIKELIEST]
        rows = [(c.id, Ranked(sentence(c.name), counts(c.p), share=c.p)) for c in causes]
        self._may_be.set_rows(rows)
        said = "" if standing is None else verdict(standing.assessment, standing.advice)[0]
        self._verdict.say(f"{said}." if said else "")
        for widget in (self._may_be_head, self.may_be):
            widget.setVisible(bool(rows))
        self._fit()

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        self.may_be.setFixedHeight(max(1, self.may_be.content_height()))

    def _refresh_timeline(self) -> None:
        kept, records = self._session.kept, self._session.records
        if kept is None or not kept.sent:
            self._jobs.drop("line timeline")
            self._told.set_rows([])
            self._told_note.say("" if kept is None else _NOT_ON_SERVER)
            return
        self._jobs.start(
            "line timeline",
            Job(
                lambda: records.store.timeline(kept.id),
                self._on_timeline,
                lambda error: _tell(self._told_note, error),
            ),
        )

    def _refresh_alike(self) -> None:
        session = self._session
        case, records = session.case, session.records
        own = session.kept.id if session.kept is not None else ""
        self._jobs.start(
            "line alike",
            Job(
                lambda: records.store.alike(case, own),
                self._on_alike,
                lambda error: _tell(self._alike_note, error),
            ),
        )

    def _on_timeline(self, changes: tuple[Change, ...]) -> None:
        session = self._session
        lines = timeline(session.base, session.case, changes, session.now())
        self._told.set_rows(
            [(line.number, Ranked(line.who, _listed(line.texts))) for line in lines]
        )
        self._told_note.say("")

    def _on_alike(self, found: tuple[Alike, ...]) -> None:
        told = [alike_row(self._session.base, one) for one in found]
        self._alike.set_rows([(row.id, Ranked(row.title, "\n".join(row.lines))) for row in told])
        self._alike_note.say("" if told else _NONE_ALIKE)


def _listed(texts: Sequence[str]) -> str:
    """Give what was done within one minute, each thing on a line of its own."""
    return texts[0] if len(texts) == 1 else "\n".join(f"· {text}" for text in texts)


def _tell(words: Words, error: Exception) -> None:
    """Say that the store can't be asked; what is shown stays."""
    if not isinstance(error, PullOnceError):
        raise error
    words.say(error.sentence)
