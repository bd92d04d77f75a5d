"""What a calculator is: options, typed values, results with their units."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import floor, inf, isfinite, log10
from typing import NamedTuple

from diagnose.errors import PullOnceError
from knowledge.quantity import Quantity, QuantityError, parse_quantity

DEFERRAL = "The figures of the vehicle's and the kit's maker come before these."

_FOREIGN = {"Hz", "kg m2"}  # plain numbers to the rest of the program
# Unit inside the program -> units to show it in.
_SHOWN: Mapping[str, tuple[str, ...]] = {
    "mm": ("mm", "in"),
    "N": ("N", "lbf"),
    "MPa": ("MPa", "psi"),
    "N mm": ("N m", "lbf ft"),
    "mm3": ("cm3", "in3"),
    "degC": ("degC", "degF"),
}
_SPELLED = {"degC": "°C", "degF": "°F", "cm3": "cm³", "in3": "in³", "mm2": "mm²", "1/min": "rpm"}


class CalculatorError(PullOnceError):
    """Something typed that a calculator can't use."""


@dataclass(frozen=True)
class Option:
    """One thing that a calculator asks.

    Attributes
    ----------
    name : str
        As on the command line, without its dashes.
    text : str
        What it is, for the help and the dialog.
    unit : str or None
        Unit taken when none is written, ``""`` for a plain number; None for a word.
    required, many, positional : bool
        Whether it must be given, takes several values, goes without dashes.
    choices : tuple of str
        The words it may be; empty for any.
    default : str
        Taken when nothing was typed; empty for none.
    low, high : float
        Bounds in the inside unit of a quantity.
    """

    name: str
    text: str
    unit: str | None = None
    required: bool = False
    many: bool = False
    positional: bool = False
    choices: tuple[str, ...] = ()
    default: str = ""
    low: float = -inf
    high: float = inf


LENGTH_UNIT = Option(
    "unit",
    "unit of lengths written without one",
    choices=("mm", "in", "thou"),
    default="mm",
)


class Result(NamedTuple):
    """One figure that came out.

    Attributes
    ----------
    key : str
        Name in JSON.
    label : str
        Name for people.
    value : float, str, bool or None
        In the inside unit; None where there is none.
    unit : str
        Inside unit; ``"share"`` for a chance, ``""`` for plain numbers and words.
    shown : str
        The value in words, where the usual way of saying it does not serve.
    """

    key: str
    label: str
    value: float | str | bool | None
    unit: str = ""
    shown: str = ""

    @property
    def line(self) -> str:
        """The result in words and units."""
        return f"{self.label}: {self.shown or say(self.value, self.unit)}"


@dataclass(frozen=True)
class Outcome:
    """What a calculator found.

    Attributes
    ----------
    results : tuple of Result
    notes : tuple of str
        Sentences that belong to these results.
    cautions : tuple of str
        Ids of cautions that these results call for.
    """

    results: tuple[Result, ...]
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Values:
    """What was typed into a calculator.

    Attributes
    ----------
    options : mapping
        Name -> option.
    typed : mapping
        Name -> texts; a name that is missing was left out.
    """

    options: Mapping[str, Option]
    typed: Mapping[str, tuple[str, ...]]

    def given(self, name: str) -> bool:
        """Whether there is a value, typed or by default."""
        return bool(self._texts(name))

    def word(self, name: str) -> str:
        """Give a word; empty if left out."""
        return next(iter(self._texts(name)), "")

    def words(self, name: str) -> tuple[str, ...]:
        """Give all the words of one option."""
        return self._texts(name)

    def number(self, name: str) -> float:
        """Give a quantity in its inside unit.

        Raises
        ------
        CalculatorError
            If it is missing, no such quantity, or out of bounds.
        """
        value = self.maybe(name)
        if value is None:
            raise CalculatorError(f"{name} is missing.", f"Give the {self.options[name].text}.")
        return value

    def maybe(self, name: str) -> float | None:
        """Give a quantity in its inside unit; None if left out."""
        return next(iter(self.numbers(name)), None)

    def numbers(self, name: str) -> tuple[float, ...]:
        """Give several quantities in their inside unit."""
        return tuple(self._read(self.options[name], text) for text in self._texts(name))

    def written_in(self, name: str) -> str:
        """Unit that the values of an option were written in; that of bare numbers if none was."""
        unit = self.word("unit") if "unit" in self.options else self.options[name].unit or ""
        for text in self._texts(name):
            written = self._quantity(self.options[name], text).unit
            if written != unit:
                return written
        return unit

    def whole(self, name: str) -> int | None:
        """Give a whole number; None if left out."""
        value = self.maybe(name)
        if value is not None and value != int(value):
            raise CalculatorError(f"{name} is a whole number, not {value:g}.")
        return None if value is None else int(value)

    def _texts(self, name: str) -> tuple[str, ...]:
        default = self.options[name].default
        return self.typed.get(name, ()) or ((default,) if default else ())

    def _read(self, option: Option, text: str) -> float:
        value = self._quantity(option, text).value
        if not option.low <= value <= option.high:
            raise CalculatorError(
                f"{option.name} can't be {text.strip()}.", f"It {bounds_words(option)}."
            )
        return value

    def _quantity(self, option: Option, text: str) -> Quantity:
        unit = option.unit or ""
        if unit in _FOREIGN:
            text, unit = text.strip().removesuffix(unit), ""
        dimension = parse_quantity("0", default_unit=unit).dimension
        if dimension == "length" and "unit" in self.options:
            unit = self.word("unit")
        try:
            return parse_quantity(text, dimension=dimension, default_unit=unit)
        except QuantityError as error:
            shown = option.unit or "a plain number"
            raise CalculatorError(
                f"{option.name}: {error}.", f"It is read in {shown}, or in the unit you write."
            ) from error


@dataclass(frozen=True)
class Calculator:
    """A calculator.

    Attributes
    ----------
    name : str
        As on the command line.
    text : str
        One sentence on what it is for.
    options : tuple of Option
    run : callable
        From what was typed to what came out.
    sources : tuple of str
        Where the formulas come from, each with its id.
    cautions : tuple of str
        Ids of the cautions that stand before the work.
    deferral : str
        What comes before the results.
    """

    name: str
    text: str
    options: tuple[Option, ...]
    run: Callable[[Values], Outcome]
    sources: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    deferral: str = DEFERRAL


def bounds_words(option: Option) -> str:
    """Say where a quantity has to lie."""
    low = say(option.low, _inside(option.unit)) if isfinite(option.low) else ""
    high = say(option.high, _inside(option.unit)) if isfinite(option.high) else ""
    if low and high:
        return f"lies between {low} and {high}"
    return f"is at least {low}" if low else f"is at most {high}"


def _inside(unit: str | None) -> str:
    return "mm" if unit in {"in", "thou"} else unit or ""


def say(value: float | str | bool | None, unit: str) -> str:
    """Say a value with its unit, in the units that people have on their tools."""
    if value is None or isinstance(value, str):
        return value or "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if unit == "share":
        return f"{100.0 * value:.1f} in 100"
    if unit not in _SHOWN:
        return f"{digits(value)} {_SPELLED.get(unit, unit)}".strip()
    inside = Quantity(value, parse_quantity("0", default_unit=unit).dimension, unit)
    first, *others = (f"{digits(inside.in_unit(u))} {_SPELLED.get(u, u)}" for u in _SHOWN[unit])
    return f"{first} ({', '.join(others)})"


def digits(value: float) -> str:
    """Write a number with four significant digits and no power of ten."""
    if abs(value) < 1e-9:
        return "0"
    places = max(0, 3 - floor(log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
