"""An exercise on paper: the apprentice's worksheet, and the trainer's answer sheet."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import accumulate

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter

from diagnose.planning.problem import Key
from diagnose.practice.exercise import Exercise
from diagnose.practice.review import Point
from diagnose.practice.run import Run, begin, possible_moves
from diagnose.report import SHEETS, Paper
from diagnose.report.blocks import Block, Bullets, Cell, Heading, Paragraph, Table
from diagnose.sentences import counts
from knowledge.model import KnowledgeBase
from ui.practice_words import DIFFICULTIES, answer_words, capital, minutes
from ui.questions import answered, asked
from ui.report_pages import Edge, Frame, pdf_of
from ui.report_slices import set_block
from ui.report_type import SCALE, SMALL, Setting, Slice, Style

_SIDE, _TOP, _FOOT = 45.0, 45.0, 58.0  # margins, in points
_ROW, _HAIR = 34.0, 0.6  # height of a row to write in
_LEAST_ROWS = 8
_END = ("What was wrong", "What proves it")
_HEADS = ("Check", "What for", "Minutes", "Answer", "What it tells")
_SHARES = (0.26, 0.22, 0.1, 0.18, 0.24)
_FIELD = 22.0  # height of a line to write on
_ON_PAPER = (
    "An exercise on paper. At a vehicle the maker’s figures, local rules and the cautions of each "
    "check and repair come first."
)


@dataclass(frozen=True)
class PlannedWay:
    """The planner's way on the vehicle of an exercise.

    Attributes
    ----------
    run : Run
    belief : tuple of Point
        Chance of what had to be put right, at the start and after each move.
    """

    run: Run
    belief: tuple[Point, ...]


def worksheet_pdf(base: KnowledgeBase, exercise: Exercise, paper: Paper = "a4") -> bytes:
    """Put the complaint and a blank table on paper; nothing of what is hidden.

    Parameters
    ----------
    base : KnowledgeBase
    exercise : Exercise
    paper : str

    Returns
    -------
    bytes
        A PDF file.
    """
    title = exercise.title or "Worksheet"
    frame = Frame(SHEETS[paper], _SIDE, _TOP, _FOOT)

    def fill(setting: Setting) -> Iterator[Slice]:
        slices = list(_worksheet(setting, base, exercise))
        used = sum(piece.before + piece.height for piece in slices)
        line, head = _ruled(setting, _ROW, ()), _ruled(setting, 18.0, _HEADS)
        end = [_fields(setting, {name: 1.0}, keep=name != _END[-1]) for name in _END]
        used += head.height + sum(piece.before + piece.height for piece in end)
        rows = max(_LEAST_ROWS, int((frame.room - used) // _ROW))
        blank = [head, *(Slice(_ROW, line.paint, head=head) for _ in range(rows))]
        yield from (*slices, *blank, *end)

    return pdf_of(title, frame, fill, _feet(frame, f"Worksheet · knowledge {base.version}"))


def answer_sheet_pdf(
    base: KnowledgeBase, exercise: Exercise, way: PlannedWay, paper: Paper = "a4"
) -> bytes:
    """Put on paper what is hidden, the planner's way, and the answer to every check.

    Parameters
    ----------
    base : KnowledgeBase
    exercise : Exercise
    way : PlannedWay
    paper : str

    Returns
    -------
    bytes
        A PDF file.
    """
    title = f"Answer sheet: {exercise.title or DIFFICULTIES[exercise.difficulty].lower()}"
    frame = Frame(SHEETS[paper], _SIDE, _TOP, _FOOT)

    def fill(setting: Setting) -> Iterator[Slice]:
        yield from setting.text(title, Style(18.0, bold=True), keep=True)
        trainers = "For the trainer: it says what is wrong."
        yield from setting.text(f"{trainers} {_ON_PAPER}", Style(SMALL, "muted"), keep=True)
        for block in (*_hidden(base, exercise), *_way(base, way), *_every_answer(base, exercise)):
            yield from set_block(setting, block)

    return pdf_of(title, frame, fill, _feet(frame, f"Answer sheet · knowledge {base.version}"))


def _feet(frame: Frame, said: str) -> Callable[[int, int], Iterator[Edge]]:
    """Give the edges of a page: a foot, and no head."""

    def edges(number: int, every: int) -> Iterator[Edge]:
        yield frame.foot_edge(said, number, every)

    return edges


# -- the worksheet


def _worksheet(setting: Setting, base: KnowledgeBase, exercise: Exercise) -> Iterator[Slice]:
    yield from setting.text(
        exercise.title or "Find what is wrong", Style(18.0, bold=True), keep=True
    )
    about = [DIFFICULTIES[exercise.difficulty]]
    if exercise.setup in base.setups:
        about.append(base.setups[str(exercise.setup)].name)
    yield from setting.text(" · ".join(about), Style(SMALL, "muted"), keep=True)
    yield from setting.text(_ON_PAPER, Style(SMALL, "muted"), keep=True)
    yield _fields(setting, {"Name": 0.65, "Date": 0.35}, keep=True)
    for block in _told(base, exercise):
        yield from set_block(setting, block)
    yield from set_block(setting, Heading("What you do, in order"))


def _told(base: KnowledgeBase, exercise: Exercise) -> Iterator[Block]:
    case = begin(base, exercise).case
    yield Heading("What the driver says")
    if exercise.words:
        yield Paragraph(f"“{exercise.words}”")
    lines = [f"{capital(asked(base, e))}: {answered(base, e)}" for e in case.entries]
    yield Bullets(tuple(lines))


def _fields(setting: Setting, shares: Mapping[str, float], *, keep: bool) -> Slice:
    """Give names beside each other, each with a line to write on as long as its share allows."""
    style, pen = Style(), setting.pen("rule", _HAIR)
    lines = [setting.lines(f"{name}:", style, setting.width)[0] for name in shares]
    ends = list(accumulate(setting.width * share for share in shares.values()))

    def paint(painter: QPainter) -> None:
        left = 0.0
        for line, end in zip(lines, ends, strict=True):
            line.draw(painter, left, _FIELD - line.height)
            begin = left + line.line.naturalTextWidth() / SCALE + 6.0
            painter.setPen(pen)
            y = SCALE * (_FIELD - 2.0)
            gap = 0.0 if line is lines[-1] else 6.0
            painter.drawLine(QPointF(SCALE * begin, y), QPointF(SCALE * (end - gap), y))
            left = end

    return Slice(_FIELD, paint, 4.0, keep)


def _ruled(setting: Setting, high: float, heads: tuple[str, ...]) -> Slice:
    """Give a row with lines round its cells, and heads in them if there are any."""
    pen, style = setting.pen("rule", _HAIR), Style(SMALL, "muted", bold=True)
    starts = [setting.width * sum(_SHARES[:i]) for i in range(len(_SHARES))]
    words = [
        setting.lines(text, style, setting.width * share - 8.0)[0]
        for text, share in zip(heads, _SHARES, strict=False)
    ]

    def paint(painter: QPainter) -> None:
        painter.setPen(pen)
        painter.drawRect(QRectF(0.0, 0.0, SCALE * setting.width, SCALE * high))
        for x in starts[1:]:
            painter.drawLine(QPointF(SCALE * x, 0.0), QPointF(SCALE * x, SCALE * high))
        for x, line in zip(starts, words, strict=False):
            line.draw(painter, x + 4.0, 2.0)

    return Slice(high, paint, keep=bool(heads))


# -- the answer sheet


def _hidden(base: KnowledgeBase, exercise: Exercise) -> Iterator[Block]:
    yield from _told(base, exercise)
    yield Heading("What is wrong")
    for name in exercise.causes:
        cause = base.causes[name]
        yield Paragraph(capital(cause.name), "headline")
        lines = [cause.about, f"How to prove it: {cause.prove}", f"To do: {cause.repair.do}"]
        yield Bullets(tuple(line for line in lines if line.strip()))
    decoy = exercise.decoy
    if decoy is not None:
        by = base.findings[decoy.sign].name if decoy.sign else base.work[str(decoy.work)].name
        name = base.causes[decoy.cause].name
        yield Paragraph(f"What misleads: “{by}” points to “{name}”, which is not there.")
    if exercise.note:
        yield Paragraph(exercise.note)


def _way(base: KnowledgeBase, way: PlannedWay) -> Iterator[Block]:
    yield Heading(f"The planner’s way: {minutes(way.run.minutes)}")
    rows = []
    for i, made in enumerate(way.run.moves):
        proved = i == len(way.run.moves) - 1 and way.run.end == "verified"
        said = "The complaint is gone." if proved else answer_words(base, made)
        act: Key = made.act or ("drive", "")
        name = asked(base, made.entry) if made.entry else act[0].replace("_", " ")
        why = base.checks[act[1]].why if act[0] == "check" else ""
        rows.append(
            (
                Cell(str(i + 1)),
                Cell(capital(name)),
                Cell(why),
                Cell(minutes(made.minutes)),
                Cell(said, _tells(way, i)),
            )
        )
    heads = ("No.", "Check", "What for", "Took", "Answer, and what it tells")
    yield Table(heads, (0.06, 0.22, 0.3, 0.1, 0.32), tuple(rows))


def _tells(way: PlannedWay, number: int) -> str:
    """Say what became of the chance of what is wrong."""
    if number + 1 >= len(way.belief):
        return ""
    before, after = way.belief[number].p, way.belief[number + 1].p
    if round(100 * before) == round(100 * after):
        return f"What is wrong stays {counts(after)}."
    return f"What is wrong: {counts(after)}, was {counts(before)}."


def _every_answer(base: KnowledgeBase, exercise: Exercise) -> Iterator[Block]:
    run = begin(base, exercise)
    yield Heading("The answer to every check on this vehicle")
    yield Paragraph("As it came in, before anything was put right.", "muted", keep=True)
    moves = possible_moves(run)
    asks = [run.shop.driven.ask(name) for kind, name in moves if kind == "ask"]
    yield Heading("Ask the driver", small=True)
    yield Table(
        ("Question", "Answer"),
        (0.7, 0.3),
        tuple((Cell(base.complaints[e.subject[1]].ask), Cell(capital(e.answer))) for e in asks),
    )
    for level in base.levels.values():
        checks = [
            base.checks[name]
            for kind, name in moves
            if kind == "check" and base.checks[name].from_ == level.id
        ]
        if checks:
            yield Heading(capital(level.name), small=True)
            rows = tuple(
                (
                    Cell(capital(check.name)),
                    Cell(minutes(check.minutes)),
                    Cell(capital(answered(base, run.shop.now.answer(check.id)))),
                )
                for check in checks
            )
            yield Table(("Check", "Takes", "Answer"), (0.5, 0.12, 0.38), rows)
