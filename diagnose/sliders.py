"""What of a build can be moved by hand, and where the release model says that it fails."""

from collections.abc import Mapping
from dataclasses import dataclass, field
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
    """A bound of the release model, and the mechanism at work beyond it."""

    observable: str
    least: float
    mechanism: str


# What the observables mean says where they end: no clearance is no release, a margin below 1 slips.
MARGINS = (
    Margin("clearance_per_face", 0.0, "drive_not_released"),
    Margin("slip_margin", 1.0, "capacity_too_small"),
    Margin("bearing_reserve", 0.0, "bearing_always_loaded"),
    Margin("overtravel_margin", 0.0, "bearing_travels_too_far"),
)
