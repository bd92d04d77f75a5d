"""Malfunction tables and limits of public-domain manuals, held against the shipped knowledge.

`manual_tables.yaml` holds their facts with the manual's number beside each.
"""

from pathlib import Path

import pytest
import yaml

from diagnose.assess import assess
from diagnose.case import Case, Entry
from knowledge.model import Limit, Measurement
from knowledge.tree import Tree

FILE = yaml.safe_load(Path(__file__).with_name("manual_tables.yaml").read_text(encoding="utf-8"))
TABLES, LIMITS = FILE["tables"], FILE["limits"]
LINES = [
    (table, told, line) for table in TABLES for told in table["told"] for line in table["causes"]
]
NAMED = [row for row in LINES if "are" in row[2]]
LEADING = [row for row in NAMED if row[2].get("leads")]
ASKED = [row for row in LINES if "check" in row[2]]


def ids(rows):
    return [f"{t['manual']}, {'/'.join(told.values())}: {line['says']}" for t, told, line in rows]


def symptom(told):
    answer = {"answer": "yes"} if "complaint" in told else {}
    return Entry(**told, **answer)


def observables(knowledge, told):
    """The complaints or findings that the symptom says are there."""
    if "complaint" in told:
        return [told["complaint"]]
    answers = {answer.id: answer for answer in knowledge.checks[told["check"]].answers}
    return [name for name, said in answers[told["answer"]].shows.items() if said == "yes"]


@pytest.mark.parametrize(("table", "told", "line"), NAMED, ids=ids(NAMED))
def test_every_listed_cause_is_in_reach(knowledge, table, told, line):
    """A path of the tree runs from each to the symptom, in the manual's own kind of vehicle."""
    tree = Tree(knowledge, table.get("facts", {}))
    for cause in line["are"]:
        reached = tree.reach((cause,))
        assert any(reached.get(name, 0.0) > 0.0 for name in observables(knowledge, told)), cause


@pytest.mark.parametrize(("table", "told", "line"), LEADING, ids=ids(LEADING))
def test_leading_causes_of_the_list_are_among_the_first_ten(knowledge, table, told, line):
    """With just the symptom entered, and nothing else known."""
    case = Case(facts=table.get("facts", {}), entries=(symptom(told),))
    first = [cause.id for cause in assess(knowledge, case).causes[:10]]
    assert set(line["are"]) & set(first), first


@pytest.mark.parametrize(("table", "told", "line"), ASKED, ids=ids(ASKED))
def test_what_the_list_says_to_establish_is_a_check(knowledge, table, told, line):
    """And it tells the causes of that symptom apart: its answers move the leader."""
    check = knowledge.checks[line["check"]]
    answers = [a.id for a in check.answers] or ["yes", "no"]
    facts = table.get("facts", {})
    entries = [(symptom(told), Entry(check=check.id, answer=answer)) for answer in answers]
    found = [assess(knowledge, Case(facts=facts, entries=both)) for both in entries]
    first = [c.id for c in assess(knowledge, Case(facts=facts, entries=entries[0][:1])).causes[:10]]
    chances = [{c.id: c.p for c in each.causes} for each in found]
    assert any(
        max(c[name] for c in chances) > 2.0 * min(c[name] for c in chances) for name in first
    )


@pytest.mark.parametrize("limit", LIMITS, ids=[f"{row['manual']}: {row['what']}" for row in LIMITS])
def test_every_limit_of_the_tables_is_in_the_base(knowledge, limit):
    """With the manual as its source."""
    assert limit["source"] in knowledge.sources
    if "check" in limit:
        check = knowledge.checks[limit["check"]]
        said = " ".join(f"{answer.text} {answer.means}" for answer in check.answers)
        assert limit["words"] in f"{said} {check.yes} {check.no}"
        assert limit["source"] in check.source
        return
    measurement = knowledge.measurements[limit["measurement"]]
    held = [ends(measurement, own) for own in measurement.limits if from_source(own, limit)]
    wanted = tuple(edge(measurement, limit.get(end)) for end in ("at_least", "at_most"))
    assert any(holds(own, wanted) for own in held), held


def from_source(own: Limit, limit):
    """Our own list names some of the manuals together, under one id."""
    return {limit["source"], "R-TRAVEL-1", "R-WEAR-1"} & set(own.source)


def ends(measurement: Measurement, own: Limit):
    return tuple(edge(measurement, text) for text in (own.at_least, own.at_most))


def edge(measurement: Measurement, text):
    return None if text is None else measurement.value(text)


def holds(own, wanted):
    return all(
        w is None or (o is not None and abs(o - w) < 1e-6) for o, w in zip(own, wanted, strict=True)
    )
