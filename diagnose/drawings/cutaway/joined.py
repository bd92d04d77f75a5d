"""What joins clutch and pedal, which are drawn to different scales: pipe, sheath or broken rods."""

from diagnose.drawings.cutaway.layout import Layout
from diagnose.drawings.cutaway.measures import Measures
from diagnose.drawings.cutaway.shapes import Area, Dot, Draft, Ink, Point, Shape
from diagnose.drawings.cutaway.stance import Motion, Stance
from diagnose.physics.hydraulics import ATMOSPHERE, hose_loss

BUBBLE = 500.0  # mm3 of trapped air that one drawn bubble stands for
_MOST_BUBBLES = 14
_LEAST_SWELLING = 500.0  # mm3, less is not to be seen
_HOSE = 0.25, 0.75  # share of the level run that is hose
_PIPE, _BORE = 5.0, 2.6  # breadth of a pipe or sheath, and of its inside, over that of a line


def draw_joined(
    draft: Draft, m: Measures, port: Point, start: Point, layout: Layout
) -> list[Shape]:
    """Draw the pipe or sheath that joins clutch and pedal; its way is a diagram.

    Parameters
    ----------
    draft : Draft
        Of the clutch.
    m : Measures
    port, start : (float, float)
        Its ends at the pedal and at the clutch, in units of the picture.
    layout : Layout

    Returns
    -------
    list of Area
        Empty with rods.
    """
    if m.system.linkage == "rod":
        return []
    way = _way(draft, m, port, start, layout)
    ink: Ink = "fault" if "line" in draft.faulty else "ink"
    inside: Ink = "soft" if m.system.hydraulic else "ground"
    return [
        Area("line", way, ink, _PIPE * draft.weight, closed=False),
        Area("line", way, inside, _BORE * draft.weight, closed=False),
    ]


def _way(draft: Draft, m: Measures, port: Point, start: Point, layout: Layout) -> tuple[Point, ...]:
    lane, level = layout.lane
    out = start[0]
    if m.system.linkage == "cable":
        out += m.actuator_way * 10.0 * m.unit * draft.scale
    return (start, (out, start[1]), (out, level), (lane, level), (lane, port[1]), port)


def draw_carried(
    draft: Draft,
    m: Measures,
    motion: Motion,
    stance: Stance,
    ends: tuple[Point, Point],
    layout: Layout,
) -> list[Shape]:
    """Draw what moves between clutch and pedal: rods, or what gives way in the line.

    ``ends`` are at the pedal and at the clutch, in units of the picture.
    """
    port, start = ends
    if m.system.linkage == "rod":
        return _rods(start, port, layout, draft)
    if not m.system.hydraulic:
        return []
    way = _way(draft, m, port, start, layout)
    level = way[2], way[3]
    return [*_swelling(motion, stance, *level, draft), *_bubbles(motion, stance, *level, draft)]


def _rods(start: Point, port: Point, layout: Layout, draft: Draft) -> list[Shape]:
    """Rods broken off where the scale changes; what joins them is left to a dashed line."""
    ink: Ink = "fault" if "line" in draft.faulty else "accent"
    w = draft.weight
    stop = (start[0] + 22.0 * w, start[1])
    lane, level = layout.lane
    if lane > stop[0]:
        level = stop[1]  # straight across; else below the clutch
    way = (stop, (stop[0], level), (lane, level), (lane, port[1]), port)
    return [
        Area("line", (start, stop), ink, 1.4 * w, closed=False),
        Area("line", way, "muted", 0.8 * w, dashed=True, closed=False),
        *_break(stop, w),
        *_break(port, w),
    ]


def _break(at: Point, weight: float) -> list[Shape]:
    """The sign of a part that is broken off."""
    (x, y), s = at, 5.0 * weight
    bolt = (
        (x, y - 1.3 * s),
        (x - 0.4 * s, y - 0.2 * s),
        (x + 0.4 * s, y + 0.2 * s),
        (x, y + 1.3 * s),
    )
    return [Area("line", bolt, "ink", 0.8 * weight, closed=False)]


def _swelling(
    motion: Motion, stance: Stance, start: Point, end: Point, draft: Draft
) -> list[Shape]:
    """A hose that swells: broader by the breadth of the pipe for each cm3 that it takes up."""
    f = motion.figure
    taken = float(hose_loss(f("hose_length"), stance.pressure, f("hose_swell")))
    if taken < _LEAST_SWELLING:
        return []
    (x, y), w = start, draft.weight
    first, last = (x + share * (end[0] - x) for share in _HOSE)
    half = 0.5 * (_PIPE + _PIPE * taken / 1000.0) * w
    way = half if last > first else -half
    outline = ((first, y), (first + way, y - half), (last - way, y - half), (last, y),
               (last - way, y + half), (first + way, y + half))  # fmt: skip
    ink: Ink = "fault" if "line" in draft.faulty else "ink"
    return [Area("line", outline, ink, w, "soft")]


def _bubbles(motion: Motion, stance: Stance, start: Point, end: Point, draft: Draft) -> list[Shape]:
    """Trapped air: a bubble for every half cm3, smaller as the pressure grows (Boyle)."""
    count = min(_MOST_BUBBLES, round(motion.figure("air") / BUBBLE))
    shrunk = (ATMOSPHERE / (ATMOSPHERE + stance.pressure)) ** (1.0 / 3.0)
    radius = 7.0 * draft.weight * shrunk
    along = ((i + 1.0) / (count + 1.0) for i in range(count))
    return [
        Dot("air", (start[0] + share * (end[0] - start[0]), start[1]), radius, "fault",
            0.9 * draft.weight, "ground")
        for share in along
    ]  # fmt: skip
