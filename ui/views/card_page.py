"""A page with the card of the next step: what is the same at the vehicle and on the phone."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QVBoxLayout, QWidget

from ui import messages, moves, theme
from ui.questions import COMPLAINT_GONE, Question
from ui.session import Session
from ui.views.advice_dialog import AdviceDialog
from ui.views.check_card import CheckCard
from ui.views.saw_dialog import SawDialog
from ui.widgets.notice import Notice


class CardPage(QWidget):
    """Takes what the card is answered, opens its dialogs, and shows the stop notices above all.

    Parameters
    ----------
    session : Session
    card : CheckCard

    Attributes
    ----------
    stop : Notice or None
        The stop notices that hold.
    """

    def __init__(self, session: Session, card: CheckCard, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.card = card
        self.stop: Notice | None = None
        self._stops = QVBoxLayout()
        self._stops.setSpacing(theme.STEP)
        card.answered.connect(self._on_answered)
        card.why_wanted.connect(self.open_advice)

    def open_advice(self) -> None:
        """Show why the step on the card is advised, and what else could be done."""
        if self._session.standing is None or self._session.busy or not self.card.asks:
            return
        dialog = AdviceDialog(self._session, self.card.shown, self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.chosen.connect(self.card.choose)
        dialog.open()

    def open_saw(self) -> None:
        """Search for what was seen or told by the way."""
        if self._session.standing is None or self._session.busy:
            return
        dialog = SawDialog(self._session, self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.picked.connect(lambda kind, name: self.card.choose(kind, name, seen=True))
        dialog.open()

    def _show_stops(self) -> None:
        if self.stop is not None:
            self.stop.hide()
            self.stop.deleteLater()
            self.stop = None
        standing = self._session.standing
        held = standing.assessment.stops() if standing is not None else ()
        if held:
            texts = [self._session.base.cautions[s].text for s in held]
            self.stop = Notice("stop", *texts)
            self._stops.addWidget(self.stop)
        edge = 2 * theme.STEP if held else 0
        self._stops.setContentsMargins(3 * theme.STEP, edge, 3 * theme.STEP, 0)

    def _on_answered(self, question: Question, choice: str, reading: str, instrument: str) -> None:
        session = self._session
        kind, name = question.subject
        case = moves.answer(
            session.base,
            session.case,
            question,
            choice,
            reading=reading,
            instrument=instrument or None,
            by_the_way=self.card.by_the_way and kind in {"complaint", "check"},
            at=session.now(),
        )
        what = {"drive": "the drive"}.get(kind, f"the answer to “{question.title}”")
        if kind == "repair":
            what = f"the repair “{session.base.causes[name].name}”"
        session.change(case, what)
        if kind == "drive" and choice == COMPLAINT_GONE and case.found is None:
            session.said.emit(messages.NOTHING_MENDED)
