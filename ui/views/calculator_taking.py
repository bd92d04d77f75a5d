"""Into the case: what came out of a calculator, as the reading of a check or as its answer."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from diagnose.calculators import Offer
from knowledge.model import Check
from ui import moves, theme
from ui.questions import answered, question_for
from ui.session import Session
from ui.views.parts import clear, sentence
from ui.widgets.answer_button import AnswerButton
from ui.widgets.notice import Notice
from ui.widgets.text import Words


class TakingPanel(QWidget):
    """A button for each check that could take it; its cautions come first.

    Signals
    -------
    taken
        The case has another entry.
    changed
        Other buttons are there.
    """

    taken = Signal()
    changed = Signal()

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._offers: tuple[Offer, ...] = ()
        self._wanted: Offer | None = None  # its cautions are being read
        self.buttons: list[AnswerButton] = []
        self.read_button: QPushButton | None = None
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(theme.STEP)

    def show_offers(self, offers: tuple[Offer, ...]) -> None:
        """Show what can be taken; an empty panel takes no room."""
        self._offers = offers
        self._wanted = None
        self.refresh()

    def refresh(self) -> None:
        """Show it as the case stands."""
        clear(self._column)
        self.buttons, self.read_button = [], None
        self.setVisible(bool(self._offers))
        if self._wanted is not None:
            self._add_cautions(self._wanted)
        else:
            for offer in self._offers:
                self._add(offer)
        self.changed.emit()

    def stops(self) -> list[QWidget]:
        """Give what the focus stops at, in its order."""
        return [*self.buttons, *([self.read_button] if self.read_button is not None else [])]

    def unread(self, offer: Offer) -> tuple[str, ...]:
        """Give the ids of the cautions that must be read before something is taken."""
        read = self._session.case.acknowledged
        return tuple(c for c in self._session.base.checks[offer.check].cautions if c not in read)

    def want(self, offer: Offer) -> None:
        """Take it, or show first the cautions of its check that were not read yet."""
        if self.unread(offer):
            self._wanted = offer
            self.refresh()
            if self.read_button is not None:
                self.read_button.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self._take(offer)

    def acknowledge(self) -> None:
        """Note that the cautions were read, and take what was wanted."""
        offer, self._wanted = self._wanted, None
        if offer is not None:
            session = self._session
            session.amend(session.case.with_acknowledged(self.unread(offer)))
            self._take(offer)

    def _take(self, offer: Offer) -> None:
        """Put it into the case, the way an answer at the bench goes."""
        session, base = self._session, self._session.base
        question = question_for(base, "check", offer.check)
        case = moves.answer(
            base,
            session.case,
            question,
            offer.answer,
            reading=offer.reading,
            instrument=offer.instrument,
            at=session.now(),
        )
        place = case.latest(question.subject)
        if place is None:
            raise ValueError(offer.check)
        case = moves.change(case, place, note=offer.note)
        session.change(case, f"the answer to “{question.title}”")
        self.refresh()
        self.taken.emit()

    def _add_cautions(self, offer: Offer) -> None:
        for name in self.unread(offer):
            caution = self._session.base.cautions[name]
            self._column.addWidget(Notice(caution.level, caution.text))
        self.read_button = QPushButton("I have &read the cautions")
        self.read_button.setAutoDefault(False)
        theme.mark(self.read_button, kind="primary")
        self.read_button.clicked.connect(lambda _=False: self.acknowledge())
        self._column.addWidget(self.read_button)

    def _add(self, offer: Offer) -> None:
        check = self._session.base.checks[offer.check]
        name = f"“{check.name}”"
        if offer.refusal:
            said = f"{offer.reading} is no reading of {name}: {offer.refusal}"
            self._column.addWidget(Words(said, tone="caution"))
        elif self._stands(offer):
            said = f"{name}: {_said(check, offer)}"
            self._column.addWidget(Notice("good", said, word="In the case"))
        else:
            self._column.addWidget(self._button(offer, check))

    def _button(self, offer: Offer, check: Check) -> AnswerButton:
        key = f"Alt+{len(self.buttons) + 1}"
        what = "reading of" if offer.reading else "answer to"
        means = _said(check, offer)
        place = self._session.case.latest(("check", check.id))
        if place is not None:
            entry = self._session.case.entries[place]
            means += f" So far: {answered(self._session.base, entry)}."
        button = AnswerButton("", f"Use as {what} “{check.name}” ({key})", means)
        button.setShortcut(QKeySequence(key))
        button.clicked.connect(lambda _=False: self.want(offer))
        self.buttons.append(button)
        return button

    def _stands(self, offer: Offer) -> bool:
        """Whether the case has it already."""
        case = self._session.case
        place = case.latest(("check", offer.check))
        if place is None:
            return False
        entry = case.entries[place]
        return (entry.answer, entry.reading, entry.note) == (
            offer.answer,
            offer.reading,
            offer.note,
        )


def _said(check: Check, offer: Offer) -> str:
    """Say what it would mean there."""
    answer = next(a for a in check.answers if a.id == offer.answer)
    reading = f"{offer.reading}: " if offer.reading else ""
    return f"{reading}{answer.text if reading else sentence(answer.text)}. {answer.means}"
