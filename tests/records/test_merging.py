"""Three-way merging: laws that hold for all cases, and the plain stories behind them."""

from hypothesis import example, given

from diagnose.case import Case, Entry, Found
from diagnose.records import merging
from diagnose.records.merging import Conflict, merged, resolved
from diagnose.records.patches import data_of
from diagnose.records.timelines import asks_the_same, merged_timeline, says
from tests.records.made_cases import any_entries, cases, two_seats


def check(name, answer, at="", **more):
    return Entry(check=name, answer=answer, at=f"2026-03-02T{at}+01:00" if at else "", **more)


def repair(name, answer, at=""):
    return Entry(repair=name, answer=answer, at=f"2026-03-02T{at}+01:00" if at else "")


def gives(entries, wanted):
    return any(asks_the_same(e, wanted) and says(e) == says(wanted) for e in entries)


def others(conflicts):
    return [entry for c in conflicts for entry in c.entries if entry is not None]


def new_answers(base, side):
    """Entries whose question was answered like that more often than in the base."""

    def often(entries, wanted):
        return sum(gives([e], wanted) for e in entries)

    return [e for e in side if often(side, e) > often(base, e)]


class TestLaws:
    @given(two_seats())
    def test_no_answer_of_either_is_lost(self, seats):
        base, mine, theirs = seats
        found = merged(base, mine, theirs)
        for entry in new_answers(base.entries, theirs.entries):
            assert gives(found.case.entries, entry)
        for entry in new_answers(base.entries, mine.entries):
            assert gives((*found.case.entries, *others(found.conflicts)), entry)

    @given(any_entries, any_entries, any_entries)
    def test_no_answer_is_lost_in_timelines_of_any_make(self, base, mine, theirs):
        entries, clashes = merged_timeline(base, mine, theirs)
        for entry in new_answers(base, theirs):
            assert gives(entries, entry)
        for entry in new_answers(base, mine):
            assert gives((*entries, *(c.other for c in clashes if c.other)), entry)

    @given(two_seats())
    def test_what_nobody_touched_stays(self, seats):
        base, mine, theirs = seats
        found = merged(base, mine, theirs).case
        for entry in base.entries:
            if entry in mine.entries and entry in theirs.entries:
                assert entry in found.entries

    @given(cases(), cases())
    def test_with_nothing_changed_the_result_is_the_other(self, base, changed):
        assert merged(base, base, changed) == merged(base, changed, base)
        assert merged(base, base, changed).case == changed
        assert merged(base, changed, base).conflicts == ()

    @given(any_entries, any_entries)
    def test_timelines_with_nothing_changed_give_the_other(self, base, changed):
        assert merged_timeline(base, base, changed) == (changed, ())
        assert merged_timeline(base, changed, base) == (changed, ())

    @given(cases(), cases())
    def test_identical_changes_make_no_conflict(self, base, changed):
        assert merged(base, changed, changed).conflicts == ()
        assert merged(base, changed, changed).case == changed
        assert merged_timeline(base.entries, changed.entries, changed.entries) == (
            changed.entries,
            (),
        )

    @given(two_seats())
    def test_every_field_is_as_one_of_both_has_it_or_told_as_a_conflict(self, seats):
        base, mine, theirs = seats
        found = merged(base, mine, theirs)
        told = {c.field for c in found.conflicts}
        for name in ("title", "words", "stands", "found", "limit", "labour", "setup"):
            old, my, their = (getattr(case, name) for case in seats)
            kept = getattr(found.case, name)
            assert kept == (their if my == old else my) or name in told
            assert name not in told or (kept == their and their != old)

    @given(two_seats())
    def test_the_result_is_a_case_that_can_be_kept(self, seats):
        found = merged(*seats).case
        assert Case.model_validate(data_of(found)) == found

    @given(two_seats())
    def test_the_other_answer_is_in_the_case_once_it_is_chosen(self, seats):
        found = merged(*seats)
        for conflict in found.conflicts:
            chosen = resolved(found.case, conflict)
            _, other = conflict.entries
            if other is not None:
                assert gives(chosen.entries, other)
            elif conflict.field in {"kit", "parts", "hours"}:
                assert getattr(chosen, conflict.field).get(conflict.key) == conflict.other

    @given(two_seats())
    @example((Case(), Case(moved=0.5), Case(moved=2.0)))
    def test_hours_of_both_are_added_up(self, seats):
        base, mine, theirs = seats
        if mine.moved != theirs.moved:
            both = theirs.moved + mine.moved - base.moved
            assert merged(base, mine, theirs).case.moved == max(0.0, round(both, 6))


class TestTimeline:
    def test_what_both_added_is_in_the_order_of_time(self):
        mine = Case().with_entry(check("a", "no", "09:10")).with_entry(check("c", "no", "09:30"))
        theirs = Case().with_entry(check("b", "no", "09:20")).with_entry(check("d", "no", "09:40"))
        found = merged(Case(), mine, theirs)
        assert [e.check for e in found.case.entries] == ["a", "b", "c", "d"]
        assert found.conflicts == ()

    def test_one_question_answered_differently_by_both_is_a_conflict(self):
        mine = Case().with_entry(check("a", "yes", "09:10", hours=0.2))
        theirs = Case().with_entry(check("a", "no", "09:20", hours=0.1))
        found = merged(Case(), mine, theirs)
        assert [e.answer for e in found.case.entries] == ["no"]
        assert found.case.entries[0].hours == 0.3
        assert [c.entries for c in found.conflicts] == [(theirs.entries[0], mine.entries[0])]

    def test_one_question_answered_the_same_by_both_is_no_conflict(self):
        mine = Case().with_entry(check("a", "yes", "09:10", by="ada", note="seen"))
        theirs = Case().with_entry(check("a", "yes", "09:20", by="ben"))
        found = merged(Case(), mine, theirs)
        assert found.conflicts == ()
        assert found.case.entries == (check("a", "yes", "09:20", by="ben", note="seen"),)

    def test_an_answer_before_a_repair_and_one_after_it_are_two(self):
        base = Case().with_entry(check("a", "yes", "08:00"))
        theirs = base.with_entry(repair("air", "still there", "09:00"))
        theirs = theirs.with_entry(check("b", "no", "09:30"))
        mine = base.with_entry(check("b", "yes", "08:30"))
        found = merged(base, mine, theirs)
        assert [(e.subject[1], e.answer) for e in found.case.entries] == [
            ("a", "yes"),
            ("b", "yes"),
            ("air", "still there"),
            ("b", "no"),
        ]
        assert found.conflicts == ()

    def test_a_later_answer_is_held_against_the_one_after_the_repair(self):
        base = Case().with_entry(check("a", "yes", "08:00"))
        theirs = base.with_entry(repair("air", "still there", "09:00"))
        theirs = theirs.with_entry(check("b", "no", "09:30"))
        mine = base.with_entry(check("b", "yes", "09:20"))
        found = merged(base, mine, theirs)
        assert [e.answer for e in found.case.entries] == ["yes", "still there", "no"]
        assert [c.key for c in found.conflicts] == ["check b"]

    def test_an_answer_that_one_removed_and_the_other_changed_is_not_lost(self):
        base = Case().with_entry(check("a", "yes"))
        removed, changed = base.without_entry(0), base.with_entry(check("a", "no"))
        first = merged(base, removed, changed)
        assert first.case.entries == changed.entries
        assert first.conflicts[0].entries == (changed.entries[0], None)
        second = merged(base, changed, removed)
        assert second.case.entries == ()
        assert second.conflicts[0].entries == (None, changed.entries[0])
        assert resolved(second.case, second.conflicts[0]).entries == changed.entries
        assert resolved(first.case, first.conflicts[0]).entries == ()

    def test_a_note_of_one_and_an_answer_of_the_other_are_both_kept(self):
        base = Case().with_entry(check("a", "yes"))
        mine = base.with_entry(check("a", "yes", note="cold"))
        theirs = base.with_entry(check("a", "no"))
        found = merged(base, mine, theirs)
        assert found.case.entries == (check("a", "no", note="cold"),)
        assert found.conflicts == ()


class TestFields:
    def test_two_titles_are_a_conflict_and_the_first_counts(self):
        found = merged(Case(), Case(title="mine"), Case(title="theirs"))
        assert found.case.title == "theirs"
        assert found.conflicts == (Conflict("title", "", {"title": "theirs"}, {"title": "mine"}),)
        assert resolved(found.case, found.conflicts[0]).title == "mine"

    def test_a_limit_comes_with_the_hours_it_counts_from(self):
        mine, theirs = Case(limit=5.0, limit_from=1.0), Case(limit=8.0, limit_from=2.0)
        found = merged(Case(), mine, theirs)
        assert (found.case.limit, found.case.limit_from) == (8.0, 2.0)
        chosen = resolved(found.case, found.conflicts[0])
        assert (chosen.limit, chosen.limit_from) == (5.0, 1.0)

    def test_two_set_ups_are_never_mixed(self):
        mine = Case().with_facts({"release": ("cable",), "discs": ("one",)}, setup="car")
        theirs = Case().with_facts({"release": ("hydraulic",)}, setup="truck")
        found = merged(Case(), mine, theirs)
        assert (found.case.setup, found.case.facts) == ("truck", theirs.facts)
        chosen = resolved(found.case, found.conflicts[0])
        assert (chosen.setup, chosen.facts) == ("car", mine.facts)

    def test_keys_are_merged_one_by_one(self):
        base = Case(kit={"bore": "19 mm", "stroke": "30 mm"})
        mine = base.with_kit({"bore": "20 mm", "stroke": "30 mm", "lift": "9 mm"})
        theirs = base.with_kit({"bore": "21 mm"})
        found = merged(base, mine, theirs)
        assert found.case.kit == {"bore": "21 mm", "lift": "9 mm"}
        assert found.conflicts == (Conflict("kit", "bore", "21 mm", "20 mm"),)
        assert resolved(found.case, found.conflicts[0]).kit == {"bore": "20 mm", "lift": "9 mm"}

    def test_what_was_found_can_be_a_conflict_too(self):
        mine, theirs = Case(found=Found(causes=("air",))), Case(found=Found(causes=("disc",)))
        found = merged(Case(), mine, theirs)
        assert resolved(found.case, found.conflicts[0]).found == mine.found

    def test_what_both_skipped_is_in_once_and_what_one_took_back_is_out(self):
        base = Case(skipped=("a", "b"))
        mine, theirs = Case(skipped=("b", "c")), Case(skipped=("a", "b", "c", "d"))
        assert merged(base, mine, theirs).case.skipped == ("b", "c", "d")


def test_every_field_of_a_case_is_merged():
    """A new field has to be put somewhere: what one seat wrote there would be lost."""
    by_one_name = {*merging._ALONE, *merging._BY_KEY, *merging._LISTS}
    together = {name for names in merging._TOGETHER for name in names}
    # Hours that were moved add up; the ranking is worked out anew by whoever shows the case.
    own_way = {"entries", "moved", "setup", "facts", "ranked"}
    assert by_one_name | together | own_way == set(Case.model_fields)
