"""What each move cost against the cheapest one at that point, and what else counts.

Regret is in minutes of the planner's expected hours, so luck has no part in it: a good move that
finds nothing has none. An exercise that ended with an unsafe move counts as handed over there, and
a vehicle that was given back without a drive comes back as often as it was not cured. The first
drive before anything was done verifies the complaint, which is good practice though the planner
takes the driver's word: it has no regret.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from diagnose.advice_words import step_words
from diagnose.case import NO_EVIDENCE
from diagnose.planning.problem import DRIVE, HAND_OVER, Key
from diagnose.planning.record import Step
from diagnose.practice.appraisal import Appraisal, appraise
from diagnose.practice.run import End, Run
from diagnose.practice.shop import Shop
from knowledge.model import KnowledgeBase

Appraiser = Callable[[Shop], Appraisal]


@dataclass(frozen=True)
class Scored:
    """One move, scored.

    Attributes
    ----------
    act : tuple of str or None
        None: given back without a drive.
    name : str
        The move in words.
    minutes : float
        What it took.
    regret : float
        Minutes by which it was dearer than the cheapest move at that point, on average.
    best : Step
        That cheapest move.
    redundant : bool
        Whether it was a question or check none of whose answers could have told anything.
    verifies : bool
        Whether it showed that the complaint is there, before anything was done about it.
    hints : int
        Steps of the hint that were taken before it.
    """

    act: Key | None
    name: str
    minutes: float
    regret: float
    best: Step
    redundant: bool
    verifies: bool
    hints: int


@dataclass(frozen=True)
class Score:
    """An exercise, scored.

    Attributes
    ----------
    moves : tuple of Scored
    minutes : float
        Paid in all; of one handed over, or given back uncured, with the hours of who takes over.
    least : float
        Minutes it takes if all is known from the start.
    regret : float
        Of all moves, and of ending it unsafely.
    redundant, hints : int
    pulls, wrong_pulls : int
        How often the gearbox came out, and how often it went back in without anything put right
        inside that was needed.
    verified_complaint : bool
    verified_repair : bool
        Whether a drive showed that it is cured.
    solved : bool
        Whether nothing was left to put right, driven or not.
    end : str
    reason : str
        Why it was stopped; empty if it was not.
    """

    moves: tuple[Scored, ...]
    minutes: float
    least: float
    regret: float
    redundant: int
    hints: int
    pulls: int
    wrong_pulls: int
    verified_complaint: bool
    verified_repair: bool
    solved: bool
    end: End
    reason: str


@lru_cache(maxsize=8)
def confirming(base: KnowledgeBase) -> Mapping[str, frozenset[str]]:
    """List the findings that go with each complaint: some mechanism brings one and shows the other.

    Parameters
    ----------
    base : KnowledgeBase

    Returns
    -------
    Mapping
        Complaint id -> finding ids.
    """
    return {
        complaint: frozenset(
            finding
            for mechanism in base.mechanisms.values()
            if complaint in mechanism.brings
            for finding in mechanism.shows
        )
        for complaint in base.complaints
    }


def verifies(run: Run, number: int) -> bool:
    """Whether a move verified the complaint: a drive, or a check of what goes with it.

    It counts before the first repair, and before the gearbox came out.

    Parameters
    ----------
    run : Run
    number : int
        Of the move, from 0.

    Returns
    -------
    bool
    """
    act = run.moves[number].act
    entry = run.moves[number].entry
    before = run.shops[number]
    if act is None or run.shops[number + 1].pulls:
        return False
    if any(kind == "repair" for kind, _ in before.done):
        return False
    if act[0] == "check" and entry is not None and entry.answer not in NO_EVIDENCE:
        reads = frozenset(before.base.checks[act[1]].reads())
        signs = confirming(before.base)
        return any(reads & signs[told] for told in run.exercise.complaints)
    return act == DRIVE


def scored(run: Run, number: int, appraisal: Appraisal) -> Scored:
    """Score one move.

    Parameters
    ----------
    run : Run
    number : int
        Of the move, from 0.
    appraisal : Appraisal
        Of the shop before it.

    Returns
    -------
    Scored
    """
    made = run.moves[number]
    confirms = verifies(run, number)
    first_drive = made.act == DRIVE and confirms and not run.shops[number].done.count(DRIVE)
    return Scored(
        act=made.act,
        name=act_words(run.shop.base, made.act),
        minutes=made.minutes,
        regret=0.0 if first_drive else appraisal.regret(made.act),
        best=appraisal.best.step,
        redundant=_tells_nothing(appraisal, made.act),
        verifies=confirms,
        hints=made.hints,
    )


def _tells_nothing(appraisal: Appraisal, act: Key | None) -> bool:
    """Whether a move is a question or check none of whose answers could tell anything."""
    return act is not None and act[0] in {"ask", "check"} and not appraisal.price(act).tells


def score(run: Run, *, look: Appraiser = appraise) -> Score:
    """Score an exercise, over or not.

    Parameters
    ----------
    run : Run
    look : callable
        Weighs the moves from where a shop stands.

    Returns
    -------
    Score
    """
    moves = tuple(
        scored(run, number, look(shop)) for number, shop in enumerate(run.shops[: len(run.moves)])
    )
    unsafe = look(run.shop).regret(HAND_OVER) if run.stopped else 0.0
    return summed(run, moves, unsafe)


def summed(run: Run, moves: tuple[Scored, ...], unsafe: float = 0.0) -> Score:
    """Sum the moves of a run up.

    Parameters
    ----------
    run : Run
    moves : tuple of Scored
    unsafe : float
        Minutes of regret for ending it unsafely.

    Returns
    -------
    Score
    """
    return Score(
        moves=moves,
        minutes=run.minutes,
        least=60.0 * run.shops[0].least,
        regret=sum(move.regret for move in moves) + unsafe,
        redundant=sum(move.redundant for move in moves),
        hints=sum(move.hints for move in moves) + run.hints,
        pulls=run.shop.pulls,
        wrong_pulls=run.shop.wrong_pulls,
        verified_complaint=any(move.verifies for move in moves),
        verified_repair=run.end == "verified",
        solved=run.end in {"verified", "given back"} and run.shop.mended,
        end=run.end,
        reason=run.stopped.reason if run.stopped else "",
    )


def act_words(base: KnowledgeBase, act: Key | None) -> str:
    """Name a move, as an order.

    Parameters
    ----------
    base : KnowledgeBase
    act : tuple of str or None

    Returns
    -------
    str
    """
    if act is None:
        return "give it back without a drive"
    kind, name = act
    named = {"drive": "Drive it", "hand_over": "Hand it over"}.get(kind, "")
    if kind == "ask":
        named = base.complaints[name].ask
    elif kind == "check":
        named = base.checks[name].name
    elif kind == "repair":
        named = base.causes[name].name
    designed = kind == "repair" and base.causes[name].kind == "designed"
    return step_words(Step(kind, name, named, "", designed))
