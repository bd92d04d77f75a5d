"""What a tree of the base shows, as cards: the drawing's content, without places.

A card is a complaint or a mechanism with what brings it about hung below its name. Every cause is
hung once: where the way on which it most often leads to the complaint begins. Bonds join the cards,
from mechanism up to what it brings. Gates are told by their names in IEC 61025; a card that names
none is an OR gate.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from heapq import heappop, heappush
from typing import NamedTuple

from knowledge.model import Cause, Gate, KnowledgeBase, Mechanism, Needs, Strength
from knowledge.tree import share_that_fits

Key = tuple[str, str]  # kind and id of a record
_BY_GATE = 1e-9  # below every strength: a way through a gate comes after all others


@dataclass(frozen=True)
class Leaf:
    """Something hung on a card.

    Attributes
    ----------
    key : tuple of str
    name : str
    word : str
        How strongly it is tied to the card; empty for the inputs of an AND or voting gate.
    p : float
        The chance the word stands for.
    note : str
        The condition, if it has one.
    """

    key: Key
    name: str
    word: str
    p: float
    note: str = ""


@dataclass(frozen=True)
class Group:
    """Leaves with a heading."""

    title: str
    leaves: tuple[Leaf, ...]


@dataclass(frozen=True)
class Card:
    """A node of the tree.

    Attributes
    ----------
    key : tuple of str
    name : str
    top : bool
        Whether it is what the tree leads to.
    gate : tuple of str
        Lines that say the gate; empty for a plain OR gate.
    groups : tuple of Group
    """

    key: Key
    name: str
    top: bool = False
    gate: tuple[str, ...] = ()
    groups: tuple[Group, ...] = ()


class Bond(NamedTuple):
    """From a card up to another; the words are empty for an input of an AND or voting gate."""

    tail: Key
    head: Key
    words: tuple[str, ...]
    p: float


@dataclass(frozen=True)
class Cards:
    """The content of one drawing.

    Attributes
    ----------
    title, about : str
    cards : tuple of Card
    bonds : tuple of Bond
    left_out : tuple of str
        Ids of causes that lead there as well and are not drawn, likeliest first.
    """

    title: str
    about: str
    cards: tuple[Card, ...]
    bonds: tuple[Bond, ...]
    left_out: tuple[str, ...] = ()


class Step(NamedTuple):
    """A link of the tree as the base has it; without a strength it is an input of a gate."""

    tail: Key
    head: Key
    strength: Strength | None


class Ways:
    """All links of a base among causes, mechanisms and complaints, in both directions.

    Parameters
    ----------
    base : KnowledgeBase
    """

    def __init__(self, base: KnowledgeBase) -> None:
        self.base = base
        self.into: dict[str, list[Step]] = {}
        self.out_of: dict[str, list[Step]] = {}
        records: list[tuple[str, Cause | Mechanism]] = [
            *(("causes", record) for record in base.causes.values()),
            *(("mechanisms", record) for record in base.mechanisms.values()),
        ]
        for kind, record in records:
            for target, strength in record.brings.items():
                if self._chance(strength) > 0.0:
                    head = "mechanisms" if target in base.mechanisms else "complaints"
                    step = Step((kind, record.id), (head, target), strength)
                    self._add(step)
        for name, mechanism in base.mechanisms.items():
            for tail in mechanism.of:
                kind = "causes" if tail in base.causes else "mechanisms"
                self._add(Step((kind, tail), ("mechanisms", name), None))

    def _add(self, step: Step) -> None:
        self.into.setdefault(step.head[1], []).append(step)
        self.out_of.setdefault(step.tail[1], []).append(step)

    def _chance(self, strength: Strength | None) -> float:
        if strength is None:
            return _BY_GATE
        return self.base.strength(strength) * share_that_fits(self.base, {}, strength.when)

    def behind(self, name: str) -> tuple[str, ...]:
        """List the causes and mechanisms that can lead to a node, alone or through a gate."""
        found: set[str] = set()
        todo = [name]
        while todo:
            tails = {step.tail[1] for step in self.into.get(todo.pop(), ())} - found
            found |= tails
            todo.extend(tails)
        return tuple(sorted(found))

    def strongest(self, complaint: str) -> Mapping[str, Step]:
        """Give for each node behind a complaint its strongest way there.

        Returns
        -------
        Mapping
            Id -> the first step of that way. One through an AND or voting gate, which no cause
            takes alone, is the strongest only where there is no other.
        """
        best: dict[str, Step] = {}
        reach = {complaint: 1.0}
        todo = [(-1.0, complaint)]
        while todo:
            chance, here = heappop(todo)
            if -chance < reach[here]:
                continue  # a stronger way was found since
            for step in self.into.get(here, ()):
                tail = step.tail[1]
                longer = reach[here] * self._chance(step.strength)
                if longer > reach.get(tail, 0.0):
                    reach[tail] = longer
                    best[tail] = step
                    heappush(todo, (-longer, tail))
        return best


def condition_words(base: KnowledgeBase, when: Needs) -> str:
    """Say which set-ups meet a condition; empty if all do."""
    said = []
    for fact, values in when.items():
        record = base.facts[fact]
        names = " or ".join(record.values[value].name for value in values)
        said.append(f"{_small(record.name)} – {names}")
    return "; ".join(said)


def strength_words(base: KnowledgeBase, strength: Strength) -> str:
    """Say how strong a link is: the word of the scale, or the number that stands in its place."""
    return strength.word or f"{100.0 * base.strength(strength):g} in 100"


def gate_lines(base: KnowledgeBase, mechanism: Mechanism) -> tuple[str, ...]:
    """Say the gate of a mechanism; nothing for a plain OR gate."""
    lines = []
    if mechanism.gate is Gate.ALL:
        n = len(mechanism.of)
        lines.append(f"AND gate: {'both' if n == 2 else f'all {n}'} of these together")
    elif mechanism.gate is Gate.AT_LEAST:
        lines.append(f"Voting gate: at least {mechanism.k} of these {len(mechanism.of)}")
    if mechanism.when:
        lines.append(f"INHIBIT gate: only where {condition_words(base, mechanism.when)}")
    return tuple(lines)


def complaint_cards(
    ways: Ways, complaint: str, order: Iterable[str], *, most: int | None = None
) -> Cards:
    """Say what leads to a complaint.

    Parameters
    ----------
    ways : Ways
    complaint : str
    order : iterable of str
        Ids of causes, the likeliest first; those behind the complaint that it does not name follow.
    most : int, optional
        At most so many causes are drawn; inputs of AND and voting gates always are.

    Returns
    -------
    Cards
    """
    base = ways.base
    behind = set(ways.behind(complaint))
    ranked = [name for name in dict.fromkeys((*order, *sorted(behind))) if name in behind]
    causes = [name for name in ranked if name in base.causes]
    strongest = ways.strongest(complaint)
    shown = _shown(base, complaint, strongest, causes[:most])
    inputs = {n for name in shown for n in base.mechanisms[name].of if n in base.causes}
    hung: dict[str, list[Leaf]] = {}
    for name in causes[:most]:
        step = strongest[name]
        if step.strength is not None:
            hung.setdefault(step.head[1], []).append(_leaf(base, step, step.strength))
    cards = [
        Card(
            ("complaints", complaint),
            _capital(base.complaints[complaint].name),
            top=True,
            groups=_by_zone(base, hung.get(complaint, ())),
        )
    ]
    for name in shown:
        mechanism = base.mechanisms[name]
        cards.append(
            Card(
                ("mechanisms", name),
                _capital(mechanism.name),
                gate=gate_lines(base, mechanism),
                groups=(*_inputs(base, mechanism), *_by_zone(base, hung.get(name, ()))),
            )
        )
    left_out = tuple(n for n in causes[len(causes[:most]) :] if n not in inputs)
    return Cards(
        f"What leads to: {base.complaints[complaint].name}",
        _about(base, complaint, len(causes) - len(left_out), left_out),
        tuple(cards),
        _bonds(ways, complaint, shown),
        left_out,
    )


def overview_cards(ways: Ways) -> Cards:
    """Say which mechanism brings which complaints and which other mechanisms."""
    base = ways.base
    cards = []
    for name, mechanism in base.mechanisms.items():
        leaves = tuple(
            sorted(
                (
                    _leaf(base, step, step.strength)
                    for step in ways.out_of.get(name, ())
                    if step.strength is not None and step.head[0] == "complaints"
                ),
                key=lambda leaf: -leaf.p,
            )
        )
        groups = (Group("Brings the complaints", leaves),) if leaves else ()
        gate = gate_lines(base, mechanism)
        named = _capital(mechanism.name)
        cards.append(Card(("mechanisms", name), named, gate=gate, groups=groups))
    brought = {leaf.key for card in cards for group in card.groups for leaf in group.leaves}
    direct = len(base.complaints) - len(brought)
    about = (
        f"{len(base.mechanisms)} mechanisms, each with the complaints it brings; lines run upward "
        "from a mechanism to those it brings about."
    )
    if direct:
        about += f" {direct} complaints are brought by causes alone and are not drawn here."
    return Cards(
        "The middle of the tree", about, tuple(cards), _bonds(ways, "", list(base.mechanisms))
    )


def _shown(
    base: KnowledgeBase, complaint: str, strongest: Mapping[str, Step], drawn: Iterable[str]
) -> list[str]:
    """List the mechanisms on the ways of the causes drawn, and the gates with their inputs."""
    gates = [n for n, m in base.mechanisms.items() if m.of and n in strongest]
    inputs = [n for gate in gates for n in base.mechanisms[gate].of if n in base.mechanisms]
    wanted = {*gates, *inputs}
    for start in (*drawn, *wanted):
        here = strongest[start].head[1]
        while here != complaint:
            wanted.add(here)
            here = strongest[here].head[1]
    return [name for name in base.mechanisms if name in wanted]


def _bonds(ways: Ways, complaint: str, shown: list[str]) -> tuple[Bond, ...]:
    base = ways.base
    drawn = {complaint, *shown}
    bonds = []
    for name in shown:
        for step in ways.out_of.get(name, ()):
            if step.head[1] not in drawn:
                continue
            if step.strength is None:
                bonds.append(Bond(step.tail, step.head, ("input of the gate",), 1.0))
                continue
            condition = condition_words(base, step.strength.when)
            words = (strength_words(base, step.strength), *((condition,) if condition else ()))
            bonds.append(Bond(step.tail, step.head, words, base.strength(step.strength)))
    return tuple(bonds)


def _inputs(base: KnowledgeBase, mechanism: Mechanism) -> tuple[Group, ...]:
    """The causes a gate lists, hung on it whatever their strongest way is."""
    leaves = tuple(
        Leaf(("causes", name), _capital(base.causes[name].name), "", 1.0)
        for name in mechanism.of
        if name in base.causes
    )
    return (Group("", leaves),) if leaves else ()


def _leaf(base: KnowledgeBase, step: Step, strength: Strength) -> Leaf:
    """What hangs on a card: a cause below what it brings, or a complaint below what brings it."""
    kind, name = step.tail if step.tail[0] == "causes" else step.head
    record = base.causes[name] if kind == "causes" else base.complaints[name]
    condition = condition_words(base, strength.when)
    return Leaf(
        (kind, name),
        _capital(record.name),
        strength_words(base, strength),
        base.strength(strength),
        condition,
    )


def _by_zone(base: KnowledgeBase, leaves: Iterable[Leaf]) -> tuple[Group, ...]:
    """Group causes by their zones in the order of the base, the strongest first."""
    found: dict[str, list[Leaf]] = {zone: [] for zone in base.zones}
    for leaf in leaves:
        found[base.causes[leaf.key[1]].zone].append(leaf)
    return tuple(
        Group(base.zones[zone].name, tuple(sorted(those, key=lambda leaf: -leaf.p)))
        for zone, those in found.items()
        if those
    )


def _about(base: KnowledgeBase, complaint: str, drawn: int, left_out: tuple[str, ...]) -> str:
    rest = f"; {len(left_out)} more lead there too and are listed below" if left_out else ""
    causes = "1 cause" if drawn == 1 else f"{drawn} causes"
    return (
        f"The complaint “{base.complaints[complaint].name}” stands on top. Below each name hangs "
        f"what brings it about: {causes} in all{rest}."
    )


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
