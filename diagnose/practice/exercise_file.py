"""An exercise as one YAML file: shared, or written by hand.

Format 1 holds the fields of `diagnose.practice.exercise.Exercise` under ``pull_once_exercise: 1``,
those it shares with a case named as in a case file. By hand a set-up, the causes and what the
driver complains of are enough. A file that could not be practised is refused with the reasons.
"""

import contextlib
import os
import re
import secrets
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Any

import yaml
from pydantic import ValidationError

from diagnose.case_file import possible_answers
from diagnose.kit_sheet import SHEET_NAMES, SheetError, read_sheet
from diagnose.practice.exercise import Exercise, ExerciseError, faults_in
from knowledge.marks import DISPUTED, Marked, Problem, read_marked, read_marked_file
from knowledge.marks import Path as DataPath
from knowledge.model import KnowledgeBase
from knowledge.translate import guess_at, translate

FORMAT = 1
_HEAD = "pull_once_exercise"
_FIRST = "# An exercise of Pull Once. It says what is wrong: not for the apprentice's eyes."
_PLAIN = re.compile(r"[A-Za-z_][A-Za-z0-9_ ,.()/-]*(?<![ ])")
_READER_WORDS = frozenset({"true", "false", "null"})
_CORRECT = "Correct these lines; nothing was changed."


def read_exercise_file(path: Path, base: KnowledgeBase) -> Exercise:
    """Read an exercise and see that it can be practised.

    Parameters
    ----------
    path : Path
    base : KnowledgeBase

    Returns
    -------
    Exercise

    Raises
    ------
    ExerciseError
        With one sentence per fault, each with its line where it has one.
    """
    try:
        marked = read_marked_file(path, path.name)
    except OSError as error:
        said = (error.strerror or str(error)).lower()
        raise ExerciseError(
            f"{path.name} can't be read: {said}.", "Check the file and its folder."
        ) from error
    return _exercise_in(marked, base)


def read_exercise_text(text: str, name: str, base: KnowledgeBase) -> Exercise:
    """Read an exercise from the text of its file.

    Parameters
    ----------
    text : str
    name : str
        What the file is called in errors.
    base : KnowledgeBase

    Returns
    -------
    Exercise

    Raises
    ------
    ExerciseError
        As of `read_exercise_file`.
    """
    return _exercise_in(read_marked(text, name), base)


def _exercise_in(marked: Marked, base: KnowledgeBase) -> Exercise:
    name = marked.file
    _refuse(name, marked.problems)
    data = marked.data
    if not isinstance(data, dict) or _HEAD not in data:
        raise ExerciseError(
            f"{name} is no exercise: it does not say '{_HEAD}'.", "Choose another file."
        )
    if type(data[_HEAD]) is not int or data[_HEAD] < 1:
        raise ExerciseError(
            f"{name}: '{_HEAD}' must be a whole number from 1.", "Correct the file."
        )
    if data[_HEAD] > FORMAT:
        raise ExerciseError(
            f"{name} was written by a newer version of the program "
            f"(format {data[_HEAD]}, this one reads up to {FORMAT}).",
            "Update the program; the file is unchanged.",
        )
    content = {key: value for key, value in data.items() if key != _HEAD}
    try:
        exercise = Exercise.model_validate(content)
    except ValidationError as error:
        _refuse(name, tuple(translate(error, Exercise, content, marked)))
        raise  # pragma: no cover - _refuse raises, since there is at least one error
    _refuse(name, tuple(_strangers(exercise, base, marked)))
    faults = faults_in(base, exercise)
    if faults:
        listed = "\n".join(faults)
        raise ExerciseError(
            f"{name} can't be practised:\n{listed}\n",
            "Name other complaints, causes or signs, or another seed.",
        )
    return exercise


def exercise_text(exercise: Exercise) -> str:
    """Give the text of an exercise's file.

    Parameters
    ----------
    exercise : Exercise

    Returns
    -------
    str
    """
    data = {_HEAD: FORMAT, **exercise.model_dump(mode="json", exclude_defaults=True)}
    text = yaml.dump(data, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=100)
    return f"{_FIRST}\n{text}"


def write_exercise_file(path: Path, exercise: Exercise) -> None:
    """Write an exercise; the old file stays whole until the new one is safely on disk.

    Parameters
    ----------
    path : Path
    exercise : Exercise

    Raises
    ------
    ExerciseError
        If it can't be written. The old file is unchanged.
    """
    write_whole(path, exercise_text(exercise), "The exercise")


def write_whole(path: Path, text: str, what: str) -> None:
    """Write a text file whole or not at all.

    Parameters
    ----------
    path : Path
    text : str
    what : str
        What it is, to begin an error's sentence.

    Raises
    ------
    ExerciseError
        If it can't be written. The old file is unchanged.
    """
    temporary = path.with_name(f".pull-once-{secrets.token_hex(8)}")
    try:
        with temporary.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(path)
    except OSError as error:
        said = (error.strerror or str(error)).lower()
        raise ExerciseError(
            f"{what} could not be saved to {path.name}: {said}. The old file is unchanged.",
            "Free the disc or save it somewhere else.",
        ) from error
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink()


class _Dumper(yaml.SafeDumper):
    """Writes what `knowledge.marks` reads back the same: no aliases, disputed words in quotes."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def _text_node(dumper: _Dumper, text: str) -> yaml.ScalarNode:
    safe = _PLAIN.fullmatch(text) and text not in _READER_WORDS and not DISPUTED.fullmatch(text)
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style=None if safe else '"')


_Dumper.add_representer(str, _text_node)


def _refuse(name: str, problems: tuple[Problem, ...]) -> None:
    if problems:
        listed = "\n".join(str(problem) for problem in sorted(problems))
        raise ExerciseError(f"{name} can't be used:\n{listed}\n", _CORRECT)


def _strangers(exercise: Exercise, base: KnowledgeBase, marked: Marked) -> Iterator[Problem]:
    """Everything the exercise names that the base does not know."""
    for path, name, pool, what in _names_in(exercise, base):
        if name not in pool:
            message = f"{name!r} is no {what} of the knowledge base"
            in_key = path[0] in {"hours", "facts"} and len(path) == 2
            yield marked.problem(path, message, key=in_key, guess=guess_at(name, pool))
    if exercise.setup is None and not exercise.facts:
        yield marked.problem((), "either 'setup' or 'facts' is needed")
    for name, text in exercise.kit.items():
        try:
            read_sheet(name, text)
        except SheetError as error:
            yield marked.problem(("kit", name), str(error), key=name not in SHEET_NAMES)
    for i, entry in enumerate(exercise.entries):
        kind, name = entry.subject
        if kind != "work" or entry.when != "job":
            message = "the driver tells of work at the job here; complaints have their own list"
            yield marked.problem(("entries", i), message)
        elif name in base.work and entry.answer not in possible_answers(base, entry):
            answers = possible_answers(base, entry)
            message = f"{entry.answer!r} is no answer here; possible are {', '.join(answers)}"
            guess = guess_at(entry.answer, answers)
            yield marked.problem(("entries", i, "answer"), message, guess=guess)
    for i, cause in enumerate(exercise.causes):
        if cause in exercise.causes[:i]:
            yield marked.problem(("causes", i), f"{cause!r} stands here twice")
    if exercise.decoy and exercise.decoy.cause in exercise.causes:
        yield marked.problem(("decoy", "cause"), "a decoy points to a cause that is not there")


def _names_in(
    exercise: Exercise, base: KnowledgeBase
) -> Iterator[tuple[DataPath, str, Collection[str], str]]:
    """List what an exercise names: path, name, where it must be, what it is."""
    if exercise.setup is not None:
        yield ("setup",), exercise.setup, base.setups, "set-up"
    if exercise.zone is not None:
        yield ("zone",), exercise.zone, base.zones, "zone"
    for name, values in exercise.facts.items():
        yield ("facts", name), name, base.facts, "fact"
        if name in base.facts:
            known = base.facts[name].values
            yield from ((("facts", name, i), v, known, "value") for i, v in enumerate(values))
    yield from ((("hours", name), name, base.levels, "level") for name in exercise.hours)
    signs = {**base.findings, **base.complaints}
    lists: tuple[tuple[str, tuple[str, ...], Collection[str], str], ...] = (
        ("complaints", exercise.complaints, base.complaints, "complaint"),
        ("causes", exercise.causes, base.causes, "cause"),
        ("signs", exercise.signs or (), signs, "finding or complaint"),
    )
    for key, names, pool, what in lists:
        yield from (((key, i), name, pool, what) for i, name in enumerate(names))
    for i, entry in enumerate(exercise.entries):
        if entry.work is not None:
            yield ("entries", i, "work"), entry.work, base.work, "work"
    if exercise.decoy is not None:
        yield ("decoy", "cause"), exercise.decoy.cause, base.causes, "cause"
        if exercise.decoy.sign is not None:
            yield ("decoy", "sign"), exercise.decoy.sign, base.findings, "finding"
        if exercise.decoy.work is not None:
            yield ("decoy", "work"), exercise.decoy.work, base.work, "work"
