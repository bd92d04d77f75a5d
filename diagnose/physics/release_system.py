"""One release system as a frozen record: how it is arranged, and its figures."""

from dataclasses import dataclass, replace
from math import isfinite
from typing import Literal

import numpy as np

from diagnose.physics.domain import Floats
from diagnose.physics.figures import (
    FIGURE_KINDS,
    FIGURE_NAMES,
    FigureError,
    Figures,
    Kind,
    Parameter,
)
from diagnose.physics.fork import Layout

Linkage = Literal["external_slave", "concentric_slave", "cable", "rod"]
Cover = Literal["push", "pull"]
LoadModel = Literal["diaphragm", "constant"]


@dataclass(frozen=True)
class ReleaseSystem:
    """A release system with its clutch.

    Attributes
    ----------
    linkage : Linkage
        What works the fork; a concentric slave works the bearing itself.
    cover : Cover
        Whether the fingers are pushed toward the engine or pulled toward the gearbox.
    fork : Layout
        ``none`` with a concentric slave, and only there.
    discs : int
        1, 2 or 3.
    rides : bool
        Whether the bearing rides on the fingers with the pedal up (most hydraulic systems); if
        not, the fork rests on its back stop, set by an adjuster.
    figures : Figures[Parameter]
    load_model : LoadModel
        The finger load follows the diaphragm, or is taken as constant.

    Raises
    ------
    FigureError
        If the arrangement or a figure is impossible.
    """

    linkage: Linkage
    cover: Cover
    fork: Layout
    discs: int
    rides: bool
    figures: Figures[Parameter]
    load_model: LoadModel = "diaphragm"

    def __post_init__(self) -> None:
        if self.discs not in {1, 2, 3}:
            raise FigureError(f"A clutch has 1, 2 or 3 discs, not {self.discs}.")
        if (self.fork == "none") != (self.linkage == "concentric_slave"):
            raise FigureError("A concentric slave needs no fork, and everything else needs one.")
        for name, kind in FIGURE_KINDS.items():
            _check(name, kind, getattr(self.figures, name))
        given = self.figures
        if self.fork == "none" and given.fork_ratio.nominal != 1.0:
            raise FigureError("Without a fork the fork ratio is 1.")
        if given.facing_inner.nominal >= given.facing_outer.nominal:
            raise FigureError("The facings' inner diameter must be below the outer one.")
        if given.slave_core.nominal >= given.slave_bore.nominal:
            raise FigureError("The slave's inner diameter must be below its bore.")

    @property
    def hydraulic(self) -> bool:
        """Whether a fluid carries the travel."""
        return self.linkage in {"external_slave", "concentric_slave"}

    @property
    def nominal(self) -> Floats:
        """Nominal values, shape (P,), in the order of `FIGURE_NAMES`."""
        return np.array([getattr(self.figures, name).nominal for name in FIGURE_NAMES])

    @property
    def uncertainty(self) -> Floats:
        """Standard uncertainties, shape (P,), in the order of `FIGURE_NAMES`."""
        return np.array([getattr(self.figures, name).uncertainty for name in FIGURE_NAMES])

    def with_figures(self, **nominal: float) -> "ReleaseSystem":
        """Make the system with other nominal values; tolerances stay.

        Raises
        ------
        FigureError
            If a name is unknown or a value impossible.
        """
        for name in nominal:
            if name not in FIGURE_KINDS:
                raise FigureError(f"No figure of a release system is called {name!r}.")
        changes = {n: getattr(self.figures, n)._replace(nominal=v) for n, v in nominal.items()}
        return replace(self, figures=replace(self.figures, **changes))


def _check(name: str, kind: Kind, figure: Parameter) -> None:
    if not kind.low <= figure.nominal <= kind.high:
        sentence = f"{name} ({kind.meaning}) can't be {figure.nominal:g} {kind.unit}".strip()
        raise FigureError(f"{sentence}.", f"It lies between {kind.low:g} and {kind.high:g}.")
    known = isfinite(figure.nominal) or figure.uncertainty == 0.0
    if not (known and isfinite(figure.uncertainty) and figure.uncertainty >= 0.0):
        raise FigureError(f"The tolerance of {name} can't be {figure.uncertainty:g}.")
