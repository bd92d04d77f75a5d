"""The gate: a folder of YAML becomes one frozen KnowledgeBase, or one list of everything wrong.

A base never half-loads. Every file is read and every record checked before anything is refused,
so that one run shows all there is to mend, each as ``file:line:column`` with the line and a guess.
A shop's own folder can be laid over the base: a record with a known id changes just the keys it
gives (links one by one), a new id adds a record, and ``off`` switches records off.
"""

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pydantic import ValidationError

from knowledge import model
from knowledge.marks import Marked, Position, Problem, read_marked
from knowledge.marks import Path as DataPath
from knowledge.mentions import mentions
from knowledge.quantity import QuantityError, standard_unit
from knowledge.translate import guess_at, translate

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
        "checks": model.Check,
        "work": model.Work,
    }
)
_MAX_FILES = 500


class KnowledgeError(Exception):
    """The folder can't be used; `problems` holds every reason."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(set(problems)))
        super().__init__("\n".join(str(p) for p in self.problems))


@dataclass(frozen=True)
class _Raw:
    """One record before validation: its data, and the file each part of it came from."""

    kind: str
    data: Any
    parts: tuple[tuple[Marked, DataPath], ...]

    def problem(
        self, path: DataPath, message: str, *, key: bool = False, guess: str = ""
    ) -> Problem:
        """Point at the latest file that has this part of the record."""
        for marked, root in reversed(self.parts):
            if (*root, *path) in (marked.keys if key else marked.values):
                return marked.problem((*root, *path), message, key=key, guess=guess)
        marked, root = self.parts[-1]
        return marked.problem((*root, *path), message, key=key, guess=guess)

    @property
    def place(self) -> Position:
        marked, root = self.parts[0]
        return marked.position(root)


def base_folder() -> Path:
    """Give the folder of the base that ships with the program."""
    return Path(str(files("knowledge"))) / "base"


def load_base(*overlays: Path, base: Path | None = None) -> model.KnowledgeBase:
    """Read a base and lay any number of folders over it.

    Parameters
    ----------
    *overlays : Path
        A shop's own folders, later ones over earlier ones.
    base : Path, optional
        The folder of the base; the shipped one if left out.

    Returns
    -------
    KnowledgeBase

    Raises
    ------
    KnowledgeError
        With every problem of every file, if there is any.
    """
    problems: list[Problem] = []
    raws: dict[tuple[str, str], _Raw] = {}
    scale: _Raw | None = None
    off: list[tuple[Marked, DataPath, str]] = []
    for depth, folder in enumerate((base or base_folder(), *overlays)):
        for marked in _read_folder(folder, problems):
            scale = _take_file(marked, raws, scale, off, problems, over=depth > 0)
    for marked, path, name in off:
        gone = [key for key in raws if key[1] == name]
        if not gone:
            problems.append(marked.problem(path, f"no record {name!r} to switch off"))
        for key in gone:
            del raws[key]
    records = {key: _validate(raw, problems) for key, raw in raws.items()}
    scale_record = None if scale is None else _validate(scale, problems)
    if scale is None:
        place = Position(str(base or base_folder()), 1, 1)
        problems.append(Problem(place, "no file holds the 'scale' of words"))
    good = {key: record for key, record in records.items() if record is not None}
    if isinstance(scale_record, model.Scale):
        _find_strangers(raws, good, scale_record, problems)
        _refuse_cycles(raws, good, problems)
    if problems or not isinstance(scale_record, model.Scale):
        raise KnowledgeError(problems)
    return _assemble(good, scale_record, raws)


def _read_folder(folder: Path, problems: list[Problem]) -> Iterator[Marked]:
    paths = sorted(folder.rglob("*.yaml")) if folder.is_dir() else []
    if not paths or len(paths) > _MAX_FILES:
        said = f"holds {len(paths)} .yaml files" if paths else "is no folder with .yaml files in it"
        problems.append(Problem(Position(str(folder), 1, 1), f"this {said}"))
        return
    for path in paths:
        name = path.relative_to(folder).as_posix()
        try:
            text = path.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as error:
            problems.append(Problem(Position(name, 1, 1), f"can't be read as UTF-8 text: {error}"))
            continue
        marked = read_marked(text, name)
        problems.extend(marked.problems)
        yield marked


def _take_file(
    marked: Marked,
    raws: dict[tuple[str, str], _Raw],
    scale: _Raw | None,
    off: list[tuple[Marked, DataPath, str]],
    problems: list[Problem],
    *,
    over: bool,
) -> _Raw | None:
    """Sort one file's content into records; gives the scale as it stands after this file."""
    if marked.data is None and not marked.problems:
        return scale
    if not isinstance(marked.data, dict):
        if not marked.problems:
            problems.append(
                marked.problem((), f"a file starts with one of: {', '.join(KINDS)}, scale")
            )
        return scale
    for kind, items in marked.data.items():
        if kind == "scale" and isinstance(items, dict):
            scale = (
                _merge(scale, _Raw(kind, items, ((marked, (kind,)),)))
                if scale
                else _Raw(kind, items, ((marked, (kind,)),))
            )
        elif kind == "off" and over and isinstance(items, list):
            off.extend((marked, (kind, i), str(name)) for i, name in enumerate(items))
        elif kind not in KINDS:
            guess = guess_at(kind, [*KINDS, "scale"])
            problems.append(
                marked.problem(
                    (kind,), f"no kind of record is called {kind!r}", key=True, guess=guess
                )
            )
        elif not isinstance(items, list):
            problems.append(marked.problem((kind,), f"{kind!r} must be a list of records"))
        else:
            for i, item in enumerate(items):
                _take_record(_Raw(kind, item, ((marked, (kind, i)),)), raws, problems, over=over)
    return scale


def _take_record(
    raw: _Raw, raws: dict[tuple[str, str], _Raw], problems: list[Problem], *, over: bool
) -> None:
    if not isinstance(raw.data, dict) or not isinstance(raw.data.get("id"), str):
        problems.append(raw.problem((), f"each of {raw.kind!r} is a mapping with an 'id'"))
        return
    key = (raw.kind, raw.data["id"])
    namesake = next(
        (raws[k, key[1]] for k in KINDS if (k, key[1]) in raws and _shares_ids(k, key[0])), None
    )
    if namesake is None:
        raws[key] = raw
    elif over and namesake.kind == raw.kind:
        raws[key] = _merge(namesake, raw)
    else:
        problems.append(
            raw.problem(("id",), f"the id {key[1]!r} is taken, first at {namesake.place}")
        )


def _shares_ids(kind: str, other: str) -> bool:
    """Whether two kinds draw their ids from one pool, as the nodes of the tree do."""
    tree = {"complaints", "mechanisms", "causes", "findings"}
    return kind == other or {kind, other} <= tree


def _merge(under: _Raw, over: _Raw) -> _Raw:
    data = dict(under.data)
    for key, value in over.data.items():
        old = data.get(key)
        if isinstance(old, dict) and isinstance(value, dict):
            data[key] = {k: v for k, v in {**old, **value}.items() if v is not None}
        else:
            data[key] = value
    return _Raw(under.kind, data, (*under.parts, *over.parts))


def _validate(raw: _Raw, problems: list[Problem]) -> model.Record | None:
    kind: type[model.Record] = model.Scale
    if raw.kind != "scale":
        kind = KINDS[raw.kind]
    try:
        return kind.model_validate(raw.data)
    except ValidationError as error:
        problems.extend(translate(error, kind, raw.data, raw))
        return None


def _pools(
    raws: Mapping[tuple[str, str], _Raw], records: Mapping[tuple[str, str], Any], scale: model.Scale
) -> dict[str, set[str]]:
    pools: dict[str, set[str]] = {kind: {i for k, i in raws if k == kind} for kind in KINDS}
    pools["sources"] |= {model.COMMON_PRACTICE, model.JUDGEMENT}
    pools["facts"] |= {
        f"{i}.{value}" for (k, i), r in records.items() if k == "facts" for value in r.values
    }
    for pool in ("strength", "rate", "change"):
        pools[pool] = set(getattr(scale, pool))
    return pools


def _find_strangers(
    raws: Mapping[tuple[str, str], _Raw],
    records: Mapping[tuple[str, str], Any],
    scale: model.Scale,
    problems: list[Problem],
) -> None:
    pools = _pools(raws, records, scale)
    for key, record in records.items():
        raw = raws[key]
        for mention in mentions(record):
            known = set().union(*(pools[pool] for pool in mention.pools))
            if mention.name not in known:
                what = " or ".join(mention.pools)
                guess = guess_at(mention.name, known)
                message = f"{mention.name!r} is not known among {what}"
                problems.append(raw.problem(mention.path, message, key=mention.key, guess=guess))
        gauge = getattr(record, "gauge", None)
        if gauge is not None:
            try:
                standard_unit(gauge.unit)
            except QuantityError as error:
                problems.append(raw.problem(("gauge", "unit"), str(error)))


def _refuse_cycles(
    raws: Mapping[tuple[str, str], _Raw],
    records: Mapping[tuple[str, str], Any],
    problems: list[Problem],
) -> None:
    """Refuse mechanisms that bring themselves about, directly or round about."""
    mechanisms = {i: r for (k, i), r in records.items() if k == "mechanisms"}
    effects = {i: [t for t in r.brings if t in mechanisms] for i, r in mechanisms.items()}
    for i, r in mechanisms.items():
        for name in r.of:
            if name in effects:
                effects[name].append(i)
    done: set[str] = set()

    def visit(name: str, trail: tuple[str, ...]) -> None:
        if name in trail:
            loop = " -> ".join((*trail[trail.index(name) :], name))
            problems.append(
                raws["mechanisms", name].problem(("id",), f"goes round in a circle: {loop}")
            )
        elif name not in done:
            for effect in effects[name]:
                visit(effect, (*trail, name))
            done.add(name)

    for name in sorted(effects):
        visit(name, ())


def _assemble(
    records: Mapping[tuple[str, str], Any], scale: model.Scale, raws: Mapping[tuple[str, str], _Raw]
) -> model.KnowledgeBase:
    by_kind = {
        kind: MappingProxyType({i: r for (k, i), r in records.items() if k == kind})
        for kind in KINDS
    }
    content = {f"{k}/{i}": raw.data for (k, i), raw in raws.items()}
    content["scale"] = scale.model_dump(mode="json")
    digest = hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()[:12]
    places = MappingProxyType({key: raw.place for key, raw in raws.items()})
    return model.KnowledgeBase(scale=scale, **by_kind, version=digest, places=places)
