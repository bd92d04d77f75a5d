"""Real processes: one is killed while it writes, two write at once."""

import itertools
import os
import random
import signal
import time

import pytest

from diagnose.case import Case, Entry
from diagnose.records.connecting import sqlite_file
from diagnose.records.keeping import is_whole
from diagnose.records.outbox import Outbox
from diagnose.records.steady import SteadyStore
from tests.records.acts import AT, new, token
from tests.records.seats import Nursery

KILLS = {"sqlite": 50, "postgresql": 25}


@pytest.fixture
def nursery():
    made = Nursery()
    yield made
    made.close()


def killed(nursery, rng, *job):
    """Start a seat, kill it at a random time and give what was acknowledged until then."""
    pid = nursery.start(*job)
    assert nursery.line() == "ready"
    heard = [nursery.line()] if rng.random() < 0.8 else []
    time.sleep(rng.uniform(0.0, 0.12))
    os.kill(pid, signal.SIGKILL)
    # A line that the kill cut short was not heard by anybody.
    told = [line.split(" ", 2) for line in (*heard, *nursery.rest())]
    return [(int(t[0]), t[1], t[2]) for t in told if len(t) == 3 and t[2].startswith("answer ")]


def test_no_acknowledged_answer_is_lost_whenever_the_writer_is_killed(store, url, nursery):
    kept, rng, heard = new(store), random.Random(20260302), []
    kills = KILLS[url.partition(":")[0]]
    for kill in range(kills):
        told = killed(nursery, rng, "stream", url, kept.id, 1000 * kill)
        heard += told
        if told:
            number, name, said = told[-1]
            assert store.read(kept.id, number).case.answer_to(("check", name)) == said
    now = store.read(kept.id)
    numbers = [change.number for change in store.timeline(kept.id)]
    assert numbers == list(range(1, now.number + 1))
    assert {number for number, _, _ in heard} <= set(numbers)
    assert len(heard) > kills / 2  # they were killed while they wrote
    latest = {name: said for _, name, said in heard}
    for name, said in latest.items():
        assert int(now.case.answer_to(("check", name)).split()[1]) >= int(said.split()[1])
    path = sqlite_file(url)
    assert path is None or is_whole(path)


def test_nothing_that_waits_is_lost_by_a_kill(tmp_path, nursery):
    path, rng, case_id, heard = tmp_path / "outbox.sqlite", random.Random(7), token(), []
    outbox = Outbox(path)
    SteadyStore(None, outbox).new(Case(), "ada", AT, case_id)
    for kill in range(10):
        told = killed(nursery, rng, "wait", str(path), case_id, 1000 * kill)
        heard += [Entry(check=name, answer=said, by="ada") for _, name, said in told]
    items = [outbox.item(mark) for mark, _ in outbox.tokens()]
    waiting = [entry for item in items for entry in item.case.entries]
    assert all(entry in waiting for entry in heard)
    assert len(heard) > 5
    assert items[0].seen is None
    assert all(later.base == item.case for item, later in itertools.pairwise(items))


def test_two_seats_at_once_lose_no_answer_and_one_question_is_a_conflict(store, url):
    kept = new(store)
    seats = Nursery(), Nursery()
    for seat, name in zip(seats, ("ada", "ben"), strict=True):
        seat.start("talk", url, kept.id, name)
    assert all(len(seat.rest()) == 1 for seat in seats)
    now = store.read(kept.id)
    own = {f"{name}_{i}" for name in ("ada", "ben") for i in range(20)}
    assert {e.check for e in now.case.entries} == own | {"shared"}
    assert len(now.case.entries) == 41
    assert now.number == 43
    (conflict,) = now.conflicts
    assert {e.answer for e in conflict.conflict.entries} == {"said by ada", "said by ben"}
    assert conflict.conflict.entries[0] in now.case.entries
    for seat in seats:
        seat.close()
