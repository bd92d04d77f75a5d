"""Photographs side by side in small, and one of them as large as the window."""

from collections.abc import Sequence
from typing import NamedTuple

from PySide6.QtCore import QModelIndex, QSize, Qt, Signal
from PySide6.QtGui import QIcon, QImage, QKeyEvent, QPixmap, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QListView,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from diagnose.records.kept import Photo
from ui import theme
from ui.views.parts import quiet_button
from ui.widgets.text import Words

_THUMB = 9  # lines of text
_WAITS = "waits for the server"
_ID = Qt.ItemDataRole.UserRole


class Shown(NamedTuple):
    """A photograph with its picture in small."""

    photo: Photo
    image: QImage


class PhotoGrid(QListWidget):
    """Small pictures beside each other; the arrows go through them.

    Signals
    -------
    opened(int), taken_away(int)
        Place of the photograph.
    """

    opened = Signal(int)
    taken_away = Signal(int)

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName("Photographs")
        self.setViewMode(QListView.ViewMode.IconMode)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setMovement(QListView.Movement.Static)
        self.setWordWrap(True)
        self.setSpacing(theme.STEP)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.activated.connect(self._on_opened)
        self._side = 0

    def minimumSizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(14 * line, 14 * line)

    def show_photos(self, photos: Sequence[Shown]) -> None:
        """Show other photographs."""
        line = self.fontMetrics().height()
        self._side = _THUMB * line
        self.setIconSize(QSize(self._side, self._side))
        # Below the picture two lines of what it shows.
        self.setGridSize(QSize(self._side + 2 * line, self._side + round(3.2 * line)))
        self.clear()
        for number, (photo, image) in enumerate(photos, 1):
            words = photo.caption or photo.name
            words = words if photo.sent else f"{words} ({_WAITS})"
            item = QListWidgetItem(QIcon(QPixmap.fromImage(image)), words)
            item.setData(_ID, photo.id)
            said = f"Photograph {number} of {len(photos)}: {words}"
            item.setData(Qt.ItemDataRole.AccessibleTextRole, said)
            item.setToolTip(f"{photo.name}: {photo.caption}" if photo.caption else photo.name)
            self.addItem(item)

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        key = Qt.Key(event.key())
        if key in {Qt.Key.Key_Delete, Qt.Key.Key_Backspace}:
            self.taken_away.emit(self.currentRow())
        elif key in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self._on_opened(self.currentIndex())
        else:
            super().keyPressEvent(event)

    def _on_opened(self, index: QModelIndex) -> None:
        if index.isValid():
            self.opened.emit(index.row())


class LargePhoto(QDialog):
    """One photograph, as large as the window allows; any of Esc and Enter closes it."""

    def __init__(self, photo: Photo, image: QImage, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(photo.name)
        self._image = image
        self._window = parent.window().parentWidget() or parent
        self._picture = Words("", wrap=False)
        self._picture.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._picture.setMinimumSize(1, 1)
        self._picture.setAccessibleName(f"Photograph {photo.name}")
        self._picture.setAccessibleDescription(photo.caption)
        self.words = Words(photo.caption or photo.name, role="lead")
        close = quiet_button("&Close (Esc)", self.reject)
        column = QVBoxLayout(self)
        column.addWidget(self._picture, 1)
        row = QHBoxLayout()
        row.addWidget(self.words, 1)
        row.addWidget(close)
        column.addLayout(row)
        close.setFocus()

    def showEvent(self, event: QShowEvent, /) -> None:
        self.resize(self._window.size() * 0.94)
        middle = self._window.mapToGlobal(self._window.rect().center())
        self.move(middle - self.rect().center())
        super().showEvent(event)

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        room = self._picture.size()
        if self._image.isNull():
            self._picture.setText("This picture can’t be shown.")
        elif not room.isEmpty():
            fit = self._image.scaled(
                room,
                Qt.AspectRatioMode.KeepAspectRatio,
                Qt.TransformationMode.SmoothTransformation,
            )
            self._picture.setPixmap(QPixmap.fromImage(fit))
