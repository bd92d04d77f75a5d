"""Plain words on paper, set as the reports are: to a printer, or into a PDF."""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

from PySide6.QtGui import QPageLayout
from PySide6.QtWidgets import QWidget

from diagnose.plain_yaml import write_whole
from diagnose.report import SHEETS
from diagnose.report.blocks import Notice
from diagnose.report.paper import Sheet
from ui.report_pages import Edge, Frame, pdf_of, put_on, usual_paper
from ui.report_slices import set_block
from ui.report_type import Setting, Slice, Style

_SIDE, _TOP, _FOOT = 57.0, 57.0, 62.0  # margins, in points
_TITLE = 15.0
_LONGEST_TITLE = 140  # letters; a longer first line is text
_APART, _CLOSE = 9.0, 2.0  # above a paragraph, and above a line that belongs to the one before
_CAUTION = "Caution"


def write_text(path: Path, text: str) -> None:
    """Write a text to a file, whole or not at all: a PDF by its name, else plain text.

    Raises
    ------
    OSError
        If it can't be written; an old file is unchanged.
    """
    if path.suffix.lower() != ".pdf":
        write_whole(path, text)
        return
    frame = _frame(SHEETS[usual_paper()])
    edges = partial(_edges, frame)
    write_whole(path, pdf_of(path.stem, frame, partial(_slices, text), edges))


def ask_and_print(text: str, parent: QWidget) -> bool:
    """Let the user choose a printer and print; gives whether it was sent."""
    from PySide6.QtPrintSupport import QPrintDialog, QPrinter

    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    dialog = QPrintDialog(printer, parent)
    if dialog.exec() != QPrintDialog.DialogCode.Accepted:
        return False
    printer.setFullPage(True)
    size = printer.pageLayout().fullRect(QPageLayout.Unit.Point).size()
    frame = _frame(Sheet("", size.width(), size.height()))
    put_on(printer, frame, partial(_slices, text), partial(_edges, frame))
    return True


def _frame(sheet: Sheet) -> Frame:
    return Frame(sheet, _SIDE, _TOP, _FOOT)


def _edges(frame: Frame, number: int, every: int) -> Iterator[Edge]:
    yield frame.foot_edge("", number, every)


def _slices(text: str, setting: Setting) -> Iterator[Slice]:
    """Set a text line by line; lines without an empty one between them stay together.

    A first line that stands alone is the title; a line that begins with the word is a caution.
    """
    lines = text.strip().splitlines() or [""]
    ends = [not line.strip() for line in lines[1:]] + [True]
    before = 0.0
    for i, (line, last) in enumerate(zip(lines, ends, strict=True)):
        if not line.strip():
            before = _APART
            continue
        word, _, rest = line.partition(":")
        if i == 0 and last and len(lines) > 1 and len(line) <= _LONGEST_TITLE:
            yield from setting.text(line, Style(_TITLE, bold=True), keep=True)
        elif word == _CAUTION and rest:
            slices = set_block(setting, Notice(word, rest))
            yield from (replace(piece, keep=piece.keep or not last) for piece in slices)
        else:
            keep = not last or line.rstrip().endswith(":")
            yield from setting.text(line, Style(), before=before, keep=keep)
        before = _CLOSE
