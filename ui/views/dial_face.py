"""The readings of a dial where they were taken, and which way they point."""

from math import cos, hypot, radians, sin

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from diagnose.calculators import Turn
from diagnose.physics.clock import clock_words

_LINES = 9  # it is as high as so many lines of text
_DOT = 4.0
_HEAD = 9.0  # of the arrow


class DialFace(QWidget):
    """Draws one turn of a dial as it is seen from the gearbox."""

    def __init__(self, turn: Turn, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._turn = turn
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(_in_words(turn))

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(16 * line, _LINES * line)

    def minimumSizeHint(self) -> QSize:
        return QSize(12 * self.fontMetrics().height(), self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colours = self.palette()
        ink = colours.color(QPalette.ColorRole.WindowText)
        line = float(self.fontMetrics().height())
        centre = QPointF(self.width() / 2.0, self.height() / 2.0)
        radius = self.height() / 2.0 - 1.7 * line
        painter.setPen(QPen(ink, 1.5))
        painter.drawEllipse(centre, radius, radius)
        painter.setBrush(ink)
        for angle, reading in zip(self._turn.angles, self._turn.readings, strict=True):
            painter.setPen(QPen(ink, 1.5))
            painter.drawEllipse(_at(centre, radius, angle), _DOT, _DOT)
            self._write(painter, centre, radius + 0.9 * line, angle, reading)
        if self._turn.toward is not None:
            accent = colours.color(QPalette.ColorRole.Link)
            _arrow(painter, QPen(accent, 2.5), centre, _at(centre, 0.7 * radius, self._turn.toward))
        painter.end()

    def _write(
        self, painter: QPainter, centre: QPointF, radius: float, angle: float, text: str
    ) -> None:
        """Write a reading outside its place, clear of the ring."""
        metrics = QFontMetricsF(self.font())
        wide, high = metrics.horizontalAdvance(text) + 2.0, metrics.height()
        place = _at(centre, radius, angle)
        aside = sin(radians(angle)) * wide / 2.0
        box = QRectF(place.x() - wide / 2.0 + aside, place.y() - high / 2.0, wide, high)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def _at(centre: QPointF, radius: float, angle: float) -> QPointF:
    """Give the place at a distance from the centre, clockwise from 12 o'clock."""
    turned = radians(angle)
    return centre + QPointF(radius * sin(turned), -radius * cos(turned))


def _arrow(painter: QPainter, pen: QPen, start: QPointF, end: QPointF) -> None:
    painter.setPen(pen)
    painter.drawLine(start, end)
    along = end - start
    unit = along / max(1.0, hypot(along.x(), along.y()))
    across = QPointF(-unit.y(), unit.x())
    for side in (1.0, -1.0):
        painter.drawLine(end, end - unit * _HEAD + across * side * 0.6 * _HEAD)


def _in_words(turn: Turn) -> str:
    read = ", ".join(
        f"{clock_words(angle)} {reading}"
        for angle, reading in zip(turn.angles, turn.readings, strict=True)
    )
    toward = "" if turn.toward is None else f" The arrow points to {clock_words(turn.toward)}."
    return f"Seen from the gearbox: {read}.{toward}"
