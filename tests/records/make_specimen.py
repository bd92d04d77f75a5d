"""Make the specimen of the newest schema: ``python -m tests.records.make_specimen``.

It is made once, when a schema ships, and never again.
"""

import sqlite3
from contextlib import closing
from pathlib import Path

from diagnose.case import Case, Entry, Found
from diagnose.records.connecting import sqlite_url
from diagnose.records.kept import State
from diagnose.records.schema import SCHEMAS
from diagnose.records.store import open_store
from tests.records.acts import AT, LATER, answer, new, save

PNG = b"\x89PNG\r\n\x1a\n" + b"no real picture, only its first bytes count"


def make(path):
    store = open_store(sqlite_url(path))
    seen = new(store, Case(title="Shudder when cold", words="shakes as it takes up"))
    first = answer(store, seen, "pedal_sinks", "yes", "ada")
    answer(store, first, "fork_travel", "no", "ada")
    kept = answer(store, first, "fork_travel", "yes", "ben")
    repair = Entry(repair="air_in_hydraulics", answer="not driven yet", by="ben", hours=0.5)
    save(store, kept, kept.case.with_entry(repair), "ben")
    store.add_photo(seen.id, PNG, "fork.png", "the fork", "ben", LATER)
    store.set_state(seen.id, State.WAITING_PARTS, "ben", LATER)
    found = Found(causes=("air_in_hydraulics",), sure="complaint gone")
    ended = new(store, Case(title="Drags", found=found, moved=1.5))
    store.set_state(ended.id, State.CLOSED, "ada", AT)
    store.close()
    with closing(sqlite3.connect(path)) as file:
        file.execute("PRAGMA journal_mode=DELETE")
        file.execute("VACUUM")


if __name__ == "__main__":
    specimen = Path(__file__).with_name("specimens") / f"schema_{SCHEMAS[-1]}.sqlite"
    if specimen.exists():
        raise SystemExit(f"{specimen.name} is there already and stays as it is.")
    make(specimen)
