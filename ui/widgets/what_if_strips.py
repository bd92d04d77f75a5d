"""A list of bars or strips, painted: the present state over the vehicle without a fault."""

from bisect import bisect_right
from collections.abc import Sequence
from itertools import accumulate
from typing import NamedTuple

from PySide6.QtCore import QEvent, QRect, QRectF, QSize, Qt
from PySide6.QtGui import (
    QFont,
    QFontMetrics,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QPalette,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QFrame, QWidget

from ui import theme
from ui.what_if_rows import Strip
from ui.widgets.measuring import height_of

_GAP = 6
_RIGHT_GAP = 4
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_WRAP = Qt.TextFlag.TextWordWrap
_SPOKEN = 12  # rows that a screen reader is told of at once


class _Face(NamedTuple):
    """The fonts of a row: names, names of what does not change, and what is said."""

    bold: QFont
    plain: QFont
    small: QFont


class _Lines(NamedTuple):
    """Heights of a row's parts, pixels: name, bar, what is said, and what is usual below it.

    `usual` is 0 where it has room beside what is said.
    """

    name: int
    bar: int
    said: int
    usual: int

    @property
    def height(self) -> int:
        """Of the whole row."""
        return self.name + self.bar + self.said + self.usual + 2 * _GAP


class StripList(QAbstractScrollArea):
    """Rows of `Strip`; the arrow and page keys scroll them.

    Parameters
    ----------
    name : str
        What the list is called for a screen reader.
    """

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[Strip, ...] = ()
        self._name = name
        self._lines: list[_Lines] = []
        self._tops: list[int] = [0]  # of the rows, and where the last ends
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.viewport().setAutoFillBackground(False)
        self.setAccessibleName(name)

    @property
    def rows(self) -> tuple[Strip, ...]:
        """What is shown."""
        return self._rows

    def show_rows(self, name: str, rows: Sequence[Strip]) -> None:
        """Show other rows."""
        self._rows = tuple(rows)
        changed = [row for row in rows if row.changed]
        told = ". ".join(row.spoken() for row in changed[:_SPOKEN])
        self.setAccessibleName(name)
        self.setAccessibleDescription(f"{len(changed)} of {len(rows)} change. {told}".strip())
        self._set_bar()
        self.viewport().update()

    def minimumSizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(9 * line, 6 * line)

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        self._set_bar()

    def changeEvent(self, event: QEvent, /) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._set_bar()

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        bar = self.verticalScrollBar()
        steps = {
            Qt.Key.Key_Down: bar.singleStep(),
            Qt.Key.Key_Up: -bar.singleStep(),
            Qt.Key.Key_PageDown: bar.pageStep(),
            Qt.Key.Key_PageUp: -bar.pageStep(),
            Qt.Key.Key_Home: -bar.maximum(),
            Qt.Key.Key_End: bar.maximum(),
        }
        step = steps.get(Qt.Key(event.key()))
        if step is None:
            event.ignore()
        else:
            bar.setValue(bar.value() + step)

    def _face(self) -> _Face:
        bold, small = QFont(self.font()), QFont(self.font())
        bold.setBold(True)
        ratio = theme.SIZES["small"] / theme.SIZES["body"]
        small.setPixelSize(max(1, round(small.pixelSize() * ratio)))
        return _Face(bold, self.font(), small)

    def _width(self) -> int:
        """Width of a row's words and bars."""
        return self.viewport().width() - _RIGHT_GAP - 2 * _GAP

    def _measured(self, row: Strip, face: _Face, width: int) -> _Lines:
        """Measure a row: a name takes the lines it needs, and so do the words below the bar."""
        small = QFontMetrics(face.small)
        name = QFontMetrics(face.bold if row.changed else face.plain)
        said, usual = _said(row), _usual(row)
        both = small.horizontalAdvance(said) + small.horizontalAdvance(usual) + 2 * _GAP
        beside = both <= width
        return _Lines(
            height_of(name, _capital(row.name), width),
            small.height(),
            small.height() if beside else height_of(small, said, width),
            0 if beside else height_of(small, usual, width),
        )

    def _set_bar(self) -> None:
        face, width = self._face(), self._width()
        self._lines = [self._measured(row, face, width) for row in self._rows]
        self._tops = [0, *accumulate(lines.height for lines in self._lines)]
        bar = self.verticalScrollBar()
        bar.setPageStep(self.viewport().height())
        bar.setSingleStep(max((lines.height for lines in self._lines), default=1))
        bar.setRange(0, max(0, self._tops[-1] - self.viewport().height()))

    def paintEvent(self, event: QPaintEvent, /) -> None:
        painter = QPainter(self.viewport())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        face, width = self._face(), self.viewport().width() - _RIGHT_GAP
        off, high = self.verticalScrollBar().value(), self.viewport().height()
        first = max(0, bisect_right(self._tops, off) - 1)
        for row, lines, top in list(zip(self._rows, self._lines, self._tops, strict=False))[first:]:
            if top - off >= high:
                break
            self._paint(painter, row, lines, face, QRect(0, top - off, width, lines.height))
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(self.palette().color(QPalette.ColorRole.Highlight), 2.0))
            painter.drawRect(self.viewport().rect().adjusted(1, 1, -1, -1))
        painter.end()

    def _paint(self, painter: QPainter, row: Strip, lines: _Lines, face: _Face, box: QRect) -> None:
        role, colours = QPalette.ColorRole, self.palette()
        ink, muted = colours.color(role.Text), colours.color(role.PlaceholderText)
        left, width, top = box.left() + _GAP, box.width() - 2 * _GAP, box.top() + _GAP
        painter.setFont(face.bold if row.changed else face.plain)
        painter.setPen(ink if row.changed else muted)
        self._words(painter, QRect(left, top, width, lines.name), _LEFT, _capital(row.name))
        top += lines.name
        bar = QRectF(left, top + 2, width, lines.bar - 4)
        if row.is_chance:
            self._chance(painter, row, bar)
        else:
            self._bands(painter, row, bar)
        top += lines.bar
        painter.setFont(face.small)
        painter.setPen(ink if row.changed else muted)
        beside = QRect(left, top, width, lines.said)
        self._words(painter, beside, _LEFT, _said(row))
        painter.setPen(muted)
        if lines.usual:
            under = QRect(left, top + lines.said, width, lines.usual)
            self._words(painter, under, _LEFT, _usual(row))
        else:
            self._words(painter, beside, _RIGHT, _usual(row))
        painter.setPen(QPen(colours.color(role.Mid), 1.0))
        painter.drawLine(box.bottomLeft(), box.bottomRight())

    def _words(self, painter: QPainter, box: QRect, align: Qt.AlignmentFlag, text: str) -> None:
        """Write words, but none that the edge of the list would cut."""
        if box.top() >= 0 and box.bottom() <= self.viewport().height():
            painter.drawText(box, align | _WRAP, text)

    def _chance(self, painter: QPainter, row: Strip, bar: QRectF) -> None:
        """A bar from 0 to the chance, and a mark where it is without a fault."""
        role, colours = QPalette.ColorRole, self.palette()
        painter.setPen(QPen(colours.color(role.Mid), 1.0))
        painter.setBrush(colours.brush(role.Base))
        painter.drawRect(bar)
        filled = QRectF(bar)
        filled.setWidth(bar.width() * row.band[2])
        painter.fillRect(filled, colours.brush(role.Link if row.changed else role.Mid))
        at = bar.left() + bar.width() * row.usual_band[2]
        painter.fillRect(
            QRectF(at - 1.5, bar.top() - 2, 3.0, bar.height() + 4), colours.color(role.Text)
        )

    def _bands(self, painter: QPainter, row: Strip, bar: QRectF) -> None:
        """The band without a fault as an outline, the present one filled, each with its middle."""
        role, colours = QPalette.ColorRole, self.palette()
        level = bar.center().y()
        painter.setPen(QPen(colours.color(role.Mid), 1.0))
        painter.drawLine(bar.left(), level, bar.right(), level)  # type: ignore[call-overload]
        for band, own in ((row.band, True), (row.usual_band, False)):
            if own and not row.changed:
                continue
            low, middle, high = (bar.left() + bar.width() * share for share in band)
            box = QRectF(low, bar.top(), max(2.0, high - low), bar.height())
            colour = colours.color(role.Link if own else role.Text)
            painter.setBrush(colours.brush(role.Link) if own else Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(colour, 1.4))
            painter.drawRect(box if own else box.adjusted(0, -2, 0, 2))
            ground = colours.color(role.Base) if own else colour
            painter.fillRect(QRectF(middle - 1.0, bar.top(), 2.0, bar.height()), ground)


def _capital(name: str) -> str:
    return name[:1].upper() + name[1:]


def _said(row: Strip) -> str:
    return f"{row.said} {row.note}".strip() if row.changed else "as without a fault"


def _usual(row: Strip) -> str:
    return f"no fault: {row.usual}"
