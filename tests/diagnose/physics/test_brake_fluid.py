"""Boiling points of brake fluid, 49 CFR 571.116."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics.brake_fluid import CLASSES, FluidError, check_fluid, fluid_class
from knowledge.quantity import Quantity


@pytest.mark.parametrize(
    ("name", "dry", "wet", "dry_f", "wet_f"),
    [
        ("3", 205, 140, 401, 284),
        ("4", 230, 155, 446, 311),
        ("5", 260, 180, 500, 356),
        ("5.1", 260, 180, 500, 356),
    ],
)
def test_limits(name, dry, wet, dry_f, wet_f):  # R-HYD-4
    fluid = CLASSES[name]
    assert (fluid.dry, fluid.wet) == (dry, wet)
    assert Quantity(fluid.dry, "temperature", "degC").in_unit("degF") == pytest.approx(dry_f)
    assert Quantity(fluid.wet, "temperature", "degC").in_unit("degF") == pytest.approx(wet_f)


def test_the_misquoted_class():  # R-HYD-4, trap: 270/190 is not the regulation
    five, five_one = CLASSES["5"], CLASSES["5.1"]
    assert (five_one.dry, five_one.wet) == (five.dry, five.wet) != (270.0, 190.0)
    assert five.silicone
    assert not five_one.silicone


@pytest.mark.parametrize("text", ["DOT 4", "dot4", " 4 "])
def test_names(text):
    assert fluid_class(text) == CLASSES["4"]


@pytest.mark.parametrize("text", ["", "DOT", "6", "LHM", "51"])
def test_no_class(text):
    with pytest.raises(FluidError, match="DOT 3"):
        fluid_class(text)


@pytest.mark.parametrize(
    ("boils", "verdict"),
    [(230.0, "as_new"), (229.9, "used"), (155.0, "used"), (154.9, "spent"), (100.0, "spent")],
)
def test_verdicts(boils, verdict):  # R-HYD-4
    assert check_fluid(CLASSES["4"], boils, uncertainty=5.0).verdict == verdict


@given(st.sampled_from(sorted(CLASSES)), st.floats(90.0, 350.0), st.floats(0.5, 20.0))
def test_chances(name, boils, doubt):
    fluid = CLASSES[name]
    found = check_fluid(fluid, boils, uncertainty=doubt)
    assert 0.0 <= found.above_dry <= found.above_wet <= 1.0
    assert (found.above_wet >= 0.5) == (boils >= fluid.wet)


@pytest.mark.parametrize("boils", [401.0, 446.0, 20.0, float("nan")])
def test_degrees_of_the_other_kind_are_caught(boils):
    with pytest.raises(FluidError, match="°F"):
        check_fluid(CLASSES["3"], boils, uncertainty=5.0)
