"""Looking back: two others on the very same vehicle, and the belief over time."""

import numpy as np
import pytest

from diagnose.assess import assess
from diagnose.case import Case
from diagnose.planning.problem import DRIVE
from diagnose.practice.appraisal import appraise
from diagnose.practice.checklist import next_on_the_list
from diagnose.practice.drawing import draw_exercise
from diagnose.practice.harm import against_a_stop
from diagnose.practice.review import chance_of_all, review
from diagnose.practice.run import begin
from diagnose.practice.scoring import score
from tests.bench.comeback_shop import Shop
from tests.bench.rivals import checklist
from tests.diagnose.practice.vehicles import AIR, DISC, exercise, moved

PUMP, BLEED, MEND_AIR = ("check", "pump"), ("check", "bleed"), ("repair", "air")


@pytest.fixture(scope="module")
def looked_back(small):
    acts = (("check", "glove_box"), PUMP, BLEED, MEND_AIR, DRIVE)
    return review(small, moved(small, AIR, *acts))


def test_planner_and_check_list_find_what_is_there_on_the_same_vehicle(looked_back):
    for other in (looked_back.planner, looked_back.checklist):
        assert other.end == "verified"
        assert other.exercise == looked_back.run.exercise
        assert MEND_AIR in [m.act for m in other.moves]
    assert looked_back.planner.minutes <= looked_back.run.minutes
    assert score(looked_back.planner).regret == pytest.approx(0.0)
    start = appraise(looked_back.run.shops[0])
    assert looked_back.reckoned == pytest.approx(60.0 * start.best.expected)
    assert looked_back.score.regret >= 1.0


def test_each_point_of_belief_is_the_assessments_own(looked_back, small):
    shops = looked_back.run.shops[:-1]  # the last is after the proof
    assert len(looked_back.belief) == len(shops)
    for point, shop in zip(looked_back.belief, shops, strict=True):
        assert point.minutes == pytest.approx(60.0 * shop.hours)
        assert point.p == pytest.approx(assess(small, shop.case).cause("air").p)
    assert looked_back.belief[-1].p > looked_back.belief[0].p


def test_of_two_faults_the_second_alone_counts_once_the_first_is_shown_to_be_cured(small):
    signs = ["spongy", "bubbles", "long_spin", "bent"]
    both = exercise(["air", "disc"], ["drags", "judders"], signs, seed=3)
    run = moved(small, both, BLEED, MEND_AIR, DRIVE)
    assert run.shop.driven.needed == {"disc"}
    found = review(small, run)
    both_before = chance_of_all(assess(small, run.shops[0].case), frozenset({"air", "disc"}))
    assert found.belief[0].p == pytest.approx(both_before)
    assert found.belief[-1].p == pytest.approx(assess(small, run.case).cause("disc").p)


def test_the_chance_of_two_causes_is_that_of_the_sets_with_both(small):
    found = assess(small, begin(small, DISC).case)
    pair = frozenset({"air", "disc"})
    listed = sum(s.p for s in found.sets if pair <= set(s.ids))
    assert chance_of_all(found, pair) == pytest.approx(listed, abs=1e-6)


def test_what_is_known_already_is_weighed_once(small):
    seen = []

    def look(shop):
        seen.append((shop.case.entries, shop.case.stands))
        return appraise(shop)

    review(small, moved(small, AIR, PUMP, BLEED), look=look)
    assert len(seen) == len(set(seen))


@pytest.mark.parametrize("seed", range(3))
def test_the_check_list_is_the_one_of_the_planners_benchmark(knowledge, seed):
    rng = np.random.default_rng(seed)
    hidden = draw_exercise(knowledge, rng, setup=list(knowledge.setups)[seed])
    shop = begin(knowledge, hidden).shop
    old = Shop(knowledge, shop.at_start, shop.case)
    assert isinstance(shop.case, Case)
    while not shop.over and len(shop.done) < 25:
        found = assess(knowledge, shop.case)
        theirs = checklist(found, old.view())
        mine = next_on_the_list(shop, found)
        if mine != theirs:  # only where the other goes against a stop notice
            assert against_a_stop(shop, theirs) is not None
        shop = shop.after(theirs)
        old.do(theirs)
    assert len(shop.done) > 2
