"""What a case is assessed as and what is advised, worked out beside the window."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from threading import Event

from PySide6.QtCore import QObject, Signal

from diagnose.assess import Assessment, assess
from diagnose.case import Case, weighed_digest
from diagnose.errors import PullOnceError
from diagnose.explain import Explanation, explain
from diagnose.planning.advice import advices
from diagnose.planning.record import Advice
from diagnose.sentences import look_again
from knowledge.model import KnowledgeBase
from ui import messages
from ui.jobs import Job, Jobs
from ui.then_and_now import difference, ranked

_WORTH_MARKING = 0.1
# Told of a case and weighing nothing.
_MUTE = ("acknowledged", "title", "words", "found", "note", "ranked", "knowledge")


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


class Weighing(QObject):
    """Weighs one case at a time; whatever is under way for an older one is dropped.

    Signals
    -------
    assessment_changed
        `standing` belongs to the case again.
    advice_changed
        What `standing` advises has been followed further, and may be another step.
    doubts_changed
        `doubts` belongs to the case again.
    compared(object)
        A case that was opened comes to something else than when it was left: a `Difference`.
    busy_changed(bool)
        Whether an assessment is on the way.
    failed(str, str)
        Something went wrong: a sentence, and the next step.
    """

    assessment_changed = Signal()
    advice_changed = Signal()
    doubts_changed = Signal()
    compared = Signal(object)
    busy_changed = Signal(bool)
    failed = Signal(str, str)

    def __init__(self, base: KnowledgeBase, jobs: Jobs, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.base = base
        self.standing: Standing | None = None
        self.before: Standing | None = None
        self.doubts = Doubts((), {})
        self.busy = False
        self._compares = False
        self._jobs = jobs

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

    def _forget(self, *, compares: bool) -> None:
        """Begin with another case; with `compares` it is told what it comes to now."""
        self.standing = self.before = None
        self._compares = compares

    def _ranked(self, case: Case) -> Case:
        """Give a case with what it is assessed as; as it is where that is not known."""
        standing = self.standing
        if standing is None or self.busy or not case.entries:
            return case
        if weighed_digest(standing.assessment.case) != weighed_digest(case):
            return case
        return ranked(case, standing.assessment)

    def _weighs_the_same(self, case: Case) -> bool:
        """Whether a case says nothing new to the assessment that is there, or on the way."""
        if self.busy or self.standing is None:
            return False
        mute = dict.fromkeys(_MUTE)
        weighed = self.standing.assessment.case.model_copy(update=mute)
        return weighed == case.model_copy(update=mute)

    def _expect(self) -> None:
        """Let nobody take what is there for the assessment of the case that has come."""
        self.doubts = Doubts((), {})
        self._set_busy(True)

    def _weigh(self, case: Case) -> None:
        """Assess a case; the older one is stale from now on."""
        base, stale = self.base, Event()
        for slot in ("refine", "doubts", "explain"):
            self._jobs.drop(slot)
        self._jobs.start(
            "assess",
            Job(
                lambda: _stand(base, case, stale.is_set),
                lambda found: self._on_assessed(found[0], found[1], stale),
                self._on_not_assessed,
                stale.set,
            ),
        )

    def _on_assessed(self, standing: Standing, refined: Iterator[Advice], stale: Event) -> None:
        if self.standing is not None:
            self.before = self.standing
        self.standing = standing
        self._set_busy(False)
        assessment = standing.assessment
        found = difference(assessment.case, assessment) if self._compares else None
        self._compares = False
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

    def _on_not_assessed(self, error: Exception) -> None:
        self._set_busy(False)
        self._on_failed(error)

    def _on_failed(self, error: Exception) -> None:
        if not isinstance(error, PullOnceError):
            self.failed.emit(messages.ASSESSING_FAILED, messages.TAKE_BACK)
            raise error
        self.failed.emit(error.sentence, error.next_step or messages.TAKE_BACK)

    def _set_busy(self, busy: bool) -> None:
        if busy != self.busy:
            self.busy = busy
            self.busy_changed.emit(busy)


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
