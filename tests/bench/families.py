"""Synthetic families A and B: one fault of eight, half of them behind an access, noisy tests.

Every look at a cause is perfect, what is found is put right for nothing, the access is paid once
and never closed, and handing over costs the access and 1.2 times all looks. As planning problems
they are to be solved with `coupled=True`: a cause that nobody looked at can't be mended, else one
would mend everything for nothing. `least_hours` is a second way to the optimum, without numpy and
without the planner.

Run as a program it prints how long both take, and how far apart they are.

References
----------
The generators: engine notes 3.
"""

import sys
import time
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from itertools import product

import numpy as np

from diagnose.access import Access
from diagnose.planning.exact import solve
from diagnose.planning.problem import Problem, State
from tests.diagnose.planning.examples import one_fault

CAUSES, TESTS, BEHIND = 8, 5, 4


@dataclass(frozen=True)
class Family:
    """Ranges that an instance is drawn from.

    Attributes
    ----------
    access, price, high, low : tuple of float
        Access in mean looks; hours of a test; chance of its "yes" where a cause raises it, and
        where it does not.
    raises : float
        Chance that a cause raises a test.
    inside : int
        Number of the last tests that need the access.
    """

    access: tuple[float, float]
    price: tuple[float, float]
    high: tuple[float, float]
    low: tuple[float, float]
    raises: float
    inside: int


FAMILIES: Mapping[str, Family] = {
    "A": Family((5.0, 15.0), (0.5, 3.0), (0.7, 0.97), (0.02, 0.3), 0.4, 1),
    "B": Family((15.0, 40.0), (0.3, 1.5), (0.85, 0.98), (0.02, 0.12), 0.45, 0),
}


@dataclass(frozen=True)
class Instance:
    """One drawn instance, in plain numbers.

    Attributes
    ----------
    chances, looks : tuple of float
        Of each cause; hours of its look.
    behind : tuple of bool
        Whether the look needs the access.
    access, service : float
    prices : tuple of float
        Hours of each test.
    inside : tuple of bool
        Whether the test needs the access.
    yes : tuple of tuple of float
        Chance of "yes" of each test given each cause; the last of a row is that of a vehicle that
        is well.
    """

    chances: tuple[float, ...]
    looks: tuple[float, ...]
    behind: tuple[bool, ...]
    access: float
    service: float
    prices: tuple[float, ...]
    inside: tuple[bool, ...]
    yes: tuple[tuple[float, ...], ...]

    def as_problem(self) -> tuple[Problem, State]:
        """Give it as a planning problem, to be solved with looking and mending as one act."""
        return one_fault(
            self.chances,
            self.looks,
            [0.0] * CAUSES,
            depths=[int(b) for b in self.behind],
            access=Access(("outside", "inside"), (0.0, self.access), (0.0, 0.0), (False, False)),
            service=self.service,
            others=[
                (f"test {i + 1}", int(inside), price, np.array(yes))
                for i, (inside, price, yes) in enumerate(
                    zip(self.inside, self.prices, self.yes, strict=True)
                )
            ],
        )


def drawn(name: str, seed: int) -> Instance:
    """Draw an instance of family "A" or "B"; the same seed gives the same one."""
    family = FAMILIES[name]
    rng = np.random.default_rng([seed, ord(name)])
    chances = rng.dirichlet(np.ones(CAUSES))
    looks = rng.uniform(1.0, 4.0, CAUSES)
    behind = np.isin(np.arange(CAUSES), rng.choice(CAUSES, BEHIND, replace=False))
    access = rng.uniform(*family.access) * looks.mean()
    high = rng.random((TESTS, CAUSES)) < family.raises
    yes = np.where(
        high, rng.uniform(*family.high, (TESTS, CAUSES)), rng.uniform(*family.low, (TESTS, CAUSES))
    )
    well = rng.uniform(*family.low, (TESTS, 1))
    prices = rng.uniform(*family.price, TESTS)
    return Instance(
        chances=tuple(chances.tolist()),
        looks=tuple(looks.tolist()),
        behind=tuple(behind.tolist()),
        access=float(access),
        service=float(access + 1.2 * looks.sum()),
        prices=tuple(prices.tolist()),
        inside=tuple(i >= TESTS - family.inside for i in range(TESTS)),
        yes=tuple(tuple(row) for row in np.hstack([yes, well]).tolist()),
    )


def least_hours(instance: Instance) -> tuple[float, int]:
    """Least expected hours by trying everything, and the number of states that took."""

    way = instance.access
    left = {answers: _weights(instance, answers) for answers in product(range(3), repeat=TESTS)}

    @cache
    def best(out: int, answers: tuple[int, ...], is_open: bool) -> float:
        """Hours times the chance of getting here: `out` are the causes ruled out by a look."""
        total = sum(w for i, w in enumerate(left[answers]) if not out >> i & 1)
        hours = total * instance.service
        for i in range(CAUSES):
            if not out >> i & 1:
                opens = instance.behind[i] and not is_open
                look = total * (instance.looks[i] + way * opens)
                hours = min(hours, look + best(out | 1 << i, answers, is_open or opens))
        for t in range(TESTS):
            if answers[t] == 0:
                opens = instance.inside[t] and not is_open
                hours = min(
                    hours,
                    total * (instance.prices[t] + way * opens)
                    + best(out, (*answers[:t], 1, *answers[t + 1 :]), is_open or opens)
                    + best(out, (*answers[:t], 2, *answers[t + 1 :]), is_open or opens),
                )
        return hours

    return best(0, (0,) * TESTS, False), best.cache_info().currsize


def _weights(instance: Instance, answers: tuple[int, ...]) -> list[float]:
    """Chance of each cause together with answers: 0 not asked, 1 yes, 2 no."""
    weights = list(instance.chances)
    for row, answer in zip(instance.yes, answers, strict=True):
        if answer:
            chances = [yes if answer == 1 else 1.0 - yes for yes in row[:CAUSES]]
            weights = [w * c for w, c in zip(weights, chances, strict=True)]
    return weights


def main(count: int) -> None:
    """Print the mean time of both ways and the greatest difference, for each family."""
    for name in FAMILIES:
        both = [_timed(drawn(name, seed)) for seed in range(count)]
        ours, plain, apart, states, tried = (np.array(column) for column in zip(*both, strict=True))
        print(
            f"{name}: {count} instances, ours {ours.mean():.3f} s (most {ours.max():.3f}), "
            f"{states.mean():.0f} states; plain {plain.mean():.3f} s, {tried.mean():.0f} states; "
            f"apart by {apart.max():.1e} at most"
        )


def _timed(instance: Instance) -> tuple[float, float, float, int, int]:
    problem, state = instance.as_problem()
    start = time.perf_counter()
    solution = solve(problem, state, coupled=True)
    middle = time.perf_counter()
    expected, tried = least_hours(instance)
    end = time.perf_counter()
    apart = abs(solution.expected - expected) / expected
    return middle - start, end - middle, apart, solution.states, tried


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10)
