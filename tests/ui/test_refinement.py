"""The advice as it comes from the planner: at once, followed, and held against the best."""

from functools import lru_cache

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QApplication

from diagnose.assess import assess
from diagnose.case_file import read_case_file
from diagnose.planning.advice import advices
from diagnose.sentences import hours, verdict
from ui import weighing

PATIENCE = 20_000
TICK = 5  # milliseconds


@lru_cache(maxsize=1)
def stages(base, example):
    """What the planner says of the example, stage by stage, without a window."""
    return list(advices(assess(base, read_case_file(example, base))))


@pytest.fixture
def planned(driver, monkeypatch):
    """A window whose planner goes on after its first advice, as the program's does."""
    monkeypatch.setattr(weighing, "assess", assess)
    monkeypatch.setattr(weighing, "advices", advices)
    return driver


def test_the_advice_goes_from_first_to_followed_to_gap_while_the_window_works(
    planned, example, base, qtbot
):
    session, bench = planned.session, planned.bench
    seen, ticks = [], [0]
    session.assessment_changed.connect(lambda: seen.append((session.standing.advice, ticks[0])))
    session.advice_changed.connect(lambda: seen.append((session.standing.advice, ticks[0])))
    timer = QTimer(bench)
    timer.timeout.connect(lambda: ticks.append(ticks.pop() + 1))
    timer.start(TICK)
    with qtbot.waitSignal(session.assessment_changed, timeout=PATIENCE):
        planned.window.open_path(example)
    bench.causes.view.setFocus()
    planned.press(Qt.Key.Key_F6)
    assert planned.window.jobs.busy  # the key was obeyed while the planner was at work
    assert QApplication.focusWidget() is bench.findings.view
    planned.settle()
    timer.stop()
    told = [advice for advice, _ in seen]
    assert [(a.refined, a.gap is not None) for a in told] == [
        (False, False),
        (True, False),
        (True, True),
    ]
    assert told == stages(base, example)
    after = [n for _, n in seen]
    assert after[1] > after[0]  # the window went on turning between any two of them
    assert after[2] > after[1]


def test_at_the_end_strip_and_card_agree_with_the_record(planned, example, base):
    planned.open(example)
    session, bench = planned.session, planned.bench
    last = stages(base, example)[-1]
    assert session.standing.advice == last
    assert bench.strip.fix.text() == f"about {hours(last.expected)}"
    head, why = verdict(session.standing.assessment, last)
    assert (bench.strip.headline.text(), bench.strip._pull.note.text()) == (head, why)
    first = last.options[0]
    assert bench.card.shown == (first.kind, first.id) or bench.card.better.isVisible()


def test_another_answer_begins_the_planning_anew_and_the_old_one_is_never_shown(
    planned, example, qtbot
):
    session = planned.session
    with qtbot.waitSignal(session.assessment_changed, timeout=PATIENCE):
        planned.window.open_path(example)
    shown = []
    session.advice_changed.connect(lambda: shown.append(session.standing))
    session.change(session.case.without_entry(0), "an answer")
    planned.settle()
    assert [s.advice.refined for s in shown] == [True, True]
    assert all(s.assessment.case == session.case for s in shown)
