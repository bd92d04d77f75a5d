"""Screens of the room for teaching, for pictures."""

from collections.abc import Callable, Mapping
from functools import partial

from picture_stage import Stage, there
from PySide6.QtWidgets import QWidget

from diagnose.planning.problem import Key
from ui import practice_desk
from ui.views.class_room import Page

PUMPED: Key = ("check", "pump_pedal")
LOOKED: Key = ("check", "slave_boot_look")
SOLVED: tuple[Key, ...] = (
    PUMPED,
    ("check", "smell"),
    LOOKED,
    ("repair", "slave_leaks"),
    ("drive", ""),
)


def teach(stage: Stage, page: Page) -> QWidget:
    """A page of the room for teaching, on the example case."""
    stage.example()
    stage.window.show_class()
    stage.window.class_room.show_page(page)
    practice = stage.window.class_room.practice
    if page == "practice" and practice is not None:
        practice.review.other_wanted.emit()  # back from what was left there
    return stage.window


def pressed(stage: Stage) -> QWidget:
    """The cutaway with the pedal on the floor."""
    teach(stage, "cutaway")
    slider = there(stage.window.class_room.cutaway).slider
    slider.setValue(slider.maximum())
    return stage.window


def practise(stage: Stage, *acts: Key, chosen: Key | None = None, hints: int = 0) -> QWidget:
    """The example exercise after some moves with their cautions read; one more on the card."""
    teach(stage, "practice")
    page = there(stage.window.class_room.practice)
    page.setup.name.setText("Odrin")
    page.begin(practice_desk.read(stage.session.base, practice_desk.example_file()))
    stage.window.jobs.drop("practice ahead")  # nobody waits for the planner before the end
    for act in acts:
        page.running.choose(act)
        page.running.read()
        page.running.make_move()
    for _ in range(hints):
        page.running.hint_wanted.emit()
        stage.settle()
    if chosen is not None:
        page.running.choose(chosen)
    stage.settle()
    return stage.window


def unsafe(stage: Stage) -> QWidget:
    """An exercise that was stopped."""
    practise(stage, PUMPED, chosen=LOOKED)
    there(stage.window.class_room.practice).running.make_move()
    return stage.window


def results(stage: Stage) -> QWidget:
    """Results that are kept."""
    practise(stage, *SOLVED)
    there(stage.window.class_room.practice).show_results()
    return stage.window


def class_screens(stage: Stage) -> Mapping[str, Callable[[], QWidget]]:
    """Give each screen by its name."""
    return {
        "class-cutaway": partial(teach, stage, "cutaway"),
        "class-cutaway-pressed": partial(pressed, stage),
        "class-map": partial(teach, stage, "map"),
        "class-what-if": partial(teach, stage, "what if"),
        "class-practice": partial(teach, stage, "practice"),
        "class-running": partial(practise, stage, PUMPED, chosen=LOOKED),
        "class-answered": partial(practise, stage, PUMPED, LOOKED, hints=3),
        "class-stopped": partial(unsafe, stage),
        "class-review": partial(practise, stage, *SOLVED),
        "class-results": partial(results, stage),
    }
