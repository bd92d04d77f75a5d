"""A report on paper: a PDF with the lines and letters of the program's own face.

The blocks of the report become slices (`ui.report_slices`), and slices fill pages
(`ui.report_pages`).
"""

from collections.abc import Iterator

from diagnose.report import SHEETS, Paper, Report, blocks_of, foot_line, head_line
from ui.report_pages import Edge, Frame, pdf_of
from ui.report_slices import set_block
from ui.report_type import Setting, Slice, Style

_SIDE, _TOP, _FOOT = 57.0, 62.0, 62.0  # margins, in points
_HEAD_LINE = 40.0  # from the edge of the sheet


def report_pdf(report: Report, paper: Paper = "a4") -> bytes:
    """Put a report on paper.

    Parameters
    ----------
    report : Report
    paper : str

    Returns
    -------
    bytes
        A PDF file.
    """
    frame = Frame(SHEETS[paper], _SIDE, _TOP, _FOOT)

    def edges(number: int, every: int) -> Iterator[Edge]:
        yield frame.foot_edge(foot_line(report), number, every)
        if number > 1:
            yield frame.head_edge(_HEAD_LINE, report.title, report.date)

    return pdf_of(report.title, frame, lambda setting: _slices(report, setting), edges)


def _slices(report: Report, setting: Setting) -> Iterator[Slice]:
    yield from setting.text(report.title, Style(18.0, bold=True), keep=True)
    yield from setting.text(head_line(report), Style(9.5, "muted"), before=3.0, keep=True)
    yield setting.space(10.0)
    for block in blocks_of(report):
        yield from set_block(setting, block)
