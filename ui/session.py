"""The one owner of the case on the screen, of what it is assessed as, and of its place in store."""

import contextlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from threading import Event
from typing import Literal

from PySide6.QtCore import QObject, Signal

from diagnose.assess import Assessment, assess
from diagnose.case import Case, weighed_digest
from diagnose.case_file import read_case_file, write_case_file
from diagnose.errors import CaseFileError, PullOnceError
from diagnose.explain import Explanation, explain
from diagnose.planning.advice import advices
from diagnose.planning.record import Advice
from diagnose.records.errors import ServerLostError, StoreError
from diagnose.records.kept import Kept, State
from diagnose.sentences import look_again
from knowledge.load import base_folder
from knowledge.model import KnowledgeBase
from ui import messages
from ui.history import History
from ui.jobs import Job, Jobs
from ui.moves import signed
from ui.photos import exported
from ui.records import Records
from ui.then_and_now import difference, ranked, unranked

_WORTH_MARKING = 0.1


@dataclass(frozen=True, eq=False)
class Standing:
    """What one case is assessed as, and what is advised.

    Attributes
    ----------
    assessment : Assessment
    advice : Advice
        As well as it is known by now.
    first : Advice
        What was advised at once, before it was followed further.
    """

    assessment: Assessment
    advice: Advice
    first: Advice


@dataclass(frozen=True)
class Doubts:
    """Second thoughts on the answers.

    Attributes
    ----------
    lines : tuple of str
        Answers that contradict each other, in sentences.
    moved : Mapping
        Index of an entry -> share of the belief that would move if it were left out, 0 to 1; only
        those worth a mark.
    """

    lines: tuple[str, ...]
    moved: Mapping[int, float]


class Session(QObject):
    """Holds the case; every change is saved before anybody hears of it.

    Signals
    -------
    case_changed
        The case is another one; its assessment is on the way.
    assessment_changed
        `standing` belongs to the case again.
    advice_changed
        What `standing` advises has been followed further, and may be another step.
    doubts_changed
        `doubts` belongs to the case again.
    saved_changed
        `kept`, `saved` or `trouble` is another.
    joined
        What another seat made of the case has come in; `case_changed` comes before it.
    compared(object)
        A case that was opened comes to something else than when it was left: a `Difference`.
    busy_changed(bool)
        Whether an assessment is on the way.
    failed(str, str)
        Something went wrong: a sentence, and the next step.
    said(str)
        Something happened that is worth a sentence.
    """

    case_changed = Signal()
    assessment_changed = Signal()
    advice_changed = Signal()
    doubts_changed = Signal()
    saved_changed = Signal()
    joined = Signal()
    compared = Signal(object)
    busy_changed = Signal(bool)
    failed = Signal(str, str)
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
        super().__init__(parent)
        self.base = base
        self.records = records
        self.kept: Kept | None = None
        self.saved = False
        self.trouble = ""
        self.standing: Standing | None = None
        self.before: Standing | None = None
        self.doubts = Doubts((), {})
        self.busy = False
        self._changed = self._opened = False
        self._jobs = jobs
        self._clock = clock
        self._history = History(Case(knowledge=base.version))

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

        Parameters
        ----------
        case : Case, optional
            An empty one if left out.
        kept : Kept, optional
            The case as the store has it, instead.
        """
        self.leave()
        if kept is not None:
            case = kept.case
        self._changed, self._opened = False, case is not None
        self._history = History(case or Case(knowledge=self.base.version))
        self.kept = kept
        self.saved = kept is not None
        self.trouble = ""
        self.standing = self.before = None
        self.saved_changed.emit()
        self._announce()

    def leave(self) -> None:
        """Note in a case whose answers changed what it is assessed as, before it is left.

        That it can't be noted now is no loss: the answers are kept, and it can be weighed anew.
        """
        case = self._ranked()
        if self._changed and self.kept is not None and case != self.case:
            with contextlib.suppress(StoreError):
                self.kept = self.records.keep(self.kept, case, self.now())
                self._history.replace(case)
        self._changed = False

    def _ranked(self) -> Case:
        """The case with what it is assessed as; as it is where that is not known."""
        standing, case = self.standing, self.case
        if standing is None or self.busy or not case.entries:
            return case
        if weighed_digest(standing.assessment.case) != weighed_digest(case):
            return case
        return ranked(case, standing.assessment)

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
                self._on_failed,
            ),
        )

    def change(self, case: Case, what: str) -> None:
        """Go on to the next case, one step that undo takes back; `what` names it."""
        if case != self.case:
            self._history.add(signed(self.case, case, self.records.by), what)
            self._settle()

    def amend(self, case: Case) -> None:
        """Change the case within the step that has just been done."""
        if case != self.case:
            self._history.replace(case)
            self._settle()

    def undo(self) -> None:
        """Take the last step back."""
        what = self._history.back()
        if what:
            self._settle()
            self.said.emit(messages.UNDONE.format(what=what))

    def redo(self) -> None:
        """Do again what was taken back."""
        what = self._history.forth()
        if what:
            self._settle()
            self.said.emit(messages.REDONE.format(what=what))

    def save(self) -> bool:
        """Keep the case in the store; gives whether it is on disk now."""
        try:
            kept = self.records.keep(self.kept, self.case, self.now())
        except StoreError as error:
            self.saved, self.trouble = False, error.sentence
            self.saved_changed.emit()
            self.failed.emit(error.sentence, error.next_step)
            return False
        self.saved, self.trouble = True, ""
        self._take(kept)
        if not kept.sent:
            self.send()
        return True

    def write(self, path: Path) -> bool:
        """Write the case to a file to send or to keep; gives whether it is there.

        Its photographs are fetched beside the window, and the file is written once more with them.
        """
        case = self._ranked()
        try:
            _write(path, case)
        except CaseFileError as error:
            self.failed.emit(error.sentence, error.next_step)
            return False
        self.said.emit(messages.WRITTEN.format(path=path))
        kept = self.kept
        if kept is not None:
            store = self.records
            self._jobs.start(
                "write",
                Job(
                    lambda: _write_with_photographs(path, case, store, kept.id),
                    lambda said: self.said.emit(said) if said else None,
                    self._on_photographs_failed,
                ),
            )
        return True

    def _on_photographs_failed(self, error: Exception) -> None:
        if not isinstance(error, PullOnceError):
            raise error
        self.failed.emit(f"{messages.WITHOUT_PHOTOS} {error.sentence}", error.next_step)

    def set_state(self, state: State) -> None:
        """Say how far the case is; a case that is new is kept first."""
        if self.kept is None and not self.save():
            return
        kept = self.kept
        if kept is not None:
            who = self._who()
            self._in_store(lambda: _with_state(self.records, kept.id, state, who))

    def settle(self, conflict: int, *, other: bool) -> None:
        """Say which of two answers counts, by the number of their conflict."""
        keep: Literal["first", "other"] = "other" if other else "first"
        self._in_store(lambda: self.records.store.settle(conflict, keep, *self._who()))

    def send(self) -> None:
        """Send what waits for the server, and take what other seats have made of the case."""
        if not self.records.has_server:
            return
        case_id = self.kept.id if self.kept is not None else None
        self._jobs.start(
            "send", Job(lambda: _sent(self.records, case_id), self._on_sent, self._on_not_sent)
        )

    def _who(self) -> tuple[str, str]:
        return self.records.by, self.now()

    def _in_store(self, act: Callable[[], Kept]) -> None:
        self._jobs.start("store", Job(act, self._take, self._on_failed))

    def _on_sent(self, kept: Kept | None) -> None:
        mine = kept is not None and self.kept is not None and kept.id == self.kept.id
        if kept is not None and mine and not self.records.waits(kept.id):
            self.records.seen(kept)
            self._take(kept)

    def _on_not_sent(self, error: Exception) -> None:
        if not isinstance(error, ServerLostError):
            self._on_failed(error)
        self.saved_changed.emit()  # it waits, and the header says so

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

    def explain(self, cause: str, done: Callable[[Explanation], None]) -> None:
        """Account for a cause; `done` is called later, unless another cause was asked for since."""
        standing = self.standing
        if standing is not None:
            self._jobs.start(
                "explain",
                Job(lambda: explain(standing.assessment, cause), done, self._on_failed),
            )

    def drop_explanation(self) -> None:
        """Nobody waits for the account of a cause any more."""
        self._jobs.drop("explain")

    def _settle(self) -> None:
        self._changed = True
        self.save()
        if not self.busy and self._weighs_the_same():
            self.case_changed.emit()
        else:
            self._announce()

    def _weighs_the_same(self) -> bool:
        """Whether the case says nothing new to the assessment that is there."""
        if self.standing is None:
            return False
        mute = dict.fromkeys(
            ("acknowledged", "title", "words", "found", "note", "ranked", "knowledge")
        )
        weighed = self.standing.assessment.case.model_copy(update=mute)
        return weighed == self.case.model_copy(update=mute)

    def _announce(self) -> None:
        self.doubts = Doubts((), {})
        self._set_busy(True)
        self.case_changed.emit()
        base, case = self.base, self.case
        for slot in ("refine", "doubts", "explain"):
            self._jobs.drop(slot)
        stale = Event()
        self._jobs.start(
            "assess",
            Job(
                lambda: _stand(base, case, stale.is_set),
                lambda found: self._on_assessed(found[0], found[1], stale),
                self._on_failed,
                stale.set,
            ),
        )

    def _on_assessed(self, standing: Standing, refined: Iterator[Advice], stale: Event) -> None:
        if self.standing is not None:
            self.before = self.standing
        self.standing = standing
        self._set_busy(False)
        found = difference(self.case, standing.assessment) if self._opened else None
        self._opened = False
        self.assessment_changed.emit()
        if found is not None:
            self.compared.emit(found)
        if self.standing is not standing or self.busy:
            return  # somebody who heard of it has gone on already
        self._refine(standing, refined, stale)
        doubted = Event()
        self._jobs.start(
            "doubts",
            Job(
                lambda: _doubt(self.base, standing.assessment, doubted.is_set),
                self._on_doubted,
                self._on_failed,
                doubted.set,
            ),
        )

    def _refine(self, standing: Standing, coming: Iterator[Advice], stale: Event) -> None:
        """Wait for the next piece of advice on the same case."""
        self._jobs.start(
            "refine",
            Job(
                lambda: next(coming, None),
                lambda better: self._on_refined(standing, better, coming, stale),
                self._on_failed,
                stale.set,
            ),
        )

    def _on_refined(
        self, standing: Standing, better: Advice | None, coming: Iterator[Advice], stale: Event
    ) -> None:
        if better is not None and self.standing is standing:
            self.standing = replace(standing, advice=better)
            self._refine(self.standing, coming, stale)
            self.advice_changed.emit()

    def _on_doubted(self, doubts: Doubts) -> None:
        self.doubts = doubts
        self.doubts_changed.emit()

    def _on_failed(self, error: Exception) -> None:
        self._set_busy(False)
        if not isinstance(error, PullOnceError):
            self.failed.emit(messages.ASSESSING_FAILED, messages.TAKE_BACK)
            raise error
        self.failed.emit(error.sentence, error.next_step or messages.TAKE_BACK)

    def _set_busy(self, busy: bool) -> None:
        if busy != self.busy:
            self.busy = busy
            self.busy_changed.emit(busy)


def _write(path: Path, case: Case) -> None:
    """Write a case file, making its folder.

    Raises
    ------
    CaseFileError
        If it can't be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CaseFileError(
            f"The case could not be saved: the folder {path.parent} can't be made.",
            "Nothing is lost while the program is open: save it somewhere else (Ctrl+Shift+S).",
        ) from error
    write_case_file(path, case)


def _write_with_photographs(path: Path, case: Case, records: Records, case_id: str) -> str:
    """Write a case file once more with the case's photographs; gives what to say of it, if any.

    Raises
    ------
    CaseFileError, StoreError
        If that can't be done; the file is as it was.
    """
    photos, said = exported(records.store, case_id)
    if photos:
        write_case_file(path, case, photos)
    return f"{messages.WRITTEN.format(path=path)} {said}" if said else ""


def _with_state(records: Records, case_id: str, state: State, who: tuple[str, str]) -> Kept:
    """Say how far a case is; what waits for the server goes first, for it may be the case."""
    records.send()
    return records.store.set_state(case_id, state, *who)


def _sent(records: Records, case_id: str | None) -> Kept | None:
    """Send what waits; gives the case with this id as the server has it then."""
    records.send()
    return None if case_id is None else records.store.read(case_id)


def _stand(
    base: KnowledgeBase, case: Case, stale: Callable[[], bool]
) -> tuple[Standing, Iterator[Advice]]:
    """Give what is advised at once, and the advice that is still to come."""
    assessment = assess(base, case)
    coming = advices(assessment, cancelled=stale)
    first = next(coming)
    return Standing(assessment, first, first), coming


def _doubt(base: KnowledgeBase, assessment: Assessment, stale: Callable[[], bool]) -> Doubts:
    """Find what to look at again, and which answers the ranking leans on most.

    What is found once nobody waits for it any more is not the whole of it.
    """
    case = assessment.case
    whole = {c.id: c.p for c in assessment.causes}
    moved: dict[int, float] = {}
    for i, entry in enumerate(case.entries):
        if stale():
            break
        if entry.work is None and entry.repair is None:
            without = case.model_copy(update={"entries": case.entries[:i] + case.entries[i + 1 :]})
            rest = assess(base, without, sets=1)
            moved[i] = 0.5 * sum(abs(c.p - whole[c.id]) for c in rest.causes)
    top = sorted(moved, key=lambda i: -moved[i])[:2]
    marked = {i: moved[i] for i in top if moved[i] >= _WORTH_MARKING}
    return Doubts(tuple(look_again(assessment)), marked)
