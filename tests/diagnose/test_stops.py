"""Stop notices: how long they hold, what they forbid, and that no advice goes against one."""

import pytest

from diagnose.assess import assess, network_for
from diagnose.case import PENDING, STILL_THERE, Case, Entry
from diagnose.planning.advice import advices, advise
from diagnose.sentences import advice_reason
from diagnose.stops import against, is_for_the_road_only, shown, stops_that_hold
from knowledge.tree import share_that_fits
from tests.small_bases import make_base

# What each notice of the base says, as one reads it: may the engine run?
ENGINE_MAY_RUN = {
    "shared_fluid": True,
    "stop_smoke": True,
    "stop_knock": False,
    "stop_burst": False,
    "stop_no_travel": True,
    "stop_fingers": False,
    "stop_earth": False,
    "stop_loose_bolts": False,
    "stop_fluid_exhaust": False,
    "stop_far_travel": True,
}
SLACK, SMOKY = Entry(check="spanner", answer="yes"), Entry(check="smell", answer="probably")
KNOCKS = Entry(complaint="knocks", answer="yes")


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    """Signs that forbid to start it, and to drive; and a complaint that forbids to start it."""
    stop, drives = "do not start it.", "Smoke: do not drive."
    return make_base(
        tmp_path_factory.mktemp("stops") / "base",
        cautions={
            "road": {"level": "caution", "text": "Quiet road.", "source": "judgement"},
            "running": {"level": "caution", "text": "Chocks.", "source": "judgement"},
            "stop_bolts": {"level": "stop", "text": f"Loose: {stop}", "source": "judgement"},
            "stop_smoke": {"level": "stop", "text": drives, "source": "judgement"},
            "stop_knock": {"level": "stop", "text": f"A knock: {stop}", "source": "judgement"},
        },
        complaints={"drags": {}, "knocks": {"stop": "stop_knock"}},
        findings={"slack": {"stop": "stop_bolts"}, "smoky": {"stop": "stop_smoke"}, "spins": {}},
        causes={
            "bolts": {"brings": {"knocks": 0.7, "drags": 0.2}, "shows": {"slack": 0.9}},
            "disc": {"brings": {"drags": 0.8}, "shows": {"spins": 0.9, "smoky": 0.3}},
            "cable": {"brings": {"drags": 0.7}, "shows": {"spins": 0.4}},
        },
        checks={
            "spanner": {"finding": "slack"},
            "smell": {"finding": "smoky"},
            "spin": {"finding": "spins", "cautions": ["running"]},
            "drive_it": {"finding": "spins", "cautions": ["road"]},
        },
    )


def held(base, *entries):
    """Notices that hold after some entries."""
    return [h.notice for h in stops_that_hold(network_for(base, ()), Case(entries=entries))]


def forbidden(base, *entries):
    """Acts that go against what holds after some entries."""
    holds = stops_that_hold(network_for(base, ()), Case(entries=entries))
    acts = [("drive", ""), ("repair", "disc"), *(("check", name) for name in base.checks)]
    return {name or kind for kind, name in acts if against(base, holds, kind, name)}


class TestHowLongItHolds:
    @pytest.mark.parametrize(
        ("entries", "expected"),
        [
            ((), []),
            ((SLACK,), ["stop_bolts"]),
            ((SMOKY,), ["stop_smoke"]),
            ((Entry(check="spanner", answer="can't tell"),), []),
            ((SLACK, Entry(check="spanner", answer="no")), []),
            ((Entry(check="spanner", answer="no"), SLACK), ["stop_bolts"]),
            ((KNOCKS, SLACK), ["stop_knock", "stop_bolts"]),
        ],
    )
    def test_while_the_last_answer_says_it_is_there(self, base, entries, expected):
        assert held(base, *entries) == expected

    @pytest.mark.parametrize("answer", [PENDING, STILL_THERE])
    def test_until_what_may_have_shown_it_is_repaired(self, base, answer):
        assert held(base, SLACK, Entry(repair="bolts", answer=answer)) == []
        assert held(base, SLACK, Entry(repair="cable", answer=answer)) == ["stop_bolts"]

    def test_a_sign_seen_after_the_repair_holds(self, base):
        assert held(base, Entry(repair="bolts", answer=PENDING), SLACK) == ["stop_bolts"]

    def test_a_complaint_that_was_still_there_on_the_drive_holds(self, base):
        assert held(base, KNOCKS, Entry(repair="bolts", answer=PENDING)) == []
        assert held(base, KNOCKS, Entry(repair="bolts", answer=STILL_THERE)) == ["stop_knock"]


class TestWhatItForbids:
    def test_nothing_while_none_holds(self, base):
        assert forbidden(base) == set()

    def test_the_engine_as_well_unless_it_is_for_the_road_only(self, base):
        assert forbidden(base, SLACK) == {"drive", "drive_it", "spin"}
        assert forbidden(base, SMOKY) == {"drive", "drive_it"}

    def test_the_base_has_no_notice_that_nobody_has_judged(self, knowledge):
        stops = {c.id for c in knowledge.cautions.values() if c.level == "stop"}
        assert stops == set(ENGINE_MAY_RUN)
        for notice, may_run in ENGINE_MAY_RUN.items():
            assert is_for_the_road_only(knowledge, notice) == may_run


def test_what_an_answer_shows(knowledge, base):
    assert shown(base.checks["smell"], SMOKY) == {"smoky"}
    assert shown(base.checks["smell"], Entry(check="smell", answer="probably not")) == set()
    look = knowledge.checks["pilot_look"]
    for answer in look.answers:
        told = Entry(check=look.id, answer=answer.id)
        assert shown(look, told) == {f for f, w in answer.shows.items() if w in {"yes", "probably"}}


class TestAdvice:
    def test_neither_the_drive_nor_a_check_with_the_engine_running(self, base):
        told = Entry(complaint="drags", answer="yes")
        mended = Entry(repair="cable", answer=PENDING)
        free = advise(assess(base, Case(entries=(told, mended))))
        kinds = {(o.kind, o.id) for o in free.options}
        assert ("drive", "") in kinds
        stopped = advise(assess(base, Case(entries=(told, mended, SLACK))))
        assert stopped.options
        assert not {"drive", "spin", "drive_it"} & {o.id or o.kind for o in stopped.options}

    def test_what_keeps_it_from_being_driven_is_said(self, base):
        told = Entry(complaint="drags", answer="yes")
        mended = Entry(repair="cable", answer=PENDING)
        for entries, said in (
            ((told, mended), False),
            ((told, SLACK), False),
            ((told, mended, SLACK), True),
            ((told, mended, SLACK, Entry(check="spanner", answer="no")), False),
        ):
            found = assess(base, Case(entries=entries))
            reason = advice_reason(found, advise(found))
            assert ("It is not driven while a stop notice holds for “slack”" in reason) == said

    def test_on_the_shipped_base_no_answer_that_stops_leads_to_a_running_engine(self, knowledge):
        setup = knowledge.setups["light_external"]
        start = Case().with_facts(setup.facts, setup=setup.id)
        start = start.with_entry(Entry(complaint="hard_to_select", answer="yes"))
        tried = 0
        for check in knowledge.checks.values():
            if share_that_fits(knowledge, start.facts, check.when) <= 0.0:
                continue
            for answer in [a.id for a in check.answers] or ["yes"]:
                told = Entry(check=check.id, answer=answer)
                if not any(knowledge.observable(f).stop for f in shown(check, told)):
                    continue
                case = start.with_entry(told)
                if not knowledge.levels[check.from_].drivable:
                    case = case.model_copy(update={"stands": check.from_})
                found = assess(knowledge, case)
                holds = stops_that_hold(found.network, case)
                for option in next(advices(found)).options:
                    assert not against(knowledge, holds, option.kind, option.id), told
                tried += 1
        assert tried > 20
