"""What a set of faults does to the readings: a mean and a covariance.

A fault shifts figures of the release system by an amount that is itself known with a spread only.
The mean comes from the shifted system; the covariance adds what the tolerances of all figures and
the spreads of the shifts contribute, so that readings which share a cause of scatter (finger
height and free travel both hang on the stack) are predicted together.

References
----------
JCGM 100:2008 (GUM) 5.1.2 and 5.2.2; the contribution of a figure is half the difference of the
model at plus and minus its standard uncertainty (5.1.3, note 2), which also averages over bends.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.errors import UnknownIdError
from diagnose.physics.domain import Floats
from diagnose.physics.figures import FIGURE_NAMES, HIGHEST, LOWEST
from diagnose.physics.observables import figures_behind, observables_of, read_many
from diagnose.physics.release_system import ReleaseSystem
from diagnose.physics.uncertainty import coverage_factor

_COLUMNS = 8192  # at once: their arrays stay in the processor's cache


@dataclass(frozen=True, slots=True)
class Shift:
    """What a fault does to one figure.

    Attributes
    ----------
    figure : str
        Name of the figure.
    amount : float
        Mean shift, in the unit of the figure.
    spread : float
        Standard deviation of the shift, at least 0.
    """

    figure: str
    amount: float
    spread: float = 0.0

    def __post_init__(self) -> None:
        if self.figure not in FIGURE_NAMES:
            raise UnknownIdError(f"No figure of a release system is called {self.figure!r}.")
        if not (np.isfinite(self.amount) and np.isfinite(self.spread) and self.spread >= 0.0):
            message = f"{self.figure} can't shift by {self.amount} with a spread of {self.spread}"
            raise ValueError(message)


@dataclass(frozen=True)
class Predictions:
    """Readings as H sets of faults predict them, without the instrument.

    Attributes
    ----------
    names : tuple of str
        The n observables.
    mean : ndarray, shape (H, n)
    covariance : ndarray, shape (H, n, n)
    """

    names: tuple[str, ...]
    mean: Floats
    covariance: Floats

    def band(self, name: str, coverage: float = 0.99, *, case: int = 0) -> tuple[float, float]:
        """Interval that holds a share of the values of one observable under one set of faults."""
        i = self.names.index(name)
        middle = float(self.mean[case, i])
        half = coverage_factor(coverage) * float(np.sqrt(self.covariance[case, i, i]))
        return middle - half, middle + half


def predict(
    system: ReleaseSystem, names: Sequence[str], shifts: Sequence[Shift] = ()
) -> Predictions:
    """Predict observables under one set of faults (none: healthy); H is 1."""
    return predict_many(system, names, (shifts,))


def predict_many(
    system: ReleaseSystem, names: Sequence[str], cases: Sequence[Sequence[Shift]]
) -> Predictions:
    """Predict observables under many sets of faults at once.

    Parameters
    ----------
    system : ReleaseSystem
        Its tolerances scatter every case.
    names : sequence of str
        Observables of the system.
    cases : sequence of sequence of Shift
        Shifts of one figure add up; a figure is stopped at its bounds.

    Returns
    -------
    Predictions

    Raises
    ------
    UnknownIdError
        If the system has no such observable.
    """
    names = tuple(names)
    centre, scatter = _figures_of(system, cases)
    behind = figures_behind(system, names)
    # Only figures that scatter in some case and count here cost a pair of columns.
    counts = np.array([name in behind for name in FIGURE_NAMES])
    active = np.flatnonzero(counts & scatter.any(axis=1))
    at_once = max(1, _COLUMNS // (1 + 2 * len(active)))
    table = np.empty((len(centre), 1 + 2 * len(active), min(at_once, len(cases))))
    mean = np.empty((len(cases), len(names)))
    covariance = np.empty((len(cases), len(names), len(names)))
    for first in range(0, len(cases), at_once):
        some = slice(first, first + at_once)
        columns, share = _columns(table, centre[:, some], scatter[active, some], active)
        values = read_many(system, names, columns).reshape(len(names), -1, share.shape[1])
        mean[some] = values[:, 0].T
        up, down = values[:, 1 : 1 + len(active)], values[:, 1 + len(active) :]
        part = ((up - down) * share).transpose(2, 0, 1)
        covariance[some] = part @ part.transpose(0, 2, 1)
    return Predictions(names, mean, covariance)


def _columns(
    table: Floats, centre: Floats, scatter: Floats, active: NDArray[np.intp]
) -> tuple[Floats, Floats]:
    """Figures of each case as they are, and with each active one taken up and down.

    Parameters
    ----------
    table : ndarray, shape (P, 1 + 2a, at least h)
        What is written on.
    centre : ndarray, shape (P, h)
    scatter : ndarray, shape (a, h)
    active : ndarray, shape (a,)

    Returns
    -------
    columns : ndarray, shape (P, (1 + 2a) h)
    share : ndarray, shape (a, h)
        Standard uncertainty over the distance between up and down, which bounds may have cut.
    """
    table = table[:, :, : centre.shape[1]]
    table[:] = centre[:, np.newaxis, :]
    up, down = 1 + np.arange(len(active)), 1 + len(active) + np.arange(len(active))
    table[active, up] = np.minimum(centre[active] + scatter, HIGHEST[active, np.newaxis])
    table[active, down] = np.maximum(centre[active] - scatter, LOWEST[active, np.newaxis])
    span = table[active, up] - table[active, down]
    share = np.divide(scatter, span, out=np.zeros_like(span), where=span > 0.0)
    return table.reshape(len(table), -1), share


def _figures_of(system: ReleaseSystem, cases: Sequence[Sequence[Shift]]) -> tuple[Floats, Floats]:
    """Shifted figures and their standard uncertainties, each of shape (P, H)."""
    index = {name: i for i, name in enumerate(FIGURE_NAMES)}
    centre = np.repeat(system.nominal[:, np.newaxis], len(cases), axis=1)
    variance = np.repeat(system.uncertainty[:, np.newaxis] ** 2, len(cases), axis=1)
    for h, shifts in enumerate(cases):
        for shift in shifts:
            centre[index[shift.figure], h] += shift.amount
            variance[index[shift.figure], h] += shift.spread**2
    centre = np.clip(centre, LOWEST[:, np.newaxis], HIGHEST[:, np.newaxis])
    # A figure without an end stays so: nothing scatters about infinity.
    return centre, np.where(np.isfinite(centre), np.sqrt(variance), 0.0)


def influences(system: ReleaseSystem) -> Mapping[str, frozenset[str]]:
    """Which observables each figure can move at all, by small and by large changes of it.

    A shift of a figure that moves nothing is a mistake in the knowledge.
    """
    names = observables_of(system)
    nominal = system.nominal
    found: dict[str, frozenset[str]] = {}
    for i, figure in enumerate(FIGURE_NAMES):
        tries = np.unique(
            np.clip(_trials(nominal[i], LOWEST[i], HIGHEST[i]), LOWEST[i], HIGHEST[i])
        )
        table = np.repeat(nominal[:, np.newaxis], 1 + len(tries), axis=1)
        table[i, 1:] = tries
        values = read_many(system, names, table)
        moved = np.abs(values[:, 1:] - values[:, :1]).max(axis=1) > 1e-9
        found[figure] = frozenset(np.array(names)[moved].tolist())
    return found


def _trials(value: float, low: float, high: float) -> Floats:
    """Values of a figure to try, from its neighbourhood to near its bounds."""
    if not np.isfinite(value):
        return low + np.array([0.0, 3.0, 10.0, 30.0])
    high = min(high, max(4.0 * abs(value), low + 100.0))
    share = np.array([0.001, 0.03, 0.3, 0.9])
    return np.concatenate((value + (low - value) * share, value + (high - value) * share))
