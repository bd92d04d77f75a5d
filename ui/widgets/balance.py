"""A short bar to the right of an axis for what speaks for, to its left for what speaks against."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget


class Balance(QWidget):
    """One such bar.

    Parameters
    ----------
    value : float
        -1 (all against) to 1 (all for); the bar against is hatched, so that no colour is needed.
    """

    def __init__(self, value: float, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._value = max(-1.0, min(1.0, value))
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(6 * line, line)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        colours = self.palette()
        accent = colours.color(QPalette.ColorRole.Link)
        middle, thick = self.width() / 2.0, self.height() * 0.45
        top = (self.height() - thick) / 2.0
        long = self._value * (middle - 1.0)
        box = QRectF(min(middle, middle + long), top, max(1.0, abs(long)), thick)
        against = QBrush(accent, Qt.BrushStyle.BDiagPattern)
        painter.setPen(QPen(accent, 1.0))
        painter.setBrush(QBrush(accent) if self._value > 0.0 else against)
        painter.drawRect(box)
        painter.setPen(QPen(colours.color(QPalette.ColorRole.Dark), 1.0))
        painter.drawLine(QPointF(middle, 0.0), QPointF(middle, float(self.height())))
        painter.end()
