import shutil
import sqlite3
from contextlib import closing
from datetime import date, datetime, timedelta

import pytest

from diagnose.case import Case
from diagnose.records.connecting import sqlite_url
from diagnose.records.errors import StoreError
from diagnose.records.keeping import Outcome, backups, is_whole, look_after
from diagnose.records.store import open_store
from tests.records.acts import new

TODAY = datetime(2026, 3, 2, 8, 0)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "cases.sqlite"


def filled(path, *titles):
    """Add cases to the store and close it."""
    store = open_store(sqlite_url(path))
    for title in titles:
        new(store, Case(title=title))
    store.close()


def titles(path):
    store = open_store(sqlite_url(path))
    found = sorted(listed.title for listed in store.find())
    store.close()
    return found


def spoil(path):
    """Overwrite the middle of every page but the first, as a failing disc would."""
    data = bytearray(path.read_bytes())
    for start in range(4096, len(data), 4096):
        data[start : start + 2000] = b"\xa5" * 2000
    path.write_bytes(bytes(data))


def test_without_a_store_there_is_nothing_to_do(path):
    assert look_after(path, TODAY).outcome is Outcome.NEW
    assert not path.exists()


def test_a_backup_is_made_once_a_day_and_holds_all(path):
    filled(path, "a", "b")
    care = look_after(path, TODAY)
    assert (care.outcome, care.sentence) == (Outcome.BACKED_UP, "")
    filled(path, "c")
    assert look_after(path, TODAY).outcome is Outcome.WHOLE
    assert titles(care.backup) == ["a", "b"]
    assert look_after(path, TODAY + timedelta(days=1)).outcome is Outcome.BACKED_UP
    assert titles(backups(path)[0]) == ["a", "b", "c"]


def test_what_is_only_in_the_journal_is_in_the_backup(path):
    filled(path)
    store = open_store(sqlite_url(path))
    new(store, Case(title="not moved over yet"))
    assert path.with_name("cases.sqlite-wal").stat().st_size > 0
    care = look_after(path, TODAY)
    store.close()
    assert titles(care.backup) == ["not moved over yet"]


def test_seven_days_and_four_weeks_stay(path):
    filled(path, "a")
    for day in range(60):
        look_after(path, TODAY + timedelta(days=day))
    days = [date.fromisoformat(b.stem[-10:]) for b in backups(path)]
    last = (TODAY + timedelta(days=59)).date()
    assert days[:7] == [last - timedelta(days=n) for n in range(7)]
    assert len(days) == 11
    assert all(d.weekday() == 6 for d in days[8:])  # the newest of a week that is over
    assert last - min(days) >= timedelta(weeks=3)


@pytest.mark.parametrize("harm", ["pages", "head", "cut", "empty", "gone", "text"])
def test_a_damaged_store_is_set_aside_and_the_newest_backup_takes_its_place(path, harm):
    filled(path, "a")
    look_after(path, TODAY)
    filled(path, "b")
    look_after(path, TODAY + timedelta(days=1))
    filled(path, "c")
    if harm == "pages":
        spoil(path)
    elif harm == "head":
        path.write_bytes(b"\0" * 100 + path.read_bytes()[100:])
    elif harm == "cut":
        path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    elif harm == "gone":
        path.unlink()
    else:
        path.write_bytes(b"" if harm == "empty" else b"no database at all" * 1000)
    harmed = path.read_bytes() if path.exists() else None
    care = look_after(path, TODAY + timedelta(days=2))
    assert care.outcome is Outcome.RESTORED
    assert "2026-03-03" in care.sentence
    assert titles(path) == ["a", "b"]
    assert (care.aside and care.aside.read_bytes()) == harmed


def test_a_damaged_backup_is_passed_over(path):
    filled(path, "a")
    look_after(path, TODAY)
    filled(path, "b")
    spoil(look_after(path, TODAY + timedelta(days=1)).backup)
    spoil(path)
    care = look_after(path, TODAY + timedelta(days=2))
    assert (care.outcome, care.backup.stem) == (Outcome.RESTORED, "cases-2026-03-02")
    assert titles(path) == ["a"]


def test_without_a_whole_backup_the_store_starts_empty_and_says_so(path):
    filled(path, "a")
    spoil(path)
    care = look_after(path, TODAY)
    assert care.outcome is Outcome.STARTED_ANEW
    assert "starts empty" in care.sentence
    assert care.aside.name in care.next_step
    assert titles(path) == []


def test_an_old_journal_is_not_laid_on_the_backup(path):
    filled(path, "a")
    look_after(path, TODAY)
    store = open_store(sqlite_url(path))
    new(store, Case(title="in the journal"))
    for ending in ("", "-wal"):  # as a crash leaves them
        shutil.copyfile(f"{path}{ending}", path.with_name(f"crashed{ending}"))
    store.close()
    for ending in ("", "-wal"):
        path.with_name(f"crashed{ending}").replace(f"{path}{ending}")
    path.write_bytes(b"no database" * 1000)
    assert look_after(path, TODAY + timedelta(days=1)).outcome is Outcome.RESTORED
    assert titles(path) == ["a"]


def test_a_store_that_another_program_holds_is_not_taken_for_damaged(path, monkeypatch):
    filled(path, "a")
    plain = sqlite3.connect
    monkeypatch.setattr(sqlite3, "connect", lambda *a, **k: plain(*a, **{**k, "timeout": 0.05}))
    with closing(plain(path, isolation_level=None)) as other:
        other.execute("PRAGMA locking_mode=EXCLUSIVE")
        other.execute("BEGIN EXCLUSIVE")
        other.execute("UPDATE cases SET title = 'b'")
        with pytest.raises(StoreError, match="can't be checked"):
            look_after(path, TODAY)
    assert is_whole(path)


def test_a_backup_that_can_not_be_made_leaves_the_store_and_says_so(path):
    filled(path, "a")
    (path.parent / "backups").write_text("a file where the folder should be")
    care = look_after(path, TODAY)
    assert care.outcome is Outcome.NOT_BACKED_UP
    assert "cases are safe" in care.sentence
    assert titles(path) == ["a"]
