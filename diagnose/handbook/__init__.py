"""The handbook: the whole knowledge base as one readable page, with the tree drawn.

`book` gathers what belongs together across records, `sections` says in which order it is told.
`page` makes one HTML file of it, without a script; `record_html` gives the text of one record, for
a window that shows them one by one.
"""

from diagnose.handbook.book import KIND_NAMES, Book, Key
from diagnose.handbook.counts import base_lines
from diagnose.handbook.file import HandbookError, write_handbook
from diagnose.handbook.markup import Markup
from diagnose.handbook.page import handbook
from diagnose.handbook.sections import (
    SECTIONS,
    TITLE,
    Section,
    drawing_of,
    front_text,
    keys_of,
    left_out,
    record_html,
    section_html,
)

__all__ = [
    "KIND_NAMES",
    "SECTIONS",
    "TITLE",
    "Book",
    "HandbookError",
    "Key",
    "Markup",
    "Section",
    "base_lines",
    "drawing_of",
    "front_text",
    "handbook",
    "keys_of",
    "left_out",
    "record_html",
    "section_html",
    "write_handbook",
]
