"""The normal distribution: one variable exactly, boxes of up to four by quadrature.

References
----------
Cody, W. J. (1969), Rational Chebyshev approximations for the error function, Mathematics of
Computation 23(107). Plackett, R. L. (1954), A reduction formula for normal multivariate integrals,
Biometrika 41: the derivative of a box of two in their correlation. Genz, A. (1992), Numerical
computation of multivariate normal probabilities, Journal of Computational and Graphical
Statistics 1(2): more variables are taken one after the other through the Cholesky factor. All
integrals are taken at Gauss and Legendre's fixed nodes, so that the same question always gets the
same answer.
"""

from collections.abc import Sequence
from functools import lru_cache
from itertools import product
from math import pi, sqrt

import numpy as np

from diagnose.physics.domain import Floats, Real

MAX_BOX = 4

_REACH = 6.0  # standard deviations; beyond it lies 2e-9
_FAR = 30.0  # ... as good as infinite
_NODES = {2: 1, 3: 20, 4: 12}  # for all variables of a box but the last two
_TURN_NODES = ((0.3, 6), (0.75, 12), (1.0, 24))  # up to a correlation: nodes of Plackett's integral
_NOTHING = 1e-16  # what is less likely needs no better telling
_AT_ONCE = 20_000  # points whose arrays stay in the processor's cache

# Cody's ratios of polynomials, the constant last: erf up to 0.46875, erfc up to 4 and beyond.
_NEAR = (
    (0.185777706184603153, 3.1611237438705656, 113.864154151050156, 377.485237685302021,
     3209.37758913846947),
    (1.0, 23.6012909523441209, 244.024637934444173, 1282.61652607737228, 2844.23683343917062),
)  # fmt: skip
_MIDDLE = (
    (2.15311535474403846e-8, 0.564188496988670089, 8.88314979438837594, 66.1191906371416295,
     298.635138197400131, 881.95222124176909, 1712.04761263407058, 2051.07837782607147,
     1230.33935479799725),
    (1.0, 15.7449261107098347, 117.693950891312499, 537.181101862009858, 1621.38957456669019,
     3290.79923573345963, 4362.61909014324716, 3439.36767414372164, 1230.33935480374942),
)  # fmt: skip
_TAIL = (
    (0.0163153871373020978, 0.305326634961232344, 0.360344899949804439, 0.125781726111229246,
     0.0160837851487422766, 6.58749161529837803e-4),
    (1.0, 2.56852019228982242, 1.87295284992346725, 0.527905102951428412, 0.0605183413124413191,
     0.00233520497626869185),
)  # fmt: skip


def erfc(x: Real) -> Floats:
    """Complementary error function, to the last digits in both tails."""
    x = np.asarray(x, dtype=float)
    size = np.abs(x)
    found = np.empty_like(size)
    near, tail = size <= 0.46875, size > 4.0
    middle = ~(near | tail)
    found[near] = 1.0 - size[near] * _ratio(_NEAR, size[near] ** 2)
    found[middle] = _scaled(size[middle], _ratio(_MIDDLE, size[middle]))
    far = np.minimum(size[tail], _FAR)  # nothing is left there
    square = 1.0 / (far * far)
    found[tail] = _scaled(far, (1.0 / sqrt(pi) - square * _ratio(_TAIL, square)) / far)
    return np.where(x < 0.0, 2.0 - found, found)


def _ratio(terms: tuple[tuple[float, ...], tuple[float, ...]], x: Floats) -> Floats:
    over, under = (np.full_like(x, polynomial[0]) for polynomial in terms)
    for a, b in zip(terms[0][1:], terms[1][1:], strict=True):
        over *= x
        over += a
        under *= x
        under += b
    return over / under


def _scaled(x: Floats, ratio: Floats) -> Floats:
    """Give ``exp(-x * x) * ratio``; the square is taken in two parts so that no digits are lost."""
    rough = np.floor(16.0 * x) / 16.0
    return np.asarray(np.exp(-rough * rough) * np.exp((rough - x) * (rough + x)) * ratio)


def cdf(z: Real) -> Floats:
    """Probability that a standard normal variable lies below z."""
    return 0.5 * erfc(np.asarray(z, dtype=float) / -sqrt(2.0))


def probability_between(low: Real, high: Real) -> Floats:
    """Probability that a standard normal variable lies between two values, ``low <= high``."""
    # Taken in the lower tail, where no digits are lost.
    low, high = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
    if np.all(np.isneginf(low)):
        return cdf(high)
    if np.all(np.isposinf(high)):
        return cdf(-low)
    turned = low > 0.0
    below, above = np.where(turned, -high, low), np.where(turned, -low, high)
    return cdf(above) - cdf(below)


def log_density(z: Real) -> Floats:
    """Natural log of the density of a standard normal variable."""
    z = np.asarray(z, dtype=float)
    return np.asarray(-0.5 * z * z - 0.5 * np.log(2.0 * pi))


def box_probability(mean: Floats, covariance: Floats, low: Floats, high: Floats) -> Floats:
    """Probability that normal variables all lie within their intervals.

    One variable is exact, two are good to 1e-9 unless they are correlated above 0.99; three and
    four are integrated to about 1e-5 and 1e-4, or better. What is less likely than 1e-16 is told
    by a bound: the probability that one of the variables, the least likely, lies in its interval.

    Parameters
    ----------
    mean : ndarray, shape (H, m)
        For H cases at once; ``m <= MAX_BOX``.
    covariance : ndarray, shape (H, m, m)
        Positive definite.
    low, high : ndarray, shape (m,)
        May be infinite.

    Returns
    -------
    ndarray, shape (H,)

    Raises
    ------
    ValueError
        If there are more than `MAX_BOX` variables.
    """
    m = mean.shape[1]
    if m > MAX_BOX:
        message = f"{m} readings as intervals are more than the {MAX_BOX} taken together"
        raise ValueError(message)
    if m == 0:
        return np.ones(len(mean))
    deviation = np.sqrt(np.diagonal(covariance, axis1=1, axis2=2))
    from_z, to_z = (low - mean) / deviation, (high - mean) / deviation
    widths = probability_between(from_z, to_z)
    found: Floats = widths.min(axis=1)
    if m == 1:
        return found
    likely = np.flatnonzero(found > _NOTHING)
    correlation = covariance[likely] / np.einsum("hi,hj->hij", deviation[likely], deviation[likely])
    # What is open above is turned round: as much as can be is then open below.
    side = np.where(np.isinf(high), -1.0, 1.0)
    correlation *= side * side[:, np.newaxis]
    ends = from_z[likely] * side, to_z[likely] * side
    from_z, to_z = np.minimum(*ends), np.maximum(*ends)
    # The narrowest first: its nodes all fall where the others vary little.
    order = np.argsort(widths[likely], axis=1)
    from_z, to_z = (np.take_along_axis(edge, order, axis=1) for edge in (from_z, to_z))
    correlation = np.take_along_axis(correlation, order[:, :, np.newaxis], axis=1)
    correlation = np.take_along_axis(correlation, order[:, np.newaxis, :], axis=2)
    at_once = max(1, _AT_ONCE // _NODES[m] ** (m - 2))
    for first in range(0, len(likely), at_once):
        some = slice(first, first + at_once)
        box = _box(correlation[some], [*from_z[some].T], [*to_z[some].T])
        found[likely[some]] = np.maximum(box, _NOTHING)
    return found


def _box(correlation: Floats, low: Sequence[Floats], high: Sequence[Floats]) -> Floats:
    """Probability of a box of standard normal variables, at least two.

    The edges are of shape (H, n1, ...): one axis for each variable that is given already.
    """
    m = len(low)
    axes = (slice(None), *(np.newaxis,) * (low[0].ndim - 1))
    if m == 2:
        return _pair(correlation[:, 0, 1][axes], low, high)
    first = np.maximum(low[0], np.minimum(-_REACH, high[0] - 3.0))
    last = np.minimum(high[0], np.maximum(_REACH, low[0] + 3.0))
    nodes, weights = _gauss(_NODES[m])
    half = (last - first)[..., np.newaxis] / 2.0
    z = first[..., np.newaxis] + half * (nodes + 1.0)
    # What is left of the others, given the first one.
    share = correlation[:, 0, 1:]
    rest = np.sqrt(1.0 - share * share)
    partial = correlation[:, 1:, 1:] - share[:, :, np.newaxis] * share[:, np.newaxis, :]
    partial = partial / (rest[:, :, np.newaxis] * rest[:, np.newaxis, :])
    axes = (*axes, np.newaxis)
    low, high = (
        [
            (edge[i][..., np.newaxis] - share[:, i - 1][axes] * z) / rest[:, i - 1][axes]
            for i in range(1, m)
        ]
        for edge in (low, high)
    )
    inner = _box(partial, low, high)
    return np.asarray((half * weights * np.exp(log_density(z)) * inner).sum(axis=-1))


def _pair(correlation: Floats, low: Sequence[Floats], high: Sequence[Floats]) -> Floats:
    """Probability of a box of two, of shape (H, ...), for correlations of shape (H, 1, ...).

    That of independent variables, and Plackett's integral of the density at the box's corners over
    the correlation, told as the sine of an angle.
    """
    found = probability_between(low[0], high[0]) * probability_between(low[1], high[1])
    ends = [
        [(sign, np.clip(edge[i], -_FAR, _FAR)) for sign, edge in ((1.0, high), (-1.0, low))]
        for i in (0, 1)
    ]
    corners = [
        (a * b, x * y, 0.5 * (x * x + y * y))
        for (a, x), (b, y) in product(*ends)
        if not (np.all(x == -_FAR) or np.all(y == -_FAR))
    ]
    correlation = np.clip(correlation, -1.0, 1.0)
    size = np.abs(correlation).ravel()
    at_least = -1.0
    for at_most, count in _TURN_NODES:
        some = np.flatnonzero((size > at_least) & (size <= at_most))
        at_least = at_most
        if not len(some):
            continue
        angle = np.arcsin(correlation[some])
        total = np.zeros_like(found[some])
        parts = [(sign, across[some], out[some]) for sign, across, out in corners]
        for node, weight in zip(*_gauss(count), strict=True):
            sine = np.sin(angle * (0.5 * (node + 1.0)))
            per_cosine = 1.0 / (1.0 - sine * sine)
            for sign, across, out in parts:
                total += (sign * weight) * np.exp((across * sine - out) * per_cosine)
        found[some] += total * (angle / (4.0 * pi))
    return found


@lru_cache
def _gauss(count: int) -> tuple[Floats, Floats]:
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return nodes, weights
