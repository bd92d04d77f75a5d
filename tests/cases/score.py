"""Score the recorded cases, compare with the baseline, and on request save a new one.

    python tests/cases/score.py           what improved and what regressed
    python tests/cases/score.py --save    make the present scores the baseline

A changed word of the knowledge shows here what it does to every case. The baseline is no target:
it only makes sure that nobody moves a case without seeing it.
"""

import json
import sys
from pathlib import Path
from typing import Any

from diagnose.__main__ import evaluation_json
from diagnose.case_file import read_case_file
from diagnose.evaluate import evaluate
from knowledge.load import load_base

FOLDER = Path(__file__).parent
BASELINE = FOLDER / "baseline.json"


def current() -> dict[str, Any]:
    """Score the cases of this folder with the shipped knowledge."""
    base = load_base()
    cases = [(path.stem, read_case_file(path, base)) for path in sorted(FOLDER.glob("*.yaml"))]
    return rounded(evaluation_json(evaluate(base, cases)))


def rounded(value: Any) -> Any:
    """Round every number to what two machines agree on."""
    if isinstance(value, float):
        return round(value, 4)
    if isinstance(value, dict):
        return {key: rounded(item) for key, item in value.items()}
    return [rounded(item) for item in value] if isinstance(value, list) else value


def changes(old: dict[str, Any], new: dict[str, Any]) -> list[str]:
    """Say what improved and what regressed."""
    before = {(c["id"], c["stage"]): c for c in old["cases"]}
    lines = []
    for case in new["cases"]:
        was = before.get((case["id"], case["stage"]))
        if was is None:
            lines.append(f"new        {case['id']} {case['stage']}: rank {case['rank']}")
        elif (case["rank"], case["p"]) != (was["rank"], was["p"]):
            better = (case["rank"], -case["p"]) < (was["rank"], -was["p"])
            lines.append(
                f"{'improved' if better else 'regressed'}  {case['id']} {case['stage']}: "
                f"rank {was['rank']} -> {case['rank']}, p {was['p']} -> {case['p']}"
            )
    for stage, scores in new["stages"].items():
        lines.extend(
            f"{stage} {name}: {old['stages'][stage][name]} -> {value}"
            for name, value in scores.items()
            if value != old["stages"][stage][name]
        )
    return lines


if __name__ == "__main__":
    scores = current()
    if BASELINE.exists():
        print("\n".join(changes(json.loads(BASELINE.read_text()), scores)) or "No change.")
    if "--save" in sys.argv[1:]:
        BASELINE.write_text(json.dumps(scores, indent=1) + "\n")
        print(f"Saved {BASELINE.name}.")
