"""What was typed into a calculator, read when it is asked for."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.calculators.option import Option
from diagnose.calculators.words import joined, sentence
from diagnose.errors import PullOnceError
from knowledge.quantity import Quantity, QuantityError, dimension_of, parse_quantity


class CalculatorError(PullOnceError):
    """Something typed that a calculator can't use."""


class MissingError(CalculatorError):
    """Something was left out that a calculator can't do without."""

    @classmethod
    def of(cls, *options: Option) -> "MissingError":
        """Make the error that names what is missing."""
        names = tuple(option.label for option in options)
        verb = "is" if len(names) == 1 else "are"
        return cls(f"{sentence(joined(names))} {verb} missing.")


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
            raise MissingError.of(self.options[name])
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
            label = sentence(self.options[name].label)
            raise CalculatorError(f"{label} is a whole number, not {value:g}.")
        return None if value is None else int(value)

    def _texts(self, name: str) -> tuple[str, ...]:
        default = self.options[name].default
        return self.typed.get(name, ()) or ((default,) if default else ())

    def _read(self, option: Option, text: str) -> float:
        value = self._quantity(option, text).value
        if not option.low <= value <= option.high:
            label = sentence(option.label)
            raise CalculatorError(f"{label} can't be {text.strip()}.", f"It {option.bounds}.")
        return value

    def _quantity(self, option: Option, text: str) -> Quantity:
        unit = option.unit or ""
        dimension = dimension_of(unit)
        if dimension == "length" and "unit" in self.options:
            unit = self.word("unit")
        try:
            return parse_quantity(text, dimension=dimension, default_unit=unit)
        except QuantityError as error:
            shown = f"in {unit}" if unit else "as a plain number"
            raise CalculatorError(
                f"{sentence(option.label)}: {error}.",
                f"It is read {shown}, or in the unit you write.",
            ) from error
