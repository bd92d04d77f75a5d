"""What of a build can be moved by hand, and where the release model says that it fails."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf
from types import MappingProxyType


@dataclass(frozen=True)
class Slider:
    """Something about the build that can be moved by hand.

    Attributes
    ----------
    id, name : str
    unit : str
        How it is shown.
    low, high, step : float
        In that unit; 0 is as designed.
    figures : Mapping
        Figure of the release system -> its change for one unit, in the figure's inside unit.
    readings : Mapping
        Measurement that stands alone -> its change for one unit, in its inside unit.
    """

    id: str
    name: str
    unit: str
    low: float
    high: float
    step: float
    figures: Mapping[str, float]
    readings: Mapping[str, float] = field(default_factory=dict)


# The ranges are those of the faults in the base, a little widened; judgement.
SLIDERS: Mapping[str, Slider] = MappingProxyType(
    {
        slider.id: slider
        for slider in (
            Slider(
                "spacer",
                "Spacer under the fork’s pivot, too thick",
                "mm",
                -10.0,
                10.0,
                0.5,
                {"pivot_height": 1.0},
            ),
            Slider("air", "Air left in the line", "cm³", 0.0, 8.0, 0.25, {"air": 1000.0}),
            Slider(
                "stack", "Clamped stack, too thick", "mm", -3.0, 3.0, 0.1, {"stack_excess": 1.0}
            ),
            Slider(
                "step",
                "Flywheel step, too deep",
                "mm",
                -2.0,
                2.0,
                0.1,
                {"stack_excess": -1.0},
                {"flywheel_step": 1.0},
            ),
            Slider(
                "bearing",
                "Release bearing, too tall",
                "mm",
                -10.0,
                10.0,
                0.5,
                {"bearing_height": 1.0},
            ),
            Slider(
                "play", "Play at the pedal, too much", "mm", -5.0, 50.0, 1.0, {"pedal_play": 1.0}
            ),
            Slider(
                "lift",
                "Lift the disc needs beyond its share",
                "mm",
                0.0,
                2.5,
                0.1,
                {"extra_lift": 1.0},
            ),
        )
    }
)


@dataclass(frozen=True)
class Margin:
    """Bounds of an observable of the release model, and what is there beyond them.

    Attributes
    ----------
    observable : str
    brings : str
        Id of a mechanism, or of the complaint or finding that it is by its own words.
    least, most : float
    """

    observable: str
    brings: str
    least: float = -inf
    most: float = inf


_QUARTER = 0.25  # of the pedal's way: what bites in the last or first of it is called low or high

# What the observables mean says where they end: no clearance is no release, a margin below 1 slips.
MARGINS = (
    Margin("clearance_per_face", "drive_not_released", least=0.0),
    Margin("slip_margin", "capacity_too_small", least=1.0),
    Margin("bearing_reserve", "bearing_always_loaded", least=0.0),
    Margin("overtravel_margin", "bearing_travels_too_far", least=0.0),
    *(
        Margin("engagement_share", name, most=1.0 - _QUARTER)
        for name in ("engages_low", "bites_near_floor")
    ),
    *(
        Margin("engagement_share", name, least=_QUARTER)
        for name in ("engages_high", "bites_near_top")
    ),
)
