"""Type set in lines, and slices of a page: what a report on paper is built of."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QPainter,
    QPen,
    QTextLayout,
    QTextLine,
    QTextOption,
)

from diagnose.handbook.style import LIGHT
from ui.fonts import paper_font

SCALE = 20.0  # units of the painter in a point: fine enough that letters stand where they should
Tone = Literal["ink", "muted", "accent", "rule", "caution", "stop"]
COLOURS: Mapping[str, QColor] = MappingProxyType(
    {name: QColor(LIGHT[name]) for name in ("ink", "muted", "accent", "rule", "caution", "stop")}
)
BODY, SMALL = 11.0, 9.5
LEADING = 1.32  # height of a line over the size of the letters

Paint = Callable[[QPainter], None]


@dataclass(frozen=True)
class Style:
    """Size of the letters in points, their colour, and whether they are bold."""

    size: float = BODY
    tone: Tone = "ink"
    bold: bool = False


@dataclass(frozen=True, eq=False)
class Slice:
    """A strip across the page that is not cut.

    Attributes
    ----------
    height : float
        In points.
    paint : callable
        Paints it on a painter whose origin is its upper left corner, in units of `SCALE`.
    before : float
        Space above it, which falls away at the top of a page.
    keep : bool
        Whether it stays on one page with what follows.
    head : Slice or None
        What is repeated above it where it begins a page.
    parts : bool
        Whether it only parts what stands above from what follows, and is left out at the top of a
        page.
    """

    height: float
    paint: Paint
    before: float = 0.0
    keep: bool = False
    head: "Slice | None" = None
    parts: bool = False


@dataclass(frozen=True)
class Line:
    """One line of laid-out text; the layout is kept alive with it."""

    layout: QTextLayout
    line: QTextLine
    style: Style

    @property
    def height(self) -> float:
        return self.style.size * LEADING

    def draw(self, painter: QPainter, x: float, y: float = 0.0) -> None:
        down = (SCALE * self.height - self.line.height()) / 2.0
        painter.setPen(COLOURS[self.style.tone])
        self.line.draw(painter, QPointF(SCALE * x, SCALE * y + down - self.line.y()))


class Setting:
    """Sets type and blocks in one face for one width.

    Parameters
    ----------
    family : str
        The face; empty for the system's own.
    width : float
        Of the column, in points.
    """

    def __init__(self, family: str, width: float) -> None:
        self.family = family
        self.width = width

    def font(self, style: Style) -> QFont:
        """Give the font of a style, in units of the painter."""
        font = paper_font(self.family)
        font.setPixelSize(round(SCALE * style.size))
        font.setBold(style.bold)
        return font

    def metrics(self, style: Style) -> QFontMetricsF:
        """Give what letters of a style measure, in units of the painter."""
        return QFontMetricsF(self.font(style))

    def pen(self, tone: str, weight: float) -> QPen:
        """Give a pen for lines so many points broad."""
        return QPen(COLOURS[tone], SCALE * weight)

    def plain(self, painter: QPainter) -> None:
        """Let a painter begin with dark ink and no fill."""
        painter.setPen(COLOURS["ink"])
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setFont(self.font(Style()))

    def space(self, height: float) -> Slice:
        """Give empty room that stays with what follows."""
        return Slice(height, lambda _: None, keep=True)

    def text(
        self,
        words: str,
        style: Style,
        *,
        before: float = 0.0,
        indent: float = 0.0,
        keep: bool = False,
        beside: Paint | None = None,
    ) -> Iterator[Slice]:
        """Set a paragraph; no line of it is left alone at either end of a page.

        Parameters
        ----------
        words : str
        style : Style
        before, indent : float
            Points.
        keep : bool
            Whether it stays with what follows.
        beside : callable, optional
            Painted with every line.
        """
        lines = self.lines(words, style, self.width - indent)
        last = len(lines) - 1
        for i, line in enumerate(lines):
            stays = i in {0, last - 1} and i < last
            yield Slice(
                line.height,
                _painting(line, indent, beside),
                before if i == 0 else 0.0,
                stays or keep,
            )

    def lines(self, words: str, style: Style, width: float) -> list[Line]:
        said = " ".join(words.split())
        layout = QTextLayout(said or " ", self.font(style))
        option = QTextOption(Qt.AlignmentFlag.AlignLeft)
        option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
        layout.setTextOption(option)
        layout.beginLayout()
        lines = []
        while (line := layout.createLine()).isValid():
            line.setLineWidth(SCALE * width)
            lines.append(Line(layout, line, style))
        layout.endLayout()
        return lines


def _painting(line: Line, indent: float, beside: Paint | None) -> Paint:
    def paint(painter: QPainter) -> None:
        if beside is not None:
            beside(painter)
        line.draw(painter, indent)

    return paint
