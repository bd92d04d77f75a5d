"""The lines are made of the fields of the advice alone: records by hand, no window."""

from dataclasses import replace

import pytest

from diagnose.assess import assess
from diagnose.case import Case, Entry
from diagnose.case_file import read_case_file
from diagnose.planning.record import Advice, Flip, Glance, Option, Outcome, Step
from ui.advice_words import (
    advice_lines,
    change_line,
    glance_line,
    limit_line,
    money_line,
    outcome_line,
    pull_lines,
    reason,
    runner_line,
    second_thoughts,
    step_words,
    too_long_line,
)

ASK = Option("ask", "slips", "Does it slip?", "seat", 0.05, 0.0, 4.0, 0.25)
LOOK = Option("check", "pilot_look", "Look at the pilot", "gearbox_out", 4.5, 4.4, 4.5, 0.0)
DRIVE = Option("drive", "", "Close it up and drive", "seat", 4.7, 4.4, 6.0, 0.0)
HAND = Option("hand_over", "", "Hand it over", "seat", 9.0, 0.0, 9.0, 0.0)
ADVICE = Advice((ASK, LOOK), 4.0, 4.0, 4.5, go_inside=False)
INSIDE = Outcome("yes", "yes", 0.2, 3.2, LOOK.step, inside=True)


@pytest.fixture(scope="module")
def assessment(base, example):
    return assess(base, read_case_file(example, base))


def with_pending(assessment, n):
    case = assessment.case
    for cause in list(assessment.network.base.causes)[:n]:
        case = case.with_entry(Entry(repair=cause, answer="not driven yet"))
    return replace(assessment, case=case)


def test_a_step_is_named_with_what_is_done():
    repair = Step("repair", "x", "the disc is bent", "seat")
    assert step_words(ASK) == "Ask: Does it slip?"
    assert step_words(repair) == "Put right: the disc is bent"
    assert step_words(DRIVE) == "Close it up and drive"
    assert step_words(HAND) == "Hand it over"


@pytest.mark.parametrize(
    ("pending", "begins"),
    [
        (0, "It takes 4.7 h with closing up."),
        (1, "One repair waits to be proved: only the road shows it."),
        (2, "2 repairs wait to be proved"),
    ],
)
def test_a_drive_says_how_many_repairs_it_proves_and_what_it_takes(assessment, pending, begins):
    advice = replace(ADVICE, options=(DRIVE,))
    said = reason(with_pending(assessment, pending), advice, DRIVE)
    assert said.startswith(begins)
    assert "4.7 h with closing up" in said


def test_handing_over_says_why(assessment):
    said = reason(assessment, replace(ADVICE, options=(HAND,)), HAND)
    assert "costs more than handing it over" in said


def test_a_step_that_is_not_advised_says_how_much_longer_it_takes(assessment):
    assert "30 min longer" in reason(assessment, ADVICE, LOOK)
    assert reason(assessment, ADVICE, None) == ""
    near = replace(ASK, id="knock", expected=4.005)
    assert reason(assessment, replace(ADVICE, options=(ASK, near)), near) == (
        "It is as good as the advised step."
    )


def test_why_this_tells_the_way_and_the_hours_with_and_without(assessment):
    lines = advice_lines(assessment, ADVICE, LOOK)
    assert "Getting there takes 4.4 h, the step itself 6 min." in lines
    assert lines[-1] == "With it first the fix is expected in 4.5 h."
    assert advice_lines(assessment, ADVICE, ASK)[-1] == (
        "With it first the fix is expected in 4.0 h; going on without it, in 4.2 h."
    )
    assert "did not weigh" in advice_lines(assessment, ADVICE, None)[0]


def test_an_answer_tells_its_chance_what_comes_then_and_the_hours():
    assert outcome_line(INSIDE) == "about 20 in 100; then “Look at the pilot”, 3.2 h to the fix"
    end = Outcome("gone", "gone", 0.61, 0.0, None, inside=False)
    assert outcome_line(end) == "about 61 in 100; that is the end of it"


def test_a_runner_up_tells_its_extra_hours():
    assert runner_line(ADVICE, ASK) == "the advised step"
    assert runner_line(ADVICE, LOOK) == "30 min longer to the fix on average"


def test_pull_or_not_tells_both_ways_and_what_would_turn_it(assessment):
    advice = replace(ADVICE, flips=(Flip(ASK.step, INSIDE),))
    first, flip = pull_lines(assessment, advice)
    assert "4.0 h" in first
    assert "4.5 h" in first
    assert flip == (
        "It would turn with “Does it slip?”: “yes” (about 20 in 100). Then go inside next."
    )
    back = replace(INSIDE, inside=False)
    assert pull_lines(assessment, replace(advice, flips=(Flip(ASK.step, back),)))[1].endswith(
        "Then stay outside next."
    )


def test_money_is_told_only_with_a_rate():
    assert money_line(Case(), ADVICE) == ""
    case = Case(labour=80.0, currency="EUR", moved=0.5)
    said = money_line(case, replace(ADVICE, money=320.0))
    assert said == "To the fix about 320 EUR; the hours so far come to 40 EUR."


def test_what_is_left_today_is_told_only_with_a_limit():
    assert limit_line(Case()) == ""
    assert limit_line(Case(limit=2.0, moved=0.6)) == "84 min left today of the customer's 2.0 h"
    assert limit_line(Case(limit=2.0, moved=2.5)) == "nothing left of the customer's 2.0 h"


def test_what_does_not_fit_into_today_is_told():
    assert too_long_line(ADVICE) == ""
    advice = replace(ADVICE, options=(ASK,), too_long=(LOOK,), left=1.4)
    assert too_long_line(advice) == (
        "The better step “Look at the pilot” takes 4.5 h, with closing up longer; "
        "84 min are left today."
    )
    none = replace(advice, options=(), left=0.0)
    assert too_long_line(none).startswith("The next step")
    assert too_long_line(none).endswith("nothing is left today.")


def test_a_look_tells_its_chance_what_it_takes_and_saves():
    said = glance_line(Glance(LOOK.step, 0.1, 0.23, 1.1))
    assert said == "finds something in about 23 in 100; takes 6 min, saves 66 min on average"


def test_second_thoughts_tell_what_the_better_step_saves_and_keep_quiet_over_trifles():
    kept = replace(ASK, expected=4.6)
    assert second_thoughts(kept, LOOK) == (
        "On second thoughts “Look at the pilot” saves 6 more min."
    )
    assert second_thoughts(replace(ASK, expected=4.505), LOOK) == ""
    assert second_thoughts(replace(ASK, expected=7.0), LOOK).endswith("saves 2.5 more h.")
    assert second_thoughts(None, LOOK).endswith("is better.")


@pytest.mark.parametrize(
    ("before", "answered", "said"),
    [
        (4.3, True, "was 4.3 h, the last answer took 18 min off"),
        (3.0, True, "was 3.0 h, the last answer added 60 min"),
        (4.001, True, "as before the last answer"),
        (4.3, False, "was 4.3 h"),
        (4.0, False, "as before"),
    ],
)
def test_the_change_with_the_last_answer_is_told(before, answered, said):
    assert change_line(replace(ADVICE, expected=before), ADVICE, answered=answered) == said
