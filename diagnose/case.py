"""One comeback: a frozen value. Every answer makes the next case, and undo is the one before.

A case is a timeline of entries - what the driver complains of, what checks showed, what work and
which repairs were done - with the set-up they hold for. The place of an entry in the timeline is
its stamp: what was seen before a repair tells of the state before it. A repair stays pending until
somebody has driven: only the road says whether the complaint is gone.
"""

from collections.abc import Mapping
from hashlib import blake2b
from typing import Annotated, Literal

from pydantic import Field, model_validator

from knowledge.model import Hours, Id, Needs, Record

FORMAT = 1
GRADES = ("yes", "probably", "can't tell", "probably not", "no")
NO_EVIDENCE = frozenset({"can't tell", "could not check", "don't know"})
PENDING = "not driven yet"
STILL_THERE = "still there"
OUTCOMES = (PENDING, STILL_THERE)

Line = Annotated[str, Field(max_length=2000)]
Spent = Annotated[float, Field(ge=0.0, le=100_000.0, strict=True)]
Money = Annotated[float, Field(ge=0.0, le=1_000_000.0, strict=True)]
Stage = Literal["before", "inside"]


class Entry(Record):
    """One thing somebody said, saw or did: a complaint, check, work or repair, just one of them.

    Attributes
    ----------
    repair : str or None
        Id of the cause whose repair was done.
    answer : str
        One of `GRADES`, the id of one of the check's or work's answers, or one of `NO_EVIDENCE`;
        for a repair one of `OUTCOMES`.
    reading : str
        What the gauge showed, as typed ("1 3/8 in"), for checks that take a measurement.
    instrument : str or None
        What it was read with, by the measurement's own id; None for what is usually taken.
    when : str
        For work: done at the clutch ``job``, or ``since``, with the complaint still there.
    stage : str
        Whether it was known ``before`` the gearbox came out, or only with it open (``inside``).
    seen : bool
        For a repair: whether the faulty part was seen.
    hours : float or None
        What it cost with the way to it, as it was done; None where nothing was counted.
    by_the_way : bool
        Whether it was seen while something else was done, and so cost nothing.
    """

    complaint: Id | None = None
    check: Id | None = None
    work: Id | None = None
    repair: Id | None = None
    answer: Annotated[str, Field(min_length=1, max_length=80)]
    reading: Annotated[str, Field(max_length=80)] = ""
    instrument: Id | None = None
    when: Literal["job", "since"] = "job"
    stage: Stage = "before"
    seen: bool = False
    hours: Spent | None = None
    by_the_way: bool = False
    note: Line = ""
    by: Annotated[str, Field(max_length=80)] = ""
    at: Annotated[str, Field(max_length=40)] = ""

    @model_validator(mode="after")
    def _names_one_thing(self) -> "Entry":
        named = (self.complaint, self.check, self.work, self.repair)
        if sum(name is not None for name in named) != 1:
            message = "an entry names exactly one of 'complaint', 'check', 'work' and 'repair'"
            raise ValueError(message)
        return self

    @property
    def subject(self) -> tuple[str, str]:
        """What it is about: ("complaint" | "check" | "work" | "repair", id)."""
        if self.complaint is not None:
            return "complaint", self.complaint
        if self.check is not None:
            return "check", self.check
        return ("work", self.work) if self.work is not None else ("repair", self.repair or "")

    @property
    def is_repair(self) -> bool:
        """Whether it was done since the complaint, which stayed: older answers may be stale."""
        since = self.work is not None and self.when == "since"
        return since or (self.repair is not None and self.answer == STILL_THERE)

    @property
    def is_pending(self) -> bool:
        """Whether it is a repair that nobody has driven with yet."""
        return self.repair is not None and self.answer == PENDING

    @property
    def mends(self) -> bool:
        """Whether what is seen after it tells of another state than what was seen before."""
        return self.is_repair or self.is_pending


class Found(Record):
    """What was wrong in the end: any of `causes` fits the report, with a word why.

    Attributes
    ----------
    at_once : float or None
        Expected hours to a verified fix had the gearbox been taken out first of all, as the advice
        has it when only the complaint and the work at the job are known. Worked out when the case
        is closed; None where nobody did.
    """

    causes: Annotated[tuple[Id, ...], Field(min_length=1)]
    sure: Literal["part seen", "complaint gone", "not confirmed", "customer silent"] = "part seen"
    why: Line = ""
    at_once: Spent | None = None


class Leading(Record):
    """A cause and its chance."""

    cause: Id
    p: Annotated[float, Field(ge=0.0, le=1.0, strict=True)]


class Ranking(Record):
    """The leading causes of a case as they were when somebody left it.

    Attributes
    ----------
    knowledge : str
        Version of the knowledge base that ranked them.
    weighed : str
        The `weighed_digest` of the case that was ranked; what was answered since is not in it.
    leading : tuple of Leading
        The likeliest first.
    """

    knowledge: Annotated[str, Field(max_length=40)]
    weighed: Annotated[str, Field(max_length=40)]
    leading: Annotated[tuple[Leading, ...], Field(max_length=5)]


class Case(Record):
    """A comeback as far as it is known.

    Attributes
    ----------
    facts : Mapping
        For each known fact of the set-up the values that are still possible.
    kit : Mapping
        Figures of the kit's own sheet, as typed, by their names in `knowledge.release`.
    hours : Mapping
        The user's own hours for the steps down to a level, where they differ from the base.
    stands : str
        The level the vehicle is taken apart to now.
    words : str
        The complaint in the driver's own words.
    acknowledged, skipped : tuple of str
        Cautions that were read; checks that can't be done now.
    moved : float
        Hours that no entry holds: ways taken by hand, drives, and entries that were removed.
    limit : float or None
        The customer's limit: hours that may be spent from `limit_from` on.
    limit_from : float
        Hours that were spent when the limit was set.
    labour : float or None
        Money for an hour of work.
    parts : Mapping
        Cause id -> the price of the parts that put it right.
    currency : str
        What the money is.
    found : Found or None
        What was wrong, once it is known.
    note : str
        A note for whoever takes the case over.
    ranked : Ranking or None
        What it was assessed as when somebody left it.
    """

    title: Line = ""
    setup: Id | None = None
    facts: Needs = Field(default_factory=dict)
    kit: Mapping[Id, Annotated[str, Field(min_length=1, max_length=40)]] = Field(
        default_factory=dict
    )
    hours: Mapping[Id, Hours] = Field(default_factory=dict)
    stands: Id = "seat"
    words: Line = ""
    entries: Annotated[tuple[Entry, ...], Field(max_length=1000)] = ()
    acknowledged: tuple[Id, ...] = ()
    skipped: tuple[Id, ...] = ()
    moved: Spent = 0.0
    limit: Hours | None = None
    limit_from: Spent = 0.0
    labour: Money | None = None
    parts: Mapping[Id, Money] = Field(default_factory=dict)
    currency: Annotated[str, Field(max_length=12)] = ""
    found: Found | None = None
    note: Line = ""
    origin: Line = ""
    knowledge: Annotated[str, Field(max_length=40)] = ""
    ranked: Ranking | None = None

    def with_entry(self, entry: Entry) -> "Case":
        """Give the case with an entry added, or changed where it stands.

        An entry about the same thing is changed in place and its hours add up, unless a repair has
        been done since: then the new one tells of another state and is added. A complaint is added
        only if the vehicle was driven after that repair, for the driver tells of what he drove.
        Work done at the job and the same work done since are two things, and the first stays what
        it was. A repair that did not help and is done once more is added as well.
        """
        place = self._place_for(entry)
        if place is None:
            entries = (*self.entries, entry)
        else:
            old = self.entries[place]
            entry = entry.model_copy(update={"hours": _added(old.hours, entry.hours)})
            entries = (*self.entries[:place], entry, *self.entries[place + 1 :])
        kind, name = entry.subject
        skipped = tuple(s for s in self.skipped if kind != "check" or s != name)
        return self._with(entries=entries, skipped=skipped)

    def _place_for(self, entry: Entry) -> int | None:
        """Give the index of the entry that a new one changes; None if it is added."""
        same = [
            i
            for i, e in enumerate(self.entries)
            if e.subject == entry.subject and (e.when == entry.when or entry.repair is not None)
        ]
        if not same:
            return None
        since = self.entries[same[-1] + 1 :]
        told = entry.complaint is not None
        repaired = any(e.is_repair if told else e.mends for e in since)
        at_job = entry.work is not None and entry.when == "job"
        again = entry.is_pending and self.entries[same[-1]].is_repair
        return None if again or (repaired and not at_job) else same[-1]

    def without(self, subject: tuple[str, str]) -> "Case":
        """Give the case without its latest entry about something; unchanged if there is none."""
        old = self.latest(subject)
        return self if old is None else self.without_entry(old)

    def without_entry(self, place: int) -> "Case":
        """Give the case without one entry of the timeline; its hours stay spent."""
        moved = _added(self.moved, self.entries[place].hours)
        return self._with(
            entries=(*self.entries[:place], *self.entries[place + 1 :]), moved=moved or 0.0
        )

    def latest(self, subject: tuple[str, str]) -> int | None:
        """Give the index of the latest entry about something."""
        places = [i for i, e in enumerate(self.entries) if e.subject == subject]
        return places[-1] if places else None

    def answer_to(self, subject: tuple[str, str]) -> str | None:
        """Give the latest answer about something."""
        place = self.latest(subject)
        return None if place is None else self.entries[place].answer

    def with_facts(self, facts: Needs, *, setup: str | None = None) -> "Case":
        """Give the case with its set-up replaced."""
        return self.model_copy(update={"facts": dict(facts), "setup": setup})

    def with_kit(self, kit: Mapping[str, str]) -> "Case":
        """Give the case with the figures of the kit's sheet replaced."""
        return self._with(kit=dict(kit))

    def with_skipped(self, check: str) -> "Case":
        """Give the case with a check marked as one that can't be done now."""
        return self if check in self.skipped else self._with(skipped=(*self.skipped, check))

    def with_acknowledged(self, cautions: tuple[str, ...]) -> "Case":
        """Give the case with cautions marked as read."""
        return self._with(acknowledged=tuple(dict.fromkeys((*self.acknowledged, *cautions))))

    def with_stands(self, level: str) -> "Case":
        """Give the case with the vehicle taken apart to another level."""
        return self._with(stands=level)

    def before_opening(self) -> "Case":
        """Give the case as it was known before the gearbox came out."""
        return self._with(entries=tuple(e for e in self.entries if e.stage == "before"))

    def _with(self, **changes: object) -> "Case":
        return self.model_copy(update=changes)


def _added(hours: float | None, more: float | None) -> float | None:
    """Add hours up; None where none of both was counted."""
    if hours is None or more is None:
        return more if hours is None else hours
    return round(hours + more, 6)


def spent(case: Case) -> float:
    """Give the hours that a case has cost so far: its entries, ways by hand and drives."""
    return case.moved + sum(entry.hours or 0.0 for entry in case.entries)


def left_today(case: Case) -> float | None:
    """Give the hours that the customer's limit still allows, 0 once it is used up.

    None if there is no limit.
    """
    if case.limit is None:
        return None
    return max(0.0, case.limit - (spent(case) - case.limit_from))


def weighed_digest(case: Case) -> str:
    """Give a short mark of all that an assessment weighs: the same for the same answers.

    Parameters
    ----------
    case : Case

    Returns
    -------
    str
        Twelve hexadecimal digits of set-up, kit and timeline. Who said something, when, at which
        cost and with which note does not count.
    """
    said = case.model_dump_json(
        include={"facts", "kit", "entries"},
        exclude={"entries": {"__all__": {"note", "by", "at", "hours"}}},
        exclude_defaults=True,
    )
    return blake2b(said.encode(), digest_size=6).hexdigest()
