"""A case as one YAML file that a person can read: opened with every fault named, written whole.

Format 1 holds the fields of `diagnose.case.Case` under ``pull_once_case: 1``; a field that a file
does not name has its default, so files from before a field was added still open. Later programs
keep opening it; a file of a later format is refused with a sentence. ``photographs`` stands beside
the fields: its bytes belong to the file, not to the case.
"""

import stat
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from diagnose.case import FORMAT, GRADES, NO_EVIDENCE, OUTCOMES, Case, Entry
from diagnose.case_photos import KEY as PHOTOS
from diagnose.case_photos import MAX_TOTAL, CasePhoto, photos_of, photos_text
from diagnose.errors import CaseFileError, PullOnceError
from diagnose.gauge import answer_for_reading
from diagnose.kit_sheet import SHEET_NAMES, SheetError, read_sheet
from diagnose.plain_yaml import dumped, record_in, refuse, refuse_format, said, write_whole
from knowledge.marks import MAX_BYTES, Marked, Problem, read_marked, read_marked_file
from knowledge.marks import Path as DataPath
from knowledge.model import KnowledgeBase
from knowledge.translate import guess_at

# Path in a file, the name that stands there, where it must be known, and what it is.
Mention = tuple[DataPath, str, Collection[str], str]

_HEAD = "pull_once_case"
_FIRST = "# A case of Pull Once. The last line, three dots, shows that the file is whole."
_UNCHANGED = "The old file is unchanged."
_LAST = "..."  # YAML's own end of a document
_NAMES_AS_KEYS = frozenset({"hours", "facts", "parts"})
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
        there = path.stat()
        if not (stat.S_ISREG(there.st_mode) or stat.S_ISDIR(there.st_mode)):
            # A pipe would never end, and a device has no end.
            raise CaseFileError(f"{path.name} is no ordinary file.", "Choose another file.")
        marked = read_marked_file(path, path.name, _MOST)
    except OSError as error:
        raise CaseFileError(
            f"{path.name} can't be read: {said(error)}.", "Check the file and its folder."
        ) from error
    _refuse_foreign(path.name, there.st_size, marked)
    found = _content_of(marked)
    refuse(marked.file, _strangers(found.case, base, marked), CaseFileError)
    return found


def _content_of(marked: Marked) -> CaseFile:
    """Give what a file's content holds.

    Raises
    ------
    CaseFileError
        With one sentence per fault, each with its line.
    """
    refuse(marked.file, marked.problems, CaseFileError)
    refuse_format(marked, _HEAD, FORMAT, CaseFileError)
    photos, problems = photos_of(marked)
    refuse(marked.file, problems, CaseFileError)
    return CaseFile(record_in(marked, Case, (_HEAD, PHOTOS), CaseFileError), photos)


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
    try:
        write_whole(path, text)
    except OSError as error:
        raise CaseFileError(
            f"The case could not be saved to {path.name}: {said(error)}. {_UNCHANGED}",
            "Nothing is lost while the program is open: free the disc or save it somewhere else.",
        ) from error


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
    text = dumped({_HEAD: FORMAT, **case.model_dump(mode="json", exclude_defaults=True)})
    return f"{_FIRST}\n{text}{photos_text(photographs, dumped)}{_LAST}\n"


def _strangers(case: Case, base: KnowledgeBase, marked: Marked) -> Iterator[Problem]:
    """Everything the case names that the base does not know."""
    yield from strange_names(_names_in(case, base), marked)
    yield from strange_figures(case.kit, marked)
    for i, entry in enumerate(case.entries):
        yield from _strange_entry(entry, ("entries", i), base, marked)


def strange_names(mentions: Iterable[Mention], marked: Marked) -> Iterator[Problem]:
    """Yield a problem for each name that is not known where it must be.

    Parameters
    ----------
    mentions : iterable of Mention
    marked : Marked
        The file they stand in.

    Yields
    ------
    Problem
        With what was probably meant.
    """
    for path, name, pool, what in mentions:
        if name not in pool:
            message = f"{name!r} is no {what} of the knowledge base"
            in_key = path[0] in _NAMES_AS_KEYS and len(path) == 2
            yield marked.problem(path, message, key=in_key, guess=guess_at(name, pool))


def facts_named(facts: Mapping[str, Collection[str]], base: KnowledgeBase) -> Iterator[Mention]:
    """Yield the facts that a file names, and their values."""
    for name, values in facts.items():
        yield ("facts", name), name, base.facts, "fact"
        if name in base.facts:
            known = base.facts[name].values
            yield from ((("facts", name, i), v, known, "value") for i, v in enumerate(values))


def _names_in(case: Case, base: KnowledgeBase) -> Iterator[Mention]:
    """List what a case names outside its entries: path, name, where it must be, what it is."""
    if case.setup is not None:
        yield ("setup",), case.setup, base.setups, "set-up"
    yield from facts_named(case.facts, base)
    yield ("stands",), case.stands, base.levels, "level"
    yield from ((("hours", name), name, base.levels, "level") for name in case.hours)
    yield from ((("parts", name), name, base.causes, "cause") for name in case.parts)
    for i, name in enumerate(case.acknowledged):
        yield ("acknowledged", i), name, base.cautions, "caution"
    for i, name in enumerate(case.skipped):
        yield ("skipped", i), name, base.checks, "check"
    for i, name in enumerate(case.found.causes if case.found else ()):
        yield ("found", "causes", i), name, base.causes, "cause"


def strange_figures(kit: Mapping[str, str], marked: Marked) -> Iterator[Problem]:
    """Yield figures of the kit's sheet that are unknown, or no quantity of the right kind."""
    for name, text in kit.items():
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
    if entry.answer not in possible_answers(base, entry):
        yield strange_answer(entry, path, base, marked)
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


def strange_answer(entry: Entry, path: DataPath, base: KnowledgeBase, marked: Marked) -> Problem:
    """Give the problem of an entry whose answer is none of the possible ones.

    Parameters
    ----------
    entry : Entry
        Of a subject that the base knows.
    path : tuple
        Where the entry stands in the file.
    base : KnowledgeBase
    marked : Marked

    Returns
    -------
    Problem
    """
    answers = possible_answers(base, entry)
    message = f"{entry.answer!r} is no answer here; possible are {', '.join(answers)}"
    return marked.problem((*path, "answer"), message, guess=guess_at(entry.answer, answers))


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
