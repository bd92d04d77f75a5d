"""A drawn comeback in the simulated shop, for policies that are compared with each other.

A policy sees the case as it is told, and where the vehicle stands. The shop knows what is wrong
(`diagnose.practice.shop`, which says what is counted).
"""

from collections.abc import Callable
from typing import NamedTuple

from diagnose.access import Access
from diagnose.assess import Assessment
from diagnose.case import PENDING, Case
from diagnose.planning.problem import HAND_OVER, Key
from diagnose.practice.shop import drives_of, opened
from diagnose.simulate import Comeback
from knowledge.model import KnowledgeBase

MOST_ACTS = 120


class ShopView(NamedTuple):
    """What a policy may know beside the assessment.

    `pending` are repairs that nobody has driven with yet, `tried` all that were done; `failed` is
    how often somebody drove and the complaint was still there.
    """

    base: KnowledgeBase
    case: Case
    access: Access
    here: int
    pending: frozenset[str]
    tried: frozenset[str]
    failed: int


Policy = Callable[[Assessment, ShopView], Key]


class Outcome(NamedTuple):
    """What it took.

    `hours` to the verified fix; `least` if all had been known from the start, so that `hours` less
    `least` was lost. A pull is wrong if the gearbox went back in, or the vehicle was handed over
    with it out, without anything put right inside that was needed. `needed` counts the causes that
    had to be put right, `inside` says whether all of them are behind the gearbox, and `mendable`
    whether putting them right is enough; `guarded`, whether it was handed over for want of an end.
    """

    hours: float
    least: float
    acts: int
    asked: int
    checks: int
    repairs: int
    drives: int
    pulls: int
    wrong_pulls: int
    handed_over: bool
    guarded: bool
    needed: int
    inside: bool
    mendable: bool


class Shop:
    """One comeback in the shop, played in place.

    Parameters
    ----------
    base : KnowledgeBase
    comeback : Comeback
    start_case : Case
        With what the driver told.
    strict : bool
        Whether complaints that nothing wrong brings have to be gone as well.
    """

    def __init__(
        self, base: KnowledgeBase, comeback: Comeback, start_case: Case, *, strict: bool = False
    ) -> None:
        self.stands = opened(base, comeback, start_case, strict=strict)

    @property
    def case(self) -> Case:
        return self.stands.case

    @property
    def now(self) -> Comeback:
        return self.stands.now

    @property
    def hours(self) -> float:
        return self.stands.hours

    @property
    def over(self) -> bool:
        return self.stands.over

    @property
    def done(self) -> tuple[Key, ...]:
        return self.stands.done

    def view(self) -> ShopView:
        """Give what a policy may know."""
        repairs = [e for e in self.case.entries if e.repair is not None]
        return ShopView(
            self.stands.base,
            self.case,
            self.stands.access,
            self.stands.here,
            frozenset(e.repair for e in repairs if e.answer == PENDING),
            frozenset(e.repair for e in repairs),
            drives_of(self.stands),
        )

    def do(self, act: Key) -> None:
        """Do one act and count its hours.

        Raises
        ------
        ValueError
            If it is over, or there is no such kind of act.
        KeyError
            If the base does not hold what is to be done.
        """
        self.stands = self.stands.after(act)

    def outcome(self, *, guarded: bool = False) -> Outcome:
        """Give what it took; once it is over."""
        stands = self.stands
        kinds = [kind for kind, _ in stands.done]
        needed = stands.at_start.needed
        return Outcome(
            hours=stands.hours,
            least=stands.least,
            acts=len(kinds),
            asked=kinds.count("ask"),
            checks=kinds.count("check"),
            repairs=kinds.count("repair"),
            drives=kinds.count("drive"),
            pulls=stands.pulls,
            wrong_pulls=stands.wrong_pulls,
            handed_over=stands.handed_over,
            guarded=guarded,
            needed=len(needed),
            inside=bool(needed)
            and not any(stands.access.drivable[stands.depth(c)] for c in needed),
            mendable=stands.mendable,
        )


def play(shop: Shop, choose: Callable[[Shop], Key]) -> Outcome:
    """Play a comeback to its end; after `MOST_ACTS` acts it is handed over.

    Parameters
    ----------
    shop : Shop
    choose : callable
        The next act, from the shop as it stands.

    Returns
    -------
    Outcome
    """
    while not shop.over and len(shop.done) < MOST_ACTS:
        shop.do(choose(shop))
    guarded = not shop.over
    if guarded:
        shop.do(HAND_OVER)
    return shop.outcome(guarded=guarded)
