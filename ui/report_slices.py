"""Blocks of a report as slices of a page: lines of text, lines of a row, drawings, photographs."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QImage, QImageReader, QPainter

from diagnose.report.blocks import (
    LEADS,
    Block,
    Bullets,
    Cell,
    Drawn,
    Heading,
    Notice,
    Paragraph,
    Table,
)
from diagnose.report.page import NOT_SHOWN, caption_of
from diagnose.report.record import Photograph
from ui.report_drawing import paint_drawing
from ui.report_type import BODY, LEADING, SCALE, SMALL, Line, Paint, Setting, Slice, Style, Tone

_GUTTER = 9.0  # between the columns of a table, in points
_INDENT = 12.0
_CELL, _REMARK = 10.5, 9.0
_WHOLE_ROW = 8  # so many lines of a row are kept on one page
_MOST_HIGH = 330.0  # of a photograph
_MOST_DRAWN = 600.0  # of a drawing: less than a page holds
_PIXELS = 1600  # a photograph is put into the file no larger


def set_block(setting: Setting, block: Block) -> Iterator[Slice]:
    """Set a block.

    Parameters
    ----------
    setting : Setting
    block : block of a report
    """
    if isinstance(block, Heading):
        yield from _heading(setting, block)
    elif isinstance(block, Paragraph):
        yield from _paragraph(setting, block)
    elif isinstance(block, Bullets):
        for line in block.lines:
            yield from _bullet(setting, line)
    elif isinstance(block, Notice):
        yield from _notice(setting, block)
    elif isinstance(block, Table):
        yield from _table(setting, block)
    elif isinstance(block, Drawn):
        yield _drawn(setting, block)
    else:
        yield from _photograph(setting, block.photograph)


def _heading(setting: Setting, heading: Heading) -> Iterator[Slice]:
    if heading.small:
        yield from setting.text(heading.text, Style(bold=True), before=9.0, keep=True)
        return
    rule = setting.pen("rule", 0.6)

    def line(painter: QPainter) -> None:
        painter.setPen(rule)
        painter.drawLine(QPointF(0.0, 0.0), QPointF(SCALE * setting.width, 0.0))

    yield Slice(6.0, line, 14.0, keep=True)
    yield from setting.text(heading.text, Style(13.0, bold=True), keep=True)
    yield setting.space(3.0)


def _paragraph(setting: Setting, paragraph: Paragraph) -> Iterator[Slice]:
    if paragraph.tone in LEADS:
        bar = setting.pen("accent", 2.5)

        def beside(painter: QPainter) -> None:
            painter.setPen(bar)
            painter.drawLine(QPointF(0.0, 0.0), QPointF(0.0, SCALE * BODY * LEADING))

        style = Style(bold=paragraph.tone == "headline")
        yield from setting.text(paragraph.text, style, indent=_INDENT, beside=beside)
        return
    style = Style(SMALL, "muted") if paragraph.tone == "muted" else Style()
    yield from setting.text(paragraph.text, style, before=3.0, keep=paragraph.keep)


def _bullet(setting: Setting, words: str) -> Iterator[Slice]:
    dot = setting.lines("•", Style(), _INDENT)[0]
    first, *rest = setting.text(words, Style(), before=2.0, indent=_INDENT)

    def paint(painter: QPainter) -> None:
        dot.draw(painter, 2.0)
        first.paint(painter)

    yield replace(first, paint=paint)
    yield from rest


def _notice(setting: Setting, notice: Notice) -> Iterator[Slice]:
    tone: Tone = "stop" if notice.stop else "caution"
    word, bar = Style(bold=True, tone=tone), setting.pen(tone, 2.0)
    wide = setting.metrics(word).horizontalAdvance(f"{notice.word}:") / SCALE + 6.0
    said = setting.lines(f"{notice.word}:", word, wide + _INDENT)[0]

    def beside(painter: QPainter) -> None:
        painter.setPen(bar)
        painter.drawLine(QPointF(0.0, 0.0), QPointF(0.0, SCALE * BODY * LEADING))

    first, *rest = setting.text(
        notice.text, Style(), before=5.0, indent=_INDENT + wide, beside=beside
    )

    def paint(painter: QPainter) -> None:
        said.draw(painter, _INDENT)
        first.paint(painter)

    yield replace(first, paint=paint)
    yield from rest


def _table(setting: Setting, table: Table) -> Iterator[Slice]:
    head: Slice | None = None
    if table.heads:
        style = Style(SMALL, "muted", bold=True)
        cells = [
            [*setting.lines(words, style, _column(setting, table, i))]
            for i, words in enumerate(table.heads)
        ]
        head = next(_row(setting, table, cells, None))
        head = replace(head, before=4.0, keep=True)
        yield head
    for row in table.rows:
        yield from _row(
            setting, table, [_cell(setting, table, i, c) for i, c in enumerate(row)], head
        )


def _column(setting: Setting, table: Table, i: int) -> float:
    last = i == len(table.shares) - 1
    return setting.width * table.shares[i] - (0.0 if last else _GUTTER)


def _cell(setting: Setting, table: Table, i: int, cell: Cell) -> list[Line]:
    named = not table.heads and i == 0
    style = Style(_CELL, "muted" if named else "ink")
    lines = setting.lines(cell.text, style, _column(setting, table, i)) if cell.text else []
    if cell.remark:
        lines += setting.lines(cell.remark, Style(_REMARK, "muted"), _column(setting, table, i))
    return lines


def _row(
    setting: Setting, table: Table, cells: Sequence[Sequence[Line]], head: Slice | None
) -> Iterator[Slice]:
    """Give a row line by line, with a hairline below, so that it can go over a page's end."""
    high = max((len(lines) for lines in cells), default=0) or 1
    starts = [setting.width * sum(table.shares[:i]) for i in range(len(cells))]
    for n in range(high):
        there = [(x, c[n]) for x, c in zip(starts, cells, strict=True) if n < len(c)]
        last = n == high - 1
        step = max((line.height for _, line in there), default=_CELL * LEADING)
        stays = not last and (high <= _WHOLE_ROW or n in {0, high - 2})
        under = 4.0 if last else 0.0
        yield Slice(
            step + under,
            _row_painting(setting, there, step + under if last else 0.0),
            2.0 if n == 0 else 0.0,
            stays,
            head,
        )


def _row_painting(setting: Setting, there: Sequence[tuple[float, Line]], rule: float) -> Paint:
    pen = setting.pen("rule", 0.5)

    def paint(painter: QPainter) -> None:
        for x, line in there:
            line.draw(painter, x)
        if rule:
            painter.setPen(pen)
            y = SCALE * rule
            painter.drawLine(QPointF(0.0, y), QPointF(SCALE * setting.width, y))

    return paint


def _drawn(setting: Setting, drawn: Drawn) -> Slice:
    drawing = drawn.drawing
    zoom = min(setting.width / drawing.size.width, _MOST_DRAWN / drawing.size.height)

    def paint(painter: QPainter) -> None:
        painter.scale(SCALE * zoom, SCALE * zoom)
        paint_drawing(painter, drawing, setting.family)

    return Slice(zoom * drawing.size.height, paint, 4.0)


def _photograph(setting: Setting, photograph: Photograph) -> Iterator[Slice]:
    caption = list(setting.text(caption_of(photograph), Style(SMALL, "muted"), before=3.0))
    image = _image(photograph.data)
    if image is None:
        yield from setting.text(NOT_SHOWN, Style(), before=6.0, keep=True)
        yield from caption
        return
    wide = min(setting.width, _MOST_HIGH * image.width() / image.height())
    high = wide * image.height() / image.width()

    def paint(painter: QPainter) -> None:
        painter.drawImage(QRectF(0.0, 0.0, SCALE * wide, SCALE * high), image)

    yield Slice(high, paint, 8.0, keep=True)
    yield from caption


def _image(data: bytes) -> QImage | None:
    """Read a picture the way it was held, no larger than is printed; None if it is none."""
    content, buffer = QByteArray(data), QBuffer()
    buffer.setBuffer(content)
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(buffer)
    reader.setAutoTransform(True)
    size = reader.size()
    if size.isValid() and max(size.width(), size.height()) > _PIXELS:
        reader.setScaledSize(
            size.scaled(QSize(_PIXELS, _PIXELS), Qt.AspectRatioMode.KeepAspectRatio)
        )
    image = reader.read()
    return None if image.isNull() else image
