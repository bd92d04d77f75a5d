"""Closed cases like an open one, found among all of them."""

import random

import pytest

from diagnose.case import Case, Entry, Found
from diagnose.records import alike
from diagnose.records.alike import likeness
from diagnose.records.kept import State
from diagnose.records.patches import data_of
from tests.records.acts import LATER, new

COMPLAINTS = ("slips", "gears_grind", "chatters")
CHECKS = ("one", "two", "three", "four")


def told(*complaints, **answers):
    entries = [Entry(complaint=c, answer="yes") for c in complaints]
    return Case(
        entries=(*entries, *(Entry(check=c, answer=a) for c, a in answers.items())),
        found=Found(causes=("air",)),
    )


def closed(store, case):
    kept = new(store, case)
    return store.set_state(kept.id, State.CLOSED, "ada", LATER)


def drawn(rng):
    complaints = rng.sample(COMPLAINTS, rng.randint(1, 3))
    answers = {c: rng.choice(("yes", "no")) for c in rng.sample(CHECKS, rng.randint(0, 4))}
    release = rng.choice(({}, {"release": ("cable",)}, {"release": ("rod",)}))
    return told(*complaints, **answers).with_facts(release)


@pytest.fixture
def many(store):
    """Closed cases of all kinds, the one closed last at the end."""
    rng = random.Random(7)
    return [closed(store, drawn(rng)) for _ in range(60)]


@pytest.mark.parametrize("at_once", [1, 7, 300])
def test_it_finds_what_looking_at_every_case_finds(store, many, monkeypatch, at_once):
    monkeypatch.setattr(alike, "_AT_ONCE", at_once)
    rng = random.Random(at_once)
    for _ in range(12):
        case = drawn(rng)
        how = {kept.id: likeness(data_of(case), data_of(kept.case)) for kept in many}
        places = {kept.id: place for place, kept in enumerate(many)}
        near = [name for name, found in how.items() if found is not None]
        near.sort(key=lambda name: (how[name].order, places[name]), reverse=True)
        found = store.alike(case, limit=5)
        assert [one.id for one in found] == near[:5]
        assert [one.likeness for one in found] == [how[name] for name in near[:5]]


def test_the_nearest_is_found_however_old_it_is(store, monkeypatch):
    monkeypatch.setattr(alike, "_AT_ONCE", 5)
    answers = {"one": "yes", "two": "no"}
    oldest = closed(store, told("slips", **answers))
    for _ in range(40):
        closed(store, told("slips", one="no"))
    found = store.alike(told("slips", **answers), limit=2)
    assert found[0].id == oldest.id
    assert (found[0].likeness.alike, found[0].likeness.both) == (2, 2)


def test_it_reads_no_more_than_it_has_to(store, many, monkeypatch):
    monkeypatch.setattr(alike, "_AT_ONCE", 2)
    read = []
    rows = alike._rows
    monkeypatch.setattr(alike, "_rows", lambda *asked: read.append(1) or rows(*asked))
    latest = [closed(store, told("slips")).id for _ in range(2)]
    assert [one.id for one in store.alike(told("slips"), limit=2)] == latest[::-1]
    assert len(read) == 1


def test_its_own_case_and_those_without_a_cause_are_left_out(store):
    own = closed(store, told("slips"))
    closed(store, told("slips").model_copy(update={"found": None}))
    new(store, told("slips"))
    assert store.alike(told("slips"), own.id) == ()
    assert [one.id for one in store.alike(told("slips"))] == [own.id]


def test_without_a_complaint_nothing_is_alike(store, many):
    assert store.alike(told(one="yes")) == ()
