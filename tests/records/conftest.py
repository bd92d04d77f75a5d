"""Every test of the store runs on an SQLite file and on a real PostgreSQL server."""

import pytest

from diagnose.records.connecting import sqlite_url
from diagnose.records.outbox import Outbox
from diagnose.records.steady import SteadyStore
from diagnose.records.store import open_store
from tests.records.lines import Line
from tests.records.servers import Server


@pytest.fixture(scope="session")
def server():
    """The server; without one the tests that need it fail, for half of the store is untried."""
    try:
        started = Server()
    except (RuntimeError, OSError) as error:
        pytest.fail(f"The store can't be tried on PostgreSQL. {error}")
    yield started
    started.remove()


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request, tmp_path):
    """An empty database."""
    if request.param == "sqlite":
        return sqlite_url(tmp_path / "cases.sqlite")
    return request.getfixturevalue("server").new_url()


@pytest.fixture
def store(url):
    opened = open_store(url)
    yield opened
    opened.close()


@pytest.fixture
def line(store):
    """The way to the store, which can be cut."""
    return Line(store)


@pytest.fixture
def box(tmp_path):
    return Outbox(tmp_path / "outbox.sqlite")


@pytest.fixture
def seat(line, box):
    """A seat that goes on while the line is cut."""
    return SteadyStore(line.open, box, pause=0.0)
