"""A cause as it is drawn: the figures it moves, the parts it lies on, and how they look."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from diagnose.drawings.cutaway.measures import Kind, Pilot
from diagnose.drawings.cutaway.parts import PART_OF, PARTS_OF_CAUSE
from diagnose.drawings.cutaway.places import Form
from diagnose.effects import Effects, effects_for
from diagnose.network import UNKNOWN, compile_network
from diagnose.physics.predict import Shift
from diagnose.physics.release_system import ReleaseSystem
from diagnose.system import kit_figure
from knowledge.model import KnowledgeBase, Needs

# What is drawn of a cause beside what its figures move, by its zone and by the cause itself.
_ZONES: Mapping[str, Form] = MappingProxyType({"flywheel": "flywheel"})
FORMS: Mapping[str, Form] = MappingProxyType(
    {
        "cover_bolts_loose": "cover",
        "cover_not_seated": "cover",
        "plates_cut_too_far": "plate",
        "disc_left_out": "missing",
        "fork_off_pivot": "off_pivot",
        "pivot_broken": "off_pivot",
        "pivot_spacer_left_in": "spacer",
        "facing_oiled": "wet",
        "facing_greased": "wet",
        "facing_fluid_wet": "wet",
        "pilot_missing": "absent",
    }
)
_LEAST = 1e-9


@dataclass(frozen=True)
class Fault:
    """A cause as it is drawn.

    Attributes
    ----------
    id, name : str
    shifts : tuple of Shift
        What it does to the release system, on the average; none where it moves no figure.
    parts : frozenset of str
        Parts that carry the fault.
    form : str
        What is drawn of it beside what its figures move.
    designed : bool
        Whether it is no fault, but works as designed.
    """

    id: str
    name: str
    shifts: tuple[Shift, ...]
    parts: frozenset[str]
    form: Form = "discs"
    designed: bool = False


def fault_of(effects: Effects, cause: str) -> Fault | None:
    """Give a cause as it is drawn; None if it lies on nothing that is drawn.

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
    parts = PARTS_OF_CAUSE.get(cause) or parts_of(shifts)
    if not parts:
        return None
    form = FORMS.get(cause, _ZONES.get(record.zone, "discs"))
    return Fault(cause, record.name, shifts, parts, form, record.kind == "designed")


def parts_of(shifts: Iterable[Shift]) -> frozenset[str]:
    """Give the parts that the figures of some shifts are drawn on."""
    return frozenset(PART_OF[s.figure] for s in shifts if s.figure in PART_OF)


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
