"""Exercises drawn and read, and results kept in the user's data folder; Qt-free."""

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from secrets import randbelow

from numpy.random import default_rng

from diagnose.practice.drawing import draw_exercise
from diagnose.practice.exercise import Difficulty, Exercise, settled
from diagnose.practice.exercise_file import read_exercise_file, write_exercise_file
from diagnose.practice.results import (
    Read,
    Result,
    append_result,
    read_results,
    result_of,
    write_csv,
)
from diagnose.practice.review import Review
from diagnose.practice.scoring import Score
from knowledge.load import base_folder
from knowledge.model import KnowledgeBase

_NUMBERS = 100_000  # of exercises that are drawn without a number being asked for
_FILE = "practice.jsonl"


@dataclass(frozen=True)
class Wanted:
    """What exercise is wanted: drawn by a number, or the one of a file.

    Attributes
    ----------
    difficulty : str
    setup, zone : str or None
        Any without it.
    seed : int or None
        A new number without it.
    given : Exercise or None
        The exercise of a file, instead of all that.
    """

    difficulty: Difficulty = "single"
    setup: str | None = None
    zone: str | None = None
    seed: int | None = None
    given: Exercise | None = None


def example_file() -> Path:
    """Give the exercise that comes with the program."""
    return base_folder().parent / "examples" / "exercise.yaml"


def results_file(folder: Path) -> Path:
    """Give the file of results in a data folder."""
    return folder / _FILE


def numbered(wanted: Wanted) -> Wanted:
    """Give what is wanted with a number, a new one if there is none."""
    if wanted.given is not None or wanted.seed is not None:
        return wanted
    return replace(wanted, seed=randbelow(_NUMBERS))


def made(base: KnowledgeBase, wanted: Wanted) -> Exercise:
    """Give the exercise that is wanted; the same for the same choices and number.

    Raises
    ------
    ExerciseError
        If none can be drawn.
    ValueError
        If it is to be drawn and has no number.
    """
    if wanted.given is not None:
        return wanted.given
    if wanted.seed is None:
        message = "an exercise that is drawn needs a number"
        raise ValueError(message)
    drawn = draw_exercise(
        base,
        default_rng(wanted.seed),
        difficulty=wanted.difficulty,
        zone=wanted.zone,
        setup=wanted.setup,
    )
    return drawn.model_copy(update={"title": f"Exercise {wanted.seed}"})


def read(base: KnowledgeBase, path: Path) -> Exercise:
    """Read an exercise's file.

    Raises
    ------
    ExerciseError
        If it can't be used.
    """
    return read_exercise_file(path, base)


def write(base: KnowledgeBase, path: Path, exercise: Exercise) -> None:
    """Write an exercise with all its signs named, so that it is the same vehicle anywhere.

    Raises
    ------
    ExerciseError
        If it can't be written.
    """
    write_exercise_file(path, settled(base, exercise))


def keep(
    folder: Path,
    apprentice: str,
    exercise: Exercise,
    score: Score,
    review: Review | None,
    now: datetime,
) -> Result:
    """Add a result to those in a data folder.

    Parameters
    ----------
    folder : Path
    apprentice : str
    exercise : Exercise
    score : Score
    review : Review or None
        None: the planner has not played it to its end.
    now : datetime

    Returns
    -------
    Result

    Raises
    ------
    ExerciseError
        If it can't be written.
    """
    result = result_of(
        apprentice,
        exercise,
        score,
        at=now.isoformat(timespec="minutes"),
        planner_minutes=None if review is None else review.planner.minutes,
        checklist_minutes=None if review is None else review.checklist.minutes,
    )
    folder.mkdir(parents=True, exist_ok=True)
    append_result(results_file(folder), result)
    return result


def kept(folder: Path) -> Read:
    """Read the results in a data folder.

    Raises
    ------
    ExerciseError
        If they are there and can't be read.
    """
    return read_results(results_file(folder))


def export(folder: Path, path: Path) -> int:
    """Write the results in a data folder as a table; gives how many there are.

    Raises
    ------
    ExerciseError
        If it can't be written.
    """
    results = kept(folder).results
    write_csv(path, results)
    return len(results)
