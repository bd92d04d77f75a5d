"""Last page of the intake: how far the vehicle is taken apart now."""

from PySide6.QtCore import QModelIndex, Qt

from diagnose.access import access_for
from diagnose.sentences import hours
from ui.models.rows import KEY, RowsModel
from ui.session import Session
from ui.views.intake_page import IntakePage
from ui.views.panels import EntryList
from ui.widgets.rows import Ranked


class StandsPage(IntakePage):
    """The levels, from the seat inwards."""

    def __init__(self, session: Session) -> None:
        super().__init__(
            session,
            "Where can you work now?",
            "As the vehicle stands, without taking anything further apart.",
        )
        self._model = RowsModel(self)
        self.levels = EntryList("Where you can work now", least=16)
        self.levels.setModel(self._model)
        self.levels.opened.connect(self._on_opened)
        self.column.addWidget(self.levels, 1)

    def refresh(self) -> None:
        case, base = self.session.case, self.session.base
        down = access_for(base, case).down
        rows = []
        for (key, level), more in zip(base.levels.items(), down, strict=True):
            note, sign = ("now", "good") if key == case.stands else ("", "")
            name = level.name[:1].upper() + level.name[1:]
            words = (
                f"{hours(more)} to get here from the line above" if more else "nothing to take off"
            )
            rows.append((key, Ranked(name, words, note=note, sign=sign)))
        self._model.set_rows(rows)
        marked = self._model.row_of(case.stands)
        self.levels.setCurrentIndex(self._model.index(max(0, marked), 0))

    def take_focus(self) -> None:
        self.levels.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_opened(self, index: QModelIndex) -> None:
        level = index.data(KEY)
        if level == self.session.case.stands:
            self.passed.emit()
        else:
            self.session.change(self.session.case.with_stands(level), "where you can work")
