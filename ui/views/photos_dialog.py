"""The photographs of a case: a grid of them, a larger view, captions, adding and taking away."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

from PySide6.QtCore import QModelIndex, QSize, Qt, Signal
from PySide6.QtGui import (
    QDragEnterEvent,
    QDropEvent,
    QIcon,
    QImage,
    QKeyEvent,
    QPixmap,
    QResizeEvent,
    QShowEvent,
)
from PySide6.QtWidgets import (
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QListView,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from diagnose.errors import PullOnceError
from diagnose.records.kept import Photo
from diagnose.records.store import Store
from ui import theme
from ui.jobs import Job, Jobs
from ui.photos import PhotoError, image_of, read_photo
from ui.views.parts import labelled, quiet_button
from ui.widgets.field import Field
from ui.widgets.panel_dialog import PanelDialog
from ui.widgets.text import Words

_EMPTY = "No photograph yet. Add one, or drop picture files here: JPEG or PNG."
_ABOUT = (
    "Enter shows one large, Delete takes it away. Pictures are kept no larger than 2000 pixels, "
    "and without what a camera writes beside them, such as the place."
)
_WAIT = "Looking at the pictures …"
_THUMB = 9  # lines of text
_WIDEST_SHOWN = 1600  # pixels
_PICTURES = "Pictures (*.jpg *.jpeg *.png *.JPG *.JPEG *.PNG)"
_ID = Qt.ItemDataRole.UserRole


class Shown(NamedTuple):
    """A photograph with its picture in small."""

    photo: Photo
    image: QImage


class _Came(NamedTuple):
    """What came of a change: all photographs, and what could not be taken, in sentences."""

    shown: tuple[Shown, ...]
    refused: tuple[str, ...] = ()


class PhotosDialog(PanelDialog):
    """Shows the photographs of one case.

    Parameters
    ----------
    store : callable
        Gives the store; called beside the window.
    case_id : str
    who : callable
        Gives who sits here, and the time.
    jobs : Jobs
    parent : QWidget

    Signals
    -------
    changed
        Photographs came or went: the case in the store has changed.
    """

    changed = Signal()

    def __init__(
        self,
        store: Callable[[], Store],
        case_id: str,
        who: Callable[[], tuple[str, str]],
        jobs: Jobs,
        parent: QWidget,
    ) -> None:
        super().__init__("Photographs", parent)
        self._store, self._case_id, self._who, self._jobs = store, case_id, who, jobs
        self.shown: tuple[Shown, ...] = ()
        self.ask_paths: Callable[[], list[str]] = self._ask_paths
        self.setAcceptDrops(True)
        self.column.addWidget(Words("Photographs", role="title", weight="bold"))
        self.about = Words(_WAIT, tone="muted")
        self.column.addWidget(self.about)
        self.grid = _Grid()
        self.grid.currentRowChanged.connect(lambda _row: self._show_caption())
        self.grid.opened.connect(self.enlarge)
        self.grid.taken_away.connect(self.take_away)
        self.column.addWidget(self.grid, 1)
        self.caption = Field()
        self.caption.setMaxLength(300)
        self.caption.returnPressed.connect(self._on_caption)
        row = QHBoxLayout()
        row.setSpacing(theme.STEP)
        about = "What the marked photograph shows; Enter keeps it"
        row.addWidget(labelled("What it &shows", about, self.caption, lines=24), 1)
        self._keep = quiet_button("&Keep these words", self._on_caption)
        row.addWidget(self._keep, 0, Qt.AlignmentFlag.AlignBottom)
        self.column.addLayout(row)
        self.trouble = Words("", tone="stop")
        self.trouble.say("")
        self.column.addWidget(self.trouble)
        self._add_buttons()
        self._run(lambda: _Came(_all_of(self._store(), case_id)))

    def _add_buttons(self) -> None:
        self.add = self.add_button("&Add …", kind="primary")
        self.add.clicked.connect(lambda _=False: self.take(self.ask_paths()))
        self._large = self.add_button("&Larger")
        self._large.clicked.connect(lambda _=False: self.enlarge(self.grid.currentRow()))
        self._away = self.add_button("&Take away")
        self._away.clicked.connect(lambda _=False: self.take_away(self.grid.currentRow()))
        self.buttons.addStretch(1)
        close = self.add_button("&Close (Esc)")
        close.clicked.connect(self.reject)
        self.add.setFocus(Qt.FocusReason.OtherFocusReason)

    def take(self, paths: Sequence[str]) -> None:
        """Add the pictures in some files; what can't be taken is said."""
        if paths:
            store, case_id, who = self._store, self._case_id, self._who()
            files = [Path(path) for path in paths]
            self._run(lambda: _added(store(), case_id, files, who), changes=True)

    def take_away(self, place: int) -> None:
        """Take a photograph away."""
        if 0 <= place < len(self.shown):
            store, case_id, who = self._store, self._case_id, self._who()
            gone = self.shown[place].photo
            self._run(lambda: _without(store(), case_id, gone, who), changes=True)

    def enlarge(self, place: int) -> None:
        """Show a photograph as large as the window."""
        if 0 <= place < len(self.shown):
            photo, store = self.shown[place].photo, self._store
            self._jobs.start(
                "photo",
                Job(
                    lambda: image_of(store().photo(photo.id), widest=_WIDEST_SHOWN),
                    lambda image: LargePhoto(photo, image, self).open(),
                    self._on_failed,
                ),
            )

    def done(self, result: int, /) -> None:
        """Close it; what is under way is finished, and nobody hears of it."""
        for slot in ("photos", "photo"):
            self._jobs.drop(slot)
        super().done(result)

    def dragEnterEvent(self, event: QDragEnterEvent, /) -> None:
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent, /) -> None:
        self.take([url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()])

    def _run(self, work: Callable[[], _Came], *, changes: bool = False) -> None:
        self.about.setText(_WAIT)
        self.trouble.say("")

        def done(came: _Came) -> None:
            self._show(came)
            if changes:
                self.changed.emit()

        self._jobs.start("photos", Job(work, done, self._on_failed))

    def _on_failed(self, error: Exception) -> None:
        if not isinstance(error, PullOnceError):
            raise error
        self.about.setText(_ABOUT if self.shown else _EMPTY)
        self.trouble.say(f"{error.sentence} {error.next_step}")

    def _show(self, came: _Came) -> None:
        place = max(0, self.grid.currentRow())
        before = {shown.photo.id for shown in self.shown}
        new = [i for i, shown in enumerate(came.shown) if shown.photo.id not in before]
        self.shown = came.shown
        self.grid.show_photos(came.shown)
        self.about.setText(_ABOUT if came.shown else _EMPTY)
        self.trouble.say("\n".join(came.refused))
        if came.shown:
            last = len(came.shown) - 1
            self.grid.setCurrentRow(new[-1] if new and before else min(place, last))
        self._show_caption()
        self.fit()

    def _show_caption(self) -> None:
        place = self.grid.currentRow()
        there = 0 <= place < len(self.shown)
        self.caption.setText(self.shown[place].photo.caption if there else "")
        for widget in (self.caption, self._keep, self._large, self._away):
            widget.setEnabled(there)
        self.grid.setVisible(bool(self.shown))

    def _on_caption(self) -> None:
        place, words = self.grid.currentRow(), self.caption.text().strip()
        if 0 <= place < len(self.shown) and words != self.shown[place].photo.caption:
            store, case_id, who = self._store, self._case_id, self._who()
            photo = self.shown[place].photo
            self._run(lambda: _renamed(store(), case_id, photo, words, who), changes=True)

    def _ask_paths(self) -> list[str]:
        start = str(Path.home())
        return QFileDialog.getOpenFileNames(self, "Add photographs", start, _PICTURES)[0]

    def _wanted(self, line: int) -> QSize:
        return QSize(50 * line, 36 * line if self.shown else super()._wanted(line).height())


class _Grid(QListWidget):
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


def _all_of(store: Store, case_id: str) -> tuple[Shown, ...]:
    return tuple(Shown(p, image_of(store.photo(p.id), widest=400)) for p in store.photos(case_id))


def _added(store: Store, case_id: str, files: Sequence[Path], who: tuple[str, str]) -> _Came:
    refused: list[str] = []
    for path in files:
        try:
            store.add_photo(case_id, read_photo(path), path.name, "", *who)
        except PhotoError as error:
            refused.append(str(error))
    return _Came(_all_of(store, case_id), tuple(refused))


def _without(store: Store, case_id: str, photo: Photo, who: tuple[str, str]) -> _Came:
    store.remove_photo(photo.id, *who)
    return _Came(_all_of(store, case_id))


def _renamed(store: Store, case_id: str, photo: Photo, caption: str, who: tuple[str, str]) -> _Came:
    """Keep a photograph with another caption: as another one, in the place of the old."""
    data = store.photo(photo.id)
    store.remove_photo(photo.id, *who)
    store.add_photo(case_id, data, photo.name, caption, *who)
    return _Came(_all_of(store, case_id))
