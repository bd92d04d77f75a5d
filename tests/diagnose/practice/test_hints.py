"""Hints: three steps, each saying more, worked out from what is known and from nothing else."""

import re

import pytest

from diagnose.practice.appraisal import appraise
from diagnose.practice.hints import hint
from diagnose.practice.run import begin
from tests.diagnose.practice.vehicles import AIR, DISC, moved

PUMP, BLEED = ("check", "pump"), ("check", "bleed")


@pytest.fixture(scope="module")
def points(small):
    return [appraise(moved(small, AIR, *acts).shop) for acts in ((), (PUMP,), (PUMP, BLEED))]


def test_the_last_step_names_what_is_advised_and_the_first_two_do_not(points):
    for point in points:
        first, second, third = (hint(point, step).text for step in (1, 2, 3))
        named = re.compile(rf"\b{re.escape(point.best.name)}\b", re.IGNORECASE)
        assert not named.search(first)
        assert not named.search(second)
        assert named.search(third)


def test_the_first_step_says_where_and_which_zone_leads(points, small):
    level = small.levels[points[2].best.level].name
    text = hint(points[2], 1).text
    assert level in text
    assert "“somewhere” leads" in text


def test_the_second_step_says_which_kind(points, small):
    kinds = {"check": "A look at one sign", "repair": "One cause is likely enough"}
    for point in points:
        assert hint(point, 2).text.startswith(kinds[point.best.kind])


def test_hints_know_nothing_of_what_is_hidden(small):
    one, other = begin(small, AIR), begin(small, DISC)
    assert one.case == other.case
    for step in (1, 2, 3):
        assert hint(appraise(one.shop), step) == hint(appraise(other.shop), step)


def test_there_are_three_steps(points):
    for step in (0, 4):
        with pytest.raises(ValueError, match="1 to 3"):
            hint(points[0], step)
