"""A release system as a record: what may stand in it and what may not."""

from dataclasses import FrozenInstanceError, replace
from math import inf, nan

import numpy as np
import pytest

from diagnose.physics.figures import (
    FIGURE_KINDS,
    FIGURE_NAMES,
    HIGHEST,
    LOWEST,
    FigureError,
    Parameter,
    figures_of,
)
from diagnose.physics.presets import PRESETS
from tests.diagnose.physics.systems import worked_example


def test_every_figure_says_what_it_is():
    for kind in FIGURE_KINDS.values():
        assert kind.meaning
        assert kind.low < kind.high
        assert kind.neutral is None or kind.low <= kind.neutral <= kind.high
    assert np.all(LOWEST < HIGHEST)
    assert len(set(FIGURE_NAMES)) == len(FIGURE_NAMES)


def test_a_system_is_frozen_and_changes_into_a_new_one():
    system = worked_example()
    other = system.with_figures(air=2000.0)
    assert system.figures.air.nominal == 0.0
    assert other.figures.air.nominal == 2000.0
    with pytest.raises(FrozenInstanceError):
        system.discs = 3


def test_nominal_values_and_tolerances_come_in_one_order():
    system = PRESETS["twin_external"]
    at = FIGURE_NAMES.index("fork_ratio")
    assert system.nominal[at] == system.figures.fork_ratio.nominal == 1.8
    assert system.uncertainty[at] == system.figures.fork_ratio.uncertainty > 0.0


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"pedal_ratio": 0.0}, "pedal_ratio"),
        ({"air": -1.0}, "air"),
        ({"fork_ratio": nan}, "fork_ratio"),
        ({"pedal_travel": inf}, "pedal_travel"),
        ({"facing_inner": 265.0}, "facings"),
        ({"slave_core": 30.0}, "slave"),
        ({"no_such": 1.0}, "no_such"),
    ],
)
def test_impossible_figures_are_refused(change, words):
    with pytest.raises(FigureError, match=words):
        worked_example().with_figures(**change)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"discs": 4}, "discs"),
        ({"fork": "none"}, "fork"),
        ({"linkage": "concentric_slave"}, "fork"),
    ],
)
def test_impossible_arrangements_are_refused(change, words):
    with pytest.raises(FigureError, match=words):
        replace(worked_example(), **change)


def test_a_concentric_slave_has_no_fork_ratio():
    with pytest.raises(FigureError, match="fork ratio is 1"):
        PRESETS["light_concentric"].with_figures(fork_ratio=1.8)


@pytest.mark.parametrize("tolerance", [-0.1, nan, inf])
def test_impossible_tolerances_are_refused(tolerance):
    figures = replace(worked_example().figures, air=Parameter(0.0, tolerance))
    with pytest.raises(FigureError, match="tolerance of air"):
        replace(worked_example(), figures=figures)


def test_a_stroke_without_an_end_has_no_tolerance():
    figures = replace(worked_example().figures, actuator_stroke=Parameter(inf, 1.0))
    with pytest.raises(FigureError, match="tolerance of actuator_stroke"):
        replace(worked_example(), figures=figures)


def test_what_has_no_neutral_value_must_be_given():
    with pytest.raises(FigureError, match="pedal_travel, pedal_ratio"):
        figures_of({})
    with pytest.raises(FigureError, match="'pedal_rato'"):
        figures_of({"pedal_rato": Parameter(5.0)})
