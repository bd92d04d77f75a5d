"""What a gauge should show, made ready to be seen: bands, how a reading fits, limits; Qt-free."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from types import MappingProxyType

from diagnose.assess import Assessment
from diagnose.case import Case
from diagnose.comparison import (
    BY_BAND,
    LEADING,
    Alike,
    band_words,
    chance_note,
    fit_word,
    limit_ends,
    shown_against,
)
from diagnose.forecasts import predicted, spoken, verdicts
from diagnose.gauge import Span, plausible_range
from diagnose.kit_sheet import SHEET_NAMES, name_of, plays_part
from diagnose.limit_lines import limit_lines
from diagnose.physics.predict import predict
from diagnose.physics.release_system import ReleaseSystem
from diagnose.physics.uncertainty import nearly_all
from diagnose.readings import instrument_uncertainty
from diagnose.system import arrangement, figure_of, untold, with_sheet
from knowledge.model import Measurement
from knowledge.quantity import in_unit
from knowledge.release import OBSERVABLE_UNITS
from ui.chart import Band, Chart, Mark, Weight, chart_of

_WEIGHTS: Mapping[str, Weight] = MappingProxyType(
    {"fits": "full", "at the edge": "light", "does not fit": "bare", "": "light"}
)
_NARROWER = 0.6  # the kit's figure is asked for where it makes the band so much narrower

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

    Which causes are shown is settled in `diagnose.comparison.shown_against`.

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
    shown, alone = shown_against(assessment, measurement, instrument)
    return Foreseen(record, shown, alone, hint=_kit_hint(assessment.case, record, instrument))


def _why_not(assessment: Assessment, record: Measurement) -> str:
    facts, base = assessment.case.facts, assessment.network.base
    open_facts = untold(facts) if record.model else ()
    if not open_facts:
        return BY_BAND
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
    return chart_of(
        record.unit,
        bands,
        within=(in_unit(within[0], record.unit), in_unit(within[1], record.unit)),
        marks=[Mark(in_unit(s.low, record.unit), in_unit(s.high, record.unit)) for s in spans],
        reading=reading,
        edges=limit_ends(record, verdicts(record, case.facts, some, None)),
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
    return Band(
        forecast.name, chance_note(*alike), low, middle, high, said, fit, _WEIGHTS[fit], other
    )


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
    return limit_lines(verdicts(record, case.facts, spans, instrument), few=False, sources=True)


def few_verdict_lines(
    record: Measurement, case: Case, spans: Sequence[Span], instrument: str | None
) -> tuple[str, ...]:
    """Say the same in a few lines: the limits that are least sure, and how the others stand."""
    return limit_lines(verdicts(record, case.facts, spans, instrument), few=True, sources=True)
