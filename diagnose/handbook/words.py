"""Turns of phrase of the handbook, and the pieces of HTML its records are made of."""

from collections.abc import Iterable, Sequence

from diagnose.drawings.cards import condition_words, strength_words
from diagnose.handbook.book import Book, Key
from diagnose.handbook.markup import Markup, element, joined
from knowledge.model import Caution, Needs, Shift, Sources, Strength, shift_value
from knowledge.quantity import difference_value
from knowledge.release import FIGURE_KINDS, SHEET_FIGURES

_SIGNS = {"stop": ("■", "Stop"), "caution": ("▲", "Caution")}
_COUNTED = ((0.01, 100.0, "100"), (0.001, 1000.0, "1000"), (0.0, 10_000.0, "10 000"))


def capital(text: str) -> str:
    """Give a text with a capital letter in front."""
    return text[:1].upper() + text[1:]


def anchor(key: Key) -> str:
    """Give the id that a record has in the page."""
    return "-".join(key)


def link(book: Book, key: Key, text: str = "") -> Markup:
    """Give a link to a record, by its name if nothing else is said."""
    return element("a", text or book.title(key), href=f"#{anchor(key)}")


def links(book: Book, keys: Iterable[Key]) -> Markup:
    """Give links to records in one line."""
    return joined([link(book, key) for key in keys], "; ")


def tie(book: Book, key: Key, strength: Strength) -> Markup:
    """Give a link to a record with the strength of its tie, and the condition of that."""
    condition = condition_words(book.base, strength.when)
    only = f" (only where: {condition})" if condition else ""
    source = joined([" (", sources(book, strength.source), ")"]) if strength.source else ""
    return joined([link(book, key), f" – {strength_words(book.base, strength)}{only}", source])


def items(parts: Iterable[str]) -> Markup:
    """Give a list; nothing for an empty one."""
    listed = [element("li", part) for part in parts]
    return element("ul", *listed) if listed else Markup()


def part(title: str) -> Markup:
    """Give the heading of a part of a record."""
    return element("h5", title, class_="part")


def block(title: str, *parts: str) -> Markup:
    """Give a part of a record with its heading; nothing where there is nothing to say."""
    said = [part if isinstance(part, Markup) else paragraph(part) for part in parts if part]
    return joined([part(title), *said]) if said else Markup()


def paragraph(*parts: str) -> Markup:
    """Give a paragraph; nothing for an empty one."""
    return element("p", *parts) if any(parts) else Markup()


def table(heads: Sequence[str], rows: Iterable[Sequence[str]], *, class_: str = "") -> Markup:
    """Give a table; nothing for one without rows."""
    body = [element("tr", *(element("td", cell) for cell in row)) for row in rows]
    if not body:
        return Markup()
    head = element("tr", *(element("th", name, scope="col") for name in heads))
    return element("table", element("thead", head), element("tbody", *body), class_=class_)


def facts(pairs: Iterable[tuple[str, str]]) -> Markup:
    """Give short facts, each with its name; those that say nothing are left out."""
    rows = [
        element("tr", element("th", name, scope="row"), element("td", said))
        for name, said in pairs
        if said
    ]
    return element("table", *rows, class_="facts") if rows else Markup()


def notices(cautions: Iterable[Caution]) -> Markup:
    """Give cautions and stop notices with sign, word and text, stop notices first."""
    listed = list(cautions)
    boxes = []
    for level, (sign, word) in _SIGNS.items():
        head = element("strong", f"{sign} {word}.")
        lines = [element("p", head, " ", c.text, class_=level) for c in listed if c.level == level]
        if lines:
            boxes.append(element("div", *lines, class_=f"box {level}"))
    return joined(boxes)


def sources(book: Book, named: Sources) -> Markup:
    """Give where something comes from, with links to published sources."""
    return joined(
        [link(book, ("sources", s)) if s in book.base.sources else s for s in named], ", "
    )


def source_line(book: Book, named: Sources) -> Markup:
    """Give the line below a record that says where it comes from."""
    return element("p", "Source: ", sources(book, named), class_="source")


def setups(book: Book, when: Needs) -> Markup:
    """Say which set-ups something is for, with links to what is asked about the vehicle."""
    if not when:
        return Markup("all")
    said = []
    for fact, values in when.items():
        record = book.base.facts[fact]
        names = " or ".join(record.values[value].name for value in values)
        said.append(joined([link(book, ("facts", fact)), f" – {names}"]))
    return joined(said, "; ")


def number(value: float) -> str:
    """Give a number without digits that say nothing."""
    return f"{value:.4g}"


def percent(p: float) -> str:
    """Give a chance in plain counts, as fine as it needs."""
    if p == 0.0:
        return "never"
    of, said = next((n, w) for least, n, w in _COUNTED if p >= least)
    return f"{number(of * p)} in {said}"


def shift_words(book: Book, moved: str, shift: Shift) -> Markup:
    """Say what a cause does to a figure of the release system or to a reading."""
    base = book.base
    measured = base.measurements.get(moved)
    unit = measured.unit if measured else FIGURE_KINDS[moved].unit
    name: str = (
        link(book, ("measurements", moved)) if measured else capital(FIGURE_KINDS[moved].meaning)
    )
    inside = measured is None
    parts = [_amount(shift, unit, inside=inside)]
    if shift_value(shift.spread, unit) > 0.0:
        parts.append(f"give or take {_quantity(shift.spread, unit, inside=inside)}")
    if shift.chance:
        parts.append(f"in some cases only ({shift.chance})")
    condition = condition_words(base, shift.when)
    if condition:
        parts.append(f"only where: {condition}")
    source = joined([" (", sources(book, shift.source), ")"]) if shift.source else ""
    return joined([name, f": {', '.join(parts)}", source])


def _amount(shift: Shift, unit: str, *, inside: bool) -> str:
    if shift.kit is not None:
        meant = SHEET_FIGURES[shift.kit] if shift.kit in SHEET_FIGURES else FIGURE_KINDS[shift.kit]
        figure = f"the {meant.meaning} of the kit"
        times = abs(shift.times)
        often = "" if times == 1.0 else f"{number(times)} times "
        return f"{'less' if shift.times < 0.0 else 'more'} by {often}{figure}"
    by = shift.by or 0.0
    if shift_value(by, unit) == 0.0:
        return "one way or the other"
    said = _quantity(by, unit, inside=inside)
    less = said.startswith("-")
    return f"{'less' if less else 'more'} by {said.lstrip('-+')}"


def _quantity(amount: float | str, unit: str, *, inside: bool) -> str:
    """Say an amount as it is written; of a number say the unit, which may be the inside one."""
    if isinstance(amount, str):
        return amount.strip()
    value = amount if inside else amount / difference_value("1", unit)
    return f"{number(value)} {unit}".strip()
