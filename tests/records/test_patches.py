import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.case import Case, Entry
from diagnose.records.patches import changed, data_of, patch_of, patched
from tests.records.made_cases import any_entries, cases

LONG = Case(entries=tuple(Entry(check=f"check_{i}", answer="no") for i in range(300)))


@given(cases(), cases(), any_entries)
def test_a_patch_makes_the_one_case_of_the_other_both_ways(one, other, entries):
    other = other.model_copy(update={"entries": other.entries + entries})
    for before, after in ((one, other), (other, one)):
        sent = json.loads(json.dumps(patch_of(before, after)))
        assert patched(before, sent) == after


@given(cases())
def test_equal_cases_have_an_empty_patch(case):
    assert patch_of(case, case) == {}
    assert patched(case, {}) == case


@given(st.integers(0, 299), st.booleans())
def test_one_answer_changed_in_a_long_case_is_a_small_patch(place, removed):
    if removed:
        after = LONG.model_copy(
            update={"entries": LONG.entries[:place] + LONG.entries[place + 1 :]}
        )
    else:
        after = LONG.with_entry(Entry(check=f"check_{place}", answer="yes"))
    assert len(json.dumps(patch_of(LONG, after))) < 100


def test_a_patch_of_another_case_is_refused():
    patch = patch_of(LONG, LONG.without_entry(299))
    with pytest.raises(ValueError, match="longer case"):
        patched(Case(), patch)


def test_what_a_patch_changes_is_told_in_few_words():
    before = Case(title="a", entries=(Entry(check="one", answer="no"),))
    after = before.with_entry(Entry(check="one", answer="yes"))
    after = after.with_entry(Entry(repair="air", answer="not driven yet"))
    after = after.model_copy(update={"title": "b"})
    assert list(changed(data_of(before), patch_of(before, after))) == [
        ("changed", "title", ""),
        ("changed", "check", "one"),
        ("added", "repair", "air"),
    ]
    assert list(changed(data_of(after), patch_of(after, after.without_entry(0)))) == [
        ("removed", "check", "one")
    ]


def test_entries_between_two_that_changed_are_not_told_as_changed():
    first, middle, last = (Entry(check=n, answer="no") for n in ("one", "two", "three"))
    before = Case(entries=(first, middle, last))
    after = before.with_entry(Entry(check="one", answer="yes"))
    after = after.with_entry(Entry(check="three", answer="yes"))
    told = list(changed(data_of(before), patch_of(before, after)))
    assert told == [("changed", "check", "one"), ("changed", "check", "three")]
