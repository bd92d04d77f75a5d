"""The colours and the size of letters a drawing is made with."""

from dataclasses import dataclass

from PySide6.QtGui import QColor, QPalette

# The letters' size in units of the canvas. Every drawing has room for its words up to the largest.
LEAST_TEXT, MOST_TEXT = 11.0, 14.0


@dataclass(frozen=True)
class Scheme:
    """What a drawing is made with.

    Attributes
    ----------
    ground : QColor
        What it is drawn on, and what hides parts that lie behind others.
    ink, muted : QColor
        Parts and their names; what stands back: hatching, former places, what lies behind.
    accent : QColor
        What is measured, and nothing else.
    text : float
        Size of the letters in units of the canvas, `LEAST_TEXT` to `MOST_TEXT`.
    """

    ground: QColor
    ink: QColor
    muted: QColor
    accent: QColor
    text: float = 13.0

    def __post_init__(self) -> None:
        if not LEAST_TEXT <= self.text <= MOST_TEXT:
            message = f"letters of {self.text:g} units: drawings have room for 11 to 14"
            raise ValueError(message)


def scheme_of(colours: QPalette, text: float = 13.0) -> Scheme:
    """Give the scheme for a palette of the theme.

    Parameters
    ----------
    colours : QPalette
    text : float
        Wanted size of the letters in units of the canvas; brought within what drawings have room
        for.

    Returns
    -------
    Scheme
    """
    return Scheme(
        ground=colours.color(QPalette.ColorRole.Base),
        ink=colours.color(QPalette.ColorRole.Text),
        muted=colours.color(QPalette.ColorRole.PlaceholderText),
        accent=colours.color(QPalette.ColorRole.Link),
        text=min(MOST_TEXT, max(LEAST_TEXT, text)),
    )
