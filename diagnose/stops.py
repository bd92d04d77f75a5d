"""Stop notices that hold, and what must not be done while they do.

A stop notice holds while the sign it belongs to is there and nothing was repaired since that could
have taken it away. While it holds nobody drives; and unless its text stops at "do not drive",
nobody runs the engine either. All of it follows from the base.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from diagnose.case import STILL_THERE, Case, Entry
from diagnose.mending import repairs_in
from diagnose.network import Network
from knowledge.model import Check, KnowledgeBase

ROAD, RUNNING = "road", "running"  # cautions of what needs the vehicle driven, or its engine run
_ROAD_ONLY = "do not drive"
_THERE = frozenset({"yes", "probably"})


@dataclass(frozen=True)
class Held:
    """A stop notice that holds, and the sign it holds for."""

    notice: str
    sign: str


def shown(check: Check, entry: Entry) -> frozenset[str]:
    """List the findings that are there by an answer.

    Parameters
    ----------
    check : Check
    entry : Entry
        An answer to it.

    Returns
    -------
    frozenset of str
    """
    if check.finding is not None:
        return frozenset({check.finding} if entry.answer in _THERE else ())
    answer = next((a for a in check.answers if a.id == entry.answer), None)
    return frozenset(f for f, word in (answer.shows.items() if answer else ()) if word in _THERE)


def stops_that_hold(network: Network, case: Case) -> tuple[Held, ...]:
    """List the stop notices that hold, by what was told and seen.

    Parameters
    ----------
    network : Network
    case : Case

    Returns
    -------
    tuple of Held
        In the order in which their signs were last spoken of.

    Raises
    ------
    UnknownIdError
        If an entry names what the base does not hold.
    """
    last: dict[str, tuple[int, bool]] = {}
    for i, entry in enumerate(case.entries):
        for sign, there in _spoken_of(network.base, entry):
            last.pop(sign, None)
            last[sign] = (i, there)
    return tuple(
        Held(notice, sign)
        for sign, (place, there) in last.items()
        if there
        and (notice := network.base.observable(sign).stop)
        and not _may_be_gone(network, case, sign, place)
    )


def _spoken_of(base: KnowledgeBase, entry: Entry) -> Iterator[tuple[str, bool]]:
    """Signs that an entry speaks of, and whether they are there."""
    if entry.complaint is not None:
        yield entry.complaint, entry.answer in _THERE
    elif entry.check is not None and entry.check in base.checks:
        check = base.checks[entry.check]
        there = shown(check, entry)
        for sign in check.reads():
            yield sign, sign in there


def _may_be_gone(network: Network, case: Case, sign: str, seen: int) -> bool:
    """Whether anything done since an entry could have taken a sign away.

    Who drove tells of a complaint that it is still there, so only a repair that nobody has driven
    with yet, or one that cured, can have taken that away.
    """
    told = sign in network.base.complaints
    for repair in repairs_in(network, case).every:
        entry = case.entries[repair.entry]
        if told and (entry.repair is None or entry.answer == STILL_THERE):
            continue
        if repair.place > seen and repair.changed(network, sign):
            return True
    return False


def against(base: KnowledgeBase, held: Iterable[Held], kind: str, name: str) -> tuple[Held, ...]:
    """List the stop notices that an act goes against.

    Parameters
    ----------
    base : KnowledgeBase
    held : iterable of Held
        Those that hold.
    kind, name : str
        The act, as in `diagnose.planning.problem.Key`.

    Returns
    -------
    tuple of Held
    """
    needs = base.checks[name].cautions if kind == "check" else ()
    drives = kind == "drive" or ROAD in needs
    if not drives and RUNNING not in needs:
        return ()
    return tuple(h for h in held if drives or not is_for_the_road_only(base, h.notice))


def is_for_the_road_only(base: KnowledgeBase, notice: str) -> bool:
    """Tell whether a stop notice forbids driving only, and not running the engine as well.

    Parameters
    ----------
    base : KnowledgeBase
    notice : str

    Returns
    -------
    bool
    """
    return _ROAD_ONLY in base.cautions[notice].text.lower()
