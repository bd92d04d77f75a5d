"""Files of ours in YAML: written so that our reader reads them back, opened with every fault named.

What a file holds is settled where it belongs: `diagnose.case_file`, `diagnose.practice`.
"""

import contextlib
import os
import re
import secrets
import shutil
from collections.abc import Callable, Collection, Iterable, Mapping
from pathlib import Path
from typing import Any, TypeVar

import yaml
from pydantic import BaseModel, ValidationError

from diagnose.errors import PullOnceError
from knowledge.marks import DISPUTED, Marked, Problem
from knowledge.translate import translate

_PLAIN = re.compile(r"[A-Za-z_][A-Za-z0-9_ ,.()/-]*(?<![ ])")
_READER_WORDS = frozenset({"true", "false", "null"})

# Makes the error that a caller raises, of a sentence and a next step.
Refusal = Callable[[str, str], PullOnceError]
RecordT = TypeVar("RecordT", bound=BaseModel)


class _Dumper(yaml.SafeDumper):
    """Writes what `knowledge.marks` reads back the same: no aliases, disputed words in quotes."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def _text_node(dumper: _Dumper, text: str) -> yaml.ScalarNode:
    safe = _PLAIN.fullmatch(text) and text not in _READER_WORDS and not DISPUTED.fullmatch(text)
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style=None if safe else '"')


_Dumper.add_representer(str, _text_node)


def dumped(data: Any) -> str:
    """Give plain data as YAML that `knowledge.marks` reads back the same.

    Parameters
    ----------
    data : Any
        Mappings, lists, texts and numbers.

    Returns
    -------
    str
    """
    return yaml.dump(data, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=100)


def refuse(name: str, problems: Iterable[Problem], refusal: Refusal) -> None:
    """Refuse a file for its problems; nothing happens without any.

    Parameters
    ----------
    name : str
        What the file is called.
    problems : iterable of Problem
    refusal : callable
        Makes the error.

    Raises
    ------
    PullOnceError
        The caller's own, with one sentence per problem, in the order of the lines.
    """
    listed = "\n".join(str(problem) for problem in sorted(problems))
    if listed:
        next_step = "Correct these lines; nothing was changed."
        raise refusal(f"{name} can't be used:\n{listed}\n", next_step)


def refuse_format(marked: Marked, head: str, newest: int, refusal: Refusal) -> None:
    """Refuse a file whose format is none, or one of a later program.

    Parameters
    ----------
    marked : Marked
        With the head among its keys.
    head : str
        The key that names the format.
    newest : int
        The latest format that is known here.
    refusal : callable
        Makes the error.

    Raises
    ------
    PullOnceError
        The caller's own.
    """
    number = marked.data[head]
    if type(number) is not int or number < 1:
        raise refusal(
            f"{marked.file}: '{head}' must be a whole number from 1.", "Correct the file."
        )
    if number > newest:
        raise refusal(
            f"{marked.file} was written by a newer version of the program "
            f"(format {number}, this one reads up to {newest}).",
            "Update the program; the file is unchanged.",
        )


def record_in(
    marked: Marked, kind: type[RecordT], besides: Collection[str], refusal: Refusal
) -> RecordT:
    """Make a record of a file's content.

    Parameters
    ----------
    marked : Marked
    kind : type of BaseModel
    besides : collection of str
        Keys of the file that are no fields of the record.
    refusal : callable
        Makes the error.

    Returns
    -------
    BaseModel
        Of the kind.

    Raises
    ------
    PullOnceError
        The caller's own, with one sentence per fault, each with its line.
    """
    data: Mapping[str, Any] = marked.data
    content = {key: value for key, value in data.items() if key not in besides}
    try:
        return kind.model_validate(content)
    except ValidationError as error:
        refuse(marked.file, translate(error, kind, content, marked), refusal)
        raise  # pragma: no cover - refuse raises, since there is at least one error


def write_whole(path: Path, content: str | bytes) -> None:
    """Write a file whole or not at all; what it may be read by stays as it was.

    Parameters
    ----------
    path : Path
    content : str or bytes
        A text is written in UTF-8, its line ends as they stand here.

    Raises
    ------
    OSError
        If it can't be written. The old file is unchanged.
    """
    temporary = path.with_name(f".pull-once-{secrets.token_hex(8)}")
    try:
        with temporary.open("x", encoding="utf-8", newline="") as file:
            if isinstance(content, str):
                file.write(content)
            else:
                file.buffer.write(content)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            shutil.copymode(path, temporary)
        temporary.replace(path)
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink()


def said(error: OSError) -> str:
    """Say what the system said, to go on in a sentence."""
    reason = error.strerror or str(error) or type(error).__name__
    return reason[0].lower() + reason[1:]
