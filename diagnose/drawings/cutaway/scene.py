"""A whole picture of the release system at a travel of the pedal."""

from functools import lru_cache

from diagnose.drawings.cutaway.dimensions import draw_dimensions
from diagnose.drawings.cutaway.joined import draw_carried, draw_joined
from diagnose.drawings.cutaway.layout import (
    Layout,
    Subject,
    View,
    draw_system,
    layout_of,
    title_lines,
)
from diagnose.drawings.cutaway.lens import draw_lens
from diagnose.drawings.cutaway.measures import Measures
from diagnose.drawings.cutaway.names import draw_names
from diagnose.drawings.cutaway.notes import Notes
from diagnose.drawings.cutaway.pedal import draw_pedal
from diagnose.drawings.cutaway.shapes import Area, Draft, Picture, Point, Shape
from diagnose.drawings.cutaway.stance import Stance

_STEP = 0.42  # distance of hatching lines, in heights of the text
_LINE = 0.1  # breadth of a line, in heights of the text
# Discs and floaters move too little for a second outline to be read: that is what the lens is for.
_GHOSTS = frozenset(
    {"fork", "bearing", "fingers", "plate", "piston", "rod", "push rod", "pedal", "cross shaft"}
)


def cutaway(subject: Subject, view: View, pad: float) -> Picture:
    """Draw a release system at a travel of the pedal.

    Parameters
    ----------
    subject : Subject
    view : View
    pad : float
        mm; a pedal that stops earlier stands at its stop.

    Returns
    -------
    Picture
    """
    layout = layout_of(subject, view)
    m = subject.measures
    motion = subject.motion(view.show)
    fault = subject.fault if view.show != "healthy" else None
    stance = motion.at(pad)
    p = subject.places(motion, stance)
    draft, foot = _drafts(subject, view, layout, moving=True)
    end = draft.at(*draw_system(draft, subject, motion, p))
    port = foot.at(*draw_pedal(foot, m, motion, stance))
    shapes = draw_carried(draft, m, motion, stance, (port, end), layout)
    shapes += [*draft.shapes, *foot.shapes, _axis(draft, m)]
    healthy = None
    if view.show == "overlay" and fault is not None:
        healthy = subject.healthy.at(pad)
        shapes += _ghost(shapes, subject, healthy, layout, view)
    notes = Notes(view.em)
    _title(notes, subject, view, layout)
    draw_dimensions(notes, subject, motion, stance, p, draft, layout, view)
    spot = draft.at(p.plate[0], 0.5 * (m.inner + m.outer))
    draw_lens(notes, layout.lens, layout.scale, stance, 2 * m.system.discs, spot=spot,
              unit=view.unit, healthy=healthy)  # fmt: skip
    draw_names(notes, m, p, motion, draft, layout)
    _signs(notes, foot, layout, port)
    title = f"Release system, {fault.name}" if fault else "Release system, healthy"
    size = (view.width, view.height)
    every = (*shapes, *notes.shapes)
    still = _still(subject, view)
    return Picture(title, size, _STEP * view.em, still, every, tuple(notes.words))


def _drafts(
    subject: Subject, view: View, layout: Layout, *, moving: bool = False, ghost: bool = False
) -> tuple[Draft, Draft]:
    """Drafts of the clutch and of the pedal."""
    fault = None if view.show == "healthy" or ghost else subject.fault
    parts = fault.parts if fault is not None else frozenset()
    absent = parts if fault is not None and fault.form == "absent" else frozenset()

    def draft(scale: float, origin: Point) -> Draft:
        return Draft(scale, origin, weight=_LINE * view.em, faulty=parts, absent=absent,
                     ghost=ghost, moving=moving)  # fmt: skip

    return draft(layout.scale, layout.origin), draft(layout.pedal_scale, layout.pedal_origin)


@lru_cache(maxsize=32)
def _still(subject: Subject, view: View) -> tuple[Shape, ...]:
    """What is the same at every travel of the pedal."""
    layout, m = layout_of(subject, view), subject.measures
    motion = subject.motion(view.show)
    draft, foot = _drafts(subject, view, layout)
    end = draft.at(*draw_system(draft, subject, motion, subject.places(motion, motion.rest)))
    port = foot.at(*draw_pedal(foot, m, motion, motion.rest))
    return (*draw_joined(draft, m, port, end, layout), *draft.still, *foot.still)


def _axis(draft: Draft, m: Measures) -> Shape:
    ends = draft.at(m.flywheel_back - 34.0 * m.unit, 0.0), draft.at(m.wall + 32.0 * m.unit, 0.0)
    return Area("axis", ends, "muted", 0.5 * draft.weight, dashed=True, closed=False)


def _ghost(
    drawn: list[Shape], subject: Subject, stance: Stance, layout: Layout, view: View
) -> list[Shape]:
    """Dashed outlines of the healthy parts that stand elsewhere or are of another size."""
    motion = subject.healthy
    draft, foot = _drafts(subject, view, layout, ghost=True)
    draw_system(draft, subject, motion, subject.places(motion, stance))
    draw_pedal(foot, subject.measures, motion, stance)
    there = {_place(shape) for shape in drawn if shape.part in _GHOSTS}
    moved = (s for s in (*draft.shapes, *foot.shapes) if s.part in _GHOSTS)
    return [s for s in moved if _place(s) not in there]


def _place(shape: Shape) -> tuple[object, ...]:
    points = shape.points if isinstance(shape, Area) else (shape.centre,)
    return (shape.part, *((round(2.0 * x), round(2.0 * y)) for x, y in points))


def _title(notes: Notes, subject: Subject, view: View, layout: Layout) -> None:
    em = notes.em
    side, beside = 1.3 * em, 2.1 * em
    if subject.fault is None or view.show == "healthy":
        notes.good((0.4 * em + side / 2.0, 1.15 * em), side)
        notes.say("Healthy", beside, 1.5 * em, bold=True, small=False)
        return
    notes.caution((0.4 * em + side / 2.0, 1.1 * em), side)
    for i, text in enumerate(title_lines(subject, view)):
        notes.say(text, beside, (1.5 + 1.3 * i) * em, ink="fault", bold=True, small=False)
    if view.show == "overlay":
        left = layout.lens.centre[0] - 2.6 * em if view.portrait else 0.5 * em
        baseline = view.height - (0.5 if view.portrait else 0.7) * em
        level = baseline - 0.3 * em
        notes.thin((left, level), (left + 1.9 * em, level), dashed=True)
        notes.say("healthy", left + 2.3 * em, baseline)


def _signs(notes: Notes, foot: Draft, layout: Layout, port: tuple[float, float]) -> None:
    """Signs at what has no name in a column: line, master and pedal."""
    parts = foot.faulty
    side = 1.1 * notes.em
    if "line" in parts:
        notes.caution((layout.lane[0], (layout.lane[1] + port[1]) / 2.0), side)
    if "master" in parts:
        notes.caution((port[0], port[1] - 1.8 * side), side)
    if "pedal" in parts:
        x, y = foot.at(0.0, 0.0)
        notes.caution((x + 1.2 * side, y), side)
