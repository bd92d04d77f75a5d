"""How long the input shaft coasts once the clutch lets go of it: J dw/dt = T_drive - T_drag.

Two workshop rules live here, and they belong to different procedures: about 3 s of grinding when
reverse is felt for (R-DRAG-1), and 9 s of waiting before reverse goes in without a clash
(R-DRAG-2). A time taken by one says nothing by the other. Oil temperature and idle speed change
the time, so they are written down with it.

References
----------
Workshop manuals of 1999 to 2008 (R-DRAG-1, R-DRAG-2). The equation of motion: own derivation.
"""

from math import inf, log1p, pi
from typing import NamedTuple

from diagnose.physics.domain import require_not_negative, require_positive
from diagnose.physics.uncertainty import conformity

_NMM = 1000.0  # N mm in a N m


def angular_speed(speed: float) -> float:
    """Radians per second of a speed in 1/min."""
    return 2.0 * pi * speed / 60.0


def drag_torque(inertia: float, speed: float, time: float) -> float:
    """Mean torque that brought a coasting shaft to rest, N mm.

    Parameters
    ----------
    inertia : float
        Of all that turns with the shaft, at the shaft's speed, kg m2, above 0.
    speed : float
        At the start, 1/min, above 0: the idle speed.
    time : float
        Until it stood, s, above 0.
    """
    require_positive(inertia=inertia, speed=speed, time=time)
    return inertia * angular_speed(speed) / time * _NMM


def stop_time(
    inertia: float, speed: float, drag: float, *, drive: float = 0.0, oil: float = 0.0
) -> float:
    """Time until a coasting shaft stands, s.

    Parameters
    ----------
    inertia : float
        kg m2, above 0.
    speed : float
        At the start, 1/min, above 0.
    drag : float
        Torque that holds it back at any speed, N mm, at least 0.
    drive : float
        Torque with which disc or pilot bearing still drive it, N mm, at least 0.
    oil : float
        Torque of the oil at the starting speed, in proportion to the speed, N mm, at least 0.

    Returns
    -------
    float
        Infinite if the shaft never stops: what drives it is at least what holds it back at
        standstill.
    """
    require_positive(inertia=inertia, speed=speed)
    require_not_negative(drag=drag, drive=drive, oil=oil)
    held = (drag - drive) / _NMM
    if held <= 0.0:
        return inf
    momentum = inertia * angular_speed(speed)
    if oil == 0.0:
        return momentum / held
    at_start = oil / _NMM
    return momentum / at_start * log1p(at_start / held)


def drive_torque(inertia: float, speed: float, drag: float, time: float) -> float:
    """Torque that must have driven a shaft which took so long to stop, N mm.

    Parameters
    ----------
    inertia, speed, time : float
        As in `drag_torque`.
    drag : float
        Known drag of the gearbox, N mm, above 0.

    Returns
    -------
    float
        Negative if it stopped sooner than that drag allows.
    """
    require_positive(drag=drag)
    return drag - drag_torque(inertia, speed, time)


class Procedure(NamedTuple):
    """A workshop test with its own limit.

    Attributes
    ----------
    seconds : float
        Its limit, s.
    do : str
        How it is done.
    source : str
    """

    seconds: float
    do: str
    source: str


GRIND_TEST = Procedure(
    3.0,
    "Neutral, idle. Ease the lever toward reverse until it just grinds, floor the pedal and time "
    "how long the grinding lasts.",
    "R-DRAG-1",
)
WAIT_TEST = Procedure(
    9.0,
    "Brake on, wheels chocked, neutral, idle, pedal up. Press the pedal, wait 9 s, select reverse.",
    "R-DRAG-2",
)


def grind_within_limit(time: float, *, uncertainty: float) -> float:
    """Chance that the grinding truly lasted no longer than the limit of the `GRIND_TEST`.

    Parameters
    ----------
    time : float
        s, at least 0.
    uncertainty : float
        Standard uncertainty of hand and watch, s, above 0.
    """
    require_not_negative(time=time)
    return conformity(time, uncertainty, upper=GRIND_TEST.seconds)
