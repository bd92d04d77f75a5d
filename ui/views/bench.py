"""The bench: the next check, what it may be, what has been found, and whether to pull."""

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from ui import moves, theme
from ui.questions import asked
from ui.session import Session
from ui.views.card_page import CardPage
from ui.views.change_dialog import ChangeDialog
from ui.views.check_card import CheckCard
from ui.views.closing_panel import ClosingPanel
from ui.views.conflict_notice import ConflictNotice
from ui.views.numbers_panel import NumbersDialog
from ui.views.panels import CausesPanel, FindingsPanel
from ui.views.strip import Strip
from ui.views.why_dialog import WhyDialog
from ui.widgets.scroll import Scroll

# In lines of text: a window narrower or lower than this shows its panels below each other.
_WIDE_LINES = 56
_HIGH_LINES = 32
# What is asked -> the kind of record that the handbook tells of it by.
_PAGES = {"complaint": "complaints", "check": "checks", "work": "work", "repair": "causes"}


class Bench(CardPage):
    """Everything for one case on one screen.

    Signals
    -------
    page_wanted(str, str)
        Kind and id of the record whose page of the handbook the user wants.
    """

    page_wanted = Signal(str, str)

    def __init__(self, session: Session, voice: str, parent: QWidget | None = None) -> None:
        super().__init__(session, CheckCard(session, voice), parent)
        self.conflicts = ConflictNotice(session)
        self.strip = Strip(session)
        self.causes = CausesPanel(session)
        self.closing = ClosingPanel(session)
        self.findings = FindingsPanel(session)
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(3 * theme.STEP)
        self._grid.setVerticalSpacing(2 * theme.STEP)
        self._content = QWidget()
        margin = 3 * theme.STEP
        self._grid.setContentsMargins(margin, 2 * theme.STEP, margin, theme.STEP)
        self._content.setLayout(self._grid)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.setSpacing(0)
        outer.addLayout(self._stops)
        outer.addWidget(self.conflicts)
        outer.addWidget(self.strip)
        self._scroll = Scroll(self._content)
        outer.addWidget(self._scroll, 1)
        # In the order in which Tab goes through them, from the first on.
        for row, panel in enumerate(self._panels):
            self._grid.addWidget(panel, row, 0)
        self._arranged: tuple[bool, bool] | None = None
        self._connect()

    def _connect(self) -> None:
        session = self._session
        session.case_changed.connect(self._on_case_changed)
        session.assessment_changed.connect(self._on_assessment_changed)
        session.advice_changed.connect(self._on_advice_changed)
        session.doubts_changed.connect(self.findings.refresh)
        session.busy_changed.connect(self._on_busy_changed)
        self.card.pad.typed.connect(self._show_pad)
        self.strip.stands_changed.connect(
            lambda level: session.change(
                moves.stands(session.base, session.case, level), "where you can work"
            )
        )
        self.closing.look_wanted.connect(lambda name: self.card.choose("check", name))
        self.closing.cause_wanted.connect(self.open_why)
        self.causes.opened.connect(self.open_why)
        self.findings.opened.connect(self.open_change)
        self.findings.removed.connect(self._on_removed)
        self.findings.numbers_wanted.connect(self.open_numbers)

    @property
    def _panels(self) -> tuple[QWidget, ...]:
        return self.card, self.causes, self.closing, self.findings

    def take_focus(self) -> None:
        """Put the focus on the next step, or on the causes if there is none."""
        if self.card.asks:
            self.card.take_focus()
        else:
            self.causes.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def next_panel(self, step: int) -> None:
        """Move the focus to another panel."""
        stops: list[QWidget] = [self.card, self.causes.view, self.closing.view, self.findings.view]
        stops = [w for w in stops if w.isVisible()]
        inside = [w.isAncestorOf(self.focusWidget()) or w is self.focusWidget() for w in stops]
        place = inside.index(True) if True in inside else 0
        target = stops[(place + step) % len(stops)]
        if target is self.card:
            self.take_focus()
        else:
            target.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def open_why(self, cause: str) -> None:
        """Show why a cause stands where it does."""
        if self._session.standing is None or self._session.busy:
            return
        dialog = WhyDialog(self._session, cause, self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.repair_wanted.connect(lambda name: self.card.choose("repair", name))
        dialog.page_wanted.connect(self.page_wanted)
        dialog.open()

    def go_to_closing(self) -> None:
        """Put the focus on what is to be seen to before it closes."""
        if self.closing.isVisible():
            self.closing.view.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def look_up(self) -> None:
        """Ask for the handbook's page of the marked cause, or else of what the card asks."""
        marked = self.causes.marked if self.causes.view.hasFocus() else None
        question = self.card.question
        if marked is not None:
            self.page_wanted.emit("causes", marked)
        elif question is not None:
            kind, name = question.subject
            if kind in _PAGES:
                self.page_wanted.emit(_PAGES[kind], name)

    def open_change(self, place: int) -> None:
        """Ask again what was answered before."""
        dialog = ChangeDialog(self._session, place, self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.changed.connect(self._on_changed)
        dialog.removed.connect(self._on_removed)
        dialog.open()

    def open_numbers(self) -> None:
        """Show all readings beside what the leading causes predict."""
        dialog = NumbersDialog(self._session, self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        self.arrange()

    def arrange(self) -> None:
        """Put the panels beside each other, or below each other where there is no room."""
        line = self.fontMetrics().height()
        wide = self.width() >= _WIDE_LINES * line and self.height() >= _HIGH_LINES * line
        least = (0, round(6.6 * line)) if wide else (24 * line, 16 * line)
        self.causes.view.setMinimumHeight(least[0])
        self.findings.view.setMinimumHeight(least[1])
        self.closing.view.setMinimumHeight(0 if wide else 12 * line)
        room = self._scroll.viewport().height() - 3 * theme.STEP
        self.card.set_room(room, whole=not wide)
        arranged = (wide, self.closing.has_rows)
        if arranged == self._arranged:
            return
        self._arranged = arranged
        beside = self._panels[1:]
        for panel in self._panels:
            self._grid.removeWidget(panel)
        if wide:
            self._grid.addWidget(self.card, 0, 0, len(beside), 1)
        for row, panel in enumerate(beside if wide else self._panels):
            self._grid.addWidget(panel, row, 1 if wide else 0)
        for column, share in enumerate((4, 3) if wide else (1, 0)):
            self._grid.setColumnStretch(column, share)
        shares = (3, 2 if self.closing.has_rows else 0, 2)
        for row, share in enumerate(shares if wide else (0, 0, 0)):
            self._grid.setRowStretch(row, share)

    def _on_case_changed(self) -> None:
        self.strip.refresh()
        self.findings.refresh()
        if not self._session.busy:
            self.card.refresh()
            self._show_closing()
            if not self.card.asks and self.isVisible():
                self.take_focus()

    def _on_assessment_changed(self) -> None:
        had_focus = self.card.isAncestorOf(self.focusWidget()) or self.focusWidget() is None
        self.strip.refresh()
        self.causes.refresh()
        self.findings.refresh()
        self.card.follow()
        self._show_closing()
        self._show_stops()
        if had_focus and self.isVisible():  # on a hidden page it would be taken from the one shown
            self.take_focus()

    def _on_advice_changed(self) -> None:
        had_focus = self.card.isAncestorOf(self.focusWidget()) or self.focusWidget() is None
        self.strip.refresh()
        if self.card.reconsider() and had_focus and self.isVisible():
            self.take_focus()
        self._show_closing()

    def _show_closing(self) -> None:
        self.closing.refresh()
        self.arrange()

    def _on_busy_changed(self, busy: bool) -> None:
        # The keys of the question that is going would fall on the one that comes.
        self.card.pad.setEnabled(not busy)
        if not busy:
            self.card.refresh()

    def _show_pad(self) -> None:
        """Where the panels are below each other, keep what is typed and what it says in sight."""
        if self._arranged is not None and not self._arranged[0]:
            top = self.card.pad.mapTo(self._content, QPoint(0, 0)).y()
            self._scroll.verticalScrollBar().setValue(top - 2 * theme.STEP)

    def _on_changed(
        self, place: int, choice: str, reading: str, instrument: str, when: str
    ) -> None:
        session = self._session
        name = asked(session.base, session.case.entries[place])
        after = moves.change(
            session.case,
            place,
            answer=choice,
            reading=reading,
            instrument=instrument or None,
            when=when,
        )
        session.change(after, f"the change to “{name}”")

    def _on_removed(self, place: int) -> None:
        session = self._session
        name = asked(session.base, session.case.entries[place])
        session.change(moves.remove(session.case, place), f"removing “{name}”")
