"""A window with the example case, for pictures of its screens."""

import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from PySide6.QtWidgets import QApplication, QDialog, QWidget

from knowledge.load import base_folder
from ui import theme
from ui.session import Session
from ui.settings import Places, Settings
from ui.views.bench import Bench
from ui.views.intake import Intake
from ui.views.main_window import MainWindow

EXAMPLE = base_folder().parent / "examples" / "example.yaml"
T = TypeVar("T")
_PATIENCE = 30.0  # seconds


def there(value: T | None) -> T:
    """Give what is there once the window has been loaded."""
    if value is None:
        raise RuntimeError("the window has not been loaded")
    return value


def settle(app: QApplication, window: MainWindow) -> None:
    """Let the window come to rest: no job under way and every layout done."""
    end = time.monotonic() + _PATIENCE
    while time.monotonic() < end:
        app.processEvents()
        if not window.jobs.busy:
            break
        time.sleep(0.005)
    for _ in range(10):
        app.processEvents()


class Stage:
    """A window with the example case, and a way to each of its screens."""

    def __init__(self, app: QApplication, folder: Path, family: str, name: theme.ThemeName) -> None:
        self.app = app
        settings = Settings(theme=name, author="Odrin")
        self.window = MainWindow(settings, Places(folder / "config", folder / "data"), family)
        self.window.show()
        self.window.load()
        self.settle()

    def settle(self) -> None:
        """Wait until nothing moves."""
        settle(self.app, self.window)

    @property
    def session(self) -> Session:
        """The session."""
        return there(self.window.session)

    @property
    def bench(self) -> Bench:
        """The bench."""
        return there(self.window.bench)

    @property
    def intake(self) -> Intake:
        """The intake."""
        return there(self.window.intake)

    def example(self) -> QWidget:
        """The example case at the bench."""
        for dialog in self.window.findChildren(QDialog):
            dialog.close()
        self.window.open_path(EXAMPLE)
        self.settle()
        self.bench.card.follow()  # on a slow machine the step shown first would have been kept
        return self.window

    def step(self, kind: str, name: str) -> QWidget:
        """The bench with another step on the card."""
        self.example()
        self.bench.card.choose(kind, name)
        self.bench.card.acknowledge()
        return self.window

    def large(self, show: Callable[[], QWidget]) -> QWidget:
        """A screen with text of twice the size."""
        self.window.remember(text_scale=2.0)
        self.window.dress()
        shown = show()
        self.settle()
        return shown

    def dialog(self) -> QWidget:
        """Give the dialog that is open."""
        self.settle()
        return next(d for d in self.window.findChildren(QDialog) if d.isVisible())
