import itertools
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.case import Case, Entry, Found
from diagnose.case_file import read_case_file, write_case_file
from diagnose.records.errors import StoreError
from diagnose.records.kept import Closing, State, What
from diagnose.records.merging import merged
from diagnose.records.store import default_url, open_store
from tests.records.acts import AT, LATER, answer, check, new, save, token
from tests.records.made_cases import cases, changes

STRANGE = Case(title="a\0b ☃ 'quoted' %s :name", words="tab\tline\nend \\u0000")


class TestKeeping:
    def test_a_new_case_is_change_one_and_open(self, store):
        kept = store.new(Case(title="slips"), "ada", AT, token())
        assert (kept.number, kept.state, kept.conflicts) == (1, State.OPEN, ())
        assert (kept.case, kept.by, kept.updated) == (Case(title="slips"), "ada", AT)
        assert store.read(kept.id) == kept

    def test_every_change_has_the_next_number_and_can_be_read_again(self, store):
        first = new(store, Case(title="a"))
        second = answer(store, first, "one", "yes")
        third = answer(store, second, "one", "no")
        assert [first.number, second.number, third.number] == [1, 2, 3]
        assert store.read(first.id, 1).case == first.case
        assert store.read(first.id, 2).case == second.case
        assert store.read(first.id, 3) == store.read(first.id) == third

    @pytest.mark.parametrize("number", [0, 2, -1])
    def test_a_change_that_is_not_there_is_refused(self, store, number):
        with pytest.raises(StoreError, match="no change"):
            store.read(new(store).id, number)

    def test_an_unknown_case_is_refused_with_a_sentence(self, store):
        for ask in (store.read, store.timeline, store.conflicts, store.photos):
            with pytest.raises(StoreError, match="does not hold this case"):
                ask(token())

    def test_text_of_any_sign_comes_back_as_it_was(self, store):
        assert store.read(new(store, STRANGE, by="a\0b").id).case == STRANGE

    def test_a_case_is_still_there_for_who_opens_the_store_next(self, store, url):
        kept = answer(store, new(store), "one", "yes")
        store.close()
        again = open_store(url)
        assert again.read(kept.id) == kept
        again.close()

    @settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=15)
    @given(data=st.data())
    def test_all_changes_of_a_case_read_back_as_they_were(self, store, data):
        kept = new(store, data.draw(cases(most=4)))
        was = {kept.number: kept.case}
        for _ in range(5):
            kept = save(store, kept, data.draw(changes(kept.case)))
            was[kept.number] = kept.case
        assert {n: store.read(kept.id, n).case for n in was} == was

    def test_a_case_that_could_not_be_read_again_is_not_kept(self, store):
        kept = new(store)
        many = tuple(check(f"check_{i}", "no") for i in range(1001))
        with pytest.raises(StoreError, match=r"not kept.*entries"):
            save(store, kept, kept.case.model_copy(update={"entries": many}))
        assert store.read(kept.id) == kept

    def test_a_time_without_its_offset_is_a_mistake(self, store):
        with pytest.raises(ValueError, match="offset"):
            store.new(Case(), "ada", "2026-03-02T08:00", token())


class TestSendingAgain:
    def test_a_new_case_sent_twice_is_one(self, store):
        mark = token()
        first = store.new(Case(title="a"), "ada", AT, mark)
        assert store.new(Case(title="a"), "ada", AT, mark) == first
        assert len(store.find()) == 1

    def test_a_new_case_sent_by_many_at_once_is_one(self, store):
        mark, start = token(), Barrier(8)

        def send(_):
            start.wait()
            return store.new(Case(title="a"), "ada", AT, mark)

        with ThreadPoolExecutor(8) as pool:
            kept = list(pool.map(send, range(8)))
        assert kept == [store.read(mark)] * 8
        assert len(store.timeline(mark)) == 1

    def test_a_change_sent_twice_is_one(self, store):
        kept, mark = new(store), token()
        case = kept.case.with_entry(check("one", "yes"))
        first = store.save(kept.id, case, 1, "ada", AT, mark)
        assert store.save(kept.id, case, 1, "ada", AT, mark) == first
        assert first.number == 2

    def test_sent_again_later_it_does_not_undo_what_came_between(self, store):
        kept, mark = new(store), token()
        case = kept.case.with_entry(check("one", "yes"))
        first = store.save(kept.id, case, 1, "ada", AT, mark)
        between = answer(store, first, "one", "no", by="ben")
        assert store.save(kept.id, case, 1, "ada", AT, mark) == between

    def test_a_token_of_another_case_is_refused(self, store):
        mark = token()
        first = store.new(Case(), "ada", AT, mark)
        second = new(store)
        with pytest.raises(StoreError, match="another case"):
            store.save(second.id, Case(title="a"), 1, "ada", AT, mark)
        assert [store.read(k.id).number for k in (first, second)] == [1, 1]

    def test_a_token_that_is_no_uuid_is_a_mistake(self, store):
        with pytest.raises(ValueError, match="UUID"):
            store.new(Case(), "ada", AT, "again")

    def test_nothing_changed_is_no_change(self, store):
        kept = new(store, Case(title="a"))
        assert save(store, kept, kept.case) == kept


class TestTwoSeats:
    def test_answers_to_different_questions_are_both_kept(self, store):
        seen = new(store)
        answer(store, seen, "one", "yes", by="ada")
        both = answer(store, seen, "two", "no", by="ben")
        assert {e.check: e.answer for e in both.case.entries} == {"one": "yes", "two": "no"}
        assert (both.number, both.conflicts) == (3, ())

    def test_the_store_merges_as_the_law_says(self, store):
        seen = new(store, Case(title="a", entries=(check("one", "no"),)))
        mine = seen.case.with_entry(check("one", "yes")).model_copy(update={"title": "mine"})
        theirs = seen.case.with_stands("out").model_copy(update={"title": "theirs"})
        save(store, seen, theirs, "ben")
        kept = save(store, seen, mine)
        law = merged(seen.case, mine, theirs)
        assert kept.case == law.case
        assert tuple(c.conflict for c in kept.conflicts) == law.conflicts

    def test_one_question_answered_by_both_is_a_conflict_until_it_is_settled(self, store):
        seen = new(store)
        answer(store, seen, "one", "yes", by="ada")
        kept = answer(store, seen, "one", "no", by="ben")
        (conflict,) = kept.conflicts
        assert [e.answer for e in conflict.conflict.entries] == ["yes", "no"]
        assert (conflict.by, conflict.number) == ("ben", 3)
        assert kept.case.answer_to(("check", "one")) == "yes"
        settled = store.settle(conflict.id, "other", "ada", LATER)
        assert settled.case.answer_to(("check", "one")) == "no"
        assert (settled.conflicts, settled.number) == ((), 4)
        (told,) = store.conflicts(seen.id)
        assert (told.choice, told.settled_by, told.settled_at) == ("other", "ada", LATER)
        assert told.conflict == conflict.conflict

    def test_settled_for_the_first_the_case_stays_and_it_is_told(self, store):
        seen = new(store)
        answer(store, seen, "one", "yes")
        kept = answer(store, seen, "one", "no", by="ben")
        settled = store.settle(kept.conflicts[0].id, "first", "ada", LATER)
        assert (settled.case, settled.conflicts) == (kept.case, ())
        assert store.timeline(seen.id)[-1].what == (What("settled", "check", "one"),)

    def test_it_is_settled_once(self, store):
        seen = new(store)
        answer(store, seen, "one", "yes")
        conflict = answer(store, seen, "one", "no").conflicts[0].id
        settled = store.settle(conflict, "first", "ada", LATER)
        assert store.settle(conflict, "first", "ben", LATER) == settled
        with pytest.raises(StoreError, match="ada has settled this"):
            store.settle(conflict, "other", "ben", LATER)

    def test_an_unknown_conflict_or_photo_is_refused(self, store):
        with pytest.raises(StoreError, match="does not hold"):
            store.settle(99, "first", "ada", LATER)
        with pytest.raises(StoreError, match="does not hold"):
            store.remove_photo(99, "ada", LATER)

    def test_a_change_upon_one_that_is_on_its_way_begins_with_that_one(self, store):
        seen = new(store)
        first = seen.case.with_entry(check("one", "yes", hours=0.5))
        second = first.with_entry(check("two", "no"))
        answer(store, seen, "one", "no", by="ben")
        save(store, seen, first)
        kept = save(store, seen, second, base=first)
        assert len(kept.conflicts) == 1
        assert [(e.check, e.hours) for e in kept.case.entries] == [("one", 0.5), ("two", None)]

    def test_a_seat_that_has_seen_more_than_a_store_put_back_loses_nothing(self, store):
        kept = new(store)
        case = kept.case.with_entry(check("one", "yes")).with_entry(check("two", "no"))
        assert store.save(kept.id, case, 17, "ada", AT, token()).case == case


class TestTimeline:
    def test_tells_who_did_what(self, store):
        kept = answer(store, new(store, Case(title="slips")), "one", "yes")
        store.set_state(kept.id, State.WAITING_PARTS, "ben", LATER)
        told = store.timeline(kept.id)
        assert [(c.number, c.by, c.at, c.what) for c in told] == [
            (1, "ada", AT, (What("changed", "title"),)),
            (2, "ada", LATER, (What("added", "check", "one"),)),
            (3, "ben", LATER, (What("changed", "state", "waiting for parts"),)),
        ]

    def test_numbers_have_no_gap_whatever_came(self, store):
        kept = new(store)
        for name, said in itertools.product(("one", "two"), ("yes", "no", "no")):
            kept = answer(store, kept, name, said)
        numbers = [c.number for c in store.timeline(kept.id)]
        assert numbers == list(range(1, kept.number + 1))


class TestStates:
    def test_a_state_is_kept_and_belongs_to_its_change(self, store):
        kept = new(store)
        for state in (State.WAITING_CALLER, State.CLOSED, State.OPEN):
            now = store.set_state(kept.id, state, "ada", LATER)
            assert (now.state, store.read(kept.id).state) == (state, state)
        assert store.read(kept.id, 2).state is State.WAITING_CALLER
        assert store.read(kept.id, 1).state is State.OPEN

    def test_the_same_state_again_is_no_change(self, store):
        kept = new(store)
        assert store.set_state(kept.id, State.OPEN, "ada", LATER) == kept

    def test_closings_tell_what_was_found_and_what_it_cost(self, store):
        entries = (check("one", "yes", hours=0.5), Entry(repair="air", answer="still there"))
        found = Found(causes=("air", "fork"), sure="customer silent")
        case = Case(entries=entries, moved=1.25, found=found)
        ended, unknown, still = new(store, case), new(store), new(store, case)
        store.set_state(ended.id, State.CLOSED, "ada", LATER)
        store.set_state(unknown.id, State.CLOSED, "ada", LATER)
        assert store.closings() == (
            Closing(ended.id, ("air", "fork"), "customer silent", 1.75, AT, LATER),
        )
        store.set_state(ended.id, State.OPEN, "ada", LATER)
        assert store.closings() == ()
        assert store.read(still.id).state is State.OPEN


def test_a_case_file_takes_what_the_store_holds(store, knowledge, tmp_path):
    cause = next(iter(knowledge.causes))
    silent = Found(causes=(cause,), sure="customer silent", why="he never called again")
    kept = new(store, Case(title="Drags", stands=next(iter(knowledge.levels)), found=silent))
    write_case_file(tmp_path / "case.yaml", store.read(kept.id).case)
    assert read_case_file(tmp_path / "case.yaml", knowledge) == kept.case


def test_the_store_is_where_the_user_says(monkeypatch, tmp_path):
    monkeypatch.setenv("PULL_ONCE_HOME", str(tmp_path))
    monkeypatch.delenv("PULL_ONCE_STORE", raising=False)
    assert default_url() == f"sqlite:///{tmp_path}/data/cases.sqlite"
    monkeypatch.delenv("PULL_ONCE_HOME")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "own"))
    assert default_url().startswith("sqlite:///")
    assert "pull-once" in default_url()
    monkeypatch.setenv("PULL_ONCE_STORE", "postgresql://line@server/cases")
    assert default_url() == "postgresql://line@server/cases"
