"""From a gauge reading, as typed, to what was read and to the answer of the check that asks it.

A reading is a value, a range ("1 to 1 1/4 in") or one-sided ("more than 2 in", "would not move").
Several readings of the same thing stand with ";" between them.
"""

import re
from dataclasses import dataclass
from math import inf, isfinite, log

from diagnose.errors import PullOnceError
from knowledge.model import Check, CheckAnswer, KnowledgeBase, Measurement
from knowledge.quantity import (
    QuantityError,
    dimension_of,
    ends_of_range,
    parse_quantity,
)

_CONFUSED = {
    "in": ("mm", "thou"),
    "mm": ("in",),
    "thou": ("um",),
    "um": ("thou",),
    "min": ("s",),
    "s": ("min",),
    "bar": ("psi",),
    "psi": ("bar",),
    "degC": ("degF",),
    "degF": ("degC",),
    "N m": ("lbf ft",),
    "lbf ft": ("N m",),
}
_AT_LEAST = re.compile(r"^\s*(?:>=?|≥|more than|over|above|at least)\s*(?P<text>.+)$", re.I)
_AT_MOST = re.compile(
    r"^\s*(?:<=?|≤|less than|under|below|at most|no more than|up to)\s*(?P<text>.+)$", re.I
)
_NOTHING = re.compile(
    r"""^\s*(?:none|nothing|stuck|no\s(?:movement|travel|play)
    |(?:(?:would|will|does|did)(?:\snot|n['’]?t)|won['’]?t)\smove)\s*$""",
    re.IGNORECASE | re.VERBOSE,
)
MOST_REPEATS = 8


class ReadingError(PullOnceError):
    """A reading that is no quantity, of the wrong kind, or not plausible.

    Attributes
    ----------
    doubted, guess : str
        A value that can hardly be right, as typed, and what was probably meant; empty if nobody
        knows.
    """

    def __init__(
        self, sentence: str, next_step: str = "", *, doubted: str = "", guess: str = ""
    ) -> None:
        super().__init__(sentence, next_step)
        self.doubted, self.guess = doubted, guess


@dataclass(frozen=True, slots=True)
class Span:
    """What was read, in the inside unit: a value if both ends are equal; an end may be infinite."""

    low: float
    high: float

    @property
    def middle(self) -> float:
        """The middle, or the end that is known of a one-sided reading."""
        if isfinite(self.low) and isfinite(self.high):
            return (self.low + self.high) / 2.0
        return self.low if isfinite(self.low) else self.high


def measurement_of(base: KnowledgeBase, check: Check) -> Measurement:
    """Give what a check measures.

    Raises
    ------
    ReadingError
        If it takes no reading.
    """
    if check.gauge is None:
        raise ReadingError(f"{check.name!r} takes no reading.", "Choose one of its answers.")
    return base.measurements[check.gauge]


def read_gauge(measurement: Measurement, text: str) -> tuple[Span, ...]:
    """Read what was typed for a measurement.

    Parameters
    ----------
    measurement : Measurement
        Its own unit is taken where none is written.
    text : str

    Returns
    -------
    tuple of Span
        One for each reading; at most `MOST_REPEATS`.

    Raises
    ------
    ReadingError
        If the text is no such quantity, or lies outside the plausible range.
    """
    parts = [part for part in text.split(";") if part.strip()] or [text]
    if len(parts) > MOST_REPEATS:
        raise ReadingError(
            f"{len(parts)} readings of one thing are too many.", f"Give at most {MOST_REPEATS}."
        )
    return tuple(_span(measurement, part) for part in parts)


def answer_for_reading(base: KnowledgeBase, check: Check, text: str) -> CheckAnswer:
    """Find the answer whose band a reading falls in; of several, their mean counts.

    Parameters
    ----------
    base : KnowledgeBase
    check : Check
        One with a gauge.
    text : str
        As typed.

    Returns
    -------
    CheckAnswer

    Raises
    ------
    ReadingError
        If the text is no such quantity, or lies outside the plausible range.
    """
    measurement = measurement_of(base, check)
    spans = read_gauge(measurement, text)
    value = sum(_place(measurement, span) for span in spans) / len(spans)
    # "More than 2 in" lies in the band above an edge at 2 in, "less than 2 in" in the one below.
    from_below = all(span.low == -inf for span in spans)
    for answer in check.answers:
        if answer.below is None:
            return answer
        edge = measurement.value(answer.below)
        if value < edge or (from_below and value == edge):
            return answer
    raise AssertionError(check.id)  # the last band has no upper end


def band(measurement: Measurement, answer: CheckAnswer) -> Span:
    """Give what an answer chosen without a number says of the reading."""
    low = -inf if answer.at_least is None else measurement.value(answer.at_least)
    high = inf if answer.below is None else measurement.value(answer.below)
    return Span(low, high)


def plausible_range(measurement: Measurement) -> tuple[float, float]:
    """Give the range beyond which a reading is a slip, in the inside unit."""
    low, high = measurement.plausible
    return measurement.value(low), measurement.value(high)


def _as_good_as_none(measurement: Measurement) -> tuple[float, float]:
    """Give nothing at all, and the little that it may be for all that the instrument shows."""
    least, _ = plausible_range(measurement)
    first = next(iter(measurement.instruments.values()))
    return max(least, 0.0), max(least, 0.0) + measurement.spread(first.uncertainty)


def _place(measurement: Measurement, span: Span) -> float:
    """Where a reading falls among the bands: none is none, though it may be a little."""
    none, little = _as_good_as_none(measurement)
    return none if span.low == -inf and none <= span.high <= little else span.middle


def _span(measurement: Measurement, text: str) -> Span:
    none, little = _as_good_as_none(measurement)
    if _NOTHING.match(text):
        return Span(-inf, little)
    more, less = _AT_LEAST.match(text), _AT_MOST.match(text)
    both = ends_of_range(text)
    if more:
        return Span(_plausible(measurement, more["text"]), inf)
    if less:
        return Span(-inf, _plausible(measurement, less["text"]))
    if both:
        return _between(measurement, *both)
    value = _plausible(measurement, text)
    least, _ = plausible_range(measurement)
    if measurement.open_below and value <= least:
        return Span(-inf, value + little - none)
    return Span(value, value)


def _between(measurement: Measurement, first: str, second: str) -> Span:
    """Read a range; a unit that stands at its end only holds for both ends."""
    try:
        unit = parse_quantity(second, default_unit=measurement.unit).unit
    except QuantityError:
        unit = measurement.unit
    low, high = _plausible(measurement, first, unit=unit), _plausible(measurement, second)
    if not low < high:
        raise ReadingError(
            f"{first.strip()} to {second.strip()} is no range.", "Write the smaller value first."
        )
    return Span(low, high)


def _plausible(measurement: Measurement, text: str, *, unit: str = "") -> float:
    unit = unit or measurement.unit
    dimension = dimension_of(measurement.unit)
    try:
        value = parse_quantity(text, dimension=dimension, default_unit=unit).value
    except QuantityError as error:
        sentence = f"{error}."
        like = "'1 3/8 in' or '35 mm'" if dimension == "length" else f"'12 {measurement.unit}'"
        raise ReadingError(
            sentence[0].upper() + sentence[1:],
            f"Write it like {like}; {measurement.unit} is taken if no unit stands there.",
        ) from error
    low, high = plausible_range(measurement)
    if not low <= value <= high:
        guess = _other_unit(measurement, text, unit)
        raise ReadingError(
            f"{text.strip()} can hardly be right here.",
            f"Did you mean {guess}?" if guess else "Read the gauge again.",
            doubted=text.strip(),
            guess=guess,
        )
    return value


def _other_unit(measurement: Measurement, text: str, unit: str) -> str:
    """The same number in a unit it is easily confused with, if that would be plausible.

    Of two the one that is nearer to what good vehicles read, as far as that is known.
    """
    written = parse_quantity(text, default_unit=unit)
    number = written.in_unit(written.unit)
    low, high = plausible_range(measurement)
    guesses = [f"{number:g} {other}" for other in _CONFUSED.get(written.unit, ())]
    fitting = [g for g in guesses if low <= measurement.value(g) <= high]
    healthy = measurement.healthy
    if healthy is not None and number > 0.0:
        usual = measurement.value(healthy.mean)
        if usual > 0.0:
            fitting.sort(key=lambda g: abs(log(measurement.value(g) / usual)))
    return fitting[0] if fitting else ""
