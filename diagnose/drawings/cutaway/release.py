"""What moves the fingers: bearing, fork on its pivot, and slave, cable or rods."""

from typing import NamedTuple

from diagnose.drawings.cutaway.measures import Measures
from diagnose.drawings.cutaway.places import Places
from diagnose.drawings.cutaway.shapes import Draft, Point, rectangle, span

FORK = 8.0  # thickness of the fork, in units of the measures
_ROD = 30.0  # length of the slave's push rod


class Actuator(NamedTuple):
    """Where the actuator of the fork's tip stays put.

    Attributes
    ----------
    rest : float
        Where its moving end is on a healthy system with the pedal up, mm.
    stroke : float
        How far that end goes, mm.
    """

    rest: float
    stroke: float


def draw_bearing(draft: Draft, m: Measures, p: Places) -> None:
    """Draw the release bearing; that of a pull cover reaches through the fingers."""
    u, face, back = m.unit, p.face, p.back
    r = m.r_tip
    if m.side < 0.0:
        ends = back - 12.0 * u
        sleeve = [(face - 5.0 * u, m.core), (face - 5.0 * u, r + 6.0 * u), (face, r + 6.0 * u),
                  (face, r - 2.0 * u), (ends, r - 2.0 * u), (ends, m.core)]  # fmt: skip
        draft.both("bearing", sleeve, moves=True, cut=1)
        ring = [(back - 12.0 * u, m.core), (back - 12.0 * u, r), (back, r), (back, r + 13.0 * u),
                (back + 9.0 * u, r + 13.0 * u), (back + 9.0 * u, m.core)]  # fmt: skip
        draft.both("bearing", ring, moves=True, cut=-1)
        _balls(draft, "bearing", back + 4.5 * u, r + 5.0 * u, 3.4 * u)
        return
    race = [(face, r - 1.0 * u), (face, r + 5.0 * u), (face + 5.0 * u, r + 11.0 * u),
            (face + 17.0 * u, r + 11.0 * u), (face + 17.0 * u, r + 6.0 * u),
            (face + 6.0 * u, r + 4.0 * u), (face + 6.0 * u, r - 1.0 * u)]  # fmt: skip
    start = face + 8.0 * u
    sleeve = [(start, m.core), (start, r - 1.0 * u), (start + 10.0 * u, r - 1.0 * u),
              (start + 10.0 * u, r + 2.0 * u), (back, r + 2.0 * u), (back, m.core)]  # fmt: skip
    draft.both("bearing", race, moves=True, cut=1)
    draft.both("bearing", sleeve, moves=True, cut=-1)
    _balls(draft, "bearing", face + 12.0 * u, r + 1.8 * u, 3.2 * u)


def _balls(draft: Draft, part: str, x: float, y: float, radius: float) -> None:
    for side in (-1.0, 1.0):
        draft.dot(part, (x, side * y), radius, moves=True)


def draw_ring_slave(draft: Draft, m: Measures, p: Places, bore: float, core: float) -> None:
    """Draw the cylinder round the shaft: its piston carries the bearing.

    Parameters
    ----------
    draft : Draft
    m : Measures
    p : Places
    bore, core : float
        Diameters of the ring-shaped piston, mm.
    """
    u, outer, inner = m.unit, bore / 2.0, core / 2.0
    wall, mouth = 4.0 * u, m.wall - 26.0 * u
    end = m.wall
    crown = p.back + 12.0 * u
    fluid = rectangle(min(crown, end - 5.0 * u), end - 5.0 * u, inner, outer)
    draft.both("slave", fluid, fill="soft", thin=True, before=True)
    body = [(mouth, outer), (mouth, outer + wall), (end, outer + wall), (end, inner),
            (end - 5.0 * u, inner), (end - 5.0 * u, outer)]  # fmt: skip
    draft.both("slave", body, cut=1)
    draft.both("piston", rectangle(p.back, crown, inner, outer), moves=True, cut=-1)


def draw_fork(draft: Draft, m: Measures, p: Places) -> Point:
    """Draw the fork and its pivot.

    Returns
    -------
    (float, float)
        Its tip, mm.
    """
    u = m.unit
    thick = m.side * FORK * u
    turn, seat, tip = (p.pivot, p.pivot_y), (p.contact, p.contact_y), (p.tip, m.tip_y)
    if m.system.fork == "middle_pivot":
        spine = [_beyond(turn, seat, seat[1] + 12.0 * u), seat, turn, tip]
        spine.append(_beyond(turn, tip, 9.0 * u))
    else:
        spine = [_beyond(seat, turn, turn[1] - m.pivot_y + 10.0 * u), turn, seat, tip]
        spine.append(_beyond(seat, tip, 9.0 * u))
    x, y = p.pivot, m.pivot_y
    if m.side > 0.0:
        ball = x + thick + 3.0 * u
        draft.area("pivot", rectangle(ball, m.wall, y - 3.4 * u, y + 3.4 * u), cut=1)
        if p.spacer:
            washer = rectangle(m.wall - p.spacer, m.wall, y - 8.0 * u, y + 8.0 * u)
            draft.area("pivot", washer, fill="fault")
        draft.dot("pivot", (ball, y), 6.0 * u)
    else:
        bracket = [(m.wall, y - 5.0 * u), (m.wall, y + 5.0 * u), (x, y + 5.0 * u), (x, y - 5.0 * u)]
        draft.area("pivot", bracket)
    points = [*spine, *((x + thick, y) for x, y in reversed(spine))]
    draft.area("fork", points, moves=True, fill="ground")
    if m.side < 0.0:
        draft.dot("pivot", (x + thick / 2.0, y), 5.0 * u, before=True)
    return tip


def _beyond(start: Point, end: Point, far: float) -> Point:
    """Give the point so far beyond the end of a steep line, told along y."""
    high = end[1] - start[1]
    way = 1.0 if high > 0.0 else -1.0
    slope = (end[0] - start[0]) / high if high else 0.0
    return end[0] + way * far * slope, end[1] + way * far


def draw_slave(draft: Draft, m: Measures, p: Places, y: float, bore: float, at: Actuator) -> Point:
    """Draw the slave that pushes the fork's tip, or pulls it.

    Returns
    -------
    (float, float)
        Its port, mm.
    """
    u, way, r = m.unit, m.actuator_way, bore / 2.0
    touch = p.actuator + (FORK * m.side * u if way * m.side > 0.0 else 0.0)
    offset = FORK * m.side * u if way * m.side > 0.0 else 0.0
    long = _ROD * u
    crown = touch + way * long
    rest = at.rest + offset + way * long
    moved = m.tip_way * at.stroke
    behind, ahead = (8.0 + 0.4 * at.stroke + 10.0 * u), abs(moved) + 5.0 * u
    mouth = rest - way * (behind if m.pulled else ahead)
    end = rest + way * (9.0 * u + (ahead if m.pulled else behind))
    wall = 4.0 * u
    low, high = span(mouth, end)
    shell = rectangle(low, high, r, r + wall)
    draft.area("slave", [(x, y + high) for x, high in shell], cut=1)
    draft.area("slave", [(x, y - high) for x, high in shell], cut=1)
    cap = span(end, end + way * wall)
    draft.area("slave", rectangle(cap[0], cap[1], y - r - wall, y + r + wall), cut=1)
    piston = span(crown, crown + way * 9.0 * u)
    if not m.pulled:
        chamber = span(crown + way * 9.0 * u, end)
        if chamber[1] - chamber[0] > 0.0:
            chamber_at = rectangle(*chamber, y - r, y + r)
            draft.area("fluid", chamber_at, fill="soft", thin=True, before=True)
    draft.area("piston", rectangle(*piston, y - r, y + r), moves=True, cut=-1)
    rod = span(touch, crown)
    draft.area("rod", rectangle(*rod, y - 2.2 * u, y + 2.2 * u), moves=True)
    return (end + way * wall, y) if not m.pulled else (mouth + way * 6.0 * u, y + r + wall)


def draw_pull(draft: Draft, m: Measures, p: Places, y: float, far: float) -> Point:
    """Draw the rod or the cable's end that draws the fork's tip, up to where it leads on.

    Returns
    -------
    (float, float)
        Its other end, mm, which moves with it.
    """
    u, way = m.unit, m.actuator_way
    on_far = way * m.side > 0.0
    near = p.actuator + (FORK * m.side * u if on_far else 0.0)
    # The nut sits on the other side of the fork from where it is drawn to.
    nut = near - way * (FORK * u + 2.0 * u)
    end = near + way * far
    draft.line("rod", [(nut, y), (end, y)], moves=True)
    draft.area("rod", rectangle(nut - 2.0 * u, nut + 2.0 * u, y - 5.0 * u, y + 5.0 * u), moves=True)
    return end, y
