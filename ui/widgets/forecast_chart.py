"""Bands on a common axis with a reading across them, painted: `ui.chart` says what is drawn."""

from dataclasses import dataclass
from math import isfinite

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetrics,
    QPainter,
    QPaintEvent,
    QPalette,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from ui import theme
from ui.chart import Band, Chart, Mark

_GAP = 8
_WRAP = Qt.TextFlag.TextWordWrap
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_CENTRE = Qt.AlignmentFlag.AlignHCenter
_NARROW_LINES = 26  # narrower than so many lines of text, the names stand above the bands
_NAMES = 0.4  # share of the width
_FEW_LIMITS = 3
_CAPTION = "9 in 10 would read within the band"


class ForecastChart(QWidget):
    """One row for each band: its name, the band, how the reading goes with it, and its ends."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._chart: Chart | None = None
        # "Fixed" would hold it to the height of its hint, which is for another width.
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAccessibleName("What each cause would show")

    @property
    def chart(self) -> Chart | None:
        """What is shown."""
        return self._chart

    def show_chart(self, chart: Chart) -> None:
        """Show another chart."""
        if chart != self._chart:
            self._chart = chart
            self.setAccessibleDescription(chart.spoken())
            self.updateGeometry()
            self.update()

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int, /) -> int:
        return 0 if self._chart is None else _Layout(self.font(), width, self._chart).height

    def sizeHint(self) -> QSize:
        wide = 30 * self.fontMetrics().height()
        return QSize(wide, self.heightForWidth(wide))

    def minimumSizeHint(self) -> QSize:
        return QSize(12 * self.fontMetrics().height(), 0)

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._chart is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        layout = _Layout(self.font(), self.width(), self._chart)
        _Painting(painter, self.palette(), layout, self._chart).paint()
        painter.end()


@dataclass(frozen=True)
class _Row:
    """Where the parts of one band go."""

    band: Band
    name: QRect
    bar: QRectF
    other: QRectF | None
    fit: QRect
    said: QRect


class _Layout:
    """Where everything goes at a width."""

    def __init__(self, font: QFont, width: int, chart: Chart) -> None:
        self.font = _small(font)
        self.bold = QFont(self.font)
        self.bold.setBold(True)
        self.line = QFontMetrics(self.font).height()
        self._chart = chart
        self._width = width
        narrow = width < _NARROW_LINES * QFontMetrics(font).height()
        words = QFontMetrics(self.bold).horizontalAdvance
        right = max([words("does not fit"), *(words(band.said) for band in chart.bands)]) + 2
        names = width if narrow else round(_NAMES * width)
        left = self.line // 2 if narrow else names + 2 * _GAP
        self.plot = QRectF(left, self.line + 2, max(60, width - left - right - 2 * _GAP), 0)
        self.rows: list[_Row] = []
        top = self.line + 2 + _GAP // 2
        for band in chart.bands:
            top = self._add(band, top, names, narrow=narrow)
        self.plot.setBottom(top)
        self.height = top + 6 + self.line

    def _add(self, band: Band, top: int, names: int, *, narrow: bool) -> int:
        """Place a band; gives where it ends."""
        words = f"{band.name}, {band.note}" if band.note else band.name
        box = QRect(0, 0, names, 10_000)
        high = QFontMetrics(self.font).boundingRect(box, _WRAP, words).height()
        if narrow:
            name = QRect(0, top, names, high)
            top, high = top + high, 2 * self.line
        else:
            high = max(high, 2 * self.line)
            name = QRect(0, top, names, high)
        thick = round(0.62 * self.line)
        low, end = self.x(band.low), self.x(band.high)
        bar = QRectF(low, top + (high - thick) / 2, max(2.0, end - low), thick)
        other = None
        if band.other is not None:
            low, end = (self.x(value) for value in band.other)
            other = QRectF(low, bar.center().y() - thick / 4, max(2.0, end - low), thick / 2)
        beside = round(self.plot.right()) + 2 * _GAP
        rest = self._width - beside
        line = top + (high - 2 * self.line) // 2
        fit = QRect(beside, line, rest, self.line)
        said = QRect(beside, line + self.line, rest, self.line)
        if not band.fit:
            said.moveTop(top + (high - self.line) // 2)
        self.rows.append(_Row(band, name, bar, other, fit, said))
        return top + high + _GAP // 2

    def x(self, value: float) -> float:
        """Give the place of a value; the ends of the axis for what lies beyond it."""
        chart, plot = self._chart, self.plot
        share = (value - chart.low) / (chart.high - chart.low)
        return plot.left() + plot.width() * min(1.0, max(0.0, share))


class _Painting:
    """One painting of a chart."""

    def __init__(self, painter: QPainter, colours: QPalette, layout: _Layout, chart: Chart) -> None:
        self._painter = painter
        self._layout = layout
        self._chart = chart
        self._ink = colours.color(QPalette.ColorRole.Text)
        self._muted = colours.color(QPalette.ColorRole.PlaceholderText)
        self._ground = colours.color(QPalette.ColorRole.Base)
        self._accent = colours.color(QPalette.ColorRole.Link)
        self._soft = colours.color(QPalette.ColorRole.AlternateBase)

    def paint(self) -> None:
        """Paint it."""
        for row in self._layout.rows:
            self._row(row)
        self._axis()
        self._limits()
        for mark in self._chart.marks:
            self._reading(mark)
        self._label()

    def _row(self, row: _Row) -> None:
        painter, layout = self._painter, self._layout
        words = f"{row.band.name}, {row.band.note}" if row.band.note else row.band.name
        self._write(row.name, _LEFT | _WRAP, _sentence(words), self._ink)
        self._write(row.fit, _LEFT, row.band.fit, self._ink, bold=True)
        self._write(row.said, _LEFT, row.band.said, self._muted)
        bare, full = row.band.weight == "bare", row.band.weight == "full"
        painter.setPen(QPen(self._muted if bare else self._accent, 1.0))
        fill = self._ground if bare else self._accent if full else self._soft
        painter.setBrush(QBrush(fill))
        painter.drawRect(row.bar)
        if row.other is not None:
            painter.setBrush(QBrush(self._ground))
            painter.drawRect(row.other)
        middle = layout.x(row.band.middle)
        painter.setPen(QPen(self._ground if full else self._muted if bare else self._accent, 2.0))
        painter.drawLine(QPointF(middle, row.bar.top() + 2), QPointF(middle, row.bar.bottom() - 2))

    def _axis(self) -> None:
        painter, layout = self._painter, self._layout
        level = layout.plot.bottom()
        painter.setPen(QPen(self._muted, 1.0))
        painter.drawLine(QPointF(layout.plot.left(), level), QPointF(layout.plot.right(), level))
        free = -1.0
        for value, words in self._chart.ticks:
            at = layout.x(value)
            painter.drawLine(QPointF(at, level), QPointF(at, level + 4))
            wide = QFontMetrics(layout.font).horizontalAdvance(words)
            if at - wide / 2 > free:
                box = QRect(round(at - wide), round(level) + 5, 2 * wide, layout.line)
                self._write(box, _CENTRE, words, self._muted)
                free = at + wide / 2 + 4
        beside = QRect(round(layout.plot.right()) + 2 * _GAP, round(level) + 5, 200, layout.line)
        self._write(beside, _LEFT, self._chart.unit, self._muted)

    def _limits(self) -> None:
        """A mark on the axis for each limit; a line across only where they are few."""
        painter, layout, edges = self._painter, self._layout, self._chart.edges
        level = layout.plot.bottom()
        for edge in edges:
            at = layout.x(edge)
            if len(edges) <= _FEW_LIMITS:
                painter.setPen(QPen(self._ink, 1.0, Qt.PenStyle.DashLine))
                painter.drawLine(QPointF(at, layout.plot.top()), QPointF(at, level))
            self._peak(QPointF(at, level))
        if edges:
            beside = round(layout.plot.right()) + 2 * _GAP
            self._peak(QPointF(beside + 0.25 * layout.line, 0.35 * layout.line))
            words = "limit" if len(edges) == 1 else "limits"
            box = QRect(beside + layout.line, 0, layout.line * 5, layout.line)
            self._write(box, _LEFT, words, self._muted)

    def _peak(self, tip: QPointF) -> None:
        self._painter.setPen(Qt.PenStyle.NoPen)
        self._painter.setBrush(QBrush(self._ink))
        half, down = 0.23 * self._layout.line, 0.38 * self._layout.line
        below = [tip + QPointF(-half, down), tip + QPointF(half, down)]
        self._painter.drawPolygon(QPolygonF([tip, *below]))

    def _reading(self, mark: Mark) -> None:
        painter, layout = self._painter, self._layout
        top, level = layout.plot.top(), layout.plot.bottom()
        low, high = layout.x(mark.low), layout.x(mark.high)
        if mark.low != mark.high:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QBrush(self._ink, Qt.BrushStyle.BDiagPattern))
            painter.setOpacity(0.45)
            painter.drawRect(QRectF(low, top, high - low, level - top))
            painter.setOpacity(1.0)
        for at, known in ((low, isfinite(mark.low)), (high, isfinite(mark.high))):
            if known:
                painter.setPen(QPen(self._ground, 4.0))
                painter.drawLine(QPointF(at, top), QPointF(at, level))
                painter.setPen(QPen(self._ink, 2.0))
                painter.drawLine(QPointF(at, top), QPointF(at, level + 4))
            else:
                self._arrow(low if at == high else high, at, top)

    def _arrow(self, start: float, end: float, level: float) -> None:
        """The reading goes on that way."""
        painter = self._painter
        painter.setPen(QPen(self._ink, 2.0))
        painter.drawLine(QPointF(start, level), QPointF(end, level))
        half = 0.23 * self._layout.line
        way = 1.8 * half if end > start else -1.8 * half
        painter.setBrush(QBrush(self._ink))
        head = [QPointF(end - way, level - half), QPointF(end - way, level + half)]
        painter.drawPolygon(QPolygonF([QPointF(end, level), *head]))

    def _label(self) -> None:
        """What the bands are; and what was read, above the reading."""
        layout = self._layout
        caption = QFontMetrics(layout.font).horizontalAdvance(_CAPTION) + 2
        self._write(QRect(0, 0, caption, layout.line), _LEFT, _CAPTION, self._muted)
        known = [v for m in self._chart.marks for v in (m.low, m.high) if isfinite(v)]
        if not known:
            return
        at = layout.x(sum(known) / len(known))
        wide = QFontMetrics(layout.bold).horizontalAdvance(self._chart.reading) + 4
        most = max(0.0, layout.plot.right() + 2 * _GAP - wide)
        left = round(max(caption + _GAP, min(most, at - wide / 2)))
        box = QRect(left, 0, wide, layout.line)
        self._write(box, _CENTRE, self._chart.reading, self._ink, bold=True)

    def _write(
        self,
        box: QRect,
        align: Qt.AlignmentFlag | Qt.TextFlag,
        words: str,
        colour: QColor,
        *,
        bold: bool = False,
    ) -> None:
        self._painter.setFont(self._layout.bold if bold else self._layout.font)
        self._painter.setPen(colour)
        self._painter.drawText(box, align, words)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _small(font: QFont) -> QFont:
    made = QFont(font)
    ratio = theme.SIZES["small"] / theme.SIZES["body"]
    made.setPixelSize(max(1, round(font.pixelSize() * ratio)))
    return made
