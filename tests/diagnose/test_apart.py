"""What tells two causes apart: numbers worked by hand, closed forms, and a brute-force search."""

from math import hypot, sqrt
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.access import access_for
from diagnose.apart import TELLS, pairs, total_variation
from diagnose.case import Case
from diagnose.effects import effects_for
from diagnose.network import compile_network
from diagnose.outlook import Outlook
from diagnose.physics.predict import Shift, predict
from diagnose.physics.presets import PRESETS
from diagnose.readings import ReadingEvidence
from diagnose.system import arrangement
from knowledge.tree import Tree
from tests.small_bases import make_base

SLIP = 0.01  # the share of mistyped readings in the small bases
STICKS = {"brings": {"sticks": 0.5}}
FACTS = {
    fact: {"values": {value: {"name": value, "share": 0.5} for value in values}}
    for fact, values in {"release": ("slave", "cable"), "discs": ("one", "two")}.items()
}


def base_with(tmp_path, causes, **records):
    """A base with one complaint that every cause brings."""
    causes = {name: STICKS | cause for name, cause in causes.items()}
    return make_base(
        tmp_path / "base", **{"complaints": {"sticks": {}}, "causes": causes} | records
    )


def by_causes(base):
    return {pair.causes: pair for pair in pairs(base)}


def only_pair(base):
    (pair,) = pairs(base)
    return pair


class TestYesOrNo:
    """P(seen | cause) = 1 - (1 - leak)(1 - link), and the chance of naming the right one."""

    def base(self, tmp_path, link_of_a, link_of_b, leak=0.02):
        return base_with(
            tmp_path,
            {"a": {"shows": {"off": link_of_a}}, "b": {"shows": {"off": link_of_b}}},
            findings={"off": {"unexplained": leak}},
            checks={"look": {"finding": "off", "from": "under", "minutes": 6}},
        )

    def test_one_that_tells(self, tmp_path):
        pair = only_pair(self.base(tmp_path, 0.97, 0.1))
        assert pair.causes == ("a", "b")
        there = (1 - 0.98 * 0.03, 1 - 0.98 * 0.9)  # 0.9706 and 0.118
        assert pair.cheapest.chance == pytest.approx(0.5 + (there[0] - there[1]) / 2)
        assert pair.cheapest.chance == pytest.approx(0.9263)
        assert (pair.cheapest.id, pair.cheapest.kind, pair.cheapest.level) == (
            "look",
            "check",
            "under",
        )
        assert pair.cheapest.hours == pytest.approx(0.25 + 0.1 + 0.25)  # down, the look, up
        assert pair.surest == pair.cheapest

    def test_one_that_is_only_a_hint(self, tmp_path):
        pair = only_pair(self.base(tmp_path, 0.97, 0.5))
        assert pair.cheapest is None
        assert pair.surest.id == "look"
        assert pair.surest.chance == pytest.approx(0.5 + 0.98 * 0.47 / 2)

    def test_a_leak_takes_from_it(self, tmp_path):
        pair = only_pair(self.base(tmp_path, 0.97, 0.1, leak=0.5))
        assert pair.cheapest is None
        assert pair.surest.chance == pytest.approx(0.5 + 0.5 * 0.87 / 2)

    def test_a_question_about_a_complaint(self, tmp_path):
        base = base_with(
            tmp_path,
            {"a": {"brings": {"sticks": 0.5, "rattles": 0.97}}, "b": {}},
            complaints={"sticks": {}, "rattles": {"unexplained": 0.02}},
        )
        pair = only_pair(base)
        assert (pair.cheapest.kind, pair.cheapest.id, pair.cheapest.level) == (
            "ask",
            "rattles",
            "seat",
        )
        assert pair.cheapest.chance == pytest.approx(0.5 + 0.98 * 0.97 / 2)
        assert pair.cheapest.hours == pytest.approx(3 / 60)

    def test_the_same_in_everything(self, tmp_path):
        pair = only_pair(self.base(tmp_path, 0.5, 0.5))
        assert pair.cheapest is None
        assert pair.surest is None


def test_a_choice_counts_by_its_answers(tmp_path):
    """Both findings are read at once; what no set of findings allows is left out of the answers."""
    base = base_with(
        tmp_path,
        {"a": {"shows": {"bent": 0.9}}, "b": {"shows": {"worn": 0.8}}},
        findings={"bent": {"unexplained": 0.1}, "worn": {"unexplained": 0.1}},
        checks={
            "look": {
                "answers": {
                    "bent": {"bent": "yes", "worn": "no"},
                    "worn": {"bent": "no", "worn": "yes"},
                    "sound": {"bent": "no", "worn": "no"},
                }
            }
        },
    )
    laws = []
    for bent, worn in ((0.91, 0.1), (0.1, 0.82)):
        law = np.array([bent * (1 - worn), (1 - bent) * worn, (1 - bent) * (1 - worn)])
        laws.append(law / law.sum())
    expected = 0.5 + np.abs(laws[0] - laws[1]).sum() / 4
    assert only_pair(base).surest.chance == pytest.approx(expected)


def overlap_apart(one, other):
    """Total variation of two normal laws, (mean, deviation) each: where their densities cross."""
    return 1.0 - NormalDist(*one).overlap(NormalDist(*other))


class TestGauge:
    """A reading that is predicted counts as a number, whatever the bands of its check."""

    def base(self, tmp_path, by, spread, healthy=5.0, **shift):
        return base_with(
            tmp_path,
            {"a": {}, "b": {"shifts": {"runout": {"by": by, "spread": spread} | shift}}},
            findings={"off": {}},
            measurements={
                "runout": {
                    "healthy": {"mean": f"{healthy} mm", "spread": "0.03 mm"},
                    "plausible": ["0 mm", "20 mm"],
                    "instruments": {"dial": {"name": "dial", "uncertainty": "0.04 mm"}},
                }
            },
            checks={
                "dial": {
                    "gauge": "runout",
                    "edges": ["19 mm"],
                    "answers": {"small": {"off": "no"}, "large": {"off": "yes"}},
                }
            },
        )

    def chance(self, base):
        pair = only_pair(base)
        return 0.5 if pair.surest is None else pair.surest.chance

    @pytest.mark.parametrize(("by", "spread"), [(0.02, 0.0), (0.1, 0.0), (0.1, 0.2), (0.4, 0.05)])
    def test_two_normal_laws(self, tmp_path, by, spread):
        one, other = (5.0, hypot(0.03, 0.04)), (5.0 + by, hypot(0.03, 0.04, spread))
        expected = 0.5 + (1.0 - SLIP) * overlap_apart(one, other) / 2
        assert self.chance(self.base(tmp_path, by, spread)) == pytest.approx(expected, abs=0.002)

    def test_of_one_width_it_is_known_by_heart(self, tmp_path):
        """Two laws of deviation s whose means lie d apart: 2 Phi(d / 2s) - 1."""
        d, s = 0.1, hypot(0.03, 0.04)
        expected = 2 * NormalDist().cdf(d / (2 * s)) - 1
        assert overlap_apart((5.0, s), (5.0 + d, s)) == pytest.approx(expected)
        chance = self.chance(self.base(tmp_path, d, 0.0))
        assert chance == pytest.approx(0.5 + (1.0 - SLIP) * expected / 2, abs=0.002)

    def test_what_moves_it_half_the_time_tells_half_as_much(self, tmp_path):
        d, s = 0.3, hypot(0.03, 0.04)
        expected = 0.5 * overlap_apart((5.0, s), (5.0 + d, s))
        chance = self.chance(self.base(tmp_path, d, 0.0, chance="often"))
        assert chance == pytest.approx(0.5 + (1.0 - SLIP) * expected / 2, abs=0.002)

    def test_below_the_plausible_range_all_readings_are_one(self, tmp_path):
        """Of two laws that lie below nothing, a reading of nothing tells nothing."""
        assert self.chance(self.base(tmp_path, -0.5, 0.0, healthy=-1.0)) == pytest.approx(0.5)

    def test_on_the_release_system(self, tmp_path):
        """The law that the release model predicts with the tolerances and the shift's spread."""
        base = base_with(
            tmp_path,
            {"a": {}, "b": {"shifts": {"stack_excess": (-0.5, 0.2)}}},
            setups={"twin_external": {"facts": {"release": ["external_slave"]}}},
            facts={
                "release": {
                    "values": {
                        "external_slave": {"name": "slave", "share": 0.5},
                        "cable": {"name": "cable", "share": 0.5},
                    }
                }
            },
            findings={"off": {}},
            measurements={"height": {"model": "finger_height"}},
            checks={
                "straightedge": {
                    "gauge": "height",
                    "edges": ["149 mm"],
                    "answers": {"low": {"off": "no"}, "high": {"off": "yes"}},
                }
            },
        )
        laws = []
        for shifts in ((), (Shift("stack_excess", -0.5, 0.2),)):
            found = predict(PRESETS["twin_external"], ("finger_height",), shifts)
            laws.append((found.mean[0, 0], sqrt(found.covariance[0, 0, 0] + 1.0)))
        pair = only_pair(base)
        expected = 0.5 + (1.0 - SLIP) * overlap_apart(*laws) / 2
        assert pair.setup == "twin_external"
        assert 0.6 < expected < 0.99
        assert pair.surest.chance == pytest.approx(expected, abs=0.002)


class TestTotalVariation:
    laws = st.integers(1, 5).flatmap(
        lambda n: st.lists(
            st.lists(st.floats(0.01, 1.0), min_size=n, max_size=n), min_size=3, max_size=3
        )
    )

    @given(laws)
    def test_it_is_a_distance_up_to_1(self, laws):
        columns = np.array(laws).T
        apart = total_variation(columns / columns.sum(axis=0))
        assert np.array_equal(apart, apart.T)
        assert (np.diag(apart) == 0.0).all()
        assert (apart >= 0.0).all()
        assert (apart <= 1.0 + 1e-12).all()
        assert apart[0, 2] <= apart[0, 1] + apart[1, 2] + 1e-12

    @given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
    def test_of_yes_or_no_it_is_the_difference(self, p, q):
        apart = total_variation([np.array([p, q]), 1.0 - np.array([p, q])])
        assert apart[0, 1] == pytest.approx(abs(p - q))

    def test_laws_that_share_no_answer(self):
        assert total_variation([np.array([1.0, 0.0]), np.array([0.0, 1.0])])[0, 1] == 1.0


class TestWhichPairs:
    def test_causes_that_lead_to_nothing_in_common_are_no_pair(self, tmp_path):
        base = base_with(
            tmp_path,
            {"a": {}, "b": {"brings": {"rattles": 0.5}}, "c": {"brings": {"short": 0.1}}},
            complaints={"sticks": {}, "rattles": {}},
            mechanisms={"short": {"brings": {"rattles": 0.1}}},
        )
        assert list(by_causes(base)) == [("b", "c")]

    def test_a_mechanism_on_any_path_will_do(self, tmp_path):
        base = make_base(
            tmp_path / "base",
            complaints={"sticks": {}, "rattles": {}},
            mechanisms={
                "late": {"shows": {"off": 0.5}},
                "early": {"brings": {"late": 0.1, "rattles": 0.5}},
            },
            findings={"off": {}},
            causes={"a": {"brings": {"late": 0.1, "sticks": 0.5}}, "b": {"brings": {"early": 0.1}}},
        )
        assert list(by_causes(base)) == [("a", "b")]

    def test_causes_that_no_vehicle_can_have_both_are_no_pair(self, tmp_path):
        causes = {"a": {"when": {"release": ["cable"]}}, "b": {"when": {"release": ["slave"]}}}
        assert pairs(base_with(tmp_path, causes, facts=FACTS)) == ()

    def test_two_facts_that_meet_nowhere_in_the_third(self, tmp_path):
        """Each fits the set-up, but only with the number of discs that the other excludes."""
        causes = {"a": {"when": {"discs": ["one"]}}, "b": {"when": {"discs": ["two"]}}}
        base = base_with(
            tmp_path, causes, facts=FACTS, setups={"light": {"facts": {"release": ["cable"]}}}
        )
        assert pairs(base) == ()

    def test_a_base_without_causes_has_none(self, tmp_path):
        assert pairs(make_base(tmp_path / "base", complaints={"sticks": {}})) == ()


class TestSetUps:
    def base(self, tmp_path, check, causes=({}, {}), setups=("slave", "cable"), **links):
        """Two causes that one check under the vehicle tells apart, where it can be done."""
        a, b = causes
        return base_with(
            tmp_path,
            {"a": {"shows": {"off": 0.97}} | links | a, "b": b},
            findings={"off": {}},
            facts=FACTS,
            setups={name: {"facts": {"release": [name]}} for name in setups},
            checks={"look": {"finding": "off", "from": "under"} | check},
        )

    def test_nothing_tells_where_the_check_can_not_be_done(self, tmp_path):
        pair = only_pair(self.base(tmp_path, {"when": {"release": ["slave"]}}))
        assert (pair.setup, pair.cheapest, pair.surest) == ("cable", None, None)

    def test_where_nothing_tells_the_weakest_hint_counts(self, tmp_path):
        hint = {"shows": {"off": 0.5}}
        check = {"when": {"release": ["slave"]}}
        pair = only_pair(self.base(tmp_path, check, causes=(hint, {})))
        assert (pair.setup, pair.cheapest, pair.surest) == ("cable", None, None)
        slave = {"when": {"release": ["slave"]}}
        pair = only_pair(self.base(tmp_path, check, causes=(hint, slave)))
        assert (pair.setup, pair.cheapest, pair.surest.id) == ("slave", None, "look")

    def test_it_tells_where_a_cause_brings_what_the_check_needs(self, tmp_path):
        """The set-up leaves the discs open; one of the two causes settles them."""
        needs = {"when": {"discs": ["two"]}}
        assert only_pair(self.base(tmp_path, needs)).cheapest is None
        settled = only_pair(self.base(tmp_path, needs, causes=({}, {"when": {"discs": ["two"]}})))
        assert settled.cheapest.id == "look"

    def test_the_set_up_where_it_costs_most(self, tmp_path):
        base = base_with(
            tmp_path,
            {"a": {"shows": {"off": 0.97}}, "b": {}},
            findings={"off": {}},
            facts=FACTS,
            setups={
                "light": {"facts": {"release": ["slave"]}, "hours": {"out": 2.0}},
                "heavy": {"facts": {"release": ["cable"]}, "hours": {"out": 8.0}},
                "middling": {"facts": {"release": ["cable"]}, "hours": {"out": 4.0}},
            },
            checks={"look": {"finding": "off", "from": "out"}},
        )
        pair = only_pair(base)
        assert pair.setup == "heavy"
        assert pair.cheapest.hours == pytest.approx(0.25 + 8.0 + 0.1 + 6.0 + 0.25)

    def test_where_no_shipped_set_up_fits_both_their_own_facts_count(self, tmp_path):
        causes = (
            {"when": {"release": ["cable"]}},
            {"when": {"release": ["cable"], "discs": ["two"]}},
        )
        needs = {"when": {"release": ["cable"], "discs": ["two"]}}
        pair = only_pair(self.base(tmp_path, needs, causes=causes, setups=("slave",)))
        assert pair.setup == ""
        assert pair.cheapest.id == "look"
        pair = only_pair(
            self.base(tmp_path, {"when": {"release": ["slave"]}}, causes=causes, setups=("slave",))
        )
        assert pair.cheapest is None

    def test_a_link_that_hangs_on_an_open_fact_counts_as_it_is(self, tmp_path):
        """Half the vehicles show it fully and half do not: no vehicle shows it half."""
        link = {"p": 0.97, "source": "judgement", "when": {"discs": ["two"]}}
        pair = only_pair(self.base(tmp_path, {}, causes=({"shows": {"off": link}}, {})))
        assert (pair.cheapest, pair.surest) == (None, None)
        assert pair.facts["discs"] == ("one",)


def test_the_reason_of_either_cause_counts(tmp_path):
    causes = {"a": {}, "b": {"alike": {"a": "One part, one repair."}}, "c": {}}
    found = by_causes(base_with(tmp_path, causes))
    assert found["a", "b"].because == "One part, one repair."
    assert found["a", "c"].because == found["b", "c"].because == ""


LINKS = st.dictionaries(
    st.sampled_from(["one", "two", "three"]), st.sampled_from([0.05, 0.3, 0.6, 0.9, 0.97])
)


@given(st.lists(LINKS, min_size=2, max_size=4), st.data())
def test_the_cheapest_is_the_least_of_those_that_tell(tmp_path_factory, links, data):
    """By brute force over all acts, and the same whichever way round the causes stand."""
    minutes = data.draw(st.permutations([1, 2, 3]))
    levels = data.draw(st.lists(st.sampled_from(["seat", "under", "out"]), min_size=3, max_size=3))
    findings = ["one", "two", "three"]
    folder = tmp_path_factory.mktemp("bases")
    causes = {f"c{i}": {"shows": shows} for i, shows in enumerate(links)}
    records = {
        "findings": {name: {"unexplained": 0.02} for name in findings},
        "checks": {
            f"see_{f}": {"finding": f, "minutes": m, "from": level}
            for f, m, level in zip(findings, minutes, levels, strict=True)
        },
    }
    base = base_with(folder, causes, **records)
    (folder / "turned").mkdir()
    turned = by_causes(base_with(folder / "turned", dict(reversed(causes.items())), **records))
    way = {"seat": 0.0, "under": 0.5, "out": 7.5}
    for (a, b), pair in by_causes(base).items():
        acts = {}
        for f, m, level in zip(findings, minutes, levels, strict=True):
            apart = 0.98 * abs(causes[a]["shows"].get(f, 0.0) - causes[b]["shows"].get(f, 0.0))
            acts[f"see_{f}"] = (way[level] + m / 60, 0.5 + apart / 2)
        telling = {name: act for name, act in acts.items() if act[1] >= TELLS}
        if telling:
            best = min(telling, key=telling.get)
            assert pair.cheapest.id == best
            assert (pair.cheapest.hours, pair.cheapest.chance) == pytest.approx(telling[best])
        else:
            assert pair.cheapest is None
        surest = max(chance for _, chance in acts.values())
        assert (pair.surest.chance if pair.surest else 0.5) == pytest.approx(surest, abs=0.01)
        other = turned[b, a]
        assert (other.cheapest, other.surest) == (pair.cheapest, pair.surest)


@pytest.fixture(scope="module")
def found(knowledge):
    return pairs(knowledge)


class TestShipped:
    def test_chances_are_no_less_than_a_guess_and_no_more_than_sure(self, found):
        assert len(found) > 5000
        for pair in found:
            assert pair.cheapest is None or TELLS <= pair.cheapest.chance <= 1.0
            assert pair.surest is None or 0.5 < pair.surest.chance <= 1.0
            if pair.cheapest:
                assert pair.surest.chance >= pair.cheapest.chance - 0.01

    def test_every_pair_is_told_apart_or_has_its_reason(self, found):
        assert [p.causes for p in found if p.cheapest is None and not p.because] == []

    def test_each_pair_comes_once(self, found):
        assert len({frozenset(pair.causes) for pair in found}) == len(found)

    @pytest.mark.parametrize("number", range(40))
    def test_by_brute_force(self, knowledge, found, number):
        """Each act of the pair's set-up by itself, straight from the tree."""
        pair = found[number * len(found) // 40]
        best = min(_telling(knowledge, pair), default=None)
        assert best is not None
        assert best == pytest.approx(pair.cheapest.hours)


def _telling(base, pair):
    """Hours of each act that tells a pair apart, with nothing of the arrays that found it."""
    tree = Tree(base, pair.facts)
    reach = [tree.reach((name,)) for name in pair.causes]
    causes = [base.causes[name] for name in pair.causes]
    network = compile_network(base, pair.facts)
    effects = effects_for(network, arrangement(pair.setup or None, pair.facts), {})
    sets = [frozenset({network.cause_index[name]}) for name in pair.causes]
    outlook = Outlook(ReadingEvidence(effects, ()), sets)
    access = access_for(base, Case(setup=pair.setup or None))

    def there(name, nodes):
        leak = base.strength(base.observable(name).unexplained)
        return 1.0 - (1.0 - leak) * (1.0 - nodes.get(name, 0.0))

    def law(check, nodes):
        if check.finding:
            return [there(check.finding, nodes), 1.0 - there(check.finding, nodes)]
        chances = []
        for answer in check.answers:
            chance = 1.0
            for name, word in answer.shows.items():
                seen = there(name, nodes)
                chance *= seen if word in {"yes", "probably"} else 1.0 - seen
            chances.append(chance)
        return [chance / sum(chances) for chance in chances]

    def can_be_done(check):
        for fact, wanted in check.when.items():
            left = set(base.facts[fact].values)
            for needs in (pair.facts, *(c.when for c in causes)):
                left &= set(needs.get(fact, left))
            if not left <= set(wanted):
                return False
        return True

    for complaint in base.complaints:
        if abs(there(complaint, reach[0]) - there(complaint, reach[1])) >= 2 * TELLS - 1:
            yield base.scale.ask_minutes / 60
    for check in filter(can_be_done, base.checks.values()):
        measurement = base.measurements[check.gauge] if check.gauge else None
        if measurement and outlook.predicts(measurement):
            one, other = outlook.readings(measurement).T
        else:
            one, other = (law(check, nodes) for nodes in reach)
        if sum(abs(p - q) for p, q in zip(one, other, strict=True)) / 2 >= 2 * TELLS - 1:
            depth = access.index(check.from_)
            down, up = access.move(0, depth)[0], access.way_out(depth)
            yield down + check.minutes / 60 + up


def test_the_strictest_word_of_a_finding_settles_it(knowledge):
    """What the threshold stands for in the words of the shipped scale."""
    strength = knowledge.scale.strength
    leak = strength["hardly ever"]

    def chance(one, other):
        return 0.5 + (1.0 - leak) * (strength[one] - other) / 2

    assert chance("usually", strength["seldom"]) >= TELLS
    assert chance("often", 0.0) < TELLS
