"""Drawings of crank, pilot, input shaft, release bearing and propshaft."""

from math import cos, radians, sin

from ui.drawings import parts
from ui.drawings.sheet import (
    CUT,
    CUT_BACK,
    FAINT,
    GHOST,
    HEAVY,
    LOUD,
    LOUD_THIN,
    SOLID,
    THIN,
    THIN_SOLID,
    Point,
    Sheet,
)
from ui.drawings.tools import depth_gauge, dial, magnet, rod, straightedge


def _around(centre: Point, radius: float, angle: float) -> Point:
    """Give a place on a circle, in degrees clockwise from three o'clock."""
    return centre[0] + radius * cos(radians(angle)), centre[1] + radius * sin(radians(angle))


def _both(
    sheet: Sheet, axis: float, corners: tuple[tuple[float, float], ...], *, back: bool = False
) -> None:
    """Draw a part in section above and below its axis: corners by place and height."""
    for side in (-1, 1):
        cut = CUT_BACK if back else CUT
        sheet.shape(*((x, axis + side * high) for x, high in corners), style=cut)


def pilot_depth(sheet: Sheet) -> None:
    """Draw a depth gauge from the flywheel's face in to the face of the pilot."""
    axis, face, pilot = 92.0, 138.0, 84.0
    sheet.centre_line((8, axis), (214, axis))
    _both(sheet, axis, ((20, 44), (96, 44), (96, 22), (40, 22), (40, 14), (20, 14)))
    _both(sheet, axis, ((96, 86), (face, 86), (face, 34), (112, 34), (112, 22), (96, 22)))
    _both(sheet, axis, ((50, 22), (pilot, 22), (pilot, 9), (50, 9)), back=True)
    straightedge(sheet, (face, axis - 58), 116, 90, broad=10)
    depth_gauge(sheet, (face + 10, axis - 15), face + 10 - pilot, 90, broad=34)
    low = axis + 94
    sheet.witness(((pilot, axis + 24), (pilot, low + 4)), ((face, axis + 88), (face, low + 4)))
    sheet.dimension((pilot, low), (face, low))
    sheet.label((face + 12, low), "depth", loud=True)
    sheet.name((206, 140), "flywheel", (face - 12, 140))
    sheet.name((6, 12), "pilot", (62, axis - 16))


def shaft_room(sheet: Sheet) -> None:
    """Draw reach of the shaft and depth of its bore, each from the face that is bolted up."""
    axis, block, floor, housing, tip = 84.0, 128.0, 52.0, 262.0, 194.0
    sheet.centre_line((4, axis), (316, axis))
    sheet.shape((8, 8), (block, 8), (block, 40), (30, 40), (30, 128), (block, 128), (block, 148),
                (8, 148), style=CUT)  # fmt: skip
    _both(sheet, axis, ((30, 26), (96, 26), (96, 10), (floor, 10), (floor - 6, 0), (30, 0)),
          back=True)  # fmt: skip
    sheet.line((block, 40), (block, 128), style=GHOST)
    parts.shaft(sheet, tip, 316, axis)
    for side in (-1, 1):
        sheet.box(housing, axis + (side * 24 if side > 0 else -76), 40, 52, CUT)
    low = 172.0
    sheet.witness(((floor, axis + 12), (floor, low + 4)), ((block, 150), (block, low + 4)))
    sheet.dimension((floor, low), (block, low))
    sheet.label(((floor + block) / 2, low - 12), "B", "centre", loud=True)
    sheet.witness(((tip, axis + 6), (tip, low + 4)), ((housing, axis + 78), (housing, low + 4)))
    sheet.dimension((tip, low), (housing, low))
    sheet.label(((tip + housing) / 2, low - 12), "A", "centre", loud=True)
    sheet.label((160, 188), "room = B less A", "centre", loud=True)
    sheet.label((block + 8, 20), "engine")
    sheet.label((housing - 8, 20), "gearbox", "right")


def crank_flange_runout(sheet: Sheet) -> None:
    """Draw a dial on the engine block, its plunger near the edge of the bare crank flange."""
    axis, face, view = 90.0, 74.0, (238.0, 84.0)
    sheet.centre_line((4, axis), (170, axis))
    parts.engine(sheet, 6, 22, 2, 176)
    _both(sheet, axis, ((22, 24), (face - 18, 24), (face - 18, 44), (face, 44), (face, 12),
                        (22, 12)))  # fmt: skip
    sheet.line((face, axis - 12), (face, axis + 12), style=THIN)
    rod(sheet, (37, 14), (face + 40, 14), (face + 40, axis - 52))
    magnet(sheet, (22, 14), 90)
    dial(sheet, (face, axis - 37), 90)
    sheet.push((face + 4, axis), 180, 40)
    sheet.label((face + 14, axis + 28), "crank pressed\none way")
    sheet.circle(view, 62)
    for i in range(8):
        sheet.circle(_around(view, 44, 45.0 * i + 22), 5.0, THIN_SOLID)
    sheet.circle(view, 22)
    sheet.circle(view, 17, THIN)
    sheet.circle(view, 54, GHOST)
    sheet.circle(_around(view, 54, -90), 4.0, LOUD)
    sheet.turn(view, 32, -130, 130)
    sheet.label((view[0], 176), "highest less lowest", "centre", loud=True)
    sheet.label((8, 188), "flywheel off, one full turn")


def crank_end_float(sheet: Sheet) -> None:
    """Draw the crank levered to and fro, a dial on the face of its pulley."""
    axis, left, right = 94.0, 112.0, 236.0
    sheet.box(left, 40, right - left, 108, CUT)
    sheet.box(left + 14, 54, right - left - 28, 80, THIN_SOLID)
    sheet.box(left - 34, axis - 9, right - left + 64, 18)
    for x in (left + 28, left + 74):
        sheet.box(x, axis - 34, 12, 68)
        sheet.box(x + 12, axis - 6, 20, 34)
    sheet.rounded(left - 50, axis - 44, 22, 88, 2)
    for y in (-38, -26, 26, 38):
        sheet.line((left - 50, axis + y), (left - 28, axis + y), style=FAINT)
    sheet.box(right + 20, axis - 42, 16, 84, CUT_BACK)
    sheet.line((left - 27, axis + 30), (left - 12, axis + 34), (left - 20, axis + 66), style=HEAVY)
    dial(sheet, (left - 50, axis - 28), -90)
    rod(sheet, (left - 90, axis - 43), (left - 90, 25), (left + 26, 25))
    magnet(sheet, (left + 26, 40))
    sheet.dimension((left - 54, 166), (left - 26, 166))
    sheet.label((left - 14, 166), "to and fro", loud=True)
    sheet.label((6, 187), "levered right forward and right back")
    sheet.label((right + 14, 40), "flywheel")
    sheet.name((4, axis + 40), "pulley", (left - 44, axis + 18))


def _bearing(sheet: Sheet, left: float, axis: float, high: float) -> None:
    """Draw a release bearing on its carrier: its face up, its pads down."""
    for side in (-1, 1):
        sheet.box(left + (-44 if side < 0 else 16), axis - high, 28, high - 26)
        sheet.circle((left + side * 30, axis - high / 2 - 13), 6.0, THIN_SOLID)
        sheet.box(left + (-28 if side < 0 else 16), axis - 26, 12, 40, CUT)
        sheet.box(left + (-58 if side < 0 else 28), axis - 12, 30, 12, CUT_BACK)
    sheet.centre_line((left, axis - high - 8), (left, axis + 20))


def bearing_height_off(sheet: Sheet) -> None:
    """Draw the old bearing and the new one side by side, each from its pads to its face."""
    low = 142.0
    for left, high, mark in ((78.0, 66.0, "old"), (222.0, 88.0, "new")):
        _bearing(sheet, left, low, high)
        edge = left - 62
        sheet.witness(((edge - 8, low), (left - 60, low)), ((edge - 8, low - high),
                      (left - 46, low - high)))  # fmt: skip
        sheet.dimension((edge - 2, low - high), (edge - 2, low))
        sheet.label((left, 176), mark, "centre")
    sheet.line((20, low + 15), (284, low + 15), style=FAINT)
    sheet.label((150, 22), "new less old, from pads to face", "centre", loud=True)


def driveline_lash(sheet: Sheet) -> None:
    """Draw the propshaft from its end, turned from one firm end of its play to the other."""
    centre, radius = (112.0, 104.0), 62.0
    sheet.circle(centre, radius)
    sheet.circle(centre, radius - 8, THIN)
    for angle in (0.0, 90.0, 180.0, 270.0):
        sheet.circle(_around(centre, 40, angle + 45), 5.0, THIN_SOLID)
    sheet.circle(centre, 18)
    for angle in (-112.0, -68.0):
        style = GHOST if angle < -90 else SOLID
        sheet.line(_around(centre, 24, angle), _around(centre, radius - 10, angle), style=style)
        sheet.line(
            _around(centre, radius + 2, angle), _around(centre, radius + 22, angle), style=LOUD_THIN
        )
    for start, end in ((-90.0, -112.0), (-90.0, -68.0)):
        sheet.turn(centre, radius + 16, start, end, LOUD)
    sheet.turn(centre, radius + 12, 130, 60)
    sheet.turn(centre, radius + 20, 60, 130)
    sheet.label((156, 20), "turning play", loud=True)
    sheet.name((206, 74), "propshaft", (centre[0] + 46, 80))
    sheet.label((206, 130), "in first gear,\nwheels chocked")


def joint_angle_difference(sheet: Sheet) -> None:
    """Draw the propshaft between gearbox and axle, with the angles of its two joints."""
    front, rear = (84.0, 76.0), (236.0, 116.0)
    sheet.shape((2, 58), (52, 62), (52, 90), (2, 94))
    sheet.box(52, front[1] - 6, 24, 12)
    sheet.line(front, rear, style=HEAVY)
    with sheet.placed(front, 14.74):
        sheet.box(8, -7, 141, 14)
    sheet.circle((284, rear[1] + 10), 26)
    with sheet.placed(rear, 5.0):
        sheet.box(8, -6, 18, 12)
    for joint in (front, rear):
        sheet.circle(joint, 8)
        sheet.line((joint[0] - 5, joint[1]), (joint[0] + 5, joint[1]), style=THIN)
        sheet.line((joint[0], joint[1] - 5), (joint[0], joint[1] + 5), style=THIN)
    sheet.line((front[0] + 8, front[1]), (front[0] + 92, front[1]), style=THIN)
    sheet.arc(front, 74, 0, 14.74, LOUD)
    sheet.label((front[0] + 84, front[1] - 14), "A", "centre", loud=True)
    far = _around(rear, 84, 180 + 14.74 - 10)
    sheet.line(_around(rear, 10, 180 + 4.74), far, style=THIN)
    sheet.arc(rear, 74, 184.74, 194.74, LOUD)
    sheet.label((rear[0] - 62, rear[1] + 18), "B", "centre", loud=True)
    sheet.label((160, 176), "larger angle less smaller", "centre", loud=True)
    sheet.label((6, 40), "gearbox")
    sheet.label((272, 78), "axle")
    sheet.label((160, 20), "vehicle at its own weight", "centre")
