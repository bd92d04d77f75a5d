"""The laws that say how surely a word's number is known, and how an observation moves them.

A chance (how strongly one thing shows another) has a Beta law, a rate a Gamma law: rates count only
relative to each other, and Gamma laws, each divided by the sum of all, are the Dirichlet law where
they share one exposure. Where it is not certain what was observed, the law after it is a mixture;
it is replaced by the law of the same family with the mixture's mean and variance. Adding up shares
of observations instead ("fractional updating") has the right mean and overstates the certainty.

References
----------
Spiegelhalter and Lauritzen (1990), Sequential updating of conditional probabilities on directed
graphical structures, Networks 20(5). Nodes: Golub and Welsch (1969), Calculation of Gauss
quadrature rules, Mathematics of Computation 23.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.tables import Floats

_EDGE = 1e-12  # a matched mean stays so far inside (0, 1)


@dataclass(frozen=True)
class Beta:
    """Law of a chance; ``a`` and ``b`` count cases in which it held and did not, both above 0."""

    a: float
    b: float

    @classmethod
    def around(cls, mean: float, doubt: float) -> "Beta":
        """Give the law around a chance whose log-odds are known to about `doubt`.

        Parameters
        ----------
        mean : float
            Inside (0, 1).
        doubt : float
            Standard deviation of the log-odds, by the first-order rule.
        """
        size = 1.0 / (doubt**2 * mean * (1.0 - mean))
        return cls(size * mean, size * (1.0 - mean))

    @property
    def mean(self) -> float:
        """The chance to reckon with."""
        return self.a / (self.a + self.b)

    @property
    def size(self) -> float:
        """Equivalent sample size: how many cases the law is worth."""
        return self.a + self.b

    @property
    def variance(self) -> float:
        """Variance of the chance."""
        return self.mean * (1.0 - self.mean) / (self.size + 1.0)

    @property
    def second(self) -> float:
        """Mean of the square of the chance."""
        return self.mean * (self.a + 1.0) / (self.size + 1.0)

    def seen(self, there: float) -> "Beta":
        """Give the law after one case in which it held with a chance of `there`, else did not."""
        held, failed = Beta(self.a + 1.0, self.b), Beta(self.a, self.b + 1.0)
        return mixed(((there, held), (1.0 - there, failed)))

    def weighed(self, points: Floats, masses: Floats) -> "Beta":
        """Give the law after evidence, by its likelihood at some points.

        Parameters
        ----------
        points : ndarray, shape (N,)
            Values of the chance, as of `nodes`.
        masses : ndarray, shape (N,)
            Weight of each times the likelihood of the evidence; not all 0.
        """
        share = masses / masses.sum()
        return matched(float(share @ points), float(share @ points**2))

    def faded(self, most: float) -> "Beta":
        """Give the law with the same mean and a size of at most `most`."""
        if self.size <= most:
            return self
        a = most * self.mean
        return Beta(a, most - a)


@dataclass(frozen=True)
class Gamma:
    """Law of a rate, or of a factor on it; ``shape`` counts cases, ``exposure`` what they are of.

    With a factor, the exposure is the number of cases that a factor of 1 would have brought.
    """

    shape: float
    exposure: float

    @classmethod
    def around(cls, mean: float, doubt: float) -> "Gamma":
        """Give the law around a mean with a relative standard deviation of `doubt`."""
        return cls(1.0 / doubt**2, 1.0 / (doubt**2 * mean))

    @property
    def mean(self) -> float:
        """The rate or factor to reckon with."""
        return self.shape / self.exposure

    @property
    def size(self) -> float:
        """Equivalent sample size: how many cases the law is worth."""
        return self.shape

    def counted(self, number: float, scatter: float, exposure: float) -> "Gamma":
        """Give the law after a number of cases that is itself known only by its moments.

        Parameters
        ----------
        number, scatter : float
            Mean and variance of the number of cases.
        exposure : float
            Cases to be expected at a rate or factor of 1.

        Returns
        -------
        Gamma
            With the mean and variance of the mixture over the number of cases.
        """
        if number == 0.0 and scatter == 0.0 and exposure == 0.0:
            return self
        shape, below = self.shape + number, self.exposure + exposure
        # Of the mixture: mean shape / below, variance (shape + scatter) / below^2.
        shrunk = shape / (shape + scatter)
        return Gamma(shape * shrunk, below * shrunk)

    def faded(self, most: float) -> "Gamma":
        """Give the law with the same mean and a size of at most `most`."""
        if self.shape <= most:
            return self
        return Gamma(most, self.exposure * (most / self.shape))


Law = Beta | Gamma


def mixed(parts: Sequence[tuple[float, Beta]]) -> Beta:
    """Give the Beta law with the mean and variance of a mixture.

    Parameters
    ----------
    parts : sequence of (weight, Beta)
        The weights sum to 1.
    """
    mean = sum(weight * law.mean for weight, law in parts)
    second = sum(weight * law.second for weight, law in parts)
    return matched(mean, second)


def matched(mean: float, second: float) -> Beta:
    """Give the Beta law with this mean, and this mean of the square.

    Parameters
    ----------
    mean, second : float
        Of a chance that is not known for certain: ``mean**2 < second < mean``.
    """
    mean = min(max(mean, _EDGE), 1.0 - _EDGE)
    # (mean - second) / variance, with second - mean^2 as the variance
    size = (mean - second) / (second - mean * mean)
    return Beta(mean * size, (1.0 - mean) * size)


def nodes(law: Beta, number: int) -> tuple[Floats, Floats]:
    """Give points and weights that average polynomials over a Beta law.

    Parameters
    ----------
    law : Beta
    number : int
        Exact for polynomials of a degree up to ``2 * number - 1``.

    Returns
    -------
    points, weights : ndarray, shape (number,)
        The weights sum to 1.
    """
    # Jacobi polynomials on [-1, 1] with weight (1 - x)^(b - 1) (1 + x)^(a - 1)
    low, high = law.b - 1.0, law.a - 1.0
    both = low + high
    n = np.arange(1, number, dtype=float)
    middle = np.empty(number)
    middle[0] = (high - low) / (both + 2.0)
    middle[1:] = (high**2 - low**2) / ((2 * n + both) * (2 * n + both + 2.0))
    off = np.empty(number - 1)
    off[:1] = 4.0 * (1.0 + low) * (1.0 + high) / ((2.0 + both) ** 2 * (3.0 + both))
    n = n[1:]
    off[1:] = (4.0 * n * (n + low) * (n + high) * (n + both)) / (
        (2 * n + both) ** 2 * (2 * n + both + 1.0) * (2 * n + both - 1.0)
    )
    side = np.sqrt(off)
    at, vectors = np.linalg.eigh(np.diag(middle) + np.diag(side, 1) + np.diag(side, -1))
    points: Floats = np.clip((1.0 + at) / 2.0, 0.0, 1.0)
    weights: Floats = vectors[0] ** 2
    return points, weights / weights.sum()
