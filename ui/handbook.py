"""What the handbook's page lists and finds; Qt-free."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from diagnose.handbook import (
    KIND_NAMES,
    SECTIONS,
    Book,
    Key,
    front_text,
    keys_of,
    left_out,
    record_html,
    section_html,
)
from diagnose.handbook.markup import Markup, element, joined
from knowledge.model import KnowledgeBase
from ui.search import Index

FRONT: Key = ("section", "")
PLACE = "\ue000"  # stands where a drawing goes; of no face and no language
_MOST = 60  # rows that a search lists
_SECTIONS = {section.id: section for section in SECTIONS}

# Of each kind what is searched beside its name, the kinds that are looked for most first.
_SEARCHED: Mapping[str, tuple[str, ...]] = {
    "complaints": ("ask", "words"),
    "causes": ("about", "prove"),
    "checks": ("do",),
    "mechanisms": ("about",),
    "findings": (),
    "measurements": ("how",),
    "work": ("ask", "words"),
    "cautions": ("text",),
    "facts": ("ask",),
    "setups": ("about",),
    "zones": (),
    "levels": (),
    "sources": ("title",),
}


@dataclass(frozen=True)
class Found:
    """One row: where it leads, what it is called, what kind of record it is, and a number."""

    key: Key
    title: str
    kind: str = ""
    count: str = ""


@dataclass(frozen=True)
class Shown:
    """One page of the handbook.

    Attributes
    ----------
    title : str
    html : str
        With `PLACE` where its drawing goes.
    drawing : str
        Name of the drawing; empty if it has none.
    """

    title: str
    html: str
    drawing: str = ""


@dataclass(eq=False)
class Handbook:
    """The handbook of a base, with its contents and a search over all records."""

    book: Book
    _index: Index = field(init=False)
    _keys: dict[str, Key] = field(init=False)

    def __post_init__(self) -> None:
        base = self.book.base
        texts: dict[str, Sequence[str]] = {}
        self._keys = {}
        for kind, searched in _SEARCHED.items():
            for name, record in getattr(base, kind).items():
                key = (kind, name)
                self._keys["-".join(key)] = key
                said = [self.book.title(key)]
                for part in searched:
                    value = getattr(record, part)
                    said.extend((value,) if isinstance(value, str) else value)
                texts["-".join(key)] = said
        self._index = Index(texts)

    @classmethod
    def of(cls, base: KnowledgeBase) -> "Handbook":
        """Make the handbook of a base, ready for its first page."""
        book = Book(base)
        for complaint in base.complaints:
            book.leads(complaint)
        return cls(book)

    def find(self, typed: str) -> tuple[Found, ...]:
        """List what a text speaks of, best first; the sections if nothing is typed.

        Where no record has all the words, those that have most of them are listed.
        """
        if not typed.strip():
            return tuple(self._contents())
        found = self._index.find(typed) or self._index.suggest(typed)
        keys = [self._keys[name] for name in found[:_MOST]]
        return tuple(Found(key, self.book.title(key), KIND_NAMES[key[0]]) for key in keys)

    def show(self, key: Key) -> Shown:
        """Give the page of a record, of a section, or the front page.

        Raises
        ------
        KeyError
            If there is no such page.
        """
        kind, name = key
        if key == FRONT:
            head = element("h2", "The handbook")
            return Shown("The handbook", joined([head, front_text(self.book)]))
        if kind == "section":
            section = _SECTIONS[name]
            drawing = {"drawn": "lines", "overview": "overview"}.get(section.id, "")
            html = section_html(self.book, section, self._placed)
            return Shown(section.title, html, drawing)
        drawing = name if kind == "complaints" else ""
        return Shown(self.book.title(key), record_html(self.book, key, self._placed), drawing)

    def _placed(self, name: str) -> Markup:
        """Stand in for a drawing, with what it leaves out."""
        return joined([element("p", PLACE, class_="tree"), left_out(self.book, name)])

    def _contents(self) -> list[Found]:
        rows = [Found(FRONT, "About the handbook")]
        for section in SECTIONS:
            count = len(keys_of(self.book, section))
            rows.append(Found(("section", section.id), section.title, "", str(count or "")))
        return rows


def key_of(fragment: str) -> Key:
    """Give the page that a link of the handbook leads to."""
    kind, _, name = fragment.lstrip("#").partition("-")
    return (kind, name) if name else ("section", kind)
