"""What the set-up of a case knows already of what a calculator asks."""

from collections.abc import Callable, Mapping
from math import sqrt
from typing import NamedTuple

from diagnose.calculators.calculator import Calculator
from diagnose.calculators.option import Option
from diagnose.calculators.several import several
from diagnose.calculators.words import convert, digits
from diagnose.case import Case
from diagnose.physics.observables import observables_of, read
from diagnose.physics.predict import predict
from diagnose.physics.release_chain import chain_of
from diagnose.physics.release_system import ReleaseSystem
from diagnose.system import system_of
from knowledge.release import FIGURE_KINDS, OBSERVABLE_UNITS

FROM_SETUP = "from the set-up"
FROM_SHEET = "from the kit's sheet"

# Figures that play a part only with a fluid, with a ring-shaped slave, with a fork.
_OF_FLUID = frozenset(
    {"master_bore", "slave_bore", "air", "fluid", "fluid_modulus", "hose_length", "hose_swell"}
)
_OF_RING = frozenset({"slave_core"})
_OF_FORK = frozenset({"fork_ratio"})


class Known(NamedTuple):
    """Something the set-up knows.

    Attributes
    ----------
    text : str
        As one would type it.
    origin : str
        `FROM_SETUP` or `FROM_SHEET`.
    """

    text: str
    origin: str


def from_case(
    calculator: Calculator, case: Case, typed: Mapping[str, tuple[str, ...]] | None = None
) -> Mapping[str, Known]:
    """Give what a case's set-up knows of what a calculator asks.

    Parameters
    ----------
    calculator : Calculator
    case : Case
    typed : mapping, optional
        What was typed already: some figures hold only together with another word.

    Returns
    -------
    mapping
        Name of an option -> what is known of it; empty while the set-up is not known.

    Raises
    ------
    SheetError
        If a figure of the kit's sheet can't be.
    """
    system = system_of(case)
    if system is None:
        return {}
    values = calculator.values(typed or {})
    found: dict[str, Known] = {}
    for option in calculator.options:
        holds = option.setup_if is None or values.word(option.setup_if[0]) == option.setup_if[1]
        text = _text(option, system) if option.setup and holds else ""
        if text:
            found[option.name] = Known(text, FROM_SHEET if option.setup in case.kit else FROM_SETUP)
    return found


def with_known(
    typed: Mapping[str, tuple[str, ...]], known: Mapping[str, Known]
) -> Mapping[str, tuple[str, ...]]:
    """Give what was typed, and what is known where nothing was."""
    return {**{name: several(value.text) for name, value in known.items()}, **typed}


def _text(option: Option, system: ReleaseSystem) -> str:
    """Say what the system has; empty where it plays no part there."""
    name = option.setup
    words = {"discs": str(system.discs), "cover": system.cover, "fork": _word(system.fork)}
    if name in words:
        return "" if option.choices and words[name] not in option.choices else words[name]
    if name in FIGURE_KINDS and not option.many:
        if not _plays_a_part(name, system):
            return ""
        nominal = getattr(system.figures, name).nominal
        return _said((nominal,), FIGURE_KINDS[name].unit, option, write=_exactly)
    values, unit = _worked_out(option, system)
    return _said(values, unit, option, write=_roughly if option.many else digits) if values else ""


def _worked_out(option: Option, system: ReleaseSystem) -> tuple[tuple[float, ...], str]:
    """Give what the chain has to say, in the inside unit, and that unit; nothing if nothing."""
    name = option.setup
    if name == "fork_load":
        chain = chain_of(system)
        return ((float(chain.fork_load(chain.down)[0]),) if system.hydraulic else ()), "N"
    if name not in observables_of(system):
        return (), ""
    values = _range(system, name) if option.many else (read(system, name),)
    return values, OBSERVABLE_UNITS[name]


def _word(layout: str) -> str:
    return layout.replace("_", "-")


def _plays_a_part(name: str, system: ReleaseSystem) -> bool:
    return not (
        (name in _OF_FLUID and not system.hydraulic)
        or (name in _OF_RING and system.linkage != "concentric_slave")
        or (name in _OF_FORK and system.fork == "none")
    )


def _range(system: ReleaseSystem, name: str) -> tuple[float, ...]:
    """Give the ends of the rectangle that scatters as the healthy system's reading does."""
    law = predict(system, (name,))
    half = sqrt(3.0 * float(law.covariance[0, 0, 0]))
    middle = float(law.mean[0, 0])
    return (middle - half, middle + half)


def _said(
    values: tuple[float, ...], inside: str, option: Option, *, write: Callable[[float], str]
) -> str:
    """Write values in the unit of the option; a unit that no text can hold is left out."""
    unit = option.unit or ""
    shown = values if not unit else tuple(convert(value, inside, unit) for value in values)
    return f"{' to '.join(write(value) for value in shown)} {unit}".strip()


def _exactly(value: float) -> str:
    return f"{value:.7g}"


def _roughly(value: float) -> str:
    return f"{value:.3g}"
