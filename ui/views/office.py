"""What belongs to the end of a case and to the shop: opens its dialogs, and does what they ask.

Photographs, reports, settings, learning, and the numbers of the shop; `case_end` closes a case.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from threading import Event
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QStackedWidget, QWidget

from ui import messages
from ui.jobs import Job
from ui.settings import Places, Settings, author
from ui.views import case_end
from ui.views.case_end import CaseEnd, open_over, present

if TYPE_CHECKING:  # loaded once somebody asks for it
    from pathlib import Path

    from knowledge.model import KnowledgeBase
    from ui.learned import Lessons, Wording
    from ui.session import Session
    from ui.then_and_now import Difference
    from ui.views.shop_numbers_page import ShopNumbersPage

_PAUSE = 0.02  # seconds after each closing that is learned from, so that the window gets its turn


class Host(case_end.Host, Protocol):
    """What the office needs of the window."""

    settings: Settings
    places: Places
    stack: QStackedWidget

    def remember(self, **changes: object) -> None:
        """Change some settings and write them."""

    def show_trouble(self, sentence: str, next_step: str) -> None:
        """Say what went wrong."""


class Office(QObject):
    """Opens the dialogs of the shop, each over the window.

    Parameters
    ----------
    host : Host
    window : QWidget
    """

    def __init__(self, host: Host, window: QWidget) -> None:
        super().__init__(window)
        self._host, self._window = host, window
        self.shipped: KnowledgeBase | None = None
        self.wording: Wording | None = None
        self.numbers: ShopNumbersPage | None = None
        self._behind: QWidget | None = None
        self.end = CaseEnd(host, window)

    def handlers(self) -> Mapping[str, Callable[[], None]]:
        """Give what each of the actions does."""
        return {
            "close_case": self.close_case,
            "photographs": self.open_photographs,
            "report": self.open_report,
            "settings": self.open_settings,
            "learning": self.open_learning,
            "shop_numbers": self.toggle_numbers,
        }

    def attend(
        self, session: "Session", shipped: "KnowledgeBase", wording: "Wording | None"
    ) -> None:
        """Follow a session.

        Parameters
        ----------
        session : Session
        shipped : KnowledgeBase
            As read from the files, with nothing learned.
        wording : Wording, optional
            The learned words that the session's base has.
        """
        self.shipped, self.wording = shipped, wording
        self.end.attend(session)
        session.compared.connect(self._on_compared)
        self._learn_anew()

    def close_case(self) -> None:
        """Ask how the case ended, and close it."""
        self.end.ask()

    def _on_compared(self, found: "Difference") -> None:
        """Show that a case comes to something else now, where that is worth it."""
        from ui.views.then_dialog import ThenDialog

        if found.matters:
            open_over(ThenDialog(found, self._window))
        else:
            self._host.say(messages.WEIGHED_ANEW)

    # -- papers

    def open_photographs(self) -> None:
        """Show the photographs of the case; a case that is new is kept first."""
        from ui.views.photos_dialog import PhotosDialog

        session = present(self._host)
        if session is None or (session.kept is None and not session.save()):
            return
        kept = session.kept
        if kept is None:
            return
        records = session.records
        dialog = PhotosDialog(
            lambda: records.album,
            kept.id,
            lambda: (records.by, session.now()),
            self._host.jobs,
            self._window,
        )
        open_over(dialog)

    def open_report(self) -> None:
        """Ask what a report of the case should be like, and write it."""
        from diagnose.report import photographs_of
        from ui.views.report_dialog import ReportDialog

        session = present(self._host)
        if session is None:
            return
        if session.standing is None or session.busy:
            self._host.say(messages.BEING_WEIGHED)
            return
        records, kept, standing = session.records, session.kept, session.standing
        # A name or an end that was told since weighs nothing, so the assessment is of the case
        # before it.
        assessment = replace(standing.assessment, case=session.case)
        dialog = ReportDialog(
            replace(standing, assessment=assessment),
            lambda: () if kept is None else photographs_of(records.album, kept.id),
            self._host.settings.last_folder,
            self._host.jobs,
            self._window,
            conflicts=() if kept is None else kept.conflicts,
        )
        dialog.written.connect(self._on_written)
        open_over(dialog)

    def _on_written(self, path: "Path") -> None:
        self._host.remember(last_folder=str(path.parent))
        self._host.say(messages.REPORT_WRITTEN.format(path=path))

    # -- the shop

    def open_settings(self) -> None:
        """Show the settings."""
        from ui.views.settings_dialog import SettingsDialog

        host = self._host
        host.leave_page()
        dialog = SettingsDialog(host.settings, host.places, host.jobs, self._window)
        dialog.taken.connect(self._on_settings)
        open_over(dialog)

    def _on_settings(self, settings: Settings, said: str) -> None:
        names = ("author", "store", "learning", "overlays")
        self._host.remember(**{name: getattr(settings, name) for name in names})
        session = self._host.session
        if session is not None:
            session.records.by = author(settings)
        self._host.say(said)
        if settings.learning:
            self._learn_anew()

    def open_learning(self) -> None:
        """Show what closed cases have taught."""
        from ui.views.learning_dialog import LearningDialog

        session, settings = present(self._host), self._host.settings
        if session is None or self.shipped is None:
            return
        wording = self.wording
        used = messages.SHIPPED_USED
        if wording is not None:
            used = messages.LEARNED_USED.format(closings=wording.closings)
        dialog = LearningDialog(
            self.shipped,
            session.records,
            self._host.jobs,
            on=settings.learning,
            left_out=settings.left_out,
            used=used,
            parent=self._window,
        )
        dialog.switched.connect(lambda on: self._host.remember(learning=on))
        dialog.left_out_changed.connect(lambda names: self._host.remember(left_out=names))
        dialog.learned.connect(self._keep)
        open_over(dialog)

    def _learn_anew(self) -> None:
        """Learn beside the window where other cases are closed than the words were learned from."""
        session, base, settings = self._host.session, self.shipped, self._host.settings
        if session is None or base is None or not settings.learning:
            return
        from diagnose.errors import PullOnceError
        from ui.learned import learn, listed, mark_of, read_wording

        records, path, stale = session.records, self._host.places.learned, Event()
        left_out = settings.left_out

        def work() -> "Lessons | None":
            old = read_wording(path)
            if old is not None and old.of == mark_of(base, listed(records.store)[0], left_out):
                return None
            return learn(base, records.store, left_out, lambda *_: stale.wait(_PAUSE))

        def done(lessons: "Lessons | None") -> None:
            if lessons is not None:
                self._keep(lessons)
                said = messages.LEARNED_ANEW.format(closings=lessons.counted)
                self._host.say(said)

        def failed(error: Exception) -> None:
            if not isinstance(error, PullOnceError):
                raise error
            self._host.show_trouble(error.sentence, error.next_step)

        self._host.jobs.start("learn", Job(work, done, failed, stale.set))

    def _keep(self, lessons: "Lessons") -> None:
        """Keep learned words for the next start."""
        from ui.learned import wording_of, write_wording

        try:
            write_wording(self._host.places.learned, wording_of(lessons))
        except OSError as error:
            self._host.say(f"What was learned could not be kept: {error.strerror}.")

    def toggle_numbers(self) -> None:
        """Show the numbers of the shop, or go back to where they were opened."""
        session, stack = present(self._host), self._host.stack
        if session is None or self.shipped is None:
            return
        if self.numbers is None:
            from ui.views.shop_numbers_page import ShopNumbersPage

            self.numbers = ShopNumbersPage(self.shipped, session.records, self._host.jobs)
            self.numbers.left.connect(self.toggle_numbers)
            self.numbers.said.connect(self._host.say)
            self.numbers.failed.connect(self._host.show_trouble)
            stack.addWidget(self.numbers)
        if stack.currentWidget() is not self.numbers:
            self._behind = stack.currentWidget()
            stack.setCurrentWidget(self.numbers)
            self.numbers.take_focus()
        elif self._behind is not None:
            stack.setCurrentWidget(self._behind)
            take_focus = getattr(self._behind, "take_focus", None)
            if take_focus is not None:
                take_focus()
