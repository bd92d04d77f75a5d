"""What the Line room says, without a window: rows, timeline, lists and notes."""

from dataclasses import replace

import pytest

from diagnose.assess import assess
from diagnose.case import Case, Entry, Found
from diagnose.planning.advice import advices
from diagnose.records.alike import likeness
from diagnose.records.connecting import sqlite_url
from diagnose.records.glances import Glance
from diagnose.records.kept import Change, KeptConflict, Listed, State, What
from diagnose.records.merging import Conflict
from diagnose.records.patches import data_of
from diagnose.records.store import open_store
from ui.line.caller import Caller, Complaints, caller, new_case
from ui.line.conflicts import both
from ui.line.follow_up import INSIDE, OUTSIDE, follow_up, items, spoken
from ui.line.handover import LONGEST, handover
from ui.line.likeness import likeness_words, row
from ui.line.listing import Found as Hit
from ui.line.listing import count_of, look_up, rows, shown_words, steady, waiting_words
from ui.line.moments import brief, when
from ui.line.timeline import timeline
from ui.questions import question_for

NOW = "2026-03-04T15:06+01:00"
COMPLAINT, OTHER = "gears_grind", "slips"
CHECK = "slip_test"


def graded(base, count):
    """Ids of checks with grades."""
    return [c.id for c in base.checks.values() if c.finding is not None and c.gauge is None][:count]


def told(*complaints, **answers):
    entries = [Entry(complaint=c, answer="yes", by="Odrin", at=NOW) for c in complaints]
    entries += [Entry(check=c, answer=a, by="Odrin", at=NOW) for c, a in answers.items()]
    return Case(entries=tuple(entries))


@pytest.fixture(scope="module")
def advised(knowledge):
    case = told(COMPLAINT)
    assessment = assess(knowledge, case)
    return assessment, next(advices(assessment))


class TestTimes:
    @pytest.mark.parametrize(
        ("at", "said"),
        [
            ("2026-03-04T09:05+01:00", "today 09:05"),
            ("2026-03-03T23:59+01:00", "yesterday 23:59"),
            ("2026-03-03T23:30+00:00", "today 00:30"),
            ("2025-12-24T10:00+01:00", "24 Dec 2025, 10:00"),
            ("about noon", "about noon"),
        ],
    )
    def test_a_time_is_told_where_the_clock_of_this_seat_stands(self, at, said):
        assert when(at, NOW) == said

    @pytest.mark.parametrize(
        ("at", "said"),
        [
            ("2026-03-04T09:05+01:00", "09:05"),
            ("2026-03-03T23:59+01:00", "yesterday"),
            ("2026-02-24T10:00+01:00", "24 Feb"),
            ("2025-12-24T10:00+01:00", "24 Dec 2025"),
            ("about noon", "about noon"),
        ],
    )
    def test_the_list_tells_it_in_few_letters(self, at, said):
        assert brief(at, NOW) == said


def hit(case_id, title="", state=State.OPEN, complaints=(), words=""):
    listed = Listed(case_id, title, state, 1, 2, "2026-03-04T14:02+01:00", "Odrin")
    return Hit(listed, Glance(complaints, words))


class TestList:
    def test_a_row_tells_complaint_state_answers_who_and_when(self, knowledge):
        made = rows(
            knowledge,
            [hit("a", "Hollin, grey van", State.WAITING_PARTS, (COMPLAINT,))],
            "a",
            NOW,
        )[0]
        assert made.title == "Hollin, grey van"
        name = knowledge.complaints[COMPLAINT].name
        assert made.lines[0].lower() == name
        assert made.lines[1:] == ("Waiting for parts, 2 answers, Odrin",)
        assert made.when == "14:02"
        assert made.here
        assert not made.closed

    def test_without_a_complaint_the_driver_is_quoted_shortly(self, knowledge):
        short, long = rows(
            knowledge, [hit("a", words="it howls"), hit("b", words="howl " * 60)], "", NOW
        )
        assert short.lines[0] == "“it howls”"
        assert long.lines[0].endswith(" …”")
        assert len(long.lines[0]) < 90

    def test_cases_keep_their_places_and_new_ones_come_on_top(self):
        found = [hit("c"), hit("new"), hit("a"), hit("b")]
        assert [f.listed.id for f in steady(["a", "b", "c"], found)] == ["new", "a", "b", "c"]
        assert [f.listed.id for f in steady([], found)] == ["c", "new", "a", "b"]

    def test_older_cases_come_at_the_end(self):
        found = [hit(name) for name in ("new", "b", "a", "older", "oldest")]
        kept = steady(["a", "b"], found)
        assert [f.listed.id for f in kept] == ["new", "a", "b", "older", "oldest"]

    def test_it_says_how_many_there_are_and_how_many_wait(self):
        none = dict.fromkeys(State, 0)
        some = none | {State.OPEN: 3, State.WAITING_PARTS: 1, State.CLOSED: 8}
        assert (count_of(some, None), count_of(some, State.CLOSED)) == (12, 8)
        assert shown_words(5, 12) == "The latest 5 of 12."
        assert shown_words(12, 12) == "12 cases."
        assert shown_words(1, 1) == "1 case."
        assert waiting_words(some) == "3 open, 1 waiting for parts."
        assert waiting_words(none | {State.CLOSED: 8}) == "Every case is closed."
        assert waiting_words(none) == ""


class TestTimeline:
    def test_each_change_says_what_was_done_and_by_whom(self, knowledge):
        case = told(COMPLAINT, **{CHECK: "no"})
        changes = (
            Change(1, "Sorrel", "2026-03-03T10:00+01:00", (What("added", "complaint", COMPLAINT),)),
            Change(2, "Odrin", NOW, (What("changed", "moved"), What("changed", "stands"),
                                     What("added", "check", CHECK))),
            Change(3, "Odrin", NOW, (What("changed", "state", "waiting for parts"),)),
        )  # fmt: skip
        latest, first = timeline(knowledge, case, changes, NOW)
        assert latest.texts == (
            "Set the case to “waiting for parts”",
            f"Answered “{knowledge.checks[CHECK].name}”: no",
        )
        assert (latest.number, latest.who) == (3, "Odrin, today 15:06")
        assert first.texts[0].startswith("Began the case. Noted the complaint “")
        assert first.who == "Sorrel, yesterday 10:00"

    def test_what_is_said_twice_within_a_minute_is_told_once(self, knowledge):
        found, state = (What("changed", name) for name in ("found", "state"))
        minutes = ("15:01", "15:05", "15:06", "15:06")
        changes = [
            Change(n, "O", f"2026-03-04T{at}+01:00", (found if n != 3 else state,))
            for n, at in enumerate(minutes, start=2)
        ]
        made = timeline(knowledge, Case(), changes, NOW)
        assert [line.who for line in made] == [
            f"O, today {at}" for at in ("15:06", "15:05", "15:01")
        ]
        assert sum("what was found" in text for line in made for text in line.texts) == 2

    def test_what_the_program_notes_by_itself_is_left_out(self, knowledge):
        quiet = ("moved", "acknowledged", "ranked", "knowledge", "limit_from")
        changes = [Change(2, "O", NOW, tuple(What("changed", name) for name in quiet))]
        assert timeline(knowledge, Case(), changes, NOW) == ()

    def test_photographs_are_told(self, knowledge):
        acts = ("added", "changed", "removed")
        changes = [Change(i, by, NOW, (What(act, "photo"),))
                   for i, (by, act) in enumerate(zip("OSO", acts, strict=True), 2)]  # fmt: skip
        told = [text for line in timeline(knowledge, Case(), changes, NOW) for text in line.texts]
        said = ["Took a photograph away", "Said what a photograph shows", "Added a photograph"]
        assert told == said

    def test_a_vehicle_moved_by_hand_is_told(self, knowledge):
        changes = [Change(2, "O", NOW, (What("changed", "stands"), What("changed", "moved")))]
        assert timeline(knowledge, Case(), changes, NOW)[0].texts == (
            "Said where one can work now",
        )

    def test_only_the_last_change_of_an_answer_tells_it(self, knowledge):
        case = told(COMPLAINT, **{CHECK: "no"})
        changes = (
            Change(2, "O", NOW, (What("added", "check", CHECK),)),
            Change(3, "O", NOW, (What("changed", "check", CHECK),)),
        )
        ((last, before),) = (line.texts for line in timeline(knowledge, case, changes, NOW))
        assert last.endswith(": no")
        assert before.endswith("”")

    def test_a_case_that_came_in_whole_is_told_shortly(self, knowledge):
        names = graded(knowledge, 9)
        what = (*(What("added", "check", n) for n in names), What("added", "complaint", COMPLAINT))
        line = timeline(knowledge, told(COMPLAINT), [Change(1, "O", NOW, what)], NOW)[0]
        assert line.texts[0].startswith("Began the case. Noted the complaint")
        assert line.texts[0].endswith("; and 7 more")

    def test_what_the_knowledge_no_longer_holds_is_told_by_its_id(self, knowledge):
        changes = [Change(2, "O", NOW, (What("removed", "check", "gone_check"),))]
        assert timeline(knowledge, Case(), changes, NOW)[0].texts == ("Took back “gone_check”",)


class TestFollowUp:
    def test_what_is_outside_comes_first_in_the_order_of_the_advice(self, knowledge, advised):
        _, advice = advised
        looks = [o for o in advice.options if o.kind in {"ask", "check"}]
        out = [o for o in looks if o.kind == "ask" or knowledge.levels[o.level].drivable]
        made = items(knowledge, advice)
        flags = [item.inside for item in made]
        assert flags == sorted(flags)
        assert flags.count(False) == min(OUTSIDE, len(out))
        assert flags.count(True) <= INSIDE
        said = [spoken(question_for(knowledge, o.kind, o.id)) for o in out[:OUTSIDE]]
        assert [item.ask for item in made if not item.inside] == said

    def test_each_caution_stands_before_the_first_thing_it_belongs_to(self, knowledge, advised):
        assessment, advice = advised
        text = follow_up(assessment, advice, "Hollin, grey van")
        assert text.startswith("Hollin, grey van\n")
        looks = [o for o in advice.options if o.kind in {"ask", "check"}]
        out = [o for o in looks if o.kind == "ask" or knowledge.levels[o.level].drivable]
        checked = 0
        for option in out[:OUTSIDE]:
            question = question_for(knowledge, option.kind, option.id)
            for caution in question.cautions:
                assert text.count(caution.text) == 1
                assert text.index(caution.text) < text.index(spoken(question))
                checked += 1
        assert checked

    def test_it_says_how_to_answer(self, knowledge, advised):
        assessment, advice = advised
        option = advice.options[0]
        gauge = next(c for c in knowledge.checks.values() if c.gauge and not c.cautions)
        answers = next(c for c in knowledge.checks.values() if c.answers and not c.gauge)
        yes_no = next(c for c in knowledge.checks.values() if c.finding and not c.gauge)
        named = replace(
            advice,
            options=tuple(
                replace(option, kind="check", id=c.id, level="seat")
                for c in (gauge, answers, yes_no)
            ),
        )
        first, second, third = items(knowledge, named)
        assert knowledge.measurements[gauge.gauge].unit in first.how
        assert answers.answers[0].text in second.how
        meant = (yes_no.yes.partition(". ")[0], yes_no.no.partition(". ")[0])
        assert third.how == " ".join(
            f"{word}: {said.removesuffix('.')}."
            for word, said in zip(("Yes", "No"), meant, strict=True)
            if said
        )
        text = follow_up(assessment, named)
        assert text.count("yes or no") == 1
        assert text.index("yes or no") < text.index("1. ")

    def test_a_stop_notice_heads_the_list(self, knowledge):
        finding = next(f for f in knowledge.findings.values() if f.stop)
        check = next(c for c in knowledge.checks.values() if c.finding == finding.id)
        assessment = assess(knowledge, told(COMPLAINT, **{check.id: "yes"}))
        text = follow_up(assessment, next(advices(assessment)))
        assert text.startswith(f"STOP: {knowledge.cautions[assessment.stops()[0]].text}")

    def test_with_nothing_to_look_at_it_says_so(self, advised):
        assessment, advice = advised
        text = follow_up(assessment, replace(advice, options=()))
        assert "nothing to look at" in text


class TestHandover:
    def test_it_says_what_is_known_what_is_next_and_what_is_open(self, knowledge, advised):
        assessment, advice = advised
        skipped = graded(knowledge, 1)[0]
        case = assessment.case.with_skipped(skipped)
        text = handover(
            assessment, advice, case, state=State.WAITING_CALLER, again=("Look again at this.",)
        )
        known, likely, following, open_ = text.splitlines()
        assert knowledge.complaints[COMPLAINT].name in known.lower()
        assert likely.startswith(f"Likeliest: {assessment.causes[0].name} (")
        assert following.startswith("Next: ")
        assert "waiting for caller" in open_
        assert knowledge.checks[skipped].name in open_
        assert "Look again at this." in open_

    def test_it_is_never_longer_than_the_case_takes(self, knowledge, advised):
        assessment, advice = advised
        text = handover(assessment, advice, assessment.case, again=("so long " * 500,))
        assert len(text) <= LONGEST
        Case.model_validate({"note": text})

    def test_a_case_that_is_found_has_nothing_next(self, knowledge, advised):
        assessment, advice = advised
        cause = next(iter(knowledge.causes))
        case = assessment.case.model_copy(update={"found": Found(causes=(cause,))})
        text = handover(assessment, advice, case)
        assert f"Found: {knowledge.causes[cause].name}. The faulty part was seen." in text
        assert "Next: Nothing: it is found." in text
        assert "Likeliest" not in text


class TestLikeness:
    def test_answers_are_counted_by_their_side(self, knowledge):
        a, b, c, d = graded(knowledge, 4)
        mine = told(COMPLAINT, OTHER, **{a: "yes", b: "no", c: "yes", d: "can't tell"})
        other = told(COMPLAINT, **{a: "probably", b: "yes", c: "yes", d: "yes"})
        how = likeness(data_of(mine), data_of(other))
        assert (how.shared, how.complaints) == (1, 2)
        assert (how.alike, how.both) == (2, 3)
        assert not how.setup_known
        assert likeness_words(how) == (
            "1 of 2 complaints, 2 of 3 answers alike, set-up not known of both"
        )

    def test_no_complaint_in_common_is_not_alike(self):
        assert likeness(data_of(told(COMPLAINT)), data_of(told(OTHER))) is None

    def test_a_complaint_that_was_denied_is_none(self):
        denied = Case(entries=(Entry(complaint=COMPLAINT, answer="no"),))
        assert likeness(data_of(told(COMPLAINT)), data_of(denied)) is None

    def test_another_kind_of_set_up_is_not_alike_and_what_may_be_is(self):
        def of(*values):
            return data_of(told(COMPLAINT).with_facts({"release": values}))

        assert likeness(of("cable"), of("rod")) is None
        assert likeness(of("cable"), of("rod", "cable")).setup_known
        assert not likeness(of("cable"), data_of(told(COMPLAINT))).setup_known

    @pytest.fixture
    def store(self, tmp_path):
        made = open_store(sqlite_url(tmp_path / "store.sqlite"))
        yield made
        made.close()

    def close(self, store, number, case, cause="air_in_system"):
        token = f"00000000-0000-4000-8000-{number:012}"
        if cause:
            case = case.model_copy(update={"found": Found(causes=(cause,), sure="complaint gone")})
        kept = store.new(case.model_copy(update={"title": f"case {number}"}), "O", NOW, token)
        return store.set_state(kept.id, State.CLOSED, "O", NOW)

    def test_the_store_gives_closed_cases_nearest_first(self, store, knowledge):
        a, b = graded(knowledge, 2)
        self.close(store, 1, told(COMPLAINT, **{a: "no", b: "no"}))
        self.close(store, 2, told(COMPLAINT, **{a: "yes", b: "yes"}))
        self.close(store, 3, told(OTHER, **{a: "yes", b: "yes"}))
        self.close(store, 4, told(COMPLAINT), cause="")
        store.new(told(COMPLAINT), "O", NOW, "00000000-0000-4000-8000-000000000005")
        own = self.close(store, 6, told(COMPLAINT, **{a: "yes", b: "yes"}))
        found = store.alike(told(COMPLAINT, **{a: "yes", b: "yes"}), own.id)
        assert [one.title for one in found] == ["case 2", "case 1"]
        assert found[0].causes == ("air_in_system",)
        made = row(knowledge, found[0])
        assert made.title.lower() == knowledge.causes["air_in_system"].name.lower()
        assert made.lines[0].startswith("The complaint is gone after the repair, ")
        assert "2 of 2 answers alike" in made.lines[1]

    def test_a_page_of_the_list_tells_what_the_drivers_say(self, store):
        kept = self.close(store, 1, told(COMPLAINT, OTHER))
        found = look_up(store, "case", State.CLOSED, 10)
        assert [one.listed.id for one in found.found] == [kept.id]
        assert found.found[0].glance.complaints == (COMPLAINT, OTHER)
        assert found.counts[State.CLOSED] == 1
        nothing = look_up(store, "case", State.OPEN, 10, count=False)
        assert (nothing.found, nothing.counts) == ((), None)
        assert store.glances([]) == {}


class TestCaller:
    @pytest.mark.parametrize(
        ("line", "title", "complaints"),
        [
            ("Marten, blue tractor, grinds", "Marten, blue tractor", ("grinds",)),
            ("Marten, grinds", "Marten", ("grinds",)),
            ("grinds cold", "", ("grinds cold",)),
            ("Marten,, grinds , judders", "Marten", ("grinds", "judders")),
            ("", "", ("",)),
        ],
    )
    def test_a_line_is_taken_apart_at_its_commas(self, line, title, complaints):
        assert caller(line) == Caller(title, complaints)

    def test_the_closest_complaint_of_each_part_is_noted_once(self, knowledge):
        complaints = Complaints(knowledge)
        line = caller("Marten, tractor, judders, judders, grinds going into first")
        last = complaints.found(line.complaints[-1])[0]
        assert last == COMPLAINT
        assert complaints.noted(line, last) == ("chatters", COMPLAINT)
        assert complaints.noted(line, "") == ("chatters",)

    def test_what_fits_no_complaint_finds_none(self, knowledge):
        assert Complaints(knowledge).found("qwertz") == ()
        assert Complaints(knowledge).found("  ") == ()

    def test_the_case_holds_name_words_and_complaints(self, knowledge):
        line = caller("Marten, blue tractor, judders")
        case = new_case(knowledge, line, ("chatters",), NOW)
        assert (case.title, case.words) == ("Marten, blue tractor", "judders")
        assert [(e.complaint, e.answer, e.at) for e in case.entries] == [("chatters", "yes", NOW)]


class TestConflicts:
    def test_both_answers_are_told_with_who_and_when(self, knowledge):
        first = {"check": CHECK, "answer": "no", "by": "Odrin", "at": NOW}
        other = {"check": CHECK, "answer": "yes", "note": "twice"}
        kept = KeptConflict(
            7, 3, "Sorrel", NOW, Conflict("entries", f"check {CHECK}", first, other)
        )
        made = both(knowledge, kept, NOW)
        assert made.id == 7
        assert made.about == f"“{knowledge.checks[CHECK].name}”"
        assert (made.first.said, made.first.who) == ("no", "Odrin, today 15:06")
        assert (made.other.said, made.other.who) == ("yes; note: twice", "Sorrel, today 15:06")

    @pytest.mark.parametrize(
        ("conflict", "about", "first", "other"),
        [
            (Conflict("title", "", {"title": "one"}, {"title": ""}), "Name", "one", "nothing"),
            (Conflict("stands", "", {"stands": "seat"}, {"stands": "under"}), "Where", "driver",
             "under the vehicle"),
            (Conflict("facts", "release", ["cable"], ["rod", "cable"]), "How the clutch", "cable",
             "rods and levers or cable"),
            (Conflict("setup", "", {"setup": "light_external", "facts": {"release": ["cable"]}},
                      {"setup": None, "facts": {}}), "What is fitted", "worked: cable", "nothing"),
            (Conflict("hours", "gearbox_out", 3.0, None), "gearbox out", "3", "nothing"),
            (Conflict("found", "", {"found": {"causes": ["air_in_system"]}}, {"found": None}),
             "What was found", "The faulty part was seen", "nothing"),
            (Conflict("entries", f"check {CHECK}", None, {"check": CHECK, "answer": "no"}),
             "Pull in", "taken back", "no"),
        ],
    )  # fmt: skip
    def test_other_fields_are_told_as_well(self, knowledge, conflict, about, first, other):
        made = both(knowledge, KeptConflict(1, 2, "Sorrel", NOW, conflict), NOW)
        assert about in made.about
        assert first in made.first.said
        assert other in made.other.said
