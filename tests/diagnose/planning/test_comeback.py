"""A comeback as a planning problem: what can be done, what it takes, and what it reads."""

from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.assess import assess
from diagnose.case import PENDING, STILL_THERE, Case, Entry
from diagnose.network import UNKNOWN
from diagnose.planning.comeback import planned
from diagnose.planning.problem import act_of
from tests.small_bases import make_base

DRAGS = Entry(complaint="drags", answer="yes")


def cured(p):
    return {"p": p, "source": "judgement"}


RECORDS = {
    "scale": {"unknown": {"rate": 0.05, "brings": 0.1, "shows": 0.0, "moves": 0.2}},
    "facts": {
        "release": {
            "values": {
                "cable": {"name": "cable", "share": 0.5},
                "slave": {"name": "slave", "share": 0.5},
            }
        }
    },
    "complaints": {"drags": {}, "judders": {}},
    "findings": {name: {} for name in ("spongy", "play", "bent", "scratched", "low", "sinks")},
    "measurements": {"travel": {"healthy": {"mean": "40 mm", "spread": "2 mm"}}},
    "causes": {
        "air": {
            "rate": 0.3,
            "brings": {"drags": 0.8},
            "shows": {"spongy": 0.9, "low": 0.7},
            "shifts": {"travel": ("-8 mm", "2 mm")},
            "repair": {"from": "under", "hours": 0.5, "cures": cured(0.9)},
        },
        "cable": {
            "rate": 0.2,
            "brings": {"drags": 0.7},
            "shows": {"play": 0.95},
            "repair": {"from": "seat", "hours": 0.3, "cures": cured(1.0)},
        },
        "disc": {
            "rate": 0.25,
            "brings": {"drags": 0.7, "judders": 0.6},
            "shows": {"bent": 0.95},
            "repair": {"from": "out", "hours": 1.0, "cures": cured(1.0)},
        },
    },
    "checks": {
        "pump": {"finding": "spongy", "minutes": 3},
        "rule": {"finding": "play", "minutes": 5},
        "turn": {"finding": "bent", "from": "out", "minutes": 10},
        "glove_box": {"finding": "scratched"},
        "slave_look": {"finding": "sinks", "when": {"release": ["slave"]}},
        "press": {"minutes": 1, "answers": {"soft": {"spongy": "yes"}, "firm": {"spongy": "no"}}},
        "travel_rule": {
            "gauge": "travel",
            "answers": {"short": {"low": "yes"}, "long": {"low": "no"}},
            "edges": ["35 mm"],
        },
        "travel_dial": {
            "gauge": "travel",
            "answers": {"short": {"low": "yes"}, "long": {"low": "no"}},
            "edges": ["35 mm"],
        },
    },
}


@pytest.fixture(scope="module")
def base():
    with TemporaryDirectory() as folder:
        return make_base(Path(folder), **RECORDS)


def plan_of(base, *entries, **case):
    return planned(assess(base, Case(entries=(DRAGS, *entries), **case)))


def offered(plan, kind="check"):
    return {test.key[1] for test in plan.problem.tests if test.key[0] == kind}


def mend(plan, cause):
    return act_of(plan.problem, ("repair", cause))


answers = st.dictionaries(
    st.sampled_from(["pump", "rule", "turn"]),
    st.sampled_from(["yes", "probably", "probably not", "no"]),
)


class TestTests:
    def test_every_check_that_would_tell_something_and_the_questions(self, base):
        """Nothing shows what is in the glove box, nor that the pedal sinks."""
        plan = plan_of(base)
        assert offered(plan) == {"pump", "rule", "turn", "press", "travel_rule", "travel_dial"}
        assert offered(plan, "ask") == {"judders"}

    def test_not_those_of_another_set_up(self, tmp_path):
        causes = {**RECORDS["causes"]}
        causes["cable"] = {**causes["cable"], "shows": {"play": 0.95, "sinks": 0.9}}
        base = make_base(tmp_path / "set_up", **{**RECORDS, "causes": causes})
        for value, can_be in (("slave", True), ("cable", False)):
            plan = plan_of(base, facts={"release": (value,)})
            assert ("slave_look" in offered(plan)) is can_be

    @settings(max_examples=15)
    @given(answers)
    def test_not_those_that_were_answered(self, base, told):
        entries = [Entry(check=name, answer=answer) for name, answer in told.items()]
        assert not offered(plan_of(base, *entries)) & told.keys()

    def test_not_those_that_read_only_what_was_read(self, base):
        """Pressing the pedal tells no more than pumping it did."""
        seen = Entry(check="pump", answer="no")
        assert not offered(plan_of(base, seen)) & {"pump", "press"}

    def test_not_those_that_can_not_be_done_now(self, base):
        assert "rule" not in offered(plan_of(base, skipped=("rule",)))

    def test_not_a_gauge_that_another_check_has_read(self, base):
        read = Entry(check="travel_rule", answer="short", reading="31 mm")
        assert not offered(plan_of(base, read)) & {"travel_rule", "travel_dial"}

    def test_of_two_checks_that_read_one_gauge_either_makes_the_other_needless(self, base):
        problem = plan_of(base).problem
        number = {test.key[1]: i for i, test in enumerate(problem.tests)}
        one, other = number["travel_rule"], number["travel_dial"]
        assert problem.same[one, other]
        assert problem.same[other, one]
        assert not problem.same[one, number["pump"]]

    def test_what_a_repair_may_have_changed_comes_back(self, base):
        seen = Entry(check="pump", answer="yes")
        other = Entry(check="rule", answer="no")
        bled = Entry(repair="air", answer=STILL_THERE)
        plan = plan_of(base, seen, other, bled)
        assert "pump" in offered(plan)
        assert "rule" not in offered(plan)

    @settings(max_examples=10)
    @given(answers)
    def test_answers_have_chances_that_sum_to_one_in_every_row(self, base, told):
        entries = [Entry(check=name, answer=answer) for name, answer in told.items()]
        plan = plan_of(base, *entries)
        for test in plan.problem.tests:
            assert test.likelihood.sum(axis=0) == pytest.approx(np.ones(len(plan.rows.weights)))
            assert (test.likelihood >= 0.0).all()

    def test_hours_and_levels_are_those_of_the_checks(self, base):
        problem = plan_of(base).problem
        turn = act_of(problem, ("check", "turn"))
        assert (turn.depth, turn.hours) == (2, pytest.approx(10 / 60))
        assert act_of(problem, ("ask", "judders")).hours == pytest.approx(3 / 60)
        assert problem.drive == pytest.approx(20 / 60)

    def test_a_question_is_asked_from_where_it_stands(self, base):
        assert act_of(plan_of(base, stands="out").problem, ("ask", "judders")).depth == 2


class TestRepairs:
    def test_each_cause_has_its_repair_and_the_unknown_has_none(self, base):
        plan = plan_of(base)
        repair = {c: int(r) for c, r in zip(plan.causes, plan.problem.mends, strict=True)}
        assert repair[UNKNOWN] == -1
        for cause in ("air", "cable", "disc"):
            found = plan.problem.repairs[repair[cause]]
            assert found.key == ("repair", cause)
            assert found.cures[plan.causes.index(cause)] == (0.9 if cause == "air" else 1.0)
            assert found.cures.sum() == found.cures.max()

    def test_parts_count_as_the_hours_they_are_worth(self, base):
        """A disc for 120 at 80 an hour is an hour and a half."""
        plan = plan_of(base, labour=80.0, parts={"disc": 120.0})
        assert mend(plan, "disc").hours == pytest.approx(1.0 + 1.5)
        assert mend(plan, "air").hours == pytest.approx(0.5)

    def test_without_a_rate_parts_do_not_count(self, base):
        assert mend(plan_of(base, parts={"disc": 120.0}), "disc").hours == pytest.approx(1.0)

    def test_one_that_nobody_has_driven_with_is_not_done_again(self, base):
        plan = plan_of(base, Entry(repair="air", answer=PENDING))
        left = {
            repair.key[1]
            for repair, left in zip(plan.problem.repairs, plan.state.repairs, strict=True)
            if left
        }
        assert "air" not in left
        assert {"cable", "disc"} <= left
        assert plan.state.mended

    def test_after_a_drive_in_vain_it_may_be(self, base):
        plan = plan_of(base, Entry(repair="air", answer=STILL_THERE))
        assert plan.state.repairs.all()
        assert not plan.state.mended


class TestProofs:
    def test_the_look_that_settles_a_cause_and_how_well_it_sees_it(self, base):
        plan = plan_of(base)
        for cause, sees in (("cable", 0.95), ("disc", 0.95)):
            i = plan.causes.index(cause)
            check = {"cable": "rule", "disc": "turn"}[cause]
            assert plan.problem.tests[plan.problem.proofs[i, 0]].key[1] == check
            assert plan.problem.sees[i, 0] == sees

    def test_the_nearest_first(self, base):
        """Pressing takes a minute, pumping three; the other look is at something else."""
        plan = plan_of(base)
        i = plan.causes.index("air")
        looks = [plan.problem.tests[t].key[1] for t in plan.problem.proofs[i] if t >= 0]
        assert looks[0] == "press"
        assert "pump" not in looks, "it sees no more than pressing does"

    def test_the_unknown_has_none(self, base):
        plan = plan_of(base)
        assert (plan.problem.proofs[plan.causes.index(UNKNOWN)] == -1).all()


class TestHandingOver:
    def test_is_the_search_of_somebody_else_and_then_the_fix(self, base):
        """8 hours for him, and the drive; a disc takes the way in and out and an hour."""
        plan = plan_of(base)
        for name, way, hours in (("disc", 7.5, 1.0), ("cable", 0.0, 0.3), ("air", 0.5, 0.5)):
            row = np.zeros(len(plan.causes), dtype=bool)
            row[plan.causes.index(name)] = True
            mine = (plan.problem.needs == row).all(axis=1)
            expected = 8.0 + 20 / 60 + way + hours
            assert plan.problem.hand_over[mine] == pytest.approx(expected)

    def test_of_a_vehicle_that_is_well_takes_the_search_and_the_drive(self, base):
        assert plan_of(base).problem.hand_over[-1] == pytest.approx(8.0 + 20 / 60)


def test_it_stands_where_the_case_stands_with_the_users_own_hours(base):
    plan = plan_of(base, stands="out", hours={"out": 6.0})
    assert plan.state.here == 2
    assert plan.problem.access.down[2] == 6.0
    assert plan.state.weights == pytest.approx(plan.rows.weights)
