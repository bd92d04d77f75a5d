"""The handbook's place in the window: made when it is first wanted, and the way back from it."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QApplication, QFileDialog, QStackedWidget, QWidget

from ui import messages, theme
from ui.jobs import Job, Jobs
from ui.settings import Places, Settings

if TYPE_CHECKING:  # loaded once the window is on the screen
    from ui.session import Session
    from ui.views.handbook_page import HandbookPage

_FILTER = "Web pages (*.html *.htm)"


class Host(Protocol):
    """What the handbook needs of the window it is in."""

    stack: QStackedWidget
    jobs: Jobs
    settings: Settings
    places: Places
    session: "Session | None"

    def say(self, sentence: str) -> None:
        """Say something in passing."""

    def show_trouble(self, sentence: str, next_step: str) -> None:
        """Say what went wrong until it is put right."""


class HandbookVisit(QObject):
    """Opens, leaves and saves the handbook of the window's knowledge base.

    Parameters
    ----------
    host : Host
    parent : QWidget
        The window itself.

    Signals
    -------
    moved
        There may or may not be a page before now.
    left(QWidget)
        The page of the window that is shown again.
    """

    moved = Signal()
    left = Signal(QWidget)

    def __init__(self, host: Host, parent: QWidget) -> None:
        super().__init__(parent)
        self._host = host
        self._window = parent
        self._behind: QWidget | None = None
        self.page: HandbookPage | None = None
        self.ask_path: Callable[[], str] = self._ask_path

    @property
    def open(self) -> bool:
        """Whether the handbook is on the screen."""
        return self.page is not None and self._host.stack.currentWidget() is self.page

    @property
    def has_before(self) -> bool:
        """Whether the handbook is on the screen with a page to go back to."""
        return self.page is not None and self.open and self.page.has_before

    def toggle(self) -> None:
        """Show the handbook, or go back to where it was opened."""
        if self.open:
            self.leave()
        else:
            self.show()

    def show(self, kind: str = "", name: str = "") -> None:
        """Show the handbook at the page of a record, or where it was left."""
        if self._host.session is None:
            return
        page = self.page or self._made()
        if not self.open:
            self._behind = self._host.stack.currentWidget()
        if kind:
            page.open((kind, name))
        self._host.stack.setCurrentWidget(page)
        page.take_focus()

    def leave(self) -> None:
        """Go back to where the handbook was opened."""
        if self._behind is not None:
            self._host.stack.setCurrentWidget(self._behind)
            self.left.emit(self._behind)

    def back(self) -> None:
        """Show the page of the handbook that was shown before."""
        if self.page is not None and self.open:
            self.page.back()

    def save(self) -> None:
        """Let the user choose a file and write the handbook into it, beside the window."""
        from diagnose.handbook import write_handbook

        session = self._host.session
        chosen = self.ask_path() if session is not None else ""
        if session is None or not chosen:
            return
        base, path = session.base, Path(chosen)
        path = path if path.suffix else path.with_suffix(".html")
        self._host.say(messages.WRITING)
        done = messages.HANDBOOK_SAVED.format(path=path)
        self._host.jobs.start(
            "save handbook",
            Job(
                lambda: write_handbook(path, base),
                lambda _: self._host.say(done),
                self._on_save_failed,
            ),
        )

    def dress(self) -> None:
        """Put on the colours and the size of text that the settings say."""
        app = QApplication.instance()
        if self.page is not None and isinstance(app, QApplication):
            settings = self._host.settings
            tokens = theme.THEMES[theme.resolve(settings.theme, app)]
            self.page.dress(tokens, settings.text_scale)

    def _made(self) -> "HandbookPage":
        from ui.handbook import Handbook
        from ui.views.handbook_page import HandbookPage

        session = self._host.session
        if session is None:
            raise RuntimeError("there is no knowledge base yet")
        base = session.base
        page = self.page = HandbookPage()
        page.left.connect(self.leave)
        page.save_wanted.connect(self.save)
        page.moved.connect(self.moved)
        self._host.stack.addWidget(page)
        self.dress()
        self._host.jobs.start("handbook", Job(lambda: Handbook.of(base), page.set_handbook, _raise))
        return page

    def _on_save_failed(self, error: Exception) -> None:
        from diagnose.handbook import HandbookError

        self._host.say("")
        if not isinstance(error, HandbookError):
            raise error
        self._host.show_trouble(error.sentence, error.next_step)

    def _ask_path(self) -> str:
        folder = Path(self._host.settings.last_folder or self._host.places.cases)
        name = str(folder / "handbook.html")
        return QFileDialog.getSaveFileName(self._window, "Save the handbook as", name, _FILTER)[0]


def _raise(error: Exception) -> None:
    raise error
