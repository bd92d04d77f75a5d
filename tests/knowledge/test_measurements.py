"""The measurements of the base against published limits, and against the tree they stand beside."""

from fractions import Fraction
from functools import lru_cache
from itertools import chain
from math import inf

import pytest

from diagnose.physics import orders
from diagnose.physics.predict import Shift, predict
from diagnose.physics.presets import PRESETS
from diagnose.physics.uncertainty import conformity
from knowledge.lint import lint
from knowledge.load import load_base
from knowledge.model import shift_value
from knowledge.quantity import quantity_value
from knowledge.release import FIGURE_KINDS
from knowledge.tree import Tree

BASE = load_base()
STAND_ALONE = tuple(name for name, m in BASE.measurements.items() if m.healthy)


def _about(text):
    """Ends of a figure that is printed without a tolerance: to the nearest of its own fraction."""
    printed = quantity_value(text, "in") / 25.4
    half = 0.5 / Fraction(printed).limit_denominator(64).denominator
    return f"{printed - half} in", f"{printed + half} in"


# Measurement, at least, at most, id of the source; values as the sources print them.
# Limits of parts and of runout stand in `test_limits.py`.
# Left out: a glossary's 19 to 25 mm of free travel (its own inches differ) and the tactical truck's
# range, whose upper end is lost in the scan.
PUBLISHED = (
    ("pedal_travel", "135 mm", "156 mm", "R-TRAVEL-1"),  # transaxle, 1999
    ("pedal_travel", "117 mm", "137 mm", "R-TRAVEL-1"),  # transaxle, 2000
    ("push_rod_play", "1 mm", "5 mm", "R-TRAVEL-1"),  # data sheet 2005, at the pedal
    ("pedal_free_play", *_about("1 1/2 in"), "R-TRAVEL-1"),  # TM 5-3810-300-10
    ("pedal_free_play", *_about("3/8 in"), "R-TRAVEL-1"),  # TM 5-3810-300-24&P2, first easy band
    ("bearing_gap", *_about("1/8 in"), "R-TRAVEL-1"),  # TM 5-3810-300-24&P2
    ("yoke_gap", *_about("1/8 in"), "R-TRAVEL-1"),  # TP1663
    ("brake_gap", "1/2 in", "9/16 in", "R-TRAVEL-1"),  # TP1663
    ("pull_bearing_travel", "1/2 in", None, "R-TRAVEL-1"),  # TP1663
    ("pull_bearing_travel", "1/2 in", "9/16 in", "R-TRAVEL-1"),  # TP1663, typical
    ("brake_squeeze", "1/2 in", "1 in", "R-TRAVEL-1"),  # TP1663, from the end of the stroke
    ("fluid_boiling", "140 degC", None, "R-HYD-4"),
    ("fluid_boiling", "155 degC", None, "R-HYD-4"),
    ("fluid_boiling", "180 degC", None, "R-HYD-4"),
    ("pedal_free_play", "5 mm", "15 mm", "R-TRAVEL-1"),
    ("pedal_free_play", "0 mm", "10 mm", "R-TRAVEL-1"),
    ("pedal_free_play", None, "3/4 in", "R-TRAVEL-1"),
    ("pedal_free_play", "1 1/2 in", "2 in", "R-TRAVEL-1"),
    ("pedal_free_play", "1 3/4 in", "2 in", "R-TRAVEL-1"),
    ("pedal_free_play", "1/2 in", None, "R-TRAVEL-1"),
    ("pedal_free_play", "3/4 in", None, "R-TRAVEL-1"),
    ("engagement_height", "25 mm", None, "R-TRAVEL-1"),
    ("fork_tip_travel", "11.18 mm", None, "R-TRAVEL-1"),
    ("fork_tip_travel", "10.80 mm", None, "R-TRAVEL-1"),
    ("spin_down", None, "3 s", "R-DRAG-1"),
)

# Instruments that are coarse beside the spread of good vehicles, and what they are good for.
COARSE = {
    ("spin_down", "counted"): "tells three seconds from ten, which is what is asked",
    ("spline_play", "rule"): "tells a worn spline, not a good fit",
    ("pilot_clearance", "calliper"): "tells a worn pilot, not a good fit",
    ("disc_thickness", "calliper"): "the facings spring back; a wrong disc is off by far more",
    ("flywheel_step", "calliper"): "tells a face that was cut without its step",
    ("bearing_height_off", "rule"): "tells a bearing of another height, not a good fit",
}

# Cause, what it moves, which way an expert says it goes.
SIGNS = (
    ("bore_off_centre", "bore_runout", 1),
    ("dowels_missing", "bore_runout", 1),
    ("housing_trapped", "housing_face_runout", 1),
    ("pilot_damaged_fitting", "pilot_bore_runout", 1),
    ("pilot_tight", "spin_down", 1),
    ("pilot_not_home", "spin_down", 1),
    ("shaft_too_long", "spin_down", 1),
    ("hub_drags", "spin_down", 1),
    ("gear_oil_wrong", "spin_down", -1),
    ("gear_oil_low", "spin_down", 1),
    ("pilot_worn", "pilot_clearance", 1),
    ("pilot_tight", "pilot_clearance", -1),
    ("pilot_wrong", "pilot_clearance", 0),
    ("spline_worn", "spline_play", 1),
    ("hub_wrong_size", "spline_play", 1),
    ("engine_idles_poorly", "idle_speed", -1),
    ("discs_swapped", "hub_gap", -1),
    ("pilot_not_home", "hub_gap", -1),
    ("pilot_not_home", "pilot_depth", -1),
    ("pilot_not_home", "crank_end_float", -1),
    ("pilot_damaged_fitting", "pilot_depth", 1),
    ("shaft_too_long", "shaft_room", -1),
    ("shaft_too_long", "crank_end_float", -1),
    ("crank_thrust_worn", "crank_end_float", 1),
    ("crank_end_bent", "crank_flange_runout", 1),
    ("bearing_too_tall", "bearing_height_off", 1),
    ("bearing_too_short", "bearing_height_off", -1),
    ("plate_tight_on_lugs", "cover_lug_gap", -1),
    ("plate_loose_on_lugs", "cover_lug_gap", 1),
    ("plates_cut_too_far", "plate_cut", 1),
    ("plates_cut_too_far", "floater_cut", 1),
    ("plates_cut_too_far", "stack_excess", -1),
    ("cover_weak", "spring_load", -1),
    ("disc_bent", "disc_flatness", 1),
    ("disc_faulty_new", "disc_flatness", 1),
    ("driveline_joints", "driveline_lash", 1),
    ("dual_mass_worn", "driveline_lash", 1),
    ("axle_loose", "joint_angle_difference", 1),
    ("driveline_soft", "joint_angle_difference", 1),
    ("propshaft_refitted_wrong", "joint_angle_difference", 1),
    ("pedal_firmer_by_design", "load_factor", 1),
    ("bores_not_matched", "master_bore_off", -1),
    ("bores_not_matched", "slave_bore_off", 1),
    ("master_new_wrong", "master_bore_off", -1),
    ("slave_new_wrong", "slave_bore_off", 1),
    ("master_too_large", "master_bore_off", 1),
    ("slave_pushrod_short", "slave_rod_off", -1),
    ("slave_pushrod_long", "slave_rod_off", 1),
    ("old_fluid_boils", "fluid_boiling", -1),
    ("earth_strap_off", "earth_voltage", 1),
    ("clutch_brake_worn", "brake_squeeze", -1),
    ("pull_ring_unset", "brake_squeeze", -1),
    ("free_play_large", "brake_squeeze", -1),
    ("pedal_stroke_blocked", "brake_squeeze", -1),
    ("pedal_stop_wrong", "brake_squeeze", -1),
    ("joints_worn", "brake_squeeze", -1),
)

# Findings that other looks read too, of more than these numbers can show.
WIDER = {
    "pilot_tight_found",
    "pilot_wrong_size",
    "idle_poor_found",
    "facing_thin_found",
}


def _value(measurement, text, otherwise):
    return otherwise if text is None else BASE.measurements[measurement].value(text)


def _row(measurement, limit):
    edges = (_value(measurement, limit.at_least, -inf), _value(measurement, limit.at_most, inf))
    return (measurement, *(round(edge, 6) for edge in edges), *limit.source)


def _limits(measurement):
    """Each limit of a measurement as a row, with its edges in the inside unit."""
    return [_row(measurement, limit) for limit in BASE.measurements[measurement].limits]


def _law(measurement, *causes):
    """Mean and standard deviation of a stand-alone reading under some causes together."""
    record = BASE.measurements[measurement]
    mean = record.value(record.healthy.mean)
    variance = record.spread(record.healthy.spread) ** 2
    for shift in chain.from_iterable(BASE.causes[c].shifts.get(measurement, ()) for c in causes):
        mean += shift_value(shift.by, record.unit)
        variance += shift_value(shift.spread, record.unit) ** 2
    return mean, variance**0.5


def _gauges():
    """Checks of stand-alone readings."""
    return [check for check in BASE.checks.values() if check.gauge in STAND_ALONE]


def _share(check, finding, word, cause):
    """Share of readings under a cause that fall in bands which say a word of a finding."""
    shifts = BASE.causes[cause].shifts.get(check.gauge, ())
    chance = BASE.scale.strength[shifts[0].chance] if shifts and shifts[0].chance else 1.0
    moved, healthy = _law(check.gauge, cause), _law(check.gauge)
    return sum(
        weight
        * conformity(
            *law,
            _value(check.gauge, band.at_least, -inf),
            _value(check.gauge, band.below, inf),
        )
        for weight, law in ((chance, moved), (1.0 - chance, healthy))
        for band in check.answers
        if band.shows.get(finding) == word
    )


@lru_cache(maxsize=64)
def _reach(facts):
    tree = Tree(BASE, dict(facts))
    return {cause: tree.reach((cause,)) for cause in BASE.causes}


@pytest.fixture
def reach(check):
    """Cause -> node -> chance that the cause leads there, where the check can be made."""
    return _reach(tuple(check.when.items()))


class TestLimits:
    @pytest.mark.parametrize(("measurement", "low", "high", "source"), PUBLISHED)
    def test_a_published_limit_stands_in_the_base(self, measurement, low, high, source):
        edges = _value(measurement, low, -inf), _value(measurement, high, inf)
        row = (measurement, *(round(edge, 6) for edge in edges), source)
        assert row in _limits(measurement)

    def test_no_limit_names_a_source_that_does_not_print_it(self):
        printed = {
            (name, round(_value(name, low, -inf), 6), round(_value(name, high, inf), 6), source)
            for name, low, high, source in PUBLISHED
        }
        sources = {source for *_, source in PUBLISHED}
        rows = {row for name in BASE.measurements for row in _limits(name)}
        assert {row for row in rows if sources & set(row[3:])} == printed

    def test_nine_seconds_belong_to_the_other_test(self):  # R-DRAG-1 against R-DRAG-2
        assert _limits("spin_down") == [("spin_down", -inf, 3.0, "R-DRAG-1")]
        check = BASE.checks["spin_down_reverse"]
        assert check.source == ("R-DRAG-2",)
        assert check.gauge is None
        assert "nine seconds" in check.do


class TestLaws:
    def test_what_stands_alone(self):
        assert set(STAND_ALONE) == {
            "bore_runout",
            "housing_face_runout",
            "flywheel_runout",
            "pilot_bore_runout",
            "disc_runout",
            "spin_down",
            "spline_play",
            "pilot_clearance",
            "disc_thickness",
            "flywheel_step",
            "idle_speed",
            "master_bore_off",
            "slave_bore_off",
            "slave_rod_off",
            "fluid_boiling",
            "earth_voltage",
            "brake_squeeze",
            "hub_gap",
            "cover_lug_gap",
            "plate_cut",
            "floater_cut",
            "spring_load",
            "disc_flatness",
            "pilot_depth",
            "shaft_room",
            "crank_flange_runout",
            "crank_end_float",
            "bearing_height_off",
            "driveline_lash",
            "joint_angle_difference",
        }
        assert not set(STAND_ALONE) & set(FIGURE_KINDS)

    @pytest.mark.parametrize("name", STAND_ALONE)
    def test_some_cause_shifts_it(self, name):
        assert any(name in cause.shifts for cause in BASE.causes.values())

    @pytest.mark.parametrize("name", STAND_ALONE)
    def test_most_good_vehicles_conform(self, name):
        mean, spread = _law(name)
        for _, low, high, *_ in _limits(name):
            assert conformity(mean, spread, low, high) > 0.9

    @pytest.mark.parametrize("name", STAND_ALONE)
    def test_good_vehicles_read_plausibly(self, name):
        record = BASE.measurements[name]
        low, high = (record.value(text) for text in record.plausible)
        assert conformity(*_law(name), low, high) > 0.9

    def test_every_measurement_is_taken_by_some_check(self):
        taken = {check.gauge for check in BASE.checks.values()}
        assert set(BASE.measurements) == taken - {None}

    def test_instruments_are_fine_enough(self):
        coarse = set()
        for name in STAND_ALONE:
            record = BASE.measurements[name]
            edges = [abs(e) for row in _limits(name) for e in row[1:3] if abs(e) < inf]
            enough = max(record.spread(record.healthy.spread) / 2, min(edges, default=0.0) / 5)
            for key, instrument in record.instruments.items():
                if record.spread(instrument.uncertainty) > enough * (1 + 1e-9):
                    coarse.add((name, key))
        assert coarse == set(COARSE)

    @pytest.mark.parametrize(("cause", "moved", "sign"), SIGNS)
    def test_it_moves_the_way_an_expert_says(self, cause, moved, sign):
        unit = (
            BASE.measurements[moved].unit
            if moved in BASE.measurements
            else FIGURE_KINDS[moved].unit
        )
        (shift,) = BASE.causes[cause].shifts[moved]
        amount = shift_value(shift.by, unit)
        assert (amount > 0) - (amount < 0) == sign
        assert shift_value(shift.spread, unit) > 0

    @pytest.mark.parametrize("cause", ["hub_drags", "hub_wrong_size", "spline_worn"])
    def test_a_hub_that_drags_takes_clearance(self, cause):
        (shift,) = BASE.causes[cause].shifts["extra_lift"]
        moved = Shift("extra_lift", shift_value(shift.by, "mm"), shift_value(shift.spread, "mm"))
        names = ("clearance_per_face", "engagement_height", "fork_free_travel")
        system = PRESETS["twin_external"]
        good, bad = predict(system, names), predict(system, names, (moved,))
        assert bad.mean[0, 0] < 0.6 * good.mean[0, 0]
        assert bad.mean[0, 1] < good.mean[0, 1]
        assert bad.mean[0, 2] == good.mean[0, 2]


class TestLawsBesideTheTree:
    """A number and a look at the same thing must not tell two stories."""

    @pytest.mark.parametrize("check", _gauges(), ids=lambda check: check.id)
    def test_what_shows_a_finding_moves_its_reading(self, check, reach):
        told = {f for a in check.answers for f, w in a.shows.items() if w in {"yes", "probably"}}
        still = {
            cause
            for cause, nodes in reach.items()
            if max((nodes.get(f, 0.0) for f in told), default=0.0) >= 0.3
            and check.gauge not in BASE.causes[cause].shifts
        }
        assert not still

    @pytest.mark.parametrize("check", _gauges(), ids=lambda check: check.id)
    def test_what_moves_a_reading_far_shows_a_finding(self, check, reach):
        healthy, spread = _law(check.gauge)
        told = {f for a in check.answers for f, w in a.shows.items() if w in {"yes", "probably"}}
        silent = {
            name
            for name, cause in BASE.causes.items()
            if check.gauge in cause.shifts
            and abs(_law(check.gauge, name)[0] - healthy) > 1.5 * spread
            and not any(reach[name].get(f, 0.0) >= 0.1 for f in told)
        }
        assert not silent

    @pytest.mark.parametrize("check", _gauges(), ids=lambda check: check.id)
    def test_bands_come_about_as_often_as_the_tree_says(self, check, reach):
        findings = {f for a in check.answers for f, w in a.shows.items() if w == "yes"} - WIDER
        far = {
            (cause, finding): (round(nodes[finding], 2), round(share, 2))
            for cause, nodes in reach.items()
            for finding in findings
            if nodes.get(finding, 0.0) >= 0.3
            and abs((share := _share(check, finding, "yes", cause)) - nodes[finding]) > 0.26
        }
        assert not far

    @pytest.mark.parametrize("check", _gauges(), ids=lambda check: check.id)
    def test_a_good_vehicle_is_seldom_called_bad(self, check):
        mean, spread = _law(check.gauge)
        wrong = sum(
            conformity(
                mean,
                spread,
                _value(check.gauge, band.at_least, -inf),
                _value(check.gauge, band.below, inf),
            )
            for band in check.answers
            if "yes" in band.shows.values()
        )
        assert wrong < 0.03


class TestFrequency:
    def test_the_answers_name_what_can_turn(self):
        turning = {
            t.id
            for t in orders.turning_parts(
                3000, cylinders=4, shaft_speed=2000, gear_ratio=2, axle_ratio=4
            )
        }
        answers = {a.id for a in BASE.checks["vibration_frequency"].answers}
        assert {"engine", "input_shaft", "propshaft", "wheels"} <= answers & turning

    def test_take_up_judder_is_the_published_band(self):  # R-JUDDER-1: 5 to 20 Hz
        (judder,) = (band for band in orders.BANDS if band.id == "judder")
        (answer,) = (a for a in BASE.checks["vibration_frequency"].answers if a.id == "take_up")
        assert answer.text.startswith(f"{judder.low:g} to {judder.high:g} a second")
        assert answer.shows["chatters"] == "yes"

    def test_wheels_clear_engine_clutch_and_propshaft(self):
        (answer,) = (a for a in BASE.checks["vibration_frequency"].answers if a.id == "wheels")
        assert set(answer.shows.values()) == {"no"}


def test_measurements_are_clean():
    mine = [issue for issue in lint(BASE) if issue.position.file.endswith("measurements.yaml")]
    assert not mine
