"""Causes that readings tie together: sets of them, weighed one by one at the end of the pass.

A reading depends on all causes at once that move it, so these causes can't take their turns one
after the other. They are taken last and together: the pass over all the others has left f(T), the
mass with exactly the findings in T turned on, and for every set A of what is left

    mass(A) = prior(A) x likelihood of the readings under A x sum over T of f(T) x what A turns on

is a plain sum of positive numbers. Few causes are taken in all their sets. Of many, sets are taken
by what they can be expected to hold: the effect of each cause on the likelihood is known from the
sets of one, and that of each two on each other from the sets of two. For readings that follow a
normal law whose mean causes shift and whose spread they leave alone, that already is exact.

What the sets that were left out hold is estimated in the same way.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

from diagnose.tables import Floats

Ints = NDArray[np.intp]

_WHOLE = 1024  # so many sets are all weighed, whatever they hold
_FOR_PAIRS = 0.6  # share of the room that sets of two may take at first
_AROUND = 1500  # sets of three that are looked at, around the best of two
_TOP = 6  # of three, around which sets of four are looked at


@dataclass(frozen=True)
class Picks:
    """The modes, other than the absent ones, of the components that are taken together.

    Attributes
    ----------
    row : ndarray of int, shape (n,)
        Their rows in `Modes`.
    component : ndarray of int, shape (n,)
    odds : ndarray, shape (n,)
        Weight against the absent mode of the component.
    q : ndarray, shape (n, k)
        Chance that the mode turns on each of the k bits that are open at the end.
    absent : float
        Weight of all components being absent.
    likelihood : callable
        Gives the natural log of the likelihood of the readings, shape (N, U), for sets of rows,
        shape (N, w), padded with -1.
    """

    row: Ints
    component: Ints
    odds: Floats
    q: Floats
    absent: float
    likelihood: Callable[[Ints], Floats]


@dataclass(frozen=True)
class Weighed:
    """Sets that were weighed.

    Attributes
    ----------
    rows : ndarray of int, shape (N, w)
        Rows in `Modes`, padded with -1.
    mass : ndarray, shape (N, U)
        Mass of the answers together with each set.
    back : ndarray, shape (U, 2^k)
        Mass of all of them that follows from each state T of the open bits.
    silent : ndarray, shape (U, k)
        Mass of the answers together with no component having turned on a bit.
    left_out : float
        Estimated mass of all sets that were not weighed.
    log_scale : float
        Natural log of what all masses are to be multiplied with.
    bits : _OpenBits
    missed : ndarray, shape (N, k)
        Chance that a set does not turn on each bit.
    weight : ndarray, shape (N, U)
        Prior of each set times the likelihood of the readings.
    """

    rows: Ints
    mass: Floats
    back: Floats
    silent: Floats
    left_out: float
    log_scale: float
    bits: "_OpenBits"
    missed: Floats
    weight: Floats

    def following(self, at: Ints) -> Floats:
        """Mass of some of the sets that follows from each state, shape (n, U, 2^k)."""
        return self.bits.following(self.missed[at], self.weight[at])

    def after(self, tables: Floats, at: Ints, u: int) -> Floats:
        """Mass of some of the sets after each of some tables, shape (R, n).

        Parameters
        ----------
        tables : ndarray, shape (R, 2^j)
            States of the first j of the open bits; the others are off.
        at : ndarray of int, shape (n,)
        u : int
            Mode of the outsider.
        """
        return self.bits.after(tables, self.missed[at], self.weight[at, u], u)


def weigh(
    picks: Picks,
    table: Floats,
    off: Floats,
    on: Floats,
    *,
    tolerance: float,
    most: int,
) -> Weighed:
    """Weigh sets of the components that are taken together.

    Parameters
    ----------
    picks : Picks
    table : ndarray, shape (U, 2^k)
        f(T) of everything else, for each mode of the outsider.
    off, on : ndarray, shape (U, k) and (k,)
        Likelihood of the answer about each bit, off and on.
    tolerance : float
        Sets are added until those left out hold no more than this share.
    most : int
        At most about so many sets; what is left out then may be more.

    Returns
    -------
    Weighed
    """
    search = _Search(picks, _OpenBits(table, off, on))
    if search.is_small:
        search.add(search.every_set())
        return search.result()
    search.add(search.singles())
    search.add_larger(most - search.count, tolerance)
    return search.result()


class _OpenBits:
    """The bits that are open at the end, in two halves.

    What follows from a state is a product over the bits. So it is one product over the low bits and
    one over the high ones, and a sum over all 2^k states is a product of small matrices.
    """

    def __init__(self, table: Floats, off: Floats, on: Floats) -> None:
        self.off, self.on = off, on
        self.k = len(on)
        self.low = self.k // 2
        self.table = table
        self.folded = table.reshape(len(table), 1 << (self.k - self.low), 1 << self.low)

    def _halves(self, missed: Floats, u: int) -> tuple[Floats, Floats]:
        """Chance of the answers after each state of the low, and the high bits, shape (2^i, N)."""
        there = missed * self.off[u] + (1.0 - missed) * self.on
        return (
            _products(there[:, : self.low], self.on[: self.low]),
            _products(there[:, self.low :], self.on[self.low :]),
        )

    def mass(self, missed: Floats, u: int) -> Floats:
        """Mass of the answers if a set does not turn on a bit with these chances, shape (N,)."""
        low, high = self._halves(missed, u)
        mass: Floats = ((self.folded[u].T @ high) * low).sum(axis=0)
        return mass

    def sums(self, missed: Floats, weight: Floats) -> tuple[Floats, Floats, Floats]:
        """Give the mass of each set, of what follows from each state, and with each bit silent.

        Of shapes (N, U), (U, 2^k) and (U, k).
        """
        mass = np.empty((len(missed), len(self.table)))
        back = np.empty(self.table.shape)
        silent = np.empty((len(self.table), self.k))
        quiet_low, quiet_high = _quiet(self.low), _quiet(self.k - self.low)
        for u, folded in enumerate(self.folded):
            low, high = self._halves(missed, u)
            high_weighed = high * weight[:, u]
            back[u] = (high_weighed @ low.T).ravel()
            by_low = (folded.T @ high_weighed) * low
            by_high = (folded @ low) * high_weighed
            mass[:, u] = by_low.sum(axis=0)
            still = np.concatenate((quiet_low.T @ by_low, quiet_high.T @ by_high))
            kept = missed * self.off[u]
            there = kept + (1.0 - missed) * self.on
            share = np.divide(kept, there, out=np.zeros_like(there), where=there > 0.0)
            silent[u] = np.einsum("nk,kn->k", share, still)
        return mass, back, silent

    def following(self, missed: Floats, weight: Floats) -> Floats:
        """Mass of each set that follows from each state, shape (N, U, 2^k)."""
        found = np.empty((len(missed), *self.table.shape))
        for u in range(len(self.table)):
            low, high = self._halves(missed, u)
            product = (high * weight[:, u]).T[:, :, None] * low.T[:, None, :]
            found[:, u] = product.reshape(len(missed), -1)
        return found

    def after(self, tables: Floats, missed: Floats, weight: Floats, u: int) -> Floats:
        """Mass of each set after each table of the first bits, shape (R, N)."""
        bits = tables.shape[1].bit_length() - 1
        low = bits // 2
        there = missed * self.off[u] + (1.0 - missed) * self.on
        first = _products(there[:, :low], self.on[:low])
        second = _products(there[:, low:bits], self.on[low:bits])
        second *= weight * there[:, bits:].prod(axis=1)
        inner = tables.reshape(-1, len(first)) @ first
        mass: Floats = (inner.reshape(len(tables), *second.shape) * second).sum(axis=1)
        return mass


def _products(there: Floats, on: Floats) -> Floats:
    """Products over some bits for each state of them, shape (2^bits, N): so all loops are long."""
    n, bits = there.shape
    chance = np.empty((1 << bits, n))
    chance[0] = 1.0
    for place in range(bits):
        size = 1 << place
        np.multiply(chance[:size], on[place], out=chance[size : 2 * size])
        chance[:size] *= there[:, place]
    return chance


def _quiet(bits: int) -> Floats:
    """1 for each state in which a bit is not on, shape (2^bits, bits)."""
    states = np.arange(1 << bits)[:, None]
    quiet: Floats = ((states >> np.arange(bits)) & 1 == 0).astype(np.float64)
    return quiet


class _Search:
    """Sets weighed so far; sets are rows of numbers of picks, padded with n (none)."""

    def __init__(self, picks: Picks, bits: _OpenBits) -> None:
        self.picks, self.bits = picks, bits
        self.n = len(picks.row)
        self.odds = np.append(picks.odds, 1.0)
        self.missed = np.vstack((1.0 - picks.q, np.ones(picks.q.shape[1])))
        self.sets: list[Ints] = []
        self.plain: list[Floats] = []  # masses without the readings, (N, U)
        self.log: list[Floats] = []
        self.count = 0
        self.left_out = 0.0
        # Log of the factor that each pick has on the likelihood, and each two beyond that.
        self.one = np.zeros(self.n + 1)
        self.two = np.zeros((self.n + 1, self.n + 1))

    @property
    def is_small(self) -> bool:
        sizes = np.unique(self.picks.component, return_counts=True)[1] + 1.0
        return float(np.prod(sizes)) <= _WHOLE

    def every_set(self) -> Ints:
        """All sets of any size."""
        components = np.unique(self.picks.component)
        choices = [(self.n, *np.flatnonzero(self.picks.component == c)) for c in components]
        sets = list(product(*choices))
        return np.array(sets, dtype=np.intp).reshape(len(sets), len(choices))

    def singles(self) -> Ints:
        """The empty set and all sets of one."""
        return np.array([self.n, *range(self.n)], dtype=np.intp)[:, None]

    def add_larger(self, room: int, tolerance: float) -> None:
        """Weigh the best sets of two, then the best of what is left and of three around them."""
        self.one[:-1] = self._factor(self.log[0][1:])
        pairs = self._pairs()
        expected = self._expected(pairs)
        best = self._best(expected, round(_FOR_PAIRS * room), tolerance)
        self.add(pairs[best])
        i, j = pairs[best].T
        self.two[i, j] = self._factor(self.log[-1]) - self.one[i] - self.one[j]
        held = self._held()[-1]
        left = np.delete(np.arange(len(pairs)), best)
        pairs, expected = pairs[left], expected[left]

        parents = np.argsort(-held, kind="stable")[: _AROUND // max(self.n, 1) + 1]
        triples = self._around(self.sets[-1][parents])
        sets = np.concatenate((np.pad(pairs, ((0, 0), (0, 1)), constant_values=self.n), triples))
        expected = np.concatenate((expected, self._expected(triples)))
        best = self._best(expected, room - len(best), tolerance)
        self.add(sets[best])
        self.left_out = self._rest(sets, expected, best, held, parents)

    def _rest(self, sets: Ints, expected: Floats, best: Ints, held: Floats, parents: Ints) -> float:
        """Estimate the mass of all sets that were not weighed.

        What was looked at has its expected mass. The other sets of three are taken to be to those
        that were looked at as all pairs are to those that they were looked for around; and sets of
        four to those of three as they are around the best of three.
        """
        larger = sets[:, -1] < self.n
        known = expected.copy()
        known[best] = self._held()[-1]
        left = float(known.sum() - known[best].sum())
        twos, threes = float(held.sum() + known[~larger].sum()), float(known[larger].sum())
        around = float(held[parents].sum())
        if around <= 0.0 or threes <= 0.0:
            return left
        whole = threes * twos / around
        top = np.flatnonzero(larger)[np.argsort(-known[larger], kind="stable")[:_TOP]]
        ratio = float(self._expected(self._around(sets[top])).sum() / known[top].sum())
        return left + whole - threes + whole * ratio

    def _best(self, expected: Floats, most: int, tolerance: float) -> Ints:
        """Numbers of the sets that may hold most; no more than it takes to leave little out."""
        order = np.argsort(-expected, kind="stable")
        rest = float(expected.sum()) - np.cumsum(expected[order])
        wanted = int(np.searchsorted(-rest, -tolerance / 4.0 * self.total)) + 1
        return order[: max(0, min(wanted, most))]

    def _pairs(self) -> Ints:
        i, j = np.triu_indices(self.n, 1)
        apart = self.picks.component[i] != self.picks.component[j]
        i, j = i[apart], j[apart]
        # Until it is known: the second may be idle where the first explains it all already.
        both = self.one[i] + self.one[j]
        self.two[i, j] = np.maximum(np.maximum(self.one[i], self.one[j]) - both, 0.0)
        return np.stack((i, j), axis=1).astype(np.intp)

    def _around(self, sets: Ints) -> Ints:
        """All sets of one more."""
        component = self.picks.component
        more = np.tile(np.arange(self.n), len(sets))
        larger = np.column_stack((np.repeat(sets, self.n, axis=0), more))
        apart = (component[larger[:, :-1]] != component[more, None]).all(axis=1)
        larger = np.sort(larger[apart], axis=1)
        keys = larger @ (self.n + 1) ** np.arange(larger.shape[1])
        return np.asarray(larger[np.unique(keys, return_index=True)[1]], dtype=np.intp)

    def _expected(self, sets: Ints) -> Floats:
        """What sets can be expected to hold, judged by the leading mode of the outsider."""
        factor = self.one[sets].sum(axis=1) + self.log[0][0, self._leading] - self.scale
        for a, b in combinations(range(sets.shape[1]), 2):
            factor += self.two[sets[:, a], sets[:, b]]
        plain = self.bits.mass(self._missed(sets), self._leading) * self._prior(sets) * self._more
        return np.asarray(plain * np.exp(np.minimum(factor, 0.0)))

    def _factor(self, log: Floats) -> Floats:
        """Log of the factor on the likelihood of the empty set, by the outsider's leading mode."""
        return np.asarray(log[:, self._leading] - self.log[0][0, self._leading])

    @cached_property
    def _by_mode(self) -> Floats:
        """What the sets of one hold by each mode of the outsider."""
        held: Floats = (self.plain[0] * np.exp(self.log[0] - self.scale)).sum(axis=0)
        return held

    @cached_property
    def _leading(self) -> int:
        """The mode of the outsider that holds most, by the sets of one."""
        return int(np.argmax(self._by_mode))

    @cached_property
    def _more(self) -> float:
        """How much all modes of the outsider hold against the leading one."""
        return float(self._by_mode.sum() / self._by_mode[self._leading])

    def _held(self) -> list[Floats]:
        """Mass of each set weighed so far, in blocks as they were added."""
        return [
            (plain * np.exp(log - self.scale)).sum(axis=1)
            for plain, log in zip(self.plain, self.log, strict=True)
        ]

    def _prior(self, sets: Ints) -> Floats:
        prior: Floats = self.picks.absent * self.odds[sets].prod(axis=1)
        return prior

    def _missed(self, sets: Ints) -> Floats:
        missed: Floats = self.missed[sets].prod(axis=1)
        return missed

    def _plain(self, sets: Ints) -> Floats:
        """Masses without the readings, shape (N, U)."""
        missed, prior = self._missed(sets), self._prior(sets)
        states = range(len(self.bits.table))
        return np.stack([self.bits.mass(missed, u) * prior for u in states], axis=1)

    def add(self, sets: Ints) -> None:
        """Weigh sets."""
        if len(sets) == 0:
            return
        rows = np.append(self.picks.row, -1)[sets]
        self.sets.append(sets)
        self.plain.append(self._plain(sets))
        self.log.append(self.picks.likelihood(rows))
        self.count += len(sets)

    @property
    def scale(self) -> float:
        """Natural log of the greatest likelihood so far: masses are told in its terms."""
        best = float(max(log.max() for log in self.log))
        return best if np.isfinite(best) else 0.0

    @property
    def total(self) -> float:
        """Mass of all sets weighed so far."""
        return float(sum(held.sum() for held in self._held()))

    def result(self) -> Weighed:
        """Gather what was weighed."""
        width = max(sets.shape[1] for sets in self.sets)
        wide = [
            np.pad(sets, ((0, 0), (0, width - sets.shape[1])), constant_values=self.n)
            for sets in self.sets
        ]
        sets = np.concatenate(wide)
        weight = self._prior(sets)[:, None] * np.exp(np.concatenate(self.log) - self.scale)
        missed = self._missed(sets)
        mass, back, silent = self.bits.sums(missed, weight)
        return Weighed(
            np.append(self.picks.row, -1)[sets],
            mass,
            back,
            silent,
            self.left_out,
            self.scale,
            self.bits,
            missed,
            weight,
        )
