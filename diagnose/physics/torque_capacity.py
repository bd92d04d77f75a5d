"""How much torque the friction faces hold, by the two textbook models of a flat facing.

New facings press evenly (uniform pressure); bedded ones have worn until pressure times radius is
the same everywhere (uniform wear), which holds a little less at the same clamp load.

References
----------
Shigley, Mechanical Engineering Design, ch. 16; Bhandari, Design of Machine Elements, ch. 11
(R-TORQUE-1).
"""

from math import pi

from diagnose.physics.domain import Real, require_not_negative, require_positive


def friction_faces(driving: int, driven: int) -> int:
    """Number of friction faces of a stack of plates.

    Parameters
    ----------
    driving, driven : int
        Plates turning with the engine, and with the shaft; at least 1 of each. A single dry disc
        runs between flywheel and pressure plate: 2 driving, 1 driven, 2 faces.

    Returns
    -------
    int

    Raises
    ------
    ValueError
        If either is below 1.
    """
    if driving < 1 or driven < 1:
        message = f"a stack has at least 1 plate of each kind, not {driving} and {driven}"
        raise ValueError(message)
    return driving + driven - 1


def wear_radius(outer: Real, inner: Real) -> Real:
    """Effective radius of a bedded facing (uniform wear), in mm.

    Parameters
    ----------
    outer, inner : float or ndarray
        Facing diameters, mm; ``0 <= inner < outer``.

    Raises
    ------
    ValueError
        If the diameters make no ring.
    """
    _require_ring(outer, inner)
    return (outer + inner) / 4.0


def pressure_radius(outer: Real, inner: Real) -> Real:
    """Effective radius of a new facing (uniform pressure), in mm; never below `wear_radius`.

    Parameters
    ----------
    outer, inner : float or ndarray
        Facing diameters, mm; ``0 <= inner < outer``.

    Raises
    ------
    ValueError
        If the diameters make no ring.
    """
    _require_ring(outer, inner)
    # (D³ − d³)/(D² − d²) with the common factor D − d taken out, so that thin rings lose no digits.
    return (outer * outer + outer * inner + inner * inner) / (3.0 * (outer + inner))


def wear_clamp_load(peak_pressure: Real, outer: Real, inner: Real) -> Real:
    """Clamp load of a bedded facing whose inner edge carries the peak pressure, in N.

    Parameters
    ----------
    peak_pressure : float or ndarray
        MPa, above 0.
    outer, inner : float or ndarray
        Facing diameters, mm; ``0 <= inner < outer``.
    """
    require_positive(peak_pressure=peak_pressure)
    _require_ring(outer, inner)
    return pi * peak_pressure * inner / 2.0 * (outer - inner)


def pressure_clamp_load(pressure: Real, outer: Real, inner: Real) -> Real:
    """Clamp load of a new facing under an even pressure, in N.

    Parameters
    ----------
    pressure : float or ndarray
        MPa, above 0.
    outer, inner : float or ndarray
        Facing diameters, mm; ``0 <= inner < outer``.
    """
    require_positive(pressure=pressure)
    _require_ring(outer, inner)
    return pi * pressure / 4.0 * (outer * outer - inner * inner)


def torque_capacity(faces: int, friction: Real, clamp_load: Real, radius: Real) -> Real:
    """Torque at which the faces slip, in N mm.

    Parameters
    ----------
    faces : int
        Number of friction faces, at least 1.
    friction : float or ndarray
        Coefficient of friction, at least 0.
    clamp_load : float or ndarray
        N, at least 0.
    radius : float or ndarray
        Effective radius, mm, above 0.

    Raises
    ------
    ValueError
        If one lies outside its range.
    """
    if faces < 1:
        message = f"there is at least 1 friction face, not {faces}"
        raise ValueError(message)
    require_not_negative(friction=friction, clamp_load=clamp_load)
    require_positive(radius=radius)
    return faces * friction * clamp_load * radius


def slip_margin(capacity: Real, engine_torque: Real) -> Real:
    """Torque capacity over engine torque; below 1 the clutch slips at full load.

    Parameters
    ----------
    capacity : float or ndarray
        N mm, at least 0.
    engine_torque : float or ndarray
        N mm, above 0.
    """
    require_not_negative(capacity=capacity)
    require_positive(engine_torque=engine_torque)
    return capacity / engine_torque


def allowable_wear(clamp_load: Real, needed_load: Real, rate: Real) -> Real:
    """Facing wear until helical clamp springs no longer hold the torque, in mm.

    Parameters
    ----------
    clamp_load, needed_load : float or ndarray
        Clamp load new, and the load at which the clutch begins to slip, N.
    rate : float or ndarray
        Rate of all springs together, N/mm, above 0.

    Returns
    -------
    float or ndarray
        Negative if the clutch slips already.
    """
    require_not_negative(clamp_load=clamp_load, needed_load=needed_load)
    require_positive(rate=rate)
    return (clamp_load - needed_load) / rate


def _require_ring(outer: Real, inner: Real) -> None:
    require_not_negative(inner=inner)
    require_positive(outer=outer, **{"outer - inner": outer - inner})
