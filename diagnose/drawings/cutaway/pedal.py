"""The pedal, and what it works: a master cylinder, or the end of a cable or rod.

Drawn to a scale of its own; pedal and engine keep their sides, so the pedal goes to the left.
"""

from math import cos, sin

from diagnose.drawings.cutaway.measures import Measures
from diagnose.drawings.cutaway.shapes import Draft, Point, rectangle
from diagnose.drawings.cutaway.stance import Motion, Stance

_RISE = 0.26  # rad, the pedal leans back so far at rest
_ROD = 46.0  # mm, from the pedal to the piston with no play, or to the end of a cable's sheath
_MARK = 30.0, 58.0  # mm from the pedal, a point of a cable, and of a rod, is marked


def pad_at(m: Measures, pad: float) -> Point:
    """Give the place of the pad at a travel, mm from the pedal's pivot."""
    angle = _RISE - pad / m.pedal
    return m.pedal * sin(angle), m.pedal * cos(angle)


def pull_way(m: Measures) -> float:
    """1 where the pedal draws its cable out of the sheath, -1 where it pushes toward the engine."""
    return 1.0 if m.system.linkage == "cable" else -1.0


def rod_rest(m: Measures, motion: Motion) -> Point:
    """Give where the master's piston, or the rod or cable at the pedal, ends with the pedal up.

    In mm from the pedal's pivot; of a rod or cable a marked point.
    """
    x, level = _joint_rest(m, motion)
    if m.system.hydraulic:
        return x - _ROD, level
    return x - _MARK[0 if m.system.linkage == "cable" else 1], level


def _joint(m: Measures, motion: Motion, angle: float) -> Point:
    """Where the pedal holds its rod; its cable it holds above the pivot, or it could not pull."""
    arm = -pull_way(m) * m.pedal / motion.figure("pedal_ratio")
    return arm * sin(angle), arm * cos(angle)


def _joint_rest(m: Measures, motion: Motion) -> Point:
    """Where that is with the pedal up, at the height that rod or cable keeps to."""
    return _joint(m, motion, _RISE)[0], _joint(m, motion, _RISE / 2.0)[1]


def draw_pedal(draft: Draft, m: Measures, motion: Motion, stance: Stance) -> Point:
    """Draw pedal, push rod and master cylinder.

    Returns
    -------
    (float, float)
        Where pipe, cable or rod leads on, mm from the pedal's pivot.
    """
    angle = _RISE - stance.pad / m.pedal
    joint = _joint(m, motion, angle)
    rest, level = _joint_rest(m, motion)
    front = rest - _ROD
    if m.system.hydraulic:
        port = _master(draft, m, motion, stance, front, level)
        tip = front - stance.rod + motion.figure("pedal_play") / motion.figure("pedal_ratio")
        draft.area("push rod", rectangle(tip, joint[0], level - 2.5, level + 2.5), moves=True)
    else:
        port = _rod(draft, m, motion, stance, rest, level)
    if m.system.linkage == "cable":
        wall, opening, high = front, 7.0, 26.0
    else:
        wall, opening, high = front + 14.0, 20.0, 52.0
    draft.line("bulkhead", [(wall, level - high), (wall, level - opening)])
    draft.line("bulkhead", [(wall, level + opening), (wall, level + 70.0)])
    _arm(draft, m, stance, angle, joint)
    return port


def _rod(
    draft: Draft, m: Measures, motion: Motion, stance: Stance, rest: float, level: float
) -> Point:
    """Draw the rod, or the cable up to its sheath; it stands off the pedal by the play."""
    cable, way = m.system.linkage == "cable", pull_way(m)
    free = motion.figure("pedal_play") / motion.figure("pedal_ratio")
    start = rest + way * max(free, stance.rod)
    far = rest - _ROD if cable else rest - _ROD - 70.0 - stance.master
    mark = rod_rest(m, motion)[0] + way * stance.master
    draft.line("rod", [(start, level), (far, level)], moves=True)
    draft.dot("rod", (start, level), 3.5, moves=True)
    draft.dot("rod", (mark, level), 2.5, moves=True, fill="accent")
    return far, level


def _arm(draft: Draft, m: Measures, stance: Stance, angle: float, joint: Point) -> None:
    """Draw the pedal itself, on its pivot."""
    wide = 6.0
    across = (wide * cos(angle), -wide * sin(angle))
    end = pad_at(m, stance.pad)
    head = (0.0, 0.0) if joint[1] > 0.0 else joint
    arm = [(head[0] - across[0], head[1] - across[1]), (head[0] + across[0], head[1] + across[1]),
           (end[0] + 0.5 * across[0], end[1] + 0.5 * across[1]),
           (end[0] - 0.5 * across[0], end[1] - 0.5 * across[1])]  # fmt: skip
    draft.area("pedal", arm, moves=True)
    along = (sin(angle), cos(angle))
    pad = [
        (end[0] + a * along[0] + b * across[0], end[1] + a * along[1] + b * across[1])
        for a, b in ((-24.0, 0.6), (24.0, 0.6), (24.0, 1.9), (-24.0, 1.9))
    ]
    draft.area("pedal", pad, moves=True, fill="soft")
    draft.dot("pedal", joint, 3.5, moves=True)
    draft.dot("bracket", (0.0, 0.0), 6.0, before=True)
    draft.dot("bracket", (0.0, 0.0), 2.0, before=True)


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
