"""What a case came to when somebody left it, beside what it comes to now; Qt-free."""

from dataclasses import dataclass

from diagnose.assess import Assessment
from diagnose.case import Case, Leading, Ranking, weighed_digest
from ui.closing import names_of

LEADING = 5
_WORTH = 0.05  # of the belief: less is hardly seen in the order of the next steps


@dataclass(frozen=True)
class Row:
    """A leading cause then or now, with its chances; None where it was not on record."""

    cause: str
    name: str
    then: float | None
    now: float


@dataclass(frozen=True)
class Difference:
    """Two rankings of the same answers.

    Attributes
    ----------
    then, now : str
        Versions of the knowledge.
    rows : tuple of Row
        In today's order; what led then and does not now comes after.
    matters : bool
        Whether another cause leads, or some chance moved by 5 in 100 or more.
    """

    then: str
    now: str
    rows: tuple[Row, ...]
    matters: bool


def ranked(case: Case, assessment: Assessment) -> Case:
    """Give the case with its leading causes as they are now, and the base that ranked them."""
    version = assessment.network.base.version
    leading = tuple(Leading(cause=c.id, p=round(c.p, 4)) for c in assessment.causes[:LEADING])
    ranking = Ranking(knowledge=version, weighed=weighed_digest(case), leading=leading)
    return case.model_copy(update={"ranked": ranking, "knowledge": version})


def unranked(case: Case) -> Case:
    """Give the case without what it was assessed as."""
    return case.model_copy(update={"ranked": None, "knowledge": ""})


def difference(case: Case, assessment: Assessment) -> Difference | None:
    """Compare what a case came to with what it comes to now.

    Parameters
    ----------
    case : Case
    assessment : Assessment
        Of the case.

    Returns
    -------
    Difference or None
        None where there is nothing to compare: no ranking on record, one of the present knowledge,
        or one of other answers.
    """
    old, base = case.ranked, assessment.network.base
    if old is None or old.knowledge == base.version or old.weighed != weighed_digest(case):
        return None
    then = {leading.cause: leading.p for leading in old.leading}
    now = {c.id: c.p for c in assessment.causes}
    order = [c.id for c in assessment.causes[:LEADING]]
    order += [name for name in then if name not in order]
    names = names_of(base, order)
    rows = tuple(
        Row(cause, name, then.get(cause), now.get(cause, 0.0))
        for cause, name in zip(order, names, strict=True)
    )
    moved = max((abs(row.now - row.then) for row in rows if row.then is not None), default=0.0)
    leads = not old.leading or old.leading[0].cause == order[0]
    return Difference(old.knowledge, base.version, rows, matters=not leads or moved >= _WORTH)
