"""The report as one HTML file that needs nothing else, and prints well."""

from base64 import b64encode
from html import escape

from diagnose.drawings.cutaway.paper import svg as section_svg
from diagnose.drawings.svg import svg
from diagnose.handbook.markup import Markup, element, joined
from diagnose.report.blocks import (
    LEADS,
    Blanks,
    Block,
    Bullets,
    Cell,
    Drawn,
    Gallery,
    Heading,
    Notice,
    Paragraph,
    Section,
    Table,
)
from diagnose.report.order import blocks_of, foot_line, head_line
from diagnose.report.paper import Paper
from diagnose.report.record import Photograph, Report
from diagnose.report.style import DRAWN_STYLE, report_style

_PICTURES = (
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"\xff\xd8\xff", "image/jpeg"),
    (b"GIF8", "image/gif"),
)
NOT_SHOWN = "This picture can’t be shown here."


def report_html(report: Report, paper: Paper = "a4") -> str:
    """Write a report as a web page.

    Parameters
    ----------
    report : Report
    paper : str
        What it is printed on.

    Returns
    -------
    str
        An HTML document without a script; the same report gives the same text.
    """
    blocks = blocks_of(report)
    lead = sum(isinstance(b, Paragraph) and b.tone in LEADS for b in blocks)
    body = joined(
        [
            element(
                "header",
                element("h1", report.title),
                element("p", head_line(report), class_="head"),
            ),
            element(
                "main",
                element("section", *(_html(b, i) for i, b in enumerate(blocks[:lead]))),
                *(_html(block, i) for i, block in enumerate(blocks[lead:], lead)),
            ),
            element("footer", element("p", foot_line(report))),
        ],
        "\n",
    )
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"{element('title', report.title)}\n<style>\n{report_style(paper)}\n</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )


def _html(block: Block, number: int) -> Markup:
    match block:
        case Heading():
            return element("h3" if block.small else "h2", block.text)
        case Paragraph():
            return element("p", block.text, class_=_look(block))
        case Bullets():
            return element("ul", *(element("li", line) for line in block.lines))
        case Notice():
            word = element("strong", f"{block.word}: ")
            return element("p", word, block.text, class_=f"box {'stop' if block.stop else ''}")
        case Table() | Blanks():
            return _table(block) if isinstance(block, Table) else _blanks(block)
        case Drawn() | Section() | Gallery():
            return _pictures(block, number)


def _look(paragraph: Paragraph) -> str:
    classes = (paragraph.tone if paragraph.tone != "plain" else "", "keep" * paragraph.keep)
    return " ".join(name for name in classes if name)


def _pictures(block: Drawn | Section | Gallery, number: int) -> Markup:
    name = f"figure-{number}"
    if isinstance(block, Drawn):
        return element("figure", Markup(svg(block.drawing, name, style=DRAWN_STYLE)))
    if isinstance(block, Section):
        said = " ".join(block.cutaway.lines)
        drawn = section_svg(block.cutaway.picture, name, about=said, style=DRAWN_STYLE)
        return element("figure", Markup(drawn))
    return element("div", *(_photograph(p) for p in block.photographs), class_="gallery")


def _table(table: Table) -> Markup:
    columns = [Markup(f'<col style="width:{100 * share:.4g}%">') for share in table.shares]
    heads = element("tr", *(element("th", head, scope="col") for head in table.heads))
    rows = [
        element("tr", *(_cell(cell, head=not table.heads and i == 0) for i, cell in enumerate(row)))
        for row in table.rows
    ]
    return element(
        "table",
        element("colgroup", *columns),
        *([element("thead", heads)] if table.heads else []),
        element("tbody", *rows),
        class_="" if table.heads else "named",
    )


def _cell(cell: Cell, *, head: bool) -> Markup:
    remark = [element("span", cell.remark, class_="remark")] if cell.remark else []
    return element("th" if head else "td", cell.text, *remark, scope="row" if head else "")


def _blanks(blanks: Blanks) -> Markup:
    rows = (element("tr", element("th", n, scope="row"), element("td")) for n in blanks.names)
    return element("table", element("tbody", *rows), class_="named blanks")


def _photograph(photograph: Photograph) -> Markup:
    kind = next((k for start, k in _PICTURES if photograph.data.startswith(start)), "")
    caption = element("figcaption", caption_of(photograph))
    if not kind:
        return element("figure", element("p", NOT_SHOWN, class_="muted"), caption)
    said = b64encode(photograph.data).decode("ascii")
    alt = escape(caption_of(photograph))
    return element("figure", Markup(f'<img alt="{alt}" src="data:{kind};base64,{said}">'), caption)


def caption_of(photograph: Photograph) -> str:
    """Say what a photograph is."""
    parts = (photograph.name, photograph.caption)
    return ": ".join(part for part in parts if part)
