"""HTML that can't be broken by what it says: plain text is escaped wherever it goes in."""

from collections.abc import Iterable
from html import escape


class Markup(str):
    """Text that is HTML already."""

    __slots__ = ()


def markup(part: str) -> Markup:
    """Give plain text as HTML; what is HTML already stays as it is."""
    return part if isinstance(part, Markup) else Markup(escape(part))


def joined(parts: Iterable[str], between: str = "") -> Markup:
    """Join texts and HTML to one piece of HTML."""
    return Markup(markup(between).join(markup(part) for part in parts))


def element(name: str, *parts: str, **attributes: str) -> Markup:
    """Give an element with its content.

    Parameters
    ----------
    name : str
        Of the tag.
    *parts : str
        Content: plain text, or HTML as `Markup`.
    **attributes : str
        ``class_`` stands for ``class``, other ``_`` for ``-``; empty ones are left out.
    """
    said = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(value)}"'
        for key, value in attributes.items()
        if value
    )
    return Markup(f"<{name}{said}>{joined(parts)}</{name}>")
