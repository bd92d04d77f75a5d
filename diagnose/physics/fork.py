"""The release fork as a straight line through its back stop, its pivot and the bearing.

Positions are axial: mm, growing from the engine toward the gearbox. With an outboard pivot the
order along the fork is pivot, bearing, tip, and the tip moves the same way as the bearing; with a
middle pivot it is bearing, pivot, tip, and it moves the opposite way. Without a fork the slave
itself carries the bearing: the line through one point, which no pivot can move.
"""

from typing import Literal

from diagnose.physics.domain import Real, require_positive

Layout = Literal["outboard_pivot", "middle_pivot", "none"]


def tip_share(ratio: Real, layout: Layout) -> Real:
    """Movement of the bearing contact for each mm that the tip moves, with its sign.

    Parameters
    ----------
    ratio : float or ndarray
        Pivot to tip over pivot to bearing, above 0.
    layout : Layout
    """
    require_positive(ratio=ratio)
    return (-1.0 if layout == "middle_pivot" else 1.0) / ratio


def contact_position(pivot: Real, tip: Real, ratio: Real, layout: Layout) -> Real:
    """Where the fork touches the bearing, on the straight line through pivot and tip.

    Parameters
    ----------
    pivot, tip : float or ndarray
        Axial positions, mm.
    ratio : float or ndarray
        Pivot to tip over pivot to bearing, above 0; 1 without a fork.
    layout : Layout
    """
    share = tip_share(ratio, layout)
    return (1.0 - share) * pivot + share * tip
