"""The map, painted: where its boxes and links are on the screen, scrolled and zoomed."""

from collections.abc import Callable
from dataclasses import dataclass, field

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QFont,
    QFontMetrics,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPalette,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QFrame, QWidget

from diagnose.drawings.rows import Box, Size
from diagnose.map import Key, Placed, Room, Shown, place
from ui.widgets.map_painting import Face, Look, curve_path, paint_box, paint_curve

ZOOMS = (0.35, 0.5, 0.65, 0.8, 1.0, 1.25, 1.5, 2.0, 2.5)
_MARGIN = 16.0
_NARROW, _USUAL, _WIDE = 8.0, 12.5, 19.0  # of a column, in lines of text
_ACROSS, _CLOSE = 3.2, 1.3  # between columns, in lines of text; where there is little room
_SAME = 3.0  # px of width that make no other layout
_HEAD_FLAGS = Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap
STEP = 60  # px that a wheel notch or a key scrolls
_HEADINGS = {
    "causes": "Causes",
    "mechanisms": "Mechanisms",
    "complaints": "Complaints and findings",
    "findings": "Complaints and findings",
}


@dataclass
class _Drawn:
    """What stands on the map now, and the lines of its links."""

    content: Shown
    placed: Placed
    column: float
    gap: float
    wide: float  # that it was laid out for
    paths: dict[int, QPainterPath] = field(default_factory=dict)


class MapCanvas(QAbstractScrollArea):
    """Boxes in columns and their links, of which one box is marked.

    Signals
    -------
    marked(object)
        Key of the box that is marked now.
    """

    marked = Signal(object)

    def __init__(self, say: Callable[[Key], str], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._say = say
        self._drawn: _Drawn | None = None
        self._mark: Key | None = None
        self._zoom = 1.0
        self._zoomed = False  # by hand; before, the map is as wide as its room
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.viewport().setAutoFillBackground(False)
        self.setAccessibleName("Map")

    @property
    def zoom(self) -> float:
        """How many times its own size the map is."""
        return self._zoom

    @property
    def mark(self) -> Key | None:
        """Key of the marked box."""
        return self._mark

    @property
    def content(self) -> Shown | None:
        """What is shown."""
        return None if self._drawn is None else self._drawn.content

    @property
    def placed(self) -> Placed | None:
        """Where it is shown."""
        return None if self._drawn is None else self._drawn.placed

    def show_content(self, content: Shown, mark: Key | None = None) -> None:
        """Show another part of the map; a box that stays marked stays where it is on the screen.

        Parameters
        ----------
        content : Shown
        mark : tuple of str, optional
            What is marked then; what is marked now if left out.
        """
        wanted = self._mark if mark is None else mark
        seen = self._on_screen(wanted)
        self._lay_out(content, wanted)
        self._mark = wanted if wanted in content.boxes else None
        if self._mark is not None and seen is not None:
            self._bring(self._mark, seen)
        else:
            self.verticalScrollBar().setValue(0)
            self.horizontalScrollBar().setValue(0)
        if self._mark is not None:
            self._reveal(self._mark, middle=seen is None)
        self._tell()
        self.viewport().update()

    def set_mark(self, key: Key) -> None:
        """Mark a box and bring it into sight."""
        if self._drawn is not None and key in self._drawn.content.boxes and key != self._mark:
            self._mark = key
            self._tell()
            self.viewport().update()
            self.marked.emit(key)
        if self._mark is not None:
            self._reveal(self._mark)

    def zoom_in(self) -> None:
        """Make the map larger."""
        self._zoom_to(next((z for z in ZOOMS if z > self._zoom + 1e-9), ZOOMS[-1]))

    def zoom_out(self) -> None:
        """Make the map smaller."""
        self._zoom_to(next((z for z in reversed(ZOOMS) if z < self._zoom - 1e-9), ZOOMS[0]))

    def fit(self) -> None:
        """Make the whole map fit, as far as it can be read at all."""
        if self._drawn is None:
            return
        size = self._drawn.placed.size
        wide = (self.viewport().width() - 2 * _MARGIN) / max(1.0, size.width)
        high = (self.viewport().height() - self._head() - 2 * _MARGIN) / max(1.0, size.height)
        self._zoom_to(min(ZOOMS[-1], max(ZOOMS[0], min(wide, high, 1.0))))

    def relay(self) -> None:
        """Lay out again what is shown: the room or the text has another size."""
        if self._drawn is not None:
            seen = self._on_screen(self._mark)
            self._lay_out(self._drawn.content, self._mark)
            if self._mark is not None and seen is not None:
                self._bring(self._mark, seen)

    def _lay_out(self, content: Shown, beside: Key | None) -> None:
        face = Face.of(self.font())
        wide = self._wide()
        stages, column, gap = self._columns(face.line)
        sizes = {key: face.size(box, column) for key, box in content.boxes.items()}
        # A member stands in by the indent, so it is measured at what is left.
        screen = (self.viewport().height() - self._head() - 2 * _MARGIN) / self._zoom
        room = Room(across=gap, stages=stages, screen=screen)
        for key, box in content.boxes.items():
            if box.block != key and not box.is_group:
                sizes[key] = Size(column, face.size(box, column - room.indent).height)
        self._drawn = _Drawn(content, place(content, sizes, room, beside=beside), column, gap, wide)
        if not self._zoomed:  # very large text: smaller rather than beyond the edge
            needed = max(1.0, self._drawn.placed.size.width)
            self._zoom = min(1.0, max(ZOOMS[0], wide / needed))
        self._set_bars()

    def _columns(self, line: int) -> tuple[int, float, float]:
        """Say in how many stages mechanisms may stand, how wide a column is, and how far apart."""
        width = self._wide()
        gap = _ACROSS * line
        count = max(3, int((width + gap) // (_USUAL * line + gap)))
        if count == 3:
            # Large text: the columns stand closer rather than beyond the edge.
            gap = min(gap, max(_CLOSE * line, (width - 3 * _NARROW * line) / 2.0))
        column = (width - gap * (count - 1)) / count
        return count - 2, min(_WIDE * line, max(_NARROW * line, column)), gap

    def _wide(self) -> float:
        """Give the width that boxes may take without scrolling."""
        return self.viewport().width() - 2 * _MARGIN

    def _head(self) -> int:
        """Height of the headings above the columns."""
        line = self.fontMetrics().height()
        return round(1.5 * line) + (self._head_lines() - 1) * line

    def _head_lines(self) -> int:
        """Give the lines the headings take: two where one is longer than a column."""
        column = self._zoom * self._columns(self.fontMetrics().height())[1]
        metrics = QFontMetrics(self._head_font())
        longest = max(metrics.horizontalAdvance(words.upper()) for words in _HEADINGS.values())
        return 1 if longest <= column else 2

    def _head_font(self) -> QFont:
        bold = QFont(Face.of(self.font()).small)
        bold.setBold(True)
        return bold

    def _set_bars(self) -> None:
        if self._drawn is None:
            return
        size, view = self._drawn.placed.size, self.viewport().size()
        for bar, long, room in (
            (self.horizontalScrollBar(), size.width, view.width()),
            (self.verticalScrollBar(), size.height, view.height() - self._head()),
        ):
            bar.setPageStep(room)
            bar.setSingleStep(STEP)
            bar.setRange(0, max(0, round(long * self._zoom + 2 * _MARGIN - room)))

    def _origin(self) -> QPointF:
        """Where the corner of the map lies in the viewport; a small map stands in the middle."""
        if self._drawn is None:
            return QPointF()
        size, view = self._drawn.placed.size, self.viewport().size()
        across = max(_MARGIN, (view.width() - size.width * self._zoom) / 2.0)
        return QPointF(
            across - self.horizontalScrollBar().value(),
            self._head() + _MARGIN - self.verticalScrollBar().value(),
        )

    def _on_screen(self, key: Key | None) -> QPointF | None:
        """Give where a box is in the viewport; None if it is out of sight."""
        if self._drawn is None or key is None or key not in self._drawn.placed.boxes:
            return None
        box = self._drawn.placed.boxes[key]
        at = self._origin() + QPointF(box.left, box.top) * self._zoom
        return at if self.viewport().rect().contains(at.toPoint()) else None

    def _bring(self, key: Key, seen: QPointF) -> None:
        """Scroll so that a box is where it was seen."""
        box = self._drawn.placed.boxes[key] if self._drawn else Box(0, 0, 0, 0)
        at = self._origin() + QPointF(box.left, box.top) * self._zoom
        for bar, off in (
            (self.horizontalScrollBar(), at.x() - seen.x()),
            (self.verticalScrollBar(), at.y() - seen.y()),
        ):
            bar.setValue(bar.value() + round(off))

    def _reveal(self, key: Key, *, middle: bool = False) -> None:
        """Scroll as little as brings a box into sight, or to the middle if it was out of sight."""
        if self._drawn is None:
            return
        box = self._drawn.placed.boxes[key]
        at = self._origin() + QPointF(box.left, box.top) * self._zoom
        view = self.viewport().size()
        for bar, low, long, least, most in (
            (self.horizontalScrollBar(), at.x(), box.width, 0.0, view.width()),
            (self.verticalScrollBar(), at.y(), box.height, self._head(), view.height()),
        ):
            high = low + long * self._zoom
            if middle and not least + _MARGIN <= low <= high <= most - _MARGIN:
                bar.setValue(bar.value() + round((low + high - least - most) / 2.0))
            elif low < least + _MARGIN:
                bar.setValue(bar.value() + round(low - least - _MARGIN))
            elif high > most - _MARGIN:
                bar.setValue(bar.value() + round(high - most + _MARGIN))

    def _zoom_to(self, zoom: float, about: QPointF | None = None) -> None:
        """Zoom about a place of the viewport: the marked box, or the middle, if none is given."""
        if self._drawn is None or zoom == self._zoom:
            return
        seen = self._on_screen(self._mark)
        middle = QPointF(self.viewport().rect().center())
        centre = about if about is not None else seen if seen is not None else middle
        on_map = (centre - self._origin()) / self._zoom
        self._zoom, self._zoomed = zoom, True
        self._set_bars()
        off = self._origin() + on_map * zoom - centre
        self.horizontalScrollBar().setValue(self.horizontalScrollBar().value() + round(off.x()))
        self.verticalScrollBar().setValue(self.verticalScrollBar().value() + round(off.y()))
        self.viewport().update()

    def _tell(self) -> None:
        """Tell a screen reader what is marked."""
        self.setAccessibleName("Map" if self._mark is None else f"Map: {self._say(self._mark)}")

    def needed(self, key: Key) -> float:
        """Give the height that a box needs at the width it has."""
        drawn = self._drawn
        if drawn is None:
            return 0.0
        box = drawn.content.boxes[key]
        return Face.of(self.font()).size(box, drawn.placed.boxes[key].width).height

    def box_at(self, position: QPointF) -> Key | None:
        """Give the key of the box at a place of the viewport."""
        if self._drawn is None or position.y() < self._head():
            return None
        at = (position - self._origin()) / self._zoom
        for key, box in self._drawn.placed.boxes.items():
            if QRectF(box.left, box.top, box.width, box.height).contains(at):
                return key
        return None

    def _first(self) -> None:
        """Mark the likeliest box of the first column; without a case its first."""
        if self._drawn is not None and self._drawn.placed.columns:
            boxes = self._drawn.content.boxes
            self.set_mark(max(self._drawn.placed.columns[0], key=lambda k: boxes[k].chance or 0.0))

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        if self._drawn is None:
            return
        if abs(self._wide() - self._drawn.wide) > _SAME:
            self.relay()
        self._set_bars()

    def changeEvent(self, event: QEvent, /) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.relay()

    def focusInEvent(self, event: QFocusEvent, /) -> None:
        super().focusInEvent(event)
        if self._mark is None:
            self._first()
        self.viewport().update()

    def focusOutEvent(self, event: QFocusEvent, /) -> None:
        super().focusOutEvent(event)
        self.viewport().update()

    def minimumSizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(16 * line, 12 * line)

    def paintEvent(self, event: QPaintEvent, /) -> None:
        painter = QPainter(self.viewport())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._drawn is not None:
            origin = self._origin()
            painter.save()
            painter.translate(origin)
            painter.scale(self._zoom, self._zoom)
            view = QRectF(self.viewport().rect())
            shown = QRectF((view.topLeft() - origin) / self._zoom, view.size() / self._zoom)
            self._paint_map(painter, self._drawn, shown)
            painter.restore()
            self._paint_head(painter, self._drawn, origin)
        painter.end()

    def _paint_map(self, painter: QPainter, drawn: _Drawn, shown: QRectF) -> None:
        colours, face = self.palette(), Face.of(self.font())
        seen = {
            key: at
            for key, at in drawn.placed.boxes.items()
            if shown.intersects(QRectF(at.left, at.top, at.width + 4, at.height + 4))
        }
        near = {self._mark}
        lit = []
        for number, curve in enumerate(drawn.placed.curves):
            mine = self._mark in {curve.bond.tail, curve.bond.head}
            if mine:
                near |= {curve.bond.tail, curve.bond.head}
                lit.append(number)
            elif not curve.quiet and (curve.bond.tail in seen or curve.bond.head in seen):
                # One that only passes by says nothing here, and many such hide what does.
                paint_curve(painter, colours, curve, self._path(drawn, number), lit=False)
        for number in lit:
            curve = drawn.placed.curves[number]
            paint_curve(painter, colours, curve, self._path(drawn, number), lit=True)
        for key, at in seen.items():
            marked = key == self._mark
            look = Look(marked, key in near, marked and self.hasFocus())
            paint_box(painter, colours, face, drawn.content.boxes[key], at, look)

    def _path(self, drawn: _Drawn, number: int) -> QPainterPath:
        if number not in drawn.paths:
            swing = 0.8 * drawn.gap
            drawn.paths[number] = curve_path(drawn.placed.curves[number], swing)
        return drawn.paths[number]

    def _paint_head(self, painter: QPainter, drawn: _Drawn, origin: QPointF) -> None:
        """Name the layers above their columns; it stays where the map is scrolled."""
        colours = self.palette()
        strip = QRectF(0, 0, self.viewport().width(), self._head())
        painter.fillRect(strip, colours.brush(QPalette.ColorRole.Window))
        painter.setPen(colours.color(QPalette.ColorRole.Mid))
        painter.drawLine(strip.bottomLeft(), strip.bottomRight())
        painter.setFont(self._head_font())
        painter.setPen(colours.color(QPalette.ColorRole.PlaceholderText))
        before = ""
        for column in drawn.placed.columns:
            if not column:
                continue
            words = _HEADINGS[drawn.content.boxes[column[0]].kind].upper()
            left = origin.x() + drawn.placed.boxes[column[0]].left * self._zoom
            if words != before:
                room = QRectF(left, 0.0, strip.width() - left, strip.height())
                painter.drawText(room, _HEAD_FLAGS, words)
            before = words
