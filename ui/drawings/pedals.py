"""Drawings from the seat: the pedal, the clock and the rev counter."""

from math import atan2, cos, degrees, pi, radians, sin

from ui.drawings.sheet import (
    BLACK,
    FAINT,
    GHOST,
    HEAVY,
    LINE,
    LOUD,
    LOUD_GHOST,
    LOUD_SOLID,
    THIN,
    THIN_SOLID,
    Point,
    Sheet,
    Style,
)
from ui.drawings.tools import hand, rule, spring_balance, stopwatch, tape

_PIVOT: Point = (132.0, 18.0)
_ARM = 116.0  # from the pivot to the middle of the pad
_CLEVIS = 40.0
_PAD = 15.0  # half of the pad
_NEEDLE = Style(tone="accent", weight=3.4)
_REST, _BITE, _STOP = 30.0, 7.0, -15.0  # degrees from straight down, toward the driver


def _at(angle: float, far: float, off: float = 0.0) -> Point:
    """Give a place on the pedal: so far from its pivot, and so far off toward the driver."""
    sine, cosine = sin(radians(angle)), cos(radians(angle))
    return _PIVOT[0] + far * sine + off * cosine, _PIVOT[1] + far * cosine - off * sine


def _bulkhead(sheet: Sheet, angle: float) -> None:
    """Draw bulkhead and floor, and the master cylinder with its push rod."""
    sheet.line((70, 2), (70, 122), (104, 190), (316, 190), style=HEAVY)
    x, y = _at(angle, _CLEVIS)
    sheet.rounded(22, y - 42, 24, 22, 4, THIN_SOLID)
    sheet.box(31, y - 20, 6, 10, THIN_SOLID)
    sheet.box(14, y - 10, 48, 20)
    sheet.box(62, y - 14, 8, 28, THIN_SOLID)
    sheet.box(70, y - 2, x - 70, 4)


def _pedal(sheet: Sheet, angle: float) -> None:
    """Draw the pedal."""
    with sheet.placed(_PIVOT, -angle):
        sheet.shape((-4, 0), (4, 0), (3.5, _ARM + 4), (-3.5, _ARM + 4))
        sheet.rounded(3, _ARM - _PAD, 7, 2 * _PAD, 2.5)
        for i in range(5):
            sheet.line((7, _ARM - 10 + 5.0 * i), (10, _ARM - 10 + 5.0 * i), style=FAINT)
        sheet.circle((0, _CLEVIS), 3.0, THIN_SOLID)
    sheet.line((_PIVOT[0] - 12, 2), (_PIVOT[0] - 7, 18), (_PIVOT[0] + 7, 18), (_PIVOT[0] + 12, 2))
    sheet.circle(_PIVOT, 6.5)
    sheet.circle(_PIVOT, 2.0, THIN_SOLID)


def _pedal_ghost(sheet: Sheet, angle: float) -> None:
    """Draw the pedal where it was, or where it goes to."""
    with sheet.placed(_PIVOT, -angle):
        sheet.line((3.5, 60), (3.5, _ARM - _PAD), style=GHOST)
        sheet.line((-3.5, 60), (-3.5, _ARM + 4), (3, _ARM + 4), style=GHOST)
        sheet.rounded(3, _ARM - _PAD, 7, 2 * _PAD, 2.5, GHOST)


def _between_pads(sheet: Sheet, one: float, other: float, low: float) -> tuple[Point, Point]:
    """Draw the dimension between two places of the pad's face, below the pad."""
    start, end = _at(one, _ARM + low, 10), _at(other, _ARM + low, 10)
    for angle, far in ((one, start), (other, end)):
        sheet.witness((_at(angle, _ARM + _PAD + 2, 10), far))
    return start, end


def _slope(start: Point, end: Point) -> float:
    """Give the angle of a rule laid from one place to another."""
    return degrees(atan2(end[1] - start[1], end[0] - start[0]))


def pedal_free_play(sheet: Sheet) -> None:
    """Draw the pad pressed by hand until it gets firm."""
    firm = _REST - 12
    _bulkhead(sheet, _REST)
    _pedal_ghost(sheet, firm)
    _pedal(sheet, _REST)
    hand(sheet, _at(_REST, _ARM, 12), -18)
    start, end = _between_pads(sheet, firm, _REST, _PAD + 12)
    with sheet.placed(start, _slope(start, end)):
        rule(sheet, (-18, 6), 66)
    sheet.dimension(start, end)
    sheet.label((end[0] + 30, end[1] + 12), "free play", loud=True)
    sheet.label((226, 52), "by hand,\nuntil firm")


def engagement_height(sheet: Sheet) -> None:
    """Draw the pad where the clutch takes hold, above where it stands at its stop."""
    _bulkhead(sheet, _BITE)
    _pedal_ghost(sheet, _REST)
    _pedal_ghost(sheet, _STOP)
    _pedal(sheet, _BITE)
    start, end = _between_pads(sheet, _STOP, _BITE, _PAD + 10)
    tape(sheet, _at(_STOP, _ARM + _PAD + 16, 10), 96, _slope(start, end))
    sheet.dimension(start, end)
    sheet.label((end[0] + 14, end[1] - 9), "height", loud=True)
    sheet.name((62, 146), "stop", _at(_STOP, _ARM + 4, 6), "right")
    sheet.name((212, 76), "takes hold", _at(_BITE, 74, 2))
    sheet.name((226, 112), "at rest", _at(_REST, _ARM - 6, 6))


def pedal_effort(sheet: Sheet) -> None:
    """Draw a push gauge on the middle of the pad."""
    _bulkhead(sheet, _BITE)
    _pedal(sheet, _BITE)
    spring_balance(sheet, _at(_BITE, _ARM, 10), -_BITE)
    hand(sheet, _at(_BITE, _ARM, 82), -_BITE)
    sheet.arrow(_at(_BITE, _ARM + 26, 80), _at(_BITE, _ARM + 26, 14), LOUD)
    sheet.label((240, 158), "force", loud=True)
    sheet.label((196, 52), "square to the arm,\nslowly to the floor")


def pedal_travel(sheet: Sheet) -> None:
    """Draw the pad from where it rests to where it is stopped."""
    _bulkhead(sheet, _REST)
    _pedal_ghost(sheet, _STOP)
    _pedal(sheet, _REST)
    start, end = _between_pads(sheet, _STOP, _REST, _PAD + 8)
    tape(sheet, _at(_STOP, _ARM + _PAD + 14, 10), 118, _slope(start, end))
    sheet.dimension(start, end)
    sheet.label((214, 116), "full travel", loud=True)
    sheet.name((62, 146), "stop", _at(_STOP, _ARM + 4, 6), "right")
    sheet.name((214, 80), "at rest", _at(_REST, _ARM - 14, 10))


def push_rod_play(sheet: Sheet) -> None:
    """Draw the pad moved by a finger until the push rod meets the piston."""
    met = _REST - 8
    _bulkhead(sheet, _REST)
    _pedal_ghost(sheet, met)
    _pedal(sheet, _REST)
    hand(sheet, _at(_REST, _ARM, 12), -18)
    start, end = _between_pads(sheet, met, _REST, _PAD + 12)
    with sheet.placed(start, _slope(start, end)):
        rule(sheet, (-24, 6), 66)
    sheet.dimension(start, end)
    sheet.label((end[0] + 34, end[1] + 15), "play", loud=True)
    sheet.name((197, 39), "until the rod\nmeets the piston", _at(_REST, _CLEVIS))


def master_stroke(sheet: Sheet) -> None:
    """Draw the push rod of the master gone in with the pedal at its stop."""
    _bulkhead(sheet, _STOP)
    _pedal_ghost(sheet, _REST)
    _pedal(sheet, _STOP)
    sheet.circle(_at(_REST, _CLEVIS), 3.0, GHOST)
    start, end = _at(_STOP, _CLEVIS), _at(_REST, _CLEVIS)
    level = 88.0
    rule(sheet, (90, level + 5), 96)
    sheet.witness(*((place, (place[0], level + 5)) for place in (start, end)))
    sheet.dimension((start[0], level), (end[0], level))
    sheet.label((200, 62), "stroke\nof the rod", loud=True)
    sheet.name((62, 146), "stop", _at(_STOP, _ARM + 4, 6), "right")


def brake_squeeze(sheet: Sheet) -> None:
    """Draw the pad just above its stop, where the clutch brake begins to hold."""
    held = _STOP + 9
    _bulkhead(sheet, held)
    _pedal_ghost(sheet, _REST)
    _pedal_ghost(sheet, _STOP)
    _pedal(sheet, held)
    start, end = _between_pads(sheet, _STOP, held, _PAD + 10)
    tape(sheet, _at(_STOP, _ARM + _PAD + 16, 10), 84, _slope(start, end))
    sheet.dimension(start, end)
    sheet.label((end[0] + 26, end[1] - 12), "height", loud=True)
    sheet.name((62, 146), "stop", _at(_STOP, _ARM + 4, 6), "right")
    sheet.name((208, 62), "brake holds\nthe feeler", _at(held, 84, 2))


def _lever(sheet: Sheet, at: Point, knob: Point) -> None:
    """Draw the gate of the gear lever with its knob at a place of it."""
    x, y = at
    stroke = Style(weight=2.0)
    for across in (-18, 0, 18):
        sheet.line((x + across, y - 22), (x + across, y + 22), style=stroke)
    sheet.line((x - 18, y), (x + 36, y), (x + 36, y + 22), style=stroke)
    sheet.circle((x + knob[0], y + knob[1]), 7.0, BLACK)


def spin_down(sheet: Sheet) -> None:
    """Draw the grind that dies away, timed from the pedal on the floor."""
    level, start, end = 128.0, 104.0, 240.0
    sheet.line((12, level), (308, level), style=FAINT)
    _grind(sheet, level, start, end)
    sheet.line((end, level), (308, level))
    sheet.line((30, 12), (59, 62), style=HEAVY)
    sheet.shape((53, 67), (65, 60), (68, 65), (56, 72), style=THIN_SOLID)
    sheet.line((34, 74), (start, 74), style=HEAVY)
    sheet.push((67, 61), 125, 32)
    sheet.witness(((start, 74), (start, 172)), ((end, 108), (end, 172)))
    sheet.dimension((start, 164), (end, 164))
    sheet.label(((start + end) / 2, 184), "seconds", "centre", loud=True)
    sheet.label((14, 164), "light grind")
    sheet.label((end + 12, 164), "silent")
    _lever(sheet, (164, 32), (36, 15))
    sheet.label((173, 76), "reverse", "centre")
    stopwatch(sheet, (278, 54), 26.0)


def _grind(sheet: Sheet, level: float, start: float, end: float) -> None:
    """Draw a noise that is even up to a place and then dies away."""
    wave = []
    for i in range(int(2 * (end - 16)) + 1):
        x = 16.0 + 0.5 * i
        strength = 1.0 if x < start else ((end - x) / (end - start)) ** 0.7
        wave.append((x, level - 16 * strength * sin(2 * pi * x / 7.0)))
    sheet.line(*wave, style=Style(weight=1.1))


def idle_speed(sheet: Sheet) -> None:
    """Draw the rev counter of a warm engine in neutral."""
    middle, radius = (104.0, 100.0), 88.0
    sheet.circle(middle, radius)
    sheet.circle(middle, radius - 6, THIN)
    for i in range(21):
        style, long = (LINE, 12.0) if i % 5 == 0 else (THIN, 7.0)
        ends = _on_scale(middle, i, radius - 10), _on_scale(middle, i, radius - 10 - long)
        sheet.line(*ends, style=style)
    for i in (0, 10, 20):
        sheet.label(_on_scale(middle, i, 52), str(i), "centre")
    sheet.label((middle[0], middle[1] + 62), "×100/min", "centre")
    for swing in (6.8, 8.8):
        sheet.line(middle, _on_scale(middle, swing, 62), style=LOUD_GHOST)
    sheet.line(_on_scale(middle, 7.8, -14), _on_scale(middle, 7.8, 64), style=_NEEDLE)
    sheet.circle(middle, 5.0, LOUD_SOLID)
    sheet.label((206, 22), "idle speed", loud=True)
    sheet.label((206, 50), "middle of\nits swing")
    _lever(sheet, (228, 108), (9, 0))
    sheet.label((206, 156), "neutral, warm,\nloads off")


def _on_scale(middle: Point, hundreds: float, far: float) -> Point:
    """Give a place on the scale of the rev counter, so far from its middle."""
    turned = radians(140.0 + 13.0 * hundreds)
    return middle[0] + far * cos(turned), middle[1] + far * sin(turned)
