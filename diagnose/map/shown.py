"""What stands on the map: which nodes and groups, and the links between what is shown.

Whole groups are shown closed until they are opened; followed from a node, only what leads to it or
comes of it is shown, and a layer that then has few nodes is open by itself.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from diagnose.drawings.cards import Key
from diagnose.map.graph import Group, MapGraph, MapLink
from diagnose.map.light import Light

Way = Literal["both", "up", "down"]
FEW = 16  # so many nodes of a layer are shown one by one where a node is followed


@dataclass(frozen=True)
class State:
    """What was asked for.

    Attributes
    ----------
    opened, closed : frozenset of tuple of str
        Groups that a person opened, and closed.
    root : tuple of str or None
        The node that is followed.
    way : str
        Whether its causes (``up``), its consequences (``down``) or both are shown.
    """

    opened: frozenset[Key] = frozenset()
    closed: frozenset[Key] = frozenset()
    root: Key | None = None
    way: Way = "both"

    def with_group(self, group: Key, *, is_open: bool) -> "State":
        """Give the state with a group open or closed."""
        own = frozenset({group})
        if is_open:
            return replace(self, opened=self.opened | own, closed=self.closed - own)
        return replace(self, opened=self.opened - own, closed=self.closed | own)

    def following(self, root: Key | None, way: Way = "both") -> "State":
        """Give the state that follows a node, or the whole map; groups are as they come."""
        return State(root=root, way=way)


@dataclass(frozen=True)
class AsShown:
    """One box of the map.

    Attributes
    ----------
    key : tuple of str
        Of a record, or of a group.
    name : str
    kind : str
        Of the record, or of the group's members.
    layer : int
    block : tuple of str
        Boxes of one block stand together; the key of its first.
    count : int
        Members of a group that belong to what is shown; 0 for a record.
    is_open : bool
        Whether it is the head of an opened group.
    chance : float or None
        Its light; None without a case.
    told : bool
        Whether it was answered in the case.
    """

    key: Key
    name: str
    kind: str
    layer: int
    block: Key
    count: int = 0
    is_open: bool = False
    chance: float | None = None
    told: bool = False

    @property
    def is_group(self) -> bool:
        """Whether it stands for several records."""
        return self.key[0] == "group"


@dataclass(frozen=True)
class Bond:
    """Links between two boxes: the strongest of them, its word, and how many there are."""

    tail: Key
    head: Key
    p: float
    word: str
    count: int


@dataclass(frozen=True)
class Shown:
    """The content of the map.

    Attributes
    ----------
    boxes : Mapping
        By key, layer by layer; of a block its head first, then the likeliest.
    bonds : tuple of Bond
    into, out_of : Mapping
        The bonds that end, and that begin, at a box; the strongest first.
    stands_for : Mapping
        Key of every record that belongs to what is shown -> key of the box it is in.
    """

    boxes: Mapping[Key, AsShown]
    bonds: tuple[Bond, ...]
    into: Mapping[Key, tuple[Bond, ...]]
    out_of: Mapping[Key, tuple[Bond, ...]]
    stands_for: Mapping[Key, Key]


def shown(graph: MapGraph, state: State, light: Light | None = None) -> Shown:
    """Say what stands on the map.

    Parameters
    ----------
    graph : MapGraph
    state : State
    light : Light, optional

    Returns
    -------
    Shown
    """
    inside = _inside(graph, state)
    boxes: dict[Key, AsShown] = {}
    stands_for: dict[Key, Key] = {}
    for group in graph.groups.values():
        members = [key for key in group.members if key in inside]
        if not members:
            continue
        for box in _block(graph, state, group, members, light, inside):
            boxes[box.key] = box
        for key in members:
            stands_for[key] = key if key in boxes else group.key
    bonds = _bonds(graph, stands_for)
    into: dict[Key, list[Bond]] = {}
    out_of: dict[Key, list[Bond]] = {}
    for bond in sorted(bonds, key=lambda bond: -bond.p):
        into.setdefault(bond.head, []).append(bond)
        out_of.setdefault(bond.tail, []).append(bond)
    return Shown(
        boxes,
        bonds,
        {key: tuple(some) for key, some in into.items()},
        {key: tuple(some) for key, some in out_of.items()},
        stands_for,
    )


def _inside(graph: MapGraph, state: State) -> frozenset[Key]:
    """Give the records that belong to what is shown."""
    if state.root is None or state.root not in graph.nodes:
        return frozenset(graph.nodes)
    inside = frozenset({state.root})
    if state.way != "down":
        inside |= graph.behind(state.root)
    if state.way != "up":
        inside |= graph.beyond(state.root)
    return inside


def _block(
    graph: MapGraph,
    state: State,
    group: Group,
    members: list[Key],
    light: Light | None,
    inside: frozenset[Key],
) -> Iterable[AsShown]:
    """Give the boxes of a group: itself, or its head and members, or its members alone."""
    flat = state.root is not None and _few(graph, group, inside)
    if group.key not in state.closed and (len(members) == 1 or flat):
        for box in _alone(graph, group, members, light):
            yield replace(box, block=box.key)
        return
    is_open = group.key in state.opened or state.root in members
    yield AsShown(
        group.key,
        group.name,
        group.kind,
        group.layer,
        group.key,
        len(members),
        is_open,
        None if light is None else light.of_group(group),
    )
    if is_open:
        yield from _alone(graph, group, members, light)


def _alone(graph: MapGraph, group: Group, members: list[Key], light: Light | None) -> list[AsShown]:
    """Give the boxes of a group's members, the likeliest first."""
    alone = [
        AsShown(
            key,
            graph.nodes[key].name,
            group.kind,
            group.layer,
            group.key,
            chance=None if light is None else light.chance.get(key, 0.0),
            told=light is not None and key in light.told,
        )
        for key in members
    ]
    return sorted(alone, key=lambda box: -(box.chance or 0.0))


def _few(graph: MapGraph, group: Group, inside: frozenset[Key]) -> bool:
    """Whether a kind has so few records in what is shown that groups only stand in the way."""
    kin = (other for other in graph.groups.values() if other.kind == group.kind)
    return sum(key in inside for other in kin for key in other.members) <= FEW


def _bonds(graph: MapGraph, stands_for: Mapping[Key, Key]) -> tuple[Bond, ...]:
    """Join links that run between the same two boxes; those inside a box fall away."""
    joined: dict[tuple[Key, Key], list[MapLink]] = {}
    for link in graph.links:
        tail, head = stands_for.get(link.tail), stands_for.get(link.head)
        if tail is not None and head is not None and tail != head:
            joined.setdefault((tail, head), []).append(link)
    bonds = []
    for (tail, head), links in joined.items():
        strongest = max(links, key=lambda link: link.p)
        bonds.append(Bond(tail, head, strongest.p, strongest.word, len(links)))
    return tuple(bonds)
