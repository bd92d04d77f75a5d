"""What one act makes of a case, within a transaction that has locked it."""

from collections.abc import Callable, Iterable
from typing import Any, Literal

from sqlalchemy import Connection, Table, select, update

from diagnose.case import Case
from diagnose.records import ledger, searching
from diagnose.records.errors import StoreError
from diagnose.records.kept import KeptConflict, State, What
from diagnose.records.ledger import Act, Present
from diagnose.records.merging import merged, resolved
from diagnose.records.patches import changed, patch_between
from diagnose.records.states import FIELD as STATE
from diagnose.records.states import StateChange, state_after
from diagnose.records.tables import cases, changes, conflicts

Words = Callable[[Case], str]
"""Gives the text a case is found by."""


def written(
    connection: Connection,
    words: Words,
    now: Present,
    data: dict[str, Any],
    what: Iterable[What],
    who: Act,
    state: State | None = None,
) -> Present:
    """Write the next change of a case, and what it is found by from then on."""
    after = ledger.add_change(connection, now, data, what, who, state)
    searching.index_words(connection, after.row, (now.last, after.last), words(after.case))
    return after


def laid(
    connection: Connection,
    words: Words,
    now: Present,
    made: tuple[Case, Case],
    change: StateChange | None,
    who: Act,
) -> Present:
    """Lay a seat's change on a case, with what is not agreed on.

    Parameters
    ----------
    connection : Connection
    words : callable
    now : Present
    made : (Case, Case)
        What the seat began with, and what it made of that.
    change : StateChange or None
        What it says of how far the case is.
    who : Act
    """
    began, case = made
    state, unclear = state_after(now.state, change)
    if case == began and state is now.state and not unclear:
        return now
    found = merged(began, case, now.case)
    data = ledger.checked_data(found.case)
    what = (*told(now, data), *reached(now.state, state))
    after = written(connection, words, now, data, what, who, state)
    ledger.add_conflicts(connection, after, (*found.conflicts, *unclear))
    return after


def settled(
    connection: Connection,
    words: Words,
    now: Present,
    kept: KeptConflict,
    keep: Literal["first", "other"],
    who: Act,
) -> Present:
    """Let one side of a conflict count; the other stays in the conflict."""
    values = {"choice": keep, "settled_by": who.by, "settled_at": who.at}
    connection.execute(update(conflicts).where(conflicts.c.id == kept.id).values(values))
    conflict, data, state = kept.conflict, now.data, now.state
    kind, _, name = conflict.key.rpartition(" ")
    if conflict.field == STATE:
        state = State(conflict.other) if keep == "other" else state
        name = str(state)
    elif keep == "other":
        data = ledger.checked_data(resolved(now.case, conflict))
    what = What("settled", kind or conflict.field, name)
    return written(connection, words, now, data, (what,), who, state)


def told(now: Present, data: dict[str, Any]) -> tuple[What, ...]:
    """Tell what is another in a case, as its timeline does."""
    patch = patch_between(now.data, data)
    return tuple(What(*each) for each in changed(now.data, patch))


def reached(before: State, state: State) -> tuple[What, ...]:
    """Tell that a case is in another state; nothing if it is not."""
    return () if state is before else (What("changed", "state", str(state)),)


def began(connection: Connection, now: Present, seen: int, base: Case | None) -> Case:
    """Give what a seat began with.

    A seat that has seen more than the store holds began with what was lost when a backup was put
    back; what it has now is then the next change.
    """
    if base is not None:
        return base
    if seen >= now.number:
        return now.case
    return ledger.case_from(ledger.data_at(connection, now, seen))


def known(connection: Connection, token: str) -> str | None:
    """Give the id of the case that a token's change belongs to; None if it is new."""
    query = select(cases.c.id).join(changes, changes.c.case_row == cases.c.row)
    found: str | None = connection.execute(query.where(changes.c.token == token)).scalar()
    return found


def locked_owner(connection: Connection, table: Table, key: int) -> Present:
    """Give the locked row of the case that a conflict or photo belongs to.

    Raises
    ------
    StoreError
        If there is no such conflict or photo.
    """
    query = select(cases.c.id).join(table, table.c.case_row == cases.c.row)
    found = connection.execute(query.where(table.c.id == key)).scalar()
    if found is None:
        raise StoreError("The store does not hold this.", "Open the case again.")
    return ledger.present(connection, found, lock=True)
