"""What a repair puts right, and in which order what was done counts."""

import pytest

from diagnose.case import PENDING, STILL_THERE, Case, Entry
from diagnose.errors import UnknownIdError
from diagnose.mending import cures_of, repair_as_work, repairs_in
from diagnose.network import compile_network
from tests.small_bases import make_base


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    """Three causes; the hose cures two of them, and nothing written down cures the third."""
    return make_base(
        tmp_path_factory.mktemp("bases") / "mending",
        complaints={"drags": {}},
        causes={
            "air": {"brings": {"drags": 0.6}},
            "leak": {"brings": {"drags": 0.6}, "repair": {"cures": "often"}},
            "fork": {"brings": {"drags": 0.6}, "repair": {"cures": "often"}},
        },
        work={
            "bled": {"answers": {"well": {"cures": {"air": 0.75}}, "badly": {}}},
            "hose": {"answers": {"old": {}, "new": {"cures": {"leak": 0.6, "air": 0.8}}}},
        },
    )


@pytest.fixture(scope="module")
def network(base):
    return compile_network(base, {})


def test_the_surest_work_stands_for_a_repair(base):
    work, answer = repair_as_work(base, "air")
    assert (work.id, answer) == ("hose", "new")
    assert repair_as_work(base, "fork") is None


def test_a_repair_cures_its_cause_as_it_says_itself_and_what_the_surest_work_cures_besides(base):
    assert cures_of(base, "fork") == {"fork": 0.5}
    assert cures_of(base, "leak") == {"leak": 0.5, "air": 0.8}
    assert cures_of(base, "air") == {"air": 0.97, "leak": 0.6}


def test_every_cause_of_the_shipped_base_is_cured_by_its_own_repair(knowledge):
    for name, cause in knowledge.causes.items():
        cures = cures_of(knowledge, name)
        assert cures[name] == knowledge.strength(cause.repair.cures)
        assert all(0.0 < chance <= 1.0 for chance in cures.values())
        assert cures.keys() <= knowledge.causes.keys()


def test_a_cause_nobody_knows_is_refused(base, network):
    with pytest.raises(KeyError):
        cures_of(base, "rust")
    with pytest.raises(UnknownIdError, match="rust"):
        repairs_in(network, Case(entries=(Entry(repair="rust", answer=PENDING),)))
    with pytest.raises(UnknownIdError, match="perhaps"):
        repairs_in(network, Case(entries=(Entry(repair="air", answer="perhaps"),)))


def test_what_was_driven_comes_before_what_was_not(network):
    """Nobody has driven since a pending repair, so work the complaint survived is older than it."""
    case = Case(
        entries=(
            Entry(repair="fork", answer=STILL_THERE),
            Entry(repair="air", answer=PENDING),
            Entry(complaint="drags", answer="yes"),
            Entry(work="hose", answer="new", when="since"),
            Entry(repair="leak", answer=PENDING),
        )
    )
    repairs = repairs_in(network, case)
    assert [r.entry for r in repairs.every] == [0, 3, 1, 4]
    assert [r.pending for r in repairs.every] == [False, False, True, True]
    assert repairs.driven == 2
    assert [repairs.before(i) for i in range(6)] == [0, 1, 3, 3, 3, 4]


def test_work_at_the_job_and_work_that_cures_nothing_are_no_repairs(network):
    entries = (
        Entry(work="hose", answer="new"),
        Entry(work="bled", answer="badly", when="since"),
        Entry(work="bled", answer="don't know", when="since"),
    )
    assert repairs_in(network, Case(entries=entries)).every == ()
