"""What the trade knows, item by item, against the shipped base: it is there, and it means it.

`trade.yaml` has the items in the trade's own words (common practice), with the records that hold
each. That a record exists says little; so a cause must lead where the item says and be shown by
the look that is named, a look must turn the odds the way a fitter reads it, and so on.
"""

import re
from pathlib import Path

import pytest
import yaml

from diagnose.assess import assess
from diagnose.case import Case, Entry
from diagnose.gauge import answer_for_reading
from knowledge.model import Cause, Check, KnowledgeBase
from knowledge.tree import Tree, share_that_fits

TRADE = yaml.safe_load(Path(__file__).with_name("trade.yaml").read_text(encoding="utf-8"))

LEADS = 0.1  # chance from which on a cause leads to something: "seldom" by itself
SHOWS = 0.5  # and shows a finding: "often"
PROOFS = re.compile(
    r"side by side|beside|compare|measure|bench|press|plug|turn |read the|lay it|look at|fold",
    re.IGNORECASE,
)


def rows(section: str):
    """Items of a section as parameters, named by their words."""
    return pytest.mark.parametrize(
        "row",
        TRADE[section],
        ids=[r.get("item") or r.get("part") or r["says"] for r in TRADE[section]],
    )


@pytest.fixture(scope="module")
def tree(knowledge) -> Tree:
    return Tree(knowledge, {})


def as_list(value) -> list[str]:
    return [value] if isinstance(value, str) else value


def told_of(cause: Cause) -> str:
    texts = (cause.name, cause.about, cause.prove, cause.repair.do)
    return " ".join((*texts, cause.before_closing, cause.next_time))


def can_say_yes(check: Check, name: str) -> bool:
    """Whether some answer of a check says that a finding or complaint is there."""
    return check.finding == name or any(
        answer.shows.get(name) in {"yes", "probably"} for answer in check.answers
    )


def together_possible(base: KnowledgeBase, check: Check, cause: Cause) -> bool:
    both = (check.when, cause.when)
    return all(
        set.intersection(*(set(need[fact]) for need in both if fact in need))
        for fact in base.facts
        if any(fact in need for need in both)
    )


def shown_by(base: KnowledgeBase, tree: Tree, cause: Cause, check: Check) -> bool:
    """Whether a check can say yes to something that the cause alone mostly brings up."""
    seen = tree.reach((cause.id,))
    return together_possible(base, check, cause) and any(
        seen.get(name, 0.0) >= SHOWS * share_that_fits(base, {}, cause.when)
        and can_say_yes(check, name)
        for name in check.reads()
    )


def chances(base: KnowledgeBase, row, *more: Entry) -> dict[str, float]:
    told = tuple(Entry(complaint=name, answer="yes") for name in row["told"])
    case = Case(facts=row.get("facts", {}), entries=(*told, *more))
    return {cause.id: cause.p for cause in assess(base, case).causes}


@rows("mechanisms")
def test_a_mechanism_has_its_causes_and_its_complaints(knowledge, tree, row):
    mechanism = knowledge.mechanisms[row["is"]]
    for cause in row["from"]:
        assert tree.reach((cause,))[mechanism.id] >= 0.2, cause
    driver = tree.reach((mechanism.id,))
    for complaint in row["brings"]:
        assert complaint in knowledge.complaints
        assert driver.get(complaint, 0.0) >= LEADS, complaint


@rows("causes")
def test_a_cause_is_there_and_means_it(knowledge, tree, row):
    for name in row["are"]:
        cause = knowledge.causes[name]
        assert cause.kind == row.get("kind", "fault")
        assert re.search(row["says"], told_of(cause), re.IGNORECASE), told_of(cause)
        assert tree.reach((name,)).get(row["leads"], 0.0) >= row.get("at_least", LEADS)
    for name in as_list(row["seen"]):
        causes = [knowledge.causes[c] for c in row["are"]]
        assert any(shown_by(knowledge, tree, c, knowledge.checks[name]) for c in causes), name


@rows("new_parts")
def test_a_part_that_is_renewed_can_be_wrong_in_the_box(knowledge, tree, row):
    for name in row["are"]:
        cause = knowledge.causes[name]
        assert cause.kind == "new_part"
        assert PROOFS.search(cause.prove), cause.prove
        looks = [c for c in knowledge.checks.values() if shown_by(knowledge, tree, cause, c)]
        assert looks, name


@rows("looks")
def test_a_look_turns_the_odds_as_a_fitter_reads_it(knowledge, row):
    entry = (
        Entry(complaint=row["complaint"], answer="yes")
        if "complaint" in row
        else Entry(check=row["check"], answer=row["answer"])
    )
    before, after = chances(knowledge, row), chances(knowledge, row, entry)
    for name in (*row["for"], *row["against"]):
        assert name in before, name
    assert sum(after[c] for c in row["for"]) > 1.05 * sum(before[c] for c in row["for"])
    assert sum(after[c] for c in row["against"]) < 0.9 * sum(before[c] for c in row["against"])


@rows("stops")
def test_a_stop_hangs_on_what_can_come_up(knowledge, tree, row):
    assert knowledge.cautions[row["stop"]].level == "stop"
    for name in row["at"]:
        assert knowledge.observable(name).stop == row["stop"]
        asked = name in knowledge.complaints
        assert asked or any(can_say_yes(c, name) for c in knowledge.checks.values()), name
        assert any(name in tree.reach((cause,)) for cause in knowledge.causes), name


@rows("readings")
def test_a_reading_is_called_what_the_trade_calls_it(knowledge, row):
    check = knowledge.checks[row["check"]]
    answer = answer_for_reading(knowledge, check, row["reading"])
    assert answer.id == row["answer"]
    stops = {knowledge.observable(n).stop for n, said in answer.shows.items() if said == "yes"}
    assert row.get("stop") in stops | {None}


@rows("rules")
def test_a_rule_of_practice_is_told_where_it_is_needed(knowledge, row):
    if "cause" in row:
        text = told_of(knowledge.causes[row["cause"]])
    else:
        check = knowledge.checks[row["check"]]
        said = (f"{a.text} {a.means}" for a in check.answers)
        text = " ".join((check.do, check.say, check.why, check.yes, check.no, *said))
    assert re.search(row["says"], text), text


@rows("questions")
def test_what_people_leave_out_is_asked_and_counts(knowledge, row):
    if "work" in row:
        work = knowledge.work[row["work"]]
        assert work.ask.endswith("?")
        assert len(work.answers) > 1
        answers = {answer.id: answer for answer in work.answers}
        for answer, cause in row["tells"].items():
            assert knowledge.scale.change[answers[answer].changes[cause]] > 1.0, answer
        return
    check = knowledge.checks[row["check"]]
    assert check.from_ == "seat"
    assert check.say.endswith("?")
    before = chances(knowledge, row)
    for answer, cause in row["tells"].items():
        after = chances(knowledge, row, Entry(check=check.id, answer=answer))
        assert after[cause] > 1.1 * before[cause], answer


@rows("tellings")
def test_the_words_people_use_find_their_complaint(knowledge, row):
    holders = {
        complaint.id
        for complaint in knowledge.complaints.values()
        for word in (complaint.name, *complaint.words)
        if row["says"] in word
    }
    assert row["is"] in holders


def test_the_words_of_no_two_complaints_are_the_same(knowledge):
    where: dict[str, list[str]] = {}
    for complaint in knowledge.complaints.values():
        for word in complaint.words:
            where.setdefault(word.casefold(), []).append(complaint.id)
    assert {word: ids for word, ids in where.items() if len(ids) > 1} == {}


def test_there_are_complaints_enough_and_each_has_its_own_tree(knowledge, tree):
    """Two complaints that the same causes bring just as often would be one."""
    assert len(knowledge.complaints) >= 34
    reach = {name: tree.reach((name,)) for name in knowledge.causes}
    profile = {
        complaint: tuple(round(reach[c].get(complaint, 0.0), 6) for c in knowledge.causes)
        for complaint in knowledge.complaints
    }
    assert len(set(profile.values())) == len(profile)
    for complaint, chances_of in profile.items():
        assert sum(p >= LEADS for p in chances_of) >= 1, complaint
