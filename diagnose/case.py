"""One comeback: a frozen value. Every answer makes the next case, and undo is the one before.

A case is a timeline of entries - what the driver complains of, what checks showed, what work was
done - with the set-up they hold for. The place of an entry in the timeline is its stamp: what was
seen before a repair tells of the state before it.
"""

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field, model_validator

from knowledge.model import Hours, Id, Needs, Record

FORMAT = 1
GRADES = ("yes", "probably", "can't tell", "probably not", "no")
NO_EVIDENCE = frozenset({"can't tell", "could not check", "don't know"})

Line = Annotated[str, Field(max_length=2000)]
Stage = Literal["before", "inside"]


class Entry(Record):
    """One thing somebody said, saw or did; exactly one of complaint, check and work is named.

    Attributes
    ----------
    answer : str
        One of `GRADES`, the id of one of the check's or work's answers, or one of `NO_EVIDENCE`.
    reading : str
        What the gauge showed, as typed ("1 3/8 in"), for checks that take a measurement.
    instrument : str or None
        What it was read with, by the measurement's own id; None for what is usually taken.
    when : str
        For work: done at the clutch ``job``, or ``since``, with the complaint still there.
    stage : str
        Whether it was known ``before`` the gearbox came out, or only with it open (``inside``).
    """

    complaint: Id | None = None
    check: Id | None = None
    work: Id | None = None
    answer: Annotated[str, Field(min_length=1, max_length=80)]
    reading: Annotated[str, Field(max_length=80)] = ""
    instrument: Id | None = None
    when: Literal["job", "since"] = "job"
    stage: Stage = "before"
    note: Line = ""
    by: Annotated[str, Field(max_length=80)] = ""
    at: Annotated[str, Field(max_length=40)] = ""

    @model_validator(mode="after")
    def _names_one_thing(self) -> "Entry":
        if sum(name is not None for name in (self.complaint, self.check, self.work)) != 1:
            message = "an entry names exactly one of 'complaint', 'check' and 'work'"
            raise ValueError(message)
        return self

    @property
    def subject(self) -> tuple[str, str]:
        """What it is about: ("complaint" | "check" | "work", id)."""
        if self.complaint is not None:
            return "complaint", self.complaint
        return ("check", self.check) if self.check is not None else ("work", self.work or "")

    @property
    def is_repair(self) -> bool:
        """Whether it is work done since the complaint, which makes older answers stale."""
        return self.work is not None and self.when == "since"


class Found(Record):
    """What was wrong in the end: any of `causes` fits the report, with a word why."""

    causes: Annotated[tuple[Id, ...], Field(min_length=1)]
    sure: Literal["part seen", "complaint gone", "not confirmed"] = "part seen"
    why: Line = ""


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
    found : Found or None
        What was wrong, once it is known.
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
    found: Found | None = None
    origin: Line = ""
    knowledge: Annotated[str, Field(max_length=40)] = ""

    def with_entry(self, entry: Entry) -> "Case":
        """Give the case with an entry added, or changed where it stands.

        An entry about the same thing is changed in place, unless a repair has been done since:
        then the new one tells of another state and is added. Work done at the job and the same
        work done since are two things, and the first stays what it was.
        """
        at_job = entry.work is not None and entry.when == "job"
        same = [
            i
            for i, e in enumerate(self.entries)
            if e.subject == entry.subject and e.when == entry.when
        ]
        repaired = same and any(e.is_repair for e in self.entries[same[-1] + 1 :])
        if not same or (repaired and not at_job):
            entries = (*self.entries, entry)
        else:
            entries = (*self.entries[: same[-1]], entry, *self.entries[same[-1] + 1 :])
        kind, name = entry.subject
        skipped = tuple(s for s in self.skipped if kind != "check" or s != name)
        return self.model_copy(update={"entries": entries, "skipped": skipped})

    def without(self, subject: tuple[str, str]) -> "Case":
        """Give the case without its latest entry about something; unchanged if there is none."""
        old = self.latest(subject)
        if old is None:
            return self
        entries = (*self.entries[:old], *self.entries[old + 1 :])
        return self.model_copy(update={"entries": entries})

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
