"""A bar for a chance, as in the lists; the words beside it say the same."""

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget


class ShareBar(QWidget):
    """One such bar.

    Parameters
    ----------
    share : float
        0 to 1.
    """

    def __init__(self, share: float, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._share = max(0.0, min(1.0, share))
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(4 * line, line)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        colours = self.palette()
        thick = max(6.0, self.height() / 3.0)
        box = QRectF(0.5, (self.height() - thick) / 2.0, self.width() - 1.0, thick)
        painter.setPen(QPen(colours.color(QPalette.ColorRole.Dark), 1.0))
        painter.drawRect(box)
        box.setWidth(max(1.0, box.width() * self._share))
        painter.fillRect(box, colours.brush(QPalette.ColorRole.Link))
        painter.end()
