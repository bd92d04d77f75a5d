"""The shop's numbers in words, and as a table for a spreadsheet; Qt-free."""

import csv
import io
from collections.abc import Iterable, Sequence

from diagnose.sentences import hours
from knowledge.model import KnowledgeBase
from ui.closing import grade_name, names_of
from ui.shop_numbers import Job, Month, Numbers

_FORMULA = ("=", "+", "-", "@", "\t", "\r")
COLUMNS = (
    "closed",
    "case",
    "complaints",
    "found",
    "how surely",
    "hours",
    "times the gearbox came out",
    "hours expected if opened at once",
)


def month_names(months: Sequence[Month]) -> tuple[str, ...]:
    """Give short names for an axis: the year stands by the first, and by every January."""
    firsts = [month.first for month in months]
    dated = {first for first in firsts if first.month == 1}
    if len(firsts) < 2 or firsts[1].month != 1:  # two years beside each other would have no room
        dated.update(firsts[:1])
    return tuple(f"{first:%b ’%y}" if first in dated else f"{first:%b}" for first in firsts)


def pull_lines(numbers: Numbers) -> tuple[str, ...]:
    """Say what became of the gearbox, and how that is known."""
    kept_in, once, more = numbers.inside
    saved = numbers.saved
    lines = [
        f"Of {_cases(numbers.cases)}, {kept_in or 'none'} closed with the gearbox in. "
        f"It came out once in {once or 'none'}, more than once in {more or 'none'}.",
    ]
    if saved.cases:
        mean = (saved.expected - saved.spent) / saved.cases
        way = "fewer" if mean >= 0.0 else "more"
        lines.append(
            f"For {saved.cases} of the {kept_in} it is on record what the advice expected of "
            f"opening them at once: {hours(saved.expected)} in all. They took "
            f"{hours(saved.spent)}, {hours(abs(mean))} {way} for each."
        )
    elif kept_in:
        lines.append("What the advice expected of opening them at once is on record for none.")
    return tuple(lines)


HOW_COUNTED = (
    "The gearbox counts as out where something was answered or put right with "
    "it out, so a pull without an answer is missed. What the advice expected is worked out when a "
    "case is closed in the window, from the complaint and the work at the job alone: the hours to "
    "a verified fix, had the gearbox come out first. Whether anybody would have pulled it, no "
    "record knows."
)


def _cases(count: int) -> str:
    return "1 case" if count == 1 else f"{count} cases"


def csv_text(base: KnowledgeBase, jobs: Iterable[Job]) -> str:
    """Give the cases as comma-separated values, one in a line.

    A cell that a spreadsheet would take for a formula gets an apostrophe before it.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    complaints = {c.id: c.name for c in base.complaints.values()}
    for job in jobs:
        cells = (
            job.day.isoformat(),
            job.title,
            "; ".join(complaints.get(name, name) for name in job.complaints),
            "; ".join(names_of(base, job.causes)),
            grade_name(job.sure),
            f"{job.hours:.2f}",
            str(job.openings),
            "" if job.at_once is None else f"{job.at_once:.2f}",
        )
        writer.writerow([safe_cell(cell) for cell in cells])
    return out.getvalue()


def safe_cell(text: str) -> str:
    """Give a cell that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(_FORMULA) else text
