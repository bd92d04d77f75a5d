"""Plain words on paper: to a printer, or into a PDF."""

from pathlib import Path

from PySide6.QtCore import QMarginsF
from PySide6.QtGui import (
    QPagedPaintDevice,
    QPageLayout,
    QPageSize,
    QPdfWriter,
    QTextDocument,
)
from PySide6.QtWidgets import QApplication, QWidget

from ui.fonts import paper_font

_POINTS = 11
_MARGIN = 20.0  # millimetres


def _document(text: str) -> QTextDocument:
    """Set a text in the program's face, black on white whatever the screen is."""
    document = QTextDocument()
    font = paper_font(QApplication.font().family())
    font.setPointSize(_POINTS)
    document.setDefaultFont(font)
    document.setPlainText(text)
    return document


def write_text(path: Path, text: str) -> None:
    """Write a text to a file: a PDF by its name, else plain text.

    Raises
    ------
    OSError
        If it can't be written.
    """
    if path.suffix.lower() != ".pdf":
        path.write_text(text, encoding="utf-8")
        return
    with path.open("wb"):
        pass  # what can't be written says so here; Qt would only warn
    writer = QPdfWriter(str(path))
    writer.setCreator("Pull Once")
    margins = QMarginsF(_MARGIN, _MARGIN, _MARGIN, _MARGIN)
    page = QPageSize(QPageSize.PageSizeId.A4)
    layout = QPageLayout(page, QPageLayout.Orientation.Portrait, margins)
    layout.setUnits(QPageLayout.Unit.Millimeter)
    layout.setMargins(margins)
    writer.setPageLayout(layout)
    put_on(writer, text)


def put_on(device: QPagedPaintDevice, text: str) -> None:
    """Put a text on the pages of a printer or a PDF."""
    _document(text).print_(device)


def ask_and_print(text: str, parent: QWidget) -> bool:
    """Let the user choose a printer and print; gives whether it was sent."""
    from PySide6.QtPrintSupport import QPrintDialog, QPrinter

    printer = QPrinter()
    dialog = QPrintDialog(printer, parent)
    if dialog.exec() != QPrintDialog.DialogCode.Accepted:
        return False
    put_on(printer, text)
    return True
