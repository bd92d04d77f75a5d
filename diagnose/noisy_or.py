"""Exact inference in a two-layer noisy-OR network, several causes present at once.

The causes are grouped in components: a single cause, or causes that only act together. A component
is in one of its modes; a mode says which causes are present and with which chance it turns on each
finding. Findings that were seen, or are believed to a degree, are *bits*; findings seen to be
absent fold into the weights of the modes. The forward pass carries f(T), the chance that exactly
the bits in T have been turned on by the components so far; the backward pass carries the likelihood
of the answers given T. All terms are sums of positive numbers, so nothing cancels. A bit is in the
tables only from the first component that can turn it on to the last (`diagnose.tables`), so the
cost is O(links x 2^width), and the width is well below the number of bits. Components that can turn
on just the same bits take their turn together (`diagnose.subsets`). Leaks are folded into
the likelihood when a bit closes, which gives the share of each finding that nothing present
explains from the same pass. The outsider, which may bring anything and would tie all bits together,
is summed out by carrying one row of the tables for each of its modes. Causes that readings tie
together take their turn last, as one (`diagnose.together`).

References
----------
Method: activation forward-backward over subsets of findings, own derivation; the model is the
two-layer noisy-OR of Heckerman (1989), with net leaks. Numbers to compare with: engine notes T3
and T4.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.bundles import (
    Bundle,
    Mode,
    Part,
    Together,
    bits_of,
    bundles_of,
    mixed,
    turn_back,
)
from diagnose.errors import ContradictionError, TooWideError
from diagnose.tables import (
    Floats,
    Turn,
    closed,
    closed_back,
    off_mass,
    opened,
    opened_back,
    schedule,
)
from diagnose.together import Ints, Picks, Weighed, weigh

MAX_WIDTH = 18


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


@dataclass(frozen=True)
class Tied:
    """Components that readings tie together.

    Attributes
    ----------
    components : frozenset of int
        Their numbers; the outsider's is not among them.
    likelihood : callable
        Gives the natural log of the likelihood of the readings, shape (N, U), for sets of rows of
        `Modes`, shape (N, w), padded with -1, and for each of the U modes of the outsider.
    tolerance : float
        Sets are weighed until those left out hold no more than this share, as far as `most` goes.
    most : int
    """

    components: frozenset[int]
    likelihood: Callable[[Ints], Floats]
    most: int
    tolerance: float = 1e-3


@dataclass(frozen=True)
class Messages:
    """What a search for the most probable sets needs to know (`diagnose.fault_sets`).

    Attributes
    ----------
    live : tuple of Bundle
        Components that touch a bit, in the order of ``turns``. In a bundle of several the modes
        that turn bits on have a cause present.
    still : tuple of Part
        The others: they are independent of the answers that are bits.
    turns : tuple of Turn
    tied : Weighed or None
        Sets of the components that take their turn last and together; the places of the bits that
        are open by then are those of ``open_bits``.
    open_bits : tuple of int
    outsider : Part
        The modes of the outsider's component, one for each row of the tables; without an outsider
        one mode with row -1.
    off : ndarray, shape (U, K)
        Likelihood of the answer about each bit if no component but the outsider's turns it on.
    on : ndarray, shape (K,)
        Likelihood if it is on.
    total, empty : float
        Mass of the answers; of the answers together with no cause at all, where that is excluded.
    """

    live: tuple[Bundle, ...]
    still: tuple[Part, ...]
    turns: tuple[Turn, ...]
    tied: Weighed | None
    open_bits: tuple[int, ...]
    outsider: Part
    off: Floats
    on: Floats
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
    left_out : float
        Estimated share of sets of tied causes that were not weighed.
    messages : Messages
    """

    cause: Floats
    unexplained: dict[int, float]
    log_evidence: float
    outsider: float
    left_out: float
    messages: Messages


def infer(
    modes: Modes,
    leak: Floats,
    evidence: Evidence,
    *,
    need_cause: bool = False,
    outsider: int | None = None,
    tied: Tied | None = None,
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
    tied : Tied, optional
        What readings tie together.

    Returns
    -------
    Marginals

    Raises
    ------
    ContradictionError
        If the answers have probability zero.
    TooWideError
        If more than `MAX_WIDTH` positive or uncertain findings are open at a time.
    """
    parts, log_constant = _parts(modes, leak, evidence)
    rows: Part = (Mode(-1, 1.0, ()),)
    if outsider is not None:
        rows = parts.pop(_component_of(modes, outsider))
    own = np.zeros((len(rows), len(evidence.bits)))
    for u, mode in enumerate(rows):
        for bit, chance in mode.links:
            own[u, bit] = chance
    leaks, (lik_off, on) = leak[evidence.bits], evidence.likelihood.T
    off = (1.0 - leaks) * (1.0 - own) * lik_off + (leaks + own * (1.0 - leaks)) * on
    weight = np.array([mode.weight for mode in rows])

    somebody: NDArray[np.bool_] = np.any(modes.present, axis=1, keepdims=False)
    nobody = [not some for some in somebody.tolist()]
    passed = _pass(parts, weight, off, on, tied, nobody)
    total = float(passed.total.sum())
    idle = np.array([mode.row < 0 or nobody[mode.row] for mode in rows])
    empty, alone, silent = 0.0, 0.0, passed.silent.copy()
    if need_cause or outsider is not None:
        left = {n: tuple(m for m in part if nobody[m.row]) for n, part in parts.items()}
        rest = _pass(left, weight, off, on, tied, nobody)
        scale = float(np.exp(rest.log_scale - passed.log_scale))
        empty = scale * float(rest.total[idle].sum()) if need_cause else 0.0
        if need_cause:
            silent[idle] -= scale * rest.silent[idle]
        if outsider is not None:
            known = np.delete(modes.present, outsider, axis=1)
            lonely = np.array([not known[mode.row].any() for mode in rows])
            alone = scale * float(rest.total[lonely].sum()) - empty
    share = total - empty
    if share <= 0.0:
        raise _contradiction()

    by_row = np.zeros(len(modes.present))
    by_row[list(passed.mass)] = list(passed.mass.values())
    for mode, mass in zip(rows, passed.total.tolist(), strict=True):
        if mode.row >= 0:
            by_row[mode.row] = mass
    posterior: Floats = (by_row / share) @ modes.present
    np.minimum(posterior, 1.0, out=posterior)  # sums of shares may be off by a last digit
    by_leak = _ratio((1.0 - own) * leaks * on, off)
    unexplained = (silent * by_leak).sum(axis=0) / share
    left_out = passed.tied.left_out if passed.tied else 0.0
    return Marginals(
        posterior,
        {int(f): float(unexplained[j]) for j, f in enumerate(evidence.bits) if on[j] > lik_off[j]},
        float(np.log(share)) + log_constant + passed.log_scale,
        alone / share,
        left_out / (share + left_out),
        Messages(
            passed.live,
            passed.still,
            passed.turns,
            passed.tied,
            passed.open_bits,
            rows,
            off,
            on,
            total,
            empty,
        ),
    )


def _parts(modes: Modes, leak: Floats, evidence: Evidence) -> tuple[dict[int, Part], float]:
    """Fold what was seen to be absent into the weights; gives the log of what was divided by.

    The parts are by the number of their component.
    """
    weight = modes.weight * np.prod(1.0 - modes.q[:, evidence.absent], axis=1)
    starts = np.flatnonzero(np.diff(modes.component, prepend=-1))
    sums = np.add.reduceat(weight, starts)
    quiet = 1.0 - leak[evidence.absent]
    if np.any(sums <= 0.0) or np.any(quiet <= 0.0):
        raise _contradiction()
    weight = weight / np.repeat(sums, np.diff(np.append(starts, len(weight))))
    # What was ruled out turns nothing on.
    touching = np.where(weight[:, None] > 0.0, modes.q[:, evidence.bits], 0.0)
    links: list[list[tuple[int, float]]] = [[] for _ in weight]
    for row, bit in np.argwhere(touching).tolist():
        links[row].append((bit, float(touching[row, bit])))
    made = [Mode(i, w, tuple(links[i])) for i, w in enumerate(weight.tolist())]
    firsts, numbers = starts.tolist(), modes.component[starts].tolist()
    ends = [*firsts[1:], len(made)]
    parts = {n: tuple(made[i:j]) for n, i, j in zip(numbers, firsts, ends, strict=True)}
    return parts, float(np.log(sums).sum() + np.log(quiet).sum())


def _component_of(modes: Modes, cause: int) -> int:
    """Number of the component that a cause belongs to."""
    return int(modes.component[int(np.argmax(modes.present[:, cause]))])


def _ratio(above: Floats, below: Floats) -> Floats:
    """Quotient of two arrays, 0 where there is nothing above."""
    ratio: Floats = np.divide(above, below, out=np.zeros_like(below), where=above > 0.0)
    return ratio


def _contradiction() -> ContradictionError:
    return ContradictionError(
        "No cause, and no set of causes, can bring about all these answers.",
        "Look again at the answers that were given as certain.",
    )


@dataclass(frozen=True)
class _Passed:
    """The fruit of both passes over some components.

    Attributes
    ----------
    live, still, turns, tied, open_bits
        As in `Messages`.
    total : ndarray, shape (U,)
        Mass of the answers, for each row.
    silent : ndarray, shape (U, K)
        The same together with no component having turned a bit on.
    mass : dict
        Row in `Modes` -> mass of the answers together with that mode.
    log_scale : float
        Natural log of what all masses are to be multiplied with.
    """

    live: tuple[Bundle, ...]
    still: tuple[Part, ...]
    turns: tuple[Turn, ...]
    tied: Weighed | None
    open_bits: tuple[int, ...]
    total: Floats
    silent: Floats
    mass: dict[int, float]
    log_scale: float


def _pass(
    every: dict[int, Part],
    weight: Floats,
    off: Floats,
    on: Floats,
    tied: Tied | None,
    nobody: list[bool],
) -> _Passed:
    """Pass forwards and backwards over components; their weights need not sum to 1.

    `nobody` says of each mode whether it has no cause present.
    """
    bound = tied.components if tied else frozenset[int]()
    parts = [part for number, part in every.items() if number not in bound]
    last = [part for number, part in every.items() if number in bound]
    bits = [bits_of([part]) for part in parts]
    still = [part for part, some in zip(parts, bits, strict=True) if not some]
    moving = [(part, some) for part, some in zip(parts, bits, strict=True) if some]
    live = bundles_of(moving, nobody)
    touched = [bits_of(bundle[:1]) for bundle in live]
    kept = bits_of(last)
    turns, width, open_bits = schedule(touched, kept)
    if width > MAX_WIDTH:
        raise TooWideError(width)
    inert = [sum(mode.weight for mode in part) for part in still]
    untouched = sorted(set(range(len(on))).difference(kept, *touched))
    constant = float(np.prod(inert)) * off[:, untouched].prod(axis=1)

    together = [Together.of(live[turn.component], turn) for turn in turns]
    table, before, closing = _forwards((weight * constant)[:, None], live, turns, together, off, on)
    left = len(open_bits) - (table.shape[1].bit_length() - 1)
    table = opened(table, left)
    total, ahead, weighed = table[:, 0], np.ones((len(weight), 1)), None
    mass: dict[int, float] = {}
    silent = np.zeros((len(weight), len(on)))
    if tied is not None:
        at = list(open_bits)
        picks = _picks(last, open_bits, tied)
        weighed = weigh(picks, table, off[:, at], on[at], tolerance=tied.tolerance, most=tied.most)
        total, ahead = weighed.mass.sum(axis=0), weighed.back
        mass.update(_tied_masses(last, weighed))
    silent[:] = total[:, None]
    if weighed is not None:
        silent[:, list(open_bits)] = weighed.silent

    table = opened_back(ahead, left)
    for turn in reversed(turns):
        for place, bit in reversed(turn.closes):
            silent[:, bit] = off[:, bit] * off_mass(closing.pop(), table, place)
            table = closed_back(table, place, off[:, bit], float(on[bit]))
        front, joint = before.pop(), together.pop()
        if joint:
            mixed = joint.turn_back(front, table, mass)
        else:
            mixed = turn_back(front, table, live[turn.component][0], turn, mass)
        table = opened_back(mixed, turn.opens)
    everything = float(total.sum())
    for part, whole in zip(still, inert, strict=True):
        mass.update((m.row, m.weight / whole * everything) for m in part if m.weight > 0.0)
    return _Passed(
        tuple(live[turn.component] for turn in turns),
        tuple(still),
        turns,
        weighed,
        open_bits,
        total,
        silent,
        mass,
        weighed.log_scale if weighed else 0.0,
    )


def _forwards(
    table: Floats,
    live: list[Bundle],
    turns: tuple[Turn, ...],
    together: "list[Together | None]",
    off: Floats,
    on: Floats,
) -> tuple[Floats, list[Floats], list[Floats]]:
    """Let all components take their turns; gives what is open after the last one.

    Besides, the tables before each turn, and those before each finding closed.
    """
    before: list[Floats] = []
    closing: list[Floats] = []
    for turn, joint in zip(turns, together, strict=True):
        table = opened(table, turn.opens)
        before.append(table)
        table = joint.mixed(table) if joint else mixed(table, live[turn.component][0], turn)
        for place, bit in turn.closes:
            closing.append(table)
            table = closed(table, place, off[:, bit], float(on[bit]))
    return table, before, closing


def _picks(parts: list[Part], open_bits: tuple[int, ...], tied: Tied) -> Picks:
    """Make arrays of the modes of the tied components."""
    place = {bit: i for i, bit in enumerate(open_bits)}
    modes = [(n, part[0], mode) for n, part in enumerate(parts) for mode in part[1:]]
    modes = [(n, absent, mode) for n, absent, mode in modes if mode.weight > 0.0]
    q = np.zeros((len(modes), len(open_bits)))
    for i, (_, _, mode) in enumerate(modes):
        for bit, chance in mode.links:
            q[i, place[bit]] = chance
    return Picks(
        np.array([mode.row for _, _, mode in modes], dtype=np.intp),
        np.array([n for n, _, _ in modes], dtype=np.intp),
        np.array([mode.weight / absent.weight for _, absent, mode in modes]),
        q,
        float(np.prod([part[0].weight for part in parts])),
        tied.likelihood,
    )


def _tied_masses(parts: list[Part], weighed: Weighed) -> dict[int, float]:
    """Mass of the answers together with each mode of the tied components."""
    mass = weighed.mass.sum(axis=1)
    total = float(mass.sum())
    width = weighed.rows.shape[1]
    # Counted from 1, so that the -1 that pads is 0; a set holds no row twice.
    sums = np.bincount((weighed.rows + 1).ravel(), weights=np.repeat(mass, width)).tolist()
    found: dict[int, float] = {}
    for part in parts:
        mine = {m.row: sums[m.row + 1] if m.row + 1 < len(sums) else 0.0 for m in part[1:]}
        found.update(mine)
        found[part[0].row] = max(0.0, total - sum(mine.values()))
    return found
