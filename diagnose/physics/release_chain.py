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

from diagnose.physics.diaphragm_spring import relative_load_terms
from diagnose.physics.domain import Floats
from diagnose.physics.figures import FIGURE_NAMES, Figures
from diagnose.physics.fork import contact_position
from diagnose.physics.hydraulics import (
    ATMOSPHERE,
    air_loss,
    bore_area,
    compression_loss,
    hose_loss,
    pressure_of,
    ring_area,
)
from diagnose.physics.press import Press, contact, pressed_to
from diagnose.physics.release_system import ReleaseSystem
from diagnose.physics.root import first_zero
from diagnose.physics.torque_capacity import wear_radius


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

    @cached_property
    def press(self) -> Press:
        """Loads and travels along the path, as terms worked out once."""
        f = self.figures
        load, slope, bend, twist = self._spring_terms
        given, passed, air, air_load = self._line_terms
        cushion = self.system.discs * f.cushion
        springy = (cushion > 0.0) & (self.system.load_model == "diaphragm")
        tip_lift = f.fork_ratio * f.diaphragm_ratio
        tip_load = f.fork_ratio * f.fork_ratio * f.finger_flex
        tip_contact = -f.fork_ratio * f.finger_flex * f.bearing_drag
        pad_per_tip = f.pedal_ratio / self.travel_ratio
        bracket = f.pedal_ratio * f.pedal_flex * self.travel_ratio
        return Press(
            load=load,
            slope=slope,
            bend=bend,
            twist=twist,
            carried=np.where(springy, np.maximum(load, 0.0), 0.0),
            cushion=cushion,
            per_cushion=np.where(springy, 1.0 / np.where(springy, cushion, 1.0), 0.0),
            drag=f.bearing_drag / f.fork_ratio,
            tip_start=f.fork_ratio * self.rest_gap,
            tip_lift=tip_lift,
            tip_load=tip_load,
            tip_contact=tip_contact,
            pad_start=f.pedal_play + pad_per_tip * (f.fork_ratio * self.rest_gap + f.tip_play),
            pad_lift=pad_per_tip * tip_lift,
            pad_load=pad_per_tip * (tip_load + f.tip_flex) + bracket + f.pedal_ratio * given,
            pad_contact=pad_per_tip * tip_contact + f.pedal_ratio * passed,
            pad_air=f.pedal_ratio * air,
            air_load=air_load,
        )

    @cached_property
    def _spring_terms(self) -> tuple[Floats, Floats, Floats, Floats]:
        """Load of the cover's spring at the fork as a cubic of the lift, in N and mm."""
        f = self.figures
        if self.system.load_model == "constant":
            none = np.zeros_like(f.finger_load)
            return f.finger_load / f.fork_ratio, none, none, none
        deflection = (f.set_deflection + f.stack_excess) / f.cone_height
        flat = f.load_factor * f.flat_load / (f.diaphragm_ratio * f.fork_ratio)
        load, slope, bend, twist = relative_load_terms(deflection, f.cone_ratio)
        per = 1.0 / f.cone_height
        return flat * load, flat * slope * per, flat * bend * per**2, flat * twist * per**3

    @cached_property
    def _line_terms(self) -> tuple[Floats, Floats, Floats, Floats]:
        """Push rod travel that the fluid takes.

        What gives in proportion to the load on the fork, mm/N; what passes a seal, mm; all of the
        air, mm; and the load that squeezes out half of it, N.
        """
        f = self.figures
        if not self.system.hydraulic:
            none = np.zeros_like(f.air)
            return none, none, none, none + 1.0
        per_pressure = compression_loss(f.fluid, 1.0, f.fluid_modulus)
        per_pressure = per_pressure + hose_loss(f.hose_length, 1.0, f.hose_swell)
        return (
            per_pressure / (self.slave_area * self.master_area),
            f.fluid_lost / self.master_area,
            f.air / self.master_area,
            ATMOSPHERE * self.slave_area,
        )

    def spring_load(self, lift: Floats) -> Floats:
        """Load of the cover's spring at the plate circle, in N."""
        load, slope, bend, twist = self._spring_terms
        at_fork = load + lift * (slope + lift * (bend + lift * twist))
        f = self.figures
        return np.maximum(at_fork, 0.0) * f.diaphragm_ratio * f.fork_ratio

    def finger_load(self, path: Floats) -> Floats:
        """Load on the finger tips, in N; what the cushion still carries is not on the fingers."""
        return self.press.finger_load(path) * self.figures.fork_ratio

    def fork_load(self, path: Floats) -> Floats:
        """Load on the fork tip, in N."""
        return self.press.fork_load(path)

    def finger_travel(self, path: Floats) -> Floats:
        """Travel of the finger tips from where they stand free, in mm."""
        f = self.figures
        return f.diaphragm_ratio * np.maximum(path, 0.0) + f.finger_flex * self.finger_load(path)

    def tip_travel(self, path: Floats) -> Floats:
        """Travel of the fork tip from where it stands with the pedal up, in mm."""
        return self.press.tip_travel(path)

    def pad_travel(self, path: Floats) -> Floats:
        """Travel of the pedal pad that it takes to get to a point of the path, in mm."""
        return self.press.pad_travel(path)

    def volume_lost(self, path: Floats) -> Floats:
        """Volume that the master displaces and the slave does not get, in mm3."""
        f = self.figures
        if not self.system.hydraulic:
            return np.zeros_like(path)
        pressure = pressure_of(self.fork_load(path), self.slave_area)
        squeezed = compression_loss(f.fluid, pressure, f.fluid_modulus)
        swollen = hose_loss(f.hose_length, pressure, f.hose_swell)
        leak = f.fluid_lost * contact(path)
        return np.asarray(air_loss(f.air, pressure) + squeezed + swollen + leak)

    @cached_property
    def rest(self) -> Floats:
        """Point of the path with the pedal up: -1 with a running gap, more if always loaded."""
        found = np.full_like(self.rest_gap, -1.0)
        loaded = np.flatnonzero(self.rest_gap < 0.0)
        press = self.press.at(loaded)
        walk = press.walk(found[loaded], -press.tip_start / press.tip_lift)
        found[loaded] = first_zero(press.tip_travel, np.stack([*walk]))
        return found

    def path_at(self, pad: Floats) -> Floats:
        """Point of the path that a slow press to a pad travel gets to.

        Parameters
        ----------
        pad : ndarray, shape (B,)
            mm.
        """
        lossless = (self.free_tip_travel(pad) / self.figures.fork_ratio) - self.rest_gap
        lift = lossless / self.figures.diaphragm_ratio
        high = np.where(lift >= 0.0, np.maximum(lift, self.rest), self.rest)
        # One system may be pressed to many travels at once.
        press = Press(*np.broadcast_arrays(*self.press, high)[:-1])
        tip, low = np.broadcast_arrays(self.tip_limit, self.rest, high)[:-1]
        return pressed_to(press, pad, tip, low, high)

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
