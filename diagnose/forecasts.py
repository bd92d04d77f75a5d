"""What a gauge would show under each leading cause, and what a reading says about its limits.

These are the numbers beside a gauge field: the same predictions that the inference weighs, put as
the band that holds nine of ten readings.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import floor, hypot, inf, log10

from diagnose.assess import Assessment
from diagnose.case import Entry
from diagnose.effects import Effects, Law
from diagnose.gauge import Span, plausible_range
from diagnose.physics.normal import cdf
from diagnose.physics.uncertainty import conformity, nearly_all
from diagnose.readings import instrument_uncertainty, mean_read
from knowledge.model import KnowledgeBase, Limit, Measurement, Needs
from knowledge.quantity import in_unit, on_tape

HEALTHY = ""

_TAPE = 0.25  # in; below it a tape is no good
_SIXTEENTHS = 16
_NOTHING = 1e-4


@dataclass(frozen=True)
class Forecast:
    """What one cause alone makes a gauge show.

    Attributes
    ----------
    cause : str
        Cause id; `HEALTHY` for a vehicle without a fault.
    name : str
    p : float
        Chance of the cause (0 for the healthy vehicle).
    low, middle, high : float
        The middle, and the band that holds 9 of 10 readings with this instrument where the cause
        has moved it; inside unit.
    chance : float
        How often the cause moves this reading; 0 if it leaves it alone.
    laws : tuple of Law
        All that the reading may follow, with this instrument.
    """

    cause: str
    name: str
    p: float
    low: float
    middle: float
    high: float
    chance: float
    laws: tuple[Law, ...]

    @property
    def moved(self) -> bool:
        """Whether the cause moves this reading at all."""
        return self.chance > 0.0

    def fit(self, spans: Sequence[Span]) -> float:
        """Chance of a reading at least as far from the middle as this one; 1 is right on it.

        Of several readings their mean counts; of a range the end nearer to the middle.
        """
        fits = 0.0
        for law in self.laws:
            value = sum(_nearest(span, law.mean) for span in spans) / len(spans)
            fits += law.weight * 2.0 * float(cdf(-abs(value - law.mean) / law.deviation))
        return fits


def _nearest(span: Span, middle: float) -> float:
    return min(max(middle, span.low), span.high)


@dataclass(frozen=True)
class Verdict:
    """How surely a reading keeps one limit."""

    limit: Limit
    conformity: float


def predicted(assessment: Assessment, measurement: str) -> bool:
    """Whether the set-up is known well enough to predict a measurement."""
    record = assessment.network.base.measurements[measurement]
    return assessment.situation.measured.effects.axis_of(record) is not None


def forecasts(
    assessment: Assessment,
    measurement: str,
    *,
    instrument: str | None = None,
    causes: Iterable[str] | None = None,
    top: int = 5,
) -> tuple[Forecast, ...]:
    """Say what the healthy vehicle and single causes would show on a gauge.

    Parameters
    ----------
    assessment : Assessment
    measurement : str
        Id of a measurement.
    instrument : str, optional
        What it is read with; what is usually taken if left out.
    causes : iterable of str, optional
        These causes; the likeliest ones that the set-up allows if left out.
    top : int
        So many of the likeliest.

    Returns
    -------
    tuple of Forecast
        The healthy vehicle first; empty if nothing predicts this measurement.
    """
    effects = assessment.situation.measured.effects
    record = assessment.network.base.measurements[measurement]
    axis = effects.axis_of(record)
    if axis is None:
        return ()
    chosen = (
        [assessment.cause(name) for name in causes]
        if causes is not None
        else list(assessment.causes[:top])
    )
    uncertainty = instrument_uncertainty(record, instrument)
    told = [_forecast(effects, axis, uncertainty, c.id, c.name, c.p) for c in chosen]
    return (_forecast(effects, axis, uncertainty, HEALTHY, "no fault", 0.0), *told)


def _forecast(
    effects: Effects, axis: str, uncertainty: float, cause: str, name: str, p: float
) -> Forecast:
    index = effects.network.cause_index
    numbers = effects.effects_of((index[cause],)) if cause != HEALTHY else ()
    laws = tuple(
        law._replace(deviation=hypot(law.deviation, uncertainty))
        for law in effects.laws(axis, numbers)
    )
    moving = any(effects.moves[axis][number] for number in numbers)
    first = laws[0]  # where the cause has moved it
    low, high = nearly_all(first.mean, first.deviation)
    return Forecast(
        cause,
        name,
        p,
        low,
        first.mean,
        high,
        first.weight if moving else 0.0,
        laws,
    )


def verdicts(
    measurement: Measurement, facts: Needs, spans: Sequence[Span], instrument: str | None
) -> tuple[Verdict, ...]:
    """Hold readings against the limits that are known to hold for a set-up.

    Parameters
    ----------
    measurement : Measurement
    facts : Mapping
    spans : sequence of Span
        Readings of one thing; of several the mean is judged. Only values are held against limits.
    instrument : str or None

    Returns
    -------
    tuple of Verdict
        With the probability that the true value keeps each limit.

    References
    ----------
    JCGM 106:2012, section 7 (R-DECIDE-1).
    """
    values = [span.low for span in spans if span.low == span.high]
    if not values:
        return ()
    mean, uncertainty = mean_read(values, instrument_uncertainty(measurement, instrument))
    found = []
    for limit in measurement.limits:
        if all(facts.get(fact) and set(facts[fact]) <= set(v) for fact, v in limit.when.items()):
            low = -inf if limit.at_least is None else measurement.value(limit.at_least)
            high = inf if limit.at_most is None else measurement.value(limit.at_most)
            found.append(Verdict(limit, conformity(mean, uncertainty, low, high)))
    return tuple(found)


def reading_words(base: KnowledgeBase, entry: Entry) -> str:
    """Give a reading as it was typed, with the unit that was meant where none was written."""
    gauge = base.checks[str(entry.check)].gauge
    if gauge is None or not entry.reading.rstrip()[-1:].isnumeric():
        return entry.reading.strip()
    return f"{entry.reading.strip()} {base.measurements[gauge].unit}".strip()


def spoken(value: float, unit: str, *, decimals: int | None = None) -> str:
    """Say a quantity as it stands on a tape or a dial, in a unit of its kind.

    Inches come in sixteenths from a quarter of an inch on, as on a tape; everything else with two
    or three figures, or with so many decimals.
    """
    number = in_unit(value, unit)
    if unit == "in" and abs(number) >= _TAPE:
        return f"{on_tape(number, _SIXTEENTHS)} in"
    if decimals is None:
        decimals = max(0, 2 - floor(log10(abs(number)))) if abs(number) >= _NOTHING else 0
    text = f"{number:.{min(decimals, 3)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return f"{'0' if text == '-0' else text} {unit}".strip()


def spoken_band(measurement: Measurement, low: float, high: float) -> str:
    """Say a range of readings, no finer than it is wide; what lies below all readings is none."""
    unit = measurement.unit
    least, _ = plausible_range(measurement)
    below = measurement.open_below and low <= least
    if least >= 0.0:  # a law may reach below nothing, no reading does
        low, high = max(low, least), max(high, least)
    ends = [in_unit(end, unit) for end in (low, high)]
    width = ends[1] - ends[0]
    decimals = max(0, 1 - floor(log10(width))) if width > 0.0 else None
    first, last = (spoken(end, unit, decimals=decimals) for end in (low, high))
    if below:
        return f"none to {last}" if high > least else "none"
    if unit == "in" and ends[1] >= _TAPE:
        first = f"{on_tape(ends[0], _SIXTEENTHS)} in"
    return last if first == last else f"{first.removesuffix(f' {unit}')} to {last}"
