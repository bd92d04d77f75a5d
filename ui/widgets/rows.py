"""Rows of a list, painted: a ranked row with a bar, and a pair of question and answer.

A model hands out a `Ranked` or a `Pair` in the role `ROW`; what they speak of is not known here.
"""

from dataclasses import dataclass

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPalette, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from ui import theme
from ui.widgets.sign import draw

ROW = int(Qt.ItemDataRole.UserRole)
Index = QModelIndex | QPersistentModelIndex
_GAP = 8
_LEAST_HEIGHT = 40
_WRAP = Qt.TextFlag.TextWordWrap
_LEFT = Qt.AlignmentFlag.AlignLeft
_RIGHT = Qt.AlignmentFlag.AlignRight


@dataclass(frozen=True)
class Ranked:
    """A row with its place, its name, a bar and what the bar says in words.

    Attributes
    ----------
    title : str
    words : str
        What the bar says.
    share : float or None
        Length of the bar, 0 to 1; no bar at all if None.
    lead : str or None
        The place, in a column of its own; None if the list has no such column.
    note : str
        On the right, after the sign.
    sign : str
        Name of a sign of `ui.widgets.sign`; empty for none.
    here : bool
        Whether it is what the screen shows: a stroke at its edge, whichever row is marked.
    """

    title: str
    words: str
    share: float | None = None
    lead: str | None = None
    note: str = ""
    sign: str = ""
    here: bool = False

    def spoken(self) -> str:
        """Give the row as a screen reader says it."""
        return ", ".join(part for part in (self.lead, self.title, self.words, self.note) if part)


@dataclass(frozen=True)
class Pair:
    """A row with what was asked, what was answered, and a note on it."""

    asked: str
    answer: str
    note: str = ""
    sign: str = ""

    def spoken(self) -> str:
        """Give the row as a screen reader says it."""
        return ", ".join(part for part in (self.asked, self.answer, self.note) if part)


class RowView(QListView):
    """A list of such rows: Enter or a click opens one.

    Parameters
    ----------
    name : str
        What the list is called for a screen reader.
    least : int
        It is never lower than so many lines of text.
    """

    def __init__(self, name: str, parent: QWidget | None = None, *, least: int = 3) -> None:
        super().__init__(parent)
        self._least = least
        self.setAccessibleName(name)
        self.setItemDelegate(RowDelegate(self))
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def minimumSizeHint(self) -> QSize:
        metrics = self.fontMetrics()
        return QSize(12 * metrics.averageCharWidth(), self._least * metrics.height())

    def sizeHint(self) -> QSize:
        return self.minimumSizeHint()

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            # The rows are as high as their words need; Qt asks again only where the height changes.
            self.scheduleDelayedItemsLayout()

    def content_height(self) -> int:
        """Give the height at which nothing has to be scrolled."""
        return sum(self.sizeHintForRow(row) for row in range(self.model().rowCount())) + 2

    def keyboardSearch(self, search: str, /) -> None:
        """Letters are keys of the window here, not a search."""


class RowDelegate(QStyledItemDelegate):
    """Paints `Ranked` and `Pair` rows, as high as their words need at the width there is."""

    def __init__(self, view: QListView) -> None:
        super().__init__(view)
        self._view = view

    def sizeHint(self, option: QStyleOptionViewItem, index: Index, /) -> QSize:
        width = self._view.viewport().width()
        high = _Layout(self._view.font(), width, index.data(ROW)).height
        return QSize(width, max(_LEAST_HEIGHT, high))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index, /) -> None:
        state, rect = option.state, option.rect
        colours = self._view.palette()
        current = self._view.currentIndex() == index
        hovered = bool(state & QStyle.StateFlag.State_MouseOver)
        lit = hovered or (current and self._view.hasFocus())
        painter.save()
        painter.translate(rect.topLeft())
        box = QRect(0, 0, rect.width(), rect.height())
        if lit:
            painter.fillRect(box, colours.brush(QPalette.ColorRole.AlternateBase))
        row = index.data(ROW)
        seen = range(-rect.top(), self._view.viewport().height() - rect.top() + 1)
        _Layout(self._view.font(), box.width(), row).paint(painter, colours, seen, lit=lit)
        if isinstance(row, Ranked) and row.here:
            painter.fillRect(0, 0, _GAP // 2, box.height(), colours.brush(QPalette.ColorRole.Link))
        painter.setPen(QPen(colours.color(QPalette.ColorRole.Mid), 1.0))
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        if current and self._view.hasFocus():
            painter.setPen(QPen(colours.color(QPalette.ColorRole.Highlight), 2.0))
            painter.drawRect(box.adjusted(1, 1, -1, -2))
        painter.restore()


@dataclass(frozen=True)
class _Text:
    box: QRect
    words: str
    font: QFont
    role: QPalette.ColorRole
    align: Qt.AlignmentFlag = _LEFT


class _Layout:
    """Where the words, bar and sign of one row go at a width."""

    def __init__(self, font: QFont, width: int, row: Ranked | Pair) -> None:
        self._font = font
        self._width = width
        self._texts: list[_Text] = []
        self._bar: tuple[QRectF, float] | None = None
        self._sign: tuple[QRectF, str, int] | None = None  # with the top of the words beside it
        if isinstance(row, Ranked):
            self.height = self._ranked(row)
        else:
            self.height = self._pair(row)

    def _ranked(self, row: Ranked) -> int:
        bold, small = _bold(self._font), _small(self._font)
        ink, muted = QPalette.ColorRole.Text, QPalette.ColorRole.PlaceholderText
        numbered = QFontMetrics(bold).horizontalAdvance("00") + _GAP
        left = _GAP + (numbered if row.lead is not None else 0)
        line = QFontMetrics(self._font).height()
        note = QFontMetrics(small).horizontalAdvance(row.note) + 2 if row.note else 0
        signed = line if row.sign else 0
        room = max(40, self._width - left - _GAP)
        beside = max(40, room - note - signed - _GAP)
        title = row.title
        high = _height(bold, title, beside)
        if row.lead:
            self._put(_GAP, _GAP, left - 2 * _GAP, row.lead, bold, muted, _RIGHT)
        self._put(left, _GAP, beside, title, bold, ink)
        if row.note:
            self._put(self._width - note - _GAP, _GAP, note, row.note, small, muted, _RIGHT)
        if row.sign:
            edge = self._width - note - _GAP - line
            self._sign = (QRectF(edge, _GAP + 2, line - 4, line - 4), row.sign, _GAP)
        top = _GAP + high + 2
        if row.share is None:
            return top + self._put(left, top, room, row.words, small, muted) + _GAP
        bar = min(room // 3, round(8.0 * line))
        beside_bar = room - bar - _GAP
        words = self._put(left + bar + _GAP, top, beside_bar, row.words, small, ink)
        thick = max(6, line // 3)
        level = top + (QFontMetrics(small).height() - thick) / 2
        self._bar = (QRectF(left, level, bar, thick), row.share)
        return top + words + _GAP

    def _pair(self, row: Pair) -> int:
        bold, small = _bold(self._font), _small(self._font)
        ink, muted = QPalette.ColorRole.Text, QPalette.ColorRole.PlaceholderText
        line = QFontMetrics(self._font).height()
        room = max(40, self._width - 2 * _GAP)
        if room < 38 * line:
            top = _GAP + self._put(_GAP, _GAP, room, row.asked, self._font, muted)
            top += self._put(_GAP, top, room, row.answer, bold, ink)
            return self._note(row, _GAP, top, room, small) + _GAP
        half = (room - _GAP) * 2 // 5
        left = 2 * _GAP + half
        asked = self._put(_GAP, _GAP, half, row.asked, self._font, muted)
        answer = QFontMetrics(bold).horizontalAdvance(row.answer) + 2
        rest = room - half - _GAP
        if row.note and answer + 12 * line < rest:
            self._put(left, _GAP, answer, row.answer, bold, ink)
            at = left + answer + 2 * _GAP
            bottom = self._note(row, at, _GAP, rest - answer - 2 * _GAP, small)
        else:
            top = _GAP + self._put(left, _GAP, rest, row.answer, bold, ink)
            bottom = self._note(row, left, top, rest, small)
        return max(_GAP + max(asked, line), bottom) + _GAP

    def _note(self, row: Pair, left: int, top: int, room: int, font: QFont) -> int:
        """Put the note with its sign; gives where it ends."""
        if not row.note:
            return top
        line = QFontMetrics(font).height()
        shift = line + 4 if row.sign else 0
        if row.sign:
            self._sign = (QRectF(left, top + 3, line - 2, line - 2), row.sign, top + 2)
        muted = QPalette.ColorRole.PlaceholderText
        return top + 2 + self._put(left + shift, top + 2, room - shift, row.note, font, muted)

    def _put(
        self,
        left: int,
        top: int,
        width: int,
        words: str,
        font: QFont,
        role: QPalette.ColorRole,
        align: Qt.AlignmentFlag = _LEFT,
    ) -> int:
        """Put words at a place; gives their height."""
        high = _height(font, words, width) if words else 0
        self._texts.append(_Text(QRect(left, top, width, high), words, font, role, align))
        return high

    def paint(self, painter: QPainter, colours: QPalette, seen: range, *, lit: bool) -> None:
        """Paint the row; on a lit ground the muted words are as strong as the others.

        Of a row at the edge of its list only what is `seen` whole is painted, in pixels from the
        row's top: no words are cut through the middle, and what begins in one line stands or falls
        together.
        """
        ink = colours.color(QPalette.ColorRole.Text)
        by_height = sorted(self._texts, key=lambda text: text.box.height())
        highest = {text.box.top(): text.box for text in by_height}
        whole = {top for top, box in highest.items() if _is_whole(box, seen)}
        for text in self._texts:
            if text.box.top() not in whole:
                continue
            painter.setFont(text.font)
            painter.setPen(ink if lit else colours.color(text.role))
            painter.drawText(text.box, text.align | _WRAP, text.words)
        if self._bar is not None and self._texts[-1].box.top() in whole:  # the words beside it
            _paint_bar(painter, colours, *self._bar)
        if self._sign is not None and self._sign[2] in whole:
            box, name, _ = self._sign
            draw(painter, name, box, colours.color(QPalette.ColorRole.Link))


def _is_whole(box: QRect, seen: range) -> bool:
    """Whether a box is in sight as a whole, or so high that it can hardly be."""
    inside = box.top() in seen and box.bottom() in seen
    return inside or 2 * box.height() > len(seen)


def _paint_bar(painter: QPainter, colours: QPalette, box: QRectF, share: float) -> None:
    painter.setPen(QPen(colours.color(QPalette.ColorRole.Dark), 1.0))
    painter.setBrush(QColor(Qt.GlobalColor.transparent))
    painter.drawRect(box)
    filled = QRectF(box)
    filled.setWidth(max(1.0, box.width() * min(1.0, share)))
    painter.fillRect(filled, colours.brush(QPalette.ColorRole.Link))


def _height(font: QFont, words: str, width: int) -> int:
    box = QRect(0, 0, max(1, width), 10_000)
    return QFontMetrics(font).boundingRect(box, _WRAP, words).height()


def _bold(font: QFont) -> QFont:
    made = QFont(font)
    made.setBold(True)
    return made


def _small(font: QFont) -> QFont:
    made = QFont(font)
    ratio = theme.SIZES["small"] / theme.SIZES["body"]
    made.setPixelSize(max(1, round(font.pixelSize() * ratio)))
    return made
