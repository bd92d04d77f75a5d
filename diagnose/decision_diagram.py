"""Decision diagrams for monotone Boolean functions and families of sets.

A node is a triple (variable, low, high) behind an integer id, and may be read in two ways [1]_:

- as a function, "high if the variable holds, else low": a reduced ordered binary decision
  diagram, on which a probability is one pass of sums of non-negative terms;
- as a family of sets, "those of low, and those of high with the variable added": a
  zero-suppressed diagram, which holds the minimal cut sets and counts them without listing.

Children are made before their parents and so have smaller ids: every pass is a plain loop over
ascending ids.

References
----------
.. [1] R. E. Bryant, "Graph-based algorithms for Boolean function manipulation", IEEE
   Transactions on Computers C-35, 1986, 677-691.
.. [2] A. Rauzy, "New algorithms for fault trees analysis", Reliability Engineering & System
   Safety 40, 1993, 203-211 (minimal sets).
"""

from collections.abc import Callable, Sequence
from typing import Final, TypeVar

FALSE: Final = 0
"""The function that is never true; the family without a set."""
TRUE: Final = 1
"""The function that is always true; the family of the empty set alone."""

_T = TypeVar("_T")


class Diagram:
    """Decision diagrams over variables 0 to n - 1 that share their nodes.

    Parameters
    ----------
    variables : int
        n; operations recurse as deep, so it must stay clear of the interpreter's frame limit.
    max_nodes : int
        Most nodes to make.
    too_large : Exception
        What to raise when more are needed.
    """

    def __init__(self, variables: int, max_nodes: int, too_large: Exception) -> None:
        self._max_nodes = max_nodes
        self._too_large = too_large
        leaf = (variables, -1, -1)  # a leaf comes below every variable
        self._nodes: list[tuple[int, int, int]] = [leaf, leaf]
        self._ids: dict[tuple[int, int, int], int] = {}
        self._combined: dict[tuple[int, int, int], int] = {}
        self._differences: dict[tuple[int, int], int] = {}

    def _node(self, variable: int, low: int, high: int) -> int:
        key = (variable, low, high)
        if key not in self._ids:
            if len(self._nodes) >= self._max_nodes:
                raise self._too_large
            self._ids[key] = len(self._nodes)
            self._nodes.append(key)
        return self._ids[key]

    def function(self, variable: int, low: int, high: int) -> int:
        """Make the function "`high` if the variable holds, else `low`"."""
        return low if low == high else self._node(variable, low, high)

    def family(self, variable: int, low: int, high: int) -> int:
        """Make the family "the sets of `low`, and those of `high` with the variable added"."""
        return low if high == FALSE else self._node(variable, low, high)

    def _split(self, node: int, variable: int) -> tuple[int, int]:
        own, low, high = self._nodes[node]
        return (low, high) if own == variable else (node, node)

    def _combine(self, f: int, g: int, absorbing: int) -> int:
        """OR of two functions (`absorbing` is TRUE) or their AND (FALSE)."""
        neutral = 1 - absorbing
        if f in (g, absorbing) or g == neutral:
            return f
        if f == neutral or g == absorbing:
            return g
        key = (min(f, g), max(f, g), absorbing)
        if key not in self._combined:
            variable = min(self._nodes[f][0], self._nodes[g][0])
            f_low, f_high = self._split(f, variable)
            g_low, g_high = self._split(g, variable)
            self._combined[key] = self.function(
                variable,
                self._combine(f_low, g_low, absorbing),
                self._combine(f_high, g_high, absorbing),
            )
        return self._combined[key]

    def either(self, f: int, g: int) -> int:
        """Combine two functions: f OR g."""
        return self._combine(f, g, TRUE)

    def both(self, f: int, g: int) -> int:
        """Combine two functions: f AND g."""
        return self._combine(f, g, FALSE)

    def at_least(self, k: int, inputs: Sequence[int]) -> int:
        """Combine functions: at least `k` of them hold (OR is k = 1, AND is k = n)."""
        counted = [TRUE] + [FALSE] * k  # counted[j]: at least j of the inputs seen so far
        # The last inputs hold the lowest variables, so each step works at the diagram's top.
        for seen, f in enumerate(reversed(inputs), start=1):
            still_useful = max(1, k - (len(inputs) - seen))
            for j in range(min(k, seen), still_useful - 1, -1):
                counted[j] = self.either(counted[j], self.both(f, counted[j - 1]))
        return counted[k]

    def _difference(self, a: int, b: int) -> int:
        """Take the sets of family `b` out of family `a`."""
        if a in (b, FALSE) or b == FALSE:
            return FALSE if a == b else a
        key = (a, b)
        if key not in self._differences:
            variable, a_low, a_high = self._nodes[a]
            b_variable, b_low, b_high = self._nodes[b]
            if variable > b_variable:
                rest = self._difference(a, b_low)
            elif variable < b_variable:
                rest = self.family(variable, self._difference(a_low, b), a_high)
            else:
                low, high = self._difference(a_low, b_low), self._difference(a_high, b_high)
                rest = self.family(variable, low, high)
            self._differences[key] = rest
        return self._differences[key]

    def fold(self, root: int, leaves: tuple[_T, _T], step: Callable[[int, _T, _T], _T]) -> _T:
        """Work a value up from the leaves: ``step(variable, value of low, value of high)``."""
        reached, stack = {FALSE, TRUE}, [root]
        while stack:
            node = stack.pop()
            if node not in reached:
                reached.add(node)
                stack.extend(self._nodes[node][1:])
        values = dict(enumerate(leaves))
        for node in sorted(reached - {FALSE, TRUE}):
            variable, low, high = self._nodes[node]
            values[node] = step(variable, values[low], values[high])
        return values[root]

    def probability(self, f: int, q: Sequence[float]) -> float:
        """Chance that `f` is true when variable i holds with chance ``q[i]``, independently."""
        return self.fold(f, (0.0, 1.0), lambda i, low, high: q[i] * high + (1.0 - q[i]) * low)

    def minimal(self, f: int) -> int:
        """Family of the minimal sets of variables that make a monotone function true [2]_.

        What makes `low` true makes `high` true as well. So a minimal set of `high` that contains
        one of `low` is that very set, and taking those out leaves just what needs the variable.
        """
        return self.fold(
            f,
            (FALSE, TRUE),
            lambda i, low, high: self.family(i, low, self._difference(high, low)),
        )

    def union_with(self, family: int, variable: int) -> int:
        """Turn a family into a function: some set of it that has `variable` holds."""

        def step(i: int, low: tuple[int, int], high: tuple[int, int]) -> tuple[int, int]:
            """Pair two functions: any set holds; a set that has `variable` holds."""
            any_set = self.function(i, low[0], self.either(low[0], high[0]))
            if i == variable:
                return any_set, self.function(i, FALSE, high[0])
            return any_set, self.function(i, low[1], self.either(low[1], high[1]))

        return self.fold(family, ((FALSE, FALSE), (TRUE, FALSE)), step)[1]

    def count(self, family: int) -> int:
        """Count the sets of a family without listing them."""
        return self.fold(family, (0, 1), lambda _, low, high: low + high)

    def sets(self, family: int) -> list[tuple[int, ...]]:
        """List the sets of a family, each as ascending variables."""
        found: list[tuple[int, ...]] = []
        stack: list[tuple[int, tuple[int, ...]]] = [(family, ())]
        while stack:
            node, members = stack.pop()
            if node == TRUE:
                found.append(members)
            elif node != FALSE:
                variable, low, high = self._nodes[node]
                stack += [(low, members), (high, (*members, variable))]
        return found
