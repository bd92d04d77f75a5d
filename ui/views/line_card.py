"""The card of the next step as one reads it out on the phone."""

from PySide6.QtWidgets import QWidget

from ui import theme
from ui.questions import Question
from ui.session import Session
from ui.views.card_parts import voices_row
from ui.views.check_card import CheckCard
from ui.widgets.notice import Notice
from ui.widgets.text import Words

SAY = "say"


class LineCard(CheckCard):
    """A card that begins in the voice for the phone, and shows that one largest.

    Parameters
    ----------
    session : Session
    """

    def __init__(self, session: Session) -> None:
        super().__init__(session, SAY)

    def _add_voices(self, question: Question) -> None:
        spoken = next((v for v in question.voices if v.id == self._voice), question.voices[0])
        if spoken.id != SAY:
            super()._add_voices(question)
            return
        # The sentence to say is the largest, and next to what must be read before it; what the
        # check is called, and why, stand back.
        items = (self._text.itemAt(i) for i in range(self._text.count()))
        shown = [item.widget() for item in items if item is not None]
        said = Words(" ".join(spoken.steps), role="title", weight="bold")
        first: list[QWidget] = [*(w for w in shown if isinstance(w, Notice)), said]
        for place, part in enumerate(first, start=1):
            self._text.insertWidget(place, part)
        for name in shown:
            if isinstance(name, Words) and name.text() == question.title:
                theme.mark(name, role="lead")
        if question.how:
            self._text.addWidget(Words(question.how, tone="muted"))
        self._text.addLayout(voices_row(question, spoken, self._set_voice, self._body))
