"""A case as one YAML file that a person can read: opened with every fault named, written whole.

Format 1 holds the fields of `diagnose.case.Case` under ``pull_once_case: 1``. Later programs keep
opening it; a file of a later format is refused with a sentence.
"""

import contextlib
import os
import re
import tempfile
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Any

import yaml
from pydantic import ValidationError

from diagnose.case import FORMAT, GRADES, NO_EVIDENCE, Case, Entry
from diagnose.errors import CaseFileError, PullOnceError
from diagnose.gauge import answer_for_reading
from knowledge.marks import DISPUTED, Marked, Problem, read_marked
from knowledge.marks import Path as DataPath
from knowledge.model import KnowledgeBase
from knowledge.translate import guess_at, translate

_HEAD = "pull_once_case"
_MAX_BYTES = 1_048_576
_PLAIN = re.compile(r"[A-Za-z_][A-Za-z0-9_ ,.()/-]*(?<![ ])")
_READER_WORDS = {"true", "false", "null"}


def read_case_file(path: Path, base: KnowledgeBase) -> Case:
    """Read a case and see that the knowledge base knows everything it names.

    Parameters
    ----------
    path : Path
    base : KnowledgeBase

    Returns
    -------
    Case

    Raises
    ------
    CaseFileError
        With one sentence per fault, each with its line.
    """
    try:
        if path.stat().st_size > _MAX_BYTES:
            raise CaseFileError(
                f"{path.name} is too large to be a case file.", "Choose another file."
            )
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise CaseFileError(
            f"{path.name} can't be read: {_said(error)}.", "Check the file and its folder."
        ) from error
    marked = read_marked(text, path.name)
    _refuse(path, marked.problems)
    data = marked.data
    if not isinstance(data, dict) or _HEAD not in data:
        raise CaseFileError(
            f"{path.name} is no case file: it does not say '{_HEAD}'.", "Choose another file."
        )
    if not isinstance(data[_HEAD], int) or data[_HEAD] < 1:
        raise CaseFileError(
            f"{path.name}: '{_HEAD}' must be a whole number from 1.", "Correct the file."
        )
    if data[_HEAD] > FORMAT:
        raise CaseFileError(
            f"{path.name} was written by a newer version of the program "
            f"(format {data[_HEAD]}, this one reads up to {FORMAT}).",
            "Update the program; the file is unchanged.",
        )
    content = {key: value for key, value in data.items() if key != _HEAD}
    try:
        case = Case.model_validate(content)
    except ValidationError as error:
        _refuse(path, tuple(translate(error, Case, content, marked)))
        raise  # pragma: no cover - _refuse raises, since there is at least one error
    _refuse(path, tuple(_strangers(case, base, marked)))
    return case


def write_case_file(path: Path, case: Case) -> None:
    """Write a case; the old file stays whole until the new one is safely on disk.

    Raises
    ------
    CaseFileError
        If it can't be written (no permission, disc full, folder gone). The old file is unchanged.
    """
    temporary: Path | None = None
    try:
        with tempfile.NamedTemporaryFile(
            "w", encoding="utf-8", dir=path.parent, prefix=f".{path.name}.", delete=False
        ) as file:
            temporary = Path(file.name)
            file.write(case_text(case))
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(path)
    except OSError as error:
        if temporary is not None:
            with contextlib.suppress(OSError):
                temporary.unlink()
        raise CaseFileError(
            f"The case could not be saved to {path.name}: {_said(error)}. "
            "The old file is unchanged.",
            "Nothing is lost while the program is open: free the disc or save it somewhere else.",
        ) from error


def case_text(case: Case) -> str:
    """Give the text of a case file."""
    data = {_HEAD: FORMAT, **case.model_dump(mode="json", exclude_defaults=True)}
    return yaml.dump(data, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=100)


class _Dumper(yaml.SafeDumper):
    """Writes what `knowledge.marks` reads back the same: no aliases, disputed words in quotes."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def _text_node(dumper: _Dumper, text: str) -> yaml.ScalarNode:
    safe = _PLAIN.fullmatch(text) and text not in _READER_WORDS and not DISPUTED.fullmatch(text)
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style=None if safe else '"')


_Dumper.add_representer(str, _text_node)


def _said(error: Exception) -> str:
    reason = getattr(error, "strerror", None) or str(error)
    return reason[0].lower() + reason[1:]


def _refuse(path: Path, problems: tuple[Problem, ...]) -> None:
    if problems:
        listed = "\n".join(str(problem) for problem in sorted(problems))
        raise CaseFileError(
            f"{path.name} can't be used:\n{listed}\n", "Correct these lines; nothing was changed."
        )


def _strangers(case: Case, base: KnowledgeBase, marked: Marked) -> Iterator[Problem]:
    """Everything the case names that the base does not know."""
    for path, name, pool, what in _names_in(case, base):
        if name not in pool:
            message = f"{name!r} is no {what} of the knowledge base"
            in_key = path[0] in {"hours", "facts"} and len(path) == 2
            yield marked.problem(path, message, key=in_key, guess=guess_at(name, pool))
    for i, entry in enumerate(case.entries):
        yield from _strange_entry(entry, ("entries", i), base, marked)


def _names_in(
    case: Case, base: KnowledgeBase
) -> Iterator[tuple[DataPath, str, Collection[str], str]]:
    """List what a case names outside its entries: path, name, where it must be, what it is."""
    if case.setup is not None:
        yield ("setup",), case.setup, base.setups, "set-up"
    for name, values in case.facts.items():
        yield ("facts", name), name, base.facts, "fact"
        if name in base.facts:
            known = base.facts[name].values
            yield from ((("facts", name, i), v, known, "value") for i, v in enumerate(values))
    yield ("stands",), case.stands, base.levels, "level"
    yield from ((("hours", name), name, base.levels, "level") for name in case.hours)
    for i, name in enumerate(case.acknowledged):
        yield ("acknowledged", i), name, base.cautions, "caution"
    for i, name in enumerate(case.skipped):
        yield ("skipped", i), name, base.checks, "check"
    for i, name in enumerate(case.found.causes if case.found else ()):
        yield ("found", "causes", i), name, base.causes, "cause"


def _strange_entry(
    entry: Entry, path: DataPath, base: KnowledgeBase, marked: Marked
) -> Iterator[Problem]:
    kind, name = entry.subject
    known = {"complaint": base.complaints, "check": base.checks, "work": base.work}[kind]
    if name not in known:
        guess = guess_at(name, known)
        yield marked.problem(
            (*path, kind), f"{name!r} is no {kind} of the knowledge base", guess=guess
        )
        return
    answers = possible_answers(base, entry)
    if entry.answer not in answers:
        message = f"{entry.answer!r} is no answer here; possible are {', '.join(answers)}"
        yield marked.problem((*path, "answer"), message, guess=guess_at(entry.answer, answers))
    elif entry.reading:
        try:
            fitting = (
                answer_for_reading(base.checks[name], entry.reading) if kind == "check" else None
            )
        except PullOnceError as error:
            yield marked.problem((*path, "reading"), str(error))
            return
        if fitting is None or fitting.id != entry.answer:
            message = f"the reading {entry.reading!r} does not go with the answer {entry.answer!r}"
            yield marked.problem((*path, "reading"), message)


def possible_answers(base: KnowledgeBase, entry: Entry) -> tuple[str, ...]:
    """List the answers an entry can have, those without evidence last."""
    kind, name = entry.subject
    if kind == "work":
        named = tuple(a.id for a in base.work[name].answers)
    elif kind == "check" and base.checks[name].answers:
        named = tuple(a.id for a in base.checks[name].answers)
    else:
        named = GRADES
    return tuple(dict.fromkeys((*named, *sorted(NO_EVIDENCE))))
