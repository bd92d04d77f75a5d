"""Exact inference in a two-layer noisy-OR network, several causes present at once.

The causes are grouped in components: a single cause, or causes that only act together. A component
is in one of its modes; a mode says which causes are present and with which chance it turns on each
finding. Findings that were seen, or are believed to a degree, are *bits*; findings seen to be
absent fold into the weights of the modes. The forward pass carries f(T), the chance that exactly
the bits in T have been turned on by the components so far; the backward pass carries the likelihood
of the answers given T. All terms are sums of positive numbers, so nothing cancels, and the cost is
O(links x 2^bits). Leaks are folded into the likelihood at the end, which gives the share of each
finding that nothing present explains from the same pass.

References
----------
Method: activation forward-backward over subsets of findings, own derivation; the model is the
two-layer noisy-OR of Heckerman (1989), with net leaks. Numbers to compare with: engine notes T3
and T4.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.errors import ContradictionError

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

MAX_BITS = 22


@dataclass(frozen=True)
class Modes:
    """All modes of all components, one row each; component by component, the absent mode first.

    Attributes
    ----------
    component : ndarray of int, shape (M,)
        Which component a mode belongs to, rising.
    weight : ndarray, shape (M,)
        Prior weight of the mode; the weights of one component need not sum to 1.
    present : ndarray of bool, shape (M, C)
        Which causes are present in the mode.
    q : ndarray, shape (M, F)
        Chance that the mode turns a finding on (net of leak).
    """

    component: Ints
    weight: Floats
    present: NDArray[np.bool_]
    q: Floats

    @classmethod
    def independent(cls, prior: Floats, q: Floats) -> "Modes":
        """Make one component for each cause.

        Parameters
        ----------
        prior : ndarray, shape (C,)
        q : ndarray, shape (C, F)
        """
        c, f = q.shape
        weight = np.stack((1.0 - prior, prior), axis=1).ravel()
        present = np.zeros((2 * c, c), dtype=bool)
        present[2 * np.arange(c) + 1, np.arange(c)] = True
        links = np.zeros((2 * c, f))
        links[1::2] = q
        return cls(np.repeat(np.arange(c), 2), weight, present, links)


@dataclass(frozen=True)
class Evidence:
    """What is known of the findings, as likelihoods.

    Attributes
    ----------
    absent : ndarray of int, shape (N,)
        Findings that were seen to be absent.
    bits : ndarray of int, shape (K,)
        Findings that were seen, or are believed to a degree.
    likelihood : ndarray, shape (K, 2)
        Likelihood of the answer about each bit if the finding is off, and if it is on.
    """

    absent: Ints
    bits: Ints
    likelihood: Floats

    @classmethod
    def of(cls, ratios: dict[int, float]) -> "Evidence":
        """Make evidence from likelihood ratios (on : off); infinity is yes, 0 no, 1 nothing."""
        absent = [f for f, r in ratios.items() if r == 0.0]
        bits = [f for f, r in ratios.items() if r not in {0.0, 1.0}]
        rows = [(0.0, 1.0) if np.isinf(ratios[f]) else _scaled(ratios[f]) for f in bits]
        likelihood = np.array(rows, dtype=float).reshape(len(bits), 2)
        return cls(np.array(absent, dtype=np.intp), np.array(bits, dtype=np.intp), likelihood)


def _scaled(ratio: float) -> tuple[float, float]:
    return 1.0 / (1.0 + ratio), ratio / (1.0 + ratio)


class Component(NamedTuple):
    """The modes of one component that take part in the passes, with their folded weights."""

    rows: tuple[int, ...]
    weight: Floats


@dataclass(frozen=True)
class Messages:
    """What the two passes leave behind; `diagnose.fault_sets` searches in it.

    ``live`` components touch a bit, ``still`` ones do not and are independent of the answers that
    are bits. All weights are normalised within their component. ``links`` holds for each live mode
    the bits it turns on, as (bit, chance) pairs; ``after`` row m is the backward message behind
    live mode m, brought forward through that mode.
    """

    live: tuple[Component, ...]
    still: tuple[Component, ...]
    links: dict[int, tuple[tuple[int, float], ...]]
    ahead: dict[int, Floats]
    end: Floats
    total: float
    empty: float


@dataclass(frozen=True)
class Marginals:
    """Posterior of every cause, and what goes with it.

    Attributes
    ----------
    cause : ndarray, shape (C,)
        Chance that each cause is present.
    unexplained : dict
        For each bit with a positive answer (likelihood ratio above 1): the chance that nothing
        present turned it on although it is on.
    log_evidence : float
        Natural log of the probability of the answers.
    outsider : float
        Chance that no cause but the outsider is present (0 if none was named).
    messages : Messages
    """

    cause: Floats
    unexplained: dict[int, float]
    log_evidence: float
    outsider: float
    messages: Messages


def infer(
    modes: Modes,
    leak: Floats,
    evidence: Evidence,
    *,
    need_cause: bool = False,
    outsider: int | None = None,
) -> Marginals:
    """Give the exact posterior of every cause.

    Parameters
    ----------
    modes : Modes
    leak : ndarray, shape (F,)
        Chance that a finding is there with no cause present (net leak).
    evidence : Evidence
    need_cause : bool
        Exclude the case that no cause at all is present (the vehicle did come back).
    outsider : int, optional
        The cause that stands for what the network does not know.

    Returns
    -------
    Marginals

    Raises
    ------
    ContradictionError
        If the answers have probability zero.
    ValueError
        If there are more than `MAX_BITS` bits.
    """
    k = len(evidence.bits)
    if k > MAX_BITS:
        message = f"{k} positive or uncertain findings are more than the {MAX_BITS} that fit"
        raise ValueError(message)
    weight = modes.weight * np.prod(1.0 - modes.q[:, evidence.absent], axis=1)
    starts = np.flatnonzero(np.diff(modes.component, prepend=-1))
    sums = np.add.reduceat(weight, starts)
    quiet = 1.0 - leak[evidence.absent]
    if np.any(sums <= 0.0) or np.any(quiet <= 0.0):
        raise _contradiction()
    weight = weight / np.repeat(sums, np.diff(np.append(starts, len(weight))))
    leaks = leak[evidence.bits]
    log_constant = float(np.log(sums).sum() + np.log(quiet).sum())

    ends = np.append(starts[1:], len(weight))
    touching = modes.q[:, evidence.bits]
    links = {
        int(m): tuple((int(j), float(touching[m, j])) for j in np.flatnonzero(touching[m]))
        for m in np.flatnonzero(touching.any(axis=1))
    }
    live: list[Component] = []
    still: list[Component] = []
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        rows = tuple(range(start, end))
        part = Component(rows, weight[start:end])
        (live if any(m in links for m in rows) else still).append(part)

    end_table = _end_table(leaks, evidence.likelihood)
    before, last = _forward(live, links, len(end_table))
    total = float(last @ end_table)
    if total <= 0.0:
        raise _contradiction()
    ahead, mode_mass = _backward(live, links, before, end_table)

    parts = (*live, *still)
    nobody: NDArray[np.bool_] = np.logical_not(modes.present.any(axis=1))
    empty = _mass_within(nobody, parts, links, end_table) if need_cause else 0.0
    alone = 0.0
    if outsider is not None:
        known = np.delete(modes.present, outsider, axis=1)
        alone = _mass_within(np.logical_not(known.any(axis=1)), parts, links, end_table) - empty
    share = total - empty
    if share <= 0.0:
        raise _contradiction()
    posterior = np.zeros(modes.present.shape[1])
    for m, mass in mode_mass.items():
        posterior[modes.present[m]] += mass / share
    for part in still:
        for m, w in zip(part.rows, part.weight, strict=True):
            posterior[modes.present[m]] += w * total / share
    unexplained = {
        int(f): _leak_share(last, end_table, j, leaks[j], evidence.likelihood[j], total, empty)
        for j, f in enumerate(evidence.bits)
        if evidence.likelihood[j, 1] > evidence.likelihood[j, 0]
    }
    messages = Messages(tuple(live), tuple(still), links, ahead, end_table, total, empty)
    np.minimum(posterior, 1.0, out=posterior)  # sums of shares may be off by a last digit
    return Marginals(
        posterior, unexplained, float(np.log(share)) + log_constant, alone / share, messages
    )


def _contradiction() -> ContradictionError:
    return ContradictionError(
        "No cause, and no set of causes, can bring about all these answers.",
        "Look again at the answers that were given as certain.",
    )


def turn_on(table: Floats, links: tuple[tuple[int, float], ...]) -> Floats:
    """Move mass from 'off' to 'on' for each (bit, chance); gives a new table of shape (2^K,)."""
    table = table.copy()
    for bit, chance in links:
        halves = table.reshape(-1, 2, 1 << bit)
        moved = chance * halves[:, 0]
        halves[:, 1] += moved
        halves[:, 0] -= moved
    return table


def _pull_back(table: Floats, links: tuple[tuple[int, float], ...]) -> Floats:
    """The adjoint of `turn_on`."""
    table = table.copy()
    for bit, chance in links:
        halves = table.reshape(-1, 2, 1 << bit)
        halves[:, 0] *= 1.0 - chance
        halves[:, 0] += chance * halves[:, 1]
    return table


def _end_table(leaks: Floats, likelihood: Floats) -> Floats:
    """Likelihood of the answers given the set of bits that causes have turned on."""
    table = np.ones(1)
    for leak, (off, on) in zip(leaks, likelihood, strict=True):
        table = np.concatenate((table * ((1.0 - leak) * off + leak * on), table * on))
    return table


def _forward(
    live: list[Component], links: dict[int, tuple[tuple[int, float], ...]], size: int
) -> tuple[list[Floats], Floats]:
    table = np.zeros(size)
    table[0] = 1.0
    before: list[Floats] = []
    for part in live:
        before.append(table)
        mixed = np.zeros_like(table)
        for m, w in zip(part.rows, part.weight, strict=True):
            mixed += w * (turn_on(table, links[m]) if m in links else table)
        table = mixed
    return before, table


def _backward(
    live: list[Component],
    links: dict[int, tuple[tuple[int, float], ...]],
    before: list[Floats],
    end: Floats,
) -> tuple[dict[int, Floats], dict[int, float]]:
    ahead: dict[int, Floats] = {}
    mass: dict[int, float] = {}
    table = end
    for part, front in zip(reversed(live), reversed(before), strict=True):
        mixed = np.zeros_like(table)
        for m, w in zip(part.rows, part.weight, strict=True):
            ahead[m] = _pull_back(table, links[m]) if m in links else table
            mass[m] = float(w * (front @ ahead[m]))
            mixed += w * ahead[m]
        table = mixed
    return ahead, mass


def _mass_within(
    allowed: NDArray[np.bool_],
    parts: tuple[Component, ...],
    links: dict[int, tuple[tuple[int, float], ...]],
    end: Floats,
) -> float:
    """Mass of the answers together with every component being in an allowed mode."""
    rest: list[Component] = []
    factor = 1.0
    for part in parts:
        kept = [(m, w) for m, w in zip(part.rows, part.weight, strict=True) if allowed[m]]
        if any(m in links for m, _ in kept):
            rest.append(Component(tuple(m for m, _ in kept), np.array([w for _, w in kept])))
        else:
            factor *= sum(w for _, w in kept)
    return factor * float(_forward(rest, links, len(end))[1] @ end)


def _leak_share(
    last: Floats, end: Floats, bit: int, leak: float, likelihood: Floats, total: float, empty: float
) -> float:
    """Share of the posterior in which a bit is on and no cause has turned it on."""
    if leak == 0.0:
        return 0.0
    both = (last * end).reshape(-1, 2, 1 << bit)[:, 0].sum()
    by_leak = leak * likelihood[1] / ((1.0 - leak) * likelihood[0] + leak * likelihood[1])
    return float((both - empty) * by_leak / (total - empty))
