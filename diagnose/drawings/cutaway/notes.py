"""Dimensions, names and signs on a picture, in its own units."""

from collections.abc import Sequence
from typing import NamedTuple

from diagnose.drawings.cutaway.shapes import (
    Anchor,
    Area,
    Box,
    Dot,
    Fill,
    Ink,
    Point,
    Shape,
    Words,
)
from diagnose.drawings.shapes import text_width

_SMALL = 13.0 / 15.0  # of the text's size


class Notes:
    """Collects notes in painting order.

    Parameters
    ----------
    em : float
        Size of the text, in units of the picture.
    """

    def __init__(self, em: float) -> None:
        self.em = em
        self.small = _SMALL * em
        self.shapes: list[Shape] = []
        self.words: list[Words] = []

    def say(
        self,
        text: str,
        x: float,
        baseline: float,
        *,
        anchor: Anchor = "start",
        ink: Ink = "ink",
        bold: bool = False,
        halo: bool = False,
        small: bool = True,
    ) -> None:
        """Write a line of text."""
        size = self.small if small else self.em
        self.words.append(Words(text, x, baseline, size, anchor, ink, bold, halo))

    def thin(self, *points: Point, ink: Ink = "ink", dashed: bool = False) -> None:
        """Draw a thin line: a witness or a leader."""
        self.shapes.append(Area("", points, ink, 0.055 * self.em, dashed=dashed, closed=False))

    def across(
        self, start: Point, end: Point, level: float, text: str, *, after: bool = True
    ) -> None:
        """Dimension the way between two places along x, at a level, its figure at one side.

        Parameters
        ----------
        start, end : (float, float)
            Where the witness lines begin.
        level : float
            Height of the line.
        text : str
        after : bool
            Whether the figure stands to the right, as it does where there is no room to the left.
        """
        over = 0.35 * self.em if level > start[1] else -0.35 * self.em
        self.thin(start, (start[0], level + over))
        self.thin(end, (end[0], level + over))
        left, right = sorted((start[0], end[0]))
        head = 0.62 * self.em
        inside = right - left > 2.4 * head
        if inside:
            self._line((left, level), (right, level))
            self._head((left, level), -head)
            self._head((right, level), head)
            room = 0.4 * head
        else:
            room = 2.0 * head
            self._line((left - room, level), (right + room, level))
            self._head((left, level), head)
            self._head((right, level), -head)
        if not text:
            return
        wide = text_width(text, self.small, bold=True)
        after = after or left - room - 0.5 * self.em < wide
        if inside and right - left > wide + 5.0 * head:
            self.say(text, (left + right) / 2.0, level + 0.32 * self.em, anchor="middle", bold=True,
                     halo=True)  # fmt: skip
        elif after:
            self.say(
                text, right + room + 0.3 * self.em, level + 0.32 * self.em, bold=True, halo=True
            )
        else:
            self.say(text, left - room - 0.3 * self.em, level + 0.32 * self.em, anchor="end",
                     bold=True, halo=True)  # fmt: skip

    def _line(self, start: Point, end: Point) -> None:
        self.shapes.append(Area("", (start, end), "ink", 0.09 * self.em, closed=False))

    def _head(self, tip: Point, long: float) -> None:
        x, y = tip
        half = 0.3 * abs(long)
        points = ((x, y), (x - long, y - half), (x - long, y + half))
        self.shapes.append(Area("", points, "ink", 0.0, "ink"))

    def caution(self, centre: Point, side: float) -> None:
        """Draw the sign of a fault: a triangle with a mark in it."""
        x, y = centre
        half = side / 2.0
        corners = (
            (x, y - half),
            (x + 1.1 * half, y + 0.9 * half),
            (x - 1.1 * half, y + 0.9 * half),
        )
        weight = 0.1 * side
        self.shapes.append(Area("sign", corners, "fault", weight, "ground"))
        mark = ((x, y - 0.3 * half), (x, y + 0.3 * half))
        self.shapes.append(Area("sign", mark, "fault", weight, closed=False))
        self.shapes.append(Dot("sign", (x, y + 0.62 * half), 0.06 * side, "fault", 0.0, "fault"))

    def good(self, centre: Point, side: float) -> None:
        """Draw the sign of a healthy system: a tick."""
        x, y = centre
        half = side / 2.0
        tick = ((x - 0.7 * half, y + 0.1 * half), (x - 0.2 * half, y + 0.6 * half),
                (x + 0.8 * half, y - 0.7 * half))  # fmt: skip
        self.shapes.append(Area("sign", tick, "ink", 0.12 * side, closed=False))


class Name(NamedTuple):
    """A name, and the place it points to."""

    text: str
    place: Point
    faulty: bool = False


def name_column(notes: Notes, names: Sequence[Name], box: Box, anchor: Anchor) -> None:
    """Write names under each other in a column, each with a leader to its place.

    Parameters
    ----------
    notes : Notes
    names : sequence of Name
    box : Box
        The column.
    anchor : str
        ``start``: the leaders leave to the left; ``end``: to the right.
    """
    if not names:
        return
    high = 1.5 * notes.em
    placed = sorted(names, key=lambda name: name.place[1])
    most = box.bottom - high * len(placed)
    at = box.top
    for i, name in enumerate(placed):
        wanted = name.place[1] - 0.5 * high
        level = min(max(wanted, at), most + i * high)
        at = level + high
        baseline = level + 0.68 * high
        ink: Ink = "fault" if name.faulty else "muted"
        way = -1.0 if anchor == "end" else 1.0
        x = box.right if anchor == "end" else box.left
        middle = level + 0.5 * high
        notes.thin((x - 0.3 * way * notes.em, middle), name.place, ink=ink)
        notes.shapes.append(Dot("", name.place, 0.13 * notes.em, ink, 0.0, ink_fill(ink)))
        if name.faulty:
            notes.caution((x + 0.45 * way * notes.em, middle), 1.05 * notes.em)
            x += 1.3 * way * notes.em
        # Where the leader of the lens passes it, the name stays readable.
        notes.say(name.text, x, baseline, anchor=anchor, ink=ink, bold=name.faulty, halo=True)


def ink_fill(ink: Ink) -> Fill:
    """Give the fill of an ink's colour."""
    return "fault" if ink == "fault" else "muted" if ink == "muted" else "ink"
