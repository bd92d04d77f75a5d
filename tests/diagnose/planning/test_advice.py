"""The next step: what is offered, what it costs, where it leads, and whether to go inside.

Sources: T14 (a check without value is never advised; free information never costs anything);
engine notes 10.4 (never open unless that beats every cheaper route by more than the gap).
"""

from functools import cache
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.assess import assess
from diagnose.case import PENDING, STILL_THERE, Case, Entry
from diagnose.case_file import read_case_file
from diagnose.planning.advice import advices, advise
from diagnose.planning.lookahead import CancelledError
from knowledge.load import base_folder
from tests.small_bases import make_base

few = settings(max_examples=12)
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
ROAD = 20 / 60


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


@pytest.fixture(scope="module")
def advised(base):
    """Advice on answers (as pairs) and the level it stands at; each worked out once."""

    @cache
    def found(told, stands):
        return advise(assess(base, case_of(told, stands)))

    return found


def advice(base, *entries, **case):
    return advise(assess(base, Case(entries=entries, **case)))


def offered(found, kind="check"):
    return {option.id for option in found.options if option.kind == kind}


def first(found):
    return found.options[0].kind, found.options[0].id


def no(*checks):
    return [Entry(check=name, answer="no") for name in checks]


def case_of(told, stands="seat"):
    entries = (DRAGS, *(Entry(check=name, answer=answer) for name, answer in told))
    return Case(entries=entries, stands=stands)


def is_inside(option):
    return option.level in {"out", "apart"}


def drawn_cases(n=40):
    """Answers (as pairs) and levels, drawn once, so that tests share the advice on them."""
    rng = Random(7)
    for _ in range(n):
        asked = [
            name for name in ("look", "pump", "road_test", "rule", "turn") if rng.random() < 0.4
        ]
        told = tuple((name, rng.choice(("yes", "probably", "no", "can't tell"))) for name in asked)
        yield told, rng.choice(("seat", "under", "out", "apart"))


CASES = tuple(drawn_cases())
CLOSED = tuple(case for case in CASES if case[1] in {"seat", "under"})
cases = st.sampled_from(CASES)


class TestWhatIsOffered:
    @few
    @given(cases)
    def test_a_check_worth_nothing_is_never_advised(self, advised, case):
        """T14: what no cause shows is left; all else gains, or begins the search here or inside."""
        found = advised(*case)
        assert "glove_box" not in offered(found)
        asked = [option for option in found.options if option.kind in {"ask", "check"}]
        assert all(option.gain >= 0.0 for option in asked)
        assert sum(option.gain == 0.0 for option in asked) <= 2
        assert all(o.gain == 0.0 for o in found.options if o not in asked)

    @few
    @given(cases)
    def test_what_has_been_answered_is_not_offered_again(self, advised, case):
        found = advised(*case)
        assert not offered(found) & dict(case[0]).keys()
        assert "drags" not in offered(found, "ask")

    @settings(max_examples=8)
    @given(st.sets(st.sampled_from(sorted(CHECKS))), st.sampled_from(["seat", "out"]))
    def test_what_can_not_be_done_now_is_not_offered(self, base, skipped, stands):
        case = case_of((), stands)
        for check in skipped:
            case = case.with_skipped(check)
        assert not offered(advise(assess(base, case))) & skipped

    def test_where_the_advised_check_can_not_be_done_another_one_is(self, base):
        """It may be one that was worth nothing beside the one that can't be done."""
        case = case_of(())
        before = advise(assess(base, case))
        found = advise(assess(base, case.with_skipped(before.options[0].id)))
        assert first(before) == ("check", "pump")
        assert first(found) == ("check", "rule")
        assert found.expected > before.expected

    def test_after_work_what_it_may_have_changed_is_looked_at_again(self, tmp_path):
        base = build(tmp_path, work={"bled": {"answers": {"well": {"cures": {"air": 0.7}}}}})
        seen = (DRAGS, Entry(check="pump", answer="yes"), *no("rule"))
        bled = Entry(work="bled", answer="well", when="since")
        assert "pump" not in offered(advice(base, *seen))
        after = advice(base, *seen, bled)
        assert first(after) == ("check", "pump")
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

    def test_what_was_seen_by_the_way_counts_like_any_other_answer(self, base):
        plain = advice(base, DRAGS, *no("pump"))
        seen = Entry(check="pump", answer="no", by_the_way=True, hours=0.0)
        by_the_way = advice(base, DRAGS, seen)
        assert [(o.kind, o.id) for o in by_the_way.options] == [
            (o.kind, o.id) for o in plain.options
        ]
        assert by_the_way.expected == pytest.approx(plain.expected)

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


class TestTheOrderOfOptions:
    @few
    @given(cases)
    def test_the_best_comes_first_within_the_gap(self, advised, case):
        found = advised(*case)
        costs = [option.expected for option in found.options]
        assert found.expected == costs[0]
        assert costs[0] <= min(costs) + (found.gap or 0.0)
        for inside in (True, False):
            mine = [
                o.expected
                for o in found.options
                if is_inside(o) == inside and (o.gain > 0.0 or not is_inside(found.options[0]))
            ]
            assert mine == sorted(mine)

    @few
    @given(st.sampled_from(CLOSED))
    def test_nothing_opens_before_what_is_worth_something_and_as_good_within_the_gap(
        self, advised, case
    ):
        found = advised(*case)
        if found.go_inside:
            best = found.options[0]
            worth = [o for o in found.options if not is_inside(o) and o.gain > 0.0]
            assert all(o.expected > best.expected + (found.gap or 0.0) for o in worth)

    @few
    @given(cases)
    def test_the_hours_of_both_ways_are_those_of_the_best_option_on_each(self, advised, case):
        found = advised(*case)
        for side, inside in ((found.inside, True), (found.outside, False)):
            mine = [o.expected for o in found.options if is_inside(o) == inside]
            assert side == (min(mine) if mine else None)
        assert found.go_inside == is_inside(found.options[0])


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
        assert first(found) == ("repair", "cable")

    def test_dear_hours_put_it_off(self, base):
        """The same answers, with a gearbox that takes ten times as long to pull."""
        told = [*no("pump", "rule"), Entry(complaint="judders", answer="probably not")]
        quick = advice(base, DRAGS, *told, hours={"out": 0.1})
        dear = advice(base, DRAGS, *told, hours={"out": 40.0})
        assert quick.go_inside
        assert not dear.go_inside
        assert dear.inside - dear.outside > quick.inside - quick.outside

    def test_what_would_turn_it_round_is_told_the_likeliest_first(self, base):
        found = advice(base, DRAGS)
        chances = [flip.outcome.p for flip in found.flips]
        assert chances == sorted(chances, reverse=True)
        assert len(chances) <= 5
        options = {(o.kind, o.id): o for o in found.options}
        for flip in found.flips:
            assert flip.outcome.inside != found.go_inside
            assert flip.outcome in options[flip.step.kind, flip.step.id].outcomes

    def test_an_answer_after_which_it_comes_out_is_among_them(self, base):
        """The road test is what is left outside, and its "no" leaves only what is inside."""
        told = [*no("pump", "rule"), Entry(complaint="judders", answer="probably not")]
        found = advice(base, DRAGS, *told)
        assert not found.go_inside
        assert [(f.step.id, f.outcome.answer) for f in found.flips] == [("road_test", "no")]

    def test_where_both_sides_are_nearly_equal_no_answer_is_said_to_turn_it_round(self, knowledge):
        """What each answer leads to is judged one act deep, and so here for the other side."""
        example = base_folder().parent / "examples" / "example.yaml"
        quick, *_, last = advices(assess(knowledge, read_case_file(example, knowledge)))
        assert abs(last.inside - last.outside) < 1.0
        assert quick.go_inside != last.go_inside
        assert any(option.outcomes for option in last.options)
        assert last.flips == ()

    def test_what_is_worth_a_look_is_told_only_once_it_is_open_or_to_be(self, base):
        closed = advice(base, DRAGS)
        assert (closed.glances, closed.closing) == ((), ())
        assert advice(base, DRAGS, *no("pump", "rule", "road_test")).glances
        assert advice(base, DRAGS, stands="out").glances


class TestWhereItLeads:
    @few
    @given(cases)
    def test_the_chances_of_the_outcomes_sum_to_one(self, advised, case):
        for option in advised(*case).options:
            if option.outcomes:
                assert sum(o.p for o in option.outcomes) == pytest.approx(1.0, abs=1e-6)

    @few
    @given(cases)
    def test_the_first_takes_its_hours_and_then_what_its_outcomes_take(self, advised, case):
        """To one in ten: outcomes are followed on the leading causes and checks only."""
        best = advised(*case).options[0]
        if best.kind == "hand_over":
            assert best.expected == pytest.approx(best.hours)
        else:
            onward = sum(o.p * o.expected for o in best.outcomes)
            assert best.outcomes
            assert best.expected == pytest.approx(best.hours + onward, rel=0.1)

    def test_each_answer_is_said_and_what_is_done_then(self, base):
        pump = advice(base, DRAGS).options[0]
        assert [o.answer for o in pump.outcomes] == ["yes", "no"]
        yes, _ = pump.outcomes
        assert (yes.then.kind, yes.then.id, yes.then.level) == ("repair", "air", "under")
        assert not yes.inside
        later = advice(base, DRAGS, *no("pump", "rule", "road_test")).options[0]
        assert all(outcome.inside for outcome in later.outcomes if outcome.then.kind != "drive")

    def test_a_check_with_answers_of_its_own_says_them(self, tmp_path):
        causes = {name: CAUSES[name] for name in ("air", "cable", "fork")}
        press = {
            "minutes": 1,
            "answers": {
                "soft": {"spongy": "yes", "play": "no"},
                "loose": {"spongy": "no", "play": "yes"},
                "firm": {"spongy": "no", "play": "no"},
            },
        }
        base = build(tmp_path, {"press": press}, causes)
        best = advice(base, DRAGS).options[0]
        assert best.id == "press"
        told = [(o.answer, o.then.id) for o in best.outcomes]
        assert told[:2] == [("soft", "air"), ("loose", "cable")]
        assert [o.text for o in best.outcomes] == ["soft", "loose", "firm"]

    def test_a_drive_ends_it_or_goes_on(self, base):
        pumped = Entry(check="pump", answer="yes")
        found = advice(base, DRAGS, pumped, Entry(repair="air", answer=PENDING))
        best = found.options[0]
        assert best.kind == "drive"
        gone, still = best.outcomes
        assert (gone.then, gone.expected) == (None, 0.0)
        assert still.then is not None
        assert gone.p > 0.5


class TestPendingRepairs:
    def test_what_was_mended_outside_is_driven(self, base):
        pumped = Entry(check="pump", answer="yes")
        found = advice(base, DRAGS, pumped, Entry(repair="air", answer=PENDING))
        assert first(found) == ("drive", "")
        assert found.options[0].hours == pytest.approx(ROAD)
        assert "air" not in offered(found, "repair")

    def test_inside_a_last_look_or_the_drive_comes_next(self, base):
        bent = Entry(check="turn", answer="yes")
        mended = Entry(repair="disc", answer=PENDING)
        found = advice(base, DRAGS, bent, mended, stands="out")
        assert first(found) in {("drive", ""), ("check", "look")}
        drive = next(o for o in found.options if o.kind == "drive")
        assert drive.hours == pytest.approx(3.0 + 0.25 + ROAD)
        assert drive.way == pytest.approx(3.25)

    def test_after_a_drive_in_vain_the_search_goes_on(self, base):
        pumped = Entry(check="pump", answer="yes")
        found = advice(base, DRAGS, pumped, Entry(repair="air", answer=STILL_THERE))
        assert not offered(found, "drive")
        assert found.options[0].kind in {"ask", "check", "repair"}


class TestTheCustomersLimit:
    @settings(max_examples=8)
    @given(cases, st.floats(0.0, 12.0))
    def test_what_does_not_fit_is_not_offered(self, base, case, limit):
        limited = case_of(*case).model_copy(update={"limit": limit})
        found = advise(assess(base, limited))
        out = {"seat": 0.0, "under": 0.25, "out": 3.25, "apart": 3.75}
        assert found.left == pytest.approx(limit)
        for option in found.options:
            way_out = 0.0 if option.kind in {"drive", "hand_over"} else out[option.level]
            drive = ROAD if option.kind == "repair" else 0.0
            if option.kind != "hand_over":
                assert option.hours + way_out + drive <= limit + 1e-9

    def test_what_would_be_better_is_named_as_too_long(self, base):
        quiet = (DRAGS, *no("pump", "rule"), Entry(complaint="judders", answer="yes"))
        whole, limited = advice(base, *quiet), advice(base, *quiet, limit=1.0)
        (better,) = limited.too_long
        assert (better.kind, better.id) == first(whole)
        assert (better.kind, better.id) not in {(o.kind, o.id) for o in limited.options}
        assert limited.left == 1.0
        assert not whole.too_long

    def test_without_a_limit_nothing_is_too_long(self, base):
        found = advice(base, DRAGS)
        assert found.left is None
        assert found.too_long == ()

    def test_hours_that_were_spent_since_are_no_longer_left(self, base):
        spent = Entry(check="pump", answer="no", hours=0.4)
        assert advice(base, DRAGS, spent, limit=1.0).left == pytest.approx(0.6)


class TestMoney:
    def test_the_expected_hours_at_the_rate(self, base):
        found = advice(base, DRAGS, labour=80.0)
        assert found.money == pytest.approx(found.expected * 80.0)

    def test_not_without_a_rate(self, base):
        assert advice(base, DRAGS).money is None

    def test_dear_parts_are_not_put_in_before_a_look(self, base):
        seen = Entry(check="turn", answer="can't tell")
        told = (DRAGS, *no("pump", "rule", "look"), seen)
        cheap = advice(base, *told, stands="out", labour=80.0)
        dear = advice(base, *told, stands="out", labour=80.0, parts={"disc": 4000.0})
        disc = [next(o for o in found.options if o.id == "disc") for found in (cheap, dear)]
        assert disc[1].hours == pytest.approx(disc[0].hours)  # parts are weighed, but take no time
        assert disc[1].expected > disc[0].expected + 10.0
        assert first(cheap) == ("repair", "disc")
        assert first(dear) != ("repair", "disc")


class TestHours:
    def test_from_the_seat(self, base):
        hours = {o.id: o.hours for o in advice(base, DRAGS).options}
        assert hours["pump"] == pytest.approx(3 / 60)
        assert hours["air"] == pytest.approx(0.25 + 0.5)
        assert hours["disc"] == pytest.approx(4.25 + 1.0)

    @few
    @given(cases)
    def test_the_way_is_among_them_and_they_among_the_expected(self, advised, case):
        for option in advised(*case).options:
            assert 0.0 <= option.way <= option.hours <= option.expected + 1e-9

    def test_with_the_gearbox_out_a_road_test_costs_the_way_up(self, tmp_path):
        """Worth it even so: it saves a long repair that may be the wrong one."""
        dear = {
            name: {**CAUSES[name], "repair": {"from": level, "hours": 20.0}}
            for name, level in (("air", "under"), ("cable", "seat"))
        }
        base = build(tmp_path, {"road_test": CHECKS["road_test"]}, dear, scale={"hand_over": 50.0})
        best = advice(base, DRAGS, stands="out").options[0]
        assert best.id == "road_test"
        assert best.hours == pytest.approx(ROAD + 3.0 + 0.25)

    def test_with_the_gearbox_out_it_is_not_advised_at_its_real_price(self, base):
        found = advice(base, DRAGS, stands="out")
        assert "road_test" not in offered(found)
        assert offered(found) & {"turn", "look"}


class TestExpectedHours:
    def test_one_cause_by_hand(self, tmp_path):
        """Nothing else can be, and there is no check: under it, mend it, out again, and drive."""
        cure = {"p": 1.0, "source": "judgement"}
        base = make_base(
            tmp_path,
            scale={"unknown": {"rate": 0.0, "brings": 0.0, "shows": 0.0, "moves": 0.2}},
            complaints={"drags": {"unexplained": 0.0}},
            causes={
                "air": {
                    "brings": {"drags": 0.8},
                    "repair": {"from": "under", "hours": 0.5, "cures": cure},
                }
            },
        )
        for stands, ways in (("seat", 0.5), ("under", 0.25), ("out", 3.25)):
            found = advice(base, DRAGS, stands=stands)
            assert first(found) == ("repair", "air")
            assert found.expected == pytest.approx(ways + 0.5 + ROAD)

    @settings(max_examples=8)
    @given(cases)
    def test_free_information_costs_nothing_to_speak_of(self, advised, free, case):
        """T14: with one more check for next to nothing, the fix is no further away.

        For orders this holds exactly (see their tests); the plan on top of them is a heuristic, and
        is allowed three parts in a hundred.
        """
        with_it = advise(assess(free, case_of(*case)))
        assert with_it.expected <= advised(*case).expected * 1.03

    def test_what_can_be_mended_on_the_spot_is_not_proved_outside(self, free):
        """With the gearbox out, closing it up for a glance from the seat is no way to look."""
        unsure = Entry(check="look", answer="can't tell")
        quiet = Entry(complaint="judders", answer="no")
        found = advice(free, DRAGS, quiet, *no("pump", "rule", "turn"), unsure, stands="out")
        assert found.go_inside
        assert first(found) == ("repair", "fork")

    def test_what_is_sure_needs_no_check(self, base):
        found = advice(base, DRAGS, Entry(check="turn", answer="yes"), stands="out")
        assert first(found) == ("repair", "disc")


class TestRefining:
    def test_the_first_answer_comes_at_once_then_refined_and_then_with_the_gap(self, base):
        told = case_of((("pump", "yes"),))
        quick, refined, last = advices(assess(base, told))
        assert (quick.refined, refined.refined, last.refined) == (False, True, True)
        assert (quick.gap, refined.gap) == (None, None)
        assert last.gap is not None
        assert all(o.outcomes == () for found in (quick, refined) for o in found.options)
        assert last.options[0].outcomes
        assert last == advise(assess(base, told))

    @few
    @given(cases)
    def test_the_gap_is_a_number_of_hours_on_a_share_of_the_belief(self, advised, case):
        found = advised(*case)
        if found.gap is None:
            assert found.gap_share == 0.0
        else:
            assert found.gap >= 0.0
            assert 0.0 < found.gap_share <= 1.0 + 1e-9

    def test_what_nobody_waits_for_ends(self, base):
        with pytest.raises(CancelledError):
            advise(assess(base, case_of(())), cancelled=lambda: True)
