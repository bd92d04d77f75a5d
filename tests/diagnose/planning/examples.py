"""Published examples as planning problems: T1, T2, T7 and T12 of the engine notes."""

from itertools import product

import numpy as np

from diagnose.access import Access
from diagnose.planning.problem import Problem, Repair, State, Test

FLAT = Access(("here",), (0.0,), (0.0,), (True,))
# Opened once for 40 and never closed; what is outside can be looked at with it open.
HOUSING = Access(("outside", "housing"), (0.0, 40.0), (0.0, 0.0), (False, False))
NO_SERVICE = 1e4


def rows_without(needs):
    """Give the row left of each row once a cause is taken away, shape (S, C), for `needs` (S, C).

    The rows are all different and closed under taking causes away; else it is a KeyError.
    """
    number = {row.tobytes(): s for s, row in enumerate(needs)}
    rest = np.repeat(np.arange(len(needs))[:, None], needs.shape[1], axis=1)
    for s, c in np.argwhere(needs).tolist():
        left = needs[s].copy()
        left[c] = False
        rest[s, c] = number[left.tobytes()]
    return rest


def fresh(problem, weights):
    """Nothing done yet."""
    return State(
        np.asarray(weights, dtype=float),
        0,
        np.ones(len(problem.tests), dtype=bool),
        np.ones(len(problem.repairs), dtype=bool),
    )


def one_fault(
    chances, looks, mends, *, depths=None, access=FLAT, service=NO_SERVICE, others=(), named=None
):
    """One of several causes, each with a perfect look and a sure repair; row C is the vehicle well.

    `others` are further tests as (name, depth, hours, chances of "yes" given each row).
    """
    n = len(chances)
    names = named or [str(i + 1) for i in range(n)]
    depths = depths or [0] * n
    needs = np.vstack([np.eye(n, dtype=bool), np.zeros((1, n), dtype=bool)])
    tests = [
        Test(
            ("check", name),
            depth,
            hours,
            np.stack([needs[:, i], ~needs[:, i]]) * 1.0,
            frozenset({name}),
        )
        for i, (name, depth, hours) in enumerate(zip(names, depths, looks, strict=True))
    ]
    for name, depth, hours, yes in others:
        tests.append(
            Test(("check", name), depth, hours, np.stack([yes, 1.0 - yes]), frozenset({name}))
        )
    repairs = tuple(
        Repair(("repair", name), depth, hours, np.eye(n)[i])
        for i, (name, depth, hours) in enumerate(zip(names, depths, mends, strict=True))
    )
    problem = Problem(
        access=access,
        needs=needs,
        tests=tuple(tests),
        repairs=repairs,
        proofs=np.arange(n),
        sees=np.ones(n),
        mends=np.arange(n),
        drive=0.0,
        hand_over=np.full(n + 1, service),
        rest=rows_without(needs),
    )
    return problem, fresh(problem, [*chances, 0.0])


def t1(service=NO_SERVICE):
    return one_fault([0.5, 0.3, 0.2], [10.0, 3.0, 1.0], [5.0, 8.0, 20.0], service=service)


def t2():
    return one_fault(
        [0.20, 0.10, 0.35, 0.25, 0.10],
        [4.0, 5.0, 6.0, 5.0, 10.0],
        [0.0] * 5,
        depths=[0, 0, 1, 1, 1],
        access=HOUSING,
        named=["A", "B", "X", "Y", "Z"],
    )


def t7(prior, tests):
    """To act for 60, or to leave it and pay 100 for a fault; tests of 80/20 cost nothing."""
    needs = np.array([[True, False], [False, True], [False, False]])
    positive = np.array([0.8, 0.2, 0.2])
    problem = Problem(
        access=FLAT,
        needs=needs,
        tests=tuple(
            Test(
                ("check", f"test {i}"),
                0,
                0.0,
                np.stack([positive, 1 - positive]),
                frozenset({f"{i}"}),
            )
            for i in range(tests)
        ),
        repairs=(Repair(("repair", "act"), 0, 60.0, np.ones(2)),),
        proofs=np.full(2, -1),
        sees=np.zeros(2),
        mends=np.zeros(2, dtype=np.intp),
        drive=0.0,
        hand_over=np.array([100.0, 0.0, 0.0]),
        rest=rows_without(needs),
    )
    return problem, fresh(problem, [prior, 1.0 - prior, 0.0])


# T12: a car that does not start. Chances, prices of a look and of repairs.
T12_CHANCE = {
    "b": 1 - (1 - 0.0296) * (0.999 * 0.998 * 0.999),
    "o": 0.01,
    "t": 0.006,
    "f": 0.004,
    "s": 0.002,
}
T12_LOOK = {"b": 20.0, "o": 50.0, "f": 60.0, "s": 10.0}
FULL = {"b": 120.0, "o": 90.0, "t": 55.0, "f": 150.0, "s": 50.0}
MEAN = {"b": 200.0, "o": 75.0, "t": 50.0, "f": 150.0, "s": 40.0}
SMALL = {"b": 200.0, "o": 75.0, "t": 50.0}
LEAK = 0.001


def car_start(prices, signs=("lights", "lamp", "dipstick"), *, look=True):
    """The car that does not start, with its belief given that, and the chance of that.

    `prices` are those of the causes that can be repaired, `signs` what can be seen, `look` says
    whether causes can be looked at. Rows are the 64 sets of the five causes and the leak, which
    only the service puts right.
    """
    causes = "botfs"
    names = [*causes, "leak"]
    needs = np.array(list(product((False, True), repeat=len(names))))
    chance = np.array([*(T12_CHANCE[c] for c in causes), LEAK])
    weights = np.where(needs, chance, 1.0 - chance).prod(axis=1)
    weights[~needs.any(axis=1)] = 0.0
    b, o = needs[:, names.index("b")], needs[:, names.index("o")]
    ok = {
        "lights": (2.0, np.where(b, 0.0, 0.98)),
        "lamp": (1.0, np.where(b, 0.0, np.where(o, 0.98, 0.001))),
        "dipstick": (7.0, np.where(o, 0.001, 0.999)),
    }
    looked = [c for c in causes if look and c in T12_LOOK and c in prices]
    rows = {c: needs[:, i] * 1.0 for i, c in enumerate(names)}
    told = [(c, T12_LOOK[c], rows[c]) for c in looked] + [(s, *ok[s]) for s in signs]
    tests = tuple(
        Test(("check", name), 0, hours, np.stack([yes, 1.0 - yes]), frozenset({name}))
        for name, hours, yes in told
    )
    fixed = [c for c in causes if c in prices]
    problem = Problem(
        access=FLAT,
        needs=needs,
        tests=tests,
        repairs=tuple(
            Repair(("repair", c), 0, prices[c], (np.array(names) == c) * 1.0) for c in fixed
        ),
        proofs=np.array([looked.index(c) if c in looked else -1 for c in names]),
        sees=np.ones(len(names)),
        mends=np.array([fixed.index(c) if c in fixed else -1 for c in names]),
        drive=0.0,
        hand_over=np.full(len(needs), 500.0),
        rest=rows_without(needs),
    )
    return problem, fresh(problem, weights / weights.sum())
