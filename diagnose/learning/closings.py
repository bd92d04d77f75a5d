"""Closed cases as the learning sees them: what was found, and how surely."""

from dataclasses import dataclass
from typing import Literal

from diagnose.case import Case

Grade = Literal["part seen", "complaint gone", "customer silent", "not confirmed"]

# How surely what was named at the closing is what was wrong. Source: judgement. A part that was
# seen speaks for itself. A complaint that went with the repair mostly went because of it, but other
# things were touched as well. A customer who is not heard of again may be content, or elsewhere.
WEIGHT: dict[Grade, float] = {
    "part seen": 1.0,
    "complaint gone": 0.8,
    "customer silent": 0.4,
    "not confirmed": 0.0,
}


@dataclass(frozen=True)
class Closing:
    """One closed case.

    Attributes
    ----------
    key : str
        What the case goes by; no two closings share it.
    case : Case
        With all that was answered.
    found : tuple of frozenset of str
        Causes that were there together; if there are several such sets, one of them was.
    grade : str
        One of the grades of `WEIGHT`.
    """

    key: str
    case: Case
    found: tuple[frozenset[str], ...]
    grade: Grade

    @property
    def weight(self) -> float:
        """How surely one of `found` is what was wrong, 0 to 1."""
        return WEIGHT[self.grade] if self.found and all(self.found) else 0.0


def closing_of(key: str, case: Case) -> Closing | None:
    """Give the closing that a case file tells of; None while nothing was found.

    A case names causes of which any fits what was found, so each is an alternative of its own.
    """
    if case.found is None:
        return None
    return Closing(key, case, tuple(frozenset((c,)) for c in case.found.causes), case.found.sure)
