"""The eight generic arrangements, healthy, against common practice."""

from pathlib import Path

import pytest
import yaml

import knowledge
from diagnose.physics.observables import observables_of, read
from diagnose.physics.predict import predict
from diagnose.physics.presets import PRESETS

INCH = 25.4

each = pytest.mark.parametrize("name", sorted(PRESETS))


def band(name, observable):
    system = PRESETS[name]
    return predict(system, (observable,)).band(observable)


def test_there_is_one_for_each_set_up_of_the_knowledge_base():
    vehicle = yaml.safe_load(
        (Path(knowledge.__file__).parent / "base/vehicle.yaml").read_text("utf-8")
    )
    setups = {s["id"]: s["facts"] for s in vehicle["setups"]}
    assert set(setups) == set(PRESETS)
    for name, facts in setups.items():
        system = PRESETS[name]
        assert system.linkage in facts["release"]
        assert {1: "one", 2: "two", 3: "three"}[system.discs] in facts["discs"]
        assert system.cover in facts["cover"]


def test_both_fork_layouts_occur():
    assert {s.fork for s in PRESETS.values()} == {"outboard_pivot", "middle_pivot", "none"}


@each
def test_it_bites_about_mid_pedal(name):  # common practice
    assert 0.4 <= read(PRESETS[name], "engagement_share") <= 0.6


@each
def test_it_is_healthy(name):
    system = PRESETS[name]
    assert read(system, "bearing_reserve") > 0.0
    assert read(system, "overtravel_margin") > 0.5
    assert read(system, "clearance_per_face") > 0.2
    assert read(system, "slip_margin") > 1.2
    assert 80.0 <= read(system, "pedal_effort") <= 250.0


@each
def test_its_healthy_scatter_stays_usable(name):
    """Nearly all healthy specimens come free, hold and keep a reserve."""
    for observable in ("bearing_reserve", "overtravel_margin", "clearance_per_face"):
        assert band(name, observable)[0] > 0.0, observable
    assert band(name, "slip_margin")[0] > 0.95


@each
def test_everything_that_can_be_read_scatters_or_is_set(name):
    system = PRESETS[name]
    prediction = predict(system, observables_of(system))
    still = [n for i, n in enumerate(prediction.names) if prediction.covariance[0, i, i] == 0.0]
    assert still == (["bearing_gap"] if system.rides else [])


def test_fork_free_travel_of_the_twin_disc():  # common practice
    """1 to 1 1/2 in is healthy; a fork that does not move, and 2 1/2 in, are not."""
    mean = read(PRESETS["twin_external"], "fork_free_travel")
    low, high = band("twin_external", "fork_free_travel")
    assert 1.0 * INCH < mean < 1.25 * INCH  # most good installs
    assert low < 1.0 * INCH
    assert high > 1.5 * INCH
    assert low > 0.5 * INCH
    assert high < 2.0 * INCH


def test_free_pedal_of_the_heavy_vehicle():  # R-TRAVEL-1
    """1 1/2 to 2 in of free pedal, 1/2 to 9/16 in of travel beyond the gap; 1/8 in at the yoke."""
    truck = PRESETS["truck_pull"]
    assert read(truck, "bearing_gap") == pytest.approx(INCH / 8, abs=0.05)
    assert band("truck_pull", "pedal_free_play")[1] >= 1.5 * INCH
    assert band("truck_pull", "pedal_free_play")[0] <= 2.0 * INCH
    moved = read(truck, "bearing_travel") - read(truck, "bearing_gap")
    assert moved == pytest.approx(0.5 * INCH, abs=1.5)


@pytest.mark.parametrize("name", ["light_external", "light_concentric"])
def test_pedal_play_of_light_vehicles(name):  # R-TRAVEL-1: 5 to 15 mm
    assert 5.0 <= read(PRESETS[name], "pedal_free_play") <= 15.0


@pytest.mark.parametrize("name", ["light_external", "light_concentric", "twin_external"])
def test_the_release_point_lies_well_before_the_stop(name):  # R-TRAVEL-1: at least 25 mm
    assert read(PRESETS[name], "engagement_height") >= 25.0
