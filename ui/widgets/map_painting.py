"""How one box of the map, and one link, is drawn."""

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPainterPath, QPalette, QPen, QPolygonF

from diagnose.drawings.rows import Box, Size
from diagnose.map import AsShown, Curve
from ui import theme
from ui.map_words import capital
from ui.widgets.measuring import height_of

_WRAP = Qt.TextFlag.TextWordWrap
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_PAD_X, _PAD_Y = 9.0, 6.0
_BAR = 0.42  # share of a box that its bar takes where there is room
_LEAST_BAR, _BESIDE = 16.0, 8.0
_LIGHTEST, _HEAVIER = 0.8, 2.6  # of a line, in px
_LEAST = 0.005  # less than 1 in 100, as the counts say it
_TOLD, _DENIED = "told: yes", "told: no"


@dataclass(frozen=True)
class Face:
    """The fonts of the map and what they measure."""

    plain: QFont
    bold: QFont
    small: QFont

    @classmethod
    def of(cls, font: QFont) -> "Face":
        """Make the fonts of a widget's own."""
        bold, small = QFont(font), QFont(font)
        bold.setBold(True)
        ratio = theme.SIZES["small"] / theme.SIZES["body"]
        small.setPixelSize(max(1, round(font.pixelSize() * ratio)))
        return cls(font, bold, small)

    @property
    def line(self) -> int:
        """Height of a line of plain text."""
        return QFontMetrics(self.plain).height()

    def title(self, box: AsShown) -> QFont:
        """Give the font of a box's name."""
        return self.bold if box.is_group or box.kind == "complaints" else self.plain

    def size(self, box: AsShown, width: float) -> Size:
        """Give the room that a box needs at a width."""
        words = height_of(QFontMetrics(self.title(box)), capital(box.name), self._room(box, width))
        high = max(words, self.line) + 2 * _PAD_Y
        if is_lit(box):
            high += QFontMetrics(self.small).height()
        return Size(width, high)

    def _room(self, box: AsShown, width: float) -> float:
        return width - 2 * _PAD_X - (self.sign + 4.0 + self.count(box) if box.is_group else 0.0)

    def count(self, box: AsShown) -> int:
        """Width of the number of a group's members."""
        return QFontMetrics(self.small).horizontalAdvance(str(box.count)) + 6

    @property
    def sign(self) -> float:
        """Side of the sign of a group."""
        return round(0.8 * self.line)


@dataclass(frozen=True)
class Look:
    """How a box stands out."""

    marked: bool = False
    near: bool = False
    focused: bool = False


def is_lit(box: AsShown) -> bool:
    """Whether a box has a bar: what is less likely than 1 in 100 has none."""
    return box.told or (box.chance is not None and box.chance >= _LEAST)


def chance_short(chance: float) -> str:
    """Say a chance in the little room of a box."""
    hundred = round(100 * chance)
    return f"{hundred} in 100" if hundred < 100 else ">99 in 100"


def paint_box(
    painter: QPainter, colours: QPalette, face: Face, box: AsShown, at: Box, look: Look
) -> None:
    """Paint a box: its name, its light as a bar with the number, and for a group its sign."""
    role = QPalette.ColorRole
    frame = QRectF(at.left, at.top, at.width, at.height)
    painter.setBrush(colours.brush(role.AlternateBase if look.marked else role.Base))
    edge = role.Link if look.marked or look.near else role.Mid
    painter.setPen(QPen(colours.color(edge), 2.4 if look.marked else 1.4 if look.near else 1.0))
    radius = float(theme.RADIUS)
    if box.is_group and not box.is_open:  # a second sheet shows behind a closed group
        painter.drawRoundedRect(frame.translated(3.0, 3.0), radius, radius)
    painter.drawRoundedRect(frame, radius, radius)
    if look.focused:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(colours.color(role.Text), 1.0, Qt.PenStyle.DotLine))
        painter.drawRoundedRect(frame.adjusted(3, 3, -3, -3), radius, radius)
    left = at.left + _PAD_X
    inner = at.width - 2 * _PAD_X
    small = QFontMetrics(face.small).height()
    lit = is_lit(box)
    high = at.height - 2 * _PAD_Y - (small if lit else 0)
    if box.is_group:
        _sign(painter, colours, QRectF(left, at.top + _PAD_Y + 2.0, face.sign, face.sign), box)
        count = QRectF(left, at.top + _PAD_Y + 1.0, inner, small)
        painter.setFont(face.small)
        painter.setPen(colours.color(role.PlaceholderText))
        painter.drawText(count, _RIGHT, str(box.count))
        left += face.sign + 4.0
        inner -= face.sign + 4.0 + face.count(box)
    painter.setPen(colours.color(role.Text))
    painter.setFont(face.title(box))
    words = QRectF(left, at.top + _PAD_Y, inner, high)
    painter.drawText(words, _LEFT | _WRAP, capital(box.name))
    if lit:
        row = QRectF(left, at.bottom - _PAD_Y - small + 1.0, inner, small)
        _light(painter, colours, face, box, row)


def _light(painter: QPainter, colours: QPalette, face: Face, box: AsShown, row: QRectF) -> None:
    """The light of a box: a bar and its number, or that it was answered."""
    role = QPalette.ColorRole
    chance = box.chance or 0.0
    told = _TOLD if chance > 0.0 else _DENIED
    words = told if box.told else chance_short(chance)
    painter.setFont(face.small)
    painter.setPen(colours.color(role.Text))
    left = row.width() - painter.fontMetrics().horizontalAdvance(words) - _BESIDE - 2.0
    long = max(_LEAST_BAR, min(_BAR * row.width(), left))  # the number is never cut
    bar = QRectF(row.left(), row.center().y() - 3.0, long, 6.0)
    painter.drawText(row.adjusted(long + _BESIDE, 0, 0, 0), _LEFT, words)
    painter.setPen(QPen(colours.color(role.Dark), 1.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(bar)
    bar.setWidth(bar.width() * min(1.0, chance))
    painter.fillRect(bar, colours.brush(role.Link))


def _sign(painter: QPainter, colours: QPalette, place: QRectF, box: AsShown) -> None:
    """A plus in a square on a closed group, a minus on an open one."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(colours.color(QPalette.ColorRole.Link), 1.6))
    painter.drawRect(place)
    middle, arm = place.center(), 0.28 * place.width()
    painter.drawLine(middle - QPointF(arm, 0), middle + QPointF(arm, 0))
    if not box.is_open:
        painter.drawLine(middle - QPointF(0, arm), middle + QPointF(0, arm))


def curve_path(curve: Curve, swing: float) -> QPainterPath:
    """Give the line of a link: level at boxes and lanes, swinging over between them."""
    start, *others = (QPointF(x, y) for x, y in curve.points)
    path = QPainterPath(start)
    if curve.beside:
        end = others[0]
        out = max(start.x(), end.x()) + min(swing, 14.0 + 0.12 * abs(end.y() - start.y()))
        path.cubicTo(QPointF(out, start.y()), QPointF(out, end.y()), end)
        return path
    before = start
    for number, point in enumerate(others):
        if number % 2 == 1 and len(others) > 1:
            path.lineTo(point)
        else:
            half = (point.x() - before.x()) / 2.0
            path.cubicTo(before + QPointF(half, 0), point - QPointF(half, 0), point)
        before = point
    return path


def paint_curve(
    painter: QPainter, colours: QPalette, curve: Curve, path: QPainterPath, *, lit: bool
) -> None:
    """Paint a link, the heavier the stronger; a lit one has the accent and an arrow."""
    role = QPalette.ColorRole
    colour = colours.color(role.Link if lit else role.Dark)
    if not lit:
        colour.setAlphaF(0.16 + 0.2 * curve.bond.p)
    heavy = 0.4 if curve.quiet else 1.0 if lit else 0.5
    weight = _LIGHTEST + _HEAVIER * curve.bond.p * heavy
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(colour, weight))
    painter.drawPath(path)
    if lit or curve.beside:
        tip = path.currentPosition()
        way = -1.0 if curve.beside else 1.0
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour)
        back = tip - QPointF(way * (5.0 + weight), 0)
        half = QPointF(0, 2.0 + weight)
        painter.drawPolygon(QPolygonF([tip, back + half, back - half]))
