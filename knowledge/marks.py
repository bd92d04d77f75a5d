"""Our subset of YAML, read to plain data that remembers where every piece of it stood.

The subset has mappings, lists, text, numbers, ``true``/``false`` and ``null``. Refused, each with
its place: duplicate keys, anchors and aliases (so no alias bombs), tags, merge keys, and the plain
words that YAML readers disagree about (``on``, ``010``, ``1:30``, ``1_000``, dates). ``yes`` and
``no`` are always words here. Nothing is evaluated.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf, isfinite
from pathlib import Path as FilePath
from typing import Any, NamedTuple, TypeAlias

import yaml

Path: TypeAlias = tuple[str | int, ...]

MAX_BYTES = 1_048_576
_MAX_DEPTH = 24
_MAX_NODES = 200_000
_MAX_DIGITS = 40
_WIDTH = 120  # of an excerpt
_UNPRINTABLE: re.Pattern[str] = yaml.reader.Reader.NON_PRINTABLE
_WORDS = {"": None, "null": None, "true": True, "false": False}
_INT = re.compile(r"[-+]?(?:0|[1-9][0-9]*)")
_FLOAT = re.compile(
    r"[-+]?(?:(?:0|[1-9][0-9]*)(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?",
)
DISPUTED = re.compile(
    r"(?i:on|off|y|n)|True|False|TRUE|FALSE|Null|NULL|~|=|<<|[-+]?0[0-9_]+"
    r"|[-+]?0[xob][0-9a-fA-F_]+|[-+]?[0-9.][0-9_.]*_[0-9_.]*(?:[eE][-+]?[0-9]+)?"
    r"|[-+]?0[0-9]+\.[0-9]*(?:[eE][-+]?[0-9]+)?|[-+]?[0-9][0-9_]*(?::[0-5]?[0-9])+(?:\.[0-9_]*)?"
    r"|[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}.*|[-+]?\.(?:inf|Inf|INF|nan|NaN|NAN)",
)


class _Loader(getattr(yaml, "CSafeLoader", yaml.SafeLoader)):  # type: ignore[misc]
    """Composes nodes without finding out what YAML takes a plain word for: we say that ourselves.

    That search was a sixth of the time that reading takes.
    """

    def resolve(self, _kind: type, _value: object, _implicit: object) -> str:
        return "tag:yaml.org,2002:str"


class Position(NamedTuple):
    """A place in a file; line and column count from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        """Give the place as editors read it, ``file:line:column``."""
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong in one place, with the line it stands on and, where there is one, a guess."""

    position: Position
    message: str
    excerpt: str = ""
    guess: str = ""

    def __str__(self) -> str:
        """Give place, message, excerpt with a caret, and the guess."""
        text = f"{self.position}  {self.message}"
        if self.guess:
            text += f" (did you mean {self.guess!r}?)"
        if self.excerpt:
            column = self.position.column - 1
            start = max(0, column - _WIDTH // 2) if len(self.excerpt) > _WIDTH else 0
            number = f"{self.position.line:>5} | "
            caret = " " * (len(number) + column - start) + "^"
            text += f"\n{number}{self.excerpt[start : start + _WIDTH]}\n{caret}"
        return text


@dataclass(frozen=True)
class Marked:
    """Plain data read from one file, with the place of every value and key.

    Attributes
    ----------
    data : object
        dict, list, str, int, float, bool or None.
    values, keys : Mapping
        Path -> Position of the value at the path, and of the key that names it.
    lines : tuple of str
        The file's lines, for excerpts.
    problems : tuple of Problem
        What was refused; `data` then holds only what could be read.
    """

    file: str
    data: Any
    values: Mapping[Path, Position] = field(default_factory=dict)
    keys: Mapping[Path, Position] = field(default_factory=dict)
    lines: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()

    def position(self, path: Path, *, key: bool = False) -> Position:
        """Give the place of a path, or of the nearest thing around it that the file has."""
        if key and path in self.keys:
            return self.keys[path]
        for end in range(len(path), -1, -1):
            if path[:end] in self.values:
                return self.values[path[:end]]
        return Position(self.file, 1, 1)

    def excerpt(self, position: Position) -> str:
        """Give the line a position stands on."""
        return self.lines[position.line - 1] if 0 < position.line <= len(self.lines) else ""

    def problem(self, path: Path, message: str, *, key: bool = False, guess: str = "") -> Problem:
        """Make a problem of this file at a path."""
        position = self.position(path, key=key)
        return Problem(position, message, self.excerpt(position), guess)


def read_marked(text: str, file: str, most: int = MAX_BYTES) -> Marked:
    """Read one file's text.

    Parameters
    ----------
    text : str
    file : str
        The name used in positions.
    most : int
        Bytes; a larger text is refused before it is parsed.

    Returns
    -------
    Marked
        Never raises for bad YAML: what is wrong is in `problems`.
    """
    text = text.removeprefix("\ufeff")
    walk = _Walk(file, tuple(text.splitlines()))
    try:
        _refuse_unreadable(text, walk, most)
        _refuse_aliases(text, walk)
        loader = _Loader(text)
        try:
            node = loader.get_single_node()
        finally:
            loader.dispose()
        data = None if node is None else walk.value(node, ())
    except _Refused:
        data = None
    except yaml.YAMLError as error:
        walk.yaml_error(error)
        data = None
    except RecursionError:  # only without the C loader, which has a limit of its own
        walk.refuse_at(Position(file, 1, 1), "nested too deeply")
        data = None
    return Marked(file, data, walk.values, walk.keys, walk.lines, tuple(walk.problems))


def read_marked_file(path: FilePath, file: str, most: int = MAX_BYTES) -> Marked:
    """Read one file.

    Parameters
    ----------
    path : Path
    file : str
        The name used in positions.
    most : int
        Bytes; a larger file is refused, and no more of it is read.

    Returns
    -------
    Marked
        What is wrong with the content is in `problems`.

    Raises
    ------
    OSError
        If the file can't be opened or read.
    """
    with path.open("rb") as opened:
        raw = opened.read(most + 1)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        text = raw.decode("utf-8", errors="replace")
        before = f"{raw[: error.start].decode()}^".splitlines()
        place = Position(file, len(before), len(before[-1]))
        problem = Problem(place, "this is not UTF-8 text: save it as UTF-8")
        return Marked(file, None, lines=tuple(text.splitlines()), problems=(problem,))
    return read_marked(text, file, most)


class _Refused(Exception):  # noqa: N818 - it ends a walk, it is no error of the program
    """The rest of the file can't be read."""


class _Walk:
    def __init__(self, file: str, lines: tuple[str, ...]) -> None:
        self.file = file
        self.lines = lines
        self.values: dict[Path, Position] = {}
        self.keys: dict[Path, Position] = {}
        self.problems: list[Problem] = []

    def place(self, mark: Any) -> Position:
        return Position(self.file, mark.line + 1, mark.column + 1)

    def refuse(self, mark: Any, message: str) -> None:
        self.refuse_at(self.place(mark), message)

    def refuse_at(self, place: Position, message: str) -> None:
        excerpt = self.lines[place.line - 1] if place.line <= len(self.lines) else ""
        self.problems.append(Problem(place, message, excerpt))

    def yaml_error(self, error: yaml.YAMLError) -> None:
        mark = getattr(error, "problem_mark", None)
        parts = (getattr(error, "context", None), getattr(error, "problem", None))
        said = ", ".join(part for part in parts if part) or str(error).splitlines()[0]
        place = Position(self.file, 1, 1) if mark is None else self.place(mark)
        self.refuse_at(place, f"not readable as YAML: {said}")

    def value(self, node: yaml.Node, path: Path) -> Any:
        if len(path) > _MAX_DEPTH or len(self.values) > _MAX_NODES:
            self.refuse(node.start_mark, "nested too deeply, or too much in one file")
            raise _Refused
        self.values.setdefault(path, self.place(node.start_mark))
        if isinstance(node, yaml.MappingNode):
            return self._mapping(node, path)
        if isinstance(node, yaml.SequenceNode):
            return [self.value(item, (*path, i)) for i, item in enumerate(node.value)]
        if isinstance(node, yaml.ScalarNode):
            return self._scalar(node)
        raise _Refused

    def _mapping(self, node: yaml.MappingNode, path: Path) -> dict[str, Any]:
        result: dict[str, Any] = {}
        for key_node, value_node in node.value:
            if not isinstance(key_node, yaml.ScalarNode):
                self.refuse(key_node.start_mark, "a key must be a plain word")
                continue
            key = str(key_node.value)
            here = (*path, key)
            if key in result:
                first = self.keys[here]
                self.refuse(key_node.start_mark, f"{key!r} stands here twice, first at {first}")
                continue
            if key == "<<" and not key_node.style:
                self.refuse(key_node.start_mark, "merge keys are not used here")
                continue
            self.keys[here] = self.place(key_node.start_mark)
            result[key] = self.value(value_node, here)
        return result

    def _scalar(self, node: yaml.ScalarNode) -> Any:
        text = str(node.value)
        if node.style:  # quoted or a block: always text
            return text
        if text in _WORDS:
            return _WORDS[text]
        if DISPUTED.fullmatch(text):
            self.refuse(
                node.start_mark, f"YAML readers disagree about {text!r}: quote it if it is text"
            )
            return text
        if not _FLOAT.fullmatch(text):
            return text
        number = float(text) if len(text) <= _MAX_DIGITS else inf
        if not isfinite(number):
            self.refuse(node.start_mark, f"{text[:_MAX_DIGITS]!r} is too large a number")
            return text
        return int(text) if _INT.fullmatch(text) else number


def _refuse_unreadable(text: str, walk: _Walk, most: int) -> None:
    """Refuse files that are too large, and characters that no text file holds."""
    if len(text.encode(errors="surrogatepass")) > most:
        walk.refuse_at(Position(walk.file, 1, 1), f"the file is larger than {most // 1024} KiB")
        raise _Refused
    found = _UNPRINTABLE.search(text)
    if found is not None:
        before = f"{text[: found.start()]}^".splitlines()
        place = Position(walk.file, len(before), len(before[-1]))
        code = f"U+{ord(found[0]):04X}"
        walk.refuse_at(place, f"not readable as YAML: the control character {code} stands here")
        raise _Refused


def _refuse_aliases(text: str, walk: _Walk) -> None:
    """Find anchors, aliases and tags before anything is built from them."""
    if not re.search(r"[&*!]", text):
        return
    for event in yaml.parse(text, Loader=_Loader):
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None) is not None:
            walk.refuse(event.start_mark, "anchors and aliases are not used here: write it out")
            raise _Refused
        tag = getattr(event, "tag", None)
        if tag is not None and not (isinstance(event, yaml.ScalarEvent) and event.implicit[1]):
            walk.refuse(event.start_mark, f"the tag {tag!r} is not used here")
            raise _Refused
