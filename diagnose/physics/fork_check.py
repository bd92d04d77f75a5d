"""Stack or fork? What finger height, free travel and tip travel together say, before the big model.

Three readings are held against the kit's own figures. A stack fault moves the fingers and takes
the free travel with them, in the ratio of the fork; a fault of pivot, fork or bearing moves the
free travel alone; wrong tip travel with both right lies in the hydraulics or the pedal. Each
hypothesis predicts a normal law of the deviations from the kit's figures; a flat law stands for
readings that none of them explains, two faults at once or a slip of the tape among them.

References
----------
The chain of the trade notes, section 3 (common practice). The sizes of faults and the equal
chances to begin with are judgement.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf
from types import MappingProxyType
from typing import Literal, NamedTuple

import numpy as np

from diagnose.errors import PullOnceError
from diagnose.physics.domain import Floats, require_positive
from diagnose.physics.figures import Parameter
from diagnose.physics.fork import Layout, tip_share
from diagnose.physics.likelihood import Reading, log_likelihoods, value_read
from diagnose.physics.predict import Predictions
from diagnose.physics.release_system import Cover

Quantity = Literal["finger_height", "fork_free_travel", "fork_tip_travel"]
Hypothesis = Literal["nothing", "stack", "fork", "hydraulics", "none_of_these"]

QUANTITIES: tuple[Quantity, ...] = ("finger_height", "fork_free_travel", "fork_tip_travel")
HYPOTHESES: tuple[Hypothesis, ...] = ("nothing", "stack", "fork", "hydraulics", "none_of_these")

# Sizes of faults and the ranges in which anything could be read, mm (judgement).
_STACK_SPREAD = 8.0  # of the finger height: some 2 mm of stack
_FORK_SPREAD = 15.0  # of the free travel: some 8 mm at the bearing
_STROKE_SPREAD = 8.0  # of the tip travel
_RANGES: Mapping[Quantity, float] = MappingProxyType(
    {"finger_height": 40.0, "fork_free_travel": 80.0, "fork_tip_travel": 40.0}
)
_NONE_OF_THESE = 0.02  # chance to begin with; the others share the rest evenly


class ForkCheckError(PullOnceError):
    """Readings that can't be held against the kit's figures."""


class Read(NamedTuple):
    """A reading and the kit's figure for it.

    Attributes
    ----------
    value : float
        As read, mm. A free travel of 0 means that the fork would not move, which is *at most* 0.
    doubt : float
        Standard uncertainty of tape and hand, mm, above 0.
    kit : Parameter
        The kit's figure with the scatter of good installations, mm.
    """

    value: float
    doubt: float
    kit: Parameter


@dataclass(frozen=True)
class ForkCheck:
    """What the readings say.

    Attributes
    ----------
    chances : mapping
        Hypothesis -> chance; they sum to 1.
    fingers_out : float or None
        Finger height above the kit's figure, as the stack hypothesis explains all readings, mm;
        None without readings that could tell.
    free_travel_lost : float or None
        Free travel that a fault of pivot, fork or bearing must have taken, mm; negative if it gave.
    """

    chances: Mapping[Hypothesis, float]
    fingers_out: float | None
    free_travel_lost: float | None

    @property
    def likeliest(self) -> Hypothesis:
        """Hypothesis with the greatest chance."""
        return max(HYPOTHESES, key=lambda h: self.chances[h])


def check_fork(
    read: Mapping[Quantity, Read], fork_ratio: Parameter, *, cover: Cover = "push"
) -> ForkCheck:
    """Tell a stack fault from a fork fault and from wrong tip travel.

    Parameters
    ----------
    read : mapping
        Finger height (more is nearer the gearbox), fork free travel, fork tip travel with the
        pedal at its stop; one at least, two or more to separate anything.
    fork_ratio : Parameter
        Pivot to tip over pivot to bearing.
    cover : Cover
        Under a pull cover, fingers that stand out lengthen the free travel.

    Returns
    -------
    ForkCheck

    Raises
    ------
    ForkCheckError
        If there is no reading, or one lies outside all that is plausible.
    """
    names = tuple(name for name in QUANTITIES if name in read)
    if not names:
        raise ForkCheckError("There is no reading to judge.", "Measure finger height and travel.")
    require_positive(fork_ratio=fork_ratio.nominal)
    readings = [_reading(name, read[name]) for name in names]
    laws = _laws(names, read, fork_ratio, 1.0 if cover == "push" else -1.0)
    flat = float(np.log([r.flat for r in readings]).sum())
    logs = np.append(log_likelihoods(laws, readings), flat)
    start = [(1.0 - _NONE_OF_THESE) / len(laws.mean)] * len(laws.mean) + [_NONE_OF_THESE]
    weights = np.exp(logs - logs.max()) * start
    chances = dict(zip(HYPOTHESES, (weights / weights.sum()).tolist(), strict=True))
    return ForkCheck(
        MappingProxyType(chances),
        _fault_size(laws, "stack", "finger_height", readings),
        _lost(laws, readings),
    )


def _reading(name: Quantity, read: Read) -> Reading:
    require_positive(doubt=read.doubt)
    middle, half = read.kit.nominal, _RANGES[name]
    plausible = (middle - half, middle + half)
    if not plausible[0] <= read.value <= plausible[1]:
        raise ForkCheckError(
            f"{name.replace('_', ' ').capitalize()} of {read.value:g} mm is far from the kit's "
            f"{middle:g} mm.",
            "Check the unit and where it was measured from.",
        )
    if name == "fork_free_travel" and read.value <= 0.0:
        return Reading(name, -inf, 0.0, read.doubt, plausible)
    return value_read(name, read.value, read.doubt, plausible)


def _laws(
    names: tuple[Quantity, ...], read: Mapping[Quantity, Read], fork_ratio: Parameter, side: float
) -> Predictions:
    """Normal laws of the readings for the four hypotheses that have one."""
    ratio, doubt = fork_ratio
    healthy = np.array([read[n].kit.nominal if n in names else 0.0 for n in QUANTITIES])
    scatter = [read[n].kit.uncertainty if n in names else 0.0 for n in QUANTITIES]
    coupled = np.array([1.0, -side * ratio, 0.0])
    # Good installations whose fingers stand out a little have a little less free travel too.
    base = scatter[0] ** 2 * np.outer(coupled, coupled)
    base += np.diag([0.0, scatter[1] ** 2, scatter[2] ** 2])
    stack = np.outer(coupled, coupled) + np.diag([0.0, doubt**2, 0.0])
    mean = np.repeat(healthy[np.newaxis], 4, axis=0)
    covariance = base + np.array(
        [
            np.zeros((3, 3)),
            _STACK_SPREAD**2 * stack,
            np.diag([0.0, _FORK_SPREAD**2, 0.0]),
            np.diag([0.0, 0.0, _STROKE_SPREAD**2]),
        ]
    )
    at = [QUANTITIES.index(n) for n in names]
    return Predictions(names, mean[:, at], covariance[:, at][:, :, at])


def _fault_size(
    laws: Predictions, hypothesis: Hypothesis, name: Quantity, readings: list[Reading]
) -> float | None:
    """Deviation of one quantity that a hypothesis expects, given the readings that are values."""
    told = [r for r in readings if r.is_value]
    if name not in laws.names or not told:
        return None
    h, i = HYPOTHESES.index(hypothesis), laws.names.index(name)
    at = [laws.names.index(r.observable) for r in told]
    spread: Floats = laws.covariance[h][np.ix_(at, at)] + np.diag([r.uncertainty**2 for r in told])
    off = np.array([r.low for r in told]) - laws.mean[h, at]
    return float(laws.covariance[h][i, at] @ np.linalg.solve(spread, off))


def _lost(laws: Predictions, readings: list[Reading]) -> float | None:
    """Free travel that is gone and that the fingers do not explain."""
    moved = _fault_size(laws, "fork", "fork_free_travel", readings)
    told = any(r.observable == "fork_free_travel" and r.is_value for r in readings)
    return -moved if told and moved is not None else None


def pivot_spacer(lost: float, ratio: float, layout: Layout) -> float:
    """Thickness of a spacer under the pivot that takes a free travel, mm; negative: it is missing.

    Parameters
    ----------
    lost : float
        Free travel at the fork tip, mm.
    ratio : float
        Pivot to tip over pivot to bearing, above 1 with an outboard pivot.
    layout : Layout

    Raises
    ------
    ForkCheckError
        If no spacer under the pivot changes the free travel.

    References
    ----------
    The straight line through back stop, pivot and bearing: ``(1 - share)`` of the pivot's movement
    reaches the bearing, `ratio` times that the tip (trade notes, section 3).
    """
    for_each_mm = ratio * (1.0 - float(tip_share(ratio, layout)))
    if layout == "none" or for_each_mm <= 0.0:
        raise ForkCheckError("With this fork no spacer under the pivot takes free travel.")
    return lost / for_each_mm
