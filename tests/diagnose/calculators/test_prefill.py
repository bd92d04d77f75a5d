"""What the set-up of a case knows of what a calculator asks."""

from math import sqrt

import pytest

from diagnose.calculators import CALCULATORS, calculate, from_case, several, with_known
from diagnose.calculators.prefill import FROM_SETUP, FROM_SHEET
from diagnose.case import Case
from diagnose.errors import PullOnceError
from diagnose.physics.observables import observables_of, read
from diagnose.physics.predict import predict
from diagnose.physics.presets import PRESETS
from diagnose.system import system_of
from knowledge.quantity import parse_quantity
from knowledge.release import FIGURE_KINDS, OBSERVABLE_UNITS

OTHERS = {"discs", "cover", "fork", "fork_load"}


@pytest.fixture
def case_of(knowledge):
    def make(setup, **kit):
        return Case().with_facts(knowledge.setups[setup].facts, setup=setup).with_kit(kit)

    return make


@pytest.fixture
def twin(case_of):
    return case_of("twin_external")


def known(name, case, **typed):
    texts = {option.replace("_", "-"): (text,) for option, text in typed.items()}
    return from_case(CALCULATORS[name], case, texts)


def value(found):
    return parse_quantity(found.text).value


def test_every_declaration_names_something_that_there_is():
    named = {o.setup for c in CALCULATORS.values() for o in c.options if o.setup}
    assert named
    assert named <= {*FIGURE_KINDS, *OBSERVABLE_UNITS, *OTHERS}
    for calculator in CALCULATORS.values():
        options = {option.name: option for option in calculator.options}
        for option in calculator.options:
            if option.setup_if is not None:
                other, word = option.setup_if
                assert word in options[other].choices


def test_nothing_is_known_without_a_setup():
    for calculator in CALCULATORS.values():
        assert from_case(calculator, Case()) == {}


def test_figures_of_the_setup(twin):
    figures = system_of(twin).figures
    found = known("slave-travel", twin)
    assert value(found["master"]) == figures.master_bore.nominal
    assert value(found["slave"]) == figures.slave_bore.nominal
    assert value(found["air"]) == pytest.approx(figures.air.nominal)
    assert value(found["fluid"]) == pytest.approx(figures.fluid.nominal)
    assert value(found["pedal-ratio"]) == figures.pedal_ratio.nominal
    assert "core" not in found  # the slave is no ring
    assert {entry.origin for entry in found.values()} == {FROM_SETUP}


def test_the_sheet_comes_before_the_setup(case_of):
    found = known("slave-travel", case_of("twin_external", master_bore="3/4 in"))
    assert found["master"].origin == FROM_SHEET
    assert value(found["master"]) == pytest.approx(19.05)
    assert found["slave"].origin == FROM_SETUP


def test_a_sheet_that_can_not_be_is_said(case_of):
    with pytest.raises(PullOnceError):
        known("slave-travel", case_of("twin_external", master_bore="900 mm"))


def test_a_cable_has_no_bores(case_of):
    found = known("slave-travel", case_of("light_cable"))
    assert not {"master", "slave", "force", "air", "fluid", "hose"} & found.keys()
    assert "pedal" in found


def test_a_ring_has_its_core(case_of):
    found = known("slave-travel", case_of("twin_concentric"))
    assert value(found["core"]) == system_of(case_of("twin_concentric")).figures.slave_core.nominal


def test_the_clutch_holds_what_the_chain_says(twin):
    """The prefilled calculator and the release model agree (R-TORQUE-1, uniform wear)."""
    calculator = CALCULATORS["torque"]
    outcome = calculate(calculator, with_known({}, from_case(calculator, twin)))
    results = {result.key: result.value for result in outcome.results}
    system = system_of(twin)
    assert results["bedded"] == pytest.approx(read(system, "torque_capacity"), rel=1e-3)
    assert results["margin"] == pytest.approx(read(system, "slip_margin"), rel=1e-3)
    assert results["faces"] == 2 * system.discs


@pytest.mark.parametrize("setup", ["light_external", "twin_external"])
def test_the_slave_moves_as_the_chain_says(setup, case_of):
    """Losses told apart add up to the chain's, whose bracket and rod give a little as well."""
    case = case_of(setup)
    calculator = CALCULATORS["slave-travel"]
    outcome = calculate(calculator, with_known({}, from_case(calculator, case)))
    results = {result.key: result.value for result in outcome.results}
    chain = read(system_of(case), "fork_tip_travel")
    assert chain < results["travel_left"] < results["travel"]
    assert results["travel_left"] == pytest.approx(chain, abs=1.5)


@pytest.mark.parametrize("setup", sorted(PRESETS))
def test_kit_figures_scatter_as_healthy_clutches_do(setup, case_of):
    case = case_of(setup)
    system = system_of(case)
    found = known("stack-or-fork", case)
    for option, name in (
        ("kit-fingers", "finger_height"),
        ("kit-free-travel", "fork_free_travel"),
        ("kit-tip-travel", "fork_tip_travel"),
    ):
        if name not in observables_of(system):
            assert option not in found
            continue
        low, high = (parse_quantity(text).value for text in several(found[option].text))
        law = predict(system, (name,))
        assert (low + high) / 2 == pytest.approx(law.mean[0, 0], rel=0.01)
        scatter = (high - low) / 2 / sqrt(3.0)  # R-GUM-4: half width of a rectangle over root 3
        assert scatter == pytest.approx(sqrt(law.covariance[0, 0, 0]), rel=0.05)


def test_a_depth_is_not_held_against_a_height(twin):
    assert "kit-fingers" in known("stack-or-fork", twin)
    assert "kit-fingers" not in known("stack-or-fork", twin, fingers_told="depth")


def test_words_of_the_setup(case_of, twin):
    found = known("stack-or-fork", twin)
    assert found["cover"].text == "push"
    assert found["layout"].text == "outboard-pivot"
    assert known("torque", twin)["discs"].text == "2"
    without = known("stack-or-fork", case_of("twin_concentric"))
    assert not {"layout", "fork-ratio"} & without.keys()


def test_stack_or_fork_from_the_case(twin):
    """A fork that won't move with the fingers right is no stack (trade notes, section 3)."""
    calculator = CALCULATORS["stack-or-fork"]
    typed = {"fingers": ("45 mm",), "free-travel": ("0 in",)}
    outcome = calculate(calculator, with_known(typed, from_case(calculator, twin, typed)))
    assert outcome.results[0].key == "fork"
    assert "stop_no_travel" in outcome.cautions


@pytest.mark.parametrize("setup", sorted(PRESETS))
@pytest.mark.parametrize("name", sorted(CALCULATORS))
def test_what_is_known_can_be_read_everywhere(name, setup, case_of):
    calculator = CALCULATORS[name]
    texts = with_known({}, from_case(calculator, case_of(setup)))
    values = calculator.values(texts)
    for option in calculator.options:
        if option.name in texts and option.unit is not None:
            assert values.numbers(option.name)
