"""Hypothesis strategies: networks with groups, evidence, and plans with levels of access."""

from math import inf
from typing import NamedTuple

import numpy as np
from hypothesis import strategies as st

from diagnose.access import Access, Item
from diagnose.network import Group, Network

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
            ("repair", f"i{i}"),
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


def _array(elements, n):
    return st.lists(elements, min_size=n, max_size=n).map(np.array)
