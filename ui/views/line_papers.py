"""The list for the caller and the handover note of the case on the screen."""

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QWidget

from diagnose.records.kept import State
from ui import messages
from ui.line.follow_up import follow_up
from ui.line.handover import handover
from ui.session import Session
from ui.views.line_paper import PaperDialog
from ui.weighing import Standing

_FOLLOW_UP = "For the caller, in his order and in plain words. Change what does not fit him."
_HANDOVER = "For whoever takes the case over. Change it as you like; kept, it stands by the case."
_NOTE_REPLACED = "The handover note is now {by}’s; yours is kept beside it here: open it (M)."


class Papers(QObject):
    """Opens both, and keeps what was written.

    The case has one note. If another seat's takes the place of the one written here, this one is
    offered again with it, so that nothing is lost without a word.

    Parameters
    ----------
    session : Session
    owner : QWidget
        What the dialogs stand over.
    """

    def __init__(self, session: Session, owner: QWidget) -> None:
        super().__init__(owner)
        self._session = session
        self._owner = owner
        self._written: dict[str, str] = {}  # by the id of the case
        session.joined.connect(self._on_joined)

    def open_follow_up(self) -> None:
        """Show what the caller should look at next."""
        standing = self._weighed()
        if standing is not None:
            text = follow_up(standing.assessment, standing.advice, self._session.case.title)
            self._open(PaperDialog("List for the caller", _FOLLOW_UP, text, self._owner))

    def open_handover(self) -> None:
        """Show the note for whoever takes the case over, or a draft of it."""
        standing = self._weighed()
        if standing is not None:
            text = self._note() or self._draft(standing)
            dialog = PaperDialog("Handover note", _HANDOVER, text, self._owner, keeps=True)
            dialog.kept.connect(self._on_kept)
            self._open(dialog)

    def _note(self) -> str:
        """The note of the case, and before it what was written here, if that is not in it."""
        session = self._session
        note = session.case.note
        mine = "" if session.kept is None else self._written.get(session.kept.id, "")
        return "\n\n".join(part for part in ("" if mine in note else mine, note) if part)

    def _weighed(self) -> Standing | None:
        """Give how the case stands; where that is not known yet, say so."""
        session = self._session
        if session.standing is None or session.busy:
            session.said.emit(messages.BEING_WEIGHED)
            return None
        return session.standing

    def _draft(self, standing: Standing) -> str:
        session = self._session
        kept = session.kept
        return handover(
            standing.assessment,
            standing.advice,
            session.case,
            state=kept.state if kept is not None else State.OPEN,
            conflicts=kept.conflicts if kept is not None else (),
            again=session.doubts.lines,
        )

    def _open(self, dialog: PaperDialog) -> None:
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def _on_kept(self, text: str) -> None:
        session = self._session
        session.change(session.case.model_copy(update={"note": text}), "the handover note")
        if session.kept is not None:
            self._written[session.kept.id] = text

    def _on_joined(self) -> None:
        session = self._session
        kept = session.kept
        if kept is not None and self._written.get(kept.id, "") not in session.case.note:
            by = kept.by or messages.SOMEBODY.lower()
            session.said.emit(_NOTE_REPLACED.format(by=by))
