"""Causes that readings tie together: sets of them, weighed one by one at the end of the pass.

A reading depends on all causes at once that move it, so these causes can't take their turns one
after the other. They are taken last and together: the pass over all the others has left f(T), the
mass with exactly the findings in T turned on, and for every set A of what is left

    mass(A) = prior(A) x likelihood of the readings under A x sum over T of f(T) x what A turns on

is a plain sum of positive numbers. Few causes are taken in all their sets. Of many, sets of up to
two are weighed, those that the findings make probable first, and larger ones that hold the best of
those. What the sets left out can hold is bounded by their mass without the readings, which is known
exactly, times the greatest likelihood met.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from diagnose.tables import Floats

Ints = NDArray[np.intp]

_WHOLE = 1024  # so many sets are all weighed, whatever they hold
_ROOM = 1 << 20  # numbers in one block of closing chances
_MOST_ROOM = 1 << 24  # and in all that are kept


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
    closing : ndarray, shape (N, U, 2^k)
        Mass that follows from each state T of the open bits.
    silent : ndarray, shape (U, k)
        Mass of the answers together with no component having turned on a bit.
    left_out : float
        Bound of the mass of all sets that were not weighed, if none of them explains the readings
        better than the best that was.
    log_scale : float
        Natural log of what all masses are to be multiplied with.
    """

    rows: Ints
    mass: Floats
    closing: Floats
    silent: Floats
    left_out: float
    log_scale: float


def weigh(
    picks: Picks,
    table: Floats,
    off: Floats,
    on: Floats,
    *,
    tolerance: float = 1e-3,
    most: int = 1500,
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
    search = _Search(picks, table, off, on)
    if search.is_small:
        search.add(search.every_set())
        return search.result(0.0)
    most = min(most, _MOST_ROOM // table.size)
    singles = search.singles()
    search.add(singles)
    sets, mass = search.pairs()
    share = tolerance
    while len(sets):
        room = most - search.count
        share /= 2.0  # so that what each size leaves out sums to the tolerance
        search.add(sets[: search.enough(mass, share, room)])
        if search.count >= most or search.left_out() <= tolerance * search.total:
            break
        sets, mass = search.larger(sets.shape[1], most - search.count)
    return search.result(search.left_out())


class _Search:
    """Sets weighed so far; sets are rows of numbers of picks, padded with n (none)."""

    def __init__(self, picks: Picks, table: Floats, off: Floats, on: Floats) -> None:
        self.picks, self.table, self.off, self.on = picks, table, off, on
        self.n = len(picks.row)
        self.odds = np.append(picks.odds, 1.0)
        self.missed = np.vstack((1.0 - picks.q, np.ones(picks.q.shape[1])))
        self.sets: list[Ints] = []
        self.plain: list[Floats] = []  # masses without the readings, (N, U)
        self.log: list[Floats] = []
        self.count = 0

    @property
    def is_small(self) -> bool:
        sizes = np.unique(self.picks.component, return_counts=True)[1] + 1.0
        return float(np.prod(sizes)) <= min(_WHOLE, _MOST_ROOM // self.table.size)

    def every_set(self) -> Ints:
        """All sets of any size."""
        components = np.unique(self.picks.component)
        choices = [(self.n, *np.flatnonzero(self.picks.component == c)) for c in components]
        sets = list(product(*choices))
        return np.array(sets, dtype=np.intp).reshape(len(sets), len(choices))

    def singles(self) -> Ints:
        """The empty set and all sets of one."""
        return np.array([self.n, *range(self.n)], dtype=np.intp)[:, None]

    def pairs(self) -> tuple[Ints, Floats]:
        """All sets of two with their masses without the readings, the largest first."""
        i, j = np.triu_indices(self.n, 1)
        apart = self.picks.component[i] != self.picks.component[j]
        return self._sorted(np.stack((i[apart], j[apart]), axis=1).astype(np.intp))

    def larger(self, size: int, room: int) -> tuple[Ints, Floats]:
        """Sets of one more than the last ones, around those that hold most; the largest first."""
        component = self.picks.component
        weight = (self.plain[-1] * np.exp(self.log[-1] - self.scale)).sum(axis=1)
        order = np.argsort(-weight, kind="stable")
        found: set[tuple[int, ...]] = set()
        for members in self.sets[-1][order[: max(8, 4 * room // max(self.n, 1))]].tolist():
            taken = {component[m] for m in members}
            found.update(
                tuple(sorted((*members, m))) for m in range(self.n) if component[m] not in taken
            )
        return self._sorted(np.array(sorted(found), dtype=np.intp).reshape(len(found), size + 1))

    def _sorted(self, sets: Ints) -> tuple[Ints, Floats]:
        mass = self._plain(sets).sum(axis=1)
        order = np.argsort(-mass, kind="stable")
        return sets[order], mass[order]

    def _prior(self, sets: Ints) -> Floats:
        prior: Floats = self.picks.absent * self.odds[sets].prod(axis=1)
        return prior

    def _plain(self, sets: Ints) -> Floats:
        """Masses without the readings, shape (N, U)."""
        mass = np.empty((len(sets), len(self.table)))
        for part in self._parts(sets):
            closing = self._closing(sets[part])
            mass[part] = np.einsum("nut,ut->nu", closing, self.table)
        return mass * self._prior(sets)[:, None]

    def _parts(self, sets: Ints) -> list[slice]:
        step = max(1, _ROOM // self.table.size)
        return [slice(i, i + step) for i in range(0, len(sets), step)]

    def _closing(self, sets: Ints) -> Floats:
        """Chance of the answers about the open bits after each T, shape (N, U, 2^k)."""
        missed = self.missed[sets].prod(axis=1)  # (N, k)
        chance = np.ones((len(sets), len(self.table), 1))
        for place in range(missed.shape[1]):
            stays = missed[:, place, None]
            there = stays * self.off[None, :, place] + (1.0 - stays) * self.on[place]
            chance = np.concatenate((chance * there[..., None], chance * self.on[place]), axis=2)
        return chance

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
        return float(
            sum(
                (plain * np.exp(log - self.scale)).sum()
                for plain, log in zip(self.plain, self.log, strict=True)
            )
        )

    def left_out(self) -> float:
        """Bound of the mass of all sets that were not weighed."""
        rest = self._everything() - sum(float(plain.sum()) for plain in self.plain)
        return max(0.0, rest)  # times the greatest likelihood, which is 1 in terms of the scale

    def enough(self, mass: Floats, tolerance: float, most: int) -> int:
        """How many sets of falling mass to take so that the rest may be left out."""
        rest = float(mass.sum()) - np.cumsum(mass)
        wanted = tolerance * self.total
        return min(int(np.searchsorted(-rest, -wanted)) + 1, len(mass), max(most, 0))

    def _everything(self) -> float:
        """Mass of all sets of any size without the readings.

        The chance that no bit of S is turned on is a product over the components; from it the
        closing chances follow by differences, which is good enough for a bound.
        """
        k = self.picks.q.shape[1]
        quiet = np.full(1 << k, self.picks.absent)
        missed = np.ones((self.n, 1))
        for place in range(k):
            missed = np.concatenate((missed, missed * (1.0 - self.picks.q[:, place, None])), axis=1)
        for component in np.unique(self.picks.component):
            mine = self.picks.component == component
            quiet *= 1.0 + self.picks.odds[mine] @ missed[mine]
        mass = 0.0
        for u, row in enumerate(self.table):
            ahead = quiet.copy()
            for place in range(k):
                halves = ahead.reshape(-1, 2, 1 << place)
                # Off: (off - on) if it is asked to stay off, on whatever it does; on: on.
                whole, staying = halves[:, 0].copy(), halves[:, 1].copy()
                off, on = self.off[u, place], self.on[place]
                halves[:, 0] = on * whole + (off - on) * staying
                halves[:, 1] = on * whole
            mass += float(row @ ahead)
        return mass

    def result(self, left_out: float) -> Weighed:
        """Gather what was weighed."""
        width = max(sets.shape[1] for sets in self.sets)
        wide = [
            np.pad(sets, ((0, 0), (0, width - sets.shape[1])), constant_values=self.n)
            for sets in self.sets
        ]
        sets = np.concatenate(wide)
        weight = self._prior(sets)[:, None] * np.exp(np.concatenate(self.log) - self.scale)
        closing = np.concatenate([self._closing(sets[part]) for part in self._parts(sets)])
        closing *= weight[..., None]
        front = closing * self.table
        k = self.picks.q.shape[1]
        silent = np.zeros((len(self.table), k))
        missed = self.missed[sets].prod(axis=1)
        states = np.arange(1 << k)
        for place in range(k):
            stays = missed[:, place, None]
            kept = stays * self.off[None, :, place]
            there = kept + (1.0 - stays) * self.on[place]
            share = np.divide(kept, there, out=np.zeros_like(there), where=there > 0.0)
            still = front[:, :, (states >> place) & 1 == 0].sum(axis=2)
            silent[:, place] = (share * still).sum(axis=0)
        return Weighed(
            np.append(self.picks.row, -1)[sets],
            front.sum(axis=2),
            closing,
            silent,
            left_out,
            self.scale,
        )
