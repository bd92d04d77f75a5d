"""All keys on one page."""

from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QGridLayout, QWidget

from ui import theme
from ui.actions import ACTIONS, WIDGET_KEYS, Declared
from ui.widgets.panel_dialog import PanelDialog
from ui.widgets.text import Words, heading


class KeysDialog(PanelDialog):
    """The help page, made of the declared actions."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__("Keys", parent)
        self.column.addWidget(Words("Keys", role="title", weight="bold"))
        groups: dict[str, list[Declared]] = {}
        for declared in ACTIONS.values():
            groups.setdefault(declared.group, []).append(declared)
        for name, actions in groups.items():
            rows = [
                (_keys(a), f"{a.text.rstrip(' …')} - {a.tip[:1].lower()}{a.tip[1:]}")
                for a in actions
            ]
            self._add(name, rows)
        self._add("Everywhere", list(WIDGET_KEYS))
        self.column.addStretch(1)
        self.buttons.addStretch(1)
        close = self.add_button("&Close (Esc)", kind="primary")
        close.clicked.connect(self.reject)
        close.setDefault(True)

    def _add(self, name: str, rows: list[tuple[str, str]]) -> None:
        self.column.addWidget(heading(name))
        grid = QGridLayout()
        grid.setHorizontalSpacing(3 * theme.STEP)
        grid.setVerticalSpacing(theme.STEP // 2)
        grid.setColumnStretch(0, 1)
        grid.setColumnStretch(1, 3)
        for row, (keys, text) in enumerate(rows):
            grid.addWidget(Words(keys, weight="bold"), row, 0)
            grid.addWidget(Words(text), row, 1)
        self.column.addLayout(grid)


def _keys(declared: Declared) -> str:
    native = QKeySequence.SequenceFormat.NativeText
    return " or ".join(QKeySequence(key).toString(native) for key in declared.keys)
