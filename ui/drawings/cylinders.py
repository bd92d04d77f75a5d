"""Drawings of cylinders, their rods, and of what the starter's current loses on its way home."""

from ui.drawings.sheet import (
    BLACK,
    CUT,
    FAINT,
    GHOST,
    HEAVY,
    LOUD,
    SOLID,
    THIN_SOLID,
    Point,
    Sheet,
    Style,
)
from ui.drawings.tools import rule

_AXIS = 92.0
_BORE = 25.0  # half of it
_WALL = 13.0
_CABLE = Style(weight=4.0)


def _cylinder(sheet: Sheet, left: float, right: float, piston: float) -> None:
    """Draw a cylinder in section, open to the left, with its piston, seal and push rod."""
    sheet.centre_line((8, _AXIS), (312, _AXIS))
    for side in (-1, 1):
        top = _AXIS + (_BORE if side > 0 else -_BORE - _WALL)
        sheet.box(left, top, right - left, _WALL, CUT)
    sheet.box(right - 12, _AXIS - _BORE, 12, 2 * _BORE, CUT)
    sheet.box(piston, _AXIS - _BORE, 34, 2 * _BORE)
    for side in (-1, 1):
        sheet.rounded(piston + 22, _AXIS + (_BORE - 9 if side > 0 else -_BORE), 7, 9, 2, BLACK)
    sheet.box(left - 58, _AXIS - 3, piston - left + 62, 6)
    sheet.circle((piston + 4, _AXIS), 5.0, THIN_SOLID)


def _measured(sheet: Sheet, at: float, left: float) -> None:
    """Draw the dimension of the bore, and where it is cast on the body."""
    sheet.dimension((at, _AXIS - _BORE), (at, _AXIS + _BORE))
    sheet.label((at - 9, _AXIS - 12), "bore", "right", loud=True)
    sheet.label((160, 186), "bore less the sheet's", "centre", loud=True)
    sheet.name((left + 8, 154), "or cast on the body", (left + 40, _AXIS + _BORE + 8))


def master_bore_off(sheet: Sheet) -> None:
    """Draw the bore of the master."""
    left, right = 92.0, 276.0
    _cylinder(sheet, left, right, 110)
    sheet.box(160, 34, 16, _AXIS - _BORE - _WALL - 34, THIN_SOLID)
    sheet.rounded(132, 8, 72, 30, 4)
    sheet.line((136, 20), (200, 20), style=FAINT)
    _measured(sheet, 244, left)
    sheet.name((218, 18), "reservoir", (198, 26))


def slave_bore_off(sheet: Sheet) -> None:
    """Draw the bore of the slave."""
    left, right = 92.0, 276.0
    _cylinder(sheet, left, right, 110)
    for i in range(4):
        high = 30.0 - 5 * i
        sheet.rounded(left - 8 - 8 * i, _AXIS - high, 8, 2 * high, 3, THIN_SOLID)
    sheet.box(left - 58, _AXIS - 3, 26, 6)
    sheet.box(246, 34, 10, _AXIS - _BORE - _WALL - 34)
    sheet.line((251, 34), (251, 26), style=HEAVY)
    _measured(sheet, 230, left)
    sheet.name((200, 22), "bleed screw", (249, 38), "right")


def slave_rod_off(sheet: Sheet) -> None:
    """Draw the push rod of the slave beside the old one."""
    start, old, new = 40.0, 244.0, 208.0
    _rod(sheet, 58, start, old, ghost=True)
    _rod(sheet, 104, start, new, ghost=False)
    rule(sheet, (start, 126), 236, broad=15)
    sheet.witness(((old, 62), (old, 126)), ((new, 108), (new, 126)))
    sheet.dimension((new, 88), (old, 88))
    sheet.line((start, 48), (start, 126), style=FAINT)
    sheet.label((266, 88), "off", loud=True)
    sheet.label((start, 32), "old one, or the sheet's length")
    sheet.label((start, 164), "this one - shorter is minus,")
    sheet.label((start, 180), "longer is plus")


def _rod(sheet: Sheet, level: float, start: float, end: float, *, ghost: bool) -> None:
    """Draw a push rod with a round end to the left and a tip to the right."""
    style = GHOST if ghost else SOLID
    sheet.shape(
        (start + 12, level - 5), (end - 8, level - 5), (end, level), (end - 8, level + 5),
        (start + 12, level + 5), style=style,
    )  # fmt: skip
    sheet.circle((start + 8, level), 8.0, style)


def earth_voltage(sheet: Sheet) -> None:
    """Draw a voltmeter from the battery's negative post to the engine."""
    sheet.rounded(16, 96, 92, 64, 4)
    for x, sign in ((36.0, "−"), (88.0, "+")):
        sheet.box(x - 6, 84, 12, 12, BLACK)
        sheet.label((x, 112), sign, "centre")
    sheet.label((62, 142), "battery", "centre")
    sheet.box(196, 76, 104, 84)
    sheet.box(212, 62, 72, 14, THIN_SOLID)
    sheet.label((248, 118), "engine", "centre")
    sheet.curve(
        (30, 90), ((4, 90), (6, 120), (6, 150)), ((6, 204), (140, 180), (196, 150)), style=_CABLE
    )
    sheet.circle((196, 150), 3.5, THIN_SOLID)
    sheet.label((164, 186), "earth strap")
    meter: Point = (130.0, 36.0)
    sheet.line((36, 84), (36, 36), (meter[0] - 26, 36), style=LOUD)
    sheet.line((meter[0] + 26, 36), (226, 36), (226, 62), style=LOUD)
    sheet.circle(meter, 26)
    sheet.label(meter, "V", "centre", loud=True)
    sheet.label((236, 47), "bare metal")
    sheet.label((168, 16), "while it cranks", loud=True)
