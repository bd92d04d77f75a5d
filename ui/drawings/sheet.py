"""The sheet a drawing is made on: lines, shapes, hatching, arrows, dimensions and words.

All lengths are units of the canvas, x to the right and y down; angles are degrees, clockwise on the
sheet. Words are written last, and the sheet keeps the box of each, so that it can be told whether
they run into each other or over a line.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, radians, sin
from typing import Literal, NamedTuple

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen, QPolygonF

from ui.drawings.scheme import Scheme

WIDTH, HEIGHT = 320.0, 200.0

Point = tuple[float, float]
Tone = Literal["ink", "muted", "accent"]
Fill = Literal["none", "ground", "ink", "accent"]
Align = Literal["left", "centre", "right"]

_HATCH_STEP = 4.2
_HEAD = 8.0  # length of the head of an arrow
_FONT_PIXELS = 64  # letters are made this large and scaled down: the same shape at every size

# Breadth that drawings have room for, in heights of the letters: a broader face is made smaller.
_SAMPLE, _ROOM_EM = "largest less smallest", 10.1


@dataclass(frozen=True)
class Style:
    """How a line or a shape is drawn.

    Attributes
    ----------
    tone : str
        The colour of its line.
    weight : float
        Breadth of its line; 0 for a shape without an outline.
    fill : str
        What it is filled with.
    hatch : int
        1 or -1 for a cut part, hatched toward the one or the other side; 0 for none.
    dashed : bool
    """

    tone: Tone = "ink"
    weight: float = 1.5
    fill: Fill = "none"
    hatch: int = 0
    dashed: bool = False


LINE = Style()
THIN = Style(weight=1.0)
HEAVY = Style(weight=2.6)
SOLID = Style(fill="ground")
THIN_SOLID = Style(weight=1.0, fill="ground")
CUT = Style(weight=1.3, fill="ground", hatch=1)
CUT_BACK = Style(weight=1.3, fill="ground", hatch=-1)
BLACK = Style(weight=1.0, fill="ink")
FAINT = Style(tone="muted", weight=0.8)
FAINT_SOLID = Style(tone="muted", weight=0.8, fill="ground")
AXIS = Style(tone="muted", weight=0.7)
GHOST = Style(tone="muted", weight=1.1, dashed=True)
LOUD = Style(tone="accent", weight=2.4)
LOUD_THIN = Style(tone="accent", weight=1.0)
LOUD_GHOST = Style(tone="accent", weight=1.4, dashed=True)
LOUD_SOLID = Style(tone="accent", weight=1.0, fill="accent")


class Label(NamedTuple):
    """Words on the sheet, and the box they take."""

    text: str
    box: QRectF
    loud: bool


class Sheet:
    """A canvas of `WIDTH` times `HEIGHT` units.

    Parameters
    ----------
    painter : QPainter
        Already scaled so that a unit of the canvas is a unit of the painter; its font gives the
        face of the letters.
    scheme : Scheme
    """

    def __init__(self, painter: QPainter, scheme: Scheme) -> None:
        self._painter = painter
        self._scheme = scheme
        self._face = QFont(painter.font())
        self._face.setPixelSize(_FONT_PIXELS)
        self._face.unsetFeature(QFont.Tag("tnum"))  # no columns here
        self._face.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
        self._size = scheme.text * min(1.0, _ROOM_EM / self._sample_em())
        self._zoom = 1.0
        self.labels: list[Label] = []
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)

    # Places

    @contextmanager
    def placed(
        self, at: Point, angle: float = 0.0, *, zoom: float = 1.0, flipped: bool = False
    ) -> Iterator[None]:
        """Draw about a place of its own: enlarged, mirrored left to right, turned clockwise.

        Lines stay as broad as they are, and words can't be noted.
        """
        before = self._zoom
        self._painter.save()
        self._painter.translate(*at)
        self._painter.rotate(angle)
        self._painter.scale(-zoom if flipped else zoom, zoom)
        self._zoom = before * zoom
        try:
            yield
        finally:
            self._zoom = before
            self._painter.restore()

    # Lines and shapes

    def path(self, path: QPainterPath, style: Style = LINE) -> None:
        """Draw a path."""
        painter = self._painter
        if style.fill != "none":
            painter.fillPath(path, self._fill(style.fill))
        if style.hatch:
            self._hatch(path, style.hatch)
        if style.weight:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(self._pen(style))
            painter.drawPath(path)

    def line(self, *points: Point, style: Style = LINE) -> None:
        """Draw a line from point to point."""
        self.path(_polygon(points), style)

    def shape(self, *points: Point, style: Style = SOLID) -> None:
        """Draw a closed shape with straight sides."""
        made = _polygon(points)
        made.closeSubpath()
        self.path(made, style)

    def curve(self, start: Point, *bends: tuple[Point, Point, Point], style: Style = LINE) -> None:
        """Draw a curve; each bend is two points that pull at it and the point where it ends."""
        made = QPainterPath(QPointF(*start))
        for one, other, end in bends:
            made.cubicTo(QPointF(*one), QPointF(*other), QPointF(*end))
        self.path(made, style)

    def box(self, left: float, top: float, wide: float, high: float, style: Style = SOLID) -> None:
        """Draw a rectangle."""
        self.rounded(left, top, wide, high, 0.0, style)

    def rounded(
        self, left: float, top: float, wide: float, high: float, radius: float, style: Style = SOLID
    ) -> None:
        """Draw a rectangle with round corners."""
        made = QPainterPath()
        made.addRoundedRect(QRectF(left, top, wide, high), radius, radius)
        self.path(made, style)

    def circle(self, centre: Point, radius: float, style: Style = SOLID) -> None:
        """Draw a circle."""
        made = QPainterPath()
        made.addEllipse(QPointF(*centre), radius, radius)
        self.path(made, style)

    def ring(self, centre: Point, outer: float, inner: float, style: Style = CUT) -> None:
        """Draw a ring."""
        made = QPainterPath()
        made.addEllipse(QPointF(*centre), outer, outer)
        made.addEllipse(QPointF(*centre), inner, inner)
        self.path(made, style)

    def arc(
        self, centre: Point, radius: float, start: float, end: float, style: Style = LINE
    ) -> None:
        """Draw an arc between two angles, counted clockwise from three o'clock."""
        x, y = centre
        frame = QRectF(x - radius, y - radius, 2 * radius, 2 * radius)
        made = QPainterPath()
        made.arcMoveTo(frame, -start)
        made.arcTo(frame, -start, start - end)
        self.path(made, style)

    def centre_line(self, start: Point, end: Point) -> None:
        """Draw the axis of a turning part."""
        pen = self._pen(AXIS)
        pen.setDashPattern([12.0, 3.5, 2.5, 3.5])
        self._painter.setPen(pen)
        self._painter.drawLine(QLineF(*start, *end))

    def torn(self, x: float, top: float, bottom: float, style: Style = THIN) -> None:
        """Draw the wavy line where a part is left off."""
        third = (bottom - top) / 3
        self.curve(
            (x, top),
            ((x + 5, top + third), (x + 5, top + third), (x, top + 1.5 * third)),
            ((x - 5, top + 2 * third), (x - 5, top + 2 * third), (x, bottom)),
            style=style,
        )

    # Arrows

    def arrow(self, start: Point, end: Point, style: Style = LINE) -> None:
        """Draw an arrow."""
        angle = _direction(start, end)
        neck = _along(end, angle + 180.0, 0.8 * self._head(style))
        self.line(start, neck, style=style)
        self._arrow_head(end, angle, style)

    def turn(
        self, centre: Point, radius: float, start: float, end: float, style: Style = LINE
    ) -> None:
        """Draw an arrow along an arc between two angles, clockwise if the second is larger."""
        sense = 1.0 if end > start else -1.0
        lag = degrees(0.8 * self._head(style) / radius)
        self.arc(centre, radius, start, end - sense * lag, style)
        tip = _along(centre, end, radius)
        self._arrow_head(tip, end + sense * (90.0 - lag / 2), style)

    def push(self, end: Point, angle: float, long: float = 24.0) -> None:
        """Draw a broad hollow arrow: a force, or what is moved by hand or foot."""
        with self.placed(end, angle):
            self.shape(
                *((0.0, 0.0), (-11.0, -8.0), (-11.0, -3.5), (-long, -3.5)),
                *((-long, 3.5), (-11.0, 3.5), (-11.0, 8.0)),
            )

    def dimension(self, start: Point, end: Point) -> None:
        """Draw the arrow of what is measured; where there is no room, its heads point inward."""
        angle = _direction(start, end)
        long = hypot(end[0] - start[0], end[1] - start[1])
        if long >= 2.6 * _HEAD:
            inset = 0.7 * _HEAD
            self.line(_along(start, angle, inset), _along(end, angle + 180.0, inset), style=LOUD)
            self._arrow_head(start, angle + 180.0, LOUD)
            self._arrow_head(end, angle, LOUD)
            return
        self.line(start, end, style=LOUD)
        self.arrow(_along(start, angle + 180.0, 2.4 * _HEAD), start, LOUD)
        self.arrow(_along(end, angle, 2.4 * _HEAD), end, LOUD)

    def witness(self, *ends: tuple[Point, Point]) -> None:
        """Draw the thin lines that carry a place over to its dimension."""
        for start, end in ends:
            self.line(start, end, style=LOUD_THIN)

    # Words

    def label(self, at: Point, text: str, align: Align = "left", *, loud: bool = False) -> None:
        """Note words to be written, one line or more; ``at`` is in the middle of their height."""
        size = self._size
        metrics = QFontMetricsF(self._font(loud=loud))
        unit = size / _FONT_PIXELS
        cap, below = metrics.capHeight() * unit, metrics.descent() * unit
        lines = text.split("\n")
        first = at[1] - 0.5 * 1.2 * size * (len(lines) - 1)
        for number, words in enumerate(lines):
            wide = metrics.horizontalAdvance(words) * unit
            left = at[0] - wide * {"left": 0.0, "centre": 0.5, "right": 1.0}[align]
            top = first + 1.2 * size * number - cap / 2
            self.labels.append(Label(words, QRectF(left, top, wide, cap + below), loud))

    def name(self, at: Point, text: str, to: Point, align: Align = "left") -> None:
        """Name a part: words, and a thin line from them to the part."""
        self.label(at, text, align)
        box = self.labels[-1].box
        gap = 2.5
        if box.left() - gap <= to[0] <= box.right() + gap:
            x = min(max(to[0], box.left() + 3), box.right() - 3)
            start = (x, box.top() - gap if to[1] < at[1] else box.bottom() + gap / 2)
        else:
            start = (box.left() - gap if to[0] < at[0] else box.right() + gap, at[1])
        self.line(start, to, style=FAINT)
        self.circle(to, 1.4, Style(tone="muted", weight=0.0, fill="ink"))

    def write(self) -> None:
        """Write all words noted so far."""
        painter = self._painter
        unit = self._size / _FONT_PIXELS
        for label in self.labels:
            font = self._font(loud=label.loud)
            below = QFontMetricsF(font).descent() * unit
            painter.save()
            painter.setFont(font)
            painter.setPen(self._scheme.accent if label.loud else self._scheme.ink)
            painter.translate(label.box.left(), label.box.bottom() - below)
            painter.scale(unit, unit)
            painter.drawText(QPointF(0.0, 0.0), label.text)
            painter.restore()

    # Inside

    def _sample_em(self) -> float:
        metrics = QFontMetricsF(self._font(loud=True))
        return metrics.horizontalAdvance(_SAMPLE) / _FONT_PIXELS

    def _font(self, *, loud: bool) -> QFont:
        font = QFont(self._face)
        font.setBold(loud)
        return font

    def _pen(self, style: Style) -> QPen:
        colours = {"ink": self._scheme.ink, "muted": self._scheme.muted}
        pen = QPen(colours.get(style.tone, self._scheme.accent), style.weight / self._zoom)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap if style.dashed else Qt.PenCapStyle.RoundCap)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        if style.dashed:
            pen.setDashPattern([3.2, 2.4])
        return pen

    def _fill(self, fill: Fill) -> QColor:
        colour: QColor = getattr(self._scheme, fill)
        return colour

    def _hatch(self, path: QPainterPath, lean: int) -> None:
        """Hatch a cut part at 45 degrees; the lines of neighbours are those of one grid."""
        painter = self._painter
        frame = path.boundingRect()
        painter.save()
        painter.setClipPath(path, Qt.ClipOperation.IntersectClip)
        painter.setPen(QPen(self._scheme.muted, 0.7 / self._zoom))
        step = _HATCH_STEP * 2.0**0.5 / self._zoom
        top, bottom = frame.top(), frame.bottom()
        # Along a line x + y (leaning right) or x - y (leaning left) stays the same.
        low, high = (top, bottom) if lean > 0 else (-bottom, -top)
        same = (frame.left() + low) // step * step
        while same < frame.right() + high:
            painter.drawLine(QLineF(same - lean * bottom, bottom, same - lean * top, top))
            same += step
        painter.restore()

    def _head(self, style: Style) -> float:
        return _HEAD if style.weight > 1.0 else 0.7 * _HEAD

    def _arrow_head(self, tip: Point, angle: float, style: Style) -> None:
        long = self._head(style)
        back = _along(tip, angle + 180.0, long)
        sides = (_along(back, angle + 90.0, 0.4 * long), _along(back, angle - 90.0, 0.4 * long))
        fill: Fill = "accent" if style.tone == "accent" else "ink"
        self.shape(tip, *sides, style=Style(tone=style.tone, weight=0.0, fill=fill))


def _polygon(points: tuple[Point, ...]) -> QPainterPath:
    made = QPainterPath()
    made.addPolygon(QPolygonF([QPointF(x, y) for x, y in points]))
    return made


def _direction(start: Point, end: Point) -> float:
    return degrees(atan2(end[1] - start[1], end[0] - start[0]))


def _along(start: Point, angle: float, far: float) -> Point:
    """Give the point that lies so far from another in a direction."""
    return start[0] + far * cos(radians(angle)), start[1] + far * sin(radians(angle))
