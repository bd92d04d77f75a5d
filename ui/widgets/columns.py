"""A column for each month on one axis, painted; its figures are told to screen readers as well."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from diagnose.axis import ticks
from ui import theme

_LINES_HIGH = 10
_WIDEST_COLUMN = 2.6  # lines of text
_GAP = 6.0


@dataclass(frozen=True)
class Column:
    """One column: its name below, its value, and the value in words."""

    name: str
    value: float
    said: str


class Columns(QWidget):
    """Draws columns from zero up.

    Parameters
    ----------
    name : str
        What is shown, for a screen reader.
    whole : bool
        Whether values are counts, so that the axis has no halves.
    """

    def __init__(self, name: str, *, whole: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._columns: tuple[Column, ...] = ()
        self._whole = whole
        self.setAccessibleName(name)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    @property
    def columns(self) -> tuple[Column, ...]:
        """What is shown."""
        return self._columns

    def show_columns(self, columns: Sequence[Column]) -> None:
        """Show other columns."""
        self._columns = tuple(columns)
        told = ", ".join(f"{column.name}: {column.said}" for column in columns)
        self.setAccessibleDescription(told)
        self.update()

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(24 * line, _LINES_HIGH * line)

    def minimumSizeHint(self) -> QSize:
        return QSize(12 * self.fontMetrics().height(), self.sizeHint().height())

    def boxes(self) -> tuple[QRectF, ...]:
        """Give where each column is painted."""
        plot, high = self._plot(), self._highest()
        step = plot.width() / max(1, len(self._columns))
        wide = min(0.7 * step, _WIDEST_COLUMN * self._metrics().height())
        return tuple(
            QRectF(
                plot.left() + (i + 0.5) * step - wide / 2,
                plot.bottom() - plot.height() * column.value / high,
                wide,
                plot.height() * column.value / high,
            )
            for i, column in enumerate(self._columns)
        )

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._columns:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self._font())
        self._paint_axis(painter)
        self._paint_columns(painter)
        painter.end()

    def _paint_axis(self, painter: QPainter) -> None:
        plot, high, colours = self._plot(), self._highest(), self.palette()
        muted = colours.color(QPalette.ColorRole.PlaceholderText)
        for value, words in self._ticks():
            level = plot.bottom() - plot.height() * value / high
            painter.setPen(QPen(colours.color(QPalette.ColorRole.Mid), 1.0))
            painter.drawLine(QPointF(plot.left(), level), QPointF(plot.right(), level))
            painter.setPen(muted)
            line = self._metrics().height()
            box = QRectF(0.0, level - line / 2, plot.left() - _GAP, line)
            painter.drawText(box, _RIGHT, words)
        painter.setPen(QPen(muted, 1.0))
        painter.drawLine(plot.bottomLeft(), plot.bottomRight())

    def _paint_columns(self, painter: QPainter) -> None:
        colours, metrics, plot = self.palette(), self._metrics(), self._plot()
        ink = colours.color(QPalette.ColorRole.Text)
        muted = colours.color(QPalette.ColorRole.PlaceholderText)
        boxes, free_below, free_above = self.boxes(), -1.0, -1.0
        for box, column in zip(boxes, self._columns, strict=True):
            painter.fillRect(box, colours.brush(QPalette.ColorRole.Link))
            middle, line = box.center().x(), metrics.height()
            wide = metrics.horizontalAdvance(column.name) + 2
            if middle - wide / 2 > free_below:
                painter.setPen(muted)
                place = QRectF(middle - wide / 2, plot.bottom() + 3, wide, line)
                painter.drawText(place, Qt.AlignmentFlag.AlignCenter, column.name)
                free_below = middle + wide / 2 + _GAP
            wide = metrics.horizontalAdvance(column.said) + 2
            if column.value > 0.0 and middle - wide / 2 > free_above:
                painter.setPen(ink)
                place = QRectF(middle - wide / 2, box.top() - line - 1, wide, line)
                painter.drawText(place, Qt.AlignmentFlag.AlignCenter, column.said)
                free_above = middle + wide / 2 + _GAP

    def _ticks(self) -> tuple[tuple[float, str], ...]:
        """Every other round value: the columns have their own figures."""
        found = ticks(0.0, self._highest(), "")[::2]
        if not self._whole:
            return found
        return tuple((at, f"{at:.0f}") for at, _ in found if abs(at - round(at)) < 1e-9)

    def _highest(self) -> float:
        return max([1.0 if self._whole else 0.1, *(c.value for c in self._columns)])

    def _plot(self) -> QRectF:
        """Where the columns stand: below the highest's figure, above the names."""
        metrics = self._metrics()
        line = metrics.height()
        left = max(metrics.horizontalAdvance(words) for _, words in self._ticks()) + 2 * _GAP
        return QRectF(left, line + 2, self.width() - left - _GAP, self.height() - 2 * line - 6)

    def _font(self) -> QFont:
        made = QFont(self.font())
        ratio = theme.SIZES["small"] / theme.SIZES["body"]
        made.setPixelSize(max(1, round(self.font().pixelSize() * ratio)))
        return made

    def _metrics(self) -> QFontMetricsF:
        return QFontMetricsF(self._font())


_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
