"""Third page of the intake: what the driver says, in their words and in ours."""

from PySide6.QtCore import QEvent, QModelIndex, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout

from knowledge.model import Complaint
from ui import moves, theme
from ui.models.rows import KEY, RowsModel
from ui.search import Index
from ui.session import Session
from ui.views.intake_page import IntakePage
from ui.views.parts import sentence
from ui.views.search_box import Rows, SearchBox
from ui.widgets.field import TextField
from ui.widgets.rows import Ranked, RowView
from ui.widgets.text import Words, heading

_GRADES = ("yes", "probably")
_KEEPING = {Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space}


class _Chosen(RowView):
    """The complaints noted: Enter changes how sure, Delete removes."""

    def __init__(self, page: "ComplaintPage") -> None:
        super().__init__("Complaints noted", least=8)
        self._page = page

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        if event.key() in _KEEPING:
            self._page.grade(self.currentIndex())
        elif event.key() in {Qt.Key.Key_Delete, Qt.Key.Key_Backspace}:
            self._page.remove(self.currentIndex())
        else:
            super().keyPressEvent(event)


class ComplaintPage(IntakePage):
    """The words on top, the search on the left, what was noted on the right."""

    def __init__(self, session: Session) -> None:
        super().__init__(
            session,
            "What does the driver say?",
            "Write it as it was said; the list below follows the words. Take everything that fits.",
        )
        complaints = session.base.complaints
        self._index = Index({k: (c.name, c.ask, *c.words) for k, c in complaints.items()})
        self._kept = ""  # what the case says as far as the field shows it
        self.words = TextField()
        self.words.setAccessibleName("The driver's own words")
        self.words.installEventFilter(self)
        self.words.textChanged.connect(self._on_words)
        self.search = SearchBox("&Search the complaints", self._find)
        self.search.picked.connect(self._on_picked)
        self.search.passed.connect(self.passed)
        self._model = RowsModel(self)
        self.chosen = _Chosen(self)
        self.chosen.setModel(self._model)
        self.chosen.clicked.connect(self.grade)
        self._empty = Words("Nothing noted yet. Enter takes the marked line.", tone="muted")
        self._lay_out()

    def _lay_out(self) -> None:
        label = Words("&The driver's own words", weight="bold", wrap=False)
        label.setTextFormat(Qt.TextFormat.AutoText)
        label.setBuddy(self.words)
        self.column.addWidget(label)
        self.column.addWidget(self.words)
        right = QVBoxLayout()
        right.setSpacing(theme.STEP // 2)
        right.addWidget(heading("Noted"))
        tip = "Enter or a click: sure or only probable. Delete takes it out."
        right.addWidget(Words(tip, role="small", tone="muted"))
        right.addWidget(self._empty, 1, Qt.AlignmentFlag.AlignTop)
        right.addWidget(self.chosen, 1)
        row = QHBoxLayout()
        row.setSpacing(4 * theme.STEP)
        row.addWidget(self.search, 5)
        row.addLayout(right, 4)
        self.column.addLayout(row, 1)

    def refresh(self) -> None:
        self.words.setFixedHeight(round(self.fontMetrics().height() * 3.6))
        if self.session.case.words != self._kept:
            self._kept = self.session.case.words
            self.words.setPlainText(self._kept)
        self.search.refresh()
        base = self.session.base
        rows = [
            (e.complaint, Ranked(sentence(base.complaints[e.complaint].name), "", note=e.answer))
            for e in self.session.case.entries
            if e.complaint is not None
        ]
        self._model.set_rows(rows)
        self._empty.setVisible(not rows)
        self.chosen.setVisible(bool(rows))

    def take_focus(self) -> None:
        self.words.setFocus(Qt.FocusReason.OtherFocusReason)

    def leave(self) -> None:
        self._keep_words()

    def eventFilter(self, watched: QObject, event: QEvent, /) -> bool:
        if event.type() == QEvent.Type.FocusOut:
            self._keep_words()
        elif (
            isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.KeyPress
            and event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}
            and not event.modifiers()
        ):
            self._go_to_search()
            return True
        return super().eventFilter(watched, event)

    def _go_to_search(self) -> None:
        """Go on from the words; Enter then takes what fits them best, if nothing is noted yet."""
        self.search.field.setFocus(Qt.FocusReason.TabFocusReason)
        if not self._model.rowCount() and self._index.suggest(self.words.toPlainText()):
            self.search.mark_first()

    def grade(self, index: QModelIndex) -> None:
        """Make a noted complaint sure, or only probable."""
        key = index.data(KEY)
        if key is not None:
            old = self.session.case.answer_to(("complaint", key))
            place = _GRADES.index(old) + 1 if old in _GRADES else 0
            self._note(key, _GRADES[place % len(_GRADES)])

    def remove(self, index: QModelIndex) -> None:
        """Take a noted complaint out."""
        key = index.data(KEY)
        if key is not None:
            name = self.session.base.complaints[key].name
            after = self.session.case.without(("complaint", key))
            self.session.change(after, f"removing “{name}”")

    def _find(self, typed: str) -> Rows:
        complaints = self.session.base.complaints
        suggested = self._index.suggest(self.words.toPlainText())
        if typed.strip():
            order = self._index.find(typed)
        else:
            order = [*suggested, *(k for k in complaints if k not in suggested)]
        noted = {e.complaint for e in self.session.case.entries}
        return [(k, _row(complaints[k], fits=k in suggested)) for k in order if k not in noted]

    def _on_words(self) -> None:
        self.search.refresh()

    def _keep_words(self) -> None:
        words = self._kept = self.words.toPlainText().strip()[:2000]
        self.session.change(moves.with_words(self.session.case, words), "the driver's words")

    def _on_picked(self, key: str, shifted: bool) -> None:
        self._note(key, _GRADES[shifted])

    def _note(self, key: str, grade: str) -> None:
        session = self.session
        after = moves.with_asked(session.base, session.case, key, grade, session.now())
        session.change(after, f"“{session.base.complaints[key].name}”")


def _row(complaint: Complaint, *, fits: bool) -> Ranked:
    note, sign = ("fits the words", "good") if fits else ("", "")
    return Ranked(sentence(complaint.name), complaint.ask, note=note, sign=sign)
