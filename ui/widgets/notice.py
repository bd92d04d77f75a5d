"""A notice with sign, word and text: the tone is never told by colour alone."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from ui import theme
from ui.widgets.sign import Sign
from ui.widgets.text import Words

_WORDS = {"caution": "Caution", "stop": "Stop", "good": "Found"}


class Notice(QFrame):
    """A box that says one thing, or several of the same tone.

    Parameters
    ----------
    tone : str
        ``caution``, ``stop`` or ``good``.
    texts : sequence of str
        One line or more each.
    word : str, optional
        The word beside the sign, if it is not the tone's own.
    """

    def __init__(
        self, tone: str, *texts: str, word: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        theme.mark(self, kind="notice", tone=tone)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        sign = Sign(tone)
        theme.mark(sign, tone=tone, role="body")
        name = Words(word or _WORDS[tone], tone=tone, weight="bold", wrap=False)
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 8, 12, 8)
        row.setSpacing(8)
        row.addWidget(sign, 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(name, 0, Qt.AlignmentFlag.AlignTop)
        lines = QVBoxLayout()
        lines.setSpacing(4)
        for text in texts:
            lines.addWidget(Words(text))
        row.addLayout(lines, 1)
        self.setAccessibleName(f"{name.text()}: {' '.join(texts)}")
