"""Pairs that nothing tells apart, and pairs said to be such: each rule on a base made for it."""

from pathlib import Path

import pytest

from diagnose.apart_lint import RULES, apart_issues
from knowledge.load import KnowledgeError, load_base
from tests.small_bases import make_base

SMALL = Path(__file__).parents[1] / "knowledge" / "small"
FACTS = {
    "release": {
        "values": {name: {"name": name, "share": 0.5} for name in ("slave", "cable")},
    }
}
SETUPS = {name: {"facts": {"release": [name]}} for name in ("slave", "cable")}
WHY = "One part holds both, and it is renewed as a whole."


def issues_of(tmp_path, causes, *, check=None, setups=SETUPS):
    """Issues of a base whose causes all bring one complaint, and show what one check looks for."""
    base = make_base(
        tmp_path / "base",
        facts=FACTS,
        setups=setups,
        complaints={"sticks": {}},
        findings={"off": {}},
        causes={name: {"brings": {"sticks": 0.5}} | cause for name, cause in causes.items()},
        checks={"look": {"finding": "off"} | (check or {})},
    )
    found = apart_issues(base)
    assert list(found) == sorted(found)
    for issue in found:
        assert issue.severity == RULES[issue.rule][0] == "error"
        assert issue.position.file == "base.yaml"
    return [(issue.rule, issue.message) for issue in found]


SHOWN = {"shows": {"off": "always"}}


def test_a_pair_that_a_check_tells_apart_is_clean(tmp_path):
    assert issues_of(tmp_path, {"a": SHOWN, "b": {}}) == []


class TestInseparable:
    def test_two_that_show_the_same(self, tmp_path):
        assert issues_of(tmp_path, {"a": SHOWN, "b": SHOWN}) == [
            ("inseparable", "no check tells 'a' from 'b' in the set-up 'slave'")
        ]

    def test_a_hint_is_not_enough(self, tmp_path):
        hint = {"shows": {"off": "often"}}
        assert issues_of(tmp_path, {"a": hint, "b": {}}) == [
            ("inseparable", "no check tells 'a' from 'b' in the set-up 'slave'")
        ]

    def test_one_set_up_in_which_the_check_can_not_be_done(self, tmp_path):
        slave, needs_slave = ({"when": {"release": ["slave"]}} for _ in range(2))
        assert issues_of(tmp_path, {"a": SHOWN, "b": {}}, check=slave) == [
            ("inseparable", "no check tells 'a' from 'b' in the set-up 'cable'")
        ]
        assert issues_of(tmp_path, {"a": SHOWN, "b": needs_slave}, check=slave) == []

    def test_no_shipped_set_up(self, tmp_path):
        assert issues_of(tmp_path, {"a": SHOWN, "b": SHOWN}, setups={}) == [
            ("inseparable", "no check tells 'a' from 'b' in a set-up that is not shipped")
        ]

    def test_a_reason_is_enough(self, tmp_path):
        assert issues_of(tmp_path, {"a": SHOWN, "b": SHOWN | {"alike": {"a": WHY}}}) == []
        assert issues_of(tmp_path, {"a": SHOWN | {"alike": {"b": WHY}}, "b": SHOWN}) == []

    def test_a_reason_for_one_pair_is_none_for_another(self, tmp_path):
        causes = {"a": SHOWN | {"alike": {"b": WHY}}, "b": SHOWN, "c": SHOWN}
        assert {message for _, message in issues_of(tmp_path, causes)} == {
            f"no check tells {one!r} from 'c' in the set-up 'slave'" for one in "ab"
        }


class TestToldApart:
    def test_what_a_check_tells_apart_is_not_alike(self, tmp_path):
        assert issues_of(tmp_path, {"a": SHOWN, "b": {"alike": {"a": WHY}}}) == [
            ("told-apart", "'look' tells 'b' from 'a', yet they are 'alike'")
        ]

    def test_a_set_up_in_which_nothing_tells_them_apart_is_reason_enough(self, tmp_path):
        causes = {"a": SHOWN, "b": {"alike": {"a": WHY}}}
        assert issues_of(tmp_path, causes, check={"when": {"release": ["slave"]}}) == []

    @pytest.mark.parametrize("release", ["slave", "cable"])
    def test_what_never_meets_is_not_alike(self, tmp_path, release):
        here = {"when": {"release": [release]}}
        there = {"when": {"release": list({"slave", "cable"} - {release})}}
        causes = {"a": SHOWN | here | {"alike": {"b": WHY}}, "b": SHOWN | there}
        assert issues_of(tmp_path, causes) == [
            ("told-apart", "nobody takes 'a' for 'b', yet they are 'alike'")
        ]

    def test_a_cause_is_not_its_own_neighbour(self, tmp_path):
        causes = {"a": SHOWN | {"alike": {"a": WHY}}, "b": {}}
        assert issues_of(tmp_path, causes) == [
            ("told-apart", "nobody takes 'a' for 'a', yet they are 'alike'")
        ]


class TestLoading:
    def lay(self, tmp_path, text):
        (tmp_path / "shop").mkdir()
        (tmp_path / "shop" / "own.yaml").write_text(text, encoding="utf-8")
        return load_base(tmp_path / "shop", base=SMALL)

    def test_the_reason_is_read(self, tmp_path):
        base = self.lay(tmp_path, "causes: [{id: disc_bent, alike: {fork_worn: One repair.}}]\n")
        assert base.causes["disc_bent"].alike == {"fork_worn": "One repair."}

    @pytest.mark.parametrize(
        ("text", "told"),
        [
            ("{fork_wron: One repair.}", "'fork_wron' is not known among causes"),
            ("{fork_worn: ''}", "'' does not fit here: it takes text that is not empty"),
            ("[fork_worn]", "this does not fit here: it takes keys with values"),
        ],
    )
    def test_what_is_no_reason(self, tmp_path, text, told):
        with pytest.raises(KnowledgeError) as error:
            self.lay(tmp_path, f"causes: [{{id: disc_bent, alike: {text}}}]\n")
        assert told in str(error.value)


@pytest.mark.parametrize("base", [None, SMALL], ids=["shipped", "small"])
def test_what_ships_is_clean(base):
    assert [str(issue) for issue in apart_issues(load_base(base=base))] == []
