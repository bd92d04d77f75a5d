"""What is typed into a gauge field: what was understood of it, or what was probably meant; Qt-free.

The readings themselves are read by `diagnose.gauge`; here they are put in words again, in the unit
they were typed in and in the other one that stands on tapes and rules.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import inf
from types import MappingProxyType

from diagnose.gauge import (
    MOST_REPEATS,
    ReadingError,
    Span,
    answer_for_reading,
    measurement_of,
    plausible_range,
    read_gauge,
)
from knowledge.model import Check, CheckAnswer, KnowledgeBase, Measurement
from knowledge.quantity import Quantity, QuantityError, in_unit, parse_quantity
from ui.chart import mixed

# What a reading is said in beside the unit it was typed in.
_OTHER: Mapping[str, str] = MappingProxyType(
    {
        "mm": "in",
        "cm": "mm",
        "um": "mm",
        "in": "mm",
        "thou": "mm",
        "ft": "mm",
        "min": "s",
        "N m": "lbf ft",
        "lbf ft": "N m",
        "degC": "degF",
        "degF": "degC",
    }
)
# First letters of the words that stand before a number, or for one, in `diagnose.gauge`.
_BEGINNINGS = frozenset("abdflmnosuw")
_HOW = (
    "A value, a range ({low} to {high}{unit}), one side of it (more than {high}{unit}), or several "
    "with “;”."
)


@dataclass(frozen=True)
class Understood:
    """A reading that can be taken.

    Attributes
    ----------
    spans : tuple of Span
        In the inside unit.
    said : str
        What was understood, in the unit it was typed in and in the other one.
    short : str
        The same in the typed unit only.
    band : CheckAnswer
        The answer it falls on.
    """

    spans: tuple[Span, ...]
    said: str
    short: str
    band: CheckAnswer


@dataclass(frozen=True)
class Refused:
    """A text that is no reading, or none that can be right.

    Attributes
    ----------
    why, next_step : str
        Sentences.
    guess : str
        The text as it was probably meant; empty if nobody knows.
    """

    why: str
    next_step: str
    guess: str = ""


def begins_no_reading(letter: str) -> bool:
    """Whether a key is a letter that no reading begins with, in an empty field."""
    return letter.isalpha() and letter.lower() not in _BEGINNINGS


def understand(base: KnowledgeBase, check: Check, typed: str) -> Understood | Refused:
    """Read what stands in the gauge field of a check.

    Parameters
    ----------
    base : KnowledgeBase
    check : Check
        One with a gauge.
    typed : str
        Not empty.

    Returns
    -------
    Understood or Refused
    """
    measurement = measurement_of(base, check)
    try:
        spans = read_gauge(measurement, typed)
        answer = answer_for_reading(base, check, typed)
    except ReadingError as error:
        return Refused(error.sentence, error.next_step, _meant(measurement, typed))
    said = said_as_typed(measurement, typed)
    if len(spans) > 1:
        mean = sum(span.middle for span in spans) / len(spans)
        said += f"; their mean is {_number(mean, unit_typed(measurement, typed), exact=False)}"
    return Understood(spans, said, short_as_typed(measurement, typed), answer)


def how_to_write(measurement: Measurement) -> str:
    """Say how a reading may be typed, with numbers that could be read here."""
    _, most = plausible_range(measurement)
    number = in_unit(most, measurement.unit)
    low, high = (f"{float(f'{share * number:.1g}'):g}" for share in (0.25, 0.5))
    unit = f" {measurement.unit}".rstrip()
    return _HOW.format(low=low, high=high, unit=unit)


def said_as_typed(measurement: Measurement, typed: str) -> str:
    """Say a reading in the unit it was typed in and in the other one.

    Raises
    ------
    ReadingError
        If it is none.
    """
    return "; ".join(
        f"{here} = {there}" if there else here for here, there in _told(measurement, typed)
    )


def short_as_typed(measurement: Measurement, typed: str) -> str:
    """Say a reading in the unit it was typed in.

    Raises
    ------
    ReadingError
        If it is none.
    """
    return "; ".join(here for here, _ in _told(measurement, typed))


def unit_typed(measurement: Measurement, text: str) -> str:
    """Give the unit of a reading: the one written with its last value, or the measurement's own."""
    return unit_written(text) or measurement.unit


def unit_written(text: str) -> str:
    """Give the unit that is written with the last value of a text; empty if none is."""
    last = _last_value(text, "")
    return "" if last is None else last.unit


def _last_value(text: str, default_unit: str) -> Quantity | None:
    """The quantity that a text ends with; None if it ends with none."""
    for digit in re.finditer(r"\d", text):
        try:
            return parse_quantity(text[digit.start() :], default_unit=default_unit)
        except QuantityError:
            continue
    return None


def _meant(measurement: Measurement, typed: str) -> str:
    """The text with every doubtful value in the unit it was probably meant in."""
    text = typed
    for _ in range(2 * MOST_REPEATS):  # a range has two values
        try:
            read_gauge(measurement, text)
        except ReadingError as error:
            if not error.guess:
                return ""
            text = text.replace(error.doubted, error.guess, 1)
        else:
            return text if text != typed else ""
    return ""


def _told(measurement: Measurement, typed: str) -> list[tuple[str, str]]:
    """Each reading in the unit it was typed in, and in the other one if there is one."""
    told = []
    parts = [part for part in typed.split(";") if part.strip()]
    for span, part in zip(read_gauge(measurement, typed), parts, strict=True):
        unit = unit_typed(measurement, part)
        last = _last_value(part, measurement.unit)
        as_typed = last is not None and last.value in {abs(span.low), abs(span.high)}
        here = _in_words(span, unit, exact=as_typed)
        if not as_typed:  # a zero or a word, that stands for as little as can be read
            number = last and _number(last.value, unit, exact=True)
            here = f"{number or part.strip()}: {here}"
        other = _OTHER.get(unit, "" if unit == measurement.unit else measurement.unit)
        told.append((here, _ends(span, other, exact=False) if other else ""))
    return told


def _in_words(span: Span, unit: str, *, exact: bool) -> str:
    ends = _ends(span, unit, exact=exact)
    if span.high == inf:
        return f"more than {ends}"
    return f"at most {ends}" if span.low == -inf else ends


def _ends(span: Span, unit: str, *, exact: bool) -> str:
    """The ends of a reading that are known."""
    if span.low in {-inf, span.high}:
        return _number(span.high, unit, exact=exact)
    if span.high == inf:
        return _number(span.low, unit, exact=exact)
    low = _number(span.low, unit, exact=exact).removesuffix(f" {unit}")
    return f"{low} to {_number(span.high, unit, exact=exact)}"


def _number(value: float, unit: str, *, exact: bool) -> str:
    """Say a value in a unit: as typed, inches as on a tape; or with three figures."""
    number = in_unit(value, unit)
    on_tape = mixed(number) if exact and unit == "in" else ""
    return f"{on_tape or f'{number:.6g}' if exact else f'{number:.3g}'} {unit}".strip()
