"""What came out of a calculator as an entry of a case: a reading, or the answer to a check."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from diagnose.calculators.calculator import AnswerTo, Calculator, Outcome, ReadingOf
from diagnose.calculators.every import CALCULATORS
from diagnose.calculators.values import Values
from diagnose.calculators.words import convert, digits, say
from diagnose.case import Case
from diagnose.gauge import ReadingError, answer_for_reading
from knowledge.model import Check, KnowledgeBase
from knowledge.quantity import QuantityError
from knowledge.tree import share_that_fits

_LONGEST_NOTE = 2000


@dataclass(frozen=True)
class Offer:
    """An entry that a case could get.

    Attributes
    ----------
    check : str
        Id of the check that it answers.
    answer : str
        Id of the answer; empty if the reading is refused.
    reading : str
        In the measurement's unit; empty for an answer without one.
    instrument : str or None
        What it was read with; None for what is usually taken.
    note : str
        How it was worked out.
    refusal : str
        Why the reading can't be taken; empty if it can.
    """

    check: str
    answer: str
    reading: str = ""
    instrument: str | None = None
    note: str = ""
    refusal: str = ""


def offers(
    base: KnowledgeBase,
    case: Case,
    calculator: Calculator,
    typed: Mapping[str, tuple[str, ...]],
    outcome: Outcome,
) -> tuple[Offer, ...]:
    """Give what a calculator's figures say of the checks that a case's set-up allows.

    Parameters
    ----------
    base : KnowledgeBase
    case : Case
    calculator : Calculator
    typed : mapping
        What the user typed, and nothing else.
    outcome : Outcome
        What came out.

    Returns
    -------
    tuple of Offer
        In the order of the base; empty if nothing of it is a reading there.
    """
    values = calculator.values(typed)
    note = worked_out(calculator, typed)
    fitting = [
        check
        for check in base.checks.values()
        if share_that_fits(base, case.facts, check.when) > 0.0
    ]
    found = [
        _offer(base, check, reading, text, note)
        for reading, text in readings(base, calculator, values, outcome)
        for check in fitting
        if check.gauge == reading.measurement
    ]
    for told in calculator.answers:
        answer = _answer(told, outcome)
        found += [
            Offer(check.id, answer, note=note)
            for check in fitting
            if check.id == told.check and any(a.id == answer for a in check.answers)
        ]
    return tuple(found)


def calculator_for(base: KnowledgeBase, check: str) -> tuple[Calculator, Mapping[str, str]] | None:
    """Find the calculator that works out what a check asks, and the words it has to be given.

    Returns
    -------
    tuple of Calculator and mapping, or None
        Name of an option -> its word; None if none works it out.
    """
    gauge = base.checks[check].gauge
    for calculator in CALCULATORS.values():
        for reading in calculator.readings:
            if reading.measurement == gauge:
                return calculator, reading.when
        if any(told.check == check for told in calculator.answers):
            return calculator, {}
    return None


def readings(
    base: KnowledgeBase, calculator: Calculator, values: Values, outcome: Outcome
) -> Iterator[tuple[ReadingOf, str]]:
    """Give each figure that is a reading of a measurement, written in the measurement's unit."""
    for reading in calculator.readings:
        measurement = base.measurements.get(reading.measurement)
        if measurement is None or any(values.word(n) != w for n, w in reading.when.items()):
            continue
        value, kind = _figure(reading, calculator, values, outcome)
        if value is not None:
            try:
                shown = convert(value, kind, measurement.unit)
            except QuantityError:  # a folder laid over the base measures something else by that id
                continue
            yield reading, f"{digits(shown)} {measurement.unit}".strip()


def worked_out(calculator: Calculator, typed: Mapping[str, tuple[str, ...]]) -> str:
    """Say how something was worked out: by what, and from what was typed."""
    given = [
        f"{option.label} {', '.join(typed[option.name])}"
        for option in calculator.options
        if typed.get(option.name)
    ]
    text = f"Worked out by “{calculator.label}”: {'; '.join(given)}."
    return text if len(text) <= _LONGEST_NOTE else f"{text[: _LONGEST_NOTE - 1]}…"


def _figure(
    reading: ReadingOf, calculator: Calculator, values: Values, outcome: Outcome
) -> tuple[float | None, str]:
    """Find the figure, inside, and a unit of its kind."""
    if reading.option:
        return values.maybe(reading.option), calculator.option(reading.option).unit or ""
    for result in outcome.results:
        if result.key == reading.result and isinstance(result.value, float):
            return result.value, result.unit
    return None, ""


def _offer(base: KnowledgeBase, check: Check, reading: ReadingOf, text: str, note: str) -> Offer:
    known = base.measurements[reading.measurement].instruments
    instrument = reading.instrument if reading.instrument in known else None
    try:
        answer = answer_for_reading(base, check, text).id
    except ReadingError as error:
        return Offer(check.id, "", text, instrument, note, str(error))
    return Offer(check.id, answer, text, instrument, note)


def _answer(told: AnswerTo, outcome: Outcome) -> str:
    """Give the answer that all words of the result mean; empty if they differ or mean none."""
    for result in outcome.results:
        if result.key == told.result:
            said = say(result.value, result.unit).split(", ")
            meant = {told.answers.get(word, "") for word in said}
            return meant.pop() if len(meant) == 1 else ""
    return ""
