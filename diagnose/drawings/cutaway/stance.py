"""Where a release system stands at a travel of the pedal, asked of the release model itself."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from math import isfinite

import numpy as np

from diagnose.physics.domain import Floats, Real
from diagnose.physics.figures import FIGURE_NAMES, HIGHEST, LOWEST
from diagnose.physics.hydraulics import pressure_of
from diagnose.physics.observables import clearance, engagement_travel, pad_force
from diagnose.physics.predict import Shift
from diagnose.physics.release_chain import Chain, chain_of
from diagnose.physics.release_system import ReleaseSystem


@dataclass(frozen=True)
class Stance:
    """One position of the pedal; travels in mm from the pedal at rest.

    Attributes
    ----------
    pad, rod, master : float
        Travel of the pad, of the push rod or cable at the pedal, and of what it moves: the rod's
        less the play at the pedal.
    actuator, tip : float
        Travel of the slave or the linkage's end, and of the fork tip it pushes. With a cylinder
        round the shaft both are that of the bearing.
    bearing, fingers, lift : float
        Travel of the bearing and of the finger tips from where they stand free; lift of the plate.
    gap : float
        Bearing to fingers if they stood free; negative by what the bearing has pressed them.
    needed : float
        Lift at which all faces are free, mm.
    clearance : float
        Of each face, mm; negative by what is missing.
    finger_load, force : float
        N, on the fingers and at the pad.
    pressure : float
        MPa in the line; 0 without a fluid.
    """

    pad: float
    rod: float
    master: float
    actuator: float
    tip: float
    bearing: float
    fingers: float
    lift: float
    gap: float
    needed: float
    clearance: float
    finger_load: float
    force: float
    pressure: float

    @property
    def touching(self) -> bool:
        """Whether the bearing has met the fingers."""
        return self.gap <= _TOUCH

    @property
    def free(self) -> bool:
        """Whether every face is free."""
        return self.clearance > 0.0


_TOUCH = 1e-7  # mm
_KEPT = 8


@dataclass(frozen=True)
class Motion:
    """A release system with its faults, ready to be asked at any travel of the pedal.

    Attributes
    ----------
    system : ReleaseSystem
        Its arrangement, and the figures that it is healthy with.
    chain : Chain
        With the figures as the faults leave them; arrays of shape (1,).
    """

    system: ReleaseSystem
    chain: Chain

    def figure(self, name: str) -> float:
        """Give a figure as the faults leave it, in its inside unit."""
        return _one(getattr(self.chain.figures, name))

    @cached_property
    def travel(self) -> float:
        """Travel of the pad to its stop, mm."""
        return self.figure("pedal_travel")

    @cached_property
    def rest(self) -> Stance:
        """Where everything stands with the pedal up."""
        return self._asked(0.0)

    @cached_property
    def rest_gap(self) -> float:
        """Bearing to fingers with the pedal up, mm; negative: always loaded."""
        return _one(self.chain.rest_gap)

    @cached_property
    def gap(self) -> float:
        """Bearing to fingers with the fork or slave at its back stop, mm."""
        return _one(self.chain.gap)

    @cached_property
    def tips_out(self) -> float:
        """How far the free finger tips stand toward the gearbox of where they should, mm."""
        return _one(self.chain.finger_height) - self.figure("finger_height")

    @cached_property
    def bite(self) -> float:
        """Pad travel at which the clearance comes to zero on the way up, mm; may be off the way."""
        return _one(engagement_travel(self.chain))

    @property
    def bites(self) -> bool:
        """Whether the point of engagement lies on the pedal's way."""
        return isfinite(self.bite) and 0.0 <= self.bite <= self.travel

    def at(self, pad: float) -> Stance:
        """Ask where everything stands at a pad travel; beyond its stop the pedal does not go."""
        pad = min(max(pad, 0.0), self.travel)
        if pad not in self._known:
            if len(self._known) >= _KEPT:
                self._known.clear()
            self._known[pad] = self._asked(pad)
        return self._known[pad]

    @cached_property
    def _known(self) -> dict[float, Stance]:
        """What has been asked of late: a picture and its table ask the same thing."""
        return {}

    def _asked(self, pad: float) -> Stance:
        chain, f = self.chain, self.chain.figures
        pads = np.array([pad])
        path = chain.path_at(pads)
        tip = chain.tip_travel_at(pads, path)
        lift = np.maximum(path, 0.0)
        ratio = self.figure("pedal_ratio")
        rod = pad / ratio
        master = max(0.0, pad - self.figure("pedal_play")) / ratio
        play = min(_one(f.tip_play), master * _one(chain.travel_ratio))
        load = chain.fork_load(path)
        bearing = _one(tip / f.fork_ratio)
        return Stance(
            pad=pad,
            rod=rod,
            master=master,
            actuator=play + _one(tip),
            tip=_one(tip),
            bearing=bearing,
            fingers=_one(chain.finger_travel(path)),
            lift=_one(lift),
            gap=self.rest_gap - bearing,
            needed=_one(chain.lift_needed),
            clearance=_one(clearance(chain, lift)),
            finger_load=_one(chain.finger_load(path)),
            force=_one(pad_force(chain, load)),
            pressure=_one(pressure_of(load, chain.slave_area)) if self.system.hydraulic else 0.0,
        )

    def curve(self, count: int = 121) -> tuple[Floats, Floats, Floats]:
        """Give pad travels, clearances of each face in mm and forces on the pad in N, shape (n,).

        The clearance of a clutch that still grips is negative by what is missing.
        """
        pad = np.linspace(0.0, self.travel, count)
        chain = self.chain
        path = chain.path_at(pad)
        gap = clearance(chain, np.maximum(path, 0.0))
        return pad, gap, pad_force(chain, chain.fork_load(path))


def motion_of(system: ReleaseSystem, shifts: Iterable[Shift] = ()) -> Motion:
    """Give a release system in motion, with the mean of what some faults do to its figures.

    Parameters
    ----------
    system : ReleaseSystem
    shifts : iterable of Shift
        Shifts of one figure add up; a figure is stopped at its bounds, as in the predictions.
    """
    values = system.nominal.copy()
    for shift in shifts:
        values[FIGURE_NAMES.index(shift.figure)] += shift.amount
    values = np.clip(values, LOWEST, HIGHEST)
    return Motion(system, chain_of(system, values[:, np.newaxis]))


def _one(value: Real) -> float:
    return float(np.asarray(value).reshape(-1)[0])
