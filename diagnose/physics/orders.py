"""Which part turns at a frequency: orders of engine, input shaft, propshaft and wheels.

A four-stroke engine fires cylinders/2 times a turn of the crankshaft (R-RATTLE-1). The bands tell
what a frequency is felt as; they overlap, and a frequency may lie in two of them or in none.

References
----------
Take-up judder 5 to 20 Hz: Applied Sciences 2019, 9(20), 4287 (R-JUDDER-1). Neighbouring bands:
Rahnejat et al. 2014, Encyclopedia of Automotive Engineering (R-NVH-1).
"""

from collections.abc import Sequence
from math import hypot
from typing import NamedTuple

from diagnose.physics.domain import require_not_negative, require_positive


class Turning(NamedTuple):
    """Something that happens a number of times a turn of a part.

    Attributes
    ----------
    id : str
    part : str
        In words.
    frequency : float
        Hz.
    """

    id: str
    part: str
    frequency: float


class Match(NamedTuple):
    """How near a part comes to a frequency.

    Attributes
    ----------
    turning : Turning
    difference : float
        Frequency that was read less that of the part, Hz.
    doubt : float
        Standard uncertainty of the difference, Hz.
    """

    turning: Turning
    difference: float
    doubt: float

    @property
    def fits(self) -> bool:
        """Whether the difference lies within twice its standard uncertainty."""
        return abs(self.difference) <= 2.0 * self.doubt


class Band(NamedTuple):
    """Frequencies that are felt as one thing.

    Attributes
    ----------
    id : str
    name : str
        In words.
    low, high : float
        Hz.
    source : str
    """

    id: str
    name: str
    low: float
    high: float
    source: str


BANDS = (
    Band("shuffle", "shuffle: the driveline swings to and fro", 2.0, 8.0, "R-NVH-1"),
    Band("judder", "judder at take-up, felt fore and aft", 5.0, 20.0, "R-JUDDER-1"),
    Band("whoop", "clutch whoop, felt in the pedal", 150.0, 250.0, "R-NVH-1"),
    Band("axle_whine", "axle whine", 300.0, 1000.0, "R-NVH-1"),
)


def hertz(speed: float) -> float:
    """Turns per second of a speed in 1/min."""
    return speed / 60.0


def firing_order(cylinders: int) -> float:
    """Firings of a four-stroke engine for each turn of the crankshaft."""
    if cylinders < 1:
        message = f"an engine has at least 1 cylinder, not {cylinders}"
        raise ValueError(message)
    return cylinders / 2.0


def turning_parts(
    engine_speed: float,
    *,
    cylinders: int | None = None,
    shaft_speed: float | None = None,
    gear_ratio: float | None = None,
    axle_ratio: float | None = None,
) -> tuple[Turning, ...]:
    """What turns, and how often.

    Parameters
    ----------
    engine_speed : float
        1/min, above 0.
    cylinders : int, optional
    shaft_speed : float, optional
        Input shaft, 1/min, at least 0, where the clutch slips or is released; else it turns with
        the engine.
    gear_ratio : float, optional
        Input over output speed of the gear; left out in neutral.
    axle_ratio : float, optional
        Propshaft over wheel speed.

    Returns
    -------
    tuple of Turning
        Only what turns.
    """
    require_positive(engine_speed=engine_speed)
    shaft = engine_speed if shaft_speed is None else shaft_speed
    require_not_negative(shaft_speed=shaft)
    engine = hertz(engine_speed)
    found = [
        Turning("engine_half", "every second turn of the engine: one cylinder weak", engine / 2),
        Turning("engine", "crankshaft, flywheel and cover", engine),
    ]
    if cylinders is not None:
        firing = firing_order(cylinders) * engine
        found.append(Turning("firing", f"firing of {cylinders} cylinders", firing))
    engaged = shaft_speed is None
    with_it = "disc and input shaft, turning with the engine" if engaged else "disc and input shaft"
    found.append(Turning("input_shaft", with_it, hertz(shaft)))
    if not engaged:
        slip = hertz(abs(engine_speed - shaft))
        found.append(Turning("slip", "cover against disc while the clutch slips", slip))
    if gear_ratio is not None:
        require_positive(gear_ratio=gear_ratio)
        prop = hertz(shaft) / gear_ratio
        found.append(Turning("propshaft", "output shaft and propshaft", prop))
        found.append(Turning("joints", "propshaft joints, twice a turn", 2.0 * prop))
        if axle_ratio is not None:
            require_positive(axle_ratio=axle_ratio)
            found.append(Turning("wheels", "wheels and half shafts", prop / axle_ratio))
    return tuple(turning for turning in found if turning.frequency > 0.0)


def match(
    frequency: float,
    turning: Sequence[Turning],
    *,
    frequency_uncertainty: float,
    speed_uncertainty: float,
) -> tuple[Match, ...]:
    """Hold a frequency against everything that turns, best match first.

    Parameters
    ----------
    frequency : float
        As read or counted, Hz, above 0.
    turning : sequence of Turning
    frequency_uncertainty : float
        Standard uncertainty of the reading, Hz, above 0.
    speed_uncertainty : float
        Standard uncertainty of the speeds, as a share of them, at least 0.
    """
    require_positive(frequency=frequency, frequency_uncertainty=frequency_uncertainty)
    require_not_negative(speed_uncertainty=speed_uncertainty)
    matches = [
        Match(
            part,
            frequency - part.frequency,
            hypot(frequency_uncertainty, speed_uncertainty * part.frequency),
        )
        for part in turning
    ]
    return tuple(sorted(matches, key=lambda m: abs(m.difference) / m.doubt))


def bands_of(frequency: float) -> tuple[Band, ...]:
    """Bands that a frequency lies in; none, one or several."""
    require_positive(frequency=frequency)
    return tuple(band for band in BANDS if band.low <= frequency <= band.high)
