"""Figures on dimension lines: plate, bearing, gap, fork tip, push rod and pad."""

from diagnose.drawings.cutaway.figures import length
from diagnose.drawings.cutaway.layout import Layout, Subject, View
from diagnose.drawings.cutaway.measures import Measures
from diagnose.drawings.cutaway.notes import Notes
from diagnose.drawings.cutaway.pedal import pad_at, pull_way, rod_rest
from diagnose.drawings.cutaway.places import Places
from diagnose.drawings.cutaway.shapes import Draft, Point
from diagnose.drawings.cutaway.stance import Motion, Stance

_SMALLEST = 0.05  # mm, below it no gap is told
_OWN_SCALE = 0.99  # share of the clutch's scale, below which the pedal's is told


def draw_dimensions(
    notes: Notes,
    subject: Subject,
    motion: Motion,
    stance: Stance,
    p: Places,
    draft: Draft,
    layout: Layout,
    view: View,
) -> None:
    """Draw what is told of the clutch and of the pedal.

    Parameters
    ----------
    notes : Notes
    subject : Subject
    motion : Motion
        The one that is drawn in full lines.
    stance : Stance
    p : Places
        Of this stance.
    draft : Draft
        Of the clutch.
    layout : Layout
    view : View
    """
    m, em, unit, u = subject.measures, notes.em, view.unit, subject.measures.unit
    up = motion.rest
    rest = subject.places(motion, up)
    top, at = layout.clutch.top, draft.at
    # Lift counts from where the plate grips, even if an always loaded bearing holds it off.
    edge, high = -3.0 * u, -m.outer - 4.0 * u
    grips = at(rest.plate[1] - up.lift + edge, high)
    lift = f"plate lift {length(stance.lift, unit, 2)}"
    notes.across(grips, at(p.plate[1] + edge, high), top - 2.5 * em, lift, after=False)
    race = -m.r_tip - (11.0 if m.side > 0.0 else 6.0) * u
    bearing = f"bearing {length(stance.bearing, unit)}"
    notes.across(at(rest.face, race), at(p.face, race), top - 1.0 * em, bearing)
    if stance.gap > _SMALLEST:
        low = m.r_tip + 2.0 * u
        level = at(0.0, m.housing)[1] - 1.2 * em
        gap = f"gap {length(stance.gap, unit)}"
        notes.across(at(p.tips, low), at(p.face, low), level, gap, after=False)
    if m.forked:
        y = m.tip_y
        level = at(0.0, y + 24.0 * u)[1] + 0.6 * em
        ends = at(rest.tip, y + 9.0 * u), at(p.tip, y + 9.0 * u)
        tip = f"fork tip {length(stance.tip, unit)}"
        notes.across(*ends, level, tip, after=m.actuator_way > 0.0)
    _pad(notes, m, motion, stance, layout, view)
    _rod(notes, m, motion, stance, layout, view)


def _pad(
    notes: Notes, m: Measures, motion: Motion, stance: Stance, layout: Layout, view: View
) -> None:
    s, (x, y) = layout.pedal_scale, layout.pedal_origin
    em, unit = notes.em, view.unit

    def below(pad: float) -> Point:
        at = pad_at(m, pad)
        return x + s * at[0], y + s * (at[1] + 24.0)

    level = y + s * (m.pedal + 26.0) + 0.9 * em
    notes.across(below(0.0), below(stance.pad), level, "")
    middle = (below(0.0)[0] + below(motion.travel)[0]) / 2.0
    now = length(stance.pad, unit, 0).removesuffix(f" {unit}")
    text = f"pedal {now} of {length(motion.travel, unit, 0)}"
    notes.say(text, middle, level + 1.3 * em, anchor="middle", bold=True)
    share = layout.pedal_scale / layout.scale
    if share < _OWN_SCALE:
        text = f"pedal at {100.0 * share:.0f} % of the scale"
        notes.say(text, middle, level + 2.5 * em, anchor="middle", ink="muted")


def _rod(
    notes: Notes, m: Measures, motion: Motion, stance: Stance, layout: Layout, view: View
) -> None:
    """The stroke of the master's piston, or of the rod or cable at the pedal."""
    s, (x, y) = layout.pedal_scale, layout.pedal_origin
    em = notes.em
    start, level = rod_rest(m, motion)
    radius = motion.figure("master_bore") / 2.0 + 5.0 if m.system.hydraulic else 0.0
    # Below it; a cable is held above the pedal's pivot, and has its figure above as well.
    side = 1.0 if level > 0.0 else -1.0
    line = y + s * (level + side * radius) + side * 1.5 * em
    word = "master" if m.system.hydraulic else "stroke"
    text = f"{word} {length(stance.master, view.unit)}"
    end = start + pull_way(m) * stance.master
    ends = (x + s * start, y + s * level), (x + s * end, y + s * level)
    notes.across(*ends, line, "" if view.portrait else text, after=False)
    if view.portrait:
        # Left of the pedal there is room below the pipe or sheath that leads to it.
        below = line if side > 0.0 else y + s * level
        notes.say(text, 0.5 * em, below + 1.5 * em, bold=True, halo=True)
