"""The map, walked by keys, zoomed by the wheel, dragged and clicked."""

from collections.abc import Callable

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QWidget

from diagnose.map import Key, Way
from ui.widgets.map_canvas import STEP, ZOOMS, MapCanvas

_NOTCH = 120  # of a wheel, as Qt counts it
_HELP = (
    "Left and right follow the strongest link, up and down go through a column. Enter opens or "
    "closes a group, and opens a record in the handbook. U shows only its causes, D only what it "
    "brings, B both, W the whole map. Plus and minus zoom, 0 fits all, slash searches."
)


class MapView(MapCanvas):
    """The map of causes and effects.

    Parameters
    ----------
    say : callable
        Gives what a screen reader says of a box, by its key.

    Signals
    -------
    entered(object)
        Enter or a double click on a box, or a click on a group's sign.
    follow_wanted(object, str)
        Key of a box, and which way to follow it (``up``, ``down``, ``both``).
    whole_wanted
    """

    entered = Signal(object)
    follow_wanted = Signal(object, str)
    whole_wanted = Signal()

    def __init__(self, say: Callable[[Key], str], parent: QWidget | None = None) -> None:
        super().__init__(say, parent)
        self._grip: tuple[QPoint, QPoint] | None = None
        self.setAccessibleDescription(_HELP)

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        key = Qt.Key(event.key())
        if event.modifiers() & ~(
            Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier
        ):
            super().keyPressEvent(event)
            return
        moves: dict[Qt.Key, Callable[[], None]] = {
            Qt.Key.Key_Left: lambda: self._along(back=True),
            Qt.Key.Key_Right: lambda: self._along(back=False),
            Qt.Key.Key_Up: lambda: self._beside(-1),
            Qt.Key.Key_Down: lambda: self._beside(1),
            Qt.Key.Key_Home: lambda: self._beside(-10_000),
            Qt.Key.Key_End: lambda: self._beside(10_000),
            Qt.Key.Key_PageUp: lambda: self._page(-1),
            Qt.Key.Key_PageDown: lambda: self._page(1),
            Qt.Key.Key_Return: self._enter,
            Qt.Key.Key_Enter: self._enter,
            Qt.Key.Key_Plus: self.zoom_in,
            Qt.Key.Key_Equal: self.zoom_in,
            Qt.Key.Key_Minus: self.zoom_out,
            Qt.Key.Key_0: self.fit,
            Qt.Key.Key_U: lambda: self._follow("up"),
            Qt.Key.Key_D: lambda: self._follow("down"),
            Qt.Key.Key_B: lambda: self._follow("both"),
            Qt.Key.Key_W: self.whole_wanted.emit,
        }
        if key in moves:
            moves[key]()
        else:
            event.ignore()

    def _enter(self) -> None:
        if self._mark is not None:
            self.entered.emit(self._mark)

    def _follow(self, way: Way) -> None:
        if self._mark is not None:
            self.follow_wanted.emit(self._mark, way)

    def _page(self, way: int) -> None:
        bar = self.verticalScrollBar()
        bar.setValue(bar.value() + way * bar.pageStep())

    def _along(self, *, back: bool) -> None:
        """Go along the strongest link; from a box without one, to the column beside it."""
        if self._drawn is None or self._mark is None:
            self._first()
            return
        content = self._drawn.content
        bonds = (content.into if back else content.out_of).get(self._mark, ())
        if bonds:
            self.set_mark(bonds[0].tail if back else bonds[0].head)

    def _beside(self, step: int) -> None:
        """Go up or down in the column."""
        if self._drawn is None or self._mark is None:
            self._first()
            return
        for column in self._drawn.placed.columns:
            if self._mark in column:
                row = column.index(self._mark) + step
                self.set_mark(column[max(0, min(len(column) - 1, row))])
                return

    def mousePressEvent(self, event: QMouseEvent, /) -> None:
        key = self.box_at(event.position())
        if key is None or self._drawn is None:
            start = QPoint(self.horizontalScrollBar().value(), self.verticalScrollBar().value())
            self._grip = (event.position().toPoint(), start)
            return
        self.set_mark(key)
        box, as_shown = self._drawn.placed.boxes[key], self._drawn.content.boxes[key]
        across = (event.position().x() - self._origin().x()) / self._zoom - box.left
        if as_shown.is_group and across < 2.0 * self.fontMetrics().height():
            self.entered.emit(key)

    def mouseDoubleClickEvent(self, event: QMouseEvent, /) -> None:
        key = self.box_at(event.position())
        if key is not None:
            self.entered.emit(key)

    def mouseMoveEvent(self, event: QMouseEvent, /) -> None:
        if self._grip is not None:
            start, value = self._grip
            off = event.position().toPoint() - start
            self.horizontalScrollBar().setValue(value.x() - off.x())
            self.verticalScrollBar().setValue(value.y() - off.y())

    def mouseReleaseEvent(self, event: QMouseEvent, /) -> None:
        self._grip = None

    def wheelEvent(self, event: QWheelEvent, /) -> None:
        turns = event.angleDelta().y() / _NOTCH
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            zoom = min(ZOOMS[-1], max(ZOOMS[0], self._zoom * 1.15**turns))
            self._zoom_to(zoom, event.position())
        else:
            sideways = event.modifiers() & Qt.KeyboardModifier.ShiftModifier
            bar = self.horizontalScrollBar() if sideways else self.verticalScrollBar()
            bar.setValue(bar.value() - round(STEP * turns))
