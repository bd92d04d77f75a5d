"""Which check proves which cause: the one place that says what "a proving look" means."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from diagnose.network import UNKNOWN, Network

# A look proves a cause if the cause mostly shows the sign and the sign mostly comes from the cause.
_SHOWS = 0.5
_SPECIFIC = 0.5


@dataclass(frozen=True)
class Proof:
    """A check whose answer settles a cause.

    Attributes
    ----------
    check, finding : str
    depth : int
        Number of the level it is done from.
    hours : float
        Of the check itself.
    """

    check: str
    finding: str
    depth: int
    hours: float


@lru_cache(maxsize=8)
def proofs_of(network: Network) -> Mapping[str, tuple[Proof, ...]]:
    """List for each cause the checks that prove it, the most accessible first.

    A finding proves a cause if the cause shows it with a chance of at least one half, and of all
    vehicles that show it at least half have that cause or one that the same check tells apart.
    """
    base = network.base
    levels = list(base.levels)
    known = [i for i, name in enumerate(network.causes) if name != UNKNOWN]
    expected = network.prior[known, None] * network.q[known]
    everyone = expected.sum(axis=0) + network.leak
    specific = expected / np.where(everyone > 0.0, everyone, 1.0)
    found: dict[str, list[Proof]] = {}
    for check in base.checks.values():
        depth = levels.index(check.from_)
        for finding in check.reads():
            f = network.finding_index[finding]
            for row in np.flatnonzero(
                (network.q[known, f] >= _SHOWS) & (specific[:, f] >= _SPECIFIC)
            ):
                proof = Proof(check.id, finding, depth, check.minutes / 60.0)
                found.setdefault(network.causes[known[row]], []).append(proof)
    return {
        name: tuple(sorted(proofs, key=lambda p: (p.depth, p.hours, p.check)))
        for name, proofs in found.items()
    }
