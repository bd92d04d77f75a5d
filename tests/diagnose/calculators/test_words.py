"""Values in words, and marks on a tape."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculators.option import LENGTH_UNIT, Option
from diagnose.calculators.units import tape
from diagnose.calculators.values import Values
from diagnose.calculators.words import digits, say
from knowledge.quantity import parse_quantity


class TestTape:
    @pytest.mark.parametrize(
        ("inches", "words"),
        [(1.375, "1 3/8 in"), (0.5, "1/2 in"), (2.0, "2 in"), (0.0, "0 in"), (-0.25, "-1/4 in")],
    )
    def test_marks(self, inches, words):
        assert tape(inches) == words

    @given(st.floats(0.0, 100.0))
    def test_read_back_to_half_a_mark(self, inches):
        back = parse_quantity(tape(inches)).value / 25.4
        assert abs(back - inches) <= 1 / 128 + 1e-12
        assert (Fraction(back).limit_denominator(64) * 64).denominator == 1


class TestWords:
    @pytest.mark.parametrize(
        ("value", "unit", "words"),
        [
            (0.127, "mm", "0.127 mm (0.005 in)"),
            (144267.0, "N mm", "144.3 N m (106.4 lbf ft)"),
            (205.0, "degC", "205 °C (401 °F)"),
            (0.5, "share", "50.0 in 100"),
            (True, "", "yes"),
            (0.99999, "share", "more than 99.9 in 100"),
            (1e-9, "share", "less than 0.1 in 100"),
            (1.0, "share", "100.0 in 100"),
            (0.0, "share", "0.0 in 100"),
            (None, "mm", "none"),
            ("6 o'clock", "", "6 o'clock"),
            (12.5, "Hz", "12.5 Hz"),
        ],
    )
    def test_values(self, value, unit, words):
        assert say(value, unit) == words

    @given(st.floats(1e-6, 1e9))
    def test_four_digits_and_no_power_of_ten(self, value):
        text = digits(value)
        assert "e" not in text
        assert float(text) == pytest.approx(value, rel=6e-4)

    def test_the_unit_of_bare_lengths(self):
        options = {o.name: o for o in (LENGTH_UNIT, Option("gap", "gap", unit="mm"))}
        typed = {"gap": ("2",), "unit": ("thou",)}
        assert Values(options, typed).number("gap") == pytest.approx(0.0508)
        assert Values(options, {**typed, "gap": ("2 mm",)}).number("gap") == 2.0
        assert Values(options, {**typed, "gap": ("2 mm",)}).written_in("gap") == "mm"
