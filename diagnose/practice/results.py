"""What apprentices made of exercises: a list that only grows, and a table of it as CSV.

The list is a file of one JSON object a line. A line that was broken off while it was written is
left out; all others stay. Nothing is ever changed or taken away.
"""

import csv
import io
import json
import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field, ValidationError

from diagnose.plain_yaml import said
from diagnose.practice.exercise import Difficulty, Exercise, ExerciseError
from diagnose.practice.exercise_file import write_whole
from diagnose.practice.run import End
from diagnose.practice.scoring import Score
from knowledge.model import Record

FORMAT = 1
# A spreadsheet takes text that begins like this for a formula (CWE-1236).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_MOST_BYTES = 50_000_000
_HEADS = {  # of the table, where the field's own name says too little
    "at": "when",
    "end": "how it ended",
    "minutes": "minutes paid",
    "least": "minutes if all is known",
    "regret": "minutes lost",
    "planner_minutes": "the planner's minutes",
    "checklist_minutes": "a check-list's minutes",
    "redundant": "moves not needed",
    "hints": "steps of hints",
    "pulls": "gearbox out",
    "verified_complaint": "complaint verified",
    "verified_repair": "repair proved by a drive",
    "reason": "why it was stopped",
}

Minutes = Annotated[float, Field(ge=0.0, le=1e7, strict=True)]
Count = Annotated[int, Field(ge=0, le=100_000, strict=True)]


class Result(Record):
    """One exercise of one apprentice.

    Attributes
    ----------
    at : str
        When, as the caller writes it.
    minutes, least, regret : float
        As of `diagnose.practice.scoring.Score`.
    planner_minutes, checklist_minutes : float or None
        What planner and check-list took on the same vehicle, where that was played.
    pulls : int or None
        How often the gearbox came out; None in results that did not count it yet.
    """

    format: Annotated[int, Field(ge=1, le=FORMAT, strict=True)] = FORMAT
    apprentice: Annotated[str, Field(min_length=1, max_length=80)]
    at: Annotated[str, Field(max_length=40)] = ""
    exercise: Annotated[str, Field(max_length=2000)] = ""
    difficulty: Difficulty
    zone: str = ""
    setup: str = ""
    end: End
    solved: bool
    minutes: Minutes
    least: Minutes
    regret: Minutes
    planner_minutes: Minutes | None = None
    checklist_minutes: Minutes | None = None
    moves: Count
    redundant: Count
    hints: Count
    pulls: Count | None = None
    verified_complaint: bool
    verified_repair: bool
    reason: Annotated[str, Field(max_length=4000)] = ""


@dataclass(frozen=True)
class Read:
    """Results of a file, and how many of its lines could not be read."""

    results: tuple[Result, ...]
    broken: int


def result_of(
    apprentice: str,
    exercise: Exercise,
    score: Score,
    *,
    at: str = "",
    planner_minutes: float | None = None,
    checklist_minutes: float | None = None,
) -> Result:
    """Give the result of a scored exercise.

    Parameters
    ----------
    apprentice : str
    exercise : Exercise
    score : Score
    at : str
        When, in the caller's words.
    planner_minutes, checklist_minutes : float, optional

    Returns
    -------
    Result
    """
    return Result(
        apprentice=apprentice,
        at=at,
        exercise=exercise.title,
        difficulty=exercise.difficulty,
        zone=exercise.zone or "",
        setup=exercise.setup or "",
        end=score.end,
        solved=score.solved,
        minutes=score.minutes,
        least=score.least,
        regret=score.regret,
        planner_minutes=planner_minutes,
        checklist_minutes=checklist_minutes,
        moves=len(score.moves),
        redundant=score.redundant,
        hints=score.hints,
        pulls=score.pulls,
        verified_complaint=score.verified_complaint,
        verified_repair=score.verified_repair,
        reason=score.reason[:4000],
    )


def append_result(path: Path, result: Result) -> None:
    """Add a result to a file, which is made if it is not there.

    Parameters
    ----------
    path : Path
    result : Result

    Raises
    ------
    ExerciseError
        If it can't be written.
    """
    line = json.dumps(result.model_dump(mode="json"), ensure_ascii=False)
    try:
        with path.open("ab+") as file:
            if file.tell():
                file.seek(-1, os.SEEK_END)
                # What was broken off keeps its line, so that it spoils no other.
                line = line if file.read(1) == b"\n" else f"\n{line}"
            file.write(f"{line}\n".encode())
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise ExerciseError(
            f"The result could not be added to {path.name}: {said(error)}.",
            "Free the disc, or choose another folder; the exercise is still open.",
        ) from error


def read_results(path: Path) -> Read:
    """Read all results of a file.

    Parameters
    ----------
    path : Path
        None there: no results yet.

    Returns
    -------
    Read

    Raises
    ------
    ExerciseError
        If the file is there and can't be read, or is no list of results.
    """
    if not path.exists():
        return Read((), 0)
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise ExerciseError(f"{path.name} is too large.", "Choose another file.")
        raw = path.read_bytes()
    except OSError as error:
        raise ExerciseError(
            f"{path.name} can't be read: {said(error)}.", "Check the file."
        ) from error
    lines = [line for line in raw.split(b"\n") if line.strip()]
    found = tuple(result for line in lines if (result := _result_in(line)) is not None)
    if lines and not found:
        raise ExerciseError(f"{path.name} is no list of results.", "Choose another file.")
    return Read(found, len(lines) - len(found))


def _result_in(line: bytes) -> Result | None:
    try:
        return Result.model_validate(json.loads(line))
    except (ValueError, ValidationError, RecursionError):
        return None


def by_apprentice(results: Iterable[Result]) -> dict[str, tuple[Result, ...]]:
    """Sort results by apprentice, in the order they came.

    Parameters
    ----------
    results : iterable of Result

    Returns
    -------
    dict
        Name -> results.
    """
    found: dict[str, tuple[Result, ...]] = {}
    for result in results:
        found[result.apprentice] = (*found.get(result.apprentice, ()), result)
    return found


def csv_text(results: Iterable[Result]) -> str:
    """Give results as a table for a spreadsheet.

    Parameters
    ----------
    results : iterable of Result

    Returns
    -------
    str
        Comma separated, one line each, with a head in words. Text that a spreadsheet would take
        for a formula has an apostrophe before it; numbers have one place after the point.
    """
    fields = [name for name in Result.model_fields if name != "format"]
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([_HEADS.get(name, name) for name in fields])
    for result in results:
        writer.writerow([_cell(getattr(result, name)) for name in fields])
    return out.getvalue()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.1f}"
    text = str(value)
    return f"'{text}" if text.lstrip(" ").startswith(_FORMULA) else text


def write_csv(path: Path, results: Iterable[Result]) -> None:
    """Write results as a CSV file that spreadsheets open as UTF-8.

    Parameters
    ----------
    path : Path
    results : iterable of Result

    Raises
    ------
    ExerciseError
        If it can't be written. The old file is unchanged.
    """
    write_whole(path, "\ufeff" + csv_text(results), "The table")
