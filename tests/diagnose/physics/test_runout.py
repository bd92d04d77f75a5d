"""Dial readings against manuals (R-TIR) and against the plain geometry of a circle."""

from math import cos, hypot, inf, nan, radians, sin, sqrt

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.physics.runout import (
    DialSet,
    RunoutError,
    cross_difference,
    evenly_spaced,
    harmonics,
    offset_dowels,
    ovality,
    pairs,
    tilt,
    tir,
)

INCH = 25.4
FOUR = evenly_spaced(4)
RADIUS = 255.0

offsets = st.floats(0.02, 1.0)
turns = st.floats(0.0, 359.9)
counts = st.integers(5, 16)


def inches(*values):
    return tuple(v * INCH for v in values)


def clock_set(top, right, bottom, left, **more):
    return DialSet(FOUR, inches(top, right, bottom, left), **more)


def circle_seen(angles, offset, direction, *, sign=-1.0, drop=0.0, oval=0.0, long_axis=0.0):
    """Readings of a dial that turns `drop` below the origin, on a circle `offset` from it.

    Where a ray from the dial's own axis meets the circle, found by the quadratic formula; an oval
    adds to the radius twice a turn.
    """
    x = offset * sin(radians(direction))
    y = offset * cos(radians(direction)) + drop
    readings = []
    for angle in angles:
        a = radians(angle)
        along = x * sin(a) + y * cos(a)
        distance = along + sqrt(along**2 + RADIUS**2 - x**2 - y**2)
        distance += oval / 4.0 * cos(2.0 * radians(angle - long_axis))
        readings.append(sign * (distance - RADIUS))
    return tuple(readings)


def apart(a, b):
    return abs((a - b + 180.0) % 360.0 - 180.0)


class TestPublished:
    def test_four_readings(self):  # R-TIR-1
        assert tir(clock_set(0.0, 0.003, -0.002, 0.003, closing=0.0)) == pytest.approx(0.005 * INCH)

    def test_the_same_in_millimetres(self):  # R-TIR-1 prints 0.13 mm
        assert round(tir(clock_set(0.0, 0.003, -0.002, 0.003)), 2) == 0.13

    def test_the_extremes_of_six(self):  # R-TIR-2
        readings = inches(0.0, 0.004, 0.001, -0.003, -0.007, -0.002)
        assert tir(DialSet(evenly_spaced(6), readings)) == pytest.approx(0.011 * INCH)

    @pytest.mark.parametrize("lift", [0.0, 0.001, 0.004])
    def test_horizontal_and_vertical_with_crank_lift(self, lift):  # R-TIR-3
        # Zero at 6; A at 9 o'clock, B at 12, C at 3: horizontal A - C, vertical B + D.
        dial = clock_set(0.003, -0.002, 0.0, 0.004, crank_lift=lift * INCH)
        both = pairs(dial)
        assert both.horizontal == pytest.approx(0.006 * INCH)
        assert both.vertical == pytest.approx((0.003 + lift) * INCH)

    def test_the_chart_for_bearing_clearance(self):  # R-TIR-4
        # A (zero) at 6, B at 9, C at 12, D at 3: horizontal 0.005, vertical -0.002.
        dial = clock_set(-0.006, -0.003, 0.0, 0.002, crank_lift=0.004 * INCH)
        both = pairs(dial)
        assert abs(both.horizontal) == pytest.approx(0.005 * INCH)
        assert both.vertical == pytest.approx(-0.002 * INCH)
        line_three = [0.0, 0.004 * INCH, -0.002 * INCH, -0.001 * INCH]
        a, b, c, d = (dial.at(angle, dial.corrected) for angle in (180.0, 270.0, 0.0, 90.0))
        assert [x - a for x in (a, b, c, d)] == pytest.approx(line_three)

    def test_the_housing_moves_by_half_the_reading(self):  # R-TIR-5
        # 3 o'clock 0.006 above 9 o'clock, nothing upright: the bore is off by 0.003 toward 9.
        found = harmonics(clock_set(0.0, 0.003, 0.0, -0.003))
        assert found.once == pytest.approx(0.003 * INCH)
        assert found.direction == pytest.approx(270.0)

    def test_a_sagging_bracket_on_a_pipe(self):  # R-TIR-5: -0.037 at the bottom, 0.0185 apparent
        readings = inches(0.0, -0.0185, -0.037, -0.0185)
        raw = harmonics(DialSet(FOUR, readings, "shaft"))
        assert raw.once == pytest.approx(0.0185 * INCH)
        assert raw.direction == pytest.approx(0.0)
        corrected = DialSet(FOUR, readings, "shaft", sag_reading=-0.037 * INCH)
        assert harmonics(corrected).once == pytest.approx(0.0, abs=1e-12)

    def test_plus_at_the_bottom_is_a_shaft_that_is_low(self):  # R-TIR-5, sign
        found = harmonics(clock_set(0.0, 0.002, 0.004, 0.002, surface="shaft"))
        assert found.direction == pytest.approx(180.0)

    def test_sag_leaves_the_horizontal_pair_and_faces_alone(self):  # R-TIR-5
        sag = -0.01 * INCH
        plain, sagged = (clock_set(0.0, 0.003, -0.002, 0.001, sag_reading=s) for s in (0.0, sag))
        assert pairs(sagged).horizontal == pytest.approx(pairs(plain).horizontal)
        assert pairs(sagged).vertical == pytest.approx(pairs(plain).vertical - sag)
        face = clock_set(0.0, 0.003, -0.002, 0.001, surface="face", sag_reading=sag, crank_lift=0.1)
        assert face.corrected == pytest.approx(face.readings)

    def test_the_other_convention_is_not_the_default(self):  # R-TIR-6, a trap and no oracle
        # Its own example prints 0.0074 in, from halves and sums that do not add up.
        dial = clock_set(0.0, 0.003, 0.008, 0.001, crank_lift=0.003 * INCH)
        totals = tir(dial, convention="totals")
        assert totals == pytest.approx((0.008 - 0.0015 + 0.002) * INCH)
        assert totals != pytest.approx(0.0074 * INCH, rel=0.05)
        assert tir(dial) == tir(dial, convention="max_min")
        # By R-TIR-4 line III is 0.003, 0.0045, 0.008, 0.0025.
        assert tir(dial) == pytest.approx((0.008 - 0.0025) * INCH)

    def test_both_conventions_agree_on_an_upright_offset_only(self):
        upright = clock_set(0.0, 0.003, 0.006, 0.003)
        slanting = clock_set(0.0, 0.006, 0.006, 0.0)
        assert tir(upright, convention="totals") == pytest.approx(tir(upright))
        assert tir(slanting, convention="totals") == pytest.approx(2.0 * tir(slanting))

    def test_the_validity_rule_holds_for_an_offset_and_breaks_for_an_oval(self):  # R-TIR-5 [U]
        assert cross_difference(clock_set(0.0, 0.001, 0.006, 0.005)) == pytest.approx(0.0)
        assert cross_difference(clock_set(0.0, 0.003, -0.002, 0.003)) == pytest.approx(
            -0.008 * INCH
        )
        assert cross_difference(DialSet(evenly_spaced(5), (0.0,) * 5)) is None


class TestGeometry:
    @given(offsets, turns, counts)
    def test_offset_and_direction_of_a_bore(self, offset, direction, count):
        angles = evenly_spaced(count)
        found = harmonics(DialSet(angles, circle_seen(angles, offset, direction)))
        # Across a circle the distance is a cosine but for offset squared over the radius.
        assert found.once == pytest.approx(offset, abs=offset**2 / RADIUS)
        assert apart(found.direction, direction) < 0.5
        assert found.rest < offset**2 / RADIUS

    @given(offsets, turns, st.floats(0.0, 0.3), st.floats(0.0, 0.5), st.sampled_from([-1.0, 1.0]))
    def test_lift_and_sag_are_taken_out(self, offset, direction, lift, hang, sign):
        # The crank lies low by half its lift and the bracket hangs below that.
        angles = evenly_spaced(8)
        readings = circle_seen(angles, offset, direction, sign=sign, drop=lift / 2.0 + hang)
        surface = "bore" if sign < 0.0 else "shaft"
        dial = DialSet(angles, readings, surface, sag_reading=-2.0 * hang, crank_lift=lift)
        found = harmonics(dial)
        size = (offset + lift / 2.0 + hang) ** 2 / RADIUS
        right, up = (found.once * f(radians(found.direction)) for f in (sin, cos))
        assert right == pytest.approx(offset * sin(radians(direction)), abs=size)
        assert up == pytest.approx(offset * cos(radians(direction)), abs=size)

    @given(offsets, turns, st.floats(0.02, 0.5), st.floats(0.0, 179.9), st.integers(5, 16))
    def test_an_oval_beside_an_offset(self, offset, direction, oval, long_axis, count):
        angles = evenly_spaced(count, start=10.0)
        readings = circle_seen(angles, offset, direction, oval=oval, long_axis=long_axis)
        found = harmonics(DialSet(angles, readings))
        size = offset**2 / RADIUS
        assert found.all_oval
        assert ovality(found) == pytest.approx(oval, abs=4.0 * size)
        assert found.once == pytest.approx(offset, abs=size)
        if oval > 0.1:
            assert apart(2.0 * found.long_axis, 2.0 * long_axis) < 10.0

    @given(st.floats(0.02, 0.5), st.sampled_from([0.0, 90.0]))
    def test_four_positions_see_the_oval_along_their_diameters(self, oval, long_axis):
        readings = circle_seen(FOUR, 0.1, 90.0, oval=oval, long_axis=long_axis)
        found = harmonics(DialSet(FOUR, readings))
        assert not found.all_oval
        assert ovality(found) == pytest.approx(oval, rel=1e-2)
        assert found.long_axis == pytest.approx(long_axis)

    def test_four_positions_miss_the_oval_between_them(self):
        readings = circle_seen(FOUR, 0.1, 90.0, oval=0.4, long_axis=45.0)
        assert ovality(harmonics(DialSet(FOUR, readings))) == pytest.approx(0.0, abs=1e-3)
        eight = evenly_spaced(8)
        readings = circle_seen(eight, 0.1, 90.0, oval=0.4, long_axis=45.0)
        assert ovality(harmonics(DialSet(eight, readings))) == pytest.approx(0.4, abs=1e-3)

    def test_four_crooked_positions_tell_the_offset_and_no_oval(self):
        angles = (0.0, 80.0, 170.0, 280.0)
        found = harmonics(DialSet(angles, circle_seen(angles, 0.2, 30.0)))
        assert ovality(found) is None
        assert found.once == pytest.approx(0.2, abs=1e-3)
        assert found.direction == pytest.approx(30.0, abs=0.2)

    def test_a_misread_position_shows_as_rest(self):
        angles = evenly_spaced(8)
        readings = list(circle_seen(angles, 0.2, 30.0))
        readings[3] += 0.1
        assert harmonics(DialSet(angles, tuple(readings))).rest > 0.01

    @given(st.floats(1e-4, 1e-2), turns, st.floats(50.0, 300.0))
    def test_a_tilted_face(self, slope, high_side, radius):
        assume(slope * radius < 4.0)
        angles = evenly_spaced(6)
        readings = tuple(slope * radius * cos(radians(a - high_side)) for a in angles)
        found = harmonics(DialSet(angles, readings, "face"))
        assert tilt(found, radius) == pytest.approx(slope)
        assert apart(found.direction, high_side) < 1e-6


class TestLaws:
    @given(st.lists(st.floats(-1.0, 1.0), min_size=4, max_size=12), st.floats(-1.0, 1.0))
    def test_tir_ignores_the_zero_of_the_dial(self, readings, zero):
        angles = evenly_spaced(len(readings))
        moved = tuple(r + zero for r in readings)
        one, other = DialSet(angles, tuple(readings)), DialSet(angles, moved)
        assert tir(other) == pytest.approx(tir(one), abs=1e-12)
        assert harmonics(other).once == pytest.approx(harmonics(one).once, abs=1e-12)

    @given(offsets, st.integers(2, 8), st.integers(0, 15))
    def test_offset_is_half_of_tir_where_the_dial_meets_it(self, offset, half, place):
        # R-TIR-5; an even number of positions, one of them in the direction of the offset
        angles = evenly_spaced(2 * half)
        direction = angles[place % (2 * half)]
        readings = tuple(-offset * cos(radians(a - direction)) for a in angles)
        dial = DialSet(angles, readings)
        assert tir(dial) / 2.0 == pytest.approx(offset)
        assert harmonics(dial).once == pytest.approx(offset)

    @given(offsets, turns, st.integers(4, 16))
    def test_few_positions_read_a_little_less(self, offset, direction, count):
        angles = evenly_spaced(count)
        dial = DialSet(angles, tuple(-offset * cos(radians(a - direction)) for a in angles))
        least = 2.0 * offset * cos(radians(180.0 / count)) * cos(radians(90.0 / count))
        assert least - 1e-9 <= tir(dial) <= 2.0 * offset + 1e-9

    @given(st.integers(4, 16))
    def test_the_doubt_of_an_offset(self, count):
        angles = evenly_spaced(count)
        assert harmonics(DialSet(angles, (0.0,) * count)).doubt == pytest.approx(sqrt(2.0 / count))

    def test_nothing_has_no_direction(self):
        found = harmonics(DialSet(FOUR, (0.0,) * 4))
        assert (found.once, found.direction, found.long_axis) == (0.0, None, None)


class TestDowels:
    SIZES = inches(0.007, 0.014, 0.021)

    @pytest.mark.parametrize(
        ("reading", "throw"),
        [
            (0.004, 0.0),
            (0.012, 0.007),
            (0.020, 0.007),
            (0.022, 0.014),
            (0.030, 0.014),
            (0.06, 0.021),
        ],
    )
    def test_the_nearest_throw_to_half_the_reading(self, reading, throw):  # R-TIR-5
        choice = offset_dowels(reading / 2.0 * INCH, 40.0, self.SIZES)
        assert choice.throw == pytest.approx(throw * INCH)
        assert choice.remaining == pytest.approx(abs(reading / 2.0 - throw) * INCH)

    @given(offsets, turns)
    def test_the_housing_goes_the_other_way(self, offset, direction):
        choice = offset_dowels(offset, direction, self.SIZES)
        assume(choice.throw > 0.0)
        x, y = (
            offset * f(radians(direction)) + choice.throw * f(radians(choice.direction))
            for f in (sin, cos)
        )
        assert hypot(x, y) == pytest.approx(choice.remaining, abs=1e-9)
        assert choice.remaining <= offset

    def test_straight_dowels_point_nowhere(self):
        assert offset_dowels(0.01, 40.0, self.SIZES) == (0.0, None, 0.01)
        assert offset_dowels(0.3, 40.0, ()) == (0.0, None, 0.3)

    def test_a_throw_is_above_nothing(self):
        with pytest.raises(ValueError, match="throw"):
            offset_dowels(0.3, 40.0, (-0.1,))


class TestRefused:
    def test_a_set_that_does_not_close(self):  # R-TIR-1
        with pytest.raises(RunoutError, match=r"does not close.*void"):
            clock_set(0.0, 0.003, -0.002, 0.003, closing=0.001 * INCH)

    def test_closing_is_judged_by_the_division_of_the_dial(self):
        readings = (0.0, 0.05, 0.1, 0.05)
        assert DialSet(FOUR, readings, closing=0.004).closes
        with pytest.raises(RunoutError):
            DialSet(FOUR, readings, closing=0.004, graduation=0.002)

    def test_a_dial_that_began_elsewhere_closes_there(self):
        readings = (0.2, 0.25, 0.3, 0.25)
        assert DialSet(FOUR, readings, closing=0.2).closes
        with pytest.raises(RunoutError, match="does not close"):
            DialSet(FOUR, readings, closing=0.0)

    def test_without_the_closing_reading_nothing_is_claimed(self):
        assert DialSet(FOUR, (0.0,) * 4).closes is None

    @pytest.mark.parametrize(
        ("angles", "why"),
        [
            ((0.0, 90.0, 180.0), "4 or more"),
            ((0.0, 30.0, 60.0, 90.0), "unread"),
            ((0.0, 90.0, 180.0, 270.0, 360.0), "twice"),
            ((0.0, 90.0, nan, 270.0), "no number"),
        ],
    )
    def test_positions(self, angles, why):
        with pytest.raises(RunoutError, match=why):
            DialSet(angles, (0.0,) * len(angles))

    def test_as_many_readings_as_positions(self):
        with pytest.raises(RunoutError, match="4 clock positions and 3 readings"):
            DialSet(FOUR, (0.0,) * 3)

    @pytest.mark.parametrize("reading", [25.0, -6.0, inf, nan])
    def test_what_no_dial_reads_here(self, reading):
        with pytest.raises(RunoutError, match="hardly be right"):
            DialSet(FOUR, (0.0, 0.0, reading, 0.0))

    @pytest.mark.parametrize("sag", [0.2, nan])
    def test_a_bracket_hangs_down(self, sag):
        with pytest.raises(RunoutError, match="hangs down"):
            DialSet(FOUR, (0.0,) * 4, sag_reading=sag)

    def test_a_crank_can_only_be_lifted(self):
        with pytest.raises(ValueError, match="crank_lift"):
            DialSet(FOUR, (0.0,) * 4, crank_lift=-0.1)

    def test_the_other_convention_needs_its_four_positions(self):
        with pytest.raises(RunoutError, match="12, 3, 6 and 9"):
            tir(DialSet(evenly_spaced(6), (0.0,) * 6), convention="totals")
