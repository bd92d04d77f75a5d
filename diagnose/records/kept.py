"""What the store gives: frozen records."""

from dataclasses import dataclass
from enum import StrEnum

from diagnose.case import Case
from diagnose.records.merging import Conflict


class State(StrEnum):
    """How far a case is, for those who work through the list."""

    OPEN = "open"
    WAITING_CALLER = "waiting for caller"
    WAITING_PARTS = "waiting for parts"
    CLOSED = "closed"


@dataclass(frozen=True)
class KeptConflict:
    """A conflict of a case in the store.

    Attributes
    ----------
    id : int
    number : int
        The change that brought the value that does not count.
    by, at : str
        Who gave that value, and when it came to the store.
    conflict : Conflict
    choice : str
        Which value was chosen, "first" or "other"; empty while nobody has.
    settled_by, settled_at : str
        Who chose, and when.
    """

    id: int
    number: int
    by: str
    at: str
    conflict: Conflict
    choice: str = ""
    settled_by: str = ""
    settled_at: str = ""


@dataclass(frozen=True)
class Kept:
    """A case as it is on disk.

    Attributes
    ----------
    id : str
    number : int
        Its last change, counted from 1; what a seat has seen once it shows this case.
    case : Case
    state : State
    conflicts : tuple of KeptConflict
        Those that nobody has settled.
    updated, by : str
        When it was changed last, and by whom.
    sent : bool
        False if it waits in the outbox of this seat, for the server does not answer.
    """

    id: str
    number: int
    case: Case
    state: State
    conflicts: tuple[KeptConflict, ...]
    updated: str
    by: str
    sent: bool = True


@dataclass(frozen=True)
class What:
    """One thing that a change did.

    Attributes
    ----------
    act : str
        "added", "changed", "removed" or "settled".
    kind : str
        "complaint", "check", "work", "repair", "photo", "state", or a field of the case.
    name : str
        The id it is about, or the new state; empty for a field.
    """

    act: str
    kind: str
    name: str = ""


@dataclass(frozen=True)
class Change:
    """One numbered change of a case."""

    number: int
    by: str
    at: str
    what: tuple[What, ...]


@dataclass(frozen=True)
class Listed:
    """A case in a list."""

    id: str
    title: str
    state: State
    number: int
    answers: int
    updated: str
    by: str


@dataclass(frozen=True)
class Closing:
    """How a case ended.

    Attributes
    ----------
    id : str
    causes : tuple of str
        Ids of the causes that were found; any of them fits the report.
    sure : str
        How surely, in the words of `diagnose.case.Found`.
    hours : float
        What it cost in all.
    opened, closed : str
    """

    id: str
    causes: tuple[str, ...]
    sure: str
    hours: float
    opened: str
    closed: str


@dataclass(frozen=True)
class Photo:
    """A picture that belongs to a case; its bytes are asked for apart.

    Attributes
    ----------
    id : int
    name, caption : str
    kind : str
        "jpeg" or "png", judged by the bytes.
    size : int
        Bytes.
    sha256 : str
        Of the bytes, in hexadecimal digits.
    by, at : str
    sent : bool
        False if it waits in the outbox of this seat, for the server does not answer.
    """

    id: int
    name: str
    caption: str
    kind: str
    size: int
    sha256: str
    by: str
    at: str
    sent: bool = True
