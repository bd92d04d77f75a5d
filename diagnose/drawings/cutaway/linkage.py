"""From the fork's tip toward the pedal: slave, cable in its sheath, or rods over a cross shaft."""

from math import cos, sin

from diagnose.drawings.cutaway.measures import Measures
from diagnose.drawings.cutaway.places import Places
from diagnose.drawings.cutaway.release import Actuator, draw_pull, draw_slave
from diagnose.drawings.cutaway.shapes import Draft, Point, rectangle, span
from diagnose.drawings.cutaway.stance import Motion

_ARM = 26.0  # of the cross shaft toward the fork, in units of the measures
_MOST = 3.0  # times that, its other arm is drawn


def draw_linkage(
    draft: Draft, m: Measures, motion: Motion, p: Places, y: float, at: Actuator
) -> Point:
    """Draw what works the fork's tip.

    Returns
    -------
    (float, float)
        Where pipe, sheath or rod leads on, mm.
    """
    if m.system.hydraulic:
        return draw_slave(draft, m, p, y, motion.figure("slave_bore"), at)
    if m.system.linkage == "cable":
        return _cable(draft, m, p, y, at)
    return _rods(draft, m, motion, p, y, at)


def _cable(draft: Draft, m: Measures, p: Places, y: float, at: Actuator) -> Point:
    u, way = m.unit, m.actuator_way
    stop = at.rest + way * (at.stroke + 26.0 * u)
    draw_pull(draft, m, p, y, abs(stop - p.actuator))
    bracket = span(stop, stop + way * 4.0 * u)
    draft.area("bracket", rectangle(*bracket, y - 10.0 * u, y + 7.0 * u), cut=1)
    sheath = span(stop + way * 4.0 * u, stop + way * 22.0 * u)
    draft.area("line", rectangle(*sheath, y - 2.6 * u, y + 2.6 * u))
    return stop + way * 22.0 * u, y


def _rods(draft: Draft, m: Measures, motion: Motion, p: Places, y: float, at: Actuator) -> Point:
    """Rods over a cross shaft whose arms are as the linkage's ratio says."""
    u, way = m.unit, m.actuator_way
    short = _ARM * u
    long = short * min(_MOST, motion.figure("linkage_ratio"))
    far = 34.0 * u + at.stroke
    end = draw_pull(draft, m, p, y, far)
    turned = (p.actuator - at.rest) / short
    centre = (at.rest + (end[0] - p.actuator) + way * at.stroke / 2.0, y - short)
    lean = turned - way * at.stroke / 2.0 / short
    low = (centre[0] + short * sin(lean), centre[1] + short * cos(lean))
    high = (centre[0] - way * long * sin(lean), centre[1] - way * long * cos(lean))
    wide = 3.0 * u
    for tip in (low, high):
        points = [(centre[0] - wide, centre[1]), (centre[0] + wide, centre[1]),
                  (tip[0] + wide, tip[1]), (tip[0] - wide, tip[1])]  # fmt: skip
        draft.area("cross shaft", points, moves=True, fill="soft")
    draft.dot("cross shaft", centre, 5.0 * u, before=True)
    for tip in (low, high):
        draft.dot("cross shaft", tip, 2.4 * u, moves=True)
    return high
