"""An exercise as one YAML file: shared, or written by hand.

Format 1 holds the fields of `diagnose.practice.exercise.Exercise` under ``pull_once_exercise: 1``,
those it shares with a case named as in a case file. By hand a set-up, the causes and what the
driver complains of are enough. A file that could not be practised is refused with the reasons.
"""

from collections.abc import Collection, Iterator
from pathlib import Path

from diagnose import plain_yaml
from diagnose.case_file import (
    Mention,
    facts_named,
    possible_answers,
    strange_answer,
    strange_figures,
    strange_names,
)
from diagnose.plain_yaml import dumped, record_in, refuse, refuse_format, said
from diagnose.practice.exercise import Decoy, Exercise, ExerciseError, faults_in
from knowledge.marks import Marked, Problem, read_marked, read_marked_file
from knowledge.model import KnowledgeBase

FORMAT = 1
_HEAD = "pull_once_exercise"
_FIRST = "# An exercise of Pull Once. It says what is wrong: not for the apprentice's eyes."


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
        raise ExerciseError(
            f"{path.name} can't be read: {said(error)}.", "Check the file and its folder."
        ) from error
    return _exercise_in(marked, base)


def read_exercise_text(text: str, name: str, base: KnowledgeBase) -> Exercise:
    """Read an exercise from the text of its file, named so in errors; as `read_exercise_file`."""
    return _exercise_in(read_marked(text, name), base)


def _exercise_in(marked: Marked, base: KnowledgeBase) -> Exercise:
    name = marked.file
    refuse(name, marked.problems, ExerciseError)
    data = marked.data
    if not isinstance(data, dict) or _HEAD not in data:
        raise ExerciseError(
            f"{name} is no exercise: it does not say '{_HEAD}'.", "Choose another file."
        )
    refuse_format(marked, _HEAD, FORMAT, ExerciseError)
    exercise = record_in(marked, Exercise, (_HEAD,), ExerciseError)
    refuse(name, _strangers(exercise, base, marked), ExerciseError)
    faults = faults_in(base, exercise)
    if faults:
        listed = "\n".join(faults)
        raise ExerciseError(
            f"{name} can't be practised:\n{listed}\n",
            "Name other complaints, causes or signs, or another seed.",
        )
    return exercise


def exercise_text(exercise: Exercise) -> str:
    """Give the text of an exercise's file."""
    data = {_HEAD: FORMAT, **exercise.model_dump(mode="json", exclude_defaults=True)}
    return f"{_FIRST}\n{dumped(data)}"


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
    try:
        plain_yaml.write_whole(path, text)
    except OSError as error:
        raise ExerciseError(
            f"{what} could not be saved to {path.name}: {said(error)}. The old file is unchanged.",
            "Free the disc or save it somewhere else.",
        ) from error


def _strangers(exercise: Exercise, base: KnowledgeBase, marked: Marked) -> Iterator[Problem]:
    """Everything the exercise names that the base does not know."""
    yield from strange_names(_names_in(exercise, base), marked)
    if exercise.setup is None and not exercise.facts:
        yield marked.problem((), "either 'setup' or 'facts' is needed")
    yield from strange_figures(exercise.kit, marked)
    for i, entry in enumerate(exercise.entries):
        kind, name = entry.subject
        if kind != "work" or entry.when != "job":
            message = "the driver tells of work at the job here; complaints have their own list"
            yield marked.problem(("entries", i), message)
        elif name in base.work and entry.answer not in possible_answers(base, entry):
            yield strange_answer(entry, ("entries", i), base, marked)
    for i, cause in enumerate(exercise.causes):
        if cause in exercise.causes[:i]:
            yield marked.problem(("causes", i), f"{cause!r} stands here twice")
    if exercise.decoy is not None:
        yield from _strange_decoy(exercise, exercise.decoy, marked)


def _strange_decoy(exercise: Exercise, decoy: Decoy, marked: Marked) -> Iterator[Problem]:
    """What is wrong with a decoy: it misleads by a sign that is there, or by work that is told."""
    if decoy.cause in exercise.causes:
        yield marked.problem(("decoy", "cause"), "a decoy points to a cause that is not there")
    if decoy.sign is None and decoy.work is None:
        yield marked.problem(("decoy",), "either 'sign' or 'work' says what misleads")
    if decoy.sign is not None and exercise.signs is not None and decoy.sign not in exercise.signs:
        yield marked.problem(("decoy", "sign"), "it is not among the 'signs'")
    if decoy.work is not None and decoy.work not in [entry.work for entry in exercise.entries]:
        yield marked.problem(("decoy", "work"), "it is not among the 'entries'")


def _names_in(exercise: Exercise, base: KnowledgeBase) -> Iterator[Mention]:
    """List what an exercise names: path, name, where it must be, what it is."""
    if exercise.setup is not None:
        yield ("setup",), exercise.setup, base.setups, "set-up"
    if exercise.zone is not None:
        yield ("zone",), exercise.zone, base.zones, "zone"
    yield from facts_named(exercise.facts, base)
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
