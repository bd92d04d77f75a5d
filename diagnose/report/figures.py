"""Every reading of a case against what no fault and the leading causes predict."""

from collections.abc import Sequence

from diagnose.assess import Assessment
from diagnose.case import NO_EVIDENCE, Entry
from diagnose.effects import Law
from diagnose.forecasts import Forecast, forecasts, verdicts
from diagnose.gauge import Span
from diagnose.readings import instrument_uncertainty, mean_read, spans_of, take_readings
from diagnose.report.record import Figure, Foretold
from diagnose.report.told import AFTER_PENDING, AGAIN, reading_words
from knowledge.model import Check, Measurement

# A reading fits while more than this share of readings would lie farther from the middle; the band
# of 9 in 10 ends between the two. The screens draw the same lines; a test holds both together.
FITS, AT_THE_EDGE = 0.2, 0.05
FIT_WORDS = ("fits", "at the edge", "does not fit")
LEADING = 5
_ROWS = 3  # so many states beside the healthy one are shown if there are as many
_LEAST = 0.005  # less than 1 in 100, as the counts say it
_STALE = "Taken before work that may have changed it: it no longer counts."
_BY_BAND = "Nothing predicts this reading here: it counts by the band it falls in."


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
    base = assessment.network.base
    found = []
    for i, entry in enumerate(assessment.case.entries):
        check = base.checks.get(entry.check or "")
        if check is None or check.gauge is None or entry.answer in NO_EVIDENCE:
            continue
        record = base.measurements[check.gauge]
        spans = spans_of(record, check, entry)
        if spans:
            found.append(_figure(assessment, i, check, record, spans))
    return tuple(found)


def _figure(
    assessment: Assessment, place: int, check: Check, record: Measurement, spans: tuple[Span, ...]
) -> Figure:
    base, entry = assessment.network.base, assessment.case.entries[place]
    counts_here = place in {taken.entry for taken in assessment.situation.measured.taken}
    usual = next(iter(record.instruments))
    foretold, alone = _foretold(assessment, record, entry, spans) if counts_here else ((), ())
    answer = next((a.text for a in check.answers if a.id == entry.answer), entry.answer)
    return Figure(
        place + 1,
        record,
        reading_words(base, entry) or answer,
        record.instruments[entry.instrument or usual].name,
        spans,
        _uncertainty(record, entry, spans),
        foretold,
        alone,
        verdicts(record, assessment.case.facts, spans, entry.instrument) if entry.reading else (),
        "" if counts_here else _why_not(assessment, place, check),
    )


def _uncertainty(record: Measurement, entry: Entry, spans: Sequence[Span]) -> float:
    own = instrument_uncertainty(record, entry.instrument)
    values = [span.low for span in spans if span.low == span.high]
    return mean_read(values, own)[1] if len(values) > 1 else own


def _foretold(
    assessment: Assessment, record: Measurement, entry: Entry, spans: Sequence[Span]
) -> tuple[tuple[Foretold, ...], tuple[str, ...]]:
    """What is predicted, and which leading causes leave the reading alone.

    Of the leading causes those are shown that move the reading; where they are few, the next
    likely ones that move it as well. Causes that predict just the same share a row.
    """
    healthy, *causes = forecasts(
        assessment, record.id, instrument=entry.instrument, top=len(assessment.causes)
    )
    leading = causes[:LEADING]
    rows: dict[tuple[Law, ...], list[Forecast]] = {}
    for cause in causes:
        likely = cause.p >= _LEAST and (cause.laws in rows or len(rows) < _ROWS)
        if cause.moved and (cause in leading or likely):
            rows.setdefault(cause.laws, []).append(cause)
    shown = [(healthy, ()), *((f, tuple(c.name for c in same)) for f, *same in rows.values())]
    return (
        tuple(Foretold(forecast, others, fit_word(forecast, spans)) for forecast, others in shown),
        tuple(cause.name for cause in leading if not cause.moved),
    )


def fit_word(forecast: Forecast, spans: Sequence[Span]) -> str:
    """Say how readings go with a forecast."""
    fit = forecast.fit(spans)
    return FIT_WORDS[0] if fit >= FITS else FIT_WORDS[1] if fit >= AT_THE_EDGE else FIT_WORDS[2]


def _why_not(assessment: Assessment, place: int, check: Check) -> str:
    situation = assessment.situation
    pending = [done for done, _ in situation.pending]
    numbers = take_readings(situation.measured.effects, assessment.case)
    if place in {taken.entry for taken in numbers}:
        return AFTER_PENDING if any(done < place for done in pending) else _STALE
    seen = {f for f in check.reads() if f in situation.observed}
    held = {f for f in seen if situation.observed[f].entry == place}
    return AGAIN if held & situation.stale else _BY_BAND
