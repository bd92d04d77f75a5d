"""Cards and bonds as a drawing: what is hung on a card, how large that makes it, and the lines.

Type is 13 units high, so that at its own size a drawing reads like the text around it. A line is
the heavier the stronger the link, and its word stands beside it.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

from diagnose.drawings.cards import Bond, Card, Cards, Group, Key, Leaf
from diagnose.drawings.layered import Link, Spacing, Way, lay_out
from diagnose.drawings.rows import Box, Size
from diagnose.drawings.shapes import (
    LINE,
    Anchor,
    Bar,
    Drawing,
    Frame,
    Label,
    Role,
    Stroke,
    text_width,
    wrapped,
)

ROOM = 920.0  # three cards beside each other
_NAME, _TEXT, _SMALL = 14.0, 13.0, 12.0
_NARROW, _WIDE = 225.0, 290.0  # of a card
_PAD = 10.0
_STEM = 15.0  # from the left edge of a card
_HUNG = 42.0  # where what hangs on the stem begins
_BESIDE = 10.0  # between a name and its word
_MOST_BESIDE = 0.45  # share of a card's inside that a word may take
_BOND_WIDTH = 130.0  # of the words beside a bond
_EDGE = 2.0  # around the whole, so that no line is cut
_SPACING = Spacing()
_LIGHTEST, _HEAVIER = 0.8, 3.2
_TOP = "Complaint"


def weight_of(p: float) -> float:
    """Give the weight of the line of a link with this chance, in units of the drawing."""
    return _LIGHTEST + _HEAVIER * p


def draw_tree(content: Cards, *, room: float = ROOM) -> Drawing:
    """Draw a tree.

    Parameters
    ----------
    content : Cards
    room : float
        Width to keep to, in units of the drawing. Narrow rooms make it higher; lines that pass
        beside cards may add to it.

    Returns
    -------
    Drawing
    """
    wide, narrow = (
        (room + _SPACING.across) / (width + _SPACING.across) for width in (_WIDE, _NARROW)
    )
    columns = max(1, min(round(wide), int(narrow)))
    width = min(_WIDE, max(_NARROW, (room + _SPACING.across) / columns - _SPACING.across))
    contents = {_name(card.key): _Content(card, width) for card in content.cards}
    words = [_bond_words(bond) for bond in content.bonds]
    layout = lay_out(
        {name: Size(width, made.height) for name, made in contents.items()},
        [
            Link(_name(bond.tail), _name(bond.head), _size(lines))
            for bond, lines in zip(content.bonds, words, strict=True)
        ],
        room=columns * (width + _SPACING.across) - _SPACING.across,
        spacing=_SPACING,
    )
    frames: list[Frame] = []
    strokes: list[Stroke] = []
    bars: list[Bar] = []
    labels: list[Label] = []
    for card in content.cards:
        box = _moved(layout.boxes[_name(card.key)])
        made = contents[_name(card.key)]
        role: Role = "accent" if card.top else "muted"
        frames.append(Frame(box, 2.0 if card.top else 1.0, role, soft=card.top))
        bars.extend(made.bars_at(box.left, box.top))
        labels.extend(made.labels_at(box.left, box.top))
    for bond, lines, way in zip(content.bonds, words, layout.ways, strict=True):
        strokes.extend(_strokes(bond, way))
        if way.word is not None:
            labels.extend(_word_labels(lines, _moved(way.word)))
    return Drawing(
        content.title,
        content.about,
        Size(layout.size.width + 2.0 * _EDGE, layout.size.height + 2.0 * _EDGE),
        tuple(frames),
        tuple(strokes),
        tuple(bars),
        tuple(labels),
    )


@dataclass
class _Content:
    """What a card holds, placed from its upper left corner."""

    card: Card
    width: float
    height: float = 0.0
    labels: list[Label] = field(default_factory=list)
    bars: list[Bar] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.height = _PAD
        card = self.card
        if card.top:
            self._write(_TOP, _PAD, _SMALL, role="accent", bold=True)
        self._write(card.name, _PAD, _NAME, bold=True, link=_anchor(card.key))
        for line in card.gate:
            self._write(line, _PAD, _SMALL, bold=True, role="accent")
        start = self.height + 2.0
        last = start
        for group in card.groups:
            self.height += 4.0
            if group.title:
                self._write(group.title, _HUNG - 12.0, _SMALL, role="muted", bold=True)
            last = self._hang(group)
        if card.groups:
            self.bars.append(Bar(_STEM, start, _STEM, last, 1.0, "muted"))
        self.height += _PAD

    def _hang(self, group: Group) -> float:
        """Hang the leaves of a group on the stem; gives the height of the last one's line."""
        most = _MOST_BESIDE * (self.width - _HUNG - _PAD)
        beside = min(most, max(text_width(leaf.word, _SMALL) for leaf in group.leaves))
        last = self.height
        for leaf in group.leaves:
            last = self._leaf(leaf, beside)
        return last

    def _leaf(self, leaf: Leaf, beside: float) -> float:
        top = self.height
        level = top + LINE * _TEXT / 2.0
        self.bars.append(Bar(_STEM, level, _HUNG - 6.0, level, weight_of(leaf.p)))
        words = wrapped(leaf.word, beside, _SMALL)
        for i, line in enumerate(words):
            base = top + _TEXT + LINE * _SMALL * i
            self.labels.append(Label(line, self.width - _PAD, base, _SMALL, "end", "muted"))
        room = self.width - _HUNG - _PAD - (beside + _BESIDE if beside else 0.0)
        self._write(leaf.name, _HUNG, _TEXT, link=_anchor(leaf.key), room=room)
        if leaf.note:
            self._write(f"only where: {leaf.note}", _HUNG, _SMALL, role="muted", room=room)
        self.height = max(self.height, top + LINE * _SMALL * len(words))
        return level

    def _write(
        self,
        words: str,
        left: float,
        size: float,
        *,
        role: Role = "ink",
        bold: bool = False,
        link: str = "",
        room: float | None = None,
    ) -> None:
        wide = self.width - left - _PAD if room is None else room
        for line in wrapped(words, wide, size, bold=bold):
            base = self.height + size
            self.labels.append(Label(line, left, base, size, "start", role, bold, link))
            self.height += LINE * size

    def labels_at(self, left: float, top: float) -> Iterable[Label]:
        """Give the labels with the card's corner at a place."""
        for label in self.labels:
            yield label._replace(x=label.x + left, baseline=label.baseline + top)

    def bars_at(self, left: float, top: float) -> Iterable[Bar]:
        """Give the lines with the card's corner at a place."""
        for bar in self.bars:
            ends = (bar.x1 + left, bar.y1 + top, bar.x2 + left, bar.y2 + top)
            yield Bar(*ends, bar.weight, bar.role)


def _name(key: Key) -> str:
    return "-".join(key)


def _anchor(key: Key) -> str:
    return f"#{_name(key)}"


def _bond_words(bond: Bond) -> tuple[str, ...]:
    word, *conditions = bond.words
    lines = [*wrapped(word, _BOND_WIDTH, _SMALL, bold=True)]
    for condition in conditions:
        lines.extend(wrapped(f"only where: {condition}", _BOND_WIDTH, _SMALL, bold=True))
    return tuple(lines)


def _size(lines: tuple[str, ...]) -> Size:
    wide = max(text_width(line, _SMALL, bold=True) for line in lines)
    return Size(wide, LINE * _SMALL * len(lines))


def _word_labels(lines: Iterable[str], box: Box) -> Iterable[Label]:
    middle: Anchor = "middle"
    for i, line in enumerate(lines):
        base = box.top + LINE * _SMALL * i + _SMALL
        yield Label(line, box.middle, base, _SMALL, middle, "ink", bold=True)


def _strokes(bond: Bond, way: Way) -> Iterable[Stroke]:
    for i, piece in enumerate(way.pieces):
        runs = tuple(
            run._replace(x=run.x + _EDGE, below=run.below + _EDGE, above=run.above + _EDGE)
            for run in piece
        )
        yield Stroke(runs, weight_of(bond.p), arrow=i + 1 == len(way.pieces))


def _moved(box: Box) -> Box:
    return box._replace(left=box.left + _EDGE, top=box.top + _EDGE)
