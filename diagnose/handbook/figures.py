"""The drawings of the handbook: one for each complaint, one of the middle, one that explains."""

from diagnose.drawings.cards import Cards, complaint_cards, overview_cards
from diagnose.drawings.rows import Box, Size
from diagnose.drawings.shapes import LINE, Bar, Drawing, Frame, Label, text_width
from diagnose.drawings.trees import ROOM, draw_tree, weight_of
from diagnose.handbook.book import Book

DRAWN = 24  # causes: what a sheet of paper holds at a size that can be read
_SIZE = 13.0


def complaint_figure(book: Book, complaint: str, *, room: float = ROOM) -> Drawing:
    """Draw what leads to a complaint: the likeliest causes, each on its strongest way.

    Parameters
    ----------
    book : Book
    complaint : str
    room : float
        Width to keep to, in units of the drawing.
    """
    return draw_tree(_content(book, complaint), room=room)


def undrawn(book: Book, complaint: str) -> tuple[str, ...]:
    """List the causes that lead to a complaint and are not in its drawing, likeliest first."""
    return _content(book, complaint).left_out


def _content(book: Book, complaint: str) -> Cards:
    order = [lead.cause.id for lead in book.leads(complaint)]
    return complaint_cards(book.ways, complaint, order, most=DRAWN)


def overview_figure(book: Book, *, room: float = ROOM) -> Drawing:
    """Draw which mechanism brings which complaints and which other mechanisms."""
    return draw_tree(overview_cards(book.ways), room=room)


def strength_figure(book: Book) -> Drawing:
    """Draw a line for each word of strength, as heavy as the word is strong."""
    words = sorted(book.base.scale.strength.items(), key=lambda item: -item[1])
    wide = max(text_width(word, _SIZE) for word, _ in words)
    step, line = LINE * _SIZE + 4.0, 60.0
    height = step * len(words) + 16.0
    bars, labels = [], []
    for i, (word, p) in enumerate(words):
        level = 8.0 + step * (i + 0.5)
        bars.append(Bar(12.0, level, 12.0 + line, level, weight_of(p)))
        labels.append(Label(word, 24.0 + line, level + 0.35 * _SIZE, _SIZE))
    size = Size(wide + line + 36.0, height)
    frame = Frame(Box(1.0, 1.0, size.width - 2.0, size.height - 2.0), 1.0)
    return Drawing(
        "The lines of the drawings",
        f"A line for each word of strength, from {words[0][0]} (heaviest) to {words[-1][0]}.",
        size,
        (frame,),
        (),
        tuple(bars),
        tuple(labels),
    )
