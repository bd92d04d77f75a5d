"""Published limits for dial readings, each with its source.

Two tables by housing size are in use, one tighter than the other, and no rule says which holds for
a given engine: both are given and the maker's own figure wins over either.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal, NamedTuple

from diagnose.physics.domain import Real, require_positive
from knowledge.quantity import parse_quantity

Part = Literal[
    "housing_bore", "housing_face", "flywheel_face", "flywheel_bore", "pilot_bore", "disc_face"
]


class Limit(NamedTuple):
    """Greatest T.I.R. that is allowed.

    Attributes
    ----------
    tir : float
        mm.
    source : str
        Id of the source.
    about : str
        What it holds for.
    """

    tir: float
    source: str
    about: str


def _lengths(texts: Mapping[str, str]) -> Mapping[str, float]:
    return MappingProxyType(
        {k: parse_quantity(v, dimension="length").value for k, v in texts.items()}
    )


# Source -> SAE housing size -> T.I.R. in mm, the same for bore and face.
# R-RUNOUT-1: TM 10-4320-307-24. R-RUNOUT-2: SAE J1033, as printed in an installation manual.
HOUSING_LIMITS: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "R-RUNOUT-1": _lengths(
            {
                "00": "0.012 in",
                "0": "0.010 in",
                "1/2": "0.010 in",
                "1": "0.008 in",
                "2": "0.008 in",
                "3": "0.008 in",
            }
        ),
        "R-RUNOUT-2": _lengths(
            {
                "00": "0.019 in",
                "0": "0.016 in",
                "1/2": "0.014 in",
                "1": "0.012 in",
                "2": "0.011 in",
                "3": "0.010 in",
                "4": "0.009 in",
                "5": "0.008 in",
                "6": "0.007 in",
            }
        ),
    }
)

# SAE housing size -> bore in mm, by SAE J617 (R-RUNOUT-2).
HOUSING_BORES: Mapping[str, float] = _lengths(
    {
        "00": "787.40 mm",
        "0": "647.70 mm",
        "1": "511.18 mm",
        "2": "447.68 mm",
        "4": "361.95 mm",
        "6": "266.70 mm",
    }
)

SIZES = tuple(HOUSING_LIMITS["R-RUNOUT-2"])

_ABOUT_SIZES = {
    "R-RUNOUT-1": "housing size by an engine maintenance manual",
    "R-RUNOUT-2": "housing size by SAE J1033",
}
_FIXED: tuple[tuple[Part, str, str, str], ...] = (
    ("housing_face", "0.012 in", "R-RUNOUT-4", "one engine family"),
    ("flywheel_face", "0.006 in", "R-RUNOUT-4", "one engine family"),
    ("flywheel_bore", "0.006 in", "R-RUNOUT-4", "one engine family"),
    ("pilot_bore", "0.005 in", "R-RUNOUT-4", "one engine family"),
    ("flywheel_face", "0.08 mm", "R-RUNOUT-5", "light vehicles, strictest of several manuals"),
    ("flywheel_face", "0.15 mm", "R-RUNOUT-5", "light vehicles, most generous of several manuals"),
    ("disc_face", "0.5 mm", "R-RUNOUT-5", "new disc, light vehicles, read 6 mm in from its edge"),
    ("disc_face", "0.8 mm", "R-RUNOUT-5", "used disc, light vehicles"),
)


def flywheel_face_limit(radius: Real) -> Real:
    """Limit of a flywheel face read at a radius: 0.001 for each unit of radius (R-RUNOUT-3).

    Parameters
    ----------
    radius : float or ndarray
        Where the dial stands, mm, above 0.
    """
    require_positive(radius=radius)
    return 0.001 * radius


def flywheel_face_limit_by_diameter(diameter: Real) -> Real:
    """Say the same by the diameter of the circle: 0.0005 for each unit of it (R-RUNOUT-3).

    Parameters
    ----------
    diameter : float or ndarray
        Of the circle that the dial draws, mm, above 0.
    """
    require_positive(diameter=diameter)
    return 0.0005 * diameter


def limits_for(part: Part, *, size: str = "", radius: float | None = None) -> tuple[Limit, ...]:
    """Published limits of one part.

    Parameters
    ----------
    part : Part
    size : str
        SAE housing size, for `housing_bore` and `housing_face`.
    radius : float or None
        Where the dial stood on a flywheel face, mm.

    Returns
    -------
    tuple of Limit
        Tightest first; empty if none is known.
    """
    found = [
        Limit(parse_quantity(text).value, source, about)
        for name, text, source, about in _FIXED
        if name == part
    ]
    if part in {"housing_bore", "housing_face"}:
        found += [
            Limit(table[size], source, _ABOUT_SIZES[source])
            for source, table in HOUSING_LIMITS.items()
            if size in table
        ]
    if part == "flywheel_face" and radius is not None:
        by_rule = float(flywheel_face_limit(radius))
        found.append(Limit(by_rule, "R-RUNOUT-3", "0.001 of the radius that the dial stands at"))
    return tuple(sorted(found))
