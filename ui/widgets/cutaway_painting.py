"""A picture of the cutaway, painted: the colours of the theme for its inks and fills."""

from math import ceil

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QPainter,
    QPalette,
    QPen,
    QPixmap,
    QPolygonF,
)

from diagnose.drawings.cutaway.hatch import hatching
from diagnose.drawings.cutaway.shapes import Area, Dot, Picture, Words

_HATCH = 0.6  # breadth of a hatching line, in pixels
_DASHES = [4.0, 2.8]
_NO_PEN, _NO_BRUSH = QPen(Qt.PenStyle.NoPen), QBrush(Qt.BrushStyle.NoBrush)


class Inks:
    """Colours for the inks and fills of a picture, from a palette of the theme."""

    def __init__(self, colours: QPalette) -> None:
        role = QPalette.ColorRole
        self.colours: dict[str, QColor] = {
            "ground": colours.color(role.Base),
            "soft": colours.color(role.AlternateBase),
            "ink": colours.color(role.Text),
            "muted": colours.color(role.PlaceholderText),
            "rule": colours.color(role.Mid),
            "accent": colours.color(role.Link),
            "fault": colours.color(role.BrightText),
        }
        self._pens: dict[tuple[str, float, bool], QPen] = {}
        self._brushes = {name: QBrush(colour) for name, colour in self.colours.items()}

    def brush(self, fill: str) -> QBrush:
        """Give what a fill is painted with."""
        return self._brushes[fill] if fill else _NO_BRUSH

    def pen(self, ink: str, weight: float, *, dashed: bool) -> QPen:
        """Give a pen; made once for each look."""
        key = (ink, weight, dashed)
        found = self._pens.get(key)
        if found is None:
            found = QPen(self.colours[ink], weight)
            found.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
            found.setCapStyle(Qt.PenCapStyle.FlatCap)
            if dashed:
                found.setDashPattern(_DASHES)
            self._pens[key] = found
        return found


class Canvas:
    """Paints pictures of one subject after the other; what stands still is painted once and kept.

    Parameters
    ----------
    colours : QPalette
    font : QFont
        Its face.
    """

    def __init__(self, colours: QPalette, font: QFont) -> None:
        self._inks = Inks(colours)
        self._writer = _Writer(self._inks, font)
        self._still: tuple[Area | Dot, ...] = ()
        self._kept: QPixmap | None = None

    def paint(self, painter: QPainter, picture: Picture) -> None:
        """Paint a picture; a unit of the picture is a unit of the painter."""
        ratio = painter.device().devicePixelRatio()
        kept = self._kept
        wide, high = (ceil(side * ratio) for side in picture.size)
        same = kept is not None and (kept.width(), kept.height()) == (wide, high)
        if kept is None or not same or self._still is not picture.still:
            kept = QPixmap(wide, high)
            kept.setDevicePixelRatio(ratio)
            kept.fill(self._inks.colours["ground"])
            under = QPainter(kept)
            _shapes(under, picture.still, picture.step, self._inks)
            under.end()
            self._kept, self._still = kept, picture.still
        painter.drawPixmap(QPointF(0.0, 0.0), kept)
        _shapes(painter, picture.shapes, picture.step, self._inks)
        self._writer.write(painter, picture.words)


def paint(painter: QPainter, picture: Picture, colours: QPalette, font: QFont) -> None:
    """Paint one picture, all of it as lines: on paper, or to be painted once only."""
    inks = Inks(colours)
    _shapes(painter, picture.still, picture.step, inks)
    _shapes(painter, picture.shapes, picture.step, inks)
    _Writer(inks, font).write(painter, picture.words)


def _shapes(painter: QPainter, shapes: tuple[Area | Dot, ...], step: float, inks: Inks) -> None:
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for shape in shapes:
        if isinstance(shape, Area):
            _area(painter, shape, step, inks)
        else:
            _dot(painter, shape, inks)


def _area(painter: QPainter, shape: Area, step: float, inks: Inks) -> None:
    polygon = QPolygonF([QPointF(x, y) for x, y in shape.points])
    edge = inks.pen(shape.ink, shape.weight, dashed=shape.dashed) if shape.weight else _NO_PEN
    if not shape.closed:
        painter.setPen(edge)
        painter.drawPolyline(polygon)
        return
    painter.setBrush(inks.brush(shape.fill))
    if shape.hatch:
        painter.setPen(_NO_PEN)
        painter.drawPolygon(polygon)
        painter.setPen(inks.pen("muted" if shape.ink == "ink" else shape.ink, _HATCH, dashed=False))
        lines = hatching(shape.points, step, shape.hatch)
        painter.drawLines([QLineF(*line) for line in lines])
        painter.setBrush(_NO_BRUSH)
    painter.setPen(edge)
    painter.drawPolygon(polygon)


def _dot(painter: QPainter, shape: Dot, inks: Inks) -> None:
    edge = inks.pen(shape.ink, shape.weight, dashed=shape.dashed) if shape.weight else _NO_PEN
    painter.setPen(edge)
    painter.setBrush(inks.brush(shape.fill))
    painter.drawEllipse(QPointF(*shape.centre), shape.radius, shape.radius)


class _Writer:
    """Writes lines of text; a font is made once for each size."""

    def __init__(self, inks: Inks, font: QFont) -> None:
        self._inks, self._font = inks, font
        self._made: dict[tuple[float, bool], tuple[QFont, QFontMetricsF]] = {}

    def write(self, painter: QPainter, words: tuple[Words, ...]) -> None:
        """Write all of them."""
        for line in words:
            self._line(painter, line)

    def _line(self, painter: QPainter, line: Words) -> None:
        font, metrics = self._face(line.size, bold=line.bold)
        wide = metrics.horizontalAdvance(line.text)
        shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[line.anchor]
        left = line.x - shift * wide
        if line.halo:
            pad = 0.22 * line.size
            box = QRectF(left - pad, line.baseline - 0.85 * line.size, wide + 2.0 * pad,
                         1.12 * line.size)  # fmt: skip
            painter.fillRect(box, self._inks.colours["ground"])
        painter.setFont(font)
        painter.setPen(self._inks.colours[line.ink])
        painter.drawText(QPointF(left, line.baseline), line.text)

    def _face(self, size: float, *, bold: bool) -> tuple[QFont, QFontMetricsF]:
        key = (size, bold)
        if key not in self._made:
            font = QFont(self._font)
            font.setPixelSize(max(1, round(size)))
            font.setBold(bold)
            self._made[key] = (font, QFontMetricsF(font))
        return self._made[key]
