"""The records of the knowledge base: frozen, checked on the way in, silent afterwards.

A record is what a person who knows clutches writes in YAML. Links run from cause to effect:
a cause or mechanism ``brings`` mechanisms and complaints, and ``shows`` findings, each with a word
of the scale. A check reads findings. Work done makes causes likelier or less likely, or cures them.
Where records mention each other they do so by id; `knowledge.load` has made sure the ids exist.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise
from types import MappingProxyType
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from knowledge.marks import Position
from knowledge.quantity import QuantityError, difference_value, quantity_value
from knowledge.release import OBSERVABLE_UNITS

Id = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=60)]
Text = Annotated[str, Field(min_length=1, max_length=2000)]
Probability = Annotated[float, Field(ge=0.0, le=1.0, strict=True)]
Hours = Annotated[float, Field(ge=0.0, le=1000.0, strict=True)]
Sources = Annotated[
    tuple[Annotated[str, Field(min_length=1, max_length=80)], ...],
    BeforeValidator(lambda v: (v,) if isinstance(v, str) else v),
    Field(min_length=1),
]

COMMON_PRACTICE = "common practice"
JUDGEMENT = "judgement"


class Record(BaseModel):
    """What all records share: unknown keys are refused, values are not converted in silence."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Strength(Record):
    """How strongly one thing brings about another: a word, or a number that has its own source."""

    word: str = ""
    p: Probability | None = None
    when: Mapping[Id, tuple[str, ...]] = {}
    source: Sources | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_word(cls, value: object) -> object:
        return {"word": value} if isinstance(value, str) else value

    @model_validator(mode="after")
    def _one_of_both(self) -> "Strength":
        if bool(self.word) == (self.p is not None):
            message = "give either a word of the scale or p with its source"
            raise ValueError(message)
        if self.p is not None and not self.source:
            message = "a number needs a source of its own; without one use a word of the scale"
            raise ValueError(message)
        return self


Links = Mapping[Id, Strength]
Needs = Mapping[Id, tuple[str, ...]]


class Source(Record):
    """Where a value comes from."""

    id: Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9-]*$", max_length=40)]
    title: Text
    where: str = ""


class Level(Record):
    """How far the vehicle is taken apart; levels are listed from the seat inwards.

    ``down`` and ``up`` are the hours of the step from the level before and back to it; at a
    ``drivable`` level the vehicle is complete. ``cautions`` hold for every repair done there.
    """

    id: Id
    name: Text
    drivable: Annotated[bool, Field(strict=True)]
    down: Hours
    up: Hours
    cautions: tuple[Id, ...] = ()
    source: Sources


class FactValue(Record):
    """One value a fact can have and the share of comebacks that have it."""

    name: Text
    share: Probability


class Fact(Record):
    """Something about the vehicle or the kit that decides which causes are possible."""

    id: Id
    name: Text
    ask: Text
    values: Annotated[Mapping[Id, FactValue], Field(min_length=2)]
    source: Sources

    @model_validator(mode="after")
    def _shares_sum_to_one(self) -> "Fact":
        total = sum(v.share for v in self.values.values())
        if abs(total - 1.0) > 1e-6:
            message = f"the shares must sum to 1, they sum to {total:g}"
            raise ValueError(message)
        return self


class Setup(Record):
    """A generic arrangement the user can start from."""

    id: Id
    name: Text
    facts: Needs
    hours: Mapping[Id, Hours] = {}
    about: str = ""
    source: Sources


class Caution(Record):
    """What must be read before a check; a ``stop`` outranks every ranking."""

    id: Id
    level: Literal["caution", "stop"]
    text: Text
    source: Sources


class Observable(Record):
    """What complaints and findings share: both can be there or not.

    ``unexplained`` is the chance that it is there although no cause brings it (net leak).
    """

    id: Id
    name: Text
    unexplained: Strength = Strength(word="hardly ever")
    stop: Id | None = None
    source: Sources


class Complaint(Observable):
    """What the driver says."""

    ask: Text
    words: tuple[Text, ...] = ()
    about: str = ""


class Finding(Observable):
    """A sign that something is wrong, as a check shows it; ``absent`` says what is seen without.

    ``past`` marks what tells how it came about: no later repair changes that.
    """

    absent: Text
    past: bool = False


class Gate(StrEnum):
    """How the inputs of a mechanism combine; words for IEC 61025's OR, AND and voting gates."""

    ANY = "any"
    ALL = "all"
    AT_LEAST = "at_least"


class Mechanism(Record):
    """The middle of the tree. ``any`` takes whatever brings it; the other gates list ``of``.

    ``when`` is the condition of an INHIBIT gate: facts of the set-up that must hold.
    """

    id: Id
    name: Text
    gate: Gate = Gate.ANY
    of: tuple[Id, ...] = ()
    k: Annotated[int, Field(ge=1, strict=True)] | None = None
    when: Needs = {}
    brings: Links = {}
    shows: Links = {}
    about: str = ""
    source: Sources

    @model_validator(mode="after")
    def _gate_has_inputs(self) -> "Mechanism":
        if self.gate is Gate.ANY and (self.of or self.k is not None):
            message = "an 'any' gate takes what brings it; 'of' and 'k' belong to the other gates"
            raise ValueError(message)
        if self.gate is not Gate.ANY and len(self.of) < 2:
            message = f"an '{self.gate}' gate needs at least two inputs in 'of'"
            raise ValueError(message)
        if (self.gate is Gate.AT_LEAST) != (self.k is not None):
            message = "'k' belongs to an 'at_least' gate, and such a gate needs it"
            raise ValueError(message)
        if self.k is not None and self.k > len(self.of):
            message = f"k is {self.k}, but only {len(self.of)} inputs are listed"
            raise ValueError(message)
        return self


class Repair(Record):
    """What puts a cause right: from which level, in how many hours at that level, how surely."""

    do: Text
    from_: Id = Field(alias="from")
    hours: Hours
    cures: Strength = Strength(word="usually")


class Shift(Record):
    """What a cause does to one figure of the release system, or to one stand-alone measurement.

    The mean of the shift is ``by`` (a number in the unit of the figure, or a quantity as text), or
    ``times`` a figure of the kit's sheet that ``kit`` names; ``spread`` is its standard deviation
    from case to case. ``when`` are facts of the set-up that must hold. A measurement that stands
    alone may be moved in some cases only: ``chance`` is the word for how often.
    """

    by: float | str | None = None
    kit: str | None = None
    times: Annotated[float, Field(ge=-100.0, le=100.0, strict=True)] = 1.0
    spread: float | str = 0.0
    chance: str = ""
    when: Needs = {}
    source: Sources | None = None

    @model_validator(mode="after")
    def _has_a_size(self) -> "Shift":
        if (self.by is None) == (self.kit is None):
            message = "a shift is either 'by' an amount or 'times' a figure of the 'kit'"
            raise ValueError(message)
        if self.kit is None and self.times != 1.0:
            message = "'times' belongs to a figure of the 'kit'"
            raise ValueError(message)
        return self


Shifts = Annotated[tuple[Shift, ...], BeforeValidator(lambda v: (v,) if isinstance(v, dict) else v)]


class Cause(Record):
    """A fault, a faulty new part, something that works as designed, or something elsewhere.

    ``rate`` is its share of the comebacks it can occur in; ``rate_where`` says where it differs, by
    facts that don't overlap. ``shifts`` are by figure of the release system (`knowledge.release`),
    or by measurement. ``alike`` are causes that nothing tells from this one, each with why that
    does not matter.
    """

    id: Id
    name: Text
    zone: Id
    kind: Literal["fault", "new_part", "designed", "elsewhere"] = "fault"
    rate: Strength
    rate_where: tuple[Strength, ...] = ()
    when: Needs = {}
    brings: Links = {}
    shows: Links = {}
    shifts: Mapping[Id, Shifts] = {}
    repair: Repair
    about: Text
    prove: Text
    alike: Mapping[Id, Text] = {}
    before_closing: str = ""
    next_time: str = ""
    source: Sources


class Zone(Record):
    """A region of the vehicle that causes are grouped by; ``cautions`` hold for its repairs."""

    id: Id
    name: Text
    cautions: tuple[Id, ...] = ()


Reading = Literal["yes", "probably", "probably not", "no"]


class CheckAnswer(Record):
    """One answer a check can have, what it means, and how it reads the findings.

    For a check that takes a measurement, the answer holds from ``at_least`` up to ``below``.
    """

    id: Id
    text: Text
    means: Text
    shows: Mapping[Id, Reading] = {}
    at_least: str | None = None
    below: str | None = None


class Instrument(Record):
    """What a reading is taken with; standard uncertainty of instrument and hand together."""

    name: Text
    uncertainty: str


class Law(Record):
    """What good vehicles read: middle and standard deviation."""

    mean: str
    spread: str


class Limit(Record):
    """A limit that a reading is held against; at least one end is given."""

    name: Text
    at_least: str | None = None
    at_most: str | None = None
    when: Needs = {}
    source: Sources

    @model_validator(mode="after")
    def _has_an_end(self) -> "Limit":
        if self.at_least is None and self.at_most is None:
            message = "a limit needs 'at_least' or 'at_most'"
            raise ValueError(message)
        return self


class Measurement(Record):
    """A quantity that a gauge shows.

    ``model`` names what it is on the release system, which then predicts it; a reading that stands
    alone has a ``healthy`` law instead. A quantity with neither is read by bands only. Readings
    outside ``plausible`` are slips. The first of the ``instruments`` is what is usually taken.
    """

    id: Id
    name: Text
    unit: str
    plausible: tuple[str, str]
    instruments: Annotated[Mapping[Id, Instrument], Field(min_length=1)]
    how: Text
    open_below: Annotated[bool, Field(strict=True)] = False
    model: str = ""
    healthy: Law | None = None
    limits: tuple[Limit, ...] = ()
    drawing: Id | None = None
    source: Sources

    @model_validator(mode="after")
    def _makes_sense(self) -> "Measurement":
        low, high = (self._amount(text) for text in self.plausible)
        if not low < high:
            message = "the plausible range must run from the smaller value to the larger"
            raise ValueError(message)
        if self.model and self.healthy is not None:
            message = "what the release system predicts has no 'healthy' law of its own"
            raise ValueError(message)
        if self.model and self.model not in OBSERVABLE_UNITS:
            listed = ", ".join(OBSERVABLE_UNITS)
            message = f"{self.model!r} is nothing that can be read on a release system: {listed}"
            raise ValueError(message)
        spreads = [i.uncertainty for i in self.instruments.values()]
        if self.healthy is not None:
            self._amount(self.healthy.mean)
            spreads.append(self.healthy.spread)
        for text in spreads:
            if not self._difference(text) > 0.0:
                message = f"an uncertainty is above 0, unlike {text!r}"
                raise ValueError(message)
        for limit in self.limits:
            for edge in (limit.at_least, limit.at_most):
                if edge is not None:
                    self._amount(edge)
        return self

    def value(self, text: str) -> float:
        """Read a quantity of this kind; its own unit is taken when none is written.

        Raises
        ------
        QuantityError
            If the text is no such quantity.
        """
        return quantity_value(text, self.unit)

    def spread(self, text: str) -> float:
        """Read a difference of two such quantities, which has no zero to be told from."""
        return difference_value(text, self.unit)

    def _amount(self, text: str) -> float:
        try:
            return self.value(text)
        except QuantityError as error:
            raise ValueError(str(error)) from error

    def _difference(self, text: str) -> float:
        try:
            return self.spread(text)
        except QuantityError as error:
            raise ValueError(str(error)) from error


class Check(Record):
    """An observation, test or inspection, in three voices.

    Either ``finding`` (one finding, answered yes / probably / can't tell / probably not / no, with
    ``yes`` and ``no`` saying what each means) or ``answers`` (a choice, or bands of a reading of
    the measurement that ``gauge`` names).
    """

    id: Id
    name: Text
    from_: Id = Field(alias="from")
    minutes: Annotated[float, Field(gt=0, le=600, strict=True)]
    helper: Annotated[bool, Field(strict=True)] = False
    tools: tuple[Text, ...] = ()
    when: Needs = {}
    do: Text
    say: Text
    why: Text
    cautions: tuple[Id, ...] = ()
    finding: Id | None = None
    yes: str = ""
    no: str = ""
    gauge: Id | None = None
    answers: tuple[CheckAnswer, ...] = ()
    source: Sources

    @model_validator(mode="after")
    def _one_kind_of_answer(self) -> "Check":
        if (self.finding is None) == (not self.answers):
            message = "a check has either 'finding' (with 'yes' and 'no') or 'answers'"
            raise ValueError(message)
        if self.finding is not None and not (self.yes and self.no):
            message = "'yes' and 'no' must say what each answer means"
            raise ValueError(message)
        if self.answers and len(self.answers) < 2:
            message = "a check needs at least two answers"
            raise ValueError(message)
        if self.gauge is None and any(a.at_least or a.below for a in self.answers):
            message = "'at_least' and 'below' need a 'gauge'"
            raise ValueError(message)
        if self.gauge is not None and not self.answers:
            message = "a check with a 'gauge' has 'answers', one for each band"
            raise ValueError(message)
        return self

    def reads(self) -> tuple[str, ...]:
        """Give the ids of the findings that any answer of this check speaks about."""
        if self.finding is not None:
            return (self.finding,)
        return tuple(dict.fromkeys(f for a in self.answers for f in a.shows))


class WorkAnswer(Record):
    """One state of a piece of work: what it changes, and what it would have cured.

    ``changes`` are words for odds and count when it was done at the clutch job; ``cures`` are
    chances and count when it was done since and the complaint stayed.
    """

    id: Id
    text: Text
    changes: Mapping[Id, str] = {}
    cures: Links = {}


class Work(Record):
    """Something that may have been done, at the clutch job or since."""

    id: Id
    name: Text
    ask: Text
    words: tuple[Text, ...] = ()
    when: Needs = {}
    answers: Annotated[tuple[WorkAnswer, ...], Field(min_length=1)]
    source: Sources


class Unknown(Record):
    """The cause this tool does not know.

    ``brings`` is the chance that it brings any one complaint, ``shows`` how many times as often as
    unexplained it shows a finding, up to the chance it has for complaints, and ``moves`` the chance
    that it moves any one reading, to anywhere.
    """

    rate: Probability
    brings: Probability
    moves: Annotated[float, Field(ge=0.0, lt=1.0, strict=True)]
    shows: Annotated[float, Field(ge=0, strict=True)]


class Scale(Record):
    """The words of the base and the numbers they stand for, once for all records.

    ``strength`` and ``rate`` are probabilities, ``change`` factors on odds, ``answer`` likelihood
    ratios of a soft answer. ``faults_per_comeback`` is how many causes a comeback has on average;
    it fixes how often several come together. ``hand_over`` is what it costs, in hours, when
    everything known has been looked at in vain and somebody else has to take over;
    ``ask_minutes`` what it costs to go and ask the driver something, ``drive_minutes`` to prove on
    the road, with the vehicle whole, that the complaint is gone. ``mistyped`` is the share of
    readings that are slips of pen or gauge.
    """

    strength: Mapping[str, Probability]
    rate: Mapping[str, Probability]
    change: Mapping[str, Annotated[float, Field(ge=0, strict=True)]]
    answer: Mapping[Literal["probably", "probably not"], Annotated[float, Field(gt=0, strict=True)]]
    unknown: Unknown
    mistyped: Annotated[float, Field(ge=0.0, lt=0.5, strict=True)]
    faults_per_comeback: Annotated[float, Field(gt=1.0, le=3.0, strict=True)]
    hand_over: Hours
    ask_minutes: Annotated[float, Field(gt=0.0, le=60.0, strict=True)]
    drive_minutes: Annotated[float, Field(gt=0.0, le=240.0, strict=True)]
    source: Sources


@dataclass(frozen=True, eq=False)
class KnowledgeBase:
    """Everything the base says, by kind and id, and where each record stands.

    ``version`` is a digest of the content, so that a case can say which base it was made with.
    """

    scale: Scale
    levels: Mapping[str, Level]
    zones: Mapping[str, Zone]
    facts: Mapping[str, Fact]
    setups: Mapping[str, Setup]
    cautions: Mapping[str, Caution]
    sources: Mapping[str, Source]
    complaints: Mapping[str, Complaint]
    mechanisms: Mapping[str, Mechanism]
    causes: Mapping[str, Cause]
    findings: Mapping[str, Finding]
    measurements: Mapping[str, Measurement]
    checks: Mapping[str, Check]
    work: Mapping[str, Work]
    version: str
    places: Mapping[tuple[str, str], Position] = field(default_factory=lambda: MappingProxyType({}))

    def observable(self, key: str) -> Observable:
        """Give the complaint or finding with this id.

        Raises
        ------
        KeyError
            If there is none.
        """
        return self.complaints[key] if key in self.complaints else self.findings[key]

    def strength(self, strength: Strength) -> float:
        """Give the probability a link's word or number stands for."""
        return self.scale.strength[strength.word] if strength.p is None else strength.p

    def rate(self, rate: Strength) -> float:
        """Give the share of comebacks that a rate's word or number stands for."""
        return self.scale.rate[rate.word] if rate.p is None else rate.p

    def repair_cautions(self, cause: Cause) -> tuple[Caution, ...]:
        """Give what must be read before a cause is put right: for its level, then for its zone."""
        named = (*self.levels[cause.repair.from_].cautions, *self.zones[cause.zone].cautions)
        return tuple(self.cautions[name] for name in dict.fromkeys(named))


def shift_value(amount: float | str, unit: str) -> float:
    """Give a shift or its spread in the inside unit; a number is in that unit already.

    Raises
    ------
    QuantityError
        If the text is no such quantity; of an odd unit ("mm/N") only numbers are taken.
    """
    if not isinstance(amount, str):
        return float(amount)
    return difference_value(amount, unit)


def require_whole_bands(answers: tuple[CheckAnswer, ...], unit: str) -> None:
    """See that the bands of a measured check meet without gap or overlap.

    Raises
    ------
    ValueError
        If they do not, or an edge is no quantity with such a unit.
    """
    try:
        edges = [
            tuple(None if t is None else quantity_value(t, unit) for t in (a.at_least, a.below))
            for a in answers
        ]
    except QuantityError as error:
        raise ValueError(str(error)) from error
    ends_open = edges[0][0] is None and edges[-1][1] is None
    if not ends_open or any(a[1] is None or a[1] != b[0] for a, b in pairwise(edges)):
        message = (
            "the bands must run upwards and meet: "
            "the first has only 'below', the last only 'at_least'"
        )
        raise ValueError(message)
