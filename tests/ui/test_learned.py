"""Words learned from the closed cases of a store, kept for the next start, to the last digit."""

import json
from uuid import UUID

import pytest

from diagnose.case import Case, Entry, Found
from diagnose.learning import closing_of, replay
from diagnose.records.connecting import sqlite_url
from diagnose.records.kept import State
from diagnose.records.store import open_store
from ui import learned
from ui.learned import (
    applied,
    in_hundred,
    learn,
    listed,
    mark_of,
    move_name,
    read_wording,
    wording_of,
    write_wording,
)

CAUSES = ("air", "fork_bent", "pilot_seized")


def closed_case(store, number, cause, sure="part seen"):
    entries = (Entry(complaint="gears_grind", answer="yes"),)
    case = Case(title=f"Van {number}", entries=entries, found=Found(causes=(cause,), sure=sure))
    kept = store.new(case, "ada", f"2026-01-{number:02}T08:00+00:00", str(UUID(int=number)))
    store.set_state(kept.id, State.CLOSED, "ada", f"2026-01-{number:02}T16:00+00:00")
    return kept.id


@pytest.fixture
def store(tmp_path):
    opened = open_store(sqlite_url(tmp_path / "cases.sqlite"))
    yield opened
    opened.close()


@pytest.fixture
def causes(knowledge):
    return [c for c in knowledge.causes.values() if not c.when][:3]


@pytest.fixture
def ids(store, causes):
    """Three cases, put into the store in another order than they were closed in."""
    made = {number: closed_case(store, number, causes[number - 1].id) for number in (2, 3, 1)}
    return [made[number] for number in (1, 2, 3)]


def test_lessons_are_the_replay_in_the_order_of_closing(knowledge, store, ids):
    lessons = learn(knowledge, store)
    assert [line.id for line in lessons.lines] == ids
    plain = replay(knowledge, [closing_of(i, store.read(i).case) for i in ids])
    assert lessons.learned.moves() == plain.moves()
    assert lessons.counted == 3
    assert lessons.older == 0


def test_a_case_left_out_is_as_if_it_had_never_been_to_the_last_digit(knowledge, store, ids):
    lessons = learn(knowledge, store, (ids[1],))
    others = [ids[0], ids[2]]
    plain = replay(knowledge, [closing_of(i, store.read(i).case) for i in others])
    assert lessons.learned.moves() == plain.moves()
    assert [line.left_out for line in lessons.lines] == [False, True, False]
    assert learn(knowledge, store).learned.moves() != plain.moves()


def test_what_is_learned_on_from_a_stage_is_the_same_to_the_last_digit(
    knowledge, store, causes, monkeypatch
):
    monkeypatch.setattr(learned, "_STAGE", 2)
    ids = [closed_case(store, n, causes[n % 3].id) for n in range(1, 8)]
    first = learn(knowledge, store)
    assert [len(stage.closings) for stage in first.stages] == [2, 4, 6]
    learning = []
    for out, replayed in (((ids[5],), 2), ((ids[0],), 6), ((), 1)):
        learning.clear()
        again = learn(knowledge, store, out, lambda *how: bool(learning.append(how)), first)
        plain = learn(knowledge, store, out)
        assert again.learned.moves() == plain.learned.moves()
        assert again.lines == plain.lines
        assert (again.mark, len(learning)) == (plain.mark, replayed)


def test_the_base_of_the_next_start_is_the_learned_one(knowledge, store, ids, tmp_path):
    lessons = learn(knowledge, store)
    path = tmp_path / "deep" / "learned.json"
    write_wording(path, wording_of(lessons))
    wording = read_wording(path)
    assert wording == wording_of(lessons)
    base, wanted = applied(knowledge, wording), lessons.learned.applied(knowledge)
    assert base.version == wanted.version
    assert base.scale == wanted.scale
    assert base.causes == wanted.causes
    assert base.findings == wanted.findings
    assert base.complaints == wanted.complaints


def test_a_closing_that_is_not_confirmed_moves_nothing(knowledge, store, causes):
    closed_case(store, 1, causes[0].id, "not confirmed")
    lessons = learn(knowledge, store)
    assert lessons.counted == 0
    assert lessons.learned.moves() == ()
    assert applied(knowledge, wording_of(lessons)) is knowledge


def test_what_the_knowledge_no_longer_holds_teaches_nothing(knowledge, store, ids):
    closed_case(store, 4, "long_gone")
    lessons = learn(knowledge, store)
    assert lessons.lines[-1].lesson is None
    assert lessons.counted == 3


def test_only_the_latest_are_learned_from(knowledge, store, ids, monkeypatch):
    monkeypatch.setattr(learned, "LATEST", 2)
    lessons = learn(knowledge, store)
    assert [line.id for line in lessons.lines] == ids[1:]
    assert lessons.older == 1


def test_it_ends_early_once_nobody_waits(knowledge, store, ids):
    asked = []
    assert learn(knowledge, store, (), lambda *how: asked.append(how) or True) is None
    assert asked == [(1, 3)]


def test_the_mark_tells_other_closings_and_other_knowledge(knowledge, store, ids):
    ended, _ = listed(store)
    mark = mark_of(knowledge, ended, ())
    assert mark == learn(knowledge, store).mark
    assert mark != mark_of(knowledge, ended, (ids[0],))
    assert mark != mark_of(knowledge, ended[1:], ())


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        json.dumps({"version": "v", "of": "o", "closings": 1, "numbers": [["odd", "a", 0.5]]}),
        json.dumps({"version": "v", "of": "o", "closings": 1, "numbers": [["link", "a", 2.0]]}),
        json.dumps({"version": "v", "of": "o", "closings": 1, "numbers": [["link", "a"]]}),
    ],
)
def test_what_makes_no_sense_is_not_taken_for_learned_words(tmp_path, text):
    path = tmp_path / "learned.json"
    path.write_text(text)
    assert read_wording(path) is None


def test_words_learned_with_other_knowledge_are_not_used(knowledge, store, ids):
    from dataclasses import replace

    wording = replace(wording_of(learn(knowledge, store)), version="another")
    assert applied(knowledge, wording) is knowledge


def test_what_moved_is_named(knowledge):
    cause = next(iter(knowledge.causes.values()))
    assert move_name(knowledge, ("cause", cause.id))[0] == cause.name
    assert move_name(knowledge, ("link", "often")) == (
        "“often”",
        "how often one thing brings another",
    )
    assert [in_hundred(p) for p in (0.5, 0.0234, 0.00071)] == ["50 %", "2.3 %", "0.07 %"]
