"""The sizes a release system is drawn with, in mm.

From the model or the kit's sheet: diameters of the facings, thickness of disc and floater, the
lever ratio of the cover (which sets where its fulcrum lies between plate and finger tips), the
reserve between bearing and fingers, the fork's ratio, the bores of the cylinders, the pedal's
ratio and travel, and the travel the cover allows.

In fixed proportion to the facing's outer diameter, since the model has no figure for them:
flywheel, crankshaft, pilot, input shaft, quill, hub and damper springs, thickness of the pressure
plate, the shell of the cover, diameters and length of the bearing, the housing, how far the pivot
lies from the shaft, and the length of the pedal (1.9 times its travel). The way of pipe, cable and
rods is a diagram.
"""

from dataclasses import dataclass
from math import isfinite
from typing import Literal

from diagnose.drawings.cutaway.shapes import Point
from diagnose.physics.fork import tip_share
from diagnose.physics.release_system import ReleaseSystem
from knowledge.release import SHEET_FIGURES

Pilot = Literal["bearing", "bush", "none"]

_REFERENCE = 228.0  # mm, outer diameter of the facing that the proportions are told for
_FARTHEST = 1.15  # times the housing, the pivot lies from the shaft at the most
_LEVERS_OUT = 6.0  # mm, release levers stand out of their plane
_PEDAL = 1.9  # length of the pedal over its travel
_WORK = 8.0  # mm of bearing travel that the fork stands square in the middle of


@dataclass(frozen=True)
class Kind:
    """What the release system's figures do not tell of the clutch.

    Attributes
    ----------
    dual_mass : bool
    pilot : str
        What carries the tip of the shaft.
    disc, floater : float
        Clamped thickness, mm.
    """

    dual_mass: bool = False
    pilot: Pilot = "bearing"
    disc: float = SHEET_FIGURES["disc_thickness"].usual or 0.0
    floater: float = SHEET_FIGURES["floater_thickness"].usual or 0.0


@dataclass(frozen=True)
class Measures:
    """Sizes and design places; x is 0 on the designed friction face, growing toward the gearbox.

    Attributes
    ----------
    system : ReleaseSystem
    kind : Kind
    unit : float
        The facing's outer diameter over that of the proportions.
    side : float
        1 where release moves the bearing toward the engine, -1 toward the gearbox.
    levers : bool
        Whether levers and coil springs work the plate, not a diaphragm.
    inner, outer : float
        Radii of the facings.
    stack, plate : float
        Clamped height of discs and floaters; thickness of the pressure plate.
    ring, tips : float
        Where the diaphragm lies flat, and its tips stand.
    r_plate, r_fulcrum, r_tip : float
        Radii where the diaphragm bears on the plate, turns, and ends.
    bearing, contact : float
        Length of the bearing from its face to the fork; where the fork touches it at its back stop.
    shaft, quill, core : float
        Radii of shaft and quill, and of the bearing inside.
    housing : float
        Radius of the housing.
    arm, pivot : float
        From the shaft to the pivot; where the pivot stands along the shaft. 0 without a fork.
    wall : float
        Front face of the gearbox.
    pedal : float
        Length of the pedal.
    """

    system: ReleaseSystem
    kind: Kind
    unit: float
    side: float
    levers: bool
    inner: float
    outer: float
    stack: float
    plate: float
    ring: float
    tips: float
    r_plate: float
    r_fulcrum: float
    r_tip: float
    bearing: float
    contact: float
    shaft: float
    quill: float
    core: float
    housing: float
    arm: float
    pivot: float
    wall: float
    pedal: float

    @property
    def forked(self) -> bool:
        """Whether a fork moves the bearing."""
        return self.system.fork != "none"

    @property
    def tip_way(self) -> float:
        """1 where release moves the fork tip toward the gearbox, -1 toward the engine."""
        return self.side if self.system.fork == "middle_pivot" else -self.side

    @property
    def flywheel_back(self) -> float:
        """Where the flywheel is bolted to the crankshaft."""
        return (-50.0 if self.kind.dual_mass else -24.0) * self.unit

    @property
    def tip_y(self) -> float:
        """How far below the shaft the fork's tip lies, mm: where the actuator is bolted on."""
        ratio = self.system.figures.fork_ratio.nominal
        return self.arm * (ratio + 1.0 if self.system.fork == "middle_pivot" else ratio - 1.0)

    def turning(self, ratio: float, *, off_pivot: bool = False) -> Point:
        """Give how far below the shaft a fork of a ratio turns and touches the bearing, mm.

        Pivot and actuator are bolted on, so a fork of another ratio touches the bearing beside its
        middle. One that is off its pivot turns somewhere else instead.
        """
        share = float(tip_share(ratio, self.system.fork))
        if off_pivot:
            return -share * self.tip_y / (1.0 - share), 0.0
        return self.pivot_y, self.pivot_y + share * (self.tip_y - self.pivot_y)

    @property
    def pivot_y(self) -> float:
        """How far below the shaft the pivot lies, mm; negative above."""
        return self.arm if self.system.fork == "middle_pivot" else -self.arm

    @property
    def pulled(self) -> bool:
        """Whether the tip is drawn toward the actuator, not pushed away from it."""
        if not self.system.hydraulic:
            return True
        return self.tip_way > 0.0 and self.tip_y < self.housing + 16.0 * self.unit

    @property
    def actuator_way(self) -> float:
        """1 where the actuator lies on the gearbox's side of the tip, -1 on the engine's."""
        return self.tip_way if self.pulled else -self.tip_way


def measures_of(system: ReleaseSystem, kind: Kind | None = None) -> Measures:
    """Give the sizes that a healthy release system is drawn with.

    Parameters
    ----------
    system : ReleaseSystem
    kind : Kind, optional
    """
    kind = Kind() if kind is None else kind
    f = system.figures
    outer, inner = f.facing_outer.nominal / 2.0, f.facing_inner.nominal / 2.0
    unit = 2.0 * outer / _REFERENCE
    side = 1.0 if system.cover == "push" else -1.0
    levers = f.cone_ratio.nominal == 0.0
    stack = system.discs * kind.disc + (system.discs - 1) * kind.floater
    plate = 13.0 * unit
    room = f.cover_travel.nominal if isfinite(f.cover_travel.nominal) else 14.0
    ring = stack + (max(24.0 * unit, room + 10.0) if side > 0.0 else 24.0 * unit)
    coned = f.cone_height.nominal - f.set_deflection.nominal
    tips = ring + (_LEVERS_OUT if levers else side * f.diaphragm_ratio.nominal * coned)
    r_tip = 25.0 * unit
    r_plate, r_fulcrum = _lever(f.diaphragm_ratio.nominal, r_tip, outer, side)
    core = f.slave_core.nominal / 2.0
    quill = min(16.5 * unit, core - 1.0) if core > 0.0 else 16.5 * unit
    # A fork that leads past the cover needs room behind it.
    push = 33.0 if system.fork == "outboard_pivot" else 26.0
    bearing = (push if side > 0.0 else 44.0) * unit
    contact = tips + side * f.reserve.nominal + bearing
    housing = outer + 24.0 * unit
    arm, pivot = 0.0, 0.0
    if system.fork != "none":
        arm = _arm(system, housing, unit, side)
        pivot = contact - side * (f.reserve.nominal + _WORK / 2.0)
    ends = contact if side > 0.0 else contact + f.reserve.nominal + room
    wall = ends + (22.0 if system.fork != "none" else 30.0) * unit
    return Measures(
        system, kind, unit, side, levers, inner, outer, stack, plate, ring, tips,
        r_plate, r_fulcrum, r_tip, bearing, contact, 11.0 * unit, quill,
        max(17.0 * unit, quill + 0.5), housing, arm, pivot, wall,
        _PEDAL * f.pedal_travel.nominal,
    )  # fmt: skip


def _lever(ratio: float, tip: float, outer: float, side: float) -> tuple[float, float]:
    """Radii of plate and fulcrum, so that the arms of the lever are as its ratio says."""
    if side > 0.0:
        plate = 0.89 * outer
        return plate, (tip + ratio * plate) / (1.0 + ratio)
    fulcrum = 0.93 * outer
    return fulcrum - (fulcrum - tip) / ratio, fulcrum


def _arm(system: ReleaseSystem, housing: float, unit: float, side: float) -> float:
    """How far the pivot lies from the shaft, so that the tip comes out where there is room."""
    ratio = system.figures.fork_ratio.nominal
    if system.fork == "middle_pivot":
        return max(46.0 * unit, (housing + 26.0 * unit) / (1.0 + ratio))
    beside = side > 0.0 and not system.hydraulic  # drawn past the clutch, toward the engine
    wanted = housing + 20.0 * unit if beside else 88.0 * unit
    farthest = _FARTHEST * housing
    return min(farthest, max(70.0 * unit, wanted / max(ratio - 1.0, 1e-3)))
