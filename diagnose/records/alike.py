"""Closed cases like one that is open: counted, so that anybody can follow the likeness.

A closed case is like another if at least one complaint is the same and no known fact of the set-up
differs. Those alike in more complaints come first, then those in which more of the checks and work
that both have answered came out alike than not, then those changed last. No weights, and nothing
learned.

All closed cases are looked through, the best ones first: the index says of how many complaints a
case has the words, which is the most it can have in common, and no case has more answers alike
than the open one has. So the search ends once nothing that is left can be nearer than what it has.
"""

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from heapq import heappush, heappushpop
from typing import Any

from sqlalchemy import Connection, select

from diagnose.case import NO_EVIDENCE
from diagnose.records import searching
from diagnose.records.kept import State
from diagnose.records.patches import Data, subject_of
from diagnose.records.tables import cases

_AT_ONCE = 300  # cases that are read at once; an engine takes only so many values in a statement
_SIDES = {"yes": "yes", "probably": "yes", "probably not": "no", "no": "no"}
_TOLD = ("yes", "probably")
Subject = tuple[str, str]


@dataclass(frozen=True)
class Likeness:
    """How far two cases are alike.

    Attributes
    ----------
    shared, complaints : int
        Complaints that both drivers told, and those that the open case's driver told.
    alike, both : int
        Answers that came out alike, and checks and work that both have answered.
    setup_known : bool
        Whether any fact of the set-up is known of both; none that is differs.
    """

    shared: int
    complaints: int
    alike: int
    both: int
    setup_known: bool

    @property
    def order(self) -> tuple[int, int, int]:
        """The greater, the nearer: complaints, then answers alike less those that differ."""
        return self.shared, 2 * self.alike - self.both, self.both


@dataclass(frozen=True)
class Alike:
    """A closed case like the open one, and what was found.

    Attributes
    ----------
    id, title : str
    closed : str
        When it was closed.
    causes : tuple of str
        Ids of what was found; any of them fits the report.
    sure : str
        How surely, in the words of `diagnose.case.Found`.
    hours : float
        What it cost in all.
    likeness : Likeness
    """

    id: str
    title: str
    closed: str
    causes: tuple[str, ...]
    sure: str
    hours: float
    likeness: Likeness


def likeness(case: Data, other: Data) -> Likeness | None:
    """Say how far two cases are alike.

    Parameters
    ----------
    case, other : Data
        Cases as `diagnose.records.patches.data_of` gives them; `case` is the open one.

    Returns
    -------
    Likeness or None
        None if no complaint is the same, or a known fact of the set-up differs.
    """
    told, other_told = (_told(data) for data in (case, other))
    facts, other_facts = (data.get("facts", {}) for data in (case, other))
    known = [name for name in facts if name in other_facts]
    if not told & other_told or any(not _meet(facts[n], other_facts[n]) for n in known):
        return None
    said, other_said = (_said(data) for data in (case, other))
    both = said.keys() & other_said.keys()
    same = sum(said[subject] == other_said[subject] for subject in both)
    return Likeness(len(told & other_told), len(told), same, len(both), bool(known))


def find(connection: Connection, case: Data, skip: str, limit: int) -> tuple[Alike, ...]:
    """Find closed cases like one; `Store.alike` says how."""
    complaints, answers = _told(case), len(_said(case))
    seen = Counter(
        last for name in complaints for last in searching.places(connection, name, State.CLOSED)
    )
    order = sorted(seen, reverse=True)
    order.sort(key=seen.__getitem__, reverse=True)  # of as many, those changed last stay first
    nearest: list[tuple[tuple[int, ...], Alike]] = []  # a heap, the farthest of them on top
    for start in range(0, len(order), _AT_ONCE):
        page = order[start : start + _AT_ONCE]
        best = (seen[page[0]], answers, answers, page[0])
        if len(nearest) == limit and nearest[0][0] > best:
            break
        for row in _rows(connection, page, skip):
            how = likeness(case, json.loads(row.content))
            if how is not None:
                causes = tuple(json.loads(row.causes))
                found = Alike(row.id, row.title, row.closed, causes, row.sure, row.hours, how)
                push = heappush if len(nearest) < limit else heappushpop
                push(nearest, ((*how.order, row.last), found))
    return tuple(one for _, one in sorted(nearest, reverse=True))


def _rows(connection: Connection, lasts: Iterable[int], skip: str) -> Iterable[Any]:
    """Give the rows of some cases in which a cause was found."""
    c = cases.c
    query = select(c.id, c.title, c.closed, c.causes, c.sure, c.hours, c.last, c.content)
    chosen = query.where(c.last.in_(lasts), c.causes.is_not(None), c.id != skip)
    return connection.execute(chosen).all()


def _told(data: Data) -> set[str]:
    """Give the complaints that a driver told, as they were told last."""
    last = {e["complaint"]: e["answer"] for e in data.get("entries", []) if "complaint" in e}
    return {name for name, answer in last.items() if answer in _TOLD}


def _said(data: Data) -> dict[Subject, str]:
    """Give the last answer of each check and work that says something."""
    said = {
        subject_of(e): str(e["answer"])
        for e in data.get("entries", [])
        if "check" in e or "work" in e
    }
    return {s: _SIDES.get(a, a) for s, a in said.items() if a not in NO_EVIDENCE}


def _meet(values: Iterable[str], others: Iterable[str]) -> bool:
    """Whether what may be is the same in one value at least."""
    return bool(set(values) & set(others))
