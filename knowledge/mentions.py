"""What each record names outside itself: the one list that checks of references go by.

It is a table from the keys of a record to what stands under them, and it works on plain data. So
the names in a record that has other faults are still found, as far as the data goes.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple, TypeAlias

from knowledge.marks import Path as DataPath


class Mention(NamedTuple):
    """One place in a record that names something else: where, what, and the pools it may be in.

    A pool is a kind of record, a part of the scale (``strength``, ``rate``, ``change``), or the
    values of one fact (`values_of`). ``key`` says that the name is a key of a mapping.
    """

    path: DataPath
    name: str
    pools: tuple[str, ...]
    key: bool = False


Walk: TypeAlias = Callable[[Any, DataPath], Iterator[Mention]]


def mentions(kind: str, data: Any) -> Iterator[Mention]:
    """List everything a record names outside itself.

    Parameters
    ----------
    kind : str
        As in `knowledge.raw.KINDS`.
    data : object
        The record as plain data, valid or not.

    Yields
    ------
    Mention
    """
    yield from _RECORDS[kind](data, ())


def values_of(fact: str) -> str:
    """Give the name of the pool that holds a fact's values."""
    return f"the values of {fact}"


def _one(*pools: str) -> Walk:
    def walk(data: Any, path: DataPath) -> Iterator[Mention]:
        if isinstance(data, str) and data:
            yield Mention(path, data, pools)

    return walk


def _each(item: Walk) -> Walk:
    def walk(data: Any, path: DataPath) -> Iterator[Mention]:
        for i, value in enumerate(data if isinstance(data, list | tuple) else ()):
            yield from item(value, (*path, i))

    return walk


def _keys(*pools: str, then: Walk) -> Walk:
    def walk(data: Any, path: DataPath) -> Iterator[Mention]:
        for key, value in data.items() if isinstance(data, Mapping) else ():
            yield Mention((*path, key), key, pools, key=True)
            yield from then(value, (*path, key))

    return walk


def _inside(table: Mapping[str, Walk]) -> Walk:
    def walk(data: Any, path: DataPath) -> Iterator[Mention]:
        for key, item in table.items() if isinstance(data, Mapping) else ():
            if key in data:
                yield from item(data[key], (*path, key))

    return walk


def _nothing(data: Any, path: DataPath) -> Iterator[Mention]:
    del data, path
    return iter(())


def _needs(data: Any, path: DataPath) -> Iterator[Mention]:
    """Facts, each with those of its values that fit."""
    for fact, values in data.items() if isinstance(data, Mapping) else ():
        yield Mention((*path, fact), fact, ("facts",), key=True)
        yield from _each(_one(values_of(fact)))(values, (*path, fact))


def _source(data: Any, path: DataPath) -> Iterator[Mention]:
    yield from _one("sources")(data, path)
    yield from _each(_one("sources"))(data, path)


def _strength(pool: str) -> Walk:
    """Walk a word by itself, or a mapping with the word or a number, a condition and a source."""
    word = _one(pool)
    long = _inside({"word": word, "when": _needs, "source": _source})

    def walk(data: Any, path: DataPath) -> Iterator[Mention]:
        yield from word(data, path)
        yield from long(data, path)

    return walk


_LINKS = {
    "brings": _keys("mechanisms", "complaints", then=_strength("strength")),
    "shows": _keys("findings", then=_strength("strength")),
}
_OBSERVABLE = _inside(
    {"unexplained": _strength("strength"), "stop": _one("cautions"), "source": _source}
)
_CITED = _inside({"source": _source})
_LIMIT = _inside({"when": _needs, "source": _source})
_SHIFT = _inside(
    {
        "kit": _one("kit figures"),
        "chance": _one("strength"),
        "when": _needs,
        "source": _source,
    }
)


def _shifts(data: Any, path: DataPath) -> Iterator[Mention]:
    """Walk one shift by itself, or a list of them."""
    yield from _SHIFT(data, path)
    yield from _each(_SHIFT)(data, path)


_RECORDS: Mapping[str, Walk] = {
    "sources": _nothing,
    "zones": _inside({"cautions": _each(_one("cautions"))}),
    "levels": _inside({"cautions": _each(_one("cautions")), "source": _source}),
    "facts": _CITED,
    "cautions": _CITED,
    "scale": _CITED,
    "setups": _inside(
        {"facts": _needs, "hours": _keys("levels", then=_nothing), "source": _source}
    ),
    "complaints": _OBSERVABLE,
    "findings": _OBSERVABLE,
    "mechanisms": _inside(
        {"of": _each(_one("mechanisms", "causes")), "when": _needs, **_LINKS, "source": _source}
    ),
    "causes": _inside(
        {
            "zone": _one("zones"),
            "rate": _strength("rate"),
            "rate_where": _each(_strength("rate")),
            "when": _needs,
            **_LINKS,
            "shifts": _keys("figures", "measurements", then=_shifts),
            "alike": _keys("causes", then=_nothing),
            "repair": _inside({"from": _one("levels"), "cures": _strength("strength")}),
            "source": _source,
        }
    ),
    "measurements": _inside({"limits": _each(_LIMIT), "source": _source}),
    "checks": _inside(
        {
            "from": _one("levels"),
            "when": _needs,
            "cautions": _each(_one("cautions")),
            "finding": _one("findings"),
            "gauge": _one("measurements"),
            "answers": _each(
                _inside({"shows": _keys("findings", "complaints", then=_nothing)}),
            ),
            "source": _source,
        }
    ),
    "work": _inside(
        {
            "when": _needs,
            "answers": _each(
                _inside(
                    {
                        "changes": _keys("causes", then=_one("change")),
                        "cures": _keys("causes", then=_strength("strength")),
                    }
                )
            ),
            "source": _source,
        }
    ),
}
