"""The words of the release system: its figures, and what can be read on it.

Records of the base name them (``shifts``, ``model``, ``kit``), and `diagnose.physics` computes with
them. A figure is a nominal value with a standard uncertainty: how far healthy specimens scatter
about it. Axial errors are told by name, not by the sign of an axis: *toward the engine* or *toward
the gearbox*.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf
from types import MappingProxyType
from typing import Annotated, Generic, NamedTuple, TypeVar, get_type_hints

T = TypeVar("T")


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


FIGURE_KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        name: hint.__metadata__[0]
        for name, hint in get_type_hints(Figures, include_extras=True).items()
    }
)

# What a person can read on a release system, and the unit inside the program; "" for ratios.
OBSERVABLE_UNITS: Mapping[str, str] = MappingProxyType(
    {
        "pedal_travel": "mm",
        "pedal_free_play": "mm",
        "push_rod_play": "mm",
        "engagement_travel": "mm",
        "engagement_share": "",
        "engagement_height": "mm",
        "pedal_effort": "N",
        "master_stroke": "mm",
        "fluid_displaced": "mm3",
        "fork_tip_travel": "mm",
        "fork_free_travel": "mm",
        "bearing_travel": "mm",
        "bearing_gap": "mm",
        "bearing_reserve": "mm",
        "standoff_error": "mm",
        "brake_gap": "mm",
        "finger_travel": "mm",
        "finger_height": "mm",
        "finger_spread": "mm",
        "plate_lift": "mm",
        "clearance_per_face": "mm",
        "overtravel_margin": "mm",
        "clamp_load": "N",
        "torque_capacity": "N mm",
        "slip_margin": "",
    }
)


class SheetFigure(NamedTuple):
    """A figure of a kit's sheet that is no figure of the release system itself.

    Attributes
    ----------
    meaning : str
    unit : str
        Taken where none is written.
    low, high : float
        Bounds that no kit passes, in the inside unit.
    usual : float or None
        Taken where the sheet does not say, in the inside unit; judgement. None where the figures
        of the release system say it.
    """

    meaning: str
    unit: str
    low: float
    high: float
    usual: float | None = None


# The first three determine a figure of the release system (`diagnose.kit_sheet` says how); from
# the others faults take their size: a part left out, left in, or of the old kit's size.
SHEET_FIGURES: Mapping[str, SheetFigure] = MappingProxyType(
    {
        "fork_free_travel": SheetFigure(
            "travel of the fork end from its back stop until the bearing meets the fingers",
            "in",
            0,
            101.6,
        ),
        "clamp_load": SheetFigure("load of the cover on the discs, pedal up", "N", 100, 1e5),
        "lift_needed": SheetFigure("lift of the plate at which all discs are free", "mm", 0.1, 9),
        "pivot_spacer": SheetFigure(
            "thickness of the spacer under the fork's pivot", "mm", 0, 40, 6.35
        ),
        "disc_thickness": SheetFigure("thickness of a disc, clamped", "mm", 2, 40, 7.7),
        "floater_thickness": SheetFigure("thickness of the floater", "mm", 2, 60, 9.5),
    }
)
