"""The whole handbook as one HTML file that needs nothing else: no script, no picture, no face."""

from diagnose.handbook.book import Book, Key
from diagnose.handbook.markup import Markup, element, joined
from diagnose.handbook.sections import (
    DEFERRAL,
    SECTIONS,
    TITLE,
    Drawn,
    Section,
    divided,
    figure,
    front_text,
    keys_of,
    section_text,
    text_of,
)
from diagnose.handbook.style import page_style
from diagnose.handbook.words import anchor, items, link, paragraph
from knowledge.model import KnowledgeBase


def handbook(base: KnowledgeBase) -> str:
    """Write the handbook of a base.

    Parameters
    ----------
    base : KnowledgeBase

    Returns
    -------
    str
        An HTML document; the same base gives the same text.
    """
    book = Book(base)
    body = joined(
        [
            element("a", "To the text", class_="skip", href="#text"),
            element("header", *_head(book)),
            element("main", *(_section(book, section) for section in SECTIONS), id="text"),
            element("footer", paragraph(DEFERRAL), paragraph(f"Knowledge {base.version}.")),
        ],
        "\n",
    )
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{TITLE}</title>\n<style>\n{page_style()}\n</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )


def _head(book: Book) -> list[Markup]:
    base = book.base
    sections = items(element("a", s.title, href=f"#{s.id}") for s in SECTIONS)
    complaints = items(link(book, ("complaints", name)) for name in base.complaints)
    zones = items(link(book, ("zones", name)) for name in base.zones)
    levels = items(link(book, ("levels", name)) for name in base.levels)
    return [
        element("h1", TITLE),
        front_text(book),
        element(
            "nav",
            element("h2", "Contents", id="contents"),
            sections,
            element("h3", "Complaints"),
            complaints,
            element("h3", "Causes by region"),
            zones,
            element("h3", "Checks by where they are done from"),
            levels,
            aria_labelledby="contents",
        ),
    ]


def _section(book: Book, section: Section) -> Markup:
    def drawn(name: str) -> Markup:
        return figure(book, name)

    said = _raised(_raised(section_text(book, section, drawn)))
    parts = [element("h2", section.title), said]
    if section.by:
        parts += [_part(book, (section.by, name), drawn) for name in getattr(book.base, section.by)]
    else:
        parts += [_raised(_article(book, key, drawn)) for key in keys_of(book, section)]
    return element("section", *parts, id=section.id)


def _part(book: Book, key: Key, drawn: Drawn) -> Markup:
    """A region or level as a heading, with what belongs to it."""
    head = element("h3", book.title(key))
    articles = [_article(book, inner, drawn) for inner in divided(book, key)]
    return element("section", head, text_of(book, key, drawn), *articles, id=anchor(key))


def _article(book: Book, key: Key, drawn: Drawn) -> Markup:
    # A caution is its own heading.
    head = Markup() if key[0] == "cautions" else element("h4", book.title(key), class_="name")
    return element("article", head, text_of(book, key, drawn), id=anchor(key))


def _raised(text: Markup) -> Markup:
    """Raise headings by one level, where no region or level stands above them."""
    for level in (4, 5):
        for end in ("<", "</"):
            text = Markup(text.replace(f"{end}h{level}", f"{end}h{level - 1}"))
    return text
