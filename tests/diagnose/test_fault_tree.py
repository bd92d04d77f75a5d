"""Fault tree against published trees, plain enumeration and its own refusals.

Published sources: T9 is the pressure tank of NUREG-0492 (the Fault Tree Handbook) and three
small trees of a public benchmark suite; T10 is the polybox of de Kleer & Williams 1987.
"""

import math
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import astuple, dataclass
from fractions import Fraction
from functools import partial
from itertools import chain, combinations, product
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from diagnose import fault_tree
from diagnose.fault_tree import (
    FaultTree,
    FaultTreeError,
    Gate,
    importance,
    min_cut_upper_bound,
    minimal_cut_sets,
    minimal_hitting_sets,
    paths,
    rare_event_sum,
    top_probability,
)


def named(*cut_sets: str) -> tuple[frozenset[str], ...]:
    return tuple(frozenset(names.split()) for names in cut_sets)


@pytest.fixture
def pressure_tank() -> FaultTree:
    """T9: tank rupture T, relay K2, pressure switch S, switch S1, relays K1 and R."""
    return FaultTree.build(
        gates={
            "rupture": Gate("or", ("T", "K2 closed")),
            "K2 closed": Gate("or", ("K2", "S closed")),
            "S closed": Gate("and", ("S", "K1 energised")),
            "K1 energised": Gate("or", ("S1", "K1", "R")),
        },
        events={"T": 5e-6, "K2": 3e-5, "S": 1e-4, "S1": 3e-5, "R": 1e-4, "K1": 5e-6},
    )


class TestPressureTank:
    """T9, NUREG-0492."""

    def test_cut_sets(self, pressure_tank: FaultTree) -> None:
        expected = named("K2", "T", "K1 S", "R S", "S S1")
        assert minimal_cut_sets(pressure_tank, "rupture") == expected

    def test_exact_probability(self, pressure_tank: FaultTree) -> None:
        q = top_probability(pressure_tank, "rupture")
        assert q == pytest.approx(3.501334916245e-5, rel=1e-12)
        # The benchmark suite prints eight digits and differs from exact arithmetic in the last.
        assert q == pytest.approx(3.5013348e-5, rel=1e-7)

    def test_bounds(self, pressure_tank: FaultTree) -> None:
        assert rare_event_sum(pressure_tank, "rupture") == pytest.approx(3.50135e-5, rel=1e-12)
        assert min_cut_upper_bound(pressure_tank, "rupture") == pytest.approx(
            3.501334953e-5, rel=2e-10
        )

    def test_other_relay_figure(self, pressure_tank: FaultTree) -> None:
        q = top_probability(pressure_tank, "rupture", {"K1": 3e-5})
        assert q == pytest.approx(3.501584875e-5, rel=2e-10)

    @pytest.mark.parametrize(
        ("event", "measure", "printed", "tolerance"),
        [  # tolerance: half a unit in the last printed digit
            ("T", "birnbaum", 0.99997, 5e-6),
            ("K2", "birnbaum", 0.999995, 5e-7),
            ("S", "birnbaum", 1.349916e-4, 5e-11),
            ("R", "birnbaum", 9.9993e-5, 5e-10),
            ("T", "fussell_vesely", 0.1428027, 5e-8),
            ("K2", "fussell_vesely", 0.8568161, 5e-8),
            ("R", "fussell_vesely", 2.856054e-4, 5e-11),
            ("T", "raw", 28561, 0.5),
            ("K2", "raw", 28561, 0.5),
            ("S", "raw", 4.855, 5e-4),
            ("R", "raw", 3.8556, 5e-5),
            ("K2", "rrw", 6.98381, 5e-6),
            ("T", "rrw", 1.166587, 5e-7),
        ],
    )
    def test_importance(
        self,
        pressure_tank: FaultTree,
        event: str,
        measure: str,
        printed: float,
        tolerance: float,
    ) -> None:
        value = getattr(importance(pressure_tank, "rupture")[event], measure)
        assert value == pytest.approx(printed, rel=0, abs=tolerance)

    def test_fussell_vesely_of_the_switch(self, pressure_tank: FaultTree) -> None:
        """The printed 3.855672e-4 adds S's cut sets up; the exact union is 2.7e-5 smaller."""
        exact = top_probability(pressure_tank, "rupture")
        summed = rare_event_sum(pressure_tank, "S closed") / exact
        assert summed == pytest.approx(3.855672e-4, rel=0, abs=5e-11)
        s1, k1, r = Fraction(3, 10**5), Fraction(5, 10**6), Fraction(1, 10**4)
        union = Fraction(1, 10**4) * (1 - (1 - s1) * (1 - k1) * (1 - r))
        others = (1 - Fraction(5, 10**6)) * (1 - Fraction(3, 10**5))
        expected = float(union / (1 - others * (1 - union)))
        record = importance(pressure_tank, "rupture")["S"]
        assert record.fussell_vesely == pytest.approx(expected, rel=1e-12)

    def test_ranking_is_by_diagnostic_importance(self, pressure_tank: FaultTree) -> None:
        ranked = importance(pressure_tank, "rupture")
        assert list(ranked)[:2] == ["K2", "T"]
        assert sorted(ranked) == ["K1", "K2", "R", "S", "S1", "T"]


def test_compression_seals() -> None:
    """T9: one pair, or four seals at once; each row on its own and both together."""
    seals = ("s1", "s2", "s3", "s4")
    tree = FaultTree.build(
        gates={
            "leak": Gate("or", ("pair", "all seals")),
            "pair": Gate("and", ("x", "y")),
            "all seals": Gate("and", seals),
        },
        events={"x": 0.1, "y": 1e-5, **dict.fromkeys(seals, 1e-3)},
    )
    assert minimal_cut_sets(tree, "leak") == named("x y", " ".join(seals))
    assert top_probability(tree, "pair") == pytest.approx(1e-6, rel=1e-12)
    assert top_probability(tree, "all seals") == pytest.approx(1e-12, rel=1e-12)
    assert top_probability(tree, "leak") == pytest.approx(1.000000999999e-6, rel=1e-12)


def test_mooring() -> None:
    """T9: ten causes under one OR."""
    figures = (
        *(1.73e-5, 4.20e-3, 9.31e-3, 8.64e-3, 8.95e-6),
        *(8.95e-6, 9.93e-5, 4.37e-5, 5.46e-8, 4.17e-3),
    )
    events = {f"cause {i}": q for i, q in enumerate(figures)}
    tree = FaultTree.build(gates={"adrift": Gate("or", tuple(events))}, events=events)
    assert top_probability(tree, "adrift") == pytest.approx(0.02624638982423, rel=1e-12)


def test_two_of_three() -> None:
    """T9: a voting gate at 0.1 each."""
    tree = FaultTree.build(
        gates={"top": Gate("vote", ("a", "b", "c"), k=2)}, events=dict.fromkeys("abc", 0.1)
    )
    assert minimal_cut_sets(tree, "top") == named("a b", "a c", "b c")
    assert top_probability(tree, "top") == pytest.approx(0.028, rel=1e-12)
    for record in importance(tree, "top").values():
        assert record.birnbaum == pytest.approx(0.18, rel=1e-12)


def test_polybox_diagnoses() -> None:
    """T10, de Kleer & Williams 1987."""
    conflicts = [{"A1", "M1", "M2"}, {"A1", "M1", "M3", "A2"}]
    assert minimal_hitting_sets(conflicts) == named("A1", "M1", "A2 M2", "M2 M3")


def test_no_conflict_means_no_fault() -> None:
    assert minimal_hitting_sets([]) == (frozenset(),)


def test_empty_conflict_is_refused() -> None:
    with pytest.raises(FaultTreeError, match="'conflict 2' has no inputs"):
        minimal_hitting_sets([{"A1"}, set()])


class TestInhibit:
    """An INHIBIT gate passes its input on only while its condition holds."""

    def build(self, **kinds: Mapping[str, float | bool]) -> FaultTree:
        return FaultTree.build(
            gates={
                "drag": Gate("or", ("disc stuck", "other")),
                "disc stuck": Gate("inhibit", ("rust",), condition="stood"),
            },
            events={"rust": 0.2, "other": 0.05},
            **kinds,  # type: ignore[arg-type]  # one of `conditions` and `house`
        )

    def test_conditioning_event_counts_as_an_event(self) -> None:
        tree = self.build(conditions={"stood": 0.5})
        assert minimal_cut_sets(tree, "drag") == named("other", "rust stood")
        assert top_probability(tree, "drag") == pytest.approx(1 - 0.9 * 0.95, rel=1e-12)
        # P(stood | drag) by Bayes: Q(stood) = 1 - .8 * .95
        assert importance(tree, "drag")["stood"].diagnostic == pytest.approx(
            0.5 * 0.24 / 0.145, rel=1e-12
        )

    def test_house_event_switches_the_branch(self) -> None:
        on, off = (self.build(house={"stood": state}) for state in (True, False))
        assert minimal_cut_sets(on, "drag") == named("other", "rust")
        assert minimal_cut_sets(off, "drag") == named("other")
        assert top_probability(off, "drag") == pytest.approx(0.05, rel=1e-12)
        assert "stood" not in importance(on, "drag")

    def test_event_that_cannot_act_keeps_its_prior(self) -> None:
        rust = importance(self.build(house={"stood": False}), "drag")["rust"]
        assert astuple(rust) == pytest.approx((0.0, 0.0, 0.0, 1.0, 1.0, 0.2), rel=1e-12)


def test_certain_and_impossible_tops() -> None:
    tree = FaultTree.build(
        gates={"up": Gate("or", ("a", "on")), "down": Gate("and", ("a", "off"))},
        events={"a": 0.3},
        house={"on": True, "off": False},
    )
    assert minimal_cut_sets(tree, "up") == (frozenset(),)
    assert minimal_cut_sets(tree, "down") == ()
    assert (top_probability(tree, "up"), top_probability(tree, "down")) == (1.0, 0.0)
    assert (rare_event_sum(tree, "down"), min_cut_upper_bound(tree, "up")) == (0.0, 1.0)
    with pytest.raises(FaultTreeError, match="'down' has probability 0"):
        importance(tree, "down")


def test_member_of_every_cut_set() -> None:
    """Without it no top event, so it is there for sure and its absence would be worth all."""
    tree = FaultTree.build(
        gates={
            "top": Gate("and", ("a", "m")),
            "m": Gate("or", ("n", "c")),
            "n": Gate("and", ("b", "d")),
        },
        events={"a": 0.1, "b": 0.4, "c": 0.3, "d": 0.2},
    )
    assert minimal_cut_sets(tree, "top") == named("a c", "a b d")
    record = importance(tree, "top")["a"]
    assert (record.fussell_vesely, record.diagnostic, record.rrw) == (1.0, 1.0, math.inf)


def test_paths() -> None:
    tree = FaultTree.build(
        gates={
            "top": Gate("or", ("m", "n", "a")),
            "m": Gate("or", ("a", "b")),
            "n": Gate("and", ("m", "a")),
        },
        events={"a": 0.1, "b": 0.1, "aside": 0.1},
    )
    assert paths(tree, "a", "top") == (
        ("a", "top"),
        ("a", "m", "top"),
        ("a", "n", "top"),
        ("a", "m", "n", "top"),
    )
    assert paths(tree, "aside", "top") == ()
    assert paths(tree, "top", "a") == ()
    assert paths(tree, "m", "m") == (("m",),)
    with pytest.raises(FaultTreeError, match="more than 3 paths from 'a' to 'top'"):
        paths(tree, "a", "top", limit=3)
    with pytest.raises(FaultTreeError, match="unknown node 'nowhere'"):
        paths(tree, "nowhere", "top")


def test_paths_spend_nothing_on_dead_ends() -> None:
    """Beside the one path up, 2^60 others lead nowhere; walking them would never end."""
    rungs = {
        name: Gate("or", (f"l{i - 1}", f"r{i - 1}") if i else ("a",))
        for i in range(60)
        for name in (f"l{i}", f"r{i}")
    }
    tree = FaultTree.build({**rungs, "top": Gate("or", ("a",))}, {"a": 0.1})
    assert paths(tree, "a", "top") == (("a", "top"),)


def test_graph_is_frozen_and_annotated(pressure_tank: FaultTree) -> None:
    graph = pressure_tank.graph
    assert graph.nodes["S closed"] == {"kind": "and", "k": 2, "probability": None}
    assert graph.nodes["S"] == {"kind": "basic", "k": None, "probability": 1e-4}
    assert list(graph.predecessors("K1 energised")) == ["S1", "K1", "R"]
    with pytest.raises(nx.NetworkXError):
        graph.add_edge("T", "S closed")


def test_importing_does_not_load_networkx() -> None:
    root = Path(fault_tree.__file__).parents[1]
    code = "import sys, diagnose.fault_tree; print('networkx' in sys.modules)"
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True
    )
    assert run.stdout.strip() == "False"


# Refusals


@pytest.mark.parametrize(
    ("gates", "message"),
    [
        ({"g": Gate("or", ())}, "'g' has no inputs"),
        ({"g": Gate("or", ("a", "b", "a"))}, "'g' names its input 'a' twice"),
        ({"g": Gate("or", ("a", "ghost"))}, "'g': unknown node 'ghost'"),
        ({"g": Gate("inhibit", ("a",), condition="ghost")}, "'g': unknown node 'ghost'"),
        ({"g": Gate("vote", ("a", "b"))}, "'g' takes k if, and only if, it is a vote"),
        ({"g": Gate("vote", ("a", "b"), k=0)}, "'g' has k = 0, outside 1 to 2"),
        ({"g": Gate("vote", ("a", "b"), k=3)}, "'g' has k = 3, outside 1 to 2"),
        ({"g": Gate("and", ("a", "b"), k=1)}, "'g' takes k if, and only if, it is a vote"),
        ({"g": Gate("inhibit", ("a",))}, "'g' takes a condition if, and only if, it inhibits"),
        ({"g": Gate("inhibit", ("a", "b"), condition="c")}, "'g' inhibits one input, not 2"),
        ({"g": Gate("or", ("a",), condition="c")}, "'g' takes a condition if, and only if"),
        ({"g": Gate("inhibit", ("a",), condition="b")}, "'b' is neither a conditioning nor"),
        ({"g": Gate("or", ("a", "c"))}, "'g': 'c' can only be an inhibit condition"),
        ({"g": Gate("inhibit", ("h",), condition="h")}, "'g': 'h' is both input and condition"),
        ({"g": Gate("xor", ("a", "b"))}, "'g' is 'xor': not or, and"),  # type: ignore[arg-type]
        ({"a": Gate("or", ("b",))}, "'a' is defined twice"),
        ({"g": Gate("or", ("g",))}, "g -> g"),
        (
            {"g": Gate("or", ("a", "m")), "m": Gate("or", ("n",)), "n": Gate("and", ("g", "b"))},
            "feed each other: (g -> n -> m -> g|n -> m -> g -> n|m -> g -> n -> m)",
        ),
    ],
)
def test_gate_is_refused(gates: dict[str, Gate], message: str) -> None:
    with pytest.raises(FaultTreeError, match=message):
        FaultTree.build(gates, {"a": 0.1, "b": 0.1}, conditions={"c": 0.5}, house={"h": True})


@pytest.mark.parametrize("wrong", [-0.1, 1.0000001, math.nan, math.inf])
def test_probability_is_refused(wrong: float, pressure_tank: FaultTree) -> None:
    with pytest.raises(FaultTreeError, match=r"'a': .* is not a probability"):
        FaultTree.build({}, {"a": wrong})
    with pytest.raises(FaultTreeError, match=r"'c': .* is not a probability"):
        FaultTree.build({}, {}, conditions={"c": wrong})
    with pytest.raises(FaultTreeError, match=r"'K1': .* is not a probability"):
        top_probability(pressure_tank, "rupture", {"K1": wrong})


@pytest.mark.parametrize("name", ["ghost", "S closed"])
def test_only_events_take_a_probability(name: str, pressure_tank: FaultTree) -> None:
    with pytest.raises(FaultTreeError, match=f"'{name}' is not a basic or conditioning event"):
        top_probability(pressure_tank, "rupture", {name: 0.1})


def test_missing_probability_is_refused_and_can_be_supplied() -> None:
    tree = FaultTree.build({"top": Gate("or", ("a", "b"))}, {"a": None, "b": 0.5})
    assert minimal_cut_sets(tree, "top") == named("a", "b")
    with pytest.raises(FaultTreeError, match="'a' has no probability"):
        top_probability(tree, "top")
    assert top_probability(tree, "top", {"a": 0.5}) == 0.75


@pytest.mark.parametrize("question", [minimal_cut_sets, top_probability, importance])
def test_unknown_top_is_refused(
    question: Callable[[FaultTree, str], object], pressure_tank: FaultTree
) -> None:
    with pytest.raises(FaultTreeError, match="unknown node 'leak'"):
        question(pressure_tank, "leak")


def test_endless_cut_sets_are_counted_but_not_listed() -> None:
    """Forty pairs in series have 2^40 cut sets, yet an exact probability in no time."""
    events = {f"{side}{i}": 0.5 for i in range(40) for side in "ab"}
    gates = {f"pair {i}": Gate("or", (f"a{i}", f"b{i}")) for i in range(40)}
    tree = FaultTree.build({**gates, "top": Gate("and", tuple(gates))}, events)
    with pytest.raises(FaultTreeError, match=f"'top' has {2**40} minimal cut sets"):
        minimal_cut_sets(tree, "top")
    with pytest.raises(FaultTreeError, match="'top' has"):
        rare_event_sum(tree, "top")
    assert top_probability(tree, "top") == pytest.approx(0.75**40, rel=1e-12)
    # P(some cut set with a0 holds) = P(a0 and every other pair)
    assert importance(tree, "top")["a0"].fussell_vesely == pytest.approx(0.5 / 0.75, rel=1e-12)


def test_limit_is_the_most_sets_listed() -> None:
    tree = FaultTree.build({"top": Gate("or", ("a", "b"))}, {"a": 0.1, "b": 0.1})
    assert len(minimal_cut_sets(tree, "top", limit=2)) == 2
    with pytest.raises(FaultTreeError, match="'top' has 2 minimal cut sets, more than 1"):
        minimal_cut_sets(tree, "top", limit=1)


def test_largest_tree_fits_the_interpreter() -> None:
    """At the most events allowed, alternating gates nest as deep as the diagram goes."""
    count = fault_tree._MAX_EVENTS
    events = {f"e{i}": 0.5 for i in range(count + 1)}
    gates = {
        f"g{i}": Gate("or" if i % 2 else "and", (f"e{i}", f"g{i + 1}" if i + 2 < count else "e0"))
        for i in range(1, count)
    }
    three = Gate("vote", tuple(events)[:count], k=3)
    tree = FaultTree.build({**gates, "three": three, "all": Gate("or", tuple(events))}, events)
    nested = minimal_cut_sets(tree, "g1")
    assert len(nested) == count // 2
    assert len(nested[-1]) == count // 2
    with pytest.raises(FaultTreeError, match=f"'three' has {math.comb(count, 3)} minimal"):
        minimal_cut_sets(tree, "three")
    none_to_two = sum(math.comb(count, j) for j in range(3)) * 0.5**count
    assert top_probability(tree, "three") == pytest.approx(1.0 - none_to_two, rel=1e-12)
    with pytest.raises(FaultTreeError, match=f"'all' stands on more than {count} basic events"):
        minimal_cut_sets(tree, "all")


def test_oversized_diagram_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fault_tree, "_MAX_NODES", 20)
    tree = FaultTree.build(
        {"top": Gate("vote", tuple("abcdefgh"), k=4)}, dict.fromkeys("abcdefgh", 0.1)
    )
    with pytest.raises(FaultTreeError, match="'top' needs more than 20 decision-diagram nodes"):
        top_probability(tree, "top")


# Plain enumeration on random trees


@dataclass(frozen=True)
class Written:
    """A tree as written down, with the slow, obvious meaning of its gates."""

    gates: dict[str, Gate]
    events: dict[str, float]
    conditions: dict[str, float]
    house: dict[str, bool]

    @property
    def tree(self) -> FaultTree:
        return FaultTree.build(self.gates, self.events, self.conditions, self.house)

    @property
    def chances(self) -> dict[str, float]:
        return {**self.events, **self.conditions}

    def holds(self, node: str, present: frozenset[str]) -> bool:
        if node in self.house:
            return self.house[node]
        if node not in self.gates:
            return node in present
        gate = self.gates[node]
        inputs = [self.holds(source, present) for source in gate.inputs]
        if gate.kind == "or":
            return any(inputs)
        if gate.kind == "and":
            return all(inputs)
        if gate.kind == "vote":
            assert gate.k is not None
            return sum(inputs) >= gate.k
        assert gate.condition is not None
        return inputs[0] and self.holds(gate.condition, present)

    def states(self) -> Iterator[tuple[frozenset[str], float]]:
        """Every set of events that can be present, with its probability."""
        for bits in product((False, True), repeat=len(self.chances)):
            pairs = list(zip(self.chances.items(), bits, strict=True))
            yield (
                frozenset(name for (name, _), bit in pairs if bit),
                math.prod(p if bit else 1 - p for (_, p), bit in pairs),
            )

    def chance(self, condition: Callable[[frozenset[str]], bool]) -> float:
        return math.fsum(p for present, p in self.states() if condition(present))

    def cut_sets(self) -> set[frozenset[str]]:
        subsets = chain.from_iterable(
            combinations(self.chances, size) for size in range(len(self.chances) + 1)
        )
        found: set[frozenset[str]] = set()
        for members in map(frozenset, subsets):
            if self.holds("top", members) and not any(known <= members for known in found):
                found.add(members)
        return found


@st.composite
def written_trees(draw: st.DrawFn) -> Written:
    """Up to eight events under up to six gates; any gate may take any earlier node."""
    chance = st.floats(0.0, 1.0)
    events = {f"e{i}": draw(chance) for i in range(draw(st.integers(2, 6)))}
    conditions = {f"c{i}": draw(chance) for i in range(draw(st.integers(0, 2)))}
    house = {f"h{i}": draw(st.booleans()) for i in range(draw(st.integers(0, 2)))}
    gates: dict[str, Gate] = {}
    last = draw(st.integers(0, 5))
    for number in range(last + 1):
        sources = [*gates, *events, *house]
        kinds = ["or", "and", "vote", *(["inhibit"] if conditions else [])]
        kind = draw(st.sampled_from(kinds))
        most = 1 if kind == "inhibit" else 4
        some = st.lists(st.sampled_from(sources), min_size=min(2, most), max_size=most, unique=True)
        inputs = tuple(draw(some))
        gates["top" if number == last else f"g{number}"] = Gate(
            kind,  # type: ignore[arg-type]  # sampled from the four kinds
            inputs,
            k=draw(st.integers(1, len(inputs))) if kind == "vote" else None,
            condition=draw(st.sampled_from([*conditions])) if kind == "inhibit" else None,
        )
    return Written(gates, events, conditions, house)


@given(written_trees())
@settings(deadline=None)
def test_cut_sets_equal_enumeration(written: Written) -> None:
    listed = minimal_cut_sets(written.tree, "top")
    assert set(listed) == written.cut_sets()
    assert len(set(listed)) == len(listed)
    assert list(listed) == sorted(listed, key=lambda s: (len(s), sorted(s)))


@given(written_trees())
@settings(deadline=None)
def test_probability_equals_enumeration_and_keeps_its_bounds(written: Written) -> None:
    tree = written.tree
    exact = top_probability(tree, "top")
    assert exact == pytest.approx(
        written.chance(lambda present: written.holds("top", present)), rel=1e-12, abs=1e-300
    )
    bound, rare = min_cut_upper_bound(tree, "top"), rare_event_sum(tree, "top")
    assert exact <= bound * (1 + 1e-12) <= rare * (1 + 2e-12)


@given(written_trees(), st.data())
@settings(deadline=None)
def test_importance_equals_enumeration(written: Written, data: st.DataObject) -> None:
    tree = written.tree
    total = written.chance(lambda present: written.holds("top", present))
    assume(total > 1e-9)  # ratios of two rounded vanishing numbers say nothing
    records = importance(tree, "top")
    assume(records)
    event = data.draw(st.sampled_from(sorted(records)))
    q = written.chances[event]
    certain = written.chance(lambda present: written.holds("top", present | {event}))
    without = written.chance(lambda present: written.holds("top", present - {event}))
    having = [cut_set for cut_set in written.cut_sets() if event in cut_set]
    in_cut = written.chance(lambda present: any(s <= present for s in having))
    together = written.chance(lambda present: event in present and written.holds("top", present))
    record = records[event]
    close = partial(pytest.approx, rel=1e-9, abs=1e-12)
    assert record.birnbaum == close(certain - without)
    assert record.criticality == close((certain - without) * q / total)
    assert record.fussell_vesely == close(in_cut / total)
    assert record.raw == close(certain / total)
    assert record.diagnostic == close(together / total)
    assert record.rrw == (close(total / without) if without else math.inf)


@given(st.lists(st.sets(st.sampled_from("abcdef"), min_size=1), max_size=5))
def test_hitting_sets_equal_enumeration(conflicts: list[set[str]]) -> None:
    subsets = chain.from_iterable(combinations("abcdef", size) for size in range(7))
    hitting = [s for s in map(frozenset, subsets) if all(s & conflict for conflict in conflicts)]
    smallest = {s for s in hitting if not any(other < s for other in hitting)}
    assert set(minimal_hitting_sets(conflicts)) == smallest


@given(written_trees())
@settings(deadline=None)
def test_paths_equal_a_walk_of_every_route(written: Written) -> None:
    def walk(node: str) -> Iterator[tuple[str, ...]]:
        yield (node,)
        for name, gate in written.gates.items():
            if node in gate.inputs or node == gate.condition:
                yield from ((node, *rest) for rest in walk(name))

    for event in written.chances:
        expected = {route for route in walk(event) if route[-1] == "top"}
        assert set(paths(written.tree, event, "top")) == expected
