"""Quantities as people write them: "0.15 mm", "1 3/8 in", '1-3/8"', "35 mm".

Inside the program lengths are mm, forces N, pressures MPa, torques N mm, volumes mm3, times s,
speeds of rotation 1/min, frequencies Hz, voltages V, moments of inertia kg m2, stiffnesses N/mm,
angles degrees and temperatures degrees C. This module is the only place where units are converted.

References
----------
Factors: NIST SP 811, appendix B (R-UNIT-1); the inch, pound and standard gravity are exact.
"""

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import isfinite

_LBF = 4.4482216152605  # N, exact
_INCH = 25.4  # mm, exact
_POUND = 0.45359237  # kg, exact

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
    "N/mm": ("stiffness", 1.0),
    "lbf/in": ("stiffness", _LBF / _INCH),
    "s": ("time", 1.0),
    "min": ("time", 60.0),
    "h": ("time", 3600.0),
    "1/min": ("speed", 1.0),
    "Hz": ("frequency", 1.0),
    "V": ("voltage", 1.0),
    "mV": ("voltage", 0.001),
    "kg m2": ("moment of inertia", 1.0),
    "kg cm2": ("moment of inertia", 1e-4),
    "lb ft2": ("moment of inertia", _POUND * (12 * _INCH / 1000) ** 2),
    "lb in2": ("moment of inertia", _POUND * (_INCH / 1000) ** 2),
    "degC": ("temperature", 1.0),
    "degF": ("temperature", 5 / 9),
    "deg": ("angle", 1.0),
    "%": ("share", 0.01),
    "": ("count", 1.0),
}

# standard spelling -> what else people write; the signs between the parts of a unit don't count
_SPELLINGS: dict[str, tuple[str, ...]] = {
    "in": ('"', "''", "”", "″", "inch", "inches", "ins"),
    "ft": ("'", "’", "′", "foot", "feet"),
    "mm": ("millimetre", "millimetres", "millimeter", "millimeters"),
    "um": ("µm", "μm"),
    "mi": ("mile", "miles"),
    "lbf": ("lb", "lbs"),
    "kgf": ("kg",),
    "N m": ("Nm",),
    "N mm": ("Nmm",),
    "lbf ft": ("lb ft", "ft lb", "lbs ft", "ft lbs", "ft lbf"),
    "lbf in": ("lb in", "in lb", "lbs in", "in lbs", "in lbf"),
    "lbf/in": ("lb/in", "lbs/in"),
    "mm3": ("mm³",),
    "cm3": ("cm³", "cc", "ccm", "ml"),
    "in3": ("in³", "cu in"),
    "s": ("sec", "second", "seconds"),
    "min": ("minute", "minutes"),
    "h": ("hour", "hours"),
    "1/min": ("rpm",),
    "Hz": ("hertz", "1/s"),
    "V": ("volt", "volts"),
    "mV": ("millivolt", "millivolts"),
    "kg m2": ("kg m²", "kg m^2", "kgm2", "kgm²"),
    "kg cm2": ("kg cm²", "kgcm2", "kgcm²"),
    "lb ft2": ("lb ft²", "lbs ft2", "lbs ft²"),
    "lb in2": ("lb in²", "lbs in2", "lbs in²"),
    "deg": ("degree", "degrees"),
    "degC": ("°C", "C", "deg C"),
    "degF": ("°F", "F", "deg F"),
}
_STANDARD = {unit.casefold(): unit for unit in _UNITS} | {
    spelling.casefold(): unit for unit, others in _SPELLINGS.items() for spelling in others
}

_NUMBER = re.compile(
    r"""^\s*(?P<sign>[-+−]?)\s*
    (?:(?P<whole>\d+)(?:\s+|\s*-\s*)(?P<num1>\d+)\s*/\s*(?P<den1>\d+)   # 1 3/8, 1-3/8
      |(?P<num2>\d+)\s*/\s*(?P<den2>\d+)                                 # 3/8
      |(?P<decimal>\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?|[.,]\d+))            # 0.2, .2, 0,2
    \s*(?P<unit>.*?)\s*$""",
    re.VERBOSE,
)

_RANGE = re.compile(
    r"^\s*(?:(?:between|from)\s+)?(?P<low>.+?)(?:\s+(?:to|and)\s+|\s*(?:\.\.+|…|–)\s*)(?P<high>.+)$",
    re.IGNORECASE,
)
# "10-12 mm"; "1-3/8 in" is one number.
_DASHED = re.compile(
    r"^\s*(?P<low>\d+(?:[.,]\d+)?)\s*-\s*(?P<high>\d+(?:[.,]\d+)?\s*(?:[^\d\s/.,-][^\d/]*)?)$"
)
_TWO_WAYS = re.compile(r"[1-9]\d{0,2},\d{3}")  # a decimal comma, or thousands set apart


class QuantityError(ValueError):
    """A text that is no quantity, or a quantity of the wrong kind; the message says which."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """One value with the unit it was written in.

    Attributes
    ----------
    value : float
        In the inside unit of its dimension (mm, N, MPa, N mm, mm3, N/mm, s, 1/min, Hz, V, kg m2,
        degrees, degrees C).
    dimension : str
        ``length``, ``force``, ``pressure``, ``torque``, ``volume``, ``stiffness``, ``time``,
        ``speed``, ``frequency``, ``voltage``, ``moment of inertia``, ``temperature``, ``angle``,
        ``share`` or ``count``.
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
        unit = standard_unit(unit)
        dimension, factor = _UNITS[unit]
        if dimension != self.dimension:
            message = f"{unit!r} is a unit of {dimension}, not of {self.dimension}"
            raise QuantityError(message)
        return self.value / factor + (32.0 if unit == "degF" else 0.0)


def standard_unit(text: str) -> str:
    """Give the standard spelling of a unit ("inches" -> "in").

    Raises
    ------
    QuantityError
        If no unit is known by that spelling.
    """
    plain = re.sub(r"[\s·⋅*.-]+", " ", text).strip()
    unit = _STANDARD.get(plain.casefold())
    if unit is None:
        message = f"{text.strip()!r} is not a unit this program knows"
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
        If the text is no number or one that can be read in two ways ("1,250"), the unit is
        unknown, or the dimension is another one.

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
    decimal = match["decimal"]
    if decimal is not None:
        if _TWO_WAYS.fullmatch(decimal):
            plain = decimal.replace(",", "")
            point = decimal.replace(",", ".")
            message = f"{decimal!r} can be read in two ways: write {plain} or {point}"
            raise QuantityError(message)
        number = float(decimal.replace(",", "."))
        if not isfinite(number):
            message = f"{decimal!r} is too large a number"
            raise QuantityError(message)
        return sign * number
    whole = int(match["whole"] or 0)
    over = int(match["num1"] or match["num2"])
    under = int(match["den1"] or match["den2"])
    if under == 0:
        message = f"{match[0]!r} divides by nothing"
        raise QuantityError(message)
    return sign * float(whole + Fraction(over, under))


@lru_cache(maxsize=4096)
def quantity_value(text: str, unit: str) -> float:
    """Read a quantity whose unit, where none is written, is `unit`; inside units.

    Raises
    ------
    QuantityError
        If the text is no such quantity.
    """
    return parse_quantity(text, dimension=dimension_of(unit), default_unit=unit).value


def difference_value(text: str, unit: str) -> float:
    """Read a difference of two quantities: 9 degF are 5 degC, whatever the zero of either scale.

    Raises
    ------
    QuantityError
        If the text is no such quantity.
    """
    written = parse_quantity(text, dimension=dimension_of(unit), default_unit=unit)
    return written.value - quantity_value("0", written.unit)


def dimension_of(unit: str) -> str:
    """Give the dimension of a unit.

    Raises
    ------
    QuantityError
        If the unit is unknown.
    """
    return _UNITS[standard_unit(unit)][0]


def in_unit(value: float, unit: str) -> float:
    """Give an inside value as a number of a unit of its kind; infinite ones stay so.

    Raises
    ------
    QuantityError
        If the unit is unknown.
    """
    return Quantity(value, dimension_of(unit), unit).in_unit(unit)


def ends_of_range(text: str) -> tuple[str, str] | None:
    """Take a range apart: "1 to 1 1/4 in", "between 1 and 2 mm", "10-12 mm"; None if it is none."""
    found = _RANGE.match(text) or _DASHED.match(text)
    return (found["low"], found["high"]) if found else None


def on_tape(number: float, parts: int) -> str:
    """Write a number as it stands on a tape, to the nearest part: "1 3/8"."""
    nearest = round(parts * abs(number))
    whole, rest = divmod(Fraction(nearest, parts), 1)
    words = [str(whole)] if whole or not rest else []
    words += [str(rest)] if rest else []
    return ("-" if number < 0.0 and nearest else "") + " ".join(words)
