"""What was seen, as words learn from it: answers that compete, and answers about one thing."""

from collections import Counter
from itertools import product

import numpy as np
import pytest

from diagnose.case import Case, Entry
from diagnose.learning.looks import looks_of
from diagnose.network import compile_network
from diagnose.simulate import Manner, draw
from tests.small_bases import make_base


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    """A choice whose answers compete, one that tells of a complaint, and looks."""
    return make_base(
        tmp_path_factory.mktemp("looks") / "base",
        complaints={"drags": {"unexplained": 0.05}, "noisy": {"unexplained": 0.3}},
        findings={
            "smells": {"unexplained": 0.3},
            "hot": {"unexplained": 0.4},
            "dull": {"unexplained": 0.5},
        },
        causes={"fork": {"brings": {"drags": 0.9}, "shows": {"hot": 0.5}}},
        checks={
            "what": {
                "answers": {
                    "smell": {"smells": "yes"},
                    "heat": {"hot": "yes", "dull": "probably"},
                    "neither": {"smells": "no", "hot": "no"},
                }
            },
            "when": {
                "answers": {"noise": {"noisy": "yes"}, "quiet": {"noisy": "no", "dull": "no"}}
            },
            "look_hot": {"finding": "hot"},
            "touch": {"finding": "hot"},
            "look_dull": {"finding": "dull"},
        },
    )


@pytest.fixture(scope="module")
def network(base):
    return compile_network(base, {})


def looks(network, *entries, given=()):
    case = Case()
    for entry in entries:
        case = case.with_entry(entry)
    return looks_of(network, case, given)


def by_state(network, look, table):
    names = [network.findings[f] for f in look.findings]
    order = [names.index(name) for name in ("smells", "hot", "dull")]
    return np.transpose(table, order)


def test_answers_of_a_choice_share_what_they_fit(network):
    """Counted out: each answer by its fit, the fits of one state adding up to 1."""
    (look,) = looks(network, Entry(check="what", answer="heat"))
    said = by_state(network, look, look.said)
    for smells, hot, dull in product((0, 1), repeat=3):
        heat = hot * (5 / 6 if dull else 1 / 6)
        other = smells + (not smells and not hot)
        assert said[smells, hot, dull] == pytest.approx(heat / (heat + other))


def test_choices_are_answered_as_often_as_the_tables_say(base, network):
    """500 drawn vehicles: counts scatter by less than 3.5 of their standard deviations."""
    rng = np.random.default_rng(3)
    tables = {
        answer: by_state(network, look, look.said)
        for answer in ("smell", "heat", "neither")
        for (look,) in [looks(network, Entry(check="what", answer=answer))]
    }
    got, expected, scatter = Counter(), Counter(), Counter()
    for _ in range(500):
        drawn = draw(base, Case(), rng, manner=Manner(blank=0.0))
        state = tuple(int(name in drawn.there) for name in ("smells", "hot", "dull"))
        got[drawn.answer("what").answer] += 1
        for answer, table in tables.items():
            expected[answer] += table[state]
            scatter[answer] += table[state] * (1.0 - table[state])
    assert sum(got[answer] for answer in tables) == 500
    for answer in tables:
        assert abs(got[answer] - expected[answer]) <= 3.5 * scatter[answer] ** 0.5


def test_a_thing_that_two_answers_tell_of_is_followed_once(network):
    both = looks(network, Entry(check="what", answer="smell"), Entry(check="look_hot", answer="no"))
    assert len(both) == 1
    assert by_state(network, both[0], both[0].said)[:, 1].max() == 0.0
    assert by_state(network, both[0], both[0].said)[1, 0].tolist() == [1.0, 1.0]
    apart = looks(
        network, Entry(check="look_dull", answer="no"), Entry(check="look_hot", answer="no")
    )
    assert [len(look.findings) for look in apart] == [1, 1]


def test_a_hint_does_not_unsay_a_sure_look_and_a_sure_look_unsays_all(network):
    sure, hint = Entry(check="touch", answer="yes"), Entry(check="look_hot", answer="probably")
    (look,) = looks(network, sure, hint)
    assert look.said.tolist() == [0.0, 1.0]
    (look,) = looks(network, hint, sure)
    assert look.said.tolist() == [0.0, 1.0]
    (look,) = looks(network, hint)
    assert look.said.tolist() == pytest.approx([0.2, 1.0])


def test_a_choice_that_tells_of_a_complaint_counts_only_where_the_driver_was_asked(network):
    quiet = Entry(check="when", answer="quiet")
    assert looks(network, quiet) == ()
    (look,) = looks(network, Entry(complaint="noisy", answer="no"), quiet)
    assert [network.findings[f] for f in look.findings] == ["dull"]
    assert look.said.tolist() == [1.0, 0.0]
    assert look.could.tolist() == [1.0, 0.0]  # with the noise off, only silence fits
    assert not look.teaches


def test_what_is_given_teaches_nothing_of_itself_but_what_hangs_on_it_does(network):
    (look,) = looks(network, Entry(check="look_hot", answer="probably"), given={"hot"})
    assert not look.teaches
    (look,) = looks(network, Entry(check="what", answer="neither"), given={"hot"})
    assert look.teaches  # of the smell, given that it was not hot
    assert by_state(network, look, look.could)[:, 1].max() == 0.0


def test_what_nobody_could_tell_is_no_look(network):
    assert looks(network, Entry(check="look_hot", answer="can't tell")) == ()
    assert looks(network, Entry(check="what", answer="can't tell")) == ()
