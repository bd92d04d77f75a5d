"""Photographs of a case on a server's store, while that is away and once it is back."""

import pytest
from PySide6.QtWidgets import QWidget

from diagnose.case import Case
from diagnose.records.album import SteadyAlbum
from diagnose.records.connecting import sqlite_url
from diagnose.records.outbox import Outbox
from diagnose.records.steady import SteadyStore
from diagnose.records.store import open_store
from tests.records.lines import Line
from tests.ui.test_photos import picture
from ui.jobs import Jobs
from ui.views.photos_dialog import PhotosDialog

AT = "2026-03-04T10:00+00:00"
TOKEN = "11111111-2222-4333-8444-555555555555"
PATIENCE = 20_000


@pytest.fixture
def line(tmp_path):
    store = open_store(sqlite_url(tmp_path / "cases.sqlite"))
    store.new(Case(), "ada", AT, TOKEN)
    yield Line(store)
    store.close()


@pytest.fixture
def dialog(qtbot, line, tmp_path):
    box = Outbox(tmp_path / "outbox.sqlite")
    album = SteadyAlbum(SteadyStore(line.open, box, pause=0.0), box)
    jobs, parent = Jobs(), QWidget()
    qtbot.addWidget(parent)
    made = PhotosDialog(lambda: album, TOKEN, lambda: ("ada", AT), jobs, parent)
    qtbot.waitUntil(lambda: not jobs.busy, timeout=PATIENCE)
    yield made
    jobs.close()


def settle(dialog, qtbot):
    qtbot.waitUntil(lambda: not dialog._jobs.busy, timeout=PATIENCE)


def words(dialog):
    return [dialog.grid.item(row).text() for row in range(dialog.grid.count())]


def file_of(tmp_path, name, colour="#336699"):
    path = tmp_path / name
    path.write_bytes(picture(60, 40, colour=colour))
    return str(path)


def test_what_is_added_while_the_server_is_away_waits_and_says_so(dialog, line, qtbot, tmp_path):
    line.cut = "before"
    dialog.take([file_of(tmp_path, "fork.jpg")])
    settle(dialog, qtbot)
    assert words(dialog) == ["fork.jpg (waits for the server)"]
    assert "sent once it is back" in dialog.about.text()
    assert dialog.trouble.text() == ""
    dialog.caption.setText("the fork")
    dialog.caption.returnPressed.emit()
    settle(dialog, qtbot)
    assert words(dialog) == ["the fork (waits for the server)"]
    line.cut = ""
    dialog.take([file_of(tmp_path, "disc.jpg", "#993333")])
    settle(dialog, qtbot)
    assert words(dialog) == ["the fork", "disc.jpg"]
    assert [p.caption for p in line.store.photos(TOKEN)] == ["the fork", ""]


def test_what_needs_the_server_is_said_and_the_photographs_stay(dialog, line, qtbot, tmp_path):
    dialog.take([file_of(tmp_path, "fork.jpg")])
    settle(dialog, qtbot)
    line.cut = "before"
    dialog.caption.setText("the fork")
    dialog.caption.returnPressed.emit()
    settle(dialog, qtbot)
    assert "does not answer" in dialog.trouble.text()
    assert words(dialog) == ["fork.jpg"]
    dialog.take_away(0)
    settle(dialog, qtbot)
    assert words(dialog) == ["fork.jpg"]
    line.cut = ""
    assert [p.caption for p in line.store.photos(TOKEN)] == [""]
