"""Heckerman's Quickscore (1989), in any number type: inclusion-exclusion over positive findings.

In doubles its alternating sum cancels; in `decimal` with enough digits it is a reference.
"""


def quickscore(prior, q, leak, positive, negative):
    """Posterior of every cause, and the probability of the findings."""
    one = prior[0] / prior[0]
    miss = [[1 - x for x in row] for row in q]
    absent = [_product([row[f] for f in negative], one) for row in miss]
    total = 0 * one
    with_cause = [0 * one for _ in prior]
    for number in range(1 << len(positive)):
        chosen = [f for j, f in enumerate(positive) if number >> j & 1]
        term = -one if len(chosen) % 2 else one
        for f in (*chosen, *negative):
            term *= 1 - leak[f]
        there = [
            p * a * _product([row[f] for f in chosen], one)
            for p, a, row in zip(prior, absent, miss, strict=True)
        ]
        factors = [1 - p + t for p, t in zip(prior, there, strict=True)]
        for factor in factors:
            term *= factor
        total += term
        for c, (t, factor) in enumerate(zip(there, factors, strict=True)):
            with_cause[c] += term * t / factor
    return [w / total for w in with_cause], total


def _product(numbers, one):
    for number in numbers:
        one *= number
    return one
