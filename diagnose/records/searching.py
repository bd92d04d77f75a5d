"""Cases found by words: FTS5 in SQLite, a tsvector with a GIN index in PostgreSQL.

Both hold the tokens of `diagnose.records.words`, so both find the same. A word that is asked for
is the beginning of a word of the case, and all of them must be there. In FTS5 the rows have the
number of the case's last change: so the latest come first without sorting, and a search that
finds half of all cases stops after the first page.
"""

from collections.abc import Collection, Iterable
from typing import Any

from sqlalchemy import Connection, select, text

from diagnose.records.kept import Listed, State
from diagnose.records.tables import cases
from diagnose.records.words import tokens

_MOST_WORDS = 5000
_ASKED = 12
_SHOWN = "c.id, c.title, c.state, c.number, c.answers, c.updated, c.by"


def index_words(connection: Connection, row: int, last: tuple[int, int], words: str) -> None:
    """Write what a case is found by.

    Parameters
    ----------
    connection : Connection
    row : int
        The case's.
    last : (int, int)
        Its change before this one and its last one, counted in the store.
    words : str
        Any text.
    """
    found_by = tokens(words)[:_MOST_WORDS]
    if connection.dialect.name == "postgresql":
        connection.execute(
            text(
                "UPDATE cases SET found_by = array_to_tsvector(CAST(:words AS text[])) "
                'WHERE "row" = :row'
            ),
            {"words": list(found_by), "row": row},
        )
        return
    state = connection.execute(select(cases.c.state).where(cases.c.row == row)).scalar_one()
    connection.execute(text("DELETE FROM case_words WHERE rowid = :old"), {"old": last[0]})
    connection.execute(
        text("INSERT INTO case_words (rowid, words, state) VALUES (:last, :words, :state)"),
        {"last": last[1], "words": " ".join(found_by), "state": _token(State(state))},
    )


def find(
    connection: Connection, words: str, states: Collection[State], limit: int, offset: int
) -> tuple[Listed, ...]:
    """Find cases, those changed last first; `Store.find` says how."""
    asked = tokens(words)[:_ASKED]
    limits = {"limit": limit, "offset": offset}
    if not asked:
        rows = _latest(connection, states, limits)
    elif connection.dialect.name == "postgresql":
        rows = _in_postgresql(connection, asked, states, limits)
    else:
        rows = _in_sqlite(connection, asked, states, limits)
    return tuple(Listed(r[0], r[1], State(r[2]), *r[3:]) for r in map(_plain, rows))


def counts(connection: Connection, words: str) -> dict[State, int]:
    """Count the cases that some words find, by state; `Store.counts` says how."""
    asked = tokens(words)[:_ASKED]
    if connection.dialect.name == "postgresql":
        where, values = _where(asked, ())
        query = text(f"SELECT c.state, count(*) FROM cases c WHERE {where} GROUP BY c.state")
        found = {State(state): count for state, count in connection.execute(query, values)}
        return {state: found.get(state, 0) for state in State}
    # The index alone says it: the table holds whole cases.
    query = text("SELECT count(*) FROM case_words WHERE case_words MATCH :match")
    matches = {state: {"match": _match(asked, (state,))} for state in State}
    return {s: connection.execute(query, match).scalar_one() for s, match in matches.items()}


def places(connection: Connection, words: str, state: State) -> tuple[int, ...]:
    """Give the last changes, counted in the store, of all cases in a state that words find."""
    asked = tokens(words)[:_ASKED]
    if connection.dialect.name == "postgresql":
        where, values = _where(asked, (state,))
        query = text(f"SELECT c.last FROM cases c WHERE {where}")
    else:
        values = {"match": _match(asked, (state,))}
        query = text("SELECT rowid FROM case_words WHERE case_words MATCH :match")
    return tuple(connection.execute(query, values).scalars())


def _latest(
    connection: Connection, states: Collection[State], limits: dict[str, int]
) -> Iterable[Iterable[Any]]:
    c = cases.c
    query = select(c.id, c.title, c.state, c.number, c.answers, c.updated, c.by)
    query = query.order_by(c.last.desc()).limit(limits["limit"]).offset(limits["offset"])
    if states:
        query = query.where(c.state.in_([str(s) for s in states]))
    return connection.execute(query).all()


def _in_sqlite(
    connection: Connection,
    asked: tuple[str, ...],
    states: Collection[State],
    limits: dict[str, int],
) -> Iterable[Iterable[Any]]:
    query = text(
        f"SELECT {_SHOWN} FROM case_words CROSS JOIN cases c ON c.last = case_words.rowid "
        "WHERE case_words MATCH :match ORDER BY case_words.rowid DESC LIMIT :limit OFFSET :offset"
    )
    return connection.execute(query, {"match": _match(asked, states), **limits}).all()


def _in_postgresql(
    connection: Connection,
    asked: tuple[str, ...],
    states: Collection[State],
    limits: dict[str, int],
) -> Iterable[Iterable[Any]]:
    where, values = _where(asked, states)
    query = f"SELECT {_SHOWN} FROM cases c WHERE {where} ORDER BY c.last DESC"
    page = text(f"{query} LIMIT :limit OFFSET :offset")
    return connection.execute(page, {**values, **limits}).all()


def _match(asked: Collection[str], states: Collection[State]) -> str:
    """Say in FTS5's words what is looked for; at least a word or a state."""
    parts = []
    if asked:
        parts.append("words : (" + " AND ".join(f'"{word}" *' for word in asked) + ")")
    if states:
        parts.append("state : (" + " OR ".join(f'"{_token(s)}"' for s in states) + ")")
    return " AND ".join(parts)


def _where(asked: Collection[str], states: Collection[State]) -> tuple[str, dict[str, Any]]:
    """Say in PostgreSQL's words what is looked for, with its values."""
    parts = ["TRUE"]
    values: dict[str, Any] = {}
    if asked:
        parts.append("c.found_by @@ CAST(:match AS tsquery)")
        values["match"] = " & ".join(f"'{word}':*" for word in asked)
    if states:
        parts.append("c.state = ANY(:states)")
        values["states"] = [str(s) for s in states]
    return " AND ".join(parts), values


def _token(state: State) -> str:
    """Give the one word that stands for a state in the index."""
    return state.name.lower().replace("_", "")


def _plain(row: Iterable[Any]) -> tuple[Any, ...]:
    return tuple(row)
