"""Unsafe moves, all by the base's own cautions and stop notices (trade notes, section 8)."""

import pytest

from diagnose.planning.problem import DRIVE
from diagnose.practice.harm import cautions_before
from diagnose.practice.run import begin
from diagnose.practice.scoring import score
from diagnose.stops import stops_that_hold
from tests.diagnose.practice.vehicles import AIR, BOLTS, exercise, moved

SPIN, ROAD_TEST, SPANNER = ("check", "spin"), ("check", "road_test"), ("check", "spanner")
SMOKY = exercise(["bolts"], ["judders"], ["slack", "smoky"], seed=3)


def test_a_caution_that_was_not_read_stops_it_with_its_text(small):
    run = begin(small, AIR).after(SPIN)
    assert (run.end, run.stopped.notices) == ("stopped", ("running",))
    assert "Wheels chocked." in run.stopped.reason
    assert (run.moves, run.minutes) == ((), 0.0)
    assert begin(small, AIR).reading(["running"]).after(SPIN).end == "running"


def test_a_repair_has_the_cautions_of_its_zone(small):
    assert cautions_before(small, ("repair", "disc")) == ("dust",)
    assert cautions_before(small, ("repair", "air")) == ()
    assert begin(small, AIR).after(("repair", "disc")).stopped.notices == ("dust",)


def test_nobody_drives_against_a_stop_notice(small):
    run = moved(small, BOLTS, DRIVE)
    assert (run.end, run.stopped.notices) == ("stopped", ("stop_knock",))
    assert "switch off" in run.stopped.reason
    assert "knocks" in run.stopped.reason
    assert moved(small, BOLTS, ROAD_TEST).end == "stopped"


def test_a_notice_that_says_do_not_drive_leaves_the_engine_to_run(small):
    smoky = moved(small, SMOKY, ("check", "smell"))
    assert [
        held.notice for held in stops_that_hold(smoky.shop.at_start.network, smoky.shop.case)
    ] == ["stop_smoke"]
    assert smoky.reading(["running"]).after(SPIN).end == "running"
    assert smoky.reading(["road"]).after(DRIVE).end == "stopped"
    assert moved(small, BOLTS, SPIN).end == "stopped"


def test_after_a_repair_that_may_have_taken_it_away_it_is_driven(small):
    assert moved(small, BOLTS, SPANNER, ("repair", "bolts"), DRIVE).end == "verified"
    # The cable never brings a knock.
    assert moved(small, BOLTS, ("repair", "cable"), DRIVE).end == "stopped"


def test_a_complaint_that_is_still_there_after_the_drive_stops_the_next_one(small):
    # Bad luck is drawn with the vehicle's seed: where the repair fails, the knock is still there.
    for seed in range(200):
        hidden = BOLTS.model_copy(update={"seed": seed})
        run = moved(small, hidden, ("repair", "bolts"), DRIVE)
        if run.end == "running":
            break
    else:
        pytest.fail("no repair failed in 200 vehicles")
    assert [held.sign for held in stops_that_hold(run.shop.at_start.network, run.shop.case)] == [
        "knocks"
    ]
    assert run.after(DRIVE).end == "stopped"


def test_pulling_before_the_complaint_was_verified_is_dear_and_not_unsafe(small):
    run = moved(small, AIR, ("check", "turn"))
    assert run.end == "running"
    found = score(run)
    assert found.moves[0].regret > 60.0
    assert not found.verified_complaint
