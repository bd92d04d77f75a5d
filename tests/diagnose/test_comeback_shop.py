"""The simulated shop of the planner's benchmark: hours, pulls and ends, counted by hand.

Levels of the small base: under 0.25 h in and out, gearbox out 4 h in and 3 h out, cover off 0.5 h
each way. A drive takes 20 minutes, handing over 8 h.
"""

import numpy as np
import pytest

from diagnose.case import Case
from diagnose.planning.problem import DRIVE, HAND_OVER
from diagnose.simulate import draw
from tests.bench.comeback_shop import MOST_ACTS, Shop, play
from tests.small_bases import make_base

ROAD = 20.0 / 60.0
LOOK, SHALLOW, DEEP = ("check", "look"), ("repair", "shallow"), ("repair", "deep")
TO_FIX = 4.75 + 0.5 + 3.75 + ROAD  # all the way in, the repair, and out


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    """What is deep brings the complaint, what is shallow does not; all repairs are sure."""
    return make_base(
        tmp_path_factory.mktemp("base") / "base",
        scale={"strength": {"always": 1.0, "often": 0.5, "hardly ever": 0.02, "never": 0.0}},
        complaints={
            "sticks": {"unexplained": "never"},
            "rattles": {"unexplained": "always"},
        },
        findings={"off": {}},
        causes={
            "deep": {"brings": {"sticks": 1.0}, "repair": {"from": "apart"}},
            "shallow": {"shows": {"off": 0.5}, "repair": {"from": "under"}},
        },
        checks={"look": {"finding": "off", "from": "out"}},
    )


def shop_with(base, causes, told=("sticks",), **how):
    """A shop with a comeback of which the driver tells just this."""
    rng = np.random.default_rng(1)
    drawn = draw(base, Case(), rng, causes=causes)
    while drawn.told != told:
        drawn = draw(base, Case(), rng, causes=causes)
    return Shop(base, drawn, drawn.case, **how)


def hours(shop, *acts):
    """Hours after each act."""
    found = []
    for act in acts:
        shop.do(act)
        found.append(shop.hours)
    return pytest.approx(np.diff(found, prepend=0.0).tolist())


def test_a_way_in_and_out_is_paid_as_it_is_taken(base):
    shop = shop_with(base, ["deep", "shallow"])
    acts = (LOOK, SHALLOW, DRIVE, DEEP, DRIVE)
    assert hours(shop, *acts) == [4.35, 3.5, 0.25 + ROAD, 4.75 + 0.5, 3.75 + ROAD]
    assert shop.over
    outcome = shop.outcome()
    assert (outcome.pulls, outcome.wrong_pulls, outcome.repairs, outcome.drives) == (2, 1, 2, 2)
    assert outcome.least == pytest.approx(TO_FIX)
    assert (outcome.needed, outcome.inside, outcome.mendable) == (1, True, True)
    assert not outcome.handed_over


def test_a_repair_is_told_as_pending_and_after_a_drive_as_one_that_did_not_help(base):
    shop = shop_with(base, ["deep", "shallow"])
    shop.do(SHALLOW)
    assert (shop.view().pending, shop.view().tried) == ({"shallow"}, {"shallow"})
    shop.do(DRIVE)
    view = shop.view()
    assert (view.pending, view.tried, view.failed, view.here) == (set(), {"shallow"}, 1, 0)
    assert view.case.entries[-1].answer == "still there"


def test_who_takes_over_is_paid_with_the_way_out_and_the_fix(base):
    shop = shop_with(base, ["deep"])
    assert hours(shop, LOOK, HAND_OVER) == [4.35, 3.25 + 8.0 + TO_FIX]
    assert (shop.outcome().handed_over, shop.outcome().wrong_pulls) == (True, 1)
    with pytest.raises(ValueError, match="left"):
        shop.do(DRIVE)


def test_what_nothing_wrong_brings_is_left_out_of_the_proof_unless_it_is_strict(base):
    told = ("rattles", "sticks")
    shop = shop_with(base, ["deep"], told)
    shop.do(DEEP)
    shop.do(DRIVE)
    assert shop.over
    assert shop.outcome().mendable
    shop = shop_with(base, ["deep"], told, strict=True)
    shop.do(DEEP)
    shop.do(DRIVE)
    assert not shop.over
    # What has gone is told, so that it is no longer looked for.
    assert shop.case.answer_to(("complaint", "sticks")) == "no"
    assert shop.case.answer_to(("complaint", "rattles")) == "yes"


def test_where_nothing_can_be_mended_only_handing_over_ends_it(base):
    shop = shop_with(base, ["deep"], ("rattles",))
    shop.do(DEEP)
    shop.do(DRIVE)
    assert not shop.over
    shop.do(HAND_OVER)
    assert shop.outcome().least == pytest.approx(8.0 + ROAD)


def test_a_driver_tells_of_the_last_drive_and_a_look_of_now(base):
    shop = shop_with(base, ["deep", "shallow"])
    shop.do(DEEP)
    shop.do(("ask", "sticks"))
    assert shop.case.answer_to(("complaint", "sticks")) == "yes"
    assert "sticks" not in shop.now.there


def test_without_an_end_it_is_handed_over(base):
    shop = shop_with(base, ["deep"])
    outcome = play(shop, lambda _: LOOK)
    assert (outcome.guarded, outcome.handed_over, outcome.checks) == (True, True, MOST_ACTS)
