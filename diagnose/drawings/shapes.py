"""What a drawing is made of: frames, lines and lines of text, each with what it is for.

Colours and faces are not known here: a shape says its role, and whoever puts it on paper or on a
screen says what that looks like. Text is measured by a table that no common face exceeds, so a
label never needs more room than it was given.

References
----------
Widths: the advance widths of DejaVu Sans, the widest of the faces that systems fall back to,
rounded up to classes; its bold is a sixth wider at the most over a line.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

from diagnose.drawings.layered import Run
from diagnose.drawings.rows import Box, Size

Role = Literal["ink", "muted", "accent", "rule"]
Anchor = Literal["start", "middle", "end"]

LINE = 1.35  # height of a line of text over its size
_BOLD = 1.16
_WIDTHS = {
    0.32: " ,.'IJijl’‘·",
    0.40: "/:;\\f|()-[]t",
    0.48: '!r²³"',
    0.52: "*_`“”–°",
    0.56: "?Lcsz",
    0.60: "Fkvxy",
    0.64: "$0123456789EPSTYabdeghnopqu{}µ€",
    0.72: "ABCKRVXZ",
    0.80: "&DGHNOQU",
    0.88: "#+<=>M^w~±×→",
    1.00: "%@Wm—…½¼¾",
}
_WIDTH = {letter: width for width, letters in _WIDTHS.items() for letter in letters}
_WIDEST = 1.05


class Label(NamedTuple):
    """One line of text.

    Attributes
    ----------
    words : str
    x, baseline : float
    size : float
        Height of the type, in units of the drawing.
    anchor : str
        Which end of the text ``x`` is.
    role : str
    bold : bool
    link : str
        Where it leads, such as ``#kind-id``; empty if nowhere.
    """

    words: str
    x: float
    baseline: float
    size: float
    anchor: Anchor = "start"
    role: Role = "ink"
    bold: bool = False
    link: str = ""

    @property
    def box(self) -> Box:
        """The room it may take."""
        wide = text_width(self.words, self.size, bold=self.bold)
        shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor]
        return Box(self.x - shift * wide, self.baseline - self.size, wide, LINE * self.size)


class Frame(NamedTuple):
    """A box with an edge, filled with the ground of cards or a soft tint of the accent."""

    box: Box
    weight: float
    role: Role = "rule"
    soft: bool = False


class Stroke(NamedTuple):
    """A line through upright runs, or from point to point."""

    runs: tuple[Run, ...]
    weight: float
    role: Role = "accent"
    arrow: bool = False


class Bar(NamedTuple):
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    weight: float
    role: Role = "accent"


@dataclass(frozen=True)
class Drawing:
    """A drawing: what it is called, what it shows in words, and its shapes in painting order."""

    title: str
    about: str
    size: Size
    frames: tuple[Frame, ...] = ()
    strokes: tuple[Stroke, ...] = ()
    bars: tuple[Bar, ...] = ()
    labels: tuple[Label, ...] = ()

    def link_at(self, x: float, y: float) -> str:
        """Give where the text at a point leads; empty if there is none or it leads nowhere."""
        for label in self.labels:
            box = label.box
            if label.link and box.left <= x <= box.right and box.top <= y <= box.bottom:
                return label.link
        return ""


def text_width(words: str, size: float, *, bold: bool = False) -> float:
    """Give the width that a line of text needs at the most, in units of the drawing."""
    wide = sum(_WIDTH.get(letter, _WIDEST) for letter in words)
    return wide * size * (_BOLD if bold else 1.0)


def wrapped(words: str, width: float, size: float, *, bold: bool = False) -> tuple[str, ...]:
    """Break a text into lines that fit a width; a word that is wider is broken in itself.

    Parameters
    ----------
    words : str
    width, size : float
        In units of the drawing; at least one letter stands on a line, whatever the width.
    bold : bool

    Returns
    -------
    tuple of str
        Not empty, unless the text is.
    """
    lines: list[str] = []
    for piece in _pieces(words, width, size, bold=bold):
        longer = f"{lines[-1]} {piece}" if lines else piece
        if lines and text_width(longer, size, bold=bold) <= width:
            lines[-1] = longer
        else:
            lines.append(piece)
    return tuple(lines)


def _pieces(words: str, width: float, size: float, *, bold: bool) -> Iterator[str]:
    for word in words.split():
        rest = word
        while text_width(rest, size, bold=bold) > width and len(rest) > 1:
            fitting = 1
            while text_width(rest[: fitting + 1], size, bold=bold) <= width:
                fitting += 1
            yield rest[:fitting]
            rest = rest[fitting:]
        yield rest
