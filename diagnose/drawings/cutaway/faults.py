"""What a cause moves in the drawing: figures of the release system, and the parts they are on."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from diagnose.drawings.cutaway.measures import Kind, Pilot
from diagnose.drawings.cutaway.places import StackFault
from diagnose.effects import Effects, effects_for
from diagnose.network import UNKNOWN, compile_network
from diagnose.physics.predict import Shift
from diagnose.physics.release_system import ReleaseSystem
from diagnose.system import kit_figure
from knowledge.model import KnowledgeBase, Needs

# The part that a figure is drawn on. What is not here (friction, engine torque) can't be seen.
PART_OF: Mapping[str, str] = MappingProxyType(
    {
        **dict.fromkeys(
            ("pedal_travel", "pedal_play", "pedal_ratio", "pedal_flex", "pedal_spring"), "pedal"
        ),
        "efficiency": "line",
        "master_bore": "master",
        "slave_bore": "slave",
        "slave_core": "slave",
        **dict.fromkeys(
            ("air", "fluid", "fluid_modulus", "fluid_lost", "hose_length", "hose_swell"), "line"
        ),
        "linkage_ratio": "line",
        "tip_play": "rod",
        "tip_flex": "rod",
        "actuator_stroke": "fork",
        "fork_ratio": "fork",
        "fork_offset": "fork",
        "back_stop": "rod",
        "pivot_height": "pivot",
        "reserve": "bearing",
        "running_gap": "bearing",
        "bearing_height": "bearing",
        "bearing_drag": "bearing",
        **dict.fromkeys(
            ("finger_height", "finger_offset", "finger_spread", "finger_flex", "cover_travel"),
            "fingers",
        ),
        **dict.fromkeys(("load_factor", "flat_load", "cone_height", "cone_ratio"), "fingers"),
        "set_deflection": "fingers",
        "stack_excess": "disc",
        **dict.fromkeys(("disc_lift", "extra_lift", "cushion"), "disc"),
    }
)
_STACK_PARTS: Mapping[StackFault, str] = MappingProxyType(
    {"discs": "disc", "flywheel": "flywheel", "cover": "cover", "plate": "plate", "missing": "disc"}
)
# Where the height is that a stack has too much or too little, where that is not in the discs; by
# the zone of the cause, and by the cause itself.
_ZONES: Mapping[str, StackFault] = MappingProxyType({"flywheel": "flywheel"})
STACK_FAULTS: Mapping[str, StackFault] = MappingProxyType(
    {
        "cover_bolts_loose": "cover",
        "cover_not_seated": "cover",
        "plates_cut_too_far": "plate",
        "disc_left_out": "missing",
    }
)
# A shift of the rest position only follows from these: the adjuster takes them up.
_FOLLOWS = "back_stop"
_LEAST = 1e-9


@dataclass(frozen=True)
class Fault:
    """A cause as it is drawn.

    Attributes
    ----------
    id, name : str
    shifts : tuple of Shift
        What it does to the release system, on the average.
    parts : frozenset of str
        Parts that carry the fault.
    stack : str
        What has the height that the stack has too much or too little.
    """

    id: str
    name: str
    shifts: tuple[Shift, ...]
    parts: frozenset[str]
    stack: StackFault = "discs"


def fault_of(effects: Effects, cause: str) -> Fault | None:
    """Give a cause as it is drawn; None if it moves nothing that is drawn.

    Raises
    ------
    KeyError
        If the set-up rules the cause out or the base does not hold it.
    """
    network = effects.network
    index = network.cause_index[cause]
    if cause == UNKNOWN:
        return None
    record = network.base.causes[cause]
    told = effects.shifts(effects.effects_of((index,)))
    shifts = tuple(s for s in told if s.figure in PART_OF and abs(s.amount) > _LEAST)
    if not shifts:
        return None
    stack = STACK_FAULTS.get(cause, _ZONES.get(record.zone, "discs"))
    return Fault(cause, record.name, shifts, parts_of(shifts, stack), stack)


def parts_of(shifts: Iterable[Shift], stack: StackFault = "discs") -> frozenset[str]:
    """Give the parts that carry shifts of figures."""
    figures = {s.figure for s in shifts if s.figure in PART_OF}
    if figures != {_FOLLOWS}:
        figures.discard(_FOLLOWS)
    return frozenset(
        _STACK_PARTS[stack] if name == "stack_excess" else PART_OF[name] for name in figures
    )


def faults_of(effects: Effects) -> tuple[Fault, ...]:
    """Give all causes that a set-up allows and that can be drawn, in the base's order."""
    drawn = (fault_of(effects, cause) for cause in effects.network.causes)
    return tuple(fault for fault in drawn if fault is not None)


def leading_fault(effects: Effects, causes: Iterable[str]) -> Fault | None:
    """Give the first of some causes, most probable first, that can be drawn."""
    drawn = (fault_of(effects, cause) for cause in causes)
    return next((fault for fault in drawn if fault is not None), None)


def effects_of_case(
    base: KnowledgeBase, facts: Needs, system: ReleaseSystem, kit: Mapping[str, str]
) -> Effects:
    """Give the effects of all causes on the release system of a case."""
    return effects_for(compile_network(base, facts), system, kit)


def kind_of(facts: Needs, system: ReleaseSystem, kit: Mapping[str, str]) -> Kind:
    """Give what the facts and the sheet tell of the clutch beside the release system.

    What is open is drawn as the most common: a solid flywheel and a pilot bearing.
    """
    told: tuple[Pilot, ...] = ("bearing", "bush", "none")
    pilot: Pilot = next((name for name in told if facts.get("pilot") == (name,)), "bearing")
    return Kind(
        dual_mass=facts.get("flywheel_kind") == ("dual_mass",),
        pilot=pilot,
        disc=kit_figure(system, kit, "disc_thickness"),
        floater=kit_figure(system, kit, "floater_thickness"),
    )
