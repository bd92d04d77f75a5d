"""Whether the stated chances are true, over comebacks drawn from the base itself.

    python tests/bench/bench_calibration.py              5000 comebacks for each part
    python tests/bench/bench_calibration.py --cases 800  fewer; the figures then scatter more

Parts: `told`, where the driver tells one to three of the complaints that are there, as drivers do;
`asked`, where he is asked about ten that were picked beforehand, and says yes or no to each;
`words`, where he is asked too, and every strength, rate and leak of the base that diagnoses is off
by a factor of its own, while the comebacks come from the base as it is: half as many. Then 4 to 12
checks at random, and in every second comeback one to five gauges. A table first, then the same as
JSON.

References
----------
Expected calibration error over ten bins, and the goals: engine notes, section 11. Ranks and
coverage: Cook, Gelman and Rubin (2006), Validation of software for Bayesian models.
"""

import argparse
import json
import multiprocessing
import os
import sys
from collections.abc import Iterator
from functools import lru_cache
from math import sqrt
from pathlib import Path
from typing import NamedTuple

os.environ["OMP_NUM_THREADS"] = "1"  # before numpy is imported
sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np

from knowledge.load import load_base
from tests.bench.drawn_cases import KINDS, Fallen, Judged, fallen, jittered, judged

SEED = 20
PARTS = ("told", "asked", "words")
WORDS = 4  # draws of wrong words
LEAST = 1e-6  # a chance of nothing would make the log score infinite
BINS = 10
KS_1_PERCENT = 1.63  # a uniform sample is farther off in one of a hundred


class Row(NamedTuple):
    """One measured figure; `goal` is the least and the most it should be."""

    part: str
    what: str
    value: float
    unit: str = ""
    goal: tuple[float | None, float | None] | None = None
    note: str = ""


# -- the work, set-up by set-up


class Task(NamedTuple):
    part: str
    setup: str
    seed: int
    cases: int


@lru_cache(maxsize=1)
def shipped():
    return load_base()


@lru_cache(maxsize=len(KINDS))
def wrong(kind, seed):
    return jittered(shipped(), kind, [SEED, seed])


def done(task: Task) -> list:
    base = shipped()
    setup = base.setups[task.setup]
    stream = [SEED, PARTS.index(task.part), list(base.setups).index(task.setup), task.seed]
    rng = np.random.default_rng(stream)
    if task.part == "words":
        others = [wrong(kind, task.seed) for kind in KINDS]
        return [fallen(base, others, setup, rng, i) for i in range(task.cases)]
    return [judged(base, setup, rng, i, task.part) for i in range(task.cases)]


# -- figures


def ece(p, true) -> float:
    """Expected calibration error over equal bins."""
    return sum(n / len(p) * abs(said - share) for _, n, said, share in bins(p, true))


def bins(p, true) -> Iterator[tuple[int, int, float, float]]:
    which = np.minimum((p * BINS).astype(int), BINS - 1)
    for i in range(BINS):
        mine = which == i
        if mine.any():
            yield i, int(mine.sum()), float(p[mine].mean()), float(true[mine].mean())


def by_chance(p, rng) -> float:
    """What the error would be, by scatter alone, if every chance were true."""
    return float(np.mean([ece(p, rng.random(len(p)) < p) for _ in range(20)]))


def best(cases, way) -> tuple[np.ndarray, np.ndarray]:
    """Chance of each comeback's top cause by one way, and whether it is there."""
    tops = [(getattr(c, way), c.true) for c in cases]
    return np.array([p.max() for p, _ in tops]), np.array([true[p.argmax()] for p, true in tops])


def score(cases, way) -> float:
    """Mean over cases of the log of the chances given to what is and what is not, in nats."""
    total = 0.0
    for case in cases:
        p = np.clip(getattr(case, way), LEAST, 1.0 - LEAST)
        total += float(np.log(np.where(case.true, p, 1.0 - p)).sum())
    return total / len(cases)


def from_uniform(values) -> float:
    """Kolmogorov's distance from the uniform law, times the root of the number."""
    x, n = np.sort(values), len(values)
    steps = np.arange(n + 1) / n
    return sqrt(n) * float(max((steps[1:] - x).max(), (x - steps[:-1]).max()))


# -- rows


def calibrated(part, cases: list[Judged]) -> Iterator[Row]:
    every = np.concatenate([c.p for c in cases]), np.concatenate([c.true for c in cases])
    yield from errors(part, cases, every)
    for what, (p, true) in (("top cause", best(cases, "p")), ("all causes", every)):
        for i, n, said, share in bins(p, true):
            name = f"  {what}, said {i / BINS:.1f} to {(i + 1) / BINS:.1f}: true"
            yield Row(part, name, share, note=f"{n} chances of {said:.3f} on average")
    for what, way in (("", "p"), (" by the complaints alone", "early"), (", naive Bayes", "naive")):
        said, there = best(cases, way)
        yield Row(part, f"top-1{what}", there.mean(), note=f"stated {said.mean():.3f} on average")
    three = [c.true[np.argsort(-c.p)[:3]].any() for c in cases]
    yield Row(part, "top-3", float(np.mean(three)))
    before, naive = score(cases, "before"), score(cases, "naive")
    yield Row(part, "log score", score(cases, "p"), "nat", (max(before, naive), None))
    yield Row(part, "log score, rates alone", before, "nat")
    yield Row(part, "log score, naive Bayes", naive, "nat")
    ranks = from_uniform([c.rank for c in cases])
    what = "rank of the true set of causes: distance from uniform"
    yield Row(part, what, ranks, "", (None, KS_1_PERCENT))
    yield from covered(part, cases)
    softened, by_bands = sum(c.softened for c in cases), sum(c.by_bands for c in cases)
    yield Row(part, "cases with answers that contradict each other", softened, "", (None, 0.0))
    yield Row(part, "cases with readings by their bands only", by_bands)


def errors(part, cases, every) -> Iterator[Row]:
    """Calibration errors, over several choices of chances."""
    rng = np.random.default_rng(SEED)
    top, early = best(cases, "p"), best(cases, "early")
    some = every[0] > 0.02
    measured = np.array([c.measured for c in cases])
    for what, p, true in (
        ("all causes", *every),
        ("chances above 0.02", every[0][some], every[1][some]),
        ("top cause", *top),
        ("top cause, no readings", top[0][~measured], top[1][~measured]),
        ("top cause, readings", top[0][measured], top[1][measured]),
        ("top cause by the complaints alone", *early),
    ):
        note = f"by scatter alone {by_chance(p, rng):.4f}; {len(p)} chances"
        yield Row(part, f"calibration error, {what}", ece(p, true), "", (None, 0.03), note)


def covered(part, cases: list[Judged]) -> Iterator[Row]:
    """Share of readings inside the bands that hold nine of ten."""
    kinds = {kind for c in cases for kind, _ in c.shown}
    told = {k: [p for c in cases for kind, p in c.shown if kind == k] for k in sorted(kinds)}
    places = {f"by the true causes, {kind}": places for kind, places in told.items()}
    places["foreseen from the answers before"] = [c.foreseen for c in cases if c.measured]
    for what, mine in places.items():
        at = np.array([place for place in mine if place is not None])
        inside = float(((at >= 0.05) & (at <= 0.95)).mean())
        note = f"{len(at)} readings; distance from uniform {from_uniform(at):.2f}"
        yield Row(part, f"90 % bands {what}", inside, "", (0.87, 0.93), note)


def shaken(draws: list[list[Fallen]]) -> Iterator[Row]:
    """How far wrong words bring the top cause down, over some draws of them."""
    for i, said in enumerate(KINDS.values(), 1):
        for what, pick in (("", "hits"), (", by the right chances", "chances")):
            means = [np.mean([getattr(c, pick) for c in cases], axis=0) for cases in draws]
            falls = [100.0 * float(mean[0] - mean[i]) for mean in means]
            note = f"{len(falls)} draws of words: {min(falls):.2f} to {max(falls):.2f}"
            name = f"odds {said}: top-1 falls{what}"
            yield Row("words", name, float(np.mean(falls)), "pt", (None, 3.0), note)


def shown_as(row: Row) -> str:
    value = f"{row.value:.3g}" if abs(row.value) < 100 else f"{row.value:.0f}"
    goal = ""
    if row.goal is not None:
        least, most = row.goal
        met = (least is None or row.value >= least) and (most is None or row.value <= most)
        ends = [
            f"{sign} {end:.3g}" for sign, end in ((">=", least), ("<=", most)) if end is not None
        ]
        goal = f"{'met' if met else 'MISSED'} {' '.join(ends)}"
    return f"{row.what:58} {value:>9} {row.unit:3} {goal:22} {row.note}"


def main() -> int:
    options = argparse.ArgumentParser(description="Whether the stated chances are true.")
    options.add_argument("--cases", type=int, default=5000, help="comebacks for each part")
    options.add_argument("--parts", nargs="*", default=PARTS, choices=PARTS)
    given = options.parse_args()
    setups = list(shipped().setups)
    share = max(1, given.cases // len(setups))
    tasks = [
        Task(part, setup, seed, max(1, share // (2 * WORDS)) if part == "words" else share)
        for part in given.parts
        for seed in range(WORDS if part == "words" else 1)
        for setup in setups
    ]
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        results = list(zip(tasks, pool.map(done, tasks, chunksize=1), strict=True))
    rows: list[Row] = []
    for part in given.parts:
        draws: dict[int, list] = {}
        for task, found in results:
            if task.part == part:
                draws.setdefault(task.seed, []).extend(found)
        rows += shaken(list(draws.values())) if part == "words" else calibrated(part, draws[0])
    for part in given.parts:
        print(f"-- {part}")
        for row in rows:
            if row.part == part:
                print(shown_as(row))
    print(json.dumps([row._asdict() for row in rows]))
    return 0


if __name__ == "__main__":
    sys.exit(main())
