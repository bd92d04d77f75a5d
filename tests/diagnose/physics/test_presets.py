"""The eight generic arrangements, healthy, against common practice."""

from pathlib import Path

import numpy as np
import pytest
import yaml

import knowledge
from diagnose.physics.figures import FIGURE_NAMES
from diagnose.physics.observables import observables_of, read, read_many
from diagnose.physics.predict import predict
from diagnose.physics.presets import PRESETS, between_kits
from diagnose.system import with_sheet

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
    assert 1.5 * INCH <= read(truck, "pedal_free_play") <= 2.0 * INCH
    assert 0.5 * INCH <= read(truck, "finger_travel") <= 9 / 16 * INCH
    assert 0.5 * INCH <= read(truck, "brake_gap") <= 9 / 16 * INCH


@pytest.mark.parametrize("name", ["light_external", "light_concentric"])
def test_pedal_play_of_light_vehicles(name):  # R-TRAVEL-1: 5 to 15 mm
    assert 5.0 <= read(PRESETS[name], "pedal_free_play") <= 15.0


@pytest.mark.parametrize("name", ["light_external", "light_concentric", "twin_external"])
def test_the_release_point_lies_well_before_the_stop(name):  # R-TRAVEL-1: at least 25 mm
    assert read(PRESETS[name], "engagement_height") >= 25.0


class TestBetweenKits:
    """The figures of a preset belong to no kit: without its sheet it may be any of that kind.

    Sizes are judgement; what they must lead to is common practice.
    """

    def band(self, name, observable, coverage):
        return predict(any_kit(name), (observable,)).band(observable, coverage)

    def test_most_twin_discs_keep_to_common_practice(self):
        low, high = self.band("twin_external", "fork_free_travel", 0.9)
        assert low == pytest.approx(0.9 * INCH, abs=0.05 * INCH)
        assert 1.4 * INCH < high < 1.6 * INCH
        assert 1.0 * INCH < read(any_kit("twin_external"), "fork_free_travel") < 1.5 * INCH

    def test_no_movement_and_far_too_much_are_no_matter_of_the_kit(self):
        """No movement and 2 1/2 in: the gearbox has to come back out."""
        low, high = self.band("twin_external", "fork_free_travel", 0.99)
        assert low > 0.25 * INCH
        assert high < 2.25 * INCH

    @each
    def test_most_bite_about_mid_pedal(self, name):
        low, high = self.band(name, "engagement_share", 0.9)
        assert 0.35 < low < 0.5 < high < 0.75

    @each
    def test_a_height_of_the_fingers_without_a_datum_says_little(self, name):
        low, high = self.band(name, "finger_height", 0.9)
        assert high - low > 20.0

    @each
    def test_nearly_all_come_free_and_hold(self, name):
        assert self.band(name, "clearance_per_face", 0.9)[0] > 0.0
        assert self.band(name, "overtravel_margin", 0.9)[0] > 0.0
        assert self.band(name, "slip_margin", 0.9)[0] > 0.85

    @each
    def test_only_what_is_named_scatters_more(self, name):
        system = PRESETS[name]
        wider = between_kits(system, {"fork_ratio", "finger_height", "air"})
        assert (wider.nominal == system.nominal).all()
        changed = {
            figure
            for i, figure in enumerate(FIGURE_NAMES)
            if wider.uncertainty[i] > system.uncertainty[i]
        }
        assert changed == {"fork_ratio", "finger_height"}  # air is no figure of a kit
        assert between_kits(system, ()) == system

    @each
    def test_first_order_holds_for_the_wider_scatter_too(self, name):
        """Against 20000 draws of all figures (GUM supplement 1)."""
        system = any_kit(name)
        names = ("fork_free_travel", "bearing_reserve", "engagement_share", "bearing_travel")
        names = tuple(n for n in names if n in observables_of(system))
        prediction = predict(system, names)
        drawn = np.random.default_rng(5).standard_normal((len(FIGURE_NAMES), 20_000))
        nominal, u = system.nominal[:, np.newaxis], system.uncertainty[:, np.newaxis]
        values = np.where(u > 0.0, nominal + u * drawn, nominal)
        for positive in ("air", "hose_swell", "finger_spread", "tip_flex", "bearing_drag"):
            row = FIGURE_NAMES.index(positive)
            values[row] = np.maximum(values[row], 0.0)
        found = read_many(system, names, values)
        deviation = np.sqrt(np.diag(prediction.covariance[0]))
        assert found.std(axis=1) == pytest.approx(deviation, rel=0.08)
        assert np.all(np.abs(found.mean(axis=1) - prediction.mean[0]) < 0.3 * deviation)


@pytest.mark.parametrize("name", ["light_concentric", "twin_concentric"])
def test_where_there_is_no_fork_no_ratio_scatters(name):
    assert PRESETS[name].figures.fork_ratio == (1.0, 0.0)
    assert any_kit(name).figures.fork_ratio == (1.0, 0.0)


def any_kit(name):
    """A preset with nothing known from a sheet."""
    return with_sheet(PRESETS[name], {})
