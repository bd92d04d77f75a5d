import subprocess
import sys
from pathlib import Path
from shutil import copyfile

import pytest
from sqlalchemy import inspect, text

from diagnose.records.connecting import connect, sqlite_url, writing
from diagnose.records.errors import StoreError
from diagnose.records.keeping import is_whole
from diagnose.records.kept import State
from diagnose.records.schema import SCHEMAS, bring_up
from diagnose.records.store import open_store
from diagnose.records.tables import METADATA
from tests.records.acts import answer, new

ROOT = Path(__file__).parents[2]
SPECIMENS = sorted(Path(__file__).with_name("specimens").glob("*.sqlite"))


def change(url, statement):
    engine = connect(url)
    with writing(engine) as connection:
        connection.execute(text(statement))
    engine.dispose()


def test_there_is_a_specimen_of_every_schema():
    assert [s.stem for s in SPECIMENS] == [f"schema_{n}" for n in SCHEMAS]


@pytest.mark.parametrize("specimen", SPECIMENS, ids=lambda s: s.stem)
def test_every_earlier_store_opens_and_goes_on(specimen, tmp_path):
    path = tmp_path / "cases.sqlite"
    copyfile(specimen, path)
    store = open_store(sqlite_url(path))
    (listed,) = store.find("shudder", [State.WAITING_PARTS])
    kept = store.read(listed.id)
    assert kept.case.title == "Shudder when cold"
    assert [e.answer for e in kept.case.entries] == ["yes", "no", "not driven yet"]
    assert [c.number for c in store.timeline(kept.id)] == list(range(1, kept.number + 1))
    (conflict,) = kept.conflicts
    assert conflict.conflict.entries[1].answer == "yes"
    (photo,) = store.photos(kept.id)
    assert store.photo(photo.id).startswith(b"\x89PNG")
    (closing,) = store.closings()
    assert (closing.causes, closing.sure) == (("air_in_hydraulics",), "complaint gone")
    assert answer(store, kept, "one_more", "yes").number == kept.number + 1
    store.close()
    assert is_whole(path)


def test_a_store_of_a_newer_schema_is_refused_and_unchanged(store, url):
    kept = new(store)
    change(url, "UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(StoreError, match=r"newer version.*schema 9999.*Update the program"):
        open_store(url)
    change(url, f"UPDATE alembic_version SET version_num = '{SCHEMAS[-1]}'")
    again = open_store(url)
    assert again.read(kept.id) == kept
    again.close()


def test_a_database_of_something_else_is_refused_and_unchanged(url):
    change(url, "CREATE TABLE birds (name TEXT)")
    with pytest.raises(StoreError, match="no store of cases"):
        open_store(url)
    engine = connect(url)
    assert inspect(engine).get_table_names() == ["birds"]
    engine.dispose()


def test_a_migration_that_fails_leaves_nothing_behind(url, monkeypatch):
    change(url, "CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL)")
    change(url, "CREATE TABLE photos (id INTEGER)")
    with pytest.raises(StoreError, match="photos"):
        open_store(url)
    engine = connect(url)
    assert sorted(inspect(engine).get_table_names()) == ["alembic_version", "photos"]
    engine.dispose()


def test_the_migrations_make_the_tables_that_the_code_knows(store, url):
    engine = connect(url)
    there = inspect(engine)
    for table in METADATA.sorted_tables:
        made = {c["name"]: c for c in there.get_columns(table.name)}
        extra = {"found_by"} if table.name == "cases" and not url.startswith("sqlite") else set()
        assert set(made) == {c.name for c in table.columns} | extra
        for column in table.columns:
            assert made[column.name]["nullable"] == column.nullable, column
            kind = column.type.compile(engine.dialect)
            assert made[column.name]["type"].compile(engine.dialect) == kind
    engine.dispose()


def test_bringing_it_up_again_changes_nothing(store, url):
    kept = new(store)
    engine = connect(url)
    bring_up(engine)
    engine.dispose()
    assert store.read(kept.id) == kept


def test_two_seats_may_open_an_empty_store_at_once(url):
    program = "import sys; from diagnose.records.store import open_store; open_store(sys.argv[1])"
    seats = [
        subprocess.Popen(
            [sys.executable, "-c", program, url], cwd=ROOT, stderr=subprocess.PIPE, text=True
        )
        for _ in range(2)
    ]
    said = [seat.communicate()[1] for seat in seats]
    assert [seat.returncode for seat in seats] == [0, 0], said


def test_the_window_is_shown_without_sqlalchemy():
    program = "import sys, ui.app; print('sqlalchemy' in sys.modules, 'alembic' in sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["False", "False"]


def test_what_needs_no_database_imports_none():
    program = (
        "import sys, diagnose.records.merging, diagnose.records.patches, diagnose.records.keeping,"
        "diagnose.records.outbox, diagnose.records.words, diagnose.records.kept;"
        "print('sqlalchemy' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "False"
