"""Slices on pages, and pages in a PDF: what a report, a worksheet and a list have in common.

What must stay together does, and a heading never stands alone at the foot of a page. Colours are
named, so that it is black on white whatever the screen is.
"""

import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QLocale, QMarginsF, QPointF, QSizeF, Qt
from PySide6.QtGui import (
    QGuiApplication,
    QPagedPaintDevice,
    QPageLayout,
    QPageSize,
    QPainter,
    QPdfWriter,
)

from diagnose.report.paper import Paper, Sheet
from ui.fonts import load_face
from ui.report_type import COLOURS, SCALE, Setting, Slice, Style

_HAIR = 0.6
_EDGE = Style(8.5, "muted")
_FOOT_LINE = 40.0  # from the edge of the sheet to the foot
_RULE_ABOVE, _RULE_BELOW = 13.0, 5.0  # from a line of text to its hairline
_BETWEEN = 12.0

Page = list[tuple[float, Slice]]  # where each slice begins, in points from the upper edge


class Edge(NamedTuple):
    """A line of small type with a hairline, at the head or foot of a page.

    Attributes
    ----------
    base : float
        Its base line, in points from the upper edge of the sheet.
    left, right : str
    rule : float
        The hairline, in points from the base line.
    """

    base: float
    left: str
    right: str
    rule: float


@dataclass(frozen=True)
class Frame:
    """A sheet and its margins.

    Attributes
    ----------
    sheet : Sheet
    side, top, foot : float
        Points.
    """

    sheet: Sheet
    side: float
    top: float
    foot: float

    @property
    def width(self) -> float:
        """Of the column, in points."""
        return self.sheet.width - 2.0 * self.side

    @property
    def room(self) -> float:
        """Height of what a page holds, in points."""
        return self.sheet.height - self.top - self.foot

    def head_edge(self, base: float, left: str, right: str) -> Edge:
        """Give the head of a page."""
        return Edge(base, left, right, _RULE_BELOW)

    def foot_edge(self, left: str, number: int, every: int) -> Edge:
        """Give the foot of a page with its number."""
        base = self.sheet.height - _FOOT_LINE
        return Edge(base, left, f"Page {number} of {every}", -_RULE_ABOVE)


def usual_paper() -> Paper:
    """Give what is written on where the system says it is used."""
    american = QLocale.MeasurementSystem.ImperialUSSystem
    return "letter" if QLocale.system().measurementSystem() == american else "a4"


def pdf_of(
    title: str,
    frame: Frame,
    fill: Callable[[Setting], Iterable[Slice]],
    edges: Callable[[int, int], Iterable[Edge]],
) -> bytes:
    """Put slices on pages.

    Parameters
    ----------
    title : str
    frame : Frame
    fill : callable
        Gives the slices, for a column of the frame's width.
    edges : callable
        Gives head and foot of a page, by its number from 1 and the number of pages.

    Returns
    -------
    bytes
        A PDF file.
    """
    _with_application()
    content, buffer = QByteArray(), QBuffer()
    buffer.setBuffer(content)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(round(72 * SCALE))
    writer.setTitle(title)
    writer.setCreator("Pull Once")
    sheet = frame.sheet
    size = QPageSize(QSizeF(sheet.width, sheet.height), QPageSize.Unit.Point, sheet.name)
    none = QMarginsF(0, 0, 0, 0)
    writer.setPageLayout(QPageLayout(size, QPageLayout.Orientation.Portrait, none))
    put_on(writer, frame, fill, edges)
    buffer.close()
    return bytes(content.data())


def put_on(
    device: QPagedPaintDevice,
    frame: Frame,
    fill: Callable[[Setting], Iterable[Slice]],
    edges: Callable[[int, int], Iterable[Edge]],
) -> None:
    """Put slices on the pages of a printer or a PDF, whose origin is the corner of the sheet.

    Parameters
    ----------
    device : QPagedPaintDevice
    frame, fill, edges
        As `pdf_of` has them.
    """
    setting = Setting(load_face(), frame.width)
    pages = paged(fill(setting), frame.room)
    painter = QPainter(device)
    zoom = device.logicalDpiX() / (72.0 * SCALE)
    painter.scale(zoom, zoom)
    try:
        for number, page in enumerate(pages, 1):
            if number > 1:
                device.newPage()
            _paint(painter, page, frame, setting)
            for edge in edges(number, len(pages)):
                _paint_edge(painter, edge, frame, setting)
    finally:
        painter.end()


def _with_application() -> None:
    """See to it that there is an application: fonts need one, though no window is shown."""
    if QGuiApplication.instance() is None:
        screen = ["-platform", "offscreen"] if sys.platform.startswith("linux") else []
        _kept.append(QGuiApplication(["pull-once", *screen]))


_kept: list[QGuiApplication] = []  # Qt wants it to live as long as the program


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
        together are higher than a page. What only parts two slices is left out at the top.
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
            if piece.parts and not pages[-1]:
                continue
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


def _paint(painter: QPainter, page: Page, frame: Frame, setting: Setting) -> None:
    for top, piece in page:
        painter.save()
        painter.translate(SCALE * frame.side, SCALE * (frame.top + top))
        setting.plain(painter)
        piece.paint(painter)
        painter.restore()


def _paint_edge(painter: QPainter, edge: Edge, frame: Frame, setting: Setting) -> None:
    """Write a text at each end of a line; the left one is cut where it would meet the other."""
    metrics = setting.metrics(_EDGE)
    beside = metrics.horizontalAdvance(edge.right)
    left, right = SCALE * frame.side, SCALE * (frame.side + frame.width)
    room = right - left - beside - SCALE * _BETWEEN
    said = metrics.elidedText(" ".join(edge.left.split()), Qt.TextElideMode.ElideRight, int(room))
    painter.setFont(setting.font(_EDGE))
    painter.setPen(COLOURS[_EDGE.tone])
    painter.drawText(QPointF(left, SCALE * edge.base), said)
    painter.drawText(QPointF(right - beside, SCALE * edge.base), edge.right)
    painter.setPen(setting.pen("rule", _HAIR))
    level = SCALE * (edge.base + edge.rule)
    painter.drawLine(QPointF(left, level), QPointF(right, level))
