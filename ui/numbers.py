"""All readings of a case, measured against predicted; Qt-free."""

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.assess import Assessment
from diagnose.case import NO_EVIDENCE, Entry
from diagnose.forecasts import HEALTHY, forecasts
from diagnose.gauge import Span
from diagnose.readings import spans_of, take_readings
from diagnose.sentences import counts
from knowledge.model import Check, Measurement
from ui.chart import Chart
from ui.gauge_entry import said_as_typed, short_as_typed
from ui.predictions import (
    FIT_WORDS,
    LEADING,
    Foreseen,
    chart_for,
    fit_word,
    foresee,
    verdict_lines,
)
from ui.questions import answered

_STALE = "Taken before work that may have changed it: it no longer counts."
_BY_BAND = "Counts by the band it falls in, not as a number."


@dataclass(frozen=True)
class Measured:
    """One entry with a reading.

    Attributes
    ----------
    name : str
        What was measured.
    said : str
        What was read, with what, and the answer it falls on.
    note : str
        Why it does not count as a number; empty if it does.
    foreseen : Foreseen
    chart : Chart or None
        None where the reading does not count as a number.
    limits : tuple of str
        How surely it keeps each limit.
    """

    name: str
    said: str
    note: str
    foreseen: Foreseen
    chart: Chart | None
    limits: tuple[str, ...]


@dataclass(frozen=True)
class Tally:
    """How all readings together go with no fault or one cause."""

    name: str
    note: str
    words: str


@dataclass(frozen=True)
class _Reading:
    entry: int
    told: Entry
    check: Check
    record: Measurement
    spans: tuple[Span, ...]


def measured(assessment: Assessment) -> tuple[Measured, ...]:
    """List what was read so far, the latest first.

    Parameters
    ----------
    assessment : Assessment

    Returns
    -------
    tuple of Measured
    """
    counting = {taken.entry for taken in assessment.situation.measured.taken}
    return tuple(
        _measured(assessment, reading, counts_=reading.entry in counting)
        for reading in reversed(_readings(assessment))
    )


def tallies(assessment: Assessment) -> tuple[Tally, ...]:
    """Say how the readings that count go with no fault and with each leading cause.

    Parameters
    ----------
    assessment : Assessment

    Returns
    -------
    tuple of Tally
        No fault first, then the likeliest causes; empty if no reading counts as a number.
    """
    counting = {taken.entry for taken in assessment.situation.measured.taken}
    readings = [r for r in _readings(assessment) if r.entry in counting]
    if not readings:
        return ()
    leading = assessment.causes[:LEADING]
    fits: dict[str, list[tuple[str, str]]] = {HEALTHY: [], **{c.id: [] for c in leading}}
    for reading in readings:
        for forecast in forecasts(
            assessment,
            reading.record.id,
            instrument=reading.told.instrument,
            causes=[c.id for c in leading],
        ):
            name = reading.record.name
            fits[forecast.cause].append(
                (name[:1].lower() + name[1:], fit_word(forecast, reading.spans))
            )
    notes = {c.id: (c.name, counts(c.p)) for c in leading}
    return tuple(
        Tally(*notes.get(cause, ("no fault", "")), _tally(words)) for cause, words in fits.items()
    )


def _readings(assessment: Assessment) -> list[_Reading]:
    base = assessment.network.base
    found = []
    for i, entry in enumerate(assessment.case.entries):
        check = base.checks.get(entry.check or "")
        if check is None or check.gauge is None or entry.answer in NO_EVIDENCE:
            continue
        record = base.measurements[check.gauge]
        spans = spans_of(record, check, entry)
        if spans:
            found.append(_Reading(i, entry, check, record, spans))
    return found


def _measured(assessment: Assessment, reading: _Reading, *, counts_: bool) -> Measured:
    record, told = reading.record, reading.told
    case, base = assessment.case, assessment.network.base
    foreseen = foresee(assessment, record.id, told.instrument)
    in_both = said_as_typed(record, told.reading) if told.reading else ""
    short = short_as_typed(record, told.reading) if told.reading else ""
    plain = told.model_copy(update={"reading": in_both})
    return Measured(
        record.name,
        answered(base, plain),
        "" if counts_ else _why_not(assessment, reading),
        foreseen,
        chart_for(foreseen, reading.spans, short, case) if counts_ else None,
        verdict_lines(record, case, reading.spans, told.instrument),
    )


def _why_not(assessment: Assessment, reading: _Reading) -> str:
    situation = assessment.situation
    numbers = take_readings(situation.measured.effects, assessment.case)
    if reading.entry in {taken.entry for taken in numbers}:
        return _STALE
    seen = {f for f in reading.check.reads() if f in situation.observed}
    held = {f for f in seen if situation.observed[f].entry == reading.entry}
    return _STALE if held & situation.stale else _BY_BAND


def _tally(words: Sequence[tuple[str, str]]) -> str:
    """Say how many readings fit, and name those that do not."""
    fit, edge, apart = ([name for name, word in words if word == w] for w in FIT_WORDS)
    parts = [f"fits all {len(words)}" if len(words) > 1 else "fits"]
    if len(fit) < len(words):
        parts = [f"fits {len(fit)} of {len(words)}"] if len(words) > 1 else []
    parts += [f"{FIT_WORDS[1]}: {', '.join(edge)}"] if edge else []
    parts += [f"{FIT_WORDS[2]}: {', '.join(apart)}"] if apart else []
    return "; ".join(parts)
