"""While it is open: what is worth a look, in which order, and what to see to before it closes."""

from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from diagnose.assess import assess
from diagnose.case import PENDING, Case, Entry
from diagnose.planning.closing import closing_list, glances
from diagnose.planning.comeback import planned
from tests.small_bases import make_base

DRAGS = Entry(complaint="drags", answer="yes")


def cause(rate, sign, level, *, before="", hours=1.0, brings=0.6):
    return {
        "rate": rate,
        "brings": {"drags": brings},
        "shows": {sign: 0.9},
        "before_closing": before,
        "repair": {"from": level, "hours": hours},
    }


CAUSES = {
    "air": cause(0.3, "spongy", "under", before="Bleed it."),
    "disc": cause(0.2, "bent", "out", before="Turn it between centres."),
    "fork": cause(0.2, "grooved", "out", before="Grease the pivot."),
    "pivot": cause(0.05, "worn", "out", before="Grease the pivot."),
    "dowel": cause(0.012, "missing", "out", before="Count the dowels."),
    "hub": cause(0.15, "notched", "apart", before="Blow the dust off."),
    "rivet": cause(0.1, "loose", "apart"),
}
CHECKS = {
    "pump": {"finding": "spongy", "minutes": 3},
    "turn": {"finding": "bent", "from": "out", "minutes": 10},
    "torch": {"finding": "grooved", "from": "out", "minutes": 2},
    "lever": {"finding": "worn", "from": "out", "minutes": 4},
    "count": {"finding": "missing", "from": "out", "minutes": 30},
    "hub_look": {"finding": "notched", "from": "apart", "minutes": 5},
    "rivet_look": {"finding": "loose", "from": "apart", "minutes": 5},
}
FINDINGS = ("spongy", "bent", "grooved", "worn", "missing", "notched", "loose")


def build(folder, causes=CAUSES, checks=CHECKS):
    return make_base(
        Path(folder),
        complaints={"drags": {}},
        findings={name: {} for name in FINDINGS} | {"missing": {"unexplained": 0.001}},
        causes=causes,
        checks=checks,
    )


@pytest.fixture(scope="module")
def base():
    with TemporaryDirectory() as folder:
        return build(folder)


def worth(base, *entries, stands="out", **case):
    found = assess(base, Case(entries=(DRAGS, *entries), stands=stands, **case))
    return glances(found, planned(found))


def ids(listed):
    return [glance.step.id for glance in listed]


class TestGlances:
    def test_the_numbers_by_hand(self, base):
        """A bent disc is seen in 90 of 100, brings the complaint in 60, and costs 7 hours again."""
        found = assess(base, Case(entries=(DRAGS,), stands="out"))
        (turn,) = (g for g in glances(found, planned(found)) if g.step.id == "turn")
        p = found.cause("disc").p * 0.9
        assert turn.p == pytest.approx(p)
        assert turn.hours == pytest.approx(10 / 60)
        assert turn.saves == pytest.approx(p * 0.6 * (0.5 + 7.0) - 10 / 60)
        assert (turn.step.kind, turn.step.name, turn.step.level) == ("check", "turn", "out")

    def test_a_look_that_finds_nothing_likely_is_not_listed(self, base):
        listed = ids(worth(base))
        assert {"turn", "torch"} <= set(listed)
        assert "count" not in listed, "half an hour for what is hardly ever so"

    def test_a_look_from_outside_is_none(self, base):
        assert "pump" not in ids(worth(base))

    def test_what_was_answered_is_not_looked_at_again(self, base):
        assert "turn" not in ids(worth(base, Entry(check="turn", answer="no")))

    def test_what_is_all_but_sure_needs_no_look(self, tmp_path):
        """Two looks at one disc: the first has settled it."""
        both = {**CAUSES["disc"], "shows": {"bent": 0.9, "loose": 0.9}}
        alone = {"disc": both, "air": CAUSES["air"]}
        base = build(tmp_path, alone)
        sure = [Entry(check="turn", answer="yes"), Entry(check="pump", answer="no")]
        assert assess(base, Case(entries=(DRAGS, *sure))).cause("disc").p > 0.97
        assert "rivet_look" in ids(worth(base))
        assert worth(base, *sure) == ()

    def test_of_two_looks_at_one_cause_the_better_counts_it(self, tmp_path):
        both = {**CAUSES["disc"], "shows": {"bent": 0.9, "worn": 0.7}}
        base = build(tmp_path, {"disc": both, "fork": CAUSES["fork"]})
        listed = ids(worth(base))
        assert "turn" in listed
        assert "lever" not in listed

    def test_by_level_and_what_saves_most_for_its_time_first(self, base):
        listed = worth(base)
        assert ids(listed)[:2] == ["torch", "turn"]
        depth = [g.step.level == "apart" for g in listed]
        assert depth == sorted(depth)
        for level in ("out", "apart"):
            rates = [g.saves / g.hours for g in listed if g.step.level == level]
            assert rates == sorted(rates, reverse=True)

    def test_a_deeper_level_is_opened_if_its_looks_pay_for_it_together(self, base):
        """The cover takes an hour off and on again; both looks together save more than that."""
        apart = [g for g in worth(base) if g.step.level == "apart"]
        assert {g.step.id for g in apart} == {"hub_look", "rivet_look"}
        assert sum(g.saves for g in apart) > 1.0
        told = [Entry(check="hub_look", answer="no")]
        alone = [g.step.id for g in worth(base, *told)]
        left = (
            assess(base, Case(entries=(DRAGS, *told))).cause("rivet").p * 0.9 * 0.6 * 8.5 - 5 / 60
        )
        assert 0.0 < left < 1.0
        assert "rivet_look" not in alone

    def test_once_that_is_open_as_well_each_pays_for_itself(self, base):
        told = [Entry(check="hub_look", answer="no")]
        assert "rivet_look" in ids(worth(base, *told, stands="apart"))

    def test_dear_ways_make_more_worth_a_look(self, base):
        assert "count" in ids(worth(base, hours={"out": 400.0}))

    def test_what_was_mended_while_it_is_open_needs_no_look(self, base):
        bent = [Entry(check="lever", answer="no"), Entry(repair="disc", answer=PENDING)]
        assert "turn" in ids(worth(base, *bent[:1]))
        listed = {g.step.id: g.p for g in worth(base, *bent)}
        assert listed.get("turn", 0.0) < 0.05


class TestClosingList:
    def lines(self, base, *entries):
        found = closing_list(assess(base, Case(entries=(DRAGS, *entries))))
        return [(line.cause, line.text) for line in found]

    def test_what_was_mended_comes_first_and_then_the_likely_inside(self, base):
        listed = self.lines(base, Entry(repair="hub", answer=PENDING))
        assert listed[0] == ("hub", "Blow the dust off.")
        chances = assess(base, Case(entries=(DRAGS, Entry(repair="hub", answer=PENDING))))
        p = [chances.cause(cause).p for cause, _ in listed[1:]]
        assert p == sorted(p, reverse=True)
        assert {"disc", "fork"} <= {cause for cause, _ in listed}

    def test_nothing_for_what_is_mended_outside_unless_it_was(self, base):
        assert "Bleed it." not in [text for _, text in self.lines(base)]
        assert ("air", "Bleed it.") in self.lines(base, Entry(repair="air", answer=PENDING))

    def test_nothing_for_what_is_hardly_ever_so_or_has_no_text(self, base):
        causes = [cause for cause, _ in self.lines(base)]
        assert "dowel" not in causes
        assert "rivet" not in causes

    def test_one_text_is_said_once(self, base):
        texts = [text for _, text in self.lines(base)]
        assert texts.count("Grease the pivot.") == 1
        assert len(set(texts)) == len(texts)

    def test_what_was_ruled_out_is_not_on_it(self, base):
        told = [Entry(check="turn", answer="no"), Entry(check="pump", answer="yes")]
        found = assess(base, Case(entries=(DRAGS, *told)))
        assert found.cause("disc").p < 0.02
        assert "disc" not in [cause for cause, _ in self.lines(base, *told)]
