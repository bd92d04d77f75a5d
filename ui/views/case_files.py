"""Case files on disk: the user picks one to open, or a name to write the case to."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from PySide6.QtWidgets import QFileDialog, QWidget

from ui import messages
from ui.double_click import ENDING, case_path
from ui.settings import Settings

if TYPE_CHECKING:  # loaded once the window is on the screen
    from ui.session import Session

_FILTER = "Case files (*.yaml *.yml)"


class Host(Protocol):
    """What opening and writing need of the window."""

    session: "Session | None"
    settings: Settings

    def remember(self, **changes: object) -> None:
        """Change some settings and write them."""

    def show_trouble(self, sentence: str, next_step: str) -> None:
        """Say what went wrong until it is put right."""

    def clear_trouble(self) -> None:
        """Take the last trouble from the screen."""

    def leave_page(self) -> None:
        """Keep what is only typed on the page that is shown."""


class CaseFiles:
    """Opens case files in the window, and writes them.

    Parameters
    ----------
    host : Host
    window : QWidget
        The window itself; the system's dialogs stand over it.
    """

    def __init__(self, host: Host, window: QWidget) -> None:
        self._host, self._window = host, window
        self.ask_open_path: Callable[[], str] = self._ask_open_path
        self.ask_save_path: Callable[[], str] = self._ask_save_path

    def open(self, path: Path) -> bool:
        """Open a case file; the case on the screen stays, and why is said, if that can't be done.

        Parameters
        ----------
        path : Path

        Returns
        -------
        bool
            Whether it is open.
        """
        from diagnose.errors import CaseFileError

        session = self._host.session
        if session is None:
            return False
        self._host.leave_page()
        self._host.clear_trouble()
        try:
            session.open(path)
        except CaseFileError as error:
            self._host.show_trouble(error.sentence, error.next_step)
            return False
        self._host.remember(last_folder=str(path.parent))
        return True

    def write(self) -> None:
        """Let the user choose a file, and write the case to it."""
        session = self._host.session
        if session is None:
            return
        self._host.leave_page()
        chosen = self.ask_save_path()
        if not chosen:
            return
        path = case_path(Path(chosen))
        if path != Path(chosen) and path.exists():  # nobody was asked about that one
            there = messages.THERE_ALREADY.format(name=path.name)
            self._host.show_trouble(there, messages.PICK_IT)
            return
        session.write(path)
        self._host.remember(last_folder=str(path.parent))

    def _folder(self) -> str:
        return self._host.settings.last_folder or str(Path.home())

    def _ask_open_path(self) -> str:
        return QFileDialog.getOpenFileName(self._window, "Open a case", self._folder(), _FILTER)[0]

    def _ask_save_path(self) -> str:
        dialog = QFileDialog(self._window, "Save the case as", self._folder(), _FILTER)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix(ENDING.removeprefix("."))  # so it asks about the file it writes
        chosen = dialog.selectedFiles() if dialog.exec() else []
        dialog.deleteLater()
        return chosen[0] if chosen else ""
