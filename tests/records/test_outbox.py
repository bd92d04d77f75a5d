"""Changes made while the server is away; the server here is any store that can be switched off."""

import pytest

from diagnose.case import Case
from diagnose.records.errors import ServerLostError, StoreError
from diagnose.records.kept import State
from diagnose.records.outbox import Outbox
from diagnose.records.steady import SteadyStore
from diagnose.records.store import open_store
from tests.records.acts import AT, LATER, answer, check, new, save, token


class Line:
    """The way to a store, which can be cut before a call, or after it and before its answer."""

    def __init__(self, store):
        self.store, self.cut, self.calls = store, "", 0

    def open(self):
        if self.cut:
            raise ServerLostError("The server does not answer.")
        return self

    def __getattr__(self, name):
        def call(*arguments):
            self.calls += 1
            if self.cut == "before":
                raise ServerLostError("The server does not answer.")
            done = getattr(self.store, name)(*arguments)
            if self.cut == "after":
                raise ServerLostError("The answer was lost on the way.")
            return done

        return call


@pytest.fixture
def line(store):
    return Line(store)


@pytest.fixture
def seat(line, tmp_path):
    return SteadyStore(line.open, Outbox(tmp_path / "outbox.sqlite"), pause=0.0)


def answers(kept):
    return {e.check: e.answer for e in kept.case.entries}


def test_with_the_server_there_nothing_waits(seat, store):
    kept = answer(seat, new(seat), "one", "yes")
    assert kept.sent
    assert seat.waiting == ()
    assert store.read(kept.id) == kept == seat.read(kept.id)


def test_what_was_saved_meanwhile_is_sent_in_order(seat, line, store):
    kept = new(seat)
    line.cut = "before"
    for name, said in (("one", "yes"), ("two", "no"), ("one", "no")):
        kept = answer(seat, kept, name, said)
        assert not kept.sent
    assert seat.read(kept.id).case == kept.case
    line.cut = ""
    sent = seat.send()
    assert seat.waiting == ()
    assert store.read(kept.id) == sent[kept.id]
    assert sent[kept.id].case == kept.case
    assert [w.name for c in store.timeline(kept.id) for w in c.what] == ["one", "two", "one"]


def test_a_case_begun_with_the_server_away_keeps_its_id(seat, line, store):
    line.cut = "before"
    kept = answer(seat, new(seat, Case(title="a")), "one", "yes")
    line.cut = ""
    later = answer(seat, kept, "two", "no")
    assert later.sent
    assert later.id == kept.id
    assert answers(store.read(kept.id)) == {"one": "yes", "two": "no"}


@pytest.mark.parametrize("cut", ["before", "after"])
def test_a_change_counts_once_wherever_the_line_was_cut(seat, line, store, cut):
    kept = new(seat)
    line.cut = cut
    left = seat.save(
        kept.id,
        kept.case.with_entry(check("one", "yes", hours=0.5)).model_copy(update={"moved": 1.0}),
        kept.number,
        "ada",
        AT,
        token(),
    )
    with pytest.raises(ServerLostError):
        seat.send()
    line.cut = ""
    later = answer(seat, left, "two", "no")
    assert later.conflicts == ()
    assert later.case.moved == 1.0
    assert [(e.check, e.hours) for e in later.case.entries] == [("one", 0.5), ("two", None)]
    assert later.number == 3


def test_others_answers_meanwhile_are_merged_and_differences_are_conflicts(seat, line, store):
    kept = new(seat)
    line.cut = "before"
    left = answer(seat, kept, "one", "yes")
    left = answer(seat, left, "two", "no")
    answer(store, kept, "one", "no", by="ben")
    answer(store, store.read(kept.id), "three", "no", by="ben")
    line.cut = ""
    seat.send()
    now = seat.read(kept.id)
    assert answers(now) == {"one": "no", "two": "no", "three": "no"}
    assert [[e.answer for e in c.conflict.entries] for c in now.conflicts] == [["no", "yes"]]


def test_a_change_upon_one_sent_behind_the_seats_back_begins_with_that_one(seat, line, store):
    kept = new(seat)
    line.cut = "before"
    left = answer(seat, kept, "one", "yes")
    answer(store, kept, "one", "no", by="ben")
    line.cut = ""
    seat.send()
    later = answer(seat, left, "two", "no")
    assert len(later.conflicts) == 1
    assert answers(later) == {"one": "no", "two": "no"}


def test_what_waits_is_there_after_a_restart(seat, line, store, tmp_path):
    kept = new(seat)
    line.cut = "before"
    answer(seat, kept, "one", "yes")
    again = SteadyStore(line.open, Outbox(tmp_path / "outbox.sqlite"), pause=0.0)
    left = again.read(kept.id)
    assert (answers(left), left.sent) == ({"one": "yes"}, False)
    answer(again, left, "two", "no")
    line.cut = ""
    again.send()
    assert answers(store.read(kept.id)) == {"one": "yes", "two": "no"}


def test_what_the_store_refuses_stays_with_its_reason_and_others_go_on(seat, line, store):
    kept, other = new(seat), new(seat)
    line.cut = "before"
    many = tuple(check(f"check_{i}", "no") for i in range(1000))
    left = save(seat, kept, kept.case.model_copy(update={"entries": many}))
    answer(seat, left, "check_1", "yes")
    answer(seat, other, "one", "yes")
    answer(store, kept, "one_more", "no", by="ben")
    line.cut = ""
    assert set(seat.send()) == {other.id}
    assert [("not kept" in w.refused, w.case_id) for w in seat.waiting] == [
        (True, kept.id),
        (False, kept.id),
    ]
    assert seat.waiting[0].case.entries == many


def test_a_change_that_is_wrong_is_refused_at_once_and_does_not_wait(seat):
    with pytest.raises(StoreError, match="does not hold this case"):
        seat.save(token(), Case(title="a"), 1, "ada", LATER, token())
    assert seat.waiting == ()


def test_a_server_that_is_away_is_not_asked_at_every_answer(line, tmp_path):
    seat = SteadyStore(line.open, Outbox(tmp_path / "outbox.sqlite"), pause=600.0)
    kept = new(seat)
    line.cut = "before"
    kept = answer(seat, kept, "one", "yes")
    calls = line.calls
    for name in ("two", "three", "four"):
        kept = answer(seat, kept, name, "yes")
    assert line.calls == calls
    line.cut = ""
    assert len(answers(seat.send()[kept.id])) == 4


def test_without_server_and_outbox_entry_a_case_can_not_be_read(seat, line, store):
    kept = new(store)
    line.cut = "before"
    with pytest.raises(ServerLostError):
        seat.read(kept.id)
    assert kept.state is State.OPEN


def test_a_real_server_is_stopped_and_comes_back(server, tmp_path):
    url = server.new_url()
    seat = SteadyStore(lambda: open_store(url), Outbox(tmp_path / "outbox.sqlite"), pause=0.0)
    kept = answer(seat, new(seat), "one", "yes")
    server.stop()
    try:
        left = answer(seat, kept, "two", "no")
        assert not left.sent
        with pytest.raises(ServerLostError, match="does not answer"):
            seat.store().read(kept.id)
        with pytest.raises(ServerLostError, match="does not answer"):
            open_store(url)
    finally:
        server.start()
    later = answer(seat, left, "three", "no")
    assert later.sent
    assert answers(later) == {"one": "yes", "two": "no", "three": "no"}
    seat.store().close()


def test_an_outbox_that_can_not_be_written_says_so(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match="could not be kept"):
        Outbox(tmp_path / "file" / "outbox.sqlite")
