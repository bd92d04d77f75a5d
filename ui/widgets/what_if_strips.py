"""A list of bars or strips, painted: the present state over the vehicle without a fault."""

from collections.abc import Sequence

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

_GAP = 6
_RIGHT_GAP = 4
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_SPOKEN = 12  # rows that a screen reader is told of at once


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
        return QSize(12 * line, 6 * line)

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
            Qt.Key.Key_Down: self._row_height(),
            Qt.Key.Key_Up: -self._row_height(),
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

    def _fonts(self) -> tuple[QFont, QFont]:
        """Give the font of names, and the smaller one of what is said."""
        bold, small = QFont(self.font()), QFont(self.font())
        bold.setBold(True)
        ratio = theme.SIZES["small"] / theme.SIZES["body"]
        small.setPixelSize(max(1, round(small.pixelSize() * ratio)))
        return bold, small

    def _row_height(self) -> int:
        bold, small = self._fonts()
        return QFontMetrics(bold).height() + 2 * QFontMetrics(small).height() + 2 * _GAP

    def _set_bar(self) -> None:
        bar = self.verticalScrollBar()
        bar.setPageStep(self.viewport().height())
        bar.setSingleStep(self._row_height())
        bar.setRange(0, max(0, len(self._rows) * self._row_height() - self.viewport().height()))

    def paintEvent(self, event: QPaintEvent, /) -> None:
        painter = QPainter(self.viewport())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        high = self._row_height()
        top = -self.verticalScrollBar().value()
        for row in self._rows:
            if top + high > 0 and top < self.viewport().height():
                self._paint(painter, row, QRect(0, top, self.viewport().width() - _RIGHT_GAP, high))
            top += high
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(self.palette().color(QPalette.ColorRole.Highlight), 2.0))
            painter.drawRect(self.viewport().rect().adjusted(1, 1, -1, -1))
        painter.end()

    def _paint(self, painter: QPainter, row: Strip, box: QRect) -> None:
        role, colours = QPalette.ColorRole, self.palette()
        bold, small = self._fonts()
        line, low = QFontMetrics(bold).height(), QFontMetrics(small).height()
        ink, muted = colours.color(role.Text), colours.color(role.PlaceholderText)
        left, width = box.left() + _GAP, box.width() - 2 * _GAP
        top = box.top() + _GAP
        painter.setFont(bold if row.changed else self.font())
        painter.setPen(ink if row.changed else muted)
        words = row.name[:1].upper() + row.name[1:]
        fitted = painter.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, width)
        painter.drawText(QRect(left, top, width, line), _LEFT, fitted)
        bar = QRectF(left, top + line + 2, width, low - 4)
        if row.is_chance:
            self._chance(painter, row, bar)
        else:
            self._bands(painter, row, bar)
        under = QRect(left, top + line + low, width, low)
        painter.setFont(small)
        painter.setPen(ink if row.changed else muted)
        said = f"{row.said} {row.note}".strip() if row.changed else "as without a fault"
        usual = f"no fault: {row.usual}"
        room = width - painter.fontMetrics().horizontalAdvance(usual) - 2 * _GAP
        elide = Qt.TextElideMode.ElideRight
        painter.drawText(under, _LEFT, painter.fontMetrics().elidedText(said, elide, room))
        painter.setPen(muted)
        painter.drawText(under, _RIGHT, usual)
        painter.setPen(QPen(colours.color(role.Mid), 1.0))
        painter.drawLine(box.bottomLeft(), box.bottomRight())

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
