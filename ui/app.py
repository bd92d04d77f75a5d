"""The application: face, colours, crash hook, main window."""

import sys
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMessageBox

from ui import crash, messages, theme
from ui.fonts import load_face
from ui.settings import places, read_settings
from ui.views.main_window import MainWindow


def run(path: Path | None = None, *, smoke: bool = False) -> int:
    """Show the window until it is closed.

    Parameters
    ----------
    path : Path, optional
        A case file to open.
    smoke : bool
        Close by itself once everything is loaded and shown.

    Returns
    -------
    int
        Exit status: 1 if in a smoke run something could not be loaded.
    """
    app = QApplication(sys.argv[:1])
    app.setApplicationName("Pull Once")
    app.setStyle("Fusion")
    folders = places()
    settings = read_settings(folders.settings)
    family = load_face()
    theme.apply(app, settings.theme, settings.text_scale, family)
    window = MainWindow(settings, folders, family)
    sys.excepthook = crash.hook(folders.crash_log, lambda log: _tell(window, log))
    hard_log = crash.watch_hard_crashes(folders.crash_log)
    if smoke:
        window.ready.connect(lambda loaded: QTimer.singleShot(0, lambda: _end(window, loaded)))
    window.show()
    QTimer.singleShot(0, lambda: window.load(path))
    status = app.exec()
    sys.excepthook = sys.__excepthook__
    window.jobs.close()
    if hard_log is not None:
        hard_log.close()
    return status


def _end(window: MainWindow, loaded: bool) -> None:
    window.close()
    QApplication.exit(0 if loaded else 1)


def _tell(window: MainWindow, log: str) -> None:
    """Save the case, and say that something went wrong."""
    session = window.session
    saved = "nothing was open"
    if session is not None:
        saved = "it is in the store" if session.save() else session.trouble
    text = messages.CRASHED.format(saved=saved, log=log)
    box = QMessageBox(QMessageBox.Icon.Warning, "Pull Once", text, parent=window)
    box.open()
