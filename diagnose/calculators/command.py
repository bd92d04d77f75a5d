"""The command ``gauge``: every calculator on the command line, made from its record."""

import argparse
import json
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any, Protocol

from diagnose.calculators.alignment import BOLT, RUNOUT
from diagnose.calculators.calculator import Calculator, CalculatorError, Option, Outcome, Values
from diagnose.calculators.driveline import FREQUENCY, TORQUE
from diagnose.calculators.fluid import FLUID
from diagnose.calculators.release import SLAVE_TRAVEL, STACK_OR_FORK
from diagnose.calculators.spin_down import SPIN_DOWN
from diagnose.calculators.units import CONVERT
from knowledge.load import load_base

CALCULATORS: Mapping[str, Calculator] = MappingProxyType(
    {
        calculator.name: calculator
        for calculator in (
            RUNOUT,
            SLAVE_TRAVEL,
            TORQUE,
            BOLT,
            STACK_OR_FORK,
            FLUID,
            SPIN_DOWN,
            FREQUENCY,
            CONVERT,
        )
    }
)


class Commands(Protocol):
    """Where parsers of commands are added: what ``add_subparsers`` gives."""

    def add_parser(self, name: str, **kwargs: Any) -> argparse.ArgumentParser:
        """Add the parser of one command."""
        ...


def add_gauge_parser(commands: Commands) -> None:
    """Add the command ``gauge`` with a parser for each calculator.

    Parameters
    ----------
    commands : Commands
        The subparsers of the program; the chosen one sets ``command`` to a function of the
        arguments that returns the exit status.
    """
    text = "Work out a gauge reading, a travel, a torque, a frequency."
    gauge = commands.add_parser("gauge", help=text, description=text)
    names = gauge.add_subparsers(required=True, metavar="NAME")
    for calculator in CALCULATORS.values():
        parser = names.add_parser(
            calculator.name, help=calculator.text, description=calculator.text
        )
        for option in calculator.options:
            _add(parser, option)
        parser.add_argument("--json", action="store_true", help="print JSON")
        parser.set_defaults(command=_run, calculator=calculator)


def _add(parser: argparse.ArgumentParser, option: Option) -> None:
    settings: dict[str, Any] = {"help": _help(option)}
    if option.choices:
        settings["choices"] = option.choices
    if option.many:
        settings["nargs"] = "+"
    if option.positional:
        parser.add_argument(option.name, metavar=option.name.upper(), **settings)
        return
    if not option.choices:
        settings["metavar"] = option.name.upper().replace("-", "_")
    parser.add_argument(f"--{option.name}", required=option.required, **settings)


def _help(option: Option) -> str:
    unit = f" ({option.unit} if none is written)" if option.unit else ""
    default = f"; {option.default} if left out" if option.default else ""
    return f"{option.text}{unit}{default}".replace("%", "%%")


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
    options = {option.name: option for option in calculator.options}
    for name, texts in typed.items():
        if name not in options:
            raise CalculatorError(f"{calculator.name} does not ask for {name!r}.")
        allowed = options[name].choices
        wrong = [text for text in texts if allowed and text not in allowed]
        if wrong:
            raise CalculatorError(f"{name} can't be {wrong[0]!r}.", f"It is {', '.join(allowed)}.")
    for option in options.values():
        if option.required and not any(text.strip() for text in typed.get(option.name, ())):
            raise CalculatorError(f"{option.name} is missing.", f"Give it: {option.text}.")
    return calculator.run(Values(options, typed))


def _run(arguments: argparse.Namespace) -> int:
    calculator: Calculator = arguments.calculator
    typed = _typed(calculator, arguments)
    outcome = calculate(calculator, typed)
    if arguments.json:
        print(json.dumps(outcome_json(calculator, typed, outcome), indent=2, allow_nan=False))
    else:
        print("\n".join(outcome_lines(calculator, outcome)))
    return 0


def _typed(calculator: Calculator, arguments: argparse.Namespace) -> Mapping[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for option in calculator.options:
        value = getattr(arguments, option.name.replace("-", "_"))
        if value is not None:
            found[option.name] = tuple(value) if option.many else (value,)
    return found


def _cautions(calculator: Calculator, outcome: Outcome) -> list[str]:
    known = load_base().cautions
    return [known[name].text for name in (*outcome.cautions, *calculator.cautions)]


def outcome_lines(calculator: Calculator, outcome: Outcome) -> Iterable[str]:
    """Say the results in lines, cautions first and the maker last."""
    for text in _cautions(calculator, outcome):
        yield f"! {text}"
    for result in outcome.results:
        yield result.line
    yield from outcome.notes
    yield f"Source: {'; '.join(calculator.sources)}."
    yield calculator.deferral


def outcome_json(
    calculator: Calculator, typed: Mapping[str, tuple[str, ...]], outcome: Outcome
) -> dict[str, Any]:
    """Give the results in their stable JSON form, values in the inside units."""
    return {
        "calculator": calculator.name,
        "typed": {name: list(texts) for name, texts in typed.items()},
        "results": {r.key: {"value": r.value, "unit": r.unit} for r in outcome.results},
        "notes": list(outcome.notes),
        "cautions": _cautions(calculator, outcome),
        "sources": list(calculator.sources),
        "deferral": calculator.deferral,
    }
