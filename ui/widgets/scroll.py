"""A scroll area that scrolls downwards only, and can be made to show everything it holds."""

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QWidget

from ui import theme

_LEAST_LINES = 8  # less of a text can hardly be read
_NO_LIMIT = 16_777_215  # as Qt calls it: QWIDGETSIZE_MAX


class Scroll(QScrollArea):
    """Scrolls its content downwards; sideways the content has to fit.

    Parameters
    ----------
    content : QWidget
    whole : bool
        Whether it is as high as its content instead of scrolling.
    snug : bool
        Whether it is never higher than its content.
    """

    def __init__(self, content: QWidget, *, whole: bool = False, snug: bool = False) -> None:
        super().__init__()
        self._whole = whole
        self._snug = snug
        self._content = content
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        theme.mark(content, kind="plain")
        content.setAutoFillBackground(False)
        self.viewport().setAutoFillBackground(False)
        self.setWidget(content)
        content.installEventFilter(self)

    def set_whole(self, whole: bool) -> None:
        """Be as high as the content, or scroll it."""
        if whole != self._whole:
            self._whole = whole
            self._fit()

    def minimumSizeHint(self) -> QSize:
        return QSize(self._content.minimumSizeHint().width(), 0)

    def sizeHint(self) -> QSize:
        # No more than it must have: it grows by its stretch, so that it never makes others scroll.
        return QSize(super().sizeHint().width(), self.minimumHeight())

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        self._fit()

    def eventFilter(self, watched: QObject, event: QEvent, /) -> bool:
        if event.type() == QEvent.Type.LayoutRequest:
            self._fit()
        return super().eventFilter(watched, event)

    def _fit(self) -> None:
        content = self._content
        if content.hasHeightForWidth():
            high = content.heightForWidth(self.viewport().width())
        else:
            high = content.minimumSizeHint().height()
        least = high if self._whole else min(high, _LEAST_LINES * self.fontMetrics().height())
        most = high if self._snug or self._whole else _NO_LIMIT
        if (self.minimumHeight(), self.maximumHeight()) != (least, most):
            self.setMinimumHeight(least)
            self.setMaximumHeight(most)
