"""Ways to use a calculator, for tests."""

import argparse

from diagnose.calculators import CALCULATORS, add_gauge_parser, calculate

# One plain use of each.
USES = {
    "runout": (
        "--readings",
        "0",
        "3",
        "-2",
        "3",
        "--unit",
        "thou",
        "--closing",
        "0",
        "--size",
        "1",
    ),
    "slave-travel": ("--master", "3/4 in", "--slave", "7/8 in", "--stroke", "1/4 in"),
    "torque": (
        *("--outer", "300 mm", "--inner", "130", "--clamp", "24300.2 N"),
        *("--friction", "0.2", "--engine", "600 Nm"),
    ),
    "bolt": ("1/2-13", "--grade", "8"),
    "stack-or-fork": (
        *("--fingers", "48 mm", "--kit-fingers", "45 mm", "--fork-ratio", "1.8"),
        *("--free-travel", "1 in", "--kit-free-travel", "1 in", "1 1/2 in"),
    ),
    "fluid": ("4", "--boils", "150 °C"),
    "spin-down": (
        "--test",
        "grind",
        "--time",
        "2 s",
        "--idle",
        "750 rpm",
        "--oil-temperature",
        "60",
    ),
    "frequency": ("12.5 Hz", "--engine", "750 rpm", "--cylinders", "8"),
    "convert": ("1 3/8 in", "mm"),
}


def gauge(*words):
    """Run the command."""
    parser = argparse.ArgumentParser(prog="pull-once")
    add_gauge_parser(parser.add_subparsers(required=True))
    arguments = parser.parse_args(["gauge", *words])
    return arguments.command(arguments)


def worked(name, **typed):
    """Values by key, through the door that dialogs use."""
    texts = {
        option.replace("_", "-"): (text,) if isinstance(text, str) else tuple(text)
        for option, text in typed.items()
    }
    outcome = calculate(CALCULATORS[name], texts)
    return {result.key: result.value for result in outcome.results}
