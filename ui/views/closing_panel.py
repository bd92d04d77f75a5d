"""While it is open: what is worth a look before it closes, and what to see to then."""

from collections.abc import Iterator

from PySide6.QtCore import QModelIndex, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from diagnose.advice_words import glance_words
from diagnose.assess import Assessment
from diagnose.planning.record import Advice, Glance
from diagnose.sentences import hours
from knowledge.model import KnowledgeBase
from ui.models.rows import KEY, RowsModel
from ui.session import Session
from ui.views.panels import EntryList
from ui.views.parts import sentence
from ui.weighing import Standing
from ui.widgets.rows import Ranked
from ui.widgets.text import Words, heading

_LOOK, _SEE_TO, _FOLD = "look", "see to", "fold"
_FEW = 5  # looks that are shown before the rest is asked for
_FOLDED = (_FOLD, "", "")

Key = tuple[str, str, str]


class ClosingPanel(QWidget):
    """Looks that pay before it closes, in the order to do them, then the closing list.

    Of many looks only those that save most are shown; one row opens and folds the rest.

    Signals
    -------
    look_wanted(str)
        Id of the check the user wants on the card.
    cause_wanted(str)
        Id of the cause that a line of the closing list is for.
    """

    look_wanted = Signal(str)
    cause_wanted = Signal(str)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._everything = False
        self._seen: Assessment | None = None
        self.model = RowsModel(self)
        self.view = EntryList("Before it closes")
        self.view.setModel(self.model)
        self.view.opened.connect(self._on_opened)
        self.summary = Words("", role="small", tone="muted", wrap=False)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        head = QHBoxLayout()
        self._head = heading("")
        head.addWidget(self._head)
        head.addStretch(1)
        head.addWidget(self.summary)
        column.addLayout(head)
        column.addWidget(self.view, 1)
        self.hide()

    @property
    def has_rows(self) -> bool:
        """Whether there is anything to see to."""
        return self.model.rowCount() > 0

    def refresh(self) -> None:
        """Show what the advice lists; nothing once the fault is found, or before it is opened."""
        standing = self._session.standing
        self._begin(standing)
        found = self._session.case.found is not None
        advice = None if standing is None or found else standing.advice
        marked = self.view.currentIndex().data(KEY)
        base, case = self._session.base, self._session.case
        closed = base.levels[case.stands].drivable
        self._head.setText(("Once it is open" if closed else "Before it closes").upper() + " (I)")
        rows = [] if advice is None else _rows(base, advice, everything=self._everything)
        self.model.set_rows(rows)
        row = self.model.row_of(marked)
        if row >= 0:
            self.view.setCurrentIndex(self.model.index(row, 0))
        if advice is not None:
            self.summary.setText(_summary(len(advice.glances), len(advice.closing)))
        self.setVisible(self.has_rows)

    def _begin(self, standing: Standing | None) -> None:
        """Fold the list and go to its top where another case was opened."""
        assessment = None if standing is None else standing.assessment
        if assessment is not self._seen and self._session.before is None:
            self._everything = False
            self.view.scrollToTop()
        self._seen = assessment

    def _on_opened(self, index: QModelIndex) -> None:
        kind, name, _ = index.data(KEY)
        if kind == _FOLD:
            self._everything = not self._everything
            self.refresh()
            return
        (self.look_wanted if kind == _LOOK else self.cause_wanted).emit(name)


def _rows(base: KnowledgeBase, advice: Advice, *, everything: bool) -> list[tuple[Key, Ranked]]:
    most = _most_worth(advice.glances)
    shown = advice.glances if everything else most
    rows = [*_looks(base, shown), *_fold(advice.glances, most, everything=everything)]
    lines = [
        ((_SEE_TO, line.cause, line.text), Ranked(line.text, f"for: {_name(base, line.cause)}"))
        for line in advice.closing
    ]
    return [*rows, *lines]


def _most_worth(glances: tuple[Glance, ...]) -> tuple[Glance, ...]:
    """The looks that save most, in the order to do them; all where folding would hide only one."""
    if len(glances) <= _FEW + 1:
        return glances
    best = sorted(glances, key=lambda glance: -glance.saves)[:_FEW]
    return tuple(glance for glance in glances if glance in best)


def _looks(base: KnowledgeBase, glances: tuple[Glance, ...]) -> Iterator[tuple[Key, Ranked]]:
    """Looks as rows; the first one at a level names it."""
    level = ""
    for place, glance in enumerate(glances, start=1):
        step, note = glance.step, ""
        if step.level != level:
            level = step.level
            note = base.levels[level].name
        words = glance_words(glance)
        yield (_LOOK, step.id, ""), Ranked(f"{place}. {step.name}", words, note=note)


def _fold(
    glances: tuple[Glance, ...], most: tuple[Glance, ...], *, everything: bool
) -> Iterator[tuple[Key, Ranked]]:
    """The row that shows the looks that save less, or folds them again."""
    rest = [glance for glance in glances if glance not in most]
    if rest and everything:
        yield _FOLDED, Ranked("Only the looks that save most", "Enter folds the others")
    elif rest:
        least = hours(max(glance.saves for glance in rest))
        yield (
            _FOLDED,
            Ranked(f"{len(rest)} more looks", f"none saves more than {least}; Enter shows them"),
        )


def _name(base: KnowledgeBase, cause: str) -> str:
    return sentence(base.causes[cause].name) if cause in base.causes else cause


def _summary(looks: int, points: int) -> str:
    parts = ((looks, "look", "looks"), (points, "point to see to", "points to see to"))
    return ", ".join(f"{n} {one if n == 1 else many}" for n, one, many in parts if n)
