import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.case import Case, Entry, Found
from diagnose.records.kept import State
from diagnose.records.store import open_store
from diagnose.records.words import own_words, tokens, words_of
from tests.records.acts import LATER, answer, new, save


def titles(store, *asked, **more):
    return [listed.title for listed in store.find(*asked, **more)]


@pytest.fixture
def three(store):
    return [
        new(store, Case(title="Shudder, cold", words="shakes at 10 mph"), by="ada"),
        new(store, Case(title="Drag after a kit", words="won't go into reverse"), by="ben"),
        new(store, Case(title="Größe falsch: dragging", words='shudders; kit 3.5" dé-jà')),
    ]


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("shudder", "31"),
        ("SHUDDER cold", "1"),
        ("shud", "31"),
        ("kit drag", "32"),
        ("grosse", "3"),
        ("GRÖSSE", "3"),
        ("go into", "2"),
        ("10", "1"),
        ("3.5", "3"),
        ("deja", ""),
        ("de ja", "3"),
        ("hudder", ""),
        ("shudder reverse", ""),
        ("won't", "2"),
        ("'; DROP TABLE cases; --", ""),
        ('"kit" OR * NEAR(', ""),
        ("", "321"),
        ("?!", "321"),
    ],
)
def test_words_find_the_cases_that_have_all_their_beginnings(store, three, asked, found):
    names = {str(i + 1): kept.case.title for i, kept in enumerate(three)}
    assert titles(store, asked) == [names[n] for n in found]


def test_the_case_changed_last_comes_first(store, three):
    answer(store, three[0], "one", "yes")
    assert titles(store, "shud") == [three[0].case.title, three[2].case.title]


def test_a_state_narrows_what_is_found(store, three):
    store.set_state(three[0].id, State.CLOSED, "ada", LATER)
    store.set_state(three[1].id, State.WAITING_PARTS, "ada", LATER)
    assert titles(store, "shud", [State.CLOSED]) == [three[0].case.title]
    both = [State.CLOSED, State.WAITING_PARTS]
    assert titles(store, "", both) == [three[1].case.title, three[0].case.title]
    assert titles(store, "shud", both) == [three[0].case.title]
    assert titles(store, "shud", [State.WAITING_CALLER]) == []
    assert titles(store, "open") == []  # a state is no word


def test_pages_follow_each_other(store, three):
    pages = [titles(store, "kit", limit=1), titles(store, "kit", limit=1, offset=1)]
    assert pages[0] + pages[1] == titles(store, "kit")
    assert [len(p) for p in pages] == [1, 1]


def test_words_that_were_taken_back_find_nothing(store, three):
    save(store, three[0], three[0].case.model_copy(update={"title": "Noise"}))
    assert titles(store, "cold") == []
    assert titles(store, "noise") == ["Noise"]


def test_a_listed_case_tells_what_a_list_shows(store):
    kept = answer(store, new(store, Case(words="it slips")), "one", "yes", by="ben")
    (listed,) = store.find("slips")
    assert (listed.id, listed.title, listed.number) == (kept.id, "it slips", 2)
    assert (listed.answers, listed.by, listed.updated) == (1, "ben", LATER)


def test_names_of_the_knowledge_base_find_a_case(url, knowledge):
    complaint = next(c for c in knowledge.complaints.values() if len(tokens(c.name)) > 1)
    cause = next(iter(knowledge.causes.values()))
    store = open_store(url, lambda case: words_of(knowledge, case))
    told = Entry(complaint=complaint.id, answer="yes", note="only uphill", by="Zoë")
    kept = new(store, Case(entries=(told,), found=Found(causes=(cause.id,), why="cracked")))
    for words in (complaint.name, cause.name, "uphill", "zoe", "cracked"):
        assert [listed.id for listed in store.find(words)] == [kept.id]
    store.close()


def test_a_case_of_another_base_is_found_by_what_is_known(knowledge):
    case = Case(title="a", entries=(Entry(complaint="never_heard_of", answer="yes"),))
    assert tokens(words_of(knowledge, case)) == tokens(own_words(case))


@given(st.text())
def test_every_token_is_found_by_itself_and_tokens_stay_tokens(text):
    found = tokens(text)
    assert len(set(found)) == len(found)
    assert tokens(" ".join(found)) == found


def test_what_is_found_is_counted_by_state(store, three):
    store.set_state(three[0].id, State.CLOSED, "ada", LATER)
    none = dict.fromkeys(State, 0)
    assert store.counts() == none | {State.CLOSED: 1, State.OPEN: 2}
    assert store.counts("shud") == none | {State.CLOSED: 1, State.OPEN: 1}
    assert store.counts("shudder reverse") == none
