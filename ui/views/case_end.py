"""The end of a case: asks how it ended, closes it, and opens it again."""

from threading import Event
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QObject, Qt, QTimer
from PySide6.QtWidgets import QDialog, QWidget

from ui import messages
from ui.jobs import Job, Jobs

if TYPE_CHECKING:  # loaded once somebody asks for it
    from diagnose.case import Found
    from ui.closing import Ending
    from ui.session import Session


class Host(Protocol):
    """What the end of a case needs of the window."""

    session: "Session | None"
    jobs: Jobs

    def say(self, sentence: str) -> None:
        """Say something in passing."""

    def leave_page(self) -> None:
        """Keep what is only typed on the page that is shown."""


class CaseEnd(QObject):
    """Closes the case on the screen.

    Parameters
    ----------
    host : Host
    window : QWidget
    """

    def __init__(self, host: Host, window: QWidget) -> None:
        super().__init__(window)
        self._host, self._window = host, window
        self._found: Found | None = None
        self._told = False  # what was found has been told in the dialog
        self._asks = QTimer(self)
        self._asks.setSingleShot(True)
        self._asks.timeout.connect(self.ask)

    def attend(self, session: "Session") -> None:
        """Follow a session."""
        session.case_changed.connect(self._on_case_changed)
        session.joined.connect(self._asks.stop)

    def ask(self) -> None:
        """Ask how the case ended."""
        from ui.views.close_dialog import CloseDialog

        session = present(self._host)
        if session is None or self._is_asking():
            return
        if not session.case.entries:
            self._host.say(messages.NOTHING_TO_CLOSE)
            return
        dialog = CloseDialog(session, self._window)
        dialog.closed.connect(self.close)
        dialog.reopened.connect(self.reopen)
        open_over(dialog)

    def close(self, ending: "Ending") -> None:
        """Close the case as it ended."""
        from diagnose.records.kept import State
        from ui.closing import closed

        session = present(self._host)
        if session is None:
            return
        self._told = True
        session.change(closed(session.case, ending), messages.CLOSING, State.CLOSED)
        self._told = False
        if session.saved:
            session.set_state(State.CLOSED)  # where it ended as it was told before
            self._host.say(messages.CASE_CLOSED)
        self._work_out_at_once(session)

    def reopen(self) -> None:
        """Let the case go on."""
        from diagnose.records.kept import State
        from ui.closing import reopened

        session = present(self._host)
        if session is not None:
            session.change(reopened(session.case), messages.REOPENING, State.OPEN)
            self._host.say(messages.CASE_REOPENED)

    def _work_out_at_once(self, session: "Session") -> None:
        """Note in the closed case what the advice expected of opening it at once."""
        from diagnose.errors import PullOnceError
        from ui.closing import hours_if_opened_at_once

        base, case, stale = session.base, session.case, Event()
        if case.found is None or case.found.at_once is not None:
            return

        def done(at_once: float | None) -> None:
            found = session.case.found
            if at_once is not None and found is not None and found == case.found:
                noted = found.model_copy(update={"at_once": at_once})
                self._found = noted
                session.amend(session.case.model_copy(update={"found": noted}))

        def failed(error: Exception) -> None:
            if not isinstance(error, PullOnceError):
                raise error  # answers that can't be weighed have no such figure

        self._host.jobs.start(
            "at once",
            Job(lambda: hours_if_opened_at_once(base, case, stale.is_set), done, failed, stale.set),
        )

    def _on_case_changed(self) -> None:
        """Ask how it ended once the road has shown it; open it again if that is taken back."""
        from diagnose.records.kept import State

        session = present(self._host)
        if session is None:
            return
        before, self._found = self._found, session.case.found
        if not (session.undoes or session.redoes):
            return  # another case, or the same with what another seat told
        if before is None and self._found is not None and not self._told and session.undoes:
            self._asks.start(0)
        closed = session.kept is not None and session.kept.state is State.CLOSED
        if before is not None and self._found is None and closed:
            session.set_state(State.OPEN)

    def _is_asking(self) -> bool:
        from ui.views.close_dialog import CloseDialog

        return any(d.isVisible() for d in self._window.findChildren(CloseDialog))


def present(host: Host) -> "Session | None":
    """Give the session, with what was typed on the page kept."""
    if host.session is not None:
        host.leave_page()
    return host.session


def open_over(dialog: QDialog) -> None:
    """Open a dialog that is gone once it is closed."""
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    dialog.open()
