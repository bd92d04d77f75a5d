"""The figures that describe a release system, each with its unit, its bounds and its tolerance.

A figure is a nominal value with a standard uncertainty: how far healthy specimens scatter about
it. A fault shifts figures. Axial errors are told by name, not by the sign of an axis: *toward the
engine* or *toward the gearbox*.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf
from typing import Annotated, Generic, NamedTuple, TypeVar, get_type_hints

import numpy as np

from diagnose.errors import PullOnceError
from diagnose.physics.domain import Floats

T = TypeVar("T")


class FigureError(PullOnceError):
    """Figures of a release system that no clutch can have."""


class Parameter(NamedTuple):
    """A figure with its tolerance.

    Attributes
    ----------
    nominal : float
        In the unit of the figure.
    uncertainty : float
        Standard uncertainty, in the same unit, at least 0.
    """

    nominal: float
    uncertainty: float = 0.0


class Kind(NamedTuple):
    """What a figure is.

    Attributes
    ----------
    meaning : str
        In words.
    unit : str
        Unit inside the program; ``""`` for ratios.
    low, high : float
        Bounds that no clutch passes; a fault is stopped there.
    neutral : float or None
        Value where the figure plays no part; None if it must be given.
    """

    meaning: str
    unit: str
    low: float
    high: float
    neutral: float | None = None


@dataclass(frozen=True, kw_only=True)
class Figures(Generic[T]):
    """All figures of a release system; `FIGURE_KINDS` says what each is.

    As ``Figures[Parameter]`` it describes one system; as ``Figures[Floats]`` it carries the same
    figures for many perturbed copies, an array each.
    """

    pedal_travel: Annotated[T, Kind("travel of the pad to its stop", "mm", 20, 400)]
    pedal_play: Annotated[T, Kind("travel of the pad before anything else moves", "mm", 0, 150, 0)]
    pedal_ratio: Annotated[T, Kind("pad travel over push rod travel", "", 1, 20)]
    pedal_flex: Annotated[
        T, Kind("push rod travel lost to bracket and bulkhead", "mm/N", 0, 0.1, 0)
    ]
    pedal_spring: Annotated[
        T, Kind("return (+) or assist (-) spring, at the pad", "N", -200, 200, 0)
    ]
    efficiency: Annotated[
        T, Kind("share of the pad's work that reaches the fingers", "", 0.2, 1, 1)
    ]

    master_bore: Annotated[T, Kind("bore of the master cylinder", "mm", 5, 60, 20)]
    slave_bore: Annotated[T, Kind("bore of the slave cylinder", "mm", 5, 120, 20)]
    slave_core: Annotated[T, Kind("inner diameter of a ring-shaped slave piston", "mm", 0, 100, 0)]
    air: Annotated[T, Kind("trapped air, at atmospheric pressure", "mm3", 0, 1e5, 0)]
    fluid: Annotated[T, Kind("fluid under pressure", "mm3", 0, 1e6, 0)]
    fluid_modulus: Annotated[T, Kind("bulk modulus of the fluid", "MPa", 100, 1e5, 1500)]
    fluid_lost: Annotated[T, Kind("fluid that passes a seal during one press", "mm3", 0, 2e4, 0)]
    hose_length: Annotated[T, Kind("free length of the hose", "mm", 0, 1e4, 0)]
    hose_swell: Annotated[T, Kind("swelling of the hose for each mm and MPa", "mm2/MPa", 0, 20, 0)]
    linkage_ratio: Annotated[
        T, Kind("push rod or cable travel over fork tip travel", "", 0.1, 20, 1)
    ]

    tip_play: Annotated[T, Kind("lost motion between actuator and fork tip", "mm", 0, 60, 0)]
    tip_flex: Annotated[
        T, Kind("tip travel lost to cable, levers or slave bracket", "mm/N", 0, 0.1, 0)
    ]
    actuator_stroke: Annotated[
        T, Kind("travel of the fork tip from its back stop", "mm", 1, inf, inf)
    ]
    fork_ratio: Annotated[T, Kind("pivot to tip over pivot to bearing", "", 0.5, 10, 1)]
    reserve: Annotated[T, Kind("designed gap to the fingers, fork at its back stop", "mm", 0, 60)]
    running_gap: Annotated[T, Kind("gap to the fingers with the pedal up, if less", "mm", 0, 30, 0)]
    back_stop: Annotated[
        T, Kind("tip held off its back stop, in release direction", "mm", -60, 60, 0)
    ]
    pivot_height: Annotated[T, Kind("pivot too far toward the engine", "mm", -40, 40, 0)]
    fork_offset: Annotated[
        T, Kind("bearing seat of the fork bent toward the engine", "mm", -40, 40, 0)
    ]
    bearing_height: Annotated[T, Kind("release bearing taller than designed", "mm", -40, 40, 0)]
    bearing_drag: Annotated[T, Kind("resistance of the bearing on its quill", "N", 0, 5000, 0)]

    finger_height: Annotated[
        T, Kind("height of the finger tips, toward the gearbox", "mm", -50, 150, 0)
    ]
    finger_offset: Annotated[
        T, Kind("tips toward the gearbox for the same stack", "mm", -20, 20, 0)
    ]
    finger_spread: Annotated[T, Kind("highest less lowest finger tip", "mm", 0, 15, 0)]
    finger_flex: Annotated[T, Kind("bending of the finger tips", "mm/N", 0, 0.01, 0)]
    diaphragm_ratio: Annotated[T, Kind("finger travel over plate lift", "", 1, 12)]
    cover_travel: Annotated[T, Kind("finger travel that the cover allows", "mm", 1, inf, inf)]
    stack_excess: Annotated[T, Kind("clamped height above the designed one", "mm", -15, 15, 0)]
    disc_lift: Annotated[T, Kind("lift that each disc needs to come free", "mm", 0, 3)]
    extra_lift: Annotated[T, Kind("further lift needed by the whole clutch", "mm", 0, 10, 0)]
    cushion: Annotated[T, Kind("cushion travel of each disc, unloading to nothing", "mm", 0, 3, 0)]

    flat_load: Annotated[
        T, Kind("load of the cover's spring when flat, at the plate", "N", 100, 1e5, 100)
    ]
    load_factor: Annotated[T, Kind("the spring's load over what its figures say", "", 0, 3, 1)]
    cone_height: Annotated[T, Kind("deflection of the spring from free to flat", "mm", 0.2, 50, 1)]
    cone_ratio: Annotated[T, Kind("cone height over thickness; 0: coil springs", "", 0, 2.8, 0)]
    set_deflection: Annotated[
        T, Kind("deflection of the spring on a right stack", "mm", 0.1, 80, 1)
    ]
    finger_load: Annotated[T, Kind("finger load, where taken as constant", "N", 1, 2e4, 1)]

    facing_outer: Annotated[T, Kind("outer diameter of the facings", "mm", 50, 600)]
    facing_inner: Annotated[T, Kind("inner diameter of the facings", "mm", 10, 500)]
    friction: Annotated[T, Kind("coefficient of friction of the facings", "", 0.01, 1)]
    engine_torque: Annotated[T, Kind("greatest torque of the engine", "N mm", 1e4, 1e7)]


FIGURE_KINDS: Mapping[str, Kind] = {
    name: hint.__metadata__[0]
    for name, hint in get_type_hints(Figures, include_extras=True).items()
}
FIGURE_NAMES = tuple(FIGURE_KINDS)
LOWEST: Floats = np.array([kind.low for kind in FIGURE_KINDS.values()])
HIGHEST: Floats = np.array([kind.high for kind in FIGURE_KINDS.values()])


def figures_of(given: Mapping[str, Parameter]) -> Figures[Parameter]:
    """Make the figures of a system from those that play a part in it.

    Parameters
    ----------
    given : mapping
        Figures by name; the others take their neutral values, without tolerance.

    Raises
    ------
    FigureError
        If a name is unknown or a figure without a neutral value is missing.
    """
    for name in given:
        if name not in FIGURE_KINDS:
            raise FigureError(f"No figure of a release system is called {name!r}.")
    missing = [n for n, k in FIGURE_KINDS.items() if k.neutral is None and n not in given]
    if missing:
        raise FigureError(f"These figures are missing: {', '.join(missing)}.", "Give each a value.")
    values = {
        name: given[name] if name in given else Parameter(float(kind.neutral or 0.0))
        for name, kind in FIGURE_KINDS.items()
    }
    return Figures[Parameter](**values)
