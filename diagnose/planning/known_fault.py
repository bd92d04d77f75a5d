"""What it would cost if it were known what is wrong: a lower bound on every way to the end.

Knowing never costs anything, so the expectation of these hours over a belief is at most what any
policy takes. Where the belief is one row and every repair is sure it is the very cost.

References
----------
The lower bound of the planners for heavy vehicles in engine notes 1: fault known, its access and
its repair.
"""

from dataclasses import dataclass, field

import numpy as np

from diagnose.planning.problem import Problem
from diagnose.tables import Floats

_ROUNDS, _SETTLED = 200, 1e-12


@dataclass(frozen=True, eq=False)
class Mending:
    """An act that may put causes right: a repair, or a look with the repair it calls for.

    Attributes
    ----------
    look : tuple of (int, float), optional
        Depth and hours of the look that comes first.
    depth : int
        Number of the level of the repair.
    hours : float
        Of the repair itself.
    found : ndarray, shape (S,)
        Chance that the repair is done, given each row; 1 without a look.
    moves : ndarray, shape (S, S)
        Chance of the row after the repair, given each row before it.
    """

    look: tuple[int, float] | None
    depth: int
    hours: float
    found: Floats
    moves: Floats


def moved_by(problem: Problem, number: int) -> Floats:
    """Give the chance of each row after a repair given each row before it, shape (S, S)."""
    cures = problem.repairs[number].cures
    rows = np.eye(len(problem.needs))
    for cause in np.flatnonzero(cures).tolist():
        cured = rows * np.where(problem.needs[:, cause], cures[cause], 0.0)
        left = rows - cured
        np.add.at(left.T, problem.rest[:, cause], cured.T)
        rows = left
    return rows


@dataclass(eq=False)
class KnownFault:
    """Hours to the end for each row if it were known, remembered.

    Attributes
    ----------
    problem : Problem
    mendings : tuple of Mending
    sure : bool
        Whether every mending works for sure; else what was done in vain is done again.
    """

    problem: Problem
    mendings: tuple[Mending, ...]
    sure: bool
    _hours: dict[tuple[int, int, int], float] = field(default_factory=dict)
    _vectors: dict[tuple[int, int], Floats] = field(default_factory=dict)

    def __post_init__(self) -> None:
        rows = np.arange(len(self.problem.needs))
        helps = [(m.moves[rows, rows] < 1.0) & (m.found > 0.0) for m in self.mendings]
        self._useful = [
            sum(1 << i for i, help_ in enumerate(helps) if help_[row]) for row in rows.tolist()
        ]
        # From a drive in vain on, in each row: raised from 0 on, so it never says too much.
        self._again = np.zeros(len(rows))
        for _ in range(0 if self.sure else _ROUNDS):
            before, self._again = self._again, self.hours(0, -1)
            self._hours.clear()
            self._vectors.clear()
            if np.abs(self._again - before).max() < _SETTLED:
                break

    def hours(self, here: int, left: int) -> Floats:
        """Give the hours for every row.

        Parameters
        ----------
        here : int
            Number of the level the vehicle stands at.
        left : int
            Bit i is set where mending i is left; -1 where all are.

        Returns
        -------
        ndarray, shape (S,)
        """
        if (here, left) not in self._vectors:
            found = [self._row(row, here, left & use) for row, use in enumerate(self._useful)]
            self._vectors[here, left] = np.array(found)
        return self._vectors[here, left]

    def mended(self, here: int, left: int, number: int) -> Floats:
        """Give the hours for every row if one mending comes first, shape (S,)."""
        mending, others = self.mendings[number], left & ~(1 << number)
        before, at_look = self._before(here, mending)
        way, there = self.problem.access.move(at_look, mending.depth)
        done = way + mending.hours + mending.moves @ self.hours(there, others)
        not_done = self.hours(at_look, others) if mending.look is not None else 0.0
        hours: Floats = before + mending.found * done + (1.0 - mending.found) * not_done
        return hours

    def _before(self, here: int, mending: Mending) -> tuple[float, int]:
        """Give the hours of the look that comes first, and where the vehicle then stands."""
        if mending.look is None:
            return 0.0, here
        depth, hours = mending.look
        way, there = self.problem.access.move(here, depth)
        return way + hours, there

    def _row(self, row: int, here: int, left: int) -> float:
        key = (row, here, left)
        if key not in self._hours:
            self._hours[key] = self._cheapest(row, here, left)
        return self._hours[key]

    def _cheapest(self, row: int, here: int, left: int) -> float:
        problem = self.problem
        out = problem.access.way_out(here)
        best = out + float(problem.hand_over[row])
        if problem.well[row]:
            best = min(best, out + problem.drive)
        elif not self.sure:
            best = min(best, out + problem.drive + float(self._again[row]))
        for i, mending in enumerate(self.mendings):
            if left >> i & 1:
                best = min(best, self._mended(row, here, left & ~(1 << i), mending))
        return best

    def _mended(self, row: int, here: int, left: int, mending: Mending) -> float:
        before, here = self._before(here, mending)
        found = float(mending.found[row])
        way, there = self.problem.access.move(here, mending.depth)
        if not found:
            return before + self._row(row, here, left & self._useful[row])
        total = before + found * (way + mending.hours)
        for then in np.flatnonzero(mending.moves[row]).tolist():
            chance = found * float(mending.moves[row, then])
            total += chance * self._row(then, there, left & self._useful[then])
        if found < 1.0:
            total += (1.0 - found) * self._row(row, here, left & self._useful[row])
        return total
