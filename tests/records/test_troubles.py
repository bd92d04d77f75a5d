"""Real troubles: a store that may only be read, a full disc, one held by another program."""

import sqlite3
from contextlib import closing

import psycopg
import pytest
from sqlalchemy import event, text

from diagnose.case import Case
from diagnose.records.connecting import connect, sqlite_file, sqlite_url, writing
from diagnose.records.errors import ServerLostError, StoreError
from diagnose.records.store import open_store
from tests.records.acts import AT, answer, check, new, save, token


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "cases.sqlite"
    open_store(sqlite_url(path)).close()
    return path


def test_a_store_that_may_only_be_read_is_read_and_says_so_when_written(path):
    store = open_store(sqlite_url(path))
    kept = new(store, Case(title="a"))
    store.close()
    only_read = open_store(f"sqlite:///file:{path}?mode=ro&uri=true")
    assert only_read.read(kept.id) == kept
    with pytest.raises(StoreError, match=r"can only be read.*right to write to .*cases.sqlite\b"):
        answer(only_read, kept, "one", "yes")
    only_read.close()


def test_a_full_disc_loses_the_change_it_refused_and_no_other(path):
    store = open_store(sqlite_url(path))
    kept = new(store)
    store.close()
    full = open_store(sqlite_url(path))
    # SQLite's own limit of pages gives the very error of a full disc, SQLITE_FULL.
    event.listen(full._engine, "connect", lambda c, _: c.execute("PRAGMA max_page_count = 40"))
    full._engine.dispose()
    acknowledged = [kept]

    def fill():
        for i in range(400):
            kept = acknowledged[-1]
            case = kept.case.with_entry(check(f"check_{i}", "no", note="long " * 300))
            acknowledged.append(save(full, kept, case))

    with pytest.raises(StoreError, match="disc is full"):
        fill()
    assert len(acknowledged) > 1
    assert full.read(kept.id) == acknowledged[-1]
    full.close()


def test_a_store_that_another_program_holds_is_told(path):
    store = open_store(sqlite_url(path) + "?timeout=0.05")
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreError, match="Another program holds the store"):
            new(store)
    assert store.find() == ()
    new(store)
    store.close()


def test_a_row_that_another_seat_holds_on_the_server_is_told(server):
    url = server.new_url()
    store = open_store(url)
    kept = new(store)
    event.listen(store._engine, "connect", lambda c, _: c.execute("SET lock_timeout = '50ms'"))
    event.listen(store._engine, "connect", lambda c, _: c.commit())
    store._engine.dispose()
    with psycopg.connect(url) as other:
        other.execute("SELECT * FROM cases FOR UPDATE")
        with pytest.raises(StoreError, match="Another program holds the store"):
            answer(store, kept, "one", "yes")
    assert answer(store, kept, "one", "yes").number == 2
    store.close()


def test_a_damaged_file_is_told(path):
    path.write_bytes(b"no database at all" * 1000)
    with pytest.raises(StoreError, match=r"damaged.*newest good backup"):
        open_store(sqlite_url(path))


def test_a_folder_that_can_not_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match="folder can't be made"):
        open_store(sqlite_url(tmp_path / "file" / "cases.sqlite"))


@pytest.mark.parametrize("url", ["", "cases.sqlite", "mysql://server/cases", "sqlite//x", "://"])
def test_an_address_that_is_none_is_told(url):
    with pytest.raises(StoreError, match=r"neither sqlite:// nor postgresql://"):
        open_store(url)


@pytest.mark.parametrize("url", ["sqlite://", "sqlite:///", "sqlite:///:memory:"])
def test_a_store_that_would_be_gone_with_the_window_is_refused(url):
    for ask in (open_store, sqlite_file):
        with pytest.raises(StoreError, match="names no file"):
            ask(url)


def test_a_line_that_is_dead_is_noticed_in_less_than_half_a_minute(server):
    """What libpq was really given; PostgreSQL 15, section 34.1.2."""
    engine = connect(server.url)
    with engine.connect() as connection:
        given = connection.connection.driver_connection.info.get_parameters()
    engine.dispose()
    assert int(given["tcp_user_timeout"]) <= 30_000  # milliseconds
    silent = int(given["keepalives_idle"])
    silent += int(given["keepalives_interval"]) * int(given["keepalives_count"])
    assert silent <= 30
    assert int(given["connect_timeout"]) <= 10


def test_a_server_that_is_not_there_is_lost_and_no_password_is_told(tmp_path):
    url = f"postgresql://line:secret@/cases?host={tmp_path}"
    with pytest.raises(ServerLostError, match=f"does not answer: cases on {tmp_path}") as told:
        open_store(url)
    assert "secret" not in str(told.value)


def test_a_store_the_server_does_not_have_is_told(server):
    url = server.url.replace("/postgres?", "/nowhere?")
    with pytest.raises(ServerLostError, match=r"nowhere.*does not exist.*Check PULL_ONCE_STORE"):
        open_store(url)


def test_a_connection_cut_while_it_writes_is_lost_and_nothing_was_written(server):
    url = server.new_url()
    store = open_store(url)
    engine = connect(url)

    def write_half():
        with writing(engine) as connection:
            connection.execute(text("UPDATE cases SET title = 'half'"))
            with psycopg.connect(url) as other:
                other.execute(
                    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                    "WHERE pid <> pg_backend_pid() AND state LIKE 'idle in%'"
                )
            connection.execute(text("SELECT 1"))

    with pytest.raises(ServerLostError):
        write_half()
    assert new(store).number == 1  # the store goes on with a new connection
    engine.dispose()
    store.close()


def test_a_case_of_a_newer_program_is_told_and_unchanged(store, url):
    kept = store.new(Case(title="a"), "ada", AT, token())
    newer = '{"title": "a", "of_a_later_day": 1}'
    engine = connect(url)
    with writing(engine) as connection:
        connection.execute(text("UPDATE cases SET content = :newer"), {"newer": newer})
    for ask in (lambda: store.read(kept.id), lambda: answer(store, kept, "one", "yes")):
        with pytest.raises(StoreError, match="does not know"):
            ask()
    with writing(engine) as connection:
        assert connection.execute(text("SELECT content FROM cases")).scalar() == newer
    engine.dispose()


def test_only_a_file_has_a_path():
    assert str(sqlite_file("sqlite:////folder/cases.sqlite")) == "/folder/cases.sqlite"
    assert sqlite_file("postgresql://server/cases") is None
