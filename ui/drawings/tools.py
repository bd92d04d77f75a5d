"""The gauges and the hand that a reading is taken with.

Each is drawn about its own place: the point where it touches what it measures.
"""

from itertools import pairwise
from math import cos, radians, sin

from ui.drawings.sheet import (
    BLACK,
    FAINT,
    HEAVY,
    LINE,
    LOUD,
    LOUD_SOLID,
    LOUD_THIN,
    SOLID,
    THIN,
    THIN_SOLID,
    Point,
    Sheet,
    Style,
)

FACE = 15.0  # radius of a dial
STEM = 40.0  # from the tip of a dial's plunger to the middle of its face


def hand(sheet: Sheet, at: Point, angle: float = 0.0, *, flipped: bool = False) -> None:
    """Draw a hand whose first finger points left and touches a place; flipped, it points right."""
    with sheet.placed(at, angle, flipped=flipped):
        sheet.curve(
            (3.0, -3.4),
            ((8, -3.6), (14, -3.8), (18, -5)),
            ((23, -8), (30, -9), (40, -8)),
            ((40, -2), (40, 4), (40, 11)),
            ((34, 13), (28, 14), (22, 13)),
            ((16, 12), (15, 8), (18, 3.6)),
            ((12, 3.4), (8, 3.4), (3, 3.4)),
            ((-1.5, 3.4), (-1.5, -3.4), (3, -3.4)),
            style=SOLID,
        )
        for down, left in ((4.2, 17.0), (7.4, 16.4), (10.4, 18.0)):
            sheet.line((left, down), (25.0, down + 0.4), style=THIN)
        sheet.curve((20.0, -4.0), ((24, -1), (27, -1), (29, 1)), style=THIN)
        sheet.shape((40, -10), (46, -10), (46, 13), (40, 13), style=SOLID)


def rule(sheet: Sheet, at: Point, long: float, angle: float = 0.0, broad: float = 13.0) -> None:
    """Draw a steel rule whose graduated edge starts at a place."""
    with sheet.placed(at, angle):
        sheet.box(0, 0, long, broad, THIN_SOLID)
        for i in range(1, int(long / 4.0)):
            sheet.line((4.0 * i, 0), (4.0 * i, 6.5 if i % 5 == 0 else 3.5), style=FAINT)


def tape(sheet: Sheet, at: Point, long: float, angle: float = 0.0) -> None:
    """Draw a tape measure: its hook at a place, its case at the other end, below the blade."""
    with sheet.placed(at, angle):
        sheet.box(0, 0, long, 7, THIN_SOLID)
        for i in range(1, int(long / 5.0)):
            sheet.line((5.0 * i, 0), (5.0 * i, 4.5 if i % 4 == 0 else 2.6), style=FAINT)
        sheet.line((0, -3), (0, 9), style=HEAVY)
        sheet.rounded(long - 1, -3, 24, 24, 5)
        sheet.circle((long + 11, 9), 6.5, THIN_SOLID)


def dial(sheet: Sheet, at: Point, angle: float = 0.0, *, long: float = STEM) -> None:
    """Draw a dial indicator whose plunger points down and touches a place.

    Parameters
    ----------
    sheet : Sheet
    at : Point
        Where the tip of the plunger is.
    angle : float
        Turned clockwise by so much, so that 90 has the plunger point left.
    long : float
        From the tip to the middle of the face.
    """
    with sheet.placed(at, angle):
        sheet.line((0, -2), (0, -long), style=Style(weight=2.0))
        sheet.box(-2.6, -long + 8, 5.2, 14)
        sheet.circle((0, -2), 2.4, LOUD_SOLID)
    dial_face(sheet, dial_centre(at, angle, long))


def dial_face(sheet: Sheet, at: Point) -> None:
    """Draw the face of a dial; the swing of its needle is what is measured."""
    with sheet.placed(at):
        sheet.circle((0, 0), FACE)
        for i in range(12):
            x, y = sin(radians(30.0 * i)), cos(radians(30.0 * i))
            inner = FACE - (4.5 if i % 3 == 0 else 3.0)
            sheet.line((x * inner, y * inner), (x * (FACE - 1.5), y * (FACE - 1.5)), style=FAINT)
        sheet.line((0, 0), (5.5, -8.5), style=LOUD)
        sheet.circle((0, 0), 1.6, LOUD_SOLID)
        sheet.arc((0, 0), FACE - 4.5, -150, -57, LOUD_THIN)


def dial_centre(at: Point, angle: float, long: float = STEM) -> Point:
    """Give the middle of the face of a dial indicator that is drawn at a place."""
    return at[0] + long * sin(radians(angle)), at[1] - long * cos(radians(angle))


def magnet(sheet: Sheet, at: Point, angle: float = 0.0) -> None:
    """Draw a magnetic base whose foot stands on a place and points down."""
    with sheet.placed(at, angle):
        sheet.box(-11, -15, 22, 15)
        sheet.line((0, -1), (0, -8), style=THIN)
        sheet.circle((0, -9), 3.0, THIN_SOLID)


def rod(sheet: Sheet, *points: Point) -> None:
    """Draw the rods of a stand, clamped together where they meet."""
    for start, end in pairwise(points):
        sheet.line(start, end, style=HEAVY)
    for point in points[1:-1]:
        sheet.circle(point, 3.4, SOLID)


def depth_gauge(
    sheet: Sheet, at: Point, deep: float, angle: float = 0.0, broad: float = 46.0
) -> None:
    """Draw a depth gauge that stands on a place, its rod reaching so deep below."""
    with sheet.placed(at, angle):
        sheet.box(-2.2, -34, 4.4, 34 + deep, SOLID)
        sheet.box(-5, -44, 10, 36, SOLID)
        for i in range(6):
            sheet.line((-5, -40 + 4.5 * i), (-1.5, -40 + 4.5 * i), style=FAINT)
        sheet.rounded(-broad / 2, -11, broad, 11, 2.0)


def straightedge(
    sheet: Sheet, at: Point, long: float, angle: float = 0.0, broad: float = 9.0
) -> None:
    """Draw a straightedge whose true edge starts at a place, its body above that edge."""
    with sheet.placed(at, angle):
        sheet.box(0, -broad, long, broad)
        sheet.line((0, -broad * 0.35), (long, -broad * 0.35), style=FAINT)


def feeler(sheet: Sheet, at: Point, long: float, angle: float = 0.0, thick: float = 2.4) -> None:
    """Draw a feeler gauge seen on edge: the tip of its leaf at a place, its holder to the right."""
    with sheet.placed(at, angle):
        sheet.box(0, -thick / 2, long, thick, BLACK)
        sheet.shape(
            (long, -4), (long + 34, -7), (long + 38, -3), (long + 38, 3), (long + 34, 7), (long, 4)
        )
        for y in (-2.2, 0.0, 2.2):
            sheet.line((long + 3, y), (long + 31, y * 1.9), style=FAINT)
        sheet.circle((long + 31, 0), 2.0, THIN_SOLID)


def micrometer(sheet: Sheet, at: Point, gap: float, throat: float, angle: float = 0.0) -> None:
    """Draw a micrometer: the face of its anvil at a place, the spindle to the right of it."""
    with sheet.placed(at, angle):
        _frame(sheet, gap, throat)
        sheet.box(-9, -3.2, 9, 6.4)
        sheet.box(gap, -3.2, 18, 6.4)
        sheet.box(gap + 17, -5, 20, 10)
        for i in range(4):
            sheet.line((gap + 20 + 4.0 * i, 0), (gap + 20 + 4.0 * i, -3.5), style=FAINT)
        sheet.line((gap + 17, 0), (gap + 33, 0), style=FAINT)
        sheet.box(gap + 33, -7, 22, 14)
        for y in (-4.0, 0.0, 4.0):
            sheet.line((gap + 38, y), (gap + 53, y), style=FAINT)


def _frame(sheet: Sheet, gap: float, throat: float) -> None:
    """Draw the bow of a micrometer above its anvil and spindle."""
    left, right, top = -9.0, gap + 18.0, -throat
    sheet.curve(
        (left - 6, 6),
        ((left - 6, top * 0.6), (left - 4, top - 10), ((left + right) / 2, top - 10)),
        ((right + 4, top - 10), (right + 6, top * 0.6), (right + 6, 5)),
        ((right + 6, 5), (right - 2, 5), (right - 2, 5)),
        ((right - 2, top * 0.5), (right - 6, top), ((left + right) / 2, top)),
        ((left + 6, top), (left, top * 0.5), (left, 6)),
        ((left, 6), (left - 6, 6), (left - 6, 6)),
        style=SOLID,
    )


def spring_balance(sheet: Sheet, at: Point, angle: float = 0.0) -> None:
    """Draw a push gauge for forces: its tip, pointing left, at a place."""
    with sheet.placed(at, angle):
        sheet.box(0, -7, 5, 14)
        sheet.line((5, 0), (18, 0), style=HEAVY)
        sheet.rounded(17, -9, 50, 18, 3)
        sheet.box(23, -3.5, 36, 7, THIN_SOLID)
        for i in range(1, 9):
            sheet.line((23 + 4.0 * i, -3.5), (23 + 4.0 * i, 0.5), style=FAINT)
        sheet.line((38, -4.5), (38, 4.5), style=LOUD)
        sheet.box(67, -5, 6, 10)


def stopwatch(sheet: Sheet, at: Point, radius: float = 26.0) -> None:
    """Draw a stopwatch with its middle at a place; the time it shows is what is measured."""
    with sheet.placed(at):
        sheet.box(-4, -radius - 9, 8, 10)
        sheet.box(-7, -radius - 13, 14, 5)
        with sheet.placed((0.0, 0.0), 40.0):
            sheet.box(-2.5, -radius - 6, 5, 7)
        sheet.circle((0, 0), radius)
        for i in range(12):
            x, y = sin(radians(30.0 * i)), cos(radians(30.0 * i))
            sheet.line(
                (x * (radius - 6), y * (radius - 6)),
                (x * (radius - 2.5), y * (radius - 2.5)),
                style=THIN,
            )
        sheet.turn((0, 0), radius - 10, -90, 30, LOUD)
        sheet.line((0, 0), (0, -radius + 7), style=LINE)
        sheet.circle((0, 0), 2.0, BLACK)


def lever_dial(sheet: Sheet, tip: Point, body: Point) -> None:
    """Draw a lever dial: the ball of its stylus at one place, the middle of its face at another."""
    (x, y), (right, middle) = tip, body
    sheet.line((right - FACE, middle), (x + 12, y + 8), (x, y + 2.6), style=Style(weight=2.0))
    sheet.circle((x, y + 2.6), 2.6, LOUD_SOLID)
    sheet.rounded(right - 26, middle - 6, 30, 12, 3)
    dial_face(sheet, body)


def calliper(sheet: Sheet, at: Point, gap: float) -> None:
    """Draw a calliper from above: the tip of its left jaw at a place, the other off by a gap."""
    with sheet.placed(at):
        high = -66.0
        sheet.box(-14, high, gap + 116, 11, THIN_SOLID)
        for i in range(int((gap + 90) / 4)):
            sheet.line(
                (4.0 * i, high + 11), (4.0 * i, high + (5 if i % 5 == 0 else 8)), style=FAINT
            )
        sheet.shape((-14, high), (0, high), (0, 0), (-5, 0), (-14, high + 26))
        sheet.shape(
            (gap, high - 3), (gap + 40, high - 3), (gap + 40, high + 14), (gap + 14, high + 14),
            (gap + 14, high + 26), (gap + 5, 0), (gap, 0),
        )  # fmt: skip
        sheet.circle((gap + 27, high - 6), 3.0, THIN_SOLID)
