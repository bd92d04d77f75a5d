"""Changes made while the server is away; the server here is any store that can be switched off."""

import sqlite3
from contextlib import closing
from threading import Event, Thread

import pytest

from diagnose.case import Case, Found
from diagnose.records.errors import ServerLostError, StoreError
from diagnose.records.kept import State
from diagnose.records.outbox import Outbox
from diagnose.records.steady import SteadyStore
from diagnose.records.store import open_store
from tests.records.acts import AT, LATER, answer, check, new, token


def begin(seat, case=None):
    return seat.new(case or Case(), "ada", AT, token())


def keep(seat, kept, case, **more):
    return seat.keep(kept, case, "ada", LATER, token(), **more)


def say(seat, kept, name, said, **more):
    return keep(seat, kept, kept.case.with_entry(check(name, said, by="ada")), **more)


def begun(seat):
    """A case that the server holds."""
    kept = begin(seat)
    seat.send()
    return seat.read(kept.id)


def waiting(box):
    return [box.item(mark) for mark, _ in box.tokens()]


def answers(kept):
    return {e.check: e.answer for e in kept.case.entries}


def test_with_the_server_there_nothing_waits_once_it_is_sent(seat, store, box):
    kept = say(seat, begin(seat), "one", "yes")
    assert not kept.sent
    assert seat.waits(kept.id)
    assert set(seat.send()) == {kept.id}
    assert box.tokens() == ()
    assert not seat.waits(kept.id)
    now = seat.read(kept.id)
    assert now.sent
    assert now == store.read(kept.id)
    assert answers(now) == {"one": "yes"}


def test_what_was_said_meanwhile_is_sent_in_order(seat, line, store, box):
    kept = begun(seat)
    line.cut = "before"
    for name, said in (("one", "yes"), ("two", "no"), ("one", "no")):
        kept = say(seat, kept, name, said)
        with pytest.raises(ServerLostError):
            seat.send()
    assert seat.read(kept.id).case == kept.case
    line.cut = ""
    sent = seat.send()
    assert box.tokens() == ()
    assert store.read(kept.id) == sent[kept.id]
    assert sent[kept.id].case == kept.case
    assert [w.name for c in store.timeline(kept.id) for w in c.what] == ["one", "two", "one"]


def test_a_case_begun_with_the_server_away_keeps_its_id(seat, line, store):
    line.cut = "before"
    kept = say(seat, begin(seat, Case(title="a")), "one", "yes")
    line.cut = ""
    later = say(seat, kept, "two", "no")
    assert later.id == kept.id
    seat.send()
    assert answers(store.read(kept.id)) == {"one": "yes", "two": "no"}


@pytest.mark.parametrize("cut", ["before", "after"])
def test_a_change_counts_once_wherever_the_line_was_cut(seat, line, store, cut):
    kept = begun(seat)
    line.cut = cut
    case = kept.case.with_entry(check("one", "yes", hours=0.5))
    left = keep(seat, kept, case.model_copy(update={"moved": 1.0}))
    for _ in range(2):
        with pytest.raises(ServerLostError):
            seat.send()
    line.cut = ""
    say(seat, left, "two", "no")
    seat.send()
    later = store.read(kept.id)
    assert later.conflicts == ()
    assert later.case.moved == 1.0
    assert [(e.check, e.hours) for e in later.case.entries] == [("one", 0.5), ("two", None)]
    assert later.number == 3


def test_others_answers_meanwhile_are_merged_and_differences_are_conflicts(seat, line, store):
    kept = begun(seat)
    line.cut = "before"
    left = say(seat, kept, "one", "yes")
    left = say(seat, left, "two", "no")
    answer(store, kept, "one", "no", by="ben")
    answer(store, store.read(kept.id), "three", "no", by="ben")
    line.cut = ""
    seat.send()
    now = seat.read(kept.id)
    assert answers(now) == {"one": "no", "two": "no", "three": "no"}
    assert [[e.answer for e in c.conflict.entries] for c in now.conflicts] == [["no", "yes"]]


def test_a_change_upon_one_sent_behind_the_seats_back_begins_with_that_one(seat, line, store):
    kept = begun(seat)
    left = say(seat, kept, "one", "yes")
    answer(store, kept, "one", "no", by="ben")
    seat.send()
    say(seat, left, "two", "no")
    seat.send()
    later = store.read(kept.id)
    assert len(later.conflicts) == 1
    assert answers(later) == {"one": "no", "two": "no"}


def test_a_change_upon_what_the_server_held_takes_nothing_back_that_was_sent_since(seat, store):
    """A seat may go on with an older state: what it never showed it has not removed."""
    older = begun(seat)
    say(seat, older, "one", "yes")
    seat.send()
    say(seat, older, "two", "no")
    seat.send()
    assert answers(store.read(older.id)) == {"one": "yes", "two": "no"}


def test_what_waits_is_there_after_a_restart(seat, line, store, tmp_path):
    kept = begun(seat)
    line.cut = "before"
    say(seat, kept, "one", "yes", state=State.WAITING_PARTS)
    again = SteadyStore(line.open, Outbox(tmp_path / "outbox.sqlite"), pause=0.0)
    left = again.read(kept.id)
    assert (answers(left), left.sent, left.state) == ({"one": "yes"}, False, State.WAITING_PARTS)
    say(again, left, "two", "no")
    line.cut = ""
    again.send()
    now = store.read(kept.id)
    assert (answers(now), now.state) == ({"one": "yes", "two": "no"}, State.WAITING_PARTS)


def test_what_the_store_refuses_stays_with_its_reason_and_others_go_on(seat, line, store, box):
    kept, other = begun(seat), begun(seat)
    line.cut = "before"
    many = tuple(check(f"check_{i}", "no") for i in range(1000))
    left = keep(seat, kept, kept.case.model_copy(update={"entries": many}))
    say(seat, left, "check_1", "yes")
    say(seat, other, "one", "yes")
    answer(store, kept, "one_more", "no", by="ben")
    line.cut = ""
    assert set(seat.send()) == {other.id}
    items = waiting(box)
    assert [("not kept" in item.refused, item.case_id) for item in items] == [
        (True, kept.id),
        (False, kept.id),
    ]
    assert items[0].case.entries == many
    assert seat.refused() == ((items[0].token, items[0].refused),)
    assert not seat.read(kept.id).sent


def test_a_server_that_is_away_is_not_asked_at_every_look(line, box):
    seat = SteadyStore(line.open, box, pause=600.0)
    kept = begun(seat)
    line.cut = "before"
    kept = say(seat, kept, "one", "yes")
    assert seat.read(kept.id).case == kept.case
    calls = line.calls
    for name in ("two", "three", "four"):
        kept = say(seat, kept, name, "yes")
        assert seat.read(kept.id).case == kept.case
    assert line.calls == calls
    line.cut = ""
    assert len(answers(seat.send()[kept.id])) == 4


def test_without_server_and_outbox_entry_a_case_can_not_be_read(seat, line, store):
    kept = new(store)
    line.cut = "before"
    with pytest.raises(ServerLostError):
        seat.read(kept.id)
    assert kept.state is State.OPEN


def test_keeping_never_waits_for_a_server_that_is_being_asked(box, store):
    """A dead line may take half a minute to be noticed; somebody is on the phone meanwhile."""
    asked, gate = Event(), Event()

    def slow():
        asked.set()
        assert gate.wait(30)
        return store

    seat = SteadyStore(slow, box, pause=0.0)
    kept = begin(seat)
    sending = Thread(target=seat.send)
    sending.start()
    assert asked.wait(30)
    kept = say(seat, kept, "one", "yes")  # would hang here
    assert seat.waits(kept.id)
    assert sending.is_alive()
    gate.set()
    sending.join()
    seat.send()
    assert answers(store.read(kept.id)) == {"one": "yes"}


def test_two_windows_that_send_one_outbox_at_once_lose_and_double_nothing(line, store, tmp_path):
    windows = [
        SteadyStore(line.open, Outbox(tmp_path / "outbox.sqlite"), pause=0.0) for _ in range(2)
    ]
    kept = begun(windows[0])
    for i in range(12):
        kept = say(windows[i % 2], kept, f"check_{i}", "yes")
    senders = [Thread(target=window.send) for window in windows]
    for sender in senders:
        sender.start()
    for sender in senders:
        sender.join()
    now = store.read(kept.id)
    assert not windows[0].waits(kept.id)
    assert (now.case, now.conflicts, now.number) == (kept.case, (), 13)


class TestStates:
    """How far a case is goes with the answers, in order and with them."""

    def test_a_case_closed_with_the_server_away_is_closed_when_it_is_back(self, seat, line, store):
        kept = begun(seat)
        line.cut = "before"
        kept = say(seat, kept, "one", "yes")
        found = Found(causes=("air",), sure="part seen")
        ended = kept.case.model_copy(update={"found": found})
        left = keep(seat, kept, ended, state=State.CLOSED)
        assert left.state is State.CLOSED
        assert seat.read(kept.id).state is State.CLOSED
        assert say(seat, left, "two", "no").state is State.CLOSED
        line.cut = ""
        seat.send()
        now = store.read(kept.id)
        assert (now.state, now.case.found, now.conflicts) == (State.CLOSED, found, ())
        assert answers(now) == {"one": "yes", "two": "no"}
        what = [[(w.kind, w.name) for w in c.what] for c in store.timeline(kept.id)[1:]]
        assert what == [
            [("check", "one")],
            [("found", ""), ("state", "closed")],
            [("check", "two")],
        ]
        assert [c.id for c in store.closings()] == [kept.id]

    @pytest.mark.parametrize("cut", ["before", "after"])
    def test_states_said_one_after_another_arrive_once_and_in_order(self, seat, line, store, cut):
        kept = begun(seat)
        line.cut = cut
        for state in (State.WAITING_PARTS, State.WAITING_CALLER, State.OPEN):
            kept = keep(seat, kept, kept.case, state=state)
            with pytest.raises(ServerLostError):
                seat.send()
        line.cut = ""
        seat.send()
        assert store.read(kept.id).state is State.OPEN
        told = [w.name for c in store.timeline(kept.id) for w in c.what]
        assert told == ["waiting for parts", "waiting for caller", "open"]

    def test_another_seats_state_meanwhile_is_not_overwritten(self, seat, line, store):
        kept = begun(seat)
        line.cut = "before"
        keep(seat, kept, kept.case, state=State.WAITING_CALLER)
        store.set_state(kept.id, State.CLOSED, "ben", LATER)
        line.cut = ""
        seat.send()
        now = store.read(kept.id)
        assert now.state is State.CLOSED
        (conflict,) = now.conflicts
        told = conflict.conflict
        assert (told.field, told.first, told.other) == ("state", "closed", "waiting for caller")
        assert conflict.by == "ada"

    def test_the_state_is_what_the_seat_saw_while_answers_wait(self, seat, store):
        kept = begun(seat)
        kept = store.set_state(kept.id, State.WAITING_PARTS, "ben", LATER)
        assert say(seat, kept, "one", "yes").state is State.WAITING_PARTS


def test_conflicts_stay_on_the_screen_while_answers_wait(seat, store):
    kept = begun(seat)
    answer(store, kept, "one", "yes", by="ben")
    kept = answer(store, kept, "one", "no", by="ada")
    assert say(seat, kept, "two", "yes").conflicts == kept.conflicts


def test_a_real_server_is_stopped_and_comes_back(server, tmp_path):
    url = server.new_url()
    seat = SteadyStore(lambda: open_store(url), Outbox(tmp_path / "outbox.sqlite"), pause=0.0)
    kept = say(seat, begun(seat), "one", "yes")
    seat.send()
    server.stop()
    try:
        left = say(seat, kept, "two", "no")
        with pytest.raises(ServerLostError, match="does not answer"):
            seat.send()
        assert seat.read(kept.id).case == left.case
        with pytest.raises(ServerLostError, match="does not answer"):
            seat.store().read(kept.id)
        with pytest.raises(ServerLostError, match="does not answer"):
            open_store(url)
    finally:
        server.start()
    say(seat, left, "three", "no")
    seat.send()
    assert answers(seat.read(kept.id)) == {"one": "yes", "two": "no", "three": "no"}
    seat.close()


def test_an_outbox_that_can_not_be_written_says_so(tmp_path, line):
    (tmp_path / "file").write_text("")
    seat = SteadyStore(line.open, Outbox(tmp_path / "file" / "outbox.sqlite"))
    with pytest.raises(StoreError, match="could not be kept or read"):
        begin(seat)


class TestFormats:
    """An outbox is read by later programs: what waits in it was said by somebody."""

    OLD = """
        CREATE TABLE items (
            place INTEGER PRIMARY KEY AUTOINCREMENT, token TEXT NOT NULL UNIQUE,
            case_id TEXT NOT NULL, seen INTEGER, content TEXT NOT NULL, base TEXT,
            "by" TEXT NOT NULL, at TEXT NOT NULL, refused TEXT NOT NULL DEFAULT ''
        )
    """

    def test_what_waited_in_the_first_format_is_sent(self, seat, store, tmp_path):
        mark = token()
        with closing(sqlite3.connect(tmp_path / "outbox.sqlite")) as file, file:
            file.execute(self.OLD)
            values = (mark, mark, None, '{"title": "a"}', None, "ada", AT)
            columns = 'token, case_id, seen, content, base, "by", at'
            file.execute(f"INSERT INTO items ({columns}) VALUES (?, ?, ?, ?, ?, ?, ?)", values)
        assert set(seat.send()) == {mark}
        assert store.read(mark).case.title == "a"

    def test_one_of_a_newer_program_is_told_and_unchanged(self, seat, tmp_path):
        begin(seat)
        with closing(sqlite3.connect(tmp_path / "outbox.sqlite")) as file:
            file.execute("PRAGMA user_version = 99")
        before = (tmp_path / "outbox.sqlite").read_bytes()
        with pytest.raises(StoreError, match=r"newer version.*Update"):
            seat.send()
        assert (tmp_path / "outbox.sqlite").read_bytes() == before
