"""The Line room: many cases, and the one that somebody is on the phone about."""

from PySide6.QtCore import QPoint, Qt, QTimer, Signal
from PySide6.QtGui import QFontMetrics, QHideEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QApplication, QGridLayout, QVBoxLayout, QWidget

from diagnose.records.kept import Kept, State
from ui import messages, theme
from ui.closing import reopened
from ui.jobs import Jobs
from ui.session import Session
from ui.views.card_page import CardPage
from ui.views.conflict_notice import ConflictNotice
from ui.views.line_card import LineCard
from ui.views.line_empty import LineEmpty
from ui.views.line_head import LineHead
from ui.views.line_list import LineList
from ui.views.line_new import NewCaller
from ui.views.line_papers import Papers
from ui.views.line_side import LineSide
from ui.widgets.scroll import Scroll

EVERY = 4000  # milliseconds between two looks at a server's store
# In lines of text: a window narrower or lower than this shows its panels below each other.
_WIDE_LINES, _HIGH_LINES = 60, 32


class LineRoom(CardPage):
    """List at the left, the question to say in the middle, the timeline at the right.

    Parameters
    ----------
    session : Session
    jobs : Jobs

    Signals
    -------
    case_wanted(str)
        Id of the case the user switches to.
    started
        A new case has begun.
    closing_wanted
        The case on the screen is at its end.
    """

    case_wanted = Signal(object)
    started = Signal()
    closing_wanted = Signal()

    def __init__(self, session: Session, jobs: Jobs, parent: QWidget | None = None) -> None:
        super().__init__(session, LineCard(session), parent)
        self._here = self._before = ""
        self._awaited = False
        self.conflicts = ConflictNotice(session)
        self.list = LineList(session, jobs)
        self.head = LineHead(session)
        self.new = NewCaller(session)
        self.side = LineSide(session, jobs)
        self.papers = Papers(session, self)
        self._empty = LineEmpty()
        self._timer = QTimer(self)
        self._timer.setInterval(EVERY)
        self._timer.timeout.connect(self._look)
        self._grid = QGridLayout()
        self._content = QWidget()
        self._middle = QWidget()
        self._arranged: bool | None = None
        self._lay_out()
        self._connect()
        self.arrange()

    def _lay_out(self) -> None:
        middle = QVBoxLayout(self._middle)
        middle.setContentsMargins(0, 0, 0, 0)
        middle.setSpacing(theme.STEP)
        for widget in (self.head, self._empty):
            middle.addWidget(widget)
        middle.addWidget(self.card, 1)
        middle.addWidget(self.new, 1)
        middle.addStretch(0)
        self.new.hide()
        margin = 3 * theme.STEP
        self._grid.setContentsMargins(margin, 2 * theme.STEP, margin, theme.STEP)
        self._grid.setHorizontalSpacing(3 * theme.STEP)
        self._grid.setVerticalSpacing(2 * theme.STEP)
        self._content.setLayout(self._grid)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.setSpacing(0)
        outer.addLayout(self._stops)
        outer.addWidget(self.conflicts)
        self._scroll = Scroll(self._content)
        outer.addWidget(self._scroll, 1)
        # In the order in which Tab goes through them, from the first on.
        for row, panel in enumerate((self.list, self._middle, self.side)):
            self._grid.addWidget(panel, row, 0)

    def _connect(self) -> None:
        session = self._session
        session.case_changed.connect(self._on_case_changed)
        session.saved_changed.connect(self._on_saved_changed)
        session.assessment_changed.connect(self._on_assessment_changed)
        session.advice_changed.connect(self._on_advice_changed)
        session.busy_changed.connect(self._on_busy_changed)
        self.list.opened.connect(self._on_wanted)
        self.list.left.connect(self.take_focus)
        self.list.counted.connect(self._empty.show_counts)
        self.side.case_wanted.connect(self._on_wanted)
        self.new.started.connect(self._on_started)
        self.new.left.connect(self._leave_new)
        self.head.state_wanted.connect(self.set_state)
        self.head.follow_up_wanted.connect(self.papers.open_follow_up)
        self.head.handover_wanted.connect(self.papers.open_handover)

    @property
    def has_case(self) -> bool:
        """Whether a case is on the screen: one of the store, or one that has begun."""
        return self._session.kept is not None or bool(self._session.case.entries)

    def take_focus(self) -> None:
        """Put the focus on what to say; on the list where there is nothing to ask.

        In the list the keys of the room work, in its search letters are typed.
        """
        if self.new.isVisible():
            self.new.search.field.setFocus(Qt.FocusReason.OtherFocusReason)
        elif self.has_case and (self._session.busy or self._session.standing is None):
            self._awaited = True  # the card takes it once there is something to say
            self.list.view.setFocus(Qt.FocusReason.OtherFocusReason)
        elif self.has_case and self.card.asks:
            self.card.take_focus()
        else:
            self.list.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def next_panel(self, step: int) -> None:
        """Move the focus to another panel."""
        stops: list[QWidget] = [self.list.view, self.card, self.side.told, self.side.alike]
        stops = [w for w in stops if w.isVisible()]
        inside = [w.isAncestorOf(self.focusWidget()) or w is self.focusWidget() for w in stops]
        place = inside.index(True) if True in inside else 0
        target = stops[(place + step) % len(stops)]
        if target is self.card:
            self.card.take_focus()
        else:
            target.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def begin_new(self) -> None:
        """Take a new caller."""
        for widget in (self.head, self._empty, self.card):
            widget.hide()
        self.new.show()
        self.new.begin()
        self._scroll.verticalScrollBar().setValue(0)

    def go_back(self) -> None:
        """Open the case that was on the screen before this one."""
        if self._before:
            self._on_wanted(self._before)

    def set_state(self, state: State) -> None:
        """Say how far the case on the screen is; one that goes on has nothing found any more."""
        session = self._session
        if state is State.CLOSED:
            self.closing_wanted.emit()  # it is closed by saying what was found
        elif session.case.found is not None:
            session.change(reopened(session.case), messages.REOPENING, state)
        elif self.has_case:
            session.set_state(state)

    def showEvent(self, event: QShowEvent, /) -> None:
        super().showEvent(event)
        self._note_here(self._session.kept)
        self.list.refresh()
        self.side.refresh()
        self.side.follow()
        self._show_case()
        if not self._session.busy:
            self.card.pad.setEnabled(True)
            self.card.follow()
        self._show_stops()
        self.arrange()
        if self._session.records.has_server:
            self._timer.start()

    def hideEvent(self, event: QHideEvent, /) -> None:
        super().hideEvent(event)
        self._timer.stop()

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        self.arrange()

    def arrange(self) -> None:
        """Put the panels beside each other, or below each other where there is no room."""
        # The application's font: a hidden page would still go by the size of text before.
        line = QFontMetrics(QApplication.font()).height()
        wide = self.width() >= _WIDE_LINES * line and self.height() >= _HIGH_LINES * line
        self.list.view.setMinimumHeight(0 if wide else 16 * line)
        for view in (self.side.told, self.side.alike):
            view.setMinimumHeight(0 if wide else 10 * line)
        room = self._scroll.viewport().height() - self.head.height() - 4 * theme.STEP
        self.card.set_room(room, whole=not wide)
        if wide == self._arranged:
            return
        self._arranged = wide
        panels = (self.list, self._middle, self.side)
        for panel in panels:
            self._grid.removeWidget(panel)
        stacked = (self._middle, self.list, self.side)
        for place, panel in enumerate(panels if wide else stacked):
            self._grid.addWidget(panel, 0 if wide else place, place if wide else 0)
        for column, share in enumerate((5, 10, 5) if wide else (1, 0, 0)):
            self._grid.setColumnStretch(column, share)

    def _look(self) -> None:
        """Send what waits, take what others did, and see which cases have moved."""
        self._session.send()
        self.list.refresh(count=False)

    def _show_case(self) -> None:
        """Show whose case it is, and the card if there is one."""
        taking = self.new.isVisible()
        self.head.refresh()
        self.head.setVisible(self.has_case and not taking)
        self.card.setVisible(self.has_case and not taking)
        self._empty.setVisible(not self.has_case and not taking)
        self.side.setVisible(self.has_case)

    def _on_case_changed(self) -> None:
        if self.isVisible():
            self._show_case()
            if not self._session.busy:
                self.card.refresh()
                if not self.card.asks and not self.new.isVisible():
                    self.take_focus()

    def _on_saved_changed(self) -> None:
        self._note_here(self._session.kept)
        if self.isVisible():
            self.head.refresh()
            self.list.show_open()
            self.list.refresh()
            self.side.refresh()

    def _on_assessment_changed(self) -> None:
        if not self.isVisible():
            return
        had_focus = self._card_has_focus() or self._awaited
        self._awaited = False
        self.card.follow()
        self.side.follow()
        self._show_stops()
        self.arrange()
        if had_focus and not self.new.isVisible():
            self.take_focus()
            self._show_sentence()

    def _on_advice_changed(self) -> None:
        if self.isVisible():
            had_focus = self._card_has_focus()
            if self.card.reconsider() and had_focus:
                self.take_focus()

    def _on_busy_changed(self, busy: bool) -> None:
        # The keys of the question that is going would fall on the one that comes.
        self.card.pad.setEnabled(not busy)
        if not busy and self.isVisible():
            self.card.refresh()

    def _note_here(self, kept: Kept | None) -> None:
        """Note which case is on the screen, and which was before."""
        here = kept.id if kept is not None else ""
        if here and here != self._here:
            self._before, self._here = self._here, here

    def _show_sentence(self) -> None:
        """Where the panels are below each other, keep what is to be said in sight."""
        if not self._arranged:
            top = self.card.mapTo(self._content, QPoint(0, 0)).y()
            self._scroll.verticalScrollBar().setValue(top - theme.STEP)

    def _card_has_focus(self) -> bool:
        """Whether the focus is on the card, or nowhere, as after a button that is gone."""
        focus = QApplication.focusWidget()
        return focus is None or self.card.isAncestorOf(focus)

    def _on_wanted(self, case_id: str) -> None:
        self._leave_new()
        if case_id != self._here or self._session.kept is None:
            self.list.view.setFocus(Qt.FocusReason.OtherFocusReason)
            self._awaited = True
            self.case_wanted.emit(case_id)
        else:
            self.take_focus()

    def _on_started(self) -> None:
        self._leave_new()
        self.started.emit()

    def _leave_new(self) -> None:
        self.new.hide()
        self._show_case()
        self.take_focus()
