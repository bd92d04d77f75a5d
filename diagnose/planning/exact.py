"""The least expected hours to the end over all policies, exact or between two bounds.

The states that acts lead to form a graph: the best of the acts is chosen, the outcomes of each are
averaged. Every state has a lower bound (what it would take if the fault were known) and an upper
bound (what some policy takes). Each round follows the acts that look best by the lower bounds,
opens the states where that ends, and carries the bounds back. Once both meet at the start, no other
policy can be cheaper, although most of them were never looked at. Stopped before, the bounds hold.

References
----------
Best-first search of graphs of acts and outcomes (AO*): Nilsson (1980), Principles of Artificial
Intelligence, chapter 3. Two bounds at every state as in the planners of engine notes 1.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from diagnose.planning.compiled import compiled
from diagnose.planning.expansion import Expansion
from diagnose.planning.problem import Key, Problem, State, after, hours_of
from diagnose.planning.search_graph import Graph

_HARDLY = 1e-14  # chance below which a policy is not followed
_MOST_ACTS = 2000  # of a policy that ends
_AT_ONCE = 512  # states opened in one round
_ASKED_AT_ONCE = 64  # where each is asked for an upper bound, which may take a while

_Mark: TypeAlias = tuple[bytes, int, bytes, bytes, bool]


@dataclass(frozen=True)
class Solution:
    """What the best policy takes.

    Attributes
    ----------
    expected : float
        Hours that some policy takes; no policy takes less where it is closed.
    lower : float
        Hours that no policy undercuts.
    first : tuple of str
        What to do first: the best act where it is closed, else the first act of the policy that
        takes `expected`, where that is not the one of a bound passed in.
    states : int
        Number of states that were opened.
    closed : bool
        Whether the bounds meet.
    """

    expected: float
    lower: float
    first: Key
    states: int
    closed: bool


def solve(
    problem: Problem,
    state: State,
    *,
    most: int = 100_000,
    upper: Callable[[State], float] | None = None,
    coupled: bool = False,
    apart: float = 1e-10,
) -> Solution:
    """Find the least expected hours from a state to the end over all policies.

    Parameters
    ----------
    problem : Problem
    state : State
    most : int
        Number of states after which it stops.
    upper : callable, optional
        Expected hours of some policy from a state. Asked for the states that seem worth opening.
        What no longer matters in them (tests that tell nothing) counts as done.
    coupled : bool
        Whether looking at a cause (`proofs`) and mending it (`mends`) is one act: what is found is
        mended at once, and what can be looked at is not mended before.

    apart : float
        Bounds meet where they are apart by no more than this part of the hours (of an hour, where
        it takes less). Repairs that may be in vain have no end of states: less haste pays there.

    Returns
    -------
    Solution

    Raises
    ------
    ValueError
        If coupled and one answer of a look calls for two repairs.
    """
    expansion = Expansion(compiled(problem, state, coupled=coupled))
    graph = Graph(expansion, expansion.start(state))
    opened = 0
    while True:
        tolerance = apart * max(1.0, graph.upper_at_start)
        edge = graph.worth_opening(_AT_ONCE if upper is None else _ASKED_AT_ONCE, tolerance)
        if upper is not None:
            graph.bound([(number, upper(graph.state(number))) for number in edge.tolist()])
        if not len(edge) or opened >= max(most, 1) or (opened and graph.closed(tolerance)):
            break
        worth = edge[(graph.gap(edge) > tolerance) | (opened == 0)][: max(most, 1) - opened]
        if len(worth):
            graph.open(worth)
        opened += len(worth)
    return Solution(
        expected=graph.upper_at_start,
        lower=graph.lower_at_start,
        first=graph.first(tolerance),
        states=opened,
        closed=graph.closed(tolerance),
    )


def expected_of(
    problem: Problem,
    state: State,
    policy: Callable[[State], Key],
    *,
    hours: Callable[[Problem, State, Key], float] = hours_of,
) -> float:
    """Expected hours of a policy from a state to the end.

    Parameters
    ----------
    problem : Problem
    state : State
    policy : callable
        Asked once for every state that differs. What it does with a chance below 1e-14 is left out.
    hours : callable
        Hours of an act in a state.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        If the policy does not come to an end.
    """
    total = 0.0
    asked: dict[_Mark, Key] = {}
    going = {_mark(state): (1.0, state)}
    for _ in range(_MOST_ACTS):
        onward: dict[_Mark, tuple[float, State]] = {}
        for mark, (mass, now) in going.items():
            if mark not in asked:
                asked[mark] = policy(now)
            total += mass * hours(problem, now, asked[mark])
            for chance, then in after(problem, now, asked[mark]):
                if then is not None and mass * chance > _HARDLY:
                    met, _ = onward.get(_mark(then), (0.0, then))
                    onward[_mark(then)] = (met + mass * chance, then)
        if not onward:
            return total
        going = onward
    raise ValueError(f"the policy goes on after {_MOST_ACTS} acts; let it hand over at some point")


def _mark(state: State) -> _Mark:
    weights = np.rint(state.weights * 1e12).astype(np.int64).tobytes()
    return weights, state.here, state.tests.tobytes(), state.repairs.tobytes(), state.mended
