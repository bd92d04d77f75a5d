"""The fault tree of a base for one set-up, in three layers: causes, mechanisms, what is noticed.

Causes are grouped by their zone, findings by the level from which they are first seen. Mechanisms
and complaints have no zone of their own: they stand with the zone that most of their causes come
from, by rates and strengths, and apart where no zone brings half of them.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from diagnose.drawings.cards import Key, strength_words
from knowledge.model import Cause, KnowledgeBase, Mechanism, Needs, Strength
from knowledge.tree import Tree, share_that_fits, share_with

CAUSES, MECHANISMS, NOTICED = range(3)
LAYERS: Mapping[str, int] = {
    "causes": CAUSES,
    "mechanisms": MECHANISMS,
    "complaints": NOTICED,
    "findings": NOTICED,
}
SEVERAL = "several"  # the group of what no zone brings half of
_SEVERAL_NAME = "Several zones"
_MOST = 0.5  # share of the causes that puts a mechanism or complaint with a zone
_UNSEEN = "other"  # the group of findings that no check reads
_UNSEEN_NAME = "Seen by no check"


@dataclass(frozen=True)
class Node:
    """A record on the map.

    Attributes
    ----------
    key : tuple of str
        Kind and id, as in the handbook.
    name : str
    layer : int
        Its place in `LAYERS`.
    group : tuple of str
        Key of its group.
    """

    key: Key
    name: str
    layer: int
    group: Key


@dataclass(frozen=True)
class Group:
    """Records of one kind that stand together; its key is ``("group", "kind/which")``."""

    key: Key
    name: str
    kind: str
    layer: int
    members: tuple[Key, ...]


@dataclass(frozen=True)
class MapLink:
    """A link of the tree.

    Attributes
    ----------
    tail, head : tuple of str
    p : float
        Its strength, with the share of comebacks that meet its condition; 1 for a gate's input.
    word : str
        The strength as the base has it; empty for the input of a gate.
    """

    tail: Key
    head: Key
    p: float
    word: str


@dataclass(frozen=True, eq=False)
class MapGraph:
    """All nodes, links and groups that a set-up allows.

    Attributes
    ----------
    base : KnowledgeBase
    facts : Mapping
    nodes : Mapping
        By key; in the order of the base, layer by layer.
    links : tuple of MapLink
    groups : Mapping
        By key; none is empty.
    into, out_of : Mapping
        The links that end, and that begin, at a node; the strongest first.
    """

    base: KnowledgeBase
    facts: Needs
    nodes: Mapping[Key, Node]
    links: tuple[MapLink, ...]
    groups: Mapping[Key, Group]
    into: Mapping[Key, tuple[MapLink, ...]]
    out_of: Mapping[Key, tuple[MapLink, ...]]

    @classmethod
    def of(cls, base: KnowledgeBase, facts: Needs) -> "MapGraph":
        """Make the map of a base for a set-up, or give the one that was made before."""
        return _made(base, tuple(sorted((k, tuple(v)) for k, v in facts.items())))

    def behind(self, key: Key) -> frozenset[Key]:
        """Give all nodes from which links lead to a node, itself left out."""
        return _reached(self.into, key, heads=False)

    def beyond(self, key: Key) -> frozenset[Key]:
        """Give all nodes to which links lead from a node, itself left out."""
        return _reached(self.out_of, key, heads=True)


def _reached(
    links: Mapping[Key, tuple[MapLink, ...]], start: Key, *, heads: bool
) -> frozenset[Key]:
    found: set[Key] = set()
    todo = [start]
    while todo:
        near = {link.head if heads else link.tail for link in links.get(todo.pop(), ())} - found
        found |= near
        todo.extend(near)
    return frozenset(found)


@lru_cache(maxsize=8)
def _made(base: KnowledgeBase, facts: tuple[tuple[str, tuple[str, ...]], ...]) -> MapGraph:
    told = dict(facts)
    links = tuple(_links(base, told))
    joined = {link.tail for link in links} | {link.head for link in links}
    homes = _homes(base, told)
    nodes = {
        node.key: node
        for node in _nodes(base, told, homes)
        # What no cause of this set-up leads to is not on its map.
        if node.key in joined or node.layer == CAUSES
    }
    links = tuple(link for link in links if link.tail in nodes and link.head in nodes)
    into: dict[Key, list[MapLink]] = {}
    out_of: dict[Key, list[MapLink]] = {}
    for link in sorted(links, key=lambda link: -link.p):
        into.setdefault(link.head, []).append(link)
        out_of.setdefault(link.tail, []).append(link)
    return MapGraph(
        base,
        told,
        nodes,
        links,
        _groups(base, nodes.values()),
        {key: tuple(some) for key, some in into.items()},
        {key: tuple(some) for key, some in out_of.items()},
    )


def _links(base: KnowledgeBase, facts: Needs) -> Iterable[MapLink]:
    def share(when: Needs) -> float:
        return share_that_fits(base, facts, when)

    records: list[tuple[str, Cause | Mechanism]] = [
        *(("causes", c) for c in base.causes.values()),
        *(("mechanisms", m) for m in base.mechanisms.values()),
    ]
    alive = {record.id for _, record in records if share(record.when) > 0.0}

    def kind_of(name: str) -> str:
        kinds = ("causes", "mechanisms", "complaints", "findings")
        return next(kind for kind in kinds if name in getattr(base, kind))

    for kind, record in records:
        if record.id not in alive:
            continue
        targets: list[tuple[str, Strength]] = [*record.brings.items(), *record.shows.items()]
        for target, strength in targets:
            p = base.strength(strength) * share(strength.when)
            head = kind_of(target)
            if p > 0.0 and (head in {"complaints", "findings"} or target in alive):
                words = strength_words(base, strength)
                yield MapLink((kind, record.id), (head, target), p, words)
    for mechanism in base.mechanisms.values():
        for tail in mechanism.of:
            if mechanism.id in alive and tail in alive:
                yield MapLink((kind_of(tail), tail), ("mechanisms", mechanism.id), 1.0, "")


def _nodes(base: KnowledgeBase, facts: Needs, homes: Mapping[str, str]) -> Iterable[Node]:
    for kind, layer in LAYERS.items():
        records: Mapping[str, object] = getattr(base, kind)
        for name in records:
            if kind == "causes" and share_that_fits(base, facts, base.causes[name].when) == 0.0:
                continue
            group = ("group", f"{kind}/{homes[name]}")
            yield Node((kind, name), str(getattr(records[name], "name", name)), layer, group)


def _homes(base: KnowledgeBase, facts: Needs) -> Mapping[str, str]:
    """Say which zone, or which level, each node stands with."""
    homes = {name: cause.zone for name, cause in base.causes.items()}
    tree = Tree(base, facts)
    # Inputs of AND and voting gates bring nothing alone; their zones count all the same.
    weight = {n: dict.fromkeys(base.zones, 0.0) for n in (*base.mechanisms, *base.complaints)}
    for cause in base.causes.values():
        rate = share_with(base, facts, cause)
        for name, chance in tree.reach((cause.id,)).items():
            if name in weight:
                weight[name][cause.zone] += rate * chance
    for mechanism in base.mechanisms.values():
        for tail in mechanism.of:
            for zone, some in weight.get(tail, {}).items():
                weight[mechanism.id][zone] += some
    for name, zones in weight.items():
        zone = max(zones, key=lambda z: zones[z])
        homes[name] = zone if zones[zone] > _MOST * sum(zones.values()) else SEVERAL
    homes.update(_levels(base))
    return homes


def _levels(base: KnowledgeBase) -> Mapping[str, str]:
    """Say from which level each finding is first seen."""
    depth = {name: i for i, name in enumerate(base.levels)}
    found: dict[str, str] = dict.fromkeys(base.findings, _UNSEEN)
    for check in base.checks.values():
        for finding in check.reads():
            known = depth.get(found.get(finding, ""), len(depth))
            if finding in found and depth[check.from_] < known:
                found[finding] = check.from_
    return found


def _groups(base: KnowledgeBase, nodes: Iterable[Node]) -> Mapping[Key, Group]:
    members: dict[Key, list[Node]] = {}
    for node in nodes:
        members.setdefault(node.group, []).append(node)
    zones = [*base.zones, SEVERAL, *base.levels, _UNSEEN]

    def place(key: Key) -> tuple[int, int]:
        kind, which = key[1].split("/")
        return [*LAYERS].index(kind), zones.index(which)

    return {
        key: Group(
            key,
            _group_name(base, key),
            key[1].split("/")[0],
            members[key][0].layer,
            tuple(node.key for node in members[key]),
        )
        for key in sorted(members, key=place)
    }


def _group_name(base: KnowledgeBase, key: Key) -> str:
    kind, which = key[1].split("/")
    if which == _UNSEEN:
        return _UNSEEN_NAME
    if kind == "findings":
        return f"Seen {base.levels[which].name}"
    name = _SEVERAL_NAME if which == SEVERAL else base.zones[which].name
    return f"Complaints: {name}" if kind == "complaints" else name
