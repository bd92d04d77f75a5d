"""What causes do to readings: effects, their predictions, and the laws of what stands alone.

Predictions are held against `diagnose.physics.predict`, asked directly with the shifts that the
records name.
"""

from math import hypot

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.assess import network_for
from diagnose.effects import Effects, effects_for
from diagnose.network import UNKNOWN
from diagnose.physics.observables import observables_of
from diagnose.physics.predict import Shift, predict, predict_many
from diagnose.physics.presets import PRESETS
from diagnose.system import with_sheet
from knowledge.model import shift_value
from knowledge.release import FIGURE_KINDS
from tests.small_bases import make_base

TWIN = PRESETS["twin_external"]
CAUSES = {
    "spacer": {"shifts": {"pivot_height": {"kit": "pivot_spacer", "times": 1.0, "spread": 0.5}}},
    "low_pivot": {"shifts": {"pivot_height": (-3.0, 1.0)}},
    "thin": {"shifts": {"stack_excess": (-1.5, 0.6), "runout": (0.02, 0.01)}},
    "worn": {"shifts": {"stack_excess": (-1.5, 0.6), "runout": (0.02, 0.01)}},
    "bore": {"shifts": {"runout": {"by": 0.3, "spread": 0.15, "chance": "often"}}},
    "bent": {"shifts": {"runout": {"by": 1.0, "spread": 0.4, "chance": "hardly ever"}}},
    "breath": {"shifts": {"air": (0.01, 0.0)}},  # mm3: nobody could feel that
    "oil": {},
}
MEASUREMENTS = {
    "free": {"model": "fork_free_travel"},
    "height": {"model": "finger_height"},
    "stroke": {"model": "fork_tip_travel"},
    "depth": {},
    "runout": {"healthy": {"mean": "0.06 mm", "spread": "0.03 mm"}},
}


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    measured = {
        f"read_{name}": {
            "gauge": name,
            "answers": {"low": {"off": "yes"}, "high": {"off": "no"}},
            "edges": ["0.1 mm"],
        }
        for name in MEASUREMENTS
    }
    causes = {name: {**c, "brings": {"sticks": 0.5}} for name, c in CAUSES.items()}
    return make_base(
        tmp_path_factory.mktemp("base") / "base",
        complaints={"sticks": {}},
        findings={"off": {}},
        causes=causes,
        measurements=MEASUREMENTS,
        checks=measured,
    )


@pytest.fixture(scope="module")
def network(base):
    return network_for(base, ())


@pytest.fixture(scope="module")
def effects(network):
    return Effects(network, TWIN, {})


def number(effects, cause):
    return int(effects.of_cause[effects.network.cause_index[cause]])


class TestEffectsOfCauses:
    def test_equal_shifts_are_one_effect(self, effects):
        assert number(effects, "thin") == number(effects, "worn") > 0
        others = [number(effects, c) for c in ("spacer", "low_pivot", "thin", "bore", "bent")]
        assert len(set(others)) == len(others)

    @pytest.mark.parametrize("cause", ["oil", UNKNOWN])
    def test_what_shifts_nothing_has_none(self, effects, cause):
        assert number(effects, cause) == 0

    def test_the_effects_of_several_causes_stand_in_order_without_the_empty_one(self, effects):
        index = effects.network.cause_index
        causes = [index[c] for c in ("bore", "oil", "spacer", "thin", "worn")]
        found = effects.effects_of(causes)
        assert list(found) == sorted(found)
        assert found.count(number(effects, "thin")) == 2  # each of them takes its share
        assert 0 not in found
        assert found == effects.effects_of(reversed(causes))

    def test_what_is_too_little_to_feel_moves_nothing(self, effects):
        breath = number(effects, "breath")
        assert breath > 0
        assert not any(moves[breath] for moves in effects.moves.values())

    def test_each_moves_what_it_should_and_nothing_else(self, effects):
        moved = {
            cause: {axis for axis, moves in effects.moves.items() if moves[number(effects, cause)]}
            for cause in ("spacer", "thin", "bore")
        }
        assert "fork_free_travel" in moved["spacer"]
        assert moved["spacer"].isdisjoint({"finger_height", "runout"})
        assert {"fork_free_travel", "finger_height", "runout"} <= moved["thin"]
        assert moved["bore"] == {"runout"}


class TestAxes:
    def test_what_the_system_or_a_law_predicts(self, base, effects):
        axes = {name: effects.axis_of(m) for name, m in base.measurements.items()}
        assert axes == {
            "free": "fork_free_travel",
            "height": "finger_height",
            "stroke": "fork_tip_travel",
            "depth": None,
            "runout": "runout",
        }

    def test_without_a_fork_nothing_is_read_at_its_end(self, base, network):
        ring = Effects(network, PRESETS["light_concentric"], {})
        assert ring.chain == ("finger_height",)
        assert ring.axis_of(base.measurements["free"]) is None

    def test_without_a_set_up_only_what_stands_alone(self, base, network):
        unknown = Effects(network, None, {})
        assert unknown.chain == ()
        assert unknown.axis_of(base.measurements["height"]) is None
        assert unknown.axis_of(base.measurements["runout"]) == "runout"
        assert number(unknown, "spacer") == number(unknown, "low_pivot") == 0
        assert number(unknown, "thin") > 0
        assert unknown.laws("runout", (number(unknown, "thin"),)) == (
            (1.0, pytest.approx(0.08), pytest.approx(hypot(0.03, 0.01))),
        )


class TestPredictions:
    @pytest.mark.parametrize(
        ("kit", "size"), [({}, 6.35), ({"pivot_spacer": "8 mm"}, 8.0), ({"pivot_spacer": "0"}, 0.0)]
    )
    def test_a_fault_takes_its_size_from_the_sheet(self, network, kit, size):
        system = with_sheet(TWIN, kit)
        effects = Effects(network, system, kit)
        found = effects.predict([(number(effects, "spacer"),)], effects.chain)
        shift = Shift("pivot_height", size, 0.5)
        expected = predict(system, effects.chain, [shift])
        assert found.mean == pytest.approx(expected.mean)
        assert found.covariance == pytest.approx(expected.covariance)

    @given(data=st.data())
    def test_they_are_those_of_the_model_in_any_order(self, data, effects):
        named = ("spacer", "low_pivot", "thin", "worn", "breath")
        causes = st.lists(st.sampled_from(named), max_size=3, unique=True)
        drawn = data.draw(st.lists(causes, min_size=1, max_size=4))
        axes = data.draw(st.permutations(effects.chain))[: data.draw(st.integers(1, 3))]
        index = effects.network.cause_index
        sets = [effects.effects_of(index[c] for c in some) for some in drawn]
        found = effects.predict(sets, axes)
        shifts = [[s for c in some for s in plain(c)] for some in drawn]
        expected = predict_many(TWIN, axes, shifts)
        assert found.names == tuple(axes)
        assert found.mean == pytest.approx(expected.mean, abs=1e-9)
        assert found.covariance == pytest.approx(expected.covariance, abs=1e-9)

    def test_a_reading_on_the_chain_has_one_law(self, effects):
        (law,) = effects.laws("finger_height", (number(effects, "thin"),))
        expected = predict(TWIN, ("finger_height",), plain("thin"))
        assert law.weight == 1.0
        assert law.mean == pytest.approx(expected.mean[0, 0])
        assert law.deviation == pytest.approx(np.sqrt(expected.covariance[0, 0, 0]))


def plain(cause):
    """The shifts of figures that a cause of the small base names."""
    for figure, size in CAUSES[cause].get("shifts", {}).items():
        if isinstance(size, dict):
            yield Shift(figure, 6.35 * size["times"], size["spread"])
        elif figure in FIGURE_KINDS:
            yield Shift(figure, *size)


class TestStandingAlone:
    def test_what_moves_it_in_some_cases_leaves_it_in_the_others(self, effects):
        moved, still = effects.laws("runout", (number(effects, "bore"),))
        assert moved == (0.5, pytest.approx(0.36), pytest.approx(hypot(0.03, 0.15)))
        assert still == (0.5, pytest.approx(0.06), pytest.approx(0.03))

    def test_several_causes_each_move_it_or_not(self, effects):
        numbers = tuple(sorted(number(effects, c) for c in ("bore", "bent", "thin")))
        found = {
            (round(law.mean, 9), round(law.deviation, 9)): law.weight
            for law in effects.laws("runout", numbers)
        }
        own, thin, bore, bent = 0.03, 0.01, 0.15, 0.4
        expected = {
            (0.08, hypot(own, thin)): 0.5 * 0.98,
            (0.38, hypot(own, thin, bore)): 0.5 * 0.98,
            (1.08, hypot(own, thin, bent)): 0.5 * 0.02,
            (1.38, hypot(own, thin, bore, bent)): 0.5 * 0.02,
        }
        rounded = {(mean, round(deviation, 9)): w for (mean, deviation), w in expected.items()}
        assert found == pytest.approx(rounded)

    def test_nothing_else_moves_it(self, effects):
        healthy = effects.laws("runout", ())
        assert healthy == ((1.0, pytest.approx(0.06), pytest.approx(0.03)),)
        assert effects.laws("runout", (number(effects, "spacer"),)) == healthy


class TestShippedKnowledge:
    """The shifts of every cause, as its record has them for each set-up."""

    @pytest.mark.parametrize("setup", PRESETS)
    def test_just_the_shifts_that_the_set_up_has(self, knowledge, setup):
        facts, system = knowledge.setups[setup].facts, PRESETS[setup]
        arranged = {
            "release": (system.linkage,),
            "fork": (system.fork,),
            "cover": (system.cover,),
            **{k: v for k, v in facts.items() if k not in {"release", "fork", "cover"}},
        }
        effects = Effects(network_for(knowledge, tuple(facts.items())), system, {})
        names = [n for n in observables_of(system) if n in effects.chain]
        compared = 0
        for cause, record in knowledge.causes.items():
            settled = all(
                fact in arranged for s in record.shifts.values() for x in s for fact in x.when
            )
            if cause not in effects.network.cause_index or not settled:
                continue
            shifts = [
                Shift(figure, sized(effects, shift, figure), sized(effects, shift, figure, True))
                for figure, some in record.shifts.items()
                if figure in FIGURE_KINDS
                for shift in some
                if all(set(arranged[f]) <= set(v) for f, v in shift.when.items())
            ]
            found = effects.predict(
                [effects.effects_of([effects.network.cause_index[cause]])], names
            )
            expected = predict(system, names, shifts)
            assert found.mean == pytest.approx(expected.mean, abs=1e-9), cause
            assert found.covariance == pytest.approx(expected.covariance, abs=1e-9), cause
            compared += bool(shifts)
        assert compared > 40

    def test_a_spacer_left_in_counts_by_the_way_it_is_worked(self, knowledge):
        """Record: as thick as it is with an outside slave, taken up for most with a cable."""
        for setup, share in (("twin_external", 1.0), ("light_cable", 0.3)):
            facts = knowledge.setups[setup].facts
            effects = effects_for(network_for(knowledge, tuple(facts.items())), PRESETS[setup], {})
            found = effects.predict([(number(effects, "pivot_spacer_left_in"),)], effects.chain)
            spread = 0.5 if share == 1.0 else 2.0
            shift = Shift("pivot_height", share * 6.35, spread)
            assert found.mean == pytest.approx(predict(PRESETS[setup], effects.chain, [shift]).mean)

    def test_they_are_worked_out_once_for_a_set_up_and_a_sheet(self, knowledge):
        network = network_for(knowledge, ())
        kit = {"finger_height": "45 mm", "pivot_spacer": "5 mm"}
        first = effects_for(network, TWIN, kit)
        assert effects_for(network, TWIN, dict(reversed(kit.items()))) is first
        assert effects_for(network, TWIN, {}) is not first


def sized(effects, shift, figure, spread=False):
    unit = FIGURE_KINDS[figure].unit
    if spread:
        return shift_value(shift.spread, unit)
    if shift.by is not None:
        return shift_value(shift.by, unit)
    usual = {"pivot_spacer": 6.35, "disc_thickness": 7.7, "floater_thickness": 9.5}
    nominal = usual.get(shift.kit) or getattr(effects.system.figures, shift.kit).nominal
    return shift.times * nominal
