"""The course of one slow press of the pedal: loads and travels along its path.

From -1 to 0 on the path the bearing, which has met the fingers, takes up their load; from 0 on the
path is the lift of the pressure plate in mm. Along it the load on the fork is a cubic of the lift
less what the cushion still carries, and a travel is a sum of the lift, the load, and what the load
squeezes out of trapped air. `release_chain` says what the terms are made of.
"""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.physics.domain import Floats
from diagnose.physics.root import first_zero

_STEPS = 8  # of the walk beyond the cushion
_ROUNDS = 8  # of Newton's method, before the path is walked instead
_SETTLED = 1e-9  # mm; the step after such a one would be some 1e-18


class Press(NamedTuple):
    """The terms of loads and travels; arrays of shape (B,), a column for each perturbed copy.

    Attributes
    ----------
    load, slope, bend, twist : ndarray
        The spring's load at the fork as a cubic of the lift: N, N/mm, N/mm2, N/mm3.
    carried : ndarray
        What the cushion carries of it before any lift, N.
    cushion, per_cushion : ndarray
        Lift that unloads the cushion, mm, and one over it; 0 where nothing is carried.
    drag : ndarray
        Load on the fork besides, N.
    tip_start, tip_lift, tip_load, tip_contact : ndarray
        Travel of the fork tip: at first, mm; for each mm of lift; for each N; for the contact, mm.
    pad_start, pad_lift, pad_load, pad_contact : ndarray
        The same for the pedal pad.
    pad_air, air_load : ndarray
        Pad travel that all of the trapped air would take, mm; load that squeezes out half of it, N.
    """

    load: Floats
    slope: Floats
    bend: Floats
    twist: Floats
    carried: Floats
    cushion: Floats
    per_cushion: Floats
    drag: Floats
    tip_start: Floats
    tip_lift: Floats
    tip_load: Floats
    tip_contact: Floats
    pad_start: Floats
    pad_lift: Floats
    pad_load: Floats
    pad_contact: Floats
    pad_air: Floats
    air_load: Floats

    def at(self, columns: NDArray[np.intp]) -> "Press":
        """Take some of the columns."""
        return Press(*(term[columns] for term in self))

    def finger_load(self, path: Floats) -> Floats:
        """Load that the fingers put on the fork, in N."""
        return self._met(path) * contact(path)

    def fork_load(self, path: Floats) -> Floats:
        """Load on the fork, in N."""
        return (self._met(path) + self.drag) * contact(path)

    def _met(self, path: Floats) -> Floats:
        """Load of the fingers on the fork once it has built up, in N."""
        lift = np.maximum(path, 0.0)
        load = self.load + lift * (self.slope + lift * (self.bend + lift * self.twist))
        return np.maximum(load - self.carried * np.maximum(1.0 - lift * self.per_cushion, 0.0), 0.0)

    def tip_travel(self, path: Floats) -> Floats:
        """Travel of the fork tip that leads to a point of the path, in mm."""
        moved = self.tip_start + self.tip_lift * np.maximum(path, 0.0)
        return moved + self.tip_load * self.fork_load(path) + self.tip_contact * contact(path)

    def pad_travel(self, path: Floats) -> Floats:
        """Travel of the pedal pad that leads to a point of the path, in mm."""
        load = self.fork_load(path)
        moved = self.pad_start + self.pad_lift * np.maximum(path, 0.0)
        moved = moved + self.pad_load * load + self.pad_contact * contact(path)
        return moved + self.pad_air * load / (self.air_load + load)

    def greatest_load(self, low: Floats, high: Floats) -> Floats:
        """Greatest load on the fork on the walk from low to high, in N."""
        most = self.fork_load(low)
        for point in self.walk(low, high):
            np.maximum(most, self.fork_load(point), out=most)
        return most

    def walk(self, low: Floats, high: Floats) -> Iterator[Floats]:
        """Points from low to high, close enough to meet each turn of the load."""
        yield low
        corner = low
        for share in (0.0, 0.5, 1.0):
            corner = np.clip(share * self.cushion, low, high)
            yield corner
        step = (high - corner) / _STEPS
        for i in range(1, _STEPS):
            yield corner + i * step
        yield high


def contact(path: Floats) -> Floats:
    """Share of the finger load that has built up."""
    return np.minimum(np.maximum(1.0 + path, 0.0), 1.0)


def pressed_to(press: Press, pad: Floats, tip: Floats, low: Floats, high: Floats) -> Floats:
    """First point of the path from low to high where the pad, or the tip, has got to a travel.

    Parameters
    ----------
    press : Press
    pad, tip : ndarray, shape (B,)
        Travels, mm; that of the tip may be infinite.
    low, high : ndarray, shape (B,)
        Points of the path, ``low <= high``; high where neither gets there.

    Returns
    -------
    ndarray, shape (B,)
    """
    found, settled = _from_above(press, pad, low, high)
    settled &= press.tip_travel(found) < tip
    settled &= only_rises(press)
    odd = np.flatnonzero(~settled)
    if len(odd):
        some, to_pad, to_tip = press.at(odd), pad[odd], tip[odd]
        per_tip = some.pad_lift / some.tip_lift

        def beyond(path: Floats) -> Floats:
            stopped = (some.tip_travel(path) - to_tip) * per_tip
            return np.maximum(some.pad_travel(path) - to_pad, stopped)

        found[odd] = first_zero(beyond, np.stack([*some.walk(low[odd], high[odd])]))
    return found


def _from_above(
    press: Press, pad: Floats, low: Floats, high: Floats
) -> tuple[Floats, NDArray[np.bool_]]:
    """Newton's method on the pad's travel from high; where it has settled on a lift above low.

    High is the lift that a line without losses would give, so that little is left to go.
    """
    floor = np.maximum(low, 0.0)
    lift, step = high, high
    off = press.pad_start - pad + press.pad_contact
    stiffening = press.carried * press.per_cushion
    for _ in range(_ROUNDS):
        cushioned = lift < press.cushion
        load = press.load + lift * (press.slope + lift * (press.bend + lift * press.twist))
        slope = press.slope + lift * (2.0 * press.bend + 3.0 * press.twist * lift)
        load = load - press.carried * np.maximum(1.0 - lift * press.per_cushion, 0.0)
        slope = slope + stiffening * cushioned
        slope = slope * (load > 0.0)
        load = np.maximum(load, 0.0) + press.drag
        airy = 1.0 / (press.air_load + load)
        value = off + press.pad_lift * lift + (press.pad_load + press.pad_air * airy) * load
        gives = press.pad_load + press.pad_air * press.air_load * airy * airy
        to = np.minimum(np.maximum(lift - value / (press.pad_lift + gives * slope), floor), high)
        step, lift = np.abs(to - lift), to
        if step.max(initial=0.0) <= _SETTLED:
            break
    return lift, (step <= _SETTLED) & (lift > floor)


def only_rises(press: Press) -> NDArray[np.bool_]:
    """Columns in which neither tip nor pad can go back anywhere along the path.

    Where the spring's load falls, levers and line relax, but by no more than its steepest fall
    makes them; trapped air gives the more the lower the load, which is lowest in the valley.
    """
    turns = press.twist > 0.0
    third = np.where(turns, 3.0 * press.twist, 1.0)
    square = press.bend * press.bend
    fall = np.maximum(square / third - press.slope, 0.0)
    apart = np.sqrt(np.maximum(square - press.slope * third, 0.0))
    valley = np.maximum((apart - press.bend) / third, 0.0)
    lowest = press.load + valley * (press.slope + valley * (press.bend + valley * press.twist))
    least = np.maximum(lowest, 0.0) + press.drag + press.air_load
    gives = press.pad_load + press.pad_air * press.air_load / (least * least)
    cushioned = (press.carried == 0.0) | (press.carried * press.per_cushion >= fall)
    relaxes = (press.tip_lift > fall * press.tip_load) & (press.pad_lift > fall * gives)
    return np.asarray(cushioned & relaxes)
