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

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtWidgets import QApplication, QDialog, QWidget

from diagnose.case import Case, Entry
from knowledge.load import base_folder
from ui import moves, theme
from ui.fonts import load_face
from ui.questions import band_of
from ui.session import Session
from ui.settings import Places, Settings
from ui.views.bench import Bench
from ui.views.intake import Intake
from ui.views.main_window import MainWindow
from ui.views.saw_dialog import SawDialog

EXAMPLE = base_folder().parent / "examples" / "example.yaml"
OUT = "gearbox_out"
TWIN, READ = "twin_external", "fork_free_travel_twin"
SIZES = ((1280, 800), (1920, 1080))
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
        settings = Settings(theme=name)
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

    def large(self, show: Callable[[], QWidget]) -> QWidget:
        """A screen with text of twice the size."""
        self.window.remember(text_scale=2.0)
        self.window.dress()
        shown = show()
        self.settle()
        return shown

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
