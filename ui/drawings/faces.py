"""Drawings of wear and fit inside the clutch: fingers, hubs, lugs, plates, springs, faces."""

from ui.drawings.sheet import (
    CUT,
    CUT_BACK,
    FAINT,
    FAINT_SOLID,
    GHOST,
    HEAVY,
    LOUD,
    SOLID,
    THIN,
    THIN_SOLID,
    Point,
    Sheet,
    Style,
)
from ui.drawings.tools import (
    calliper,
    depth_gauge,
    dial_face,
    feeler,
    hand,
    micrometer,
    straightedge,
)


def finger_wear_depth(sheet: Sheet) -> None:
    """Draw a depth gauge across the place where the bearing has worn into a finger."""
    top, deep, left, right = 84.0, 16.0, 112.0, 168.0
    sheet.shape(
        (10, top + 34), (64, top), (left, top), (left + 6, top + deep), (right - 6, top + deep),
        (right, top), (204, top), (220, top + 12), (220, top + 34), (196, top + 44),
        (70, top + 44), (18, top + 62), style=CUT,
    )  # fmt: skip
    depth_gauge(sheet, ((left + right) / 2, top), deep, broad=92)
    sheet.witness(((right - 4, top + deep), (258, top + deep)), ((220, top), (258, top)))
    sheet.dimension((248, top), (248, top + deep))
    sheet.label((264, top + deep / 2), "depth", loud=True)
    sheet.name((176, 30), "depth gauge", (148, 50))
    sheet.name((40, 176), "tip of a finger, cut along", (90, top + 36))


def finger_wear_width(sheet: Sheet) -> None:
    """Draw a calliper along a finger, over the bright mark."""
    left, right, axis = 92.0, 140.0, 126.0
    sheet.shape((4, axis - 40), (left, axis - 26), (214, axis - 14), (222, axis), (214, axis + 14),
                (left, axis + 26), (4, axis + 40))  # fmt: skip
    sheet.shape((left, axis - 25), (right, axis - 20), (right, axis + 20), (left, axis + 25),
                style=THIN_SOLID)  # fmt: skip
    for i in range(1, 8):
        x = left + 6.0 * i
        sheet.line((x, axis - 22 + 0.4 * i), (x, axis + 22 - 0.4 * i), style=FAINT)
    calliper(sheet, (left, axis - 28), right - left)
    sheet.witness(*(((x, axis + 28), (x, axis + 48)) for x in (left, right)))
    sheet.dimension((left, axis + 44), (right, axis + 44))
    sheet.label((right + 12, axis + 46), "width of the mark", loud=True)
    sheet.name((236, axis - 32), "finger tip", (200, axis - 8))


def lever_height(sheet: Sheet) -> None:
    """Draw a straightedge across the levers, and their height above the clutch ring."""
    axis, face, ring, tips = 94.0, 60.0, 112.0, 152.0
    sheet.centre_line((20, axis), (230, axis))
    for side in (-1, 1):
        for left, right, low, high in ((34, face, 8, 80), (face, ring, 64, 80)):
            sheet.box(left, axis + side * (high if side < 0 else low), right - left, high - low,
                      CUT if left < face else CUT_BACK)  # fmt: skip
        sheet.box(face + 14, axis + side * (62 if side < 0 else 34), 14, 28, CUT)
        lever = ((face + 30, 56), (ring + 4, 46), (tips, 20), (tips, 12), (tips - 6, 12),
                 (ring - 4, 38), (face + 30, 48))  # fmt: skip
        sheet.shape(*((x, axis + side * high) for x, high in lever))
        sheet.circle((ring, axis + side * 42), 3.4, THIN_SOLID)
    straightedge(sheet, (tips, 60), 68, 90, broad=10)
    sheet.witness(((ring, axis + 82), (ring, 194)), ((tips, axis + 22), (tips, 194)))
    sheet.dimension((ring, 188), (tips, 188))
    sheet.label((tips + 10, 188), "lever height", loud=True)
    sheet.name((206, 22), "clutch ring", (ring - 6, axis - 72))
    sheet.name((206, 128), "straightedge", (tips - 5, 124))
    sheet.name((206, 50), "lever", (ring + 16, axis - 34))


def hub_gap(sheet: Sheet) -> None:
    """Draw two discs and the floater built up on the flywheel, with the gaps at their hubs."""
    axis, face = 88.0, 84.0
    sheet.centre_line((14, axis), (230, axis))
    for side in (-1, 1):

        def half(
            left: float, right: float, low: float, high: float, side: int = side, *, cut: int = 1
        ) -> None:
            style = {1: CUT, -1: CUT_BACK, 0: THIN_SOLID}[cut]
            sheet.box(
                left, axis + side * (high if side < 0 else low), right - left, high - low, style
            )

        half(face - 34, face, 30, 84)
        half(face - 58, face - 34, 18, 40, cut=-1)
        half(face - 52, face - 34, 9, 18, cut=0)  # pilot
        half(face + 22, face + 36, 36, 84)  # floater
        for left, hub in ((face, face - 11), (face + 36, face + 45)):
            half(left, left + 8, 44, 80, cut=0)
            half(left + 14, left + 22, 44, 80, cut=0)
            half(left + 8, left + 14, 16, 80, cut=0)
            half(hub, hub + 34, 9, 20, cut=-1)
    near, first, second, last = face - 34.0, face - 11.0, face + 23.0, face + 45.0
    low = axis + 98
    sheet.witness(*(((x, axis + 20), (x, low + 4)) for x in (near, first, second, last)))
    sheet.dimension((near, low), (first, low))
    sheet.dimension((second, low), (last, low))
    sheet.label((face + 62, low), "the smaller gap", loud=True)
    sheet.name((206, 30), "floater", (face + 29, 24))
    sheet.name((206, 128), "hubs", (face + 66, axis + 14))
    sheet.name((6, 12), "pilot", (face - 44, axis - 14))


def cover_lug_gap(sheet: Sheet) -> None:
    """Draw a feeler beside a lug of the cover in its slot in the pressure plate."""
    top, slot, left, right = 84.0, 140.0, 96.0, 158.0
    sheet.line((6, 30), (left + 8, 30), (left + 8, slot - 10), (right - 8, slot - 10),
               (right - 8, 30), (250, 30), style=SOLID)  # fmt: skip
    sheet.line((6, 12), (250, 12), style=HEAVY)
    sheet.shape((6, top), (left, top), (left, slot), (right, slot), (right, top), (250, top),
                (250, 182), (6, 182), style=CUT)  # fmt: skip
    feeler(sheet, (right - 4, slot - 4), 92, -90, 4.4)
    sheet.dimension((right - 8, 116), (right, 116))
    sheet.label((190, 56), "clearance", loud=True)
    sheet.name((8, 58), "cover's lug", (left + 24, 92))
    sheet.name((258, 140), "plate", (236, 132))


def _over(sheet: Sheet, at: Point, long: float, new: float, now: float, *, both: bool) -> None:
    """Draw a plate as it is, dashed as it was new, and a micrometer across it."""
    left, top = at
    cut = (new - now) / (2.0 if both else 1.0)
    sheet.box(left, top, long, new, GHOST)
    sheet.box(left, top + cut, long, now, CUT)
    micrometer(sheet, (left + 24, top + cut + now), now, 52, -90)


def plate_cut(sheet: Sheet) -> None:
    """Draw a pressure plate thinner than it was, on one face."""
    left, top, long, new, now = 96.0, 84.0, 132.0, 70.0, 52.0
    _over(sheet, (left, top), long, new, now, both=False)
    edge = left + long
    sheet.witness(*(((edge + 2, y), (edge + 34, y)) for y in (top, top + new - now)))
    sheet.dimension((edge + 24, top), (edge + 24, top + new - now))
    sheet.label((204, 44), "taken off", loud=True)
    sheet.label((164, 182), "new thickness, less this one", "centre")
    sheet.name((256, 132), "plate", (edge - 16, 132))


def floater_cut(sheet: Sheet) -> None:
    """Draw a floater thinner than it was, on both faces."""
    left, top, long, new, now = 96.0, 78.0, 132.0, 64.0, 34.0
    _over(sheet, (left, top), long, new, now, both=True)
    edge, cut = left + long, (new - now) / 2
    sheet.witness(*(((edge + 2, y), (edge + 28, y)) for y in (top, top + cut)))
    sheet.dimension((edge + 20, top), (edge + 20, top + cut))
    sheet.label((edge + 34, top + cut / 2), "a side", loud=True)
    sheet.label((164, 182), "half of new less this one", "centre")
    sheet.name((150, 36), "floater", (178, top + new / 2))


def spring_load(sheet: Sheet) -> None:
    """Draw a coil spring pressed to its length in a tester."""
    middle, top, long = 104.0, 62.0, 88.0
    sheet.box(38, top + long, 132, 12, CUT)
    sheet.box(58, top - 12, 92, 12)
    sheet.push((middle, top - 12), 90, 40)
    turns = 5
    step = long / turns
    for i in range(turns):
        y = top + step * i
        sheet.line((middle - 26, y + 3), (middle + 26, y + step - 3), style=HEAVY)
        if i:
            sheet.line((middle + 26, y - 3), (middle - 26, y + 3), style=FAINT)
    dial_face(sheet, (236, top + long - 16))
    sheet.line((170, top + long + 6), (236, top + long + 6), (236, top + long), style=HEAVY)
    sheet.line((58, top), (26, top), style=FAINT)
    sheet.line((38, top + long), (26, top + long), style=FAINT)
    sheet.arrow((30, top + long / 2), (30, top), THIN)
    sheet.arrow((30, top + long / 2), (30, top + long), THIN)
    sheet.label((196, 104), "load", loud=True)
    sheet.label((30, 186), "pressed to the listed length")
    sheet.name((196, 40), "clamp spring", (middle + 26, top + 14))


def disc_flatness(sheet: Sheet) -> None:
    """Draw a dished disc on a flat plate, a feeler under its facing."""
    plate, middle, rim, dish = 136.0, 128.0, 108.0, 16.0
    sheet.box(6, plate, middle - 24 - 6, 18, CUT)
    sheet.box(middle + 24, plate, 290 - middle - 24, 18, CUT)
    for side in (-1, 1):

        def bar(near: float, low: float, thick: float, style: Style, side: int = side) -> None:
            up = (dish if side > 0 else 0.0) / rim
            ends = ((near, low), (rim, low), (rim, low + thick), (near, low + thick))
            sheet.shape(*((middle + side * x, plate - y - up * x) for x, y in ends), style=style)

        bar(54, 0, 8, THIN_SOLID)
        bar(54, 14, 8, THIN_SOLID)
        bar(12, 8, 6, SOLID)
    sheet.box(middle - 15, plate - 34, 30, 58, CUT_BACK)
    feeler(sheet, (middle + rim - 28, plate - 5), 54, 0, 5.0)
    sheet.dimension((middle + rim, plate - dish), (middle + rim, plate))
    sheet.witness(((middle + rim, plate - dish - 20), (middle + rim, 74)))
    sheet.label((244, 60), "largest gap", "centre", loud=True)
    sheet.name((14, 60), "disc, edge on", (middle - 70, plate - 20))
    sheet.label((8, 182), "flat plate, hub over its hole")


def face_finish(sheet: Sheet) -> None:
    """Draw a nail across the friction face, and the fields of a comparison plate."""
    centre = (70.0, 214.0)
    sheet.ring(centre, 132, 56, SOLID)
    for radius in range(64, 132, 8):
        sheet.circle(centre, float(radius), FAINT)
    hand(sheet, (88, 106), -20)
    sheet.rounded(214, 26, 68, 148, 4)
    for field, space in enumerate((2.2, 4.4, 8.0)):
        top = 34.0 + 46.0 * field
        sheet.box(222, top, 52, 40, FAINT_SOLID)
        for i in range(1, int(40 / space)):
            sheet.line((222, top + space * i), (274, top + space * i), style=FAINT)
    sheet.box(219, 77, 58, 46, LOUD)
    sheet.label((248, 188), "feels alike", "centre", loud=True)
    sheet.name((8, 40), "friction face", (44, 96))
    sheet.label((248, 13), "comparison plate", "centre")
