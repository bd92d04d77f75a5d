"""The handbook in the window: contents and search on the left, the page on the right."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from diagnose.handbook import Key
from ui import theme
from ui.handbook import FRONT, Handbook
from ui.views.handbook_text import HandbookText
from ui.views.parts import quiet_button
from ui.views.search_box import Rows, SearchBox
from ui.widgets.rows import Ranked
from ui.widgets.text import Words

_WAITING = "Opening the handbook …"
_SHARES = (2, 5)  # of contents and page


class HandbookPage(QWidget):
    """Every record of the base, found by its words and joined to the others by links.

    Signals
    -------
    left
        The user is done here.
    save_wanted
        The user wants the whole as a web page.
    moved
        There may or may not be a page before now.
    """

    left = Signal()
    save_wanted = Signal()
    moved = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._handbook: Handbook | None = None
        self._key: Key = FRONT
        self._before: list[tuple[Key, int]] = []
        self.search = SearchBox("&Search the handbook", self._find, keeps=True)
        self.search.setVisible(False)  # there is nothing to find yet
        self.search.picked.connect(self._on_picked)
        self.search.passed.connect(self._focus_text)
        self.text = HandbookText()
        self.text.wanted.connect(lambda kind, name: self.open((kind, name)))
        self.text.back_wanted.connect(self.back)
        self.back_button = quiet_button("Back (Alt+Left)", self.back)
        self.save_button = quiet_button("Save as a web page …", self.save_wanted.emit)
        self.close_button = quiet_button("Close (Esc)", self.left.emit)
        self._waiting = Words(_WAITING, tone="muted")
        self._lay_out()

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        buttons.setSpacing(theme.STEP)
        buttons.addWidget(self.back_button)
        buttons.addStretch(1)
        buttons.addWidget(self.save_button)
        buttons.addWidget(self.close_button)
        right = QVBoxLayout()
        right.setSpacing(theme.STEP // 2)
        right.addLayout(buttons)
        right.addWidget(self._waiting)
        right.addWidget(self.text, 1)
        row = QHBoxLayout(self)
        margin = 3 * theme.STEP
        row.setContentsMargins(margin, 2 * theme.STEP, margin, theme.STEP)
        row.setSpacing(3 * theme.STEP)
        row.addWidget(self.search, _SHARES[0])
        row.addLayout(right, _SHARES[1])

    @property
    def key(self) -> Key:
        """Kind and id of the page that is shown."""
        return self._key

    @property
    def has_before(self) -> bool:
        """Whether there is a page to go back to."""
        return bool(self._before)

    def set_handbook(self, handbook: Handbook) -> None:
        """Show a handbook, at the page that was asked for."""
        self._handbook = handbook
        self.search.refresh()
        self.search.setVisible(True)
        self._show(self._key)
        if self.isVisible():
            self.take_focus()

    def open(self, key: Key) -> None:
        """Show a page; the one that was shown is the page before."""
        if key != self._key:
            self._before.append((self._key, self.text.verticalScrollBar().value()))
            self._show(key)

    def back(self) -> None:
        """Show the page before, where it was left."""
        if self._before:
            key, place = self._before.pop()
            self._show(key)
            self.text.verticalScrollBar().setValue(place)

    def dress(self, tokens: theme.Tokens, scale: float) -> None:
        """Put on colours and a size of text."""
        self.text.dress(tokens, scale)

    def take_focus(self) -> None:
        """Put the focus where a person starts."""
        self.search.field.setFocus(Qt.FocusReason.OtherFocusReason)
        self.search.field.selectAll()

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def _show(self, key: Key) -> None:
        self._key = key
        if self._handbook is not None:
            self.text.show_page(self._handbook, key)
        self._waiting.setVisible(self._handbook is None)
        self.back_button.setEnabled(self.has_before)
        self.save_button.setEnabled(self._handbook is not None)
        self.moved.emit()

    def _on_picked(self, key: Key, _shifted: bool) -> None:
        self.open(key)
        self._focus_text()

    def _focus_text(self) -> None:
        self.text.setFocus(Qt.FocusReason.OtherFocusReason)

    def _find(self, typed: str) -> Rows:
        if self._handbook is None:
            return []
        return [
            (found.key, Ranked(found.title, found.kind, note=found.count))
            for found in self._handbook.find(typed)
        ]
