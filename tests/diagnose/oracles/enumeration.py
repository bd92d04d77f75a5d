"""Noisy-OR networks by plain enumeration: slow, obvious, and sharing no code with the engine.

Numbers may be floats or `fractions.Fraction`; with fractions every result is exact.
"""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import chain, combinations, product
from math import inf


def exact(numbers):
    """An array as nested lists of fractions, each just the double it was."""
    if getattr(numbers, "ndim", 0):
        return [exact(part) for part in numbers]
    return Fraction(float(numbers))


def subsets(items):
    """All subsets of some items, as tuples."""
    items = tuple(items)
    return chain.from_iterable(combinations(items, n) for n in range(len(items) + 1))


def likelihood(ratio, on):
    """Likelihood of an answer with ratio (on : off), for a finding that is on with chance `on`.

    A soft answer's two likelihoods sum to 1; a ratio of 1 says nothing.
    """
    if ratio == 1:
        return 1
    if ratio == inf:
        return on
    return (1 - on + ratio * on) / (1 + ratio)


def missed(present, finding, q, together: Mapping[frozenset, Sequence] = {}):
    """Chance that no present cause turns the finding on.

    `together` gives for sets of two or more causes of one group what they bring about; it then
    stands in for their own links.
    """
    grouped = [s for s in together if s <= set(present)]
    largest = [s for s in grouped if not any(s < other for other in grouped)]
    alone = set(present).difference(*largest)
    chance = 1
    for cause in alone:
        chance *= 1 - q[cause][finding]
    for group in largest:
        chance *= 1 - together[group][finding]
    return chance


def joint(prior, q, leak, ratios: Mapping, together: Mapping = {}):
    """Probability of the answers together with each set of causes: {frozenset: number}."""
    masses = {}
    for present in subsets(range(len(prior))):
        mass = 1
        for cause, p in enumerate(prior):
            mass *= p if cause in present else 1 - p
        for finding, ratio in ratios.items():
            on = 1 - (1 - leak[finding]) * missed(present, finding, q, together)
            mass *= likelihood(ratio, on)
        masses[frozenset(present)] = mass
    return masses


def joint_by_links(prior, q, leak, ratios: Mapping):
    """The same as `joint` from first principles: every link and leak is on or off on its own."""
    masses = {}
    findings = list(ratios)
    for present in subsets(range(len(prior))):
        whole = 1
        for cause, p in enumerate(prior):
            whole *= p if cause in present else 1 - p
        switches = [(f, q[c][f]) for f in findings for c in present]
        switches += [(f, leak[f]) for f in findings]
        mass = 0
        for state in product((False, True), repeat=len(switches)):
            chance = 1
            lit = set()
            for (finding, p), is_on in zip(switches, state, strict=True):
                chance *= p if is_on else 1 - p
                if is_on:
                    lit.add(finding)
            for finding, ratio in ratios.items():
                chance *= likelihood(ratio, 1 if finding in lit else 0)
            mass += chance
        masses[frozenset(present)] = whole * mass
    return masses


def without_nobody(masses):
    """Leave out the case that no cause at all is present."""
    return {causes: mass for causes, mass in masses.items() if causes}


def posterior(masses):
    """Probability of each set given the answers."""
    total = sum(masses.values())
    return {causes: mass / total for causes, mass in masses.items()}


def marginals(masses, n):
    """Probability of each of n causes given the answers."""
    total = sum(masses.values())
    return [sum(m for causes, m in masses.items() if c in causes) / total for c in range(n)]


def unexplained(
    prior, q, leak, ratios: Mapping, finding, *, need_cause=False, together: Mapping = {}
):
    """Probability, given the answers, that a finding is there and only its leak turned it on."""
    rest = {f: r for f, r in ratios.items() if f != finding}
    on = likelihood(ratios[finding], 1)
    keep = without_nobody if need_cause else dict
    share = sum(
        mass * missed(causes, finding, q, together) * leak[finding] * on
        for causes, mass in keep(joint(prior, q, leak, rest, together)).items()
    )
    return share / sum(keep(joint(prior, q, leak, ratios, together)).values())


def joint_with_cures(prior, q, leak, seen: Mapping, repairs, together: Mapping = {}):
    """Probability of the answers together with each set of causes that are present now.

    Parameters
    ----------
    seen
        {finding: (ratio, number of repairs done before it was seen)}.
    repairs
        {cause: chance of cure} for each repair, in the order they were done.
    """
    masses: dict = {}
    for at_first in subsets(range(len(prior))):
        start = 1
        for cause, p in enumerate(prior):
            start *= p if cause in at_first else 1 - p
        for chance, states in _histories(start, [frozenset(at_first)], repairs):
            mass = chance
            for finding, (ratio, done) in seen.items():
                on = 1 - (1 - leak[finding]) * missed(states[done], finding, q, together)
                mass *= likelihood(ratio, on)
            masses[states[-1]] = masses.get(states[-1], 0) + mass
    return masses


def unexplained_with_cures(prior, q, leak, seen: Mapping, repairs, finding, together: Mapping = {}):
    """Probability, given the answers and some cause now, that only its leak turned a finding on.

    The finding may have been seen before a repair; then the causes of that time are meant.
    """
    ratio, done = seen[finding]
    share = 0
    for at_first in subsets(range(len(prior))):
        start = 1
        for cause, p in enumerate(prior):
            start *= p if cause in at_first else 1 - p
        for chance, states in _histories(start, [frozenset(at_first)], repairs):
            if states[-1]:
                mass = chance * missed(states[done], finding, q, together)
                mass *= leak[finding] * likelihood(ratio, 1)
                for other, (r, n) in seen.items():
                    if other != finding:
                        on = 1 - (1 - leak[other]) * missed(states[n], other, q, together)
                        mass *= likelihood(r, on)
                share += mass
    whole = without_nobody(joint_with_cures(prior, q, leak, seen, repairs, together))
    return share / sum(whole.values())


def _histories(weight, states, repairs):
    """Everything that the repairs may have done: (probability, set of causes after each)."""
    if not repairs:
        yield weight, states
        return
    first, *rest = repairs
    tried = [cause for cause in states[-1] if cause in first]
    for worked in product((False, True), repeat=len(tried)):
        chance = weight
        cured = set()
        for cause, works in zip(tried, worked, strict=True):
            chance *= first[cause] if works else 1 - first[cause]
            if works:
                cured.add(cause)
        yield from _histories(chance, [*states, states[-1] - cured], rest)


def joint_over_time(prior, q, leak, seen: Sequence, repairs, when: int, together: Mapping = {}):
    """Probability of the answers together with the causes at two times: (after `when`, at the end).

    Parameters
    ----------
    seen
        (finding, ratio, number of repairs done before it was seen) for each answer.
    repairs
        {cause: chance of cure} for each repair, in the order they were done.
    when
        Number of repairs done at the first of the two times.
    """
    masses: dict = {}
    for at_first in subsets(range(len(prior))):
        start = 1
        for cause, p in enumerate(prior):
            start *= p if cause in at_first else 1 - p
        for chance, states in _histories(start, [frozenset(at_first)], repairs):
            mass = chance
            for finding, ratio, done in seen:
                on = 1 - (1 - leak[finding]) * missed(states[done], finding, q, together)
                mass *= likelihood(ratio, on)
            key = (states[when], states[-1])
            masses[key] = masses.get(key, 0) + mass
    return masses
