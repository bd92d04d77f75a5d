"""The report as one HTML file that needs nothing else, and prints well."""

from base64 import b64encode
from html import escape

from diagnose.drawings.svg import svg
from diagnose.handbook.markup import Markup, element, joined
from diagnose.report.blocks import (
    LEADS,
    Block,
    Bullets,
    Cell,
    Drawn,
    Heading,
    Notice,
    Paragraph,
    Shown,
    Table,
    blocks_of,
    foot_line,
    head_line,
)
from diagnose.report.paper import Paper
from diagnose.report.record import Photograph, Report
from diagnose.report.style import report_style

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
            return element("p", block.text, class_="" if block.tone == "plain" else block.tone)
        case Bullets():
            return element("ul", *(element("li", line) for line in block.lines))
        case Notice():
            word = element("strong", f"{block.word}: ")
            return element("p", word, block.text, class_=f"box {'stop' if block.stop else ''}")
        case Table() | Drawn() | Shown():
            return _large(block, number)


def _large(block: Table | Drawn | Shown, number: int) -> Markup:
    if isinstance(block, Table):
        return _table(block)
    if isinstance(block, Drawn):
        return element("figure", Markup(svg(block.drawing, f"figure-{number}")))
    return _photograph(block.photograph)


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
