"""Why this step: the reasons, what each answer leads to, the runners-up, and pull or not."""

from PySide6.QtCore import QModelIndex, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QScrollArea, QWidget

from diagnose.advice_words import (
    flip_words,
    flips_line,
    gap_line,
    limit_line,
    money_line,
    outcome_words,
    step_lines,
    step_title,
)
from diagnose.planning.record import Advice, Option
from diagnose.sentences import verdict
from ui.models.options import OptionModel
from ui.models.rows import KEY, RowsModel
from ui.session import Session
from ui.views.panels import EntryList
from ui.views.parts import clear, dotted, sentence
from ui.weighing import Standing
from ui.widgets.panel_dialog import PanelDialog
from ui.widgets.rows import Ranked
from ui.widgets.text import Words, heading

_LINES_WIDE, _LINES_HIGH = 46, 44
_FIRST = "These are first figures; the plan is still being followed further."
_NOT_FOLLOWED = "What its answers lead to was not worked out: it is too far behind the best."
_WAIT = "What its answers lead to is still being worked out."


class AdviceDialog(PanelDialog):
    """Accounts for the step on the card; a runner-up is taken to the card by Enter.

    Signals
    -------
    chosen(str, str)
        Kind and id of the runner-up the user wants on the card.
    """

    chosen = Signal(str, str)

    def __init__(self, session: Session, shown: tuple[str, str] | None, parent: QWidget) -> None:
        super().__init__("Why this step", parent)
        self._session = session
        self._shown = shown
        self._area = self.findChildren(QScrollArea)[0]
        self.outcomes = EntryList("What each answer leads to")
        self.runners = EntryList("Others from here")
        self._outcomes, self._runners = RowsModel(self), OptionModel(self)
        self.outcomes.setModel(self._outcomes)
        self.runners.setModel(self._runners)
        self.runners.opened.connect(self._on_runner)
        for view in (self.outcomes, self.runners):
            marks = view.selectionModel()
            marks.currentChanged.connect(lambda row, _old, v=view: self._show_row(v, row))
        self.buttons.addStretch(1)
        close = self.add_button("&Close (Esc)", kind="primary")
        close.clicked.connect(self.reject)
        close.setDefault(True)
        session.advice_changed.connect(self.refresh)
        session.case_changed.connect(self.reject)
        self.refresh()
        close.setFocus(Qt.FocusReason.OtherFocusReason)

    def refresh(self) -> None:
        """Show what is known of the step by now, keeping the marked rows and the focus."""
        standing = self._session.standing
        if standing is None:
            return
        focus = next((v for v in (self.outcomes, self.runners) if v.hasFocus()), None)
        for view in (self.outcomes, self.runners):
            self.column.removeWidget(view)
        clear(self.column)
        advice = standing.advice
        option = next((o for o in advice.options if (o.kind, o.id) == self._shown), None)
        self._say_why(standing, option)
        self._say_outcomes(advice, option)
        self._say_pull(standing)
        self._say_runners(advice, option)
        self._say_rest(standing)
        self.column.addStretch(1)
        if focus is not None:
            focus.setFocus(Qt.FocusReason.OtherFocusReason)
        self._fit_lists()

    def _say_why(self, standing: Standing, option: Option | None) -> None:
        self.column.addWidget(heading("Why this step"))
        if option is not None:
            self._say(step_title(option), role="title", weight="bold")
        for line in step_lines(standing.assessment, standing.advice, option):
            self._say(line)
        if not standing.advice.refined:
            self._say(_FIRST, tone="muted")

    def _say_outcomes(self, advice: Advice, option: Option | None) -> None:
        outcomes = () if option is None else option.outcomes
        told = [outcome for outcome in outcomes if outcome.text]
        rows = [
            (outcome.answer, Ranked(sentence(outcome.text), outcome_words(outcome), outcome.p))
            for outcome in told
        ]
        self._outcomes.set_rows(rows)
        self.outcomes.setVisible(bool(rows))
        if option is None or (option.kind not in {"ask", "check"} and not rows):
            return
        self.column.addWidget(heading("What each answer leads to"))
        if rows:
            self.column.addWidget(self.outcomes)
        else:
            self._say(_NOT_FOLLOWED if advice.refined else _WAIT, tone="muted")

    def _say_runners(self, advice: Advice, option: Option | None) -> None:
        self._runners.show(self._session.base, advice, option)
        self.runners.setVisible(self._runners.rowCount() > 0)
        if self._runners.rowCount():
            self.column.addWidget(heading("Others from here: Enter takes one to the card"))
            self.column.addWidget(self.runners)

    def _say_pull(self, standing: Standing) -> None:
        self.column.addWidget(heading("Pull or not"))
        self._say(". ".join(verdict(standing.assessment, standing.advice)))
        if standing.advice.flips:
            self._say(flips_line(standing.advice))
            self.column.addLayout(dotted(flip_words(flip) for flip in standing.advice.flips))

    def _say_rest(self, standing: Standing) -> None:
        advice = standing.advice
        limit, gap = limit_line(self._session.case, advice), gap_line(advice)
        cost = money_line(self._session.case, advice)
        for name, text in (("Left today", limit), ("How good the plan is", gap), ("Money", cost)):
            if text:
                self.column.addWidget(heading(name))
                self._say(text)

    def _say(self, text: str, *, role: str = "body", tone: str = "", weight: str = "") -> None:
        self.column.addWidget(Words(text, role=role, tone=tone, weight=weight))

    def showEvent(self, event: QShowEvent, /) -> None:
        super().showEvent(event)
        self._fit_lists()

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        self._fit_lists()

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        share = {Qt.Key.Key_PageDown: 1, Qt.Key.Key_PageUp: -1}.get(Qt.Key(event.key()))
        if share is None:
            super().keyPressEvent(event)
            return
        bar = self._area.verticalScrollBar()
        bar.setValue(bar.value() + share * bar.pageStep())

    def _show_row(self, view: EntryList, row: QModelIndex) -> None:
        """Bring a marked row into sight: the lists are whole, and only the page scrolls."""
        page = self._area.widget()
        if view.hasFocus() and row.isValid() and page is not None:
            box = view.visualRect(row)
            middle = view.mapTo(page, box.center())
            self._area.ensureVisible(middle.x(), middle.y(), 0, box.height())

    def _fit_lists(self) -> None:
        """Make the lists as high as their rows: only the page scrolls."""
        for view in (self.outcomes, self.runners):
            view.setFixedHeight(max(1, view.content_height()))

    def _wanted(self, line: int) -> QSize:
        usual = super()._wanted(line)
        return QSize(max(usual.width(), _LINES_WIDE * line), _LINES_HIGH * line)

    def _on_runner(self, index: QModelIndex) -> None:
        self._take(*index.data(KEY))

    def _take(self, kind: str, name: str) -> None:
        self.accept()
        self.chosen.emit(kind, name)
