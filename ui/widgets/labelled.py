"""A label above what it names."""

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from ui.widgets.text import Words


class Labelled(QWidget):
    """A field with its name above it; both are one for a screen reader.

    Parameters
    ----------
    name : str
    about : str
        What else there is to know, as tip and spoken description.
    field : QWidget
    lines : int
        As wide as so many lines of text are high, where there is room.
    """

    def __init__(self, name: str, about: str, field: QWidget, *, lines: int) -> None:
        super().__init__()
        self._lines = lines
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.label = Words(name)
        self.label.setBuddy(field)
        field.setAccessibleName(name)
        field.setAccessibleDescription(about)
        field.setToolTip(about)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addStretch(1)  # beside a name of two lines the fields stay on one level
        column.addWidget(self.label)
        column.addWidget(field)

    def sizeHint(self) -> QSize:
        return QSize(self._lines * self.fontMetrics().height(), super().sizeHint().height())
