"""The chain from the pedal pad to the friction faces.

Volume lost depends on pressure, pressure on finger load, and finger load through the diaphragm on
the travel that is left. So the chain is told along a *path*: below 0 the bearing has met the
fingers and their load builds up (-1: just met); from 0 on the path is the lift of the pressure
plate in mm. Along the path everything is explicit, pad travel included; only "where on the path
is this pad travel" is searched for, within a bracket that always holds.

All functions work on many perturbed copies of one system at once: arrays of shape (B,), or (..., B)
for several path points.

References
----------
Boundaries of the model: friction of joints and seals acts on the pedal effort
only, the pedal is pressed slowly, and the fork is a straight line. Worked example: W1.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from diagnose.physics.diaphragm_spring import relative_load
from diagnose.physics.domain import Floats
from diagnose.physics.figures import FIGURE_NAMES, Figures
from diagnose.physics.fork import contact_position
from diagnose.physics.hydraulics import (
    air_loss,
    bore_area,
    compression_loss,
    hose_loss,
    pressure_of,
    ring_area,
)
from diagnose.physics.release_system import ReleaseSystem
from diagnose.physics.root import first_zero
from diagnose.physics.torque_capacity import wear_radius

_STEPS = 8  # of the walk beyond the cushion


@dataclass(frozen=True)
class Chain:
    """A release system with figures that may be perturbed.

    Attributes
    ----------
    system : ReleaseSystem
        Its arrangement counts here, not its figures.
    figures : Figures[Floats]
        An array of shape (B,) for each figure.
    """

    system: ReleaseSystem
    figures: Figures[Floats]

    @cached_property
    def side(self) -> float:
        """1 where release moves the bearing toward the engine, -1 toward the gearbox."""
        return 1.0 if self.system.cover == "push" else -1.0

    @cached_property
    def finger_height(self) -> Floats:
        """Height of the finger tips, gearbox out, in mm; more is nearer the gearbox.

        The diaphragm of a push cover turns over its fulcrum: a thicker stack sinks the tips. Under
        a pull cover the fulcrum lies at the rim and the tips go the way of the stack.
        """
        f = self.figures
        turned = self.side * f.diaphragm_ratio * f.stack_excess
        return f.finger_height + f.finger_offset - turned

    @cached_property
    def gap(self) -> Floats:
        """Bearing to fingers with the fork at its back stop, in mm; negative: always loaded."""
        f = self.figures
        # All positions are errors against the design, toward the gearbox.
        pivot = -f.pivot_height
        same_way = self.system.fork != "middle_pivot"
        tip = -self.side * f.back_stop if same_way else self.side * f.back_stop
        contact = contact_position(pivot, tip, f.fork_ratio, self.system.fork) - f.fork_offset
        fingers = self.finger_height - f.finger_height
        return np.asarray(f.reserve + self.side * (contact - f.bearing_height - fingers))

    @cached_property
    def rest_gap(self) -> Floats:
        """Bearing to fingers with the pedal up, in mm; negative: always loaded."""
        return np.minimum(self.figures.running_gap, self.gap) if self.system.rides else self.gap

    @cached_property
    def master_area(self) -> Floats:
        """Area of the master piston, in mm2."""
        return np.asarray(bore_area(self.figures.master_bore))

    @cached_property
    def slave_area(self) -> Floats:
        """Area of the slave piston, in mm2."""
        f = self.figures
        return np.asarray(ring_area(f.slave_bore, _inside(f.slave_core, f.slave_bore)))

    @cached_property
    def facing_radius(self) -> Floats:
        """Effective radius of the bedded facings, in mm."""
        f = self.figures
        return np.asarray(wear_radius(f.facing_outer, _inside(f.facing_inner, f.facing_outer)))

    @cached_property
    def travel_ratio(self) -> Floats:
        """Fork tip travel for each mm at the pedal's push rod, if nothing is lost."""
        if self.system.hydraulic:
            return self.master_area / self.slave_area
        return 1.0 / self.figures.linkage_ratio

    @cached_property
    def tip_limit(self) -> Floats:
        """Travel of the fork tip that the actuator allows with the pedal up to begin from, mm."""
        taken = self.figures.fork_ratio * (self.gap - self.rest_gap)
        return np.maximum(0.0, self.figures.actuator_stroke - taken)

    @cached_property
    def lift_needed(self) -> Floats:
        """Lift at which the last face comes free, in mm; uneven fingers tilt the plate."""
        f = self.figures
        tilt = f.finger_spread / (2.0 * f.diaphragm_ratio)
        return self.system.discs * f.disc_lift + f.extra_lift + tilt

    def spring_load(self, lift: Floats) -> Floats:
        """Load of the cover's spring at the plate circle, in N."""
        f = self.figures
        if self.system.load_model == "constant":
            return np.broadcast_to(f.diaphragm_ratio * f.finger_load, np.shape(lift))
        deflection = (f.set_deflection + f.stack_excess + lift) / f.cone_height
        relative = np.maximum(0.0, relative_load(deflection, f.cone_ratio))
        return f.load_factor * f.flat_load * relative

    def finger_load(self, path: Floats) -> Floats:
        """Load on the finger tips, in N; what the cushion still carries is not on the fingers."""
        f = self.figures
        lift = np.maximum(path, 0.0)
        load = self.spring_load(lift)
        if self.system.load_model == "diaphragm":
            load = load - self._clamp_unlifted * self._still_cushioned(lift)
        full = np.maximum(0.0, load / f.diaphragm_ratio)
        return full * self._built_up(path)

    def _still_cushioned(self, lift: Floats) -> Floats:
        """Share of the clamp load that the cushion springs of the discs still carry."""
        travel = self.system.discs * self.figures.cushion
        springy = travel > 0.0
        left = np.maximum(0.0, 1.0 - lift / np.where(springy, travel, 1.0))
        return np.where(springy, left, 0.0)

    @cached_property
    def _clamp_unlifted(self) -> Floats:
        return self.spring_load(np.zeros_like(self.figures.reserve))

    @staticmethod
    def _built_up(path: Floats) -> Floats:
        return np.clip(1.0 + path, 0.0, 1.0)

    def fork_load(self, path: Floats) -> Floats:
        """Load on the fork tip, in N."""
        drag = self.figures.bearing_drag * self._built_up(path)
        return (self.finger_load(path) + drag) / self.figures.fork_ratio

    def finger_travel(self, path: Floats) -> Floats:
        """Travel of the finger tips from where they stand free, in mm."""
        f = self.figures
        return f.diaphragm_ratio * np.maximum(path, 0.0) + f.finger_flex * self.finger_load(path)

    def tip_travel(self, path: Floats) -> Floats:
        """Travel of the fork tip from where it stands with the pedal up, in mm."""
        return self.figures.fork_ratio * (self.finger_travel(path) + self.rest_gap)

    def volume_lost(self, path: Floats) -> Floats:
        """Volume that the master displaces and the slave does not get, in mm3."""
        f = self.figures
        if not self.system.hydraulic:
            return np.zeros_like(path)
        pressure = pressure_of(self.fork_load(path), self.slave_area)
        leak = f.fluid_lost * self._built_up(path)
        squeezed = compression_loss(f.fluid, pressure, f.fluid_modulus)
        swollen = hose_loss(f.hose_length, pressure, f.hose_swell)
        return np.asarray(air_loss(f.air, pressure) + squeezed + swollen + leak)

    def pad_travel(self, path: Floats) -> Floats:
        """Travel of the pedal pad that it takes to get to a point of the path, in mm."""
        f = self.figures
        load = self.fork_load(path)
        rod = (self.tip_travel(path) + f.tip_play + f.tip_flex * load) / self.travel_ratio
        rod = rod + f.pedal_flex * load * self.travel_ratio
        if self.system.hydraulic:
            rod = rod + self.volume_lost(path) / self.master_area
        return f.pedal_play + f.pedal_ratio * rod

    @cached_property
    def rest(self) -> Floats:
        """Point of the path with the pedal up: -1 with a running gap, more if always loaded."""
        lift = -self.rest_gap / self.figures.diaphragm_ratio
        highest = np.where(lift > 0.0, lift, -1.0)
        walk = self.walk(np.full_like(highest, -1.0), highest)
        return first_zero(lambda path: self.finger_travel(path) + self.rest_gap, walk)

    def walk(self, low: Floats, high: Floats) -> Floats:
        """Points to walk from low to high, with those where the load turns among them."""
        unloaded = self.system.discs * self.figures.cushion
        corners = [np.clip(share * unloaded, low, high) for share in (0.0, 0.5, 1.0)]
        steps = corners[-1] + (high - corners[-1]) * np.linspace(0.0, 1.0, _STEPS + 1)[1:, None]
        return np.concatenate(([low, *corners], steps))

    def path_at(self, pad: Floats) -> Floats:
        """Point of the path that a slow press to a pad travel gets to.

        Parameters
        ----------
        pad : ndarray, shape (B,)
            mm.
        """
        scale = self.figures.pedal_ratio / self.travel_ratio

        def beyond(path: Floats) -> Floats:
            stopped = (self.tip_travel(path) - self.tip_limit) * scale
            return np.maximum(self.pad_travel(path) - pad, stopped)

        lossless = (self.free_tip_travel(pad) / self.figures.fork_ratio) - self.rest_gap
        lift = lossless / self.figures.diaphragm_ratio
        low = np.broadcast_to(self.rest, np.shape(lift))
        high = np.where(lift >= 0.0, np.maximum(lift, low), low)
        return first_zero(beyond, self.walk(low, high))

    def free_tip_travel(self, pad: Floats) -> Floats:
        """Tip travel at a pad travel if nothing resisted, in mm."""
        f = self.figures
        rod = np.maximum(0.0, pad - f.pedal_play) / f.pedal_ratio
        return np.maximum(0.0, rod * self.travel_ratio - f.tip_play)

    def tip_travel_at(self, pad: Floats, path: Floats) -> Floats:
        """Tip travel at a pad travel and the point of the path it leads to, in mm."""
        free = np.minimum(self.free_tip_travel(pad), self.tip_limit)
        return np.minimum(free, self.tip_travel(path))

    @cached_property
    def down(self) -> Floats:
        """Point of the path with the pedal at its stop."""
        return self.path_at(self.figures.pedal_travel)


def _inside(inner: Floats, outer: Floats) -> Floats:
    """Inner diameter of a ring; a shift of either one stops short of closing it."""
    return np.minimum(inner, 0.99 * outer)


def chain_of(system: ReleaseSystem, values: Floats | None = None) -> Chain:
    """Make the chain of a system.

    Parameters
    ----------
    system : ReleaseSystem
    values : ndarray, shape (P, B), optional
        Perturbed figures in the order of `FIGURE_NAMES`; the nominal ones if left out.
    """
    table = system.nominal[:, np.newaxis] if values is None else values
    columns = dict(zip(FIGURE_NAMES, table, strict=True))
    return Chain(system, Figures[Floats](**columns))
