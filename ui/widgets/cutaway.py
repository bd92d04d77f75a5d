"""The cutaway of the release system: drawn from the model, moved by mouse and keyboard."""

from typing import Literal

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from diagnose.drawings.cutaway.figures import Unit, in_words
from diagnose.drawings.cutaway.layout import Show, Subject, View, layout_of
from diagnose.drawings.cutaway.scene import cutaway
from ui.widgets.cutaway_painting import Canvas

Manner = Literal["healthy", "faulty", "overlay", "beside"]

_STEPS, _PAGES = 60, 6  # presses of an arrow key, and of a page key, for the pedal's whole way
# So many heights of the text a picture is wide at the least: a small one has smaller letters.
_COLUMNS, _COLUMNS_HALF = 36.0, 26.0
_LEAST_TEXT = 11.0  # pixels
_SPEAKS_AFTER = 150  # milliseconds without a move, then a screen reader is told the figures


class Cutaway(QWidget):
    """Paints one release system, healthy or with a fault, at a travel of the pedal.

    Parameters
    ----------
    subject : Subject, optional
        What is drawn; nothing as long as there is none.
    parent : QWidget, optional

    Attributes
    ----------
    pad_changed : Signal(float)
        Travel of the pad, mm, whoever moved it.
    """

    pad_changed = Signal(float)

    def __init__(self, subject: Subject | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._subject = subject
        self._unit: Unit = "mm"
        self._pad = 0.0
        self._manner: Manner = "healthy"
        self._held: tuple[float, float] | None = None
        self._canvases: dict[Show, Canvas] = {}
        self._telling = QTimer(self)
        self._telling.setSingleShot(True)
        self._telling.setInterval(_SPEAKS_AFTER)
        self._telling.timeout.connect(self._tell)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setCursor(Qt.CursorShape.SizeHorCursor)
        self.setAccessibleName("Cutaway of the release system")
        self._tell()

    @property
    def subject(self) -> Subject | None:
        """What is drawn."""
        return self._subject

    @property
    def pad(self) -> float:
        """Travel of the pad, mm."""
        return self._pad

    @property
    def manner(self) -> Manner:
        """What is shown: one of the two systems, both in one picture, or side by side."""
        return self._manner if self._subject and self._subject.fault else "healthy"

    @property
    def travel(self) -> float:
        """The pedal's whole way when healthy, mm; 0 without a subject."""
        return self._subject.healthy.travel if self._subject else 0.0

    def set_subject(self, subject: Subject | None) -> None:
        """Draw another system; the pedal keeps its share of the way."""
        share = self._pad / self.travel if self.travel else 0.0
        self._subject = subject
        self.set_pad(share * self.travel)
        self._tell()
        self.update()

    def set_unit(self, unit: Unit) -> None:
        """Tell lengths in another unit."""
        self._unit = unit
        self._tell()
        self.update()

    def set_manner(self, manner: Manner) -> None:
        """Show the healthy system, the faulty one, both overlaid, or both side by side."""
        self._manner = manner
        self._tell()
        self.update()

    def set_pad(self, pad: float) -> None:
        """Move the pedal to a travel, mm, as far as it goes."""
        pad = min(max(pad, 0.0), self.travel)
        if pad != self._pad:
            self._pad = pad
            self._telling.start()
            self.update()
            self.pad_changed.emit(pad)

    def views(self) -> tuple[tuple[View, QPointF], ...]:
        """Give the pictures that are shown, each with its place."""
        wide, high = float(self.width()), float(self.height())
        manner = self.manner
        most = wide / (2.0 * _COLUMNS_HALF if manner == "beside" else _COLUMNS)
        em = min(float(self.fontInfo().pixelSize()), max(_LEAST_TEXT, most))
        if manner == "beside":
            half = wide / 2.0
            return (
                (View(half, high, em, "healthy", self._unit), QPointF(0.0, 0.0)),
                (View(half, high, em, "faulty", self._unit), QPointF(half, 0.0)),
            )
        return ((View(wide, high, em, manner, self._unit), QPointF(0.0, 0.0)),)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        colours = self.palette()
        painter.fillRect(self.rect(), colours.color(QPalette.ColorRole.Base))
        if self._subject is not None:
            for view, place in self.views():
                canvas = self._canvases.get(view.show)
                if canvas is None:
                    canvas = self._canvases[view.show] = Canvas(colours, self.font())
                painter.save()
                painter.translate(place)
                canvas.paint(painter, cutaway(self._subject, view, self._pad))
                painter.restore()
        if self.manner == "beside":
            painter.setPen(QPen(colours.color(QPalette.ColorRole.Mid), 1.0))
            middle = self.width() / 2.0
            painter.drawLine(QPointF(middle, 0.0), QPointF(middle, float(self.height())))
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(colours.color(QPalette.ColorRole.Link), 2.0))
            painter.drawRect(QRectF(self.rect()).adjusted(1.0, 1.0, -1.0, -1.0))
        painter.end()

    def changeEvent(self, event: QEvent) -> None:
        if event.type() in {QEvent.Type.PaletteChange, QEvent.Type.FontChange}:
            self._canvases.clear()
            self.update()
        super().changeEvent(event)

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(46 * line, 32 * line)

    def minimumSizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(16 * line, 12 * line)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = self.travel / _STEPS
        moves = {
            Qt.Key.Key_Right: self._pad + step,
            Qt.Key.Key_Down: self._pad + step,
            Qt.Key.Key_Left: self._pad - step,
            Qt.Key.Key_Up: self._pad - step,
            Qt.Key.Key_PageDown: self._pad + self.travel / _PAGES,
            Qt.Key.Key_PageUp: self._pad - self.travel / _PAGES,
            Qt.Key.Key_Home: 0.0,
            Qt.Key.Key_End: self.travel,
        }
        wanted = moves.get(Qt.Key(event.key()))
        if wanted is None:
            super().keyPressEvent(event)
        else:
            self.set_pad(wanted)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self._held = (event.position().x(), self._pad)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._held is not None and self._subject is not None:
            start, pad = self._held
            scale = layout_of(self._subject, self.views()[0][0]).pedal_scale
            # The pedal goes down to the left, toward the engine.
            self.set_pad(pad + (start - event.position().x()) / scale)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        self._held = None

    def _tell(self) -> None:
        """Say the figures in words to who can't see them."""
        subject = self._subject
        if subject is None:
            self.setAccessibleDescription("")
            return
        healthy = in_words(subject.measures, subject.healthy, self._pad, self._unit)
        if subject.fault is None or self.manner == "healthy":
            self.setAccessibleDescription(f"Healthy. {healthy}")
            return
        faulty = in_words(subject.measures, subject.faulty, self._pad, self._unit)
        both = "" if self.manner == "faulty" else f" Healthy. {healthy}"
        self.setAccessibleDescription(f"With {subject.fault.name}. {faulty}{both}")
