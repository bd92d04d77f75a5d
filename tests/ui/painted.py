"""What a widget paints as words, and whether each has the room it needs."""

from typing import NamedTuple

from PySide6.QtCore import QRectF
from PySide6.QtGui import QFont, QFontMetricsF, QPainter


class Painted(NamedTuple):
    """Words, the box they were painted into, and how."""

    text: str
    box: QRectF
    flags: int
    font: QFont

    @property
    def needed(self):
        """The box that the words take."""
        return QFontMetricsF(self.font).boundingRect(self.box, self.flags, self.text)

    @property
    def is_cut(self):
        """Whether they reach beyond their box or end in dots."""
        return self.text.endswith("…") or not self.box.adjusted(-1, -1, 1, 1).contains(self.needed)


def words_painted(monkeypatch, module, widget):
    """Paint a widget whose module draws all its words into boxes; give them."""
    seen = []

    class Recorder(QPainter):
        def drawText(self, box, flags, text):
            seen.append(Painted(text, QRectF(box), int(flags), QFont(self.font())))
            super().drawText(box, flags, text)

    with monkeypatch.context() as patch:
        patch.setattr(module, "QPainter", Recorder)
        widget.grab()
    return seen


def overlapping(words):
    """Pairs of words that are painted over each other."""
    return [
        (one.text, other.text)
        for i, one in enumerate(words)
        for other in words[i + 1 :]
        if one.needed.adjusted(1, 1, -1, -1).intersects(other.needed.adjusted(1, 1, -1, -1))
    ]
