"""The tree with the numbers of its words left open: chances under many numbers at once.

`diagnose.network` compiles the tree with the numbers that the words have. Here the same tree is
followed for many sets of numbers in one go, since learning asks how the chance of an answer hangs
on each word. At the shipped numbers both give the same chances.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from graphlib import TopologicalSorter
from itertools import combinations
from typing import NamedTuple

import numpy as np

from diagnose.network import UNKNOWN, Network, NetworkError
from diagnose.tables import Floats
from diagnose.together import Ints
from knowledge.model import Cause, Gate, KnowledgeBase, Mechanism, Strength
from knowledge.tree import share_that_fits, share_with


class Way(NamedTuple):
    """A link into a node: where from, the index of its word (-1: a number), and a factor on it."""

    source: str
    word: int
    factor: float


class Sets(NamedTuple):
    """Sets of causes, as arrays.

    ``members``, shape (H, M), are the causes of each, filled up with C; ``rows``, shape (H, N), the
    rows that stand for them, filled up with R.
    """

    members: Ints
    rows: Ints


@dataclass(frozen=True, eq=False)
class Paths:
    """The tree of one set-up.

    Attributes
    ----------
    network : Network
        As shipped; gives the axes C and F.
    share : ndarray, shape (C,)
        Shipped rates: shares of comebacks, up to a common factor.
    links, leaks : tuple of str
        Words that links use, and that leaks use.
    leak_word : ndarray of int, shape (F,)
        Index of each finding's leak in `leaks`, -1 where it is a number.
    sets : tuple of frozenset of int, length R
        Rows: each cause alone, then sets of causes that act together.
    into : Mapping
        Node id -> its links.
    order : tuple of Mechanism
        Each after all that leads to it.
    """

    network: Network
    share: Floats
    links: tuple[str, ...]
    leaks: tuple[str, ...]
    leak_word: Ints
    sets: tuple[frozenset[int], ...]
    into: Mapping[str, tuple[Way, ...]]
    order: tuple[Mechanism, ...]

    def quiet(self, numbers: Floats, findings: Sequence[int]) -> Floats:
        """Chance that each row turns a finding not on.

        Parameters
        ----------
        numbers : ndarray, shape (V, L)
            Numbers of the words in `links`, V sets of them.
        findings : sequence of int, length K

        Returns
        -------
        ndarray, shape (V, R, K)
            1 for what this tool does not know: that hangs on the leaks.
        """
        names = [self.network.findings[f] for f in findings]
        reach = dict(self._causes_of)
        base, facts = self.network.base, self.network.facts
        behind = self._behind(names)
        for mechanism in self.order:
            if mechanism.id not in behind:
                continue
            if mechanism.gate is Gate.ANY:
                chance = 1.0 - self._missed(mechanism.id, reach, numbers)
            else:
                chance = _gate(mechanism, reach, (len(numbers), len(self.sets)))
            if chance.any():
                reach[mechanism.id] = chance * share_that_fits(base, facts, mechanism.when)
        shape = (len(numbers), len(self.sets), 0)
        rows = [self._missed(name, reach, numbers) for name in names]
        return np.stack(rows, axis=-1) if rows else np.ones(shape)

    def _missed(self, name: str, reach: Mapping[str, Floats], numbers: Floats) -> Floats:
        """Chance that nothing turns a node on; shape (V, R)."""
        missed = np.ones((len(numbers), len(self.sets)))
        index = self.network.cause_index
        for source, word, factor in self.into.get(name, ()):
            if source not in reach:
                continue
            chance = numbers[:, word, None] * factor if word >= 0 else np.array([[factor]])
            if source in index:  # only a few rows hold a cause
                rows = self._rows_of[index[source]]
                missed[:, rows] *= 1.0 - chance
            else:
                missed *= 1.0 - reach[source] * chance
        return missed

    @cached_property
    def _causes_of(self) -> Mapping[str, Floats]:
        """Which rows hold each cause; shape (1, R)."""
        return {
            name: np.array([[i in row for row in self.sets]], dtype=float)
            for i, name in enumerate(self.network.causes[:-1])
        }

    def _behind(self, names: Iterable[str]) -> set[str]:
        """All that leads to some nodes."""
        of = {mechanism.id: mechanism.of for mechanism in self.order}
        behind: set[str] = set()
        left = list(names)
        while left:
            name = left.pop()
            ways = (way.source for way in self.into.get(name, ()))
            more = set(ways).union(of.get(name, ())) - behind
            behind |= more
            left += more
        return behind

    @cached_property
    def _rows_of(self) -> tuple[list[int], ...]:
        """Rows that hold each cause."""
        return tuple(
            [row for row, held in enumerate(self.sets) if cause in held]
            for cause in range(len(self.network.causes))
        )

    def sets_of(self, sets: Sequence[frozenset[int]]) -> Sets:
        """Give some sets of causes as arrays."""
        members = [sorted(held) for held in sets]
        rows = [self._together(held) for held in sets]
        return Sets(_filled(members, len(self.network.causes)), _filled(rows, len(self.sets)))

    @cached_property
    def pairs(self) -> Sets:
        """Every cause alone, and any two."""
        causes = range(len(self.network.causes))
        return self.sets_of([frozenset(some) for n in (1, 2) for some in combinations(causes, n)])

    def _together(self, members: Collection[int]) -> list[int]:
        """Rows that stand for some causes: those that act together as one, all others alone."""
        left = set(members)
        rows = []
        for row in range(len(self.sets) - 1, len(self.network.causes) - 1, -1):
            if self.sets[row] <= left:  # the largest set stands last
                rows.append(row)
                left -= self.sets[row]
        return rows + sorted(left)


def _filled(lists: Sequence[Sequence[int]], fill: int) -> Ints:
    """Make an array of lists, each filled up to the longest."""
    width = max(len(some) for some in lists)
    return np.array([[*some, *[fill] * (width - len(some))] for some in lists], dtype=np.intp)


@lru_cache(maxsize=16)
def paths_of(network: Network) -> Paths:
    """Give the paths of a network, or those given before."""
    base, facts = network.base, network.facts
    records: list[Cause | Mechanism] = [*base.causes.values(), *base.mechanisms.values()]
    every = [(r.id, target, s) for r in records for target, s in links_of(r)]
    links = tuple(dict.fromkeys(s.word for _, _, s in every if is_open(base, s)))
    into: dict[str, list[Way]] = {}
    graph: dict[str, set[str]] = {name: set(m.of) for name, m in base.mechanisms.items()}
    for source, target, strength in every:
        into.setdefault(target, []).append(_way(base, network, links, source, strength))
        if target in graph:
            graph[target].add(source)
    unexplained = [base.observable(name).unexplained for name in network.findings]
    leaks = tuple(dict.fromkeys(s.word for s in unexplained if is_open(base, s)))
    known = network.causes[:-1]
    if network.causes[-1] != UNKNOWN:
        raise NetworkError("The last cause of a network is what this tool does not know.")
    share = [share_with(base, facts, base.causes[name]) for name in known]
    together = sorted((s for g in network.groups for s in g.together), key=lambda s: (len(s), *s))
    order = TopologicalSorter(graph).static_order()
    return Paths(
        network=network,
        share=np.array([*share, base.scale.unknown.rate]),
        links=links,
        leaks=leaks,
        leak_word=np.array([leaks.index(s.word) if is_open(base, s) else -1 for s in unexplained]),
        sets=(*(frozenset((i,)) for i in range(len(network.causes))), *together),
        into={name: tuple(ways) for name, ways in into.items()},
        order=tuple(base.mechanisms[name] for name in order if name in base.mechanisms),
    )


def links_of(record: Cause | Mechanism) -> Iterator[tuple[str, Strength]]:
    """List the links of a cause or mechanism: what they lead to, and how strongly."""
    yield from record.brings.items()
    yield from record.shows.items()


def is_open(base: KnowledgeBase, strength: Strength) -> bool:
    """Whether a strength is a word that can be learned: one that does not stand for 0 or 1."""
    return strength.p is None and 0.0 < base.strength(strength) < 1.0


def _way(
    base: KnowledgeBase, network: Network, links: tuple[str, ...], source: str, strength: Strength
) -> Way:
    share = share_that_fits(base, network.facts, strength.when)
    if is_open(base, strength):
        return Way(source, links.index(strength.word), share)
    return Way(source, -1, share * base.strength(strength))


def _gate(mechanism: Mechanism, reach: Mapping[str, Floats], shape: tuple[int, int]) -> Floats:
    """Chance that at least k of the inputs are there, each on its own; shape (V, R)."""
    needed = len(mechanism.of) if mechanism.gate is Gate.ALL else mechanism.k or 1
    counts = [np.ones(shape), *(np.zeros(shape) for _ in mechanism.of)]
    for name in mechanism.of:
        p = reach.get(name, np.zeros((1, 1)))
        counts = [n * (1.0 - p) + (counts[i - 1] * p if i else 0.0) for i, n in enumerate(counts)]
    enough: Floats = np.sum(counts[needed:], axis=0)
    return enough
