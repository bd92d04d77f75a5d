"""Load of a diaphragm (Belleville) spring over its deflection.

The curve rises to a peak, may fall around flat and rises again; clutches work on the falling
branch, so that the clamp load can grow a little as the facing wears before it drops.

References
----------
Almen and Laszlo (1936); DIN 2092 / EN 16984 (R-SPRING-1); Bhandari, Design of Machine Elements,
ch. 10 (R-SPRING-2); shape thresholds R-SPRING-4.
"""

from dataclasses import dataclass
from math import log, pi, sqrt

import numpy as np

from diagnose.physics.domain import Floats, Real, require_positive

FALLING_ABOVE = sqrt(2.0)  # height over thickness above which the curve falls around flat
SNAPPING_ABOVE = 2.0 * sqrt(2.0)  # ... above which the load goes negative


@dataclass(frozen=True, slots=True)
class DiscSpring:
    """A conical disc spring, loaded at its rims.

    Attributes
    ----------
    outer, inner : float
        Diameters at which it is loaded, mm; ``0 < inner < outer``.
    thickness : float
        mm.
    height : float
        Height of the free cone without the thickness (its deflection to flat), mm.
    modulus : float
        Modulus of elasticity, MPa.
    poisson : float
        Poisson's ratio.

    Raises
    ------
    ValueError
        If a value is out of range.
    """

    outer: float
    inner: float
    thickness: float
    height: float
    modulus: float = 206_000.0
    poisson: float = 0.3

    def __post_init__(self) -> None:
        require_positive(
            inner=self.inner,
            thickness=self.thickness,
            height=self.height,
            modulus=self.modulus,
            **{"outer - inner": self.outer - self.inner},
        )
        if not 0.0 <= self.poisson < 0.5:
            message = f"Poisson's ratio lies between 0 and 0.5, unlike {self.poisson}"
            raise ValueError(message)


def shape_factor(diameter_ratio: float) -> float:
    """Factor K1 of DIN 2092 for the ratio of outer to inner diameter, above 1."""
    _require_above_one(diameter_ratio)
    delta = diameter_ratio
    bracket = (delta + 1.0) / (delta - 1.0) - 2.0 / log(delta)
    return ((delta - 1.0) / delta) ** 2 / bracket / pi


def textbook_shape_factor(diameter_ratio: float) -> float:
    """Factor M of the textbook form; within 1 % of `shape_factor` up to a ratio of 2."""
    _require_above_one(diameter_ratio)
    return 6.0 / (pi * log(diameter_ratio)) * ((diameter_ratio - 1.0) / diameter_ratio) ** 2


def load(spring: DiscSpring, deflection: Real) -> Real:
    """Load in N at a deflection in mm, by Almen and Laszlo with the factor of DIN 2092."""
    return _load(spring, deflection, shape_factor(spring.outer / spring.inner))


def textbook_load(spring: DiscSpring, deflection: Real) -> Real:
    """Load in N at a deflection in mm, in the textbook form with the factor M."""
    return _load(spring, deflection, textbook_shape_factor(spring.outer / spring.inner))


def _load(spring: DiscSpring, deflection: Real, factor: float) -> Real:
    s, h, t = deflection, spring.height, spring.thickness
    stiffness = 4.0 * spring.modulus / (1.0 - spring.poisson**2) / (factor * spring.outer**2)
    return stiffness * s * ((h - s) * (h - s / 2.0) * t + t**3)


def relative_load(deflection: Real, height_ratio: Real) -> Real:
    """Load over the load when flat.

    The whole of Almen and Laszlo's curve, with modulus and diameters taken out: a kit's sheet gives
    the clamp load, never the spring's drawing.

    Parameters
    ----------
    deflection : float or ndarray
        Deflection over the height of the free cone (1 is flat).
    height_ratio : float or ndarray
        Height of the free cone over thickness; 0 gives the straight line of helical springs.
    """
    bend = height_ratio * height_ratio * (1.0 - deflection) * (1.0 - deflection / 2.0)
    return deflection * (bend + 1.0)


def relative_load_terms(
    deflection: Floats, height_ratio: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Terms of the relative load as a cubic of the further deflection, beginning with no power.

    Parameters
    ----------
    deflection : ndarray
        Where the further deflection starts from, over the height of the free cone.
    height_ratio : ndarray
        Height of the free cone over thickness.
    """
    s, square = deflection, height_ratio * height_ratio
    return (
        np.asarray(relative_load(s, height_ratio)),
        1.0 + square * (1.0 - s * (3.0 - 1.5 * s)),
        1.5 * square * (s - 1.0),
        0.5 * square,
    )


def curve(spring: DiscSpring, *, count: int = 101, to: float = 2.0) -> tuple[Floats, Floats]:
    """Deflections in mm and loads in N, from rest to `to` times the free cone height."""
    deflection = np.linspace(0.0, to * spring.height, count)
    return deflection, np.asarray(load(spring, deflection))


def peak_and_valley(height: float, height_ratio: float) -> tuple[float, float] | None:
    """Deflections of greatest and least load around flat, in mm.

    Parameters
    ----------
    height : float
        Height of the free cone, mm.
    height_ratio : float
        Height of the free cone over thickness.

    Returns
    -------
    tuple of float or None
        Peak, valley; None where the curve never falls. At the threshold both lie at flat.
    """
    require_positive(height=height, height_ratio=height_ratio)
    square = (1.0 - 2.0 / height_ratio**2) / 3.0
    if square < -1e-15:
        return None
    half_width = sqrt(max(0.0, square))
    return height * (1.0 - half_width), height * (1.0 + half_width)


def sized_for(
    flat_load: float,
    stress: float,
    diameter_ratio: float,
    height_ratio: float,
    modulus: float = 206_000.0,
    poisson: float = 0.3,
) -> DiscSpring:
    """Spring that carries a load when flat at a given greatest stress.

    Parameters
    ----------
    flat_load : float
        N.
    stress : float
        Greatest stress when flat, MPa.
    diameter_ratio, height_ratio : float
        Outer over inner diameter; free cone height over thickness.

    References
    ----------
    Bhandari, Design of Machine Elements, example 10.26 (R-SPRING-2).
    """
    require_positive(flat_load=flat_load, stress=stress, height_ratio=height_ratio)
    factor = textbook_shape_factor(diameter_ratio)
    common = 6.0 / (pi * log(diameter_ratio))
    c1 = common * ((diameter_ratio - 1.0) / log(diameter_ratio) - 1.0)
    c2 = common * (diameter_ratio - 1.0) / 2.0
    thickness = sqrt(flat_load / stress * (c1 * height_ratio / 2.0 + c2))
    height = height_ratio * thickness
    stiffness = 4.0 * modulus * height * thickness**3 / ((1.0 - poisson**2) * factor)
    outer = sqrt(stiffness / flat_load)
    return DiscSpring(outer, outer / diameter_ratio, thickness, height, modulus, poisson)


def _require_above_one(diameter_ratio: float) -> None:
    if not diameter_ratio > 1.0:
        message = f"the outer diameter is the larger one, unlike a ratio of {diameter_ratio}"
        raise ValueError(message)
