"""Drawings with the gearbox out: the fingers of the cover."""

from math import cos, radians, sin

from ui.drawings import parts
from ui.drawings.sheet import CUT, LINE, THIN, Point, Sheet, Style
from ui.drawings.tools import depth_gauge, straightedge

_AXIS = 100.0
_ZOOM = 1.6
_RADIUS = 52.0


def _clutch(sheet: Sheet, face: float, above: float, below: float) -> None:
    """Draw flywheel, disc and cover in section, the tips so far from the friction face."""
    with sheet.placed((face, _AXIS), zoom=_ZOOM):
        parts.flywheel(sheet, -14, 0, _RADIUS)
        parts.disc(sheet, 0, 0, 43)
        parts.cover(sheet, 0, 0, _RADIUS, (above / _ZOOM, below / _ZOOM))


def finger_height(sheet: Sheet) -> None:
    """Draw a straightedge across the cover, and the height of the tips above the flywheel."""
    face, tips, back = 84.0, 39.0, 46.5
    sheet.centre_line((42, _AXIS), (236, _AXIS))
    _clutch(sheet, face, tips, tips)
    straightedge(sheet, (face + back, 18), 164, 90)
    tip = _AXIS - 19.0
    height = tips + 1.5
    depth_gauge(sheet, (face + back + 9, tip), back + 9 - height, 90, broad=40)
    low = _AXIS + 17.0
    sheet.witness(((face, low + 3), (face, 196)), ((face + height, low + 3), (face + height, 196)))
    sheet.dimension((face, 191), (face + height, 191))
    sheet.label((face + height + 10, 189), "height of the tips", loud=True)
    sheet.name((210, 36), "straightedge", (face + back + 9, 36))
    sheet.name((210, 132), "depth gauge", (face + back + 36, tip + 5))


def finger_spread(sheet: Sheet) -> None:
    """Draw every finger read from one fixed point, and the highest against the lowest."""
    face, high, low, wall = 50.0, 50.0, 36.0, 138.0
    sheet.centre_line((10, _AXIS), (wall + 44, _AXIS))
    _clutch(sheet, face, high, low)
    for top in (2, 192):
        sheet.box(4, top, wall - 4, 6, CUT)
    straightedge(sheet, (wall, 0), 200, 90)
    depth_gauge(sheet, (wall + 9, _AXIS - 19), wall + 7.5 - face - high, 90, broad=40)
    for place, start in ((face + high + 1.5, _AXIS - 16), (face + low + 1.5, _AXIS + 19)):
        sheet.witness(((place, start), (place, _AXIS - (5 if start > _AXIS else -5))))
    sheet.dimension((face + low + 1.5, _AXIS), (face + high + 1.5, _AXIS))
    view = (256.0, 84.0)
    _face_view(sheet, view, 56.0)
    sheet.name((208, 12), "fixed point", (wall + 9, 12))
    sheet.label((view[0], 164), "highest finger", "centre", loud=True)
    sheet.label((view[0], 181), "less lowest", "centre", loud=True)


def _face_view(sheet: Sheet, centre: Point, radius: float) -> None:
    """Draw the cover from the gearbox, every finger marked where it is read."""
    sheet.circle(centre, radius)
    sheet.circle(centre, radius * 0.62, Style(fill="ground", weight=1.2))
    sheet.circle(centre, radius * 0.25, THIN)
    mark = Style(tone="accent", weight=1.4)
    for i in range(12):
        cut, finger = 30.0 * i, 30.0 * i + 15.0
        tip, root = _around(centre, radius * 0.25, cut), _around(centre, radius * 0.56, cut)
        sheet.line(tip, root, style=THIN)
        sheet.circle(_around(centre, radius * 0.35, finger), 2.4, mark)
    sheet.turn(centre, radius * 0.82, -150, -30, LINE)


def _around(centre: Point, radius: float, angle: float) -> Point:
    """Give a place on a circle."""
    return centre[0] + radius * cos(radians(angle)), centre[1] + radius * sin(radians(angle))
