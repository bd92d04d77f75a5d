"""Where the store may be: what was typed is tried before it is taken."""

import os

import pytest

from diagnose.records.connecting import sqlite_url
from diagnose.records.errors import StoreError
from diagnose.records.store import open_store
from ui.store_choice import outranks, shown, tried, url_of


def test_a_path_is_an_sqlite_file_and_a_url_stays(tmp_path):
    path = tmp_path / "a b.sqlite"
    assert url_of(f" {path} ") == sqlite_url(path)
    assert shown(sqlite_url(path)) == str(path)
    server = "postgresql://ada@server/store"
    assert url_of(server) == shown(server) == server
    assert url_of("") == shown("") == ""


@pytest.mark.parametrize("typed", ["cases.sqlite", "mysql://server/store", "/"])
def test_what_is_no_place_is_refused_with_a_next_step(typed):
    with pytest.raises(StoreError) as error:
        url_of(typed)
    assert error.value.next_step


def test_a_store_that_is_there_is_opened(tmp_path):
    path = tmp_path / "cases.sqlite"
    open_store(sqlite_url(path)).close()
    assert "it is empty" in tried(str(path)).said


def test_one_that_is_not_there_is_not_made(tmp_path):
    path = tmp_path / "new" / "cases.sqlite"
    assert "not there yet" in tried(str(path)).said
    assert list(tmp_path.iterdir()) == []


def test_what_is_no_store_is_refused_and_stays_as_it_is(tmp_path):
    path = tmp_path / "notes.sqlite"
    path.write_text("my notes")
    with pytest.raises(StoreError):
        tried(str(path))
    assert path.read_text() == "my notes"


def test_where_nothing_may_be_written_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(os, "access", lambda *_: False)  # root may write everywhere
    with pytest.raises(StoreError) as error:
        tried(str(tmp_path / "cases.sqlite"))
    assert "Nothing can be written" in error.value.sentence


def test_the_environment_outranks_the_settings_and_says_so():
    assert outranks({}) == ""
    assert "outranks" in outranks({"PULL_ONCE_STORE": "sqlite:///x"})
