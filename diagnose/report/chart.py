"""The drawing of one reading: a thin axis, what is predicted as bands, the reading as a tick."""

from collections.abc import Iterator
from math import inf, isfinite

from diagnose.comparison import FIT_WORDS, band_words, chance_note
from diagnose.drawings.rows import Box, Size
from diagnose.drawings.shapes import Bar, Drawing, Frame, Label, Role, text_width, wrapped
from diagnose.gauge import Span
from diagnose.physics.uncertainty import nearly_all
from diagnose.report.axis import Axis, axis_of, limits_of
from diagnose.report.record import Figure, Foretold
from diagnose.report.told import first_large
from knowledge.quantity import in_unit

WIDTH = 480.0  # what a sheet holds between its margins, in points
_SIZE = 8.5
_LINE = 11.0
_NAMES, _WORDS = 168.0, 96.0
_GAP = 10.0
_THICK = 7.0
_TOP = 24.0  # for the reading in words and the bar of what the gauge may be off
_DASH = 2.5
_FEW_LIMITS = 3


def draw(figure: Figure) -> Drawing:
    """Draw a reading against what was to be expected.

    Parameters
    ----------
    figure : Figure
        With something foretold.

    Returns
    -------
    Drawing
        `WIDTH` wide; one row for each state, the healthy vehicle first.
    """
    return _Chart(figure).drawing()


def row_words(row: Foretold) -> str:
    """Name a state, its chance, how many causes are just like it, how often it moves a reading."""
    note = chance_note(row.forecast, row.others)
    return ", ".join((first_large(row.forecast.name), *([note] if note else [])))


class _Chart:
    """One drawing while it is made."""

    def __init__(self, figure: Figure) -> None:
        self._figure = figure
        self._unit = figure.measurement.unit
        self._axis: Axis = axis_of(figure)
        self._left, self._right = _NAMES + _GAP, WIDTH - _WORDS - _GAP
        self._frames: list[Frame] = []
        self._bars: list[Bar] = []
        self._labels: list[Label] = []
        self._bottom = _TOP

    def drawing(self) -> Drawing:
        for row in self._figure.foretold:
            self._row(row)
        self._scale()
        self._limits()
        for span in self._figure.spans:
            self._reading(span)
        self._said()
        said = [
            f"{row_words(row)}: {band_words(row.forecast, self._figure.measurement)}, {row.fit}."
            for row in self._figure.foretold
        ]
        return Drawing(
            f"{self._figure.measurement.name}: {self._figure.said}",
            " ".join(said),
            Size(WIDTH, self._bottom + 8.0 + _LINE),
            tuple(self._frames),
            (),
            tuple(self._bars),
            tuple(self._labels),
        )

    def _x(self, value: float) -> float:
        """Give the place of a value in the inside unit."""
        share = self._axis.share(in_unit(value, self._unit)) if isfinite(value) else value > 0.0
        return self._left + (self._right - self._left) * float(share)

    def _row(self, row: Foretold) -> None:
        names = wrapped(row_words(row), _NAMES, _SIZE)
        high = max(2, len(names)) * _LINE + 4.0
        top = self._bottom
        first = top + (high - len(names) * _LINE) / 2.0
        for i, words in enumerate(names):
            self._labels.append(Label(words, 0.0, first + i * _LINE + _SIZE, _SIZE))
        low, end = self._x(row.forecast.low), self._x(row.forecast.high)
        fits, edge, _ = (row.fit == word for word in FIT_WORDS)
        middle = top + high / 2.0
        box = Box(low, middle - _THICK / 2.0, max(2.0, end - low), _THICK)
        role: Role = "accent" if fits or edge else "muted"
        self._frames.append(Frame(box, 1.2 if fits else 0.7, role, soft=fits or edge))
        at = self._x(row.forecast.middle)
        self._bars.append(Bar(at, middle - 2.5, at, middle + 2.5, 1.0, role))
        beside = self._right + 2.0 * _GAP
        self._labels.append(Label(row.fit, beside, middle - 2.0, _SIZE, bold=True))
        said = band_words(row.forecast, self._figure.measurement)
        small = _SIZE * min(1.0, (WIDTH - beside) / max(1.0, text_width(said, _SIZE)))
        self._labels.append(Label(said, beside, middle - 2.0 + _LINE, small, role="muted"))
        self._bottom += high

    def _scale(self) -> None:
        level = self._bottom
        self._bars.append(Bar(self._left, level, self._right, level, 0.7, "muted"))
        free = -inf
        for value, words in self._axis.ticks:
            at = self._left + (self._right - self._left) * self._axis.share(value)
            self._bars.append(Bar(at, level, at, level + 3.0, 0.7, "muted"))
            half = text_width(words, _SIZE) / 2.0
            if at - half > free:
                base = level + 4.0 + _LINE
                self._labels.append(Label(words, at, base, _SIZE, "middle", "muted"))
                free = at + half + 3.0
        unit = Label(self._unit, self._right + 2.0 * _GAP, level + 4.0 + _LINE, _SIZE, role="muted")
        self._labels.append(unit)

    def _limits(self) -> None:
        """Dashed lines for the limits on the axis: across where they are few, else short."""
        axis = self._axis
        there = [edge for edge in limits_of(self._figure) if axis.low <= edge <= axis.high]
        for edge in there:
            at = self._left + (self._right - self._left) * axis.share(edge)
            top = _TOP if len(there) <= _FEW_LIMITS else self._bottom - 3.0 * _DASH
            self._bars.extend(_dashed(at, top, self._bottom))
        if there:
            words = "dashed: limit" if len(there) == 1 else "dashed: limits"
            at = self._right + 2.0 * _GAP
            self._labels.append(Label(words, at, _SIZE + 2.0, _SIZE, role="muted"))

    def _reading(self, span: Span) -> None:
        """A tick where it was read; a bar along what is open, or what the gauge may be off."""
        level = _TOP - 4.0
        for end in {span.low, span.high}:
            if isfinite(end):
                at = self._x(end)
                self._bars.append(Bar(at, level, at, self._bottom + 3.0, 1.6, "ink"))
        low, high = span.low, span.high
        if low == high:
            low, high = nearly_all(low, self._figure.uncertainty)
        ends = [self._x(end) for end in (low, high)]
        self._bars.append(Bar(ends[0], level, ends[1], level, 1.2, "ink"))
        for at, end, way in ((ends[0], low, 1.0), (ends[1], high, -1.0)):
            if isfinite(end):
                self._bars.append(Bar(at, level - 2.5, at, level + 2.5, 1.2, "ink"))
            else:  # it goes on that way
                self._bars.append(Bar(at, level, at + 5.0 * way, level - 3.0, 1.2, "ink"))
                self._bars.append(Bar(at, level, at + 5.0 * way, level + 3.0, 1.2, "ink"))

    def _said(self) -> None:
        known = [self._x(v) for s in self._figure.spans for v in (s.low, s.high) if isfinite(v)]
        words = f"read: {self._figure.said}"
        room = self._right - self._left
        size = _SIZE * min(1.0, room / text_width(words, _SIZE, bold=True))
        half = text_width(words, size, bold=True) / 2.0
        middle = sum(known) / len(known) if known else self._left
        at = min(max(middle, self._left + half), self._right - half)
        self._labels.append(Label(words, at, _SIZE + 2.0, size, "middle", bold=True))


def _dashed(at: float, top: float, bottom: float) -> Iterator[Bar]:
    y = top
    while y < bottom:
        yield Bar(at, y, at, min(y + _DASH, bottom), 0.8, "ink")
        y += 2.0 * _DASH
