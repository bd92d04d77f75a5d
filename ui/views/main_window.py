"""The window: header, messages, and one of its pages; it comes before the engine is loaded."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import (
    QApplication,
    QMainWindow,
    QMessageBox,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from ui import loading, messages, theme
from ui.actions import Actions
from ui.jobs import Job, Jobs
from ui.live_actions import Page, Shown, live_actions
from ui.settings import Places, Settings, write_settings
from ui.views.calculator_memory import CalculatorMemory
from ui.views.case_files import CaseFiles
from ui.views.class_projector import Projector
from ui.views.class_room import ClassRoom
from ui.views.handbook_visit import HandbookVisit
from ui.views.header import Header
from ui.views.line_visit import LineVisit
from ui.views.office import Office
from ui.views.opening import CasesPage, OpeningPage, TroublePage
from ui.views.rooms import Room
from ui.views.trouble_bar import TroubleBar
from ui.widgets.text import Words

if TYPE_CHECKING:  # loaded once the window is on the screen
    from ui.session import Session
    from ui.views.bench import Bench
    from ui.views.intake import Intake
    from ui.views.line_room import LineRoom

_LISTED = 60


class MainWindow(QMainWindow):
    """The one window.

    Parameters
    ----------
    settings : Settings
    places : Places
    family : str
        The face; empty for the system's own.

    Signals
    -------
    ready(bool)
        The knowledge base is loaded (True), or can't be used (False).
    """

    ready = Signal(bool)

    def __init__(self, settings: Settings, places: Places, family: str) -> None:
        super().__init__()
        self.settings = settings
        self.places = places
        self.jobs = Jobs(self)
        self.session: Session | None = None
        self.bench: Bench | None = None
        self.intake: Intake | None = None
        self._family = family
        self._worked_out = CalculatorMemory()
        self.actions_ = Actions(self)
        self.header = Header(self.actions_)
        self.trouble = TroubleBar()
        self.files = CaseFiles(self, self)
        self.learned = Words("", role="small", tone="muted")
        self.learned.setContentsMargins(3 * theme.STEP, 0, 3 * theme.STEP, 0)
        self.learned.hide()
        self.cases = CasesPage()
        self.stack = QStackedWidget()
        self.stack.addWidget(OpeningPage())
        self.stack.addWidget(self.cases)
        self.handbook = HandbookVisit(self, self)
        self.office = Office(self, self)
        self.line = LineVisit(self, self)
        self.class_room = ClassRoom(self)
        self.projector = Projector()
        self.stack.addWidget(self.class_room)
        # Room -> what shows it.
        self.rooms: dict[str, Callable[[], None]] = {
            "vehicle": self.show_vehicle,
            "line": self.show_line,
            "class": self.show_class,
        }
        frame = QWidget()
        column = QVBoxLayout(frame)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.header)
        column.addWidget(self.trouble)
        column.addWidget(self.learned)
        column.addWidget(self.stack, 1)
        self.setCentralWidget(frame)
        self.setWindowTitle("Pull Once")
        self.resize(1280, 800)
        self._connect()
        self._update_actions()

    def _connect(self) -> None:
        self.cases.new_wanted.connect(self.new_case)
        self.cases.open_wanted.connect(self.open_case)
        self.cases.case_wanted.connect(self.open_kept)
        self.stack.currentChanged.connect(lambda _page: self._update_actions())
        self.handbook.moved.connect(self._update_actions)
        self.handbook.left.connect(self._on_handbook_left)
        self.class_room.record_wanted.connect(self.handbook.show)
        self.class_room.left.connect(self.show_vehicle)
        self.actions_.connect(
            {
                "new": self.new_case,
                "open": self.open_case,
                "save_as": self.files.write,
                "cases": self.show_cases,
                "quit": self.close,
                "undo": lambda: self._in_session(lambda s: s.undo()),
                "redo": lambda: self._in_session(lambda s: s.redo()),
                "intake": self.show_intake,
                "bench": self.show_bench,
                "read": lambda: self._at_card(lambda p: p.card.acknowledge()),
                "skip": lambda: self._at_card(lambda p: p.card.skip()),
                "others": lambda: self._at_card(lambda p: p.card.open_others()),
                "better": lambda: self._at_card(lambda p: p.card.take_better()),
                "why_step": lambda: self._at_card(lambda p: p.open_advice()),
                "saw": lambda: self._at_card(lambda p: p.open_saw()),
                "closing": lambda: self._at_bench(lambda b: b.go_to_closing()),
                "voice": lambda: self._at_card(lambda p: p.card.next_voice()),
                "keep_first": lambda: self._at_card(lambda p: p.conflicts.settle(other=False)),
                "keep_other": lambda: self._at_card(lambda p: p.conflicts.settle(other=True)),
                "why": lambda: self._at_bench(lambda b: b.causes.open_marked()),
                "numbers": lambda: self._at_bench(lambda b: b.open_numbers()),
                "look_up": lambda: self._at_bench(lambda b: b.look_up()),
                "handbook": self.toggle_handbook,
                "page_before": self.handbook.back,
                "save_handbook": self.handbook.save,
                "work_out": self.open_calculators,
                "panel": lambda: self._at_card(lambda p: p.next_panel(1)),
                "panel_back": lambda: self._at_card(lambda p: p.next_panel(-1)),
                "larger": lambda: self.step_text(1),
                "smaller": lambda: self.step_text(-1),
                "theme": self.next_theme,
                "projector": self.toggle_projector,
                "picture": self.toggle_picture,
                "on_map": self.show_on_map,
                "help": self.show_keys,
                **self.office.handlers(),
                "menu": self.header.open_menu,
                **self.rooms,
                **self.line.handlers(),
            }
        )

    def load(self, path: Path | None = None) -> None:
        """Read the knowledge base beside the window, then show a case or the list of cases."""
        places, settings = self.places, self.settings
        self.jobs.start(
            "load",
            Job(
                lambda: loading.load(places, settings),
                lambda loaded: self._on_loaded(loaded, path),
                lambda error: self._on_load_failed(error, path),
            ),
        )

    def new_case(self) -> None:
        """Start with an empty case; in the Line room by one line of text."""
        if self.line.page is not None and self.line.open:
            self.line.page.begin_new()
        elif self.session is not None and self.intake is not None:
            self.leave_page()
            self.forget_worked_out()
            self.session.start()
            self.show_intake(0)

    def open_case(self) -> None:
        """Let the user choose a case file."""
        if self.session is not None:
            chosen = self.files.ask_open_path()
            if chosen:
                self.open_path(Path(chosen))

    def open_path(self, path: Path) -> None:
        """Open a case file; the case on the screen stays if that can't be done."""
        if self.files.open(path):
            self.forget_worked_out()
            self.show_bench()
        elif self.stack.currentIndex() == 0:
            self.show_cases()

    def open_kept(self, case_id: str) -> None:
        """Open a case of the store at the bench."""
        self.switch_to(case_id)
        self.show_bench()

    def switch_to(self, case_id: str) -> None:
        """Open a case of the store in the room that is shown."""
        if self.session is not None:
            self.leave_page()
            self.clear_trouble()
            self.forget_worked_out()
            self.session.open_kept(case_id)

    def close_case(self) -> None:
        """Ask how the case ended, and close it."""
        self.office.close_case()

    def forget_worked_out(self) -> None:
        """Forget what was worked out for the case before."""
        self._worked_out.clear()

    def show_cases(self) -> None:
        """Show the list of cases."""
        if self.session is None:
            return
        self.leave_page()
        records = self.session.records
        self.jobs.start(
            "cases",
            Job(lambda: records.store.find(limit=_LISTED), self.cases.show_cases, self._on_failed),
        )
        self.stack.setCurrentWidget(self.cases)
        self.cases.take_focus()

    def show_intake(self, page: int | None = None) -> None:
        """Show the intake, at the page that was shown last if none is given."""
        if self.intake is not None:
            self.stack.setCurrentWidget(self.intake)
            self.intake.show_page(self.intake.place if page is None else page)

    def show_bench(self) -> None:
        """Show the bench."""
        if self.bench is not None:
            self.leave_page()
            self.stack.setCurrentWidget(self.bench)
            self.bench.take_focus()

    def show_vehicle(self) -> None:
        """Show the case at the bench, or the list of cases if there is none."""
        session = self.session
        if session is not None and (session.kept is not None or session.case.entries):
            if self._room != "vehicle" or self.handbook.open:
                self.show_bench()
        elif self._room != "vehicle":
            self.show_cases()
        self._update_actions()

    def show_line(self) -> None:
        """Show the Line room."""
        self.leave_page()
        self.line.show()
        self._update_actions()

    def show_class(self) -> None:
        """Show the room for teaching."""
        if self.session is not None:
            self.leave_page()
            self.stack.setCurrentWidget(self.class_room)
            self.class_room.take_focus()
        self._update_actions()

    def toggle_picture(self) -> None:
        """Show what the marked or the leading cause would look like, or go back to the bench."""
        if self._room == "class":
            self.show_vehicle()
        elif self.bench is not None and self.stack.currentWidget() is self.bench:
            self.stack.setCurrentWidget(self.class_room)
            self.class_room.show_cause(self.bench.causes.marked)

    def show_on_map(self) -> None:
        """Show the record of the handbook's page in the room for teaching."""
        if self.handbook.page is not None and self.handbook.open:
            kind, name = self.handbook.page.key
            self.stack.setCurrentWidget(self.class_room)
            self.class_room.show_record(kind, name)

    def toggle_projector(self) -> None:
        """Make it large for a projector, or as it is usual again."""
        self.settings = self.projector.toggle(self, self.settings)
        self.dress()
        self.say("For a projector; F11 ends it." if self.projector.on else "")

    def toggle_handbook(self) -> None:
        """Show the handbook, or go back to where it was opened."""
        self.leave_page()
        self.handbook.toggle()

    def show_keys(self) -> None:
        """Show all keys on one page."""
        from ui.views.keys_dialog import KeysDialog

        KeysDialog(self).open()

    def open_calculators(self) -> None:
        """Open the calculators, at the one that works out what the card asks."""
        from ui.views.calculator_dialog import CalculatorDialog

        if self.session is None or self.bench is None:
            return
        self.leave_page()
        question = self.bench.card.question if self.stack.currentWidget() is self.bench else None
        kind, name = question.subject if question is not None else ("", "")
        check = name if kind == "check" else None
        dialog = CalculatorDialog(self.session, self._worked_out, check, self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def step_text(self, step: int) -> None:
        """Make the text larger or smaller by so many steps."""
        scales = theme.TEXT_SCALES
        place = scales.index(self.settings.text_scale) + step
        self.remember(text_scale=scales[max(0, min(len(scales) - 1, place))])
        self.dress()

    def next_theme(self) -> None:
        """Go on to the next colours."""
        names = theme.THEME_NAMES
        place = names.index(self.settings.theme) + 1
        self.remember(theme=names[place % len(names)])
        self.dress()
        self.say(f"Colours: {self.settings.theme}.")

    def dress(self) -> None:
        """Put on the colours and the size of text that the settings say."""
        app = QApplication.instance()
        if isinstance(app, QApplication):
            theme.apply(app, self.settings.theme, self.settings.text_scale, self._family)
        self.header.arrange()
        if self.bench is not None and self.intake is not None:
            self.bench.arrange()
            if self.line.page is not None:
                self.line.page.arrange()
            self.intake.pages[self.intake.place].refresh()
        self.handbook.dress()

    def remember(self, **changes: object) -> None:
        """Change some settings and write them; that they can't be written does not stop anybody."""
        self.settings = self.settings.with_(**changes)
        try:
            write_settings(self.places.settings, self.projector.to_keep(self.settings))
        except OSError as error:
            self.say(f"The settings could not be kept: {error.strerror}.")

    def say(self, sentence: str) -> None:
        """Say something in passing."""
        self.header.say(sentence)

    def show_trouble(self, sentence: str, next_step: str) -> None:
        """Say what went wrong until it is put right or another thing goes wrong."""
        self.trouble.show_trouble(sentence, next_step)

    def clear_trouble(self) -> None:
        """Take the last trouble from the screen."""
        self.trouble.clear()

    def closeEvent(self, event: QCloseEvent, /) -> None:
        self.leave_page()
        if self.session is not None:
            self.session.leave()
        if not self._may_quit():
            event.ignore()
            return
        self.class_room.leave()
        self.jobs.close()
        if self.session is not None:
            self.session.records.close()
        super().closeEvent(event)

    def _may_quit(self) -> bool:
        """Whether everything is saved, or the user quits all the same."""
        session = self.session
        if session is None or not session.trouble or session.save():
            return True
        question = QMessageBox(QMessageBox.Icon.Warning, "Pull Once", session.trouble, parent=self)
        question.setInformativeText("Quit all the same, and lose what is not saved?")
        stay = question.addButton("&Stay", QMessageBox.ButtonRole.RejectRole)
        question.addButton("&Quit unsaved", QMessageBox.ButtonRole.DestructiveRole)
        question.setDefaultButton(stay)
        question.exec()
        return question.clickedButton() is not stay

    def _on_loaded(self, loaded: loading.Loaded, path: Path | None) -> None:
        from ui.session import Session
        from ui.views.bench import Bench
        from ui.views.intake import Intake

        session = Session(loaded.base, self.jobs, loaded.records, parent=self)
        self.session = session
        self.bench = Bench(session, self.settings.voice)
        self.intake = Intake(session)
        self.stack.addWidget(self.intake)
        self.stack.addWidget(self.bench)
        self.intake.finished.connect(self.show_bench)
        self.bench.page_wanted.connect(self.handbook.show)
        self.bench.card.voice_changed.connect(lambda voice: self.remember(voice=voice))
        session.case_changed.connect(self._on_case_changed)
        session.assessment_changed.connect(self._on_assessed)
        session.saved_changed.connect(self._on_saved_changed)
        session.failed.connect(self.show_trouble)
        session.said.connect(self.say)
        self.office.attend(session, loaded.shipped, loaded.wording)
        if loaded.wording is not None:
            words = messages.LEARNED_LINE.format(closings=loaded.wording.closings)
            self.learned.say(words)
        session.send()
        if path is None:
            self.show_cases()
        else:
            self.open_path(path)
        if loaded.trouble is not None:
            self.show_trouble(*loaded.trouble)
        self.ready.emit(True)

    def _on_load_failed(self, error: Exception, path: Path | None) -> None:
        from knowledge.load import KnowledgeError

        if not isinstance(error, KnowledgeError):
            raise error
        page = TroublePage(str(error), folders=bool(self.settings.overlays))
        self.stack.addWidget(page)
        self.stack.setCurrentWidget(page)
        page.without_folders.connect(lambda: self._load_without_folders(page, path))
        page.button.setFocus()
        self.ready.emit(False)

    def _load_without_folders(self, page: QWidget, path: Path | None) -> None:
        self.stack.removeWidget(page)
        page.deleteLater()
        self.stack.setCurrentIndex(0)
        self.settings = self.settings.with_(overlays=())  # for this run only: not written
        self.load(path)

    def _on_case_changed(self) -> None:
        session = self.session
        if session is not None:
            self.header.show_case(session.case.title)
            self.say("")
            self._update_actions()

    def _on_assessed(self) -> None:
        if self.stack.currentWidget() is self.class_room:
            self.class_room.follow()

    def _on_saved_changed(self) -> None:
        session = self.session
        if session is not None:
            waits = session.kept is not None and not session.kept.sent
            self.header.show_saved(saved=session.saved, waits=waits, trouble=session.trouble)
            if session.saved:
                self.clear_trouble()

    def _on_failed(self, error: Exception) -> None:
        from diagnose.errors import PullOnceError

        if not isinstance(error, PullOnceError):
            raise error
        self.show_trouble(error.sentence, error.next_step)

    def _on_handbook_left(self, page: QWidget) -> None:
        if self.bench is not None and page is self.bench:
            self.bench.take_focus()
        elif self.line.page is not None and page is self.line.page:
            self.line.page.take_focus()
        elif page is self.class_room:
            self.class_room.take_page_focus()

    def _update_actions(self) -> None:
        session = self.session
        shown = Shown(
            self._page,
            loaded=session is not None,
            undoes="" if session is None else session.undoes,
            redoes="" if session is None else session.redoes,
            has_before=self.handbook.has_before,
        )
        self.actions_.allow(live_actions(shown))
        self.actions_.tell("undo", shown.undoes)
        self.actions_.tell("redo", shown.redoes)
        self.header.show_room(self._room)
        in_a_case = shown.page in {"intake", "bench", "line"}
        self.header.title.setVisible(in_a_case)
        self.header.saved.setVisible(in_a_case)

    def _in_session(self, act: "Callable[[Session], None]") -> None:
        if self.session is not None:
            self.leave_page()
            act(self.session)

    def _at_bench(self, act: "Callable[[Bench], None]") -> None:
        if self.bench is not None and self.stack.currentWidget() is self.bench:
            act(self.bench)

    def _at_card(self, act: "Callable[[Bench | LineRoom], None]") -> None:
        """Do something to the page with the card, at the vehicle or on the phone."""
        if self.line.page is not None and self.line.open:
            act(self.line.page)
        elif self.bench is not None and self.stack.currentWidget() is self.bench:
            act(self.bench)

    @property
    def _page(self) -> Page:
        pages: dict[QWidget | None, Page] = {
            self.intake: "intake",
            self.bench: "bench",
            self.line.page: "line",
            self.class_room: "class",
            self.handbook.page: "handbook",
        }
        return pages.get(self.stack.currentWidget(), "other")

    @property
    def _room(self) -> Room:
        page = self._page
        return page if page in {"line", "class"} else "vehicle"

    def leave_page(self) -> None:
        """Keep what is only typed on the page that is shown."""
        if self.intake is not None and self.stack.currentWidget() is self.intake:
            self.intake.leave()
