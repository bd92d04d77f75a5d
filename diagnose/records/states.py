"""How far a case is, said by two people: three-way as answers are, and nothing overwritten."""

from dataclasses import dataclass

from diagnose.records.kept import State
from diagnose.records.merging import Conflict

FIELD = "state"
"""What a conflict about it names as its field; it is no field of the case itself."""


@dataclass(frozen=True)
class StateChange:
    """A seat's word on how far a case is: what it saw, and what it says now."""

    was: State
    now: State


def state_after(present: State, change: StateChange | None) -> tuple[State, tuple[Conflict, ...]]:
    """Give the state of a case after a seat's change came in, and what is not agreed on.

    Parameters
    ----------
    present : State
        As the store has it by now.
    change : StateChange or None
        None if the seat left it as it was.

    Returns
    -------
    State
        What was committed first counts where another seat has said something else since.
    tuple of Conflict
        At most one.
    """
    if change is None or change.now in (change.was, present):
        return present, ()
    if present is change.was:
        return change.now, ()
    return present, (Conflict(FIELD, "", str(present), str(change.now)),)
