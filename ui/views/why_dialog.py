"""Why a cause stands where it does, how to prove it, and how it is put right."""

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from diagnose.assess import Assessment
from diagnose.explain import Explanation, Weight
from diagnose.sentences import chance_words, counts, explanation_lines, hours, statement
from ui import theme
from ui.session import Session
from ui.views.parts import sentence
from ui.widgets.balance import Balance
from ui.widgets.panel_dialog import PanelDialog
from ui.widgets.text import Words, hairline, heading

_LEAST_FULL_BAR = 5.0  # decibans: where every answer says little, no bar looks like much


class WhyDialog(PanelDialog):
    """Accounts for one cause.

    Signals
    -------
    repair_wanted(str)
        Id of the cause the user wants to put right.
    page_wanted(str, str)
        Kind and id of the record whose page of the handbook the user wants.
    """

    repair_wanted = Signal(str)
    page_wanted = Signal(str, str)

    def __init__(self, session: Session, cause: str, parent: QWidget) -> None:
        record = session.base.causes[cause]
        super().__init__(f"Why: {record.name}", parent)
        standing = session.standing
        if standing is None:
            raise ValueError(cause)
        self._assessment: Assessment = standing.assessment
        chance = self._assessment.cause(cause)
        self.column.addWidget(heading("Why this cause"))
        self.column.addWidget(Words(sentence(record.name), role="title", weight="bold"))
        said = f"{chance_words(chance.p)}, {counts(chance.p)}"
        self.column.addWidget(Words(said, role="lead", tone="accent"))
        self._account = QVBoxLayout()
        self._account.setSpacing(theme.STEP)
        self._waiting = Words("Working it out …", tone="muted")
        self._account.addWidget(self._waiting)
        self.column.addLayout(self._account)
        self.column.addWidget(hairline())
        designed = record.kind == "designed"
        level = sentence(session.base.levels[record.repair.from_].name)
        how = f"{record.repair.do} {level}, {hours(record.repair.hours)}."
        for title, text in (
            ("How to prove it", record.prove),
            ("What to do" if designed else "How it is put right", how),
            ("Before it closes", record.before_closing),
            ("How it comes about", record.about),
            ("Next time", record.next_time),
        ):
            if text:
                self.column.addWidget(heading(title))
                self.column.addWidget(Words(text))
        self.column.addStretch(1)
        self._add_buttons(cause, "&Explain this" if designed else "&Put this right")
        self.finished.connect(lambda _: session.drop_explanation())
        session.explain(cause, self.show_account)

    def _add_buttons(self, cause: str, mending: str) -> None:
        mend = self.add_button(mending)
        mend.clicked.connect(lambda _=False: self._on_mend(cause))
        page = self.add_button("&Handbook page", kind="quiet")
        page.clicked.connect(lambda _=False: self._on_page(cause))
        self.buttons.addStretch(1)
        close = self.add_button("&Close (Esc)", kind="primary")
        close.clicked.connect(self.reject)
        close.setDefault(True)
        close.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_mend(self, cause: str) -> None:
        self.accept()
        self.repair_wanted.emit(cause)

    def _on_page(self, cause: str) -> None:
        self.accept()
        self.page_wanted.emit("causes", cause)

    def show_account(self, explanation: Explanation) -> None:
        """Show the account once it has been worked out."""
        self._waiting.hide()
        weighed = []
        for line in explanation_lines(self._assessment, explanation):
            weight = self._weight(line, explanation)
            if weight is None:
                self._account.addWidget(Words(line))
            else:
                weighed.append((line, weight.left_out))
        if weighed:
            self._account.addWidget(heading("What speaks against it, and what for it"))
            self._account.addLayout(_balance(weighed))
        QTimer.singleShot(0, self, self.fit)  # what was added takes room from the next event on

    def _weight(self, line: str, explanation: Explanation) -> Weight | None:
        """Find the answer that a sentence of the account speaks of."""
        for weight in explanation.weights:
            said = statement(self._assessment, weight.key)
            if line.startswith(f"“{said[:1].upper()}{said[1:]}”"):
                return weight
        return None


def _balance(weighed: list[tuple[str, float]]) -> QGridLayout:
    """Sentences with a bar each; the longest bar is the weightiest answer's."""
    grid = QGridLayout()
    grid.setHorizontalSpacing(2 * theme.STEP)
    grid.setVerticalSpacing(theme.STEP)
    grid.setColumnStretch(1, 1)
    full = max([_LEAST_FULL_BAR, *(abs(value) for _, value in weighed)])
    for row, (line, value) in enumerate(weighed):
        grid.addWidget(Balance(value / full), row, 0, Qt.AlignmentFlag.AlignTop)
        grid.addWidget(Words(line), row, 1)
    return grid
