"""An exercise on paper: the worksheet gives nothing away, the answer sheet has everything."""

import os
import shutil
import subprocess

import pytest

from diagnose.planning.problem import DRIVE
from diagnose.practice.harm import cautions_before
from diagnose.practice.review import Point
from diagnose.practice.run import begin, possible_moves
from ui import practice_desk as desk
from ui.practice_words import minutes
from ui.questions import answered
from ui.worksheet_pdf import PlannedWay, answer_sheet_pdf, worksheet_pdf

pytestmark = pytest.mark.skipif(
    shutil.which("pdftotext") is None, reason="poppler-utils reads the pages back"
)
FOUND, MEND = ("check", "slave_boot_look"), ("repair", "slave_leaks")


@pytest.fixture(scope="module")
def exercise(base):
    return desk.read(base, desk.example_file())


@pytest.fixture(scope="module")
def way(base, exercise):
    """A way that was gone, with a belief written out for the test."""
    run = begin(base, exercise)
    for act in (FOUND, MEND, DRIVE):
        run = run.reading(cautions_before(base, act)).after(act)
    belief = (Point(0.0, 0.04), Point(30.0, 0.97), Point(90.0, 0.97))
    return PlannedWay(run, belief)


def text_of(content, tmp_path):
    path = tmp_path / "sheet.pdf"
    path.write_bytes(content)
    command = ["pdftotext", "-layout", os.fspath(path), "-"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return " ".join(done.stdout.split()), done.stdout.count("\f")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_worksheet_is_one_page_with_the_complaint_and_a_blank_table(
    base, dressed, exercise, tmp_path, paper
):
    text, pages = text_of(worksheet_pdf(base, exercise, paper), tmp_path)
    assert pages == 1
    assert exercise.words in text
    for head in ("Name:", "Check", "What for", "Minutes", "Answer", "What it tells"):
        assert head in text
    hidden = base.causes[exercise.causes[0]]
    assert hidden.name.lower() not in text.lower()
    assert exercise.note not in text


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_answer_sheet_says_what_is_wrong_and_how_the_planner_goes(
    base, dressed, exercise, way, tmp_path, paper
):
    text, pages = text_of(answer_sheet_pdf(base, exercise, way, paper), tmp_path)
    assert pages >= 2
    hidden = base.causes[exercise.causes[0]]
    assert hidden.name.lower() in text.lower()
    assert hidden.prove.split(".")[0] in text
    assert exercise.note in text
    assert f"The planner’s way: {minutes(way.run.minutes)}" in text
    assert "about 97 in 100, was about 4 in 100" in text
    assert "The complaint is gone." in text


def test_every_check_that_exists_on_the_vehicle_is_answered(base, dressed, exercise, way, tmp_path):
    text, _ = text_of(answer_sheet_pdf(base, exercise, way), tmp_path)
    run = begin(base, exercise)
    checks = [name for kind, name in possible_moves(run) if kind == "check"]
    assert len(checks) > 100
    plain = text.lower().replace(" ", "")
    for name in checks:
        assert base.checks[name].name.lower().replace(" ", "")[:12] in plain, name
    said = answered(base, run.shop.now.answer(FOUND[1]))
    assert said.lower().replace(" ", "") in plain
