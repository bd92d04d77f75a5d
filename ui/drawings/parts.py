"""The parts of a clutch in section, for a push cover: the engine to the left, the gearbox right.

Heights are counted from the axis, so that the upper and the lower half are the same figures.
"""

from ui.drawings.sheet import (
    CUT,
    CUT_BACK,
    FAINT,
    FAINT_SOLID,
    GHOST,
    HEAVY,
    LINE,
    SOLID,
    THIN,
    THIN_SOLID,
    Point,
    Sheet,
    Style,
)

_FINGER = Style(weight=3.0)
_BOTH = (-1, 1)  # above the axis and below it


def _half(
    sheet: Sheet, axis: float, side: int, left: float, right: float, low: float, high: float,
    style: Style = CUT,
) -> None:  # fmt: skip
    """Draw a box between two heights on one side of the axis."""
    top = axis + side * (high if side < 0 else low)
    sheet.box(left, top, right - left, high - low, style)


def flywheel(sheet: Sheet, left: float, axis: float, radius: float, thick: float = 14.0) -> None:
    """Draw a flywheel with its ring gear on the end of the crankshaft."""
    sheet.box(left - 13, axis - 11, 13, 22, SOLID)
    sheet.box(left, axis - 7, thick - 3, 14, SOLID)
    for side in _BOTH:
        _half(sheet, axis, side, left, left + thick, 7, radius)
        _half(sheet, axis, side, left + 2, left + thick - 5, radius, radius + 4, THIN_SOLID)


def disc(sheet: Sheet, left: float, axis: float, radius: float) -> None:
    """Draw a disc in section: two facings on their plate, and the hub."""
    for side in _BOTH:
        _half(sheet, axis, side, left + 3, left + 6, 12, radius, SOLID)
        _half(sheet, axis, side, left, left + 3, radius * 0.58, radius, THIN_SOLID)
        _half(sheet, axis, side, left + 6, left + 9, radius * 0.58, radius, THIN_SOLID)
        _half(sheet, axis, side, left - 1, left + 13, 6, 13, CUT_BACK)


def cover(sheet: Sheet, left: float, axis: float, radius: float, tips: tuple[float, float]) -> None:
    """Draw a bolted-up cover with its plate and its diaphragm.

    Parameters
    ----------
    sheet : Sheet
    left : float
        The face of the flywheel.
    axis, radius : float
        The height of the axis; the radius of the flywheel.
    tips : pair of float
        Where the tips of the fingers stand above the axis and below it.
    """
    for side, tip in zip(_BOTH, tips, strict=True):
        _plate_and_spring(sheet, left + 9, axis, radius, side, tip)
        rim, back, fulcrum = radius - 1.5, left + 28, radius * 0.66
        profile = (
            (left, rim), (left + 6, rim), (left + 10, radius - 4), (back - 4, radius - 7),
            (back, radius - 11), (back, fulcrum),
        )  # fmt: skip
        sheet.line(*((x, axis + side * high) for x, high in profile), style=HEAVY)
        _half(sheet, axis, side, left - 6, left + 4, rim - 2, rim + 2, THIN_SOLID)


def _plate_and_spring(
    sheet: Sheet, left: float, axis: float, radius: float, side: int, tip: float
) -> None:
    """Draw one half of the pressure plate and of the diaphragm on its fulcrum."""
    _half(sheet, axis, side, left, left + 9, radius * 0.56, radius - 9)
    outer, fulcrum = radius - 12, radius * 0.66
    _half(sheet, axis, side, left + 9, left + 12, outer - 2, outer + 1, SOLID)
    bow = (left + 13.5, axis + side * outer), (left + 15.5, axis + side * fulcrum)
    sheet.line(*bow, (tip - 2.5, axis + side * 15), style=_FINGER)
    sheet.curve(
        (tip - 2.5, axis + side * 15),
        ((tip - 1, axis + side * 14), (tip, axis + side * 12.5), (tip, axis + side * 11.5)),
        style=_FINGER,
    )
    sheet.circle((left + 15.5, axis + side * fulcrum), 2.0, SOLID)


def shaft(sheet: Sheet, left: float, right: float, axis: float) -> None:
    """Draw the input shaft with its pilot end to the left."""
    sheet.box(left, axis - 3.5, 14, 7)
    sheet.line(
        (right, axis - 5.5), (left + 14, axis - 5.5), (left + 14, axis + 5.5), (right, axis + 5.5),
        style=SOLID,
    )  # fmt: skip
    for y in (-2.0, 2.0):
        sheet.line((left + 18, axis + y), (left + 46, axis + y), style=FAINT)


def quill(sheet: Sheet, left: float, right: float, axis: float) -> None:
    """Draw the quill that the release bearing slides on, flanged to the gearbox."""
    for side in _BOTH:
        _half(sheet, axis, side, left, right, 7, 9.5, CUT_BACK)
        _half(sheet, axis, side, right - 6, right, 9.5, 20, CUT_BACK)


def bearing(sheet: Sheet, left: float, axis: float) -> None:
    """Draw the release bearing on its collar; its face, to the left, meets the fingers."""
    for side in _BOTH:
        _half(sheet, axis, side, left + 3, left + 16, 9.5, 12, SOLID)
        _half(sheet, axis, side, left, left + 11, 12, 21, SOLID)
        sheet.circle((left + 6, axis + side * 16.5), 3.2, THIN_SOLID)
        _half(sheet, axis, side, left + 11, left + 15, 12, 19, SOLID)


def fork(sheet: Sheet, pivot: Point, angle: float, long: float, reach: float, wall: float) -> None:
    """Draw a fork seen from the side, on a pivot ball at its upper end.

    Parameters
    ----------
    sheet : Sheet
    pivot : Point
        The middle of the pivot ball.
    angle : float
        Degrees by which the fork is turned clockwise from hanging straight down.
    long : float
        From the pivot to the tip.
    reach : float
        From the pivot to where it presses the bearing.
    wall : float
        Where the wall begins that holds the pivot's stud.
    """
    x, y = pivot
    sheet.box(x + 3, y - 2.8, wall - x - 3, 5.6)
    sheet.box(wall - 5, y - 6, 5, 12)
    with sheet.placed(pivot, angle):
        sheet.circle((-5.5, reach), 4.0, SOLID)
        sheet.shape(*_fork_outline(long, reach))
        sheet.line((-1.5, 14), (-1.5, long - 26), style=FAINT)
    sheet.circle(pivot, 5.5, Style(fill="ground", hatch=1))


def fork_ghost(sheet: Sheet, pivot: Point, angle: float, long: float, reach: float) -> None:
    """Draw the lower part of a fork where it was, or where it goes to."""
    with sheet.placed(pivot, angle):
        sheet.line(*(p for p in _fork_outline(long, reach) if p[1] > reach + 20), style=GHOST)


def _fork_outline(long: float, reach: float) -> tuple[Point, ...]:
    return (
        (-5, -10), (4, -10), (5, -3), (5, reach - 8), (5.5, reach), (5, reach + 14),
        (3.6, reach + 40), (3.6, long), (-3.6, long), (-3.6, reach + 40), (-5, reach + 14),
        (-5.5, reach), (-5, reach - 8), (-5, -2),
    )  # fmt: skip


def slave(sheet: Sheet, tip: Point, body: float, long: float = 58.0) -> None:
    """Draw a slave cylinder to the right, its push rod's round end at a place, pointing left."""
    x, y = tip
    sheet.box(x + 2, y - 2, body - x - 2, 4)
    sheet.circle((x + 2.5, y), 2.8, SOLID)
    for i in range(3):
        sheet.rounded(body - 15 + 5 * i, y - 7 - i, 5, 14 + 2 * i, 2, THIN_SOLID)
    sheet.box(body, y - 11, long, 22)
    sheet.line((body + 12, y - 11), (body + 12, y + 11), style=THIN)
    sheet.box(body + long, y - 4, 7, 8)
    sheet.box(body + long - 13, y - 18, 6, 7, THIN_SOLID)
    sheet.line((body + long - 10, y - 18), (body + long - 10, y - 22), style=LINE)


def engine(sheet: Sheet, left: float, right: float, top: float, bottom: float) -> None:
    """Draw the back of the engine, left off to the left."""
    sheet.line((left, top), (right, top), (right, bottom), (left, bottom), style=SOLID)
    sheet.torn(left, top, bottom)


def gearbox(sheet: Sheet, left: float, right: float, top: float, bottom: float) -> None:
    """Draw the front of the gearbox, left off to the right."""
    style = FAINT_SOLID
    sheet.line((right, top), (left, top), (left, bottom), (right, bottom), style=style)
    sheet.torn(right, top, bottom, FAINT)
