"""What each record names outside itself: the one list that checks of references go by."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from knowledge import model
from knowledge.marks import Path as DataPath


class Mention(NamedTuple):
    """One place in a record that names something else: where, what, and the pools it may be in."""

    path: DataPath
    name: str
    pools: tuple[str, ...]
    key: bool = False


def mentions(record: Any) -> Iterator[Mention]:
    """List everything a valid record names outside itself.

    Parameters
    ----------
    record : Record

    Yields
    ------
    Mention
    """
    for i, source in enumerate(_as_tuple(record, "source")):
        path: DataPath = ("source", i) if len(record.source) > 1 else ("source",)
        yield Mention(path, source, ("sources",))
    for name, path in _fact_needs(record):
        yield Mention(path, name, ("facts",), key=True)
    if isinstance(record, model.Cause | model.Mechanism):
        yield from _link_mentions(record)
    if isinstance(record, model.Observable):
        yield from _strength_mentions(("unexplained",), record.unexplained)
        if record.stop:
            yield Mention(("stop",), record.stop, ("cautions",))
    if isinstance(record, model.Mechanism):
        for i, name in enumerate(record.of):
            yield Mention(("of", i), name, ("mechanisms", "causes"))
    if isinstance(record, model.Cause):
        yield from _cause_mentions(record)
    if isinstance(record, model.Check):
        yield from _check_mentions(record)
    if isinstance(record, model.Work):
        yield from _work_mentions(record)
    if isinstance(record, model.Setup):
        for level in record.hours:
            yield Mention(("hours", level), level, ("levels",), key=True)


def _link_mentions(record: model.Cause | model.Mechanism) -> Iterator[Mention]:
    for link, links, pools in (
        ("brings", record.brings, ("mechanisms", "complaints")),
        ("shows", record.shows, ("findings",)),
    ):
        for target, strength in links.items():
            yield Mention((link, target), target, pools, key=True)
            yield from _strength_mentions((link, target), strength)


def _as_tuple(record: Any, name: str) -> tuple[str, ...]:
    value = getattr(record, name, None)
    return value if isinstance(value, tuple) else ()


def _fact_needs(record: Any) -> Iterator[tuple[str, DataPath]]:
    for where in ("when", "facts"):
        for name, values in getattr(record, where, {}).items():
            yield name, (where, name)
            for i, value in enumerate(values):
                yield f"{name}.{value}", (where, name, i)


def _strength_mentions(
    path: DataPath, strength: model.Strength, pool: str = "strength"
) -> Iterator[Mention]:
    if strength.word:
        yield Mention(path, strength.word, (pool,))
    for i, source in enumerate(strength.source or ()):
        yield Mention((*path, "source", i), source, ("sources",))
    for name, values in strength.when.items():
        yield Mention((*path, "when", name), name, ("facts",), key=True)
        for i, value in enumerate(values):
            yield Mention((*path, "when", name, i), f"{name}.{value}", ("facts",))


def _cause_mentions(cause: model.Cause) -> Iterator[Mention]:
    yield from _strength_mentions(("rate",), cause.rate, "rate")
    yield from _strength_mentions(("repair", "cures"), cause.repair.cures)
    yield Mention(("zone",), cause.zone, ("zones",))
    yield Mention(("repair", "from"), cause.repair.from_, ("levels",))


def _check_mentions(check: model.Check) -> Iterator[Mention]:
    yield Mention(("from",), check.from_, ("levels",))
    if check.finding:
        yield Mention(("finding",), check.finding, ("findings",))
    for i, name in enumerate(check.cautions):
        yield Mention(("cautions", i), name, ("cautions",))
    for i, answer in enumerate(check.answers):
        for name in answer.shows:
            yield Mention(("answers", i, "shows", name), name, ("findings", "complaints"), key=True)


def _work_mentions(work: model.Work) -> Iterator[Mention]:
    for i, answer in enumerate(work.answers):
        for name, word in answer.changes.items():
            yield Mention(("answers", i, "changes", name), name, ("causes",), key=True)
            yield Mention(("answers", i, "changes", name), word, ("change",))
        for name, strength in answer.cures.items():
            yield Mention(("answers", i, "cures", name), name, ("causes",), key=True)
            yield from _strength_mentions(("answers", i, "cures", name), strength)
