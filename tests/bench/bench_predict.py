"""How long the release model takes to predict readings, and to weigh sets of faults by them.

    python tests/bench/bench_predict.py

Sets of one to three faults on each shipped set-up, as between kits; medians of warm runs on one
core. What is meant to be met stands beside the figure.
"""

import os
import statistics
import sys
import time
from itertools import combinations
from math import inf
from pathlib import Path

os.environ["OMP_NUM_THREADS"] = "1"  # before numpy is imported
sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np

from diagnose.physics.figures import FIGURE_KINDS
from diagnose.physics.likelihood import Reading, log_likelihoods, value_read
from diagnose.physics.observables import observables_of
from diagnose.physics.predict import Shift, predict_many
from diagnose.physics.presets import PRESETS, between_kits

SETS = 1000
NAMES = (
    "fork_free_travel",
    "engagement_height",
    "fork_tip_travel",
    "finger_height",
    "pedal_free_play",
    "pedal_effort",
)
UNCERTAINTY = (1.5, 8.0, 1.0, 0.5, 1.5, 15.0)
PLAUSIBLE = (-100.0, 1500.0)
FAULTS = (
    Shift("air", 3000.0, 1000.0),
    Shift("fluid_lost", 2000.0, 800.0),
    Shift("master_bore", -3.0, 0.5),
    Shift("tip_play", 4.0, 2.0),
    Shift("pedal_play", 20.0, 8.0),
    Shift("pivot_height", 6.35, 0.3),
    Shift("bearing_height", 5.0, 1.5),
    Shift("finger_offset", 3.0, 1.0),
    Shift("stack_excess", -0.8, 0.4),
    Shift("extra_lift", 1.0, 0.4),
    Shift("load_factor", -0.3, 0.1),
    Shift("hose_swell", 1.5, 0.7),
    Shift("back_stop", 8.0, 3.0),
    Shift("fork_offset", 4.0, 1.5),
    Shift("finger_spread", 3.0, 1.0),
    Shift("tip_flex", 0.002, 0.001),
    Shift("running_gap", 1.5, 0.5),
    Shift("cushion", -0.3, 0.1),
    Shift("bearing_drag", 300.0, 100.0),
)


def median_ms(act, times=9):
    act()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        act()
        taken.append(time.perf_counter() - start)
    return 1e3 * statistics.median(taken)


def sets_of_faults():
    """No fault, each fault, and as many of two and three as make up the number."""
    every = [c for k in range(4) for c in combinations(FAULTS, k)]
    few = 1 + len(FAULTS)
    chosen = np.random.default_rng(3).choice(np.arange(few, len(every)), SETS - few, replace=False)
    return every[:few] + [every[i] for i in chosen]


def report(what, value, unit, goal=None):
    beside = "" if goal is None else f"   (goal {goal:g})"
    print(f"{what:<62}{value:>10.3g} {unit}{beside}", flush=True)


def predicting(cases):
    for name, system in PRESETS.items():
        told = [n for n in NAMES if n in observables_of(system)]
        for kind, figures in (
            ("one kit", system),
            ("between kits", between_kits(system, FIGURE_KINDS)),
        ):
            spent = median_ms(lambda f=figures, t=told: predict_many(f, t, cases))
            goal = 0.06 if name == "twin_external" else None
            report(f"{name}, {kind}: {len(told)} readings", spent / SETS, "ms per set", goal)
    twin = PRESETS["twin_external"]
    spent = median_ms(lambda: predict_many(twin, NAMES[::3], cases))
    report("twin_external: free travel and finger height alone", spent / SETS, "ms per set")
    spent = median_ms(lambda: predict_many(twin, NAMES, cases[5:6]))
    report("twin_external: one set by itself", spent, "ms")


def weighing(cases):
    predictions = predict_many(between_kits(PRESETS["twin_external"], FIGURE_KINDS), NAMES, cases)
    typed = predictions.mean[3] + 0.5 * np.sqrt(np.diagonal(predictions.covariance[3]))
    for intervals in range(5):
        readings = [
            Reading(name, -inf, float(value), u, PLAUSIBLE)
            if i < intervals
            else value_read(name, float(value), u, PLAUSIBLE)
            for i, (name, value, u) in enumerate(zip(NAMES, typed, UNCERTAINTY, strict=True))
        ]
        for share in (0.0, 0.01):
            spent = median_ms(
                lambda r=readings, s=share: log_likelihoods(predictions, r, mistyped=s), times=5
            )
            slips = "up to two mistyped" if share else "none mistyped"
            what = f"{SETS} sets by 6 readings, {intervals} of them one-sided, {slips}"
            report(what, spent, "ms", 2.0 if share and not intervals else None)


def main():
    cases = sets_of_faults()
    predicting(cases)
    weighing(cases)


if __name__ == "__main__":
    main()
