"""Two seats on one case of a real PostgreSQL server, which goes away and comes back."""

from datetime import UTC, datetime

import pytest

from diagnose.case import Entry, Found
from diagnose.records.kept import State
from tests.records.servers import Server
from ui import sending
from ui.jobs import Jobs
from ui.records import Records
from ui.session import Session

PATIENCE = 30_000
NOW = datetime(2026, 3, 4, 15, 6, tzinfo=UTC)


@pytest.fixture(scope="module")
def server():
    started = Server()
    yield started
    started.remove()


@pytest.fixture
def sit_down(qtbot, base, server, tmp_path):
    """Make a seat: a session with an outbox of its own."""
    url, seats = server.new_url(), []

    def make(by):
        jobs = Jobs()
        records = Records(base, url, tmp_path / f"{by}.sqlite", by)
        seats.append((jobs, records))
        return Session(base, jobs, records, clock=lambda: NOW)

    yield make
    for jobs, records in seats:
        jobs.close()
        records.close()


def say(session, name, answer="yes"):
    session.change(session.case.with_entry(Entry(complaint=name, answer=answer)), name)


def told(case):
    return [entry.complaint for entry in case.entries]


def arrived(session, qtbot):
    qtbot.waitUntil(lambda: session.kept.sent, timeout=PATIENCE)


def test_an_answer_is_here_at_once_and_on_the_server_soon(sit_down, qtbot):
    session = sit_down("Odrin")
    session.start()
    say(session, "slips")
    assert session.saved
    assert session.records.waits(session.kept.id)
    arrived(session, qtbot)
    assert not session.records.waits(session.kept.id)
    assert session.records.store.read(session.kept.id).case == session.case


def test_both_seats_keep_what_both_said(sit_down, qtbot):
    one, two = sit_down("Odrin"), sit_down("Maive")
    one.start()
    say(one, "slips")
    arrived(one, qtbot)
    with qtbot.waitSignal(two.case_changed, timeout=PATIENCE):
        two.open_kept(one.kept.id)
    say(two, "knock")
    say(two, "grabs")
    arrived(two, qtbot)
    say(one, "oil_leak")
    say(one, "knock", "no")
    with qtbot.waitSignal(one.joined, timeout=PATIENCE):
        pass
    assert set(told(one.case)) == {"slips", "knock", "grabs", "oil_leak"}
    (conflict,) = one.kept.conflicts
    assert conflict.conflict.key.endswith("knock")
    two.send()  # as every few seconds in the line room
    qtbot.waitUntil(lambda: "oil_leak" in told(two.case), timeout=PATIENCE)
    assert two.case == one.case


def test_while_the_server_is_away_answers_are_kept_here_and_sent_in_order(
    sit_down, qtbot, server, base
):
    session = sit_down("Odrin")
    session.start()
    say(session, "slips")
    arrived(session, qtbot)
    server.stop()
    try:
        for name in ("knock", "grabs", "oil_leak"):
            say(session, name)
            assert session.saved
            assert not session.kept.sent
    finally:
        server.start()
    heard = []
    session.failed.connect(lambda *words: heard.append(words))

    def sent():
        session.send()
        return session.kept.sent

    qtbot.waitUntil(sent, timeout=PATIENCE)
    timeline = session.records.store.timeline(session.kept.id)
    added = [what.name for change in timeline for what in change.what if what.act == "added"]
    assert added == ["slips", "knock", "grabs", "oil_leak"]
    assert session.records.store.read(session.kept.id).case == session.case
    assert heard == []


def test_a_case_is_closed_while_the_server_is_away(sit_down, qtbot, server, monkeypatch):
    """Nobody sends by hand: what waits is tried again by itself."""
    monkeypatch.setattr(sending, "AGAIN", 200)
    session = sit_down("Odrin")
    session.start()
    say(session, "slips")
    arrived(session, qtbot)
    server.stop()
    try:
        session.set_state(State.WAITING_PARTS)
        assert (session.saved, session.kept.state) == (True, State.WAITING_PARTS)
        say(session, "knock")
        found = Found(causes=(next(iter(session.base.causes)),), sure="part seen")
        ended = session.case.model_copy(update={"found": found})
        session.change(ended, "closing", State.CLOSED)
        assert (session.kept.sent, session.kept.state) == (False, State.CLOSED)
        qtbot.wait(500)
        assert session.case == ended
    finally:
        server.start()
    arrived(session, qtbot)
    store = session.records.store
    now = store.read(session.kept.id)
    assert (now.state, now.case, now.conflicts) == (State.CLOSED, session.case, ())
    what = [[(w.kind, w.name) for w in c.what] for c in store.timeline(now.id)]
    assert what[1:] == [
        [("state", "waiting for parts")],
        [("complaint", "knock")],
        [("found", ""), ("state", "closed")],
    ]


def test_what_the_server_refuses_is_told_once_and_stays_here(sit_down, qtbot):
    session = sit_down("Odrin")
    session.start()
    say(session, "slips")
    arrived(session, qtbot)
    other = sit_down("Maive")
    with qtbot.waitSignal(other.case_changed, timeout=PATIENCE):
        other.open_kept(session.kept.id)
    entries = tuple(Entry(complaint="knock", answer="yes", at=f"t{i}") for i in range(999))
    other.change(session.case.model_copy(update={"entries": session.case.entries + entries}), "all")
    arrived(other, qtbot)
    heard = []
    session.failed.connect(lambda *words: heard.append(words))
    say(session, "grabs")
    qtbot.waitUntil(lambda: bool(heard), timeout=PATIENCE)
    for _ in range(2):
        with qtbot.waitSignal(session._jobs.finished, timeout=PATIENCE):
            session.send()
    ((sentence, step),) = heard
    assert "did not take a change" in sentence
    assert "kept here" in step
    assert told(session.case) == ["slips", "grabs"]
    assert session.records.waits(session.kept.id)


def test_what_is_said_while_a_conflict_is_settled_stays(sit_down, qtbot):
    one, two = sit_down("Odrin"), sit_down("Maive")
    one.start()
    say(one, "slips")
    arrived(one, qtbot)
    with qtbot.waitSignal(two.case_changed, timeout=PATIENCE):
        two.open_kept(one.kept.id)
    for name in ("knock", "grabs"):
        say(one, name)
    arrived(one, qtbot)
    for name in ("knock", "grabs"):
        say(two, name, "no")
    qtbot.waitUntil(lambda: len(two.kept.conflicts) == 2, timeout=PATIENCE)
    for conflict in two.kept.conflicts:
        two.settle(conflict.id, other=True)
    say(two, "oil_leak")
    assert told(two.case)[-1] == "oil_leak"
    qtbot.waitUntil(lambda: two.kept.sent and not two.kept.conflicts, timeout=PATIENCE)
    assert sorted(told(two.case)) == ["grabs", "knock", "oil_leak", "slips"]
    answers = {e.complaint: e.answer for e in two.case.entries}
    assert (answers["knock"], answers["grabs"]) == ("no", "no")
    assert two.records.store.read(two.kept.id).case == two.case
