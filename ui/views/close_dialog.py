"""Closing a case: what was found, how surely, how many hours, and a word why."""

from PySide6.QtCore import QModelIndex, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import QWidget

from diagnose.case import spent
from diagnose.sentences import chance_words, counts, hours
from ui.closing import SURE, Ending, Sure, hours_typed, names_of, suggested
from ui.models.rows import KEY, RowsModel
from ui.search import Index
from ui.session import Session
from ui.views.parts import labelled, sentence
from ui.views.search_box import Rows, SearchBox
from ui.widgets.field import Field, TextField
from ui.widgets.panel_dialog import PanelDialog
from ui.widgets.rows import Ranked, RowView
from ui.widgets.switch import Switch
from ui.widgets.text import Words

_KEYS: dict[Sure, str] = {
    "part seen": "&1  ",
    "complaint gone": "&2  ",
    "customer silent": "&3  ",
    "not confirmed": "&4  ",
}
_MANY = "Any of these fits; Delete takes the marked one out."
_NONE = "Nothing yet: search for it above."
_NO_CAUSE = "Say what was found: search for a cause and take it with Enter."
_NO_HOURS = "Write the hours as a number, such as 4.5, or minutes as “40 min”."
_MOST_FOUND = 12


class CloseDialog(PanelDialog):
    """Asks how the case ended.

    Signals
    -------
    closed(object)
        The `Ending` that was told.
    reopened
        The case goes on.
    """

    closed = Signal(object)
    reopened = Signal()

    def __init__(self, session: Session, parent: QWidget) -> None:
        super().__init__("Close the case", parent)
        self._session = session
        case, base = session.case, session.base
        standing = None if session.busy else session.standing
        assessment = None if standing is None else standing.assessment
        self._chances = {} if assessment is None else {c.id: c.p for c in assessment.causes}
        told = suggested(base, case, assessment)
        self._index = Index({c.id: (c.name, c.about) for c in base.causes.values()})
        self._keys: list[str] = list(told.causes)
        self.column.addWidget(Words("How did it end?", role="title", weight="bold"))
        self._ask_what()
        self._ask_how_surely(told.sure)
        self._ask_the_rest(told)
        self._add_buttons(closed=case.found is not None)
        self._show_found()
        self._say_means()
        self.search.refresh()
        self.search.field.textChanged.connect(lambda _typed: self._show_list())
        first = self.take if self._keys else self.search.field
        first.setFocus(Qt.FocusReason.OtherFocusReason)

    def _ask_what(self) -> None:
        self.search = SearchBox("&What was found", self._find)
        self.search.view.setFixedHeight(8 * self.fontMetrics().height())
        self.search.picked.connect(lambda key, _shifted: self._take(key))
        self.search.passed.connect(self._on_passed)
        self._many = Words(_NONE, tone="muted")
        self._model = RowsModel(self)
        self.found = _Found()
        self.found.setModel(self._model)
        self.found.taken_out.connect(self._take_out)
        for widget in (self.search, self._many, self.found):
            self.column.addWidget(widget)

    def _ask_how_surely(self, sure: str) -> None:
        choices = [(key, _KEYS[key] + name) for key, name, _ in SURE]
        self.sure = Switch("How surely", choices, most=2)
        self.sure.set_value(sure)
        self._means = Words("", role="small", tone="muted")
        self.sure.changed.connect(lambda _key: self._say_means())
        self.column.addWidget(self.sure)
        self.column.addWidget(self._means)

    def _ask_the_rest(self, told: Ending) -> None:
        self.hours = Field()
        self.hours.setText(f"{told.hours:.2f}".rstrip("0").rstrip(".") + " h")
        sum_ = spent(self._session.case)
        counted = hours(sum_) if sum_ > 0.0 else "nothing"
        about = f"Counted so far: {counted}. Correct it if the job card says otherwise."
        self.why = TextField()
        self.why.setPlainText(told.why)
        self.why.setFixedHeight(4 * self.fontMetrics().height())
        self.trouble = Words("", tone="stop", weight="bold")
        self.trouble.say("")
        word = "Wh&y (a word for whoever has this next)"
        for widget in (
            labelled("&Hours in all", about, self.hours, lines=12),
            Words(about, role="small", tone="muted"),
            labelled(word, "What showed it", self.why, lines=20),
            self.trouble,
        ):
            self.column.addWidget(widget)
        self.column.addStretch(1)

    def _add_buttons(self, *, closed: bool) -> None:
        if closed:
            again = self.add_button("&Open it again")
            again.clicked.connect(lambda _=False: self._on_reopened())
        self.buttons.addStretch(1)
        leave = self.add_button("Not yet (Esc)")
        leave.clicked.connect(self.reject)
        self.take = self.add_button("&Close the case", kind="primary")
        self.take.clicked.connect(lambda _=False: self._on_taken())

    def ending(self) -> Ending | None:
        """What is told so far; None where something is missing, which is said then."""
        spent_ = hours_typed(self.hours.text())
        if not self._keys or spent_ is None:
            self.trouble.say(_NO_HOURS if self._keys else _NO_CAUSE)
            (self.hours if self._keys else self.search.field).setFocus()
            return None
        sure = next(key for key, _, _ in SURE if key == self.sure.value)
        return Ending(tuple(self._keys), sure, spent_, self.why.toPlainText().strip()[:2000])

    def _find(self, typed: str) -> Rows:
        base = self._session.base
        order = self._index.find(typed) if typed.strip() else list(self._chances)
        return [
            (name, Ranked(sentence(base.causes[name].name), self._chance(name)))
            for name in order[:_MOST_FOUND]
            if name in base.causes
        ]

    def _chance(self, name: str) -> str:
        p = self._chances.get(name)
        if p is None:
            return "ruled out by the set-up as told" if self._chances else "not weighed"
        return f"by the answers: {chance_words(p)}, {counts(p)}"

    def _take(self, key: str) -> None:
        if key not in self._keys:
            self._keys.append(key)
        self.trouble.say("")
        self._show_found()

    def _take_out(self, key: str) -> None:
        self._keys.remove(key)
        self._show_found()
        if not self._keys:
            self.search.field.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_found(self) -> None:
        names = names_of(self._session.base, self._keys)
        pairs = zip(self._keys, names, strict=True)
        rows = [(key, Ranked(sentence(name), self._chance(key))) for key, name in pairs]
        self._model.set_rows(rows)
        self._many.setText(_MANY if rows else _NONE)
        self.found.setVisible(bool(rows))
        self.found.setFixedHeight(max(1, self.found.content_height()))
        self._show_list()

    def _show_list(self) -> None:
        """List causes to choose from while one is wanted, and leave the room to the rest then."""
        self.search.view.setVisible(bool(self.search.field.text()) or not self._keys)

    def _say_means(self) -> None:
        means = next((text for key, _, text in SURE if key == self.sure.value), "")
        self._means.setText(sentence(means) + "." if means else "")

    def _on_passed(self) -> None:
        if self._keys:
            self.sure.buttons[self.sure.value].setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_taken(self) -> None:
        ending = self.ending()
        if ending is not None:
            self.accept()
            self.closed.emit(ending)

    def _on_reopened(self) -> None:
        self.accept()
        self.reopened.emit()

    def showEvent(self, event: QShowEvent, /) -> None:
        super().showEvent(event)
        QTimer.singleShot(0, self, self.fit)  # by then the rows know how wide they are

    def fit(self) -> None:
        self.found.setFixedHeight(max(1, self.found.content_height()))
        super().fit()


class _Found(RowView):
    """What was found; Delete takes the marked cause out."""

    taken_out = Signal(str)

    def __init__(self) -> None:
        super().__init__("What was found", least=1)

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        index: QModelIndex = self.currentIndex()
        if Qt.Key(event.key()) in {Qt.Key.Key_Delete, Qt.Key.Key_Backspace} and index.isValid():
            self.taken_out.emit(index.data(KEY))
        else:
            super().keyPressEvent(event)
