"""Hypothesis strategies: networks with groups, evidence, plans with levels, planning problems."""

from itertools import combinations
from math import inf
from typing import NamedTuple

import numpy as np
from hypothesis import strategies as st

from diagnose.access import Access
from diagnose.network import Group, Network
from diagnose.planning.problem import Problem, Repair, State, Test
from tests.diagnose.oracles.orders import Item
from tests.diagnose.planning.examples import rows_without

# Sure and impossible links are allowed: the engine must not divide by 1 - q.
chances = st.one_of(st.floats(0.01, 0.99), st.sampled_from([0.0, 1.0]), st.floats(1e-6, 1e-3))
inner_chances = st.floats(0.001, 0.999)
soft_ratios = st.sampled_from([5.0, 0.2, 4.0, 0.01, 200.0])
ratios = st.one_of(st.sampled_from([inf, 0.0]), soft_ratios)


class Drawn(NamedTuple):
    """A network and answers about some of its findings."""

    prior: np.ndarray
    q: np.ndarray
    leak: np.ndarray
    ratios: dict[int, float]


@st.composite
def networks(
    draw, *, causes=(1, 6), findings=(1, 5), links=chances, leaks=inner_chances, answers=ratios
):
    """A network with answers; with leaks or links of 0 or 1 they may contradict each other."""
    c = draw(st.integers(*causes))
    f = draw(st.integers(*findings))
    prior = draw(_array(inner_chances, c))
    q = draw(_array(links, c * f)).reshape(c, f)
    leak = draw(_array(leaks, f))
    told = draw(st.dictionaries(st.integers(0, f - 1), answers, max_size=f))
    return Drawn(prior, q, leak, told)


@st.composite
def groups_for(draw, net):
    """Up to two groups of causes that act together in the network, with nothing in common."""
    order = draw(st.permutations(range(len(net.prior))))
    sizes = draw(st.sampled_from([(2,), (3,), (2, 2), (3, 2)]))
    made = []
    for size in sizes:
        members, order = tuple(sorted(order[:size])), order[size:]
        if len(members) == size:
            subsets = [
                frozenset(members[i] for i in range(size) if number >> i & 1)
                for number in range(1 << size)
            ]
            together = {s: draw(_array(chances, len(net.leak))) for s in subsets if len(s) > 1}
            made.append(Group(members, together))
    return tuple(made)


def modes_of(net, groups):
    """The modes of a network with such groups."""
    causes = tuple(f"c{i}" for i in range(len(net.prior)))
    findings = tuple(f"f{i}" for i in range(len(net.leak)))
    network = Network(None, {}, causes, findings, net.prior, net.q, net.leak, groups)
    return network.modes(net.prior)


@st.composite
def plans(draw, *, levels=(1, 3), items=(1, 5), drivable=False):
    """Items to look at, and levels to be opened; (items, access)."""
    depth = draw(st.integers(*levels))
    down = (0.0, *(draw(st.floats(0.0, 10.0)) for _ in range(depth - 1)))
    up = (0.0, *(draw(st.floats(0.0, 10.0)) for _ in range(depth - 1)))
    n = draw(st.integers(*items))
    share = draw(st.lists(st.floats(0.01, 1.0), min_size=n, max_size=n))
    left = draw(st.floats(0.0, 0.5))
    scale = (1.0 - left) / sum(share)
    listed = [
        Item(
            f"i{i}",
            p * scale,
            draw(st.floats(0.05, 5.0)),
            level := draw(st.integers(0, depth - 1)),
            draw(st.floats(0.0, 5.0)),
            level,
        )
        for i, p in enumerate(share)
    ]
    names = tuple(f"level{i}" for i in range(depth))
    whole = tuple(drivable and i == 0 for i in range(depth))
    return listed, Access(names, down, up, whole)


GARAGE = Access(("seat", "under", "out"), (0.0, 0.3, 2.0), (0.0, 0.2, 1.5), (True, True, False))


@st.composite
def problems(draw, *, causes=3, perfect=False, well=True):
    """A planning problem and where it stands: up to two of some causes, three levels.

    All causes but the last can be looked at and may be missed; tests overlap; repairs may fail or
    cure another cause as well, unless `perfect`. The last row is the vehicle that is well.
    """
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    sets = [*combinations(range(causes), 1), *combinations(range(causes), 2), ()]
    needs = np.array([[c in s for c in range(causes)] for s in sets])
    weights = rng.dirichlet(np.ones(len(sets)))
    if not (well and draw(st.booleans())):
        weights[-1] = 0.0
    sees = np.ones(causes) if perfect else rng.uniform(0.6, 1.0, causes)
    looks = [
        Test(
            ("check", f"look {c}"),
            int(rng.integers(3)),
            float(rng.uniform(0.1, 1.0)),
            np.stack([needs[:, c] * sees[c], 1.0 - needs[:, c] * sees[c]]),
            frozenset({f"look {c}"}),
        )
        for c in range(causes - 1)
    ]
    others = [
        Test(
            ("check", f"test {t}"),
            int(rng.integers(2)),
            float(rng.uniform(0.05, 0.4)),
            rng.dirichlet(np.full(2 + t, 0.4), size=len(sets)).T.copy(),
            frozenset({"both"} if t == 0 else {"both", "more"}),
        )
        for t in range(2)
    ]
    cures = np.eye(causes)
    if not perfect:
        cures[0, 0], cures[1, -1] = 0.8, 0.5
    repairs = tuple(
        Repair(("repair", f"{c}"), int(rng.integers(3)), float(rng.uniform(0.3, 2.0)), cures[c])
        for c in range(causes)
    )
    hand_over = np.append(rng.uniform(4.0, 12.0, len(sets) - 1), 0.3)
    problem = Problem(
        access=GARAGE,
        needs=needs,
        tests=(*looks, *others),
        repairs=repairs,
        proofs=np.array([*range(causes - 1), -1]),
        sees=sees,
        mends=np.arange(causes),
        drive=0.3,
        hand_over=hand_over,
        rest=rows_without(needs),
    )
    here = draw(st.integers(0, 2))
    every_test, every_repair = np.ones(len(looks) + 2, bool), np.ones(causes, bool)
    return problem, State(weights / weights.sum(), here, every_test, every_repair)


def _array(elements, n):
    return st.lists(elements, min_size=n, max_size=n).map(np.array)
