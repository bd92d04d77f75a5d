"""The clutch in section: housing, flywheel, shaft, discs, pressure plate and cover."""

from diagnose.drawings.cutaway.measures import Measures
from diagnose.drawings.cutaway.places import Places
from diagnose.drawings.cutaway.shapes import Draft, Point, rectangle

_DROPS = 4  # on each half of a face
_COILS = 6  # half turns of a clamp spring


def draw_housing(draft: Draft, m: Measures) -> None:
    """Draw the housing, cut open where the fork comes out, and the face of the gearbox."""
    u, r = m.unit, m.housing
    front, shell = -14.0 * u, 6.0 * u
    top = max(r, m.arm + 16.0 * u) if m.pivot_y < 0.0 else r
    draft.area("housing", rectangle(front, m.wall, -top - shell, -top), cut=1)
    hangs = m.arm + 14.0 * u if m.pivot_y > 0.0 else 44.0 * u
    if m.forked:
        ends = m.pivot - 20.0 * u if m.pivot_y > 0.0 else m.ring + 14.0 * u
        draft.area("housing", rectangle(front, ends, r, r + shell), cut=1)
    else:
        hangs = r + shell
        draft.area("housing", rectangle(front, m.wall, r, r + shell), cut=1)
    wall = [(m.wall, -top - shell), (m.wall + 7.0 * u, -top - shell)]
    hole = m.shaft + 4.0 * u
    draft.area("housing", [*wall, (m.wall + 7.0 * u, -hole), (m.wall, -hole)], cut=1)
    draft.area("housing", rectangle(m.wall, m.wall + 7.0 * u, hole, hangs), cut=1)


def draw_shaft(draft: Draft, m: Measures) -> None:
    """Draw crankshaft end, pilot, input shaft and quill."""
    u = m.unit
    back = m.flywheel_back
    crank = [(back - 28.0 * u, 0.0), (back - 28.0 * u, 17.0 * u), (back - 10.0 * u, 17.0 * u),
             (back - 10.0 * u, 30.0 * u), (back, 30.0 * u), (back, 12.0 * u),
             (back - 18.0 * u, 12.0 * u), (back - 18.0 * u, 0.0)]  # fmt: skip
    draft.both("crankshaft", crank, cut=-1)
    nose = back - 15.0 * u
    if m.kind.pilot == "bush":
        draft.both("pilot", rectangle(nose, back - 2.0 * u, 6.0 * u, 12.0 * u), cut=1)
    elif m.kind.pilot == "bearing":
        draft.both("pilot", rectangle(nose, back - 3.0 * u, 6.0 * u, 12.0 * u))
        for side in (-1.0, 1.0):
            draft.dot("pilot", ((nose + back - 3.0 * u) / 2.0, side * 9.0 * u), 2.4 * u)
    ends, r = m.wall + 26.0 * u, m.shaft
    start = back - 17.0 * u if m.kind.pilot != "none" else back + 12.0 * u
    neck = back + 6.0 * u if m.kind.pilot != "none" else start
    tip = 6.0 * u if m.kind.pilot != "none" else r
    shaft = [(start, -tip), (neck, -tip), (neck, -r), (ends, -r), (ends, r), (neck, r),
             (neck, tip), (start, tip)]  # fmt: skip
    draft.area("shaft", shaft)
    for share in (-0.45, 0.0, 0.45):
        draft.line("shaft", [(neck + 2.0 * u, share * r), (m.ring - 2.0 * u, share * r)], thin=True)
    start = m.tips + (6.0 if m.side > 0.0 else 26.0) * u
    draft.both("quill", rectangle(start, m.wall, r + 2.0 * u, m.quill), cut=1)
    draft.both("quill", rectangle(m.wall - 5.0 * u, m.wall, m.quill, m.quill + 8.0 * u), cut=1)


def draw_flywheel(draft: Draft, m: Measures, p: Places) -> None:
    """Draw the flywheel: one piece, or two masses with springs between them."""
    u, rim = m.unit, m.outer + 18.0 * m.unit
    front = -24.0 * u
    inner = 30.0 * u
    body = [(front, inner), (front, rim), (0.0, rim), (0.0, m.outer + 5.0 * u),
            (p.flywheel, m.outer + 5.0 * u), (p.flywheel, m.inner - 8.0 * u),
            (-9.0 * u, m.inner - 12.0 * u), (-9.0 * u, inner)]  # fmt: skip
    if not m.kind.dual_mass:
        body[0], body[-1] = (front, 12.0 * u), (-9.0 * u, 12.0 * u)
        draft.both("flywheel", body, cut=1)
    else:
        back = -50.0 * u
        cup = [(back, 12.0 * u), (back, rim), (-28.0 * u, rim), (-28.0 * u, rim - 5.0 * u),
               (-44.0 * u, rim - 5.0 * u), (-44.0 * u, 18.0 * u), (-9.0 * u, 18.0 * u),
               (-9.0 * u, 12.0 * u)]  # fmt: skip
        draft.both("primary mass", cup, cut=-1)
        body[0], body[-1] = (front, 22.0 * u), (-9.0 * u, 22.0 * u)
        draft.both("flywheel", body, cut=1)
        flange = rectangle(-37.0 * u, -34.0 * u, 34.0 * u, rim - 22.0 * u)
        draft.both("flywheel", flange, cut=1)
        draft.both("flywheel", rectangle(-34.0 * u, front, 34.0 * u, 42.0 * u), cut=1)
        for side in (-1.0, 1.0):
            draft.dot("flywheel", (-35.5 * u, side * (rim - 14.0 * u)), 7.5 * u)
            draft.dot("flywheel", (-35.5 * u, side * (rim - 14.0 * u)), 4.0 * u)
    gear = rectangle(front, front + 9.0 * u, rim, rim + 4.0 * u)
    draft.both("flywheel", gear, cut=-1)


def draw_discs(draft: Draft, m: Measures, p: Places) -> None:
    """Draw discs, their facings apart by what the cushion has opened, and floaters between."""
    u = m.unit
    half = (8.0 if m.system.discs == 1 else 6.0) * u
    for left, right in p.discs:
        middle = (left + right) / 2.0
        facing = min(0.4 * m.kind.disc, 0.45 * (right - left))
        draft.both("disc", rectangle(middle - half, middle + half, m.shaft, 20.0 * u),
                   moves=True, cut=-1)  # fmt: skip
        carrier = rectangle(middle - 0.9 * u, middle + 0.9 * u, 20.0 * u, m.outer - 2.0 * u)
        draft.both("disc", carrier, moves=True, fill="soft")
        draft.both("disc", rectangle(middle - half, middle + half, 33.0 * u, 45.0 * u), moves=True)
        for start in (left, right - facing):
            draft.both("disc", rectangle(start, start + facing, m.inner, m.outer),
                       moves=True, fill="soft")  # fmt: skip
    for left, right in p.floaters:
        draft.both("floater", rectangle(left, right, m.inner - 6.0 * u, m.outer + 5.0 * u),
                   moves=True, cut=-1)  # fmt: skip


def draw_wet(draft: Draft, m: Measures, p: Places) -> None:
    """Draw drops on both faces of the discs."""
    radius, step = 1.9 * m.unit, (m.outer - m.inner) / (_DROPS + 1)
    for faces in p.discs:
        for x in faces:
            for i in range(_DROPS):
                for side in (-1.0, 1.0):
                    at = x, side * (m.inner + (i + 1) * step)
                    draft.dot("disc", at, radius, moves=True, fill="fault")


def draw_cover(draft: Draft, m: Measures, p: Places) -> None:
    """Draw pressure plate, cover, and the diaphragm or levers that work the plate."""
    u, (face, back) = m.unit, p.plate
    thick = _thick(m)
    nose = p.ring - (thick if m.side > 0.0 else 0.0)
    r = m.r_plate
    edge = m.outer + 4.0 * u
    plate = [(face, m.inner - 5.0 * u), (face, edge), (back - 3.0 * u, edge), (back, m.outer),
             (back, r + 5.0 * u), (nose, r + 1.6 * u), (nose, r - 1.6 * u), (back, r - 5.0 * u),
             (back, m.inner - 5.0 * u)]  # fmt: skip
    draft.both("plate", plate, moves=True, cut=1)
    seat, rear = p.cover, m.ring + p.cover + (9.0 if m.side > 0.0 else 11.0) * u
    ends = m.inner - 2.0 * u if m.levers else m.r_fulcrum - 6.0 * u
    rim, shell = m.outer + 18.0 * u, 3.4 * u
    if m.levers:
        _springs(draft, m, back, rear)
    cover = [(seat, rim), (seat + shell, rim), (seat + shell, m.outer + 12.0 * u),
             (rear - 5.0 * u, m.outer + 12.0 * u), (rear + shell, m.outer), (rear + shell, ends),
             (rear, ends), (rear, m.outer - 2.0 * u), (rear - 6.0 * u, m.outer + 8.0 * u),
             (seat, m.outer + 8.0 * u)]  # fmt: skip
    draft.both("cover", cover, cut=-1)
    for side, tip in ((-1.0, p.tips), (1.0, p.low_tips)):
        _lever(draft, m, p, side, tip)


def _thick(m: Measures) -> float:
    return (5.0 if m.levers else 2.6) * m.unit


def _lever(draft: Draft, m: Measures, p: Places, side: float, tip: float) -> None:
    """One half of the diaphragm, from the plate over its fulcrum to the tip."""
    u, thick = m.unit, _thick(m)
    out = m.side if m.r_plate > m.r_fulcrum else -1.0
    # The bearing meets the fingers on the gearbox's side of a push cover, the engine's of a pull.
    near, far = (-thick, 0.0) if m.side > 0.0 else (0.0, thick)
    slope = (p.ring - p.fulcrum) / (m.r_plate - m.r_fulcrum)
    edge = m.r_plate + 4.0 * u if out > 0.0 else m.r_fulcrum + 3.0 * u
    line = [(p.fulcrum + slope * (edge - m.r_fulcrum), edge), (p.fulcrum, m.r_fulcrum),
            (tip, m.r_tip + 4.0 * u), (tip, m.r_tip)]  # fmt: skip
    points: list[Point] = [(x + far, side * y) for x, y in line]
    points += [(x + near, side * y) for x, y in reversed(line)]
    for x in (near - 2.0 * u, far + 2.0 * u):
        if m.levers and x < 0.0:
            continue
        draft.dot("cover", (p.fulcrum + x, side * m.r_fulcrum), 2.0 * u)
    draft.area("fingers", points, moves=True, cut=0, fill="soft")


def _springs(draft: Draft, m: Measures, start: float, end: float) -> None:
    """Draw the clamp springs between plate and cover."""
    u, low, high = m.unit, m.inner + 1.0 * m.unit, m.inner + 15.0 * m.unit
    step = (end - start) / _COILS
    zigzag = [(start + i * step, high if i % 2 else low) for i in range(_COILS + 1)]
    for side in (-1.0, 1.0):
        draft.line("spring", [(x, side * y) for x, y in zigzag], moves=True)
    draft.both("cover", rectangle(end, end + 3.4 * u, low - 3.0 * u, high + 3.0 * u), cut=-1)
