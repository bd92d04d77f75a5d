"""Equally wide widgets, as many beside each other as their words allow."""

from PySide6.QtCore import QEvent, QRect, QSize
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget


class EvenGrid(QWidget):
    """Rows of equally wide widgets.

    It places its children itself: a layout of our own would have to hand ``None`` to Qt, which the
    binding counts wrongly on Python 3.11.

    Parameters
    ----------
    most : int
        At most so many in a row.
    gap : int
        Pixels between them.
    """

    def __init__(self, most: int, *, gap: int = 8, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._cells: list[QWidget] = []
        self._most = most
        self._gap = gap
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def add(self, widget: QWidget) -> None:
        """Add a widget at the end."""
        widget.setParent(self)
        self._cells.append(widget)
        self.updateGeometry()

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int, /) -> int:
        return self._place(width, move=False)

    def sizeHint(self) -> QSize:
        columns = min(self._most, len(self._cells))
        widest = max((cell.sizeHint().width() for cell in self._cells), default=0)
        wide = columns * widest + self._gap * max(0, columns - 1)
        return QSize(wide, self.heightForWidth(wide))

    def minimumSizeHint(self) -> QSize:
        hints = [cell.minimumSizeHint() for cell in self._cells]
        wide = max((hint.width() for hint in hints), default=0)
        return QSize(wide, max((hint.height() for hint in hints), default=0))

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        self._place(self.width(), move=True)

    def event(self, event: QEvent, /) -> bool:
        if event.type() == QEvent.Type.LayoutRequest:
            self.updateGeometry()
            self._place(self.width(), move=True)
        return super().event(event)

    def columns(self, width: int) -> int:
        """Give how many stand beside each other at a width; the rows are filled evenly."""
        if not self._cells:
            return 1
        widest = max(cell.sizeHint().width() for cell in self._cells)
        fitting = max(1, (width + self._gap) // (widest + self._gap))
        rows = -(-len(self._cells) // min(fitting, self._most))
        return -(-len(self._cells) // rows)

    def _place(self, width: int, *, move: bool) -> int:
        """Find where each goes at a width; gives the height that takes."""
        columns = self.columns(width)
        wide = (width - self._gap * (columns - 1)) // columns
        top = 0
        for start in range(0, len(self._cells), columns):
            row = self._cells[start : start + columns]
            high = max(_height(cell, wide) for cell in row)
            for column, cell in enumerate(row):
                if move:
                    cell.setGeometry(QRect(column * (wide + self._gap), top, wide, high))
            top += high + self._gap
        return max(0, top - self._gap)


def _height(cell: QWidget, width: int) -> int:
    if cell.hasHeightForWidth():
        return cell.heightForWidth(width)
    return max(cell.sizeHint().height(), cell.minimumSizeHint().height())
