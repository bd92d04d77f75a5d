"""How long a search takes among 100,000 cases, looking for like ones, counting, and a save.

``python tests/bench/bench_store.py`` fills an SQLite file and a PostgreSQL server of its own, if
one can be started, and prints the median and the worst of many searches. A case has a title, the
driver's words, three complaints and a note, of 3,000 made-up words whose shares fall as 1/rank, as
they do in any language (G. K. Zipf, Human behavior and the principle of least effort, 1949).
"""

import json
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from itertools import accumulate
from pathlib import Path

from sqlalchemy import insert, text

sys.path.insert(0, str(Path(__file__).parents[2]))

from diagnose.case import Case, Entry
from diagnose.records.connecting import sqlite_url, writing
from diagnose.records.kept import State
from diagnose.records.patches import data_of
from diagnose.records.store import Store, open_store
from diagnose.records.tables import cases, changes
from diagnose.records.words import own_words, tokens
from tests.records.acts import AT, answer
from tests.records.servers import Server

CASES = 100_000
AT_ONCE = 5_000
ROUNDS = 40
LIMIT_MS = 50.0


def vocabulary(rng: random.Random, words: int = 3000) -> tuple[list[str], list[float]]:
    """Make words of two to four syllables, and the cumulated shares they have."""
    syllables = [c + v for c in "bdfghklmnprstvwz" for v in "aeiou"]
    made: dict[str, None] = {}
    while len(made) < words:
        made["".join(rng.choices(syllables, k=rng.randint(2, 4)))] = None
    return list(made), list(accumulate(1 / rank for rank in range(1, words + 1)))


def drawn(rng: random.Random, words: list[str], shares: list[float]) -> Case:
    """Draw a case of about forty words."""

    def some(n: int) -> str:
        return " ".join(rng.choices(words, cum_weights=shares, k=n))

    told = [Entry(complaint=word, answer="yes") for word in rng.choices(words, k=3)]
    note = Entry(check="fork_travel", answer="no", note=some(15), by=rng.choice(words))
    return Case(title=some(5), words=some(15), entries=(*told, note))


def fill(
    store: Store, count: int, rng: random.Random, words: list[str], shares: list[float]
) -> None:
    """Write cases in bulk, with their only change and what they are found by."""
    states = rng.choices(list(State), weights=(5, 2, 1, 92), k=count)
    for start in range(0, count, AT_ONCE):
        rows = [row(n, drawn(rng, words, shares), states[n]) for n in range(start, start + AT_ONCE)]
        with writing(store._engine) as connection:
            connection.execute(insert(cases), [r[0] for r in rows])
            connection.execute(insert(changes), [r[1] for r in rows])
            connection.execute(text(indexing(connection.dialect.name)), [r[2] for r in rows])
    with writing(store._engine) as connection:
        if connection.dialect.name == "postgresql":
            for table in ("cases", "changes"):
                last = f"pg_get_serial_sequence('{table}', '{'row' if table == 'cases' else 'id'}')"
                connection.execute(text(f"SELECT setval({last}, {count})"))
        connection.execute(text("ANALYZE"))


def indexing(dialect: str) -> str:
    """Give the statement that indexes one case."""
    if dialect == "postgresql":
        return (
            "UPDATE cases SET found_by = array_to_tsvector(string_to_array(:words, ' ')) "
            'WHERE "row" = :row'
        )
    return "INSERT INTO case_words (rowid, words, state) VALUES (:row, :words, :state)"


def row(n: int, case: Case, state: State) -> tuple[dict, dict, dict]:
    """Give the rows of a case that has one change."""
    key, content = n + 1, json.dumps(data_of(case))
    found_by = " ".join(tokens(own_words(case)))
    patch = json.dumps({"set": {"title": case.title}})
    told = {"title": case.title, "answers": 4, "opened": AT, "updated": AT, "by": "ada"}
    first = {"row": key, "id": f"case {key}", "number": 1, "last": key, "state": str(state)}
    found = {"causes": '["air"]', "sure": "part seen"} if state is State.CLOSED else {}
    first |= {"causes": None, "sure": None} | found
    change = {"id": key, "case_row": key, "number": 1, "token": f"token {key}", "by": "ada"}
    return (
        {**first, **told, "hours": 0.0, "content": content},
        {**change, "at": AT, "what": "[]", "patch": patch},
        {"row": key, "words": found_by, "state": state.name.lower().replace("_", "")},
    )


def searches(
    rng: random.Random, words: list[str], shares: list[float]
) -> Iterator[tuple[str, Callable[[], tuple]]]:
    """Give kinds of search, each with what draws its words and states."""
    some = [State.OPEN, State.WAITING_CALLER]

    def one() -> str:
        return rng.choices(words, cum_weights=shares)[0]

    yield "one word", lambda: (one(),)
    yield "the commonest word", lambda: (words[0],)
    yield "a rare word", lambda: (rng.choice(words[-1000:]),)
    yield "two words", lambda: (f"{one()} {one()}",)
    yield "three words, last begun", lambda: (f"{one()} {one()} {one()[:3]}",)
    yield "a prefix of one letter", lambda: (one()[:1],)
    yield "a prefix of two letters", lambda: (one()[:2],)
    yield "a prefix of four letters", lambda: (one()[:4],)
    yield "one word, open or waiting", lambda: (one(), some)
    yield "commonest, waiting for parts", lambda: (words[0], [State.WAITING_PARTS])
    yield "two words, open or waiting", lambda: (f"{one()} {one()}", some)
    yield "a prefix of two, for parts", lambda: (one()[:2], [State.WAITING_PARTS])
    yield "no word", lambda: ("",)
    yield "no word, waiting for parts", lambda: ("", [State.WAITING_PARTS])


def timed(act: Callable[[], object]) -> float:
    """Give how long something takes, in milliseconds."""
    start = time.perf_counter()
    act()
    return 1000 * (time.perf_counter() - start)


def measure(name: str, store: Store) -> bool:
    """Print how long searches and saves take; gives whether all searches were fast enough."""
    rng = random.Random(20260302)
    words, shares = vocabulary(rng)
    start = time.perf_counter()
    fill(store, CASES, rng, words, shares)
    print(f"\n{name}: {CASES:,} cases written in {time.perf_counter() - start:.0f} s")
    print(f"{'search':32} {'found':>6} {'median':>8} {'worst':>8}  ms")
    slowest = 0.0
    for kind, ask in searches(rng, words, shares):
        took, found = [], []
        for _ in range(ROUNDS):
            asked = ask()
            start = time.perf_counter()
            found.append(len(store.find(*asked)))
            took.append(1000 * (time.perf_counter() - start))
        slowest = max(slowest, *took)
        print(
            f"{kind:32} {statistics.median(found):6.0f} "
            f"{statistics.median(took):8.1f} {max(took):8.1f}"
        )
    others = {
        "cases counted by state": lambda: store.counts(rng.choices(words, cum_weights=shares)[0]),
        "closed cases like one": lambda: store.alike(drawn(rng, words, shares)),
        "closed cases, commonest complaint": lambda: store.alike(
            Case(entries=(Entry(complaint=words[0], answer="yes"),))
        ),
    }
    for kind, act in others.items():
        took = [timed(act) for _ in range(ROUNDS)]
        print(f"{kind:32} {'':6} {statistics.median(took):8.1f} {max(took):8.1f}")
    saves = []
    kept = store.read("case 77")
    for n in range(ROUNDS):
        start = time.perf_counter()
        kept = answer(store, kept, "fork_travel", f"answer {n}")
        saves.append(1000 * (time.perf_counter() - start))
    print(f"{'one answer saved':32} {'':6} {statistics.median(saves):8.1f} {max(saves):8.1f}")
    store.close()
    return slowest <= LIMIT_MS


def main() -> None:
    """Measure on both engines; exit with 1 if a search took longer than it may."""
    with tempfile.TemporaryDirectory() as folder:
        good = measure("SQLite", open_store(sqlite_url(Path(folder, "cases.sqlite"))))
    try:
        server = Server()
    except RuntimeError as error:
        print(f"PostgreSQL was not measured: {error}")
    else:
        good = measure("PostgreSQL", open_store(server.new_url())) and good
        server.remove()
    print(f"\nEvery search within {LIMIT_MS:.0f} ms: {'yes' if good else 'NO'}")
    sys.exit(0 if good else 1)


if __name__ == "__main__":
    main()
