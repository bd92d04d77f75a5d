"""Drawings of a heavy pull cover: the bearing between the yoke and the clutch brake."""

from ui.drawings import parts
from ui.drawings.sheet import CUT, FAINT, GHOST, HEAVY, SOLID, THIN, THIN_SOLID, Sheet, Style
from ui.drawings.tools import rule

_AXIS = 84.0
_BACK = 170.0  # back of the bearing's housing
_PAD = 136.0  # where the yoke takes hold of the bearing
_BRAKE = 214.0
_WALL = 246.0
_YOKE = Style(weight=1.5, fill="ground", hatch=1)


def _bearing(sheet: Sheet, off: float) -> None:
    """Draw bearing and sleeve with the fingers that hold them, so far toward the gearbox."""
    for side in (-1, 1):
        root, held = (24.0, _AXIS + side * 74), (66.0 + off, _AXIS + side * 21)
        sheet.line(root, held, style=Style(weight=3.0))
        sheet.circle(root, 3.0, SOLID)
        sheet.box(56 + off, _AXIS + (9 if side > 0 else -24), 10, 15, THIN_SOLID)
    sheet.box(60 + off, _AXIS - 13, 66, 26)
    sheet.box(122 + off, _AXIS - 34, _BACK - 122, 68)
    for side in (-1, 1):
        sheet.circle((148 + off, _AXIS + side * 22), 7.0, THIN_SOLID)
        sheet.box(_PAD + off, _AXIS + (34 if side > 0 else -46), 12, 12)


def _yoke(sheet: Sheet, off: float) -> None:
    """Draw the yoke on its cross shaft; its tip reaches behind the lower pad."""
    tip = _PAD - 11 + off
    sheet.shape(
        (tip, _AXIS + 36), (tip + 11, _AXIS + 36), (tip + 11, _AXIS + 46),
        (168, _AXIS + 84), (152, _AXIS + 88), (tip, _AXIS + 50), style=_YOKE,
    )  # fmt: skip
    sheet.circle((162, _AXIS + 88), 12, SOLID)
    sheet.circle((162, _AXIS + 88), 4, THIN_SOLID)


def _heavy(sheet: Sheet, *, gap: float = 0.0) -> None:
    """Draw all of it with the pedal up; the yoke stands off the bearing by a gap."""
    parts.gearbox(sheet, _WALL, 308, 8, 164)
    sheet.line((2, _AXIS - 6), (_WALL, _AXIS - 6), (_WALL, _AXIS + 6), (2, _AXIS + 6), style=SOLID)
    for y in (-2.5, 2.5):
        sheet.line((176, _AXIS + y), (242, _AXIS + y), style=FAINT)
    for side in (-1, 1):
        sheet.box(_BRAKE, _AXIS + (6 if side > 0 else -40), 9, 34, CUT)
    _bearing(sheet, 0.0)
    _yoke(sheet, -gap)


def yoke_gap(sheet: Sheet) -> None:
    """Draw the gap from the tip of the yoke to the pad of the bearing."""
    gap, low = 9.0, 146.0
    _heavy(sheet, gap=gap)
    sheet.witness(
        ((_PAD - gap, _AXIS + 48), (_PAD - gap, low + 5)), ((_PAD, _AXIS + 48), (_PAD, low + 5))
    )
    sheet.dimension((_PAD - gap, low), (_PAD, low))
    sheet.label((100, low), "gap", "right", loud=True)
    sheet.name((190, 186), "yoke", (166, _AXIS + 78))
    sheet.name((52, 186), "both tips", (_PAD - gap - 5, _AXIS + 44))
    sheet.label((277, 60), "gearbox", "centre")


def brake_gap(sheet: Sheet) -> None:
    """Draw the gap from the back of the bearing to the clutch brake."""
    _heavy(sheet)
    level = _AXIS - 24
    sheet.dimension((_BACK, level), (_BRAKE, level))
    sheet.witness(((_BACK, level), (_BACK, 30)), ((_BRAKE, _AXIS - 40), (_BRAKE, 30)))
    sheet.label(((_BACK + _BRAKE) / 2, 18), "gap", "centre", loud=True)
    sheet.name((204, 182), "clutch brake", (_BRAKE + 5, _AXIS + 34))
    sheet.name((40, 182), "bearing", (128, _AXIS + 26))
    sheet.label((277, 60), "gearbox", "centre")


def pull_bearing_travel(sheet: Sheet) -> None:
    """Draw the bearing pulled toward the gearbox, the fingers with it."""
    _heavy(sheet)
    moved = 30.0
    sheet.line(
        (_BACK, _AXIS - 34), (_BACK + moved, _AXIS - 34), (_BACK + moved, _AXIS + 34),
        (_BACK, _AXIS + 34), style=GHOST,
    )  # fmt: skip
    level = 26.0
    rule(sheet, (128, level - 17), 108)
    sheet.witness(
        ((_BACK, _AXIS - 34), (_BACK, level - 4)),
        ((_BACK + moved, _AXIS - 34), (_BACK + moved, level - 4)),
    )
    sheet.dimension((_BACK, level + 4), (_BACK + moved, level + 4))
    sheet.label((_BACK - 44, level + 4), "travel", "right", loud=True)
    sheet.arrow((66, _AXIS + 60), (100, _AXIS + 60), HEAVY)
    sheet.label((8, 178), "the fingers go with it")
    sheet.line((62, _AXIS + 30), (62, _AXIS + 78), style=THIN)
    sheet.label((277, 60), "gearbox", "centre")
