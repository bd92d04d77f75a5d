import pytest
from hypothesis import given
from hypothesis import strategies as st

from ui.search import Index, stems


@pytest.fixture(scope="module")
def complaints(base):
    return Index({k: (c.name, c.ask, *c.words) for k, c in base.complaints.items()})


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("grind", "gears_grind"),
        ("judd", "chatters"),
        ("Wont go in", "hard_to_select"),
        ("won’t go in", "hard_to_select"),
        ("spongy", "pedal_sinks"),
    ],
)
def test_what_is_typed_is_found(complaints, typed, expected):
    assert expected in complaints.find(typed)


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("It grinds going into reverse and creeps at the lights", {"gears_grind"}),
        ("judders like mad when I pull off", {"chatters"}),
        ("pedal went to the floor and there is fluid on the garage floor", {"pedal_sinks"}),
    ],
)
def test_a_sentence_suggests_complaints(complaints, said, expected):
    assert expected <= set(complaints.suggest(said)[:6])


def test_a_sentence_of_little_words_suggests_nothing(complaints):
    assert complaints.suggest("it is the and of my") == []
    assert complaints.suggest("") == []


def test_a_name_comes_before_a_mere_mention(complaints):
    assert complaints.find("slips")[0] == "slips"


@given(st.text(max_size=60))
def test_any_text_can_be_searched(complaints, text):
    assert set(complaints.find(text)) <= set(complaints.find(""))
    assert len(set(complaints.suggest(text))) == len(complaints.suggest(text))


@given(st.lists(st.sampled_from(["grind", "gears", "reverse", "pedal"]), max_size=4))
def test_more_words_never_find_more(complaints, words):
    for n in range(len(words)):
        more = complaints.find(" ".join(words[: n + 1]))
        assert set(more) <= set(complaints.find(" ".join(words[:n])))


def test_endings_fall_away():
    assert stems("Grinding, grinds!") == ("grind", "grind")
    assert stems("the bus") == ("the", "bus")
