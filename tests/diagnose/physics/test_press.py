"""The course of a press against the formulas it sums up, and against a walk in small steps."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics import hydraulics
from diagnose.physics.diaphragm_spring import relative_load
from diagnose.physics.presets import PRESETS
from diagnose.physics.press import contact, only_rises, pressed_to
from diagnose.physics.release_chain import chain_of
from tests.diagnose.physics.systems import systems, with_constant_load

PATHS = np.array([-1.0, -0.6, -0.1, 0.0, 0.02, 0.3, 0.8, 1.4, 2.5, 6.0])


def load_by_hand(system, path):
    """Load of the finger tips: the spring's less what the cushion carries, built up by contact."""
    f = {name: figure.nominal for name, figure in vars(system.figures).items()}
    lift = max(path, 0.0)
    share = min(max(1.0 + path, 0.0), 1.0)
    if system.load_model == "constant":
        return share * f["finger_load"]

    def spring(at):
        deflection = (f["set_deflection"] + f["stack_excess"] + at) / f["cone_height"]
        relative = max(0.0, relative_load(deflection, f["cone_ratio"]))
        return f["load_factor"] * f["flat_load"] * relative

    load, cushion = spring(lift), system.discs * f["cushion"]
    if cushion > 0.0:
        load -= spring(0.0) * max(0.0, 1.0 - lift / cushion)
    return share * max(0.0, load) / f["diaphragm_ratio"]


def pad_by_hand(system, chain, path):
    """Pad travel: what the tip travels, what flexes, and the fluid that does not arrive."""
    f = {name: figure.nominal for name, figure in vars(system.figures).items()}
    share = min(max(1.0 + path, 0.0), 1.0)
    fingers = load_by_hand(system, path)
    load = (fingers + share * f["bearing_drag"]) / f["fork_ratio"]
    travel = f["diaphragm_ratio"] * max(path, 0.0) + f["finger_flex"] * fingers
    tip = f["fork_ratio"] * (travel + float(chain.rest_gap[0]))
    ratio = float(chain.travel_ratio[0])
    rod = (tip + f["tip_play"] + f["tip_flex"] * load) / ratio + f["pedal_flex"] * load * ratio
    if system.hydraulic:
        pressure = load / float(chain.slave_area[0])
        lost = (
            hydraulics.air_loss(f["air"], pressure)
            + hydraulics.compression_loss(f["fluid"], pressure, f["fluid_modulus"])
            + hydraulics.hose_loss(f["hose_length"], pressure, f["hose_swell"])
            + share * f["fluid_lost"]
        )
        assert chain.volume_lost(np.array([path]))[0] == pytest.approx(lost, rel=1e-9, abs=1e-9)
        rod += lost / float(chain.master_area[0])
    return tip, f["pedal_play"] + f["pedal_ratio"] * rod


@given(systems(), st.sampled_from(PATHS.tolist()), st.floats(0.0, 4000.0), st.booleans())
def test_the_terms_are_those_of_the_formulas(system, path, leak, constant):
    system = system.with_figures(fluid_lost=leak)
    if constant:
        system = with_constant_load(system, 1700.0)
    chain = chain_of(system)
    at = np.array([path])
    assert chain.finger_load(at)[0] == pytest.approx(load_by_hand(system, path), rel=1e-9, abs=1e-6)
    tip, pad = pad_by_hand(system, chain, path)
    assert chain.tip_travel(at)[0] == pytest.approx(tip, rel=1e-9, abs=1e-9)
    assert chain.pad_travel(at)[0] == pytest.approx(pad, rel=1e-9, abs=1e-9)


GRID = np.linspace(-1.0, 5.0, 3001)[:, np.newaxis]


@given(systems(), st.floats(1.0, 2.8), st.floats(0.0, 20.0), st.floats(0.0, 8000.0))
def test_what_is_said_to_rise_only_rises(system, cone_ratio, swell, air):
    system = system.with_figures(cone_ratio=cone_ratio, hose_swell=swell, air=air)
    press = chain_of(system).press
    if only_rises(press)[0]:
        for travel in (press.tip_travel(GRID), press.pad_travel(GRID)):
            assert np.diff(travel, axis=0).min() > -1e-9


def test_most_presses_only_rise_and_some_do_not():
    assert all(only_rises(chain_of(system).press)[0] for system in PRESETS.values())
    falling = PRESETS["light_external"].with_figures(cone_ratio=2.8, hose_swell=18.0, air=0.0)
    assert not only_rises(chain_of(falling).press)[0]


@given(
    systems(),
    st.floats(0.0, 1.0),
    # Where the tip rests, its travel is nothing but rounding: no press ends at a rounding error.
    st.one_of(st.just(np.inf), st.floats(-5.0, 40.0).filter(lambda tip: abs(tip) > 1e-9)),
    st.floats(0.0, 6000.0),
    st.sampled_from([1.7, 2.5]),
)
def test_a_press_ends_where_pad_or_tip_first_get_there(system, share, tip, leak, cone_ratio):
    """Against a fine walk from the beginning."""
    system = system.with_figures(fluid_lost=leak, cone_ratio=cone_ratio)
    press = chain_of(system).press
    low, high = np.array([-1.0]), np.array([5.0])
    pad = np.array([share * system.figures.pedal_travel.nominal])
    found = pressed_to(press, pad, np.array([tip]), low, high)
    grid = np.linspace(low, high, 6001)
    there = (press.pad_travel(grid) >= pad) | (press.tip_travel(grid) >= tip)
    first = grid[there.argmax()] if there.any() else high
    assert found == pytest.approx(first, abs=0.0011)
    on = max(press.pad_travel(found)[0] - pad[0], press.tip_travel(found)[0] - tip)
    if low < found < high:
        assert on == pytest.approx(0.0, abs=1e-7)


def test_one_press_does_not_care_what_is_pressed_beside_it():
    rng = np.random.default_rng(7)
    system = PRESETS["light_external"]
    table = np.repeat(system.nominal[:, np.newaxis], 200, axis=1)
    names = list(vars(system.figures))
    table[names.index("air")] = rng.uniform(0.0, 6000.0, 200)
    table[names.index("pedal_travel")] = rng.uniform(20.0, 160.0, 200)
    table[names.index("cushion")] = rng.choice([0.0, 0.3, 1.2], 200)
    table[names.index("cone_ratio")] = rng.choice([0.0, 1.7, 2.8], 200)
    together = chain_of(system, table).down
    alone = [chain_of(system, table[:, i : i + 1]).down[0] for i in range(200)]
    assert together == pytest.approx(alone, abs=1e-9)
    assert together.min() < 0.0 < together.max()


@given(systems(), st.floats(-1.0, 1.0), st.floats(0.0, 4.0))
def test_the_greatest_load_is_that_of_the_walk(system, low, further):
    press = chain_of(system).press
    low, high = np.array([low]), np.array([low + further])
    points = np.stack([*press.walk(low, high)])
    assert np.all(np.diff(points, axis=0) >= -1e-12)
    assert points[0] == low
    assert points[-1] == high
    assert press.greatest_load(low, high) == press.fork_load(points).max()


@pytest.mark.parametrize("name", sorted(PRESETS))
def test_the_walk_is_fine_enough_for_the_effort(name):
    """Ten times as many steps find no load that is 1 % greater."""
    chain = chain_of(PRESETS[name])
    walked = chain.press.greatest_load(chain.rest, chain.down)
    fine = chain.press.fork_load(np.linspace(chain.rest, chain.down, 121)).max()
    assert walked == pytest.approx(fine, rel=0.01)


def test_contact_builds_up_before_the_lift_begins():
    assert contact(PATHS).tolist() == pytest.approx([0.0, 0.4, 0.9, 1, 1, 1, 1, 1, 1, 1])
