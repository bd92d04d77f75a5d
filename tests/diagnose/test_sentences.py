"""Sentences say what was computed: every number in them is worked out again here."""

import re
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest

from diagnose.assess import assess
from diagnose.case import PENDING, Case, Entry
from diagnose.explain import doubts, explain
from diagnose.planning.advice import advise
from diagnose.planning.record import Advice, Option
from diagnose.sentences import (
    advice_reason,
    chance_words,
    counts,
    explanation_lines,
    hours,
    look_again,
    statement,
    verdict,
)
from tests.small_bases import make_base

WORDS = {  # least chance -> word, as the README of a trainer would list them
    0.90: "almost certain",
    0.60: "likely",
    0.30: "may well be",
    0.10: "possible",
    0.03: "unlikely",
    0.0: "hardly",
}


@pytest.fixture(scope="module")
def base():
    with TemporaryDirectory() as folder:
        yield make_base(
            Path(folder, "base"),
            complaints={
                "slips": {"name": "it slips", "unexplained": 0.01},
                "smells": {"name": "it smells", "unexplained": 0.05},
            },
            mechanisms={"no_grip": {"name": "the disc has no grip", "brings": {"slips": 0.9}}},
            causes={
                "oily": {
                    "name": "oil on the disc",
                    "rate": 0.3,
                    "brings": {"no_grip": 0.95, "smells": 0.6},
                    "shows": {"oil": 0.9},
                    "repair": {"from": "out", "hours": 1.0},
                },
                "thin": {
                    "name": "a thin disc",
                    "rate": 0.4,
                    "brings": {"no_grip": 0.8, "smells": 0.06},
                    "shows": {"scores": 0.85},
                    "repair": {"from": "out", "hours": 1.2},
                },
                "rides": {
                    "name": "a foot on the pedal",
                    "rate": 0.2,
                    "brings": {"slips": 0.3, "smells": 0.7},
                    "shows": {"polish": 0.8},
                    "repair": {"from": "seat", "hours": 0.2},
                },
            },
            findings={
                "oil": {
                    "name": "oil at the drain",
                    "absent": "the drain is dry",
                    "unexplained": 0.05,
                },
                "scores": {"name": "scores", "absent": "a smooth face", "unexplained": 0.05},
                "polish": {
                    "name": "a polished pedal",
                    "absent": "a dull pedal",
                    "unexplained": 0.1,
                },
            },
            checks={
                "look_drain": {"name": "Look at the drain", "finding": "oil", "from": "under"},
                "look_face": {"name": "Look at the face", "finding": "scores", "from": "out"},
                "look_pedal": {"name": "Look at the pedal", "finding": "polish", "minutes": 1},
            },
        )


SLIPS = Entry(complaint="slips", answer="yes")
SMELLS = Entry(complaint="smells", answer="probably")
DRY = Entry(check="look_drain", answer="no")
DULL = Entry(check="look_pedal", answer="probably not")
CASE = Case(entries=(SLIPS, SMELLS, DRY, DULL))


def odds(p: float) -> float:
    return p / (1.0 - p)


class TestWords:
    @pytest.mark.parametrize("least", sorted(WORDS)[1:])
    def test_at_the_edges(self, least):
        below = max(word for word in WORDS if word < least)
        assert chance_words(least) == WORDS[least]
        assert chance_words(np.nextafter(least, 0.0)) == WORDS[below]

    @pytest.mark.parametrize(
        ("p", "word"),
        [(1.0, "almost certain"), (0.0, "hardly"), (-1e-17, "hardly"), (1.1, "almost certain")],
    )
    def test_at_the_ends_and_a_rounding_error_beyond(self, p, word):
        assert chance_words(p) == word

    @pytest.mark.parametrize(
        ("p", "text"),
        [
            (1.0, "more than 99 in 100"),
            (0.996, "more than 99 in 100"),
            (0.994, "about 99 in 100"),
            (0.5, "about 50 in 100"),
            (0.0149, "about 1 in 100"),
            (0.0051, "about 1 in 100"),
            (0.0049, "less than 1 in 100"),
            (0.0, "less than 1 in 100"),
            (-1e-17, "less than 1 in 100"),
        ],
    )
    def test_counts(self, p, text):
        assert counts(p) == text

    @pytest.mark.parametrize(
        ("value", "text"),
        [
            (0.0, "less than 1 min"),
            (1 / 60, "1 min"),
            (0.5, "30 min"),
            (1.49, "89 min"),
            (1.5, "1.5 h"),
            (7.96, "8.0 h"),
            (12.0, "12.0 h"),
            (99.94, "99.9 h"),
            (99.95, "100 h"),
            (1033.3, "1033 h"),
        ],
    )
    def test_hours(self, value, text):
        assert hours(value) == text


class TestStatement:
    @pytest.mark.parametrize(
        ("entry", "finding", "said"),
        [
            (Entry(check="look_drain", answer="yes"), "oil", "oil at the drain"),
            (Entry(check="look_drain", answer="probably"), "oil", "oil at the drain"),
            (Entry(check="look_drain", answer="probably not"), "oil", "the drain is dry"),
            (Entry(check="look_drain", answer="no"), "oil", "the drain is dry"),
            (Entry(complaint="smells", answer="yes"), "smells", "it smells"),
            (Entry(complaint="smells", answer="no"), "smells", "no complaint: it smells"),
        ],
    )
    def test_what_was_seen_or_what_is_seen_without_it(self, base, entry, finding, said):
        assert statement(assess(base, Case(entries=(SLIPS, entry))), finding) == said


class TestExplanation:
    @pytest.mark.parametrize("cause", ["oily", "thin", "rides"])
    def test_the_first_line(self, base, cause):
        found = assess(base, CASE)
        line = explanation_lines(found, explain(found, cause))[0]
        p = found.cause(cause).p
        better = sum(other.p > p for other in found.causes)
        before = assess(base, Case()).cause(cause).prior
        assert line == (
            f"{base.causes[cause].name.capitalize()}: {chance_words(p)}, {counts(p)}; "
            f"number {better + 1} of 3. Before any answer it was {counts(before)}."
        )

    @pytest.mark.parametrize("cause", ["oily", "thin", "rides"])
    def test_each_factor_is_what_leaving_the_answer_out_makes_of_the_odds(self, base, cause):
        found = assess(base, CASE)
        lines = explanation_lines(found, explain(found, cause))
        whole = odds(found.cause(cause).p)
        spoken = 0
        for i, entry in enumerate(CASE.entries):
            rest = assess(base, Case(entries=CASE.entries[:i] + CASE.entries[i + 1 :]))
            factor = whole / odds(rest.cause(cause).p)
            finding = entry.complaint or base.checks[entry.check].finding
            said = statement(found, finding)
            about = [line for line in lines if line.lower().startswith(f"“{said.lower()}”")]
            if abs(10 * np.log10(factor)) < 0.5:
                assert not any(" speaks " in line for line in about)
                continue
            explained = [line for line in about if "explained by" in line]
            if explained:
                assert factor < 1.0
                continue
            (line,) = [line for line in about if " speaks " in line]
            side = "for" if factor > 1.0 else "against"
            assert f" {side} it (" in line
            shown = float(re.search(r"\(([\d.]+) times", line)[1])
            assert shown == pytest.approx(max(factor, 1.0 / factor), rel=0.05)
            decibans = abs(10 * np.log10(factor))
            word = next(
                w
                for d, w in ((10, "strongly"), (5, "clearly"), (2, "somewhat"), (0, "a little"))
                if decibans >= d
            )
            assert f"speaks {word} {side}" in line
            spoken += 1
        assert spoken > 0

    def test_the_weightiest_come_first(self, base):
        found = assess(base, CASE)
        lines = explanation_lines(found, explain(found, "oily"))
        factors = [float(m[1]) for line in lines if (m := re.search(r"\(([\d.]+) times", line))]
        assert len(factors) > 1
        assert factors == sorted(factors, reverse=True)

    def test_a_fault_that_was_seen_when_it_was_put_right_is_told(self, base):
        for seen in (True, False):
            mended = Entry(repair="oily", answer=PENDING, seen=seen)
            found = assess(base, CASE.with_entry(mended))
            told = {c: explanation_lines(found, explain(found, c)) for c in ("oily", "thin")}
            assert ("It was seen when it was put right." in told["oily"]) == seen
            assert "It was seen when it was put right." not in told["thin"]

    def test_how_it_brings_the_complaint(self, base):
        found = assess(base, CASE)
        lines = explanation_lines(found, explain(found, "thin"))
        assert [line for line in lines if line.startswith("How:")] == [
            "How: a thin disc → the disc has no grip → it slips.",
            "How: a thin disc → it smells.",
        ]
        without = assess(base, Case(entries=(SLIPS, Entry(complaint="smells", answer="no"))))
        lines = explanation_lines(without, explain(without, "thin"))
        assert [line for line in lines if line.startswith("How:")] == [
            "How: a thin disc → the disc has no grip → it slips."
        ]

    def test_explained_by_another(self, base):
        """A thin disc may smell a little, but the smell speaks for the oil, which slips as well."""
        found = assess(base, Case(entries=(SLIPS, Entry(complaint="smells", answer="yes"))))
        silent = assess(base, Case(entries=(SLIPS,)))
        assert found.cause("thin").p < silent.cause("thin").p
        lines = explanation_lines(found, explain(found, "thin"))
        column = found.network.q[:, found.network.finding_index["smells"]]
        credit = {c.id: c.p * column[found.network.cause_index[c.id]] for c in found.causes}
        by = max((name for name in credit if name != "thin"), key=lambda name: credit[name])
        assert f"“It smells” would fit, but is explained by: {base.causes[by].name}." in lines

    def test_what_no_cause_explains_is_said(self, base):
        """Of the three findings only polish is there, with a cause that the rest rules out."""
        found = assess(
            base,
            Case(
                entries=(
                    SLIPS,
                    Entry(complaint="smells", answer="no"),
                    Entry(check="look_face", answer="yes"),
                    Entry(check="look_pedal", answer="yes"),
                )
            ),
        )
        lines = explanation_lines(found, explain(found, "thin"))
        for finding, share in found.unexplained.items():
            name = base.observable(finding).name.capitalize()
            said = f"“{name}” stays unexplained by any cause ({counts(share)})."
            assert (said in lines) is (share > 0.5)
        assert any(share > 0.5 for share in found.unexplained.values())

    def test_without_answers(self, base):
        found = assess(base, Case())
        assert explanation_lines(found, explain(found, "oily"))[1:] == [
            "No answer speaks for or against it yet."
        ]

    def test_a_factor_beyond_all_measure(self, base):
        found = assess(base, CASE)
        account = explain(found, "oily")
        huge = replace(account.weights[0], left_out=240.0, explained_by=None)
        line = explanation_lines(found, replace(account, weights=(huge,)))[-1]
        assert line == "“It slips” speaks strongly for it (more than 1000 times the odds)."


class TestAdvice:
    def test_a_check_and_what_it_tells_apart(self, base):
        found = assess(base, Case(entries=(SLIPS,)))
        advice = advise(found)
        best = next(o for o in advice.options if o.kind == "check")
        said = advice_reason(found, replace(advice, options=(best,)))
        finding = base.checks[best.id].finding
        shows = {c.id: found.network.q[found.network.cause_index[c.id]] for c in found.causes}
        column = found.network.finding_index[finding]
        showing = next(c.name for c in found.causes if shows[c.id][column] >= 0.4)
        silent = next(c.name for c in found.causes if shows[c.id][column] < 0.2)
        level = base.levels[best.level].name
        assert said == (
            f"It tells “{showing}” from “{silent}”. It takes {hours(best.hours)} {level} "
            f"and saves {hours(best.gain)} on average."
        )

    def test_only_what_may_bring_the_complaint_is_told_apart(self, base):
        """A foot on the pedal brings no leak: nobody asks what tells a leak from it."""
        found = assess(base, Case(entries=(SLIPS,)))
        check = Option("check", "look_drain", "Look at the drain", "seat", 0.1, 0.0, 5.0, 0.4)
        advice = Advice((check,), 5.0, 5.0, None, go_inside=False)
        assert advice_reason(found, advice).startswith("It tells “oil on the disc” from “")
        network, i = found.network, found.network.cause_index["oily"]
        column = network.finding_index["slips"]
        for other in ("thin", "rides"):
            q = network.q.copy()
            q[:, column] = 0.0
            q[[i, network.cause_index[other]], column] = 0.5
            alone = replace(found, network=replace(network, q=q))
            name = base.causes[other].name
            assert f"from “{name}”" in advice_reason(alone, advice)

    def test_a_repair(self, base):
        found = assess(base, CASE)
        best = Option("repair", "oily", "oil on the disc", "out", 8.0, 7.0, 9.0, 0.0)
        p = found.cause("oily").p
        pays = "and no further look would pay for itself first."
        assert advice_reason(found, Advice((best,), 9.0, None, 9.0, go_inside=True)) == (
            f"It is {chance_words(p)} ({counts(p)}), the repair takes 8.0 h gearbox out, {pays}"
        )
        told = replace(best, designed=True)
        assert advice_reason(found, Advice((told,), 9.0, None, 9.0, go_inside=True)) == (
            f"It is {chance_words(p)} ({counts(p)}), explaining it takes 8.0 h gearbox out, {pays}"
        )

    @pytest.mark.parametrize(
        ("p", "said"),
        [
            (0.95, "It is almost certain (about 95 in 100)"),
            (0.7, "It is likely (about 70 in 100)"),
            (0.57, "It may well be so (about 57 in 100)"),
            (0.15, "It is possible (about 15 in 100)"),
            (0.05, "It is unlikely (about 5 in 100)"),
            (0.02, "It is hardly so (about 2 in 100)"),
        ],
    )
    def test_every_word_for_a_chance_makes_a_sentence(self, base, p, said):
        found = assess(base, CASE)
        causes = tuple(replace(c, p=p) if c.id == "oily" else c for c in found.causes)
        best = Option("repair", "oily", "oil on the disc", "out", 8.0, 7.0, 9.0, 0.0)
        advice = Advice((best,), 9.0, None, 9.0, go_inside=True)
        assert advice_reason(replace(found, causes=causes), advice).startswith(f"{said}, ")

    def test_a_question_is_asked_at_no_level(self, base):
        found = assess(base, Case(entries=(SLIPS,)))
        ask = Option("ask", "smells", "Does it smell?", "seat", 0.05, 0.0, 5.0, 0.4)
        said = advice_reason(found, Advice((ask,), 5.0, 5.0, None, go_inside=False))
        assert said.endswith("It takes 3 min and saves 24 min on average.")

    def test_nothing_left(self, base):
        said = advice_reason(assess(base, CASE), Advice((), 8.0, None, None, go_inside=False))
        assert said.startswith(
            "Nothing is left that would bring the fix nearer. Hand the case over"
        )

    @pytest.mark.parametrize(
        ("stands", "outside", "inside", "go_inside", "head", "reason"),
        [
            ("seat", 3.0, 9.0, False, "The gearbox can stay in", "3.0 h {stays}, 9.0 h {comes}"),
            ("seat", 9.0, 3.0, True, "Go and look inside", "9.0 h {stays}, 3.0 h {comes}"),
            ("seat", 1.0, None, False, "The gearbox can stay in", "60 min {stays}"),
            ("seat", None, 2.0, True, "Go and look inside", "2.0 h {comes}"),
            ("out", 9.0, 2.0, True, "Stay inside", "2.0 h {open}, 9.0 h {closed}"),
            ("out", None, 2.0, True, "Stay inside", "2.0 h {open}"),
            ("out", 1.0, None, False, "Close up before the next step", "60 min {closed}"),
        ],
    )
    def test_whether_to_go_inside(self, base, stands, outside, inside, go_inside, head, reason):
        found = assess(base, Case(stands=stands, entries=(SLIPS,)))
        advice = Advice((), 5.0, outside, inside, go_inside)
        ways = {
            "stays": "if it stays in for now",
            "comes": "if it comes out next",
            "open": "if it stays open for now",
            "closed": "if it is closed up first",
        }
        assert verdict(found, advice) == (head, f"To the fix {reason.format(**ways)}.")

    def test_no_step_to_compare(self, base):
        found = assess(base, Case(stands="out", entries=(SLIPS,)))
        assert verdict(found, Advice((), 5.0, None, None, go_inside=False)) == (
            "Close up before the next step",
            "There is no further step to compare.",
        )

    def test_the_verdict_is_that_of_the_plan(self, base):
        found = assess(base, CASE)
        advice = advise(found)
        _, reason = verdict(found, advice)
        for value in (advice.outside, advice.inside):
            if value is not None:
                assert hours(value) in reason


@pytest.fixture(scope="module")
def rigid():
    """A base in which links are certain and nothing comes of itself: answers can contradict."""
    with TemporaryDirectory() as folder:
        yield make_base(
            Path(folder, "base"),
            scale={"unknown": {"rate": 0.05, "brings": 0.0, "shows": 0.0, "moves": 0.2}},
            complaints={"slips": {"name": "it slips", "unexplained": 0.0}},
            causes={
                "oily": {"brings": {"slips": 1.0}, "shows": {"oil": 1.0}},
                "thin": {"brings": {"slips": 1.0}, "shows": {"scores": 1.0}},
            },
            findings={
                "oil": {"name": "oil", "absent": "no oil", "unexplained": 0.0},
                "scores": {"name": "scores", "absent": "no scores", "unexplained": 0.0},
            },
            checks={
                "look_oil": {"finding": "oil"},
                "look_scores": {"finding": "scores"},
            },
        )


def rigid_case(oil: str, scores: str) -> Case:
    return Case(
        entries=(
            SLIPS,
            Entry(check="look_oil", answer=oil),
            Entry(check="look_scores", answer=scores),
        )
    )


class TestLookAgain:
    def test_answers_that_go_together(self, rigid, base):
        assert look_again(assess(rigid, rigid_case("yes", "no"))) == []
        assert look_again(assess(base, Case())) == []
        assert look_again(assess(base, Case(entries=(SLIPS,)))) == []

    def test_answers_that_contradict_each_other(self, rigid):
        """It slips, yet neither of the two that alone can bring it shows what it always shows."""
        found = assess(rigid, rigid_case("no", "no"))
        lines = look_again(found)
        assert lines[0] == (
            "The certain answers contradict each other; they are taken as not quite certain."
        )
        named = [line for line in lines if line.startswith("Look again: ")]
        assert len(named) == min(3, len(doubts(found)))
        for line, doubt in zip(named, doubts(found), strict=False):
            said = statement(found, doubt.key)
            assert line == (
                f"Look again: “{said[0].upper()}{said[1:]}” fits badly with the other answers."
            )
        assert any("It slips" in line for line in named)

    def test_when_something_else_is_likelier_than_all_that_is_known(self, rigid):
        """Neither cause can be there, and the complaint is another one: nothing contradicts."""
        silent = Entry(complaint="slips", answer="no")
        case = rigid_case("no", "no")
        found = assess(rigid, case.model_copy(update={"entries": (silent, *case.entries[1:])}))
        assert not found.softened
        assert found.unknown > 0.5
        assert look_again(found)[0] == (
            f"No cause here explains these answers well ({counts(found.unknown)} something else)."
        )
