"""Calculators of the workshop: ``pull-once gauge NAME``, and the dialog that does the same.

Each is a record of what it asks, where its formula comes from, what it warns of first and what of
it a case can take, with one function from the typed texts to results. The command line and the
window are made from that.
"""

from diagnose.calculators.calculator import Calculator, Outcome, Result, Turn, calculate
from diagnose.calculators.command import add_gauge_parser
from diagnose.calculators.every import CALCULATORS
from diagnose.calculators.offers import Offer, calculator_for, offers
from diagnose.calculators.option import Option
from diagnose.calculators.prefill import Known, from_case, with_known
from diagnose.calculators.several import several
from diagnose.calculators.values import CalculatorError, MissingError

__all__ = [
    "CALCULATORS",
    "Calculator",
    "CalculatorError",
    "Known",
    "MissingError",
    "Offer",
    "Option",
    "Outcome",
    "Result",
    "Turn",
    "add_gauge_parser",
    "calculate",
    "calculator_for",
    "from_case",
    "offers",
    "several",
    "with_known",
]
