"""The gate: a folder of YAML becomes one frozen KnowledgeBase, or one list of everything wrong.

A base never half-loads. Every file is read and every record checked before anything is refused,
so that one run shows all there is to mend, each as ``file:line:column`` with the line and a guess.
What a record mentions is looked up even where the record has other faults.
"""

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pydantic import ValidationError

from knowledge import model
from knowledge.marks import Position, Problem
from knowledge.mentions import Mention, mentions, values_of
from knowledge.quantity import QuantityError
from knowledge.raw import KINDS, SCALE, Key, RawBase, RawRecord, gather
from knowledge.release import FIGURE_KINDS, SHEET_FIGURES
from knowledge.translate import guess_at, translate
from knowledge.tree import MAX_TOGETHER, Tree, gate_groups

_SOFT_ANSWERS = ("probably", "probably not")

Records = Mapping[Key, model.Record]


class KnowledgeError(Exception):
    """The folder can't be used; `problems` holds every reason."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(set(problems)))
        super().__init__("\n".join(str(p) for p in self.problems))


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
    folder = base or base_folder()
    raw = gather(folder, overlays)
    problems: list[Problem] = []
    for nameless in raw.nameless:
        _validate(nameless, problems)
    validated = {key: _validate(record, problems) for key, record in raw.records.items()}
    records = {key: record for key, record in validated.items() if record is not None}
    for look in (_gaps, _twins, _cycles):
        problems.extend(look(raw))
    for rule in (_strangers, _bands, _shifts):
        problems.extend(rule(raw, records))
    # What was refused while it was read is not told off once more for what it then is.
    problems = [*raw.problems, *(p for p in problems if p.position not in raw.refused)]
    if SCALE not in raw.records and "scale" not in raw.unread:
        problems.append(Problem(Position(str(folder), 1, 1), "no file holds the 'scale' of words"))
    if problems:
        raise KnowledgeError(problems)
    whole = _assemble(raw, records)
    crowds = tuple(_crowds(raw, whole))
    if crowds:
        raise KnowledgeError(crowds)
    return whole


def _validate(raw: RawRecord, problems: list[Problem]) -> model.Record | None:
    kind = model.Scale if raw.kind == "scale" else KINDS[raw.kind]
    try:
        return kind.model_validate(raw.data)
    except ValidationError as error:
        problems.extend(translate(error, kind, raw.data, raw))
        return None


def _pools(raw: RawBase) -> dict[str, frozenset[str]]:
    """What names there are of each pool; a pool that can't be told is left out."""
    pools = {kind: {i for k, i in raw.records if k == kind} | raw.unread for kind in KINDS}
    pools["sources"] |= {model.COMMON_PRACTICE, model.JUDGEMENT}
    pools["figures"] = set(FIGURE_KINDS)
    pools["kit figures"] = set(FIGURE_KINDS) | set(SHEET_FIGURES)
    for (kind, name), record in raw.records.items():
        values = record.data.get("values")
        if kind == "facts" and isinstance(values, dict):
            pools[values_of(name)] = set(values)
    scale = raw.records[SCALE].data if SCALE in raw.records else {}
    for pool in ("strength", "rate", "change"):
        if isinstance(scale.get(pool), dict):
            pools[pool] = set(scale[pool])
    return {pool: frozenset(names) for pool, names in pools.items()}


def _strangers(raw: RawBase, records: Records) -> Iterator[Problem]:
    """Every mention of something that nothing defines."""
    pools = _pools(raw)
    every = [*raw.records.items(), *(((record.kind, ""), record) for record in raw.nameless)]
    for key, raw_record in every:
        record = records.get(key)
        # A valid record is looked at as it will be used: the words it has by default must exist.
        data = raw_record.data if record is None else record.model_dump(by_alias=True)
        for mention in mentions(raw_record.kind, data):
            names = [pools.get(pool) for pool in mention.pools]
            if not any(known is None or mention.name in known for known in names):
                yield _stranger(raw, raw_record, mention, frozenset().union(*filter(None, names)))


def _stranger(raw: RawBase, record: RawRecord, mention: Mention, known: frozenset[str]) -> Problem:
    name = mention.name
    if name in raw.gone:
        message = f"{name!r} is named here, but switched off at {raw.gone[name]}"
        return record.problem(mention.path, message, key=mention.key)
    message = f"{name!r} is not known among {' or '.join(mention.pools)}"
    return record.problem(mention.path, message, key=mention.key, guess=guess_at(name, known))


def _bands(raw: RawBase, records: Records) -> Iterator[Problem]:
    """Checks whose bands do not fit together or not to what they measure."""
    for key, record in records.items():
        if isinstance(record, model.Check) and record.gauge is not None:
            measured = records.get(("measurements", record.gauge))
            if isinstance(measured, model.Measurement):
                try:
                    model.require_whole_bands(record.answers, measured.unit)
                except ValueError as error:
                    yield raw.records[key].problem(("answers",), str(error), key=True)


def _shifts(raw: RawBase, records: Records) -> Iterator[Problem]:
    """Shifts of the wrong kind of quantity, and of readings that have no law to shift."""
    for (kind, name), record in records.items():
        if isinstance(record, model.Measurement) and name in FIGURE_KINDS and record.healthy:
            message = f"{name!r} is a figure of the release system: find another id"
            yield raw.records[kind, name].problem(("id",), message)
        if not isinstance(record, model.Cause):
            continue
        for target, shifts in record.shifts.items():
            measured = records.get(("measurements", target))
            fault = _shift_fault(target, measured, shifts)
            if fault:
                yield raw.records[kind, name].problem(("shifts", target), fault, key=True)


def _shift_fault(target: str, measured: model.Record | None, shifts: model.Shifts) -> str:
    """What is wrong with the shifts of one figure or measurement; empty if nothing is."""
    unit = None
    if target in FIGURE_KINDS:
        unit = FIGURE_KINDS[target].unit
    elif isinstance(measured, model.Measurement):
        if measured.healthy is None:
            return f"{target!r} has no 'healthy' law that could be shifted"
        unit = measured.unit
    if unit is None:
        return ""
    for shift in shifts:
        if shift.chance and target in FIGURE_KINDS:
            return "'chance' belongs to a measurement that stands alone; a figure is always shifted"
        for amount in (shift.by, shift.spread):
            try:
                if amount is not None:
                    model.shift_value(amount, unit)
            except QuantityError as error:
                return str(error)
        if model.shift_value(shift.spread, unit) < 0.0:
            return f"a spread is not negative, unlike {shift.spread!r}"
    return ""


def _gaps(raw: RawBase) -> Iterator[Problem]:
    """Words that the scale must have, because answers are given in them."""
    if SCALE in raw.records:
        scale = raw.records[SCALE]
        given = scale.data.get("answer")
        for word in _SOFT_ANSWERS if isinstance(given, dict) else ():
            if word not in given:
                yield scale.problem(("answer",), f"{word!r} is missing")


def _twins(raw: RawBase) -> Iterator[Problem]:
    """Answers of one record that have the same id."""
    for (kind, _), record in raw.records.items():
        answers = record.data.get("answers") if kind in {"checks", "work"} else None
        seen: set[str] = set()
        for i, answer in enumerate(answers if isinstance(answers, list) else ()):
            name = answer.get("id") if isinstance(answer, dict) else None
            if isinstance(name, str) and name in seen:
                yield record.problem(("answers", i, "id"), f"two answers have the id {name!r}")
            elif isinstance(name, str):
                seen.add(name)


def _cycles(raw: RawBase) -> Iterator[Problem]:
    """Mechanisms that bring themselves about, directly or round about."""
    sources: dict[str, set[str]] = {i: set() for k, i in raw.records if k == "mechanisms"}
    for name in sources:
        for mention in mentions("mechanisms", raw.records["mechanisms", name].data):
            if "mechanisms" in mention.pools and mention.name in sources:
                effect, source = (mention.name, name)
                if mention.path[0] == "of":
                    effect, source = source, effect
                sources[effect].add(source)
    while True:
        try:
            TopologicalSorter(sources).prepare()
        except CycleError as error:
            loop: list[str] = error.args[1][:-1]
            sources[loop[-1]].discard(loop[-2] if len(loop) > 1 else loop[-1])
            start = loop.index(min(loop))
            shown = " -> ".join((*loop[start:], *loop[:start], loop[start]))
            record = raw.records["mechanisms", loop[start]]
            yield record.problem(("id",), f"goes round in a circle: {shown}")
        else:
            return


def _crowds(raw: RawBase, base: model.KnowledgeBase) -> Iterator[Problem]:
    """Gates that join more causes than can be worked out."""
    for group in gate_groups(base):
        if len(group) > MAX_TOGETHER:
            reached = Tree(base, {}).reach(group)
            gate = next(m.id for m in base.mechanisms.values() if set(m.of) & reached.keys())
            message = f"{len(group)} causes hang together in gates, at most {MAX_TOGETHER} may"
            yield raw.records["mechanisms", gate].problem(("of",), message)


def _assemble(raw: RawBase, records: Mapping[Key, Any]) -> model.KnowledgeBase:
    by_kind = {
        kind: MappingProxyType({i: r for (k, i), r in records.items() if k == kind})
        for kind in KINDS
    }
    scale: model.Scale = records[SCALE]
    content = {f"{k}/{i}": record.data for (k, i), record in raw.records.items() if k in KINDS}
    content["scale"] = scale.model_dump(mode="json")
    digest = hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()[:12]
    places = MappingProxyType({key: record.place for key, record in raw.records.items()})
    return model.KnowledgeBase(scale=scale, **by_kind, version=digest, places=places)
