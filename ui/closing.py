"""Closing a case: what was found, how surely, and at which cost; and opening it again; Qt-free."""

from collections.abc import Callable, Iterable
from typing import Literal, NamedTuple, get_args

from diagnose.access import access_for
from diagnose.assess import Assessment, assess
from diagnose.case import Case, Entry, Found, spent
from diagnose.planning.advice import advices
from knowledge.model import KnowledgeBase

Sure = Literal["part seen", "complaint gone", "customer silent", "not confirmed"]
SURE: tuple[tuple[Sure, str, str], ...] = (
    ("part seen", "The faulty part was seen", "it speaks for itself"),
    (
        "complaint gone",
        "The complaint is gone after the repair",
        "though something else may have been put right with it",
    ),
    (
        "customer silent",
        "The customer has not been heard of since",
        "content perhaps, or somewhere else",
    ),
    ("not confirmed", "Not confirmed", "a guess; nothing is learned from it"),
)
MOST_HOURS = 1000.0


class Ending(NamedTuple):
    """What is told when a case is closed.

    Attributes
    ----------
    causes : tuple of str
        Ids of what was found; any of them fits.
    sure : str
    hours : float
        What it cost in all.
    why : str
    """

    causes: tuple[str, ...]
    sure: Sure
    hours: float
    why: str


def suggested(base: KnowledgeBase, case: Case, assessment: Assessment | None) -> Ending:
    """Give what a case says of its end: what was found, else what was put right.

    Parameters
    ----------
    base : KnowledgeBase
    case : Case
    assessment : Assessment, optional
        Of the case, if there is one; it orders nothing and adds nothing that the case lacks.
    """
    found = case.found
    if found is not None:
        return Ending(found.causes, found.sure, spent(case), found.why)
    repairs = [e for e in case.entries if e.repair is not None and e.is_pending]
    seen = [e for e in repairs if e.seen]
    causes = tuple(dict.fromkeys(str(e.repair) for e in seen or repairs))
    known = tuple(name for name in causes if name in base.causes)
    return Ending(known, "part seen" if seen else "not confirmed", spent(case), "")


def closed(case: Case, ending: Ending, at_once: float | None = None) -> Case:
    """Give the case with its end.

    Parameters
    ----------
    case : Case
    ending : Ending
        With at least one cause.
    at_once : float, optional
        As `diagnose.case.Found` has it; what is known already stays if left out.
    """
    known = case.found.at_once if case.found is not None else None
    found = Found(
        causes=ending.causes,
        sure=ending.sure,
        why=ending.why,
        at_once=known if at_once is None else at_once,
    )
    return with_spent(case, ending.hours).model_copy(update={"found": found})


def reopened(case: Case) -> Case:
    """Give the case with nothing found."""
    return case.model_copy(update={"found": None})


def with_spent(case: Case, hours: float) -> Case:
    """Give the case with another sum of hours; the same sum changes nothing.

    Ways and drives take the difference. Where they can't, for the entries alone are more, the hours
    of all entries shrink in proportion: they are the base's guesses, and the sum is known.
    """
    before = spent(case)
    if abs(hours - before) < 0.005:  # as it is shown, nothing was changed
        return case
    answers = before - case.moved
    if hours >= answers:
        return case.model_copy(update={"moved": round(hours - answers, 4)})
    share = hours / answers
    entries = tuple(_shrunk(entry, share) for entry in case.entries)
    left = hours - sum(entry.hours or 0.0 for entry in entries)
    return case.model_copy(update={"entries": entries, "moved": max(0.0, round(left, 4))})


def _shrunk(entry: Entry, share: float) -> Entry:
    if entry.hours is None:
        return entry
    # Rounded down, so that the sum is never above what was typed.
    return entry.model_copy(update={"hours": int(share * entry.hours * 1e4) / 1e4})


def hours_typed(text: str) -> float | None:
    """Give the hours that somebody typed, such as "3.5", "3,5 h" or "40 min"; None if none."""
    words = text.strip().lower().replace(",", ".")
    scale = 1.0
    for ending, unit in (("min", 1.0 / 60.0), ("h", 1.0)):
        if words.endswith(ending):
            words, scale = words.removesuffix(ending).strip(), unit
            break
    try:
        hours = float(words) * scale
    except ValueError:
        return None
    return hours if 0.0 <= hours <= MOST_HOURS else None


def at_the_beginning(base: KnowledgeBase, case: Case) -> Case:
    """Give the case as it came in: complaint and work at the job, the vehicle whole."""
    told = tuple(
        e
        for e in case.entries
        if (e.complaint is not None and e.stage == "before")
        or (e.work is not None and e.when == "job")
    )
    whole = access_for(base, case).names[0]
    return case.model_copy(
        update={"entries": told, "stands": whole, "moved": 0.0, "limit": None, "found": None}
    )


def hours_if_opened_at_once(
    base: KnowledgeBase, case: Case, stale: Callable[[], bool] = lambda: False
) -> float | None:
    """Give what the advice says of taking the gearbox out first of all, as the case came in.

    Parameters
    ----------
    base : KnowledgeBase
    case : Case
    stale : callable
        Whether nobody waits for it any more.

    Returns
    -------
    float or None
        Expected hours to a verified fix; None where no step needs the gearbox out.
    """
    first = next(advices(assess(base, at_the_beginning(base, case)), cancelled=stale))
    return None if first.inside is None else round(first.inside, 4)


def grade_name(sure: str) -> str:
    """Give the words of a grade."""
    return next((name for grade, name, _ in SURE if grade == sure), sure)


def names_of(base: KnowledgeBase, causes: Iterable[str]) -> tuple[str, ...]:
    """Give the names of causes; the id of one that the base no longer holds."""
    return tuple(base.causes[c].name if c in base.causes else c.replace("_", " ") for c in causes)


if get_args(Sure) != tuple(grade for grade, _, _ in SURE):  # pragma: no cover
    raise RuntimeError("every grade has its words")
