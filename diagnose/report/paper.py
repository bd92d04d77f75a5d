"""What a report is printed on."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal, NamedTuple

Paper = Literal["a4", "letter"]


class Sheet(NamedTuple):
    """A sheet of paper: what CSS calls it, and its size in points (1/72 in).

    References
    ----------
    A4: ISO 216, 210 mm by 297 mm. Letter: ANSI/ASME Y14.1, 8.5 in by 11 in.
    """

    name: str
    width: float
    height: float


_MM = 72.0 / 25.4
SHEETS: Mapping[Paper, Sheet] = MappingProxyType(
    {
        "a4": Sheet("A4", 210.0 * _MM, 297.0 * _MM),
        "letter": Sheet("letter", 612.0, 792.0),
    }
)
PAPERS: tuple[Paper, ...] = tuple(SHEETS)
