"""What a calculator is: what it asks, what comes out, and what that says about a case."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from diagnose.calculators.option import Option
from diagnose.calculators.values import CalculatorError, MissingError, Values
from diagnose.calculators.words import say

DEFERRAL = "The figures of the vehicle's and the kit's maker come before these."


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
    def words(self) -> str:
        """The value in words and units."""
        return self.shown or say(self.value, self.unit)

    @property
    def line(self) -> str:
        """The result in words and units."""
        return f"{self.label}: {self.words}"


class Turn(NamedTuple):
    """One turn of a dial, to be drawn.

    Attributes
    ----------
    angles : tuple of float
        Degrees clockwise from 12 o'clock.
    readings : tuple of str
        As typed, one at each angle.
    toward : float or None
        Where it is off to, or stands high; None if nowhere.
    """

    angles: tuple[float, ...]
    readings: tuple[str, ...]
    toward: float | None


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
    headline : str
        What it comes to, in one sentence; empty where the first result says it.
    turn : Turn or None
        The dial readings, where there are some.
    """

    results: tuple[Result, ...]
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    headline: str = ""
    turn: Turn | None = None


class ReadingOf(NamedTuple):
    """A figure that is a reading of a measurement of the knowledge base.

    Attributes
    ----------
    measurement : str
        Id of the measurement.
    result : str
        Key of the result that is the reading; empty if `option` is.
    option : str
        Name of the option that is the reading, as it was typed.
    instrument : str or None
        What it is read with, by the measurement's own id; None for what is usually taken.
    when : mapping
        Name of an option -> word it must have, for it to be that reading.
    """

    measurement: str
    result: str = ""
    option: str = ""
    instrument: str | None = None
    when: Mapping[str, str] = {}


class AnswerTo(NamedTuple):
    """A result that is the answer to a check of the knowledge base.

    Attributes
    ----------
    check : str
        Id of the check.
    result : str
        Key of the result, whose value is a word.
    answers : mapping
        Word -> id of the check's answer; other words are no answer.
    """

    check: str
    result: str
    answers: Mapping[str, str]


@dataclass(frozen=True)
class Calculator:
    """A calculator.

    Attributes
    ----------
    name : str
        As on the command line.
    label : str
        What people call it.
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
    readings : tuple of ReadingOf
        What of it can be a reading in a case.
    answers : tuple of AnswerTo
        What of it can be the answer to a check.
    """

    name: str
    label: str
    text: str
    options: tuple[Option, ...]
    run: Callable[[Values], Outcome]
    sources: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    deferral: str = DEFERRAL
    readings: tuple[ReadingOf, ...] = ()
    answers: tuple[AnswerTo, ...] = ()

    def option(self, name: str) -> Option:
        """Give one option.

        Raises
        ------
        CalculatorError
            If the calculator does not ask for it.
        """
        found = next((option for option in self.options if option.name == name), None)
        if found is None:
            raise CalculatorError(f"{self.name} does not ask for {name!r}.")
        return found

    def values(self, typed: Mapping[str, tuple[str, ...]]) -> Values:
        """Give what was typed, to be read.

        Raises
        ------
        CalculatorError
            If the calculator does not ask for it, or a word is none of the choices.
        """
        for name, texts in typed.items():
            option = self.option(name)
            wrong = [text for text in texts if option.choices and text not in option.choices]
            if wrong:
                raise CalculatorError(
                    f"{option.label} can't be {wrong[0]!r}.", f"It is {', '.join(option.choices)}."
                )
        return Values({option.name: option for option in self.options}, typed)


def calculate(calculator: Calculator, typed: Mapping[str, tuple[str, ...]]) -> Outcome:
    """Run a calculator on what was typed.

    Parameters
    ----------
    calculator : Calculator
    typed : mapping
        Name of an option -> its texts.

    Raises
    ------
    PullOnceError
        If something is missing, can't be read, or can't be right.
    """
    values = calculator.values(typed)
    missing = [
        option
        for option in calculator.options
        if option.required and not any(text.strip() for text in typed.get(option.name, ()))
    ]
    if missing:
        raise MissingError.of(*missing)
    return calculator.run(values)
