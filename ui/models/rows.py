"""Flat lists of frozen rows: the one base of the models, as the views see them."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QAbstractListModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from ui.widgets.rows import ROW, Pair, Ranked

KEY = ROW + 1
_TOP = QModelIndex()


class RowsModel(QAbstractListModel):
    """Rows with a key each; set anew as a whole, since every answer may change every row."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._keys: tuple[Any, ...] = ()
        self._rows: tuple[Ranked | Pair, ...] = ()

    def set_rows(self, keyed: Sequence[tuple[Any, Ranked | Pair]]) -> None:
        """Show other rows; nothing is announced where they are the same."""
        keys = tuple(key for key, _ in keyed)
        rows = tuple(row for _, row in keyed)
        if (keys, rows) != (self._keys, self._rows):
            self.beginResetModel()
            self._keys, self._rows = keys, rows
            self.endResetModel()

    def row_of(self, key: object) -> int:
        """Give the row with a key; -1 if there is none."""
        return self._keys.index(key) if key in self._keys else -1

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex = _TOP, /) -> int:
        return 0 if parent.isValid() else len(self._rows)

    def data(
        self, index: QModelIndex | QPersistentModelIndex, role: int = Qt.ItemDataRole.DisplayRole, /
    ) -> Any:
        if not index.isValid():
            return None
        row = self._rows[index.row()]
        if role == ROW:
            return row
        if role == KEY:
            return self._keys[index.row()]
        if role in {Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole}:
            return row.spoken()
        return None
