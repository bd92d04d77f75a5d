"""The photographs of a case: a grid of them, a larger view, captions, adding and taking away."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import (
    QDragEnterEvent,
    QDropEvent,
)
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QWidget,
)

from diagnose.errors import PullOnceError
from diagnose.records.album import Album
from diagnose.records.errors import StoreError
from diagnose.records.kept import Photo
from ui import theme
from ui.jobs import Job, Jobs
from ui.photos import PhotoError, image_of, read_photo
from ui.views.parts import labelled, quiet_button
from ui.views.photo_views import LargePhoto, PhotoGrid, Shown
from ui.widgets.field import Field
from ui.widgets.panel_dialog import PanelDialog
from ui.widgets.text import Words

_EMPTY = "No photograph yet. Add one, or drop picture files here: JPEG or PNG."
_ABOUT = (
    "Enter shows one large, Delete takes it away. Pictures are kept no larger than 2000 pixels, "
    "and without what a camera writes beside them, such as the place."
)
_WAITING = (
    "The server does not answer. What waits for it is kept here and sent once it is back; "
    "photographs that the server has are shown then."
)
_WAIT = "Looking at the pictures …"
_WIDEST_SHOWN = 1600  # pixels
_PICTURES = "Pictures (*.jpg *.jpeg *.png *.JPG *.JPEG *.PNG)"


class _Came(NamedTuple):
    """What came of a change: all photographs, and what could not be taken, in sentences."""

    shown: tuple[Shown, ...]
    refused: tuple[str, ...] = ()


class PhotosDialog(PanelDialog):
    """Shows the photographs of one case.

    Parameters
    ----------
    album : callable
        Gives the photographs of all cases; called beside the window.
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
        album: Callable[[], Album],
        case_id: str,
        who: Callable[[], tuple[str, str]],
        jobs: Jobs,
        parent: QWidget,
    ) -> None:
        super().__init__("Photographs", parent)
        self._album, self._case_id, self._who, self._jobs = album, case_id, who, jobs
        self.shown: tuple[Shown, ...] = ()
        self.ask_paths: Callable[[], list[str]] = self._ask_paths
        self.setAcceptDrops(True)
        self.column.addWidget(Words("Photographs", role="title", weight="bold"))
        self.about = Words(_WAIT, tone="muted")
        self.column.addWidget(self.about)
        self.grid = PhotoGrid()
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
        self._run(lambda: _Came(_all_of(self._album(), case_id)))

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
            album, case_id, who = self._album, self._case_id, self._who()
            files = [Path(path) for path in paths]
            self._run(lambda: _added(album(), case_id, files, who), changes=True)

    def take_away(self, place: int) -> None:
        """Take a photograph away."""
        if 0 <= place < len(self.shown):
            album, case_id, who = self._album, self._case_id, self._who()
            gone = self.shown[place].photo
            self._run(lambda: _without(album(), case_id, gone, who), changes=True)

    def enlarge(self, place: int) -> None:
        """Show a photograph as large as the window."""
        if 0 <= place < len(self.shown):
            photo, album = self.shown[place].photo, self._album
            self._jobs.start(
                "photo",
                Job(
                    lambda: image_of(album().photo(photo.id), widest=_WIDEST_SHOWN),
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
        self._tell_about()
        self.trouble.say(f"{error.sentence} {error.next_step}")

    def _show(self, came: _Came) -> None:
        place = max(0, self.grid.currentRow())
        before = {shown.photo.id for shown in self.shown}
        new = [i for i, shown in enumerate(came.shown) if shown.photo.id not in before]
        self.shown = came.shown
        self.grid.show_photos(came.shown)
        self._tell_about()
        self.trouble.say("\n".join(came.refused))
        if came.shown:
            last = len(came.shown) - 1
            self.grid.setCurrentRow(new[-1] if new and before else min(place, last))
        self._show_caption()
        self.fit()

    def _tell_about(self) -> None:
        waits = any(not shown.photo.sent for shown in self.shown)
        self.about.setText(_WAITING if waits else _ABOUT if self.shown else _EMPTY)

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
            album, case_id, who = self._album, self._case_id, self._who()
            photo = self.shown[place].photo
            self._run(lambda: _captioned(album(), case_id, photo, words, who), changes=True)

    def _ask_paths(self) -> list[str]:
        start = str(Path.home())
        return QFileDialog.getOpenFileNames(self, "Add photographs", start, _PICTURES)[0]

    def _wanted(self, line: int) -> QSize:
        return QSize(50 * line, 36 * line if self.shown else super()._wanted(line).height())


def _all_of(album: Album, case_id: str) -> tuple[Shown, ...]:
    return tuple(Shown(p, image_of(album.photo(p.id), widest=400)) for p in album.photos(case_id))


def _added(album: Album, case_id: str, files: Sequence[Path], who: tuple[str, str]) -> _Came:
    refused: list[str] = []
    for path in files:
        try:
            album.add_photo(case_id, read_photo(path), path.name, "", *who)
        except (PhotoError, StoreError) as error:
            refused.append(str(error))
    return _Came(_all_of(album, case_id), tuple(refused))


def _without(album: Album, case_id: str, photo: Photo, who: tuple[str, str]) -> _Came:
    album.remove_photo(photo.id, *who)
    return _Came(_all_of(album, case_id))


def _captioned(
    album: Album, case_id: str, photo: Photo, caption: str, who: tuple[str, str]
) -> _Came:
    album.caption_photo(photo.id, caption, *who)
    return _Came(_all_of(album, case_id))
