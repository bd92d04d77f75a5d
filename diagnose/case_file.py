"""A case as one YAML file that a person can read: opened with every fault named, written whole.

Format 1 holds the fields of `diagnose.case.Case` under ``pull_once_case: 1``; a field that a file
does not name has its default, so files from before a field was added still open. Later programs
keep opening it; a file of a later format is refused with a sentence. ``photographs`` stands beside
the fields: its bytes belong to the file, not to the case.
"""

import contextlib
import os
import re
import secrets
import shutil
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml
from pydantic import ValidationError

from diagnose.case import FORMAT, GRADES, NO_EVIDENCE, OUTCOMES, Case, Entry
from diagnose.case_photos import KEY as PHOTOS
from diagnose.case_photos import MAX_TOTAL, CasePhoto, photos_of, photos_text
from diagnose.errors import CaseFileError, PullOnceError
from diagnose.gauge import answer_for_reading
from diagnose.kit_sheet import SHEET_NAMES, SheetError, read_sheet
from knowledge.marks import DISPUTED, MAX_BYTES, Marked, Problem, read_marked, read_marked_file
from knowledge.marks import Path as DataPath
from knowledge.model import KnowledgeBase
from knowledge.translate import guess_at, translate

_HEAD = "pull_once_case"
_FIRST = "# A case of Pull Once. The last line, three dots, shows that the file is whole."
_UNCHANGED = "The old file is unchanged."
_LAST = "..."  # YAML's own end of a document
_PLAIN = re.compile(r"[A-Za-z_][A-Za-z0-9_ ,.()/-]*(?<![ ])")
_READER_WORDS = {"true", "false", "null"}
_MOST = MAX_BYTES + 3 * MAX_TOTAL // 2  # bytes of a file with photographs, as base64 in lines


@dataclass(frozen=True)
class CaseFile:
    """What a case file holds: the case, and photographs that belong to it."""

    case: Case
    photographs: tuple[CasePhoto, ...] = ()


def read_case_file(path: Path, base: KnowledgeBase) -> Case:
    """Read a case; as `read_case`, without its photographs."""
    return read_case(path, base).case


def read_case(path: Path, base: KnowledgeBase) -> CaseFile:
    """Read a case file and see that the knowledge base knows everything the case names.

    Parameters
    ----------
    path : Path
    base : KnowledgeBase

    Returns
    -------
    CaseFile
        That its photographs are pictures is not said: their size alone was looked at.

    Raises
    ------
    CaseFileError
        With one sentence per fault, each with its line.
    """
    try:
        size = path.stat().st_size
        marked = read_marked_file(path, path.name, _MOST)
    except OSError as error:
        raise CaseFileError(
            f"{path.name} can't be read: {_said(error)}.", "Check the file and its folder."
        ) from error
    _refuse_foreign(path.name, size, marked)
    found = _content_of(marked)
    _refuse(marked.file, tuple(_strangers(found.case, base, marked)))
    return found


def _content_of(marked: Marked) -> CaseFile:
    """Give what a file's content holds.

    Raises
    ------
    CaseFileError
        With one sentence per fault, each with its line.
    """
    _refuse(marked.file, marked.problems)
    data = marked.data
    if type(data[_HEAD]) is not int or data[_HEAD] < 1:
        raise CaseFileError(
            f"{marked.file}: '{_HEAD}' must be a whole number from 1.", "Correct the file."
        )
    if data[_HEAD] > FORMAT:
        raise CaseFileError(
            f"{marked.file} was written by a newer version of the program "
            f"(format {data[_HEAD]}, this one reads up to {FORMAT}).",
            "Update the program; the file is unchanged.",
        )
    photos, problems = photos_of(marked)
    _refuse(marked.file, problems)
    content = {key: value for key, value in data.items() if key not in {_HEAD, PHOTOS}}
    try:
        return CaseFile(Case.model_validate(content), photos)
    except ValidationError as error:
        _refuse(marked.file, tuple(translate(error, Case, content, marked)))
        raise  # pragma: no cover - _refuse raises, since there is at least one error


def _refuse_foreign(name: str, size: int, marked: Marked) -> None:
    """Refuse what is no case file at all, or only a part of one."""
    another = "Choose another file."
    if size == 0:
        raise CaseFileError(f"{name} is empty.", another)
    if size - _size_of_photographs(marked) > MAX_BYTES:
        raise CaseFileError(f"{name} is too large to be a case file.", another)
    broken = "\n".join(marked.lines) if marked.problems else ""
    if _HEAD not in (marked.data if isinstance(marked.data, dict) else broken):
        raise CaseFileError(f"{name} is no case file: it does not say '{_HEAD}'.", another)
    filled = [line.strip() for line in marked.lines if line.strip()]
    if filled[0] == _FIRST and filled[-1] != _LAST:
        raise CaseFileError(
            f"{name} is cut off: its last line, '{_LAST}', is missing.",
            "Get the whole file from where it came from; if you want what is left, "
            "take the first line away.",
        )


def _size_of_photographs(marked: Marked) -> int:
    """Give the bytes of a file that photographs take up, line ends and indents included."""
    listed = marked.data.get(PHOTOS) if isinstance(marked.data, dict) else None
    photos = [p for p in listed if isinstance(p, dict)] if isinstance(listed, list) else []
    texts = [p["data"] for p in photos if isinstance(p.get("data"), str)]
    return sum(len(text) + 8 * (1 + text.count("\n")) for text in texts)


def write_case_file(path: Path, case: Case, photographs: Sequence[CasePhoto] = ()) -> None:
    """Write a case; the old file stays whole until the new one is safely on disk.

    Parameters
    ----------
    path : Path
    case : Case
    photographs : sequence of CasePhoto
        At most what `diagnose.case_photos.that_fit` lets through.

    Raises
    ------
    CaseFileError
        If it can't be written (no permission, disc full, folder gone), or could not be read again.
        The old file is unchanged.
    """
    text = _readable_text(path.name, case, photographs)
    temporary = path.with_name(f".pull-once-{secrets.token_hex(8)}")
    try:
        with temporary.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            shutil.copymode(path, temporary)
        temporary.replace(path)
    except OSError as error:
        raise CaseFileError(
            f"The case could not be saved to {path.name}: {_said(error)}. {_UNCHANGED}",
            "Nothing is lost while the program is open: free the disc or save it somewhere else.",
        ) from error
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink()


def _readable_text(name: str, case: Case, photographs: Sequence[CasePhoto]) -> str:
    """Give the text of a case file, once it is sure that it can be read again."""
    try:
        text = case_text(case, photographs)
        _content_of(read_marked(text, name, _MOST))
    except CaseFileError as error:
        raise CaseFileError(
            f"The case could not be saved to {name}, for it could not be read again. "
            f"{_UNCHANGED} {error.sentence}",
            "Shorten or correct what is named here.",
        ) from error
    return text


def case_text(case: Case, photographs: Sequence[CasePhoto] = ()) -> str:
    """Give the text of a case file."""
    text = _dumped({_HEAD: FORMAT, **case.model_dump(mode="json", exclude_defaults=True)})
    return f"{_FIRST}\n{text}{photos_text(photographs, _dumped)}{_LAST}\n"


def _dumped(data: Any) -> str:
    return yaml.dump(data, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=100)


class _Dumper(yaml.SafeDumper):
    """Writes what `knowledge.marks` reads back the same: no aliases, disputed words in quotes."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def _text_node(dumper: _Dumper, text: str) -> yaml.ScalarNode:
    safe = _PLAIN.fullmatch(text) and text not in _READER_WORDS and not DISPUTED.fullmatch(text)
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style=None if safe else '"')


_Dumper.add_representer(str, _text_node)


def _said(error: OSError) -> str:
    reason = error.strerror or str(error) or type(error).__name__
    return reason[0].lower() + reason[1:]


def _refuse(name: str, problems: tuple[Problem, ...]) -> None:
    if problems:
        listed = "\n".join(str(problem) for problem in sorted(problems))
        raise CaseFileError(
            f"{name} can't be used:\n{listed}\n", "Correct these lines; nothing was changed."
        )


def _strangers(case: Case, base: KnowledgeBase, marked: Marked) -> Iterator[Problem]:
    """Everything the case names that the base does not know."""
    for path, name, pool, what in _names_in(case, base):
        if name not in pool:
            message = f"{name!r} is no {what} of the knowledge base"
            in_key = path[0] in {"hours", "facts", "parts"} and len(path) == 2
            yield marked.problem(path, message, key=in_key, guess=guess_at(name, pool))
    yield from _strange_figures(case, marked)
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
    yield from ((("parts", name), name, base.causes, "cause") for name in case.parts)
    for i, name in enumerate(case.acknowledged):
        yield ("acknowledged", i), name, base.cautions, "caution"
    for i, name in enumerate(case.skipped):
        yield ("skipped", i), name, base.checks, "check"
    for i, name in enumerate(case.found.causes if case.found else ()):
        yield ("found", "causes", i), name, base.causes, "cause"


def _strange_figures(case: Case, marked: Marked) -> Iterator[Problem]:
    """Figures of the kit's sheet that are unknown, or no quantity of the right kind."""
    for name, text in case.kit.items():
        try:
            read_sheet(name, text)
        except SheetError as error:
            yield marked.problem(("kit", name), str(error), key=name not in SHEET_NAMES)


def _strange_entry(
    entry: Entry, path: DataPath, base: KnowledgeBase, marked: Marked
) -> Iterator[Problem]:
    kind, name = entry.subject
    pools: dict[str, tuple[Collection[str], str]] = {
        "complaint": (base.complaints, "complaint"),
        "check": (base.checks, "check"),
        "work": (base.work, "work"),
        "repair": (base.causes, "cause"),
    }
    known, what = pools[kind]
    if name not in known:
        guess = guess_at(name, known)
        yield marked.problem(
            (*path, kind), f"{name!r} is no {what} of the knowledge base", guess=guess
        )
        return
    answers = possible_answers(base, entry)
    if entry.answer not in answers:
        message = f"{entry.answer!r} is no answer here; possible are {', '.join(answers)}"
        yield marked.problem((*path, "answer"), message, guess=guess_at(entry.answer, answers))
    elif entry.instrument is not None and entry.instrument not in instruments(base, entry):
        message = f"this is not read with {entry.instrument!r}"
        guess = guess_at(entry.instrument, instruments(base, entry))
        yield marked.problem((*path, "instrument"), message, guess=guess)
    elif entry.reading:
        try:
            fitting = (
                answer_for_reading(base, base.checks[name], entry.reading)
                if kind == "check"
                else None
            )
        except PullOnceError as error:
            yield marked.problem((*path, "reading"), str(error))
            return
        if fitting is None or fitting.id != entry.answer:
            message = f"the reading {entry.reading!r} does not go with the answer {entry.answer!r}"
            yield marked.problem((*path, "reading"), message)


def instruments(base: KnowledgeBase, entry: Entry) -> tuple[str, ...]:
    """List what an entry's reading can be taken with; nothing where there is none to take."""
    check = base.checks.get(entry.check or "")
    gauge = check.gauge if check else None
    return () if gauge is None else tuple(base.measurements[gauge].instruments)


def possible_answers(base: KnowledgeBase, entry: Entry) -> tuple[str, ...]:
    """List the answers an entry can have, those without evidence last; a repair has none."""
    kind, name = entry.subject
    if kind == "repair":
        return OUTCOMES
    if kind == "work":
        named = tuple(a.id for a in base.work[name].answers)
    elif kind == "check" and base.checks[name].answers:
        named = tuple(a.id for a in base.checks[name].answers)
    else:
        named = GRADES
    return tuple(dict.fromkeys((*named, *sorted(NO_EVIDENCE))))
