"""The command ``gauge``: every calculator on the command line, made from its record."""

import argparse
import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, NamedTuple, Protocol

from diagnose.calculators.calculator import Calculator, Outcome, calculate
from diagnose.calculators.every import CALCULATORS
from diagnose.calculators.offers import readings
from diagnose.calculators.option import Option
from diagnose.calculators.prefill import Known, from_case, with_known
from diagnose.calculators.several import several
from diagnose.case import Case
from diagnose.case_file import read_case_file
from knowledge.load import load_base
from knowledge.model import KnowledgeBase

Typed = Mapping[str, tuple[str, ...]]


class Commands(Protocol):
    """Where parsers of commands are added: what ``add_subparsers`` gives."""

    def add_parser(self, name: str, **kwargs: Any) -> argparse.ArgumentParser:
        """Add the parser of one command."""
        ...


class Worked(NamedTuple):
    """What was asked on the command line, and what came out.

    Attributes
    ----------
    base : KnowledgeBase
    calculator : Calculator
    typed : mapping
        Name of an option -> its texts.
    known : mapping
        Name of an option that was left out -> what the case knows of it.
    outcome : Outcome
    """

    base: KnowledgeBase
    calculator: Calculator
    typed: Typed
    known: Mapping[str, Known]
    outcome: Outcome


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
        if any(option.setup for option in calculator.options):
            parser.add_argument(
                "--case",
                type=Path,
                metavar="CASE",
                help="a case file; what is left out is taken from its set-up",
            )
        parser.add_argument("--json", action="store_true", help="print JSON")
        parser.set_defaults(command=_run, calculator=calculator, parser=parser, case=None)


def _add(parser: argparse.ArgumentParser, option: Option) -> None:
    settings: dict[str, Any] = {"help": option.help.replace("%", "%%")}
    if option.choices:
        settings["choices"] = option.choices
    if option.many:
        settings["nargs"] = "+"
    if option.positional:
        parser.add_argument(option.name, metavar=option.name.upper(), **settings)
        return
    if not option.choices:
        settings["metavar"] = option.name.upper().replace("-", "_")
    parser.add_argument(f"--{option.name}", **settings)


def _run(arguments: argparse.Namespace) -> int:
    calculator: Calculator = arguments.calculator
    parser: argparse.ArgumentParser = arguments.parser
    base = load_base()
    typed = _typed(calculator, arguments)
    case = Case() if arguments.case is None else read_case_file(arguments.case, base)
    all_known = from_case(calculator, case, typed)
    known = {name: value for name, value in all_known.items() if name not in typed}
    missing = [
        f"--{option.name}"
        for option in calculator.options
        if option.required and option.name not in {*typed, *known}
    ]
    if missing:
        parser.error(f"the following arguments are required: {', '.join(missing)}")
    outcome = calculate(calculator, with_known(typed, known))
    worked = Worked(base, calculator, typed, known, outcome)
    if arguments.json:
        print(json.dumps(outcome_json(worked), indent=2, allow_nan=False))
    else:
        print("\n".join(outcome_lines(worked)))
    return 0


def _typed(calculator: Calculator, arguments: argparse.Namespace) -> Typed:
    found: dict[str, tuple[str, ...]] = {}
    for option in calculator.options:
        value = getattr(arguments, option.name.replace("-", "_"))
        if value is not None:
            found[option.name] = several(";".join(value)) if option.many else (value,)
    return found


def _cautions(worked: Worked) -> list[str]:
    ids = dict.fromkeys((*worked.outcome.cautions, *worked.calculator.cautions))
    return [worked.base.cautions[name].text for name in ids]


def _readings(worked: Worked) -> dict[str, str]:
    """Give what is a reading of a measurement, by the measurement's id."""
    values = worked.calculator.values(worked.typed)
    found = readings(worked.base, worked.calculator, values, worked.outcome)
    return {reading.measurement: text for reading, text in found}


def outcome_lines(worked: Worked) -> Iterable[str]:
    """Say the results in lines, cautions first and the maker last."""
    for text in _cautions(worked):
        yield f"! {text}"
    if worked.outcome.headline:
        yield worked.outcome.headline
    for result in worked.outcome.results:
        yield result.line
    yield from worked.outcome.notes
    for name, known in worked.known.items():
        yield f"{worked.calculator.option(name).label}: {known.text}, {known.origin}"
    for name, text in _readings(worked).items():
        yield f"In a case: {text} is a reading of “{worked.base.measurements[name].name}”."
    yield f"Source: {'; '.join(worked.calculator.sources)}."
    yield worked.calculator.deferral


def outcome_json(worked: Worked) -> dict[str, Any]:
    """Give the results in their stable JSON form, values in the inside units."""
    return {
        "calculator": worked.calculator.name,
        "typed": {name: list(texts) for name, texts in worked.typed.items()},
        "from_case": {name: known.text for name, known in worked.known.items()},
        "headline": worked.outcome.headline,
        "results": {r.key: {"value": r.value, "unit": r.unit} for r in worked.outcome.results},
        "notes": list(worked.outcome.notes),
        "readings": _readings(worked),
        "cautions": _cautions(worked),
        "sources": list(worked.calculator.sources),
        "deferral": worked.calculator.deferral,
    }
