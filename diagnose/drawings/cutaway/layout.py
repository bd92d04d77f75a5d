"""What a picture shows, and where it has room for clutch, pedal, lens and names."""

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Literal, NamedTuple

from diagnose.drawings.cutaway.clutch import (
    draw_cover,
    draw_discs,
    draw_flywheel,
    draw_housing,
    draw_shaft,
    draw_wet,
)
from diagnose.drawings.cutaway.faults import Fault
from diagnose.drawings.cutaway.figures import Unit
from diagnose.drawings.cutaway.linkage import draw_linkage
from diagnose.drawings.cutaway.measures import Kind, Measures, measures_of
from diagnose.drawings.cutaway.pedal import draw_pedal
from diagnose.drawings.cutaway.places import Form, Places, places_of
from diagnose.drawings.cutaway.release import (
    Actuator,
    draw_bearing,
    draw_fork,
    draw_ring_slave,
)
from diagnose.drawings.cutaway.shapes import Box, Draft, Point, extent
from diagnose.drawings.cutaway.stance import Motion, Stance, motion_of
from diagnose.drawings.shapes import wrapped
from diagnose.physics.release_system import ReleaseSystem

Show = Literal["healthy", "faulty", "overlay"]

# Widths of the columns of names, in heights of the text: the left one, with a sign, the right one.
_LEFT, _LEFT_SIGNED, _RIGHT = 8.4, 10.3, 9.4
_TITLE, _STRIP, _FOOT = 1.4, 3.5, 4.2  # heights above and below the clutch


@dataclass(frozen=True, eq=False)
class Subject:
    """A release system to draw, healthy and perhaps with a fault.

    Attributes
    ----------
    measures : Measures
    healthy : Motion
    fault : Fault or None
    faulty : Motion
        The healthy one where there is no fault.
    """

    measures: Measures
    healthy: Motion
    fault: Fault | None
    faulty: Motion

    def motion(self, show: Show) -> Motion:
        """Give what is drawn in full lines."""
        return self.healthy if show == "healthy" else self.faulty

    def form(self, motion: Motion) -> Form:
        """Give what is drawn of the fault beside what its figures move, in one of the systems."""
        return self.fault.form if self.fault and motion is self.faulty else "discs"

    def places(self, motion: Motion, stance: Stance) -> Places:
        """Give where the parts of one of the two systems stand."""
        return places_of(self.measures, motion, stance, self.form(motion))

    @cached_property
    def rest(self) -> Places:
        """Where a healthy system stands with the pedal up."""
        return self.places(self.healthy, self.healthy.at(0.0))

    @cached_property
    def actuator(self) -> Actuator:
        """What the actuator of the fork is made for."""
        stroke = self.healthy.at(self.healthy.travel).actuator
        return Actuator(self.rest.actuator, stroke)


def subject_of(
    system: ReleaseSystem, kind: Kind | None = None, fault: Fault | None = None
) -> Subject:
    """Give a release system to draw.

    Parameters
    ----------
    system : ReleaseSystem
        As it is healthy.
    kind : Kind, optional
    fault : Fault, optional
    """
    healthy = motion_of(system)
    faulty = motion_of(system, fault.shifts) if fault else healthy
    return Subject(measures_of(system, kind), healthy, fault, faulty)


@dataclass(frozen=True)
class View:
    """How it is to be shown.

    Attributes
    ----------
    width, height : float
        Of the picture, in its own units.
    em : float
        Size of the text in them.
    show : str
        ``healthy``, ``faulty``, or ``overlay``: the faulty with the healthy dashed over it.
    unit : str
    names : bool
        Whether the parts are named, where there is room.
    """

    width: float
    height: float
    em: float = 15.0
    show: Show = "healthy"
    unit: Unit = "mm"
    names: bool = True

    @property
    def portrait(self) -> bool:
        """Whether the pedal stands below the clutch, not beside it."""
        return self.width <= 1.05 * self.height


def title_lines(subject: Subject, view: View) -> tuple[str, ...]:
    """Give the title of a picture, broken into lines that fit beside the pedal."""
    fault = subject.fault
    if fault is None or view.show == "healthy":
        return ("Healthy",)
    room = (view.width if view.portrait else 0.68 * view.width) - 3.1 * view.em
    word = "As designed" if fault.designed else "Faulty"
    return wrapped(f"{word}: {fault.name}", room, view.em, bold=True)


class Layout(NamedTuple):
    """Where everything goes.

    Attributes
    ----------
    scale, origin : float, (float, float)
        Of the clutch: units of the picture for each mm; the middle of its friction face.
    pedal_scale, pedal_origin : float, (float, float)
        Of the pedal, from its pivot.
    clutch : Box
        What the clutch takes up.
    lens : Box
    left : Box or None
        A column of names; none where there is room for those at fault only, on the right.
    right : Box
    lane : (float, float)
        Where pipe or cable runs: x of its upright part, y of its level one.
    """

    scale: float
    origin: Point
    pedal_scale: float
    pedal_origin: Point
    clutch: Box
    lens: Box
    left: Box | None
    right: Box
    lane: Point


def draw_system(draft: Draft, subject: Subject, motion: Motion, p: Places) -> Point:
    """Draw everything but the pedal.

    Returns
    -------
    (float, float)
        Where pipe, cable or rod leads on, mm.
    """
    m = subject.measures
    draw_housing(draft, m)
    draw_shaft(draft, m)
    draw_flywheel(draft, m, p)
    draw_discs(draft, m, p)
    draw_cover(draft, m, p)
    if subject.form(motion) == "wet":
        draw_wet(draft, m, p)
    if not m.forked:
        bore, core = motion.figure("slave_bore"), motion.figure("slave_core")
        draw_ring_slave(draft, m, p, bore, core)
        draw_bearing(draft, m, p)
        return m.wall - 10.0 * m.unit, bore / 2.0 + 4.0 * m.unit
    draw_bearing(draft, m, p)
    tip = draw_fork(draft, m, p)
    return draw_linkage(draft, m, motion, p, tip[1], subject.actuator)


@lru_cache(maxsize=64)
def _extents(subject: Subject) -> tuple[Box, Box]:
    """What the clutch and what the pedal take up in mm, pedal up and down."""
    m = subject.measures
    boxes: list[Box] = []
    pedals = Draft()
    for motion in (subject.healthy, subject.faulty):
        for pad in (0.0, motion.travel):
            stance = motion.at(pad)
            draft = Draft()
            draw_system(draft, subject, motion, subject.places(motion, stance))
            boxes.append(extent([*draft.still, *draft.shapes]))
            draw_pedal(pedals, m, motion, stance)
    clutch = Box(
        min(b.left for b in boxes),
        min(b.top for b in boxes),
        max(b.right for b in boxes),
        max(b.bottom for b in boxes),
    )
    return clutch, extent([*pedals.still, *pedals.shapes])


@lru_cache(maxsize=64)
def layout_of(subject: Subject, view: View) -> Layout:
    """Give the places of a picture; wide ones have the pedal beside the clutch, high ones below."""
    clutch, pedal = _extents(subject)
    em, wide, high = view.em, view.width, view.height
    beside = not view.portrait
    named = view.names and beside and wide > 46.0 * em
    signed = subject.fault is not None
    left = (_LEFT_SIGNED if signed else _LEFT) * em if named else 0.6 * em
    right = _RIGHT * em if named or signed else 2.2 * em
    # Side by side both have room for the longer title, so that both are of one scale.
    longest = replace(view, show="faulty") if view.portrait else view
    head = (_TITLE + 1.3 * len(title_lines(subject, longest)) + _STRIP) * em
    if beside:
        column = 0.31 * wide
        room = Box(left, head, wide - column - right, high - _FOOT * em)
        right_edge = wide - column
        pedals = Box(right_edge + 1.2 * em, 1.6 * em, wide - 0.8 * em, 0.5 * high)
        under = max(0.55 * high, pedals.bottom + 1.9 * em)  # the pedal's figures stand between
        lens = Box(right_edge + em, under, wide - 0.5 * em, high - 0.4 * em)
    else:
        cut = max(0.67 * high, high - 15.5 * em)
        room = Box(left, head, wide - right, cut - _FOOT * em)
        right_edge = wide
        pedals = Box(1.6 * em, cut + 0.6 * em, 0.5 * wide, high - 2.4 * em)
        lens = Box(0.54 * wide, cut + 0.2 * em, wide - 0.5 * em, high - 0.4 * em)
    scale = min(room.width / clutch.width, room.height / clutch.height)
    spare = room.width - scale * clutch.width, room.height - scale * clutch.height
    origin = (
        room.left - scale * clutch.left + spare[0] / 2.0,
        room.top - scale * clutch.top + 0.35 * spare[1],
    )
    taken = Box(
        origin[0] + scale * clutch.left,
        origin[1] + scale * clutch.top,
        origin[0] + scale * clutch.right,
        origin[1] + scale * clutch.bottom,
    )
    pedal_high = pedals.height - 2.0 * em
    pedal_scale = min(scale, pedals.width / pedal.width, pedal_high / pedal.height)
    pedal_origin = (
        pedals.right - pedal_scale * pedal.right - 0.5 * (pedals.width - pedal_scale * pedal.width),
        pedals.top - pedal_scale * pedal.top,
    )
    lane_x = right_edge - 0.3 * em if beside else pedals.left - em
    names_left = Box(0.4 * em, taken.top + 0.1 * taken.height, left - 1.2 * em, taken.bottom)
    names_right = Box(
        right_edge - right + 1.4 * em if beside else taken.right + 1.6 * em,
        taken.top,
        right_edge,
        taken.bottom,
    )
    return Layout(
        scale,
        origin,
        pedal_scale,
        pedal_origin,
        taken,
        lens,
        names_left if named else None,
        names_right,
        (lane_x, taken.bottom + 2.9 * em),
    )
