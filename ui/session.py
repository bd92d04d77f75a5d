"""The one owner of the case on the screen, of what it is assessed as, and of its file."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from threading import Event

from PySide6.QtCore import QObject, Signal

from diagnose.assess import Assessment, assess
from diagnose.case import Case
from diagnose.case_file import read_case_file, write_case_file
from diagnose.errors import CaseFileError, PullOnceError
from diagnose.explain import Explanation, explain
from diagnose.planning.advice import advices
from diagnose.planning.record import Advice
from diagnose.sentences import look_again
from knowledge.load import base_folder
from knowledge.model import KnowledgeBase
from ui import messages
from ui.history import History
from ui.jobs import Job, Jobs

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
        `saved` or `trouble` is another.
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
    busy_changed = Signal(bool)
    failed = Signal(str, str)
    said = Signal(str)

    def __init__(
        self,
        base: KnowledgeBase,
        jobs: Jobs,
        folder: Path,
        *,
        clock: Callable[[], datetime] = lambda: datetime.now().astimezone(),
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self.base = base
        self.folder = folder
        self.path: Path | None = None
        self.saved = False
        self.trouble = ""
        self.standing: Standing | None = None
        self.before: Standing | None = None
        self.doubts = Doubts((), {})
        self.busy = False
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

    def start(self, case: Case | None = None, path: Path | None = None) -> None:
        """Begin with a case; nothing is written before its first change.

        Parameters
        ----------
        case : Case, optional
            An empty one if left out.
        path : Path, optional
            The file it came from and goes to; a new file in the folder if left out.
        """
        self._history = History(case or Case(knowledge=self.base.version))
        self.path = path
        self.saved = path is not None
        self.trouble = ""
        self.standing = self.before = None
        self.saved_changed.emit()
        self._announce()

    def open(self, path: Path) -> None:
        """Begin with the case of a file; an example of the program's own becomes a copy.

        Raises
        ------
        CaseFileError
            If it can't be used; the case on the screen stays.
        """
        case = read_case_file(path, self.base)
        ours = base_folder().parent in path.resolve().parents
        self.start(case, None if ours else path)
        self.said.emit(messages.COPIED if ours else messages.OPENED.format(name=path.name))

    def change(self, case: Case, what: str) -> None:
        """Go on to the next case, one step that undo takes back; `what` names it."""
        if case != self.case:
            self._history.add(case, what)
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
        """Write the case to its file; gives whether it is on disk now."""
        if self.path is None:
            self.path = self._new_path()
        try:
            _write(self.path, self.case)
        except CaseFileError as error:
            self.saved, self.trouble = False, error.sentence
            self.saved_changed.emit()
            self.failed.emit(error.sentence, error.next_step)
            return False
        self.saved, self.trouble = True, ""
        self.saved_changed.emit()
        return True

    def save_as(self, path: Path) -> bool:
        """Write the case to another file and stay with that one if it could be written."""
        old, self.path = self.path, path
        if self.save():
            return True
        self.path = old
        return False

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
        self.save()
        if not self.busy and self._weighs_the_same():
            self.case_changed.emit()
        else:
            self._announce()

    def _weighs_the_same(self) -> bool:
        """Whether the case says nothing new to the assessment that is there."""
        if self.standing is None:
            return False
        mute = dict.fromkeys(("acknowledged", "title", "words", "found"))
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
        self.assessment_changed.emit()
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

    def _new_path(self) -> Path:
        stem = f"case {self._clock():%Y-%m-%d %H%M}"
        names = (f"{stem}.yaml", *(f"{stem} ({n}).yaml" for n in range(2, 1000)))
        return next(p for p in map(self.folder.joinpath, names) if not p.exists())


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
