"""For a projector: larger text and the whole screen, until it is turned off again."""

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QWidget

from ui import theme
from ui.settings import Settings

_STEPS = 2  # of the scales of text
_FITTING = 1.5  # the largest at which every page fits a projector of the usual size
_USUAL = QSize(1280, 800)


class Projector:
    """Remembers the size of text that is usual, so that only that one is ever kept."""

    def __init__(self) -> None:
        self._usual: float | None = None
        self._was_full = False

    @property
    def on(self) -> bool:
        """Whether it is on."""
        return self._usual is not None

    def toggle(self, window: QWidget, settings: Settings) -> Settings:
        """Turn it on or off; gives the settings to go on with.

        Parameters
        ----------
        window : QWidget
            Fills the screen while it is on.
        settings : Settings
            As they are now.
        """
        if self._usual is not None:
            usual, self._usual = self._usual, None
            if not self._was_full:
                window.showNormal()
            return settings.with_(text_scale=usual)
        self._usual, self._was_full = settings.text_scale, window.isFullScreen()
        scales = theme.TEXT_SCALES
        place = min(scales.index(settings.text_scale) + _STEPS, len(scales) - 1)
        larger = min(scales[place], fitting(window.screen().size()))
        window.showFullScreen()
        return settings.with_(text_scale=max(settings.text_scale, larger))

    def to_keep(self, settings: Settings) -> Settings:
        """Give the settings as they are to be written."""
        return settings if self._usual is None else settings.with_(text_scale=self._usual)


def fitting(screen: QSize) -> float:
    """Give the largest scale of text at which every page fits a screen."""
    wide, high = screen.width() / _USUAL.width(), screen.height() / _USUAL.height()
    most = _FITTING * max(1.0, min(wide, high))
    return max(scale for scale in theme.TEXT_SCALES if scale <= most)
