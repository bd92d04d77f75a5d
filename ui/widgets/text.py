"""Words on the screen: labels that wrap, headings, hairlines."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QLabel, QSizePolicy, QWidget

from ui import theme

_LINE_LENGTH = 75  # characters


class Words(QLabel):
    """A text that wraps, is plain, and grows downwards as it needs.

    Parameters
    ----------
    text : str
    role, tone, weight : str
        As the theme knows them; the text's own size and colour if left out.
    wrap : bool
        Whether it may take several lines.
    parent : QWidget, optional
    """

    def __init__(
        self,
        text: str = "",
        *,
        role: str = "body",
        tone: str = "",
        weight: str = "",
        wrap: bool = True,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(text, parent)
        self._spare = 0
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(wrap)
        self.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        if not wrap:
            self.setAlignment(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        across = QSizePolicy.Policy.Expanding if wrap else QSizePolicy.Policy.Minimum
        # "Minimum" would hold it to the height of its hint, which is for another width.
        down = QSizePolicy.Policy.Preferred if wrap else QSizePolicy.Policy.Minimum
        policy = QSizePolicy(across, down)
        policy.setHeightForWidth(wrap)
        self.setSizePolicy(policy)
        theme.mark(self, role=role, tone=tone, weight=weight)

    def heightForWidth(self, width: int, /) -> int:
        return super().heightForWidth(min(width, self._limit()) + self._spare)

    def sizeHint(self) -> QSize:
        return super().sizeHint() - QSize(self._spare, 0)

    def minimumSizeHint(self) -> QSize:
        return super().minimumSizeHint() - QSize(self._spare, 0)

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        spare = max(0, self.width() - self._limit())
        if self.wordWrap() and self._spare != spare:
            self._spare = spare  # first: the margins send another resize event
            self.setContentsMargins(0, 0, spare, 0)

    def _limit(self) -> int:
        """The width of the longest line that reads well."""
        if not self.wordWrap() or self.alignment() & Qt.AlignmentFlag.AlignRight:
            return 10_000
        return _LINE_LENGTH * self.fontMetrics().averageCharWidth()

    def say(self, text: str) -> None:
        """Show another text; an empty one takes no room."""
        self.setText(text)
        self.setVisible(bool(text))

    def set_tone(self, tone: str) -> None:
        """Show it in another tone; an empty one is the plain ink."""
        if self.property("tone") != tone:
            self.setProperty("tone", tone)
            theme.mark(self)


def heading(text: str) -> Words:
    """Give the head of a panel."""
    return Words(text.upper(), role="small", tone="muted", weight="bold", wrap=False)


def hairline() -> QFrame:
    """Give a thin line across."""
    line = QFrame()
    line.setFixedHeight(1)
    theme.mark(line, kind="line")
    return line
