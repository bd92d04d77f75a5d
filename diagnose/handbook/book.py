"""The base with what belongs together across its records, each worked out once."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import NamedTuple

from diagnose.assess import network_for, run
from diagnose.case import Case, Entry
from diagnose.drawings.cards import Ways
from diagnose.evidence import read_case
from diagnose.network import UNKNOWN, Network
from diagnose.proofs import Proof, proofs_of
from knowledge.model import Cause, Check, KnowledgeBase, Mechanism, Strength, Work, WorkAnswer

Key = tuple[str, str]  # kind and id of a record

# What one record of a kind is called.
KIND_NAMES: Mapping[str, str] = {
    "cautions": "Caution",
    "complaints": "Complaint",
    "mechanisms": "Mechanism",
    "causes": "Cause",
    "zones": "Causes of one region",
    "checks": "Check",
    "levels": "Checks from one place",
    "findings": "Sign",
    "measurements": "Measurement",
    "work": "Work done",
    "facts": "About the vehicle",
    "setups": "Set-up",
    "sources": "Source",
}


class Tie(NamedTuple):
    """A record that another is tied to, and how strongly."""

    key: Key
    strength: Strength


class Done(NamedTuple):
    """An answer about work done that speaks of a cause: by a word on its odds, or as a cure."""

    work: Work
    answer: WorkAnswer
    change: str
    cure: Strength | None


class Lead(NamedTuple):
    """A cause of a complaint, and its chance where nothing but that complaint is known."""

    cause: Cause
    p: float


class Book:
    """The base as a handbook tells it.

    Parameters
    ----------
    base : KnowledgeBase
    """

    def __init__(self, base: KnowledgeBase) -> None:
        self.base = base
        self._leads: dict[str, tuple[Lead, ...]] = {}

    @cached_property
    def network(self) -> Network:
        """The tree, compiled for a vehicle of which nothing is known."""
        return network_for(self.base, ())

    @cached_property
    def ways(self) -> Ways:
        """The links of the tree, in both directions."""
        return Ways(self.base)

    @cached_property
    def proofs(self) -> Mapping[str, tuple[Proof, ...]]:
        """Cause id -> the checks that prove it, the most accessible first."""
        return proofs_of(self.network)

    @cached_property
    def brought_by(self) -> Mapping[str, tuple[Tie, ...]]:
        """Mechanism or complaint id -> what brings it, the strongest first."""
        return self._tied("brings")

    @cached_property
    def shown_by(self) -> Mapping[str, tuple[Tie, ...]]:
        """Finding or complaint id -> what shows it, the strongest first."""
        return self._tied("shows")

    @cached_property
    def read_by(self) -> Mapping[str, tuple[Check, ...]]:
        """Finding id -> the checks that look for it."""
        found: defaultdict[str, list[Check]] = defaultdict(list)
        for check in self.base.checks.values():
            for name in check.reads():
                found[name].append(check)
        return {name: tuple(checks) for name, checks in found.items()}

    @cached_property
    def done_to(self) -> Mapping[str, tuple[Done, ...]]:
        """Cause id -> what work done says of it."""
        found: defaultdict[str, list[Done]] = defaultdict(list)
        for work in self.base.work.values():
            for answer in work.answers:
                for name in dict.fromkeys((*answer.changes, *answer.cures)):
                    done = Done(work, answer, answer.changes.get(name, ""), answer.cures.get(name))
                    found[name].append(done)
        return {name: tuple(done) for name, done in found.items()}

    @cached_property
    def gates_of(self) -> Mapping[str, tuple[str, ...]]:
        """Cause or mechanism id -> the AND and voting gates it is an input of."""
        found: defaultdict[str, list[str]] = defaultdict(list)
        for mechanism in self.base.mechanisms.values():
            for name in mechanism.of:
                found[name].append(mechanism.id)
        return {name: tuple(gates) for name, gates in found.items()}

    def leads(self, complaint: str) -> tuple[Lead, ...]:
        """List the causes that can lead to a complaint, in order of chance.

        The chance is what the ranking says where the complaint is all that is known, and so takes
        everything into account: how common each cause is, how often it leads there, that several
        may be there at once, and what this tool does not know.

        Raises
        ------
        KeyError
            If the base has no such complaint.
        """
        if complaint not in self.base.complaints:
            raise KeyError(complaint)
        if complaint not in self._leads:
            network = self.network
            case = Case(entries=(Entry(complaint=complaint, answer="yes"),))
            chance = run(network, read_case(network, case)).cause
            behind = self.ways.behind(complaint)
            leads = [
                Lead(self.base.causes[name], float(chance[network.cause_index[name]]))
                for name in behind
                if name in network.cause_index and name != UNKNOWN
            ]
            # Rounded: causes that nothing tells apart come by id, not by the last digit of a sum.
            leads.sort(key=lambda lead: (-round(lead.p, 12), lead.cause.id))
            self._leads[complaint] = tuple(leads)
        return self._leads[complaint]

    def key_of(self, name: str) -> Key:
        """Give the key of a node of the tree.

        Raises
        ------
        KeyError
            If nothing of the tree has that id.
        """
        for kind in ("complaints", "mechanisms", "causes", "findings"):
            if name in getattr(self.base, kind):
                return kind, name
        raise KeyError(name)

    def title(self, key: Key) -> str:
        """Give what a record is called, with a capital letter in front."""
        kind, name = key
        record = getattr(self.base, kind)[name]
        if kind == "sources":
            return name
        text: str = _first_sentence(record.text) if kind == "cautions" else record.name
        return text[:1].upper() + text[1:]

    def _tied(self, link: str) -> Mapping[str, tuple[Tie, ...]]:
        found: defaultdict[str, list[Tie]] = defaultdict(list)
        records: list[tuple[str, Iterable[Cause | Mechanism]]] = [
            ("mechanisms", self.base.mechanisms.values()),
            ("causes", self.base.causes.values()),
        ]
        for kind, those in records:
            for record in those:
                for target, strength in getattr(record, link).items():
                    found[target].append(Tie((kind, record.id), strength))
        return {
            target: tuple(sorted(ties, key=lambda tie: -self.base.strength(tie.strength)))
            for target, ties in found.items()
        }


def _first_sentence(text: str) -> str:
    return text.split(". ", maxsplit=1)[0].rstrip(".")
