"""A typical check-list: seat, bay, under, then inside, in the base's own order.

On the list is what proves a cause that the answers leave possible. What is found is repaired, and
driven; at its end the likeliest cause is tried, if it is likely. It is handed over after three
drives in vain, or when what this tool does not know is likelier than not.
"""

from collections.abc import Mapping

from diagnose.assess import Assessment
from diagnose.case import PENDING
from diagnose.network import UNKNOWN
from diagnose.planning.problem import DRIVE, HAND_OVER, Key
from diagnose.planning.rows import rows_of
from diagnose.practice.harm import against_a_stop
from diagnose.practice.shop import Shop, drives_of
from diagnose.proofs import proofs_of
from diagnose.readings import reading_key
from knowledge.model import Check
from knowledge.tree import share_that_fits

_SURE = 0.5  # a cause this likely counts as found
_LEAST = 0.06  # what is less likely is not on the list; as `bench_planner.py --tune` chose it
_TRIES = 0.1  # the likeliest cause is tried at the end, if it is no less likely than this
_PATIENCE = 3
_UNKNOWN = 0.6


def next_on_the_list(shop: Shop, found: Assessment) -> Key:
    """Give the next move of the check-list.

    Parameters
    ----------
    shop : Shop
    found : Assessment
        Of the shop's case.

    Returns
    -------
    Key
        One that goes against no stop notice; handing over where there is none.
    """
    return next((act for act in _wanted(shop, found) if not against_a_stop(shop, act)), HAND_OVER)


def _wanted(shop: Shop, found: Assessment) -> list[Key]:
    """What the list would do, in order."""
    chances = chances_of(shop, found)
    repair = _repair(shop, chances)
    if repair is not None:
        return [repair]
    if any(entry.repair and entry.answer == PENDING for entry in shop.case.entries):
        return [DRIVE]
    if drives_of(shop) >= _PATIENCE or found.unknown >= _UNKNOWN:
        return [HAND_OVER]
    checks = _listed(shop, found, chances)
    if checks:
        return checks
    cause = max(chances, key=lambda c: chances[c], default="")
    return [("repair", cause)] if cause and chances[cause] >= _TRIES else [HAND_OVER]


def chances_of(shop: Shop, found: Assessment) -> Mapping[str, float]:
    """Give the chance that each cause still has to be put right, without those tried in vain.

    Parameters
    ----------
    shop : Shop
    found : Assessment

    Returns
    -------
    Mapping
        Cause id -> chance.
    """
    rows = rows_of(found)
    tried = {entry.repair for entry in shop.case.entries if entry.repair is not None}
    chance = rows.weights @ rows.needs
    return {
        cause: float(p)
        for cause, p in zip(found.network.causes, chance, strict=True)
        if cause not in tried and cause != UNKNOWN
    }


def _repair(shop: Shop, chances: Mapping[str, float]) -> Key | None:
    """The repair of what counts as found: the nearest first, then the likelier."""
    found = [cause for cause, p in chances.items() if p >= _SURE]
    if not found:
        return None

    def near(cause: str) -> tuple[float, float]:
        return shop.access.move(shop.here, shop.depth(cause))[0], -chances[cause]

    return "repair", min(found, key=near)


def _listed(shop: Shop, found: Assessment, chances: Mapping[str, float]) -> list[Key]:
    """Checks that prove what is possible, by level and then in the base's order."""
    base, situation = shop.base, found.situation
    known = frozenset(situation.observed) - situation.stale
    proves: dict[str, float] = {}
    for cause, p in chances.items():
        looks = {
            proof.check
            for proof in proofs_of(found.network).get(cause, ())
            if proof.finding not in known
        }
        for check in looks:
            proves[check] = proves.get(check, 0.0) + p
    listed = [
        check
        for check in base.checks.values()
        if proves.get(check.id, 0.0) >= _LEAST and can_be_done(shop, found, check)
    ]
    return [
        ("check", check.id) for check in sorted(listed, key=lambda c: shop.access.index(c.from_))
    ]


def can_be_done(shop: Shop, found: Assessment, check: Check) -> bool:
    """Tell whether a check fits and has not been done, or has gone stale by a repair.

    Parameters
    ----------
    shop : Shop
    found : Assessment
    check : Check

    Returns
    -------
    bool
    """
    case = shop.case
    if share_that_fits(shop.base, case.facts, check.when) <= 0.0:
        return False
    last = case.latest(("check", check.id))
    if last is None:
        return True
    key = reading_key(check.gauge) if check.gauge else ""
    mended = any(entry.mends for entry in case.entries[last + 1 :])
    return mended and bool(found.situation.stale.intersection((*check.reads(), key)))
