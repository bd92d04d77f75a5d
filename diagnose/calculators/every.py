"""All calculators, by name, in the order they are offered."""

from collections.abc import Mapping
from types import MappingProxyType

from diagnose.calculators.bolt import BOLT
from diagnose.calculators.calculator import Calculator
from diagnose.calculators.driveline import FREQUENCY, TORQUE
from diagnose.calculators.fluid import FLUID
from diagnose.calculators.runout import RUNOUT
from diagnose.calculators.slave_travel import SLAVE_TRAVEL
from diagnose.calculators.spin_down import SPIN_DOWN
from diagnose.calculators.stack_or_fork import STACK_OR_FORK
from diagnose.calculators.units import CONVERT

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
