"""The release system of a case: the set-up's figures, and what the kit's sheet says instead."""

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from math import inf
from types import MappingProxyType

from diagnose.case import Case
from diagnose.errors import PullOnceError
from diagnose.physics.figures import FIGURE_KINDS, FigureError, Parameter
from diagnose.physics.fork import Layout
from diagnose.physics.presets import PRESETS
from diagnose.physics.release_system import ReleaseSystem
from knowledge.model import Needs, quantity_value
from knowledge.quantity import QuantityError
from knowledge.release import SHEET_FIGURES

DISCS: Mapping[str, int] = MappingProxyType({"one": 1, "two": 2, "three": 3})


class SheetError(PullOnceError):
    """A figure of the kit's sheet that is none, or that no clutch can have."""


def system_of(case: Case) -> ReleaseSystem | None:
    """Give the release system of a case.

    Parameters
    ----------
    case : Case

    Returns
    -------
    ReleaseSystem or None
        None as long as the set-up is not known well enough to tell which it is.

    Raises
    ------
    SheetError
        If a figure of the kit's sheet can't be.
    """
    arranged = arrangement(case.setup, case.facts)
    return None if arranged is None else with_sheet(arranged, case.kit)


def arrangement(setup: str | None, facts: Needs) -> ReleaseSystem | None:
    """Give the preset of a set-up, with discs and fork as the facts have them.

    Where the facts fit the named preset no more, or none is named, any that fits is taken if how
    the clutch is worked, the cover and the discs are known.
    """
    fitting = [name for name, system in PRESETS.items() if _fits(system, facts)]
    if setup in fitting:
        return _as_told(PRESETS[setup], facts)
    known = all(len(facts.get(name, ())) == 1 for name in ("release", "cover", "discs"))
    if not known or not fitting:
        return None
    nearest = min(fitting, key=lambda name: abs(PRESETS[name].discs - _discs(facts, 1)))
    return _as_told(PRESETS[nearest], facts)


def _fits(system: ReleaseSystem, facts: Needs) -> bool:
    # A pull cover is worked by rods or by a cylinder; its preset has the figures of the rods.
    release = facts.get("release") or (system.linkage,)
    cover = facts.get("cover") or (system.cover,)
    return system.linkage in release and system.cover in cover


def _as_told(system: ReleaseSystem, facts: Needs) -> ReleaseSystem:
    layouts: tuple[Layout, ...] = ("outboard_pivot", "middle_pivot", "none")
    told = facts.get("fork", ())
    layout = next((name for name in layouts if told == (name,)), system.fork)
    if (layout == "none") != (system.fork == "none"):
        layout = system.fork
    return replace(system, fork=layout, discs=_discs(facts, system.discs))


def _discs(facts: Needs, otherwise: int) -> int:
    told = facts.get("discs", ())
    return DISCS.get(told[0], otherwise) if len(told) == 1 else otherwise


@lru_cache(maxsize=32)
def _with_sheet(system: ReleaseSystem, kit: tuple[tuple[str, str], ...]) -> ReleaseSystem:
    figures = {}
    for name, text in kit:
        if name in FIGURE_KINDS:
            old: Parameter = getattr(system.figures, name)
            figures[name] = old._replace(nominal=sheet_value(name, text))
    try:
        return replace(system, figures=replace(system.figures, **figures))
    except FigureError as error:
        raise SheetError(error.sentence, error.next_step) from error


def with_sheet(system: ReleaseSystem, kit: Mapping[str, str]) -> ReleaseSystem:
    """Give a system with the figures of the kit's sheet.

    Raises
    ------
    SheetError
        If a figure is unknown, is no quantity of the right kind, or can't be.
    """
    return _with_sheet(system, tuple(sorted(kit.items())))


def sheet_value(name: str, text: str) -> float:
    """Read one figure of the kit's sheet; its own unit is taken when none is written.

    Raises
    ------
    SheetError
        If there is no such figure, or the text is no quantity of its kind.
    """
    if name not in FIGURE_KINDS and name not in SHEET_FIGURES:
        raise SheetError(f"A kit's sheet has no figure {name!r}.", "Correct the case file.")
    known = FIGURE_KINDS[name] if name in FIGURE_KINDS else SHEET_FIGURES[name]
    try:
        value = quantity_value(text, known.unit)
    except QuantityError as error:
        raise SheetError(f"{known.meaning}: {error}.", "Write it like '45 mm'.") from error
    if name in SHEET_FIGURES and not 0.0 <= value < inf:
        raise SheetError(f"{known.meaning} can't be {text}.", "It is 0 or more.")
    return value


def kit_figure(system: ReleaseSystem, kit: Mapping[str, str], name: str) -> float:
    """Give a figure that the size of a fault is told by: the sheet's, or the usual one."""
    if name in kit:
        return sheet_value(name, kit[name])
    if name in SHEET_FIGURES:
        return SHEET_FIGURES[name].usual
    nominal: float = getattr(system.figures, name).nominal
    return nominal
