"""Readings beside what is predicted: which are shown against what, and how they go together.

The screens and the report tell it by these rules, each in its own picture.
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from diagnose.assess import Assessment
from diagnose.case import NO_EVIDENCE, Entry
from diagnose.effects import Law
from diagnose.forecasts import HEALTHY, Forecast, Verdict, forecasts, spoken_band
from diagnose.gauge import Span, plausible_range
from diagnose.readings import spans_of, take_readings
from diagnose.sentences import counts
from knowledge.model import Check, Measurement
from knowledge.quantity import in_unit

# A reading fits while more than this share of readings would lie farther from the middle; the band
# of 9 in 10 ends between the two.
FITS, AT_THE_EDGE = 0.2, 0.05
FIT_WORDS = ("fits", "at the edge", "does not fit")
LEADING = 5
_MOVERS = 3  # so many causes that move the reading are shown if there are as many
_LEAST = 0.005  # less than 1 in 100, as the counts say it

AGAIN = "Seen before work that may have changed it: worth another look."
AFTER_PENDING = (
    "Seen after a repair that nobody has driven with: it tells nothing of the complaint."
)
STALE = "Taken before work that may have changed it: it no longer counts."
BY_BAND = "Nothing predicts this reading here: it counts by the band it falls in."
ALL_BY_BANDS = "Very many answers hang together: it counts by the band it falls in only."


class ReadEntry(NamedTuple):
    """One entry of a case that says what a gauge showed.

    Attributes
    ----------
    place : int
        Of the entry in the timeline, from 0.
    told : Entry
    check : Check
    record : Measurement
    spans : tuple of Span
        What was read, or the band that was chosen without a number; inside unit.
    """

    place: int
    told: Entry
    check: Check
    record: Measurement
    spans: tuple[Span, ...]


class Alike(NamedTuple):
    """One forecast, and the names of further causes that predict just the same."""

    forecast: Forecast
    others: tuple[str, ...] = ()


def read_entries(assessment: Assessment) -> tuple[ReadEntry, ...]:
    """List what was read, in order of the timeline.

    Parameters
    ----------
    assessment : Assessment

    Returns
    -------
    tuple of ReadEntry
        One for each entry with a reading, or with a band that was chosen without a number.
    """
    base = assessment.network.base
    found = []
    for place, entry in enumerate(assessment.case.entries):
        check = base.checks.get(entry.check or "")
        if check is None or check.gauge is None or entry.answer in NO_EVIDENCE:
            continue
        record = base.measurements[check.gauge]
        spans = spans_of(record, check, entry)
        if spans:
            found.append(ReadEntry(place, entry, check, record, spans))
    return tuple(found)


def counting(assessment: Assessment) -> frozenset[int]:
    """Give the places of the entries whose readings count as numbers."""
    return frozenset(taken.entry for taken in assessment.situation.measured.taken)


def why_no_number(assessment: Assessment, read: ReadEntry) -> str:
    """Say why a reading does not count as a number.

    Parameters
    ----------
    assessment : Assessment
    read : ReadEntry
        One whose place is not among `counting`.

    Returns
    -------
    str
        A sentence.
    """
    situation = assessment.situation
    if not assessment.by_bands:
        numbers = take_readings(situation.measured.effects, assessment.case)
        if read.place in {taken.entry for taken in numbers}:
            after = any(done < read.place for done, _ in situation.pending)
            return AFTER_PENDING if after else STALE
    seen = {f for f in read.check.reads() if f in situation.observed}
    held = {f for f in seen if situation.observed[f].entry == read.place}
    if held & situation.stale:
        return AGAIN
    return ALL_BY_BANDS if assessment.by_bands else BY_BAND


def shown_against(
    assessment: Assessment, measurement: str, instrument: str | None
) -> tuple[tuple[Alike, ...], tuple[str, ...]]:
    """Say which predictions a reading is shown against, and what leaves it alone.

    Of the leading causes those are shown that move the reading; where they are few, the next
    likely ones that move it as well. Causes that predict just the same share a row.

    Parameters
    ----------
    assessment : Assessment
    measurement : str
        Id of one that the set-up predicts.
    instrument : str or None
        What it is read with; None for what is usually taken.

    Returns
    -------
    tuple of Alike
        The healthy vehicle first.
    tuple of str
        Names of the leading causes that leave the reading alone.
    """
    healthy, *causes = forecasts(
        assessment, measurement, instrument=instrument, top=len(assessment.causes)
    )
    leading = causes[:LEADING]
    rows: dict[tuple[Law, ...], list[Forecast]] = {}
    for cause in causes:
        likely = cause.p >= _LEAST and (cause.laws in rows or len(rows) < _MOVERS)
        if cause.moved and (cause in leading or likely):
            rows.setdefault(cause.laws, []).append(cause)
    movers = (Alike(first, tuple(c.name for c in same)) for first, *same in rows.values())
    return (Alike(healthy), *movers), tuple(c.name for c in leading if not c.moved)


def fit_word(forecast: Forecast, spans: Sequence[Span]) -> str:
    """Say how readings go with a forecast; empty without any."""
    if not spans:
        return ""
    fit = forecast.fit(spans)
    return FIT_WORDS[0] if fit >= FITS else FIT_WORDS[1] if fit >= AT_THE_EDGE else FIT_WORDS[2]


def band_words(forecast: Forecast, record: Measurement) -> str:
    """Say the band of a forecast, no farther than can be read at all."""
    least, most = plausible_range(record)
    low, high = (min(max(v, least), most) for v in (forecast.low, forecast.high))
    return spoken_band(record, low, high)


def chance_note(forecast: Forecast, others: Sequence[str]) -> str:
    """Say the chance of a cause, how many are like it, and how often it moves the reading.

    Parameters
    ----------
    forecast : Forecast
    others : sequence of str
        Names of further causes that predict just the same.

    Returns
    -------
    str
        Empty for the healthy vehicle.
    """
    if forecast.cause == HEALTHY:
        return ""
    note, n = counts(forecast.p), len(others)
    if n:
        note += f", and {n} other{'s' * (n > 1)} just like it"
    if forecast.chance < 1.0:
        note += f"; moves it in {round(100 * forecast.chance)} of 100 cases"
    return note


def limit_ends(record: Measurement, verdicts: Iterable[Verdict]) -> tuple[float, ...]:
    """Give the ends of limits in order, each once, in the unit of the measurement."""
    texts = [t for v in verdicts for t in (v.limit.at_least, v.limit.at_most) if t is not None]
    return tuple(sorted({in_unit(record.value(text), record.unit) for text in texts}))
