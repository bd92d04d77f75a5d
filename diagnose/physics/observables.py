"""What a person can measure on a release system, each as a function of its chain.

Travel is told from the top of the pedal. `read` gives one number for one system; `read_many` gives
all wanted numbers for many perturbed copies.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from diagnose.errors import UnknownIdError
from diagnose.physics import torque_capacity as torque
from diagnose.physics.domain import Floats
from diagnose.physics.figures import FIGURE_KINDS, FIGURE_NAMES, Figures
from diagnose.physics.release_chain import Chain, chain_of
from diagnose.physics.release_system import ReleaseSystem

# At rest the master's piston stands this far behind its return port; judgement.
_PORT_WAY = 0.55  # mm
# Bearing to clutch brake as the ring of a heavy clutch sets it, 1/2 to 9/16 in (R-TRAVEL-1).
_BRAKE_GAP = 13.5  # mm


def pedal_travel(chain: Chain) -> Floats:
    """Travel of the pad from rest to its stop, in mm."""
    return chain.figures.pedal_travel


def pedal_free_play(chain: Chain) -> Floats:
    """Pad travel until the bearing meets the fingers, in mm."""
    f = chain.figures
    tip = f.fork_ratio * np.maximum(0.0, chain.rest_gap) + f.tip_play
    return f.pedal_play + f.pedal_ratio * tip / chain.travel_ratio


def push_rod_play(chain: Chain) -> Floats:
    """Pad travel until the push rod meets the master's piston, in mm.

    The rest of the play at the pad is the piston's way to its return port. Negative where the rod
    holds the piston in: such a rod has no play, so a reading of none is *at most* none.
    """
    f = chain.figures
    return f.pedal_play - f.pedal_ratio * _PORT_WAY


def master_stroke(chain: Chain) -> Floats:
    """Travel of the push rod or cable at the pedal, pedal to its stop, in mm."""
    f = chain.figures
    return np.maximum(0.0, f.pedal_travel - f.pedal_play) / f.pedal_ratio


def fluid_displaced(chain: Chain) -> Floats:
    """Volume displaced by the master, pedal to its stop, in mm3."""
    return chain.master_area * master_stroke(chain)


def fork_tip_travel(chain: Chain) -> Floats:
    """Travel of the fork tip, pedal to its stop, in mm."""
    return chain.tip_travel_at(chain.figures.pedal_travel, chain.down)


def bearing_travel(chain: Chain) -> Floats:
    """Travel of the release bearing, pedal to its stop, in mm."""
    return fork_tip_travel(chain) / chain.figures.fork_ratio


def fork_free_travel(chain: Chain) -> Floats:
    """Travel of the fork tip from its back stop until the bearing meets the fingers, in mm.

    Negative where the fingers hold the fork off its back stop already: such a fork does not move,
    so a reading of none is a reading of *at most* none.
    """
    return chain.figures.fork_ratio * chain.gap


def finger_height(chain: Chain) -> Floats:
    """Height of the finger tips in the kit's own datum, mm; more is nearer the gearbox."""
    return chain.finger_height


def finger_spread(chain: Chain) -> Floats:
    """Highest less lowest finger tip, in mm."""
    return chain.figures.finger_spread


def bearing_gap(chain: Chain) -> Floats:
    """Bearing to fingers with the pedal up, in mm; negative where it is always loaded."""
    return chain.rest_gap


def bearing_reserve(chain: Chain) -> Floats:
    """Bearing to fingers with the fork or slave at its back stop, in mm."""
    return chain.gap


def standoff_error(chain: Chain) -> Floats:
    """Bearing to fingers, the cylinder round the shaft pushed right back, less what is designed.

    In mm; positive: too far from the fingers.
    """
    f = chain.figures
    return chain.side * (f.finger_height - chain.finger_height - f.bearing_height)


def brake_gap(chain: Chain) -> Floats:
    """Release bearing of a pull cover to the clutch brake, pedal up, in mm.

    The bearing hangs on the fingers: as they come toward the gearbox, it comes toward the brake.
    """
    f = chain.figures
    return _BRAKE_GAP + f.finger_height - chain.finger_height


def finger_travel(chain: Chain) -> Floats:
    """Travel of the finger tips, and of a bearing that hangs on them, pedal to its stop, in mm."""
    return chain.finger_travel(chain.down)


def plate_lift(chain: Chain) -> Floats:
    """Lift of the pressure plate, pedal to its stop, in mm."""
    return np.maximum(chain.down, 0.0)


def clearance_per_face(chain: Chain) -> Floats:
    """Clearance of each face, pedal to its stop, in mm; negative: the clutch never comes free."""
    return clearance(chain, plate_lift(chain))


def clearance(chain: Chain, lift: Floats) -> Floats:
    """Clearance of each face at a lift, in mm."""
    return (lift - chain.lift_needed) / (2.0 * chain.system.discs)


def overtravel_margin(chain: Chain) -> Floats:
    """Finger travel that the cover allows beyond what the pedal gives, in mm.

    The fingers stop at a place, so tips that stand nearer to it have less to go.
    """
    f = chain.figures
    begun = chain.side * (f.finger_height - chain.finger_height)
    return f.cover_travel - begun - chain.finger_travel(chain.down)


def engagement_travel(chain: Chain) -> Floats:
    """Pad travel at which the clearance comes to zero on the way up, in mm.

    Beyond the pedal's stop for a clutch that never comes free; negative for one that never grips
    fully.
    """
    return chain.pad_travel(chain.lift_needed)


def engagement_share(chain: Chain) -> Floats:
    """Engagement travel as a share of the pedal's travel."""
    return engagement_travel(chain) / chain.figures.pedal_travel


def engagement_height(chain: Chain) -> Floats:
    """Height of the pad above its stop where the clutch bites, in mm."""
    return chain.figures.pedal_travel - engagement_travel(chain)


def pedal_effort(chain: Chain) -> Floats:
    """Greatest force on the pad during a slow press, in N."""
    return pad_force(chain, chain.press.greatest_load(chain.rest, chain.down))


def pad_force(chain: Chain, fork_load: Floats) -> Floats:
    """Force on the pad at a load of the fork, in N."""
    f = chain.figures
    at_rod = fork_load * chain.travel_ratio
    return at_rod / (f.pedal_ratio * f.efficiency) + f.pedal_spring


def clamp_load(chain: Chain) -> Floats:
    """Clamp load with the pedal up, in N; an always loaded bearing takes its part."""
    lift = np.maximum(chain.rest, 0.0)
    carried = chain.figures.diaphragm_ratio * chain.finger_load(chain.rest)
    return np.maximum(0.0, chain.spring_load(lift) - carried)


def torque_capacity(chain: Chain) -> Floats:
    """Torque at which the bedded facings slip with the pedal up, in N mm."""
    faces, friction = 2 * chain.system.discs, chain.figures.friction
    clamp = clamp_load(chain)
    return np.asarray(torque.torque_capacity(faces, friction, clamp, chain.facing_radius))


def slip_margin(chain: Chain) -> Floats:
    """Torque capacity over engine torque."""
    return np.asarray(torque.slip_margin(torque_capacity(chain), chain.figures.engine_torque))


class Observable(NamedTuple):
    """A quantity that can be read.

    Attributes
    ----------
    function : callable
        Gives it for a chain, shape (B,).
    needs : str
        ``fork``, ``fluid``, ``ring`` (a cylinder round the shaft) or ``pull`` (a pull cover) where
        it exists only with one; else ``""``.
    """

    function: Callable[[Chain], Floats]
    needs: str = ""


OBSERVABLES: dict[str, Observable] = {
    "pedal_travel": Observable(pedal_travel),
    "pedal_free_play": Observable(pedal_free_play),
    "push_rod_play": Observable(push_rod_play, "fluid"),
    "engagement_travel": Observable(engagement_travel),
    "engagement_share": Observable(engagement_share),
    "engagement_height": Observable(engagement_height),
    "pedal_effort": Observable(pedal_effort),
    "master_stroke": Observable(master_stroke),
    "fluid_displaced": Observable(fluid_displaced, "fluid"),
    "fork_tip_travel": Observable(fork_tip_travel, "fork"),
    "fork_free_travel": Observable(fork_free_travel, "fork"),
    "bearing_travel": Observable(bearing_travel),
    "bearing_gap": Observable(bearing_gap),
    "bearing_reserve": Observable(bearing_reserve),
    "standoff_error": Observable(standoff_error, "ring"),
    "brake_gap": Observable(brake_gap, "pull"),
    "finger_travel": Observable(finger_travel),
    "finger_height": Observable(finger_height),
    "finger_spread": Observable(finger_spread),
    "plate_lift": Observable(plate_lift),
    "clearance_per_face": Observable(clearance_per_face),
    "overtravel_margin": Observable(overtravel_margin),
    "clamp_load": Observable(clamp_load),
    "torque_capacity": Observable(torque_capacity),
    "slip_margin": Observable(slip_margin),
}


def observables_of(system: ReleaseSystem) -> tuple[str, ...]:
    """Names of what can be read on a system."""
    having = {
        "": True,
        "fork": system.fork != "none",
        "ring": system.fork == "none",
        "fluid": system.hydraulic,
        "pull": system.cover == "pull",
    }
    return tuple(name for name, o in OBSERVABLES.items() if having[o.needs])


def read(system: ReleaseSystem, name: str) -> float:
    """Value of one observable of a system with its nominal figures.

    Raises
    ------
    UnknownIdError
        If the system has no such observable.
    """
    return float(read_many(system, (name,))[0, 0])


def read_many(system: ReleaseSystem, names: Sequence[str], values: Floats | None = None) -> Floats:
    """Values of several observables for many perturbed copies of a system.

    Parameters
    ----------
    system : ReleaseSystem
    names : sequence of str
    values : ndarray, shape (P, B), optional
        Perturbed figures; the nominal ones if left out.

    Returns
    -------
    ndarray, shape (n, B)

    Raises
    ------
    UnknownIdError
        If the system has no such observable.
    """
    _require_known(system, names)
    chain = chain_of(system, values)
    return np.array([OBSERVABLES[name].function(chain) for name in names])


def _require_known(system: ReleaseSystem, names: Sequence[str]) -> None:
    known = observables_of(system)
    for name in names:
        if name not in known:
            raise UnknownIdError(f"This release system has no {name!r} to read.")


@lru_cache(maxsize=256)
def figures_behind(system: ReleaseSystem, names: tuple[str, ...]) -> frozenset[str]:
    """Give the figures that some observables are made of; no other figure can move them.

    Raises
    ------
    UnknownIdError
        If the system has no such observable.
    """
    _require_known(system, names)
    looked_at: set[str] = set()

    class Watched(Figures[Floats]):
        def __getattribute__(self, name: str) -> object:
            looked_at.add(name)
            return super().__getattribute__(name)

    nominal = {
        name: np.array([value]) for name, value in zip(FIGURE_NAMES, system.nominal, strict=True)
    }
    chain = Chain(system, Watched(**nominal))
    for name in names:
        OBSERVABLES[name].function(chain)
    return frozenset(looked_at) & FIGURE_KINDS.keys()


@dataclass(frozen=True)
class PedalCurve:
    """What happens along a slow press of the pedal; arrays of one shape (n,).

    Attributes
    ----------
    pad, tip, bearing, lift, clearance : ndarray
        Pad travel, fork tip (slave) travel, bearing travel, plate lift and clearance per face, mm.
    finger_load, force : ndarray
        Load on the fingers and force on the pad, N.
    """

    pad: Floats
    tip: Floats
    bearing: Floats
    lift: Floats
    clearance: Floats
    finger_load: Floats
    force: Floats


def pedal_curve(system: ReleaseSystem, *, count: int = 151) -> PedalCurve:
    """Give the course of all travels and loads over the pad's travel.

    Parameters
    ----------
    system : ReleaseSystem
    count : int
        Points, evenly spaced from the pad's rest to its stop; at least 2.
    """
    pad = np.linspace(0.0, system.figures.pedal_travel.nominal, count)
    chain = chain_of(system)
    path = chain.path_at(pad)
    tip = chain.tip_travel_at(pad, path)
    lift = np.maximum(path, 0.0)
    return PedalCurve(
        pad,
        tip,
        tip / chain.figures.fork_ratio,
        lift,
        clearance(chain, lift),
        chain.finger_load(path),
        pad_force(chain, chain.fork_load(path)),
    )
