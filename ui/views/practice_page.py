"""Practice from choosing an exercise to its review; what takes long is done off the window."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from threading import Event
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QStackedWidget, QVBoxLayout, QWidget

from diagnose.errors import PullOnceError
from diagnose.plain_yaml import said
from diagnose.planning.lookahead import CancelledError
from diagnose.planning.problem import Key
from diagnose.practice.exercise import Exercise
from diagnose.practice.hints import hint
from diagnose.practice.review import Point, Review, belief, review
from diagnose.practice.run import Run, begin
from diagnose.practice.scoring import Score, score
from knowledge.model import KnowledgeBase
from ui import practice_desk as desk
from ui.jobs import Job, Jobs
from ui.practice_looks import Looks
from ui.views.practice_files import PracticeFiles
from ui.views.practice_results import PracticeResults
from ui.views.practice_review import PracticeReview
from ui.views.practice_run import PracticeRun
from ui.views.practice_setup import PracticeSetup

_NO_NAME = "No name was given: this result is not kept."
_FAILED = "It could not be weighed. Your exercise is not lost: begin the same again."


class PracticePage(QWidget):
    """Practice.

    Parameters
    ----------
    base : KnowledgeBase
    jobs : Jobs
    folder : Path
        The user's data folder, where results are kept.
    clock : callable

    Signals
    -------
    record_wanted(str, str)
        Kind and id of a record that is wanted in the handbook.
    said(str)
        Something happened that is worth a sentence.
    trouble(str, str)
        Something went wrong: a sentence, and the next step.
    left
        The user is done here for now.
    """

    record_wanted = Signal(str, str)
    said = Signal(str)
    trouble = Signal(str, str)
    left = Signal()

    def __init__(
        self,
        base: KnowledgeBase,
        jobs: Jobs,
        folder: Path,
        *,
        clock: Callable[[], datetime] = lambda: datetime.now().astimezone(),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._base, self._jobs, self._folder, self._clock = base, jobs, folder, clock
        self._run: Run | None = None
        self._looks = Looks()
        self._hints: tuple[str, ...] = ()
        self._owed: tuple[str, Score] | None = None  # scored, and not kept yet
        self.setup = PracticeSetup(base)
        self.running = PracticeRun()
        self.review = PracticeReview()
        self.results = PracticeResults()
        self.stack = QStackedWidget()
        for page in (self.setup, self.running, self.review, self.results):
            self.stack.addWidget(page)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.stack)
        self.files = PracticeFiles(base, folder, self.setup, self._work, self)
        self._connect()

    @property
    def run(self) -> Run | None:
        """The exercise as it stands; None before the first."""
        return self._run

    def take_focus(self) -> None:
        """Put the focus where a person starts."""
        page = self.stack.currentWidget()
        if isinstance(page, PracticeSetup | PracticeRun | PracticeReview | PracticeResults):
            page.take_focus()

    def leave(self) -> None:
        """Keep a result whose planner is still playing, without the planner's minutes."""
        self._jobs.drop("practice review")
        self._jobs.drop("practice ahead")
        self._keep(None)

    def begin(self, exercise: Exercise) -> None:
        """Begin an exercise."""
        self.leave()
        try:
            run = begin(self._base, exercise)
        except PullOnceError as error:
            self.setup.say(f"{error.sentence} {error.next_step}")
            return
        self._looks, self._run, self._hints = Looks(), run, ()
        self.running.show_run(run, new=True)
        self._show(self.running)
        self._look_ahead(exercise)

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        page = self.stack.currentWidget()
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter} and page is self.setup:
            self._on_begin()
        elif event.key() == Qt.Key.Key_Escape and page is self.setup:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def _connect(self) -> None:
        setup, running, looked = self.setup, self.running, self.review
        setup.begin_wanted.connect(self._on_begin)
        setup.results_wanted.connect(self.show_results)
        running.move_wanted.connect(self._on_move)
        running.cautions_read.connect(self._on_read)
        running.hint_wanted.connect(self._on_hint)
        running.broken_off.connect(self._on_broken_off)
        running.left.connect(self.left)
        looked.again_wanted.connect(self._on_again)
        looked.other_wanted.connect(self._on_other)
        looked.results_wanted.connect(self.show_results)
        looked.record_wanted.connect(self.record_wanted)
        self.results.export_wanted.connect(self.files.export)
        self.files.said.connect(self.said)
        self.results.left.connect(self._on_results_left)

    def _show(self, page: QWidget) -> None:
        self.stack.setCurrentWidget(page)
        self.take_focus()

    # -- before an exercise

    def _on_begin(self) -> None:
        self.files.with_exercise(self.begin)

    # -- while it runs

    def _look_ahead(self, exercise: Exercise) -> None:
        """Play the planner's way while the apprentice thinks, so that the review comes sooner."""
        base, looks, stale = self._base, self._looks, Event()
        self._work(
            "ahead",
            lambda: looks.planner(base, exercise, stale.is_set),
            lambda _: None,
            cancel=stale.set,
        )

    def _on_read(self, cautions: tuple[str, ...]) -> None:
        if self._run is not None:
            self._run = self._run.reading(cautions)
            self.running.refresh(self._run)

    def _on_move(self, act: Key | None) -> None:
        run = self._run
        if run is None or run.over:
            return
        try:
            run = run.giving_back() if act is None else run.after(act)
        except PullOnceError as error:
            self.trouble.emit(error.sentence, error.next_step)
            return
        self._run, self._hints = run, ()
        self._jobs.drop("practice hint")
        self.running.show_hints(())
        if run.over:
            self._look_back(run)
            return
        self.running.show_run(run)
        self.running.take_focus()
        self.said.emit("")

    def _on_hint(self) -> None:
        run, looks, stale = self._run, self._looks, Event()
        if run is None or run.over or len(self._hints) < run.hints:
            return  # the step before is still being thought about
        hinted = run.hinted()
        if hinted.hints == run.hints:
            return
        self._run = hinted
        self.running.refresh(hinted)
        self.running.show_hints(self._hints, waiting=True)
        look, shop = looks.appraiser(stale.is_set), hinted.shop
        self._work(
            "hint",
            lambda: hint(look(shop), hinted.hints).text,
            self._on_hinted,
            cancel=stale.set,
        )

    def _on_hinted(self, text: str) -> None:
        self._hints = (*self._hints, text)
        self.running.show_hints(self._hints)

    # -- after it

    def _look_back(self, run: Run) -> None:
        """Weigh the moves, then play planner and check-list; each is shown as it is ready."""
        self._jobs.drop("practice ahead")
        self.review.begin(run)
        self._show(self.review)
        base, looks, stale = self._base, self._looks, Event()
        look = looks.appraiser(stale.is_set)

        def scored(found: tuple[Score, tuple[Point, ...]]) -> None:
            self._owed = (self.setup.apprentice, found[0])
            self.review.show_score(*found)
            self._work(
                "review",
                lambda: review(base, run, look=look),
                self._on_reviewed,
                cancel=stale.set,
                failed=self.review.say_failed,
            )

        def weighed() -> tuple[Score, tuple[Point, ...]]:
            return score(run, look=look), belief(run, look=look)

        self._work(
            "review",
            weighed,
            scored,
            cancel=stale.set,
            failed=self.review.say_failed,
        )

    def _on_reviewed(self, looked: Review) -> None:
        self.review.show_review(looked)
        self._keep(looked)

    def _keep(self, looked: Review | None) -> None:
        """Keep the result, once, if somebody has told his name."""
        if self._owed is None or self._run is None:
            return
        (name, made), self._owed = self._owed, None
        if not name:
            self.review.say_kept(_NO_NAME)
            return
        try:
            desk.keep(self._folder, name, self._run.exercise, made, looked, self._clock())
        except PullOnceError as error:
            self.trouble.emit(error.sentence, error.next_step)
            return
        self.review.say_kept(f"Kept among the results of {name}.")

    def _on_again(self) -> None:
        if self._run is not None:
            self.begin(self._run.exercise)

    def _on_broken_off(self) -> None:
        self._run = None
        self._jobs.drop("practice hint")
        self._on_other()

    def _on_other(self) -> None:
        self.leave()
        if self.setup.seed.isEnabled():
            self.setup.seed.clear()
        self._show(self.setup)

    # -- results

    def show_results(self) -> None:
        """Show the results that are kept."""
        folder = self._folder
        self._show(self.results)
        self._work(
            "results",
            lambda: desk.kept(folder),
            self.results.show_results,
            failed=self.results.show_trouble,
        )

    def _on_results_left(self) -> None:
        over = self._run is not None and self._run.over
        reviewed = over and self.review.mine.model().rowCount() > 0
        self._show(self.review if reviewed else self.setup)

    # -- doors

    def _work(
        self,
        slot: str,
        work: Callable[[], Any],
        done: Callable[[Any], None],
        *,
        cancel: Callable[[], None] = lambda: None,
        failed: Callable[[str], None] | None = None,
    ) -> None:
        def on_failed(error: Exception) -> None:
            if isinstance(error, CancelledError):
                return
            if isinstance(error, PullOnceError | OSError):
                self._tell(error, failed)
                return
            if failed is not None:
                failed(_FAILED)
            raise error

        self._jobs.start(f"practice {slot}", Job(work, done, on_failed, cancel))

    def _tell(self, error: PullOnceError | OSError, failed: Callable[[str], None] | None) -> None:
        self.said.emit("")
        if isinstance(error, OSError):
            why = f"It could not be written: {said(error)}."
            self.trouble.emit(why, "Save it somewhere else.")
        elif failed is not None:
            failed(f"{error.sentence} {error.next_step}")
        elif self.stack.currentWidget() is self.setup:
            self.setup.say(f"{error.sentence} {error.next_step}")
        else:
            self.trouble.emit(error.sentence, error.next_step)
