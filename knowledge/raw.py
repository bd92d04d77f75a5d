"""What the files say before it is checked: records, and the place of each of their parts.

A shop's own folder can be laid over the base: a record with a known id changes just the keys it
gives (links and other inner keys one by one), ``null`` takes a key or a link away, a new id adds a
record, and ``off`` lists the ids of records that are switched off.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any

from knowledge import model
from knowledge.marks import Marked, Position, Problem, read_marked_file
from knowledge.marks import Path as DataPath
from knowledge.translate import guess_at

KINDS: Mapping[str, type[model.Record]] = MappingProxyType(
    {
        "sources": model.Source,
        "levels": model.Level,
        "zones": model.Zone,
        "facts": model.Fact,
        "setups": model.Setup,
        "cautions": model.Caution,
        "complaints": model.Complaint,
        "mechanisms": model.Mechanism,
        "causes": model.Cause,
        "findings": model.Finding,
        "measurements": model.Measurement,
        "checks": model.Check,
        "work": model.Work,
    }
)
SCALE = ("scale", "scale")
_TREE = frozenset({"complaints", "mechanisms", "causes", "findings"})
_MAX_FILES = 500
_ID = re.compile(r"""\bid:\s*["']?([A-Za-z][A-Za-z0-9_-]*)""")
_SCALE = re.compile(r"^(scale):", re.MULTILINE)

Key = tuple[str, str]  # kind and id


@dataclass(frozen=True)
class RawRecord:
    """One record before validation: its data, and the file each part of it came from."""

    kind: str
    data: Any
    parts: tuple[tuple[Marked, DataPath], ...]

    def problem(
        self, path: DataPath, message: str, *, key: bool = False, guess: str = ""
    ) -> Problem:
        """Point at the latest file that has this part of the record, or most of the way to it."""

        def depth(part: tuple[Marked, DataPath]) -> int:
            marked, root = part
            ends = range(len(path), 0, -1)
            return next((end for end in ends if (*root, *path[:end]) in marked.values), 0)

        marked, root = max(reversed(self.parts), key=depth)
        return marked.problem((*root, *path), message, key=key, guess=guess)

    @property
    def place(self) -> Position:
        """Where the record was first given."""
        marked, root = self.parts[0]
        return marked.position(root)

    @property
    def latest_place(self) -> Position:
        """Where the record was last changed."""
        marked, root = self.parts[-1]
        return marked.position(root)


@dataclass
class RawBase:
    """All that a base and the folders over it say, gathered folder by folder.

    Attributes
    ----------
    records : dict
        By kind and id; the scale is under `SCALE`.
    nameless : list of RawRecord
        Records without an id.
    gone : dict
        Id of a record that was switched off -> where.
    unread : set of str
        Ids that stand in files which could not be read whole; such records may well exist.
    refused : set of Position
        Places where a value was refused while it was read.
    problems : list of Problem
    """

    records: dict[Key, RawRecord] = field(default_factory=dict)
    nameless: list[RawRecord] = field(default_factory=list)
    gone: dict[str, Position] = field(default_factory=dict)
    unread: set[str] = field(default_factory=set)
    refused: set[Position] = field(default_factory=set)
    problems: list[Problem] = field(default_factory=list)


def gather(base: Path, overlays: Sequence[Path]) -> RawBase:
    """Read a base and the folders laid over it.

    Parameters
    ----------
    base : Path
        Its files are named in problems as they stand below it.
    overlays : sequence of Path
        Their files are named with the folder's name before them.

    Returns
    -------
    RawBase
    """
    raw = RawBase()
    _add_folder(raw, base, "", over=False)
    names = [folder.resolve().name for folder in overlays]
    for folder, name in zip(overlays, names, strict=True):
        label = name if names.count(name) == 1 else folder.resolve().as_posix()
        _add_folder(raw, folder, f"{label}/", over=True)
    return raw


def _add_folder(raw: RawBase, folder: Path, label: str, *, over: bool) -> None:
    given: set[Key] = set()
    off: list[tuple[Marked, DataPath, str]] = []
    for marked in _read_folder(raw, folder, label):
        before = len(raw.problems)
        raw.problems.extend(marked.problems)
        raw.refused.update(problem.position for problem in marked.problems)
        for record in _records_of(raw, marked, off, over=over):
            _take(raw, record, given, over=over)
        if len(raw.problems) > before:
            text = "\n".join(marked.lines)
            raw.unread.update(_ID.findall(text), _SCALE.findall(text))
    for marked, path, name in off:
        _switch_off(raw, marked, path, name, given)


def _read_folder(raw: RawBase, folder: Path, label: str) -> Iterator[Marked]:
    found = folder.rglob("*") if folder.is_dir() else ()
    paths = sorted(path for path in found if path.suffix in {".yaml", ".yml"})
    if not paths or len(paths) > _MAX_FILES:
        said = f"holds {len(paths)} .yaml files" if paths else "is no folder with .yaml files in it"
        raw.problems.append(Problem(Position(str(folder), 1, 1), f"this {said}"))
        return
    for path in paths:
        name = label + path.relative_to(folder).as_posix()
        try:
            yield read_marked_file(path, name)
        except OSError as error:
            said = error.strerror or str(error)
            raw.problems.append(Problem(Position(name, 1, 1), f"can't be read: {said}"))


def _records_of(
    raw: RawBase, marked: Marked, off: list[tuple[Marked, DataPath, str]], *, over: bool
) -> Iterator[RawRecord]:
    """Sort one file's content into records; what it switches off goes to `off`."""
    if marked.data is None:
        return
    if not isinstance(marked.data, dict):
        said = f"a file starts with one of: {', '.join(KINDS)}, scale"
        raw.problems.append(marked.problem((), said))
        return
    for kind, items in marked.data.items():
        if kind == "scale":
            yield RawRecord(kind, items, ((marked, (kind,)),))
        elif kind == "off" and not over:
            said = "'off' belongs in a folder that is laid over the base"
            raw.problems.append(marked.problem((kind,), said, key=True))
        elif kind not in KINDS and kind != "off":
            guess = guess_at(kind, [*KINDS, "scale"])
            said = f"no kind of record is called {kind!r}"
            raw.problems.append(marked.problem((kind,), said, key=True, guess=guess))
        elif not isinstance(items, list):
            raw.problems.append(marked.problem((kind,), f"{kind!r} must be a list"))
        elif kind == "off":
            off.extend((marked, (kind, i), str(name)) for i, name in enumerate(items))
        else:
            for i, item in enumerate(items):
                yield RawRecord(kind, item, ((marked, (kind, i)),))


def _take(raw: RawBase, record: RawRecord, given: set[Key], *, over: bool) -> None:
    if not isinstance(record.data, dict):
        raw.problems.append(record.problem((), "a mapping of keys and values belongs here"))
        return
    name = "scale" if record.kind == "scale" else record.data.get("id")
    if not isinstance(name, str):
        if over:
            raw.problems.append(record.problem((), "'id' is missing"))
        else:
            raw.nameless.append(record)
        return
    key = (record.kind, name)
    other = next((k for k in _rivals(key) if k in raw.records), None)
    if other is None:
        raw.records[key] = record
        raw.gone.pop(name, None)
    elif over and other == key and key not in given:
        raw.records[key] = _merge(raw, raw.records[key], record)
    else:
        place = raw.records[other].latest_place
        what = "the scale" if key == SCALE else f"the id {name!r}"
        raw.problems.append(record.problem(("id",), f"{what} is taken, first at {place}"))
        return
    given.add(key)


def _rivals(key: Key) -> Iterator[Key]:
    """The keys that can't be there at once: the nodes of the tree draw their ids from one pool."""
    kind, name = key
    yield from ((k, name) for k in (sorted(_TREE) if kind in _TREE else (kind,)))


def _merge(raw: RawBase, under: RawRecord, over: RawRecord) -> RawRecord:
    data = dict(under.data)
    for key, value in over.data.items():
        old = data.get(key)
        if isinstance(old, dict) and isinstance(value, dict):
            inner = dict(old)
            for inner_key, inner_value in value.items():
                _lay_over(raw, over, inner, inner_key, inner_value, (key, inner_key))
            data[key] = inner
        else:
            _lay_over(raw, over, data, key, value, (key,))
    return RawRecord(under.kind, data, (*under.parts, *over.parts))


def _lay_over(
    raw: RawBase, over: RawRecord, data: dict[str, Any], key: str, value: Any, path: DataPath
) -> None:
    if value is not None:
        data[key] = value
    elif key in data:
        del data[key]
    else:
        said = f"{key!r} is not there to be taken away"
        raw.problems.append(over.problem(path, said, key=True, guess=guess_at(key, data)))


def _switch_off(raw: RawBase, marked: Marked, path: DataPath, name: str, given: set[Key]) -> None:
    keys = [key for key in raw.records if key[1] == name and key != SCALE]
    for key in keys:
        if key in given:
            place = raw.records[key].latest_place
            said = f"{name!r} is switched off here, but given at {place}"
            raw.problems.append(marked.problem(path, said))
        del raw.records[key]
        raw.gone[name] = marked.position(path)
    if not keys and name in raw.gone:
        raw.problems.append(
            marked.problem(path, f"{name!r} is already off, first at {raw.gone[name]}")
        )
    elif not keys:
        known = [key[1] for key in raw.records]
        said = f"no record {name!r} to switch off"
        raw.problems.append(marked.problem(path, said, guess=guess_at(name, known)))
