"""Calculators of the workshop: ``pull-once gauge NAME``, and the dialogs that do the same.

Each is a record of what it asks, where its formula comes from and what it warns of first, with one
function from the typed texts to results. The command line and the window are made from that.
"""

from diagnose.calculators.calculator import Calculator, CalculatorError, Outcome
from diagnose.calculators.command import CALCULATORS, add_gauge_parser, calculate

__all__ = [
    "CALCULATORS",
    "Calculator",
    "CalculatorError",
    "Outcome",
    "add_gauge_parser",
    "calculate",
]
