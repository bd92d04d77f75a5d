"""Causes of the shipped base, read on the release model, against the signs a fitter names.

The signs are those of the trade (common practice: the chain from pedal to plate, section 3 of the
trade notes), not those of the model. A sign of 0 says that no tape or gauge in the shop shows it.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import pytest

from diagnose.physics.observables import observables_of
from diagnose.physics.predict import Predictions, Shift, influences, predict
from diagnose.physics.presets import PRESETS
from diagnose.system import kit_figure
from knowledge.load import load_base
from knowledge.model import Cause, Check, Needs, shift_value
from knowledge.release import FIGURE_KINDS
from knowledge.tree import Tree, share_that_fits

BASE = load_base()
TWIN, LIGHT, RING = "twin_external", "light_external", "light_concentric"
CABLE, RODS, PULL = "light_cable", "old_rods", "truck_pull"

PLAY, BITE, EFFORT = "pedal_free_play", "engagement_height", "pedal_effort"
FREE, TIP = "fork_free_travel", "fork_tip_travel"
FINGERS, SPREAD = "finger_height", "finger_spread"
CLAMP, SLIP = "clamp_load", "slip_margin"
TRAVEL, ROD_PLAY, STROKE = "pedal_travel", "push_rod_play", "master_stroke"
GAP, STANDOFF = "bearing_gap", "standoff_error"
BRAKE_GAP, PULLED = "brake_gap", "finger_travel"

# What a careful hand can tell apart: mm, N, and for the slip margin a ratio.
SEEN = {
    PLAY: 2.0,
    BITE: 4.0,
    FREE: 1.0,
    TIP: 1.0,
    FINGERS: 0.5,
    SPREAD: 0.1,
    EFFORT: 10.0,
    CLAMP: 200.0,
    SLIP: 0.1,
    TRAVEL: 5.0,
    ROD_PLAY: 1.5,
    STROKE: 1.5,
    GAP: 0.4,
    STANDOFF: 0.5,
    BRAKE_GAP: 0.8,
    PULLED: 0.8,
}


class Row(NamedTuple):
    """What a fitter says a cause does to some readings of a set-up, and why."""

    cause: str
    setup: str
    signs: Mapping[str, int]
    why: str


EXPERT = (
    # -- hydraulics: the stroke is lost before the fork, and nothing inside has moved
    Row("air_in_system", TWIN, {TIP: -1, BITE: -1, FREE: 0, FINGERS: 0, PLAY: 0}, "air gives way"),
    Row("air_in_system", LIGHT, {TIP: -1, BITE: -1, FREE: 0, FINGERS: 0}, "air gives way"),
    Row("air_in_system", RING, {BITE: -1, FINGERS: 0}, "air gives way"),
    Row("bleed_screw_low", TWIN, {TIP: -1, FREE: 0}, "it is air that can't get out"),
    Row("master_bypass", TWIN, {TIP: -1, BITE: -1, FINGERS: 0}, "fluid slips back"),
    Row("slave_leaks", LIGHT, {TIP: -1, FREE: 0}, "where fluid gets out, air comes in"),
    Row("line_near_exhaust", TWIN, {TIP: -1, FREE: 0}, "vapour gives way like air"),
    Row("bores_not_matched", TWIN, {TIP: -1, BITE: -1, EFFORT: -1, FREE: 0}, "a light pedal"),
    Row("master_new_wrong", LIGHT, {TIP: -1, BITE: -1, FINGERS: 0}, "too little is displaced"),
    Row("slave_new_wrong", LIGHT, {TIP: -1, BITE: -1, EFFORT: -1}, "the same fluid goes less far"),
    Row("hose_swells", LIGHT, {TIP: -1, BITE: -1, FREE: 0}, "the hose takes the fluid"),
    Row("slave_loose", TWIN, {TIP: -1, BITE: -1, FREE: 0}, "the slave pushes itself away"),
    Row("slave_pushrod_short", TWIN, {PLAY: 1, TIP: -1, BITE: -1, FREE: 0}, "slack in the rod"),
    Row("slave_pushrod_long", TWIN, {FREE: -1, FINGERS: 0, CLAMP: -1}, "the fork can't go back"),
    Row("port_covered", LIGHT, {PLAY: -1, FREE: -1, FINGERS: 0}, "no play, and pressure shut in"),
    Row("hose_collapsed", TWIN, {FREE: -1, EFFORT: 1, FINGERS: 0}, "fluid in, but not back"),
    Row("slave_knocked_back", RING, {PLAY: 1, BITE: -1, FINGERS: 0}, "a gap to be fetched first"),
    Row("slave_knocked_back", LIGHT, {PLAY: 1, BITE: -1, FREE: 0}, "reads right pushed back"),
    Row("csc_holds_disc", RING, {BITE: -1, FINGERS: 0}, "lift enough, but the hub is held"),
    Row("master_too_large", LIGHT, {TIP: 1, EFFORT: 1, FREE: 0, FINGERS: 0}, "too much is moved"),
    Row(
        "port_blocked", TWIN, {FREE: -1, PLAY: 0, FINGERS: 0}, "pressure shut in, the rod has play"
    ),
    Row("old_fluid_boils", LIGHT, {TIP: -1, BITE: -1, FREE: 0}, "vapour gives way like air"),
    Row("hose_new_wrong", LIGHT, {TIP: -1, BITE: -1, FREE: 0}, "where it weeps, air comes in"),
    Row(
        "slave_spacer_wrong", LIGHT, {PLAY: 1, TIP: -1, BITE: -1, FINGERS: 0}, "starts too far back"
    ),
    Row("csc_new_faulty", RING, {BITE: -1, FINGERS: 0}, "where it leaks, air comes in"),
    # -- pedal and linkage
    Row("pedal_stroke_blocked", LIGHT, {TIP: -1, BITE: -1, PLAY: 0, FREE: 0}, "the end is missing"),
    Row("free_play_large", TWIN, {PLAY: 1, TIP: -1, BITE: -1, FREE: 0}, "the beginning is missing"),
    Row("free_play_large", CABLE, {PLAY: 1, TIP: -1, BITE: -1}, "the beginning is missing"),
    Row("joints_worn", RODS, {PLAY: 1, TIP: -1, FINGERS: 0}, "pins move before the rod does"),
    Row("bracket_flexes", TWIN, {TIP: -1, BITE: -1, PLAY: 0}, "gives under load only"),
    Row("no_play_set", CABLE, {PLAY: -1, FREE: -1, BITE: 1, CLAMP: -1, FINGERS: 0}, "no gap"),
    Row("no_play_set", RODS, {PLAY: -1, FREE: -1, BITE: 1, SLIP: -1}, "no gap"),
    Row("cable_misrouted", CABLE, {TIP: -1, EFFORT: 1, PLAY: 0}, "the outer gives, the inner rubs"),
    Row("linkage_binds", RODS, {EFFORT: 1, PLAY: -1, FINGERS: 0}, "it drags and hangs"),
    Row("assist_spring_wrong", LIGHT, {EFFORT: 1, BITE: 0, TIP: 0}, "only the foot feels it"),
    Row("overtravel_no_stop", TWIN, {TIP: 1, FREE: 0, FINGERS: 0}, "nothing ends the stroke"),
    Row("pedal_stop_wrong", TWIN, {TIP: -1, BITE: -1, PLAY: 0, FREE: 0}, "stroke given away"),
    Row("cable_off", CABLE, {TIP: -1, EFFORT: -1, FREE: 0, FINGERS: 0}, "nothing is pulled"),
    # -- pad and push rod: they part the pedal from what is behind it
    Row("pedal_stroke_blocked", LIGHT, {TRAVEL: -1, STROKE: -1, ROD_PLAY: 0}, "stroke not made"),
    Row("pedal_stop_wrong", TWIN, {TRAVEL: -1, STROKE: -1, ROD_PLAY: 0}, "stroke not made"),
    Row("fork_fouls_window", LIGHT, {TRAVEL: -1, STROKE: -1, ROD_PLAY: 0}, "it goes hard early"),
    Row("overtravel_no_stop", RING, {TRAVEL: 1, STROKE: 1, ROD_PLAY: 0}, "nothing ends the stroke"),
    Row("free_play_large", LIGHT, {ROD_PLAY: 1, STROKE: -1, TRAVEL: 0}, "the rod starts late"),
    Row("joints_worn", TWIN, {ROD_PLAY: 1, STROKE: -1, TRAVEL: 0}, "pins move before the rod does"),
    Row("port_covered", LIGHT, {ROD_PLAY: -1, TRAVEL: 0}, "the rod holds the piston in"),
    Row("port_covered", RING, {ROD_PLAY: -1, TRAVEL: 0}, "the rod holds the piston in"),
    Row("port_blocked", LIGHT, {ROD_PLAY: 0, TRAVEL: 0, STROKE: 0}, "it is not the rod"),
    Row("air_in_system", LIGHT, {ROD_PLAY: 0, TRAVEL: 0, STROKE: 0}, "lost behind the rod"),
    Row("master_bypass", TWIN, {ROD_PLAY: 0, TRAVEL: 0, STROKE: 0}, "lost behind the rod"),
    Row("bores_not_matched", RING, {ROD_PLAY: 0, TRAVEL: 0, STROKE: 0}, "lost behind the rod"),
    # -- running gap: what comes nearer takes it, and worn joints leave it alone
    Row("no_play_set", CABLE, {GAP: -1, TRAVEL: 0, STROKE: 0}, "the adjuster took it"),
    Row("no_play_set", PULL, {GAP: -1, BRAKE_GAP: 0}, "the linkage does not move the ring"),
    Row("joints_worn", RODS, {GAP: 0, PLAY: 1}, "play in the joints is no gap"),
    Row("bearing_too_tall", CABLE, {GAP: -1, FINGERS: 0}, "it meets the fingers too soon"),
    Row("bearing_too_short", RODS, {GAP: 1, FINGERS: 0}, "it meets the fingers late"),
    Row("pivot_low", RODS, {GAP: 1, FINGERS: 0}, "the fork lies too far back"),
    Row("facing_worn", CABLE, {GAP: -1, FINGERS: 1}, "the fingers come out as it wears"),
    # -- heavy vehicle: the bearing hangs on the fingers, between yoke and clutch brake
    Row("facing_worn", PULL, {GAP: -1, BRAKE_GAP: 1}, "the bearing goes toward the engine"),
    Row("disc_too_thick", PULL, {GAP: 1, BRAKE_GAP: -1}, "the bearing comes toward the brake"),
    Row("pull_ring_unset", PULL, {GAP: -1, BRAKE_GAP: 1, TRAVEL: 0}, "left too near the engine"),
    Row("pull_bearing_not_snapped", PULL, {GAP: 1, PULLED: -1, BRAKE_GAP: 0}, "it has no hold"),
    Row("free_play_large", PULL, {PULLED: -1, GAP: 0, BRAKE_GAP: 0}, "the beginning is missing"),
    Row(
        "lever_wrong_on_shaft", PULL, {PULLED: -1, GAP: 0, BRAKE_GAP: 0}, "much outside, little in"
    ),
    # -- cylinder round the shaft, pushed back by hand: only heights count
    Row("csc_standoff_wrong", RING, {STANDOFF: -1, FINGERS: 0, STROKE: 0}, "mostly too near"),
    Row("disc_too_thin", RING, {STANDOFF: -1, FINGERS: 1}, "the fingers come to meet it"),
    Row("disc_too_thick", RING, {STANDOFF: 1, FINGERS: -1}, "the fingers sink away from it"),
    Row("port_blocked", RING, {STANDOFF: 0, FINGERS: 0}, "pushed back, it gives way"),
    Row("csc_leaks", RING, {STANDOFF: 0, FINGERS: 0}, "a leak moves no part"),
    # -- fork, pivot, bearing: the free travel tells, and the fingers stand where they should
    Row("pivot_spacer_left_in", TWIN, {FREE: -1, FINGERS: 0, TIP: 0, BITE: 0}, "only reserve goes"),
    Row("pivot_spacer_left_in", LIGHT, {FREE: -1, FINGERS: 0, TIP: 0}, "less in either layout"),
    Row("pivot_spacer_left_in", PULL, {FREE: 1, FINGERS: 0}, "away from fingers that are pulled"),
    Row("pivot_low", TWIN, {FREE: 1, FINGERS: 0, TIP: 0}, "the fork lies too far back"),
    Row("pivot_low", RODS, {PLAY: 1, BITE: -1, FINGERS: 0}, "stroke is wasted before the fingers"),
    Row("pivot_worn", LIGHT, {FREE: 1, FINGERS: 0}, "a worn ball lets the fork down"),
    Row("bearing_too_tall", TWIN, {FREE: -1, FINGERS: 0, TIP: 0}, "meets the fingers too soon"),
    Row("bearing_too_tall", CABLE, {PLAY: -1, BITE: 1, FINGERS: 0}, "the running gap is gone"),
    Row("bearing_too_short", LIGHT, {FREE: 1, BITE: -1, FINGERS: 0}, "meets the fingers late"),
    Row("fork_off_pivot", TWIN, {FREE: 1, TIP: 0, BITE: -1, EFFORT: -1}, "it pushes on nothing"),
    Row("pivot_broken", LIGHT, {FREE: 1, BITE: -1, EFFORT: -1}, "it pushes on nothing"),
    Row("bearing_off_fork", TWIN, {FREE: 1, BITE: -1, FINGERS: 0}, "the pads push beside it"),
    Row("fork_bent", TWIN, {BITE: -1, TIP: 0, FINGERS: 0}, "its end moves, its pads lag behind"),
    Row("fork_bent", PULL, {BITE: -1, FINGERS: 0}, "its end moves, its pads lag behind"),
    Row("fork_wrong", LIGHT, {BITE: -1, TIP: 0, FINGERS: 0}, "stroke is lost inside"),
    Row("fork_fouls_window", LIGHT, {TIP: -1, BITE: -1, FREE: 0}, "it stops at the housing"),
    Row("lever_wrong_on_shaft", RODS, {BITE: -1, TIP: 0}, "much outside, little inside"),
    Row("pull_bearing_not_snapped", PULL, {FREE: 1, BITE: -1, TIP: 0}, "the ring has no hold"),
    Row("quill_grooved", CABLE, {EFFORT: 1, FINGERS: 0}, "the bearing slides hard"),
    Row("quill_gummed", TWIN, {EFFORT: 1, FINGERS: 0, TIP: 0}, "the bearing slides hard"),
    Row("pivot_new_wrong", LIGHT, {FREE: 1, FINGERS: 0, TIP: 0}, "mostly too short"),
    Row("pivot_loose", LIGHT, {FREE: -1, FINGERS: 0}, "it works itself out toward the engine"),
    Row("bearing_pressed_wrong", TWIN, {FREE: 1, FINGERS: 0, TIP: 0}, "mostly pressed too far"),
    Row("crank_thrust_worn", TWIN, {BITE: -1, FREE: 0, FINGERS: 0, TIP: 0}, "it gives under load"),
    Row("crank_thrust_worn", CABLE, {BITE: -1, PLAY: 0, FINGERS: 0}, "it gives under load"),
    # -- stack: fingers and free travel together, in the ratio of the fork
    Row("disc_left_out", TWIN, {FINGERS: 1, FREE: -1, TIP: 0, SPREAD: 0}, "a whole plate too thin"),
    Row("disc_too_thin", TWIN, {FINGERS: 1, FREE: -1, TIP: 0, SPREAD: 0}, "fingers come out"),
    Row("disc_too_thin", LIGHT, {FINGERS: 1, FREE: -1, TIP: 0}, "fingers come out"),
    Row("disc_too_thin", PULL, {FINGERS: -1, FREE: -1}, "fingers that are pulled go the other way"),
    Row("disc_too_thick", TWIN, {FINGERS: -1, FREE: 1, BITE: -1}, "fingers sink, it lets go late"),
    Row("disc_too_thick", PULL, {FINGERS: 1, FREE: 1}, "fingers that are pulled go the other way"),
    Row("facing_worn", TWIN, {FINGERS: 1, FREE: -1, SPREAD: 0}, "fingers come out as it wears"),
    Row("facing_worn", CABLE, {FINGERS: 1, PLAY: -1, BITE: 1}, "the play goes, it bites high"),
    Row("flywheel_face_too_deep", TWIN, {FINGERS: 1, FREE: -1}, "as if the disc were thin"),
    Row("flywheel_face_too_high", LIGHT, {FINGERS: -1, FREE: 1}, "as if the disc were thick"),
    Row("plates_cut_too_far", TWIN, {FINGERS: 1, FREE: -1, TIP: 0, SPREAD: 0}, "a thin stack"),
    Row("plates_cut_too_far", RODS, {FINGERS: 1, PLAY: -1, BITE: 1}, "levers out, the play goes"),
    Row("cover_not_seated", TWIN, {FINGERS: 1, FREE: -1, SPREAD: 1}, "out and crooked"),
    Row("disc_reversed", LIGHT, {FINGERS: -1, FREE: 1, BITE: -1}, "it sits on its hub"),
    Row("discs_swapped", TWIN, {FINGERS: -1, FREE: 1, BITE: -1}, "hubs meet"),
    # -- a disc that stays on: everything reads right, and it does not let go
    Row("disc_bent", TWIN, {BITE: -1, FREE: 0, FINGERS: 0, TIP: 0}, "one edge stays on"),
    Row("floater_binding", TWIN, {BITE: -1, FREE: 0, FINGERS: 0, TIP: 0}, "it holds a disc"),
    Row("plate_tight_on_lugs", TWIN, {BITE: -1, FREE: 0, FINGERS: 0, TIP: 0}, "the plate hangs"),
    Row("facing_stuck", LIGHT, {BITE: -1, FREE: 0, FINGERS: 0, TIP: 0}, "rusted to the iron"),
    Row("facing_grows_hot", TWIN, {BITE: -1, FREE: 0, FINGERS: 0, TIP: 0}, "needs more lift, hot"),
    # -- cover and friction
    Row("fingers_struck", LIGHT, {SPREAD: 1, BITE: -1, FREE: 0, FINGERS: 0}, "some stand off"),
    Row("fingers_overtravelled", TWIN, {SPREAD: 1, FINGERS: -1, BITE: -1}, "bent inward"),
    Row("fingers_overtravelled", PULL, {SPREAD: 1, FINGERS: 1}, "bent the way they were pulled"),
    Row("cover_faulty_new", LIGHT, {SPREAD: 1, BITE: -1, FREE: 0, TIP: 0}, "lifts crooked"),
    Row("self_adjuster_tripped", LIGHT, {FINGERS: -1, BITE: -1}, "made up for wear there is not"),
    Row("cover_weak", TWIN, {EFFORT: -1, CLAMP: -1, SLIP: -1, FINGERS: 0}, "light and weak"),
    Row("facing_oiled", LIGHT, {SLIP: -1, CLAMP: 0, EFFORT: 0, BITE: 0}, "grip, not load"),
    Row("under_capacity", TWIN, {SLIP: -1, CLAMP: 0, EFFORT: 0}, "the engine asks for more"),
    Row("flywheel_runs_out", LIGHT, {SPREAD: 1, FINGERS: 0, FREE: 0}, "they wobble with it"),
)


def facts_of(setup: str) -> Needs:
    """Facts of a set-up, with what works the fork as its preset has it."""
    return {**BASE.setups[setup].facts, "release": (PRESETS[setup].linkage,)}


def chain_shifts(cause: Cause, setup: str) -> tuple[Shift, ...]:
    """Shifts of figures of the release system, as the base has them for a set-up."""
    system, facts = PRESETS[setup], facts_of(setup)
    found = []
    for figure, shifts in cause.shifts.items():
        for shift in shifts if figure in FIGURE_KINDS else ():
            if share_that_fits(BASE, facts, shift.when) > 0.0:
                unit = FIGURE_KINDS[figure].unit
                amount = (
                    shift.times * kit_figure(system, {}, str(shift.kit))
                    if shift.by is None
                    else shift_value(shift.by, unit)
                )
                found.append(Shift(figure, amount, shift_value(shift.spread, unit)))
    return tuple(found)


@lru_cache(maxsize=1000)
def predicted(setup: str, cause: str, names: tuple[str, ...]) -> Predictions:
    """Readings of a set-up with a cause; healthy if its name is empty."""
    shifts = chain_shifts(BASE.causes[cause], setup) if cause else ()
    return predict(PRESETS[setup], names, shifts)


def moved(setup: str, cause: str, names: Sequence[str]) -> np.ndarray:
    """How far a cause moves the mean of some readings."""
    names = tuple(names)
    return predicted(setup, cause, names).mean[0] - predicted(setup, "", names).mean[0]


def id_of(row: Row) -> str:
    return f"{row.cause}-{row.setup}"


@pytest.mark.parametrize("row", EXPERT, ids=id_of)
def test_a_cause_moves_readings_the_way_a_fitter_says(row):
    assert share_that_fits(BASE, facts_of(row.setup), BASE.causes[row.cause].when) > 0.0
    shifted = moved(row.setup, row.cause, row.signs)
    found = {
        name: int(np.sign(m)) if abs(m) > SEEN[name] else 0
        for name, m in zip(row.signs, shifted.tolist(), strict=True)
    }
    assert found == dict(row.signs), f"{row.why}: {shifted}"


@pytest.mark.parametrize("row", EXPERT, ids=id_of)
def test_a_cause_does_not_send_a_reading_out_of_this_world(row):
    """What it moves stays where somebody could read it at all."""
    for name in set(row.signs) - {BITE}:  # what never lets go bites below the floor
        for measurement in BASE.measurements.values():
            if measurement.model == name:
                low, high = (measurement.value(text) for text in measurement.plausible)
                if measurement.open_below:
                    low = -high  # a fork that does not move may be held by any amount
                (mean,) = predicted(row.setup, row.cause, (name,)).mean[0]
                assert low <= mean <= high, name


def test_the_table_is_long_enough_and_says_what_stays_as_well():
    signs = [sign for row in EXPERT for sign in row.signs.values()]
    assert len(EXPERT) >= 45
    assert min(signs.count(sign) for sign in (-1, 0, 1)) >= 20
    assert {row.setup for row in EXPERT} == {TWIN, LIGHT, RING, CABLE, RODS, PULL}


@pytest.mark.parametrize("setup", [TWIN, LIGHT])
@pytest.mark.parametrize("cause", ["disc_too_thin", "disc_too_thick", "facing_worn"])
def test_a_stack_moves_fingers_and_free_travel_in_the_ratio_of_the_fork(setup, cause):
    fingers, free = moved(setup, cause, (FINGERS, FREE))
    assert free == pytest.approx(-PRESETS[setup].figures.fork_ratio.nominal * fingers)


@pytest.mark.parametrize(("setup", "lever"), [(TWIN, 0.8), (LIGHT, 2.7)])
def test_a_spacer_takes_its_thickness_times_the_lever(setup, lever):
    """Ratio less 1 with the pivot at the far end, ratio plus 1 with the pivot in the middle."""
    (free,) = moved(setup, "pivot_spacer_left_in", (FREE,))
    assert free == pytest.approx(-6.35 * lever, rel=1e-3)


@lru_cache(maxsize=1)
def felt_somewhere() -> frozenset[str]:
    """Figures that some reading of some preset depends on."""
    return frozenset(
        figure
        for system in PRESETS.values()
        for figure, readings in influences(system).items()
        if readings
    )


@pytest.mark.parametrize("cause", [c for c in BASE.causes.values() if c.shifts], ids=lambda c: c.id)
def test_no_shift_is_of_a_figure_that_nothing_depends_on(cause):
    assert (cause.shifts.keys() & FIGURE_KINDS.keys()) <= felt_somewhere()


@pytest.mark.parametrize("cause", [c for c in BASE.causes.values() if c.shifts], ids=lambda c: c.id)
def test_faults_differ_in_size_from_case_to_case(cause):
    """A spread is a good part of the size; a part that was left in or out is as thick as it is."""
    for figure, shifts in cause.shifts.items():
        for shift in shifts:
            unit = (
                FIGURE_KINDS[figure].unit
                if figure in FIGURE_KINDS
                else BASE.measurements[figure].unit
            )
            spread = shift_value(shift.spread, unit)
            if shift.by is not None and figure != "actuator_stroke":
                assert spread >= 0.3 * abs(shift_value(shift.by, unit)), figure
            assert spread > 0.0 or figure == "actuator_stroke", figure


# A band may tell of what its reading does not show.
STILL = {
    "foot_rests_on_pedal": "read with the foot off the pedal",
    "pilot_not_home": "a pilot keeps the shaft turning, but it does not bite",
}
GAUGES = [
    check for check in BASE.checks.values() if check.gauge and BASE.measurements[check.gauge].model
]


@lru_cache(maxsize=1)
def reach() -> Mapping[str, Mapping[str, float]]:
    """Cause -> finding -> chance that the cause alone shows it."""
    tree = Tree(BASE, {})
    return {name: tree.reach((name,)) for name in BASE.causes}


def moves(check: Check, cause: str) -> bool | None:
    """Whether a cause moves or widens what a check reads; None where both can't be."""
    name = BASE.measurements[str(check.gauge)].model
    possible = [
        setup
        for setup, system in PRESETS.items()
        if name in observables_of(system)
        and all(
            share_that_fits(BASE, facts_of(setup), needs) > 0.0
            for needs in (check.when, BASE.causes[cause].when)
        )
    ]
    laws = [(predicted(s, "", (name,)), predicted(s, cause, (name,))) for s in possible]
    return (
        any(
            abs(bad.mean[0, 0] - good.mean[0, 0]) > 0.3 * float(np.sqrt(good.covariance[0, 0, 0]))
            or bad.covariance[0, 0, 0] > 1.5 * good.covariance[0, 0, 0]
            for good, bad in laws
        )
        if laws
        else None
    )


def left_still(check: Check) -> frozenset[str]:
    """Causes that show a finding of a band and do not move the reading."""
    told = {f for a in check.answers for f, w in a.shows.items() if w in {"yes", "probably"}}
    return frozenset(
        cause
        for cause, nodes in reach().items()
        if max((nodes.get(f, 0.0) for f in told), default=0.0) >= 0.3
        and moves(check, cause) is False
    )


@pytest.mark.parametrize("check", GAUGES, ids=lambda check: check.id)
def test_what_shows_a_finding_of_a_band_moves_the_reading(check):
    """Else a number would speak against a cause that the look in words speaks for."""
    assert left_still(check) <= STILL.keys()


def test_no_exception_is_made_without_need():
    assert frozenset().union(*map(left_still, GAUGES)) == STILL.keys()
