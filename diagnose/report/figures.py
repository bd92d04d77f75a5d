"""Every reading of a case against what no fault and the leading causes predict."""

from collections.abc import Sequence

from diagnose.assess import Assessment
from diagnose.case import Entry
from diagnose.comparison import (
    ReadEntry,
    counting,
    fit_word,
    read_entries,
    shown_against,
    why_no_number,
)
from diagnose.forecasts import reading_words, verdicts
from diagnose.gauge import Span
from diagnose.readings import instrument_uncertainty, mean_read
from diagnose.report.record import Figure, Foretold
from knowledge.model import Measurement


def figures(assessment: Assessment) -> tuple[Figure, ...]:
    """List what was read, in order of the timeline.

    Parameters
    ----------
    assessment : Assessment

    Returns
    -------
    tuple of Figure
        One for each entry with a reading, or with a band that was chosen without a number.
    """
    counted = counting(assessment)
    return tuple(
        _figure(assessment, read, counts_here=read.place in counted)
        for read in read_entries(assessment)
    )


def _figure(assessment: Assessment, read: ReadEntry, *, counts_here: bool) -> Figure:
    record, entry, spans = read.record, read.told, read.spans
    usual = next(iter(record.instruments))
    foretold, alone = _foretold(assessment, read) if counts_here else ((), ())
    answer = next((a.text for a in read.check.answers if a.id == entry.answer), entry.answer)
    return Figure(
        read.place + 1,
        record,
        reading_words(assessment.network.base, entry) or answer,
        record.instruments[entry.instrument or usual].name,
        spans,
        _uncertainty(record, entry, spans),
        foretold,
        alone,
        verdicts(record, assessment.case.facts, spans, entry.instrument) if entry.reading else (),
        "" if counts_here else why_no_number(assessment, read),
    )


def _uncertainty(record: Measurement, entry: Entry, spans: Sequence[Span]) -> float:
    own = instrument_uncertainty(record, entry.instrument)
    values = [span.low for span in spans if span.low == span.high]
    return mean_read(values, own)[1] if len(values) > 1 else own


def _foretold(
    assessment: Assessment, read: ReadEntry
) -> tuple[tuple[Foretold, ...], tuple[str, ...]]:
    """What is predicted, and which leading causes leave the reading alone."""
    shown, alone = shown_against(assessment, read.record.id, read.told.instrument)
    words = (fit_word(row.forecast, read.spans) for row in shown)
    return tuple(Foretold(*row, word) for row, word in zip(shown, words, strict=True)), alone
