"""A cutaway as SVG, in the classes and with the style sheet of all drawings here."""

from collections.abc import Mapping
from html import escape

from diagnose.drawings.cutaway.hatch import hatching
from diagnose.drawings.cutaway.shapes import Area, Dot, Picture, Shape, Words
from diagnose.drawings.svg import CARD_CLASS, LINE_CLASSES, SOFT_CLASS, TEXT_CLASSES, style_sheet

# A drawing of the tree knows no faults: these have classes of their own.
_LINES = {**LINE_CLASSES, "fault": "lf", "soft": "ls", "ground": "lg"}
_TEXTS = {**TEXT_CLASSES, "fault": "tf", "soft": "tm", "ground": "tm"}
_GROUNDS = {"ground": CARD_CLASS, "soft": SOFT_CLASS, "fault": "tf", "ink": "ti", "muted": "tm",
            "accent": "ta"}  # fmt: skip
_HATCH = 0.5  # breadth of a hatching line


def svg(picture: Picture, name: str, *, about: str = "", style: str = "") -> str:
    """Write a picture as one ``svg`` element.

    Parameters
    ----------
    picture : Picture
    name : str
        Id prefix, its own in the page the picture stands on.
    about : str
        What it shows, in words.
    style : str
        A style sheet to write into the picture, where it stands alone.
    """
    wide, high = (_number(value) for value in picture.size)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {wide} {high}" '
        f'width="{wide}" height="{high}" aria-labelledby="{name}-title {name}-about">',
        f'<title id="{name}-title">{escape(picture.title)}</title>',
        f'<desc id="{name}-about">{escape(about)}</desc>',
        f"<style>{style}</style>" if style else "",
        *(_shape(shape, picture.step) for shape in (*picture.still, *picture.shapes)),
        *(_words(words) for words in picture.words),
        "</svg>",
    ]
    return "\n".join(part for part in parts if part)


def fault_style(colours: Mapping[str, str], family: str = "") -> str:
    """Give the style sheet of a cutaway.

    Parameters
    ----------
    colours : Mapping
        Those of `diagnose.drawings.svg.style_sheet`, and ``fault``.
    family : str
        The face, where the surroundings do not give it.
    """
    fault, ground = colours["fault"], colours["card"]
    return (
        style_sheet(colours, family)
        + f".tf{{fill:{fault}}}.lf{{stroke:{fault}}}"
        + f".ls{{stroke:{colours['soft']}}}.lg{{stroke:{ground}}}"
        + f".halo{{paint-order:stroke;stroke:{ground};stroke-width:.35em;stroke-linejoin:round}}"
    )


def _shape(shape: Shape, step: float) -> str:
    if isinstance(shape, Dot):
        (x, y), r = shape.centre, shape.radius
        return (
            f'<circle {_look(shape)} cx="{_number(x)}" cy="{_number(y)}" r="{_number(r)}"'
            f"{_pen(shape)}/>"
        )
    d = "M" + "L".join(f"{_number(x)} {_number(y)}" for x, y in shape.points)
    ends = "Z" if shape.closed else ""
    drawn = f'<path {_look(shape)} d="{d}{ends}"{_pen(shape)}/>'
    if not shape.hatch:
        return drawn
    lines = "".join(_segment(*line) for line in hatching(shape.points, step, shape.hatch))
    hatch = _LINES["muted" if shape.ink == "ink" else shape.ink]
    return f'{drawn}<path class="{hatch}" fill="none" stroke-width="{_HATCH}" d="{lines}"/>'


def _segment(x1: float, y1: float, x2: float, y2: float) -> str:
    return f"M{_number(x1)} {_number(y1)}L{_number(x2)} {_number(y2)}"


def _look(shape: Area | Dot) -> str:
    """Classes of line and ground; what has none of the one or the other says so."""
    classes = [_LINES[shape.ink]] if shape.weight else []
    if shape.fill:
        classes.append(_GROUNDS[shape.fill])
    said = f'class="{" ".join(classes)}"' if classes else ""
    return said if shape.fill else f'{said} fill="none"'


def _pen(shape: Area | Dot) -> str:
    if not shape.weight:
        return ""
    dashes = ' stroke-dasharray="5 3.5"' if shape.dashed else ""
    return f' stroke-width="{_number(shape.weight, 2)}"{dashes} stroke-linejoin="round"'


def _words(words: Words) -> str:
    anchor = "" if words.anchor == "start" else f' text-anchor="{words.anchor}"'
    weight = ' font-weight="bold"' if words.bold else ""
    halo = " halo" if words.halo else ""
    return (
        f'<text class="{_TEXTS[words.ink]}{halo}" x="{_number(words.x)}" '
        f'y="{_number(words.baseline)}" font-size="{_number(words.size)}"{anchor}{weight}>'
        f"{escape(words.text)}</text>"
    )


def _number(value: float, digits: int = 1) -> str:
    """Give a length to a tenth of a unit, without what says nothing."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text in {"", "-0"} else text
