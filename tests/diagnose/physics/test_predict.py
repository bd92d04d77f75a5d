"""Predictions: signs an expert names, propagation against sampling, and bad inputs."""

from math import inf, nan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import UnknownIdError
from diagnose.physics.figures import FIGURE_NAMES, HIGHEST, LOWEST
from diagnose.physics.observables import figures_behind, observables_of, read, read_many
from diagnose.physics.predict import Shift, influences, predict, predict_many
from diagnose.physics.presets import PRESETS
from tests.diagnose.physics.systems import systems, worked_example

TWIN = PRESETS["twin_external"]
NAMES = ("engagement_travel", "fork_tip_travel", "fork_free_travel", "finger_height")

# What a fitter says each fault does: bite travel, tip travel, free travel, finger height.
EXPERT = [
    ("air in the line", Shift("air", 3000.0), "+-00"),
    ("seal passing fluid", Shift("fluid_lost", 2000.0), "+-00"),
    ("master bore too small", Shift("master_bore", -3.0), "+-00"),
    ("slave bore too large", Shift("slave_bore", 3.0), "+-00"),
    ("hose swelling", Shift("hose_swell", 1.5), "+-00"),
    ("slave bracket flexing", Shift("tip_flex", 0.002), "+-00"),
    ("worn pedal joints", Shift("pedal_play", 20.0), "+-00"),
    ("mat under the pedal", Shift("pedal_travel", -25.0), "0-00"),
    ("push rod too short", Shift("tip_play", 4.0), "+-00"),
    ("piston knocked back: further to go, the tip goes as far", Shift("running_gap", 1.5), "+000"),
    ("pivot spacer left in", Shift("pivot_height", 6.35), "00-0"),
    ("pivot too short", Shift("pivot_height", -6.35), "00+0"),
    ("bearing too tall", Shift("bearing_height", 5.0), "00-0"),
    ("bearing too short", Shift("bearing_height", -5.0), "00+0"),
    ("fork bent", Shift("fork_offset", 4.0), "00-0"),
    ("slave push rod too long", Shift("back_stop", 8.0), "00-0"),
    ("fingers bent out", Shift("finger_offset", 3.0), "00-+"),
    ("disc bent while hung", Shift("extra_lift", 1.0), "+000"),
    ("uneven fingers", Shift("finger_spread", 3.0), "+000"),
]


@pytest.mark.parametrize(("fault", "shift", "signs"), EXPERT, ids=[e[0] for e in EXPERT])
def test_faults_shift_readings_the_way_an_expert_says(fault, shift, signs):
    healthy, faulty = predict_many(TWIN, NAMES, ((), (shift,))).mean
    scale = np.array([1.0, 0.3, 1.0, 0.5])  # less than this no tape shows
    moved = (faulty - healthy) / scale
    found = "".join("+" if m > 1.0 else "-" if m < -1.0 else "0" for m in moved)
    assert found == signs, moved


@pytest.mark.parametrize("amount", [-1.0, 1.0])
def test_a_stack_fault_shows_in_both_in_the_fork_ratio(amount):
    healthy, faulty = predict_many(TWIN, NAMES, ((), (Shift("stack_excess", amount),))).mean
    moved = faulty - healthy
    assert moved[3] == pytest.approx(-3.8 * amount)  # thick: sunk
    assert moved[2] == pytest.approx(-1.8 * moved[3])  # and more free travel


def test_covers_that_clamp_less_slip():
    weak = predict(TWIN, ("slip_margin", "pedal_effort"), (Shift("load_factor", -0.4),))
    assert weak.mean[0, 0] == pytest.approx(0.6 * read(TWIN, "slip_margin"))
    assert weak.mean[0, 0] < 1.0
    assert weak.mean[0, 1] < read(TWIN, "pedal_effort")


@pytest.mark.parametrize("name", sorted(PRESETS))
def test_means_and_covariances_agree_with_sampling(name):
    """First order against 20000 draws of all tolerances (GUM supplement 1)."""
    system = PRESETS[name]
    names = [n for n in observables_of(system) if n != "bearing_gap"]
    prediction = predict(system, names)
    rng = np.random.default_rng(11)
    nominal, u = system.nominal[:, np.newaxis], system.uncertainty[:, np.newaxis]
    spread = rng.standard_normal((len(nominal), 20_000))
    drawn = np.where(u > 0.0, nominal + u * spread, nominal)
    for positive in (
        "air",
        "hose_swell",
        "finger_spread",
        "tip_flex",
        "pedal_play",
        "bearing_drag",
    ):
        row = FIGURE_NAMES.index(positive)
        drawn[row] = np.maximum(drawn[row], 0.0)
    values = read_many(system, names, drawn)
    deviation = np.sqrt(np.diag(prediction.covariance[0]))
    assert values.std(axis=1) == pytest.approx(deviation, rel=0.08)
    bias = np.abs(values.mean(axis=1) - prediction.mean[0]) / deviation
    assert np.all(bias < 0.3)  # most for the effort, which is the greatest along a path
    free = [i for i in range(len(names)) if deviation[i] > 0.0]
    expected = prediction.covariance[0][np.ix_(free, free)] / np.outer(
        deviation[free], deviation[free]
    )
    assert np.corrcoef(values[free]) == pytest.approx(expected, abs=0.06)


def test_finger_height_and_free_travel_scatter_together():
    prediction = predict(TWIN, ("finger_height", "fork_free_travel"))
    covariance = prediction.covariance[0]
    correlation = covariance[0, 1] / np.sqrt(covariance[0, 0] * covariance[1, 1])
    assert correlation < -0.2  # fingers out, less free travel


def by_hand(system, names, shifts):
    """Mean and covariance of one set of faults, figure by figure, one system at a time."""
    values, variance = system.nominal.copy(), system.uncertainty**2
    for shift in shifts:
        i = FIGURE_NAMES.index(shift.figure)
        values[i] += shift.amount
        variance[i] += shift.spread**2
    values = np.clip(values, LOWEST, HIGHEST)
    covariance = np.zeros((len(names), len(names)))
    for i, scatter in enumerate(np.sqrt(variance)):
        if scatter > 0.0:
            up, down = values.copy(), values.copy()
            up[i] = min(values[i] + scatter, HIGHEST[i])
            down[i] = max(values[i] - scatter, LOWEST[i])
            moved = read_many(system, names, np.array([up, down]).T)
            part = (moved[:, 0] - moved[:, 1]) * scatter / (up[i] - down[i])
            covariance += np.outer(part, part)
    return read_many(system, names, values[:, np.newaxis])[:, 0], covariance


@st.composite
def sets_of_faults(draw):
    """Up to three of the faults that an expert names, in any size."""
    some = draw(st.lists(st.sampled_from([e[1] for e in EXPERT]), max_size=3))
    sizes, spreads = st.floats(-1.5, 2.0), st.just(0.0) | st.floats(0.05, 1.0)
    return tuple(
        Shift(s.figure, draw(sizes) * s.amount, draw(spreads) * abs(s.amount)) for s in some
    )


@given(st.data(), st.sampled_from(sorted(PRESETS)))
def test_each_figure_counts_by_half_its_difference_up_and_down(data, name):
    """JCGM 100:2008 5.1.3 note 2, whatever is left out or taken together to save time."""
    system = PRESETS[name]
    known = observables_of(system)
    names = data.draw(st.lists(st.sampled_from(known), min_size=1, max_size=4, unique=True))
    cases = data.draw(st.lists(sets_of_faults(), min_size=1, max_size=4))
    found = predict_many(system, names, cases)
    for h, shifts in enumerate(cases):
        mean, covariance = by_hand(system, names, shifts)
        scale = np.sqrt(np.diag(covariance)) + 1e-3
        assert found.mean[h] == pytest.approx(mean, rel=1e-9, abs=1e-9)
        off = (found.covariance[h] - covariance) / np.outer(scale, scale)
        # Half differences of close values: the rounding of a large torque is divided by them.
        assert np.abs(off).max() < 1e-8


@given(systems(), st.data())
def test_a_figure_that_is_not_behind_an_observable_does_not_move_it(system, data):
    names = tuple(
        data.draw(st.lists(st.sampled_from(observables_of(system)), min_size=1, max_size=2))
    )
    behind = figures_behind(system, names)
    others = [n for n in FIGURE_NAMES if n not in behind]
    drawn = system.nominal.copy()
    for name in data.draw(st.sets(st.sampled_from(others), min_size=1)) if others else ():
        i = FIGURE_NAMES.index(name)
        drawn[i] = data.draw(st.floats(LOWEST[i], min(HIGHEST[i], 1e6)))
    values = read_many(system, names, np.array([system.nominal, drawn]).T)
    assert values[:, 0].tolist() == values[:, 1].tolist()


def test_the_figures_behind_an_observable():
    assert figures_behind(TWIN, ("finger_height",)) == {
        "finger_height",
        "finger_offset",
        "diaphragm_ratio",
        "stack_excess",
    }
    assert {"air", "hose_swell", "cushion"} <= figures_behind(TWIN, ("fork_tip_travel",))
    assert "friction" not in figures_behind(TWIN, ("fork_tip_travel", "pedal_effort"))
    with pytest.raises(UnknownIdError, match="colour"):
        figures_behind(TWIN, ("colour",))


def test_nothing_scatters_about_a_stop_that_is_not_there():
    endless = predict(
        TWIN.with_figures(actuator_stroke=inf), NAMES, (Shift("actuator_stroke", -5.0, 2.0),)
    )
    plain = predict(TWIN.with_figures(actuator_stroke=inf), NAMES)
    assert endless.mean.tolist() == plain.mean.tolist()
    assert endless.covariance == pytest.approx(plain.covariance)


def test_many_sets_are_taken_in_parts_that_do_not_show(monkeypatch):
    cases = [(shift,) for _, shift, _ in EXPERT]
    whole = predict_many(TWIN, NAMES, cases)
    monkeypatch.setattr("diagnose.physics.predict._COLUMNS", 300)  # three or four sets at once
    parts = predict_many(TWIN, NAMES, cases)
    assert parts.mean == pytest.approx(whole.mean, rel=1e-12)
    assert parts.covariance == pytest.approx(whole.covariance, rel=1e-9, abs=1e-12)


def test_the_spread_of_a_fault_adds_to_the_covariance():
    sure, unsure = predict_many(
        TWIN, NAMES, ((Shift("pivot_height", 6.0),), (Shift("pivot_height", 6.0, 2.0),))
    ).covariance
    added = unsure - sure
    assert added[2, 2] == pytest.approx((2.0 * 0.8) ** 2, rel=0.02)  # 2 mm times i_f - 1
    assert added[3, 3] == pytest.approx(0.0, abs=1e-12)


@given(st.floats(0.1, 3.0), st.floats(0.1, 3.0))
def test_shifts_of_one_figure_add_up(first, second):
    one = predict(TWIN, NAMES, (Shift("bearing_height", first), Shift("bearing_height", second)))
    whole = predict(TWIN, NAMES, (Shift("bearing_height", first + second),))
    assert one.mean == pytest.approx(whole.mean)
    assert one.covariance == pytest.approx(whole.covariance)


def test_a_fault_stops_at_the_bounds_of_a_figure():
    gone = predict(TWIN, ("pedal_free_play",), (Shift("pedal_play", -50.0, 3.0),))
    assert gone.mean[0, 0] == pytest.approx(0.0)
    assert np.isfinite(gone.covariance).all()


@pytest.mark.parametrize("name", sorted(PRESETS))
def test_no_figure_at_its_bounds_breaks_the_model(name):
    system = PRESETS[name]
    cases = [(Shift(figure, far, 1.0),) for figure in FIGURE_NAMES for far in (-1e7, 1e7)]
    finite = [c for c in cases if np.isfinite(getattr(system.figures, c[0].figure).nominal)]
    names = [n for n in observables_of(system) if n != "overtravel_margin"]
    prediction = predict_many(system, names, finite)
    assert np.isfinite(prediction.mean).all()
    assert np.isfinite(prediction.covariance).all()


def test_many_cases_are_each_case_alone():
    cases = ((), (Shift("air", 2000.0, 500.0),), (Shift("stack_excess", 1.0), Shift("air", 500.0)))
    together = predict_many(TWIN, NAMES, cases)
    for h, shifts in enumerate(cases):
        alone = predict(TWIN, NAMES, shifts)
        assert together.mean[h] == pytest.approx(alone.mean[0], abs=1e-9)
        assert together.covariance[h] == pytest.approx(alone.covariance[0], abs=1e-9)


def test_covariances_are_symmetric_and_never_negative():
    names = observables_of(TWIN)
    cases = [(shift,) for _, shift, _ in EXPERT]
    covariance = predict_many(TWIN, names, cases).covariance
    assert covariance == pytest.approx(covariance.transpose(0, 2, 1))
    for one in covariance:
        deviation = np.sqrt(np.maximum(np.diag(one), 1e-30))
        assert np.linalg.eigvalsh(one / np.outer(deviation, deviation)).min() > -1e-9


def test_a_system_without_tolerances_is_predicted_exactly():
    prediction = predict(worked_example(), NAMES)
    assert prediction.covariance == pytest.approx(np.zeros((1, 4, 4)))
    assert prediction.mean[0, 1] == pytest.approx(19.732, abs=5e-4)


def test_figures_that_play_no_part_are_known():
    twin, concentric = influences(TWIN), influences(PRESETS["light_concentric"])
    cable = influences(PRESETS["light_cable"])
    assert "fork_free_travel" in twin["pivot_height"]
    assert "plate_lift" in twin["actuator_stroke"]
    assert twin["linkage_ratio"] == twin["finger_load"] == frozenset()
    assert concentric["pivot_height"] == frozenset()
    assert cable["air"] == cable["hose_swell"] == cable["master_bore"] == frozenset()
    assert "engagement_travel" in cable["tip_flex"]


def test_bad_shifts_are_refused():
    with pytest.raises(UnknownIdError, match="'pivot'"):
        Shift("pivot", 1.0)
    for amount, spread in ((nan, 0.0), (inf, 0.0), (1.0, -1.0), (1.0, nan)):
        with pytest.raises(ValueError, match="air"):
            Shift("air", amount, spread)
    with pytest.raises(UnknownIdError, match="colour"):
        predict(TWIN, ("colour",))
