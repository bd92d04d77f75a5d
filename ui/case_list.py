"""The cases of a folder, told apart at a glance; Qt-free."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # the list is shown before the engine is needed
    from knowledge.model import KnowledgeBase

_LISTED = 60


@dataclass(frozen=True)
class Listed:
    """One case file: where, what it is called, and how far it is."""

    path: Path
    title: str
    state: str


def list_cases(folder: Path, base: "KnowledgeBase") -> list[Listed]:
    """List the case files of a folder, the latest first; what can't be read is listed as such."""
    paths = sorted(folder.glob("*.yaml"), key=lambda p: p.stat().st_mtime, reverse=True)
    return [_glance(path, base) for path in paths[:_LISTED]]


def _glance(path: Path, base: "KnowledgeBase") -> Listed:
    from diagnose.case_file import read_case_file
    from diagnose.errors import CaseFileError

    changed = f"{datetime.fromtimestamp(path.stat().st_mtime):%d %b %Y, %H:%M}"
    try:
        case = read_case_file(path, base)
    except CaseFileError as error:
        return Listed(
            path, path.stem, f"{changed}. Can't be used: {error.sentence.splitlines()[0]}"
        )
    if case.found is not None:
        found = " or ".join(base.causes[c].name for c in case.found.causes)
        state = f"found: {found}"
    else:
        state = f"{len(case.entries)} answers so far"
    return Listed(path, case.title or case.words or path.stem, f"{changed}. {state}")
