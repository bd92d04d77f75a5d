"""What a page is made of, the same for the web page and for paper.

Whoever puts blocks on a page says what they look like; what they hold is text, and pictures.
"""

from dataclasses import dataclass
from typing import Literal

from diagnose.drawings.shapes import Drawing
from diagnose.report.record import Cutaway, Photograph

Tone = Literal["headline", "lead", "plain", "muted"]
LEADS: tuple[Tone, ...] = ("headline", "lead")


@dataclass(frozen=True)
class Heading:
    """A heading, of a part of the report or of what is in one."""

    text: str
    small: bool = False


@dataclass(frozen=True)
class Paragraph:
    """Text; headline and lead are read first, what is muted may be passed over.

    ``keep`` says that it stays on one page with what follows.
    """

    text: str
    tone: Tone = "plain"
    keep: bool = False


@dataclass(frozen=True)
class Bullets:
    """Lines of a list."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class Notice:
    """Something that must not be passed over, with its word before it."""

    word: str
    text: str
    stop: bool = False


@dataclass(frozen=True)
class Cell:
    """What stands in one place of a table, and a remark below it."""

    text: str
    remark: str = ""


@dataclass(frozen=True)
class Table:
    """Rows of cells; ``shares`` are the widths, which sum to 1. Without heads, names stand left."""

    heads: tuple[str, ...]
    shares: tuple[float, ...]
    rows: tuple[tuple[Cell, ...], ...]


@dataclass(frozen=True)
class Drawn:
    """A drawing."""

    drawing: Drawing


@dataclass(frozen=True)
class Section:
    """The release system in section."""

    cutaway: Cutaway


@dataclass(frozen=True)
class Gallery:
    """Photographs with their captions, two beside each other where there is room."""

    photographs: tuple[Photograph, ...]


@dataclass(frozen=True)
class Blanks:
    """Names with room to write beside them."""

    names: tuple[str, ...]


Block = Heading | Paragraph | Bullets | Notice | Table | Drawn | Section | Gallery | Blanks
