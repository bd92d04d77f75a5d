"""Boiling points of brake fluid by class, and what a tester's reading says.

"Wet" is fluid that was humidified until the reference fluid holds 3.70 % of water. Some lists give
270/190 degrees C for class 5.1; that is not the regulation: 5.1 is the fluid without silicone that
meets the numbers of class 5.

References
----------
49 CFR 571.116 S5.1.1, S5.1.2, S6.2 (R-HYD-4).
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal, NamedTuple

from diagnose.errors import PullOnceError
from diagnose.physics.uncertainty import conformity

Verdict = Literal["as_new", "used", "spent"]

_PLAUSIBLE = (90.0, 350.0)  # degrees C; water boils at 100


class FluidError(PullOnceError):
    """A class of fluid or a boiling point that can't be."""


class FluidClass(NamedTuple):
    """A class of brake fluid.

    Attributes
    ----------
    dry, wet : float
        Least equilibrium reflux boiling points, degrees C.
    silicone : bool
        Whether it is silicone, which does not mix with the others.
    """

    dry: float
    wet: float
    silicone: bool


CLASSES: Mapping[str, FluidClass] = MappingProxyType(
    {
        "3": FluidClass(205.0, 140.0, False),
        "4": FluidClass(230.0, 155.0, False),
        "5": FluidClass(260.0, 180.0, True),
        "5.1": FluidClass(260.0, 180.0, False),
    }
)


def fluid_class(name: str) -> FluidClass:
    """Look a class up by its name ("DOT 4", "5.1").

    Raises
    ------
    FluidError
        If there is no such class.
    """
    found = CLASSES.get(name.strip().casefold().removeprefix("dot").strip())
    if found is None:
        raise FluidError(
            f"{name!r} is no class of brake fluid.", f"There are DOT {', DOT '.join(CLASSES)}."
        )
    return found


class FluidCheck(NamedTuple):
    """What a boiling point says.

    Attributes
    ----------
    verdict : Verdict
        ``as_new`` at or above the dry limit, ``used`` between the two, ``spent`` below the wet one.
    above_dry, above_wet : float
        Chance that the true boiling point reaches each limit.
    """

    verdict: Verdict
    above_dry: float
    above_wet: float


def check_fluid(fluid: FluidClass, boiling_point: float, *, uncertainty: float) -> FluidCheck:
    """Judge a boiling point by the limits of its class.

    Parameters
    ----------
    fluid : FluidClass
    boiling_point : float
        As a tester that boils the fluid reads it, degrees C.
    uncertainty : float
        Standard uncertainty of the tester, degrees C, above 0.

    Raises
    ------
    FluidError
        If no brake fluid boils there.

    References
    ----------
    Chances: JCGM 106:2012, section 7.
    """
    low, high = _PLAUSIBLE
    if not low <= boiling_point <= high:
        raise FluidError(
            f"No brake fluid boils at {boiling_point:g} °C.", "Check the unit: °C or °F?"
        )
    verdict: Verdict = "spent"
    if boiling_point >= fluid.wet:
        verdict = "as_new" if boiling_point >= fluid.dry else "used"
    return FluidCheck(
        verdict,
        conformity(boiling_point, uncertainty, lower=fluid.dry),
        conformity(boiling_point, uncertainty, lower=fluid.wet),
    )
