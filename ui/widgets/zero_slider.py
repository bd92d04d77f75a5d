"""A slider that shows where nothing is changed, and how far from there it is."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent, QPalette, QPen, QWheelEvent
from PySide6.QtWidgets import QSlider


class ZeroSlider(QSlider):
    """Slides sideways; the wheel moves it only when it has the focus."""

    def __init__(self) -> None:
        super().__init__(Qt.Orientation.Horizontal)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(10 * line, round(1.5 * line))

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def wheelEvent(self, event: QWheelEvent, /) -> None:
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()

    def mousePressEvent(self, event: QMouseEvent, /) -> None:
        self._slide_to(event.position().x())

    def mouseMoveEvent(self, event: QMouseEvent, /) -> None:
        self._slide_to(event.position().x())

    def paintEvent(self, event: QPaintEvent, /) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        role, colours = QPalette.ColorRole, self.palette()
        level = self.height() / 2.0
        left, right = self._at(self.minimum()), self._at(self.maximum())
        zero, here = self._at(0), self._at(self.value())
        painter.setPen(QPen(colours.color(role.Dark), 1.0))
        painter.drawLine(QPointF(left, level), QPointF(right, level))
        painter.drawLine(QPointF(zero, level - 7.0), QPointF(zero, level + 7.0))
        moved = QRectF(min(zero, here), level - 2.5, abs(here - zero), 5.0)
        painter.fillRect(moved, colours.brush(role.Link))
        painter.setBrush(colours.brush(role.Link if self.hasFocus() else role.Base))
        painter.setPen(QPen(colours.color(role.Link), 2.0))
        painter.drawEllipse(QPointF(here, level), self._radius(), self._radius())
        painter.end()

    def _radius(self) -> float:
        return 0.42 * self.fontMetrics().height()

    def _at(self, value: int) -> float:
        """Give the place of a value."""
        edge = self._radius() + 2.0
        share = (value - self.minimum()) / max(1, self.maximum() - self.minimum())
        return edge + share * (self.width() - 2.0 * edge)

    def _slide_to(self, place: float) -> None:
        edge = self._radius() + 2.0
        share = (place - edge) / max(1.0, self.width() - 2.0 * edge)
        span = self.maximum() - self.minimum()
        self.setValue(round(self.minimum() + min(1.0, max(0.0, share)) * span))
