"""A few choices as buttons beside each other, of which one holds."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QButtonGroup, QPushButton, QVBoxLayout, QWidget

from ui import theme
from ui.widgets.even_grid import EvenGrid
from ui.widgets.text import Words

_STEPS = {
    Qt.Key.Key_Right: 1,
    Qt.Key.Key_Down: 1,
    Qt.Key.Key_Left: -1,
    Qt.Key.Key_Up: -1,
}


class Switch(QWidget):
    """One of a few choices.

    Parameters
    ----------
    name : str
        What is chosen; shown above the choices.
    choices : sequence of (str, str)
        Key and text of each, with its mnemonic.
    most : int
        At most so many in a row.

    Signals
    -------
    changed(str)
        Key of the choice that the user took.
    """

    changed = Signal(str)

    def __init__(
        self,
        name: str,
        choices: Sequence[tuple[str, str]],
        *,
        most: int = 4,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.buttons: dict[str, QPushButton] = {}
        self._group = QButtonGroup(self)
        grid = EvenGrid(most)
        for key, text in choices:
            button = _Choice(text, self)
            plain = text.replace("&", "")
            button.setAccessibleName(f"{name}: {plain}")
            button.clicked.connect(lambda _=False, taken=key: self._on_clicked(taken))
            self._group.addButton(button)
            self.buttons[key] = button
            grid.add(button)
        self.setAccessibleName(name)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.STEP // 2)
        column.addWidget(Words(name, weight="bold", wrap=False))
        column.addWidget(grid)

    @property
    def value(self) -> str:
        """Key of the choice that holds; empty if none does."""
        return next((key for key, button in self.buttons.items() if button.isChecked()), "")

    def set_value(self, value: str) -> None:
        """Let a choice hold; nobody is told of it."""
        self.buttons[value].setChecked(True)
        self._say()

    def step(self, by: int) -> None:
        """Take the next choice, or the one before."""
        keys = list(self.buttons)
        place = (keys.index(self.value) if self.value else -by) + by
        key = keys[place % len(keys)]
        self.buttons[key].setFocus(Qt.FocusReason.OtherFocusReason)
        self.buttons[key].click()

    def _on_clicked(self, key: str) -> None:
        self._say()
        self.changed.emit(key)

    def _say(self) -> None:
        for button in self.buttons.values():
            button.setAccessibleDescription("chosen" if button.isChecked() else "")


class _Choice(QPushButton):
    """One of the choices; the arrows go on to the others."""

    def __init__(self, text: str, switch: Switch) -> None:
        super().__init__(text)
        self._switch = switch
        self.setCheckable(True)
        self.setAutoDefault(False)

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        step = _STEPS.get(Qt.Key(event.key()))
        if step is None:
            super().keyPressEvent(event)
        else:
            self._switch.step(step)
