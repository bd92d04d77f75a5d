"""Quantities as typed, against the factors of NIST SP 811, appendix B (R-UNIT-1)."""

from fractions import Fraction
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.quantity import (
    Quantity,
    QuantityError,
    difference_value,
    ends_of_range,
    in_unit,
    on_tape,
    parse_quantity,
    quantity_value,
    standard_unit,
)

UNITS = (
    *("mm", "cm", "m", "um", "in", "thou", "ft", "km", "mi", "N", "kN", "lbf", "kgf", "MPa"),
    *("kPa", "bar", "psi", "N mm", "N m", "lbf ft", "lbf in", "mm3", "cm3", "in3", "N/mm"),
    *("lbf/in", "s", "min", "h", "1/min", "degC", "degF", "deg", "%"),
    *("Hz", "kg m2", "kg cm2", "lb ft2", "lb in2"),
)
PAIRS = [
    (unit, other)
    for unit, other in permutations(UNITS, 2)
    if parse_quantity(f"1 {unit}").dimension == parse_quantity(f"1 {other}").dimension
]


@pytest.mark.parametrize(
    ("text", "value", "dimension", "unit"),
    [
        ("1 3/8 in", 34.925, "length", "in"),
        ('1-3/8"', 34.925, "length", "in"),
        ("1 - 3/8 inch", 34.925, "length", "in"),
        ("3/8”", 9.525, "length", "in"),
        ("35 mm", 35.0, "length", "mm"),
        ("35mm", 35.0, "length", "mm"),
        (" 35\u00a0MM ", 35.0, "length", "mm"),
        ("0.2 in", 5.08, "length", "in"),
        ("0,2 in.", 5.08, "length", "in"),
        (",2 in", 5.08, "length", "in"),
        (".2 in", 5.08, "length", "in"),
        ("-0.5 mm", -0.5, "length", "mm"),
        ("−1 1/2 mm", -1.5, "length", "mm"),
        ("+2 mm", 2.0, "length", "mm"),
        ("15 thou", 0.381, "length", "thou"),
        ("20 µm", 0.02, "length", "um"),
        ("1.5e2 N", 150.0, "force", "N"),
        ("12,5 bar", 1.25, "pressure", "bar"),
        ("25 N·m", 25_000.0, "torque", "N m"),
        ("25 Nm", 25_000.0, "torque", "N m"),
        ("3,75 cc", 3750.0, "volume", "cm3"),
        ("2 min", 120.0, "time", "min"),
        ("850 rpm", 850.0, "speed", "1/min"),
        ("12,5 Hz", 12.5, "frequency", "Hz"),
        ("0.012 kg·m²", 0.012, "moment of inertia", "kg m2"),
        ("120 kg cm²", 0.012, "moment of inertia", "kg cm2"),
        ("212 °F", 100.0, "temperature", "degF"),
        ("-40 F", -40.0, "temperature", "degF"),
        ("7.5 degrees", 7.5, "angle", "deg"),
        ("20 °C", 20.0, "temperature", "degC"),
        ("15 %", 0.15, "share", "%"),
        ("3", 3.0, "count", ""),
    ],
)
def test_as_people_write_it(text, value, dimension, unit):
    found = parse_quantity(text)
    assert found.value == pytest.approx(value, rel=1e-14)
    assert (found.dimension, found.unit) == (dimension, unit)


@pytest.mark.parametrize(
    ("text", "unit", "factor"),
    [  # R-UNIT-1: exact by definition
        ("1 in", "mm", 25.4),
        ("1 ft", "m", 0.3048),
        ("1 mi", "m", 1609.344),
        ("1 kgf", "N", 9.80665),
        ("1 lbf", "kgf", 0.45359237),
        ("1 lbf", "N", 4.4482216152605),
        ("1 lbf ft", "N m", 1.3558179483314004),
        ("1 in3", "cm3", 16.387064),
        ("1 lb ft2", "kg m2", 0.45359237 * 0.3048**2),
        ("1 lb ft2", "lb in2", 144.0),
        ("1 kg m2", "kg cm2", 1e4),
        ("1 bar", "kPa", 100.0),
        ("1 h", "s", 3600.0),
    ],
)
def test_exact_factors(text, unit, factor):
    assert parse_quantity(text).in_unit(unit) == pytest.approx(factor, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "unit", "printed", "tolerance"),
    [  # R-UNIT-1: rounded; tolerance: half a unit in the last printed digit
        ("1 psi", "kPa", 6.894757293168, 5e-13),
        ("1 psi", "kPa", 6.894757, 5e-7),
        ("1 lbf ft", "N m", 1.355818, 5e-7),
        ("1 lbf in", "N m", 0.1129848290276, 5e-14),
        ("1 lbf/in", "N/mm", 0.175126835, 5e-10),
        ("1 lbf", "N", 4.44822, 5e-6),
        ("1 lbf in", "N m", 0.112985, 5e-7),
    ],
)
def test_rounded_factors(text, unit, printed, tolerance):
    assert parse_quantity(text).in_unit(unit) == pytest.approx(printed, rel=0, abs=tolerance)


@given(st.floats(-500.0, 5000.0))
def test_fahrenheit(celsius):
    """R-UNIT-1: degF = 1.8 degC + 32."""
    found = Quantity(celsius, "temperature", "degC").in_unit("°F")
    assert found == pytest.approx(1.8 * celsius + 32.0, rel=1e-12, abs=1e-9)
    assert parse_quantity(f"{found!r} °F").value == pytest.approx(celsius, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("unit", ["degF", "°F", "F", "deg F"])
def test_every_spelling_converts_alike(unit):
    assert parse_quantity("100 °C").in_unit(unit) == pytest.approx(212.0)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ('"', "in"),
        ("Inches", "in"),
        ("MM", "mm"),
        ("psi", "psi"),
        ("PSI", "psi"),
        ("mpa", "MPa"),
        ("ft-lb", "lbf ft"),
        ("ft·lbs", "lbf ft"),
        ("lb-in", "lbf in"),
        ("N.m", "N m"),
        ("N*mm", "N mm"),
        ("lbs", "lbf"),
        ("kg", "kgf"),
        ("hz", "Hz"),
        ("1/s", "Hz"),
        ("kgm²", "kg m2"),
        ("kg m^2", "kg m2"),
        ("lb·ft²", "lb ft2"),
        ("lb ft", "lbf ft"),
        ("°c", "degC"),
        (" mm ", "mm"),
        ("", ""),
    ],
)
def test_spellings(text, unit):
    assert standard_unit(text) == unit


@pytest.mark.parametrize("text", ["furlong", "mmm", "in in", "/3", "0", "N/m", "°"])
def test_unknown_units(text):
    with pytest.raises(QuantityError, match="is not a unit this program knows"):
        standard_unit(text)


@pytest.mark.parametrize(
    "text",
    ["", " ", "mm", "abc", "about 3 mm", "--3 mm", "in 3", "5" * 41, "1 mm" + " " * 40],
)
def test_no_number(text):
    with pytest.raises(QuantityError, match="is not a number with a unit"):
        parse_quantity(text)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("3/0 in", "'3/0 in' divides by nothing"),
        ("1 3/0 in", "divides by nothing"),
        ("0/0", "divides by nothing"),
        ("1e999 mm", "'1e999' is too large a number"),
        ("1 2 mm", "'2 mm' is not a unit"),
        ("1/ in", "'/ in' is not a unit"),
        ("1 3/8/2 in", "'/2 in' is not a unit"),
        ("3 mm 4", "'mm 4' is not a unit"),
    ],
)
def test_numbers_that_are_none(text, message):
    with pytest.raises(QuantityError, match=message):
        parse_quantity(text)


def test_a_comma_that_can_be_read_in_two_ways_is_refused():
    for text in ("1,250 mm", "12,500 N", "350,000 mm"):
        with pytest.raises(QuantityError, match="can be read in two ways: write "):
            parse_quantity(text)
    assert parse_quantity("0,250 in").value == pytest.approx(6.35)
    assert parse_quantity("1,25 mm").value == 1.25
    assert parse_quantity("1,2500 mm").value == 1.25
    assert parse_quantity("1.250 mm").value == 1.25


@pytest.mark.parametrize(
    ("text", "dimension", "message"),
    [
        ("35 N", "length", "'35 N' is a force, but a length is wanted here"),
        ("35", "length", "'35' is a count, but a length is wanted here"),
        ("35 mm", "time", "'35 mm' is a length, but a time is wanted here"),
    ],
)
def test_wrong_dimension(text, dimension, message):
    with pytest.raises(QuantityError, match=message):
        parse_quantity(text, dimension=dimension)


def test_a_unit_is_taken_where_none_is_written():
    assert parse_quantity("1 3/8", default_unit="in").value == 34.925
    assert parse_quantity("35", dimension="length", default_unit="mm").value == 35.0
    assert parse_quantity("35 mm", default_unit="in").value == 35.0  # what is written counts


def test_other_dimension_out():
    with pytest.raises(QuantityError, match="'N' is a unit of force, not of length"):
        parse_quantity("35 mm").in_unit("N")
    with pytest.raises(QuantityError, match="is not a unit this program knows"):
        parse_quantity("35 mm").in_unit("smoot")


@given(st.floats(-1e6, 1e6), st.sampled_from(UNITS))
def test_written_and_read_again(number, unit):
    found = parse_quantity(f"{number!r} {unit}")
    assert found.unit == unit
    assert found.in_unit(unit) == pytest.approx(number, rel=1e-12, abs=1e-9)


@given(st.floats(-1e6, 1e6), st.sampled_from(PAIRS))
def test_through_another_unit_and_back(number, pair):
    unit, other = pair
    start = parse_quantity(f"{number!r} {unit}")
    back = parse_quantity(f"{start.in_unit(other)!r} {other}")
    assert back.value == pytest.approx(start.value, rel=1e-12, abs=1e-9)


@given(st.integers(0, 99), st.integers(0, 63), st.integers(1, 64), st.sampled_from([" ", "-"]))
def test_fractions_are_exact(whole, over, under, between):
    text = f"{whole}{between}{over}/{under} in"
    exact = (whole + Fraction(over, under)) * Fraction(254, 10)
    assert parse_quantity(text).value == pytest.approx(float(exact), rel=1e-15)


@given(
    st.text(max_size=45)
    | st.from_regex(r"[-+−]?[0-9٣]{1,3}[-/., 0-9]{0,6}[ ]?(in|mm|\"|'')?", fullmatch=True)
)
def test_any_text_is_an_error_of_its_own_or_a_quantity_that_can_be_written(text):
    try:
        found = parse_quantity(text)
    except QuantityError:
        return
    again = parse_quantity(f"{found.in_unit(found.unit)!r} {found.unit}")
    assert (again.dimension, again.unit) == (found.dimension, found.unit)
    assert again.value == pytest.approx(found.value, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "ends"),
    [
        ("1 to 1 1/4 in", ("1", "1 1/4 in")),
        ("between 20 and 30 mm", ("20", "30 mm")),
        ("from 1 in to 2 in", ("1 in", "2 in")),
        ("10-12 mm", ("10", "12 mm")),
        ("0.5..0.8", ("0.5", "0.8")),
        ("1-3/8 in", None),
        ("-5 mm", None),
        ("35 mm", None),
    ],
)
def test_ranges(text, ends):
    assert ends_of_range(text) == ends


@pytest.mark.parametrize(
    ("number", "parts", "written"),
    [
        (1.375, 16, "1 3/8"),
        (0.49, 16, "1/2"),
        (2.0, 64, "2"),
        (-0.25, 16, "-1/4"),
        (-0.01, 16, "0"),
    ],
)
def test_as_on_a_tape(number, parts, written):
    assert on_tape(number, parts) == written


@given(st.floats(-1e4, 1e4), st.sampled_from(["mm", "in", "thou", "N m", "degF", "1/min", "s", ""]))
def test_a_number_of_a_unit_is_read_back(value, unit):
    assert quantity_value(f"{in_unit(value, unit):.12f}", unit) == pytest.approx(value, abs=1e-6)


def test_a_difference_has_no_zero():
    assert difference_value("9 degF", "degC") == pytest.approx(5.0)
    assert difference_value("1 in", "mm") == pytest.approx(25.4)
