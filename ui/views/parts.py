"""Small pieces that several views are made of."""

from collections.abc import Callable, Iterable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from ui import theme
from ui.widgets.labelled import Labelled
from ui.widgets.text import Words


def sentence(text: str) -> str:
    """Give a text with a capital letter in front."""
    return text[:1].upper() + text[1:]


def quiet_button(text: str, handler: Callable[[], None]) -> QPushButton:
    """Give a button that stands back behind the answers."""
    button = QPushButton(text)
    theme.mark(button, kind="quiet")
    button.clicked.connect(lambda _=False: handler())
    return button


def labelled(name: str, about: str, field: QWidget, *, lines: int) -> Labelled:
    """Give a field below its name, whose mnemonic leads to it."""
    made = Labelled(name, about, field, lines=lines)
    made.label.setTextFormat(Qt.TextFormat.AutoText)  # plain text shows the mnemonic's sign
    field.setAccessibleName(name.replace("&", ""))
    return made


def numbered(steps: tuple[str, ...]) -> QGridLayout:
    """Lay out a text to be read at arm's length, numbered where it has several steps."""
    grid = QGridLayout()
    grid.setHorizontalSpacing(theme.STEP)
    grid.setVerticalSpacing(theme.STEP // 2)
    grid.setColumnStretch(1, 1)
    for i, step in enumerate(steps):
        if len(steps) > 1:
            number = Words(str(i + 1), role="lead", tone="accent", weight="bold", wrap=False)
            grid.addWidget(number, i, 0, Qt.AlignmentFlag.AlignTop)
        grid.addWidget(Words(step, role="lead"), i, 1)
    return grid


def dotted(lines: Iterable[str]) -> QGridLayout:
    """Lay out a list of points."""
    grid = QGridLayout()
    grid.setHorizontalSpacing(theme.STEP)
    grid.setVerticalSpacing(theme.STEP // 2)
    grid.setColumnStretch(1, 1)
    for i, line in enumerate(lines):
        grid.addWidget(Words("•", tone="accent", wrap=False), i, 0, Qt.AlignmentFlag.AlignTop)
        grid.addWidget(Words(line), i, 1)
    return grid


def clear(layout: QVBoxLayout | QHBoxLayout | QGridLayout) -> None:
    """Take everything out of a layout."""
    while layout.count():
        item = layout.takeAt(0)
        if item is None:
            return
        widget, inner = item.widget(), item.layout()
        if widget is not None:
            widget.hide()
            widget.deleteLater()
        elif isinstance(inner, QVBoxLayout | QHBoxLayout | QGridLayout):
            clear(inner)
