"""What the parts are called, and the places of them that their names point to."""

from collections.abc import Mapping
from itertools import islice
from types import MappingProxyType
from typing import NamedTuple

from diagnose.drawings.cutaway.layout import Layout
from diagnose.drawings.cutaway.measures import Measures
from diagnose.drawings.cutaway.notes import Name, Notes, name_column
from diagnose.drawings.cutaway.places import Places
from diagnose.drawings.cutaway.shapes import Dot, Draft
from diagnose.drawings.cutaway.stance import Motion

_ACTUATORS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "external_slave": ("slave", "slave cylinder"),
        "concentric_slave": ("slave", "cylinder"),
        "cable": ("rod", "cable"),
        "rod": ("rod", "rod"),
    }
)


class _Part(NamedTuple):
    """A name and its place in mm, along the shaft and below it; what counts as its fault."""

    text: str
    x: float
    y: float
    carries: frozenset[str]


def draw_names(
    notes: Notes, m: Measures, p: Places, motion: Motion, draft: Draft, layout: Layout
) -> None:
    """Write the names of the parts into their columns, those at fault with a sign.

    Where there is no room for all names, those at fault are told beside the clutch.
    """

    def named(parts: list[_Part]) -> list[Name]:
        return [
            Name(part.text, draft.at(part.x, part.y), bool(part.carries & draft.faulty))
            for part in parts
        ]

    turning = _turning(m, p)
    releasing = named([*_releasing(m, p, motion), *_at_fault(m, draft.faulty)])
    if "cross shaft" in draft.faulty:
        turns = (s for s in draft.shapes if s.part == "cross shaft" and isinstance(s, Dot))
        releasing += [Name("cross shaft", dot.centre, faulty=True) for dot in islice(turns, 1)]
    if layout.left is not None:
        name_column(notes, named(turning), layout.left, "end")
    else:
        # Pointed to above the shaft, where fork and actuator are not in the way.
        above = named([part._replace(y=-abs(part.y)) for part in turning])
        releasing = [name for name in (*above, *releasing) if name.faulty]
    name_column(notes, releasing, layout.right, "start")


def _part(text: str, x: float, y: float, *carries: str) -> _Part:
    return _Part(text, x, y, frozenset(carries or (text,)))


def _turning(m: Measures, p: Places) -> list[_Part]:
    """Flywheel, discs and cover, and what carries them."""
    u = m.unit
    middle = 0.55 * m.inner + 0.45 * m.outer
    found = [
        _part("flywheel", -16.0 * u, middle),
        _part("pressure plate", p.plate[0] + 6.0 * u, m.outer - 4.0 * u, "plate"),
        _part("cover", p.cover + 1.7 * u, m.outer + 14.0 * u),
        _part("crankshaft", m.flywheel_back - 18.0 * u, -14.5 * u),
    ]
    if m.kind.pilot != "none":
        pilot = "pilot bearing" if m.kind.pilot == "bearing" else "pilot bush"
        found.append(_part(pilot, m.flywheel_back - 9.0 * u, 9.0 * u, "pilot"))
    if m.kind.dual_mass:
        found.append(_part("primary mass", -47.0 * u, middle + 6.0 * u))
    if p.discs:
        x = p.discs[0][0] + 1.4 * u
        text = "discs" if len(p.discs) > 1 else "disc"
        found.append(_part(text, x, m.inner + 4.0 * u, "disc"))
    if p.floaters:
        found.append(_part("floater", sum(p.floaters[0]) / 2.0, m.inner - 2.0 * u))
    return found


def _at_fault(m: Measures, faulty: frozenset[str]) -> list[_Part]:
    """What goes without a name unless something is wrong with it."""
    found = []
    if "quill" in faulty:
        found.append(_part("quill", m.wall - 9.0 * m.unit, -0.9 * m.quill))
    if "housing" in faulty:
        found.append(_part("housing", m.wall - 26.0 * m.unit, -m.housing - 3.0 * m.unit))
    return found


def _releasing(m: Measures, p: Places, motion: Motion) -> list[_Part]:
    """Fingers, bearing, and what moves it."""
    u, push = m.unit, m.side > 0.0
    r = 0.5 * (m.r_tip + m.r_fulcrum)
    share = (r - m.r_tip) / (m.r_fulcrum - m.r_tip)
    fingers = p.tips + share * (p.fulcrum - p.tips)
    bearing = (p.face + 12.0 * u, -m.r_tip - 4.0 * u) if push else (p.back + 4.5 * u, -m.r_tip)
    found = [
        _part("levers" if m.levers else "fingers", fingers, -r, "fingers"),
        _part("release bearing", *bearing, "bearing"),
        _part("input shaft", m.wall + 18.0 * u, 0.0, "shaft"),
    ]
    carries, text = _ACTUATORS[m.system.linkage]
    if not m.forked:
        found.append(_part(text, m.wall - 12.0 * u, 0.5 * (m.quill + m.r_tip), carries))
        return found
    y = m.tip_y
    fork = p.contact + 0.45 * (p.tip - p.contact) + 4.0 * u * m.side
    found.append(_part("fork", fork, 0.45 * y))
    found.append(_part("pivot", p.pivot + (11.0 if push else -4.0) * u, m.pivot_y))
    far = p.actuator + m.actuator_way * 20.0 * u
    found.append(_part(text, far, y, carries, "rod"))
    return found
