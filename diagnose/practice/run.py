"""A running exercise: a frozen value, and every move makes the next one.

The apprentice sees the case; the vehicle is hidden. All answers and readings come from the one
vehicle that was drawn, so the same question gets the same answer, until a repair has changed it.
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from diagnose.case import Case, Entry
from diagnose.network import UNKNOWN
from diagnose.planning.problem import DRIVE, HAND_OVER, Key
from diagnose.practice.exercise import Exercise, ExerciseError, shop_of
from diagnose.practice.harm import Harm, cautions_before, harm_of
from diagnose.practice.shop import Shop
from knowledge.model import KnowledgeBase
from knowledge.tree import share_that_fits

End: TypeAlias = Literal["running", "verified", "handed over", "given back", "stopped"]

HINT_STEPS = 3
MOST_MOVES = 120


@dataclass(frozen=True)
class Made:
    """One move as it was made.

    Attributes
    ----------
    act : tuple of str or None
        None: the vehicle was given back without a drive.
    minutes : float
        What it took, with the way.
    entry : Entry or None
        What it told; None for drives, handing over and giving back.
    hints : int
        Steps of the hint that were taken before it.
    """

    act: Key | None
    minutes: float
    entry: Entry | None
    hints: int


@dataclass(frozen=True, eq=False)
class Run:
    """An exercise as far as it has got.

    Attributes
    ----------
    exercise : Exercise
    shops : tuple of Shop
        As the vehicle came, and as it stood after each move.
    moves : tuple of Made
    hints : int
        Steps of the hint that were taken since the last move.
    given_back : bool
    stopped : Harm or None
        The unsafe move that ended it.
    """

    exercise: Exercise
    shops: tuple[Shop, ...]
    moves: tuple[Made, ...] = ()
    hints: int = 0
    given_back: bool = False
    stopped: Harm | None = None

    @property
    def shop(self) -> Shop:
        """The shop as it stands now."""
        return self.shops[-1]

    @property
    def case(self) -> Case:
        """What the apprentice knows."""
        return self.shop.case

    @property
    def minutes(self) -> float:
        """Minutes paid so far."""
        return 60.0 * self.shop.hours

    @property
    def end(self) -> End:
        """How it ended."""
        if self.stopped is not None:
            return "stopped"
        if self.given_back:
            return "given back"
        if self.shop.handed_over:
            return "handed over"
        return "verified" if self.shop.over else "running"

    @property
    def over(self) -> bool:
        """Whether it has ended."""
        return self.end != "running"

    def reading(self, cautions: Collection[str]) -> "Run":
        """Give the run with cautions read; that takes no minutes.

        Parameters
        ----------
        cautions : collection of str
            Ids.
        """
        case = self.case.with_acknowledged(tuple(cautions))
        return replace(self, shops=(*self.shops[:-1], replace(self.shop, case=case)))

    def hinted(self) -> "Run":
        """Give the run with one more step of the hint taken; there are three for each move."""
        return replace(self, hints=min(self.hints + 1, HINT_STEPS))

    def after(self, act: Key) -> "Run":
        """Give the run after a move; an unsafe one is not made and ends it.

        Parameters
        ----------
        act : tuple of str

        Returns
        -------
        Run

        Raises
        ------
        ExerciseError
            If it has ended, or the move does not exist on this vehicle.
        """
        self._refuse_when_over()
        if act not in possible_moves(self):
            raise ExerciseError("That can't be done on this vehicle.", "Choose another move.")
        harm = harm_of(self.shop, act)
        if harm is not None:
            return replace(self, stopped=harm)
        then = self.shop.after(act)
        asked = act[0] not in {"drive", "hand_over"}
        kind = "complaint" if act[0] == "ask" else act[0]
        place = then.case.latest((kind, act[1])) if asked else None
        entry = None if place is None else then.case.entries[place]
        return self._moved(act, then, entry)

    def giving_back(self) -> "Run":
        """Give the run after the vehicle was closed up and given back without a drive.

        Cured, that is all. If it is not, it comes back, and whoever takes it then begins anew: that
        is paid as if it had been handed over.

        Raises
        ------
        ExerciseError
            If it has ended.
        """
        self._refuse_when_over()
        then = self.shop.closed_up()
        if not then.mended:
            then = then.after(HAND_OVER)
        return replace(self._moved(None, then, None), given_back=True)

    def _moved(self, act: Key | None, then: Shop, entry: Entry | None) -> "Run":
        made = Made(act, 60.0 * (then.hours - self.shop.hours), entry, self.hints)
        return replace(self, shops=(*self.shops, then), moves=(*self.moves, made), hints=0)

    def _refuse_when_over(self) -> None:
        if self.over:
            raise ExerciseError("The exercise is over.", "Look at the review or begin another.")


def begin(base: KnowledgeBase, exercise: Exercise) -> Run:
    """Begin an exercise.

    Parameters
    ----------
    base : KnowledgeBase
    exercise : Exercise

    Returns
    -------
    Run

    Raises
    ------
    ExerciseError
        As of `diagnose.practice.exercise.comeback_of`.
    """
    return Run(exercise, (shop_of(base, exercise),))


def possible_moves(run: Run) -> tuple[Key, ...]:
    """List all moves that exist on a vehicle, sensible or not.

    Parameters
    ----------
    run : Run

    Returns
    -------
    tuple of Key
        Questions, checks that fit the set-up, repairs, the drive, and handing over.
    """
    base, facts = run.shop.base, run.case.facts
    asks: list[Key] = [("ask", name) for name in base.complaints]
    checks: list[Key] = [
        ("check", check.id)
        for check in base.checks.values()
        if share_that_fits(base, facts, check.when) > 0.0
    ]
    repairs: list[Key] = [
        ("repair", cause) for cause in run.shop.at_start.network.causes if cause != UNKNOWN
    ]
    return (*asks, *checks, *repairs, DRIVE, HAND_OVER)


def play(run: Run, choose: Callable[[Run], Key], *, most: int = MOST_MOVES) -> Run:
    """Play an exercise to its end, with all cautions read; after so many moves it is handed over.

    Parameters
    ----------
    run : Run
    choose : callable
        The next move, from the run as it stands.
    most : int

    Returns
    -------
    Run
    """
    while not run.over and len(run.moves) < most:
        act = choose(run)
        run = run.reading(cautions_before(run.shop.base, act)).after(act)
    return run if run.over else run.after(HAND_OVER)
