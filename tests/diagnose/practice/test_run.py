"""A running exercise: moves are paid, answers are one vehicle's, and it ends as it should."""

import numpy as np
import pytest

from diagnose.planning.problem import DRIVE, HAND_OVER
from diagnose.practice.drawing import draw_exercise
from diagnose.practice.exercise import ExerciseError
from diagnose.practice.harm import cautions_before
from diagnose.practice.run import begin, play, possible_moves
from tests.diagnose.practice.vehicles import AIR, DISC, moved

PUMP, BLEED, TURN = ("check", "pump"), ("check", "bleed"), ("check", "turn")
MEND_AIR, MEND_DISC = ("repair", "air"), ("repair", "disc")
ROAD = 20.0


def test_each_move_is_paid_with_its_way(small):
    run = moved(small, AIR, PUMP, BLEED, MEND_AIR, DRIVE)
    # Under the vehicle is a quarter of an hour away, and again back; the repair half an hour.
    assert [m.minutes for m in run.moves] == pytest.approx([3, 15 + 10, 30, 15 + ROAD])
    assert run.minutes == pytest.approx(3 + 25 + 30 + 35)
    assert run.end == "verified"


def test_the_same_question_gets_the_same_answer_and_a_repair_changes_it(small):
    run = moved(small, AIR, PUMP, PUMP, BLEED, PUMP)
    answers = [m.entry.answer for m in run.moves if m.entry.check == "pump"]
    assert len(set(answers)) == 1
    after = moved(small, AIR, BLEED, MEND_AIR, BLEED)
    assert (after.moves[0].entry.answer, after.moves[2].entry.answer) == ("yes", "no")


def test_a_move_makes_the_next_run_and_leaves_the_one_before(small):
    start = begin(small, AIR)
    then = start.after(PUMP)
    assert (len(start.moves), start.minutes) == (0, 0.0)
    assert (len(then.moves), len(then.shops)) == (1, 2)


def test_hints_count_for_the_move_they_were_taken_before(small):
    run = begin(small, AIR).hinted().hinted().after(PUMP).after(("check", "rule"))
    assert [m.hints for m in run.moves] == [2, 0]
    assert begin(small, AIR).hinted().hinted().hinted().hinted().hints == 3


def test_it_ends_by_a_drive_that_shows_the_cure_or_by_giving_up(small):
    assert moved(small, DISC, TURN, MEND_DISC).end == "running"
    assert moved(small, DISC, TURN, MEND_DISC, DRIVE).end == "verified"
    assert moved(small, DISC, HAND_OVER).end == "handed over"
    back = moved(small, DISC, TURN, MEND_DISC).giving_back()
    assert (back.end, back.moves[-1].act) == ("given back", None)
    assert back.moves[-1].minutes == pytest.approx(60 * 3.25)
    with pytest.raises(ExerciseError, match="over"):
        back.after(PUMP)
    untouched = begin(small, DISC).giving_back()
    assert untouched.end == "given back"
    # It comes back, and somebody begins anew.
    assert untouched.minutes == pytest.approx(moved(small, DISC, HAND_OVER).minutes)
    with pytest.raises(ExerciseError, match="over"):
        back.giving_back()


def test_a_move_that_the_vehicle_does_not_have_is_refused(knowledge, small):
    with pytest.raises(ExerciseError, match="can't be done"):
        begin(small, AIR).after(("check", "x_ray"))
    kinds = [kind for kind, _ in possible_moves(begin(small, AIR))]
    assert {k: kinds.count(k) for k in kinds} == {
        "ask": 3,
        "check": 10,
        "repair": 4,
        "drive": 1,
        "hand_over": 1,
    }


def test_without_an_end_it_is_handed_over(small):
    run = play(begin(small, AIR), lambda _: PUMP, most=5)
    assert (run.end, len(run.moves)) == ("handed over", 6)


def test_readings_come_from_the_one_vehicle_that_was_drawn(knowledge):
    rng = np.random.default_rng(2)
    run = begin(knowledge, draw_exercise(knowledge, rng, setup="twin_external"))
    gauges = [c.id for c in knowledge.checks.values() if c.gauge and c.from_ == "seat"]
    asked = [("check", name) for name in gauges if ("check", name) in possible_moves(run)]
    for act in (*asked, *reversed(asked)):
        run = run.reading(cautions_before(knowledge, act)).after(act)
    said = [(m.entry.check, m.entry.answer, m.entry.reading) for m in run.moves]
    assert any(reading for _, _, reading in said)
    assert said[: len(asked)] == said[: len(asked) - 1 : -1]
