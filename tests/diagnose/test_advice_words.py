"""The advice in sentences: each is worked out again here from the fields it tells of."""

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from diagnose import advice_words as words
from diagnose.assess import assess
from diagnose.case import Case, Entry
from diagnose.planning.advice import advise
from diagnose.planning.record import Advice, Closing, Flip, Glance, Option, Outcome, Step
from diagnose.sentences import advice_reason
from tests.small_bases import make_base

DRAGS = Entry(complaint="drags", answer="yes")
LOOK = Step("check", "look", "Look through the hole", "out")
ASK = Step("ask", "drags", "Does it drag?", "seat")
MEND = Step("repair", "fork", "worn fork", "out")
PARTS = {"fork": 120.0}
NOTHING_LEFT = "Nothing left of the customer's 2.0 h"


@pytest.fixture(scope="module")
def base():
    with TemporaryDirectory() as folder:
        return make_base(
            Path(folder),
            complaints={"drags": {}},
            findings={"spongy": {}, "grooved": {}},
            causes={
                "air": {
                    "name": "air in the line",
                    "rate": 0.3,
                    "brings": {"drags": 0.8},
                    "shows": {"spongy": 0.9},
                    "repair": {"from": "under", "hours": 0.5},
                },
                "fork": {
                    "name": "worn fork",
                    "rate": 0.3,
                    "brings": {"drags": 0.6},
                    "shows": {"grooved": 0.9},
                    "before_closing": "Grease the pivot.",
                    "repair": {"from": "out", "hours": 0.8},
                },
            },
            checks={
                "pump": {"name": "Pump the pedal", "finding": "spongy", "minutes": 3},
                "look": {
                    "name": "Look at the fork",
                    "finding": "grooved",
                    "from": "out",
                    "minutes": 5,
                },
            },
        )


@pytest.fixture(scope="module")
def told(base):
    """An assessment and its advice, from the seat."""
    assessment = assess(base, Case(entries=(DRAGS,), labour=80.0, currency="EUR"))
    return assessment, advise(assessment)


def option(**fields):
    record = {
        "kind": "check",
        "id": "pump",
        "name": "Pump the pedal",
        "level": "seat",
        "hours": 0.05,
        "way": 0.0,
        "expected": 5.0,
        "gain": 0.4,
    }
    return Option(**{**record, **fields})


def advice(*options, **fields):
    record = {"options": options, "expected": 5.0, "outside": 5.0, "inside": 7.0}
    return Advice(**{**record, "go_inside": False, **fields})


class TestSteps:
    @pytest.mark.parametrize(
        ("step", "said"),
        [
            (LOOK, "look through the hole"),
            (ASK, "ask the driver: Does it drag?"),
            (MEND, "put right: worn fork"),
            (Step("drive", "", "Close it up and drive", "seat"), "close it up and drive"),
            (Step("hand_over", "", "Hand it over", "seat"), "hand it over"),
        ],
    )
    def test_each_is_an_order(self, step, said):
        assert words.step_words(step) == said

    def test_by_itself_it_has_a_capital_letter(self):
        assert words.step_title(ASK) == "Ask the driver: Does it drag?"
        assert words.step_title(MEND) == "Put right: worn fork"
        assert words.step_title(LOOK) == LOOK.name

    def test_what_works_as_designed_is_explained_not_mended(self):
        rattle = Step("repair", "rattle", "it rattles by design", "seat", designed=True)
        assert words.step_words(rattle) == "explain it: it rattles by design"
        shown = option(kind="repair", name="it rattles by design", designed=True)
        assert words.step_words(shown.step) == words.step_words(shown) == words.step_words(rattle)

    def test_the_next_one_is_named_with_its_level_and_hours(self, told):
        assessment, _ = told
        best = option(name="Look at the fork", level="out", hours=4.25)
        line = words.next_line(assessment, best)
        assert line == "Next: look at the fork (gearbox out, 4.2 h)"
        asked = option(kind="ask", name="Does it drag?", level="out")
        line = words.next_line(assessment, asked)
        assert line == "Next: ask the driver: Does it drag? (3 min)"


class TestWhy:
    def test_it_tells_the_way_and_the_hours_to_the_fix(self, told):
        assessment, _ = told
        lines = words.why_lines(assessment, advice(option(way=0.25, hours=1 / 3)))
        assert "Getting there takes 15 min, the step itself 5 min." in lines
        assert "With it first the fix takes about 5.0 h from here; without it, 5.4 h." in lines

    def test_nothing_of_a_way_where_there_is_none(self, told):
        assessment, _ = told
        lines = words.why_lines(assessment, advice(option(way=0.0, gain=0.0)))
        assert not [line for line in lines if "Getting there" in line]
        assert lines[-1] == "With it first the fix takes about 5.0 h from here."

    def test_the_way_of_a_drive_is_in_its_hours(self, told):
        assessment, _ = told
        drive = option(kind="drive", id="", name="Close it up and drive", hours=4.7, way=4.4)
        lines = words.step_lines(assessment, advice(drive), drive)
        assert not [line for line in lines if "Getting there" in line]

    def test_another_step_tells_how_much_longer_the_fix_takes(self, told):
        assessment, _ = told
        best, other = option(), option(id="look", expected=5.5)
        near = option(id="near", expected=5.005)
        found = advice(best, other, near)
        assert words.reason(assessment, found, other) == (
            "Not the advised step: with it first the fix takes 30 min longer on average."
        )
        assert words.reason(assessment, found, near) == "It is as good as the advised step."
        assert words.reason(assessment, found, None) == ""
        assert words.reason(assessment, found, best) == advice_reason(assessment, found)

    def test_of_a_step_that_was_not_weighed_it_says_so(self, told):
        assessment, found = told
        (line,) = words.step_lines(assessment, found, None)
        assert "did not weigh" in line

    def test_a_repair_tells_how_its_parts_count(self, told):
        assessment, _ = told
        priced = replace(assessment, case=assessment.case.model_copy(update={"parts": PARTS}))
        mend = option(kind="repair", id="fork", name="worn fork", level="out")
        line = "Its parts at 120 EUR count as 1.5 h of work."
        assert line in words.step_lines(priced, advice(mend), mend)
        assert line not in words.step_lines(assessment, advice(mend), mend)

    def test_without_an_option_no_hours(self, told):
        assessment, _ = told
        assert len(words.why_lines(assessment, advice())) == 1

    def test_the_gap_on_what_share_of_the_belief(self):
        assert words.gap_line(advice(gap=None)) == ""
        sure = words.gap_line(advice(gap=0.0, gap_share=0.83))
        held = "Worked out to the end for the likeliest causes alone (about 83 in 100):"
        assert sure == f"{held} no plan is quicker."
        near = words.gap_line(advice(gap=0.2, gap_share=0.83))
        assert near == f"{held} the best plan would be quicker by 12 min at most."


class TestOutcomes:
    def test_what_is_done_then_and_how_long_it_takes_from_there(self):
        outcome = Outcome("yes", "it is there", 0.25, 3.5, MEND, inside=True)
        assert words.outcome_line(outcome) == (
            "it is there: about 25 in 100; "
            "then “put right: worn fork” with the gearbox out, 3.5 h to the fix."
        )

    def test_outside_nothing_is_said_of_the_gearbox(self):
        outcome = Outcome("no", "no", 0.75, 0.5, ASK, inside=False)
        assert words.outcome_line(outcome) == (
            "no: about 75 in 100; then “ask the driver: Does it drag?”, 30 min to the fix."
        )

    def test_the_end_of_it(self):
        outcome = Outcome("gone", "the complaint is gone", 0.6, 0.0, None, inside=False)
        expected = "the complaint is gone: about 60 in 100; that is the end of it."
        assert words.outcome_line(outcome) == expected

    def test_what_has_no_answers_leads_to_one_thing_without_a_chance(self):
        outcome = Outcome("", "", 1.0, 0.5, ASK, inside=False)
        assert (
            words.outcome_line(outcome)
            == "Then “ask the driver: Does it drag?”, 30 min to the fix."
        )
        handed = replace(outcome, then=None)
        assert words.outcome_line(handed) == "That is the end of it."


class TestOtherWays:
    def test_how_much_longer_another_takes(self):
        other = option(name="Look at the fork", hours=4.25, expected=6.5)
        line = words.runner_up_line(advice(expected=5.0), other)
        assert line == "look at the fork: 4.2 h, 1.5 h longer to the fix on average."

    def test_a_question_ends_in_one_sign_only(self):
        line = words.runner_up_line(advice(expected=5.0), option(kind="ask", name="Does it drag?"))
        assert line == "ask the driver: Does it drag? 3 min, as quick on average."

    def test_what_a_step_takes_and_where(self):
        look = option(level="out", hours=4.25)
        assert words.cost_words("gearbox out", look) == "gearbox out, 4.2 h"
        assert words.cost_words("", look) == "4.2 h"
        assert words.cost_words("gearbox out", replace(look, kind="ask")) == "4.2 h"
        assert words.cost_words("seat", replace(look, kind="hand_over")) == "counts as 4.2 h"
        drive = replace(look, kind="drive", way=3.9)
        assert words.cost_words("seat", drive) == "4.2 h, closing up included"
        assert words.cost_words("seat", replace(drive, hours=1 / 3, way=0.0)) == "20 min"

    @pytest.mark.parametrize("expected", [4.9, 5.0, 5.01])
    def test_less_than_a_minute_is_no_difference(self, expected):
        line = words.runner_up_line(advice(expected=5.0), option(expected=expected))
        assert line == "pump the pedal: 3 min, as quick on average."

    def test_the_advised_one_is_named_so(self):
        best = option()
        assert words.runner_up_words(advice(best, option(id="look")), best) == "the advised step"

    @pytest.mark.parametrize(("inside", "where"), [(True, "out"), (False, "in")])
    def test_the_answer_that_turns_it_round_either_way(self, told, inside, where):
        flip = Flip(LOOK, Outcome("no", "no grooves", 0.3, 2.0, MEND, inside=inside))
        found = advice(go_inside=not inside, flips=(flip,))
        assert words.pull_lines(told[0], found)[1:] == [
            f"With this answer the next step is with the gearbox {where}:",
            "- Look through the hole: “no grooves”, about 30 in 100",
        ]
        asked = replace(flip, step=ASK)
        assert words.flip_words(asked) == "Does it drag? “no grooves”, about 30 in 100"
        several = replace(found, flips=(flip, flip))
        assert words.flips_line(several).startswith("With one of these answers")

    def test_whether_to_pull_it_with_the_hours_of_both_ways(self, told):
        assessment, _ = told
        flip = Flip(LOOK, Outcome("no", "no grooves", 0.3, 2.0, MEND, inside=True))
        head, *turned = words.pull_lines(assessment, advice(option(), flips=(flip,)))
        assert head == (
            "The gearbox can stay in. "
            "To the fix 5.0 h if it stays in for now, 7.0 h if it comes out next."
        )
        assert turned[-1] == f"- {words.flip_words(flip)}"


class TestLimitsAndMoney:
    def test_what_is_left_of_what_the_customer_allows(self):
        assert words.left_words(Case()) == ""
        assert words.limit_line(Case(), advice()) == ""
        some, none = Case(limit=2.0, moved=0.8), Case(limit=2.0, moved=2.5)
        assert words.left_words(some) == "72 min left today of the customer's 2.0 h"
        assert words.left_words(none) == "nothing left of the customer's 2.0 h"
        assert words.limit_line(none, advice(left=0.0)) == f"{NOTHING_LEFT}."

    def test_what_would_take_longer(self):
        better = option(name="Look at the fork", hours=4.25)
        case, best = Case(limit=2.0, moved=0.8), option()
        found = advice(best, left=1.2, too_long=(better,))
        assert words.limit_line(case, found) == words.too_long_line(found)
        assert words.too_long_line(found) == (
            "The better step, “look at the fork”, takes 4.2 h without the way back, "
            "and there is 72 min left today."
        )
        assert words.too_long_line(advice(left=0.0, too_long=(better,))) == (
            "The next step, “look at the fork”, takes 4.2 h without the way back, "
            "and there is nothing left today."
        )
        assert words.too_long_line(advice(best, left=1.2)) == ""

    def test_what_it_is_expected_to_cost(self):
        case = Case(labour=80.0, currency="EUR")
        assert words.money_line(Case(), advice(money=None)) == ""
        assert words.money_line(case, advice(money=432.4)) == "To the fix about 432 EUR."
        bare = Case(labour=80.0)
        assert words.money_line(bare, advice(money=432.4)) == "To the fix about 432."

    def test_what_it_has_cost_so_far_and_whether_parts_are_in_it(self):
        case = Case(labour=80.0, currency="EUR", moved=0.5, parts=PARTS)
        assert words.money_line(case, advice(money=432.4)) == (
            "To the fix about 432 EUR, parts with a price included; "
            "the hours so far come to 40 EUR."
        )

    def test_how_the_price_of_parts_counts(self):
        """Parts at 120 are worth 1.5 hours at 80 an hour."""
        case = Case(labour=80.0, currency="EUR", parts=PARTS)
        assert words.parts_line(case, "fork") == "Its parts at 120 EUR count as 1.5 h of work."
        assert words.parts_line(case, "air") == ""
        assert words.parts_line(Case(parts=PARTS), "fork") == (
            "Its parts at 120 count only once the labour for an hour is known."
        )


def test_what_is_worth_a_look_while_it_is_open():
    glance = Glance(LOOK, 5 / 60, 0.2, 1.75)
    assert words.glance_line(glance) == (
        "Look through the hole: 5 min; finds something in about 20 in 100, saves 1.8 h on average."
    )


class TestChanges:
    def test_second_thoughts_tell_what_the_better_step_saves_and_keep_quiet_over_trifles(self):
        better = option(name="Look at the fork", expected=4.5)
        assert words.second_thoughts(option(expected=4.6), better) == (
            "On second thoughts “look at the fork” saves 6 more min."
        )
        assert words.second_thoughts(option(expected=4.505), better) == ""
        assert words.second_thoughts(option(expected=7.0), better).endswith("saves 2.5 more h.")
        assert words.second_thoughts(None, better).endswith("is better.")

    @pytest.mark.parametrize(
        ("before", "answered", "said"),
        [
            (5.3, True, "was 5.3 h, the last answer took 18 min off"),
            (4.0, True, "was 4.0 h, the last answer added 60 min"),
            (5.001, True, "as before the last answer"),
            (5.3, False, "was 5.3 h"),
            (5.0, False, "as before"),
        ],
    )
    def test_the_change_with_the_last_answer_is_told(self, before, answered, said):
        now = advice(expected=5.0)
        assert words.change_line(advice(expected=before), now, answered=answered) == said


class TestTheWholeAccount:
    def test_of_advice_as_it_comes(self, told):
        """Every line is one of those above, from the fields of this advice."""
        assessment, found = told
        lines = [line.strip() for line in words.account(assessment, found)]
        for line in (
            *words.why_lines(assessment, found),
            words.money_line(assessment.case, found),
            *(words.outcome_line(o) for o in found.options[0].outcomes),
            *(words.runner_up_line(found, o) for o in found.options[1:5]),
            *words.pull_lines(assessment, found),
        ):
            assert line in lines
        assert found.money == pytest.approx(found.expected * 80.0)
        assert f"To the fix about {found.expected * 80.0:.0f} EUR." in lines

    def test_what_is_open_and_what_closes_come_last(self, base):
        assessment = assess(base, Case(entries=(DRAGS,), stands="out"))
        found = advise(assessment)
        lines = [line.strip() for line in words.account(assessment, found)]
        assert found.glances
        at = lines.index("While it is open, in this order:")
        listed = [words.glance_line(glance) for glance in found.glances]
        assert lines[at + 1 : at + 1 + len(listed)] == listed
        assert lines[-2:] == ["Before it closes:", "Grease the pivot."]
        assert found.closing == (Closing("fork", "Grease the pivot."),)

    def test_so_many_others_as_asked_for(self, told):
        assessment, found = told
        for n in (0, 1):
            lines = list(words.account(assessment, found, runners_up=n))
            others = [words.runner_up_line(found, o) for o in found.options[1:]]
            assert sum(line.strip() in others for line in lines) == n

    def test_of_no_advice_at_all(self, told):
        assessment, _ = told
        nothing = advice(outside=None, inside=None)
        (line,) = words.account(assessment, nothing)
        assert "Hand the case over" in line
