"""A drawing as SVG: text stays text, colours are classes that a style sheet gives.

A reader who can't see it gets its title and description; what leads to a record is a link.
"""

from collections.abc import Iterable, Iterator, Mapping
from html import escape
from itertools import groupby

from diagnose.drawings.layered import Run
from diagnose.drawings.shapes import Bar, Drawing, Frame, Label, Stroke

_ARROW = 7.0  # length of an arrow's head, in units of the drawing
_RADIUS = 4
# What a style sheet has to give a colour to: text, edges and lines, grounds.
TEXT_CLASSES = {"ink": "ti", "muted": "tm", "accent": "ta", "rule": "tm"}
LINE_CLASSES = {"ink": "li", "muted": "lm", "accent": "la", "rule": "lr"}
CARD_CLASS, SOFT_CLASS = "gc", "gs"


def svg(drawing: Drawing, name: str, *, style: str = "") -> str:
    """Write a drawing as one ``svg`` element.

    Parameters
    ----------
    drawing : Drawing
    name : str
        Id prefix, its own in the page the drawing stands on.
    style : str
        A style sheet to write into the drawing, where it stands alone.

    Returns
    -------
    str
    """
    wide, high = (_number(value) for value in drawing.size)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {wide} {high}" '
        f'width="{wide}" height="{high}" aria-labelledby="{name}-title {name}-about">',
        f'<title id="{name}-title">{escape(drawing.title)}</title>',
        f'<desc id="{name}-about">{escape(drawing.about)}</desc>',
        f"<style>{style}</style>" if style else "",
        *(_frame(frame) for frame in drawing.frames),
        *(_stroke(stroke) for stroke in drawing.strokes),
        *(_bar(bar) for bar in drawing.bars),
        *_labels(drawing.labels),
        "</svg>",
    ]
    return "\n".join(part for part in parts if part)


def _frame(frame: Frame) -> str:
    left, top, wide, high = (_number(value) for value in frame.box)
    ground = SOFT_CLASS if frame.soft else CARD_CLASS
    return (
        f'<rect class="{ground} {LINE_CLASSES[frame.role]}" x="{left}" y="{top}" width="{wide}" '
        f'height="{high}" rx="{_RADIUS}" stroke-width="{_number(frame.weight)}"/>'
    )


def _stroke(stroke: Stroke) -> str:
    path = f'<path class="{LINE_CLASSES[stroke.role]}" fill="none" stroke-width="{{}}" d="{{}}"/>'
    line = path.format(_number(stroke.weight), path_of(stroke.runs))
    if not stroke.arrow:
        return line
    x, y = stroke.runs[-1].x, stroke.runs[-1].above
    half = _ARROW / 2.0
    head = (
        f"M{_number(x - half)} {_number(y + _ARROW)}L{_number(x)} {_number(y)}"
        f"L{_number(x + half)} {_number(y + _ARROW)}"
    )
    return line + path.format(_number(max(1.0, min(2.0, stroke.weight))), head)


def path_of(runs: Iterable[Run]) -> str:
    """Write upright runs as one path; between two of them it swings over without a corner."""
    said = [""]
    listed = list(runs)
    for i, run in enumerate(listed):
        if i == 0:
            said.append(f"M{_number(run.x)} {_number(run.below)}")
        if run.above != run.below:
            said.append(f"V{_number(run.above)}")
        if i + 1 < len(listed):
            said.append(_swing(run, listed[i + 1]))
    return "".join(said)


def _swing(lower: Run, upper: Run) -> str:
    if abs(lower.x - upper.x) < 0.05:
        return f"V{_number(upper.below)}"
    half = _number((lower.above + upper.below) / 2.0)
    end = f"{_number(upper.x)} {_number(upper.below)}"
    return f"C{_number(lower.x)} {half} {_number(upper.x)} {half} {end}"


def _bar(bar: Bar) -> str:
    ends = zip(("x1", "y1", "x2", "y2"), bar[:4], strict=True)
    said = " ".join(f'{key}="{_number(value)}"' for key, value in ends)
    weight = _number(bar.weight)
    return f'<line class="{LINE_CLASSES[bar.role]}" {said} stroke-width="{weight}"/>'


def _labels(labels: Iterable[Label]) -> Iterator[str]:
    """Write the text; lines that follow each other and lead to the same place make one link."""
    for link, lines in groupby(labels, key=lambda label: label.link):
        said = "\n".join(_label(line) for line in lines)
        yield f'<a href="{escape(link)}">{said}</a>' if link else said


def _label(label: Label) -> str:
    anchor = "" if label.anchor == "start" else f' text-anchor="{label.anchor}"'
    weight = ' font-weight="bold"' if label.bold else ""
    return (
        f'<text class="{TEXT_CLASSES[label.role]}" x="{_number(label.x)}" '
        f'y="{_number(label.baseline)}" font-size="{_number(label.size)}"{anchor}{weight}>'
        f"{escape(label.words)}</text>"
    )


def style_sheet(colours: Mapping[str, str], family: str = "") -> str:
    """Give the style sheet of drawings.

    Parameters
    ----------
    colours : Mapping
        A colour for each of ``ink``, ``muted``, ``accent``, ``rule``, ``card`` and ``soft``.
    family : str
        The face, where the surroundings do not give it.
    """
    face = f"text{{font-family:{family}}}" if family else ""
    texts = {TEXT_CLASSES[role]: colours[role] for role in ("ink", "muted", "accent")}
    lines = {LINE_CLASSES[role]: colours[role] for role in LINE_CLASSES}
    grounds = {CARD_CLASS: colours["card"], SOFT_CLASS: colours["soft"]}
    return face + "".join(
        [
            *(f".{name}{{fill:{colour}}}" for name, colour in texts.items()),
            *(f".{name}{{stroke:{colour}}}" for name, colour in lines.items()),
            *(f".{name}{{fill:{colour}}}" for name, colour in grounds.items()),
        ]
    )


def _number(value: float) -> str:
    """Give a length to a tenth of a unit, without what says nothing."""
    return f"{value:.1f}".rstrip("0").rstrip(".") or "0"
