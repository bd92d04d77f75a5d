"""Tables of a report as slices of a page: rows that may go over its end, and rows to write in."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import accumulate

from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainter

from diagnose.report.blocks import Blanks, Cell, Table
from ui.report_type import LEADING, SCALE, SMALL, Line, Paint, Setting, Slice, Style

GUTTER = 9.0  # between the columns of a table, in points
_CELL, _REMARK = 10.5, 9.0
_WHOLE_ROW = 8  # so many lines of a row are kept on one page
_UNDER, _ABOVE = 4.0, 2.0
_BLANK, _BLANK_SHARE = 26.0, 0.36  # height of a row to write in; where the room begins

Column = tuple[float, Sequence[Line]]  # where it begins, in points, and its lines


def table_slices(setting: Setting, table: Table) -> Iterator[Slice]:
    """Set a table; its heads are repeated on every page, and no page has a single row of it."""
    head: Slice | None = None
    starts = [setting.width * sum(table.shares[:i]) for i in range(len(table.shares))]
    if table.heads:
        style = Style(SMALL, "muted", bold=True)
        cells = [
            setting.lines(words, style, _column(setting, table, i))
            for i, words in enumerate(table.heads)
        ]
        columns = list(zip(starts, cells, strict=True))
        head = _one(row_slices(setting, columns))
        yield head
    for n, row in enumerate(table.rows):
        cells = [_cell(setting, table, i, cell) for i, cell in enumerate(row)]
        *lines, last = row_slices(setting, list(zip(starts, cells, strict=True)), head=head)
        yield from lines
        yield replace(last, keep=n in {0, len(table.rows) - 2} and n < len(table.rows) - 1)


def _one(slices: Iterator[Slice]) -> Slice:
    """Make one slice of the lines of a table's heads, which are never parted."""
    lines = list(slices)

    def paint(painter: QPainter) -> None:
        for line in lines:
            line.paint(painter)
            painter.translate(0.0, SCALE * line.height)

    return Slice(sum(line.height for line in lines), paint, 4.0, keep=True)


def _column(setting: Setting, table: Table, i: int) -> float:
    last = i == len(table.shares) - 1
    return setting.width * table.shares[i] - (0.0 if last else GUTTER)


def _cell(setting: Setting, table: Table, i: int, cell: Cell) -> list[Line]:
    named = not table.heads and i == 0
    style = Style(_CELL, "muted" if named else "ink")
    lines = setting.lines(cell.text, style, _column(setting, table, i)) if cell.text else []
    if cell.remark:
        lines += setting.lines(cell.remark, Style(_REMARK, "muted"), _column(setting, table, i))
    return lines


def row_slices(
    setting: Setting, columns: Sequence[Column], *, head: Slice | None = None, rule: bool = True
) -> Iterator[Slice]:
    """Set columns of lines beside each other, so that they can go over a page's end.

    Parameters
    ----------
    setting : Setting
    columns : sequence of (float, sequence of Line)
    head : Slice, optional
        What is repeated where a page begins in the row.
    rule : bool
        Whether there is a hairline below.

    Yields
    ------
    Slice
        One for each line of the longest column; the lines of the others stand as close as they
        should, each in the slice that its middle falls into.
    """
    tall = max((lines for _, lines in columns), key=_height, default=())
    steps = [line.height for line in tall] or [_CELL * LEADING]
    ends = list(accumulate(steps))
    placed: list[list[tuple[float, float, Line]]] = [[] for _ in steps]
    for x, lines in columns:
        top = 0.0
        for line in lines:
            n = min(bisect_right(ends, top + line.height / 2.0), len(steps) - 1)
            placed[n].append((x, top - (ends[n] - steps[n]), line))
            top += line.height
    last = len(steps) - 1
    for n, step in enumerate(steps):
        under = _UNDER if n == last and rule else 0.0
        yield Slice(
            step + under,
            _painting(setting, placed[n], step + under if under else 0.0),
            _ABOVE if n == 0 else 0.0,
            n < last and (len(steps) <= _WHOLE_ROW or n in {0, last - 1}),
            head,
        )


def _height(lines: Sequence[Line]) -> float:
    return sum(line.height for line in lines)


def _painting(setting: Setting, there: Sequence[tuple[float, float, Line]], rule: float) -> Paint:
    def paint(painter: QPainter) -> None:
        for x, y, line in there:
            line.draw(painter, x, y)
        if rule:
            _hairline(painter, setting, 0.0, rule)

    return paint


def _hairline(painter: QPainter, setting: Setting, left: float, y: float) -> None:
    painter.setPen(setting.pen("rule", 0.5))
    ends = (QPointF(SCALE * x, SCALE * y) for x in (left, setting.width))
    painter.drawLine(*ends)


def blank_slices(setting: Setting, blanks: Blanks) -> Iterator[Slice]:
    """Set names with a line to write on beside each, all on one page."""
    left = setting.width * _BLANK_SHARE
    for i, name in enumerate(blanks.names):
        line = setting.lines(name, Style(_CELL, "muted"), left - GUTTER)[0]
        row = Slice(_BLANK, _blank(setting, line, left))
        yield replace(row, keep=i < len(blanks.names) - 1)


def _blank(setting: Setting, line: Line, left: float) -> Paint:
    def paint(painter: QPainter) -> None:
        line.draw(painter, 0.0, _BLANK - line.height)
        _hairline(painter, setting, left, _BLANK)

    return paint
