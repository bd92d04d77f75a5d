"""The next step as one large card: why, cautions first, how, and its answers."""

from collections.abc import Iterable
from dataclasses import replace

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from diagnose.advice_aloud import stopped_line
from diagnose.advice_words import reason, second_thoughts, too_long_line
from diagnose.planning.record import Advice, Option
from knowledge.model import KnowledgeBase
from ui import moves, theme
from ui.questions import Question, question_for
from ui.session import Session
from ui.views.answer_pad import AnswerPad
from ui.views.card_others import OthersFromHere
from ui.views.card_parts import (
    Hands,
    SecondThoughts,
    first_of,
    following,
    found_in,
    head_row,
    how_to,
    notices,
)
from ui.views.card_price import PartsPrice
from ui.views.card_text import costs_words, found_words, nothing_words, where_words
from ui.views.parts import clear, dotted, quiet_button
from ui.views.saw_dialog import BySwitch
from ui.weighing import Standing
from ui.widgets.scroll import Scroll
from ui.widgets.text import Words, heading

_LEAST_OTHERS = 7  # lines of text: with less room than this the others are in a menu


class CheckCard(QFrame):
    """Shows the advised step, or another one chosen from here.

    Signals
    -------
    answered(Question, str, str, str)
        The question, the id of the choice, the reading, and the instrument.
    voice_changed(str)
        The voice the user wants to have it in.
    why_wanted
        The user wants to know why this step.
    """

    answered = Signal(object, str, str, str)
    voice_changed = Signal(str)
    why_wanted = Signal()

    def __init__(self, session: Session, voice: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        theme.mark(self, kind="card")
        self._session = session
        self._base: KnowledgeBase = session.base
        self._voice = voice
        self._chosen: tuple[str, str] | None = None
        self._held: tuple[str, str] | None = None  # chosen, and to stay over the next assessment
        self._advised: tuple[str, str] | None = None
        self._seen = False
        self._hands = Hands(self)
        self._reason = Words("", tone="muted")
        self._limit = Words("", tone="caution")
        self.question: Question | None = None
        self._body = QWidget()
        self._text = QVBoxLayout(self._body)
        self._text.setContentsMargins(0, 0, theme.STEP, 0)
        self._text.setSpacing(theme.STEP)
        self._scroll = Scroll(self._body, snug=True)
        self._lower = QWidget()
        for part in (self._body, self._lower):
            part.installEventFilter(self)
        self._room, self._whole = 0, False
        self.pad = AnswerPad(self._base)
        self.pad.answered.connect(lambda *answer: self.answered.emit(self.question, *answer))
        self.by = BySwitch()
        self.price = PartsPrice()
        self.price.priced.connect(self._on_priced)
        self.better = SecondThoughts(self.take_better)
        self.read_button = QPushButton("I have read the cautions (R)")
        theme.mark(self.read_button, kind="primary", role="lead")
        self.read_button.clicked.connect(self.acknowledge)
        self.skip_button = quiet_button("Can't do it now (X)", self.skip)
        self.why_button = quiet_button("Why this (Y)", self.why_wanted.emit)
        self.again_button = quiet_button("Cautions again (R)", self.acknowledge)
        self._others = OthersFromHere(self, self.choose)
        self.others = self._others.view
        self._shows_read = False
        self._lay_out()

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(3 * theme.STEP, 2 * theme.STEP, 2 * theme.STEP, theme.STEP)
        column.setSpacing(theme.STEP)
        column.addWidget(self._scroll, 100)
        lower = QVBoxLayout(self._lower)
        lower.setContentsMargins(0, 0, theme.STEP, 0)
        lower.addWidget(self.by)
        lower.addWidget(self.read_button)
        lower.addWidget(self.price)
        lower.addWidget(self.pad)
        lower.addWidget(self.better)
        foot = QHBoxLayout()
        foot.addWidget(self.skip_button)
        foot.addWidget(self.why_button)
        foot.addWidget(self._others.button)
        foot.addWidget(self.again_button)
        foot.addStretch(1)
        lower.addLayout(foot)
        column.addWidget(self._lower)
        column.addWidget(self._others.head)
        column.addWidget(self.others, 1)
        column.addStretch(0)

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        self._make_room()

    def sizeHint(self) -> QSize:
        # Asked for its hint although it spans rows: then the height for another width would count.
        return QSize(super().sizeHint().width(), self.heightForWidth(max(1, self.width())))

    def eventFilter(self, watched: QObject, event: QEvent, /) -> bool:
        if event.type() == QEvent.Type.LayoutRequest:
            self._make_room()
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        field = self.pad.field
        if event.key() == Qt.Key.Key_Escape and field is not None and field.hasFocus():
            self.skip_button.setFocus(Qt.FocusReason.ShortcutFocusReason)
        else:
            super().keyPressEvent(event)

    def set_room(self, height: int, *, whole: bool) -> None:
        """Say how high the card may be; as high as its text, if it is to be seen whole."""
        self._room, self._whole = height, whole
        self._scroll.set_whole(whole)
        self._make_room()

    def _make_room(self) -> None:
        """Show the chart before a reading, and the others, where there is room left for them."""
        margins = 8 * theme.STEP
        width = self.width() - 6 * theme.STEP
        used = self._body.heightForWidth(width) + self._lower.heightForWidth(width) + margins
        if self.pad.gauge is not None:
            more = self.pad.gauge.more_height(width)
            room = self._room if more else self._room + self.fontMetrics().height()
            self.pad.gauge.show_chart_early(self._whole or used + more <= room)
        line = self.fontMetrics().height()
        roomy = self._room - used >= _LEAST_OTHERS * line and not self._whole
        self._others.make_room(asks=self.asks, roomy=roomy)

    @property
    def shown(self) -> tuple[str, str] | None:
        """Kind and id of the step that is shown."""
        return self._chosen or self._advised

    @property
    def by_the_way(self) -> bool:
        """Whether the answer is about what was seen by the way."""
        return self._seen and self.by.by_the_way

    def option(self) -> Option | None:
        """Give the option that is shown, as the planner sees it; None if it is none of its own."""
        advice = self._advice
        return None if advice is None else found_in(advice, self.shown)

    @property
    def _advice(self) -> Advice | None:
        standing = self._session.standing
        return None if standing is None else standing.advice

    def choose(self, kind: str, name: str, *, seen: bool = False) -> None:
        """Show another step than the advised one.

        Parameters
        ----------
        kind, name : str
            Of the step, as `question_for` takes them.
        seen : bool
            Whether it was looked up for what was seen by the way.
        """
        check = kind == "finding" and question_for(self._base, kind, name).subject
        self._chosen = check or (kind, name)
        self.price.forget()
        self._seen = seen
        self._shows_read = False
        self.refresh()
        self.take_focus()

    def follow(self) -> None:
        """Show what is advised now, or once more the repair whose parts were given a price."""
        first = first_of(self._advice)
        held, self._held = self._held, None
        self.price.forget()
        self._chosen, self._advised = None if held == first else held, first
        self._seen = self._shows_read = False
        self._hands.rest()
        self.refresh()

    def reconsider(self) -> bool:
        """Take in advice that was followed further; gives whether another step is shown now.

        Under the hands of somebody who has begun nothing moves: he is told instead.
        """
        first = first_of(self._advice)
        typed = self.pad.field is not None and bool(self.pad.field.text())
        begun = typed or self._hands.have_begun()
        if first == self._advised or self._chosen is not None or begun:
            self._show_thoughts()
            return False
        self.follow()
        return True

    def take_better(self) -> None:
        """Show the step that turned out to be better."""
        if self.better.isVisible():
            self._go_back()

    def _go_back(self) -> None:
        """Show what is advised, from the start."""
        self.follow()
        self.take_focus()

    def _show_thoughts(self) -> None:
        """Renew what the card says of its step, without moving anything on it."""
        standing, option = self._session.standing, self.option()
        if standing is None:
            return
        first = first_of(standing.advice)
        kept = self._chosen is None and first is not None and first != self._advised
        if self.asks:
            self._reason.say("" if self._seen else self._why(standing, option, kept=kept))
            step = None if self._seen else self.shown
            stopped = stopped_line(standing.assessment, *step) if step else ""
            self._limit.say(f"{stopped} {too_long_line(standing.advice)}".strip())
        thought = second_thoughts(option, standing.advice.options[0]) if kept else ""
        self.better.say(thought if self.asks else "")
        self._others.show(self._base, standing.advice, option)
        self._make_room()

    def _why(self, standing: Standing, option: Option | None, *, kept: bool) -> str:
        """Why the step is shown; one that was kept is still told by what speaks for itself."""
        advice = standing.advice
        if kept and option is not None:
            advice = replace(advice, options=(option,))
        return reason(standing.assessment, advice, option)

    def refresh(self) -> None:
        """Show the step as the case stands."""
        standing = self._session.standing
        if standing is None:
            return
        clear(self._text)
        shown, case = self.shown, self._session.case
        self.question = moves.question_now(self._base, case, *shown) if shown else None
        if case.found is not None:
            self._add(found_words(self._base, case.found, case.stands))
        elif self.question is None:
            self._add(nothing_words(standing.assessment, standing.advice))
        else:
            self._show_question(self.question)
        self._scroll.verticalScrollBar().setValue(0)
        self._update_buttons()

    def _add(self, words: Iterable[QWidget]) -> None:
        for word in words:
            self._text.addWidget(word)

    @property
    def asks(self) -> bool:
        """Whether there is a step to do."""
        return self.question is not None and self._session.case.found is None

    def take_focus(self) -> None:
        """Put the focus on what has to be done first."""
        if self.read_button.isVisible():
            self.read_button.setFocus(Qt.FocusReason.OtherFocusReason)
        elif self.pad.field is not None or self.pad.buttons:
            self.pad.take_focus()
        else:
            self.skip_button.setFocus(Qt.FocusReason.OtherFocusReason)
        self._hands.place()

    def unread(self) -> tuple[str, ...]:
        """Give the ids of the cautions that must be read before the answers."""
        if self.question is None:
            return ()
        read = self._session.case.acknowledged
        return tuple(c.id for c in self.question.cautions if c.id not in read)

    def acknowledge(self) -> None:
        """Note that the cautions were read; show them again, or no more, if they were already."""
        unread = self.unread()
        self._hands.touch()
        if unread:
            self._session.amend(self._session.case.with_acknowledged(unread))
        elif self.question is not None and self.question.cautions:
            self._shows_read = not self._shows_read
            self.refresh()
        self.take_focus()

    def skip(self) -> None:
        """Leave the check out for now."""
        if self.question is None:
            return
        kind, name = self.question.subject
        if self._seen:
            self._go_back()
        elif kind == "check":
            after = self._session.case.with_skipped(name)
            self._session.change(after, f"left out {self.question.title}")
        else:
            self._pass_over()

    def _pass_over(self) -> None:
        """Show the next best step instead of one that can't be left out for good."""
        after = following(self._advice, self.option())
        if after is not None:
            self.choose(after.kind, after.id)
        else:  # after the last one comes the advised one again
            self._go_back()

    def open_others(self) -> None:
        """Go to what else could be done from here."""
        self._others.open()

    def next_voice(self) -> None:
        """Put the step in the next voice."""
        if self.question is None or not self.question.voices:
            return
        ids = [v.id for v in self.question.voices]
        place = ids.index(self._voice) if self._voice in ids else 0
        self._set_voice(ids[(place + 1) % len(ids)])

    def _set_voice(self, voice: str) -> None:
        if voice != self._voice:
            self._voice = voice
            self._hands.touch()
            self.voice_changed.emit(voice)
            self.refresh()

    def _show_question(self, question: Question) -> None:
        option, standing = self.option(), self._session.standing
        name = "Seen by the way" if self._seen else "Chosen by you" if self._chosen else "Next"
        where = where_words(self._base, question, None if self._seen else option)
        self._text.addLayout(head_row(name, where))
        # Made anew each time: what stood in the layout before was cleared away with it.
        self._reason, self._limit = Words("", tone="muted"), Words("", tone="caution")
        title = Words(question.title, role="title", weight="bold")
        self._add((title, self._reason, self._limit))
        if question.subject[0] == "repair":
            self.price.ask(self._session.case, question.subject[1])
        if self._seen:
            self.by.ask(costs_words(self._base, self._session.case, question))
        self._add(notices(question, self.unread(), every=self._shows_read))
        if question.voices:
            self._add_voices(question)
        if question.subject[0] == "drive" and standing is not None and standing.advice.closing:
            self._text.addWidget(heading("Before it closes"))
            self._text.addLayout(dotted([line.text for line in standing.advice.closing]))
        reading, instrument = self.pad.typed_for(question)
        self.pad.show_question(
            question,
            reading=reading,
            instrument=instrument,
            assessment=None if standing is None else standing.assessment,
        )

    def _add_voices(self, question: Question) -> None:
        for part in how_to(question, self._voice, self._set_voice, self._body):
            self._text.addLayout(part)

    def _update_buttons(self) -> None:
        question, asking, unread = self.question, self.asks, bool(self.unread())
        ready = asking and not unread
        self.read_button.setVisible(asking and unread)
        self.pad.setVisible(ready)
        self.by.setVisible(asking and self._seen)
        self.price.setVisible(ready and question is not None and question.subject[0] == "repair")
        self.skip_button.setVisible(asking)
        self.why_button.setVisible(asking)
        self.again_button.setVisible(ready and question is not None and bool(question.cautions))
        self._show_thoughts()

    def _on_priced(self, price: float | None, currency: str) -> None:
        """Note what the parts of the repair on the card cost; the card stays on it."""
        question, case = self.question, self._session.case
        if question is None or question.subject[0] != "repair":
            return
        after = moves.with_part(case, question.subject[1], price, currency)
        if after != case:
            self._held = self.shown
            self._session.change(after, "the price of the parts")
