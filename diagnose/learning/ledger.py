"""The ledger of what was learned: one lesson for each closing, and what they come to.

Words learn only from closings in which the part was seen (`diagnose.learning.teaching`). A wrong
name is mostly one that fits some of the answers, and what else was answered would teach that causes
do not show what they do show.

Rates learn from every closing that counts, whatever its grade, one comeback each. With the chance
that its grade gives, what was found was there; otherwise what the answers alone say. Counting only
parts that were seen would favour causes that are easily seen, and counting doubtful closings with
less than a whole comeback would hold back the causes that nobody sees. A cause is expected as often
as its rate says, times the factor of work done at the job and the chance that it brings a
complaint, since without one nobody comes back. What can't be mended is that comebacks in which
nothing is found are missing: if that happens to some causes more than to others, they seem rarer
than they are.

What was learned is used as far as it has foretold better than the shipped numbers
(`diagnose.learning.trust`), so each closing may move every number a little.

Nothing is learned unless the ledger is asked for, and nothing else in this program asks for it: an
assessment changes only if it is given the base with the learned numbers.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from hashlib import blake2b

from diagnose.assess import network_for
from diagnose.errors import UnknownIdError
from diagnose.learning.closings import Closing, Grade
from diagnose.learning.paths import paths_of
from diagnose.learning.rewording import reworded
from diagnose.learning.trust import Belief, shipped_belief
from diagnose.learning.words import Key, shipped_number
from diagnose.network import UNKNOWN
from knowledge.model import KnowledgeBase


@dataclass(frozen=True)
class Change:
    """What one closing did to one number."""

    key: Key
    before: float
    after: float


@dataclass(frozen=True)
class Lesson:
    """One line of the ledger: a closing, how much it counted, and what it changed.

    ``why`` says why it counted for nothing, where that is so.
    """

    closing: str
    grade: Grade
    weight: float
    changes: tuple[Change, ...]
    why: str = ""


@dataclass(frozen=True)
class Move:
    """A number that has moved: as shipped, now, and by how many closings."""

    key: Key
    shipped: float
    now: float
    closings: int


@dataclass(frozen=True, eq=False)
class Learned:
    """What some closings, in this order, have taught.

    Attributes
    ----------
    base : KnowledgeBase
        As shipped.
    belief : Belief
        What is believed of the numbers by now.
    closings : tuple of Closing
    lessons : tuple of Lesson
        One for each closing, in order.
    """

    base: KnowledgeBase
    belief: Belief = field(repr=False)
    closings: tuple[Closing, ...] = ()
    lessons: tuple[Lesson, ...] = ()

    def after(self, closing: Closing) -> "Learned":
        """Learn from one more closing.

        Raises
        ------
        UnknownIdError
            If a closing with this key was learned already, or an answer of it is unknown.
        """
        if any(old.key == closing.key for old in self.closings):
            raise UnknownIdError(
                f"The closing {closing.key!r} was learned already.", "Take it out first."
            )
        belief, why = _after(self, closing)
        before, after = self.numbers, belief.numbers()
        numbers = {key: (before[key], after[key]) for key in after}
        changes = tuple(Change(k, old, new) for k, (old, new) in numbers.items() if old != new)
        lesson = Lesson(closing.key, closing.grade, 0.0 if why else closing.weight, changes, why)
        return replace(
            self,
            belief=belief,
            closings=(*self.closings, closing),
            lessons=(*self.lessons, lesson),
        )

    @cached_property
    def numbers(self) -> Mapping[Key, float]:
        """The numbers to reckon with, by kind and name."""
        return self.belief.numbers()

    def without(self, key: str) -> "Learned":
        """Take one closing out: the same, to the last digit, as never having learned it.

        Raises
        ------
        UnknownIdError
            If there is no such closing.
        """
        left = [closing for closing in self.closings if closing.key != key]
        if len(left) == len(self.closings):
            raise UnknownIdError(f"The closing {key!r} was never learned.", "Look at the ledger.")
        return replay(self.base, left)

    def moves(self) -> tuple[Move, ...]:
        """List every number that is not as shipped, in the order of the laws."""
        by: dict[Key, int] = {}
        for lesson in self.lessons:
            for change in lesson.changes:
                by[change.key] = by.get(change.key, 0) + 1
        numbers = self.numbers
        pairs = {
            key: (shipped_number(self.base, key), numbers[key]) for key in numbers if key in by
        }
        return tuple(Move(k, old, new, by[k]) for k, (old, new) in pairs.items() if old != new)

    def applied(self, base: KnowledgeBase) -> KnowledgeBase:
        """Give a base with the learned numbers; the very same one if nothing was learned.

        Raises
        ------
        UnknownIdError
            If it is another base than the closings were learned with.
        """
        if base.version != self.base.version:
            raise UnknownIdError(
                "What was learned belongs to another knowledge base.", "Learn it again with this."
            )
        moved = {move.key: move.now for move in self.moves()}
        if not moved:
            return base
        digest = blake2b(repr(sorted(moved.items())).encode(), digest_size=6).hexdigest()
        return replace(reworded(base, moved), version=f"{base.version[:20]}+{digest}")


def replay(base: KnowledgeBase, closings: Iterable[Closing]) -> Learned:
    """Learn from some closings, one after the other.

    Parameters
    ----------
    base : KnowledgeBase
        As shipped.
    closings : iterable of Closing
        In the order in which they were closed; the order matters in the last digits.

    Returns
    -------
    Learned
        The same for the same closings, to the last digit.

    Raises
    ------
    UnknownIdError
        If two closings have the same key, or an answer is unknown.
    """
    learned = Learned(base, shipped_belief(base))
    for closing in closings:
        learned = learned.after(closing)
    return learned


def _after(learned: Learned, closing: Closing) -> tuple[Belief, str]:
    """What is believed after a closing, and why it counted for nothing, where that is so."""
    if closing.weight <= 0.0:
        return learned.belief, "nothing was confirmed"
    facts = tuple(sorted((k, tuple(v)) for k, v in closing.case.facts.items()))
    network = network_for(learned.base, facts)
    named = {c for some in closing.found for c in some}
    odd = sorted(c for c in named if c == UNKNOWN or c not in network.cause_index)
    if odd:
        return learned.belief, f"the set-up rules out what was found: {', '.join(odd)}"
    return learned.belief.after(paths_of(network), closing), ""
