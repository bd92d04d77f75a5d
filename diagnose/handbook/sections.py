"""The order in which the handbook tells things, and the text of each of its records.

Cautions come first. Causes are told by region, checks by how far in they are done.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.drawings.shapes import Drawing
from diagnose.drawings.svg import svg
from diagnose.drawings.trees import ROOM
from diagnose.handbook import shop_records as shop
from diagnose.handbook import tree_records as tree
from diagnose.handbook.book import Book, Key
from diagnose.handbook.counts import base_lines
from diagnose.handbook.figures import complaint_figure, overview_figure, strength_figure, undrawn
from diagnose.handbook.markup import Markup, element, joined
from diagnose.handbook.word_tables import scale_text
from diagnose.handbook.words import items, link, paragraph, part

TITLE = "Why a fresh clutch comes back"
LEAD = (
    "Everything this program knows about complaints after a clutch job: what drivers say, what "
    "goes on behind it, the causes, the checks that tell them apart, and how each is put right."
)
DEFERRAL = (
    "The maker’s figures, local rules and licensed practice come first. What stands here is advice "
    "for people who do this work; where it differs from the maker’s instructions or the kit’s own "
    "sheet, they hold."
)
Drawn = Callable[[str], Markup]  # a name -> the drawing, or what stands in its place
Text = Callable[[Book, Any], Markup]


@dataclass(frozen=True)
class Section:
    """A part of the handbook.

    Attributes
    ----------
    id, title : str
    intro : str
        Read before its records.
    kind : str
        Kind of its records; empty if it has none.
    by : str
        Kind of record it is divided by.
    """

    id: str
    title: str
    intro: str
    kind: str = ""
    by: str = ""


SECTIONS: tuple[Section, ...] = (
    Section(
        "cautions",
        "Cautions and stop notices",
        "Read these first. The same words stand again before every check and repair they belong "
        "to. A stop notice outranks every ranking: while it holds, nothing else is done.",
        "cautions",
    ),
    Section("drawn", "How the tree is drawn", ""),
    Section("overview", "The middle of the tree", ""),
    Section(
        "complaints",
        "Complaints",
        "What the driver says, how to ask it, and what leads there.",
        "complaints",
    ),
    Section(
        "mechanisms",
        "Mechanisms",
        "What goes on between a cause and what the driver notices.",
        "mechanisms",
    ),
    Section(
        "causes",
        "Causes",
        "By the region where they sit. Along a way through the tree strengths multiply; ways that "
        "meet add to each other.",
        "causes",
        "zones",
    ),
    Section(
        "checks",
        "Checks",
        "By where they are done from, the seat first. Every check is told three times: for the "
        "hands at the vehicle, for reading out on the phone, and for whoever wants to know why.",
        "checks",
        "levels",
    ),
    Section(
        "findings",
        "Signs",
        "What checks look for: each is a sign that something is wrong, there or not.",
        "findings",
    ),
    Section(
        "measurements",
        "Measurements",
        "What gauges show. An uncertainty is one standard deviation of instrument and hand "
        "together. The maker’s own limits come before those given here.",
        "measurements",
    ),
    Section(
        "work",
        "Work done",
        "What may have been done at the clutch job or since, and what that says of the causes.",
        "work",
    ),
    Section("facts", "About the vehicle", "What decides which causes are possible.", "facts"),
    Section("setups", "Set-ups", "Arrangements to start from.", "setups"),
    Section("scale", "The words of the scale", "The words used here, and what they stand for."),
    Section(
        "sources",
        "Sources",
        "“Common practice” is what the trade does without a book; “judgement” is what "
        "nobody has counted and somebody had to say.",
        "sources",
    ),
)

_TEXTS: Mapping[str, Text] = {
    "cautions": shop.caution_text,
    "mechanisms": tree.mechanism_text,
    "causes": tree.cause_text,
    "checks": shop.check_text,
    "findings": tree.finding_text,
    "measurements": shop.measurement_text,
    "work": shop.work_text,
    "facts": shop.fact_text,
    "setups": shop.setup_text,
    "sources": shop.source_text,
    "zones": shop.zone_text,
    "levels": shop.level_text,
}


_HOW_DRAWN = (
    "The complaint stands on top. Lines run upward, from a mechanism to what it brings about; "
    "causes hang below the mechanism they bring, by region. Each cause is drawn once, on the way "
    "by which it most often leads to the complaint.",
    "The word beside a line says how often the one leads to the other, and the line is the heavier "
    "the more often it does:",
    "Gates have the names of IEC 61025. A card that names none is an OR gate: any one of what "
    "hangs below it or leads up to it is enough. An AND gate needs all its inputs together, a "
    "voting gate at least so many of them. An INHIBIT gate opens only in the set-ups it names.",
)


def front_text(book: Book) -> Markup:
    """Say what the handbook is, what comes before it, and what it rests on."""
    return joined(
        [
            element("p", LEAD, class_="lead"),
            element("p", element("strong", DEFERRAL)),
            *(paragraph(line) for line in base_lines(book.base)),
        ]
    )


def figure(book: Book, name: str) -> Markup:
    """Give a drawing as a figure of the page, with what it leaves out.

    Parameters
    ----------
    book : Book
    name : str
        ``lines``, ``overview`` or the id of a complaint.
    """
    shown = element("figure", Markup(svg(drawing_of(book, name), f"tree-{name}")))
    return joined([shown, left_out(book, name)])


def drawing_of(book: Book, name: str, *, room: float = ROOM) -> Drawing:
    """Give a drawing by its name."""
    if name == "lines":
        return strength_figure(book)
    if name == "overview":
        return overview_figure(book, room=room)
    return complaint_figure(book, name, room=room)


def left_out(book: Book, name: str) -> Markup:
    """Say how many causes a drawing leaves out, by region; nothing if none."""
    base = book.base
    causes = undrawn(book, name) if name in base.complaints else ()
    if not causes:
        return Markup()
    counted = {zone: sum(base.causes[c].zone == zone for c in causes) for zone in base.zones}
    said = [joined([f"{n} of ", link(book, ("zones", z))]) for z, n in counted.items() if n]
    more = "1 more cause leads" if len(causes) == 1 else f"{len(causes)} more causes lead"
    return paragraph(f"Not drawn, as less likely: {more} there too, ", joined(said, ", "), ".")


def text_of(book: Book, key: Key, drawn: Drawn) -> Markup:
    """Give what is said of a record, without its name.

    Raises
    ------
    KeyError
        If the base does not hold it.
    """
    kind, name = key
    record = getattr(book.base, kind)[name]
    if kind == "complaints":
        return tree.complaint_text(book, record, drawn(name))
    return _TEXTS[kind](book, record)


def record_html(book: Book, key: Key, drawn: Drawn) -> Markup:
    """Give one record with its name, to be shown by itself.

    Parameters
    ----------
    book : Book
    key : tuple of str
        Kind and id.
    drawn : callable
        Gives what stands in the place of the drawing of a complaint.

    Returns
    -------
    Markup
    """
    inside = items(link(book, inner) for inner in divided(book, key))
    # A caution is its own heading.
    head = Markup() if key[0] == "cautions" else element("h2", book.title(key))
    return joined([head, text_of(book, key, drawn), inside])


def divided(book: Book, key: Key) -> tuple[Key, ...]:
    """List the records that a region or level holds; none for other records."""
    kind, name = key
    base = book.base
    if kind == "zones":
        return tuple(("causes", c.id) for c in base.causes.values() if c.zone == name)
    if kind == "levels":
        return tuple(("checks", c.id) for c in base.checks.values() if c.from_ == name)
    return ()


def keys_of(book: Book, section: Section) -> tuple[Key, ...]:
    """List the records of a section, in its order."""
    if section.by:
        parts = ((section.by, name) for name in getattr(book.base, section.by))
        return tuple(key for part in parts for key in divided(book, part))
    if not section.kind:
        return ()
    return tuple((section.kind, name) for name in getattr(book.base, section.kind))


def section_text(book: Book, section: Section, drawn: Drawn) -> Markup:
    """Give what a section says before its records, or all of it where it has none.

    Parameters
    ----------
    book : Book
    section : Section
    drawn : callable
        Gives what stands in the place of the drawing with a name: ``lines`` or ``overview``.
    """
    parts = [paragraph(section.intro)]
    if section.id == "drawn":
        parts += [paragraph(text) for text in _HOW_DRAWN[:2]]
        parts += [drawn("lines"), *(paragraph(text) for text in _HOW_DRAWN[2:])]
    elif section.id == "overview":
        parts.append(drawn("overview"))
    elif section.id == "scale":
        parts.append(scale_text(book))
    return joined(parts)


def section_html(book: Book, section: Section, drawn: Drawn) -> Markup:
    """Give a section with links to its records, to be shown by itself."""
    parts = [element("h2", section.title), section_text(book, section, drawn)]
    if section.id == "cautions":
        parts += [text_of(book, key, drawn) for key in keys_of(book, section)]
    elif section.by:
        for name in getattr(book.base, section.by):
            keys = divided(book, (section.by, name))
            if keys:
                parts.append(part(link(book, (section.by, name))))
                parts.append(items(link(book, key) for key in keys))
    else:
        parts.append(items(link(book, key) for key in keys_of(book, section)))
    return joined(parts)
