"""Drawings of parts on the bench or still on the engine: discs, shaft, flywheel, floater, plate."""

from math import cos, radians, sin

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainterPath

from ui.drawings.sheet import (
    CUT,
    CUT_BACK,
    FAINT,
    GHOST,
    LOUD_GHOST,
    LOUD_SOLID,
    SOLID,
    THIN,
    THIN_SOLID,
    Point,
    Sheet,
)
from ui.drawings.tools import calliper, depth_gauge, feeler, micrometer, rule, straightedge


def _around(centre: Point, radius: float, angle: float) -> Point:
    """Give a place on a circle, in degrees clockwise from three o'clock."""
    turned = radians(angle)
    return centre[0] + radius * cos(turned), centre[1] + radius * sin(turned)


def spline_play(sheet: Sheet) -> None:
    """Draw a pointer on the hub, rocked while the shaft is held."""
    middle, reach, rock = (92.0, 94.0), 94.0, 10.0
    sheet.circle(middle, 76, FAINT)
    sheet.circle(middle, 52, FAINT)
    for angle in range(45, 405, 90):
        with sheet.placed(_around(middle, 39, angle), angle + 90):
            sheet.rounded(-9, -4.5, 18, 9, 4, FAINT)
    sheet.circle(middle, 27)
    _spline(sheet, middle, 15.0)
    for lean in (-rock, rock):
        with sheet.placed(middle, lean):
            sheet.line((30, -3), (reach - 6, -2), style=GHOST)
            sheet.line((30, 3), (reach - 6, 2), style=GHOST)
    with sheet.placed(middle):
        sheet.shape((18, -4), (reach - 6, -2), (reach - 6, 2), (18, 4))
        sheet.rounded(17, -8, 14, 16, 2)
    rule(sheet, (middle[0] + reach + 20, 40), 108, 90, 14)
    above, below = _around(middle, reach, -rock), _around(middle, reach, rock)
    sheet.dimension(above, below)
    sheet.label((216, 94), "turning play", loud=True)
    low = 186.0
    for x in (middle[0], middle[0] + reach):
        sheet.line((x, middle[1] + (18 if x == middle[0] else 30)), (x, low + 4), style=FAINT)
    sheet.arrow((middle[0] + 40, low), (middle[0], low), THIN)
    sheet.arrow((middle[0] + 40, low), (middle[0] + reach, low), THIN)
    sheet.label((196, low), "100 mm (4 in)")
    sheet.name((200, 20), "shaft held", (middle[0] + 4, middle[1] - 6))


def _spline(sheet: Sheet, middle: Point, radius: float) -> None:
    """Draw the end of a ten-spline shaft."""
    points = []
    for i in range(10):
        for far, off in ((0.82, -11.0), (1.0, -7.0), (1.0, 7.0), (0.82, 11.0)):
            points.append(_around(middle, radius * far, 36.0 * i + off))
    sheet.shape(*points, style=CUT)


def pilot_clearance(sheet: Sheet) -> None:
    """Draw the bore of the pilot and the tip of the shaft, each measured across."""
    axis, bore, tip = 92.0, 25.0, 21.0
    sheet.centre_line((4, axis), (316, axis))
    for side in (-1, 1):
        crank = ((14, bore + 12), (90, bore + 12), (90, 60), (14, 60))
        bush = ((44, bore), (88, bore), (88, bore + 12), (44, bore + 12))
        sheet.shape(*((x, axis + side * high) for x, high in crank), style=CUT)
        sheet.shape(*((x, axis + side * high) for x, high in bush), style=CUT_BACK)
    sheet.line((14, axis - bore - 12), (14, axis + bore + 12))
    _bore_gauge(sheet, (72, axis), bore)
    sheet.dimension((54, axis - bore), (54, axis + bore))
    sheet.label((29, axis - 10), "A", "centre", loud=True)
    sheet.shape((194, axis - tip), (194, axis + tip), (190, axis + tip - 4), (190, axis - tip + 4))
    sheet.box(194, axis - tip, 60, 2 * tip)
    edge = ((330, axis - 32), (254, axis - 32), (254, axis + 32), (330, axis + 32))
    sheet.line(*edge, style=SOLID)
    for y in (-20, -7, 7, 20):
        sheet.line((262, axis + y), (330, axis + y), style=FAINT)
    micrometer(sheet, (212, axis + tip), 2 * tip, 38, -90)
    sheet.dimension((230, axis - tip), (230, axis + tip))
    sheet.label((243, axis - 9), "B", "centre", loud=True)
    sheet.label((52, 168), "pilot", "centre")
    sheet.label((244, 168), "tip of the shaft", "centre")
    sheet.label((150, 188), "play = A less B", "centre", loud=True)


def _bore_gauge(sheet: Sheet, at: Point, half: float) -> None:
    """Draw a telescopic gauge across a bore, its handle to the right."""
    x, y = at
    sheet.rounded(x - 4, y - half, 8, 2 * half, 3)
    sheet.box(x + 4, y - 2.5, 44, 5)
    sheet.box(x + 48, y - 4.5, 22, 9)
    for i in range(4):
        sheet.line((x + 52 + 4.5 * i, y - 4.5), (x + 52 + 4.5 * i, y + 4.5), style=FAINT)


def disc_thickness(sheet: Sheet) -> None:
    """Draw a calliper over the two facings, pressed together."""
    left, right, top = 62.0, 104.0, 66.0
    sheet.box(left + 17, top + 2, 8, 140)
    sheet.box(left, top, 17, 96)
    sheet.box(right - 17, top, 17, 96)
    sheet.push((left - 1, 132), 0, 34)
    sheet.push((right + 1, 132), 180, 34)
    calliper(sheet, (left, top + 32), right - left)
    sheet.dimension((left, 53), (right, 53))
    sheet.label((130, 70), "thickness", loud=True)
    sheet.label((130, 88), "less the kit's figure", loud=True)
    sheet.label((148, 132), "pressed together,")
    sheet.label((148, 148), "three places")
    middle = (286.0, 136.0)
    sheet.circle(middle, 26)
    sheet.circle(middle, 15, THIN)
    sheet.circle(middle, 5, THIN)
    for angle in (-90, 30, 150):
        sheet.circle(_around(middle, 20.5, angle), 3.2, LOUD_SOLID)


def flywheel_step(sheet: Sheet) -> None:
    """Draw a depth gauge from the face the cover bolts to down to the friction face."""
    bolting, friction, axis = 132.0, 92.0, 188.0
    sheet.centre_line((20, axis), (250, axis))
    sheet.shape(
        (52, 14), (bolting, 14), (bolting, 68), (friction, 68), (friction, 152), (78, 162),
        (78, axis - 8), (52, axis - 8), style=CUT,
    )  # fmt: skip
    sheet.box(60, 6, 34, 8, THIN_SOLID)
    hole = ((bolting, 26), (bolting, 38), (bolting - 28, 38), (bolting - 33, 32))
    sheet.shape(*hole, (bolting - 28, 26), style=THIN_SOLID)
    depth_gauge(sheet, (bolting, 78), bolting - friction, 90, broad=64)
    low = 128.0
    sheet.witness(((bolting, 70), (bolting, low + 6)))
    sheet.dimension((friction, low), (bolting, low))
    sheet.label((142, low + 1), "step", loud=True)
    sheet.name((190, 26), "cover bolts here", (bolting, 20))
    sheet.name((180, 160), "friction face", (friction, 144))


_RIM = (
    (318.0, -31.0), (318.0, 31.0), (248.0, 31.0), (248.0, 9.8), (296.0, 9.8), (296.0, -9.8),
    (248.0, -9.8), (248.0, -31.0),
)  # fmt: skip
_FLOATER = (
    (238.0, -31.0), (238.0, -7.6), (286.0, -7.6), (286.0, 7.6), (238.0, 7.6), (238.0, 31.0),
    (140.0, 31.0), (140.0, -31.0),
)  # fmt: skip


def floater_lug_gap(sheet: Sheet) -> None:
    """Draw a feeler beside the lug of a floater in its slot."""
    middle = (150.0, 330.0)
    sheet.path(_ringed(middle, _RIM), SOLID)
    sheet.path(_ringed(middle, _FLOATER), SOLID)
    angle = 8.7
    feeler(sheet, _around(middle, 290, angle - 90), 74, 90 + angle, 3.6)
    start, end = (_around(middle, 268, side - 90) for side in (7.6, 9.8))
    sheet.dimension(start, end)
    sheet.label((222, 78), "clearance", loud=True)
    sheet.name((6, 184), "floater", (96, 152))
    sheet.name((8, 14), "flywheel", (80, 40))


def _ringed(middle: Point, corners: tuple[tuple[float, float], ...]) -> QPainterPath:
    """Give a shape about a middle: corners by radius and by degrees from twelve o'clock."""
    made = QPainterPath(QPointF(*_around(middle, corners[0][0], corners[0][1] - 90)))
    for before, (radius, angle) in zip(corners, corners[1:] + corners[:1], strict=True):
        if radius == before[0]:
            frame = QRectF(middle[0] - radius, middle[1] - radius, 2 * radius, 2 * radius)
            made.arcTo(frame, 90 - before[1], before[1] - angle)
        else:
            made.lineTo(QPointF(*_around(middle, radius, angle - 90)))
    made.closeSubpath()
    return made


def plate_warp(sheet: Sheet) -> None:
    """Draw a straightedge across the face of the plate, and a feeler under it."""
    level, dish, middle = 60.0, 15.0, 130.0
    for side in (-1, 1):
        plate = ((106, 0), (40, dish), (40, 50), (52, 50), (56, 42), (106, 42))
        sheet.shape(*((middle + side * x, level + y) for x, y in plate), style=CUT)
    for low in (level + dish, level + 50):
        sheet.line((middle - 40, low), (middle + 40, low), style=FAINT)
    straightedge(sheet, (12, level), 236, broad=18)
    feeler(sheet, (68, level + 4), 42, 0, 4.0)
    sheet.dimension((165, level), (165, level + dish))
    sheet.witness(((165, level + dish + 18), (165, 124)))
    sheet.label((165, 136), "largest gap", "centre", loud=True)
    sheet.name((14, 158), "pressure plate", (48, level + 34))
    _three_ways(sheet, (270, 142), 42)


def _three_ways(sheet: Sheet, middle: Point, radius: float) -> None:
    """Draw the plate from above with the three ways the straightedge is laid."""
    sheet.circle(middle, radius)
    sheet.circle(middle, radius * 0.5)
    for angle in (-90, -30, 30):
        ends = _around(middle, radius + 5, angle), _around(middle, radius + 5, angle + 180)
        sheet.line(*ends, style=LOUD_GHOST)


def rivet_depth(sheet: Sheet) -> None:
    """Draw a depth gauge from the facing down to the head of a rivet."""
    face, head, low = 72.0, 104.0, 116.0
    right, hole, wide = 214.0, 92.0, 40.0
    for left, end in ((20.0, hole), (hole + wide, right)):
        sheet.box(left, face, end - left, low - face, CUT)
    sheet.box(20, low + 9, right - 20, low - face, CUT_BACK)
    sheet.box(hole + 4, low + 9, wide - 8, low - face)
    sheet.box(20, low, right - 20, 9)
    centre = hole + wide / 2
    rivet = ((17, head), (17, low), (7, low), (7, low + 26), (14, low + 26), (14, low + 32))
    sheet.shape(*((centre + x, y) for x, y in rivet), *((centre - x, y) for x, y in rivet[::-1]))
    depth_gauge(sheet, (centre, face), head - face, broad=84)
    edge = right + 30
    sheet.witness(((right + 2, face), (edge, face)), ((centre + 17, head), (edge, head)))
    sheet.dimension((right + 22, face), (right + 22, head))
    sheet.label((right + 36, (face + head) / 2), "depth", loud=True)
    sheet.name((236, 36), "facing", (180, face + 8))
    sheet.name((236, 146), "rivet", (centre + 2, low + 20))
