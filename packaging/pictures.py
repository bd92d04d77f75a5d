"""Pictures of every screen, from the example case: ``python packaging/pictures.py FOLDER``.

Drawn without a screen, in the program's own face. With ``--only bench`` just the screens whose
name begins so; the first size and the light and dark colours are those of the readme.
"""

import argparse
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import TypeVar
from uuid import uuid4

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtWidgets import QApplication, QDialog, QWidget

from diagnose.case import Case, Entry, Found
from diagnose.planning.problem import Key
from diagnose.records.kept import State
from knowledge.load import base_folder
from ui import moves, practice_desk, theme
from ui.fonts import load_face
from ui.questions import band_of
from ui.session import Session
from ui.settings import Places, Settings
from ui.views.bench import Bench
from ui.views.class_room import Page
from ui.views.intake import Intake
from ui.views.main_window import MainWindow
from ui.views.saw_dialog import SawDialog

EXAMPLE = base_folder().parent / "examples" / "example.yaml"
OUT = "gearbox_out"
TWIN, READ = "twin_external", "fork_free_travel_twin"
SIZES = ((1280, 800), (1920, 1080))
SAME = "the complaint of the example"
_CALLS = (
    ("Aspen, white truck", "Sorrel", "slips", State.OPEN),
    ("Birch, red pickup", "Sorrel", "hard_to_select", State.WAITING_CALLER),
    ("Calla, two-tone coupe", "Odrin", SAME, State.CLOSED),
    ("Dorn, delivery van", "Odrin", "chatters", State.WAITING_PARTS),
    ("Elder, farm truck", "Sorrel", SAME, State.CLOSED),
    ("Fennel, short van", "Odrin", "gears_grind", State.OPEN),
)
PUMPED: Key = ("check", "pump_pedal")
LOOKED: Key = ("check", "slave_boot_look")
SOLVED: tuple[Key, ...] = (
    PUMPED,
    ("check", "smell"),
    LOOKED,
    ("repair", "slave_leaks"),
    ("drive", ""),
)
T = TypeVar("T")
_PATIENCE = 30.0  # seconds


def settle(app: QApplication, window: MainWindow) -> None:
    """Let the window come to rest: no job under way and every layout done."""
    end = time.monotonic() + _PATIENCE
    while time.monotonic() < end:
        app.processEvents()
        if not window.jobs.busy:
            break
        time.sleep(0.005)
    for _ in range(10):
        app.processEvents()


class Stage:
    """A window with the example case, and a way to each of its screens."""

    def __init__(self, app: QApplication, folder: Path, family: str, name: theme.ThemeName) -> None:
        self.app = app
        settings = Settings(theme=name, author="Odrin")
        self.window = MainWindow(settings, Places(folder / "config", folder / "data"), family)
        self.window.show()
        self.window.load()
        self.settle()

    def settle(self) -> None:
        """Wait until nothing moves."""
        settle(self.app, self.window)

    @property
    def session(self) -> Session:
        """The session."""
        return _there(self.window.session)

    @property
    def bench(self) -> Bench:
        """The bench."""
        return _there(self.window.bench)

    @property
    def intake(self) -> Intake:
        """The intake."""
        return _there(self.window.intake)

    def example(self) -> QWidget:
        """The example case at the bench."""
        for dialog in self.window.findChildren(QDialog):
            dialog.close()
        self.window.open_path(EXAMPLE)
        self.settle()
        self.bench.card.follow()  # on a slow machine the step shown first would have been kept
        return self.window

    def read(self) -> QWidget:
        """The bench with the cautions read."""
        self.example()
        self.bench.card.acknowledge()
        return self.window

    def step(self, kind: str, name: str) -> QWidget:
        """The bench with another step on the card."""
        self.example()
        self.bench.card.choose(kind, name)
        self.bench.card.acknowledge()
        return self.window

    def answered(self) -> QWidget:
        """The bench after one more answer, with old places and hours."""
        self.example()
        options = _there(self.session.standing).advice.options
        check = next(o.id for o in options if o.kind == "check")
        self.step("check", check)
        gauge, pad = self.session.base.checks[check].gauge, self.bench.card.pad
        if gauge is not None and pad.field is not None:
            pad.field.setText(self.session.base.measurements[gauge].plausible[0])
            pad.field.returnPressed.emit()
        else:
            pad.buttons[0].click()
        return self.window

    def stopped(self) -> QWidget:
        """The bench with a stop notice."""
        self.step("check", "finger_spread")
        field = self.bench.card.pad.field
        if field is not None:
            field.setText("3 mm")
            field.returnPressed.emit()
        return self.window

    def gauge(self) -> QWidget:
        """The bench with a reading typed."""
        self.step("check", "finger_spread")
        field = self.bench.card.pad.field
        if field is not None:
            field.setText("0.6 mm")
        return self.window

    def read_so_far(self) -> QWidget:
        """A twin disc on which two readings have been taken."""
        self.example()
        base = self.session.base
        taken = (("bore_runout", "0.009 in"), (READ, "more than 2 in"))
        complaint = Entry(complaint="gears_grind", answer="yes")
        entries = [
            Entry(check=check, answer=band_of(base, check, reading).id, reading=reading)
            for check, reading in taken
        ]
        facts = dict(base.setups[TWIN].facts)
        self.session.start(Case(setup=TWIN, facts=facts, entries=(complaint, *entries)))
        self.window.show_bench()
        self.settle()
        return self.window

    def reading(self, typed: str) -> QWidget:
        """A reading typed on a set-up that predicts it."""
        self.read_so_far()
        self.session.change(moves.remove(self.session.case, 2), "the reading")
        self.settle()
        self.bench.card.choose("check", READ)
        self.bench.card.acknowledge()
        field = self.bench.card.pad.field
        if field is not None:
            field.setText(typed)
        return self.window

    def reading_changed(self) -> QWidget:
        """A reading being changed."""
        self.read_so_far()
        self.bench.open_change(2)
        return self._dialog()

    def numbers(self) -> QWidget:
        """The page of numbers."""
        self.read_so_far()
        self.bench.open_numbers()
        return self._dialog()

    def why(self) -> QWidget:
        """Why the first cause stands where it does."""
        self.example()
        causes = _there(self.session.standing).assessment.causes
        self.bench.open_why(causes[0].id)
        return self._dialog()

    def why_step(self) -> QWidget:
        """Why the step on the card is advised."""
        self.example()
        self.bench.open_advice()
        return self._dialog()

    def opened(self) -> QWidget:
        """The bench with the gearbox out, and what is to be seen to before it closes."""
        self.example()
        session = self.session
        session.change(moves.stands(session.base, session.case, OUT), "where you can work")
        self.settle()
        return self.window

    def waiting(self) -> QWidget:
        """The bench with a repair done and not driven yet, and closing up on the card."""
        self.opened()
        session = self.session
        first = next(
            c.id
            for c in _there(session.standing).assessment.causes
            if c.id in session.base.causes and session.base.causes[c.id].repair.from_ != OUT
        )
        session.change(moves.mended(session.base, session.case, first, seen=True), "the repair")
        self.settle()
        self.bench.card.choose("drive", "")
        return self.window

    def limited(self) -> QWidget:
        """The bench with a customer's limit."""
        self.example()
        session = self.session
        session.change(moves.with_limit(session.case, 0.4), "the limit")
        return self.window

    def saw(self) -> QWidget:
        """The search for what was seen by the way."""
        self.opened()
        self.bench.open_saw()
        shown = self._dialog()
        if isinstance(shown, SawDialog):
            shown.search.field.setText("pilot")
        return shown

    def seen(self) -> QWidget:
        """What was seen by the way, on the card."""
        self.example()
        self.bench.card.choose("check", "pilot_look", seen=True)
        self.bench.card.acknowledge()
        return self.window

    def changing(self) -> QWidget:
        """An answer being changed."""
        self.example()
        self.bench.open_change(len(self.session.case.entries) - 1)
        return self._dialog()

    def keys(self) -> QWidget:
        """The page of keys."""
        self.example()
        self.window.show_keys()
        return self._dialog()

    def handbook(self, kind: str, name: str, typed: str = "") -> QWidget:
        """A page of the handbook."""
        self.example()
        self.window.handbook.show()
        self.settle()
        page = _there(self.window.handbook.page)
        page.search.field.setText(typed)
        page.open((kind, name))
        return self.window

    def handbook_tree(self) -> QWidget:
        """The drawing of a complaint in the handbook."""
        self.handbook("complaints", "chatters")
        self.settle()
        bar = _there(self.window.handbook.page).text.verticalScrollBar()
        bar.setValue(round(0.2 * bar.maximum()))
        return self.window

    def repair(self) -> QWidget:
        """A repair on the card."""
        self.example()
        first = _there(self.session.standing).assessment.causes[0].id
        return self.step("repair", first)

    def price(self) -> QWidget:
        """A repair whose parts have a price, with the labour for an hour."""
        self.example()
        session = self.session
        cause = _there(session.standing).assessment.causes[0].id
        case = moves.with_labour(session.case, 80.0, "EUR")
        session.change(moves.with_part(case, cause, 200.0), "the price of the parts")
        self.settle()
        self.bench.card.choose("repair", cause)
        self.bench.card.acknowledge()
        return self.window

    def ask(self) -> QWidget:
        """A question to the driver on the card."""
        self.example()
        options = _there(self.session.standing).advice.options
        name = next(o.id for o in options if o.kind == "ask")
        return self.step("ask", name)

    def found(self) -> QWidget:
        """A case that is found."""
        self.repair()
        self.bench.card.pad.buttons[0].click()
        return self.window

    def page(self, place: int) -> QWidget:
        """A page of the intake."""
        self.example()
        self.window.show_intake(place)
        return self.window

    def work_question(self) -> QWidget:
        """The work page with a question."""
        self.page(3)
        self.intake.work.ask("bled")
        return self.window

    def kit(self) -> QWidget:
        """The kit page with some figures typed, one of them wrong."""
        self.page(1)
        lines = self.intake.kit.lines
        for figure, typed in (("finger_height", "45 ± 1 mm"), ("fork_free_travel", "35 in")):
            if figure in lines:
                lines[figure].field.setText(typed)
        return self.window

    def start(self) -> QWidget:
        """The list of cases."""
        self.answered()
        self.settle()
        self.window.show_cases()
        return self.window

    def line(self, show: str = "") -> QWidget:
        """The Line room: many cases, and one on the phone."""
        self.example()
        session = self.session
        if not any(c.title == _CALLS[0][0] for c in session.records.store.find()):
            self._calls()
        self.example()
        session.change(moves.with_title(session.case, "Hollin, grey van"), "the name")
        self.window.show_line()
        self.settle()
        room = _there(self.window.line.page)
        room.new.left.emit()
        if show == "conflict":
            self._differ()
        room.card.follow()
        room.card.acknowledge()
        if show == "new":
            room.begin_new()
            room.new.search.field.setText("Marten, blue tractor, judders, grinds going into first")
        elif show == "follow-up":
            room.papers.open_follow_up()
            return self._dialog()
        elif show == "handover":
            room.papers.open_handover()
            return self._dialog()
        self.settle()
        return self.window

    def _calls(self) -> None:
        """Put some cases into the store, of several people and in several states."""
        session = self.session
        store, base = session.records.store, session.base
        example = session.case
        complaint = next(e for e in example.entries if e.complaint is not None)
        for place, (title, by, told, state) in enumerate(_CALLS):
            entries = (complaint, *example.entries[1:place]) if told == SAME else ()
            case = Case(title=title, setup=example.setup, facts=example.facts, entries=entries)
            if told != SAME:
                case = moves.with_asked(base, case, told, "yes", session.now())
            if state is State.CLOSED:
                cause = list(base.causes)[place]
                case = case.model_copy(update={"found": Found(causes=(cause,))})
            kept = store.new(case, by, session.now(), str(uuid4()))
            store.set_state(kept.id, state, by, session.now())

    def _differ(self) -> None:
        """Let another seat answer what is answered here."""
        session = self.session
        kept, check = _there(session.kept), "gears_engine_off"
        said = kept.case.answer_to(("check", check))
        answers = [a.id for a in session.base.checks[check].answers if a.id != said]
        there = [Entry(check=check, answer=answers[0], by="Sorrel", at=session.now())]
        here = [Entry(check=check, answer=answers[-1], at=session.now())]
        other = kept.case.with_entry(there[0])
        store = session.records.store
        store.save(kept.id, other, kept.number, "Sorrel", session.now(), str(uuid4()))
        session.change(session.case.with_entry(here[0]), "an answer")
        self.settle()

    def large(self, show: Callable[[], QWidget]) -> QWidget:
        """A screen with text of twice the size."""
        self.window.remember(text_scale=2.0)
        self.window.dress()
        shown = show()
        self.settle()
        return shown

    def teach(self, page: Page) -> QWidget:
        """A page of the room for teaching, on the example case."""
        self.example()
        self.window.show_class()
        self.window.class_room.show_page(page)
        practice = self.window.class_room.practice
        if page == "practice" and practice is not None:
            practice.review.other_wanted.emit()  # back from what was left there
        return self.window

    def practise(self, *acts: Key, chosen: Key | None = None, hints: int = 0) -> QWidget:
        """The example exercise after some moves with their cautions read; one more on the card."""
        self.teach("practice")
        page = _there(self.window.class_room.practice)
        page.setup.name.setText("Odrin")
        page.begin(practice_desk.read(self.session.base, practice_desk.example_file()))
        self.window.jobs.drop("practice ahead")  # nobody waits for the planner before the end
        for act in acts:
            page.running.choose(act)
            page.running.read()
            page.running.make_move()
        for _ in range(hints):
            page.running.hint_wanted.emit()
            self.settle()
        if chosen is not None:
            page.running.choose(chosen)
        self.settle()
        return self.window

    def unsafe(self) -> QWidget:
        """An exercise that was stopped."""
        self.practise(PUMPED, chosen=LOOKED)
        _there(self.window.class_room.practice).running.make_move()
        return self.window

    def results(self) -> QWidget:
        """Results that are kept."""
        self.practise(*SOLVED)
        _there(self.window.class_room.practice).show_results()
        return self.window

    def _dialog(self) -> QWidget:
        self.settle()
        return next(d for d in self.window.findChildren(QDialog) if d.isVisible())

    def screens(self) -> Mapping[str, Callable[[], QWidget]]:
        """Every screen by its name."""
        return {
            "start": self.start,
            "intake-setup": lambda: self.page(0),
            "intake-kit": self.kit,
            "intake": lambda: self.page(2),
            "intake-work": lambda: self.page(3),
            "intake-work-question": self.work_question,
            "intake-open": lambda: self.page(4),
            "bench": self.read,
            "bench-cautions": self.example,
            "bench-answered": self.answered,
            "bench-gauge": self.gauge,
            "bench-reading": lambda: self.reading("1 3/8 in"),
            "bench-reading-range": lambda: self.reading("more than 1 3/4 in"),
            "bench-reading-slip": lambda: self.reading("35 in"),
            "bench-reading-none": lambda: self.reading(""),
            "bench-stop": self.stopped,
            "bench-repair": self.repair,
            "bench-price": self.price,
            "bench-ask": self.ask,
            "bench-hand-over": lambda: self.step("hand_over", ""),
            "bench-found": self.found,
            "bench-open": self.opened,
            "bench-drive": self.waiting,
            "bench-limit": self.limited,
            "bench-seen": self.seen,
            "saw": self.saw,
            "step": self.why_step,
            "why": self.why,
            "change": self.changing,
            "change-reading": self.reading_changed,
            "numbers": self.numbers,
            "keys": self.keys,
            "handbook": lambda: self.handbook("section", ""),
            "handbook-search": lambda: self.handbook("complaints", "chatters", "judder"),
            "handbook-tree": self.handbook_tree,
            "handbook-overview": lambda: self.handbook("section", "overview"),
            "handbook-drawn": lambda: self.handbook("section", "drawn"),
            "handbook-cautions": lambda: self.handbook("section", "cautions"),
            "handbook-causes": lambda: self.handbook("section", "causes"),
            "handbook-cause": lambda: self.handbook("causes", "air_in_system"),
            "handbook-check": lambda: self.handbook("checks", "gears_engine_off"),
            "handbook-measurement": lambda: self.handbook("measurements", "pedal_free_play"),
            "line": self.line,
            "line-new": lambda: self.line("new"),
            "line-conflict": lambda: self.line("conflict"),
            "line-follow-up": lambda: self.line("follow-up"),
            "line-handover": lambda: self.line("handover"),
            "large-line": lambda: self.large(self.line),
            "large-line-conflict": lambda: self.large(lambda: self.line("conflict")),
            "large-line-new": lambda: self.large(lambda: self.line("new")),
            "class-cutaway": lambda: self.teach("cutaway"),
            "class-map": lambda: self.teach("map"),
            "class-what-if": lambda: self.teach("what if"),
            "class-practice": lambda: self.teach("practice"),
            "class-running": lambda: self.practise(PUMPED, chosen=LOOKED),
            "class-answered": lambda: self.practise(PUMPED, LOOKED, hints=3),
            "class-stopped": self.unsafe,
            "class-review": lambda: self.practise(*SOLVED),
            "class-results": self.results,
            "large-bench": lambda: self.large(self.read),
            "large-intake": lambda: self.large(lambda: self.page(2)),
            "large-setup": lambda: self.large(lambda: self.page(0)),
            "large-kit": lambda: self.large(self.kit),
            "large-work": lambda: self.large(self.work_question),
            "large-open": lambda: self.large(self.opened),
            "large-step": lambda: self.large(self.why_step),
            "large-why": lambda: self.large(self.why),
            "large-reading": lambda: self.large(lambda: self.reading("1 3/8 in")),
            "large-change-reading": lambda: self.large(self.reading_changed),
            "large-handbook": lambda: self.large(self.handbook_tree),
            "large-handbook-cause": lambda: self.large(
                lambda: self.handbook("causes", "air_in_system")
            ),
            "large-numbers": lambda: self.large(self.numbers),
        }


def _there(value: T | None) -> T:
    if value is None:
        raise RuntimeError("the window has not been loaded")
    return value


def pictures(
    app: QApplication, into: Path, only: str, sizes: tuple[tuple[int, int], ...]
) -> Iterator[Path]:
    """Save the pictures; gives each path as it is done."""
    family = load_face()
    for name in theme.THEME_NAMES[1:]:
        with tempfile.TemporaryDirectory() as folder:
            theme.apply(app, name, 1.0, family)
            stage = Stage(app, Path(folder), family, name)
            for size in sizes:
                stage.window.resize(*size)
                for screen, show in stage.screens().items():
                    if not screen.startswith(only):
                        continue
                    shown = show()
                    stage.settle()
                    wide = "" if size == SIZES[0] else f"-{size[0]}"
                    path = into / f"{screen}-{name}{wide}.png"
                    shown.grab().save(str(path))
                    yield path
                    stage.window.remember(text_scale=1.0)
                    stage.window.dress()
            stage.window.close()
            stage.window.deleteLater()
            app.processEvents()


def main() -> int:
    """Make the pictures the command line asks for."""
    parser = argparse.ArgumentParser(description="Make pictures of every screen.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--only", default="", metavar="NAME")
    parser.add_argument("--small", action="store_true", help="only the first size")
    arguments = parser.parse_args()
    arguments.folder.mkdir(parents=True, exist_ok=True)
    app = QApplication(sys.argv[:1])
    app.setStyle("Fusion")
    sizes = SIZES[:1] if arguments.small else SIZES
    for path in pictures(app, arguments.folder, arguments.only, sizes):
        print(path)
    return 0


if __name__ == "__main__":
    sys.exit(main())
