"""The tree of the base: from causes through mechanisms to complaints and findings.

Along a path strengths multiply, and paths that meet combine as noisy-OR where they meet. Gates are
those of IEC 61025: ``any`` is OR, ``all`` AND, ``at_least`` a vote, ``when`` an INHIBIT condition.
A condition that the set-up leaves open weighs with the share of comebacks that meet it.
"""

from collections.abc import Iterable, Mapping
from graphlib import TopologicalSorter

from knowledge.model import Cause, Gate, KnowledgeBase, Mechanism, Needs, Strength

MAX_TOGETHER = 8  # causes that gates may join: every subset of them is worked out


def share_that_fits(base: KnowledgeBase, facts: Needs, when: Needs) -> float:
    """Give the share of comebacks with these facts that meet a condition (1 if it is met for sure).

    Parameters
    ----------
    base : KnowledgeBase
    facts, when : Mapping
        Fact id -> possible values; wanted values.
    """
    share = 1.0
    for name, wanted in when.items():
        values = base.facts[name].values
        possible = facts.get(name) or tuple(values)
        total = sum(values[v].share for v in possible)
        fitting = sum(values[v].share for v in possible if v in wanted)
        share *= fitting / total if total > 0.0 else 0.0
    return share


def share_with(base: KnowledgeBase, facts: Needs, cause: Cause) -> float:
    """Give the share of comebacks with these facts that have a cause, by its rates.

    Parameters
    ----------
    base : KnowledgeBase
    facts : Mapping
        Fact id -> possible values.
    cause : Cause
    """
    left = share_that_fits(base, facts, cause.when)
    total = 0.0
    for rate in cause.rate_where:
        share = share_that_fits(base, facts, _both(base, cause.when, rate.when))
        total += share * base.rate(rate)
        left -= share
    return total + max(0.0, left) * base.rate(cause.rate)


def _both(base: KnowledgeBase, one: Needs, other: Needs) -> Needs:
    """Join two conditions."""
    return {
        name: tuple(
            v
            for v in base.facts[name].values
            if v in one.get(name, (v,)) and v in other.get(name, (v,))
        )
        for name in (*one, *other)
    }


def gate_groups(base: KnowledgeBase) -> tuple[tuple[str, ...], ...]:
    """List the causes that feed AND or voting gates, joined where gates share causes."""
    groups: list[set[str]] = []
    for mechanism in base.mechanisms.values():
        if mechanism.gate is Gate.ANY:
            continue
        merged = _causes_behind(base, mechanism.of)
        apart = []
        for group in groups:
            if group & merged:
                merged |= group
            else:
                apart.append(group)
        groups = [*apart, merged]
    return tuple(tuple(sorted(group)) for group in groups)


def _causes_behind(base: KnowledgeBase, names: Iterable[str]) -> set[str]:
    found: set[str] = set()
    todo = list(names)
    seen: set[str] = set()
    while todo:
        name = todo.pop()
        if name in seen:
            continue
        seen.add(name)
        if name in base.causes:
            found.add(name)
            continue
        todo.extend(base.mechanisms[name].of)
        both: list[Cause | Mechanism] = [*base.causes.values(), *base.mechanisms.values()]
        todo.extend(record.id for record in both if name in record.brings)
    return found


class Tree:
    """Chances of reaching every node from a set of present causes."""

    def __init__(self, base: KnowledgeBase, facts: Needs) -> None:
        self.base = base
        self.facts = facts
        graph: dict[str, set[str]] = {name: set(m.of) for name, m in base.mechanisms.items()}
        self.into: dict[str, list[tuple[str, float]]] = {}
        records: list[Cause | Mechanism] = [*base.causes.values(), *base.mechanisms.values()]
        for record in records:
            for target, strength in (*record.brings.items(), *record.shows.items()):
                self.into.setdefault(target, []).append((record.id, self._chance(strength)))
                if target in graph:
                    graph[target].add(record.id)
        order = TopologicalSorter(graph).static_order()
        self.order = [base.mechanisms[name] for name in order if name in base.mechanisms]

    def _chance(self, strength: Strength) -> float:
        return self.base.strength(strength) * share_that_fits(self.base, self.facts, strength.when)

    def reach(self, present: Iterable[str]) -> dict[str, float]:
        """Give the chance of every node when exactly these causes are present; 0 where left out."""
        reach: dict[str, float] = dict.fromkeys(present, 1.0)
        for mechanism in self.order:
            chance = (
                self._any(mechanism.id, reach)
                if mechanism.gate is Gate.ANY
                else _gate(mechanism, reach)
            )
            if chance > 0.0:
                reach[mechanism.id] = chance * share_that_fits(
                    self.base, self.facts, mechanism.when
                )
        for name in self.into:
            if name not in reach:
                chance = self._any(name, reach)
                if chance > 0.0:
                    reach[name] = chance
        return reach

    def _any(self, name: str, reach: Mapping[str, float]) -> float:
        missed = 1.0
        for source, chance in self.into.get(name, ()):
            missed *= 1.0 - reach.get(source, 0.0) * chance
        return 1.0 - missed


def _gate(mechanism: Mechanism, reach: Mapping[str, float]) -> float:
    """Chance that at least k of the inputs are there, each on its own."""
    needed = len(mechanism.of) if mechanism.gate is Gate.ALL else mechanism.k or 1
    counts = [1.0] + [0.0] * len(mechanism.of)  # chance of exactly so many inputs
    for name in mechanism.of:
        p = reach.get(name, 0.0)
        counts = [n * (1.0 - p) + (counts[i - 1] * p if i else 0.0) for i, n in enumerate(counts)]
    return sum(counts[needed:])
