"""The lens: the last friction face so much enlarged that its clearance can be seen."""

from math import acos, cos, pi, sin

from diagnose.drawings.cutaway.figures import Unit, clearance_words
from diagnose.drawings.cutaway.notes import Notes
from diagnose.drawings.cutaway.shapes import Area, Box, Dot, Point
from diagnose.drawings.cutaway.stance import Stance
from diagnose.drawings.shapes import text_width

FACTORS = (5, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80)
_SEEN = 0.35  # mm of clearance ...
_AS = 1.15  # ... are to look so many heights of the text wide
_NAMED = 2.6  # heights of the text, of the radius: a smaller lens has no room for names
_STEPS = 24  # of an arc


def factor_for(scale: float, em: float) -> int:
    """Give how many times the lens enlarges a picture of a scale, for a size of text."""
    wanted = _AS * em / (_SEEN * scale)
    return min(FACTORS, key=lambda factor: abs(factor - wanted))


def segment(centre: Point, radius: float, x: float, side: int) -> tuple[Point, ...]:
    """Give the part of a circle that lies left (-1) or right (1) of an upright line.

    Empty if there is none.
    """
    off = side * (x - centre[0])
    if off >= radius:
        return ()
    half = acos(max(-1.0, off / radius))
    turn = 0.0 if side > 0 else pi
    angles = [turn - half + 2.0 * half * i / _STEPS for i in range(_STEPS + 1)]
    return tuple([(centre[0] + radius * cos(a), centre[1] + radius * sin(a)) for a in angles])


def draw_lens(
    notes: Notes,
    box: Box,
    scale: float,
    stance: Stance,
    faces: int,
    *,
    spot: Point,
    unit: Unit,
    healthy: Stance | None = None,
) -> int:
    """Draw the lens with the clearance in figures below it.

    Parameters
    ----------
    notes : Notes
    box : Box
        The room it has.
    scale : float
        Of the picture: units for each mm.
    stance : Stance
    faces : int
    spot : (float, float)
        What it shows enlarged.
    unit : str
    healthy : Stance, optional
        Whose gap is drawn dashed.

    Returns
    -------
    int
        The factor.
    """
    em = notes.em
    room = box.width + em
    told = _told(stance, unit, room, em)
    # Room is kept for the longest that may be said, so that the lens stays as the pedal moves.
    longest = text_width(f"not free, 0.00 {unit} short", em, bold=True)
    foot = (4.4 if longest <= room else 5.7) * em
    radius = max(2.0 * em, min(box.width / 2.0 - 0.5 * em, (box.height - foot) / 2.0))
    centre = (box.centre[0], box.top + radius + 0.4 * em)
    factor = factor_for(scale, em)
    gap = max(0.0, stance.clearance) * factor * scale
    left, right = centre[0] - gap / 2.0, centre[0] + gap / 2.0
    notes.thin(spot, _toward(centre, radius, spot), ink="muted")
    notes.shapes.append(Dot("lens", spot, 0.4 * em, "muted", 0.07 * em, ""))
    notes.shapes.append(Dot("lens", centre, radius, "muted", 0.0, "ground"))
    facing = segment(centre, radius, left, -1)
    plate = segment(centre, radius, right, 1)
    if facing:
        notes.shapes.append(Area("lens facing", facing, "accent", 0.1 * em, "soft"))
    if plate:
        notes.shapes.append(Area("lens plate", plate, "accent", 0.1 * em, "ground", 1))
    if healthy is not None:
        half = max(0.0, healthy.clearance) * factor * scale / 2.0
        for x in (centre[0] - half, centre[0] + half):
            if abs(x - centre[0]) < 0.95 * radius:
                reach = 0.98 * (radius**2 - (x - centre[0]) ** 2) ** 0.5
                notes.thin((x, centre[1] - reach), (x, centre[1] + reach), dashed=True)
    notes.shapes.append(Dot("lens", centre, radius, "ink", 0.12 * em, ""))
    named = radius >= _NAMED * em
    for text, side in (("facing", -1.0), ("plate", 1.0)) if named else ():
        notes.say(text, centre[0] + side * (gap / 2.0 + 0.55 * (radius - gap / 2.0)),
                  centre[1] + 0.62 * radius, anchor="middle", ink="muted", halo=True)  # fmt: skip
    level = centre[1] - 0.25 * radius
    if 0.0 < gap < 1.6 * radius:
        notes.across((left, level), (right, level), level, "", after=True)
    below = centre[1] + radius + 1.35 * em
    for line in told:
        notes.say(line, centre[0], below, anchor="middle", bold=True, small=False)
        below += 1.3 * em
    count = f"one of {faces} faces, × {factor}"
    notes.say(count, centre[0], below, anchor="middle", ink="muted")
    return factor


def _told(stance: Stance, unit: Unit, room: float, em: float) -> tuple[str, ...]:
    """Say the clearance, in two lines where it has no room in one."""
    told = clearance_words(stance, unit)
    before = "not free," if told.endswith("short") else "clearance"
    whole = f"{before} {told}"
    return (whole,) if text_width(whole, em, bold=True) <= room else (before, told)


def _toward(centre: Point, radius: float, spot: Point) -> Point:
    """Give where a line from a spot meets the circle."""
    x, y = spot[0] - centre[0], spot[1] - centre[1]
    long = max((x * x + y * y) ** 0.5, 1e-6)
    return centre[0] + radius * x / long, centre[1] + radius * y / long
