"""Limits of clutch parts and runouts that manuals print, each in the base where it belongs.

Travel, spin-down and fluid stand in `test_measurements.py`, the malfunction tables of the manuals
in `tests/diagnose/test_manual_tables.py`.
"""

from math import inf

import pytest

from diagnose.physics.runout_limits import HOUSING_LIMITS, flywheel_face_limit, limits_for
from knowledge.load import load_base
from knowledge.quantity import quantity_value

BASE = load_base()

PUMP = "TM 10-4320-307-24 pp. 3-140, 3-141"
J1033 = "SAE J1033, in C110AM p. 17"
RULE = "C110AM p. 17; TM 10-4320-307-24 p. 3-144; TM 9-2815-202-34 p. 4-75"
ROLLER = "TM 5-3805-260-24 p. 2-75; TM 5-3895-383-24 p. 5-40"
LIGHT = "light-vehicle workshop manuals, 1999 to 2006"
SHEET = "light-vehicle data sheet, 2005"
TRUCK = "general truck note"
CRANE, CRANE_293 = "TM 5-3810-300-24&P2", "TM 5-3810-293-14&P-2, section VIII"
CRANE_294, TRACTOR = "TM 5-3810-294-34, para 14-15", "TM 5-2420-222-34, para 4-2"

# Manual, measurement, at least, at most, id of the source; values as the manuals print them.
# A recess is read against its figure: 1.065 in "+0.005" and 1.062 in "+-0.005". So is a spring:
# 150 lb and not less.
PUBLISHED = (
    (TRACTOR, "disc_flatness", None, "0.006 in", "R-WEAR-1"),
    (SHEET, "rivet_depth", "0.3 mm", None, "R-WEAR-1"),
    (TRUCK, "rivet_depth", "1/16 in", None, "R-WEAR-1"),
    (SHEET, "finger_wear_depth", None, "0.6 mm", "R-WEAR-1"),
    (SHEET, "finger_wear_width", None, "5.0 mm", "R-WEAR-1"),
    (SHEET, "finger_spread", None, "0.5 mm", "R-WEAR-1"),
    (CRANE_294, "floater_lug_gap", "0.006 in", "0.014 in", "R-WEAR-1"),
    (CRANE, "floater_lug_gap", "0.006 in", None, "TM-5-3810-300"),
    (CRANE_293, "floater_lug_gap", None, "0.012 in", "TM-5-3810-293"),
    (CRANE_294, "cover_lug_gap", "0.004 in", "0.010 in", "R-WEAR-1"),
    (CRANE, "hub_gap", "5/32 in", None, "R-WEAR-1"),
    (CRANE_293, "hub_gap", "5/32 in", None, "TM-5-3810-293"),
    (CRANE, "flywheel_step", None, "0.005 in", "R-WEAR-1"),
    (CRANE_293, "flywheel_step", "-0.005 in", "0.005 in", "TM-5-3810-293"),
    (CRANE_293, "plate_warp", None, "0.015 in", "TM-5-3810-293"),
    (CRANE_293, "plate_cut", None, "1/32 in", "TM-5-3810-293"),
    (CRANE_293, "floater_cut", None, "0.015 in", "TM-5-3810-293"),
    (CRANE_293, "spring_load", "0 lbf", None, "TM-5-3810-293"),
    (CRANE_293, "lever_height", "1 1/32 in", "1 3/32 in", "TM-5-3810-293"),  # 1 1/16 in, rounded
    ("one workshop manual", "face_finish", "1.3 um", "4.0 um", "R-FINISH-1"),
    *(
        (PUMP, part, None, limit, "R-RUNOUT-1")  # SAE housing 1 to 3, 1/2 and 0, 00
        for part in ("bore_runout", "housing_face_runout")
        for limit in ("0.008 in", "0.010 in", "0.012 in")
    ),
    *(
        (J1033, part, None, f"0.0{thou} in", "R-RUNOUT-2")  # SAE housing 00 down to 6
        for part in ("bore_runout", "housing_face_runout")
        for thou in ("19", "16", "14", "12", "11", "10", "09", "08", "07")
    ),
    *(
        (RULE, "flywheel_runout", None, f"0.0{thou} in", "R-RUNOUT-3")  # radius 8 to 16 in
        for thou in ("08", "10", "12", "14", "16")
    ),
    (ROLLER, "flywheel_runout", None, "0.006 in", "R-RUNOUT-4"),
    (ROLLER, "pilot_bore_runout", None, "0.006 in", "R-RUNOUT-4"),  # bore of the flywheel
    (ROLLER, "pilot_bore_runout", None, "0.005 in", "R-RUNOUT-4"),  # pilot's own
    (ROLLER, "housing_face_runout", None, "0.012 in", "R-RUNOUT-4"),
    ("TM 9-2815-205-34", "bore_runout", None, "0.013 in", "R-RUNOUT-4"),
    ("TM 9-2815-205-34", "housing_face_runout", None, "0.013 in", "R-RUNOUT-4"),
    ("TM 10-3930-664-24 p. 3-41", "housing_face_runout", None, "0.008 in", "R-RUNOUT-4"),
    (LIGHT, "flywheel_runout", None, "0.06 mm", "R-RUNOUT-5"),  # new
    (LIGHT, "flywheel_runout", None, "0.08 mm", "R-RUNOUT-5"),
    (LIGHT, "flywheel_runout", None, "0.1 mm", "R-RUNOUT-5"),
    (LIGHT, "flywheel_runout", None, "0.15 mm", "R-RUNOUT-5"),
    (LIGHT, "disc_runout", None, "0.5 mm", "R-RUNOUT-5"),  # new disc
    (LIGHT, "disc_runout", None, "0.8 mm", "R-RUNOUT-5"),  # used disc
)

# Figures that readings are held against stand in the name of their limit.
FIGURES = (
    (CRANE, "flywheel_step", "1.065 in"),
    (CRANE_293, "flywheel_step", "1.062 in"),
    (CRANE_293, "spring_load", "150 lb at 1 27/32 in"),
    (CRANE_293, "lever_height", "1 1/16 in from the clutch ring"),
)

# Limits in words: manual, check, answer, what it must say, id of the source.
IN_WORDS = (
    (TRACTOR, "rivet_depth", "worn", "replace the disc when the rivets are flush", "TM-5-2420-222"),
    (TRACTOR, "disc_condition", "worn", "rivets are flush", "TM-5-2420-222"),
    (TRACTOR, "spline_slide", "slides", "slide freely and must not rock", "TM-5-2420-222"),
    (CRANE, "pilot_look", "sound", "hand press fit", "TM-5-3810-300"),
    (CRANE, "flywheel_face", "clean", "no heat cracks, no scores", "TM-5-3810-300"),
    (CRANE, "plate_face", "clean", "no heat cracks, no scores", "TM-5-3810-300"),
)


def ends(measurement, low, high):
    value = BASE.measurements[measurement].value
    return (
        -inf if low is None else round(value(low), 6),
        inf if high is None else round(value(high), 6),
    )


def limits(measurement):
    """Each limit of a measurement: measurement, ends in the inside unit, sources."""
    return [
        (measurement, *ends(measurement, limit.at_least, limit.at_most), *limit.source)
        for limit in BASE.measurements[measurement].limits
    ]


@pytest.mark.parametrize(("manual", "measurement", "low", "high", "source"), PUBLISHED)
def test_a_published_limit_stands_in_the_base(manual, measurement, low, high, source):
    assert (measurement, *ends(measurement, low, high), source) in limits(measurement), manual


def test_no_limit_names_a_source_that_does_not_print_it():
    printed = {(name, *ends(name, low, high), source) for _, name, low, high, source in PUBLISHED}
    sources = {source for *_, source in PUBLISHED}
    rows = {row for name in BASE.measurements for row in limits(name)}
    assert {row for row in rows if sources & set(row[3:])} == printed


@pytest.mark.parametrize(("manual", "measurement", "figure"), FIGURES)
def test_a_figure_is_told_with_its_limit(manual, measurement, figure):
    assert any(figure in limit.name for limit in BASE.measurements[measurement].limits), manual


@pytest.mark.parametrize(("manual", "check", "answer", "words", "source"), IN_WORDS)
def test_a_limit_in_words_stands_in_the_answer_that_judges_it(manual, check, answer, words, source):
    record = BASE.checks[check]
    (judging,) = (a for a in record.answers if a.id == answer)
    assert words in judging.means.casefold(), manual
    assert source in record.source


def test_a_hand_press_fit_is_what_the_pilot_is_tried_for():  # TM 5-3810-300-24&P2
    check = BASE.checks["pilot_try"]
    assert "hand press fit" in check.no
    assert "TM-5-3810-300" in check.source


@pytest.mark.parametrize(
    ("measurement", "inside", "outside"),
    [
        ("hub_gap", "0.17 in", "0.15 in"),
        ("finger_wear_depth", "0.5 mm", "0.7 mm"),
        ("finger_wear_width", "4.5 mm", "5.5 mm"),
        ("cover_lug_gap", "0.005 in", "0.003 in"),
        ("cover_lug_gap", "0.009 in", "0.011 in"),
        ("floater_lug_gap", "0.007 in", "0.005 in"),
        ("floater_lug_gap", "0.013 in", "0.015 in"),
        ("plate_cut", "0.03 in", "0.033 in"),
        ("floater_cut", "0.014 in", "0.016 in"),
        ("disc_flatness", "0.005 in", "0.011 in"),
        ("face_finish", "3.5 um", "7 um"),
        ("face_finish", "1.5 um", "1 um"),
    ],
)
def test_bands_turn_at_the_limit(measurement, inside, outside):
    """A reading outside a limit is called bad, one inside is not."""
    (check,) = (c for c in BASE.checks.values() if c.gauge == measurement)
    value = BASE.measurements[measurement].value
    said = [
        answer.shows.values()
        for text in (inside, outside)
        for answer in check.answers
        if (answer.at_least is None or value(answer.at_least) <= value(text))
        and (answer.below is None or value(text) < value(answer.below))
    ]
    assert "yes" not in said[0]
    assert "yes" in said[1]


# Pairs that the sources print in both units (R-RUNOUT-1, -4, -5).
@pytest.mark.parametrize(
    ("inches", "millimetres", "decimals"),
    [
        ("0.012 in", 0.30, 2),
        ("0.010 in", 0.25, 2),
        ("0.008 in", 0.20, 2),
        ("0.006 in", 0.15, 2),
        ("0.005 in", 0.13, 2),
        ("0.003 in", 0.08, 2),
        ("0.004 in", 0.1, 1),
        ("0.020 in", 0.5, 1),
    ],
)
def test_both_printed_units_agree(inches, millimetres, decimals):
    assert round(quantity_value(inches, "mm"), decimals) == millimetres


def test_both_printed_finishes_agree():
    """R-FINISH-1: 52 to 160 microinches, which are to micrometres as thou are to millimetres."""
    printed = [quantity_value(f"{n} thou", "mm") for n in (52, 160)]
    assert printed == pytest.approx([1.3, 4.0], rel=0.02)


class TestRunout:
    @pytest.mark.parametrize("part", ["bore_runout", "housing_face_runout"])
    @pytest.mark.parametrize("source", ["R-RUNOUT-1", "R-RUNOUT-2"])
    def test_housing_limits_are_those_of_the_bench(self, part, source):
        base = {row[2] for row in limits(part) if row[3] == source}
        assert base == {round(limit, 6) for limit in HOUSING_LIMITS[source].values()}

    def test_flywheel_limits_by_radius_follow_the_rule(self):  # R-RUNOUT-3: 0.001 of the radius
        base = [row[2] for row in limits("flywheel_runout") if row[3] == "R-RUNOUT-3"]
        assert base == [round(flywheel_face_limit(r * 25.4), 6) for r in (8, 10, 12, 14, 16)]

    @pytest.mark.parametrize(
        ("measurement", "part"),
        [
            ("flywheel_runout", "flywheel_face"),
            ("pilot_bore_runout", "flywheel_bore"),
            ("pilot_bore_runout", "pilot_bore"),
            ("disc_runout", "disc_face"),
            ("housing_face_runout", "housing_face"),
        ],
    )
    def test_the_base_knows_what_the_bench_knows(self, measurement, part):
        known = {(round(limit.tir, 6), limit.source) for limit in limits_for(part)}
        assert known <= {(row[2], row[3]) for row in limits(measurement)}

    @pytest.mark.parametrize("name", [n for n in BASE.measurements if n.endswith("_runout")])
    def test_runout_is_the_total_indicator_reading(self, name):  # R-TIR-1 against R-TIR-6
        assert BASE.measurements[name].how.startswith("Total indicator reading")

    @pytest.mark.parametrize("name", ["bore_runout", "pilot_bore_runout"])
    def test_the_offset_is_half_the_reading(self, name):  # R-TIR-5
        assert "offset is half of it" in BASE.measurements[name].how
        assert "R-TIR-5" in BASE.measurements[name].source
