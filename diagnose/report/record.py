"""The report as a record: everything that is printed of it is a field here, and none is invented.

Chances are numbers from 0 to 1 and quantities are in the inside unit; how they are said is settled
in `diagnose.report.blocks`.
"""

from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from diagnose.drawings.cutaway.shapes import Picture
from diagnose.forecasts import Forecast, Verdict
from diagnose.gauge import Span
from knowledge.model import Measurement

Edition = Literal["customer", "job"]
EDITIONS: tuple[Edition, ...] = ("customer", "job")


class Named(NamedTuple):
    """A name, and what stands beside it."""

    name: str
    value: str


@dataclass(frozen=True)
class Told:
    """One entry of the timeline in words.

    Attributes
    ----------
    place : int
        Its number in the timeline, from 1.
    when, who : str
        Empty where the case does not say.
    asked, said : str
        What it is about, and the answer.
    remark : str
        What the answer means, or why it counts no more.
    note : str
        As typed; empty in the customer's edition.
    hours : float or None
        None where nothing was counted, or hours are left out.
    """

    place: int
    when: str
    who: str
    asked: str
    said: str
    remark: str = ""
    note: str = ""
    hours: float | None = None


@dataclass(frozen=True)
class Foretold:
    """What the healthy vehicle or one cause predicts for a reading.

    Attributes
    ----------
    forecast : Forecast
    others : tuple of str
        Names of further causes that predict just the same.
    fit : str
        How the reading goes with it, in words.
    """

    forecast: Forecast
    others: tuple[str, ...]
    fit: str


@dataclass(frozen=True)
class Figure:
    """One reading against what was to be expected.

    Attributes
    ----------
    place : int
        Number of its entry in the timeline, from 1.
    measurement : Measurement
    said : str
        What was read, as typed, with its unit.
    instrument : str
        What it was read with.
    spans : tuple of Span
        What was read, inside unit.
    uncertainty : float
        Standard uncertainty of the reading, or of the mean of several; inside unit.
    foretold : tuple of Foretold
        The healthy vehicle first; empty where the reading does not count as a number.
    alone : tuple of str
        Names of leading causes that leave the reading alone.
    limits : tuple of Verdict
    remark : str
        Why it does not count as a number; empty if it does.
    """

    place: int
    measurement: Measurement
    said: str
    instrument: str
    spans: tuple[Span, ...]
    uncertainty: float
    foretold: tuple[Foretold, ...] = ()
    alone: tuple[str, ...] = ()
    limits: tuple[Verdict, ...] = ()
    remark: str = ""


@dataclass(frozen=True)
class Spoken:
    """What one answer says of a cause: its weight in decibans, for it above 0."""

    text: str
    weight: float
    explained_by: str = ""


@dataclass(frozen=True)
class Account:
    """What speaks for and against one cause.

    Attributes
    ----------
    cause, name : str
    p, prior : float
        Chance now, and before any answer.
    spoken : tuple of Spoken
        Answers worth a sentence, the weightiest first.
    lines : tuple of str
        The whole account in sentences; empty in the customer's edition.
    """

    cause: str
    name: str
    p: float
    prior: float
    spoken: tuple[Spoken, ...]
    lines: tuple[str, ...] = ()


@dataclass(frozen=True)
class RuledOut:
    """A cause that fits the complaint and is unlikely now.

    Attributes
    ----------
    cause, name : str
    first, p : float
        Chance when only the complaint and the work at the job were known, and now.
    by : str
        The answer that did most against it, in words; empty if none did by itself.
    explained_by : str
        Name of the cause that explains that answer instead; empty if none does.
    """

    cause: str
    name: str
    first: float
    p: float
    by: str
    explained_by: str = ""


@dataclass(frozen=True)
class Cutaway:
    """The release system in section.

    Attributes
    ----------
    cause, name : str
        What is wrong with it.
    picture : Picture
        With the pedal on the floor, healthy dashed.
    lines : tuple of str
        The figures that the cause changes, each with what it is when healthy; empty where it only
        lies on a part.
    """

    cause: str
    name: str
    picture: Picture
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Photograph:
    """A picture for the report: its name, what it shows, and the bytes of a picture file."""

    name: str
    caption: str
    data: bytes = field(repr=False)


class Part(NamedTuple):
    """Lines that belong under one small heading."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Hours:
    """Hours that a case has cost: checks and questions, work and repairs, ways and drives."""

    looking: float
    work: float
    ways: float

    @property
    def whole(self) -> float:
        """All of it."""
        return self.looking + self.work + self.ways


@dataclass(frozen=True)
class Report:
    """All that is told of a case.

    Attributes
    ----------
    edition : str
    title : str
    date, made : str
        When the case was worked on, and when the report was made; empty where not told.
    people : tuple of str
        Who told or did something, in order.
    closed : bool
        Whether it is known what was wrong.
    conclusion : tuple of str
        At most three sentences or so, with how surely in words and a number.
    stops : tuple of str
        Stop notices that hold.
    cutaway : Cutaway or None
        None where the cause that is named can't be drawn.
    words : str
        The complaint in the driver's own words.
    complaints, findings, work : tuple of Told
        In order of the timeline.
    setup, kit : tuple of Named
        Vehicle and clutch as told, and whether the gearbox came out; figures of the kit's sheet as
        typed.
    figures : tuple of Figure
    accounts : tuple of Account
        Of what was found, or of the likeliest cause.
    ruled_out : tuple of RuledOut
    hours : Hours or None
        None where hours are left out.
    open : tuple of str
        What is not settled: the next step, doubts, contradictions.
    plan : tuple of Part
        What the advice rests on; empty in the customer's edition and once closed.
    closing : tuple of str
        What to see to before it closes, and the next time.
    cautions : tuple of str
        The first says what comes before this report.
    photographs : tuple of Photograph
    about, sources : tuple of Named
        Where the case comes from, and the limits; empty in the customer's edition.
    knowledge, program : str
        Versions; the program's may be empty.
    """

    edition: Edition
    title: str
    date: str
    made: str
    people: tuple[str, ...]
    closed: bool
    conclusion: tuple[str, ...]
    stops: tuple[str, ...]
    cutaway: Cutaway | None
    words: str
    complaints: tuple[Told, ...]
    findings: tuple[Told, ...]
    work: tuple[Told, ...]
    setup: tuple[Named, ...]
    kit: tuple[Named, ...]
    figures: tuple[Figure, ...]
    accounts: tuple[Account, ...]
    ruled_out: tuple[RuledOut, ...]
    hours: Hours | None
    open: tuple[str, ...]
    plan: tuple[Part, ...]
    closing: tuple[str, ...]
    cautions: tuple[str, ...]
    photographs: tuple[Photograph, ...]
    about: tuple[Named, ...]
    sources: tuple[Named, ...]
    knowledge: str
    program: str
