"""The report as a sequence of blocks: what stands there, in which order and in which words."""

from collections.abc import Iterator, Sequence

from diagnose.limit_lines import limit_lines
from diagnose.report.blocks import (
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
from diagnose.report.chart import draw
from diagnose.report.conclusion import how_sure
from diagnose.report.record import Account, Cutaway, Figure, Named, Report, Told
from diagnose.report.told import first_large
from diagnose.sentences import counts, hours

EDITION_NAMES = {"customer": "Report", "job": "Report for the job folder"}
_TAUGHT = "+"  # in the version of a base whose words closed cases have moved
_NAMED_SHARES = (0.36, 0.64)
_BLANKS = (
    "Vehicle and its number",
    "Distance driven: at the job, now",
    "Kit, its number and invoice",
    "Shop",
    "Date and signature",
)
_DRAWN_FOR = (
    "Drawn to scale for this set-up, from the kit’s sheet where that was told and else from usual "
    "figures; it was not measured on the vehicle."
)
_USUAL_SIZE = "The fault is drawn as large as such a fault usually is."
_CHART_WORDS = (
    "The bands are what 9 in 10 readings would show; the upright line is the reading, the bar "
    "above it the range that was read, or what the gauge itself may be off (9 in 10)."
)


def head_line(report: Report) -> str:
    """Say in one line what this is, when, and by whom."""
    parts = [EDITION_NAMES[report.edition], report.date or "no date noted"]
    if report.people:
        parts.append(f"told by {', '.join(report.people)}")
    if report.made:
        parts.append(f"report made {report.made}")
    return " · ".join(parts)


def foot_line(report: Report) -> str:
    """Say with which knowledge and which program the report was made."""
    taught = ", with what closed cases taught" if _TAUGHT in report.knowledge else ""
    return f"Knowledge {report.knowledge}{taught} · {f'Pull Once {report.program}'.strip()}"


def blocks_of(report: Report) -> tuple[Block, ...]:
    """Give all blocks below the title and the head line.

    Parameters
    ----------
    report : Report

    Returns
    -------
    tuple of block
        The conclusion first; a part that has nothing to say is left out.
    """
    return tuple(_blocks(report))


def _blocks(report: Report) -> Iterator[Block]:
    for i, line in enumerate(report.conclusion):
        yield Paragraph(line, "lead" if i else "headline")
    yield from (Notice("STOP", text, stop=True) for text in report.stops)
    if report.cutaway is not None:
        yield from _cutaway(report.cutaway, found=report.closed)
    yield from _driver(report)
    if report.setup or report.kit:
        yield Heading("Vehicle and clutch")
        kit = [Named(f"Kit’s sheet: {name}", value) for name, value in report.kit]
        yield _named([*report.setup, *kit])
    if report.findings:
        yield Heading("What was found, in order")
        yield _entries(report.findings, timed=report.hours is not None)
    yield from _figures(report)
    yield from _evidence(report)
    if report.work:
        yield Heading("Work and repairs")
        yield _entries(report.work, timed=report.hours is not None)
    yield from _hours(report)
    yield Heading("Cautions")
    first, *cautions = report.cautions
    yield Paragraph(first, keep=bool(cautions))
    yield from (Notice("Caution", text) for text in cautions)
    yield from _outlook(report)
    if report.photographs:
        yield Heading("Photographs")
        yield Gallery(report.photographs)
    if report.edition == "customer":
        yield Heading("To be filled in by hand")
        yield Blanks(_BLANKS)
    for title, rows in (("About this case", report.about), ("Sources", report.sources)):
        if rows:
            yield Heading(title)
            yield _named(rows)


def _cutaway(cutaway: Cutaway, *, found: bool) -> Iterator[Block]:
    if not cutaway.lines:
        yield Heading("Where it lies" if found else "Where this cause would lie")
        yield Section(cutaway)
        yield Paragraph(_DRAWN_FOR, "muted")
        return
    does = "What it does" if found else "What this cause would do"
    yield Heading(f"{does}, with the pedal on the floor")
    yield Section(cutaway)
    yield Bullets(cutaway.lines)
    yield Paragraph(f"{_DRAWN_FOR} {_USUAL_SIZE}", "muted")


def _driver(report: Report) -> Iterator[Block]:
    if not report.words and not report.complaints:
        return
    yield Heading("What the driver says")
    if report.words:
        yield Paragraph(f"“{report.words}”")
    if report.complaints:
        yield _entries(report.complaints, timed=False)


def _named(rows: Sequence[Named]) -> Table:
    return Table((), _NAMED_SHARES, tuple((Cell(name), Cell(value)) for name, value in rows))


def _entries(entries: Sequence[Told], *, timed: bool) -> Table:
    timed = timed and any(entry.hours is not None for entry in entries)
    told = any(entry.when or entry.who for entry in entries)
    heads = ["No.", "What", "Answer"]
    shares = [0.07, 0.31, 0.62]
    if told:
        heads.append("Told by")
        shares = [0.07, 0.30, 0.44, 0.19]
    if timed:
        heads.append("Took")
        shares = [*shares[:2], shares[2] - 0.10, *shares[3:], 0.10]
    rows = []
    for entry in entries:
        remark = " ".join(part for part in (entry.remark, _note(entry)) if part)
        row = [Cell(str(entry.place)), Cell(entry.asked), Cell(first_large(entry.said), remark)]
        if told:
            row.append(Cell(entry.who, entry.when) if entry.who else Cell(entry.when))
        if timed:
            row.append(Cell("" if entry.hours is None else hours(entry.hours)))
        rows.append(tuple(row))
    return Table(tuple(heads), tuple(shares), tuple(rows))


def _note(entry: Told) -> str:
    return f"Note: {entry.note}" if entry.note else ""


def _figures(report: Report) -> Iterator[Block]:
    if not report.figures:
        return
    yield Heading("Figures: measured against predicted")
    if any(figure.foretold for figure in report.figures):
        yield Paragraph(_CHART_WORDS, "muted", keep=True)
    for figure in report.figures:
        yield from _figure(figure, sources=report.edition == "job")


def _figure(figure: Figure, *, sources: bool) -> Iterator[Block]:
    yield Heading(f"{figure.place}. {figure.measurement.name}", small=True)
    read = f"Read: {figure.said} ({figure.instrument}). {figure.remark}".strip()
    yield Paragraph(read, keep=bool(figure.foretold))
    if figure.foretold:
        yield Drawn(draw(figure))
    like = [
        f"Just like “{row.forecast.name}”: {'; '.join(row.others)}."
        for row in figure.foretold
        if row.others and sources
    ]
    alone = "; ".join(figure.alone)
    lines = [*like, *([f"These leave it as it is without a fault: {alone}."] if alone else [])]
    lines += limit_lines(figure.limits, few=not sources, sources=sources)
    if lines:
        yield Bullets(tuple(lines))


def _evidence(report: Report) -> Iterator[Block]:
    for account in report.accounts:
        yield Heading(f"What speaks for it: {account.name}")
        if account.lines:
            yield Bullets(account.lines)
        else:
            yield from _plain_account(account)
    if report.ruled_out:
        yield Heading("What was ruled out or is unlikely now, and by what")
        rows = tuple(
            (
                Cell(first_large(gone.name)),
                Cell(_by(gone.by, gone.explained_by)),
                Cell(first_large(counts(gone.p)), f"at first {counts(gone.first)}"),
            )
            for gone in report.ruled_out
        )
        yield Table(("Cause", "What did most against it", "Chance now"), (0.36, 0.42, 0.22), rows)


def _by(text: str, explained_by: str) -> str:
    if not text:
        return "No answer by itself; all of them together"
    if explained_by:
        return f"“{first_large(text)}” would fit, but is explained by: {explained_by}"
    return first_large(text)


def _plain_account(account: Account) -> Iterator[Block]:
    yield Paragraph(
        f"By the answers and readings: {how_sure(account.p)}; "
        f"before any of them it was {counts(account.prior)}."
    )
    for_it = tuple(first_large(s.text) + "." for s in account.spoken if s.weight > 0.0)
    against = tuple(f"{_by(s.text, s.explained_by)}." for s in account.spoken if s.weight < 0.0)
    if for_it:
        yield Bullets(for_it)
    if against:
        yield Paragraph("Against it:", keep=True)
        yield Bullets(against)


def _hours(report: Report) -> Iterator[Block]:
    spent = report.hours
    if spent is None or spent.whole <= 0.0:
        return
    parts = [
        f"{name} {hours(value)}"
        for name, value in (
            ("checks and questions", spent.looking),
            ("work and repairs", spent.work),
            ("ways and drives", spent.ways),
        )
        if value > 0.0
    ]
    so_far = "" if report.closed else " so far"
    yield Paragraph(f"Time counted{so_far}: {hours(spent.whole)} ({'; '.join(parts)}).")


def _outlook(report: Report) -> Iterator[Block]:
    if report.open:
        yield Heading("What remains open")
        yield Bullets(report.open)
    for part in report.plan:
        yield Heading(part.title, small=True)
        yield Bullets(part.lines)
    if report.closing:
        yield Heading("What to see to" if report.closed else "Before it closes")
        yield Bullets(report.closing)
