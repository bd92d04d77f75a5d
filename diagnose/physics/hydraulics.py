"""Travel, pressure and lost volume of a hydraulic release line.

Pressures are gauge pressures in MPa unless a name says absolute. What the master displaces reaches
the slave less what the pressure takes away: free air that is squeezed, fluid that gives, hose that
swells.

References
----------
Area ratio: R-HYD-1 to R-HYD-3. Boyle's law and gas stiffness: R-HYD-5. Mixtures: Rabie, Fluid
Power Engineering, eqs 2.49-2.57; Merritt, Hydraulic Control Systems, eqs 4-48 and 4-49 (R-HYD-6).
Hose expansion: the structure of 49 CFR 571.106 S5.3.2 (R-HOSE-1); its limits are not confirmed
here and none is shipped.
"""

from itertools import pairwise
from math import inf, pi
from typing import Literal

import numpy as np

from diagnose.physics.domain import Real, require_not_negative, require_positive

ATMOSPHERE = 0.101325  # MPa, standard

_PSI = 4.4482216152605 / 25.4**2  # MPa (R-UNIT-1)
HOSE_TEST_PRESSURES = (1000 * _PSI, 1500 * _PSI, 2900 * _PSI)  # MPa (R-HOSE-1)

HoseRow = Literal["small", "middle", "large"]


def bore_area(bore: Real) -> Real:
    """Area of a piston, in mm2, from its bore in mm."""
    require_positive(bore=bore)
    return pi / 4.0 * bore * bore


def ring_area(outer: Real, inner: Real) -> Real:
    """Area of the ring-shaped piston of a concentric slave, in mm2.

    Parameters
    ----------
    outer, inner : float or ndarray
        Diameters, mm; ``0 <= inner < outer``. With an inner diameter of 0 it is a plain bore.

    Raises
    ------
    ValueError
        If the diameters make no ring.
    """
    require_not_negative(inner=inner)
    require_positive(outer=outer, **{"outer - inner": outer - inner})
    return pi / 4.0 * (outer * outer - inner * inner)


def travel_ratio(master_area: Real, slave_area: Real) -> Real:
    """Slave travel per master travel of a line that loses nothing."""
    require_positive(master_area=master_area, slave_area=slave_area)
    return master_area / slave_area


def slave_travel(
    master_travel: Real, master_area: Real, slave_area: Real, lost: Real = 0.0
) -> Real:
    """Travel of the slave piston, in mm.

    Parameters
    ----------
    master_travel : float or ndarray
        mm, at least 0.
    master_area, slave_area : float or ndarray
        mm2.
    lost : float or ndarray
        Volume that does not arrive, mm3, at least 0.

    Returns
    -------
    float or ndarray
        Negative if more is lost than was displaced.
    """
    require_not_negative(master_travel=master_travel, lost=lost)
    return master_travel * travel_ratio(master_area, slave_area) - lost / slave_area


def pressure_of(force: Real, area: Real) -> Real:
    """Pressure that carries a force on an area, in MPa (N over mm2)."""
    require_positive(area=area)
    return force / area


def air_loss(volume: Real, pressure: Real) -> Real:
    """Volume that trapped air gives up to a slow press of the pedal (Boyle), in mm3.

    Parameters
    ----------
    volume : float or ndarray
        Free air at atmospheric pressure, mm3, at least 0.
    pressure : float or ndarray
        Gauge pressure, MPa, at least 0.
    """
    require_not_negative(volume=volume, pressure=pressure)
    return volume * pressure / (ATMOSPHERE + pressure)


def compression_loss(volume: Real, pressure: Real, modulus: Real) -> Real:
    """Volume that the fluid itself gives, in mm3.

    Parameters
    ----------
    volume : float or ndarray
        Fluid under pressure, mm3, at least 0.
    pressure : float or ndarray
        Gauge pressure, MPa, at least 0.
    modulus : float or ndarray
        Bulk modulus of the fluid, MPa, above 0.
    """
    require_not_negative(volume=volume, pressure=pressure)
    require_positive(modulus=modulus)
    return volume * pressure / modulus


def hose_loss(length: Real, pressure: Real, swell: Real) -> Real:
    """Volume that a hose takes up by swelling, in mm3, in proportion to the pressure.

    Parameters
    ----------
    length : float or ndarray
        Free length, mm, at least 0.
    pressure : float or ndarray
        Gauge pressure, MPa, at least 0.
    swell : float or ndarray
        mm3 for each mm of length and MPa, at least 0 (the same number in cm3 per m and MPa).
    """
    require_not_negative(length=length, pressure=pressure, swell=swell)
    return length * pressure * swell


def hose_row(bore: float) -> HoseRow:
    """Row of the hose expansion table that a bore belongs to; sizes in between take the middle row.

    Parameters
    ----------
    bore : float
        Inner diameter, mm, above 0.
    """
    require_positive(bore=bore)
    if bore <= 25.4 / 8:  # "1/8 in or 3 mm or less"
        return "small"
    return "large" if bore >= 6.0 else "middle"  # "1/4 in or 6 mm or more"


def hose_expansion(
    length: float, pressure: float, at_test_pressures: tuple[float, float, float]
) -> float:
    """Volume that a hose takes up by its own test figures, in mm3.

    Straight lines join the origin and the three test pressures; beyond the last the line goes on.

    Parameters
    ----------
    length : float
        Free length, mm, at least 0.
    pressure : float
        Gauge pressure, MPa, at least 0.
    at_test_pressures : tuple of float
        Expansion at the three `HOSE_TEST_PRESSURES`, mm3 per mm of length, rising from above 0.

    Raises
    ------
    ValueError
        If the figures do not rise, or a value is out of range.
    """
    require_not_negative(length=length, pressure=pressure)
    figures = (0.0, *at_test_pressures)
    if any(not low < high for low, high in pairwise(figures)):
        message = f"a hose swells more at each higher pressure, unlike {at_test_pressures}"
        raise ValueError(message)
    pressures = (0.0, *HOSE_TEST_PRESSURES)
    slope = (figures[-1] - figures[-2]) / (pressures[-1] - pressures[-2])
    beyond = slope * max(0.0, pressure - pressures[-1])
    return length * (float(np.interp(pressure, pressures, figures)) + beyond)


def gas_modulus(absolute_pressure: Real, exponent: float = 1.0) -> Real:
    """Bulk modulus of a gas, in MPa; exponent 1 for slow, 1.4 for fast changes."""
    require_positive(absolute_pressure=absolute_pressure, exponent=exponent)
    return exponent * absolute_pressure


def line_modulus(liquid: float, gas_share: float, gas: float, container: float = inf) -> float:
    """Bulk modulus of a line as its springs in series, in MPa.

    Parameters
    ----------
    liquid, gas : float
        Bulk moduli, MPa.
    gas_share : float
        Gas over total volume at the working pressure, 0 to 1; small, since the liquid is counted
        as filling the whole volume.
    container : float
        Modulus of pipe or hose, MPa (thin tube: E times wall over bore); infinite if rigid.

    References
    ----------
    Merritt, Hydraulic Control Systems, eq. 4-48 (R-HYD-6).
    """
    require_positive(liquid=liquid, gas=gas)
    _require_share(gas_share)
    return 1.0 / (1.0 / container + 1.0 / liquid + gas_share / gas)


def mixture_modulus(
    liquid: float, gas_share: float, absolute_pressure: float, exponent: float = 1.0
) -> float:
    """Bulk modulus of fluid with free gas, in MPa.

    Parameters
    ----------
    liquid : float
        Bulk modulus of the fluid, MPa.
    gas_share : float
        Gas over total volume **at the working pressure**, 0 to 1.
    absolute_pressure : float
        MPa, above 0.
    exponent : float
        1 (slow) to 1.4 (fast).

    References
    ----------
    Rabie, Fluid Power Engineering, eq. 2.54 (R-HYD-6).
    """
    gas = float(gas_modulus(absolute_pressure, exponent))
    require_positive(liquid=liquid)
    _require_share(gas_share)
    return 1.0 / (gas_share / gas + (1.0 - gas_share) / liquid)


def mixture_modulus_from_free_air(
    liquid: float, free_air: float, pressure: float, exponent: float = 1.0
) -> float:
    """Bulk modulus of fluid with free gas told by its volume at atmospheric pressure, in MPa.

    Parameters
    ----------
    liquid : float
        Bulk modulus of the fluid, MPa.
    free_air : float
        Volume of free gas **at atmospheric pressure** for each volume of fluid, at least 0.
    pressure : float
        Gauge pressure, MPa, at least 0.
    exponent : float
        1 (slow) to 1.4 (fast).
    """
    require_not_negative(free_air=free_air, pressure=pressure)
    require_positive(liquid=liquid, exponent=exponent)
    absolute = ATMOSPHERE + pressure
    gas = free_air * float((ATMOSPHERE / absolute) ** (1.0 / exponent))
    return liquid * (1.0 + gas) / (1.0 + gas * liquid / (exponent * absolute))


def corrected_modulus(
    reference: float, pressure_factor: float, temperature_factor: float, air_factor: float
) -> float:
    """Bulk modulus from a reference value and its correction factors, in the unit of the reference.

    References
    ----------
    The product rule of R-HYD-7; the factors are read from charts.
    """
    require_positive(
        reference=reference,
        pressure_factor=pressure_factor,
        temperature_factor=temperature_factor,
        air_factor=air_factor,
    )
    return reference * pressure_factor * temperature_factor * air_factor


def _require_share(share: float) -> None:
    if not 0.0 <= share <= 1.0:
        message = f"a share lies between 0 and 1, unlike {share}"
        raise ValueError(message)
