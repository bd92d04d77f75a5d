"""Drawn signs: they need no glyph of the face and follow the colour of the text beside them."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QLabel, QWidget


def draw(painter: QPainter, name: str, box: QRectF, colour: QColor) -> None:
    """Draw one of the signs (the keys of `_PATHS`) into a square."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    side = min(box.width(), box.height())
    painter.translate(box.center() - QPointF(side / 2, side / 2))
    painter.scale(side / 24.0, side / 24.0)
    pen = QPen(colour, 2.2)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    painter.drawPath(_PATHS[name]())
    painter.restore()


def _polygon(*points: tuple[float, float], closed: bool = True) -> QPainterPath:
    path = QPainterPath()
    path.addPolygon(QPolygonF([QPointF(x, y) for x, y in points]))
    if closed:
        path.closeSubpath()
    return path


def _mark(path: QPainterPath) -> QPainterPath:
    path.moveTo(12, 9.5)
    path.lineTo(12, 14)
    path.moveTo(12, 17.4)
    path.lineTo(12, 17.6)
    return path


def _caution() -> QPainterPath:
    return _mark(_polygon((12, 3), (22.5, 21), (1.5, 21)))


def _stop() -> QPainterPath:
    path = _polygon((8, 2), (16, 2), (22, 8), (22, 16), (16, 22), (8, 22), (2, 16), (2, 8))
    path.moveTo(7, 12)
    path.lineTo(17, 12)
    return path


def _good() -> QPainterPath:
    return _polygon((4, 13), (10, 19), (20, 6), closed=False)


def _up() -> QPainterPath:
    path = _polygon((6, 10), (12, 4), (18, 10), closed=False)
    path.moveTo(12, 4)
    path.lineTo(12, 20)
    return path


def _down() -> QPainterPath:
    path = _polygon((6, 14), (12, 20), (18, 14), closed=False)
    path.moveTo(12, 20)
    path.lineTo(12, 4)
    return path


def _more() -> QPainterPath:
    return _polygon((5, 9), (12, 16), (19, 9), closed=False)


def _moved() -> QPainterPath:
    path = _polygon((4, 20), (4, 14), (9, 14), (9, 20))
    path.addPath(_polygon((14, 20), (14, 4), (19, 4), (19, 20)))
    return path


_PATHS = {
    "caution": _caution,
    "stop": _stop,
    "good": _good,
    "up": _up,
    "down": _down,
    "more": _more,
    "moved": _moved,
}


class Sign(QLabel):
    """A sign as large as the text beside it. It says nothing that the text does not say too."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._name = name
        self.setAccessibleName("")

    def sizeHint(self) -> QSize:
        side = round(self.fontMetrics().height() * 1.15)
        return QSize(side, side)

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        colour = self.palette().color(self.foregroundRole())
        draw(painter, self._name, QRectF(self.rect()).adjusted(1, 1, -1, -1), colour)
        painter.end()
