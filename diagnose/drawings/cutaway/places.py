"""Where every part stands along the shaft, in mm: the model's travels on the drawing's measures."""

from dataclasses import dataclass
from typing import Literal

from diagnose.drawings.cutaway.measures import Measures
from diagnose.drawings.cutaway.stance import Motion, Stance
from diagnose.physics.fork import tip_share

# What is drawn of a cause beside what its figures move. Of a stack that is too high or too low:
# what has that height, or which part is missing from it. Of the fork: that it has come off its
# pivot and turns where it happens to lean, or that the pivot stands on a spacer. Of the facings:
# that they are wet. Or the parts at fault are not there at all.
Form = Literal[
    "discs", "flywheel", "cover", "plate", "missing", "off_pivot", "spacer", "wet", "absent"
]
Span = tuple[float, float]


@dataclass(frozen=True)
class Places:
    """Places along the shaft, mm from the designed friction face, growing toward the gearbox.

    Attributes
    ----------
    flywheel : float
        Its friction face.
    discs, floaters : tuple of (float, float)
        The two faces of each, from the engine on.
    plate : (float, float)
        Friction face and back of the pressure plate.
    cover : float
        How far the cover stands off its seat.
    fulcrum, ring : float
        Where the diaphragm turns, and where it bears on the plate.
    tips, low_tips : float
        Of the fingers: those that the bearing meets, and the one that stands deepest.
    face, back : float
        Of the release bearing: toward the fingers, and where the fork touches it.
    pivot, contact, tip : float
        Of the fork: where it turns, its seat at the bearing, its end.
    pivot_y, contact_y : float
        How far below the shaft the fork turns, and touches the bearing.
    spacer : float
        Thickness of what was left in under the pivot.
    actuator : float
        End of the slave's rod, the cable or the linkage, which follows the tip with its play.
    """

    flywheel: float
    discs: tuple[Span, ...]
    floaters: tuple[Span, ...]
    plate: Span
    cover: float
    fulcrum: float
    ring: float
    tips: float
    low_tips: float
    face: float
    back: float
    pivot: float
    contact: float
    tip: float
    pivot_y: float
    contact_y: float
    spacer: float
    actuator: float


def places_of(measures: Measures, motion: Motion, stance: Stance, form: Form = "discs") -> Places:
    """Put a stance of the model on the measures of a drawing.

    Parameters
    ----------
    measures : Measures
        Of the healthy system.
    motion : Motion
    stance : Stance
        Of this motion.
    form : str
        What is drawn of a cause beside what its figures move.
    """
    m, side = measures, measures.side
    excess = motion.figure("stack_excess")
    rests = m.stack + (0.0 if form in {"cover", "plate"} else excess)
    face = excess if form == "flywheel" else 0.0
    discs, floaters = _stack(m, face, rests, stance, missing=form == "missing")
    plate = m.plate + (excess if form == "plate" else 0.0)
    stands_off = -excess if form == "cover" else 0.0
    free = m.tips + motion.tips_out
    tips = free - side * stance.fingers
    back = free + side * stance.gap + m.bearing + motion.figure("bearing_height")
    held = free + side * stance.gap
    pivot, contact, tip = _fork(m, motion, stance) if m.forked else (back, back, back)
    ratio = motion.figure("fork_ratio")
    pivot_y, contact_y = m.turning(ratio, off_pivot=form == "off_pivot") if m.forked else (0.0, 0.0)
    left = motion.figure("tip_play") - (stance.actuator - stance.tip)
    apart = m.actuator_way * left
    return Places(
        flywheel=face,
        discs=discs,
        floaters=floaters,
        plate=(rests + stance.lift, rests + plate + stance.lift),
        cover=stands_off,
        fulcrum=m.ring + stands_off,
        ring=m.ring + rests + plate - m.stack - m.plate + stance.lift,
        tips=tips,
        low_tips=tips - side * motion.figure("finger_spread"),
        face=held,
        back=back,
        pivot=pivot,
        contact=contact,
        tip=tip,
        pivot_y=pivot_y,
        contact_y=contact_y,
        spacer=max(0.0, motion.figure("pivot_height")) if form == "spacer" else 0.0,
        actuator=tip + apart,
    )


def _stack(
    m: Measures, face: float, rests: float, stance: Stance, *, missing: bool
) -> tuple[tuple[Span, ...], tuple[Span, ...]]:
    """Discs and floaters from the flywheel on.

    Discs open by the lift until they are free, then every face has its clearance. Together with
    the clamped stack this adds up to where the plate stands, at any lift. One that was left out
    is the first: the model counts its faces, and so its place is there, of no height.
    """
    n = m.system.discs
    solid = rests - face - (n - 1) * m.kind.floater
    heights = [solid / n] * n
    if missing:
        heights = [0.0, *([solid / max(1, n - 1)] * (n - 1))]
    opened = min(stance.lift, stance.needed) / n
    clear = max(0.0, stance.clearance)
    discs: list[Span] = []
    floaters: list[Span] = []
    at = face
    for i, height in enumerate(heights):
        start = at + clear
        end = start + max(0.0, height + opened)
        at = end + clear
        if i or not missing:
            discs.append((start, end))
        if i < n - 1:
            floaters.append((at, at + m.kind.floater))
            at += m.kind.floater
    return tuple(discs), tuple(floaters)


def _fork(m: Measures, motion: Motion, stance: Stance) -> tuple[float, float, float]:
    """Pivot, seat and tip: a straight line, its seat bent by what the fork is."""
    ratio = motion.figure("fork_ratio")
    share = float(tip_share(ratio, m.system.fork))
    stop = m.pivot + (m.contact - m.pivot) / share
    taken = ratio * (motion.gap - motion.rest_gap)
    tip = stop + m.tip_way * (motion.figure("back_stop") + taken + stance.tip)
    pivot = m.pivot - motion.figure("pivot_height")
    contact = (1.0 - share) * pivot + share * tip - motion.figure("fork_offset")
    return pivot, contact, tip
