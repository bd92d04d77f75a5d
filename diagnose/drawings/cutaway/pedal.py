"""The pedal, and what it works: a master cylinder, or the end of a cable or rod.

Drawn to a scale of its own; pedal and engine keep their sides, so the pedal goes to the left.
"""

from math import cos, sin

from diagnose.drawings.cutaway.measures import Measures
from diagnose.drawings.cutaway.shapes import Draft, Point, rectangle
from diagnose.drawings.cutaway.stance import Motion, Stance

_RISE = 0.26  # rad, the pedal leans back so far at rest
_MARK = 12.0  # mm beyond that, a point of rod or cable is marked
_ROD = 46.0  # mm, from the pedal to the piston with no play


def pad_at(m: Measures, pad: float) -> Point:
    """Give the place of the pad at a travel, mm from the pedal's pivot."""
    angle = _RISE - pad / m.pedal
    return m.pedal * sin(angle), m.pedal * cos(angle)


def rod_rest(m: Measures, motion: Motion) -> Point:
    """Give where the master's piston, or the rod or cable at the pedal, ends with the pedal up.

    In mm from the pedal's pivot; of a rod or cable a marked point.
    """
    short = m.pedal / motion.figure("pedal_ratio")
    level = short * cos(_RISE / 2.0)
    if m.system.hydraulic:
        return short * sin(_RISE) - _ROD, level
    return short * sin(_RISE) - _ROD - _MARK, level


def draw_pedal(draft: Draft, m: Measures, motion: Motion, stance: Stance) -> Point:
    """Draw pedal, push rod and master cylinder.

    Returns
    -------
    (float, float)
        Where pipe, cable or rod leads on, mm from the pedal's pivot.
    """
    ratio = motion.figure("pedal_ratio")
    short = m.pedal / ratio
    angle = _RISE - stance.pad / m.pedal
    hole = (short * sin(angle), short * cos(angle))
    level = short * cos(_RISE / 2.0)
    rest = short * sin(_RISE)
    front = rest - _ROD
    if m.system.hydraulic:
        port = _master(draft, m, motion, stance, front, level)
    else:
        port = (front - 70.0 - stance.master, level)
        loose = max(0.0, motion.figure("pedal_play") / ratio - stance.rod)
        start = rest - stance.rod - loose
        draft.line("rod", [(start, level), port], moves=True)
        draft.dot("rod", (start, level), 3.5, moves=True)
        draft.dot("rod", (front - _MARK - stance.master, level), 2.5, moves=True, fill="accent")
    if m.system.hydraulic:
        tip = front - stance.rod + motion.figure("pedal_play") / ratio
        draft.area("push rod", rectangle(tip, hole[0], level - 2.5, level + 2.5), moves=True)
    draft.line("bulkhead", [(front + 14.0, level - 52.0), (front + 14.0, level - 20.0)])
    draft.line("bulkhead", [(front + 14.0, level + 20.0), (front + 14.0, level + 70.0)])
    wide = 6.0
    across = (wide * cos(angle), -wide * sin(angle))
    end = pad_at(m, stance.pad)
    arm = [(-across[0], -across[1]), across, (end[0] + 0.5 * across[0], end[1] + 0.5 * across[1]),
           (end[0] - 0.5 * across[0], end[1] - 0.5 * across[1])]  # fmt: skip
    draft.area("pedal", arm, moves=True)
    along = (sin(angle), cos(angle))
    pad = [
        (end[0] + a * along[0] + b * across[0], end[1] + a * along[1] + b * across[1])
        for a, b in ((-24.0, 0.6), (24.0, 0.6), (24.0, 1.9), (-24.0, 1.9))
    ]
    draft.area("pedal", pad, moves=True, fill="soft")
    draft.dot("pedal", hole, 3.5, moves=True)
    draft.dot("bracket", (0.0, 0.0), 6.0, before=True)
    draft.dot("bracket", (0.0, 0.0), 2.0, before=True)
    return port


def _master(
    draft: Draft, m: Measures, motion: Motion, stance: Stance, front: float, level: float
) -> Point:
    """Draw the master; its piston stands off the push rod by the play."""
    r = motion.figure("master_bore") / 2.0
    long = 26.0 + 1.1 * m.system.figures.pedal_travel.nominal / motion.figure("pedal_ratio")
    wall, head = 5.0, front - long
    crown = front - stance.master
    for side in (-1.0, 1.0):
        shell = rectangle(head, front + 14.0, r, r + wall)
        draft.area("master", [(x, level + side * y) for x, y in shell], cut=1)
    draft.area("master", rectangle(head - wall, head, level - r - wall, level + r + wall), cut=1)
    draft.area("fluid", rectangle(head, crown - 16.0, level - r, level + r), fill="soft", thin=True,
               before=True)  # fmt: skip
    draft.area("piston", rectangle(crown - 16.0, crown, level - r, level + r), moves=True, cut=-1)
    top = level - r - wall
    pot = [(head + 8.0, top - 6.0), (head + 4.0, top - 34.0), (head + 34.0, top - 34.0),
           (head + 30.0, top - 6.0)]  # fmt: skip
    draft.area("reservoir", pot)
    stem = rectangle(head + 15.0, head + 23.0, top - 6.0, top)
    draft.area("reservoir", stem)
    return head - wall, level
