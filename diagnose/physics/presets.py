"""Eight generic arrangements with typical figures, to begin a case with or to copy.

Every figure and tolerance here is `judgement`: round values of the kind found on such clutches,
chosen so that the chain hangs together, and belonging to no maker. A kit's own sheet wins over
them. The one value taken from the trade is `common practice`: the fork free travel of the twin
disc with an outside slave, 1 to 1 1/2 in. The ids are those of the set-ups of the knowledge base.

Two kinds of scatter are kept apart. The tolerances of a preset are those of good specimens of
*one* kit. That the preset's figures belong to no kit at all is the scatter *between kits*, which
`between_kits` adds for every figure that the sheet has not told. Its sizes are `judgement` too:

- the height of the fingers is told from another datum by every maker, so that without the sheet
  an absolute height says next to nothing: 20 %, 7 to 12 mm;
- the reserve is sized so that the fork free travel of the twin disc keeps to common practice (9 in
  10 good installs at about 0.9 to 1.5 in);
- figures of one kit are made for each other (a larger master goes with a larger slave, a stronger
  cover with a stronger engine), yet they scatter independently here. So each has less than its
  bare spread in the trade, and what they give together - where the pedal bites, how far the fork
  end goes - scatters as it does from vehicle to vehicle.
"""

from collections.abc import Collection, Mapping
from dataclasses import replace
from math import hypot
from types import MappingProxyType

from diagnose.physics.figures import Parameter, figures_of
from diagnose.physics.fork import Layout
from diagnose.physics.release_system import Cover, Linkage, ReleaseSystem

# Standard uncertainties of healthy specimens: an absolute part, and one relative to the nominal.
_TOLERANCES: Mapping[str, tuple[float, float]] = {
    "pedal_travel": (0.0, 0.03),
    "pedal_play": (0.0, 0.3),
    "pedal_ratio": (0.0, 0.01),
    "pedal_flex": (0.0, 0.3),
    "pedal_spring": (5.0, 0.0),
    "efficiency": (0.05, 0.0),
    "master_bore": (0.02, 0.0),
    "slave_bore": (0.02, 0.0),
    "slave_core": (0.02, 0.0),
    "air": (0.0, 0.6),
    "fluid": (0.0, 0.2),
    "fluid_modulus": (0.0, 0.15),
    "hose_length": (0.0, 0.1),
    "hose_swell": (0.0, 0.3),
    "linkage_ratio": (0.0, 0.01),
    "tip_play": (0.0, 0.4),
    "tip_flex": (0.0, 0.3),
    "fork_ratio": (0.0, 0.015),
    "reserve": (0.1, 0.08),
    "back_stop": (0.5, 0.0),
    "pivot_height": (0.4, 0.0),
    "fork_offset": (0.3, 0.0),
    "bearing_height": (0.3, 0.0),
    "bearing_drag": (0.0, 0.5),
    "finger_offset": (0.3, 0.0),
    "finger_spread": (0.0, 0.4),
    "finger_flex": (0.0, 0.2),
    "diaphragm_ratio": (0.0, 0.02),
    "cover_travel": (0.0, 0.05),
    "stack_excess": (0.12, 0.0),
    "disc_lift": (0.0, 0.1),
    "cushion": (0.0, 0.15),
    "load_factor": (0.04, 0.0),
    "set_deflection": (0.1, 0.0),
    "facing_outer": (0.3, 0.0),
    "facing_inner": (0.3, 0.0),
    "friction": (0.0, 0.08),
    "engine_torque": (0.0, 0.03),
}

# Standard deviations from kit to kit of one arrangement: an absolute part, and a relative one.
_BETWEEN_KITS: Mapping[str, tuple[float, float]] = {
    "pedal_travel": (0.0, 0.05),
    "pedal_ratio": (0.0, 0.04),
    "master_bore": (0.0, 0.02),
    "slave_bore": (0.0, 0.02),
    "slave_core": (0.0, 0.02),
    "linkage_ratio": (0.0, 0.05),
    "fork_ratio": (0.0, 0.04),
    "reserve": (0.2, 0.1),
    "finger_height": (0.0, 0.2),
    "diaphragm_ratio": (0.0, 0.05),
    "cover_travel": (0.0, 0.08),
    "flat_load": (0.0, 0.1),
    "facing_outer": (0.0, 0.02),
    "facing_inner": (0.0, 0.03),
    "engine_torque": (0.0, 0.12),
}

# Where an adjuster sets the gap, it takes up what these scatter on a healthy clutch.
_TAKEN_UP = ("back_stop", "pivot_height", "fork_offset", "bearing_height", "finger_offset")

# What all of them have until their own figures say otherwise; errors are zero when healthy.
_ALL = {
    "pivot_height": 0.0,
    "fork_offset": 0.0,
    "bearing_height": 0.0,
    "back_stop": 0.0,
    "finger_offset": 0.0,
    "stack_excess": 0.0,
    "load_factor": 1.0,
    "pedal_spring": 0.0,
    "pedal_flex": 0.0003,
    "bearing_drag": 40.0,
    "finger_spread": 0.3,
    "cone_ratio": 1.7,
    "friction": 0.3,
}
_FLUID = {"air": 150.0, "fluid_modulus": 1500.0, "hose_swell": 0.3, "efficiency": 0.85}
_ONE_DISC = {
    "disc_lift": 0.9,
    "cushion": 0.65,
    "flat_load": 5000.0,
    "cone_height": 3.6,
    "set_deflection": 3.5,
    "diaphragm_ratio": 3.6,
    "finger_flex": 0.0005,
    "finger_height": 35.0,
    "facing_outer": 228.0,
    "facing_inner": 150.0,
    "engine_torque": 200e3,
}
_TWO_DISCS = {
    "disc_lift": 0.62,
    "cushion": 0.3,
    "flat_load": 9300.0,
    "cone_height": 4.2,
    "set_deflection": 4.2,
    "diaphragm_ratio": 3.8,
    "finger_flex": 0.0002,
    "finger_height": 45.0,
    "facing_outer": 265.0,
    "facing_inner": 180.0,
    "engine_torque": 800e3,
}
_OUTSIDE = {
    "pedal_travel": 140.0,
    "pedal_play": 6.0,
    "pedal_ratio": 5.5,
    "master_bore": 15.87,
    "slave_bore": 19.05,
    "fluid": 25e3,
    "hose_length": 400.0,
    "tip_flex": 0.0003,
    "actuator_stroke": 45.0,
    "fork_ratio": 1.7,
    "reserve": 10.0,
    "cover_travel": 13.0,
}
_ROUND_THE_SHAFT = {
    "pedal_travel": 140.0,
    "pedal_play": 6.0,
    "pedal_ratio": 5.0,
    "master_bore": 20.64,
    "slave_bore": 50.0,
    "slave_core": 35.0,
    "fluid": 30e3,
    "hose_length": 300.0,
    "actuator_stroke": 24.0,
    "reserve": 8.0,
    "cover_travel": 13.0,
}
_CABLE = {
    "pedal_travel": 145.0,
    "pedal_play": 3.0,
    "pedal_ratio": 5.2,
    "tip_flex": 0.003,
    "fork_ratio": 2.3,
    "reserve": 1.6,
    "efficiency": 0.7,
    "cover_travel": 13.0,
}
_RODS = {
    "pedal_travel": 160.0,
    "pedal_play": 4.0,
    "pedal_ratio": 4.5,
    "linkage_ratio": 1.3,
    "tip_play": 0.5,
    "tip_flex": 0.001,
    "fork_ratio": 1.9,
    "reserve": 1.7,
    "efficiency": 0.7,
    "cover_travel": 16.0,
    "diaphragm_ratio": 4.2,
    "cone_ratio": 0.0,
    "cone_height": 16.0,
    "set_deflection": 16.0,
}

_DUAL_MASS = {"engine_torque": 320e3, "flat_load": 7000.0, "facing_outer": 240.0}
_TWIN_OUTSIDE = {
    "pedal_travel": 155.0,
    "pedal_play": 8.25,
    "master_bore": 22.225,
    "slave_bore": 25.4,
    "fluid": 40e3,
    "hose_length": 300.0,
    "actuator_stroke": 60.0,
    "fork_ratio": 1.8,
    "reserve": 17.0,
    "cover_travel": 14.0,
    "tip_flex": 0.0002,
}
_TWIN_ROUND = {
    "pedal_travel": 155.0,
    "pedal_play": 8.0,
    "pedal_ratio": 5.5,
    "master_bore": 22.225,
    "slave_bore": 53.0,
    "slave_core": 40.0,
    "pedal_spring": -30.0,
    "reserve": 6.0,
    "cover_travel": 15.0,
}
_TRUCK = {
    "pedal_travel": 230.0,
    "pedal_play": 5.0,
    "pedal_ratio": 5.2,
    "linkage_ratio": 1.5,
    "tip_play": 0.3,
    "tip_flex": 0.0005,
    "fork_ratio": 1.7,
    "reserve": 3.2,
    "efficiency": 0.8,
    "diaphragm_ratio": 5.5,
    "flat_load": 14000.0,
    "disc_lift": 0.4,
    "cushion": 0.1,
    "facing_outer": 355.0,
    "facing_inner": 215.0,
    "cover_travel": 18.0,
    "engine_torque": 1700e3,
    "finger_height": 60.0,
}


def _make(
    linkage: Linkage,
    fork: Layout,
    discs: int,
    *tables: Mapping[str, float],
    cover: Cover = "push",
) -> ReleaseSystem:
    """The bearing of a push cover rides on the fingers where a fluid carries the travel."""
    nominal: dict[str, float] = dict(_ALL)
    for table in tables:
        nominal.update(table)
    if fork == "none":
        for name in ("pivot_height", "fork_offset"):
            del nominal[name]
    figures = {
        name: Parameter(value, absolute + relative * abs(value))
        for name, value in nominal.items()
        for absolute, relative in (_TOLERANCES.get(name, (0.0, 0.0)),)
    }
    rides = cover == "push" and linkage in {"external_slave", "concentric_slave"}
    if not rides:
        figures |= {name: Parameter(0.0) for name in _TAKEN_UP}
        figures["finger_height"] = Parameter(nominal["finger_height"], 0.3)
    return ReleaseSystem(linkage, cover, fork, discs, rides, figures_of(figures))


PRESETS: Mapping[str, ReleaseSystem] = MappingProxyType(
    {
        "light_external": _make("external_slave", "middle_pivot", 1, _FLUID, _ONE_DISC, _OUTSIDE),
        "light_concentric": _make(
            "concentric_slave", "none", 1, _FLUID, _ONE_DISC, _ROUND_THE_SHAFT
        ),
        "light_concentric_dual_mass": _make(
            "concentric_slave", "none", 1, _FLUID, _ONE_DISC, _ROUND_THE_SHAFT, _DUAL_MASS
        ),
        "light_cable": _make("cable", "outboard_pivot", 1, _ONE_DISC, _CABLE),
        "old_rods": _make("rod", "middle_pivot", 1, _ONE_DISC, _RODS),
        "twin_external": _make(
            "external_slave", "outboard_pivot", 2, _FLUID, _TWO_DISCS, _OUTSIDE, _TWIN_OUTSIDE
        ),
        "twin_concentric": _make(
            "concentric_slave", "none", 2, _FLUID, _TWO_DISCS, _ROUND_THE_SHAFT, _TWIN_ROUND
        ),
        "truck_pull": _make("rod", "outboard_pivot", 2, _TWO_DISCS, _TRUCK, cover="pull"),
    }
)


def between_kits(system: ReleaseSystem, figures: Collection[str]) -> ReleaseSystem:
    """Give a system that stands for any kit of its arrangement, as far as some figures go.

    Parameters
    ----------
    system : ReleaseSystem
    figures : collection of str
        Those that are not known of the kit at hand; one that does not differ from kit to kit stays
        as it is.

    Returns
    -------
    ReleaseSystem
        With the scatter between kits beside that between specimens; nominal values stay.
    """
    changes: dict[str, Parameter] = {}
    for name, (absolute, relative) in _BETWEEN_KITS.items():
        if name in figures:
            old: Parameter = getattr(system.figures, name)
            between = absolute + relative * abs(old.nominal)
            changes[name] = old._replace(uncertainty=hypot(old.uncertainty, between))
    return replace(system, figures=replace(system.figures, **changes))
