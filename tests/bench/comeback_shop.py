"""A simulated shop: plays acts on a drawn comeback, and counts the hours to the verified fix.

A policy sees the case as it is told, and where the vehicle stands. The shop knows what is wrong.
Repairs cure with the chance of the record, drawn with the comeback's own numbers, so that every
policy meets the same luck; whether they did shows on the road only. Handing over ends it: then
the way out, the hours of whoever takes over, the fix itself and its drive still have to be paid.

A driver tells of things that nothing wrong brings, too: two in five drawn comebacks have such a
complaint among those told, which no repair takes away. Where causes are behind the others, the fix
is verified when nothing is left of what these causes brought; where none is, only handing over
ends it. `strict` is the other reading: then every complaint that was told has to be gone.
"""

from collections.abc import Callable
from typing import NamedTuple

from diagnose.access import Access, access_for
from diagnose.assess import Assessment
from diagnose.case import PENDING, STILL_THERE, Case, Entry
from diagnose.mending import cures_of
from diagnose.planning.problem import DRIVE, HAND_OVER, Key
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
    """One comeback in the shop.

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
        self.strict = strict
        self.base, self.case = base, start_case
        self.access = access_for(base, start_case)
        self.here = self.access.index(start_case.stands)
        self.at_start = self.now = self.driven = comeback
        self.hours, self.over, self.handed_over = 0.0, False, False
        self.done: list[Key] = []
        self.pulls = self.wrong_pulls = 0
        self._needed_at_pull = 0

    def view(self) -> ShopView:
        """Give what a policy may know."""
        repairs = [e for e in self.case.entries if e.repair is not None]
        return ShopView(
            self.base,
            self.case,
            self.access,
            self.here,
            frozenset(e.repair for e in repairs if e.answer == PENDING),
            frozenset(e.repair for e in repairs),
            self.done.count(DRIVE),
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
        if self.over:
            message = "the vehicle has left the shop"
            raise ValueError(message)
        kind, name = act
        self.done.append(act)
        if kind == "ask":
            self.hours += self.base.scale.ask_minutes / 60.0
            # The driver knows how it was when it was last driven.
            self._note(self.driven.ask(name))
        elif kind == "check":
            check = self.base.checks[name]
            self._go_to(self.access.index(check.from_))
            self.hours += check.minutes / 60.0
            self._note(self.now.answer(name))
        elif kind == "repair":
            repair = self.base.causes[name].repair
            self._go_to(self.access.index(repair.from_))
            self.hours += repair.hours
            before = self.done.count(act) - 1
            self.now = self.now.repaired(name, cures_of(self.base, name), attempt=before)
            self._note(Entry(repair=name, answer=PENDING))
        elif kind == "drive":
            self._drive()
        elif kind == "hand_over":
            self._hand_over()
        else:
            raise ValueError(kind)

    def outcome(self, *, guarded: bool = False) -> Outcome:
        """Give what it took; once it is over."""
        kinds = [kind for kind, _ in self.done]
        start = self.at_start
        least = self._fix(start) + (0.0 if self._mendable else self.base.scale.hand_over)
        return Outcome(
            hours=self.hours,
            least=least,
            acts=len(kinds),
            asked=kinds.count("ask"),
            checks=kinds.count("check"),
            repairs=kinds.count("repair"),
            drives=kinds.count("drive"),
            pulls=self.pulls,
            wrong_pulls=self.wrong_pulls,
            handed_over=self.handed_over,
            guarded=guarded,
            needed=len(start.needed),
            inside=bool(start.needed)
            and not any(self.access.drivable[self._depth(c)] for c in start.needed),
            mendable=self._mendable,
        )

    @property
    def _mendable(self) -> bool:
        start = self.at_start
        return start.mendable if self.strict else bool(start.needed)

    @property
    def _verified(self) -> bool:
        """Whether a drive would now show that it is mended."""
        return self.now.gone if self.strict else self._mendable and not self.now.needed

    def _note(self, entry: Entry) -> None:
        stage = "before" if self.access.drivable[self.here] else "inside"
        self.case = self.case.with_entry(entry.model_copy(update={"stage": stage}))

    def _go_to(self, depth: int) -> None:
        way, there = self.access.move(self.here, depth)
        self.hours += way
        self._stand(there)

    def _close_up(self) -> None:
        self.hours += self.access.way_out(self.here)
        self._stand(0)

    def _stand(self, there: int) -> None:
        was_in, is_in = self.access.drivable[self.here], self.access.drivable[there]
        if was_in and not is_in:
            self.pulls += 1
            self._needed_at_pull = len(self.now.needed)
        if is_in and not was_in:
            self.wrong_pulls += len(self.now.needed) >= self._needed_at_pull
        self.here = there
        self.case = self.case.with_stands(self.access.names[there])

    def _drive(self) -> None:
        """Close up and drive; what stayed and what went is told to the case."""
        self._close_up()
        self.hours += self._drive_hours
        self.driven = self.now
        if self._verified:
            self.over = True
            return
        failed = {"answer": STILL_THERE}
        entries = tuple(
            e.model_copy(update=failed) if e.is_pending else e for e in self.case.entries
        )
        self.case = self.case.model_copy(update={"entries": entries})
        for told in self.at_start.told:
            if told not in self.now.there and self.case.answer_to(("complaint", told)) == "yes":
                self._note(self.now.ask(told))

    def _hand_over(self) -> None:
        self._close_up()
        self.hours += self.base.scale.hand_over + self._fix(self.now)
        self.over = self.handed_over = True

    def _fix(self, comeback: Comeback) -> float:
        """Hours to put right what is needed, from a vehicle that is whole, and to drive it."""
        if not comeback.needed:
            return self._drive_hours
        deepest = max(self._depth(c) for c in comeback.needed)
        way = self.access.move(0, deepest)[0] + self.access.way_out(deepest)
        work = sum(self.base.causes[c].repair.hours for c in comeback.needed)
        return way + work + self._drive_hours

    def _depth(self, cause: str) -> int:
        return self.access.index(self.base.causes[cause].repair.from_)

    @property
    def _drive_hours(self) -> float:
        return self.base.scale.drive_minutes / 60.0


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
