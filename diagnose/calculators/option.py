"""What a calculator asks: one record for each thing, from which command line and form are made."""

from dataclasses import dataclass
from math import inf, isfinite

from diagnose.calculators.words import convert, digits, spelled


@dataclass(frozen=True)
class Option:
    """One thing that a calculator asks.

    Attributes
    ----------
    name : str
        As on the command line, without its dashes.
    label : str
        What people call it.
    text : str
        What else there is to know before it is typed.
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
    seldom : bool
        Whether most people leave it out.
    setup : str
        What the release system of a case knows it as: a figure or an observable of
        `knowledge.release`, ``discs``, ``cover``, ``fork`` or ``fork_load``; empty for nothing.
    setup_if : tuple of str or None
        Name of another option and the word it must have for that to hold.
    """

    name: str
    label: str
    text: str = ""
    unit: str | None = None
    required: bool = False
    many: bool = False
    positional: bool = False
    choices: tuple[str, ...] = ()
    default: str = ""
    low: float = -inf
    high: float = inf
    seldom: bool = False
    setup: str = ""
    setup_if: tuple[str, str] | None = None

    @property
    def help(self) -> str:
        """All there is to know before it is typed, in one line."""
        unit = f" ({self.unit} if none is written)" if self.unit else ""
        default = f"; {self.default} if left out" if self.default else ""
        more = f": {self.text}" if self.text else ""
        return f"{self.label}{more}{unit}{default}"

    @property
    def bounds(self) -> str:
        """Where a quantity has to lie, in words."""
        low, high = self._amount(self.low), self._amount(self.high)
        if low and high:
            return f"lies between {low} and {high}"
        return f"is at least {low}" if low else f"is at most {high}"

    def _amount(self, inside: float) -> str:
        if not isfinite(inside):
            return ""
        unit = self.unit or ""
        return f"{digits(convert(inside, unit, unit))} {spelled(unit)}".strip()


LENGTH_UNIT = Option(
    "unit",
    "lengths are in",
    "the unit of lengths that are written without one",
    choices=("mm", "in", "thou"),
    default="mm",
)
