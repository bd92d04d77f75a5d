"""The release system of a case: the set-up's figures, and what the kit's sheet says instead.

Most lines of the sheet are figures of the release system. Three determine one of it instead, each
by a small function here: the free travel at the fork end the reserve, the clamp load the load of
the spring, the lift needed that of each disc.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import lru_cache
from math import sqrt
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from diagnose.case import Case
from diagnose.kit_sheet import (
    SHEET_NAMES,
    SheetError,
    SheetValue,
    name_of,
    plays_part,
    read_sheet,
    sheet_for,
    sheet_meaning,
)
from diagnose.physics.figures import FIGURE_KINDS, FigureError, Parameter
from diagnose.physics.fork import Layout
from diagnose.physics.observables import read
from diagnose.physics.predict import predict
from diagnose.physics.presets import PRESETS, between_kits
from diagnose.physics.release_chain import chain_of
from diagnose.physics.release_system import ReleaseSystem
from diagnose.physics.uncertainty import nearly_all
from knowledge.model import Needs
from knowledge.release import SHEET_FIGURES

DISCS: Mapping[str, int] = MappingProxyType({"one": 1, "two": 2, "three": 3})
_TELLING = ("release", "cover", "discs")


def system_of(case: Case) -> ReleaseSystem | None:
    """Give the release system of a case.

    Parameters
    ----------
    case : Case

    Returns
    -------
    ReleaseSystem or None
        None as long as the set-up is not known well enough to tell which it is. A figure of the
        sheet that does not go with the set-up's, since that has been changed, is left out.

    Raises
    ------
    SheetError
        If a figure of the kit's sheet is unknown, or no quantity of the right kind.
    """
    for name, text in case.kit.items():
        read_sheet(name, text)
    arranged = arrangement(case.setup, case.facts)
    return None if arranged is None else with_sheet(arranged, taken(arranged, case.kit)[0])


def clashes(case: Case) -> Mapping[str, SheetError]:
    """Give the figures of the kit's sheet that `system_of` leaves out, each with the reason."""
    arranged = arrangement(case.setup, case.facts)
    return {} if arranged is None else taken(arranged, case.kit)[1]


def arrangement(setup: str | None, facts: Needs) -> ReleaseSystem | None:
    """Give the preset of a set-up, with discs and fork as the facts have them.

    Where the facts fit the named preset no more, or none is named, any that fits is taken if how
    the clutch is worked, the cover and the discs are known.
    """
    fitting = [name for name, system in PRESETS.items() if _fits(system, facts)]
    if setup in fitting:
        return _as_told(PRESETS[setup], facts)
    if untold(facts) or not fitting:
        return None
    nearest = min(fitting, key=lambda name: abs(PRESETS[name].discs - _discs(facts, 1)))
    return _as_told(PRESETS[nearest], facts)


def untold(facts: Needs) -> tuple[str, ...]:
    """Give the facts that are still open of those that tell the arrangement."""
    return tuple(name for name in _TELLING if len(facts.get(name, ())) != 1)


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


def reserve_for(system: ReleaseSystem, free_travel: float) -> float:
    """Reserve, in mm, that gives a healthy fork a free travel at its end."""
    return free_travel / system.figures.fork_ratio.nominal


def flat_load_for(system: ReleaseSystem, clamp_load: float) -> float:
    """Load of the spring when flat, in N, that gives a clamp load on a right stack."""
    given = read(system, "clamp_load")
    if not given > 0.0:
        raise SheetError("These figures leave no clamp load at all.", "Look at them once more.")
    return system.figures.flat_load.nominal * clamp_load / given


def disc_lift_for(system: ReleaseSystem, lift_needed: float) -> float:
    """Lift of each disc, in mm, that makes up the lift that the whole clutch needs."""
    other = _lift_needed(system.with_figures(disc_lift=0.0))
    return (lift_needed - other) / system.discs


def _lift_needed(system: ReleaseSystem) -> float:
    return float(chain_of(system).lift_needed[0])


class Determined(NamedTuple):
    """A figure of the release system that a line of the sheet determines, and how."""

    figure: str
    solve: Callable[[ReleaseSystem, float], float]


DETERMINES: Mapping[str, Determined] = MappingProxyType(
    {
        "lift_needed": Determined("disc_lift", disc_lift_for),
        "clamp_load": Determined("flat_load", flat_load_for),
        "fork_free_travel": Determined("reserve", reserve_for),
    }
)
# Lines of the sheet that can be read on the clutch: name, and the figure of the system behind it.
READ_AS: Mapping[str, str] = MappingProxyType(
    {"fork_free_travel": "reserve", "clamp_load": "flat_load", "finger_height": "finger_height"}
)


def with_sheet(system: ReleaseSystem, kit: Mapping[str, str]) -> ReleaseSystem:
    """Give a preset with the figures of the kit's sheet.

    What the sheet tells keeps the scatter of good installs only, or the tolerance that is written;
    every other figure that differs from kit to kit has the scatter between kits as well. Figures
    that play no part in the arrangement are left alone.

    Parameters
    ----------
    system : ReleaseSystem
        A preset, as `arrangement` gives it.
    kit : Mapping
        Figures by name, as typed.

    Raises
    ------
    SheetError
        If a figure is unknown, is no quantity of the right kind, or can't be.
    """
    return _with_sheet(system, tuple(sorted(kit.items())))


@lru_cache(maxsize=64)
def _with_sheet(system: ReleaseSystem, kit: tuple[tuple[str, str], ...]) -> ReleaseSystem:
    for name, _ in kit:
        sheet_meaning(name)  # refuses an unknown one
    typed = {name: read_sheet(name, text) for name, text in kit if plays_part(system, name)}
    try:
        known = _nominal(system, typed)
        return _scattering(known, typed)
    except FigureError as error:
        raise SheetError(error.sentence, error.next_step) from error


def _nominal(system: ReleaseSystem, typed: Mapping[str, SheetValue]) -> ReleaseSystem:
    """Give the system with the nominal values of the sheet, and the tolerances written there."""
    figures: dict[str, Parameter] = {}
    for name, value in typed.items():
        if name in FIGURE_KINDS:
            old: Parameter = getattr(system.figures, name)
            tolerance = old.uncertainty if value.uncertainty is None else value.uncertainty
            figures[name] = Parameter(value.nominal, tolerance)
    system = replace(system, figures=replace(system.figures, **figures))
    for name, (figure, solve) in DETERMINES.items():
        if name in typed:
            system = system.with_figures(**{figure: solve(system, typed[name].nominal)})
    return system


def _scattering(known: ReleaseSystem, typed: Mapping[str, SheetValue]) -> ReleaseSystem:
    """Give the system of one kit with the scatter between kits where the sheet is silent."""
    told = {DETERMINES[name].figure if name in DETERMINES else name for name in typed}
    of_kits = {row.figure for group in sheet_for(known) for row in group.rows}
    of_kits |= {DETERMINES[name].figure for name in of_kits & set(DETERMINES)}
    spread = between_kits(known, of_kits - told)
    lift = typed["lift_needed"].uncertainty if "lift_needed" in typed else None
    if lift is not None:
        spread = _with_uncertainty(spread, "disc_lift", lift / spread.discs)
    for reading, figure in READ_AS.items():
        if reading in typed:
            wanted = typed[reading].uncertainty
            if wanted is None:
                wanted = figure_of(known, reading).uncertainty
            spread = _scattered(spread, figure, reading, wanted)
    return spread


def _scattered(system: ReleaseSystem, figure: str, reading: str, wanted: float) -> ReleaseSystem:
    """Give a figure the uncertainty with which a reading scatters as wanted.

    The sheet tells what good installs read. What stack, fork and bearing scatter is a part of that
    and not counted twice; the reading scatters by that part at least.
    """

    def variance(uncertainty: float) -> float:
        tried = _with_uncertainty(system, figure, uncertainty)
        return float(predict(tried, (reading,)).covariance[0, 0, 0])

    unit = max(0.01 * abs(getattr(system.figures, figure).nominal), 0.01)
    others = variance(0.0)
    share = (variance(unit) - others) / unit**2
    own = sqrt(max(0.0, wanted**2 - others) / share)
    return _with_uncertainty(system, figure, own)


def _with_uncertainty(system: ReleaseSystem, figure: str, uncertainty: float) -> ReleaseSystem:
    old: Parameter = getattr(system.figures, figure)
    changed = {figure: old._replace(uncertainty=uncertainty)}
    return replace(system, figures=replace(system.figures, **changed))


def figure_of(system: ReleaseSystem, figure: str) -> Parameter:
    """Give what a system has for a figure of the sheet, with its standard uncertainty.

    Raises
    ------
    SheetError
        If there is no such figure, or it plays no part in the system.
    """
    if figure in READ_AS and plays_part(system, figure):
        found = predict(system, (figure,))
        return Parameter(float(found.mean[0, 0]), sqrt(float(found.covariance[0, 0, 0])))
    if figure == "lift_needed":
        each = system.figures.disc_lift.uncertainty
        return Parameter(_lift_needed(system), system.discs * each)
    sheet_meaning(figure)  # refuses an unknown one
    if figure in SHEET_FIGURES:
        usual = SHEET_FIGURES[figure].usual
        if usual is None:
            raise SheetError(f"This clutch has no {name_of(figure).lower()}.", "")
        return Parameter(usual)
    own: Parameter = getattr(system.figures, figure)
    return own


class Expected(NamedTuple):
    """What a healthy clutch reads, in the inside unit, and where 9 in 10 of them lie."""

    observable: str
    value: float
    low: float
    high: float


def expected(system: ReleaseSystem) -> tuple[Expected, ...]:
    """Give what the figures of a system lead to: the travel that is free, the bite, the stroke."""
    forked = system.fork != "none"
    names = (
        "fork_free_travel" if forked else "bearing_reserve",
        "engagement_height",
        "fork_tip_travel" if forked else "bearing_travel",
    )
    found = predict(system, names)
    readings = zip(found.mean[0].tolist(), np.diag(found.covariance[0]).tolist(), strict=True)
    figures = [Parameter(mean, sqrt(variance)) for mean, variance in readings]
    return tuple(
        Expected(name, figure.nominal, *nearly_all(*figure))
        for name, figure in zip(names, figures, strict=True)
    )


def taken(
    system: ReleaseSystem, typed: Mapping[str, str]
) -> tuple[dict[str, str], dict[str, SheetError]]:
    """Part what was typed into the figures that can be, together, and what is wrong with the rest.

    Parameters
    ----------
    system : ReleaseSystem
        A preset, as `arrangement` gives it.
    typed : Mapping
        Figures by name, as typed.

    Returns
    -------
    dict, dict
        The figures that `with_sheet` takes; and the errors of those it does not.
    """
    wrong: dict[str, SheetError] = {}
    readable: dict[str, str] = {}
    for name, text in typed.items():
        try:
            read_sheet(name, text)
        except SheetError as error:
            wrong[name] = error
        else:
            readable[name] = text
    if _clash(system, readable) is None:
        return readable, wrong
    # One that does not fit the preset's figures may fit another one of the sheet: so try again.
    good: dict[str, str] = {}
    clashing: dict[str, SheetError] = {}
    waiting = readable
    while waiting:
        clashing = {}
        for name, text in waiting.items():
            clash = _clash(system, {**good, name: text})
            if clash is None:
                good[name] = text
            else:
                clashing[name] = clash
        if len(clashing) == len(waiting):
            break
        waiting = {name: waiting[name] for name in clashing}
    return good, wrong | clashing


def _clash(system: ReleaseSystem, kit: Mapping[str, str]) -> SheetError | None:
    try:
        with_sheet(system, kit)
    except SheetError as error:
        return error
    return None


def kit_figure(system: ReleaseSystem, kit: Mapping[str, str], name: str) -> float:
    """Give a figure that the size of a fault is told by: the sheet's, or the usual one.

    Parameters
    ----------
    system : ReleaseSystem
    kit : Mapping
        Figures of the sheet, as typed.
    name : str
        A figure of the sheet, or any figure of the release system.
    """
    if name in kit:
        return read_sheet(name, kit[name]).nominal
    if name in SHEET_NAMES:
        return figure_of(system, name).nominal
    nominal: float = getattr(system.figures, name).nominal
    return nominal
