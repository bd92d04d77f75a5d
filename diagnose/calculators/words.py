"""Values in words and units: what people have on their tools, and no power of ten."""

from collections.abc import Mapping
from math import floor, log10

from knowledge.quantity import Quantity, dimension_of

# Unit inside the program -> units to show it in.
_SHOWN: Mapping[str, tuple[str, ...]] = {
    "mm": ("mm", "in"),
    "N": ("N", "lbf"),
    "MPa": ("MPa", "psi"),
    "N mm": ("N m", "lbf ft"),
    "mm3": ("cm3", "in3"),
    "degC": ("degC", "degF"),
}
_SPELLED = {
    "degC": "°C",
    "degF": "°F",
    "cm3": "cm³",
    "in3": "in³",
    "mm2": "mm²",
    "kg m2": "kg m²",
    "1/min": "rpm",
}


def say(value: float | str | bool | None, unit: str, *, figures: int = 4) -> str:
    """Say a value with its unit, in the units that people have on their tools."""
    if value is None or isinstance(value, str):
        return value or "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if unit == "share":
        return _chance(value)
    shown = [
        f"{digits(value if u == unit else convert(value, unit, u), figures)} {spelled(u)}".strip()
        for u in _SHOWN.get(unit, (unit,))
    ]
    return shown[0] if len(shown) == 1 else f"{shown[0]} ({', '.join(shown[1:])})"


def _chance(share: float) -> str:
    """Say a chance; no chance short of certainty is said to be none or all."""
    if 0.9995 <= share < 1.0:
        return "more than 99.9 in 100"
    return "less than 0.1 in 100" if 0.0 < share < 0.0005 else f"{100.0 * share:.1f} in 100"


def convert(value: float, kind: str, unit: str) -> float:
    """Give a value of the inside unit in another unit of its kind.

    Parameters
    ----------
    value : float
        In the inside unit.
    kind : str
        Any unit of its kind.
    unit : str
        The unit wanted.

    Raises
    ------
    QuantityError
        If the two are of different kinds.
    """
    return Quantity(value, dimension_of(kind), kind).in_unit(unit)


def spelled(unit: str) -> str:
    """Spell a unit as people write it."""
    return _SPELLED.get(unit, unit)


def digits(value: float, figures: int = 4) -> str:
    """Write a number with so many significant digits and no power of ten."""
    if abs(value) < 1e-9:
        return "0"
    places = max(0, figures - 1 - floor(log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def joined(words: tuple[str, ...]) -> str:
    """Join words by commas, the last by "and"."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def sentence(text: str) -> str:
    """Give a text with a capital letter in front."""
    return text[:1].upper() + text[1:]
