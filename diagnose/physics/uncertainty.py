"""Measurement uncertainty and what it means for a limit.

References
----------
JCGM 100:2008 (GUM): combination 5.1, divisors 4.3, degrees of freedom G.4, coverage factors table
G.2 (R-GUM-1 to R-GUM-4). JCGM 106:2012: conformity probability 7, risks 9.5 (R-DECIDE-1, -2).
"""

from collections.abc import Callable, Sequence
from functools import lru_cache
from math import exp, hypot, inf, isfinite, lgamma, log, log1p, sqrt
from typing import NamedTuple

import numpy as np

from diagnose.physics.domain import require_not_negative, require_positive
from diagnose.physics.normal import cdf, probability_between

NEARLY_ALL = 0.9  # share of readings, or of healthy clutches, that a band on the screen holds

_TINY = 1e-300


class TypeA(NamedTuple):
    """Statistics of repeated readings.

    Attributes
    ----------
    mean : float
    deviation : float
        Experimental standard deviation of one reading.
    uncertainty : float
        Standard uncertainty of the mean.
    freedom : int
        Degrees of freedom.
    """

    mean: float
    deviation: float
    uncertainty: float
    freedom: int


def type_a(readings: Sequence[float]) -> TypeA:
    """Evaluate repeated readings of one quantity; at least 2."""
    n = len(readings)
    if n < 2:
        message = f"a scatter shows in 2 readings at least, not in {n}"
        raise ValueError(message)
    values = np.asarray(readings, dtype=float)
    deviation = float(values.std(ddof=1))
    return TypeA(float(values.mean()), deviation, deviation / sqrt(n), n - 1)


def from_rectangle(half_width: float) -> float:
    """Standard uncertainty of a value known to lie within plus or minus a half width."""
    require_not_negative(half_width=half_width)
    return half_width / sqrt(3.0)


def from_triangle(half_width: float) -> float:
    """Standard uncertainty where values near the middle are likelier than at the edges."""
    require_not_negative(half_width=half_width)
    return half_width / sqrt(6.0)


def from_u_shape(half_width: float) -> float:
    """Standard uncertainty of a value that swings as a sine between the edges."""
    require_not_negative(half_width=half_width)
    return half_width / sqrt(2.0)


def from_resolution(step: float) -> float:
    """Standard uncertainty of a display that rounds to a step."""
    require_not_negative(step=step)
    return step / sqrt(12.0)


def freedom_from_reliability(relative_doubt: float) -> float:
    """Degrees of freedom of an uncertainty that is itself known to a relative doubt (0.25: 8)."""
    require_positive(relative_doubt=relative_doubt)
    return 0.5 / relative_doubt**2


def combined(contributions: Sequence[float]) -> float:
    """Combined standard uncertainty of independent contributions (sensitivity times u)."""
    return hypot(*contributions)


def effective_freedom(contributions: Sequence[float], freedom: Sequence[float]) -> float:
    """Effective degrees of freedom by Welch and Satterthwaite.

    Parameters
    ----------
    contributions : sequence of float
        Sensitivity times standard uncertainty.
    freedom : sequence of float
        Degrees of freedom of each, above 0; infinite where the uncertainty is known.

    Returns
    -------
    float
        Infinite if all that contribute are known.
    """
    if len(contributions) != len(freedom):
        message = f"{len(contributions)} contributions need as many degrees of freedom"
        raise ValueError(message)
    if any(not v > 0.0 for v in freedom):
        message = f"degrees of freedom are above 0, unlike {min(freedom)}"
        raise ValueError(message)
    below = sum(c**4 / v for c, v in zip(contributions, freedom, strict=True))
    return combined(contributions) ** 4 / below if below > 0.0 else inf


@lru_cache
def coverage_factor(coverage: float, freedom: float = inf) -> float:
    """Factor k by which a standard uncertainty covers a share of the values, both sides.

    Parameters
    ----------
    coverage : float
        Between 0 and 1 (0.95).
    freedom : float
        Degrees of freedom, above 0; infinite gives the normal distribution.
    """
    if not 0.0 < coverage < 1.0:
        message = f"a coverage lies between 0 and 1, unlike {coverage}"
        raise ValueError(message)
    if not freedom > 0.0:
        message = f"degrees of freedom are above 0, unlike {freedom}"
        raise ValueError(message)
    low, high = 0.0, 1.0
    while _student_within(high, freedom) < coverage:
        high *= 2.0
    for _ in range(200):
        middle = (low + high) / 2.0
        if not low < middle < high:
            break
        low, high = (middle, high) if _student_within(middle, freedom) < coverage else (low, middle)
    return (low + high) / 2.0


def nearly_all(middle: float, uncertainty: float) -> tuple[float, float]:
    """Ends between which `NEARLY_ALL` values of a normal law lie."""
    reach = coverage_factor(NEARLY_ALL) * uncertainty
    return middle - reach, middle + reach


def _student_within(t: float, freedom: float) -> float:
    """Probability that Student's t lies within plus or minus t."""
    if not isfinite(freedom):
        return float(probability_between(-t, t))
    return 1.0 - incomplete_beta(freedom / 2.0, 0.5, freedom / (freedom + t * t))


def incomplete_beta(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function, by its continued fraction (Lentz).

    Parameters
    ----------
    a, b : float
        Above 0.
    x : float
        Between 0 and 1.
    """
    require_positive(a=a, b=b)
    if not 0.0 <= x <= 1.0:
        message = f"x lies between 0 and 1, unlike {x}"
        raise ValueError(message)
    if x in {0.0, 1.0}:
        return x
    if x > (a + 1.0) / (a + b + 2.0):  # the fraction converges fast on this side only
        return 1.0 - incomplete_beta(b, a, 1.0 - x)
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x)) / a
    c, d = 1.0, 1.0 / _away_from_zero(1.0 - (a + b) * x / (a + 1.0))
    fraction = d
    for m in range(1, 10_000):
        even = m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))
        before = fraction
        for term in (even, odd):
            d = 1.0 / _away_from_zero(1.0 + term * d)
            c = _away_from_zero(1.0 + term / c)
            fraction *= c * d
        if abs(fraction - before) <= 1e-16 * abs(fraction):
            break
    return front * fraction


def _away_from_zero(value: float) -> float:
    return value if abs(value) > _TINY else _TINY


def conformity(value: float, uncertainty: float, lower: float = -inf, upper: float = inf) -> float:
    """Probability that the true value lies within its limits, given a reading.

    Parameters
    ----------
    value : float
        Best estimate.
    uncertainty : float
        Standard uncertainty, above 0.
    lower, upper : float
        Limits; one may be left out.

    Raises
    ------
    ValueError
        If the uncertainty is not positive or the limits are in the wrong order.

    References
    ----------
    JCGM 106:2012, section 7.
    """
    require_positive(uncertainty=uncertainty)
    if not lower < upper:
        message = f"the lower limit {lower} is not below the upper one {upper}"
        raise ValueError(message)
    return float(probability_between((lower - value) / uncertainty, (upper - value) / uncertainty))


class Risks(NamedTuple):
    """Shares of all items.

    Attributes
    ----------
    outside : float
        Out of tolerance.
    consumer : float
        Out of tolerance and accepted.
    producer : float
        Within tolerance and rejected.
    """

    outside: float
    consumer: float
    producer: float


def risks(
    density: Callable[[float], float],
    support: tuple[float, float],
    upper: float,
    uncertainty: float,
    accept_to: float,
    *,
    steps: int = 2000,
) -> Risks:
    """Producer's and consumer's risk for an upper limit, by Simpson's rule.

    Parameters
    ----------
    density : callable
        Density of the true values.
    support : tuple of float
        Where the density is (almost) all; `upper` lies inside.
    upper : float
        Tolerance limit.
    uncertainty : float
        Standard uncertainty of a measurement, above 0.
    accept_to : float
        Greatest reading that is accepted.
    steps : int
        Even number of steps on either side of the limit.

    References
    ----------
    JCGM 106:2012, section 9.5.
    """
    low, high = support
    if not low < upper < high:
        message = f"the limit {upper} does not lie inside {support}"
        raise ValueError(message)
    require_positive(uncertainty=uncertainty)

    def accepted(x: float) -> float:
        return float(cdf((accept_to - x) / uncertainty))

    return Risks(
        _simpson(density, upper, high, steps),
        _simpson(lambda x: density(x) * accepted(x), upper, high, steps),
        _simpson(lambda x: density(x) * (1.0 - accepted(x)), low, upper, steps),
    )


def acceptance_limit(
    density: Callable[[float], float],
    support: tuple[float, float],
    upper: float,
    uncertainty: float,
    consumer_risk: float,
) -> float:
    """Greatest reading that may be accepted so that the consumer's risk stays at a wanted value."""
    low, high = upper - 12.0 * uncertainty, upper + 12.0 * uncertainty
    for _ in range(60):
        middle = (low + high) / 2.0
        found = risks(density, support, upper, uncertainty, middle, steps=400).consumer
        low, high = (middle, high) if found < consumer_risk else (low, middle)
    return (low + high) / 2.0


def _simpson(function: Callable[[float], float], low: float, high: float, steps: int) -> float:
    points = np.linspace(low, high, steps + 1)
    values = np.array([function(float(x)) for x in points])
    inner = 4.0 * values[1:-1:2].sum() + 2.0 * values[2:-1:2].sum()
    return float((values[0] + inner + values[-1]) * (high - low) / steps / 3.0)
