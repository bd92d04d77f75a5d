"""The release system of a case: the arrangement, the sheet's figures, and what scatters."""

from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.case import Case
from diagnose.case_file import read_case_file, write_case_file
from diagnose.kit_sheet import SheetError, read_sheet, sheet_for, sheet_unit
from diagnose.physics.figures import FIGURE_NAMES
from diagnose.physics.likelihood import log_likelihoods, value_read
from diagnose.physics.observables import read
from diagnose.physics.predict import Shift, predict, predict_many
from diagnose.physics.presets import PRESETS
from diagnose.physics.release_chain import chain_of
from diagnose.system import (
    DETERMINES,
    arrangement,
    disc_lift_for,
    expected,
    figure_of,
    flat_load_for,
    kit_figure,
    reserve_for,
    system_of,
    taken,
    untold,
    with_sheet,
)
from knowledge.quantity import in_unit

INCH = 25.4
TWIN = PRESETS["twin_external"]

each = pytest.mark.parametrize("setup", sorted(PRESETS))


def written(value, figure):
    """A figure with all its digits, in the unit of the sheet."""
    unit = sheet_unit(figure)
    return f"{in_unit(value, unit)!r} {unit}".strip()


def lines(system):
    return [row.figure for group in sheet_for(system) for row in group.rows]


def deviation(system, observable):
    return float(predict(system, (observable,)).covariance[0, 0, 0]) ** 0.5


class TestArrangement:
    def test_a_set_up_gives_its_preset(self):
        for setup, system in PRESETS.items():
            assert arrangement(setup, {}) == system

    def test_facts_alone_are_enough(self, knowledge):
        for setup in knowledge.setups.values():
            # The last: a pull cover may be worked by a cylinder too, but its preset has rods.
            facts = {name: values[-1:] for name, values in setup.facts.items()}
            found = arrangement(None, facts)
            assert (found.linkage,) == tuple(facts["release"])
            assert (found.cover,) == tuple(facts["cover"])

    def test_facts_win_over_the_set_up(self):
        told = {"discs": ("three",), "fork": ("middle_pivot",)}
        found = arrangement("twin_external", told)
        assert (found.discs, found.fork) == (3, "middle_pivot")
        assert arrangement("twin_external", {"fork": ("none",)}).fork == "outboard_pivot"

    def test_what_is_still_open_is_told(self):
        assert untold({}) == ("release", "cover", "discs")
        facts = {"release": ("cable", "rod"), "cover": ("push",), "discs": ("one",)}
        assert untold(facts) == ("release",)
        assert arrangement(None, facts) is None
        assert system_of(Case(facts=facts)) is None
        assert arrangement(None, facts | {"release": ("cable",)}).linkage == "cable"

    def test_no_preset_may_fit_at_all(self):
        facts = {"release": ("cable",), "cover": ("pull",), "discs": ("one",)}
        assert untold(facts) == ()
        assert arrangement(None, facts) is None
        assert arrangement("light_cable", facts) is None


class TestSheet:
    @each
    def test_a_preset_takes_its_own_figures_back(self, setup):
        system = PRESETS[setup]
        kit = {f: written(figure_of(system, f).nominal, f) for f in lines(system)}
        typed = with_sheet(system, kit)
        assert typed.nominal == pytest.approx(system.nominal, rel=1e-9)
        assert typed.uncertainty == pytest.approx(system.uncertainty, rel=1e-6, abs=1e-5)

    @given(
        st.sampled_from(sorted(n for n, s in PRESETS.items() if s.fork != "none")),
        st.floats(0.0, 40.0),
        st.floats(1.4, 2.6),
    )
    def test_the_free_travel_typed_is_the_one_read(self, setup, travel, ratio):
        kit = {"fork_free_travel": f"{travel!r} mm", "fork_ratio": f"{ratio!r}"}
        system = with_sheet(PRESETS[setup], kit)
        assert read(system, "fork_free_travel") == pytest.approx(travel, abs=1e-6)
        assert system.figures.reserve.nominal == pytest.approx(travel / ratio)

    @given(st.sampled_from(sorted(PRESETS)), st.floats(1500.0, 25_000.0), st.floats(3.0, 6.0))
    def test_the_clamp_load_typed_is_the_one_read(self, setup, load, ratio):
        kit = {"clamp_load": f"{load!r} N", "diaphragm_ratio": f"{ratio!r}"}
        system = with_sheet(PRESETS[setup], kit)
        assert read(system, "clamp_load") == pytest.approx(load, rel=1e-6)

    @given(st.sampled_from(sorted(PRESETS)), st.floats(0.5, 3.0))
    def test_the_lift_typed_is_the_one_needed(self, setup, lift):
        system = with_sheet(PRESETS[setup], {"lift_needed": f"{lift!r} mm"})
        assert chain_of(system).lift_needed[0] == pytest.approx(lift, abs=1e-9)
        # at that very lift the last face comes free
        needed = system.figures.disc_lift.nominal * system.discs
        assert needed < lift

    def test_each_rule_solves_for_its_figure(self):
        assert reserve_for(TWIN, 36.0) == pytest.approx(20.0)
        assert flat_load_for(TWIN, 2.0 * read(TWIN, "clamp_load")) == pytest.approx(2.0 * 9300.0)
        assert disc_lift_for(TWIN, 2.0) == pytest.approx((2.0 - 0.3 / 7.6) / 2.0)

    def test_other_figures_stand_as_typed(self):
        kit = {"master_bore": '3/4"', "engine_torque": "600 N m", "finger_height": "52 mm"}
        figures = with_sheet(TWIN, kit).figures
        assert figures.master_bore.nominal == pytest.approx(0.75 * INCH)
        assert figures.engine_torque.nominal == pytest.approx(600e3)
        assert figures.finger_height.nominal == 52.0

    @pytest.mark.parametrize(
        ("kit", "words"),
        [
            ({"colour": "blue"}, "no figure 'colour'"),
            ({"master_bore": "tiny"}, "not a number"),
            ({"facing_inner": "300 mm"}, "inner diameter"),
            ({"lift_needed": "0.1 mm", "diaphragm_ratio": "1"}, "disc_lift"),
            ({"clamp_load": "100 kN", "engine_torque": "80 kg"}, "torque"),
        ],
    )
    def test_what_can_not_be_is_refused(self, kit, words):
        with pytest.raises(SheetError, match=words):
            with_sheet(TWIN, kit)

    @pytest.mark.parametrize("setup", ["twin_external", "light_concentric", None])
    @pytest.mark.parametrize("kit", [{"colour": "blue"}, {"master_bore": "tiny"}])
    def test_no_case_can_be_judged_with_a_figure_nobody_can_read(self, setup, kit):
        with pytest.raises(SheetError):
            system_of(Case(setup=setup, kit=kit))

    def test_a_figure_that_goes_with_the_set_up_no_more_is_left_out(self):
        kit = {"facing_inner": "230 mm", "master_bore": "19 mm"}
        case = Case(setup="twin_external", kit=kit)
        assert system_of(case).figures.facing_inner.nominal == 230.0
        other = system_of(case.with_facts({}, setup="light_external"))
        assert other.figures.facing_inner.nominal == 150.0
        assert other.figures.master_bore.nominal == 19.0

    def test_the_inner_diameter_of_a_slave_lies_inside(self):
        with pytest.raises(SheetError, match="below its bore"):
            with_sheet(PRESETS["light_concentric"], {"slave_core": "60 mm"})

    def test_figures_of_another_arrangement_are_left_alone(self):
        kit = {"fork_ratio": "2.5", "fork_free_travel": "nonsense", "slave_bore": "52 mm"}
        ring = PRESETS["light_concentric"]
        assert with_sheet(ring, kit) == with_sheet(ring, {"slave_bore": "52 mm"})
        cable = PRESETS["light_cable"]
        assert with_sheet(cable, {"master_bore": "19 mm"}) == with_sheet(cable, {})

    def test_a_case_file_keeps_what_was_typed(self, knowledge, tmp_path):
        kit = {
            "fork_free_travel": "1 to 1 1/4 in",
            "master_bore": '7/8"',
            "finger_height": "45 ± 1 mm",
            "pedal_ratio": "5.5 : 1",
            "friction": "0.30",
        }
        case = Case(setup="twin_external", knowledge=knowledge.version).with_kit(kit)
        write_case_file(tmp_path / "case.yaml", case)
        again = read_case_file(tmp_path / "case.yaml", knowledge)
        assert again == case
        assert system_of(again) == with_sheet(TWIN, kit)


class TestScatter:
    @each
    def test_without_a_sheet_kits_differ(self, setup):
        any_kit = with_sheet(PRESETS[setup], {})
        assert any_kit.nominal == pytest.approx(PRESETS[setup].nominal)
        for observable, least in (("finger_height", 6.0), ("clamp_load", 400.0)):
            assert deviation(any_kit, observable) > least
        assert (any_kit.uncertainty >= PRESETS[setup].uncertainty).all()

    @each
    def test_what_the_sheet_tells_scatters_as_good_installs_do(self, setup):
        system = PRESETS[setup]
        for figure in lines(system):
            typed = with_sheet(system, {figure: written(figure_of(system, figure).nominal, figure)})
            own = figure_of(system, figure).uncertainty
            left = figure_of(typed, figure).uncertainty
            # A fork ratio that is not told still moves a free travel of some inches a little.
            slack = 0.3 if figure == "fork_free_travel" else 1e-6
            assert left == pytest.approx(own, rel=slack), figure

    def test_only_what_is_typed_loses_its_scatter(self):
        any_kit = with_sheet(TWIN, {})
        typed = with_sheet(TWIN, {"finger_height": "45 mm"})
        changed = [
            name
            for i, name in enumerate(FIGURE_NAMES)
            if typed.uncertainty[i] != any_kit.uncertainty[i]
        ]
        assert changed == ["finger_height"]

    def test_a_tolerance_that_is_written_holds_for_the_reading(self):
        kit = {"fork_ratio": "1.8", "diaphragm_ratio": "3.8"}
        wide = with_sheet(TWIN, kit | {"fork_free_travel": "1 to 1 1/2 in"})
        assert deviation(wide, "fork_free_travel") == pytest.approx(0.125 * INCH, rel=1e-6)
        height = with_sheet(TWIN, {"finger_height": "45 +- 3 mm"})
        assert deviation(height, "finger_height") == pytest.approx(1.5, rel=1e-6)
        load = with_sheet(TWIN, {"clamp_load": "9300 N +- 10 %"})
        assert deviation(load, "clamp_load") == pytest.approx(465.0, rel=1e-6)
        lift = with_sheet(TWIN, {"lift_needed": "1.3 +- 0.2 mm"})
        assert lift.figures.disc_lift.uncertainty == pytest.approx(0.05)
        ratio = with_sheet(TWIN, {"pedal_ratio": "5.4 to 5.6"})
        assert ratio.figures.pedal_ratio.uncertainty == pytest.approx(0.05)

    def test_good_parts_scatter_more_than_a_tolerance_of_nothing(self):
        exact = with_sheet(TWIN, {"finger_height": "45 +- 0 mm"})
        assert exact.figures.finger_height.uncertainty == 0.0
        offset, stack = TWIN.figures.finger_offset, TWIN.figures.stack_excess
        least = hypot(offset.uncertainty, 3.8 * stack.uncertainty)
        assert deviation(exact, "finger_height") == pytest.approx(least)

    def test_a_height_without_a_sheet_accuses_nobody(self):
        """52 mm on a generic preset: no stack fault; 7 mm above the sheet's: hardly anything else.

        The stack fault is 1 mm thin, give or take 0.5.
        """
        reading = value_read("finger_height", 52.0, 0.3, (-20.0, 150.0))
        faults = ((), (Shift("stack_excess", -1.0, 0.5),))

        def ratio(kit):
            system = with_sheet(TWIN, kit)
            found = predict_many(system, ("finger_height",), faults)
            healthy, thin = log_likelihoods(found, (reading,))
            return thin - healthy

        assert abs(ratio({})) < 0.5
        assert ratio({"finger_height": "45 mm"}) > 20.0
        assert ratio({"finger_height": "52 mm"}) < -1.0

    def test_a_stack_fault_still_shows_in_two_readings_together(self):
        """Free travel tells of the stack even where the height of this kit is not known."""
        system = with_sheet(TWIN, {})
        faults = ((), (Shift("stack_excess", -2.5, 0.8),))
        found = predict_many(system, ("finger_height", "fork_free_travel"), faults)
        readings = (
            value_read("finger_height", 55.0, 0.3, (-20.0, 150.0)),
            value_read("fork_free_travel", 13.0, 1.5, (0.0, 102.0)),
        )
        healthy, thin = log_likelihoods(found, readings)
        assert thin - healthy > 3.0


class TestTaken:
    def test_what_is_right_is_taken_beside_what_is_wrong(self):
        typed = {"master_bore": "22 mm", "fork_ratio": "much", "finger_height": "900 mm"}
        good, wrong = taken(TWIN, typed)
        assert good == {"master_bore": "22 mm"}
        assert set(wrong) == {"fork_ratio", "finger_height"}
        assert with_sheet(TWIN, good).figures.master_bore.nominal == 22.0

    @pytest.mark.parametrize(
        "kit",
        [
            {"facing_inner": "280 mm", "facing_outer": "400 mm"},
            {"facing_outer": "150 mm", "facing_inner": "100 mm"},
        ],
    )
    def test_figures_that_only_fit_together_are_taken_in_any_order(self, kit):
        assert taken(TWIN, kit) == (kit, {})
        backwards = dict(reversed(kit.items()))
        assert taken(TWIN, {**backwards, "fork_ratio": "x"})[0] == kit

    def test_of_two_that_clash_one_is_told(self):
        kit = {"facing_outer": "200 mm", "facing_inner": "220 mm", "master_bore": "20 mm"}
        good, wrong = taken(TWIN, kit)
        assert set(good) == {"facing_outer", "master_bore"}
        assert "inner diameter" in str(wrong["facing_inner"])

    @given(
        st.dictionaries(
            st.sampled_from(lines(TWIN)),
            st.sampled_from(["1", "5 mm", "2 in", "0", "x", "45 +- 1", "300 N", "7000"]),
        )
    )
    def test_nothing_is_lost_and_what_is_taken_holds(self, typed):
        good, wrong = taken(TWIN, typed)
        assert set(good) | set(wrong) == set(typed)
        assert not set(good) & set(wrong)
        system = with_sheet(TWIN, good)
        for figure, text in good.items():
            if figure not in DETERMINES and figure in FIGURE_NAMES:
                assert getattr(system.figures, figure).nominal == read_sheet(figure, text).nominal


class TestFigures:
    def test_a_fault_takes_its_size_from_the_sheet_or_what_is_usual(self):
        kit = {"pivot_spacer": "1/4 in +- 1/64", "fork_free_travel": "1 in"}
        system = with_sheet(TWIN, kit)
        assert kit_figure(system, kit, "pivot_spacer") == pytest.approx(6.35)
        assert kit_figure(system, kit, "fork_free_travel") == pytest.approx(INCH)
        assert kit_figure(system, kit, "disc_thickness") == 7.7
        assert kit_figure(system, {}, "fork_free_travel") == pytest.approx(INCH)
        assert kit_figure(system, kit, "cover_travel") == 14.0
        assert kit_figure(system, kit, "air") == 150.0  # of the system, not of the sheet

    def test_a_line_that_plays_no_part_has_no_figure(self):
        with pytest.raises(SheetError, match="no free travel at the fork end"):
            figure_of(PRESETS["light_concentric"], "fork_free_travel")
        with pytest.raises(SheetError, match="no figure 'colour'"):
            figure_of(TWIN, "colour")

    @each
    def test_what_the_figures_lead_to_is_what_the_model_reads(self, setup):
        system = with_sheet(PRESETS[setup], {})
        found = expected(system)
        assert [e.observable for e in found][1] == "engagement_height"
        forked = system.fork != "none"
        assert ("fork_free_travel" in {e.observable for e in found}) == forked
        for one in found:
            assert one.value == pytest.approx(read(system, one.observable))
            assert one.low < one.value < one.high
            reach = 1.6448536 * deviation(system, one.observable)  # 5 % beyond either end
            assert one.high - one.value == pytest.approx(reach, rel=1e-6)
