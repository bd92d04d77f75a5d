"""Chances along the tree: by hand, and against switching every link on and off.

Gates are those of IEC 61025: OR, AND, voting and INHIBIT.
"""

from itertools import product
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knowledge.tree import Tree, gate_groups, share_that_fits, share_with
from tests.small_bases import make_base

FACTS = {
    "release": {
        "values": {
            "cable": {"name": "a cable", "share": 0.25},
            "slave": {"name": "a slave", "share": 0.5},
            "linkage": {"name": "a linkage", "share": 0.25},
        }
    },
    "discs": {
        "values": {"one": {"name": "one", "share": 0.9}, "two": {"name": "two", "share": 0.1}}
    },
}


def test_along_a_path_strengths_multiply(tmp_path):
    base = make_base(
        tmp_path,
        complaints={"drags": {}},
        mechanisms={"short": {"brings": {"stays": 0.6}}, "stays": {"brings": {"drags": "often"}}},
        causes={"air": {"brings": {"short": 0.8}}},
    )
    assert Tree(base, {}).reach(["air"]) == pytest.approx(
        {"air": 1.0, "short": 0.8, "stays": 0.48, "drags": 0.24}
    )


def test_paths_that_meet_combine_as_noisy_or(tmp_path):
    base = make_base(
        tmp_path,
        complaints={"drags": {}},
        findings={"seen": {}},
        mechanisms={"m": {"brings": {"drags": 0.5}, "shows": {"seen": 0.4}}, "m2": {}},
        causes={
            "air": {"brings": {"m": 0.8, "m2": 0.3, "drags": 0.1}},
            "leak": {"brings": {"m": 0.5}},
        },
    )
    tree = Tree(base, {})
    assert tree.reach(["air"])["drags"] == pytest.approx(1 - (1 - 0.1) * (1 - 0.8 * 0.5))
    both = tree.reach(["air", "leak"])
    assert both["m"] == pytest.approx(1 - 0.2 * 0.5)
    assert both["seen"] == pytest.approx(0.9 * 0.4)
    assert both["drags"] == pytest.approx(1 - (1 - 0.1) * (1 - 0.9 * 0.5))


@pytest.mark.parametrize(
    ("gate", "expected"),
    [
        ({"gate": "all"}, 0.9 * 0.5 * 0.2),
        ({"gate": "at_least", "k": 1}, 1 - 0.1 * 0.5 * 0.8),
        (
            {"gate": "at_least", "k": 2},
            0.9 * 0.5 * 0.8 + 0.9 * 0.5 * 0.2 + 0.1 * 0.5 * 0.2 + 0.9 * 0.5 * 0.2,
        ),
        ({"gate": "at_least", "k": 3}, 0.9 * 0.5 * 0.2),
    ],
)
def test_gates(tmp_path, gate, expected):
    base = make_base(
        tmp_path,
        complaints={"drags": {}},
        mechanisms={
            **{name: {} for name in ("m", "m2", "m3")},
            "together": {**gate, "of": ["m", "m2", "m3"], "brings": {"drags": 1.0}},
        },
        causes={
            name: {"brings": {m: p}}
            for name, m, p in (("a", "m", 0.9), ("b", "m2", 0.5), ("c", "m3", 0.2))
        },
    )
    reach = Tree(base, {}).reach(["a", "b", "c"])
    assert reach["together"] == pytest.approx(expected)
    assert reach["drags"] == pytest.approx(expected)
    if gate.get("k") != 1:
        assert "drags" not in Tree(base, {}).reach(["a"])


def test_a_vote_of_ten_percent_each(tmp_path):
    """T9: two of three at .1 is .028."""
    base = make_base(
        tmp_path,
        complaints={"drags": {}},
        mechanisms={
            **{name: {} for name in ("m", "m2", "m3")},
            "vote": {"gate": "at_least", "k": 2, "of": ["m", "m2", "m3"], "brings": {"drags": 1.0}},
        },
        causes={"all_three": {"brings": {"m": 0.1, "m2": 0.1, "m3": 0.1}}},
    )
    assert Tree(base, {}).reach(["all_three"])["drags"] == pytest.approx(0.028)


def test_causes_can_feed_a_gate_themselves(tmp_path):
    base = make_base(
        tmp_path,
        complaints={"drags": {}},
        mechanisms={"both": {"gate": "all", "of": ["a", "b"], "brings": {"drags": 0.7}}},
        causes={"a": {}, "b": {}},
    )
    assert Tree(base, {}).reach(["a", "b"])["drags"] == pytest.approx(0.7)
    assert "drags" not in Tree(base, {}).reach(["b"])


@pytest.mark.parametrize(
    ("facts", "share"),
    [
        ({}, 0.25),
        ({"release": ("cable",)}, 1.0),
        ({"release": ("slave",)}, 0.0),
        ({"release": ("cable", "linkage")}, 0.5),
    ],
)
def test_conditions(tmp_path, facts, share):
    """An open condition weighs with the share of comebacks that meet it: INHIBIT, and links."""
    base = make_base(
        tmp_path,
        facts=FACTS,
        complaints={"drags": {}, "squeals": {}},
        mechanisms={"frays": {"when": {"release": ["cable"]}, "brings": {"drags": 0.8}}},
        causes={
            "old": {
                "brings": {
                    "frays": 0.5,
                    "squeals": {"p": 0.6, "source": "judgement", "when": {"release": ["cable"]}},
                }
            }
        },
    )
    assert share_that_fits(base, facts, {"release": ("cable",)}) == pytest.approx(share)
    reach = Tree(base, facts).reach(["old"])
    assert reach.get("drags", 0.0) == pytest.approx(share * 0.4)
    assert reach.get("squeals", 0.0) == pytest.approx(share * 0.6)


def test_two_conditions_must_both_hold(tmp_path):
    base = make_base(tmp_path, facts=FACTS)
    when = {"release": ("cable", "slave"), "discs": ("two",)}
    assert share_that_fits(base, {}, when) == pytest.approx(0.75 * 0.1)
    assert share_that_fits(base, {"discs": ("two",)}, when) == pytest.approx(0.75)
    assert share_that_fits(base, {"release": ("linkage",)}, when) == 0.0
    assert share_that_fits(base, {}, {}) == 1.0


@pytest.mark.parametrize(
    ("facts", "share"),
    [
        ({}, 0.25 * 0.4 + 0.5 * 0.05),  # cable by its own rate, slave by the other, no linkage
        ({"release": ("cable",)}, 0.4),
        ({"release": ("slave",)}, 0.05),
        ({"release": ("linkage",)}, 0.0),
        ({"release": ("cable", "linkage")}, 0.5 * 0.4),
        ({"release": ("cable",), "discs": ("two",)}, 0.4),
    ],
)
def test_a_rate_can_differ_by_the_facts(tmp_path, facts, share):
    numbers = {"p": 0.4, "source": "judgement", "when": {"release": ["cable", "linkage"]}}
    base = make_base(
        tmp_path,
        facts=FACTS,
        causes={
            "play": {
                "rate": "rare",
                "rate_where": [numbers],
                "when": {"release": ["cable", "slave"]},
            }
        },
    )
    assert share_with(base, facts, base.causes["play"]) == pytest.approx(share)


class TestGroups:
    def base(self, folder, **mechanisms):
        causes = {name: {"brings": {"drags": 0.1}} for name in "abcdef"}
        causes["a"]["brings"] = {"m": 0.5}
        return make_base(folder, complaints={"drags": {}}, mechanisms=mechanisms, causes=causes)

    def test_no_gate_no_group(self, tmp_path):
        assert gate_groups(self.base(tmp_path, m={"brings": {"drags": 0.5}})) == ()

    def test_all_causes_behind_the_inputs(self, tmp_path):
        base = self.base(tmp_path, m={}, gate={"gate": "all", "of": ["m", "b"]})
        assert gate_groups(base) == (("a", "b"),)

    def test_gates_apart(self, tmp_path):
        base = self.base(
            tmp_path,
            m={},
            one={"gate": "all", "of": ["m", "b"]},
            two={"gate": "at_least", "k": 2, "of": ["c", "d", "e"]},
        )
        assert set(gate_groups(base)) == {("a", "b"), ("c", "d", "e")}

    def test_gates_that_share_a_cause_are_one_group(self, tmp_path):
        base = self.base(
            tmp_path,
            m={},
            one={"gate": "all", "of": ["m", "b"]},
            two={"gate": "all", "of": ["c", "d"]},
            three={"gate": "all", "of": ["b", "c"]},
        )
        assert gate_groups(base) == (("a", "b", "c", "d"),)

    def test_a_gate_above_a_gate(self, tmp_path):
        base = self.base(
            tmp_path,
            m={},
            low={"gate": "all", "of": ["m", "b"]},
            high={"gate": "all", "of": ["low", "c"]},
        )
        assert gate_groups(base) == (("a", "b", "c"),)


@st.composite
def forests(draw):
    """A tree of up to four mechanisms, each with one effect, and up to three causes.

    Mechanism i brings mechanism j > i or the complaint, or is an input of the gate at the top.
    """
    n = draw(st.integers(1, 4))
    chance = st.sampled_from([0.1, 0.3, 0.5, 0.8, 1.0])
    gate = draw(st.sampled_from([None, ("all", None), ("at_least", 2)])) if n > 1 else None
    mechanisms = {}
    for i in range(n):
        effect = draw(st.sampled_from([*(f"m{j}" for j in range(i + 1, n)), "top"]))
        mechanisms[f"m{i}"] = {} if gate and effect == "top" else {"brings": {effect: draw(chance)}}
    inputs = [name for name, m in mechanisms.items() if not m]
    if gate and len(inputs) > 1:
        kind, k = gate
        record = {"gate": kind, "of": inputs, "brings": {"top": draw(chance)}}
        mechanisms["gate"] = record if k is None else {**record, "k": k}
    else:
        for name in inputs:
            mechanisms[name] = {"brings": {"top": draw(chance)}}
    targets = st.dictionaries(
        st.sampled_from([f"m{i}" for i in range(n)] + ["top"]), chance, min_size=1, max_size=3
    )
    causes = {f"c{i}": {"brings": draw(targets)} for i in range(draw(st.integers(1, 2)))}
    return mechanisms, causes


@given(forests())
@settings(max_examples=60)
def test_switching_every_link_on_and_off_gives_the_same(forest):
    mechanisms, causes = forest
    with TemporaryDirectory() as folder:
        base = make_base(Path(folder), complaints={"top": {}}, mechanisms=mechanisms, causes=causes)
    records = {**causes, **mechanisms}
    links = [(a, b, p) for a, r in records.items() for b, p in r.get("brings", {}).items()]
    expected = 0.0
    for state in product((False, True), repeat=len(links)):
        chance = 1.0
        for (_, _, p), on in zip(links, state, strict=True):
            chance *= p if on else 1.0 - p
        if chance > 0.0:
            wired = [(a, b) for (a, b, _), on in zip(links, state, strict=True) if on]
            expected += chance * ("top" in lit(mechanisms, set(causes), wired))
    reach = Tree(base, {}).reach(list(causes))
    assert reach.get("top", 0.0) == pytest.approx(expected, abs=1e-12)


def lit(mechanisms, on, wired):
    """All nodes that are there when the wired links work: repeated until nothing changes."""
    while True:
        more = {b for a, b in wired if a in on}
        for name, record in mechanisms.items():
            if "of" in record:
                needed = record.get("k", len(record["of"]))
                if sum(n in on for n in record["of"]) >= needed:
                    more.add(name)
        if more <= on:
            return on
        on = on | more
