"""Unsafe moves: a caution that was not read, or the road, or the engine, against a stop notice.

All of it follows from the base (`diagnose.stops`).
"""

from dataclasses import dataclass

from diagnose.planning.problem import Key
from diagnose.practice.shop import Shop
from diagnose.stops import ROAD, against, stops_that_hold
from knowledge.model import Caution, KnowledgeBase


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
    held = against(base, stops_that_hold(shop.at_start.network, shop.case), *act)
    if not held:
        return None
    lines = [
        f"{base.cautions[h.notice].text} (Seen: {base.observable(h.sign).name}.)" for h in held
    ]
    return Harm(act, tuple(h.notice for h in held), " ".join(lines))


def _unread(shop: Shop, act: Key) -> Harm | None:
    needed = cautions_before(shop.base, act)
    missing = [name for name in needed if name not in shop.case.acknowledged]
    if not missing:
        return None
    texts = " ".join(shop.base.cautions[name].text for name in missing)
    return Harm(act, tuple(missing), f"This was not read before the work began: {texts}")
