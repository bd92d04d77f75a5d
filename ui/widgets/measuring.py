"""How much room text takes where a widget paints it itself."""

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QFontMetrics

_ENDLESS = 10_000  # pixels, more than any text is high


def height_of(metrics: QFontMetrics, text: str, width: float) -> int:
    """Give the height of a text broken into lines of a width, both in pixels."""
    room = QRect(0, 0, max(1, round(width)), _ENDLESS)
    return metrics.boundingRect(room, Qt.TextFlag.TextWordWrap, text).height()
