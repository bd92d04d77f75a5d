"""The normal distribution: one variable exactly, boxes of up to four by quadrature.

References
----------
Genz, A. (1992), Numerical computation of multivariate normal probabilities, Journal of
Computational and Graphical Statistics 1(2): the box is taken one variable after the other through
the Cholesky factor. Here each of them is integrated by Gauss and Legendre's fixed nodes, so that
the same question always gets the same answer.
"""

from collections.abc import Sequence
from functools import lru_cache
from math import erfc, pi, sqrt

import numpy as np

from diagnose.physics.domain import Floats, Real

MAX_BOX = 4

_REACH = 8.0  # standard deviations; beyond it lies less than 2e-15
_NODES = {2: 40, 3: 28, 4: 20}  # for all variables of a box but the last

_erfc = np.frompyfunc(erfc, 1, 1)


def cdf(z: Real) -> Floats:
    """Probability that a standard normal variable lies below z."""
    return np.asarray(0.5 * _erfc(-np.asarray(z, dtype=float) / sqrt(2.0)), dtype=np.float64)


def probability_between(low: Real, high: Real) -> Floats:
    """Probability that a standard normal variable lies between two values, ``low <= high``."""
    # Taken in the lower tail, where no digits are lost.
    low, high = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
    turned = low > 0.0
    below, above = np.where(turned, -high, low), np.where(turned, -low, high)
    return cdf(above) - cdf(below)


def log_density(z: Real) -> Floats:
    """Natural log of the density of a standard normal variable."""
    z = np.asarray(z, dtype=float)
    return np.asarray(-0.5 * z * z - 0.5 * np.log(2.0 * pi))


def box_probability(mean: Floats, covariance: Floats, low: Floats, high: Floats) -> Floats:
    """Probability that normal variables all lie within their intervals.

    One variable is exact; two to four are integrated with fixed nodes, to about 1e-4 or better
    unless they are correlated above 0.99.

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
    low, high = low - mean, high - mean
    # The narrowest first: its nodes all fall where the others vary little.
    deviation = np.sqrt(np.diagonal(covariance, axis1=1, axis2=2))
    order = np.argsort(probability_between(low / deviation, high / deviation), axis=1)
    case = np.arange(len(mean))[:, np.newaxis]
    ordered = covariance[case[..., np.newaxis], order[:, :, np.newaxis], order[:, np.newaxis, :]]
    factor = np.asarray(np.linalg.cholesky(ordered), dtype=np.float64)
    return _rest(factor, low[case, order], high[case, order], [])


def _rest(factor: Floats, low: Floats, high: Floats, done: Sequence[Floats]) -> Floats:
    """Probability of the variables not done yet, given those that are.

    `done` holds standard normal values of shape (H, n1, ..., nj): one axis for each done variable.
    """
    k = len(done)
    depth = k + 1
    axes = (slice(None), *(np.newaxis,) * k)
    given = sum((factor[:, k, j][axes] * z for j, z in enumerate(done)), start=np.zeros(1))
    scale = factor[:, k, k][axes]
    from_z = (low[:, k][axes] - given) / scale
    to_z = (high[:, k][axes] - given) / scale
    m = factor.shape[1]
    if depth == m:
        return probability_between(from_z, to_z)
    nodes, weights = _gauss(_NODES[m])
    from_z, to_z = np.clip(from_z, -_REACH, _REACH), np.clip(to_z, -_REACH, _REACH)
    half = (to_z - from_z)[..., np.newaxis] / 2.0
    z = from_z[..., np.newaxis] + half * (nodes + 1.0)
    inner = _rest(factor, low, high, [*(d[..., np.newaxis] for d in done), z])
    return np.asarray((half * weights * np.exp(log_density(z)) * inner).sum(axis=-1))


@lru_cache
def _gauss(count: int) -> tuple[Floats, Floats]:
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return nodes, weights
