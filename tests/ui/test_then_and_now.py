"""What a case came to when it was left, held against what it comes to now."""

from dataclasses import replace

import pytest

from diagnose.assess import assess
from diagnose.case import Case, Entry, Leading, weighed_digest
from ui.then_and_now import LEADING, difference, ranked, unranked

CASE = Case(entries=(Entry(complaint="gears_grind", answer="yes"),))


@pytest.fixture(scope="module")
def found(knowledge):
    return assess(knowledge, CASE)


@pytest.fixture
def left(found):
    return ranked(CASE, found)


def with_old(case, **changes):
    old = case.ranked.model_copy(update={"knowledge": "of old", **changes})
    return case.model_copy(update={"ranked": old})


def test_the_leading_causes_are_kept_with_their_chances(found, left, knowledge):
    assert left.knowledge == left.ranked.knowledge == knowledge.version
    assert [(x.cause, x.p) for x in left.ranked.leading] == [
        (c.id, pytest.approx(c.p, abs=1e-4)) for c in found.causes[:LEADING]
    ]
    assert unranked(left) == unranked(CASE)
    assert Case.model_validate(left.model_dump()) == left


def test_with_the_same_knowledge_there_is_nothing_to_compare(found, left):
    assert difference(CASE, found) is None
    assert difference(left, found) is None


def test_other_answers_are_not_compared(found, left):
    case = with_old(left).with_entry(Entry(complaint="slips", answer="no"))
    assert difference(case, found) is None


def test_the_same_chances_do_not_matter(found, left):
    told = difference(with_old(left), found)
    assert not told.matters
    assert [row.cause for row in told.rows] == [c.id for c in found.causes[:LEADING]]
    assert all(row.then == pytest.approx(row.now, abs=1e-4) for row in told.rows)


def test_another_leader_matters_and_who_is_gone_is_told_by_its_id(found, left):
    leading = (Leading(cause="long_gone", p=0.3), *left.ranked.leading[:4])
    told = difference(with_old(left, leading=leading), found)
    assert told.matters
    assert told.rows[-1].name == "long gone"
    assert (told.rows[-1].then, told.rows[-1].now) == (0.3, 0.0)
    fifth = next(row for row in told.rows if row.cause == found.causes[4].id)
    assert fifth.then is None


@pytest.mark.parametrize(("by", "matters"), [(0.04, False), (0.06, True)])
def test_a_chance_that_moved_by_five_in_a_hundred_matters(found, left, by, matters):
    first, *rest = left.ranked.leading
    moved = (first.model_copy(update={"p": first.p + by}), *rest)
    assert difference(with_old(left, leading=moved), found).matters == matters


def test_another_base_is_told_by_its_version(left, knowledge):
    newer = replace(knowledge, version="newer")
    told = difference(left, assess(newer, CASE))
    assert (told.then, told.now) == (knowledge.version, "newer")
    assert weighed_digest(CASE) == left.ranked.weighed
