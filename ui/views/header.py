"""The line on top of the window: whose case it is, whether it is saved, and the menu."""

from typing import get_args

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QMenu,
    QPushButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from ui import messages, theme
from ui.actions import Actions
from ui.views.rooms import Room
from ui.widgets.text import Words

ROOMS: tuple[Room, ...] = get_args(Room)
_ROOMY_LINES, _ROOMIEST_LINES = 46, 60  # for the rooms, and for all buttons


class Header(QFrame):
    """Name of the program, name of the case, state of saving, and the actions."""

    def __init__(self, actions: Actions, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        theme.mark(self, kind="band")
        self.title = Words("", weight="bold")
        self.title.setAlignment(Qt.AlignmentFlag.AlignVCenter)
        self.said = Words("", role="small", tone="muted")
        self.said.setAlignment(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight)
        self.saved = Words("", role="small", tone="muted")
        self.saved.setAlignment(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight)
        row = QHBoxLayout(self)
        row.setContentsMargins(3 * theme.STEP, theme.STEP // 2, 2 * theme.STEP, theme.STEP // 2)
        row.setSpacing(theme.STEP)
        row.addWidget(Words("Pull Once", role="lead", tone="accent", weight="bold", wrap=False))
        row.addSpacing(theme.STEP)
        self.rooms = {name: _room_button(actions, name) for name in ROOMS}
        for room in self.rooms.values():
            row.addWidget(room)
        row.addSpacing(theme.STEP)
        row.addWidget(self.title, 3)
        states = QVBoxLayout()
        states.setSpacing(0)
        states.addWidget(self.saved)
        states.addWidget(self.said)
        row.addLayout(states, 2)
        self._buttons = [_button(actions, name) for name in ("undo", "redo", "intake")]
        for button in self._buttons:
            row.addWidget(button)
        self.menu_button = QPushButton("&Menu")
        theme.mark(self.menu_button, kind="quiet")
        self._menu = _menu(actions, self)
        self.menu_button.clicked.connect(lambda _=False: self.open_menu())
        row.addWidget(self.menu_button)

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        self.arrange()

    def arrange(self) -> None:
        """Leave the buttons to the menu where there is no room for them."""
        lines = self.width() / self.fontMetrics().height()
        for room in self.rooms.values():
            room.setVisible(lines >= _ROOMY_LINES)
        for button in self._buttons:
            button.setVisible(lines >= _ROOMIEST_LINES)

    def say(self, sentence: str) -> None:
        """Say something in passing."""
        self.said.setText(sentence)
        self.said.setVisible(bool(sentence))

    def open_menu(self) -> None:
        """Open the menu below its button."""
        corner = self.menu_button.mapToGlobal(self.menu_button.rect().bottomRight())
        corner.setX(corner.x() - self._menu.sizeHint().width())
        self._menu.popup(corner)

    def show_room(self, room: Room) -> None:
        """Mark the room that is shown."""
        for name, button in self.rooms.items():
            button.setChecked(name == room)
            here = ", shown now" if name == room else ""
            button.setAccessibleName(f"{button.text()}{here}")

    def show_case(self, title: str) -> None:
        """Show whose case it is."""
        self.title.setText(title or messages.UNNAMED)

    def show_saved(self, *, saved: bool, waits: bool, trouble: str) -> None:
        """Show in words whether everything is on disk, and in the store."""
        if trouble:
            self.saved.setText(f"{messages.SAVING_FAILED}: see below")
        elif waits:
            self.saved.setText(messages.WAITS)
        else:
            self.saved.setText(messages.SAVED if saved else messages.NEW_CASE)
        self.saved.set_tone("stop" if trouble else "caution" if waits else "muted")


def _button(actions: Actions, name: str) -> QToolButton:
    button = QToolButton()
    button.setDefaultAction(actions[name])
    button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
    button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    button.setAccessibleName(actions[name].text())
    return button


def _room_button(actions: Actions, name: Room) -> QPushButton:
    """Give the button of a room; a tool button would lose its mark to its action."""
    action = actions[name]
    button = QPushButton(action.text())
    button.setCheckable(True)
    button.setToolTip(action.toolTip())
    button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    button.clicked.connect(lambda _=False: action.trigger())
    theme.mark(button, kind="quiet")
    return button


def _menu(actions: Actions, parent: QWidget) -> QMenu:
    menu = QMenu(parent)
    for i, group in enumerate(actions.groups().values()):
        if i:
            menu.addSeparator()
        menu.addActions(group)
    return menu
