"""The one owner of the case on the screen and of its place in store; and what it is assessed as."""

import contextlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal

from PySide6.QtCore import QObject, Signal

from diagnose.case import Case
from diagnose.case_file import read_case_file
from diagnose.errors import CaseFileError, PullOnceError
from diagnose.records.errors import StoreError
from diagnose.records.kept import Kept, State
from knowledge.load import base_folder
from knowledge.model import KnowledgeBase
from ui import messages
from ui.history import History
from ui.jobs import Job, Jobs
from ui.moves import signed
from ui.records import Records
from ui.sending import Sender
from ui.then_and_now import unranked
from ui.weighing import Weighing
from ui.writing import write, write_with_photographs


@dataclass(frozen=True)
class _Left:
    """A case that was left while it could not be saved."""

    kept: Kept | None
    case: Case
    state: State | None


class Session(Weighing):
    """Holds the case; every change is saved before anybody hears of it.

    Signals
    -------
    case_changed
        The case is another one; its assessment is on the way.
    saved_changed
        `kept`, `saved` or `trouble` is another.
    joined
        What another seat made of the case has come in; `case_changed` comes before it.
    said(str)
        Something happened that is worth a sentence.
    """

    case_changed = Signal()
    saved_changed = Signal()
    joined = Signal()
    said = Signal(str)

    def __init__(
        self,
        base: KnowledgeBase,
        jobs: Jobs,
        records: Records,
        *,
        clock: Callable[[], datetime] = lambda: datetime.now().astimezone(),
        parent: QObject | None = None,
    ) -> None:
        super().__init__(base, jobs, parent)
        self.records = records
        self.kept: Kept | None = None
        self.saved = False
        self.trouble = ""
        self._changed = False
        self._state: State | None = None  # that the case should be in, and is not yet
        self._left: list[_Left] = []
        self._clock = clock
        self._history = History(Case(knowledge=base.version))
        self._sender = Sender(records, jobs)
        self._sender.came.connect(self._on_came)
        self._sender.waits.connect(self.saved_changed)
        self._sender.failed.connect(self.failed)

    @property
    def case(self) -> Case:
        """The case as it is now."""
        return self._history.case

    @property
    def undoes(self) -> str:
        """What undo would take back; empty if there is nothing."""
        return self._history.undoes

    @property
    def redoes(self) -> str:
        """What redo would do again; empty if there is nothing."""
        return self._history.redoes

    def now(self) -> str:
        """The time to write beside an answer."""
        return self._clock().isoformat(timespec="minutes")

    def start(self, case: Case | None = None, kept: Kept | None = None) -> None:
        """Begin with a case; nothing is kept before its first change.

        The one before is held here if it can't be saved, and is saved with the next.

        Parameters
        ----------
        case : Case, optional
            An empty one if left out.
        kept : Kept, optional
            The case as the store has it, instead.
        """
        self.leave()
        if self._unsaved:
            self._left.append(_Left(self.kept, self.case, self._state))
        self._changed, self._state = False, None
        if kept is not None:
            case = kept.case
        self._history = History(case or Case(knowledge=self.base.version))
        self.kept = kept
        self.saved = kept is not None
        self.trouble = messages.LEFT_UNSAVED if self._left else ""
        self._forget(compares=case is not None)
        self.saved_changed.emit()
        self._tell_left()
        self._announce()

    def leave(self) -> None:
        """Note in a case whose answers changed what it is assessed as, before it is left.

        That it can't be noted now is no loss where the answers are kept: it can be weighed anew.
        """
        case, unsaved = self._ranked(self.case), self._unsaved
        if unsaved or (self._changed and self.kept is not None and case != self.case):
            try:
                self.kept = self.records.keep(self.kept, case, self.now(), self._state)
            except StoreError:
                if unsaved:
                    return
            else:
                self._history.replace(case)
                self._note_saved()
                if not self.kept.sent:
                    self.send()
        self._changed = False

    @property
    def _unsaved(self) -> bool:
        return self._changed and not self.saved

    def open(self, path: Path) -> None:
        """Begin with the case of a file, which is taken into the store and stays as it is.

        An example of the program's own is taken in at its first change.

        Raises
        ------
        CaseFileError
            If it can't be used; the case on the screen stays.
        """
        case = read_case_file(path, self.base)
        kept: Kept | None = None
        refused: tuple[str, ...] = ()
        if base_folder().parent not in path.resolve().parents:
            try:
                kept, refused = self.records.take_in_whole(path, self.now())
            except StoreError as error:
                self.failed.emit(error.sentence, error.next_step)
        self.start(case, kept)
        self.said.emit((messages.TAKEN_IN if kept else messages.COPIED).format(name=path.name))
        if refused:
            self.failed.emit(" ".join(refused), messages.PHOTOS_REFUSED)

    def open_kept(self, case_id: str) -> None:
        """Begin with a case of the store, once it is read."""
        self._jobs.start(
            "open",
            Job(
                lambda: self.records.read(case_id),
                lambda kept: self.start(kept=kept),
                self._on_not_in_store,
            ),
        )

    def change(self, case: Case, what: str, state: State | None = None) -> None:
        """Go on to the next case, one step that undo takes back; `what` names it.

        With `state` the case is in that state from the same moment on.
        """
        if case != self.case:
            self._history.add(signed(self.case, case, self.records.by), what)
            self._go_on(state)

    def amend(self, case: Case) -> None:
        """Change the case within the step that has just been done."""
        if case != self.case:
            self._history.replace(case)
            self._go_on()

    def undo(self) -> None:
        """Take the last step back."""
        what = self._history.back()
        if what:
            self._go_on()
            self.said.emit(messages.UNDONE.format(what=what))

    def redo(self) -> None:
        """Do again what was taken back."""
        what = self._history.forth()
        if what:
            self._go_on()
            self.said.emit(messages.REDONE.format(what=what))

    def set_state(self, state: State) -> None:
        """Say how far the case is; a case that is new is kept with it."""
        if self.kept is None or state is not self.kept.state:
            self.save(state)

    def save(self, state: State | None = None) -> bool:
        """Keep the case in the store, and what was left unsaved; gives whether all is on disk now.

        With `state` the case is in that state from now on.
        """
        self._state = state or self._state
        try:
            kept = self.records.keep(self.kept, self.case, self.now(), self._state)
        except StoreError as error:
            self.saved, self.trouble = False, error.sentence
            self.saved_changed.emit()
            self.failed.emit(error.sentence, error.next_step)
            return False
        self._keep_left()
        self._note_saved()
        self._take(kept)
        self._tell_left()
        if not kept.sent:
            self.send()
        return not self._left

    def _tell_left(self) -> None:
        if self._left:
            self.failed.emit(messages.LEFT_UNSAVED, messages.LEFT_NEXT)

    def _note_saved(self) -> None:
        self.saved, self._state = True, None
        self.trouble = messages.LEFT_UNSAVED if self._left else ""

    def _keep_left(self) -> None:
        """Keep the cases that were left while they could not be saved, as far as that goes."""
        for left in tuple(self._left):
            with contextlib.suppress(StoreError):
                self.records.keep(left.kept, left.case, self.now(), left.state)
                self._left.remove(left)

    def write(self, path: Path) -> bool:
        """Write the case to a file to send or to keep; gives whether it is there.

        Its photographs are fetched beside the window, and the file is written once more with them.
        """
        case = self._ranked(self.case)
        try:
            write(path, case)
        except CaseFileError as error:
            self.failed.emit(error.sentence, error.next_step)
            return False
        self.said.emit(messages.WRITTEN.format(path=path))
        kept, records = self.kept, self.records
        if kept is not None:
            self._jobs.start(
                "write",
                Job(
                    lambda: write_with_photographs(path, case, records.album, kept.id),
                    lambda said: self.said.emit(said) if said else None,
                    self._on_photographs_failed,
                ),
            )
        return True

    def _on_photographs_failed(self, error: Exception) -> None:
        if not isinstance(error, PullOnceError):
            raise error
        self.failed.emit(f"{messages.WITHOUT_PHOTOS} {error.sentence}", error.next_step)

    def settle(self, conflict: int, *, other: bool) -> None:
        """Say which of two answers counts, by the number of their conflict."""
        keep: Literal["first", "other"] = "other" if other else "first"
        who = self.records.by, self.now()
        # A slot for each: of two that are settled at once none is passed over.
        self._jobs.start(
            f"settle {conflict}",
            Job(
                lambda: self.records.store.settle(conflict, keep, *who),
                self._on_settled,
                self._on_not_in_store,
            ),
        )

    def send(self) -> None:
        """Send what waits for the server, and take what other seats have made of the case."""
        self._sender.send(self.kept.id if self.kept is not None else "")

    def _on_settled(self, kept: Kept) -> None:
        if self.records.has_server:
            self.send()  # answers may wait that this does not hold
        elif self.saved:
            self._take(kept)

    def _on_not_in_store(self, error: Exception) -> None:
        if not isinstance(error, PullOnceError):
            raise error
        self.failed.emit(error.sentence, error.next_step)

    def _on_came(self, kept: Kept) -> None:
        here = self.kept is not None and kept.id == self.kept.id
        if here and self.saved and not self._waits(kept.id):
            self._take(kept)

    def _waits(self, case_id: str) -> bool:
        try:
            return self.records.waits(case_id)
        except StoreError:
            return True  # that can't be told now: what is on the screen stays

    def _take(self, kept: Kept) -> None:
        """Go on with a case as the store has it, another seat's changes among it."""
        if self.kept is not None and (kept.id != self.kept.id or kept.number < self.kept.number):
            return  # another case is on the screen by now, or a later state of this one
        self.kept = kept
        self.saved_changed.emit()
        if kept.case != self.case and unranked(kept.case) == unranked(self.case):
            self._history.replace(kept.case)  # another seat left it: no answer is another
        if kept.case != self.case:
            # Undo would take back what somebody else said: it begins anew.
            self._history = History(kept.case)
            self._announce()
            self.joined.emit()
            if kept.by != self.records.by:
                self.said.emit(messages.JOINED.format(by=kept.by or messages.SOMEBODY))

    def _go_on(self, state: State | None = None) -> None:
        self._changed = True
        self.save(state)
        if self._weighs_the_same(self.case):
            self.case_changed.emit()
        else:
            self._announce()

    def _announce(self) -> None:
        self._expect()
        self.case_changed.emit()
        self._weigh(self.case)
