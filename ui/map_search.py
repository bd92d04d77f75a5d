"""Finding what stands on the map, by names and by what drivers say."""

from collections.abc import Sequence

from diagnose.map import Key, Light, MapGraph
from ui.map_words import KINDS, capital
from ui.search import Index
from ui.widgets.rows import Ranked

_MOST = 40  # rows that are listed


class MapSearch:
    """A search over all records and groups of a map.

    Parameters
    ----------
    graph : MapGraph
    light : Light or None
        Its chances are the bars of the rows.
    """

    def __init__(self, graph: MapGraph, light: Light | None) -> None:
        self._graph, self._light = graph, light
        texts: dict[str, Sequence[str]] = {}
        complaints = graph.base.complaints
        for (kind, name), node in graph.nodes.items():
            words = complaints[name].words if kind == "complaints" else ()
            texts[f"{kind}/{name}"] = (node.name, *words)
        for (kind, name), group in graph.groups.items():
            texts[f"{kind}/{name}"] = (group.name, KINDS[group.kind])
        self._index = Index(texts)

    def find(self, typed: str) -> list[tuple[Key, Ranked]]:
        """List what a text speaks of, best first."""
        found = self._index.find(typed) or self._index.suggest(typed)
        return [self._row(name) for name in found[:_MOST]]

    def _row(self, name: str) -> tuple[Key, Ranked]:
        kind, _, rest = name.partition("/")
        key = (kind, rest)
        if key in self._graph.groups:
            group = self._graph.groups[key]
            return key, Ranked(group.name, f"group of {KINDS[group.kind]}s")
        lit = None if self._light is None else self._light.chance.get(key, 0.0)
        return key, Ranked(capital(self._graph.nodes[key].name), KINDS[kind], lit)
