"""First zero of a function along a path, for many functions at once.

References
----------
Chandrupatla, T. R. (1997), A new hybrid quadratic/bisection algorithm for finding the zero of a
nonlinear function without using derivatives, Advances in Engineering Software 28(3).
"""

from collections.abc import Callable

import numpy as np

from diagnose.physics.domain import Floats

_TOLERANCE = 1e-12
_MAX_ROUNDS = 100


def first_zero(function: Callable[[Floats], Floats], points: Floats) -> Floats:
    """Give the first place along a walk at which a function reaches zero from below.

    The sign is looked at point by point, so that of several zeros the first is taken; the step in
    which it turns is then narrowed down.

    Parameters
    ----------
    function : callable
        Takes places of shape (..., B) and gives values of that shape; continuous in each column.
    points : ndarray, shape (n, B)
        The walk, not falling in any column; at least 2 points, close enough that the function
        does not turn twice between two of them.

    Returns
    -------
    ndarray, shape (B,)
        The first point where the function is at zero or above from the start, the last one where
        it never gets there.
    """
    values = function(points)
    reached = values >= 0.0
    last = len(points) - 1
    index = np.where(reached.any(axis=0), reached.argmax(axis=0), last)
    column = np.arange(points.shape[1])
    end = points[index, column]
    inner = reached[index, column] & (index > 0)
    if not inner.any():
        return end
    before = np.maximum(index - 1, 0)
    start = np.where(inner, points[before, column], end)
    found = _narrow(function, start, end, values[before, column], values[index, column])
    return np.where(inner, found, end)


def _narrow(
    function: Callable[[Floats], Floats], a: Floats, b: Floats, fa: Floats, fb: Floats
) -> Floats:
    """Chandrupatla's method; columns whose ends coincide stay as they are."""
    x1, x2, f1, f2 = a, b, fa, fb
    t = np.full_like(a, 0.5)
    with np.errstate(divide="ignore", invalid="ignore"):
        for _ in range(_MAX_ROUNDS):
            x = x1 + t * (x2 - x1)
            f = function(x)
            same = np.signbit(f) == np.signbit(f1)
            x3, f3 = np.where(same, x1, x2), np.where(same, f1, f2)
            x2, f2 = np.where(same, x2, x1), np.where(same, f2, f1)
            x1, f1 = x, f
            width = np.abs(x2 - x1)
            if np.all((width <= 2.0 * _TOLERANCE) | (f1 == 0.0)):
                break
            xi, phi = (x1 - x2) / (x3 - x2), (f1 - f2) / (f3 - f2)
            fits = (phi * phi < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
            bent = (x3 - x1) / (x2 - x1) * f1 / (f3 - f1) * f2 / (f2 - f3)
            t = np.where(fits, f1 / (f1 - f2) * f3 / (f3 - f2) - bent, 0.5)
            edge = np.minimum(_TOLERANCE / width, 0.5)
            # A column that has converged keeps its point; NaN can only come from one.
            t = np.where((f1 == 0.0) | ~np.isfinite(t), 0.0, np.clip(t, edge, 1.0 - edge))
    return np.where(np.abs(f1) <= np.abs(f2), x1, x2)
