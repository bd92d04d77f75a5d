"""The next step as one large card: why, cautions first, how, and its answers."""

from PySide6.QtCore import QEvent, QModelIndex, QObject, QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QMenu,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from diagnose.planner import Option
from diagnose.sentences import advice_reason, hours
from knowledge.model import KnowledgeBase
from ui import theme
from ui.models.options import OptionModel
from ui.models.rows import KEY
from ui.questions import Question, question_for
from ui.session import Session
from ui.views.answer_pad import AnswerPad
from ui.views.panels import EntryList
from ui.views.parts import clear, quiet_button, sentence
from ui.views.taking import steps_and_drawing
from ui.widgets.notice import Notice
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
    """

    answered = Signal(object, str, str, str)
    voice_changed = Signal(str)

    def __init__(self, session: Session, voice: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        theme.mark(self, kind="card")
        self._session = session
        self._base: KnowledgeBase = session.base
        self._voice = voice
        self._chosen: tuple[str, str] | None = None
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
        self.read_button = QPushButton("I have read the cautions (R)")
        theme.mark(self.read_button, kind="primary", role="lead")
        self.read_button.clicked.connect(self.acknowledge)
        self.skip_button = quiet_button("Can't do it now (X)", self.skip)
        self.others_button = quiet_button("Others from here (O)", self.open_others)
        self.again_button = quiet_button("Cautions again (R)", self.acknowledge)
        self._other_options = OptionModel(self)
        self._others_head = heading("Others from here (O)")
        self.others = EntryList("Others from here")
        self.others.setModel(self._other_options)
        self.others.opened.connect(self._on_other)
        self._shows_read = False
        self._lay_out()

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(3 * theme.STEP, 2 * theme.STEP, 2 * theme.STEP, theme.STEP)
        column.setSpacing(theme.STEP)
        column.addWidget(self._scroll, 100)
        lower = QVBoxLayout(self._lower)
        lower.setContentsMargins(0, 0, theme.STEP, 0)
        lower.addWidget(self.read_button)
        lower.addWidget(self.pad)
        foot = QHBoxLayout()
        foot.addWidget(self.skip_button)
        foot.addWidget(self.others_button)
        foot.addWidget(self.again_button)
        foot.addStretch(1)
        lower.addLayout(foot)
        column.addWidget(self._lower)
        column.addWidget(self._others_head)
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
        several = self.asks and self._other_options.rowCount() > 0
        self._others_head.setVisible(roomy and several)
        self.others.setVisible(roomy and several)
        self.others_button.setVisible(several and not roomy)

    def option(self) -> Option | None:
        """Give the option that is shown, as the planner sees it; None if it is none of its own."""
        standing = self._session.standing
        if standing is None:
            return None
        options = standing.advice.options
        if self._chosen is None:
            return options[0] if options else None
        return next((o for o in options if (o.kind, o.id) == self._chosen), None)

    def choose(self, kind: str, name: str) -> None:
        """Show another step than the advised one."""
        self._chosen = (kind, name)
        self._shows_read = False
        self.refresh()
        self.take_focus()

    def follow(self) -> None:
        """Show what is advised now."""
        self._chosen = None
        self._shows_read = False
        self.refresh()

    def refresh(self) -> None:
        """Show the step as the case stands."""
        standing = self._session.standing
        if standing is None:
            return
        advised = standing.advice.options[0] if standing.advice.options else None
        shown = self._chosen or ((advised.kind, advised.id) if advised else None)
        clear(self._text)
        self.question = question_for(self._base, *shown) if shown else None
        if self._session.case.found is not None:
            self._show_found()
        elif self.question is None:
            self._show_nothing_left()
        else:
            self._show_question(self.question)
        self._scroll.verticalScrollBar().setValue(0)
        self._update_buttons()

    @property
    def asks(self) -> bool:
        """Whether there is a step to do."""
        return self.question is not None and self._session.case.found is None

    def take_focus(self) -> None:
        """Put the focus on what has to be done first."""
        if self.read_button.isVisible():
            self.read_button.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self.pad.take_focus()

    def unread(self) -> tuple[str, ...]:
        """Give the ids of the cautions that must be read before the answers."""
        if self.question is None:
            return ()
        read = self._session.case.acknowledged
        return tuple(c.id for c in self.question.cautions if c.id not in read)

    def acknowledge(self) -> None:
        """Note that the cautions were read; show them again, or no more, if they were already."""
        unread = self.unread()
        if unread:
            self._session.amend(self._session.case.with_acknowledged(unread))
        elif self.question is not None and self.question.cautions:
            self._shows_read = not self._shows_read
            self.refresh()
        self.pad.take_focus()

    def skip(self) -> None:
        """Leave the check out for now."""
        question = self.question
        if question is None:
            return
        kind, name = question.subject
        if kind == "check":
            self._session.change(
                self._session.case.with_skipped(name), f"left out {question.title}"
            )
        else:
            self._pass_over()

    def _pass_over(self) -> None:
        """Show the next best step instead of one that can't be left out for good."""
        standing = self._session.standing
        current = self.option()
        if standing is not None and current is not None:
            after = standing.advice.options[standing.advice.options.index(current) + 1 :]
            if after:
                self.choose(after[0].kind, after[0].id)

    def open_others(self) -> None:
        """Go to what else could be done from here, or list it in a menu where there is no room."""
        if self.others.isVisible():
            self.others.setFocus(Qt.FocusReason.ShortcutFocusReason)
            return
        menu = QMenu(self)
        for row in range(self._other_options.rowCount()):
            index = self._other_options.index(row, 0)
            action = menu.addAction(str(index.data()).replace("&", "&&"))
            key = index.data(KEY)
            action.triggered.connect(lambda _=False, key=key: self.choose(*key))
        menu.popup(self.others_button.mapToGlobal(self.others_button.rect().bottomLeft()))

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
            self.voice_changed.emit(voice)
            self.refresh()

    def _show_question(self, question: Question) -> None:
        option = self.option()
        head = QHBoxLayout()
        head.addWidget(heading("Next" if self._chosen is None else "Chosen by you"))
        head.addStretch(1)
        head.addWidget(Words(self._where(question), role="small", tone="muted", wrap=False))
        self._text.addLayout(head)
        self._text.addWidget(Words(question.title, role="title", weight="bold"))
        reason = self._reason(option)
        if reason:
            self._text.addWidget(Words(reason, tone="muted"))
        self._add_cautions(question)
        if question.voices:
            self._add_voices(question)
        reading, instrument = self.pad.typed_for(question)
        standing = self._session.standing
        self.pad.show_question(
            question,
            reading=reading,
            instrument=instrument,
            assessment=None if standing is None else standing.assessment,
        )

    def _reason(self, option: Option | None) -> str:
        standing = self._session.standing
        if standing is None or option is None:
            return ""
        if option is standing.advice.options[0]:
            return advice_reason(standing.assessment, standing.advice)
        more = option.expected - standing.advice.expected
        return f"Not the advised step: with it first the fix takes {hours(more)} longer on average."

    def _where(self, question: Question) -> str:
        if not question.level:
            return "ask the driver"
        parts = [self._base.levels[question.level].name, hours(question.minutes / 60.0)]
        return ", ".join((*parts, *question.needs))

    def _add_cautions(self, question: Question) -> None:
        unread = self.unread()
        for caution in question.cautions:
            if self._shows_read or caution.id in unread or caution.level == "stop":
                self._text.addWidget(Notice(caution.level, caution.text))

    def _add_voices(self, question: Question) -> None:
        row = QHBoxLayout()
        row.setSpacing(theme.STEP)
        group = QButtonGroup(self._body)
        spoken = next((v for v in question.voices if v.id == self._voice), question.voices[0])
        for voice in question.voices:
            button = QPushButton(voice.name)
            button.setCheckable(True)
            button.setChecked(voice is spoken)
            button.setToolTip("Another voice (V)")
            button.clicked.connect(lambda _=False, v=voice.id: self._set_voice(v))
            theme.mark(button, kind="quiet")
            group.addButton(button)
            row.addWidget(button)
        row.addStretch(1)
        self._text.addLayout(row)
        self._text.addLayout(steps_and_drawing(question, spoken.steps))

    def _show_found(self) -> None:
        found = self._session.case.found
        if found is None:
            return
        names = " or ".join(self._base.causes[c].name for c in found.causes)
        sure = {"part seen": "the fault was seen", "complaint gone": "the complaint is gone"}
        self._text.addWidget(heading("Found"))
        self._text.addWidget(Words(sentence(names), role="title", weight="bold"))
        why = f"{sure.get(found.sure, found.sure)}. {found.why}".strip()
        self._text.addWidget(Notice("good", sentence(why)))
        for cause in (self._base.causes[c] for c in found.causes):
            for name, text in (
                ("Before it closes", cause.before_closing),
                ("Next time", cause.next_time),
            ):
                if text:
                    self._text.addWidget(heading(name))
                    self._text.addWidget(Words(text, role="lead"))
        self._text.addWidget(Words("If it comes back, take this back with Ctrl+Z.", tone="muted"))

    def _show_nothing_left(self) -> None:
        standing = self._session.standing
        if standing is None:
            return
        self._text.addWidget(heading("Next"))
        self._text.addWidget(Words("Nothing is left to check", role="title", weight="bold"))
        self._text.addWidget(Words(advice_reason(standing.assessment, standing.advice)))
        if self._session.case.skipped:
            self._text.addWidget(
                Words("Some checks were left out. Go back with Ctrl+Z to do them.")
            )

    def _update_buttons(self) -> None:
        asking = self.asks
        unread = bool(self.unread())
        self.read_button.setVisible(asking and unread)
        self.pad.setVisible(asking and not unread)
        self.skip_button.setVisible(asking)
        question = self.question
        self.again_button.setVisible(
            asking and not unread and question is not None and bool(question.cautions)
        )
        standing = self._session.standing
        if standing is not None:
            self._other_options.show(self._base, standing.advice, self.option())
        self._make_room()

    def _on_other(self, index: QModelIndex) -> None:
        self.choose(*index.data(KEY))
