"""Screens of the Vehicle room, for pictures: intake, bench and what opens over it."""

from collections.abc import Callable, Mapping
from functools import partial

from picture_stage import Stage, there
from PySide6.QtWidgets import QWidget

from diagnose.case import Case, Entry
from ui import moves
from ui.questions import band_of
from ui.views.saw_dialog import SawDialog

OUT = "gearbox_out"
TWIN, READ = "twin_external", "fork_free_travel_twin"


def read(stage: Stage) -> QWidget:
    """The bench with the cautions read."""
    stage.example()
    stage.bench.card.acknowledge()
    return stage.window


def answered(stage: Stage) -> QWidget:
    """The bench after one more answer, with old places and hours."""
    stage.example()
    options = there(stage.session.standing).advice.options
    check = next(o.id for o in options if o.kind == "check")
    stage.step("check", check)
    gauge, pad = stage.session.base.checks[check].gauge, stage.bench.card.pad
    if gauge is not None and pad.field is not None:
        pad.field.setText(stage.session.base.measurements[gauge].plausible[0])
        pad.field.returnPressed.emit()
    else:
        pad.buttons[0].click()
    return stage.window


def stopped(stage: Stage) -> QWidget:
    """The bench with a stop notice."""
    stage.step("check", "finger_spread")
    field = stage.bench.card.pad.field
    if field is not None:
        field.setText("3 mm")
        field.returnPressed.emit()
    return stage.window


def gauge(stage: Stage) -> QWidget:
    """The bench with a reading typed."""
    stage.step("check", "finger_spread")
    field = stage.bench.card.pad.field
    if field is not None:
        field.setText("0.6 mm")
    return stage.window


def read_so_far(stage: Stage) -> QWidget:
    """A twin disc on which two readings have been taken."""
    stage.example()
    base = stage.session.base
    taken = (("bore_runout", "0.009 in"), (READ, "more than 2 in"))
    complaint = Entry(complaint="gears_grind", answer="yes")
    entries = [
        Entry(check=check, answer=band_of(base, check, reading).id, reading=reading)
        for check, reading in taken
    ]
    facts = dict(base.setups[TWIN].facts)
    stage.session.start(Case(setup=TWIN, facts=facts, entries=(complaint, *entries)))
    stage.window.show_bench()
    stage.settle()
    return stage.window


def reading(stage: Stage, typed: str) -> QWidget:
    """A reading typed on a set-up that predicts it."""
    read_so_far(stage)
    stage.session.change(moves.remove(stage.session.case, 2), "the reading")
    stage.settle()
    stage.bench.card.choose("check", READ)
    stage.bench.card.acknowledge()
    field = stage.bench.card.pad.field
    if field is not None:
        field.setText(typed)
    return stage.window


def reading_changed(stage: Stage) -> QWidget:
    """A reading being changed."""
    read_so_far(stage)
    stage.bench.open_change(2)
    return stage.dialog()


def numbers(stage: Stage) -> QWidget:
    """The page of numbers."""
    read_so_far(stage)
    stage.bench.open_numbers()
    return stage.dialog()


def why(stage: Stage) -> QWidget:
    """Why the first cause stands where it does."""
    stage.example()
    causes = there(stage.session.standing).assessment.causes
    stage.bench.open_why(causes[0].id)
    return stage.dialog()


def why_step(stage: Stage) -> QWidget:
    """Why the step on the card is advised."""
    stage.example()
    stage.bench.open_advice()
    return stage.dialog()


def opened(stage: Stage) -> QWidget:
    """The bench with the gearbox out, and what is to be seen to before it closes."""
    stage.example()
    session = stage.session
    session.change(moves.stands(session.base, session.case, OUT), "where you can work")
    stage.settle()
    return stage.window


def waiting(stage: Stage) -> QWidget:
    """The bench with a repair done and not driven yet, and closing up on the card."""
    opened(stage)
    session = stage.session
    first = next(
        c.id
        for c in there(session.standing).assessment.causes
        if c.id in session.base.causes and session.base.causes[c.id].repair.from_ != OUT
    )
    session.change(moves.mended(session.base, session.case, first, seen=True), "the repair")
    stage.settle()
    stage.bench.card.choose("drive", "")
    return stage.window


def limited(stage: Stage) -> QWidget:
    """The bench with a customer's limit."""
    stage.example()
    session = stage.session
    session.change(moves.with_limit(session.case, 0.4), "the limit")
    return stage.window


def saw(stage: Stage) -> QWidget:
    """The search for what was seen by the way."""
    opened(stage)
    stage.bench.open_saw()
    shown = stage.dialog()
    if isinstance(shown, SawDialog):
        shown.search.field.setText("pilot")
    return shown


def seen(stage: Stage) -> QWidget:
    """What was seen by the way, on the card."""
    stage.example()
    stage.bench.card.choose("check", "pilot_look", seen=True)
    stage.bench.card.acknowledge()
    return stage.window


def changing(stage: Stage) -> QWidget:
    """An answer being changed."""
    stage.example()
    stage.bench.open_change(len(stage.session.case.entries) - 1)
    return stage.dialog()


def keys(stage: Stage) -> QWidget:
    """The page of keys."""
    stage.example()
    stage.window.show_keys()
    return stage.dialog()


def repair(stage: Stage) -> QWidget:
    """A repair on the card."""
    stage.example()
    first = there(stage.session.standing).assessment.causes[0].id
    return stage.step("repair", first)


def price(stage: Stage) -> QWidget:
    """A repair whose parts have a price, with the labour for an hour."""
    stage.example()
    session = stage.session
    cause = there(session.standing).assessment.causes[0].id
    case = moves.with_labour(session.case, 80.0, "EUR")
    session.change(moves.with_part(case, cause, 200.0), "the price of the parts")
    stage.settle()
    stage.bench.card.choose("repair", cause)
    stage.bench.card.acknowledge()
    return stage.window


def ask(stage: Stage) -> QWidget:
    """A question to the driver on the card."""
    stage.example()
    options = there(stage.session.standing).advice.options
    name = next(o.id for o in options if o.kind == "ask")
    return stage.step("ask", name)


def found(stage: Stage) -> QWidget:
    """A case that is found."""
    repair(stage)
    stage.bench.card.pad.buttons[0].click()
    return stage.window


def page(stage: Stage, place: int) -> QWidget:
    """A page of the intake."""
    stage.example()
    stage.window.show_intake(place)
    return stage.window


def work_question(stage: Stage) -> QWidget:
    """The work page with a question."""
    page(stage, 3)
    stage.intake.work.ask("bled")
    return stage.window


def kit(stage: Stage) -> QWidget:
    """The kit page with some figures typed, one of them wrong."""
    page(stage, 1)
    lines = stage.intake.kit.lines
    for figure, typed in (("finger_height", "45 ± 1 mm"), ("fork_free_travel", "35 in")):
        if figure in lines:
            lines[figure].field.setText(typed)
    return stage.window


def start(stage: Stage) -> QWidget:
    """The list of cases."""
    answered(stage)
    stage.settle()
    stage.window.show_cases()
    return stage.window


def vehicle_screens(stage: Stage) -> Mapping[str, Callable[[], QWidget]]:
    """Give each screen by its name."""
    return {
        "start": partial(start, stage),
        "intake-setup": partial(page, stage, 0),
        "intake-kit": partial(kit, stage),
        "intake": partial(page, stage, 2),
        "intake-work": partial(page, stage, 3),
        "intake-work-question": partial(work_question, stage),
        "intake-open": partial(page, stage, 4),
        "bench": partial(read, stage),
        "bench-cautions": stage.example,
        "bench-answered": partial(answered, stage),
        "bench-gauge": partial(gauge, stage),
        "bench-reading": partial(reading, stage, "1 3/8 in"),
        "bench-reading-range": partial(reading, stage, "more than 1 3/4 in"),
        "bench-reading-slip": partial(reading, stage, "35 in"),
        "bench-reading-none": partial(reading, stage, ""),
        "bench-stop": partial(stopped, stage),
        "bench-repair": partial(repair, stage),
        "bench-price": partial(price, stage),
        "bench-ask": partial(ask, stage),
        "bench-hand-over": partial(stage.step, "hand_over", ""),
        "bench-found": partial(found, stage),
        "bench-open": partial(opened, stage),
        "bench-drive": partial(waiting, stage),
        "bench-limit": partial(limited, stage),
        "bench-seen": partial(seen, stage),
        "saw": partial(saw, stage),
        "step": partial(why_step, stage),
        "why": partial(why, stage),
        "change": partial(changing, stage),
        "change-reading": partial(reading_changed, stage),
        "numbers": partial(numbers, stage),
        "keys": partial(keys, stage),
        "large-bench": partial(stage.large, partial(read, stage)),
        "large-intake": partial(stage.large, partial(page, stage, 2)),
        "large-setup": partial(stage.large, partial(page, stage, 0)),
        "large-kit": partial(stage.large, partial(kit, stage)),
        "large-work": partial(stage.large, partial(work_question, stage)),
        "large-open": partial(stage.large, partial(opened, stage)),
        "large-step": partial(stage.large, partial(why_step, stage)),
        "large-why": partial(stage.large, partial(why, stage)),
        "large-reading": partial(stage.large, partial(reading, stage, "1 3/8 in")),
        "large-change-reading": partial(stage.large, partial(reading_changed, stage)),
        "large-numbers": partial(stage.large, partial(numbers, stage)),
    }
