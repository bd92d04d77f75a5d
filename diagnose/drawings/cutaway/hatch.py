"""Hatching of cut faces: lines at 45 degrees, cut off at the edge of a shape."""

from functools import lru_cache
from math import ceil, floor, sqrt

from diagnose.drawings.cutaway.shapes import Point

Segment = tuple[float, float, float, float]


def hatching(points: tuple[Point, ...], step: float, lean: int) -> tuple[Segment, ...]:
    """Give the lines that hatch a closed shape.

    They are fixed to the shape, so that it takes them along as it moves.

    Parameters
    ----------
    points : tuple of (float, float)
        Its corners; at least three.
    step : float
        Distance of the lines, above 0.
    lean : int
        1: rising to the right; -1: falling.

    Returns
    -------
    tuple of (float, float, float, float)
        The two ends of each line: x, y, x, y.
    """
    x0, y0 = points[0]
    # To a hundredth, so that a shape that has only moved is the same shape.
    shape = tuple([(round(x - x0, 2), round(y - y0, 2)) for x, y in points])
    lines = _hatching(shape, step, lean)
    return tuple([(a + x0, b + y0, c + x0, d + y0) for a, b, c, d in lines])


@lru_cache(maxsize=2048)
def _hatching(points: tuple[Point, ...], step: float, lean: int) -> tuple[Segment, ...]:
    # Along a line lean * x + y stays the same; it crosses an edge where the sum lies between ends.
    sums = [lean * x + y for x, y in points]
    apart = step * sqrt(2.0)
    first, last = ceil(min(sums) / apart), floor(max(sums) / apart)
    found: list[Segment] = []
    for i in range(first, last + 1):
        level = (i + 1e-7) * apart  # never through a corner
        crossed: list[Point] = []
        for n, (x, y) in enumerate(points):
            xx, yy = points[n - 1]
            one, other = sums[n], sums[n - 1]
            if (one > level) != (other > level):
                share = (level - other) / (one - other)
                crossed.append((xx + share * (x - xx), yy + share * (y - yy)))
        crossed.sort()
        for (x1, y1), (x2, y2) in zip(crossed[::2], crossed[1::2], strict=True):
            found.append((x1, y1, x2, y2))
    return tuple(found)
