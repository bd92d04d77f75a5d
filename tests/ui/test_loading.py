"""Making base and store ready: whatever is wrong with the store, the program starts and says so."""

import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest

from diagnose.case import Case
from diagnose.records.connecting import sqlite_url
from ui import loading
from ui.settings import Places, Settings

AT = "2026-03-04T15:06+00:00"


@pytest.fixture
def places(tmp_path, monkeypatch):
    monkeypatch.delenv("PULL_ONCE_STORE", raising=False)
    return Places(tmp_path / "config", tmp_path / "data")


@pytest.fixture
def load(base, places, monkeypatch):
    monkeypatch.setattr(loading, "read_base", lambda folders: base)
    opened = []

    def made(**settings):
        loaded = loading.load(places, replace(Settings(author="Odrin"), **settings))
        opened.append(loaded.records)
        return loaded

    yield made
    for records in opened:
        records.close()


def away(tmp_path):
    """The address of a server that is not there."""
    return f"postgresql://line@/cases?host={tmp_path}"


def test_an_empty_folder_is_no_trouble(load):
    loaded = load()
    assert loaded.trouble is None
    assert loaded.records.keep(None, Case(title="a"), AT).number == 1


@pytest.mark.parametrize("url", ["mysql://x/y", "sqlite://", "sqlite:///:memory:", "nonsense"])
def test_with_an_address_that_is_none_cases_are_kept_in_the_own_folder(load, places, url):
    loaded = load(store=url)
    sentence, step = loaded.trouble
    assert sentence.endswith("cases are kept in your own data folder.")
    assert step
    kept = loaded.records.keep(None, Case(title="a"), AT)
    assert loaded.records.file == places.store
    assert load().records.read(kept.id).case.title == "a"


def test_a_server_that_is_away_is_no_trouble_and_cases_can_be_kept(load, tmp_path):
    loaded = load(store=away(tmp_path))
    assert loaded.trouble is None
    kept = loaded.records.keep(None, Case(title="a"), AT)
    assert not kept.sent
    assert loaded.records.read(kept.id) == kept


def test_that_nothing_can_be_kept_for_a_server_is_told_at_the_start(load, places, tmp_path):
    places.data.write_text("a file where the folder should be")
    sentence, step = load(store=away(tmp_path)).trouble
    assert "could not be kept or read" in sentence
    assert "may be written to" in step


def test_a_damaged_outbox_is_set_aside_and_told(load, places, tmp_path):
    url = away(tmp_path)
    load(store=url).records.keep(None, Case(title="a"), AT)
    places.outbox.write_bytes(b"no database" * 1000)
    loaded = load(store=url)
    sentence, step = loaded.trouble
    assert "could not be read" in sentence
    (aside,) = places.data.glob("outbox-damaged-*.sqlite")
    assert aside.name in step
    assert aside.read_bytes().startswith(b"no database")
    assert not loaded.records.keep(None, Case(title="b"), AT).sent


def test_what_waits_for_a_server_that_is_not_chosen_any_more_is_told(load, places, tmp_path):
    records = load(store=away(tmp_path)).records
    kept = records.keep(None, Case(title="a"), AT)
    records.keep(kept, Case(title="b"), AT)
    sentence, step = load(store=sqlite_url(places.store)).trouble
    assert "2 in all" in sentence
    assert "settings" in step


def test_a_store_of_something_else_is_told_at_the_first_case(load, places):
    places.data.mkdir(parents=True)
    with closing(sqlite3.connect(places.store)) as file:
        file.execute("CREATE TABLE birds (name TEXT)")
    loaded = load()
    with pytest.raises(Exception, match="no store of cases"):
        loaded.records.keep(None, Case(title="a"), AT)
