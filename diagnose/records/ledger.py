"""A case as rows: its present state, and the numbered changes that led to it."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

from pydantic import ValidationError
from sqlalchemy import Connection, Table, insert, select, update

from diagnose.case import Case, spent
from diagnose.records.errors import StoreError
from diagnose.records.kept import Change, Kept, KeptConflict, State, What
from diagnose.records.merging import Conflict
from diagnose.records.patches import Data, data_of, patch_between, patched_data
from diagnose.records.tables import cases, changes, conflicts

_TITLE = 200


@dataclass(frozen=True)
class Act:
    """Who changes something, when, and the token of this change."""

    by: str
    at: str
    token: str


@dataclass(frozen=True)
class Present:
    """The row of a case."""

    row: int
    id: str
    number: int
    last: int
    state: State
    closed: str | None
    updated: str
    by: str
    data: dict[str, Any]

    @cached_property
    def case(self) -> Case:
        """The case after its last change."""
        return case_from(self.data)


def act(by: str, at: str, token: str) -> Act:
    """Give an act as it can be stored.

    Raises
    ------
    ValueError
        If the time is no ISO time with its offset.
    """
    if datetime.fromisoformat(at).tzinfo is None:
        message = f"a time without its offset: {at!r}"
        raise ValueError(message)
    return Act(clean(by)[:80], at, token)


def clean(text: str) -> str:
    """Give a text without the signs that no text column takes."""
    return text.replace("\0", "").encode("utf-8", "replace").decode("utf-8")


def present(connection: Connection, case_id: str, *, lock: bool = False) -> Present:
    """Give the row of a case; with `lock` nobody else changes it before the transaction ends.

    Raises
    ------
    StoreError
        If there is no such case.
    """
    c = cases.c
    query = select(c.row, c.id, c.number, c.last, c.state, c.closed, c.updated, c.by, c.content)
    query = query.where(c.id == case_id)
    found = connection.execute(query.with_for_update() if lock else query).first()
    if found is None:
        raise StoreError("The store does not hold this case.", "Look for it in the list of cases.")
    return Present(*found[:4], State(found[4]), *found[5:8], json.loads(found[8]))


def case_from(data: Data) -> Case:
    """Give a case as the store holds it.

    Raises
    ------
    StoreError
        If a newer program wrote it.
    """
    try:
        return Case.model_validate(data)
    except ValidationError as error:
        raise StoreError(
            "This case holds something that this version of the program does not know.",
            "Update the program; the case is unchanged.",
        ) from error


def checked_data(case: Case) -> dict[str, Any]:
    """Give a case as the store will hold it, once it is sure that it can be read again.

    Raises
    ------
    StoreError
        If it can't, as with more than a thousand answers.
    """
    data = data_of(case)
    try:
        Case.model_validate(data)
    except ValidationError as error:
        first = error.errors()[0]
        where = " ".join(map(str, first["loc"]))
        raise StoreError(
            f"The case was not kept, for it could not be read again: {where}: {first['msg']}.",
            "Shorten or correct what is named here.",
        ) from error
    return data


def data_at(connection: Connection, now: Present, number: int) -> dict[str, Any]:
    """Give a case as it was after one of its changes."""
    if number == now.number:
        return now.data
    query = select(changes.c.patch).where(changes.c.case_row == now.row, changes.c.number <= number)
    patches = connection.execute(query.order_by(changes.c.number)).scalars()
    return patched_data({}, (json.loads(p) for p in patches))


def open_case(connection: Connection, case_id: str, case: Case, by_whom: Act) -> Present:
    """Make the row of a case that has no change yet."""
    row = {
        "id": case_id,
        "number": 0,
        "last": 0,
        "state": str(State.OPEN),
        "opened": by_whom.at,
        **_glance(case, {}, by_whom),
    }
    key = added(connection, cases, row)
    return Present(key, case_id, 0, 0, State.OPEN, None, by_whom.at, by_whom.by, {})


def add_change(
    connection: Connection,
    now: Present,
    data: dict[str, Any],
    what: Iterable[What],
    by_whom: Act,
    state: State | None = None,
) -> Present:
    """Write the next change of a case that is locked; gives its row after it."""
    number, state = now.number + 1, state or now.state
    change = {
        "case_row": now.row,
        "number": number,
        "token": by_whom.token,
        "by": by_whom.by,
        "at": by_whom.at,
        "what": _json([(w.act, w.kind, w.name) for w in what]),
        "patch": _json(patch_between(now.data, data)),
    }
    last = added(connection, changes, change)
    closed = None if state is not State.CLOSED else now.closed or by_whom.at
    after = Present(now.row, now.id, number, last, state, closed, by_whom.at, by_whom.by, data)
    values = {
        "number": number,
        "last": last,
        "state": str(state),
        "closed": closed,
        **_glance(after.case, data, by_whom),
    }
    connection.execute(update(cases).where(cases.c.row == now.row).values(values))
    return after


def _glance(case: Case, data: Data, by_whom: Act) -> dict[str, Any]:
    """Give what is told of a case without reading it."""
    return {
        "title": clean(case.title or case.words)[:_TITLE],
        "answers": len(case.entries),
        "updated": by_whom.at,
        "by": by_whom.by,
        "causes": _json(case.found.causes) if case.found else None,
        "sure": case.found.sure if case.found else None,
        "hours": spent(case),
        "content": _json(data),
    }


def add_conflicts(connection: Connection, now: Present, found: Iterable[Conflict]) -> None:
    """Keep what two people did not agree on, with the change that `now` is."""
    rows = [
        {
            "case_row": now.row,
            "number": now.number,
            "by": now.by,
            "at": now.updated,
            "field": c.field,
            "key": c.key,
            "first": _json(c.first),
            "other": _json(c.other),
            "choice": "",
            "settled_by": "",
            "settled_at": "",
        }
        for c in found
    ]
    if rows:
        connection.execute(insert(conflicts), rows)


def conflicts_of(connection: Connection, row: int) -> tuple[KeptConflict, ...]:
    """Give all conflicts of a case in their order, settled or not."""
    c = conflicts.c
    query = select(
        *(c.id, c.number, c.by, c.at, c.field, c.key, c.first, c.other),
        *(c.choice, c.settled_by, c.settled_at),
    )
    found = connection.execute(query.where(c.case_row == row).order_by(c.id))
    return tuple(
        KeptConflict(*r[:4], Conflict(r[4], r[5], json.loads(r[6]), json.loads(r[7])), *r[8:])
        for r in found
    )


def kept(connection: Connection, now: Present) -> Kept:
    """Give a case as the store hands it out."""
    pending = tuple(c for c in conflicts_of(connection, now.row) if not c.choice)
    return Kept(now.id, now.number, now.case, now.state, pending, now.updated, now.by)


def kept_then(connection: Connection, now: Present, number: int) -> Kept:
    """Give a case as it was after one of its changes, without its conflicts.

    Raises
    ------
    StoreError
        If it has no such change.
    """
    told = [c for c in changes_of(connection, now.row) if c.number <= number]
    if not told or told[-1].number != number:
        raise StoreError(f"The case has no change {number}.", "Choose one of its changes.")
    states = [w.name for c in told for w in c.what if w.kind == "state"]
    state = State(states[-1]) if states else State.OPEN
    case = case_from(data_at(connection, now, number))
    return Kept(now.id, number, case, state, (), told[-1].at, told[-1].by)


def changes_of(connection: Connection, row: int) -> tuple[Change, ...]:
    """Give the changes of a case in their order."""
    c = changes.c
    query = select(c.number, c.by, c.at, c.what).where(c.case_row == row).order_by(c.number)
    return tuple(
        Change(number, by, at, tuple(What(*w) for w in json.loads(what)))
        for number, by, at, what in connection.execute(query)
    )


def added(connection: Connection, table: Table, row: dict[str, Any]) -> int:
    """Add a row and give its key."""
    key = connection.execute(insert(table), row).inserted_primary_key
    assert key is not None  # every table here counts its rows by itself
    return int(key[0])


def names(stored: str) -> tuple[str, ...]:
    """Give names as they stand in a column."""
    return tuple(json.loads(stored))


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))
