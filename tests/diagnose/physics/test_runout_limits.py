"""Published limits: two tables by size that differ, and one rule in two forms."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics.runout_limits import (
    HOUSING_BORES,
    HOUSING_LIMITS,
    SIZES,
    flywheel_face_limit,
    flywheel_face_limit_by_diameter,
    limits_for,
)

INCH = 25.4


@pytest.mark.parametrize(
    ("size", "inches", "millimetres"),  # R-RUNOUT-1 prints both
    [
        ("00", 0.012, 0.30),
        ("0", 0.010, 0.25),
        ("1/2", 0.010, 0.25),
        ("1", 0.008, 0.20),
        ("2", 0.008, 0.20),
        ("3", 0.008, 0.20),
    ],
)
def test_the_maintenance_table(size, inches, millimetres):  # R-RUNOUT-1
    limit = HOUSING_LIMITS["R-RUNOUT-1"][size]
    assert limit == pytest.approx(inches * INCH)
    assert limit == pytest.approx(millimetres, abs=0.006)


def test_the_j1033_table():  # R-RUNOUT-2
    inches = (0.019, 0.016, 0.014, 0.012, 0.011, 0.010, 0.009, 0.008, 0.007)
    table = HOUSING_LIMITS["R-RUNOUT-2"]
    assert list(table.values()) == pytest.approx([i * INCH for i in inches])
    # The summary of J617-2020 gives 0.18 mm for size 6 and 0.48 mm for size 00.
    assert (round(table["6"], 2), round(table["00"], 2)) == (0.18, 0.48)


def test_the_tables_differ_and_one_is_tighter():
    tight, wide = HOUSING_LIMITS["R-RUNOUT-1"], HOUSING_LIMITS["R-RUNOUT-2"]
    assert all(tight[size] < wide[size] for size in tight)


@pytest.mark.parametrize(
    ("size", "inches"), [("00", 31.0), ("0", 25.5), ("1", 20.125), ("2", 17.625)]
)
def test_bores_in_both_sources(size, inches):  # R-RUNOUT-1 in inches, R-RUNOUT-2 in mm
    assert HOUSING_BORES[size] == pytest.approx(inches * INCH, abs=0.006)


@pytest.mark.parametrize("radius", [8, 10, 12, 14, 16])
def test_the_flywheel_rule(radius):  # R-RUNOUT-3
    assert flywheel_face_limit(radius * INCH) == pytest.approx(radius / 1000 * INCH)


@given(st.floats(1.0, 1000.0))
def test_both_forms_of_the_rule_agree(radius):  # R-RUNOUT-3
    # A public page prints 0.005 per inch of diameter: ten times too much.
    by_diameter = flywheel_face_limit_by_diameter(2.0 * radius)
    assert by_diameter == pytest.approx(flywheel_face_limit(radius))
    assert by_diameter < 0.005 * 2.0 * radius / 9.0


@pytest.mark.parametrize("radius", [0.0, -1.0])
def test_a_radius_is_above_nothing(radius):
    with pytest.raises(ValueError, match="radius"):
        flywheel_face_limit(radius)


@pytest.mark.parametrize(
    ("part", "inches"),
    [
        ("housing_face", 0.012),
        ("flywheel_face", 0.006),
        ("flywheel_bore", 0.006),
        ("pilot_bore", 0.005),
    ],
)
def test_fixed_limits(part, inches):  # R-RUNOUT-4
    limits = {x.source: x.tir for x in limits_for(part)}
    assert limits["R-RUNOUT-4"] == pytest.approx(inches * INCH)


def test_light_vehicles():  # R-RUNOUT-5
    assert [x.tir for x in limits_for("disc_face")] == [0.5, 0.8]
    face = [x.tir for x in limits_for("flywheel_face") if x.source == "R-RUNOUT-5"]
    assert face == [0.08, 0.15]


def test_a_size_brings_both_tables_tightest_first():
    found = limits_for("housing_bore", size="1")
    assert [x.source for x in found] == ["R-RUNOUT-1", "R-RUNOUT-2"]
    assert [x.tir for x in found] == sorted(x.tir for x in found)
    assert limits_for("housing_bore") == ()
    assert [x.source for x in limits_for("housing_bore", size="5")] == ["R-RUNOUT-2"]


def test_every_size_has_a_limit():
    assert all(limits_for("housing_bore", size=size) for size in SIZES)


def test_a_radius_brings_the_rule():
    found = {x.source: x.tir for x in limits_for("flywheel_face", radius=150.0)}
    assert found["R-RUNOUT-3"] == pytest.approx(0.15)
