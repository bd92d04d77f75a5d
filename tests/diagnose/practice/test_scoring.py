"""What moves cost: nothing for the planner's own, at most their own minutes for needless ones."""

import numpy as np
import pytest

from diagnose.planning.problem import DRIVE, HAND_OVER
from diagnose.practice.appraisal import appraise
from diagnose.practice.run import begin, possible_moves
from diagnose.practice.scoring import act_words, confirming, score
from diagnose.practice.telling import could_tell
from tests.diagnose.practice.vehicles import AIR, BOLTS, DISC, exercise, moved

PUMP, BLEED, GLOVE_BOX = ("check", "pump"), ("check", "bleed"), ("check", "glove_box")
MEND_AIR = ("repair", "air")


@pytest.fixture(scope="module")
def at_start(small):
    return appraise(begin(small, AIR).shop)


def test_the_planners_move_has_no_regret_and_every_other_has_its_own_advice_figure(at_start):
    assert at_start.regret((at_start.best.kind, at_start.best.id)) == 0.0
    for option in at_start.advice.options:
        more = 60.0 * (option.expected - at_start.advice.expected)
        assert 0.0 <= at_start.regret((option.kind, option.id)) <= more + 1e-9


def test_no_move_costs_more_than_its_minutes_and_ways_for_one_can_go_on_as_before(small, at_start):
    assert at_start.best.level == "seat"
    ways = {"seat": 0.0, "under": 30.0, "out": 60 * 7.5}
    for act in possible_moves(begin(small, AIR)):
        if act[0] == "check":
            record = small.checks[act[1]]
            assert at_start.regret(act) <= record.minutes + ways[record.from_] + 1e-9
        elif act[0] == "repair":
            repair = small.causes[act[1]].repair
            assert at_start.regret(act) <= 60 * repair.hours + ways[repair.from_] + 1e-9
    assert at_start.regret(DRIVE) <= 20.0 + 1e-9
    assert at_start.regret(GLOVE_BOX) == pytest.approx(1.0, abs=0.01)
    assert at_start.regret(HAND_OVER) > 60.0


def test_what_tells_nothing_is_redundant_and_so_is_what_was_seen_already(small):
    found = score(moved(small, AIR, PUMP, GLOVE_BOX, PUMP))
    assert [m.redundant for m in found.moves] == [False, True, True]
    assert found.redundant == 2
    assert found.moves[2].regret == pytest.approx(3.0)


def test_a_check_is_redundant_only_if_no_answer_could_have_told_anything(small, at_start):
    """By enumeration of its answers: belief moved by 2 in 100, or another step cheapest."""
    plan, look = at_start._plan, at_start._look
    known = plan.problem.needs[:, : plan.causes.index("unknown")]
    before = plan.state.weights @ known
    could_have = 0
    for test in plan.problem.tests:
        could = could_tell(at_start.assessment, plan, look, test.key)
        moved = 0.0
        for row in test.likelihood:
            p = float(row @ plan.state.weights)
            if p >= 0.005:
                belief = (row * plan.state.weights / p) @ known
                moved = max(moved, float(abs(belief - before).max()))
        assert could or moved < 0.02
        could_have += could
    assert could_have > 3


def test_the_answer_that_came_has_no_part_in_whether_a_check_was_redundant(small):
    """The same look, finding the fault or not, is judged alike: it could have told."""
    turn = ("check", "turn")
    found, nothing = score(moved(small, DISC, turn)), score(moved(small, AIR, turn))
    assert not found.moves[0].redundant
    assert not nothing.moves[0].redundant


def test_verifying_the_complaint_counts_before_anything_is_done(small):
    assert confirming(small)["drags"] == {"long_spin"}
    spin = ("check", "spin")
    assert score(moved(small, AIR, spin, MEND_AIR)).verified_complaint
    assert score(moved(small, AIR, DRIVE)).verified_complaint
    assert not score(moved(small, AIR, PUMP, MEND_AIR, DRIVE)).verified_complaint
    assert not score(moved(small, AIR, MEND_AIR, spin)).verified_complaint
    assert not score(moved(small, DISC, ("check", "turn"), spin)).verified_complaint


def test_the_first_drive_has_no_regret_and_a_second_has(small):
    found = score(moved(small, AIR, DRIVE, DRIVE))
    assert found.moves[0].regret == 0.0
    assert found.moves[1].regret == pytest.approx(20.0)


def test_the_repair_is_verified_by_the_drive_and_not_by_giving_it_back(small):
    mended = moved(small, AIR, BLEED, MEND_AIR)
    driven = score(moved(small, AIR, BLEED, MEND_AIR, DRIVE))
    back = score(mended.giving_back())
    lost = score(begin(small, AIR).giving_back())
    assert (driven.verified_repair, driven.solved) == (True, True)
    assert (back.verified_repair, back.solved) == (False, True)
    assert (lost.verified_repair, lost.solved) == (False, False)
    assert driven.least == pytest.approx(15 + 30 + 15 + 20)
    assert driven.minutes == pytest.approx(driven.least + 10)


def test_giving_it_back_is_a_drive_and_a_handing_over_as_often_as_it_is_not_cured(small):
    """Undone work is no quick way out: uncured it comes back, and somebody begins anew."""
    untouched, given_up = (
        score(begin(small, AIR).giving_back()),
        score(moved(small, AIR, HAND_OVER)),
    )
    assert untouched.minutes == given_up.minutes
    assert untouched.regret == pytest.approx(given_up.regret + 20.0, abs=0.5)  # and the drive
    mended = moved(small, AIR, BLEED, MEND_AIR)
    at = appraise(mended.shop)
    state, problem = at._plan.state, at._plan.problem
    ill = 1.0 - state.weights[problem.well].sum()
    again = state.weights @ np.where(problem.well, 0.0, problem.hand_over)
    assert 0.0 < ill < 0.5
    assert at._given_back() == pytest.approx(15 / 60 + 20 / 60 + again)
    assert at.regret(None) > at.regret(DRIVE)


def test_pulls_and_those_in_vain_are_counted(small):
    turn, mend_disc = ("check", "turn"), ("repair", "disc")
    right, wrong = (
        score(moved(small, DISC, turn, mend_disc, DRIVE)),
        score(moved(small, AIR, turn, BLEED, MEND_AIR, DRIVE)),
    )
    assert (right.pulls, right.wrong_pulls) == (1, 0)
    assert (wrong.pulls, wrong.wrong_pulls) == (1, 1)


def test_an_unsafe_end_counts_as_handed_over_there(small):
    unsafe, given_up = moved(small, BOLTS, DRIVE), moved(small, BOLTS, HAND_OVER)
    assert score(unsafe).regret == pytest.approx(score(given_up).regret)
    assert score(unsafe).reason == unsafe.stopped.reason
    assert not score(unsafe).solved


def test_the_cheapest_move_is_never_an_unsafe_one(small):
    smoky = exercise(["bolts"], ["knocks", "judders"], ["slack", "smoky"])
    appraisal = appraise(moved(small, smoky, ("repair", "cable")).shop)
    kinds = {(o.kind, o.id) for o in appraisal.options}
    assert DRIVE not in kinds
    assert HAND_OVER in kinds


def test_moves_are_named_in_words(small):
    assert act_words(small, None) == "give it back without a drive"
    assert act_words(small, ("repair", "air")) == "put right: air"
    assert act_words(small, DRIVE) == "drive it"
    assert act_words(small, ("ask", "drags")) == "ask the driver: Is it so?"
