"""The figures of the cutaway in a table, painted: it changes with every move of the pedal."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from diagnose.drawings.cutaway.figures import Row, Unit, rows
from diagnose.drawings.cutaway.layout import Subject

_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_WRAP = Qt.TextFlag.TextWordWrap
_GAP = 8


class CutawayTable(QWidget):
    """A row for each figure; a column for the healthy system, and one for the faulty."""

    def __init__(self, *, unit: Unit = "mm", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unit = unit
        self._rows: list[Row] = []
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.setAccessibleName("Figures of the cutaway")

    @property
    def rows(self) -> list[Row]:
        """What is shown."""
        return self._rows

    def show_figures(self, subject: Subject | None, pad: float) -> None:
        """Show the figures at a travel of the pedal, mm."""
        before = len(self._rows)
        if subject is None:
            self._rows = []
        else:
            motions = (subject.healthy,)
            both = (subject.healthy, subject.faulty) if subject.fault else motions
            self._rows = rows(subject.measures, both, pad, self._unit)
        if len(self._rows) != before:
            self.updateGeometry()
        self.update()

    def spoken(self) -> str:
        """Give the table as one would read it aloud."""
        return " ".join(f"{row.name}: {', '.join(row.values)}." for row in self._rows)

    def sizeHint(self) -> QSize:
        return QSize(22 * self._line(), round((len(self._rows) + 1.3) * self._high()))

    def minimumSizeHint(self) -> QSize:
        return QSize(16 * self._line(), self.sizeHint().height())

    def _line(self) -> int:
        return self.fontMetrics().height()

    def _high(self) -> float:
        return 1.2 * self._line()

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._rows:
            return
        painter = QPainter(self)
        colours = self.palette()
        ink = colours.color(QPalette.ColorRole.Text)
        muted = colours.color(QPalette.ColorRole.PlaceholderText)
        rule = QPen(colours.color(QPalette.ColorRole.Mid), 1.0)
        bold = QFont(self.font())
        bold.setBold(True)
        columns = len(self._rows[0].values)
        high, wide = self._high(), float(self.width())
        advance = QFontMetricsF(bold).horizontalAdvance
        texts = [value for row in self._rows for value in row.values]
        each = min(max(advance(text) for text in texts) + _GAP, wide * 0.58 / columns)
        heads = ("Healthy", "Faulty")[:columns]
        left = wide - columns * each
        painter.setPen(muted)
        for i, head in enumerate(heads):
            painter.drawText(QRectF(left + i * each, 0.0, each, high), _RIGHT, head)
        for n, row in enumerate(self._rows):
            top = (n + 1.1) * high
            painter.setPen(rule)
            painter.drawLine(0, round(top), self.width(), round(top))
            painter.setPen(muted)
            painter.setFont(self.font())
            painter.drawText(QRectF(0.0, top, left - _GAP, high), _LEFT, row.name)
            differs = len(set(row.values)) > 1
            for i, value in enumerate(row.values):
                # What differs is bold, not coloured: it can be told apart without colours.
                painter.setFont(bold if differs and i else self.font())
                painter.setPen(ink)
                box = QRectF(left + i * each, top, each, high)
                painter.drawText(box, _RIGHT, value)
        painter.end()
