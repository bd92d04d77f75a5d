"""The chart as data: its axis, and what is said of it."""

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ui.chart import Band, Mark, chart_of, mixed

ANYTHING = (-inf, inf)
finite = st.floats(-1e4, 1e4).map(lambda v: round(v, 4))


def band(low, high, **more):
    return Band("cause", "about 5 in 100", low, (low + high) / 2, high, f"{low} to {high}", **more)


class TestMixed:
    @pytest.mark.parametrize(
        ("number", "words"),
        [
            (0, "0"),
            (0.5, "1/2"),
            (1.375, "1 3/8"),
            (-0.25, "-1/4"),
            (2, "2"),
            (1 / 64, "1/64"),
            (1.3, ""),
            (0.008, ""),
        ],
    )
    def test_as_on_a_tape(self, number, words):
        assert mixed(number) == words

    @given(st.integers(0, 640))
    def test_what_stands_on_a_mark_is_told_exactly(self, sixty_fourths):
        whole, _, part = mixed(sixty_fourths / 64).rpartition(" ")
        over, _, under = part.partition("/")
        assert int(whole or 0) + int(over) / int(under or 1) == sixty_fourths / 64


class TestAxis:
    @given(
        st.lists(st.tuples(finite, finite).map(sorted), min_size=1, max_size=6),
        st.lists(finite, max_size=3),
        st.lists(finite, max_size=4),
    )
    def test_holds_all_bands_and_readings(self, spans, values, edges):
        chart = chart_of(
            "mm",
            [band(*span) for span in spans],
            within=ANYTHING,
            marks=[Mark(v, v) for v in values],
            edges=edges,
        )
        shown = [v for b in chart.bands for v in (b.low, b.high)] + values
        assert chart.low < chart.high
        assert all(chart.low <= v <= chart.high for v in shown)
        assert set(chart.edges) <= set(edges)
        assert all(chart.low <= edge <= chart.high for edge in chart.edges)

    def test_nothing_is_drawn_beyond_what_can_be_read(self):
        chart = chart_of("mm", [band(-5.0, 20.0, other=(-8.0, 2.0))], within=(0.0, 150.0))
        assert (chart.bands[0].low, chart.bands[0].high) == (0.0, 20.0)
        assert chart.bands[0].other == (0.0, 2.0)
        assert chart.low == 0.0

    def test_a_limit_far_off_does_not_squeeze_the_bands(self):
        chart = chart_of("mm", [band(1.0, 2.0)], within=ANYTHING, edges=[1.5, 3.0, 900.0])
        assert chart.edges == (1.5, 3.0)
        assert chart.high < 4.0

    def test_an_open_end_is_no_end_of_the_axis(self):
        chart = chart_of("in", [band(1.0, 2.0)], within=ANYTHING, marks=[Mark(3.0, inf)])
        assert 3.0 <= chart.high < 4.0


def test_it_speaks():
    chart = chart_of(
        "in",
        [Band("no fault", "", 1.0, 1.2, 1.5, "1 to 1 1/2 in", "fits"), band(2.0, 3.0, fit="no")],
        within=ANYTHING,
        marks=[Mark(1.2, 1.2)],
        reading="1.2 in",
    )
    assert chart.spoken() == (
        "Read: 1.2 in. no fault, 1 to 1 1/2 in, fits. cause, about 5 in 100, 2.0 to 3.0, no."
    )
