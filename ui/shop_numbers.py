"""Numbers of the shop: what came back, why, how many hours it took, and pulls avoided; Qt-free.

All of it is counted from closed cases in which something was found, and from nothing else.
"""

import csv
import io
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal, NamedTuple

from diagnose.case import GRADES, STILL_THERE, Case, spent
from diagnose.records.kept import Closing
from diagnose.sentences import hours
from knowledge.model import KnowledgeBase
from ui.closing import grade_name, names_of

Period = Literal["quarter", "year", "all"]
PERIODS: tuple[tuple[Period, str, int | None], ...] = (
    ("quarter", "3 months", 3),
    ("year", "12 months", 12),
    ("all", "All", None),
)
NOT_CONFIRMED = "not confirmed"
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


@dataclass(frozen=True)
class Job:
    """One closed case as it is counted.

    Attributes
    ----------
    id, title : str
    day : date
        When it was closed.
    complaints, causes : tuple of str
        Ids of what the driver told, and of what was found; any of the causes fits.
    sure : str
    hours : float
        What it cost in all.
    openings : int
        How often the gearbox came out since the complaint, as far as answers tell.
    at_once : float or None
        As `diagnose.case.Found` has it.
    """

    id: str
    title: str
    day: date
    complaints: tuple[str, ...]
    causes: tuple[str, ...]
    sure: str
    hours: float
    openings: int
    at_once: float | None = None


class Bar(NamedTuple):
    """A name with how often it was counted."""

    id: str
    name: str
    times: int


class Month(NamedTuple):
    """A month with its closed cases and their hours."""

    first: date
    cases: int
    hours: float


@dataclass(frozen=True)
class Saved:
    """Cases closed with the gearbox in, of which the advice on opening at once is on record.

    Attributes
    ----------
    cases : int
    expected : float
        Hours that the advice expected had each been opened at once.
    spent : float
        Hours they cost.
    """

    cases: int
    expected: float
    spent: float


@dataclass(frozen=True)
class Numbers:
    """What some closed cases come to.

    Attributes
    ----------
    cases : int
    confirmed : int
        Those in which what was found is not a guess.
    complaints, causes : tuple of Bar
        The most frequent first. Where several causes fit a case, each is counted.
    months : tuple of Month
        Every month from the first to the last, also those without a case.
    hours : float
    inside : tuple of int
        Cases closed with the gearbox in, opened once, and opened more than once.
    saved : Saved
    """

    cases: int
    confirmed: int
    complaints: tuple[Bar, ...]
    causes: tuple[Bar, ...]
    months: tuple[Month, ...]
    hours: float
    inside: tuple[int, int, int]
    saved: Saved


def job_of(base: KnowledgeBase, ended: Closing, case: Case) -> Job:
    """Give a closed case as it is counted.

    Parameters
    ----------
    base : KnowledgeBase
    ended : Closing
        As the store lists it.
    case : Case
        The same case.
    """
    told = {e.complaint: e.answer for e in case.entries if e.complaint is not None}
    found = case.found
    return Job(
        id=ended.id,
        title=case.title,
        day=datetime.fromisoformat(ended.closed or ended.opened).date(),
        complaints=tuple(name for name, answer in told.items() if answer in GRADES[:2]),
        causes=ended.causes,
        sure=ended.sure,
        hours=spent(case),
        openings=openings(base, case),
        at_once=None if found is None else found.at_once,
    )


def openings(base: KnowledgeBase, case: Case) -> int:
    """Count how often the gearbox came out, as far as the answers tell.

    It was out where something was answered or put right with it out; it was in again where after
    that something was answered with it in, or the vehicle was driven.
    """
    count, out = 0, False
    for entry in case.entries:
        at_job = entry.work is not None and entry.when == "job"
        if at_job:
            continue
        inside = entry.stage == "inside"
        count += inside and not out
        out = inside and not (entry.repair is not None and entry.answer == STILL_THERE)
    level = base.levels.get(case.stands)
    stands_open = level is not None and not level.drivable
    return max(count, 1) if stands_open else count


def within(jobs: Iterable[Job], period: Period, today: date) -> tuple[Job, ...]:
    """Give the cases closed in a period that ends today, the earliest first."""
    first = first_day(period, today)
    # A clock that was wrong may have closed a case in the future.
    chosen = (job for job in jobs if first is None or first <= job.day <= today)
    return tuple(sorted(chosen, key=lambda job: (job.day, job.id)))


def first_day(period: Period, today: date) -> date | None:
    """Give the first day of a period of whole months that ends today; None for all time."""
    count = next(months for key, _, months in PERIODS if key == period)
    return None if count is None else _months_on(today.replace(day=1), 1 - count)


def numbers_of(base: KnowledgeBase, jobs: Sequence[Job]) -> Numbers:
    """Count closed cases.

    Parameters
    ----------
    base : KnowledgeBase
        For the names.
    jobs : sequence of Job
        The earliest first.
    """
    kept_in = [job for job in jobs if job.openings == 0]
    told = [(job, job.at_once) for job in kept_in if job.at_once is not None]
    once = sum(job.openings == 1 for job in jobs)
    return Numbers(
        cases=len(jobs),
        confirmed=sum(job.sure != NOT_CONFIRMED for job in jobs),
        complaints=_bars(
            (name for job in jobs for name in job.complaints),
            {c.id: c.name for c in base.complaints.values()},
        ),
        causes=_bars(
            (name for job in jobs for name in job.causes),
            dict(zip(base.causes, names_of(base, base.causes), strict=True)),
        ),
        months=tuple(_months(jobs)),
        hours=sum(job.hours for job in jobs),
        inside=(len(kept_in), once, len(jobs) - len(kept_in) - once),
        saved=Saved(
            len(told), sum(at_once for _, at_once in told), sum(job.hours for job, _ in told)
        ),
    )


def _bars(counted: Iterable[str], names: Mapping[str, str]) -> tuple[Bar, ...]:
    bars = (Bar(n, names.get(n, n.replace("_", " ")), c) for n, c in Counter(counted).items())
    return tuple(sorted(bars, key=lambda bar: (-bar.times, bar.name)))


def _months(jobs: Sequence[Job]) -> Iterator[Month]:
    if not jobs:
        return
    cases: Counter[date] = Counter()
    spent_: dict[date, float] = {}
    for job in jobs:
        first = job.day.replace(day=1)
        cases[first] += 1
        spent_[first] = spent_.get(first, 0.0) + job.hours
    month, last = min(cases), max(cases)
    while month <= last:
        yield Month(month, cases[month], spent_.get(month, 0.0))
        month = _months_on(month, 1)


def _months_on(first: date, count: int) -> date:
    year, month = divmod(12 * first.year + first.month - 1 + count, 12)
    return date(year, month + 1, 1)


def pull_lines(numbers: Numbers) -> tuple[str, ...]:
    """Say what became of the gearbox, and how that is known."""
    kept_in, once, more = numbers.inside
    saved = numbers.saved
    lines = [
        f"{_cases(kept_in)} closed with the gearbox in, {_cases(once)} in which it came out once, "
        f"{_cases(more)} in which it came out more than once.",
    ]
    if saved.cases:
        mean = (saved.expected - saved.spent) / saved.cases
        way = "fewer" if mean >= 0.0 else "more"
        lines.append(
            f"Of {_cases(saved.cases)} closed with the gearbox in it is on record what the advice "
            f"expected of opening them at once: {hours(saved.expected)} in all. They took "
            f"{hours(saved.spent)}, {hours(abs(mean))} {way} for each."
        )
    elif kept_in:
        lines.append("What the advice expected of opening them at once is on record for none.")
    return tuple(lines)


HOW_COUNTED = (
    "How it is counted. The gearbox counts as out where something was answered or put right with "
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
