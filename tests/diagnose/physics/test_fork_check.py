"""Stack or fork: against the rules of the trade and against the release model itself."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics.figures import Parameter
from diagnose.physics.fork_check import (
    HYPOTHESES,
    ForkCheckError,
    Read,
    check_fork,
    pivot_spacer,
)
from diagnose.physics.observables import read as read_model
from diagnose.physics.presets import PRESETS

RATIO = 1.8
KIT = {
    "finger_height": Parameter(45.0, 0.5),
    "fork_free_travel": Parameter(31.75, 3.0),
    "fork_tip_travel": Parameter(19.7, 1.0),
}
DOUBT = {"finger_height": 0.4, "fork_free_travel": 1.5, "fork_tip_travel": 1.5}


def check(*, cover="push", ratio=RATIO, kit=KIT, **values):
    read = {name: Read(value, DOUBT[name], kit[name]) for name, value in values.items()}
    return check_fork(read, Parameter(ratio, 0.02 * ratio), cover=cover)


def as_read(system, kit_system):
    """Three readings of a system, and the kit's figures for it."""
    kit = {name: Parameter(read_model(kit_system, name), KIT[name].uncertainty) for name in KIT}
    return {name: read_model(system, name) for name in KIT} | {"kit": kit}


class TestRules:
    """Trade notes, section 3."""

    def test_all_right(self):
        assert (
            check(finger_height=45.2, fork_free_travel=31.0, fork_tip_travel=19.5).likeliest
            == "nothing"
        )

    @pytest.mark.parametrize("out", [-6.0, -3.0, 3.0, 8.0, 17.0])
    def test_both_off_in_the_ratio_is_the_stack(self, out):
        found = check(finger_height=45.0 + out, fork_free_travel=max(0.0, 31.75 - RATIO * out))
        assert found.likeliest == "stack"
        assert found.chances["stack"] > 0.5
        assert found.fingers_out == pytest.approx(out, rel=0.1)

    @pytest.mark.parametrize("lost", [-25.0, -17.8, 12.0, 17.8, 31.75])
    def test_free_travel_off_alone_is_the_fork(self, lost):
        found = check(finger_height=45.0, fork_free_travel=31.75 - lost)
        assert found.likeliest == "fork"
        assert found.chances["fork"] > 0.8

    def test_short_stroke_with_both_right_is_hydraulics(self):
        found = check(finger_height=45.0, fork_free_travel=31.75, fork_tip_travel=10.0)
        assert found.likeliest == "hydraulics"
        assert found.chances["hydraulics"] > 0.9

    @pytest.mark.parametrize("more", [10.0, 15.0])
    def test_a_stroke_that_is_too_long_comes_from_there_too(self, more):
        # Too large a master or no stop under the pedal.
        found = check(finger_height=45.0, fork_free_travel=31.75, fork_tip_travel=19.7 + more)
        assert found.likeliest == "hydraulics"

    def test_two_faults_at_once_are_not_forced_into_one(self):
        found = check(finger_height=52.0, fork_free_travel=31.75, fork_tip_travel=8.0)
        assert found.likeliest == "none_of_these"

    def test_a_fork_that_will_not_move_is_at_most_none(self):
        # With the fingers 20 mm out the fork is held off its stop: 36 of 31.75 mm are gone.
        far = check(finger_height=65.0, fork_free_travel=0.0)
        assert far.likeliest == "stack"
        assert far.free_travel_lost is None
        assert check(finger_height=45.0, fork_free_travel=0.0).likeliest == "fork"

    def test_one_reading_separates_little(self):
        found = check(fork_free_travel=20.0)
        assert max(found.chances.values()) < 0.9
        assert found.fingers_out is None


class TestAgainstTheModel:
    """The release model perturbed by one fault, read without error."""

    SYSTEM = PRESETS["twin_external"]

    def judged(self, **figures):
        ratio = self.SYSTEM.figures.fork_ratio.nominal
        return check(ratio=ratio, **as_read(self.SYSTEM.with_figures(**figures), self.SYSTEM))

    def test_healthy(self):
        assert self.judged().likeliest == "nothing"

    @pytest.mark.parametrize("excess", [-2.0, -1.0, 1.0, 2.0])
    def test_stack(self, excess):
        found = self.judged(stack_excess=excess)
        assert found.likeliest == "stack"
        lever = self.SYSTEM.figures.diaphragm_ratio.nominal
        assert found.fingers_out / lever == pytest.approx(-excess, rel=0.15)

    @pytest.mark.parametrize("figure", ["bearing_height", "pivot_height", "fork_offset"])
    def test_bearing_pivot_and_fork(self, figure):
        assert self.judged(**{figure: 12.0}).likeliest == "fork"

    @pytest.mark.parametrize(
        "figures", [{"air": 6000.0}, {"master_bore": 17.0}, {"pedal_play": 70.0}]
    )
    def test_hydraulics_and_pedal(self, figures):
        assert self.judged(**figures).likeliest == "hydraulics"

    def test_a_spacer_is_found_again(self):
        found = self.judged(pivot_height=12.0)
        ratio = self.SYSTEM.figures.fork_ratio.nominal
        spacer = pivot_spacer(found.free_travel_lost, ratio, self.SYSTEM.fork)
        assert spacer == pytest.approx(12.0, rel=0.15)

    @pytest.mark.parametrize("excess", [-1.0, 1.0])
    def test_a_pull_cover_turns_the_sign(self, excess):
        system = PRESETS["truck_pull"]
        ratio = system.figures.fork_ratio.nominal
        typed = as_read(system.with_figures(stack_excess=excess), system)
        typed["kit"]["fork_free_travel"] = Parameter(typed["kit"]["fork_free_travel"].nominal, 0.5)
        assert typed["fork_free_travel"] > 0.0 or excess < 0.0
        assert check(ratio=ratio, cover="pull", **typed).likeliest == "stack"


class TestChances:
    @given(
        st.floats(20.0, 70.0),
        st.floats(0.0, 100.0),
        st.floats(0.0, 55.0),
        st.sampled_from(["push", "pull"]),
    )
    def test_they_sum_to_one(self, fingers, free, tip, cover):
        found = check(
            finger_height=fingers, fork_free_travel=free, fork_tip_travel=tip, cover=cover
        )
        assert tuple(found.chances) == HYPOTHESES
        assert sum(found.chances.values()) == pytest.approx(1.0)
        assert all(0.0 <= p <= 1.0 for p in found.chances.values())

    def test_against_the_density_written_out(self):
        # Two values, one hypothesis after the other, by the formula of the normal law.
        fingers, free = 47.0, 29.0
        off = np.array([fingers - 45.0, free - 31.75])
        coupled = np.array([1.0, -RATIO])
        base = 0.5**2 * np.outer(coupled, coupled) + np.diag([0.4**2, 3.0**2 + 1.5**2])
        stack = 8.0**2 * (np.outer(coupled, coupled) + np.diag([0.0, (0.02 * RATIO) ** 2]))
        laws = [base, base + stack, base + np.diag([0.0, 15.0**2]), base]
        weights = [
            0.245
            * np.exp(-0.5 * off @ np.linalg.inv(law) @ off)
            / (2.0 * np.pi * np.sqrt(np.linalg.det(law)))
            for law in laws
        ]
        weights.append(0.02 / 80.0 / 160.0)
        expected = np.array(weights) / sum(weights)
        found = check(finger_height=fingers, fork_free_travel=free)
        assert list(found.chances.values()) == pytest.approx(expected.tolist())

    @given(st.floats(0.3, 5.0))
    def test_a_poorer_instrument_knows_less(self, factor):
        def with_doubt(doubt):
            read = {
                "finger_height": Read(45.0, doubt, KIT["finger_height"]),
                "fork_free_travel": Read(14.0, 3.0 * doubt, KIT["fork_free_travel"]),
            }
            return check_fork(read, Parameter(RATIO, 0.03)).chances["fork"]

        assert with_doubt(0.3 + factor) <= with_doubt(0.3)


class TestSpacer:
    @pytest.mark.parametrize(
        ("lost", "layout"), [(5.08, "outboard_pivot"), (17.78, "middle_pivot")]
    )
    def test_the_worked_example(self, lost, layout):  # trade notes W1: 6.35 mm left in
        assert pivot_spacer(lost, 1.8, layout) == pytest.approx(6.35)

    def test_no_fork_no_spacer(self):
        with pytest.raises(ForkCheckError):
            pivot_spacer(5.0, 1.0, "none")
        with pytest.raises(ForkCheckError):
            pivot_spacer(5.0, 0.9, "outboard_pivot")


class TestRefused:
    def test_nothing_read(self):
        with pytest.raises(ForkCheckError, match="no reading"):
            check()

    @pytest.mark.parametrize("free", [250.0, float("nan")])
    def test_implausible(self, free):
        with pytest.raises(ForkCheckError, match="unit"):
            check(finger_height=45.0, fork_free_travel=free)

    def test_no_doubt_at_all(self):
        with pytest.raises(ValueError, match="doubt"):
            check_fork({"finger_height": Read(45.0, 0.0, KIT["finger_height"])}, Parameter(RATIO))
