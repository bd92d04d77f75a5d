"""Calculator of units."""

from fractions import Fraction

from diagnose.calculators.calculator import Calculator, Outcome, Result
from diagnose.calculators.option import Option
from diagnose.calculators.values import CalculatorError, Values
from knowledge.quantity import QuantityError, parse_quantity, standard_unit

_FINEST = 64  # parts of an inch on a tape or a rule


def tape(inches: float) -> str:
    """Nearest mark of a tape in 64ths of an inch, as people say it ("1 3/8 in")."""
    nearest = Fraction(round(abs(inches) * _FINEST), _FINEST)
    whole, part = divmod(nearest, 1)
    sign = "-" if inches < 0 and nearest else ""
    words = " ".join(str(p) for p in (whole, part) if p) or "0"
    return f"{sign}{words} in"


def _convert(values: Values) -> Outcome:
    try:
        quantity = parse_quantity(values.word("quantity"))
        unit = standard_unit(values.word("to"))
        value = quantity.in_unit(unit)
    except QuantityError as error:
        raise CalculatorError(f"{error}.", "Write it like '1 3/8 in' mm.") from error
    shown = f"{value:.8g} {unit}".strip()
    results = [Result("value", values.word("quantity").strip(), value, unit, shown)]
    if unit == "in":
        results.append(Result("tape", "nearest 64th on a tape", tape(value)))
    return Outcome(tuple(results))


CONVERT = Calculator(
    "convert",
    "Units",
    "A quantity in another unit.",
    (
        Option("quantity", "quantity", "like 1 3/8 in", required=True, positional=True),
        Option("to", "unit wanted", "like mm", required=True, positional=True),
    ),
    _convert,
    ("R-UNIT-1: NIST SP 811, appendix B",),
    deferral="Where a maker's sheet prints both units, take the one it was measured in.",
)
