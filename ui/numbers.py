"""All readings of a case, measured against predicted; Qt-free."""

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.assess import Assessment
from diagnose.comparison import (
    FIT_WORDS,
    LEADING,
    ReadEntry,
    counting,
    fit_word,
    read_entries,
    why_no_number,
)
from diagnose.forecasts import HEALTHY, forecasts
from diagnose.sentences import counts
from ui.chart import Chart
from ui.gauge_entry import said_as_typed, short_as_typed
from ui.predictions import Foreseen, chart_for, foresee, verdict_lines
from ui.questions import answered


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


def measured(assessment: Assessment) -> tuple[Measured, ...]:
    """List what was read so far, the latest first.

    Parameters
    ----------
    assessment : Assessment

    Returns
    -------
    tuple of Measured
    """
    counted = counting(assessment)
    return tuple(
        _measured(assessment, read, counts_=read.place in counted)
        for read in reversed(read_entries(assessment))
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
    counted = counting(assessment)
    readings = [read for read in read_entries(assessment) if read.place in counted]
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


def _measured(assessment: Assessment, read: ReadEntry, *, counts_: bool) -> Measured:
    record, told = read.record, read.told
    case, base = assessment.case, assessment.network.base
    foreseen = foresee(assessment, record.id, told.instrument)
    in_both = said_as_typed(record, told.reading) if told.reading else ""
    short = short_as_typed(record, told.reading) if told.reading else ""
    plain = told.model_copy(update={"reading": in_both})
    return Measured(
        record.name,
        answered(base, plain),
        "" if counts_ else why_no_number(assessment, read),
        foreseen,
        chart_for(foreseen, read.spans, short, case) if counts_ else None,
        verdict_lines(record, case, read.spans, told.instrument),
    )


def _tally(words: Sequence[tuple[str, str]]) -> str:
    """Say how many readings fit, and name those that do not."""
    fit, edge, apart = ([name for name, word in words if word == w] for w in FIT_WORDS)
    parts = [f"fits all {len(words)}" if len(words) > 1 else "fits"]
    if len(fit) < len(words):
        parts = [f"fits {len(fit)} of {len(words)}"] if len(words) > 1 else []
    parts += [f"{FIT_WORDS[1]}: {', '.join(edge)}"] if edge else []
    parts += [f"{FIT_WORDS[2]}: {', '.join(apart)}"] if apart else []
    return "; ".join(parts)
