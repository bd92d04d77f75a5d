"""A report on paper: a PDF with the lines and letters of the program's own face.

The blocks of the report become slices (`ui.report_slices`), and slices fill pages: what must stay
together does, and a heading never stands alone at the foot of a page. Colours are named here, so
that it is black on white whatever the screen is.
"""

import sys
from collections.abc import Iterable, Iterator, Sequence

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMarginsF, QPointF, QRectF, QSizeF, Qt
from PySide6.QtGui import QGuiApplication, QPageLayout, QPageSize, QPainter, QPdfWriter

from diagnose.report import SHEETS, Paper, Report, blocks_of, foot_line, head_line
from diagnose.report.paper import Sheet
from ui.fonts import load_face
from ui.report_slices import set_block
from ui.report_type import COLOURS, SCALE, Setting, Slice, Style

_SIDE, _TOP, _FOOT = 57.0, 62.0, 62.0  # margins, in points
_HEAD_LINE, _FOOT_LINE = 40.0, 40.0  # from the edge of the sheet to head and foot
_HAIR = 0.6

Page = list[tuple[float, Slice]]  # where each slice begins, in points from the upper edge


def report_pdf(report: Report, paper: Paper = "a4") -> bytes:
    """Put a report on paper.

    Parameters
    ----------
    report : Report
    paper : str

    Returns
    -------
    bytes
        A PDF file.
    """
    _with_application()
    sheet = SHEETS[paper]
    family = load_face()
    content, buffer = QByteArray(), QBuffer()
    buffer.setBuffer(content)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(round(72 * SCALE))
    writer.setTitle(report.title)
    writer.setCreator("Pull Once")
    size = QPageSize(QSizeF(sheet.width, sheet.height), QPageSize.Unit.Point, sheet.name)
    layout = QPageLayout(size, QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0))
    writer.setPageLayout(layout)
    setting = Setting(family, sheet.width - 2 * _SIDE)
    pages = paged(_slices(report, setting), sheet.height - _TOP - _FOOT)
    painter = QPainter(writer)
    try:
        for number, page in enumerate(pages, 1):
            if number > 1:
                writer.newPage()
            _paint(painter, page, setting)
            _paint_edges(painter, sheet, setting, report, (number, len(pages)))
    finally:
        painter.end()
        buffer.close()
    return bytes(content.data())


def _with_application() -> None:
    """See to it that there is an application: fonts need one, though no window is shown."""
    if QGuiApplication.instance() is None:
        screen = ["-platform", "offscreen"] if sys.platform.startswith("linux") else []
        _kept.append(QGuiApplication(["pull-once", *screen]))


_kept: list[QGuiApplication] = []  # Qt wants it to live as long as the program


def _slices(report: Report, setting: Setting) -> Iterator[Slice]:
    yield from setting.text(report.title, Style(18.0, bold=True), keep=True)
    yield from setting.text(head_line(report), Style(9.5, "muted"), before=3.0, keep=True)
    yield setting.space(10.0)
    for block in blocks_of(report):
        yield from set_block(setting, block)


def paged(slices: Iterable[Slice], room: float) -> list[Page]:
    """Fill pages with slices.

    Parameters
    ----------
    slices : iterable of Slice
    room : float
        Height of what a page holds, in points.

    Returns
    -------
    list of page
        At least one. What has to stay with what follows begins a new page with it, unless both
        together are higher than a page.
    """
    pages: list[Page] = [[]]
    level = 0.0
    for group in _groups(slices):
        high = group[0].height + sum(s.before + s.height for s in group[1:])
        if pages[-1] and level + group[0].before + high > room and _worth(group, high, room, level):
            pages.append([])
            level = 0.0
        for piece in group:
            before = piece.before if pages[-1] else 0.0
            if pages[-1] and level + before + piece.height > room:
                pages.append([])
                level = before = 0.0
            if not pages[-1] and piece.head is not None and piece.head is not piece:
                pages[-1].append((0.0, piece.head))
                level = piece.head.height
            pages[-1].append((level + before, piece))
            level += before + piece.height
    return pages


def _worth(group: Sequence[Slice], high: float, room: float, level: float) -> bool:
    """Whether a group that does not fit on this page gains by a new one."""
    return high <= room or level + group[0].before + group[0].height > room


def _groups(slices: Iterable[Slice]) -> Iterator[list[Slice]]:
    """Slices that stay together: each that keeps, with what follows."""
    group: list[Slice] = []
    for piece in slices:
        group.append(piece)
        if not piece.keep:
            yield group
            group = []
    if group:
        yield group


def _paint(painter: QPainter, page: Page, setting: Setting) -> None:
    for top, piece in page:
        painter.save()
        painter.translate(SCALE * _SIDE, SCALE * (_TOP + top))
        setting.plain(painter)
        piece.paint(painter)
        painter.restore()


def _paint_edges(
    painter: QPainter, sheet: Sheet, setting: Setting, report: Report, place: tuple[int, int]
) -> None:
    """Head (from the second page on) and foot, each with a hairline."""
    number, every = place
    width = sheet.width - 2 * _SIDE
    style = Style(8.5, "muted")
    foot = sheet.height - _FOOT_LINE
    _edge(painter, setting, style, foot, width, foot_line(report), f"Page {number} of {every}")
    lines = [foot - 13.0]
    if number > 1:
        _edge(painter, setting, style, _HEAD_LINE, width, report.title, report.date)
        lines.append(_HEAD_LINE + 5.0)
    painter.setPen(setting.pen("rule", _HAIR))
    for level in lines:
        y = SCALE * level
        painter.drawLine(QPointF(SCALE * _SIDE, y), QPointF(SCALE * (_SIDE + width), y))


def _edge(
    painter: QPainter,
    setting: Setting,
    style: Style,
    base: float,
    width: float,
    left: str,
    right: str,
) -> None:
    """Write a text at each end of a line; the left one is cut where it would meet the other."""
    metrics = setting.metrics(style)
    beside = metrics.horizontalAdvance(right)
    room = SCALE * width - beside - SCALE * 12.0
    painter.setFont(setting.font(style))
    painter.setPen(COLOURS[style.tone])
    said = metrics.elidedText(" ".join(left.split()), Qt.TextElideMode.ElideRight, int(room))
    painter.drawText(QPointF(SCALE * _SIDE, SCALE * base), said)
    box = QRectF(SCALE * _SIDE, SCALE * (base - 12.0), SCALE * width, SCALE * 15.0)
    at = QPointF(box.right() - beside, SCALE * base)
    painter.drawText(at, right)
