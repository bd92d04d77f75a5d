"""The lines of a kit's sheet, and what a text typed for one says."""

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.kit_sheet import (
    SHEET_NAMES,
    SheetError,
    doubt,
    in_words,
    name_of,
    plays_part,
    read_sheet,
    sheet_for,
    sheet_meaning,
    sheet_unit,
)
from diagnose.physics.presets import PRESETS
from knowledge.release import FIGURE_KINDS, SHEET_FIGURES

INCH = 25.4
POUND = 4.4482216152605  # N


def figures(setup):
    return [row.figure for group in sheet_for(PRESETS[setup]) for row in group.rows]


class TestLines:
    def test_only_what_plays_a_part_is_asked(self):
        cable, ring = figures("light_cable"), figures("light_concentric")
        twin, rods = figures("twin_external"), figures("old_rods")
        assert not {"master_bore", "slave_bore", "slave_core"} & set(cable)
        assert not {"fork_ratio", "fork_free_travel", "pivot_spacer"} & set(ring)
        assert {"slave_bore", "slave_core", "reserve"} <= set(ring)
        assert {"fork_ratio", "fork_free_travel", "pivot_spacer", "slave_bore"} <= set(twin)
        assert not {"slave_core", "reserve", "linkage_ratio"} & set(twin)
        assert "floater_thickness" in twin
        assert "floater_thickness" not in cable
        assert "linkage_ratio" in rods
        assert "linkage_ratio" not in cable

    @pytest.mark.parametrize("setup", PRESETS)
    def test_each_line_stands_once_in_a_group_of_its_own(self, setup):
        asked = figures(setup)
        assert len(asked) == len(set(asked))
        assert all(plays_part(PRESETS[setup], figure) for figure in asked)
        titles = [group.title for group in sheet_for(PRESETS[setup])]
        assert len(titles) == len(set(titles)) == 5

    def test_every_line_plays_a_part_somewhere_and_says_what_it_is(self):
        assert {f for setup in PRESETS for f in figures(setup)} == SHEET_NAMES
        assert set(SHEET_FIGURES) <= SHEET_NAMES
        for figure in SHEET_NAMES:
            assert name_of(figure)
            assert sheet_meaning(figure)

    def test_the_same_words_are_never_asked_twice(self):
        for setup in PRESETS:
            names = [row.name for group in sheet_for(PRESETS[setup]) for row in group.rows]
            assert len(names) == len(set(names))


class TestReading:
    @pytest.mark.parametrize(
        ("figure", "text", "nominal", "uncertainty"),
        [
            ("finger_height", "45 mm", 45.0, None),
            ("finger_height", "45", 45.0, None),  # its own unit
            ("finger_height", "-5 mm", -5.0, None),
            ("finger_height", "45 +- 1 mm", 45.0, 0.5),
            ("finger_height", "45 +/- 1", 45.0, 0.5),
            ("finger_height", "45 mm ± 1 mm", 45.0, 0.5),
            ("finger_height", "45 mm ± 1", 45.0, 0.5),
            ("finger_height", "1 3/4 in ± 1/16", 1.75 * INCH, INCH / 32),
            ("finger_height", "45 mm +- 1/16 in", 45.0, INCH / 32),
            ("finger_height", "44 to 46 mm", 45.0, 0.5),
            ("finger_height", "between 44 and 46 mm", 45.0, 0.5),
            ("finger_height", "44–46", 45.0, 0.5),
            ("finger_height", "44 mm to 46", 45.0, 0.5),
            ("fork_free_travel", "1 to 1 1/4 in", 1.125 * INCH, 0.0625 * INCH),
            ("fork_free_travel", "1 1/8", 1.125 * INCH, None),  # told in inches
            ("fork_free_travel", "30 mm", 30.0, None),
            ("master_bore", "7/8 in", 0.875 * INCH, None),
            ("master_bore", '7/8"', 0.875 * INCH, None),
            ("pedal_ratio", "5.5", 5.5, None),
            ("pedal_ratio", "5.5 : 1", 5.5, None),
            ("pedal_ratio", "5.5 to 1", 5.5, None),
            ("pedal_ratio", "5.4 to 5.6", 5.5, 0.05),
            ("clamp_load", "2000 lbf", 2000 * POUND, None),
            ("clamp_load", "9000 N +- 5 %", 9000.0, 225.0),
            ("engine_torque", "800", 800e3, None),  # N m
            ("friction", "0.28", 0.28, None),
            ("pivot_spacer", "0", 0.0, None),
        ],
    )
    def test_is_read_as_people_write_it(self, figure, text, nominal, uncertainty):
        value = read_sheet(figure, text)
        assert value.nominal == pytest.approx(nominal)
        assert value.uncertainty == (None if uncertainty is None else pytest.approx(uncertainty))

    @pytest.mark.parametrize(
        ("figure", "text", "words"),
        [
            ("finger_height", "", "not a number"),
            ("finger_height", "tall", "not a number"),
            ("finger_height", "45 elbows", "not a unit"),
            ("finger_height", "45 N", "a length is wanted"),
            ("finger_height", "1,250", "two ways"),
            ("finger_height", "45 +- ", "tolerance is missing"),
            ("finger_height", "45 +- -1 mm", "below nothing"),
            ("finger_height", "45 +- 1 N", "a length is wanted"),
            ("finger_height", "46 to 44 mm", "no range"),
            ("finger_height", "45 to 45 mm", "no range"),
            ("finger_height", "1 3/4", "Did you mean 1 3/4 in?"),
            ("finger_height", "1 1/2 to 1 3/4", "Did you mean 1 1/2 in?"),
            ("finger_height", "1 3/4 +- 1/16", "Did you mean 1 3/4 in?"),
            ("fork_free_travel", "35 in", "Did you mean 35 mm?"),
            ("fork_free_travel", "1 to 20 in", "can't be right"),
            ("master_bore", "0.875", "Did you mean 0.875 in?"),
            ("master_bore", "22 +- 30 mm", "can't be right"),  # an end below any bore
            ("clamp_load", "9.3", "Did you mean 9.3 kN?"),
            ("pedal_ratio", "5.5 mm", "is a length"),
            ("pedal_ratio", "0.5", "between 1 and 20"),
            ("cover_travel", "0", "at least 1 mm"),
            ("pivot_spacer", "-1 mm", "between 0 and 40 mm"),
            ("friction", "3", "between 0.01 and 1"),
            ("colour", "blue", "no figure 'colour'"),
            ("fork_ration", "1.8", "Did you mean 'fork_ratio'?"),
            ("air", "5 cm3", "no figure 'air'"),  # of the model, on no sheet
        ],
    )
    def test_what_is_none_is_refused_with_a_sentence(self, figure, text, words):
        with pytest.raises(SheetError) as refused:
            read_sheet(figure, text)
        assert words in str(refused.value)
        assert refused.value.sentence.endswith(".")
        assert refused.value.next_step
        assert len(str(refused.value)) < 220

    @given(st.sampled_from(sorted(SHEET_NAMES)), st.text(max_size=40))
    def test_any_text_is_read_or_refused(self, figure, text):
        try:
            value = read_sheet(figure, text)
        except SheetError:
            return
        assert abs(value.nominal) < inf
        assert value.uncertainty is None or 0.0 <= value.uncertainty < inf

    @given(st.floats(20.0, 60.0), st.floats(0.0, 5.0))
    def test_a_tolerance_is_the_range_it_spans(self, middle, half):
        told = read_sheet("finger_height", f"{middle:.6f} +- {half:.6f} mm")
        assert told.uncertainty == pytest.approx(half / 2.0, abs=1e-6)
        if half > 1e-3:
            spanned = read_sheet("finger_height", f"{middle - half:.6f} to {middle + half:.6f} mm")
            assert spanned.nominal == pytest.approx(told.nominal, abs=1e-5)
            assert spanned.uncertainty == pytest.approx(told.uncertainty, abs=1e-5)

    @given(st.sampled_from(sorted(SHEET_NAMES)), st.floats(0.02, 0.98))
    def test_what_is_written_is_read_again(self, figure, share):
        known = SHEET_FIGURES.get(figure) or FIGURE_KINDS[figure]
        low, high = known.low, min(known.high, 500.0)
        unit = sheet_unit(figure)
        shown = float(in_words(low + share * (high - low), unit, digits=15))
        if figure == "engine_torque":
            shown = 20.0 + share * 2000.0  # N m on the sheet, N mm inside
        value = read_sheet(figure, f"{shown!r} {unit}".strip()).nominal
        assert float(in_words(value, unit, digits=15)) == pytest.approx(shown, rel=1e-12)


class TestDoubt:
    @pytest.mark.parametrize(
        ("figure", "text", "usual", "words"),
        [
            ("master_bore", "22 mm", 22.2, ""),
            ("master_bore", "3/4 in", 22.2, ""),
            ("slave_bore", "55", 25.4, "about 25.4 mm. Look once more."),
            ("clamp_load", "2000", 9300.0, "Did you mean 2000 lbf?"),
            ("engine_torque", "80", 800e3, "about 800 N m. Look once more."),
            ("pivot_spacer", "0", 6.35, ""),  # no spacer
            ("pivot_spacer", "20 mm", 6.35, "Look once more."),
            ("finger_height", "1.77", 45.0, "Did you mean 1.77 in?"),
            ("finger_height", "10 mm", 45.0, ""),  # another datum
            ("finger_height", "-8 mm", 45.0, ""),
            ("fork_free_travel", "0", 30.6, "about 1.2 in. Look once more."),
            ("cover_travel", "30 to 40 mm", 14.0, "Look once more."),
        ],
    )
    def test_asks_back_where_a_figure_lies_far_off(self, figure, text, usual, words):
        said = doubt(figure, text, usual)
        assert (words in said) if words else (said == "")


@pytest.mark.parametrize(
    ("value", "unit", "digits", "written"),
    [
        (22.225, "in", 4, "0.875"),
        (30.6, "in", 3, "1.2"),
        (14000.0, "N", 4, "14000"),
        (1_700_000.0, "N m", 4, "1700"),
        (1.8, "", 3, "1.8"),
        (-3.0, "mm", 3, "-3"),
        (0.0, "mm", 3, "0"),
    ],
)
def test_numbers_are_written_plainly(value, unit, digits, written):
    assert in_words(value, unit, digits=digits) == written
