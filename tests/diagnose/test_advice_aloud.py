"""The advice as it is read out: how each kind of step is done, and what a closed case came to."""

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from diagnose import advice_words as words
from diagnose.advice_aloud import advice_lines, found_lines, stopped_line, sure_words
from diagnose.assess import assess
from diagnose.case import Case, Entry, Found
from diagnose.planning.advice import advise
from diagnose.planning.record import Closing, Option
from tests.small_bases import make_base

CASE = Case(entries=(Entry(complaint="drags", answer="yes"),), moved=0.5)
LAST = "The maker's figures, local rules and licensed practice come before this advice."


@pytest.fixture(scope="module")
def base():
    with TemporaryDirectory() as folder:
        return make_base(
            Path(folder),
            cautions={
                name: {"level": level, "text": text, "source": "judgement"}
                for name, level, text in (
                    ("stands", "caution", "Stand it on stands."),
                    ("running", "caution", "Brake on."),
                    ("cracked", "stop", "Do not run it."),
                )
            },
            complaints={"drags": {}},
            findings={"spongy": {}, "short": {}, "grooved": {"stop": "cracked"}},
            causes={
                "air": {
                    "name": "air in the line",
                    "rate": 0.3,
                    "brings": {"drags": 0.8},
                    "shows": {"spongy": 0.9},
                    "before_closing": "Pump once more.",
                    "next_time": "Bleed it upwards.",
                },
                "wait": {
                    "name": "it wants a wait",
                    "kind": "designed",
                    "brings": {"drags": 0.4},
                    "shows": {"short": 0.9},
                },
            },
            checks={
                "pump": {"name": "Pump the pedal", "finding": "spongy", "cautions": ["stands"]},
                "idle": {"name": "Idle", "finding": "short", "cautions": ["running"]},
                "look": {"name": "Look inside", "finding": "grooved"},
                "travel": {"name": "Travel", "answers": {"little": {"short": "yes"}, "full": {}}},
            },
        )


@pytest.fixture(scope="module")
def told(base):
    found = assess(base, CASE)
    return found, advise(found)


def lines_of(told, **fields):
    """What is read out where this step comes first."""
    found, advice = told
    record = {"level": "seat", "hours": 0.1, "way": 0.0, "expected": 5.0, "gain": 0.4}
    first = Option(**{**record, **fields})
    return [line.strip() for line in advice_lines(found, replace(advice, options=(first,)))]


def test_a_graded_check_says_what_yes_and_no_mean_and_how_to_ask_for_it(told, base):
    check = base.checks["pump"]
    lines = lines_of(told, kind="check", id="pump", name="Pump the pedal")
    assert lines[:6] == [
        "Next: pump the pedal (seat, 6 min)",
        "Caution: Stand it on stands.",
        check.do,
        f"On the phone: “{check.say}”",
        f"Yes: {check.yes}",
        f"No: {check.no}",
    ]


def test_a_check_with_answers_of_its_own_has_no_yes_and_no(told, base):
    lines = lines_of(told, kind="check", id="travel", name="Travel")
    assert f"On the phone: “{base.checks['travel'].say}”" in lines
    assert not [line for line in lines if line.startswith(("Yes:", "No:"))]


def test_what_runs_the_engine_waits_for_a_stop_notice(base):
    """Whatever the hours say: every notice forbids to drive, and most to run the engine."""
    seen = Entry(check="look", answer="yes")
    stopped = assess(base, CASE.with_entry(seen))
    free = assess(base, CASE)
    assert stopped.stops() == ("cracked",)
    said = stopped_line(stopped, "check", "idle")
    assert said == "A stop notice holds, and for this the engine runs: see to the notice first."
    assert stopped_line(stopped, "drive", "") == said
    assert stopped_line(stopped, "check", "pump") == stopped_line(free, "check", "idle") == ""
    idle = {"kind": "check", "id": "idle", "name": "Idle"}
    assert lines_of((stopped, advise(stopped)), **idle)[1:3] == [said, "Caution: Brake on."]
    assert said not in lines_of((free, advise(free)), **idle)
    pump = {"kind": "check", "id": "pump", "name": "Pump the pedal"}
    assert said not in lines_of((stopped, advise(stopped)), **pump)


def test_the_base_has_the_cautions_that_say_the_engine_runs(knowledge):
    running = {check.id for check in knowledge.checks.values() if "running" in check.cautions}
    assert {"pump_pedal", "bite_point", "creep_test"} <= running
    assert "road" in knowledge.checks["slip_test"].cautions


def test_a_repair_says_once_what_comes_before_closing(told):
    fields = {"kind": "repair", "id": "air", "name": "air in the line"}
    lines = lines_of(told, **fields)
    assert lines[1:3] == ["Mend it.", "Before it closes: Pump once more."]
    found, advice = told
    listed = replace(advice, closing=(Closing("air", "Pump once more."),))
    assert [line for line in lines_of((found, listed), **fields) if "Pump once more" in line] == [
        "Pump once more."
    ]


def test_all_that_the_advice_rests_on_follows_and_the_hours_so_far(told):
    found, advice = told
    lines = list(advice_lines(found, advice))
    assert lines[0] == words.next_line(found, advice.options[0])
    account = list(words.account(found, advice))
    at = lines.index(account[0])
    assert lines[at : at + len(account)] == account
    assert lines[at + len(account) :] == ["Spent so far: 30 min.", LAST]


def test_a_closed_case_says_what_was_found_and_advises_nothing(base):
    closed = Found(causes=("air",), sure="part seen", why="The screw sat low.")
    case = CASE.model_copy(update={"found": closed})
    lines = list(found_lines(assess(base, case)))
    assert lines == [
        "Found: air in the line; the fault was seen.",
        "  The screw sat low.",
        "Next time: Bleed it upwards.",
        "Spent so far: 30 min.",
        LAST,
    ]
    still_open = list(found_lines(assess(base, case.with_stands("out"))))
    assert still_open[2] == "Before it closes: Pump once more."
    assert still_open[:2] + still_open[3:] == lines
    assert list(found_lines(assess(base, CASE))) == []


@pytest.mark.parametrize(
    ("causes", "sure", "said"),
    [
        (("air",), "complaint gone", "the complaint is gone"),
        (("air",), "customer silent", "nothing was heard from the customer since"),
        (("air",), "not confirmed", "not confirmed"),
        (("wait",), "part seen", "it works as designed, and that was shown"),
        (("wait", "air"), "part seen", "the fault was seen"),
        (("wait",), "customer silent", "nothing was heard from the customer since"),
    ],
)
def test_how_surely_it_was_closed(base, causes, sure, said):
    assert sure_words(base, Found(causes=causes, sure=sure)) == said
