"""The next step: what is offered, what it costs, and whether to go inside.

Sources: T14 (a check without value is never advised; free information never costs anything).
"""

from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.assess import assess
from diagnose.case import Case, Entry
from diagnose.planning.advice import advise
from tests.small_bases import make_base

DRAGS = Entry(complaint="drags", answer="yes")
CAUSES = {
    "air": {
        "rate": 0.3,
        "brings": {"drags": 0.8},
        "shows": {"spongy": 0.9, "drags_on_the_road": 0.7},
        "repair": {"from": "under", "hours": 0.5},
    },
    "cable": {
        "rate": 0.2,
        "brings": {"drags": 0.7},
        "shows": {"play": 0.95},
        "repair": {"from": "seat", "hours": 0.3},
    },
    "disc": {
        "rate": 0.25,
        "brings": {"drags": 0.7, "judders": 0.6},
        "shows": {"bent": 0.95},
        "repair": {"from": "out", "hours": 1.0},
    },
    "fork": {
        "rate": 0.15,
        "brings": {"drags": 0.6},
        "shows": {"grooved": 0.95},
        "repair": {"from": "out", "hours": 0.8},
    },
}
CHECKS = {
    "pump": {"finding": "spongy", "minutes": 3},
    "rule": {"finding": "play", "minutes": 5},
    "road_test": {"finding": "drags_on_the_road", "minutes": 20},
    "turn": {"finding": "bent", "from": "out", "minutes": 10},
    "look": {"finding": "grooved", "from": "out", "minutes": 5},
    "glove_box": {"finding": "scratched", "minutes": 1},
}
FINDINGS = ("spongy", "play", "drags_on_the_road", "bent", "grooved", "scratched")


def build(folder, checks=CHECKS, causes=CAUSES, **more):
    return make_base(
        Path(folder),
        complaints={"drags": {}, "judders": {}},
        findings={name: {} for name in FINDINGS},
        causes=causes,
        checks=checks,
        **more,
    )


@pytest.fixture(scope="module")
def base():
    with TemporaryDirectory() as folder:
        return build(folder)


@pytest.fixture(scope="module")
def free():
    """The same with one more check, for next to nothing, of what else is seen only inside."""
    with TemporaryDirectory() as folder:
        return build(folder, {**CHECKS, "glance": {"finding": "grooved", "minutes": 0.01}})


def advice(base, *entries, **case):
    return advise(assess(base, Case(entries=entries, **case)))


def offered(found, kind="check"):
    return {option.id for option in found.options if option.kind == kind}


def no(*checks):
    return [Entry(check=name, answer="no") for name in checks]


answers = st.dictionaries(
    st.sampled_from(["pump", "rule", "road_test", "turn", "look"]),
    st.sampled_from(["yes", "probably", "probably not", "no", "can't tell"]),
)
levels = st.sampled_from(["seat", "under", "out", "apart"])


def case_of(told, stands="seat"):
    entries = (DRAGS, *(Entry(check=name, answer=answer) for name, answer in told.items()))
    return Case(entries=entries, stands=stands)


class TestWhatIsOffered:
    @given(answers, levels)
    def test_a_check_worth_nothing_is_never_advised(self, base, told, stands):
        """T14: what no cause shows is left; all else gains, or begins the search here or inside."""
        found = advise(assess(base, case_of(told, stands)))
        assert "glove_box" not in offered(found)
        without_gain = [o for o in found.options if o.kind != "repair" and o.gain <= 0.0]
        assert {o.gain for o in without_gain} <= {0.0}
        assert len(without_gain) <= 2

    @given(answers, levels)
    def test_what_has_been_answered_is_not_offered_again(self, base, told, stands):
        found = advise(assess(base, case_of(told, stands)))
        assert not offered(found) & told.keys()
        assert "drags" not in offered(found, "ask")

    @given(st.sets(st.sampled_from(sorted(CHECKS))), levels)
    def test_what_can_not_be_done_now_is_not_offered(self, base, skipped, stands):
        case = case_of({}, stands)
        for check in skipped:
            case = case.with_skipped(check)
        assert not offered(advise(assess(base, case))) & skipped

    def test_after_a_repair_what_it_may_have_changed_is_looked_at_again(self, tmp_path):
        base = build(tmp_path, work={"bled": {"answers": {"well": {"cures": {"air": 0.7}}}}})
        seen = (DRAGS, Entry(check="pump", answer="yes"), *no("rule"))
        bled = Entry(work="bled", answer="well", when="since")
        assert "pump" not in offered(advice(base, *seen))
        after = advice(base, *seen, bled)
        assert after.options[0].id == "pump"
        assert "rule" not in offered(after)
        again = Entry(check="pump", answer="no")
        assert "pump" not in offered(advice(base, *seen, bled, again))

    def test_a_check_of_another_set_up_is_not_offered(self, tmp_path):
        facts = {
            "release": {
                "values": {
                    "cable": {"name": "c", "share": 0.5},
                    "slave": {"name": "s", "share": 0.5},
                }
            }
        }
        checks = {**CHECKS, "pump": {**CHECKS["pump"], "when": {"release": ["slave"]}}}
        base = build(tmp_path, checks, facts=facts)
        assert "pump" in offered(advice(base, DRAGS, facts={"release": ("slave",)}))
        assert "pump" not in offered(advice(base, DRAGS, facts={"release": ("cable",)}))

    @given(answers, levels)
    def test_the_best_comes_first(self, base, told, stands):
        found = advise(assess(base, case_of(told, stands)))
        costs = [option.expected for option in found.options]
        assert costs == sorted(costs)
        assert found.expected == costs[0]
        assert all(0.0 < option.hours <= option.expected for option in found.options)

    def test_signs_that_are_certain_both_ways(self, tmp_path):
        """A link of 1 and a finding that nothing else shows are numbers like all others."""
        sure = {
            "air": {"rate": 0.3, "brings": {"drags": 1.0}, "shows": {"spongy": 1.0}},
            "cable": {"rate": 0.2, "brings": {"drags": 1.0}, "shows": {"play": 1.0}},
        }
        base = make_base(
            tmp_path,
            scale={"unknown": {"rate": 0.01, "brings": 0.1, "shows": 0.0, "moves": 0.2}},
            complaints={"drags": {}},
            findings={name: {"unexplained": 0.0} for name in ("spongy", "play", "never_seen")},
            causes=sure,
            checks={
                "pump": {"finding": "spongy"},
                "peer": {"finding": "never_seen"},
                "press": {
                    "minutes": 1,
                    "answers": {
                        "soft": {"spongy": "yes", "play": "no"},
                        "loose": {"spongy": "no", "play": "yes"},
                    },
                },
            },
        )
        found = advice(base, DRAGS)
        assert "pump" in offered(found) or "press" in offered(found)
        assert "peer" not in offered(found)
        assert all(0.0 < option.expected < 100.0 for option in found.options)


class TestGoingInside:
    def test_not_while_cheap_checks_are_left(self, base):
        found = advice(base, DRAGS)
        assert not found.go_inside
        assert found.outside < found.inside

    def test_when_what_is_outside_has_been_ruled_out(self, base):
        quiet = [*no("pump", "rule", "road_test"), Entry(complaint="judders", answer="yes")]
        found = advice(base, DRAGS, *quiet)
        assert found.go_inside
        assert found.inside < found.outside
        assert found.options[0].level == "out"

    def test_not_to_look_for_what_is_found_outside(self, base):
        found = advice(base, DRAGS, Entry(check="rule", answer="yes"))
        assert not found.go_inside
        assert found.options[0].id == "cable"
        assert found.options[0].kind == "repair"

    def test_dear_hours_put_it_off(self, base):
        """The same answers, with a gearbox that takes ten times as long to pull."""
        told = [*no("pump", "rule"), Entry(complaint="judders", answer="probably not")]
        quick = advice(base, DRAGS, *told, hours={"out": 0.1})
        dear = advice(base, DRAGS, *told, hours={"out": 40.0})
        assert quick.go_inside
        assert not dear.go_inside
        assert dear.inside - dear.outside > quick.inside - quick.outside

    @given(answers, levels)
    def test_only_where_it_is_cheaper(self, base, told, stands):
        found = advise(assess(base, case_of(told, stands)))
        if found.outside is not None and found.inside is not None:
            assert found.go_inside == (found.inside < found.outside)
        whole = base.levels[found.options[0].level].drivable
        assert whole != found.go_inside


class TestHours:
    def test_from_the_seat(self, base):
        hours = {o.id: o.hours for o in advice(base, DRAGS).options}
        assert hours["pump"] == pytest.approx(3 / 60)
        assert hours["air"] == pytest.approx(0.25 + 0.5)
        assert hours["disc"] == pytest.approx(4.25 + 1.0)

    def test_with_the_gearbox_out_a_road_test_costs_the_way_up(self, tmp_path):
        """Worth it even so: it saves a long repair that may be the wrong one."""
        dear = {
            name: {**CAUSES[name], "repair": {"from": level, "hours": 20.0}}
            for name, level in (("air", "under"), ("disc", "out"))
        }
        base = build(tmp_path, {"road_test": CHECKS["road_test"]}, dear)
        asked = Entry(complaint="judders", answer="can't tell")
        first = advice(base, DRAGS, asked, stands="out").options[0]
        assert first.id == "road_test"
        assert first.hours == pytest.approx(20 / 60 + 3.0 + 0.25)

    def test_with_the_gearbox_out_it_is_not_advised_at_its_real_price(self, base):
        assert "road_test" not in offered(advice(base, DRAGS, stands="out"))
        inside = offered(advice(base, DRAGS, stands="out"))
        assert inside & {"turn", "look"}


class TestExpectedHours:
    def test_one_cause_by_hand(self, tmp_path):
        """There is nothing else it can be, and no check: under it, mend it, and out again."""
        base = make_base(
            tmp_path,
            scale={"unknown": {"rate": 0.0, "brings": 0.0, "shows": 0.0, "moves": 0.2}},
            complaints={"drags": {}},
            causes={
                "air": {
                    "brings": {"drags": 0.8},
                    "repair": {
                        "from": "under",
                        "hours": 0.5,
                        "cures": {"p": 1.0, "source": "judgement"},
                    },
                }
            },
        )
        assert advice(base, DRAGS).expected == pytest.approx(0.25 + 0.5 + 0.25)
        assert advice(base, DRAGS, stands="under").expected == pytest.approx(0.5 + 0.25)
        assert advice(base, DRAGS, stands="out").expected == pytest.approx(3.0 + 0.5 + 0.25)

    @given(answers, st.sampled_from(["seat", "out"]))
    @settings(max_examples=40)
    def test_free_information_costs_nothing_to_speak_of(self, base, free, told, stands):
        """T14: with one more check for next to nothing, the fix is no further away.

        For orders this is exact (see the tests of access); the plan on top of them is a heuristic,
        and is allowed one part in a hundred.
        """
        with_it = advise(assess(free, case_of(told, stands)))
        without = advise(assess(base, case_of(told, stands)))
        assert with_it.expected <= without.expected * 1.01

    def test_what_can_be_mended_on_the_spot_is_not_proved_outside(self, free):
        """With the gearbox out, closing it up for a glance from the seat is no way to look."""
        unsure = Entry(check="look", answer="can't tell")
        quiet = Entry(complaint="judders", answer="no")
        found = advice(free, DRAGS, quiet, *no("pump", "rule", "turn"), unsure, stands="out")
        assert found.go_inside
        assert (found.options[0].kind, found.options[0].id) == ("repair", "fork")

    def test_what_is_sure_needs_no_check(self, base):
        found = advice(base, DRAGS, Entry(check="turn", answer="yes"), stands="out")
        first = found.options[0]
        assert (first.kind, first.id) == ("repair", "disc")
        assert first.expected == found.expected
