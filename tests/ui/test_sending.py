"""Sending beside the window, to a server that is slow or away."""

import threading
from types import SimpleNamespace

import pytest

from diagnose.records.errors import ServerLostError
from ui.jobs import Jobs
from ui.sending import Sender

PATIENCE = 20_000


class Server:
    """Stands for the records of a seat; what is sent waits for the gate."""

    has_server = True

    def __init__(self):
        self.gate, self.sent, self.away, self.why = threading.Event(), 0, False, ()
        self.store = SimpleNamespace(read=lambda case_id: f"{case_id} after {self.sent}")

    def send(self):
        assert self.gate.wait(20)
        if self.away:
            raise ServerLostError("The server does not answer.")
        self.sent += 1

    def refused(self):
        return self.why


@pytest.fixture
def server():
    return Server()


@pytest.fixture
def sender(qtbot, server):
    jobs = Jobs()
    yield Sender(server, jobs)
    server.gate.set()
    jobs.close()


def heard(signal):
    calls = []
    signal.connect(lambda *words: calls.append(words))
    return calls


def test_of_a_slow_server_something_is_heard_however_often_it_is_asked(sender, server, qtbot):
    came = heard(sender.came)
    for _ in range(5):
        sender.send("case")
    server.gate.set()
    qtbot.waitUntil(lambda: len(came) == 2, timeout=PATIENCE)
    qtbot.wait(50)
    assert came == [("case after 1",), ("case after 2",)]  # the other four were one


def test_a_server_that_is_away_is_asked_again_by_itself(sender, server, qtbot):
    sender._timer.setInterval(30)
    waits, failed, came = heard(sender.waits), heard(sender.failed), heard(sender.came)
    server.away = True
    server.gate.set()
    sender.send("case")
    qtbot.waitUntil(lambda: len(waits) >= 3, timeout=PATIENCE)
    assert (failed, came) == ([], [])
    server.away = False
    qtbot.waitUntil(lambda: bool(came), timeout=PATIENCE)
    assert came == [("case after 1",)]
    qtbot.wait(100)
    assert len(came) == 1  # all is sent: nobody is asked any more


def test_what_is_refused_is_told_once_and_tried_again(sender, server, qtbot):
    sender._timer.setInterval(30)
    failed = heard(sender.failed)
    server.why = (("token", "It is too long."),)
    server.gate.set()
    sender.send("case")
    qtbot.waitUntil(lambda: server.sent >= 3, timeout=PATIENCE)
    ((sentence, step),) = failed
    assert sentence.endswith("did not take a change: It is too long.")
    assert step


def test_a_store_that_is_a_file_is_not_sent_to(sender, server, qtbot):
    server.has_server = False
    server.gate.set()
    sender.send("case")
    qtbot.wait(50)
    assert server.sent == 0
