"""What is advised, as a record: everything that is shown or printed of it is a field here."""

from dataclasses import dataclass

from diagnose.planning.problem import Kind


@dataclass(frozen=True)
class Step:
    """Something to do, by kind and id, with its name and the level it is done from.

    ``designed`` is for a repair of what works as designed: there is nothing to mend, only to
    explain.
    """

    kind: Kind
    id: str
    name: str
    level: str
    designed: bool = False


@dataclass(frozen=True)
class Outcome:
    """What one answer would lead to.

    Attributes
    ----------
    answer, text : str
        Id of the answer, and how it is said.
    p : float
        Chance of it.
    expected : float
        Expected hours to the fix from there.
    then : Step or None
        What would be done next; None where that is the end of it.
    inside : bool
        Whether that is done with the gearbox out.
    """

    answer: str
    text: str
    p: float
    expected: float
    then: Step | None
    inside: bool


@dataclass(frozen=True)
class Option:
    """One thing that can be done from where the vehicle stands.

    Attributes
    ----------
    kind : str
        ``ask`` (a complaint's question), ``check``, ``repair`` (a cause's repair), ``drive`` (close
        it up and prove it on the road), or ``hand_over``.
    id : str
        Complaint, check or cause id; empty for the last two.
    name : str
    level : str
        Level it is done from.
    hours : float
        What it costs itself, with the way to its level.
    way : float
        The way alone.
    expected : float
        Expected hours to a verified fix when this is done first.
    gain : float
        Expected hours that it saves against going on without it (0 for all but questions and
        checks).
    outcomes : tuple of Outcome
        What each answer would lead to; empty where that was not worked out.
    designed : bool
        Of a repair: whether the cause works as designed, so that it is only explained.
    """

    kind: Kind
    id: str
    name: str
    level: str
    hours: float
    way: float
    expected: float
    gain: float
    outcomes: tuple[Outcome, ...] = ()
    designed: bool = False

    @property
    def step(self) -> Step:
        """What is done."""
        return Step(self.kind, self.id, self.name, self.level, self.designed)


@dataclass(frozen=True)
class Flip:
    """An answer that would turn the advice on opening round."""

    step: Step
    outcome: Outcome


@dataclass(frozen=True)
class Glance:
    """Something worth looking at while it is open.

    Attributes
    ----------
    step : Step
    hours : float
    p : float
        Chance that it finds something that has to be put right.
    saves : float
        Expected hours it saves: of coming back for what it finds, less its own.
    """

    step: Step
    hours: float
    p: float
    saves: float


@dataclass(frozen=True)
class Closing:
    """Something to see to before it closes, and the cause it is for."""

    cause: str
    text: str


@dataclass(frozen=True)
class Advice:
    """The next step, the runners-up, whether to go inside, and what to see to while it is open.

    Attributes
    ----------
    options : tuple of Option
        Best first; the first is the advice. Empty only if nothing is left that fits.
    expected : float
        Expected hours to a verified fix from here.
    outside, inside : float or None
        Expected hours of the best plan whose next step leaves the gearbox in, and of the best one
        whose next step needs it out; None where there is no such step.
    go_inside : bool
        Whether the next step should be with the gearbox out.
    gap : float or None
        Hours by which the planner's figure is above the least possible, or may be, on the leading
        causes and checks, where that was worked out exactly; None before.
    gap_share : float
        Share of the belief that those leading causes hold.
    flips : tuple of Flip
        Answers that would turn the advice on opening round, the likeliest first; none where both
        sides are nearly equal.
    glances : tuple of Glance
        What is worth looking at while it is open, in order.
    closing : tuple of Closing
        What to see to before it closes.
    too_long : tuple of Option
        What would be better, but takes longer than the customer has today.
    left : float or None
        Hours that are left of what the customer allows; None if there is no limit.
    money : float or None
        What the expected hours cost, with parts where their price is known; None without a rate.
    refined : bool
        Whether the first options were followed several steps on.
    """

    options: tuple[Option, ...]
    expected: float
    outside: float | None
    inside: float | None
    go_inside: bool
    gap: float | None = None
    gap_share: float = 0.0
    flips: tuple[Flip, ...] = ()
    glances: tuple[Glance, ...] = ()
    closing: tuple[Closing, ...] = ()
    too_long: tuple[Option, ...] = ()
    left: float | None = None
    money: float | None = None
    refined: bool = False
