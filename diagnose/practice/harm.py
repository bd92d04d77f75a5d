"""Unsafe moves: a caution that was not read, or the road, or the engine, against a stop notice.

All of it follows from the base. A stop notice holds while the sign it belongs to is there and
nothing was repaired since that could have taken it away. While it holds nobody drives; and unless
its text stops at "do not drive", nobody runs the engine either.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from diagnose.case import STILL_THERE, Entry
from diagnose.mending import TELLING, cures_of
from diagnose.planning.problem import Key
from diagnose.practice.exercise import shown
from diagnose.practice.shop import Shop
from knowledge.model import Caution, KnowledgeBase

ROAD, RUNNING = "road", "running"  # cautions of what needs the vehicle driven, or its engine run
_ROAD_ONLY = "do not drive"
_YES = frozenset({"yes", "probably"})


@dataclass(frozen=True)
class Harm:
    """Why a move is unsafe.

    Attributes
    ----------
    act : tuple of str
        The move, which was not made.
    notices : tuple of str
        Ids of the cautions and stop notices it goes against.
    reason : str
        The reason in sentences.
    """

    act: Key
    notices: tuple[str, ...]
    reason: str


@dataclass(frozen=True)
class Held:
    """A stop notice that holds, and the sign it holds for."""

    notice: str
    sign: str


def cautions_before(base: KnowledgeBase, act: Key) -> tuple[str, ...]:
    """List the cautions to be read before an act.

    Parameters
    ----------
    base : KnowledgeBase
    act : tuple of str

    Returns
    -------
    tuple of str
        Ids, without stop notices.
    """
    kind, name = act
    records: tuple[Caution, ...] = ()
    if kind == "check":
        records = tuple(base.cautions[c] for c in base.checks[name].cautions)
    elif kind == "repair":
        records = base.repair_cautions(base.causes[name])
    elif kind == "drive" and ROAD in base.cautions:
        records = (base.cautions[ROAD],)
    return tuple(record.id for record in records if record.level == "caution")


def stops_that_hold(shop: Shop) -> tuple[Held, ...]:
    """List the stop notices that hold, by what was told and seen.

    Parameters
    ----------
    shop : Shop

    Returns
    -------
    tuple of Held
        In the order they came up.
    """
    base = shop.base
    last: dict[str, tuple[int, bool]] = {}
    for i, entry in enumerate(shop.case.entries):
        for sign, there in _spoken_of(base, entry):
            last[sign] = (i, there)
    return tuple(
        Held(notice, sign)
        for sign, (place, there) in last.items()
        if there
        and (notice := base.observable(sign).stop)
        and not _may_be_gone(shop, sign, shop.case.entries[place + 1 :])
    )


def _spoken_of(base: KnowledgeBase, entry: Entry) -> Iterator[tuple[str, bool]]:
    """Signs that an entry speaks of, and whether they are there."""
    if entry.complaint is not None:
        yield entry.complaint, entry.answer in _YES
    elif entry.check is not None:
        check = base.checks[entry.check]
        there = shown(check, entry)
        for sign in check.reads():
            yield sign, sign in there


def _may_be_gone(shop: Shop, sign: str, since: tuple[Entry, ...]) -> bool:
    """Whether any repair done since could have taken a sign away.

    Who drove tells of a complaint that it is still there, so only what nobody has driven with yet
    can have taken that away.
    """
    network = shop.at_start.network
    f = network.finding_index[sign]
    told = sign in shop.base.complaints
    for entry in since:
        if entry.repair is None or (told and entry.answer == STILL_THERE):
            continue
        cured = [network.cause_index.get(c) for c in cures_of(shop.base, entry.repair)]
        if any(c is not None and float(network.q[c, f]) >= TELLING for c in cured):
            return True
    return False


def harm_of(shop: Shop, act: Key) -> Harm | None:
    """Say why an act would be unsafe as the shop stands; None if it would not be.

    Parameters
    ----------
    shop : Shop
    act : tuple of str

    Returns
    -------
    Harm or None
        Stop notices come before cautions that were not read.
    """
    return against_a_stop(shop, act) or _unread(shop, act)


def against_a_stop(shop: Shop, act: Key) -> Harm | None:
    """Say which stop notice an act goes against; None if it goes against none.

    Parameters
    ----------
    shop : Shop
    act : tuple of str

    Returns
    -------
    Harm or None
    """
    base = shop.base
    kind, name = act
    needs = set(base.checks[name].cautions) if kind == "check" else set()
    drives, runs = kind == "drive" or ROAD in needs, RUNNING in needs
    if not (drives or runs):
        return None
    held = [h for h in stops_that_hold(shop) if drives or not is_for_the_road_only(base, h.notice)]
    if not held:
        return None
    lines = [
        f"{base.cautions[h.notice].text} (Seen: {base.observable(h.sign).name}.)" for h in held
    ]
    return Harm(act, tuple(h.notice for h in held), " ".join(lines))


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


def _unread(shop: Shop, act: Key) -> Harm | None:
    needed = cautions_before(shop.base, act)
    missing = [name for name in needed if name not in shop.case.acknowledged]
    if not missing:
        return None
    texts = " ".join(shop.base.cautions[name].text for name in missing)
    return Harm(act, tuple(missing), f"This was not read before the work began: {texts}")
