"""Screens of the Line room, for pictures, with some cases of invented callers."""

from collections.abc import Callable, Mapping
from functools import partial
from uuid import uuid4

from picture_stage import Stage, there
from PySide6.QtWidgets import QWidget

from diagnose.case import Case, Entry, Found
from diagnose.records.kept import State
from ui import moves

SAME = "the complaint of the example"
_CALLS = (
    ("Aspen, white truck", "Sorrel", "slips", State.OPEN),
    ("Birch, red pickup", "Sorrel", "hard_to_select", State.WAITING_CALLER),
    ("Calla, two-tone coupe", "Odrin", SAME, State.CLOSED),
    ("Dorn, delivery van", "Odrin", "chatters", State.WAITING_PARTS),
    ("Elder, farm truck", "Sorrel", SAME, State.CLOSED),
    ("Fennel, short van", "Odrin", "gears_grind", State.OPEN),
)


def line(stage: Stage, show: str = "") -> QWidget:
    """The Line room: many cases, and one on the phone."""
    stage.example()
    session = stage.session
    if not any(c.title == _CALLS[0][0] for c in session.records.store.find()):
        _calls(stage)
    stage.example()
    session.change(moves.with_title(session.case, "Hollin, grey van"), "the name")
    stage.window.show_line()
    stage.settle()
    room = there(stage.window.line.page)
    room.new.left.emit()
    if show == "conflict":
        _differ(stage)
    room.card.follow()
    room.card.acknowledge()
    if show == "new":
        room.begin_new()
        room.new.search.field.setText("Marten, blue tractor, judders, grinds going into first")
    elif show == "follow-up":
        room.papers.open_follow_up()
        return stage.dialog()
    elif show == "handover":
        room.papers.open_handover()
        return stage.dialog()
    stage.settle()
    return stage.window


def _calls(stage: Stage) -> None:
    """Put some cases into the store, of several people and in several states."""
    session = stage.session
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


def _differ(stage: Stage) -> None:
    """Let another seat answer what is answered here."""
    session = stage.session
    kept, check = there(session.kept), "gears_engine_off"
    said = kept.case.answer_to(("check", check))
    answers = [a.id for a in session.base.checks[check].answers if a.id != said]
    theirs = [Entry(check=check, answer=answers[0], by="Sorrel", at=session.now())]
    ours = [Entry(check=check, answer=answers[-1], at=session.now())]
    other = kept.case.with_entry(theirs[0])
    store = session.records.store
    store.save(kept.id, other, kept.number, "Sorrel", session.now(), str(uuid4()))
    session.change(session.case.with_entry(ours[0]), "an answer")
    stage.settle()


def line_screens(stage: Stage) -> Mapping[str, Callable[[], QWidget]]:
    """Give each screen by its name."""
    return {
        "line": partial(line, stage),
        "line-new": partial(line, stage, "new"),
        "line-conflict": partial(line, stage, "conflict"),
        "line-follow-up": partial(line, stage, "follow-up"),
        "line-handover": partial(line, stage, "handover"),
        "large-line": partial(stage.large, partial(line, stage)),
        "large-line-conflict": partial(stage.large, partial(line, stage, "conflict")),
        "large-line-new": partial(stage.large, partial(line, stage, "new")),
    }
