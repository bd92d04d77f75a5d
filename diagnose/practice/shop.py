"""A simulated shop: acts done on a drawn comeback, and the hours they take to the verified fix.

Repairs cure with the chance of the record, drawn with the comeback's own numbers, so that everyone
who works on it meets the same luck; whether they did shows on the road only. Handing over ends it:
then the way out, the hours of whoever takes over, the fix itself and its drive still have to be
paid.

A driver tells of things that nothing wrong brings, too: two in five drawn comebacks have such a
complaint among those told, which no repair takes away. Where causes are behind the others, the fix
is verified when nothing is left of what these causes brought; where none is, only handing over
ends it. `strict` is the other reading: then every complaint that was told has to be gone.
"""

from dataclasses import dataclass, replace

from diagnose.access import Access, access_for
from diagnose.case import PENDING, STILL_THERE, Case, Entry
from diagnose.mending import cures_of
from diagnose.planning.problem import DRIVE, Key
from diagnose.simulate import Comeback
from knowledge.model import KnowledgeBase


@dataclass(frozen=True, eq=False)
class Shop:
    """One comeback in the shop, as it stands; every act gives the next one.

    Attributes
    ----------
    base : KnowledgeBase
    access : Access
    at_start, now, driven : Comeback
        The vehicle as it came, as it is, and as it was when it was driven last.
    case : Case
        What is known, as it was told and seen.
    here : int
        Number of the level it stands at.
    hours : float
        Spent so far.
    done : tuple of Key
        The acts, in order.
    pulls, wrong_pulls : int
        How often the gearbox came out; how often it went back in without anything put right inside
        that was needed.
    needed_at_pull : int
        How many causes had to be put right when it came out last.
    over, handed_over : bool
    strict : bool
        Whether complaints that nothing wrong brings have to be gone as well.
    """

    base: KnowledgeBase
    access: Access
    at_start: Comeback
    now: Comeback
    driven: Comeback
    case: Case
    here: int
    hours: float = 0.0
    done: tuple[Key, ...] = ()
    pulls: int = 0
    wrong_pulls: int = 0
    needed_at_pull: int = 0
    over: bool = False
    handed_over: bool = False
    strict: bool = False

    def after(self, act: Key) -> "Shop":
        """Give the shop after an act, its hours counted.

        Parameters
        ----------
        act : tuple of str
            Kind and id, as of `diagnose.planning.problem`.

        Returns
        -------
        Shop

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
        if kind == "ask":
            # The driver knows how it was when it was last driven.
            took = self.base.scale.ask_minutes / 60.0
            then = self._spent(took)._noted(self.driven.ask(name))
        elif kind == "check":
            check = self.base.checks[name]
            there = self._at(self.access.index(check.from_))._spent(check.minutes / 60.0)
            then = there._noted(there.now.answer(name))
        elif kind == "repair":
            then = self._repaired(name)
        elif kind == "drive":
            then = self._after_drive()
        elif kind == "hand_over":
            closed = self.closed_up()
            costs = self.base.scale.hand_over + closed.fix_hours(closed.now)
            then = replace(closed._spent(costs), over=True, handed_over=True)
        else:
            raise ValueError(kind)
        return replace(then, done=(*self.done, act))

    @property
    def mendable(self) -> bool:
        """Whether putting causes right gets to a verified fix."""
        start = self.at_start
        return start.mendable if self.strict else bool(start.needed)

    @property
    def mended(self) -> bool:
        """Whether a drive would now show that it is mended."""
        return self.now.gone if self.strict else self.mendable and not self.now.needed

    @property
    def least(self) -> float:
        """Hours it takes if all is known from the start."""
        handed = 0.0 if self.mendable else self.base.scale.hand_over
        return self.fix_hours(self.at_start) + handed

    @property
    def drive_hours(self) -> float:
        """Hours of a drive alone."""
        return self.base.scale.drive_minutes / 60.0

    def closed_up(self) -> "Shop":
        """Give the shop with the vehicle whole again."""
        return self._spent(self.access.way_out(self.here))._stood(0)

    def fix_hours(self, comeback: Comeback) -> float:
        """Give the hours to put right what is needed, from a vehicle that is whole; with a drive.

        Parameters
        ----------
        comeback : Comeback

        Returns
        -------
        float
        """
        if not comeback.needed:
            return self.drive_hours
        deepest = max(self.depth(c) for c in comeback.needed)
        way = self.access.move(0, deepest)[0] + self.access.way_out(deepest)
        work = sum(self.base.causes[c].repair.hours for c in comeback.needed)
        return way + work + self.drive_hours

    def depth(self, cause: str) -> int:
        """Give the number of the level that a cause is put right from."""
        return self.access.index(self.base.causes[cause].repair.from_)

    def _spent(self, hours: float) -> "Shop":
        return replace(self, hours=self.hours + hours)

    def _noted(self, entry: Entry) -> "Shop":
        stage = "before" if self.access.drivable[self.here] else "inside"
        return replace(self, case=self.case.with_entry(entry.model_copy(update={"stage": stage})))

    def _at(self, depth: int) -> "Shop":
        """Go to where something can be done at a level."""
        way, there = self.access.move(self.here, depth)
        return self._spent(way)._stood(there)

    def _stood(self, there: int) -> "Shop":
        was_in, is_in = self.access.drivable[self.here], self.access.drivable[there]
        pulls, wrong, at_pull = self.pulls, self.wrong_pulls, self.needed_at_pull
        if was_in and not is_in:
            pulls, at_pull = pulls + 1, len(self.now.needed)
        if is_in and not was_in:
            wrong += len(self.now.needed) >= at_pull
        return replace(
            self,
            here=there,
            case=self.case.with_stands(self.access.names[there]),
            pulls=pulls,
            wrong_pulls=wrong,
            needed_at_pull=at_pull,
        )

    def _repaired(self, name: str) -> "Shop":
        repair = self.base.causes[name].repair
        there = self._at(self.access.index(repair.from_))._spent(repair.hours)
        before = self.done.count(("repair", name))
        now = there.now.repaired(name, cures_of(self.base, name), attempt=before)
        return replace(there, now=now)._noted(Entry(repair=name, answer=PENDING))

    def _after_drive(self) -> "Shop":
        """Close up and drive; what stayed and what went is told to the case."""
        closed = self.closed_up()._spent(self.drive_hours)
        driven = replace(closed, driven=self.now)
        if driven.mended:
            return replace(driven, over=True)
        failed = {"answer": STILL_THERE}
        case = driven.case
        entries = tuple(e.model_copy(update=failed) if e.is_pending else e for e in case.entries)
        driven = replace(driven, case=case.model_copy(update={"entries": entries}))
        for told in self.at_start.told:
            if told not in self.now.there and driven.case.answer_to(("complaint", told)) == "yes":
                driven = driven._noted(self.now.ask(told))
        return driven


def opened(base: KnowledgeBase, comeback: Comeback, case: Case, *, strict: bool = False) -> Shop:
    """Give the shop as a comeback comes in.

    Parameters
    ----------
    base : KnowledgeBase
    comeback : Comeback
    case : Case
        With what the driver told.
    strict : bool
        Whether complaints that nothing wrong brings have to be gone as well.

    Returns
    -------
    Shop
    """
    access = access_for(base, case)
    here = access.index(case.stands)
    return Shop(base, access, comeback, comeback, comeback, case, here, strict=strict)


def drives_of(shop: Shop) -> int:
    """Count how often it was driven."""
    return shop.done.count(DRIVE)
