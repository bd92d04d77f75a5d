"""What waits for a server's store, sent beside the window and tried again until it is there."""

from dataclasses import dataclass

from PySide6.QtCore import QObject, QTimer, Signal

from diagnose.errors import PullOnceError
from diagnose.records.errors import ServerLostError
from diagnose.records.kept import Kept
from ui import messages
from ui.jobs import Job, Jobs
from ui.records import Records

AGAIN = 15_000  # milliseconds until what could not be sent is tried again


@dataclass(frozen=True)
class _Sent:
    """What came of sending: the case that was asked for, and what the server's store refused."""

    kept: Kept | None
    refused: tuple[tuple[str, str], ...]


class Sender(QObject):
    """Sends what waits; does nothing where the store is a file.

    Signals
    -------
    came(Kept)
        The case that was asked for, as the server has it now.
    waits
        The server is away.
    failed(str, str)
        Something is not taken by the server: a sentence, and the next step.
    """

    came = Signal(object)
    waits = Signal()
    failed = Signal(str, str)

    def __init__(self, records: Records, jobs: Jobs) -> None:
        super().__init__()
        self._records = records
        self._jobs = jobs
        self._told: set[str] = set()
        self._asked = ""
        self._under_way = self._again = False
        self._timer = QTimer(self)
        self._timer.setInterval(AGAIN)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(lambda: self.send(self._asked))

    def send(self, case_id: str) -> None:
        """Send all that waits, and ask for a case; for none if its id is empty.

        While that is under way it is only noted that it has to be done once more: of a server that
        is slow nothing would ever be heard if each new call made the one before it stale.
        """
        if not self._records.has_server:
            return
        self._asked = case_id
        if self._under_way:
            self._again = True
            return
        self._timer.stop()
        self._under_way, self._again, records = True, False, self._records
        self._jobs.start(
            "send", Job(lambda: _sent(records, case_id), self._on_sent, self._on_not_sent)
        )

    def _on_sent(self, sent: _Sent) -> None:
        new = [why for token, why in sent.refused if token not in self._told]
        self._told = {token for token, _ in sent.refused}
        for why in new:
            self.failed.emit(messages.REFUSED.format(why=why), messages.REFUSED_NEXT)
        self._go_on(retry=bool(sent.refused))
        if sent.kept is not None:
            self.came.emit(sent.kept)

    def _go_on(self, *, retry: bool) -> None:
        """Send what has come meanwhile, or try again later."""
        self._under_way = False
        if self._again:
            self.send(self._asked)
        elif retry:
            self._timer.start()

    def _on_not_sent(self, error: Exception) -> None:
        self._go_on(retry=True)
        if not isinstance(error, PullOnceError):
            raise error
        if not isinstance(error, ServerLostError):
            self.failed.emit(error.sentence, error.next_step)
        self.waits.emit()


def _sent(records: Records, case_id: str) -> _Sent:
    records.send()
    return _Sent(records.store.read(case_id) if case_id else None, records.refused())
