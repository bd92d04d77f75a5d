"""After the exercise: the apprentice's way beside the planner's, and the belief over time."""

from dataclasses import dataclass

from diagnose.assess import Assessment, assess
from diagnose.planning.problem import Key
from diagnose.practice.appraisal import Appraisal, appraise
from diagnose.practice.checklist import next_on_the_list
from diagnose.practice.exercise import Exercise
from diagnose.practice.run import Run, begin, play
from diagnose.practice.scoring import Appraiser, Score, score
from diagnose.practice.shop import Shop
from knowledge.model import KnowledgeBase

_MOST = 80  # moves of planner and check-list


@dataclass(frozen=True)
class Point:
    """Where belief stood: minutes paid, and the chance of all that had to be put right then."""

    minutes: float
    p: float


@dataclass(frozen=True, eq=False)
class Review:
    """An exercise looked back at.

    Attributes
    ----------
    run, planner, checklist : Run
        The apprentice's way, and two others with the same vehicle and the same luck.
    score : Score
    belief, planner_belief : tuple of Point
        Chance of what had to be put right, at the start and after each move.
    reckoned : float
        Minutes that the planner reckoned with at the start, on average over all that fits.
    """

    run: Run
    planner: Run
    checklist: Run
    score: Score
    belief: tuple[Point, ...]
    planner_belief: tuple[Point, ...]
    reckoned: float


def review(base: KnowledgeBase, run: Run, *, look: Appraiser = appraise) -> Review:
    """Look back at an exercise.

    Parameters
    ----------
    base : KnowledgeBase
    run : Run
        Over or not.
    look : callable
        Weighs the moves from where a shop stands.

    Returns
    -------
    Review
    """
    known: dict[tuple[object, str], Appraisal] = {}

    def kept(shop: Shop) -> Appraisal:
        """Weigh what is known and where it stands once; cautions that were read change nothing."""
        key = shop.case.entries, shop.case.stands
        if key not in known:
            known[key] = look(shop)
        return known[key]

    start = begin(base, run.exercise)
    planner = planners_way(base, run.exercise, look=kept)
    listed = play(start, lambda now: next_on_the_list(now.shop, assess(base, now.case)), most=_MOST)
    return Review(
        run=run,
        planner=planner,
        checklist=listed,
        score=score(run, look=kept),
        belief=belief(run, look=kept),
        planner_belief=belief(planner, look=kept),
        reckoned=60.0 * kept(start.shop).best.expected,
    )


def planners_way(base: KnowledgeBase, exercise: Exercise, *, look: Appraiser = appraise) -> Run:
    """Play the planner's way on the vehicle of an exercise.

    Parameters
    ----------
    base : KnowledgeBase
    exercise : Exercise
    look : callable

    Returns
    -------
    Run
    """
    return play(begin(base, exercise), lambda now: _planners_move(look(now.shop)), most=_MOST)


def _planners_move(appraisal: Appraisal) -> Key:
    """Give the move that the planner makes."""
    return appraisal.best.kind, appraisal.best.id


def belief(run: Run, *, look: Appraiser = appraise) -> tuple[Point, ...]:
    """Give the chance of what had to be put right, over the minutes paid.

    What has to be put right is what was when the vehicle was driven last, so of two faults the
    second alone counts once a drive has shown the first to be cured.

    Parameters
    ----------
    run : Run
    look : callable

    Returns
    -------
    tuple of Point
        At the start, and after each move until the fix was verified.
    """
    shops = [shop for shop in run.shops if shop.driven.needed and not shop.over]
    return tuple(
        Point(60.0 * shop.hours, chance_of_all(look(shop).assessment, shop.driven.needed))
        for shop in shops
    )


def chance_of_all(found: Assessment, causes: frozenset[str]) -> float:
    """Give the chance that some causes are all there.

    Parameters
    ----------
    found : Assessment
    causes : frozenset of str

    Returns
    -------
    float
        Of one cause exact; of more, what the listed sets hold.
    """
    if len(causes) == 1:
        return found.cause(next(iter(causes))).p
    wanted = {found.network.cause_index[c] for c in causes}
    return sum(s.p for s in found.found.sets if wanted <= s.causes)
