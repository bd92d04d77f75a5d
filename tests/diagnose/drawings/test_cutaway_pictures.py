"""Pictures of the cutaway: notes, lens, hatching, faults of the base, and SVG."""

from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.case import Case
from diagnose.drawings.cutaway.faults import FORMS, effects_of_case, fault_of, faults_of, kind_of
from diagnose.drawings.cutaway.figures import length, rows
from diagnose.drawings.cutaway.hatch import hatching
from diagnose.drawings.cutaway.layout import View, layout_of, subject_of
from diagnose.drawings.cutaway.lens import segment
from diagnose.drawings.cutaway.paper import fault_style, svg
from diagnose.drawings.cutaway.parts import PART_OF, PARTS_OF_CAUSE
from diagnose.drawings.cutaway.scene import cutaway
from diagnose.drawings.cutaway.shapes import Area, Dot, extent
from diagnose.drawings.shapes import text_width
from diagnose.physics.presets import PRESETS
from diagnose.system import system_of
from knowledge.release import FIGURE_KINDS

SETUPS = sorted(PRESETS)
COLOURS = dict.fromkeys(("ink", "muted", "accent", "rule", "card", "soft", "fault"), "#123456")


def effects(base, setup):
    facts = {name: tuple(values) for name, values in base.setups[setup].facts.items()}
    case = Case(setup=setup, facts=facts)
    return effects_of_case(base, case.facts, system_of(case), case.kit), facts


def subject(base, setup, cause=""):
    found, facts = effects(base, setup)
    system = PRESETS[setup]
    return subject_of(
        system, kind_of(facts, system, {}), (cause and fault_of(found, cause)) or None
    )


def said(picture):
    return [words.text for words in picture.words]


# Notes


@pytest.mark.parametrize("setup", SETUPS)
@pytest.mark.parametrize("size", [(840.0, 600.0), (420.0, 600.0)])
def test_a_picture_says_its_figures_and_keeps_within_its_edges(knowledge, setup, size):
    made = subject(knowledge, setup)
    down = made.healthy.at(made.healthy.travel)
    picture = cutaway(made, View(*size), made.healthy.travel)
    texts = said(picture)
    assert f"plate lift {down.lift:.2f} mm" in texts
    assert f"bearing {down.bearing:.1f} mm" in texts
    assert f"clearance {down.clearance:.2f} mm" in texts
    assert (f"fork tip {down.tip:.1f} mm" in texts) == made.measures.forked
    box = extent([*picture.still, *picture.shapes])
    assert box.left >= -1.0
    assert box.top >= -1.0
    assert box.right <= size[0] + 1.0
    assert box.bottom <= size[1] + 1.0


def test_a_dimension_is_as_long_as_its_figure_says(knowledge):
    made = subject(knowledge, "twin_external")
    view = View(840.0, 600.0)
    layout = layout_of(made, view)
    down = made.healthy.at(made.healthy.travel)
    picture = cutaway(made, view, made.healthy.travel)
    # Witness lines are upright, and come in pairs.
    upright = [
        s.points[0][0]
        for s in picture.shapes
        if isinstance(s, Area) and s.part == "" and len(s.points) == 2
        and s.points[0][0] == s.points[1][0]
    ]  # fmt: skip
    apart = [abs(a - b) for a, b in pairwise(upright)]
    for travel in (down.lift, down.bearing, down.tip):
        assert any(gap == pytest.approx(layout.scale * travel, abs=1e-6) for gap in apart)


def test_the_lens_shows_the_clearance_at_the_factor_it_states(knowledge):
    made = subject(knowledge, "twin_external")
    view = View(840.0, 600.0)
    pad = made.healthy.travel
    picture = cutaway(made, view, pad)
    factor = int(next(text for text in said(picture) if "×" in text).split("×")[1])
    facing = extent([s for s in picture.shapes if s.part == "lens facing"])
    plate = extent([s for s in picture.shapes if s.part == "lens plate"])
    gap = plate.left - facing.right
    clearance = made.healthy.at(pad).clearance
    assert gap == pytest.approx(clearance * factor * layout_of(made, view).scale, abs=1e-6)


def test_a_clutch_that_still_grips_says_what_is_missing(knowledge):
    made = subject(knowledge, "light_cable")
    picture = cutaway(made, View(840.0, 600.0), 0.0)
    missing = -made.healthy.at(0.0).clearance
    assert f"not free, {missing:.2f} mm short" in said(picture)


def test_inches_are_told_to_as_much_as_they_are_worth():
    assert length(25.4, "in") == "1.00 in"
    assert length(-0.001, "mm", 2) == "0.00 mm"
    assert length(-0.3, "mm", 1) == "-0.3 mm"


def test_the_table_has_a_column_for_each_system(knowledge):
    made = subject(knowledge, "twin_external", "air_in_system")
    table = rows(made.measures, (made.healthy, made.faulty), made.healthy.travel, "mm")
    assert {len(row.values) for row in table} == {2}
    clearance = next(row for row in table if row.name == "Clearance per face")
    assert clearance.values[0] != clearance.values[1]


# Faults


def test_every_figure_that_a_drawing_can_show_is_one_of_the_models():
    assert PART_OF.keys() <= FIGURE_KINDS.keys()
    unseen = FIGURE_KINDS.keys() - PART_OF.keys()
    assert {"friction", "engine_torque"} <= unseen


def test_the_causes_that_are_told_by_name_are_in_the_base(knowledge):
    assert FORMS.keys() <= PARTS_OF_CAUSE.keys() <= knowledge.causes.keys()
    for cause, form in FORMS.items():
        if form in {"cover", "plate", "missing"}:
            assert "stack_excess" in knowledge.causes[cause].shifts
        elif form == "spacer":
            assert "pivot_height" in knowledge.causes[cause].shifts


def test_every_cause_that_moves_a_figure_is_told_by_the_part_to_see_to(knowledge):
    """Beyond the clutch and what works it, causes lie on nothing that is drawn."""
    moving = {c.id for c in knowledge.causes.values() if c.shifts.keys() & PART_OF.keys()}
    assert moving <= PARTS_OF_CAUSE.keys()


def test_every_part_that_a_cause_lies_on_is_drawn_in_some_set_up(knowledge):
    drawn = set()
    for setup in SETUPS:
        made = subject(knowledge, setup)
        picture = cutaway(made, View(840.0, 600.0), 0.0)
        drawn |= {s.part for s in (*picture.still, *picture.shapes)}
    assert {part for parts in PARTS_OF_CAUSE.values() for part in parts} <= drawn


def test_a_cause_that_moves_no_figure_is_marked_and_changes_nothing_else(knowledge):
    made = subject(knowledge, "light_external", "pilot_tight")
    assert made.fault.shifts == ()
    view = View(840.0, 600.0, show="faulty")
    assert next(w for w in cutaway(made, view, 0.0).words if w.text == "pilot bearing").bold
    assert not [s for s in cutaway(made, replace(view, show="overlay"), 60.0).shapes
                if isinstance(s, Area) and s.part and s.dashed and s.part != "axis"]  # fmt: skip


def test_a_part_that_was_left_out_is_only_an_outline(knowledge):
    made = subject(knowledge, "light_external", "pilot_missing")
    picture = cutaway(made, View(840.0, 600.0, show="faulty"), 0.0)
    pilot = [s for s in picture.still if s.part == "pilot"]
    assert len(pilot) == 4
    assert all(s.dashed and not s.fill for s in pilot)


def test_a_wet_facing_has_drops_on_both_faces_of_the_faulty_disc_only(knowledge):
    made = subject(knowledge, "light_external", "facing_oiled")

    def drops(show):
        shapes = cutaway(made, View(840.0, 600.0, show=show), 60.0).shapes
        return [s for s in shapes if s.part == "disc" and isinstance(s, Dot)]

    assert len(drops("faulty")) == 2 * 2 * 4
    assert len({round(dot.centre[0], 3) for dot in drops("faulty")}) == 2
    assert drops("healthy") == []


def test_what_works_as_designed_is_not_called_faulty(knowledge):
    made = subject(knowledge, "light_external", "pedal_firmer_by_design")
    assert said(cutaway(made, View(840.0, 600.0, show="faulty"), 0.0))[0].startswith("As designed")


@pytest.mark.parametrize("setup", SETUPS)
@pytest.mark.parametrize("size", [(840.0, 600.0), (420.0, 600.0), (560.0, 420.0)])
def test_the_names_of_faulty_parts_keep_within_the_edges(knowledge, setup, size):
    """One cause for each set of parts; by the table of widths, which is rounded up."""
    found, facts = effects(knowledge, setup)
    kind = kind_of(facts, PRESETS[setup], {})
    for fault in {fault.parts: fault for fault in faults_of(found)}.values():
        picture = cutaway(subject_of(PRESETS[setup], kind, fault), View(*size, show="faulty"), 0.0)
        for words in picture.words:
            if words.ink == "fault":
                wide = text_width(words.text, words.size, bold=words.bold)
                left = words.x - (wide if words.anchor == "end" else 0.0)
                assert left > 0.0, (fault.id, words.text)
                assert left + wide < size[0], (fault.id, words.text)


@pytest.mark.parametrize(
    ("setup", "cause", "part"),
    [
        ("twin_external", "air_in_system", "line"),
        ("light_external", "pivot_spacer_left_in", "pivot"),
        ("light_concentric", "disc_too_thick", "disc"),
        ("light_concentric", "flywheel_face_too_high", "flywheel"),
        ("light_cable", "cover_not_seated", "cover"),
        ("twin_external", "bearing_too_tall", "bearing"),
        ("light_external", "slave_leaks", "slave"),
        ("light_external", "quill_grooved", "quill"),
        ("light_external", "fingers_struck", "fingers"),
        ("light_concentric_dual_mass", "dual_mass_worn", "primary mass"),
        ("light_cable", "bore_off_centre", "housing"),
    ],
)
def test_a_cause_is_marked_on_the_part_that_carries_it(knowledge, setup, cause, part):
    fault = fault_of(effects(knowledge, setup)[0], cause)
    assert part in fault.parts


def test_a_marked_part_is_drawn_heavier_and_named_with_a_sign(knowledge):
    good = subject(knowledge, "light_external")
    bad = subject(knowledge, "light_external", "pivot_spacer_left_in")
    view = View(840.0, 600.0, show="faulty")

    def pivot(made):
        picture = cutaway(made, view, 0.0)
        shapes = [s for s in (*picture.still, *picture.shapes) if s.part == "pivot"]
        return shapes, picture

    plain, _ = pivot(good)
    marked, picture = pivot(bad)
    assert len(marked) == len(plain) + 1  # the spacer
    assert min(s.weight for s in marked) > 1.5 * max(s.weight for s in plain)
    assert {s.ink for s in marked} == {"fault"}
    assert next(w for w in picture.words if w.text == "pivot").bold


def test_a_hose_swells_with_the_pressure_by_what_it_takes_up(knowledge):
    """By hand: its length times the pressure times its swelling, one breadth for each cm3."""
    made = subject(knowledge, "light_external", "hose_swells")
    view = View(840.0, 600.0, show="faulty")

    def breadths(pad):
        shapes = cutaway(made, view, pad).shapes
        return [extent([s]).height for s in shapes if s.part == "line" and s.closed]

    assert breadths(0.0) == []
    pad = made.healthy.travel
    motion = made.faulty
    taken = motion.figure("hose_length") * motion.at(pad).pressure * motion.figure("hose_swell")
    pipe = 5.0 * 0.1 * view.em
    assert breadths(pad) == pytest.approx([pipe * (1.0 + taken / 1000.0)])
    healthy = cutaway(made, replace(view, show="healthy"), pad).shapes
    assert [s for s in healthy if s.part == "line"] == []


def test_overlaid_the_healthy_parts_are_dashed_where_they_stand_elsewhere(knowledge):
    made = subject(knowledge, "twin_external", "air_in_system")
    pad = made.healthy.travel

    def dashed(show):
        picture = cutaway(made, View(840.0, 600.0, show=show), pad)
        return {s.part for s in picture.shapes if isinstance(s, Area) and s.dashed and s.part}

    assert {"fork", "bearing", "fingers"} <= dashed("overlay")
    assert not {"fork", "bearing", "fingers"} & dashed("faulty")


def test_air_is_drawn_as_bubbles_that_shrink_under_pressure(knowledge):
    made = subject(knowledge, "twin_external", "air_in_system")

    def bubbles(pad):
        picture = cutaway(made, View(840.0, 600.0, show="faulty"), pad)
        return [s.radius for s in picture.shapes if isinstance(s, Dot) and s.part == "air"]

    up, down = bubbles(0.0), bubbles(made.healthy.travel)
    assert len(up) == len(down) == round(made.faulty.figure("air") / 500.0)
    pressure = made.faulty.at(made.healthy.travel).pressure
    # Boyle: volume over volume is pressure over pressure.
    assert (down[0] / up[0]) ** 3 == pytest.approx(0.101325 / (0.101325 + pressure), rel=1e-3)


@pytest.mark.parametrize("setup", SETUPS)
def test_what_stands_still_is_the_same_at_every_travel(knowledge, setup):
    made = subject(knowledge, setup)
    view = View(840.0, 600.0)
    still = [cutaway(made, view, pad).still for pad in (0.0, 30.0, made.healthy.travel)]
    assert still[0] == still[1] == still[2]
    assert {"housing", "flywheel", "cover"} <= {s.part for s in still[0]}


def test_side_by_side_both_pictures_are_of_one_scale(knowledge):
    made = subject(knowledge, "light_concentric", "flywheel_face_too_high")
    scales = [
        layout_of(made, View(420.0, 600.0, show=show)).scale for show in ("healthy", "faulty")
    ]
    assert scales[0] == scales[1]


# Hatching and lens


@given(
    st.floats(4.0, 60.0), st.floats(4.0, 60.0), st.floats(1.0, 8.0), st.sampled_from([-1, 1])
)  # fmt: skip
def test_hatching_lies_in_its_shape_at_45_degrees(wide, high, step, lean):
    lines = hatching(((5.0, 7.0), (5.0 + wide, 7.0), (5.0 + wide, 7.0 + high), (5.0, 7.0 + high)),
                     step, lean)  # fmt: skip
    for x1, y1, x2, y2 in lines:
        assert y2 - y1 == pytest.approx(-lean * (x2 - x1), abs=1e-6)
        for x, y in ((x1, y1), (x2, y2)):
            assert 5.0 - 0.02 <= x <= 5.02 + wide
            assert 7.0 - 0.02 <= y <= 7.02 + high
    most = (wide + high) / (step * 2.0**0.5)
    assert abs(len(lines) - most) <= 2.0


def test_hatching_moves_with_its_shape():
    shape = ((0.0, 0.0), (20.0, 0.0), (20.0, 9.0), (0.0, 9.0))
    moved = tuple((x + 3.25, y) for x, y in shape)
    before, after = hatching(shape, 4.0, 1), hatching(moved, 4.0, 1)
    assert [a[0] - b[0] for a, b in zip(after, before, strict=True)] == pytest.approx(
        [3.25] * len(before)
    )


def test_the_two_halves_of_the_lens_part_at_the_line():
    left = segment((10.0, 10.0), 5.0, 9.0, -1)
    right = segment((10.0, 10.0), 5.0, 12.0, 1)
    assert max(x for x, _ in left) == pytest.approx(9.0)
    assert min(x for x, _ in right) == pytest.approx(12.0)
    assert segment((10.0, 10.0), 5.0, 16.0, 1) == ()


# SVG


@pytest.mark.parametrize("setup", SETUPS)
def test_the_svg_is_well_formed_and_says_what_it_shows(knowledge, setup):
    made = subject(knowledge, setup)
    picture = cutaway(made, View(840.0, 600.0), 60.0)
    text = svg(picture, "cut", about="figures & more", style=fault_style(COLOURS, "sans-serif"))
    root = ElementTree.fromstring(text)
    space = "{http://www.w3.org/2000/svg}"
    assert root.find(f"{space}desc").text == "figures & more"
    assert root.find(f"{space}title").text == picture.title
    drawn = [e.text for e in root.iter(f"{space}text")]
    assert drawn == said(picture)
    hatched = sum(isinstance(s, Area) and s.hatch != 0 for s in (*picture.still, *picture.shapes))
    areas = sum(isinstance(s, Area) for s in (*picture.still, *picture.shapes))
    assert len(list(root.iter(f"{space}path"))) == areas + hatched


def test_every_class_of_the_svg_has_its_colour(knowledge):
    made = subject(knowledge, "twin_external", "air_in_system")
    picture = cutaway(made, View(840.0, 600.0, show="overlay"), 60.0)
    style = fault_style(COLOURS)
    root = ElementTree.fromstring(svg(picture, "cut"))
    used = {name for e in root.iter() for name in e.get("class", "").split()}
    assert used
    assert all(f".{name}{{" in style for name in used)
