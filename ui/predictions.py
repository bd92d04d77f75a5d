"""What a gauge should show, made ready to be seen: bands, how a reading fits, limits; Qt-free."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf, isfinite, sqrt
from types import MappingProxyType
from typing import NamedTuple

from diagnose.assess import Assessment
from diagnose.case import Case
from diagnose.effects import Law
from diagnose.forecasts import (
    HEALTHY,
    Forecast,
    Verdict,
    forecasts,
    predicted,
    spoken,
    spoken_band,
    verdicts,
)
from diagnose.gauge import Span, plausible_range
from diagnose.kit_sheet import SHEET_NAMES, name_of, plays_part
from diagnose.physics.predict import predict
from diagnose.physics.release_system import ReleaseSystem
from diagnose.physics.uncertainty import nearly_all
from diagnose.readings import instrument_uncertainty
from diagnose.sentences import counts
from diagnose.system import arrangement, figure_of, untold, with_sheet
from knowledge.model import Limit, Measurement
from knowledge.quantity import in_unit, parse_quantity
from knowledge.release import OBSERVABLE_UNITS
from ui.chart import Band, Chart, Mark, Weight, chart_of

# A reading fits while more than this share of readings would lie farther from the middle; the band
# of 9 in 10 ends between the two.
FITS, AT_THE_EDGE = 0.2, 0.05
FIT_WORDS = ("fits", "at the edge", "does not fit")
_WEIGHTS: Mapping[str, Weight] = MappingProxyType(
    {"fits": "full", "at the edge": "light", "does not fit": "bare", "": "light"}
)
LEADING = 5
_MOVERS = 3  # so many causes that move the reading are shown if there are as many
_LEAST = 0.005  # less than 1 in 100, as the counts say it
_NARROWER = 0.6  # the kit's figure is asked for where it makes the band so much narrower
_FEW_LIMITS = 3

_BY_BANDS = "Nothing predicts this reading here: it counts by the band it falls in."
_NO_PREDICTION = (
    "What each cause would make it read can’t be told yet. Answer on the set-up page (Ctrl+I): "
    "{facts}."
)
_KIT_DECIDES = (
    "Kits differ here, so the prediction is good to ± {now} only. Type the kit’s figure “{name}” "
    "on the Kit page (Ctrl+I): then it is good to ± {told}."
)
_ALONE = "As with no fault: {names} of the {n} likeliest."
_ALL_ALONE = "As with no fault: all {n} likeliest. Shown are the next that move it."
_NONE_MOVES = "As with no fault: all {n} likeliest, and whatever else is likely."
_ALIKE = ", and {n} other{s} just like it"
_SOMETIMES = "; moves it in {n} of 100 cases"
_OTHER_LIMITS = "{n} other limits: {kept} kept, {broken} not, and more surely so than these."


class Alike(NamedTuple):
    """One forecast, and the names of further causes that predict just the same."""

    forecast: Forecast
    others: tuple[str, ...] = ()


@dataclass(frozen=True)
class Foreseen:
    """What is predicted for one measurement.

    Attributes
    ----------
    measurement : Measurement
    shown : tuple of Alike
        The healthy vehicle first; empty if nothing is predicted.
    alone : tuple of str
        Names of the leading causes that leave the reading alone.
    why_not : str
        Why nothing is predicted, and what to do about it.
    hint : str
        What would make the prediction sharper.
    """

    measurement: Measurement
    shown: tuple[Alike, ...] = ()
    alone: tuple[str, ...] = ()
    why_not: str = ""
    hint: str = ""


def foresee(assessment: Assessment, measurement: str, instrument: str | None) -> Foreseen:
    """Say what the healthy vehicle and the leading causes would show on a gauge.

    Of the leading causes those are shown that move the reading; where they are few, the next
    likely ones that move it as well. Causes that predict just the same share a row.

    Parameters
    ----------
    assessment : Assessment
    measurement : str
        Its id.
    instrument : str or None
        What it is read with; None for what is usually taken.

    Returns
    -------
    Foreseen
    """
    record = assessment.network.base.measurements[measurement]
    if not predicted(assessment, measurement):
        return Foreseen(record, why_not=_why_not(assessment, record))
    healthy, *causes = forecasts(
        assessment, measurement, instrument=instrument, top=len(assessment.causes)
    )
    leading = causes[:LEADING]
    rows: dict[tuple[Law, ...], list[Forecast]] = {}
    for cause in causes:
        likely = cause.p >= _LEAST and (cause.laws in rows or len(rows) < _MOVERS)
        if cause.moved and (cause in leading or likely):
            rows.setdefault(cause.laws, []).append(cause)
    return Foreseen(
        record,
        (
            Alike(healthy),
            *(Alike(first, tuple(c.name for c in same)) for first, *same in rows.values()),
        ),
        tuple(c.name for c in leading if not c.moved),
        hint=_kit_hint(assessment.case, record, instrument),
    )


def _why_not(assessment: Assessment, record: Measurement) -> str:
    facts, base = assessment.case.facts, assessment.network.base
    open_facts = untold(facts) if record.model else ()
    if not open_facts:
        return _BY_BANDS
    names = ", ".join(base.facts[fact].name.lower() for fact in open_facts)
    return _NO_PREDICTION.format(facts=names)


def _kit_hint(case: Case, record: Measurement, instrument: str | None) -> str:
    """Say how much sharper the prediction would be with the kit's own figure; empty if it is."""
    figure = record.model
    plain = arrangement(case.setup, case.facts)
    if plain is None or figure not in SHEET_NAMES or figure in case.kit:
        return ""
    if not plays_part(plain, figure):
        return ""
    now = with_sheet(plain, case.kit)
    typed = f"{figure_of(now, figure).nominal!r} {OBSERVABLE_UNITS[figure]}".strip()
    told = with_sheet(plain, {**case.kit, figure: typed})
    half, half_told = (_half_band(system, record, instrument) for system in (now, told))
    if half_told > _NARROWER * half:
        return ""
    return _KIT_DECIDES.format(
        now=spoken(half, record.unit), name=name_of(figure), told=spoken(half_told, record.unit)
    )


def _half_band(system: ReleaseSystem, record: Measurement, instrument: str | None) -> float:
    scatter = float(predict(system, (record.model,)).covariance[0, 0, 0])
    uncertainty = instrument_uncertainty(record, instrument)
    return nearly_all(0.0, sqrt(scatter + uncertainty**2))[1]


def fit_word(forecast: Forecast, spans: Sequence[Span]) -> str:
    """Say how readings go with a forecast; empty without any."""
    if not spans:
        return ""
    fit = forecast.fit(spans)
    return FIT_WORDS[0] if fit >= FITS else FIT_WORDS[1] if fit >= AT_THE_EDGE else FIT_WORDS[2]


def chart_for(foreseen: Foreseen, spans: Sequence[Span], reading: str, case: Case) -> Chart:
    """Draw up the chart of what is predicted, with readings and the limits that hold.

    Parameters
    ----------
    foreseen : Foreseen
        With something predicted.
    spans : sequence of Span
        Readings, in the inside unit; may be empty.
    reading : str
        The same in words.
    case : Case

    Returns
    -------
    Chart
    """
    record = foreseen.measurement
    within = plausible_range(record)
    bands = [_band(record, alike, spans) for alike in foreseen.shown]
    some = [Span(within[0], within[0])]  # any value tells which limits hold
    edges = [e for v in verdicts(record, case.facts, some, None) for e in _ends(record, v.limit)]
    return chart_of(
        record.unit,
        bands,
        within=(in_unit(within[0], record.unit), in_unit(within[1], record.unit)),
        marks=[Mark(in_unit(s.low, record.unit), in_unit(s.high, record.unit)) for s in spans],
        reading=reading,
        edges=[in_unit(edge, record.unit) for edge in edges if isfinite(edge)],
    )


def _band(record: Measurement, alike: Alike, spans: Sequence[Span]) -> Band:
    forecast = alike.forecast
    low, middle, high = (
        in_unit(v, record.unit) for v in (forecast.low, forecast.middle, forecast.high)
    )
    other = None
    if 0.0 < forecast.chance < 1.0:
        still = forecast.laws[-1]  # where the cause has not moved it
        low_still, high_still = nearly_all(still.mean, still.deviation)
        other = (in_unit(low_still, record.unit), in_unit(high_still, record.unit))
    fit = fit_word(forecast, spans)
    said = band_words(forecast, record)
    return Band(forecast.name, _note(alike), low, middle, high, said, fit, _WEIGHTS[fit], other)


def _note(alike: Alike) -> str:
    """Say the chance of a cause, how many are like it, and how often it moves the reading."""
    forecast, n = alike.forecast, len(alike.others)
    if forecast.cause == HEALTHY:
        return ""
    note = counts(forecast.p)
    if n:
        note += _ALIKE.format(n=n, s="s" * (n > 1))
    if forecast.chance < 1.0:
        note += _SOMETIMES.format(n=round(100 * forecast.chance))
    return note


def band_words(forecast: Forecast, record: Measurement) -> str:
    """Say the band of a forecast, no farther than can be read at all."""
    least, most = plausible_range(record)
    low, high = (min(max(v, least), most) for v in (forecast.low, forecast.high))
    return spoken_band(record, low, high)


def alone_words(foreseen: Foreseen) -> str:
    """Say which of the leading causes leave the reading alone; empty if none does."""
    if not foreseen.alone:
        return ""
    if len(foreseen.alone) == LEADING:
        return (_ALL_ALONE if len(foreseen.shown) > 1 else _NONE_MOVES).format(n=LEADING)
    first, *others = foreseen.alone
    more = f" and {len(others)} other{'s' * (len(others) > 1)}" if others else ""
    return _ALONE.format(names=f"“{first[:1].upper()}{first[1:]}”{more}", n=LEADING)


def verdict_lines(
    record: Measurement, case: Case, spans: Sequence[Span], instrument: str | None
) -> tuple[str, ...]:
    """Say for each limit how surely a reading keeps it or not, with the limit's source.

    Parameters
    ----------
    record : Measurement
    case : Case
        Its facts say which limits hold.
    spans : sequence of Span
    instrument : str or None

    Returns
    -------
    tuple of str
        The least sure first; empty unless the reading is a value.
    """
    found = sorted(verdicts(record, case.facts, spans, instrument), key=_doubt)
    return tuple(_verdict_line(verdict) for verdict in found)


def few_verdict_lines(
    record: Measurement, case: Case, spans: Sequence[Span], instrument: str | None
) -> tuple[str, ...]:
    """Say the same in a few lines: the limits that are least sure, and how the others stand."""
    found = sorted(verdicts(record, case.facts, spans, instrument), key=_doubt)
    if len(found) <= _FEW_LIMITS:
        return tuple(_verdict_line(verdict) for verdict in found)
    lines = [_verdict_line(verdict) for verdict in found[: _FEW_LIMITS - 1]]
    others = found[_FEW_LIMITS - 1 :]
    kept = sum(verdict.conformity >= 0.5 for verdict in others)
    lines.append(_OTHER_LIMITS.format(n=len(others), kept=kept, broken=len(others) - kept))
    return tuple(lines)


def _doubt(verdict: Verdict) -> float:
    return round(abs(verdict.conformity - 0.5), 9)


def _verdict_line(verdict: Verdict) -> str:
    limit, p = verdict.limit, verdict.conformity
    kept = p >= 0.5
    sure = counts(p if kept else 1.0 - p)
    sources = ", ".join(limit.source)
    return f"{_edges_words(limit, kept=kept)} ({limit.name}): {sure} sure. [{sources}]"


def _edges_words(limit: Limit, *, kept: bool) -> str:
    low, high = limit.at_least, limit.at_most
    if low is None:
        return f"{'Not above' if kept else 'Above'} {high}"
    if high is None:
        return f"{'Not below' if kept else 'Below'} {low}"
    unit = parse_quantity(high).unit
    return f"{'Within' if kept else 'Outside'} {low.removesuffix(unit).strip()} to {high}"


def _ends(record: Measurement, limit: Limit) -> Iterable[float]:
    yield -inf if limit.at_least is None else record.value(limit.at_least)
    yield inf if limit.at_most is None else record.value(limit.at_most)
