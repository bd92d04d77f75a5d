"""What was seen while something else was done: find the check or complaint it answers."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPushButton, QWidget

from diagnose.access import access_for
from diagnose.sentences import hours
from knowledge.tree import share_that_fits
from ui import theme
from ui.search import Index
from ui.session import Session
from ui.views.parts import sentence
from ui.views.search_box import Rows, SearchBox
from ui.widgets.panel_dialog import PanelDialog
from ui.widgets.rows import Ranked
from ui.widgets.text import Words

Key = tuple[str, str]
_TEXT = (
    "Search for what you saw, or for what the driver said. It goes on the card, and its answer "
    "counts no hours."
)


class SawDialog(PanelDialog):
    """Searches all checks, findings and complaints that fit the set-up.

    Signals
    -------
    picked(str, str)
        Kind (``ask``, ``check`` or ``finding``) and id.
    """

    picked = Signal(str, str)

    def __init__(self, session: Session, parent: QWidget) -> None:
        super().__init__("While I was there I saw …", parent)
        self._rows = _rows(session)
        self._index = Index({key: said for key, (said, _) in self._rows.items()})
        self.column.addWidget(Words("While I was there I saw …", role="title", weight="bold"))
        self.column.addWidget(Words(_TEXT, tone="muted"))
        self.search = SearchBox("&What was seen", self._find)
        self.search.view.setMinimumHeight(20 * self.fontMetrics().height())
        self.search.picked.connect(self._on_picked)
        self.column.addWidget(self.search, 1)
        self.buttons.addStretch(1)
        close = self.add_button("&Close (Esc)")
        close.clicked.connect(self.reject)
        self.search.refresh()
        self.search.field.setFocus()

    def _find(self, typed: str) -> Rows:
        order = self._index.find(typed) if typed.strip() else list(self._rows)
        keys = {"/".join(key): key for key in map(_split, order)}
        return [(key, self._rows[name][1]) for name, key in keys.items()]

    def _on_picked(self, key: Key, _shifted: bool) -> None:
        self.accept()
        self.picked.emit(*key)


def _split(name: str) -> Key:
    kind, _, key = name.partition("/")
    return kind, key


def _rows(session: Session) -> dict[str, tuple[tuple[str, ...], Ranked]]:
    """Everything that can be told: what it is found by, and its row; what is near comes first."""
    base, case = session.base, session.case
    access = access_for(base, case)
    here = access.index(case.stands)
    checks = [
        check
        for check in base.checks.values()
        if share_that_fits(base, case.facts, check.when) > 0.0
    ]
    checks.sort(key=lambda check: abs(access.index(check.from_) - here))
    shown_by = {name: check for check in reversed(checks) for name in check.reads()}
    rows: dict[str, tuple[tuple[str, ...], Ranked]] = {}
    for check in checks:
        answers = tuple(answer.text for answer in check.answers)
        words = f"{base.levels[check.from_].name}, {hours(check.minutes / 60.0)}"
        rows[f"check/{check.id}"] = (
            (check.name, check.do, check.yes, *answers),
            Ranked(sentence(check.name), words),
        )
    for name, check in shown_by.items():
        finding = base.findings.get(name)
        if finding is None:  # a check may show what a driver complains of
            continue
        rows[f"finding/{name}"] = (
            (finding.name, finding.absent),
            Ranked(sentence(finding.name), f"seen with: {check.name}"),
        )
    for complaint in base.complaints.values():
        rows[f"ask/{complaint.id}"] = (
            (complaint.name, complaint.ask),
            Ranked(sentence(complaint.name), f"the driver says: {complaint.ask}"),
        )
    return rows


class BySwitch(QWidget):
    """Whether what was found by the search was seen by the way, or is done now.

    Signals
    -------
    changed
    """

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._seen = QPushButton("Seen &by the way")
        self._done = QPushButton("&Done now")
        self._words = Words("", role="small", tone="muted")
        group = QButtonGroup(self)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(theme.STEP)
        for button in (self._seen, self._done):
            button.setCheckable(True)
            theme.mark(button, kind="quiet")
            group.addButton(button)
            button.toggled.connect(self._on_toggled)
            row.addWidget(button)
        row.addWidget(self._words, 1, Qt.AlignmentFlag.AlignVCenter)
        self._costs = ""
        self._seen.setChecked(True)

    @property
    def by_the_way(self) -> bool:
        """Whether it costs nothing and moves nothing."""
        return self._seen.isChecked()

    def ask(self, costs: str) -> None:
        """Begin anew, as seen by the way; `costs` says what doing it would take."""
        self._costs = costs
        self._seen.setChecked(True)
        self._on_toggled()

    def _on_toggled(self) -> None:
        free = "no hours are counted, and the vehicle stays as it stands"
        self._words.setText(free if self.by_the_way else self._costs)
        self.changed.emit()
