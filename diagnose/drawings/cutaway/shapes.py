"""What a picture of the cutaway is made of, and the draft it is drawn on.

A draft turns mm of the vehicle into units of the picture. Colours and faces are not known here: a
shape says which ink, fill and hatching it has, and whoever shows it says what that looks like.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple, TypedDict, Unpack

Ink = Literal["ink", "muted", "rule", "accent", "fault", "soft", "ground"]
Fill = Literal["", "ground", "soft", "ink", "muted", "accent", "fault"]
Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]


class Area(NamedTuple):
    """A line from point to point, or what it encloses.

    Attributes
    ----------
    part : str
        What it belongs to; empty for notes.
    points : tuple of (float, float)
        In units of the picture.
    ink : str
    weight : float
        Breadth of the line; 0 for none.
    fill : str
    hatch : int
        1 or -1 for a cut face, hatched to the one or the other side; 0 for none.
    dashed, closed : bool
    """

    part: str
    points: tuple[Point, ...]
    ink: Ink = "ink"
    weight: float = 1.5
    fill: Fill = ""
    hatch: int = 0
    dashed: bool = False
    closed: bool = True


class Dot(NamedTuple):
    """A circle."""

    part: str
    centre: Point
    radius: float
    ink: Ink = "ink"
    weight: float = 1.5
    fill: Fill = "ground"
    dashed: bool = False


class Words(NamedTuple):
    """One line of text; with a halo it hides what lies behind it."""

    text: str
    x: float
    baseline: float
    size: float
    anchor: Anchor = "start"
    ink: Ink = "ink"
    bold: bool = False
    halo: bool = False


Shape = Area | Dot


@dataclass(frozen=True)
class Picture:
    """A picture of a system at a travel of its pedal.

    Attributes
    ----------
    title : str
    size : (float, float)
    step : float
        Distance of the lines of a hatching.
    still, shapes : tuple of Area or Dot
        In painting order; the first are the same at every travel of the pedal.
    words : tuple of Words
        On top.
    """

    title: str
    size: tuple[float, float]
    step: float
    still: tuple[Shape, ...]
    shapes: tuple[Shape, ...]
    words: tuple[Words, ...]


class Box(NamedTuple):
    """A rectangle of the picture."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From top to bottom."""
        return self.bottom - self.top

    @property
    def centre(self) -> Point:
        """Its middle."""
        return (self.left + self.right) / 2.0, (self.top + self.bottom) / 2.0


class Look(TypedDict, total=False):
    """How a part is drawn.

    Attributes
    ----------
    moves : bool
        Whether it moves with the pedal; if left out it does not.
    cut : int
        1 or -1 for a cut face, hatched to the one or the other side; 0 if left out.
    fill : str
        That of the ground if left out.
    thin : bool
    before : bool
        Whether it lies before what stands still though it does not move, or changes.
    """

    moves: bool
    cut: int
    fill: Fill
    thin: bool
    before: bool


class Draft:
    """Draws parts given in mm into units of the picture.

    Parameters
    ----------
    scale : float
        Units of the picture for each mm.
    origin : (float, float)
        Where the mm begin.
    weight : float
        Breadth of an ordinary line.
    faulty : frozenset of str
        Parts that are drawn as faulty.
    absent : frozenset of str
        Parts of which only the outline is drawn, dashed: they are not there.
    ghost : bool
        Only what moves, as dashed outlines.
    moving : bool
        Only what moves.

    Attributes
    ----------
    still, shapes : list
        What stands still at every travel of the pedal, and what lies before it.
    """

    def __init__(
        self,
        scale: float = 1.0,
        origin: Point = (0.0, 0.0),
        *,
        weight: float = 1.5,
        faulty: frozenset[str] = frozenset(),
        absent: frozenset[str] = frozenset(),
        ghost: bool = False,
        moving: bool = False,
    ) -> None:
        self.scale, self.origin, self.weight = scale, origin, weight
        self.faulty, self._absent = faulty, absent
        self._ghost, self._moving = ghost, moving or ghost
        self.still: list[Shape] = []
        self.shapes: list[Shape] = []

    def at(self, x: float, y: float) -> Point:
        """Give the place of a point in the picture."""
        return self.origin[0] + self.scale * x, self.origin[1] + self.scale * y

    def area(self, part: str, points: Sequence[Point], **look: Unpack[Look]) -> None:
        """Draw a closed shape; one that moves is in the accent's colour.

        What stands still lies behind all that moves, unless it is to lie before it, or changes.
        """
        if not self._left_out(look):
            self._add(part, points, look, closed=True)

    def both(self, part: str, points: Sequence[Point], **look: Unpack[Look]) -> None:
        """Draw a part that turns about the shaft: above it and below."""
        if self._left_out(look):
            return
        above: Look = {**look, "cut": look.get("cut", 0)}
        below: Look = {**look, "cut": -look.get("cut", 0)}
        self._add(part, [(x, -y) for x, y in points], above, closed=True)
        self._add(part, points, below, closed=True)

    def line(
        self, part: str, points: Sequence[Point], *, moves: bool = False, thin: bool = False
    ) -> None:
        """Draw a line."""
        look: Look = {"moves": moves, "thin": thin, "fill": ""}
        if not self._left_out(look):
            self._add(part, points, look, closed=False)

    def dot(
        self,
        part: str,
        centre: Point,
        radius: float,
        *,
        moves: bool = False,
        fill: Fill = "ground",
        before: bool = False,
    ) -> None:
        """Draw a circle."""
        look: Look = {"moves": moves, "before": before}
        if self._left_out(look):
            return
        ink, weight = self._pen(part, look)
        hollow = self._ghost or part in self._absent
        fill = "" if hollow else fill
        self._layer(look).append(
            Dot(part, self.at(*centre), radius * self.scale, ink, weight, fill, hollow)
        )

    def _left_out(self, look: Look) -> bool:
        if look.get("moves", False):
            return False
        return self._ghost or (self._moving and not look.get("before", False))

    def _layer(self, look: Look) -> list[Shape]:
        moving = look.get("moves", False) or look.get("before", False)
        return self.shapes if moving else self.still

    def _add(self, part: str, points: Sequence[Point], look: Look, *, closed: bool) -> None:
        ink, weight = self._pen(part, look)
        s, (x0, y0) = self.scale, self.origin
        placed = tuple([(x0 + s * x, y0 + s * y) for x, y in points])
        if self._ghost or part in self._absent:
            area = Area(part, placed, ink, weight, dashed=True, closed=closed)
        else:
            fill, cut = look.get("fill", "ground"), look.get("cut", 0)
            area = Area(part, placed, ink, weight, fill, cut, closed=closed)
        self._layer(look).append(area)

    def _pen(self, part: str, look: Look) -> tuple[Ink, float]:
        if self._ghost:
            return "ink", 0.8 * self.weight
        if part in self.faulty:
            return "fault", 1.7 * self.weight
        weight = 0.6 * self.weight if look.get("thin", False) else self.weight
        return ("accent" if look.get("moves", False) else "ink"), weight


def extent(shapes: Sequence[Shape]) -> Box:
    """Give the rectangle that holds some shapes, at least one."""
    xs: list[float] = []
    ys: list[float] = []
    for shape in shapes:
        if isinstance(shape, Area):
            xs += [x for x, _ in shape.points]
            ys += [y for _, y in shape.points]
        else:
            (x, y), r = shape.centre, shape.radius
            xs += [x - r, x + r]
            ys += [y - r, y + r]
    return Box(min(xs), min(ys), max(xs), max(ys))


def rectangle(left: float, right: float, low: float, high: float) -> list[Point]:
    """Give the corners of a rectangle from its sides."""
    return [(left, low), (right, low), (right, high), (left, high)]


def span(one: float, other: float) -> tuple[float, float]:
    """Give two places in rising order."""
    return (one, other) if one <= other else (other, one)
