"""The kit's sheet: the figures it may give for a clutch, and what a text typed for one says.

A figure is a value ("45 mm", "1 3/8 in"), a value with a tolerance ("45 +- 1 mm", "4500 N +- 5 %")
or a range ("44 to 46 mm"). What stands between the ends of a tolerance or a range is taken to hold
95 in 100 good parts: half of it is two standard deviations (`judgement`, sheets do not say).

A number that no kit can have is refused. One far from what such clutches have is taken, but asked
about.
"""

import re
from collections.abc import Mapping
from math import inf
from types import MappingProxyType
from typing import NamedTuple

from diagnose.errors import PullOnceError
from diagnose.physics.figures import FIGURE_KINDS
from diagnose.physics.release_system import ReleaseSystem
from knowledge.quantity import (
    QuantityError,
    dimension_of,
    ends_of_range,
    in_unit,
    parse_quantity,
)
from knowledge.release import SHEET_FIGURES
from knowledge.translate import guess_at

TOLERANCE_IN_DEVIATIONS = 2.0
FAR = 2.0  # times the preset's figure, or a part of it, from which on one asks back
_NEAR = 1.6  # times, within which another unit is what was meant


class SheetError(PullOnceError):
    """A figure of the kit's sheet that is none, or that no clutch can have."""


class SheetValue(NamedTuple):
    """What the sheet says of one figure, in the inside unit.

    Attributes
    ----------
    nominal : float
    uncertainty : float or None
        Standard uncertainty by the tolerance; None where none is written.
    """

    nominal: float
    uncertainty: float | None = None


class Row(NamedTuple):
    """One line of the sheet: the figure, what a fitter calls it, and what it needs to exist."""

    figure: str
    name: str
    needs: str = ""


class Group(NamedTuple):
    """Lines of the sheet that belong together.

    Attributes
    ----------
    title : str
    rows : tuple of Row
    needs : str
        What there must be for the group to exist.
    works_it : bool
        Whether it is what works the clutch, not the clutch itself.
    """

    title: str
    rows: tuple[Row, ...]
    needs: str = ""
    works_it: bool = False


class _Kind(NamedTuple):
    meaning: str
    unit: str
    low: float
    high: float


_PEDAL = (
    Row("pedal_travel", "Pedal travel, rest to stop"),
    Row("pedal_ratio", "Pedal ratio"),
    Row("master_bore", "Bore of the master cylinder", "fluid"),
    Row("slave_bore", "Bore of the slave cylinder", "outside slave"),
    Row("slave_bore", "Outer diameter of the ring-shaped slave", "ring slave"),
    Row("slave_core", "Inner diameter of the ring-shaped slave", "ring slave"),
    Row("linkage_ratio", "Ratio of the rods, pedal to fork", "rods"),
)

_FORK = (
    Row("fork_ratio", "Fork ratio"),
    Row("fork_free_travel", "Free travel at the fork end"),
    Row("pivot_spacer", "Spacer under the fork’s pivot"),
)
_BEARING = (Row("reserve", "Gap to the fingers, slave pushed back"),)
_COVER = (
    Row("finger_height", "Finger height"),
    Row("cover_travel", "Release travel the cover allows"),
    Row("diaphragm_ratio", "Diaphragm or lever ratio"),
    Row("clamp_load", "Clamp load"),
)
_DISCS = (
    Row("disc_thickness", "Thickness of a disc, clamped"),
    Row("floater_thickness", "Thickness of the floater", "several discs"),
    Row("lift_needed", "Plate lift that frees the discs"),
    Row("facing_outer", "Outer diameter of the facings"),
    Row("facing_inner", "Inner diameter of the facings"),
    Row("friction", "Coefficient of friction"),
)
_ENGINE = (Row("engine_torque", "Greatest torque of the engine"),)

# What a group or a line needs is one of `_has`.
_SHEET = (
    Group("Pedal and cylinders", _PEDAL, "fluid", works_it=True),
    Group("Pedal and linkage", _PEDAL, "no fluid", works_it=True),
    Group("Fork and bearing", _FORK, "fork", works_it=True),
    Group("Bearing", _BEARING, "no fork", works_it=True),
    Group("Engine", _ENGINE, works_it=True),
    Group("Cover and fingers", _COVER),
    Group("Discs and flywheel", _DISCS),
)
SHEET_NAMES = frozenset(row.figure for group in _SHEET for row in group.rows)

# Units that sheets are written in, where they are not those inside the program.
_WRITTEN_IN: Mapping[str, str] = MappingProxyType({"engine_torque": "N m"})
# Units a number may be meant in where it makes no sense as typed.
_CONFUSED: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "length": ("mm", "in", "cm"),
        "force": ("N", "lbf", "kN", "kgf"),
        "torque": ("N m", "lbf ft"),
    }
)
_TO_ONE = re.compile(r"\s*(?::|to)\s*1\s*$", re.I)  # "5.5 : 1" is a ratio, not a range
_TOLERANCE = re.compile(r"^(?P<middle>.+?)\s*(?:±|\+\s*/?\s*[-−])\s*(?P<half>.*)$")


def sheet_for(system: ReleaseSystem) -> tuple[Group, ...]:
    """Give the lines of the sheet that play a part in a system, in groups."""
    there = _has(system)
    return tuple(
        group._replace(rows=tuple(row for row in group.rows if row.needs in there))
        for group in _SHEET
        if group.needs in there
    )


def plays_part(system: ReleaseSystem, figure: str) -> bool:
    """Say whether the sheet of a system has a line for a figure."""
    return any(row.figure == figure for group in sheet_for(system) for row in group.rows)


def _has(system: ReleaseSystem) -> frozenset[str]:
    ring = system.linkage == "concentric_slave"
    return frozenset(
        (
            "",
            "fluid" if system.hydraulic else "no fluid",
            "no fork" if system.fork == "none" else "fork",
            *(("ring slave",) if ring else ()),
            *(("outside slave",) if system.hydraulic and not ring else ()),
            *(("rods",) if system.linkage == "rod" else ()),
            *(("several discs",) if system.discs > 1 else ()),
        )
    )


def sheet_unit(figure: str) -> str:
    """Give the unit a figure of the sheet is in where none is written; "" for ratios."""
    return _kind(figure).unit


def sheet_meaning(figure: str) -> str:
    """Say what a figure of the sheet is, in words."""
    return _kind(figure).meaning


def name_of(figure: str) -> str:
    """Say in a few words what a fitter calls a figure of the sheet."""
    _kind(figure)
    return next(row.name for group in _SHEET for row in group.rows if row.figure == figure)


def _kind(figure: str) -> _Kind:
    if figure not in SHEET_NAMES:
        guess = guess_at(figure, SHEET_NAMES)
        step = f"Did you mean {guess!r}?" if guess else "Correct the case file."
        raise SheetError(f"A kit's sheet has no figure {figure!r}.", step)
    if figure in SHEET_FIGURES:
        return _Kind(*SHEET_FIGURES[figure][:4])
    kind = FIGURE_KINDS[figure]
    return _Kind(kind.meaning, _WRITTEN_IN.get(figure, kind.unit), kind.low, kind.high)


def in_words(value: float, unit: str, *, digits: int = 4) -> str:
    """Write an inside value as a number in a unit, without the unit."""
    return f"{float(f'{in_unit(value, unit):.{digits}g}'):.15g}"


def read_sheet(figure: str, text: str) -> SheetValue:
    """Read what the sheet says of one figure.

    Parameters
    ----------
    figure : str
    text : str
        As typed; its own unit is taken where none is written.

    Returns
    -------
    SheetValue

    Raises
    ------
    SheetError
        If there is no such figure, the text is no quantity of its kind, or no kit can have it.
    """
    kind = _kind(figure)
    plain = _TO_ONE.sub("", text) if not kind.unit else text
    tolerance, span = _TOLERANCE.match(plain), ends_of_range(plain)
    try:
        if tolerance:
            value = _with_tolerance(kind, tolerance["middle"], tolerance["half"])
        elif span:
            value = _between(kind, *span)
        else:
            _require_unit_of_fraction(kind, plain)
            value = SheetValue(_quantity(kind, plain, kind.unit))
    except QuantityError as error:
        sentence = f"{error}."
        raise SheetError(sentence[0].upper() + sentence[1:], _how(kind)) from error
    reach = TOLERANCE_IN_DEVIATIONS * (value.uncertainty or 0.0)
    if not kind.low <= value.nominal - reach <= value.nominal + reach <= kind.high:
        raise _implausible(kind, text)
    return value


def _with_tolerance(kind: _Kind, middle: str, half: str) -> SheetValue:
    if not half.strip():
        raise SheetError("The tolerance is missing.", _how(kind))
    unit = _unit_of(half) or _unit_of(middle)
    if not unit:
        _require_unit_of_fraction(kind, middle, half)
    nominal = _quantity(kind, middle, _unit_of(middle) or unit or kind.unit)
    if half.rstrip().endswith("%"):
        reach = abs(nominal) * parse_quantity(half).value
    else:
        reach = _quantity(kind, half, unit or kind.unit)
    if reach < 0.0:
        raise SheetError(f"The tolerance {half.strip()} is below nothing.", _how(kind))
    return SheetValue(nominal, reach / TOLERANCE_IN_DEVIATIONS)


def _between(kind: _Kind, first: str, second: str) -> SheetValue:
    unit = _unit_of(second) or _unit_of(first)
    if not unit:
        _require_unit_of_fraction(kind, first, second)
    low = _quantity(kind, first, _unit_of(first) or unit or kind.unit)
    high = _quantity(kind, second, unit or kind.unit)
    if not low < high:
        raise SheetError(
            f"{first.strip()} to {second.strip()} is no range.", "Write the smaller value first."
        )
    return SheetValue((low + high) / 2.0, (high - low) / 2.0 / TOLERANCE_IN_DEVIATIONS)


def _quantity(kind: _Kind, text: str, unit: str) -> float:
    dimension = dimension_of(kind.unit)
    return parse_quantity(text, dimension=dimension, default_unit=unit).value


def _unit_of(text: str) -> str:
    """The unit that is written; empty if there is none, or only a share."""
    unit = parse_quantity(text).unit
    return "" if unit == "%" else unit


def _require_unit_of_fraction(kind: _Kind, *texts: str) -> None:
    """Refuse "1 3/8" where millimetres are meant: nobody writes those in fractions."""
    for text in texts:
        if kind.unit == "mm" and "/" in text and not _unit_of(text):
            raise SheetError(
                f"{text.strip()} stands there without its unit.",
                f"Did you mean {text.strip()} in? Write the unit with it.",
            )


def _implausible(kind: _Kind, text: str) -> SheetError:
    fitting = [g.text for g in _guesses(kind, text) if kind.low <= g.value <= kind.high]
    if fitting:
        step = f"Did you mean {fitting[0]}?"
    elif kind.high == inf:
        step = f"It is at least {in_words(kind.low, kind.unit)} {kind.unit}.".replace(" .", ".")
    else:
        low, high = in_words(kind.low, kind.unit), in_words(kind.high, kind.unit)
        step = f"It lies between {low} and {high} {kind.unit}".rstrip() + "."
    return SheetError(f"{text.strip()} can't be right: {kind.meaning}.", step)


class _Guess(NamedTuple):
    text: str
    value: float


def _guesses(kind: _Kind, text: str) -> list[_Guess]:
    """The same number in the units it is easily confused with; none for ranges and tolerances."""
    try:
        written = parse_quantity(text, default_unit=kind.unit)
    except QuantityError:
        return []
    number = written.in_unit(written.unit)
    others = (u for u in _CONFUSED.get(written.dimension, ()) if u != written.unit)
    texts = [f"{number:g} {unit}" for unit in others]
    return [_Guess(guess, parse_quantity(guess).value) for guess in texts]


def _how(kind: _Kind) -> str:
    if not kind.unit:
        return "Write it like '1.8' or '1.8 : 1'."
    like = {"N": "'4500 N'", "N m": "'300 N m'"}.get(kind.unit, "'45 mm' or '1 3/8 in'")
    return f"Write it like {like}, if you like with a tolerance (+-)."


def doubt(figure: str, text: str, usual: float) -> str:
    """Ask back where a figure lies far from what such clutches have; it is taken all the same.

    Parameters
    ----------
    figure : str
    text : str
        One that `read_sheet` takes.
    usual : float
        What the preset has, in the inside unit.

    Returns
    -------
    str
        A sentence, or nothing.
    """
    kind, value = _kind(figure), read_sheet(figure, text).nominal
    if _times(value, usual) <= FAR or (figure == "pivot_spacer" and value == 0.0):
        return ""
    meant = [g.text for g in _guesses(kind, text) if _times(g.value, usual) <= _NEAR]
    has = f"{in_words(usual, kind.unit, digits=3)} {kind.unit}".rstrip()
    if meant:
        return f"Such clutches have about {has}. Did you mean {meant[0]}?"
    # Makers tell the height of the fingers from datums of their own: only a slip shows.
    return "" if figure == "finger_height" else f"Such clutches have about {has}. Look once more."


def _times(one: float, other: float) -> float:
    """How many times the smaller goes into the larger; infinite where the signs differ."""
    if one == other:
        return 1.0
    return max(one / other, other / one) if one * other > 0.0 else inf
