"""From a gauge reading, as typed, to the answer of the check that asked for it."""

from diagnose.errors import PullOnceError
from knowledge.model import Check, CheckAnswer, quantity_value
from knowledge.quantity import QuantityError, parse_quantity

_CONFUSED = {
    "in": ("mm", "thou"),
    "mm": ("in",),
    "thou": ("um",),
    "um": ("thou",),
    "min": ("s",),
    "s": ("min",),
    "bar": ("psi",),
    "psi": ("bar",),
    "degC": ("degF",),
    "degF": ("degC",),
    "N m": ("lbf ft",),
    "lbf ft": ("N m",),
}


class ReadingError(PullOnceError):
    """A reading that is no quantity, of the wrong kind, or not plausible."""


def answer_for_reading(check: Check, text: str) -> CheckAnswer:
    """Find the answer whose band a reading falls in.

    Parameters
    ----------
    check : Check
        One with a gauge.
    text : str
        As typed; the check's own unit is taken when none is written.

    Returns
    -------
    CheckAnswer

    Raises
    ------
    ReadingError
        If the text is no such quantity, or lies outside the plausible range.
    """
    if check.gauge is None:
        raise ReadingError(f"{check.name!r} takes no reading.", "Choose one of its answers.")
    unit = check.gauge.unit
    try:
        value = quantity_value(text, unit)
    except QuantityError as error:
        sentence = f"{error}."[0].upper() + f"{error}."[1:]
        raise ReadingError(
            sentence,
            f"Write it like '1 3/8 in' or '35 mm'; {unit} is taken if no unit stands there.",
        ) from error
    low, high = (quantity_value(edge, unit) for edge in check.gauge.plausible)
    if not low <= value <= high:
        other = _other_unit(text, unit, low, high)
        guess = f"Did you mean {other}?" if other else "Read the gauge again."
        raise ReadingError(f"{text.strip()} can hardly be right here.", guess)
    for answer in check.answers:
        if answer.below is None or value < quantity_value(answer.below, unit):
            return answer
    raise AssertionError(check.id)  # the last band has no upper end


def _other_unit(text: str, unit: str, low: float, high: float) -> str:
    """The same number in a unit it is easily confused with, if that would be plausible."""
    written = parse_quantity(text, default_unit=unit)
    number = written.in_unit(written.unit)
    for other in _CONFUSED.get(written.unit, ()):
        guess = f"{number:g} {other}"
        if low <= quantity_value(guess, unit) <= high:
            return guess
    return ""
