"""Blocks of a report as slices of a page: lines of text, tables, pictures."""

from collections.abc import Iterator
from dataclasses import replace

from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainter

from diagnose.report.blocks import (
    LEADS,
    Blanks,
    Block,
    Bullets,
    Drawn,
    Gallery,
    Heading,
    Notice,
    Paragraph,
    Section,
    Table,
)
from ui.report_pictures import drawn_slice, gallery_slices, section_slice
from ui.report_tables import blank_slices, table_slices
from ui.report_type import BODY, LEADING, SCALE, SMALL, Setting, Slice, Style, Tone

_INDENT = 12.0


def set_block(setting: Setting, block: Block) -> Iterator[Slice]:
    """Set a block.

    Parameters
    ----------
    setting : Setting
    block : block of a report
    """
    match block:
        case Heading():
            yield from _heading(setting, block)
        case Paragraph():
            yield from _paragraph(setting, block)
        case Bullets():
            for line in block.lines:
                yield from _bullet(setting, line)
        case Notice():
            yield from _notice(setting, block)
        case Table():
            yield from table_slices(setting, block)
        case Blanks():
            yield from blank_slices(setting, block)
        case Drawn():
            yield drawn_slice(setting, block)
        case Section():
            yield section_slice(setting, block)
        case Gallery():
            yield from gallery_slices(setting, block)


def _heading(setting: Setting, heading: Heading) -> Iterator[Slice]:
    if heading.small:
        yield from setting.text(heading.text, Style(bold=True), before=9.0, keep=True)
        return
    rule = setting.pen("rule", 0.6)

    def line(painter: QPainter) -> None:
        painter.setPen(rule)
        painter.drawLine(QPointF(0.0, 0.0), QPointF(SCALE * setting.width, 0.0))

    yield Slice(6.0, line, 14.0, keep=True, parts=True)
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
