"""The pedal curve: clearance of each face over the pedal's way, with the point of engagement."""

from itertools import pairwise
from typing import NamedTuple

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetrics,
    QFontMetricsF,
    QPainter,
    QPaintEvent,
    QPalette,
    QPen,
    QPixmap,
    QPolygonF,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from diagnose.drawings.cutaway.figures import bite_words
from diagnose.drawings.cutaway.layout import Subject
from diagnose.drawings.cutaway.stance import Motion

_LINES_HIGH = 7  # at the least: it takes whatever room is left
_ROOM = 0.12  # above and below the curves, of their height
_LEAST = 0.1  # mm, of clearance that the axis reaches at least


class _Curve(NamedTuple):
    """One curve: pad travels and clearances, mm; where it bites, if on the way."""

    name: str
    points: list[tuple[float, float]]
    bite: float | None
    said: str

    def words(self, metrics: QFontMetrics, room: float) -> str:
        """Say where it bites, in fewer words where there is no room for all."""
        if self.bite is None:
            return f"{self.name}: {self.said}"
        short = f"{self.name}: bites {self.said}"
        whole = f"{short} from the floor"
        return whole if metrics.horizontalAdvance(whole) <= room else short


class PedalCurve(QWidget):
    """Draws the clearance over the pedal's travel; below the axis the clutch still grips."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._curves: list[_Curve] = []
        self._pad, self._travel = 0.0, 1.0
        self._kept: QPixmap | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.setAccessibleName("Pedal curve")

    def show_subject(self, subject: Subject | None) -> None:
        """Show the curves of another system."""
        self._curves = []
        self._kept = None
        if subject is not None:
            self._travel = subject.healthy.travel
            self._curves.append(_curve("Healthy", subject.healthy))
            if subject.fault is not None:
                self._curves.append(_curve("Faulty", subject.faulty))
        self.setAccessibleDescription(
            " ".join(
                f"{curve.name}: {curve.said}, from the floor."
                if curve.bite is not None
                else f"{curve.name}: {curve.said}."
                for curve in self._curves
            )
        )
        self.update()

    def set_pad(self, pad: float) -> None:
        """Mark where the pedal is, mm."""
        self._pad = pad
        self.update()

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(22 * line, _LINES_HIGH * line)

    def minimumSizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(14 * line, _LINES_HIGH * line)

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._curves:
            return
        plot = _Plot(self, self._curves, self._travel)
        if self._kept is None:
            # The curves stay while the pedal moves: only its marks are painted each time.
            ratio = self.devicePixelRatioF()
            kept = QPixmap(round(self.width() * ratio), round(self.height() * ratio))
            kept.setDevicePixelRatio(ratio)
            kept.fill(Qt.GlobalColor.transparent)
            under = QPainter(kept)
            under.setFont(self.font())
            under.setRenderHint(QPainter.RenderHint.Antialiasing)
            plot.paint(under)
            under.end()
            self._kept = kept
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.drawPixmap(QPointF(0.0, 0.0), self._kept)
        plot.mark(painter, self._pad)
        painter.end()

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._kept = None
        super().resizeEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        if event.type() in {QEvent.Type.PaletteChange, QEvent.Type.FontChange}:
            self._kept = None
        super().changeEvent(event)


def _curve(name: str, motion: Motion) -> _Curve:
    pad, gap, _ = motion.curve()
    points = list(zip(pad.tolist(), gap.tolist(), strict=True))
    return _Curve(name, points, motion.bite if motion.bites else None, bite_words(motion))


class _Plot:
    """One painting of the curves."""

    def __init__(
        self,
        widget: QWidget,
        curves: list[_Curve],
        travel: float,
    ) -> None:
        self._curves, self._travel = curves, travel
        colours = widget.palette()
        role = QPalette.ColorRole
        self._ink, self._muted = colours.color(role.Text), colours.color(role.PlaceholderText)
        self._accent, self._fault = colours.color(role.Link), colours.color(role.BrightText)
        self._ground = colours.color(role.Base)
        self._font = QFont(widget.font())
        self._line = QFontMetricsF(self._font).height()
        values = [gap for curve in curves for _, gap in curve.points]
        high, low = max(_LEAST, *values), min(0.0, *values)
        room = _ROOM * (high - low)
        self._high, self._low = high + room, low - room
        left = 0.6 * self._line
        top = (len(curves) + 0.4) * self._line * 1.2
        bottom = widget.height() - 1.5 * self._line
        self._box = QRectF(left, top, widget.width() - left - 4.0, max(10.0, bottom - top))

    def _at(self, pad: float, gap: float) -> QPointF:
        box = self._box
        share = (self._high - gap) / (self._high - self._low)
        return QPointF(
            box.left() + box.width() * pad / self._travel, box.top() + box.height() * share
        )

    def paint(self, painter: QPainter) -> None:
        """Paint axes, curves and bites."""
        zero, box = self._at(0.0, 0.0).y(), self._box
        painter.setPen(QPen(self._muted, 1.0))
        painter.drawLine(QPointF(box.left(), zero), QPointF(box.right(), zero))
        painter.drawLine(box.topLeft(), box.bottomLeft())
        small = QRectF(box.left() + 4.0, box.top() - 0.2 * self._line, box.width(), self._line)
        painter.drawText(small, Qt.AlignmentFlag.AlignLeft, "free")
        # Off the edge, where the mark of the pedal stands when it is on the floor.
        below = QRectF(box.left(), box.bottom() - self._line, box.width() - 8.0, self._line)
        painter.drawText(below, Qt.AlignmentFlag.AlignRight, "still grips")
        for text, align in (("pedal up", "left"), ("on the floor", "right")):
            under = QRectF(box.left(), box.bottom() + 0.2 * self._line, box.width(), self._line)
            left = align == "left"
            side = Qt.AlignmentFlag.AlignLeft if left else Qt.AlignmentFlag.AlignRight
            painter.drawText(under, side, text)
        for i, curve in enumerate(self._curves):
            self._curve(painter, i, curve)

    def _curve(self, painter: QPainter, number: int, curve: _Curve) -> None:
        line = self._line
        faulty = number == 1
        alone = len(self._curves) == 1
        style = Qt.PenStyle.SolidLine if faulty or alone else Qt.PenStyle.DashLine
        colour = self._colour(number)
        pen = QPen(colour, 2.2, style)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPolyline(QPolygonF([self._at(*point) for point in curve.points]))
        level = (number + 0.5) * 1.2 * line
        painter.drawLine(QPointF(0.0, level), QPointF(2.0 * line, level))
        painter.setPen(self._ink)
        room = self._box.right() - 2.5 * line
        box = QRectF(2.5 * line, level - 0.6 * line, room, 1.2 * line)
        text = curve.words(painter.fontMetrics(), room)
        painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, text)
        if curve.bite is not None:
            at = self._at(curve.bite, 0.0)
            r = 0.32 * line
            painter.setPen(QPen(colour, 2.2))
            painter.setBrush(self._ground)
            if faulty:
                square = [QPointF(0, -r), QPointF(r, 0), QPointF(0, r), QPointF(-r, 0)]
                painter.drawPolygon(QPolygonF([at + corner * 1.2 for corner in square]))
            else:
                painter.drawEllipse(at, r, r)

    def _colour(self, number: int) -> QColor:
        return self._fault if number == 1 else self._accent

    def mark(self, painter: QPainter, pad: float) -> None:
        """Paint where the pedal is."""
        box = self._box
        at = self._at(pad, 0.0).x()
        painter.setPen(QPen(self._ink, 1.0, Qt.PenStyle.DotLine))
        painter.drawLine(QPointF(at, box.top()), QPointF(at, box.bottom()))
        painter.setPen(Qt.PenStyle.NoPen)
        for i, curve in enumerate(self._curves):
            painter.setBrush(self._colour(i))
            reached = min(pad, curve.points[-1][0])
            painter.drawEllipse(self._at(reached, _between(curve.points, reached)), 3.5, 3.5)


def _between(points: list[tuple[float, float]], pad: float) -> float:
    """Clearance at a travel, on the straight line between two points of the curve."""
    for (x0, y0), (x1, y1) in pairwise(points):
        if x0 <= pad <= x1:
            return y0 + (y1 - y0) * (pad - x0) / (x1 - x0)
    return points[-1][1]
