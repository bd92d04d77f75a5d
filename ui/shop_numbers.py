"""Numbers of the shop: what came back, why, how many hours it took, and pulls avoided; Qt-free.

All of it is counted from closed cases in which something was found, and from nothing else.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal, NamedTuple

from diagnose.case import GRADES, STILL_THERE, Case, spent
from diagnose.records.kept import Closing
from knowledge.model import KnowledgeBase
from ui.closing import names_of

Period = Literal["quarter", "year", "all"]
PERIODS: tuple[tuple[Period, str, int | None], ...] = (
    ("quarter", "3 months", 3),
    ("year", "12 months", 12),
    ("all", "All", None),
)
NOT_CONFIRMED = "not confirmed"


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

    def among(self, cases: int) -> str:
        """Say among how many cases it was counted so often."""
        return f"{self.times} of {cases}, {100 * self.times / cases:.0f} %"


class Month(NamedTuple):
    """A month with its closed cases and their hours."""

    first: date
    cases: int
    hours: float

    @property
    def hours_said(self) -> str:
        """Its hours in as few letters as fit above a column."""
        return f"{self.hours:.0f} h" if self.hours >= 10.0 else f"{self.hours:.1f} h"


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
