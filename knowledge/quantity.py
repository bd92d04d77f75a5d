"""Quantities as people write them: "0.15 mm", "1 3/8 in", '1-3/8"', "35 mm".

Inside the program lengths are mm, forces N, pressures MPa, torques N mm, volumes mm3, times s,
speeds 1/min and temperatures degrees C. This module is the only place where units are converted.

References
----------
Factors: NIST SP 811, appendix B (R-UNIT-1); the inch, pound and standard gravity are exact.
"""

import re
from dataclasses import dataclass
from fractions import Fraction

_LBF = 4.4482216152605  # N, exact
_INCH = 25.4  # mm, exact

# unit -> (dimension, factor to the inside unit)
_UNITS: dict[str, tuple[str, float]] = {
    "mm": ("length", 1.0),
    "cm": ("length", 10.0),
    "m": ("length", 1000.0),
    "um": ("length", 0.001),
    "in": ("length", _INCH),
    "thou": ("length", _INCH / 1000),
    "ft": ("length", 12 * _INCH),
    "km": ("length", 1e6),
    "mi": ("length", 63360 * _INCH),
    "N": ("force", 1.0),
    "kN": ("force", 1000.0),
    "lbf": ("force", _LBF),
    "kgf": ("force", 9.80665),
    "MPa": ("pressure", 1.0),
    "kPa": ("pressure", 0.001),
    "bar": ("pressure", 0.1),
    "psi": ("pressure", _LBF / _INCH**2),
    "N mm": ("torque", 1.0),
    "N m": ("torque", 1000.0),
    "lbf ft": ("torque", _LBF * 12 * _INCH),
    "lbf in": ("torque", _LBF * _INCH),
    "mm3": ("volume", 1.0),
    "cm3": ("volume", 1000.0),
    "in3": ("volume", _INCH**3),
    "s": ("time", 1.0),
    "min": ("time", 60.0),
    "h": ("time", 3600.0),
    "1/min": ("speed", 1.0),
    "degC": ("temperature", 1.0),
    "degF": ("temperature", 5 / 9),
    "%": ("share", 0.01),
    "": ("count", 1.0),
}

_SPELLINGS = {
    '"': "in",
    "''": "in",
    "”": "in",
    "inch": "in",
    "inches": "in",
    "ins": "in",
    "millimetre": "mm",
    "millimetres": "mm",
    "millimeter": "mm",
    "millimeters": "mm",
    "µm": "um",
    "μm": "um",
    "'": "ft",
    "foot": "ft",
    "feet": "ft",
    "miles": "mi",
    "mile": "mi",
    "lb": "lbf",
    "lbs": "lbf",
    "kg": "kgf",
    "Nm": "N m",
    "Nmm": "N mm",
    "lb ft": "lbf ft",
    "ft lb": "lbf ft",
    "lb in": "lbf in",
    "in lb": "lbf in",
    "cc": "cm3",
    "ml": "cm3",
    "sec": "s",
    "seconds": "s",
    "second": "s",
    "minutes": "min",
    "minute": "min",
    "hours": "h",
    "hour": "h",
    "rpm": "1/min",
    "°C": "degC",
    "C": "degC",
    "°F": "degF",
    "F": "degF",
}

_NUMBER = re.compile(
    r"""^\s*(?P<sign>[-+−]?)\s*
    (?:(?P<whole>\d+)(?:\s+|\s*-\s*)(?P<num1>\d+)\s*/\s*(?P<den1>\d+)   # 1 3/8, 1-3/8
      |(?P<num2>\d+)\s*/\s*(?P<den2>\d+)                                 # 3/8
      |(?P<decimal>\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?|[.,]\d+))            # 0.2, .2, 0,2
    \s*(?P<unit>.*?)\s*$""",
    re.VERBOSE,
)


class QuantityError(ValueError):
    """A text that is no quantity, or a quantity of the wrong kind; the message says which."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """One value with the unit it was written in.

    Attributes
    ----------
    value : float
        In the inside unit of its dimension (mm, N, MPa, N mm, mm3, s, 1/min, degrees C).
    dimension : str
        ``length``, ``force``, ``pressure``, ``torque``, ``volume``, ``time``, ``speed``,
        ``temperature``, ``share`` or ``count``.
    unit : str
        The unit as written, in its standard spelling.
    """

    value: float
    dimension: str
    unit: str

    def in_unit(self, unit: str) -> float:
        """Give the value in another unit of the same dimension.

        Raises
        ------
        QuantityError
            If `unit` is unknown or of another dimension.
        """
        dimension, factor = _UNITS[standard_unit(unit)]
        if dimension != self.dimension:
            message = f"{unit!r} is a unit of {dimension}, not of {self.dimension}"
            raise QuantityError(message)
        if unit == "degF":
            return self.value / factor + 32.0
        return self.value / factor


def standard_unit(text: str) -> str:
    """Give the standard spelling of a unit ("inches" -> "in").

    Raises
    ------
    QuantityError
        If no unit is known by that spelling.
    """
    text = text.strip().replace("·", " ")
    unit = _SPELLINGS.get(text, text)
    if unit not in _UNITS:
        unit = _SPELLINGS.get(text.lower(), text.lower())
    if unit not in _UNITS:
        known = ", ".join(u for u in _UNITS if u)
        message = f"{text!r} is not a unit this program knows (it knows {known})"
        raise QuantityError(message)
    return unit


def parse_quantity(text: str, *, dimension: str | None = None, default_unit: str = "") -> Quantity:
    """Read a quantity as a person writes it.

    Parameters
    ----------
    text : str
        ``"1 3/8 in"``, ``'1-3/8"'``, ``"35 mm"``, ``"0,2 in"``; at most 40 characters.
    dimension : str, optional
        The dimension it must have.
    default_unit : str
        The unit taken when none is written.

    Returns
    -------
    Quantity

    Raises
    ------
    QuantityError
        If the text is no number, the unit is unknown, or the dimension is another one.

    Examples
    --------
    >>> parse_quantity('1-3/8"').value
    34.925
    """
    match = _NUMBER.match(text) if len(text) <= 40 else None
    if match is None:
        message = f"{text[:40]!r} is not a number with a unit, such as '1 3/8 in' or '35 mm'"
        raise QuantityError(message)
    unit = standard_unit(match["unit"] or default_unit)
    found, factor = _UNITS[unit]
    if dimension is not None and found != dimension:
        message = f"{text!r} is a {found}, but a {dimension} is wanted here"
        raise QuantityError(message)
    number = _number(match)
    value = (number - 32.0) * factor if unit == "degF" else number * factor
    return Quantity(value, found, unit)


def _number(match: re.Match[str]) -> float:
    sign = -1.0 if match["sign"] in {"-", "−"} else 1.0
    if match["decimal"] is not None:
        return sign * float(match["decimal"].replace(",", "."))
    whole = int(match["whole"] or 0)
    over = int(match["num1"] or match["num2"])
    under = int(match["den1"] or match["den2"])
    if under == 0:
        message = f"{match[0]!r} divides by nothing"
        raise QuantityError(message)
    return sign * float(whole + Fraction(over, under))
