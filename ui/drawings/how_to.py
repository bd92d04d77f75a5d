"""The widget that shows a drawing."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontInfo, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from ui import theme
from ui.drawings.registry import DRAWINGS
from ui.drawings.scheme import MOST_TEXT, scheme_of
from ui.drawings.sheet import HEIGHT, WIDTH

_USUAL_TEXT = float(theme.SIZES["small"])  # letters of a drawing as wide as its hint, in its units


class HowTo(QWidget):
    """Shows how a reading is taken, as large as it is given room.

    It wants to be so wide that its letters are as large as the theme's small text; narrower, they
    grow within the drawing as far as that has room for them.

    Parameters
    ----------
    name : str
        A key of `DRAWINGS`.
    parent : QWidget, optional

    Raises
    ------
    KeyError
        If there is no drawing of that name.
    """

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._drawing = DRAWINGS[name]
        self.setAccessibleName(f"Drawing: {name.replace('_', ' ')}")
        self.setAccessibleDescription(self._drawing.alt)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int, /) -> int:
        return round(width * HEIGHT / WIDTH)

    def sizeHint(self) -> QSize:
        return self._size_for(_USUAL_TEXT)

    def minimumSizeHint(self) -> QSize:
        return self._size_for(MOST_TEXT)

    def paintEvent(self, event: QPaintEvent, /) -> None:
        painter = QPainter(self)
        scale = min(self.width() / WIDTH, self.height() / HEIGHT)
        scheme = scheme_of(self.palette(), self._letters() / scale)
        painter.translate((self.width() - scale * WIDTH) / 2, (self.height() - scale * HEIGHT) / 2)
        painter.scale(scale, scale)
        painter.fillRect(QRectF(0.0, 0.0, WIDTH, HEIGHT), scheme.ground)
        self._drawing.paint(painter, scheme)
        painter.end()

    def _letters(self) -> float:
        """Give the size that letters should have on the screen, in pixels."""
        return QFontInfo(self.font()).pixelSize() * theme.SIZES["small"] / theme.SIZES["body"]

    def _size_for(self, text: float) -> QSize:
        """Give the size at which letters of so many units are as large as they should be."""
        wide = round(WIDTH * self._letters() / text)
        return QSize(wide, self.heightForWidth(wide))
