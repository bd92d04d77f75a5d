"""A drawing of the engine's, painted: vector lines and letters, the same on paper as elsewhere."""

from collections.abc import Mapping
from types import MappingProxyType

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen

from diagnose.drawings.shapes import Bar, Drawing, Frame, Label
from diagnose.handbook.style import LIGHT
from ui.fonts import paper_font

_PIXELS = 64  # letters are made this large and scaled down: the same shape at every size
_RADIUS = 1.5
_ROLES: Mapping[str, QColor] = MappingProxyType(
    {role: QColor(LIGHT[role]) for role in ("ink", "muted", "accent", "rule")}
)
_SOFT, _CARD = QColor(LIGHT["accent_soft"]), QColor(LIGHT["surface"])


def paint_drawing(painter: QPainter, drawing: Drawing, family: str) -> None:
    """Paint frames, straight lines and text of a drawing.

    Parameters
    ----------
    painter : QPainter
        A unit of it is a unit of the drawing.
    drawing : Drawing
        One without swung lines.
    family : str
        The face; empty for the system's own.
    """
    for frame in drawing.frames:
        _frame(painter, frame)
    for bar in drawing.bars:
        _bar(painter, bar)
    for label in drawing.labels:
        _label(painter, label, family)


def _frame(painter: QPainter, frame: Frame) -> None:
    painter.setPen(QPen(_ROLES[frame.role], frame.weight))
    painter.setBrush(_SOFT if frame.soft else _CARD)
    painter.drawRoundedRect(QRectF(*frame.box), _RADIUS, _RADIUS)


def _bar(painter: QPainter, bar: Bar) -> None:
    pen = QPen(_ROLES[bar.role], bar.weight)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    painter.setPen(pen)
    painter.drawLine(QPointF(bar.x1, bar.y1), QPointF(bar.x2, bar.y2))


def _label(painter: QPainter, label: Label, family: str) -> None:
    font = paper_font(family)
    font.setPixelSize(_PIXELS)
    font.setBold(label.bold)
    scale = label.size / _PIXELS
    wide = QFontMetricsF(font).horizontalAdvance(label.words) * scale
    shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor] * wide
    painter.save()
    painter.translate(label.x - shift, label.baseline)
    painter.scale(scale, scale)
    painter.setFont(font)
    painter.setPen(_ROLES["ink" if label.role == "rule" else label.role])
    painter.drawText(QPointF(0.0, 0.0), label.words)
    painter.restore()
