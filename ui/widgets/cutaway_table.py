"""The figures of the cutaway in a table, painted: it changes with every move of the pedal."""

from collections.abc import Iterable
from typing import NamedTuple

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFont,
    QFontMetrics,
    QPainter,
    QPaintEvent,
    QPalette,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from diagnose.drawings.cutaway.figures import Row, Unit, rows
from diagnose.drawings.cutaway.layout import Subject
from ui.widgets.measuring import height_of

_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap
_GAP = 0.55  # between columns, of a line
_AIR = 0.2  # above and below a row's words, of a line
_HEADS = ("Healthy", "Faulty")
_FIRST = ("Clearance per face", "Bites, from the floor")  # left out last
_LEAST_ROWS = 2
_PLACES = (0.0, 0.5, 1.0)  # of the pedal's way, where figures are looked at beforehand


class _Shape(NamedTuple):
    """Where everything stands at a width: widths of a column of values, heights by row name."""

    each: int
    head: float
    heights: dict[str, float]


class CutawayTable(QWidget):
    """A row for each figure; a column for the healthy system, and one for the faulty.

    Where it may not be as high as all rows, those stay that differ, and as many others as fit.

    Signals
    -------
    grown
        It needs more room than before.
    """

    grown = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unit: Unit = "mm"
        self._subject: Subject | None = None
        self._pad = 0.0
        self._every: list[Row] = []
        self._rows: list[Row] = []
        self._seen: dict[str, tuple[str, ...]] = {}  # the longest texts of each row so far
        self._differ: set[str] = set()
        self._room: float | None = None
        self._kept: dict[tuple[int, str], _Shape] = {}
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAccessibleName("Figures of the cutaway")

    @property
    def rows(self) -> list[Row]:
        """What is shown."""
        return self._rows

    @property
    def every(self) -> list[Row]:
        """All there is, shown or not."""
        return self._every

    def show_figures(self, subject: Subject | None, pad: float) -> None:
        """Show the figures at a travel of the pedal, mm."""
        self._pad = pad
        grown = subject is not self._subject
        if grown:
            self._subject, self._seen, self._differ = subject, {}, set()
            travel = subject.healthy.travel if subject is not None else 0.0
            for share in _PLACES:
                self._look_at(self._figures(subject, share * travel))
        self._every = self._figures(subject, pad)
        grown = self._look_at(self._every) or grown
        if grown:
            self._kept = {}
        self._choose()
        if grown:
            self.updateGeometry()
            self.grown.emit()
        self.update()

    def set_unit(self, unit: Unit) -> None:
        """Tell lengths in another unit."""
        self._unit = unit
        subject, self._subject = self._subject, None  # what is longest is to be found anew
        self.show_figures(subject, self._pad)

    def set_room(self, height: float | None) -> None:
        """Take no more than a height, pixels, leaving out rows for it; None: show all."""
        if height != self._room:
            self._room = height
            self._choose()
            self.updateGeometry()
            self.update()

    def needed(self, width: int) -> int:
        """Give the height that all rows take at a width, pixels."""
        return self._high(width, (row.name for row in self._every))

    def spoken(self) -> str:
        """Give the table as one would read it aloud."""
        return " ".join(f"{row.name}: {', '.join(row.values)}." for row in self._rows)

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int, /) -> int:
        return self._high(width, (row.name for row in self._rows))

    def sizeHint(self) -> QSize:
        wide = 22 * self.fontMetrics().height()
        return QSize(wide, self.heightForWidth(wide))

    def minimumSizeHint(self) -> QSize:
        # The longest word of a name, and of each figure: what is longer takes several lines.
        names = _widest_word(QFontMetrics(self.font()), self._seen)
        values = _widest_word(self._bold(), (t for row in self._seen.values() for t in row))
        return QSize(names + self._columns() * (values + self._gap()), 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._choose()

    def changeEvent(self, event: QEvent) -> None:
        if event.type() == QEvent.Type.FontChange:
            self._choose()
            self.updateGeometry()
            self.grown.emit()
        super().changeEvent(event)

    def _figures(self, subject: Subject | None, pad: float) -> list[Row]:
        if subject is None:
            return []
        both = (subject.healthy, subject.faulty) if subject.fault else (subject.healthy,)
        return rows(subject.measures, both, pad, self._unit)

    def _look_at(self, found: list[Row]) -> bool:
        """Keep in mind the longest texts, so that nothing shifts as the pedal moves."""
        advance = self._bold().horizontalAdvance
        before = dict(self._seen)
        for row in found:
            old = self._seen.get(row.name, ("",) * len(row.values))
            longest = (
                max(pair, key=advance) for pair in zip(old, map(_tied, row.values), strict=True)
            )
            self._seen[row.name] = tuple(longest)
            if len(set(row.values)) > 1:
                self._differ.add(row.name)
        return self._seen != before

    def _choose(self) -> None:
        """Choose the rows that fit: those that differ, clearance and bite before all others."""
        room, width = self._room, self.width()
        if room is None or self.needed(width) <= room:
            self._rows = self._every
            return
        shape = self._shape(width)
        wanted = sorted(
            self._every, key=lambda row: (row.name not in _FIRST, row.name not in self._differ)
        )
        chosen: set[str] = set()
        left = room - shape.head
        for row in wanted:
            left -= shape.heights[row.name]
            if left < 0.0 and len(chosen) >= _LEAST_ROWS:
                break
            chosen.add(row.name)
        self._rows = [row for row in self._every if row.name in chosen]

    def _gap(self) -> int:
        return round(_GAP * self.fontMetrics().height())

    def _columns(self) -> int:
        return len(self._every[0].values) if self._every else 1

    def _bold(self) -> QFontMetrics:
        bold = QFont(self.font())
        bold.setBold(True)
        return QFontMetrics(bold)

    def _high(self, width: int, names: Iterable[str]) -> int:
        if not self._every:
            return 0
        shape = self._shape(width)
        return round(shape.head + sum(shape.heights[name] for name in names)) + 1

    def _shape(self, width: int) -> _Shape:
        """Give the places at a width, of those that take the least height all in all.

        Whoever has no room in one line takes several: long figures, or long names.
        """
        key = (width, self.font().key())
        if key not in self._kept:
            bold, columns = self._bold(), self._columns()
            texts = {*_HEADS[:columns], *(text for row in self._seen.values() for text in row)}
            gap = self._gap()
            room = width - gap - _widest_word(QFontMetrics(self.font()), self._seen)
            least = _widest_word(bold, texts)
            widths = {max(least, bold.horizontalAdvance(text)) + gap for text in texts}
            fitting = {each for each in widths if columns * each <= room} or {least + gap}
            shapes = (self._with_columns(each, width) for each in fitting)
            self._kept[key] = min(shapes, key=lambda s: (sum(s.heights.values()), -s.each))
        return self._kept[key]

    def _with_columns(self, each: int, width: int) -> _Shape:
        """Give the places with columns of a width for the figures."""
        plain, bold = QFontMetrics(self.font()), self._bold()
        gap, air = self._gap(), _AIR * plain.height()
        left = width - self._columns() * each - gap
        heights = {
            name: air
            + max(height_of(plain, name, left), *(height_of(bold, v, each - gap) for v in values))
            for name, values in self._seen.items()
        }
        return _Shape(each, plain.height() + air, heights)

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._rows:
            return
        painter = QPainter(self)
        colours, shape = self.palette(), self._shape(self.width())
        ink = colours.color(QPalette.ColorRole.Text)
        muted = colours.color(QPalette.ColorRole.PlaceholderText)
        rule = QPen(colours.color(QPalette.ColorRole.Mid), 1.0)
        bold = QFont(self.font())
        bold.setBold(True)
        columns, each, gap = self._columns(), shape.each, self._gap()
        left = self.width() - columns * each
        painter.setPen(muted)
        for i, head in enumerate(_HEADS[:columns]):
            painter.drawText(QRectF(left + i * each, 0.0, each, shape.head), _RIGHT, head)
        top = shape.head
        for row in self._rows:
            high = shape.heights[row.name]
            painter.setPen(rule)
            painter.drawLine(0, round(top), self.width(), round(top))
            painter.setPen(muted)
            painter.setFont(self.font())
            painter.drawText(QRectF(0.0, top, left - gap, high), _LEFT, row.name)
            differs = len(set(row.values)) > 1
            for i, value in enumerate(row.values):
                # What differs is bold, not coloured: it can be told apart without colours.
                painter.setFont(bold if differs and i else self.font())
                painter.setPen(ink)
                box = QRectF(left + i * each + gap, top, each - gap, high)
                painter.drawText(box, _RIGHT, _tied(value))
            top += high
        painter.end()


def _tied(value: str) -> str:
    """Keep a number and its unit in one line."""
    return value.replace(" ", "\u00a0", 1)


def _widest_word(metrics: QFontMetrics, texts: Iterable[str]) -> int:
    """Give the width of the longest word, pixels; below it a text would be cut."""
    words = (word for text in texts for word in text.split(" "))
    return max((metrics.horizontalAdvance(word) for word in words), default=0) + 1
