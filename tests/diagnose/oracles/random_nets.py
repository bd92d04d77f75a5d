"""Random two-layer networks of the sizes that published systems have."""

from typing import NamedTuple

import numpy as np


class Net(NamedTuple):
    """Priors (C,), links (C, F) net of leak, and net leaks (F,)."""

    prior: np.ndarray
    q: np.ndarray
    leak: np.ndarray


def random_net(rng, causes=60, findings=120, parents=(3, 8), prior=(0.01, 0.1)):
    """Make a net: so many parents per finding, links U(.3, .95), leaks U(.005, .05)."""
    q = np.zeros((causes, findings))
    for f in range(findings):
        n = rng.integers(parents[0], parents[1], endpoint=True)
        of = rng.choice(causes, size=n, replace=False)
        q[of, f] = rng.uniform(0.3, 0.95, size=n)
    return Net(rng.uniform(*prior, causes), q, rng.uniform(0.005, 0.05, findings))


def random_evidence(rng, net, positives, negatives):
    """Draw so many findings at random, whatever they are."""
    chosen = rng.permutation(len(net.leak))[: positives + negatives]
    return chosen[:positives], chosen[positives:]


def evidence_of_faults(rng, net, positives, negatives, faults=2):
    """Draw the findings of a case with so many faults, until there are enough of both kinds."""
    while True:
        present = rng.choice(len(net.prior), size=faults, replace=False)
        chance = 1.0 - (1.0 - net.leak) * np.prod(1.0 - net.q[present], axis=0)
        on = rng.random(len(net.leak)) < chance
        there, gone = np.flatnonzero(on), np.flatnonzero(~on)
        if len(there) >= positives and len(gone) >= negatives:
            return (
                rng.permutation(there)[:positives],
                rng.permutation(gone)[:negatives],
            )
