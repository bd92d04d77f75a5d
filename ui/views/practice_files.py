"""Exercises and results as files: opened, saved, put on paper and exported, off the window."""

from collections.abc import Callable
from pathlib import Path
from threading import Event
from typing import Any, Protocol, cast

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QWidget

from diagnose.practice.exercise import Exercise
from diagnose.practice.review import belief
from diagnose.report import Paper
from knowledge.model import KnowledgeBase
from ui import practice_desk as desk
from ui.practice_looks import Looks
from ui.views.practice_setup import PracticeSetup

_YAML, _PDF, _CSV = "Exercises (*.yaml *.yml)", "PDF files (*.pdf)", "Tables (*.csv)"
_WRITING = "Writing it …"


class Work(Protocol):
    """Does work in a slot of its own, and tells what went wrong."""

    def __call__(
        self,
        slot: str,
        work: Callable[[], Any],
        done: Callable[[Any], None],
        *,
        cancel: Callable[[], None] = ...,
    ) -> None: ...


class PracticeFiles(QObject):
    """What a trainer does with exercises, and the door to one that is chosen.

    Parameters
    ----------
    base : KnowledgeBase
    folder : Path
        Where results are kept.
    setup : PracticeSetup
        Says what exercise is wanted.
    work : Work
    parent : QWidget

    Signals
    -------
    said(str)
        Something happened that is worth a sentence.
    """

    said = Signal(str)

    def __init__(
        self, base: KnowledgeBase, folder: Path, setup: PracticeSetup, work: Work, parent: QWidget
    ) -> None:
        super().__init__(parent)
        self._base, self._folder, self._setup = base, folder, setup
        self._work, self._window = work, parent
        self.ask_open_path: Callable[[str], str] = self._ask_open_path
        self.ask_save_path: Callable[[str, str], str] = self._ask_save_path
        setup.open_wanted.connect(self._on_open)
        setup.example_wanted.connect(lambda: self.open(desk.example_file()))
        setup.save_wanted.connect(lambda: self.with_exercise(self._save))
        setup.worksheet_wanted.connect(self._on_worksheet)

    def with_exercise(self, then: Callable[[Exercise], None]) -> None:
        """Draw what is chosen, and go on with it; its number is shown."""
        wanted = self._setup.wanted()
        if wanted is None:
            return
        wanted, base = desk.numbered(wanted), self._base
        if wanted.seed is not None:
            self._setup.seed.setText(str(wanted.seed))
        self._work("draw", lambda: desk.made(base, wanted), then)

    def open(self, path: Path) -> None:
        """Take the exercise of a file."""
        base = self._base
        self._work("open", lambda: desk.read(base, path), self._setup.show_given)

    def export(self) -> None:
        """Write the results as a table."""
        path, folder = self._path("results.csv", _CSV), self._folder
        if path is not None:
            self._write("export", lambda: desk.export(folder, path), f"The table is in {path}.")

    def _on_open(self) -> None:
        chosen = self.ask_open_path(_YAML)
        if chosen:
            self.open(Path(chosen))

    def _save(self, exercise: Exercise) -> None:
        path, base = self._path("exercise.yaml", _YAML), self._base
        if path is not None:
            done = f"The exercise is in {path}."
            self._write("save", lambda: desk.write(base, path, exercise), done)

    def _on_worksheet(self, answers: bool) -> None:
        self.with_exercise(lambda exercise: self._print(exercise, answers=answers))

    def _print(self, exercise: Exercise, *, answers: bool) -> None:
        """Write the worksheet, or the answer sheet with the planner's way."""
        from ui.worksheet_pdf import PlannedWay, answer_sheet_pdf, worksheet_pdf

        path = self._path("answers.pdf" if answers else "worksheet.pdf", _PDF)
        if path is None:
            return
        base, looks, stale = self._base, Looks(), Event()
        paper = cast("Paper", self._setup.paper.currentData())

        def work() -> None:
            if answers:
                run = looks.planner(base, exercise, stale.is_set)
                way = PlannedWay(run, belief(run, look=looks.appraiser(stale.is_set)))
                content = answer_sheet_pdf(base, exercise, way, paper)
            else:
                content = worksheet_pdf(base, exercise, paper)
            path.write_bytes(content)

        self._write("paper", work, f"It is in {path}.", cancel=stale.set)

    def _write(
        self,
        slot: str,
        work: Callable[[], Any],
        done: str,
        *,
        cancel: Callable[[], None] = lambda: None,
    ) -> None:
        self.said.emit(_WRITING)
        self._work(slot, work, lambda _: self.said.emit(done), cancel=cancel)

    def _path(self, name: str, kind: str) -> Path | None:
        """Let the user choose a file to write."""
        chosen = self.ask_save_path(name, kind)
        if not chosen:
            return None
        path = Path(chosen)
        return path if path.suffix else path.with_suffix(Path(name).suffix)

    def _ask_open_path(self, kind: str) -> str:
        folder = str(Path.home())
        return QFileDialog.getOpenFileName(self._window, "Open an exercise", folder, kind)[0]

    def _ask_save_path(self, name: str, kind: str) -> str:
        folder = str(Path.home() / name)
        return QFileDialog.getSaveFileName(self._window, "Save as", folder, kind)[0]
