"""A large button with its key, its text and, in smaller letters, what it means."""

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QStyle, QStyleOption, QWidget

from ui import theme

_PAD = 12
_LEAST_HEIGHT = 56
_WRAP = Qt.TextFlag.TextWordWrap
_WIDEST_EM = 19.0  # beyond this the text wraps rather than the button grow


class AnswerButton(QAbstractButton):
    """One answer.

    Parameters
    ----------
    key : str
        The key that gives it, shown on the button.
    text : str
    means : str
        What the answer means, shown below its text.
    stacked : bool
        Whether the key stands above the text, for many short answers in a row.
    """

    def __init__(
        self,
        key: str,
        text: str,
        means: str = "",
        *,
        stacked: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._key = key
        self._means = means
        self._stacked = stacked
        self._chosen = False
        self.setText(text)
        self.setAccessibleName(text)
        self.setAccessibleDescription(f"key {key}. {means}" if key else means)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    @property
    def chosen(self) -> bool:
        """Whether it is the answer that stands."""
        return self._chosen

    def set_chosen(self, chosen: bool) -> None:
        """Mark it as the answer that stands."""
        self._chosen = chosen
        state = "the answer so far. " if chosen else ""
        self.setAccessibleDescription(f"{state}key {self._key}. {self._means}")
        self.update()

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int, /) -> int:
        inner = max(1, width - 2 * _PAD - self._key_width())
        high = _wrapped(self._bold(), self.text(), inner)
        if self._means:
            high += 2 + _wrapped(self._small(), self._means, inner)
        if self._stacked and self._key:
            high += QFontMetrics(self._small()).height()
        return max(_LEAST_HEIGHT, high + 2 * _PAD - 4)

    def sizeHint(self) -> QSize:
        em = QFontMetrics(self.font()).height() / 1.29
        text = QFontMetrics(self._bold()).horizontalAdvance(self.text()) + 2
        if self._means:
            text = max(text, round(_WIDEST_EM * em))
        wide = min(text, round(_WIDEST_EM * em)) + 2 * _PAD + self._key_width()
        return QSize(wide, self.heightForWidth(wide))

    def minimumSizeHint(self) -> QSize:
        words = self.text().split() or [""]
        widest = max(QFontMetrics(self._bold()).horizontalAdvance(w) for w in words) + 2
        return QSize(widest + 2 * _PAD + self._key_width(), _LEAST_HEIGHT)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        option = QStyleOption()
        option.initFrom(self)
        lit = self.isEnabled() and (
            self._chosen or self.isDown() or bool(option.state & QStyle.StateFlag.State_MouseOver)
        )
        self._paint_frame(painter, lit=lit)
        self._paint_words(painter, lit=lit)
        painter.end()

    def _paint_frame(self, painter: QPainter, *, lit: bool) -> None:
        colours = self.palette()
        focused = self.hasFocus() and self.isEnabled()
        strong = colours.color(QPalette.ColorRole.Highlight)
        edge = colours.color(
            QPalette.ColorRole.Dark if self.isEnabled() else QPalette.ColorRole.Mid
        )
        pen = QPen(strong if focused or lit else edge, 2.0 if focused or self._chosen else 1.0)
        painter.setPen(pen)
        painter.setBrush(
            colours.brush(QPalette.ColorRole.AlternateBase if lit else QPalette.ColorRole.Button)
        )
        painter.drawRoundedRect(self.rect().adjusted(1, 1, -1, -1), theme.RADIUS, theme.RADIUS)

    def _paint_words(self, painter: QPainter, *, lit: bool) -> None:
        colours = self.palette()
        ink = colours.color(QPalette.ColorRole.ButtonText)
        muted = ink if lit else colours.color(QPalette.ColorRole.PlaceholderText)
        small = QFontMetrics(self._small()).height()
        left = _PAD + self._key_width()
        inner = QRect(left, 0, max(1, self.width() - left - _PAD), 0)
        text_high = _wrapped(self._bold(), self.text(), inner.width())
        means_high = _wrapped(self._small(), self._means, inner.width()) + 2 if self._means else 0
        key_high = small if self._stacked and self._key else 0
        top = (self.height() - text_high - means_high - key_high) // 2
        align = Qt.AlignmentFlag.AlignHCenter if self._stacked else Qt.AlignmentFlag.AlignLeft
        painter.setPen(muted)
        painter.setFont(self._small())
        if self._stacked:
            painter.drawText(QRect(0, top, self.width(), small), align, self._key)
        elif self._key:
            badge = QRect(_PAD, top, small, text_high)
            painter.drawText(badge, Qt.AlignmentFlag.AlignVCenter, self._key)
        if self._means:
            box = QRect(left, top + key_high + text_high + 2, inner.width(), means_high)
            painter.drawText(box, align | _WRAP, self._means)
        painter.setPen(ink if self.isEnabled() else muted)
        painter.setFont(self._bold())
        box = QRect(left, top + key_high, inner.width(), text_high)
        painter.drawText(box, align | _WRAP, self.text())

    def _bold(self) -> QFont:
        font = QFont(self.font())
        font.setBold(True)
        return font

    def _small(self) -> QFont:
        font = QFont(self.font())
        body, small = theme.SIZES["body"], theme.SIZES["small"]
        font.setPixelSize(max(1, round(self.font().pixelSize() * small / body)))
        return font

    def _key_width(self) -> int:
        if self._stacked or not self._key:
            return 0
        return QFontMetrics(self._small()).horizontalAdvance("0") + _PAD


def _wrapped(font: QFont, text: str, width: int) -> int:
    box = QFontMetrics(font).boundingRect(QRect(0, 0, width, 10_000), _WRAP, text)
    return box.height()
