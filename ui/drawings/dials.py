"""Drawings with a dial indicator: housing, flywheel, pilot bore, disc.

To the left in section, to the right as seen from the gearbox.
"""

from math import cos, radians, sin

from ui.drawings import parts
from ui.drawings.sheet import (
    CUT,
    CUT_BACK,
    FAINT,
    GHOST,
    HEAVY,
    LOUD_GHOST,
    LOUD_SOLID,
    THIN,
    THIN_SOLID,
    Point,
    Sheet,
)
from ui.drawings.tools import dial, lever_dial, magnet, rod

_AXIS = 90.0
_FACE = 52.0  # friction face of the flywheel in the section
_REAR = 122.0  # rear face of the housing
_BORE = 32.0
_VIEW: Point = (244.0, 86.0)  # middle of the view from the gearbox
_QUARTERS = ((0, "12"), (90, "3"), (180, "6"), (270, "9"))
_SPREAD: Point = (_VIEW[0], 180.0)


def _around(centre: Point, radius: float, clock: float) -> Point:
    """Give a place on a circle, in degrees from twelve o'clock."""
    angle = radians(clock)
    return centre[0] + radius * sin(angle), centre[1] - radius * cos(angle)


def _engine(sheet: Sheet) -> None:
    """Draw block, crankshaft and flywheel in section."""
    sheet.centre_line((4, _AXIS), (166, _AXIS))
    parts.engine(sheet, 8, 24, 4, 176)
    parts.flywheel(sheet, _FACE - 14, _AXIS, 54)
    sheet.box(24, _AXIS - 11, 14, 22)


def _housing(sheet: Sheet) -> None:
    """Draw the bare housing in section, bolted to the engine."""
    profile = (
        (24, 80), (31, 80), (31, 74), (90, 74), (_REAR - 7, 62), (_REAR, 62), (_REAR, _BORE),
        (_REAR - 9, _BORE), (_REAR - 9, 53), (88, 68), (24, 68),
    )  # fmt: skip
    for side in (-1, 1):
        sheet.shape(*((x, _AXIS + side * high) for x, high in profile), style=CUT)


def _rear_view(sheet: Sheet) -> None:
    """Draw the housing from the gearbox, the end of the crankshaft within."""
    sheet.circle(_VIEW, 72)
    for clock in range(45, 360, 90):
        sheet.circle(_around(_VIEW, 64, clock), 2.6, THIN_SOLID)
    sheet.circle(_VIEW, 42)
    sheet.circle(_VIEW, 9, THIN_SOLID)
    sheet.circle(_VIEW, 4, THIN_SOLID)


def _four_places(sheet: Sheet, radius: float, words: float) -> None:
    """Mark the four places to read at, and say how the reading comes about."""
    for clock, text in _QUARTERS:
        sheet.circle(_around(_VIEW, radius, clock), 3.6, LOUD_SOLID)
        sheet.label(_around(_VIEW, words, clock), text, "centre")
    sheet.label(_SPREAD, "largest less smallest", "centre", loud=True)
    sheet.label((8, 188), "back at 12: zero again")


def bore_runout(sheet: Sheet) -> None:
    """Draw a dial on the flywheel, its plunger in the bore of the housing, at four places."""
    _engine(sheet)
    _housing(sheet)
    rod(sheet, (_FACE + 15, _AXIS + 28), (_REAR - 28, _AXIS + 28), (_REAR - 12, _AXIS + 18))
    magnet(sheet, (_FACE, _AXIS + 28), 90)
    dial(sheet, (_REAR - 4, _AXIS - _BORE), 180)
    _rear_view(sheet)
    sheet.turn(_VIEW, 25, -140, 50)
    _four_places(sheet, 42, 56)


def housing_face_runout(sheet: Sheet) -> None:
    """Draw a dial on the flywheel, its plunger square on the rear face of the housing."""
    _engine(sheet)
    _housing(sheet)
    high = 47.0
    rod(
        sheet, (_FACE + 15, _AXIS + 22), (_REAR + 18, _AXIS + 22), (_REAR + 30, _AXIS - high + 13)
    )  # fmt: skip
    magnet(sheet, (_FACE, _AXIS + 22), 90)
    dial(sheet, (_REAR, _AXIS - high), 90, long=34)
    _rear_view(sheet)
    sheet.circle(_VIEW, 54, LOUD_GHOST)
    sheet.turn(_VIEW, 18, -140, 50)
    _four_places(sheet, 54, 31)


def flywheel_runout(sheet: Sheet) -> None:
    """Draw a dial on the engine block, its plunger near the edge of the flywheel's face."""
    _engine(sheet)
    rod(sheet, (39, 18), (_FACE + 40, 18), (_FACE + 40, 30))
    magnet(sheet, (24, 18), 90)
    dial(sheet, (_FACE, _AXIS - 46), 90)
    sheet.push((_FACE + 3, _AXIS), 180, 40)
    sheet.label((_FACE + 14, _AXIS + 26), "crank held\none way")
    sheet.circle(_VIEW, 72)
    for clock in range(0, 360, 6):
        sheet.line(_around(_VIEW, 68, clock), _around(_VIEW, 72, clock), style=FAINT)
    sheet.circle(_VIEW, 68, THIN)
    sheet.circle(_VIEW, 58, LOUD_GHOST)
    sheet.circle(_around(_VIEW, 58, 0), 4.0, LOUD_SOLID)
    sheet.circle(_VIEW, 24, THIN)
    for clock in range(0, 360, 60):
        sheet.circle(_around(_VIEW, 17, clock), 3.0, THIN_SOLID)
    sheet.circle(_VIEW, 8)
    sheet.turn(_VIEW, 41, -130, 130)
    sheet.label(_SPREAD, "highest less lowest", "centre", loud=True)
    sheet.label((8, 188), "one full turn")


def pilot_bore_runout(sheet: Sheet) -> None:
    """Draw a lever dial on the engine block, its stylus in the pilot bore of the crankshaft."""
    sheet.centre_line((4, _AXIS), (170, _AXIS))
    parts.engine(sheet, 6, 18, 2, 176)
    for side in (-1, 1):
        crank = ((18, 34), (62, 34), (62, 15), (26, 15), (18, 11))
        sheet.shape(*((x, _AXIS + side * high) for x, high in crank), style=CUT)
        wheel = ((62, 72), (82, 72), (82, 24), (62, 24))
        sheet.shape(*((x, _AXIS + side * high) for x, high in wheel), style=CUT_BACK)
    sheet.line((62, _AXIS - 15), (62, _AXIS + 15), style=THIN)
    rod(sheet, (33, 14), (134, 14), (134, _AXIS - 22))
    magnet(sheet, (18, 14), 90)
    lever_dial(sheet, (44, _AXIS - 15), (134, _AXIS - 9))
    sheet.circle(_VIEW, 72)
    sheet.circle(_VIEW, 50, THIN)
    for clock in range(30, 390, 60):
        sheet.circle(_around(_VIEW, 61, clock), 4.5, THIN_SOLID)
    sheet.circle(_VIEW, 31)
    sheet.circle(_VIEW, 28, LOUD_GHOST)
    sheet.circle(_around(_VIEW, 28, 0), 4.0, LOUD_SOLID)
    sheet.turn(_VIEW, 41, -130, 130)
    sheet.label(_SPREAD, "largest less smallest", "centre", loud=True)
    sheet.label((8, 188), "one full turn")
    sheet.name((96, 138), "pilot bore", (54, _AXIS + 14))


def disc_runout(sheet: Sheet) -> None:
    """Draw a disc on a mandrel between centres, a dial near its edge."""
    middle, axis, radius, zoom = 128.0, 88.0, 52.0, 1.5
    top, bottom = axis - zoom * radius, axis + zoom * radius
    sheet.centre_line((20, axis), (246, axis))
    for at, flipped in ((40.0, False), (222.0, True)):
        with sheet.placed((at, axis), flipped=flipped):
            sheet.box(-26, -14, 12, 28, CUT)
            sheet.shape((-14, -8), (-14, 8), (0, 0))
    sheet.box(40, axis - 8, 182, 16)
    for lean in (-4.5, 4.5):
        with sheet.placed((middle, axis), lean):
            sheet.box(-7, 0.6 * zoom * radius, 14, 0.4 * zoom * radius, GHOST)
    with sheet.placed((middle, axis), zoom=zoom):
        parts.disc(sheet, -4.5, 0, radius)
    contact = top + 12
    rod(sheet, (middle + 47, contact), (282, contact), (282, 120))
    magnet(sheet, (282, 134))
    sheet.line((256, 134), (308, 134), style=HEAVY)
    dial(sheet, (middle + 7, contact), 90)
    for level, off in ((top, -9), (contact, 12)):
        sheet.line((100, level), (middle - 9, level), style=FAINT)
        sheet.arrow((104, level + off), (104, level), THIN)
    sheet.label((96, (top + contact) / 2 + 1), "6 mm (1/4 in)", "right")
    sheet.turn((middle + 40, axis), 17, -60, 60)
    sheet.label((middle + 58, axis + 27), "one slow turn")
    low = bottom + 12
    swing = zoom * radius * sin(radians(4.5))
    ends = middle - 7 - swing, middle - 7 + swing
    sheet.witness(*(((x, bottom - 1), (x, low + 5)) for x in ends))
    sheet.dimension((ends[0], low), (ends[1], low))
    sheet.label((middle + 28, low + 1), "highest less lowest", loud=True)
