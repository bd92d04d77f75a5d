"""The cutaway stands where the release model says, and its parts keep out of each other's way."""

from math import ceil

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.drawings.cutaway.clutch import draw_cover, draw_discs
from diagnose.drawings.cutaway.layout import draw_system, subject_of
from diagnose.drawings.cutaway.measures import Kind, measures_of
from diagnose.drawings.cutaway.pedal import draw_pedal, pad_at
from diagnose.drawings.cutaway.places import places_of
from diagnose.drawings.cutaway.release import FORK, draw_bearing, draw_fork
from diagnose.drawings.cutaway.shapes import Area, Draft, extent
from diagnose.drawings.cutaway.stance import motion_of
from diagnose.physics.observables import (
    OBSERVABLES,
    fork_free_travel,
    master_stroke,
    pedal_curve,
    read,
)
from diagnose.physics.predict import Shift, predict
from diagnose.physics.presets import PRESETS
from tests.diagnose.physics.systems import systems

SETUPS = sorted(PRESETS)
FORKED = [name for name in SETUPS if PRESETS[name].fork != "none"]
SHARES = st.floats(0.0, 1.0)
# Faults of the kinds that comebacks have, each on the figure that the model has for it.
SHIFTS = {
    "air": st.floats(0.0, 6000.0),
    "pedal_play": st.floats(0.0, 40.0),
    "pivot_height": st.floats(-7.0, 7.0),
    "fork_offset": st.floats(-4.0, 4.0),
    "bearing_height": st.floats(-5.0, 5.0),
    "back_stop": st.floats(-6.0, 6.0),
    "finger_offset": st.floats(-3.0, 3.0),
    "finger_spread": st.floats(0.0, 2.0),
    "stack_excess": st.floats(-2.0, 1.5),
    "extra_lift": st.floats(0.0, 2.0),
    "tip_play": st.floats(0.0, 6.0),
    "fork_ratio": st.floats(-0.3, 0.5),
}
FORMS = ("discs", "flywheel", "cover", "plate")


@st.composite
def scenes(draw):
    """A set-up with some faults, and a position of its pedal: measures, motion, stance, places."""
    system = draw(systems())
    names = draw(st.sets(st.sampled_from(sorted(SHIFTS)), max_size=4))
    if system.fork == "none":
        names -= {"fork_ratio", "pivot_height", "fork_offset"}
    shifts = [Shift(name, draw(SHIFTS[name])) for name in sorted(names)]
    motion = motion_of(system, shifts)
    m = measures_of(system)
    stance = motion.at(draw(SHARES) * motion.travel)
    fault = draw(st.sampled_from(FORMS))
    return m, motion, stance, places_of(m, motion, stance, fault), fault


def healthy(name, share=1.0):
    motion = motion_of(PRESETS[name])
    m = measures_of(PRESETS[name])
    stance = motion.at(share * motion.travel)
    return m, motion, stance, places_of(m, motion, stance)


def faulty(name, *shifts, share=1.0, form="discs"):
    motion = motion_of(PRESETS[name], shifts)
    m = measures_of(PRESETS[name])
    stance = motion.at(share * motion.travel)
    return m, motion, stance, places_of(m, motion, stance, form)


# Displacements


@given(scenes())
def test_what_is_drawn_moves_as_far_as_the_model_says(scene):
    m, motion, stance, now, fault = scene
    rest = places_of(m, motion, motion.rest, fault)
    assert (rest.face - now.face) * m.side == pytest.approx(stance.bearing, abs=1e-9)
    lifted = stance.lift - motion.rest.lift
    assert now.plate[0] - rest.plate[0] == pytest.approx(lifted, abs=1e-9)
    bent = stance.fingers - motion.rest.fingers
    assert (rest.tips - now.tips) * m.side == pytest.approx(bent, abs=1e-9)
    if m.forked:
        assert (now.tip - rest.tip) * m.tip_way == pytest.approx(stance.tip, abs=1e-9)


@given(scenes(), SHARES)
def test_a_stance_is_the_models_own_observables(scene, share):
    """Pedal down they are those that readings are predicted by; on the way, those of its curve."""
    _, motion, _, _, _ = scene
    down, chain = motion.at(motion.travel), motion.chain
    told = {
        "bearing_travel": down.bearing,
        "finger_travel": down.fingers,
        "plate_lift": down.lift,
        "clearance_per_face": down.clearance,
        "fork_tip_travel": down.tip,
        "master_stroke": down.master,
    }
    for name, drawn in told.items():
        assert drawn == pytest.approx(float(OBSERVABLES[name].function(chain)[0]), abs=1e-9), name
    assert motion.at(0.0).gap == pytest.approx(float(chain.rest_gap[0]), abs=1e-9)
    assert 0.0 <= motion.at(share * motion.travel).master <= float(master_stroke(chain)[0]) + 1e-12


@pytest.mark.parametrize("name", SETUPS)
def test_the_way_of_the_pedal_is_that_of_the_models_pedal_curve(name):
    curve = pedal_curve(PRESETS[name], count=11)
    motion = motion_of(PRESETS[name])
    stances = [motion.at(pad) for pad in curve.pad.tolist()]
    for field in ("tip", "bearing", "lift", "clearance", "finger_load", "force"):
        drawn = [getattr(stance, field) for stance in stances]
        assert drawn == pytest.approx(getattr(curve, field).tolist(), abs=1e-6), field


@pytest.mark.parametrize("name", SETUPS)
def test_the_parts_themselves_move_not_only_their_places(name):
    """What is painted: the extents of the shapes of a part, at the scale of the draft."""

    def boxes(share):
        m, _, stance, p = healthy(name, share)
        found = {}
        for part, draw in (("plate", draw_cover), ("bearing", draw_bearing)):
            draft = Draft(2.0)
            draw(draft, m, p)
            found[part] = extent([s for s in draft.shapes if s.part == part])
        return m, stance, found

    m, up, before = boxes(0.0)
    _, down, after = boxes(1.0)
    lifted = 2.0 * (down.lift - up.lift)
    assert after["plate"].left - before["plate"].left == pytest.approx(lifted)
    moved = 2.0 * m.side * down.bearing
    assert before["bearing"].left - after["bearing"].left == pytest.approx(moved)


# Nothing overlaps


@given(scenes())
def test_bearing_and_fingers_touch_exactly_when_the_gap_is_used_up(scene):
    m, _, stance, p, _ = scene
    apart = (p.face - p.tips) * m.side
    assert apart >= -1e-9
    assert (apart < 1e-6) == (stance.gap <= 1e-6)


@given(scenes())
def test_the_fork_reaches_the_bearing_on_a_straight_line_from_its_pivot(scene):
    """The line through pivot and tip meets the bearing where the model has put it."""
    m, motion, _, p, _ = scene
    assume(m.forked)
    assert p.contact == pytest.approx(p.back, abs=1e-9)
    on_line = p.pivot + (p.tip - p.pivot) * (p.contact_y - p.pivot_y) / (m.tip_y - p.pivot_y)
    bent = motion.figure("fork_offset")
    assert p.contact == pytest.approx(on_line - bent, abs=1e-6)


@given(scenes())
def test_discs_and_floaters_lie_between_the_faces_with_the_clearance_on_each(scene):
    m, _, stance, p, _ = scene
    faces = [p.flywheel]
    for i, disc in enumerate(p.discs):
        faces += disc
        if i < len(p.floaters):
            faces += p.floaters[i]
    faces.append(p.plate[0])
    assert len(p.discs) == m.system.discs
    assert len(p.floaters) == m.system.discs - 1
    gaps = np.diff(faces)
    assert gaps.min() >= -1e-9
    between = gaps[::2]  # flywheel, disc; disc, floater; ... disc, plate
    assert between == pytest.approx(max(0.0, stance.clearance), abs=1e-9)


@pytest.mark.parametrize("name", SETUPS)
@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_fingers_clear_the_hub_and_parts_lie_within_the_housing(name, share):
    m, _, _, p = healthy(name, share)
    draft = Draft()
    draw_discs(draft, m, p)
    hubs = extent([s for s in draft.shapes if s.part == "disc"])
    foremost = min(p.tips, p.low_tips, p.face if m.side < 0.0 else p.tips)
    assert hubs.right < foremost - 2.0
    assert p.discs[0][0] >= p.flywheel
    assert m.r_tip > m.quill > m.shaft
    cover = Draft()
    draw_cover(cover, m, p)
    assert extent([*cover.still, *cover.shapes]).bottom < m.housing
    assert p.back < m.wall


# Parts as the facts say, sizes as the figures say


def parts(name, kind=None):
    subject = subject_of(PRESETS[name], kind)
    draft = Draft()
    draw_system(draft, subject, subject.healthy, subject.rest)
    return [s.part for s in (*draft.still, *draft.shapes)], draft


@pytest.mark.parametrize("name", SETUPS)
def test_every_set_up_has_the_parts_it_should(name):
    system = PRESETS[name]
    there = set(parts(name)[0])
    assert {"flywheel", "disc", "plate", "cover", "fingers", "bearing", "shaft", "pilot"} <= there
    assert ("floater" in there) == (system.discs > 1)
    assert ({"fork", "pivot"} <= there) == (system.fork != "none")
    assert ("slave" in there) == system.hydraulic
    assert ("cross shaft" in there) == (system.linkage == "rod")
    assert ("bracket" in there) == (system.linkage == "cable")
    assert ("spring" in there) == (system.figures.cone_ratio.nominal == 0.0)


def test_two_masses_and_the_pilot_are_drawn_as_the_facts_have_them():
    solid, _ = parts("light_concentric", Kind(pilot="none"))
    assert "primary mass" not in solid
    assert "pilot" not in solid
    dual, _ = parts("light_concentric_dual_mass", Kind(dual_mass=True))
    assert "primary mass" in dual


@pytest.mark.parametrize("name", SETUPS)
def test_the_arms_of_levers_are_as_the_ratios_say(name):
    system = PRESETS[name]
    m = measures_of(system)
    near, far = abs(m.r_plate - m.r_fulcrum), m.r_fulcrum - m.r_tip
    assert far / near == pytest.approx(system.figures.diaphragm_ratio.nominal)
    assert (m.r_plate < m.r_fulcrum) == (system.cover == "pull")
    if m.forked:
        ratio = system.figures.fork_ratio.nominal
        assert abs(m.tip_y - m.pivot_y) / abs(m.pivot_y) == pytest.approx(ratio)
        assert (m.tip_y * m.pivot_y > 0.0) == (system.fork == "middle_pivot")


@pytest.mark.parametrize("name", SETUPS)
def test_discs_and_cylinders_are_as_large_as_their_figures(name):
    system = PRESETS[name]
    _, draft = parts(name)
    disc = extent([s for s in draft.shapes if s.part == "disc"])
    assert disc.height == pytest.approx(system.figures.facing_outer.nominal)
    if system.hydraulic:
        piston = extent([s for s in draft.shapes if s.part == "piston"])
        assert piston.height == pytest.approx(system.figures.slave_bore.nominal)


# Faults


@pytest.mark.parametrize("name", [n for n in SETUPS if PRESETS[n].hydraulic])
def test_air_takes_travel_from_everything_behind_it(name):
    _, _, good, _ = healthy(name)
    _, _, bad, _ = faulty(name, Shift("air", 3000.0))
    assert bad.master == pytest.approx(good.master)
    assert bad.bearing < good.bearing - 1.0
    assert bad.lift < good.lift - 0.2
    told = predict(PRESETS[name], ("bearing_travel",), (Shift("air", 3000.0),))
    assert bad.bearing == pytest.approx(float(told.mean[0, 0]))


@pytest.mark.parametrize("name", ["twin_external", "light_external"])
def test_a_pivot_that_stands_short_stands_nearer_the_gearbox_and_gives_the_fork_reserve(name):
    """T: free travel changes by ratio less, or plus, one (trade notes 3)."""
    m, motion, _, p = faulty(name, Shift("pivot_height", -3.0), share=0.0)
    _, good, _, before = healthy(name, 0.0)
    assert p.pivot - before.pivot == pytest.approx(3.0)
    assert p.face == pytest.approx(before.face)  # it rides on the fingers
    ratio = motion.figure("fork_ratio")
    ways = ratio + 1.0 if m.system.fork == "middle_pivot" else ratio - 1.0
    free = [float(fork_free_travel(each.chain)[0]) for each in (good, motion)]
    assert free[1] - free[0] == pytest.approx(3.0 * ways)
    # The tip stands off its stop by as much more as the fork has gained.
    assert (p.tip - before.tip) * m.tip_way == pytest.approx(3.0 * ways)


@pytest.mark.parametrize("name", FORKED)
@pytest.mark.parametrize("form", ["discs", "off_pivot"])
def test_a_fork_of_another_ratio_keeps_its_actuator_and_turns_as_its_ratio_says(name, form):
    """Pivot and slave are bolted on: it bears beside the bearing's middle, or turns elsewhere."""
    m, motion, _, p = faulty(name, Shift("fork_ratio", 0.8), form=form)
    arm, reach = p.contact_y - p.pivot_y, m.tip_y - p.pivot_y
    assert abs(reach / arm) == pytest.approx(motion.figure("fork_ratio"))
    assert (p.pivot_y == m.pivot_y) == (form == "discs")
    assert (p.contact_y == 0.0) == (form == "off_pivot")
    subject = subject_of(PRESETS[name])
    slaves = []
    for each in (subject.healthy, motion):
        draft = Draft()
        draw_system(draft, subject, each, places_of(m, each, each.rest, form))
        slaves.append([s for s in draft.still if s.part in {"slave", "bracket", "housing"}])
    assert slaves[0] == slaves[1]


def test_a_spacer_left_in_is_drawn_as_thick_as_it_is():
    m, _, _, p = faulty("twin_external", Shift("pivot_height", 6.35), form="spacer")
    draft = Draft()
    draw_fork(draft, m, p)
    spacer = extent([s for s in draft.still if s.part == "pivot" and s.fill == "fault"])
    assert spacer.width == pytest.approx(6.35)
    assert spacer.right == m.wall


@pytest.mark.parametrize("name", FORKED)
@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_the_fork_keeps_clear_of_the_cover(name, share):
    """Across the heights that both have, on the fork's side that faces the cover."""
    m, _, _, p = healthy(name, share)
    draft = Draft()
    draw_cover(draft, m, p)
    cover = extent([s for s in draft.still if s.part == "cover" and isinstance(s, Area)])
    edge = m.outer + 12.0 * m.unit
    thick = -FORK * m.unit if m.side < 0.0 else 0.0
    for y in (-edge, edge):
        if min(p.pivot_y, m.tip_y, 0.0) <= y <= max(p.pivot_y, m.tip_y):
            slope = (p.tip - p.pivot) / (m.tip_y - p.pivot_y)
            assert p.pivot + slope * (y - p.pivot_y) + thick > cover.right


@pytest.mark.parametrize("name", SETUPS)
def test_a_pedal_pulls_its_cable_and_pushes_all_else(name):
    """Out of the sheath, which ends toward the engine; a cable can't be pushed."""
    m, motion, stance, _ = healthy(name)
    up, down = Draft(), Draft()
    ports = [draw_pedal(d, m, motion, s) for d, s in ((up, motion.rest), (down, stance))]
    part = "push rod" if m.system.hydraulic else "rod"
    ends = [extent([s for s in d.shapes if s.part == part]).right for d in (up, down)]
    assert pad_at(m, stance.pad)[0] < pad_at(m, 0.0)[0]
    assert (ends[1] > ends[0]) == (m.system.linkage == "cable")
    if m.system.linkage == "cable":
        assert ports[0] == ports[1]
        assert ends[0] > ports[0][0]


def test_fingers_that_stand_out_take_the_bearing_back_with_them():
    _, _, _, good = healthy("twin_external", 0.0)
    m, motion, stance, bad = faulty("twin_external", Shift("finger_offset", 2.0), share=0.0)
    assert bad.tips - good.tips == pytest.approx(2.0)
    assert bad.face == pytest.approx(bad.tips)
    assert (bad.tip - good.tip) * m.tip_way == pytest.approx(-2.0 * 1.8)
    assert stance.gap == pytest.approx(motion.rest_gap)


@pytest.mark.parametrize("name", SETUPS)
@pytest.mark.parametrize("form", FORMS)
def test_a_thick_stack_moves_plate_and_fingers_by_the_lever_of_the_cover(name, form):
    """Toward the flywheel under a push cover, with the plate under a pull cover (notes 3)."""
    _, _, _, good = healthy(name, 0.0)
    m, _, stance, bad = faulty(name, Shift("stack_excess", 0.8), share=0.0, form=form)
    ratio = PRESETS[name].figures.diaphragm_ratio.nominal
    # A bearing that is held against them bends them besides.
    free = bad.tips + m.side * stance.fingers
    assert free - good.tips == pytest.approx(-m.side * ratio * 0.8)
    back = 0.0 if form == "cover" else 0.8
    assert bad.plate[1] - good.plate[1] - stance.lift == pytest.approx(back)
    assert bad.cover == pytest.approx(-0.8 if form == "cover" else 0.0)


def test_a_step_in_the_flywheel_is_in_the_flywheel_and_a_thick_disc_in_the_disc():
    _, _, _, good = healthy("light_external", 0.0)
    _, _, _, step = faulty("light_external", Shift("stack_excess", 0.8), share=0.0, form="flywheel")
    _, _, _, disc = faulty("light_external", Shift("stack_excess", 0.8), share=0.0)
    thick = [p.discs[0][1] - p.discs[0][0] for p in (good, step, disc)]
    assert step.flywheel == pytest.approx(0.8)
    assert disc.flywheel == 0.0
    assert thick == pytest.approx([7.7, 7.7, 8.5])


def test_a_disc_that_was_left_out_is_not_drawn_and_the_others_keep_their_height():
    excess = Shift("stack_excess", -7.7)
    _, _, stance, p = faulty("twin_external", excess, share=0.0, form="missing")
    assert len(p.discs) == 1
    opened = stance.lift / 2.0
    assert p.discs[0][1] - p.discs[0][0] == pytest.approx(7.7 + min(opened, stance.needed / 2.0))


def test_more_lift_needed_closes_the_gap_and_leaves_the_travels_alone():
    _, _, good, _ = healthy("light_cable")
    _, _, bad, p = faulty("light_cable", Shift("extra_lift", 1.0))
    assert bad.lift == pytest.approx(good.lift)
    assert good.clearance - bad.clearance == pytest.approx(0.5)
    assert p.plate[0] - p.discs[-1][1] == pytest.approx(bad.clearance)


def test_a_pedal_that_stops_early_is_drawn_at_its_stop():
    motion = motion_of(PRESETS["light_cable"], (Shift("pedal_travel", -30.0),))
    assert motion.at(145.0).pad == 115.0


@pytest.mark.parametrize("name", SETUPS)
def test_the_clutch_bites_where_the_clearance_comes_to_nothing(name):
    motion = motion_of(PRESETS[name])
    assert motion.bites
    assert motion.at(motion.bite).clearance == pytest.approx(0.0, abs=1e-6)
    assert motion.bite / motion.travel == pytest.approx(read(PRESETS[name], "engagement_share"))
    pad, gap, _ = motion.curve(121)
    crossed = int(np.flatnonzero(gap > 0.0)[0])
    assert abs(crossed - ceil(motion.bite / pad[1])) <= 1
