"""The command that says what tells causes apart: its lines, its JSON, and an unknown cause."""

import json

import pytest

from diagnose.__main__ import main
from diagnose.apart import pairs
from diagnose.apart_report import (
    cause_named,
    hardest,
    neighbour_lines,
    neighbours,
    summary_json,
    summary_lines,
)
from diagnose.errors import UnknownIdError
from tests.small_bases import make_base

WHY = "One repair puts both right."
FINDINGS = ("spongy", "runs_out", "wobbles", "felt")
CAUSES = {
    "air": {"shows": {"spongy": 0.97}},
    "bent": {"shows": {"runs_out": 0.97, "wobbles": 0.7}},
    "warped": {"shows": {"runs_out": 0.97, "wobbles": 0.7}, "alike": {"bent": WHY}},
    "grooved": {"shows": {"felt": 0.97}},
    "gummed": {"shows": {"felt": 0.97}},
}


@pytest.fixture
def base(tmp_path):
    return make_base(
        tmp_path / "base",
        complaints={"sticks": {}},
        findings={name: {"unexplained": 0.02} for name in FINDINGS},
        causes={name: {"brings": {"sticks": 0.5}} | cause for name, cause in CAUSES.items()},
        checks={
            "press": {"finding": "spongy", "from": "seat"},
            "watch": {"finding": "wobbles", "from": "under", "minutes": 12},
            "dial": {"finding": "runs_out", "from": "out", "minutes": 30},
            "feel": {"finding": "felt", "from": "out", "minutes": 6},
        },
    )


def test_the_summary_by_hand(base):
    """Ten pairs: four with air, told from the seat; bent and warped each against the two of the
    quill from below by their wobble; two pairs by nothing, one of them with its reason.
    """
    sure, weak = 0.5 + 0.98 * 0.97 / 2, 0.5 + 0.98 * 0.7 / 2
    assert (round(100 * sure), round(100 * weak)) == (98, 84)
    assert list(summary_lines(base, pairs(base))) == [
        "10 pairs of causes can be taken for each other: one vehicle can have either, and both "
        "lead to the same mechanism or complaint.",
        "What names the right one in 80 of 100, both being as likely before, tells them apart. "
        "Hours are from the seat and back.",
        "Cheapest to tell apart, each pair in the set-up where it costs most:",
        "     4   40 in 100  seat",
        "     4   40 in 100  under",
        "     0    0 in 100  gearbox out",
        "     0    0 in 100  cover off",
        "     2   20 in 100  by nothing",
        "Hardest:",
        *(
            f"  42 min  {one} / {other}: watch (under, 84 in 100); more surely feel (gearbox out, "
            "98 in 100), 7.6 h [in no shipped set-up]"
            for one in ("bent", "warped")
            for other in ("grooved", "gummed")
        ),
        *(
            f"   6 min  air / {other}: press (seat, 98 in 100) [in no shipped set-up]"
            for other in ("bent", "grooved", "gummed", "warped")
        ),
        "Nothing tells apart:",
        f"       -  bent / warped: {WHY} [in no shipped set-up]",
        "       -  grooved / gummed: no reason given [in no shipped set-up]",
    ]


def test_neighbours_come_cheapest_first_and_what_nothing_tells_last(base):
    lines = list(neighbour_lines(base, pairs(base), base.causes["warped"]))
    assert lines[0] == "warped: can be taken for 4 other causes."
    said = [line[10:].split(" [")[0] for line in lines[2:]]
    quill = "watch (under, 84 in 100); more surely feel (gearbox out, 98 in 100), 7.6 h"
    assert said == [
        "air: press (seat, 98 in 100)",
        f"grooved: {quill}",
        f"gummed: {quill}",
        f"bent: {WHY}",
    ]


def test_a_cause_without_neighbours(tmp_path):
    base = make_base(
        tmp_path / "base",
        complaints={"sticks": {}, "rattles": {}},
        causes={"a": {"brings": {"sticks": 0.5}}, "b": {"brings": {"rattles": 0.5}}},
    )
    lines = list(neighbour_lines(base, pairs(base), base.causes["a"]))
    assert lines == ["a: can be taken for no other causes."]
    assert "     0    0 in 100  by nothing" in list(summary_lines(base, pairs(base)))


def test_what_is_known_best_where_nothing_tells(tmp_path):
    base = make_base(
        tmp_path / "base",
        complaints={"sticks": {}},
        findings={"off": {"unexplained": 0.02}},
        causes={
            "a": {"brings": {"sticks": 0.5}, "shows": {"off": 0.5}},
            "b": {"brings": {"sticks": 0.5}},
        },
        checks={"look": {"finding": "off"}},
    )
    line = list(neighbour_lines(base, pairs(base), base.causes["b"]))[-1]
    assert line == (
        "       -  a: no reason given; the best is look (seat, 74 in 100), 6 min "
        "[in no shipped set-up]"
    )


@pytest.fixture(scope="module")
def shipped(knowledge):
    return pairs(knowledge)


@pytest.mark.parametrize("name", ["air_in_system", "hub_drags", "floater_rattles_by_design"])
def test_neighbours_of_the_shipped_base_are_sorted(knowledge, shipped, name):
    mine = neighbours(shipped, knowledge.causes[name])
    assert {p.causes for p in mine} == {p.causes for p in shipped if name in p.causes}
    hours = [pair.cheapest.hours for pair in mine]
    assert hours == sorted(hours)
    costs = [pair.cheapest.hours for pair in hardest(shipped)]
    assert costs == sorted(costs, reverse=True)


def test_an_unknown_cause_comes_with_a_guess(base):
    with pytest.raises(UnknownIdError, match=r"no cause 'groved'\. Did you mean 'grooved'"):
        cause_named(base, "groved")
    with pytest.raises(UnknownIdError, match=r"no cause 'zzz'\. Its id stands"):
        cause_named(base, "zzz")


class TestCommand:
    @pytest.fixture(autouse=True)
    def in_its_place(self, base, tmp_path, monkeypatch):
        """The base of these tests stands in for the one that ships with the program."""
        monkeypatch.setattr("knowledge.load.base_folder", lambda: tmp_path / "base")

    def test_lines(self, base, capsys):
        assert main(["apart"]) == 0
        assert capsys.readouterr().out.splitlines() == list(summary_lines(base, pairs(base)))
        assert main(["apart", "air"]) == 0
        said = capsys.readouterr().out.splitlines()
        assert said == list(neighbour_lines(base, pairs(base), base.causes["air"]))

    def test_json_of_the_summary(self, base, capsys):
        assert main(["apart", "--json"]) == 0
        data = json.loads(capsys.readouterr().out)
        assert data == json.loads(json.dumps(summary_json(base, pairs(base))))
        assert list(data) == ["tells", "pairs", "levels", "hardest", "inseparable"]
        assert (data["tells"], data["pairs"]) == (0.8, 10)
        assert data["levels"] == {"seat": 4, "under": 4, "out": 0, "apart": 0}
        one, other = data["inseparable"]
        assert (one["causes"], one["because"]) == (["bent", "warped"], WHY)
        assert (other["causes"], other["because"]) == (["grooved", "gummed"], "")
        assert other["cheapest"] is other["surest"] is None

    def test_json_of_one_cause(self, capsys):
        assert main(["apart", "air", "--json"]) == 0
        data = json.loads(capsys.readouterr().out)
        assert (data["tells"], data["cause"]) == (0.8, "air")
        assert [n["causes"] for n in data["neighbours"]] == [
            ["air", other] for other in ("bent", "grooved", "gummed", "warped")
        ]
        act = data["neighbours"][0]["cheapest"]
        assert act == {
            "kind": "check",
            "id": "press",
            "name": "press",
            "level": "seat",
            "hours": 0.1,
            "chance": pytest.approx(0.5 + 0.98 * 0.97 / 2),
        }

    def test_an_unknown_cause(self, capsys):
        assert main(["apart", "aair"]) == 1
        out, err = capsys.readouterr()
        assert out == ""
        assert err == "The knowledge holds no cause 'aair'. Did you mean 'air'?\n"

    def test_lint_says_it_too(self, capsys):
        assert main(["lint"]) == 1
        said = "no check tells 'grooved' from 'gummed' in a set-up that is not shipped"
        assert f"error: {said} [inseparable]" in capsys.readouterr().out
