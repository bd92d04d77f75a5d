"""Figures of a release system, made whole and as arrays; `knowledge.release` says what each is."""

from collections.abc import Mapping

import numpy as np

from diagnose.errors import PullOnceError
from diagnose.physics.domain import Floats
from knowledge.release import FIGURE_KINDS, Figures, Kind, Parameter

__all__ = [
    "FIGURE_KINDS",
    "FIGURE_NAMES",
    "HIGHEST",
    "LOWEST",
    "FigureError",
    "Figures",
    "Kind",
    "Parameter",
    "figures_of",
]


class FigureError(PullOnceError):
    """Figures of a release system that no clutch can have."""


FIGURE_NAMES = tuple(FIGURE_KINDS)
LOWEST: Floats = np.array([kind.low for kind in FIGURE_KINDS.values()])
HIGHEST: Floats = np.array([kind.high for kind in FIGURE_KINDS.values()])


def figures_of(given: Mapping[str, Parameter]) -> Figures[Parameter]:
    """Make the figures of a system from those that play a part in it.

    Parameters
    ----------
    given : mapping
        Figures by name; the others take their neutral values, without tolerance.

    Raises
    ------
    FigureError
        If a name is unknown or a figure without a neutral value is missing.
    """
    for name in given:
        if name not in FIGURE_KINDS:
            raise FigureError(f"No figure of a release system is called {name!r}.")
    missing = [n for n, k in FIGURE_KINDS.items() if k.neutral is None and n not in given]
    if missing:
        raise FigureError(f"These figures are missing: {', '.join(missing)}.", "Give each a value.")
    values = {
        name: given[name] if name in given else Parameter(float(kind.neutral or 0.0))
        for name, kind in FIGURE_KINDS.items()
    }
    return Figures[Parameter](**values)
