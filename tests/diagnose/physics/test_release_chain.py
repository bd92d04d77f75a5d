"""The release chain against the worked example W1 and against the laws it must keep.

W1 is the trade notes' own arithmetic (section 10): twin disc, external slave, outboard pivot,
constant finger load. The spacer formulas are derived here once more from the straight line.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.errors import UnknownIdError
from diagnose.physics.hydraulics import ATMOSPHERE
from diagnose.physics.observables import observables_of, pedal_curve, read, read_many
from diagnose.physics.presets import PRESETS
from diagnose.physics.release_chain import chain_of
from tests.diagnose.physics.systems import lossless, systems, with_constant_load, worked_example

ROWS = (
    "fork_tip_travel",
    "bearing_travel",
    "plate_lift",
    "clearance_per_face",
    "engagement_travel",
    "engagement_share",
)

layouts = st.sampled_from(["outboard_pivot", "middle_pivot"])
covers = st.sampled_from(["push", "pull"])


@pytest.mark.parametrize(
    ("change", "row"),
    [
        ({}, (19.732, 10.962, 2.885, 0.346, 81.95, 0.546)),
        ({"air": 2000.0}, (15.903, 8.835, 2.325, 0.206, 109.46, 0.730)),
        ({"air": 5000.0}, (10.160, 5.644, 1.485, -0.004, 150.7, 150.7 / 150)),
        ({"pedal_play": 30.0}, (16.705, 9.280, 2.442, 0.236, 103.70, 0.691)),
        ({"master_bore": 19.05}, (14.497, 8.054, 2.119, 0.155, 108.57, 0.724)),
        ({"running_gap": 2.0}, (19.732, 10.962, 2.359, 0.215, 107.82, 0.719)),
        ({"discs": 3}, (19.732, 10.962, 2.885, 0.106, 118.81, 0.792)),
    ],
)
def test_w1_row_by_row(change, row):  # W1
    found = read_many(worked_example(**change), ROWS)[:, 0]
    assert found == pytest.approx(row, abs=0.00051, rel=3.5e-4)


def test_w1_volume_lost_to_air():  # W1
    for air, lost in ((2000.0, 1940.0), (5000.0, 4851.0)):
        chain = chain_of(worked_example(air=air))
        pressure = chain.fork_load(chain.down) / chain.slave_area
        assert pressure == pytest.approx(3.289, abs=5e-4)
        assert chain.volume_lost(chain.down) == pytest.approx(lost, abs=0.5)


def test_w1_pedal_effort():  # W1
    assert read(worked_example(), "pedal_effort") == pytest.approx(232.0, abs=0.05)
    small = worked_example(master_bore=19.05)
    assert read(small, "pedal_effort") == pytest.approx(170.5, abs=0.05)


def test_w1_free_travel():  # W1
    free = read(worked_example(), "fork_free_travel")
    assert free == pytest.approx(28.08, abs=0.005)
    assert free / 25.4 == pytest.approx(1.106, abs=5e-4)


@pytest.mark.parametrize(
    ("change", "fork", "moved"),
    [
        ({"finger_offset": 1.0}, "outboard_pivot", -1.8),
        ({"finger_offset": 3.0}, "outboard_pivot", -5.4),
        ({"stack_excess": -0.5}, "outboard_pivot", -3.42),
        ({"pivot_height": 6.35}, "outboard_pivot", -5.08),
        ({"pivot_height": 6.35}, "middle_pivot", -17.78),
    ],
)
def test_w1_shifts_of_free_travel(change, fork, moved):  # W1
    free = [read(worked_example(fork=fork, **c), "fork_free_travel") for c in ({}, change)]
    assert free[1] - free[0] == pytest.approx(moved, abs=1e-9)


def test_w1_a_thin_stack_puts_the_fingers_out():  # W1
    assert read(worked_example(stack_excess=-0.5), "finger_height") == pytest.approx(1.9)


def straight_line(*, fork, cover, ratio, reserve, spacer=0.0, bearing=0.0, out=0.0):
    """Free travel of the tip, found on the drawing: a line through back stop, pivot and bearing.

    Axial positions grow toward the gearbox; the fingers stand at 0, the pivot at 40, the bearing is
    30 tall. Across the shaft the pivot is at 0, the bearing seat at 60 and the tip 60 times the
    ratio away, on the same side of the pivot or on the other one.
    """
    seat_at = 60.0 if fork == "outboard_pivot" else -60.0
    tip_at = 60.0 * ratio
    release = -1.0 if cover == "push" else 1.0
    seat = 30.0 - release * reserve if cover == "push" else 30.0 - reserve
    tip = 40.0 + (seat - 40.0) / seat_at * tip_at  # the back stop, as designed
    pivot = 40.0 - spacer
    # The bearing stands with its base on the fork (push), or with its pads before it (pull).
    met = out + 30.0 + bearing
    tip_met = pivot + (met - pivot) / seat_at * tip_at
    away = release if fork == "outboard_pivot" else -release
    return (tip_met - tip) * away


@given(
    layouts,
    covers,
    st.floats(1.1, 3.0),
    st.floats(0.0, 20.0),
    st.floats(-8.0, 8.0),
    st.floats(-5.0, 5.0),
    st.floats(-5.0, 5.0),
)
def test_free_travel_is_that_of_the_straight_line(
    fork, cover, ratio, reserve, spacer, bearing, out
):
    system = worked_example(
        fork=fork,
        cover=cover,
        fork_ratio=ratio,
        reserve=reserve,
        pivot_height=spacer,
        bearing_height=bearing,
        finger_offset=out,
    )
    drawn = straight_line(
        fork=fork,
        cover=cover,
        ratio=ratio,
        reserve=reserve,
        spacer=spacer,
        bearing=bearing,
        out=out,
    )
    assert read(system, "fork_free_travel") == pytest.approx(drawn, abs=1e-9)


@given(covers, st.floats(1.1, 3.0), st.floats(0.1, 8.0))
def test_the_spacer_formulas_follow_from_the_straight_line(cover, ratio, t):
    sign = -1.0 if cover == "push" else 1.0  # a pull bearing is met from the other side
    for fork, factor in (("outboard_pivot", ratio - 1.0), ("middle_pivot", ratio + 1.0)):
        common = {"fork": fork, "cover": cover, "ratio": ratio, "reserve": 12.0}
        moved = straight_line(spacer=t, **common) - straight_line(**common)
        assert moved == pytest.approx(sign * t * factor)


@pytest.mark.parametrize("fork", ["outboard_pivot", "middle_pivot"])
@pytest.mark.parametrize("cover", ["push", "pull"])
def test_signs_of_free_travel(fork, cover):
    plain = worked_example(fork=fork, cover=cover)
    toward = -1.0 if cover == "push" else 1.0

    def moved(**change):
        other = plain.with_figures(**change)
        return read(other, "fork_free_travel") - read(plain, "fork_free_travel")

    assert moved(finger_offset=1.0) == pytest.approx(1.8 * toward)
    assert moved(bearing_height=1.0) == pytest.approx(1.8 * toward)
    assert moved(fork_offset=1.0) == pytest.approx(-1.8 if cover == "push" else 1.8)
    assert moved(stack_excess=1.0) == pytest.approx(1.8 * 3.8)  # sunk, or out under a pull cover
    assert moved(back_stop=1.0) == pytest.approx(-1.0)


@given(systems(), st.floats(0.05, 1.5))
def test_a_thicker_stack_moves_fingers_and_free_travel_together(system, thicker):
    assume(system.fork != "none")
    assume(abs(system.figures.stack_excess.nominal) + thicker < 15.0)
    other = system.with_figures(stack_excess=system.figures.stack_excess.nominal + thicker)
    height = read(other, "finger_height") - read(system, "finger_height")
    free = read(other, "fork_free_travel") - read(system, "fork_free_travel")
    assert height * (-1.0 if system.cover == "push" else 1.0) > 0.0
    assert free == pytest.approx(abs(height) * system.figures.fork_ratio.nominal)


@given(systems(), st.floats(-8.0, 8.0))
def test_a_pivot_spacer_leaves_the_fingers_alone(system, spacer):
    assume(system.fork != "none")
    other = system.with_figures(pivot_height=spacer)
    assert read(other, "finger_height") == read(system, "finger_height")


def test_a_spacer_takes_reserve_first_and_engagement_later():
    """Left in under a middle pivot: free travel goes at once, the bite moves once it is gone."""
    healthy = replace(PRESETS["twin_external"], fork="middle_pivot")
    names = ("fork_free_travel", "engagement_travel", "clamp_load", "plate_lift")
    some = healthy.with_figures(pivot_height=6.35)
    more = healthy.with_figures(pivot_height=13.0)
    free, bite, clamp, lift = read_many(healthy, names)[:, 0]
    assert read_many(some, names)[:, 0] == pytest.approx((free - 6.35 * 2.8, bite, clamp, lift))
    assert read(more, "fork_free_travel") < 0.0
    assert read(more, "engagement_travel") < bite - 5.0
    assert read(more, "clamp_load") < 0.95 * clamp
    assert read(more, "plate_lift") > lift
    assert read(more, "overtravel_margin") < read(healthy, "overtravel_margin")


@given(systems(), st.floats(0.0, 5000.0))
def test_more_air_never_raises_lift_and_never_raises_the_bite(system, air):
    more = min(1e5, system.figures.air.nominal + air)
    other = system.with_figures(air=more)
    assert read(other, "plate_lift") <= read(system, "plate_lift") + 1e-9
    assert read(other, "engagement_travel") >= read(system, "engagement_travel") - 1e-9


@given(systems())
def test_the_volume_the_master_sends_is_all_accounted_for(system):
    assume(system.hydraulic)
    chain = chain_of(system)
    f = chain.figures
    assume(chain.down > -1.0)
    assume(chain.tip_travel(chain.down) < chain.tip_limit - 1e-6)
    assume(chain.down > chain.rest)
    load = chain.fork_load(chain.down)
    rod = (f.pedal_travel - f.pedal_play) / f.pedal_ratio
    rod = rod - f.pedal_flex * load * chain.travel_ratio
    tip = chain.tip_travel(chain.down) + f.tip_play + f.tip_flex * load
    pressure = load / chain.slave_area
    lost = (
        f.air * (1.0 - ATMOSPHERE / (ATMOSPHERE + pressure))
        + f.fluid * pressure / f.fluid_modulus
        + f.hose_length * f.hose_swell * pressure
    )
    assert chain.master_area * rod == pytest.approx(chain.slave_area * tip + lost, rel=1e-7)


@given(systems())
def test_travel_to_the_bite_is_the_travel_that_gives_no_clearance(system):
    chain = chain_of(system)
    bite = chain.pad_travel(chain.lift_needed)
    assume(chain.lift_needed > chain.rest)
    assume(chain.tip_travel(chain.lift_needed) < chain.tip_limit)
    grid = np.linspace(chain.rest, chain.lift_needed, 400)
    assume(np.all(np.diff(chain.pad_travel(grid)[:, 0]) > 0.0))  # no snapping through
    assert chain.path_at(bite) == pytest.approx(chain.lift_needed, abs=1e-7)


@given(systems())
def test_the_curve_rises_and_ends_where_the_readings_are(system):
    curve = pedal_curve(system, count=61)
    for course in (curve.tip, curve.bearing, curve.lift, curve.clearance):
        assert np.all(np.diff(course) >= -1e-9)
    assert np.all(curve.finger_load >= 0.0)
    ends = (curve.tip[-1], curve.bearing[-1], curve.lift[-1], curve.clearance[-1])
    tip = "fork_tip_travel" if system.fork != "none" else "bearing_travel"
    names = (tip, "bearing_travel", "plate_lift", "clearance_per_face")
    assert read_many(system, names)[:, 0] == pytest.approx(ends, abs=1e-9)


@given(st.sampled_from(sorted(PRESETS)))
def test_without_losses_the_pad_does_the_work_of_the_fingers(name):
    system = lossless(PRESETS[name])
    curve = pedal_curve(system, count=4001)
    chain = chain_of(system)
    fingers = np.linspace(0.0, chain.finger_travel(chain.down)[0], 4001)
    load = chain.finger_load(fingers / chain.figures.diaphragm_ratio)
    at_pad = np.trapezoid(curve.force, curve.pad)
    assert at_pad == pytest.approx(np.trapezoid(load, fingers), rel=1e-3)


@given(st.sampled_from(sorted(PRESETS)))
def test_without_losses_travel_does_not_care_about_the_load(name):
    system = lossless(PRESETS[name])
    other = system.with_figures(load_factor=0.5)
    names = ("bearing_travel", "plate_lift", "clearance_per_face", "engagement_travel")
    assert read_many(other, names) == pytest.approx(read_many(system, names), abs=1e-9)


@given(st.sampled_from(sorted(PRESETS)), st.floats(0.5, 1.5))
def test_the_constant_load_agrees_with_a_spring_of_constant_load(name, factor):
    """A coil spring pressed so far that the lift hardly adds, without a cushion."""
    spring = PRESETS[name].with_figures(
        cone_ratio=0.0, cone_height=50.0, set_deflection=50.0, load_factor=factor, cushion=0.0
    )
    chain = chain_of(spring)
    load = float(chain.finger_load(chain.down)[0])
    constant = with_constant_load(spring, load)
    names = ("bearing_travel", "plate_lift", "clearance_per_face")
    assert read_many(constant, names) == pytest.approx(read_many(spring, names), rel=1e-6)


def test_an_always_loaded_bearing_takes_clamp_load():
    system = PRESETS["twin_external"]
    reserve = system.figures.reserve.nominal
    clamp = [
        read(system.with_figures(bearing_height=reserve + over), "clamp_load")
        for over in (-1.0, 0.0, 0.5, 1.0, 2.0, 3.0)
    ]
    assert clamp[0] == pytest.approx(clamp[1])
    assert np.all(np.diff(clamp[1:]) < 0.0)
    assert clamp[-1] == 0.0  # past the cushion nothing is left


def test_an_actuator_at_its_end_stops_the_fork():
    system = PRESETS["twin_external"]
    free = read(system, "fork_free_travel")
    stopped = system.with_figures(actuator_stroke=free + 10.0)
    assert read(stopped, "fork_tip_travel") == pytest.approx(10.0)
    assert read(stopped, "plate_lift") < read(system, "plate_lift")
    # Fingers sunk by a thick stack leave the slave nothing to push with.
    gone = system.with_figures(actuator_stroke=free + 2.0, stack_excess=0.5)
    assert read(gone, "plate_lift") == 0.0


def test_a_pedal_that_gets_nowhere_lifts_nothing_and_loads_little():
    system = worked_example(air=100_000.0)
    assert read(system, "plate_lift") == 0.0
    assert 0.0 < read(system, "pedal_effort") < 232.0 / 3
    assert read(system, "fork_tip_travel") == pytest.approx(0.0, abs=1e-9)


def test_a_load_that_falls_faster_than_the_line_gives_is_taken_at_its_first_balance():
    """Much soft hose and a strongly falling spring: one pad travel, several lifts in balance."""
    system = PRESETS["light_external"].with_figures(cone_ratio=2.8, hose_swell=18.0, air=0.0)
    chain = chain_of(system)
    grid = np.linspace(0.0, 4.0, 4001)
    pad = chain.pad_travel(grid)
    assert np.any(np.diff(pad) < 0.0)
    peak = pad[: np.argmax(np.diff(pad) < 0.0) + 1].max()
    at = chain.path_at(np.array([peak - 1.0]))
    assert at == pytest.approx(grid[np.argmax(pad >= peak - 1.0)], abs=2e-3)
    assert chain.pad_travel(at) == pytest.approx(peak - 1.0)


def test_only_what_is_there_can_be_read():
    assert "fork_free_travel" not in observables_of(PRESETS["light_concentric"])
    assert "fluid_displaced" not in observables_of(PRESETS["light_cable"])
    with pytest.raises(UnknownIdError, match="fork_free_travel"):
        read(PRESETS["light_concentric"], "fork_free_travel")
    with pytest.raises(UnknownIdError, match="colour"):
        read(PRESETS["light_external"], "colour")


def test_the_rod_meets_the_piston_before_the_pad_turns_firm():
    """What is left of the play is the piston's way to its port; a rod too long leaves none."""
    slack, tight = (PRESETS["light_external"].with_figures(pedal_play=p) for p in (8.0, 0.5))
    assert 0.0 < read(slack, "push_rod_play") < read(slack, "pedal_free_play")
    assert read(tight, "push_rod_play") < 0.0
    longer = slack.with_figures(pedal_play=11.0)
    assert read(longer, "push_rod_play") - read(slack, "push_rod_play") == pytest.approx(3.0)


@pytest.mark.parametrize("name", ["light_concentric", "twin_concentric"])
def test_the_stand_off_is_as_designed_until_a_height_is_not(name):
    system = PRESETS[name]
    assert read(system, "standoff_error") == 0.0
    assert read(system.with_figures(bearing_height=2.0), "standoff_error") == pytest.approx(-2.0)
    thin = system.with_figures(stack_excess=-0.5)
    out = read(thin, "finger_height") - read(system, "finger_height")
    assert read(thin, "standoff_error") == pytest.approx(-out)
    held = system.with_figures(back_stop=3.0)  # pushed right back, nothing holds it
    assert read(held, "standoff_error") == 0.0


def test_a_pulled_bearing_goes_toward_the_engine_as_the_facing_wears():
    truck = PRESETS["truck_pull"]
    worn = truck.with_figures(stack_excess=-0.5)
    further = read(worn, "brake_gap") - read(truck, "brake_gap")
    assert further == pytest.approx(0.5 * truck.figures.diaphragm_ratio.nominal)
    assert read(worn, "bearing_gap") == pytest.approx(read(truck, "bearing_gap") - further)


@given(systems())
def test_fingers_travel_what_the_bearing_has_left_after_its_gap(system):
    gap, moved = read(system, "bearing_gap"), read(system, "bearing_travel")
    assume(gap >= 0.0)
    left = max(0.0, moved - gap)
    assert read(system, "finger_travel") == pytest.approx(left, rel=1e-3, abs=0.02)


def test_only_a_pull_cover_has_a_clutch_brake_and_only_a_ring_a_stand_off():
    for name, system in PRESETS.items():
        known = observables_of(system)
        assert ("brake_gap" in known) == (name == "truck_pull")
        assert ("standoff_error" in known) == name.endswith(("concentric", "dual_mass"))
        assert ("push_rod_play" in known) == system.hydraulic
