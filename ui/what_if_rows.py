"""What follows from chosen causes, made ready to be seen: rows of bars and of strips; Qt-free."""

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.forecasts import spoken_band
from diagnose.gauge import plausible_range
from diagnose.sentences import chance_words
from diagnose.sliders import Slider
from diagnose.what_if import Chance, Reading
from knowledge.model import Measurement
from knowledge.quantity import in_unit, on_tape

_CHANGED = 0.005  # less than 1 in 100, as the counts say it
_MOVED = 0.02  # of the healthy law's deviation, as the inference has it
_PAD = 0.06  # of a strip's axis, beyond the outermost band
_MM_PER_INCH = 25.4
_TAPE = 16


@dataclass(frozen=True)
class Strip:
    """One row: a name, a drawing on an axis from 0 to 1, and what it says.

    Attributes
    ----------
    name : str
    said : str
        The present state.
    usual : str
        The vehicle without a fault.
    band, usual_band : tuple of float
        Low end, middle and high end; of a chance the low end is 0 and the middle the high end.
    changed : bool
        Whether it differs from the vehicle without a fault.
    is_chance : bool
        Whether it is drawn as a bar from 0 with a mark, and not as two bands.
    note : str
        How often it is so, where it is so in some cases only.
    """

    name: str
    said: str
    usual: str
    band: tuple[float, float, float]
    usual_band: tuple[float, float, float]
    changed: bool
    is_chance: bool
    note: str = ""

    def spoken(self) -> str:
        """Give the row as a screen reader says it."""
        parts = (self.name, self.said, self.note, f"without a fault {self.usual}")
        return ", ".join(part for part in parts if part)


def hundred(p: float) -> str:
    """Give a chance as a count in little room."""
    count = round(100 * p)
    return ">99 in 100" if count >= 100 else f"{count} in 100" if count else "<1 in 100"


def chance_strips(chances: Sequence[Chance]) -> tuple[Strip, ...]:
    """Give rows for chances, those that rise most first.

    Parameters
    ----------
    chances : sequence of Chance

    Returns
    -------
    tuple of Strip
    """
    ranked = sorted(chances, key=lambda c: -round(c.p - c.healthy, 9))
    return tuple(
        Strip(
            chance.name,
            f"{hundred(chance.p)}, {chance_words(chance.p)}",
            hundred(chance.healthy),
            (0.0, chance.p, chance.p),
            (0.0, chance.healthy, chance.healthy),
            changed=abs(chance.p - chance.healthy) >= _CHANGED,
            is_chance=True,
        )
        for chance in ranked
    )


def reading_strips(readings: Sequence[Reading]) -> tuple[Strip, ...]:
    """Give rows for readings, those that move most first.

    Parameters
    ----------
    readings : sequence of Reading

    Returns
    -------
    tuple of Strip
    """
    ranked = sorted(readings, key=lambda r: -round(abs(r.moved), 6) if _moved(r) else 0.0)
    return tuple(_reading_strip(reading) for reading in ranked)


def _moved(reading: Reading) -> bool:
    if abs(reading.moved) > _MOVED:
        return True
    one, other = reading.laws[0].deviation, reading.healthy[0].deviation
    return abs(one - other) > _MOVED * other


def _reading_strip(reading: Reading) -> Strip:
    record = reading.measurement
    band, usual = (_within(record, b) for b in (reading.band, reading.healthy_band))
    low, high = min(band[0], usual[0]), max(band[2], usual[2])
    pad = _PAD * (high - low) or 1.0
    low, high = low - pad, high + pad

    def at(ends: tuple[float, float, float]) -> tuple[float, float, float]:
        first, middle, last = ((value - low) / (high - low) for value in ends)
        return first, middle, last

    often = reading.laws[0].weight
    note = f"in {round(100 * often)} of 100 cases" if often < 1.0 else ""
    return Strip(
        record.name,
        spoken_band(record, band[0], band[2]),
        spoken_band(record, usual[0], usual[2]),
        at(band),
        at(usual),
        changed=_moved(reading),
        is_chance=False,
        note=note,
    )


def _within(record: Measurement, ends: tuple[float, float, float]) -> tuple[float, float, float]:
    """Cut a band at what can be read at all."""
    least, most = plausible_range(record)
    low, middle, high = (min(max(value, least), most) for value in ends)
    return low, middle, high


def slid_words(slider: Slider, amount: float) -> str:
    """Say how far something is slid, in its unit and, of a length, on a tape."""
    if not amount:
        return "as designed"
    digits = 2 if slider.step < 0.1 or slider.unit == "cm³" else 1
    said = f"{amount:+.{digits}f} {slider.unit}".replace("-", "−")
    if slider.unit == "mm" and abs(amount) >= _MM_PER_INCH / 8:
        said += f" ({on_tape(in_unit(abs(amount), 'in'), _TAPE)} in)"
    return said
