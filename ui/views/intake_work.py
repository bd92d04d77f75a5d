"""Fourth page of the intake: what was done, at the clutch job or since."""

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from knowledge.model import Work
from knowledge.tree import share_that_fits
from ui import moves, theme
from ui.models.rows import KEY, RowsModel
from ui.questions import answered, asked, question_for
from ui.search import Index
from ui.session import Session
from ui.views.answer_pad import AnswerPad
from ui.views.change_dialog import WhenSwitch
from ui.views.intake_page import IntakePage
from ui.views.panels import EntryList
from ui.views.parts import sentence
from ui.views.search_box import Rows, SearchBox
from ui.widgets.rows import Pair, Ranked
from ui.widgets.scroll import Scroll
from ui.widgets.text import Words, heading

_TEXT = (
    "Everything that was renewed, left, or done counts; a new part is not ruled out. "
    "What you don't know stays open."
)


class WorkPage(IntakePage):
    """The search on the left, the question and what was noted on the right."""

    def __init__(self, session: Session) -> None:
        super().__init__(session, "What was done?", _TEXT)
        self._sentence = _TEXT
        self._asked: str | None = None
        self._place: int | None = None  # the entry that is being changed
        works = session.base.work
        self._index = Index({k: (w.name, w.ask, *w.words) for k, w in works.items()})
        self.search = SearchBox("&Search the work", self._find)
        self.search.picked.connect(lambda key, _shifted: self.ask(key))
        self.search.passed.connect(self.passed)
        self._title = Words("", role="lead", weight="bold")
        self.when = WhenSwitch()
        self.pad = AnswerPad(session.base)
        self.pad.answered.connect(lambda choice, _reading: self._on_answered(choice))
        self._panel = QWidget()
        self._model = RowsModel(self)
        self.noted = EntryList("Work noted", least=8)
        self.noted.setModel(self._model)
        self.noted.opened.connect(self._reopen)
        self.noted.removed.connect(self._remove)
        self._empty = Words(
            "Nothing noted yet. Search, and Enter takes the marked line.", tone="muted"
        )
        self._lay_out()

    def _lay_out(self) -> None:
        inside = QVBoxLayout(self._panel)
        inside.setContentsMargins(0, 0, theme.STEP, 2 * theme.STEP)
        inside.setSpacing(theme.STEP)
        inside.addWidget(self._title)
        inside.addWidget(self.when)
        inside.addWidget(self.pad)
        inside.addStretch(1)
        right = QVBoxLayout()
        right.setSpacing(theme.STEP // 2)
        self._scroll = Scroll(self._panel, whole=True)
        right.addWidget(self._scroll)
        right.addWidget(heading("Noted"))
        right.addWidget(self._empty, 1, Qt.AlignmentFlag.AlignTop)
        right.addWidget(self.noted, 1)
        row = QHBoxLayout()
        row.setSpacing(4 * theme.STEP)
        row.addWidget(self.search, 4)
        row.addLayout(right, 5)
        self.column.addLayout(row, 1)

    def refresh(self) -> None:
        self.search.refresh()
        base = self.session.base
        rows = [
            (i, Pair(sentence(asked(base, e)), answered(base, e), e.note))
            for i, e in enumerate(self.session.case.entries)
            if e.work is not None
        ]
        self._model.set_rows(rows)
        self._empty.setVisible(not rows)
        self.noted.setVisible(bool(rows))
        self._scroll.setVisible(self._asked is not None)

    def take_focus(self) -> None:
        self.search.field.setFocus(Qt.FocusReason.OtherFocusReason)

    def say(self, sentence: str) -> None:
        """Say why the user is here; the page's own sentence if empty."""
        self.text.setText(sentence or self._sentence)
        self.text.set_tone("caution" if sentence else "muted")

    def ask(self, key: str, place: int | None = None) -> None:
        """Ask about one piece of work, anew or to change an entry."""
        question = question_for(self.session.base, "work", key)
        self._asked, self._place = key, place
        self._title.setText(question.title)
        answer = ""
        if place is not None:
            entry = self.session.case.entries[place]
            answer = entry.answer
            self.when.set_since(entry.is_repair)
        self.pad.show_question(question, chosen=answer)
        self._scroll.show()
        self.pad.take_focus()

    def _on_answered(self, choice: str) -> None:
        session = self.session
        if self._asked is None:
            return
        question = question_for(session.base, "work", self._asked)
        since, place = self.when.since, self._place
        if place is None:
            after = moves.answer(
                session.base, session.case, question, choice, since=since, at=session.now()
            )
        else:
            when = "since" if since else "job"
            after = moves.change(session.case, place, answer=choice, when=when)
        self._asked = self._place = None
        self.when.set_since(False)
        self.say("")
        self.take_focus()
        session.change(after, f"“{session.base.work[question.subject[1]].name}”")
        self.refresh()

    def _reopen(self, index: QModelIndex) -> None:
        place = index.data(KEY)
        entry = self.session.case.entries[place]
        if entry.work is not None:
            self.ask(entry.work, place)

    def _remove(self, index: QModelIndex) -> None:
        place = index.data(KEY)
        name = asked(self.session.base, self.session.case.entries[place])
        self.session.change(moves.remove(self.session.case, place), f"removing “{name}”")

    def _find(self, typed: str) -> Rows:
        base, case = self.session.base, self.session.case
        order = self._index.find(typed) if typed.strip() else list(base.work)
        noted = {e.work for e in case.entries}
        return [
            (k, _row(base.work[k], noted=k in noted))
            for k in order
            if share_that_fits(base, case.facts, base.work[k].when) > 0.0
        ]


def _row(work: Work, *, noted: bool) -> Ranked:
    note, sign = ("noted", "good") if noted else ("", "")
    return Ranked(sentence(work.name), work.ask, note=note, sign=sign)
