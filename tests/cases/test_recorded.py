"""The recorded comebacks: real reports, reworded, with what was found in the end."""

import importlib.util
import json
from pathlib import Path
from types import ModuleType

import pytest

from diagnose.assess import assess
from diagnose.case_file import read_case_file
from diagnose.planning.advice import advise
from knowledge.model import KnowledgeBase

FOLDER = Path(__file__).parent
CASES = sorted(FOLDER.glob("*.yaml"))


def _score() -> ModuleType:
    spec = importlib.util.spec_from_file_location("score", FOLDER / "score.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_all_seventeen_reports_are_here() -> None:
    assert len(CASES) == 17


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_every_case_gets_an_assessment_and_a_next_step(
    path: Path, knowledge: KnowledgeBase
) -> None:
    case = read_case_file(path, knowledge)
    assert case.origin == "public owner or workshop report, reworded"
    assert case.found is not None
    assert len(case.found.causes) == 1 or case.found.why
    for stage in (case.before_opening(), case):
        found = assess(knowledge, stage)
        assert sum(s.p for s in found.sets) + found.unknown == pytest.approx(found.covered)
        assert 0.5 < found.covered <= 1.0
        assert not found.softened
        assert advise(found).options


def test_every_case_has_both_stages_where_the_report_tells_more_later() -> None:
    texts = [path.read_text() for path in CASES]
    # In one report nothing was looked at inside: its leak was the owner's own conclusion.
    assert sum("stage: inside" in text for text in texts) == len(CASES) - 1


def test_scores_are_those_of_the_baseline() -> None:
    """A change that moves a case must be looked at, then saved with score.py --save."""
    score = _score()
    baseline = json.loads((FOLDER / "baseline.json").read_text())
    assert score.changes(baseline, score.current()) == []
