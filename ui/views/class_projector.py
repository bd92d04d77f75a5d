"""For a projector: larger text and the whole screen, until it is turned off again."""

from PySide6.QtWidgets import QWidget

from ui import theme
from ui.settings import Settings

_STEPS = 2  # of the scales of text


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
        window.showFullScreen()
        return settings.with_(text_scale=scales[place])

    def to_keep(self, settings: Settings) -> Settings:
        """Give the settings as they are to be written."""
        return settings if self._usual is None else settings.with_(text_scale=self._usual)
