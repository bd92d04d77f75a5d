"""Drawings under the vehicle: the end of the fork, moved by hand and by the slave."""

from math import atan2, cos, degrees, radians, sin

from ui.drawings import parts
from ui.drawings.sheet import CUT, CUT_BACK, FAINT, Point, Sheet
from ui.drawings.tools import feeler, hand, rule, straightedge

_AXIS = 64.0
_PIVOT: Point = (145.0, 24.0)
_REACH = 42.0  # from the pivot to the bearing
_LONG = 156.0  # from the pivot to the tip
_FACE = 84.0  # friction face of the flywheel
_TIPS = 114.0  # where the fingers stand
_WALL = 198.0  # front wall of the gearbox


def _lean(back: float) -> float:
    """Give how many degrees the fork leans when the back of the bearing is at a place."""
    return degrees(atan2(_PIVOT[0] - back - 9.5, _REACH))


def _tip(angle: float) -> Point:
    """Give the left corner of the tip of the fork."""
    sine, cosine = sin(radians(angle)), cos(radians(angle))
    return _PIVOT[0] - _LONG * sine - 3.6 * cosine, _PIVOT[1] + _LONG * cosine - 3.6 * sine


def _housing(sheet: Sheet) -> None:
    """Draw the housing in section with its window, the engine before it, the gearbox behind."""
    parts.gearbox(sheet, _WALL, 310, 14, 114)
    sheet.label((257, 94), "gearbox", "centre")
    parts.engine(sheet, 2, 60, 2, 128)
    sheet.label((34, 100), "engine", "centre")
    sheet.box(60, 2, _WALL - 60, 6, CUT)
    sheet.box(60, 122, 26, 6, CUT)
    sheet.box(178, 122, _WALL - 178, 6, CUT)
    sheet.box(_WALL - 6, 8, 6, 36, CUT)
    sheet.box(_WALL - 6, 84, 6, 38, CUT)
    sheet.line((86, 122), (178, 122), style=FAINT)
    sheet.line((86, 128), (178, 128), style=FAINT)


def _name_window(sheet: Sheet) -> None:
    sheet.name((12, 150), "window", (92, 125))


def _inside(sheet: Sheet, gap: float, pressed: float) -> float:
    """Draw the clutch and its bearing, which stands off the fingers or presses them.

    Returns
    -------
    float
        How many degrees the fork leans.
    """
    face = _TIPS - pressed + gap
    parts.flywheel(sheet, _FACE - 14, _AXIS, 50)
    parts.disc(sheet, _FACE, _AXIS, 42)
    parts.cover(sheet, _FACE, _AXIS, 50, (_TIPS - pressed, _TIPS - pressed))
    parts.shaft(sheet, _FACE - 20, 236, _AXIS)
    parts.quill(sheet, _TIPS + 4, _WALL, _AXIS)
    parts.bearing(sheet, face, _AXIS)
    return _lean(face + 15)


def _slave(sheet: Sheet, rod: Point) -> None:
    """Draw the slave on its bracket; its push rod reaches to a place."""
    sheet.shape(
        (_WALL - 16, 128), (270, 128), (270, 140), (262, 140), (262, 133), (_WALL - 16, 133)
    )
    parts.slave(sheet, rod, 230)


def fork_free_travel(sheet: Sheet) -> None:
    """Draw the end of the fork moved by hand from its back stop until the bearing meets."""
    _housing(sheet)
    _name_window(sheet)
    rest = _inside(sheet, 9.0, 0.0)
    met = _lean(_TIPS + 15)
    parts.fork_ghost(sheet, _PIVOT, met, _LONG, _REACH)
    parts.fork(sheet, _PIVOT, rest, _LONG, _REACH, wall=_WALL - 6)
    start, end = _tip(rest), _tip(met)
    _slave(sheet, (start[0] + 5, 150))
    hand(sheet, (start[0] + 8, 169))
    sheet.witness(
        ((start[0], start[1] + 2), (start[0], 194)), ((end[0], end[1] + 2), (end[0], 194))
    )
    sheet.dimension((start[0], 189), (end[0], 189))
    sheet.label((end[0] - 8, 188), "free travel", "right", loud=True)
    sheet.label((222, 180), "by hand,\nuntil firm")


def fork_tip_travel(sheet: Sheet) -> None:
    """Draw the end of the fork pushed by the slave, the pedal on the floor."""
    _housing(sheet)
    _name_window(sheet)
    rest = _lean(_TIPS + 15)
    pressed = _inside(sheet, 0.0, 9.0)
    parts.fork_ghost(sheet, _PIVOT, rest, _LONG, _REACH)
    parts.fork(sheet, _PIVOT, pressed, _LONG, _REACH, wall=_WALL - 6)
    start, end = _tip(rest), _tip(pressed)
    _slave(sheet, (end[0] + 11, 150))
    rule(sheet, (84, 186), 130)
    sheet.witness((start, (start[0], 186)), (end, (end[0], 186)))
    sheet.dimension((start[0], 183), (end[0], 183))
    sheet.label((end[0] - 8, 174), "travel", "right", loud=True)
    sheet.label((222, 180), "pedal to\nthe floor")


def bearing_gap(sheet: Sheet) -> None:
    """Draw a feeler between the bearing and the fingers, the pedal up."""
    axis, zoom, left = 104.0, 1.7, -120.0
    gap = 7.0
    with sheet.placed((left, axis - zoom * _AXIS), zoom=zoom):
        _inside(sheet, gap, 0.0)
    tips, face = left + zoom * _TIPS, left + zoom * (_TIPS + gap)
    feeler(sheet, ((tips + face) / 2, axis - 23), 26, -90, 7.0)
    low = 176.0
    sheet.witness(((tips, axis + 24), (tips, low + 5)), ((face, axis + 37), (face, low + 5)))
    sheet.dimension((tips, low), (face, low))
    sheet.label((face + 26, low), "running gap", loud=True)
    sheet.name((128, 20), "bearing", (face + 10, axis - 30))
    sheet.name((186, 46), "drawn back\nby its spring", (face + 24, axis - 18))


def csc_standoff(sheet: Sheet) -> None:
    """Draw the two depths whose difference is left between bearing and fingers."""
    axis, high = 96.0, 164.0
    parts.engine(sheet, 2, 26, 10, 160)
    parts.flywheel(sheet, 42, axis, 50)
    parts.disc(sheet, 56, axis, 42)
    parts.cover(sheet, 56, axis, 50, (88, 88))
    face, deep = 206.0, 266.0
    for side in (-1, 1):
        top = axis + side * 79
        sheet.box(face, top - 4, 90, 8, CUT)
    parts.gearbox(sheet, 296, 314, axis - 83, axis + 83)
    sheet.box(deep + 14, axis - 34, 16, 68, CUT_BACK)
    parts.quill(sheet, deep - 20, 296, axis)
    parts.bearing(sheet, deep, axis)
    straightedge(sheet, (face, axis + 92), 184, -90)
    sheet.witness(((26, 150), (26, high + 6)), ((88, axis + 14), (88, high + 6)))
    sheet.dimension((26, high), (88, high))
    sheet.label((57, high + 13), "B", "centre", loud=True)
    sheet.witness(((deep, axis + 22), (deep, axis + 60)))
    sheet.dimension((face, axis + 54), (deep, axis + 54))
    sheet.label(((face + deep) / 2, axis + 43), "A", "centre", loud=True)
    sheet.label((128, 188), "gap = A less B", "centre", loud=True)
    sheet.name((114, 22), "engine", (14, 22))
    sheet.name((112, 128), "fingers", (86, axis + 16))
    sheet.label((190, 56), "gearbox\nface", "right")
