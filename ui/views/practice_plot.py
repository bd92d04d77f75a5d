"""Belief over time: how likely what is wrong was thought, over the minutes paid."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPalette, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from diagnose.axis import ticks
from diagnose.practice.review import Point
from diagnose.sentences import counts
from ui import theme
from ui.practice_words import minutes

_LINES_HIGH = 9
_LEVELS = ((0.0, "0"), (0.5, "50"), (1.0, "100"))
_DOT = 3.0


@dataclass(frozen=True)
class Course:
    """One course of belief, with its name; told apart by its line, not by its colour alone."""

    name: str
    points: tuple[Point, ...]
    dashed: bool = False

    def spoken(self) -> str:
        """Give the course as a screen reader says it."""
        if not self.points:
            return f"{self.name}: nothing"
        said = ", ".join(f"{counts(p.p)} after {minutes(p.minutes)}" for p in self.points)
        return f"{self.name}: {said}"


class BeliefPlot(QWidget):
    """Steps of belief, 0 to 100 in 100, over minutes."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._courses: tuple[Course, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Belief in what is wrong, over time")

    @property
    def courses(self) -> tuple[Course, ...]:
        """What is drawn."""
        return self._courses

    def show_courses(self, courses: Sequence[Course]) -> None:
        """Draw other courses."""
        self._courses = tuple(courses)
        self.setAccessibleDescription(". ".join(c.spoken() for c in self._courses))
        self.update()

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(18 * line, _LINES_HIGH * line)

    def minimumSizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(10 * line, 6 * line)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        font = QFont(self.font())
        ratio = theme.SIZES["small"] / theme.SIZES["body"]
        font.setPixelSize(max(1, round(font.pixelSize() * ratio)))
        painter.setFont(font)
        metrics = QFontMetricsF(font)
        box = self._box(metrics)
        most = max((p.minutes for c in self._courses for p in c.points), default=0.0) or 1.0
        self._axes(painter, box, most, metrics)
        for course in self._courses:
            self._course(painter, box, most, course)
        self._legend(painter, box, metrics)
        painter.end()

    def _box(self, metrics: QFontMetricsF) -> QRectF:
        left = metrics.horizontalAdvance("100") + theme.STEP
        high = metrics.height()
        top = 2.0 * high
        return QRectF(
            left, top, self.width() - left - 2 * theme.STEP, self.height() - top - 2 * high
        )

    def _axes(self, painter: QPainter, box: QRectF, most: float, metrics: QFontMetricsF) -> None:
        colours, high = self.palette(), metrics.height()
        muted = colours.color(QPalette.ColorRole.PlaceholderText)
        rule = QPen(colours.color(QPalette.ColorRole.Mid), 1.0)
        for level, name in _LEVELS:
            y = box.bottom() - level * box.height()
            painter.setPen(rule)
            painter.drawLine(QPointF(box.left(), y), QPointF(box.right(), y))
            painter.setPen(muted)
            right = QRectF(0.0, y - high / 2, box.left() - theme.STEP / 2, high)
            painter.drawText(right, Qt.AlignmentFlag.AlignRight, name)
        hours = most >= 180.0
        scale = 60.0 if hours else 1.0
        named, shown = ticks(0.0, most / scale, "h" if hours else "min"), -1e9
        for value, name in named:
            x = box.left() + value * scale / most * box.width()
            painter.setPen(muted)
            painter.drawLine(QPointF(x, box.bottom()), QPointF(x, box.bottom() + 3.0))
            wide = metrics.horizontalAdvance(name)
            left = min(x - wide / 2, self.width() - wide)
            if left > shown:
                painter.drawText(QPointF(left, box.bottom() + high), name)
                shown = left + wide + theme.STEP
        said = "hours paid" if hours else "minutes paid"
        wide = metrics.horizontalAdvance(said)
        painter.drawText(QPointF(box.right() - wide, box.bottom() + 1.9 * high), said)

    def _pen(self, course: Course) -> QPen:
        role = QPalette.ColorRole.Text if course.dashed else QPalette.ColorRole.Link
        pen = QPen(self.palette().color(role), 1.5 if course.dashed else 2.5)
        pen.setStyle(Qt.PenStyle.DashLine if course.dashed else Qt.PenStyle.SolidLine)
        return pen

    def _course(self, painter: QPainter, box: QRectF, most: float, course: Course) -> None:
        line = QPolygonF()
        dots = []
        for point in course.points:
            x = box.left() + point.minutes / most * box.width()
            y = box.bottom() - point.p * box.height()
            if line.size():
                line.append(QPointF(x, line.at(line.size() - 1).y()))
            line.append(QPointF(x, y))
            dots.append(QPointF(x, y))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(self._pen(course))
        painter.drawPolyline(line)
        if not course.dashed:
            painter.setBrush(self._pen(course).color())
            for dot in dots:
                painter.drawEllipse(dot, _DOT, _DOT)

    def _legend(self, painter: QPainter, box: QRectF, metrics: QFontMetricsF) -> None:
        high, x = metrics.height(), box.left()
        for course in self._courses:
            painter.setPen(self._pen(course))
            painter.drawLine(QPointF(x, 0.6 * high), QPointF(x + 3 * theme.STEP, 0.6 * high))
            painter.setPen(self.palette().color(QPalette.ColorRole.Text))
            painter.drawText(QPointF(x + 4 * theme.STEP, 0.9 * high), course.name)
            x += 7 * theme.STEP + metrics.horizontalAdvance(course.name)
