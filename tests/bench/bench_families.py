"""How far the planner's policies are from the exact optimum, on our synthetic families A and B.

    bench_families.py                 200 instances of each
    bench_families.py --seeds 20      fewer
    bench_families.py --processes 1   on one core

Each policy is followed to the very end from every state it can come to, so its expected hours are
exact, and so is the optimum (`diagnose.planning.exact`). A cause can be mended without a look here,
but mending is dear and paid once whatever is done, so that its price drops out: it is taken off
again before gaps are formed. So what is known because all else was ruled out needs no look, for the
policies and the optimum alike. Prints a Markdown table.

References
----------
The families and the figures to be held against: engine notes 3. The aims: engine notes 11.
"""

import argparse
import multiprocessing
import os
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

os.environ["OMP_NUM_THREADS"] = "1"  # before numpy is imported
os.environ["OPENBLAS_NUM_THREADS"] = "1"
sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np

from diagnose.planning.exact import solve
from diagnose.planning.lookahead import Lookahead, Move
from diagnose.planning.problem import HAND_OVER, Problem, State, after
from tests.bench.families import drawn

MENDING = 1000.0  # dear enough that nobody mends what he has not found


def as_dear(problem: Problem) -> Problem:
    """Give a problem in which mending is dear, once, whatever is done."""
    repairs = tuple(replace(repair, hours=MENDING) for repair in problem.repairs)
    handed = np.where(problem.well, 0.0, problem.hand_over + MENDING)
    return replace(problem, repairs=repairs, hand_over=handed)


def key_of(state: State):
    rounded = np.rint(state.weights * 1e12).astype(np.int64).tobytes()
    return rounded, state.here, state.tests.tobytes(), state.repairs.tobytes(), state.mended


class Followed:
    """Exact expected hours of the myopic policy from any state, each worked out once."""

    def __init__(self, look: Lookahead) -> None:
        self.look = look
        self.known: dict = {}

    def hours(self, states: list[State]) -> list[float]:
        new = {key_of(s): s for s in states if key_of(s) not in self.known}
        if new:
            listed = list(new.values())
            best = [moves[0] for moves in self.look.moves(listed)]
            ways = [
                [] if move.key == HAND_OVER else list(after(self.look.problem, state, move.key))
                for state, move in zip(listed, best, strict=True)
            ]
            onward = [s for way in ways for _, s in way if s is not None]
            found = iter(self.hours(onward) if onward else [])
            for key, move, way in zip(new, best, ways, strict=True):
                rest = sum(p * next(found) for p, s in way if s is not None)
                self.known[key] = (move.hours if way else move.expected) + rest
        return [self.known[key_of(s)] for s in states]


def expected(look: Lookahead, start: State, choose: Callable[[State], Move]) -> float:
    """Exact expected hours of a policy."""
    known: dict = {}

    def walk(state: State) -> float:
        key = key_of(state)
        if key not in known:
            move = choose(state)
            if move.key == HAND_OVER:
                known[key] = move.hours
            else:
                ways = after(look.problem, state, move.key)
                known[key] = move.hours + sum(p * walk(s) for p, s in ways if s is not None)
        return known[key]

    return walk(start)


def myopic(look: Lookahead, state: State) -> Move:
    return look.moves([state])[0][0]


def rollout(look: Lookahead, followed: Followed, state: State) -> Move:
    """Weigh every act by following the myopic policy after it to the very end."""
    moves = look.moves([state])[0]
    ways = [
        [] if move.key == HAND_OVER else list(after(look.problem, state, move.key))
        for move in moves
    ]
    found = iter(followed.hours([s for way in ways for _, s in way if s is not None]))
    total = [
        move.hours + sum(p * next(found) for p, s in way if s is not None)
        for move, way in zip(moves, ways, strict=True)
    ]
    return moves[int(np.argmin(total))]


def order_only(look: Lookahead, state: State) -> Move:
    return look.begun([state])[0]


def gaps(family: str, seed: int) -> dict[str, float]:
    """Relative gap of each policy to the optimum, for one instance, and seconds by policy."""
    instance = drawn(family, seed)
    problem, start = instance.as_problem()
    dear = as_dear(problem)
    best = solve(dear, start)
    if not best.closed:
        raise ArithmeticError(f"the optimum of {family} {seed} was not reached")
    least = best.expected - MENDING
    look = Lookahead(dear)
    followed = Followed(look)
    found = {}
    for name, choose in (
        ("the base policy's order alone", partial(order_only, look)),
        ("one act deep", partial(myopic, look)),
        ("rollout over all acts", partial(rollout, look, followed)),
    ):
        begun = time.perf_counter()
        hours = expected(look, start, choose) - MENDING
        found[name] = hours / least - 1.0
        found[f"seconds: {name}"] = time.perf_counter() - begun
    return found


def _gaps(task: tuple[str, int]) -> tuple[str, dict[str, float]]:
    return task[0], gaps(*task)


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--seeds", type=int, default=200)
    parser.add_argument("--processes", type=int, default=2)
    arguments = parser.parse_args()
    tasks = [(family, seed) for family in "AB" for seed in range(arguments.seeds)]
    found: dict[str, list[dict[str, float]]] = {"A": [], "B": []}
    with multiprocessing.get_context("spawn").Pool(arguments.processes) as pool:
        for family, one in pool.imap_unordered(_gaps, tasks):
            found[family].append(one)
            done = sum(map(len, found.values()))
            if done % 20 == 0:
                print(f"{done} of {len(tasks)}", file=sys.stderr, flush=True)
    print(
        f"| policy, {arguments.seeds} instances each "
        "| A mean / p95 / max % | B mean / p95 / max % |"
    )
    print("|---|---|---|")
    for name in [name for name in found["A"][0] if not name.startswith("seconds")]:
        cells = []
        for family in "AB":
            gap = 100.0 * np.array([one[name] for one in found[family]])
            cells.append(f"{gap.mean():.2f} / {np.percentile(gap, 95):.2f} / {gap.max():.2f}")
        print(f"| {name} | {' | '.join(cells)} |")
    print("| aim for the last | 0.20 / 0.70 / 2.50 | 0.20 / 0.70 / 2.50 |")


if __name__ == "__main__":
    main()
