"""Likelihoods of readings against direct formulas, and the four patterns an expert reads."""

from itertools import combinations
from math import erf, exp, inf, log, nan, pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import UnknownIdError
from diagnose.physics.likelihood import (
    Reading,
    log_likelihoods,
    log_likelihoods_by_share,
    value_read,
)
from diagnose.physics.normal import box_probability
from diagnose.physics.observables import read
from diagnose.physics.predict import Predictions, Shift, predict, predict_many
from diagnose.physics.presets import PRESETS

TWIN = PRESETS["twin_external"]
WIDE = (-50.0, 50.0)


def drawn_predictions(seed, cases=3, n=4):
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(cases, n, n))
    covariance = root @ root.transpose(0, 2, 1)
    return Predictions(tuple("abcd")[:n], rng.normal(size=(cases, n)), covariance), rng


def direct_log_density(predictions, readings, case):
    at = [predictions.names.index(r.observable) for r in readings]
    covariance = predictions.covariance[case][np.ix_(at, at)]
    covariance = covariance + np.diag([r.uncertainty**2 for r in readings])
    off = np.array([r.low for r in readings]) - predictions.mean[case, at]
    _, log_det = np.linalg.slogdet(covariance)
    quadratic = off @ np.linalg.solve(covariance, off) if at else 0.0
    return -0.5 * (quadratic + log_det + len(at) * log(2 * pi))


def mixture(predictions, readings, share, *, most=2, case=0):
    """Likelihood summed over which readings are mistyped, each anywhere in 100 mm."""
    k = len(readings)
    total = 0.0
    for count in range(min(k, most) + 1):
        for gone in combinations(range(k), count):
            kept = [r for i, r in enumerate(readings) if i not in gone]
            weight = (share / 100.0) ** count * (1.0 - share) ** (k - count)
            total += weight * exp(direct_log_density(predictions, kept, case))
    return total


@given(st.integers(0, 10**6), st.integers(1, 5))
def test_values_have_the_joint_normal_density(seed, k):
    predictions, rng = drawn_predictions(seed)
    names = rng.choice(list("abcd"), k)  # repeats of one observable among them
    readings = [
        value_read(str(n), float(v), 0.3, WIDE)
        for n, v in zip(names, rng.normal(size=k), strict=True)
    ]
    direct = [direct_log_density(predictions, readings, h) for h in range(3)]
    assert log_likelihoods(predictions, readings) == pytest.approx(direct, rel=1e-9, abs=1e-9)


@given(st.integers(0, 10**6), st.integers(1, 5), st.floats(1e-4, 0.3))
def test_mistyped_readings_are_a_mixture_over_which_they_are(seed, k, share):
    predictions, rng = drawn_predictions(seed)
    names = rng.choice(list("abcd"), k)
    readings = [
        value_read(str(n), float(v), 0.3, WIDE)
        for n, v in zip(names, rng.normal(size=k), strict=True)
    ]
    direct = [log(mixture(predictions, readings, share, case=h)) for h in range(3)]
    assert log_likelihoods(predictions, readings, mistyped=share) == pytest.approx(
        direct, rel=1e-8, abs=1e-8
    )


@given(st.floats(-3.0, 3.0), st.floats(0.1, 4.0), st.floats(0.1, 2.0))
def test_one_interval_is_exact(low, width, u):
    predictions = Predictions(("a",), np.array([[0.5]]), np.array([[[1.44]]]))
    total = sqrt(1.44 + u * u)
    inside = [0.5 * (1.0 + erf((edge - 0.5) / total / sqrt(2.0))) for edge in (low, low + width)]
    for reading, chance in (
        (Reading("a", low, low + width, u, WIDE), inside[1] - inside[0]),
        (Reading("a", -inf, low, u, WIDE), inside[0]),
        (Reading("a", low, inf, u, WIDE), 1.0 - inside[0]),
    ):
        assert log_likelihoods(predictions, [reading]) == pytest.approx(log(chance), abs=1e-6)


def test_intervals_given_values_are_the_limit_of_the_joint_density():
    """An interval's probability is the integral of the density over it."""
    predictions, _ = drawn_predictions(5, cases=2)
    value = value_read("a", 0.3, 0.4, WIDE)
    first, second = Reading("b", -0.5, 1.0, 0.4, WIDE), Reading("c", 0.0, 2.0, 0.5, WIDE)
    x, y = np.linspace(-0.5, 1.0, 61), np.linspace(0.0, 2.0, 61)
    for h in range(2):
        density = np.array(
            [
                [
                    exp(
                        direct_log_density(
                            predictions,
                            [value, value_read("b", b, 0.4, WIDE), value_read("c", c, 0.5, WIDE)],
                            h,
                        )
                    )
                    for c in y
                ]
                for b in x
            ]
        )
        integral = np.trapezoid(np.trapezoid(density, y, axis=1), x)
        found = log_likelihoods(predictions, [value, first, second])[h]
        assert exp(found) == pytest.approx(integral, rel=2e-3)


@given(st.integers(0, 10**6), st.floats(0.0, 0.2))
def test_the_order_of_readings_does_not_matter(seed, share):
    predictions, rng = drawn_predictions(seed)
    readings = [
        value_read("a", float(rng.normal()), 0.3, WIDE),
        Reading("b", -inf, float(rng.normal()), 0.3, WIDE),
        value_read("c", float(rng.normal()), 0.3, WIDE),
        Reading("a", -1.0, 1.0, 0.3, WIDE),
    ]
    forth = log_likelihoods(predictions, readings, mistyped=share)
    back = log_likelihoods(predictions, readings[::-1], mistyped=share)
    assert forth == pytest.approx(back, abs=1e-4)


def test_repeats_share_the_prediction_and_differ_by_the_instrument():
    predictions = Predictions(("a",), np.array([[0.0]]), np.array([[[100.0]]]))
    near = [value_read("a", v, 0.5, WIDE) for v in (9.8, 10.2)]
    far = [value_read("a", v, 0.5, WIDE) for v in (8.0, 12.0)]
    assert log_likelihoods(predictions, near) > log_likelihoods(predictions, far) + 3.0
    alone = log_likelihoods(predictions, near[:1]) + log_likelihoods(predictions, near[1:])
    assert log_likelihoods(predictions, near) > alone + 1.0


def test_no_readings_say_nothing():
    predictions, _ = drawn_predictions(1)
    assert log_likelihoods(predictions, [], mistyped=0.1).tolist() == [0.0, 0.0, 0.0]


def test_one_slip_of_the_pen_can_not_decide_a_case():
    good, bad = 0.0, 30.0
    predictions = Predictions(("a",), np.array([[good], [bad]]), np.ones((2, 1, 1)))
    reading = [value_read("a", 30.0, 0.5, WIDE)]
    bare = np.diff(log_likelihoods(predictions, reading))[0]
    robust = np.diff(log_likelihoods(predictions, reading, mistyped=0.02))[0]
    assert bare > 100.0
    assert robust == pytest.approx(
        log(0.98 * exp(direct_log_density(predictions, reading, 1)) / (0.02 / 100.0)), abs=0.01
    )


def direct_log_likelihood(predictions, readings, case):
    """Density of the values times the probability of the intervals given them, by solving."""
    values = [r for r in readings if r.is_value]
    density = direct_log_density(predictions, values, case)
    boxes = [r for r in readings if not r.is_value]
    if not boxes:
        return density
    at = [predictions.names.index(r.observable) for r in (*values, *boxes)]
    covariance = predictions.covariance[case][np.ix_(at, at)]
    covariance = covariance + np.diag([r.uncertainty**2 for r in (*values, *boxes)])
    mean, v = predictions.mean[case, at], len(values)
    gain = covariance[v:, :v] @ np.linalg.inv(covariance[:v, :v])
    centre = mean[v:] + gain @ (np.array([r.low for r in values]) - mean[:v])
    rest = covariance[v:, v:] - gain @ covariance[:v, v:]
    low, high = np.array([(r.low, r.high) for r in boxes]).T
    chance = box_probability(centre[np.newaxis], rest[np.newaxis], low, high)
    return density + np.log(chance[0])


@given(st.integers(0, 10**6), st.integers(0, 4), st.integers(1, 2), st.floats(0.001, 0.3))
def test_values_and_intervals_are_mistyped_alike(seed, v, m, share):
    predictions, rng = drawn_predictions(seed)
    names = rng.choice(list("abcd"), v + m)
    low = rng.normal(size=v + m)
    high = np.where(np.arange(v + m) < v, low, low + rng.choice([0.5, 2.0, inf], v + m))
    readings = [
        Reading(str(n), float(a), float(b), 0.3, WIDE)
        for n, a, b in zip(names, low, high, strict=True)
    ]
    rng.shuffle(readings)
    for h, found in enumerate(log_likelihoods(predictions, readings, mistyped=share)):
        total = 0.0
        for count in range(min(v + m, 2) + 1):
            for gone in combinations(range(v + m), count):
                kept = [r for i, r in enumerate(readings) if i not in gone]
                flat = np.prod([readings[i].flat for i in gone])
                weight = share**count * (1.0 - share) ** (v + m - count) * flat
                total += weight * exp(direct_log_likelihood(predictions, kept, h))
        assert found == pytest.approx(log(total), rel=1e-8, abs=1e-8)


def test_no_reading_says_nothing():
    predictions, _ = drawn_predictions(2)
    assert log_likelihoods(predictions, []).tolist() == [0.0, 0.0, 0.0]
    assert log_likelihoods(predictions, [], mistyped=0.1).tolist() == [0.0, 0.0, 0.0]


def test_what_no_set_of_faults_can_give_has_no_likelihood():
    predictions = Predictions(("a",), np.array([[0.0]]), np.array([[[1e-4]]]))
    reading = [Reading("a", 40.0, inf, 1e-3, WIDE)]
    assert log_likelihoods(predictions, reading).tolist() == [-inf]
    assert log_likelihoods(predictions, reading, mistyped=0.01) == pytest.approx(log(0.01 * 0.1))


@given(st.integers(0, 10**6), st.floats(0.001, 0.3))
def test_leaving_three_slips_out_costs_no_more_than_it_says(seed, share):
    predictions, rng = drawn_predictions(seed, cases=1)
    k = 4
    readings = [value_read(n, float(rng.normal(0.0, 9.0)), 0.3, WIDE) for n in "abcd"]
    missing = best = 0.0
    for count in (3, 4):
        for gone in combinations(range(k), count):
            kept = [r for i, r in enumerate(readings) if i not in gone]
            each = exp(direct_log_density(predictions, kept, 0)) / 100.0**count
            missing += share**count * (1.0 - share) ** (k - count) * each
            best = max(best, each)
    assert missing < k**3 * share**3 / 6 * best
    found = exp(log_likelihoods(predictions, readings, mistyped=share)[0])
    whole = mixture(predictions, readings, share, most=k)
    assert found + missing == pytest.approx(whole, rel=1e-9)


# Faults of the shipped twin disc, one for each place; amounts are judgement.
FAULTS = {
    "healthy": (),
    "pivot": (Shift("pivot_height", 30.0, 8.0),),
    "bearing": (Shift("bearing_height", 15.0, 4.0),),
    "stack": (Shift("stack_excess", -4.0, 1.2),),
    "air": (Shift("air", 3000.0, 1500.0),),
    "disc": (Shift("extra_lift", 1.6, 0.5),),
}
PLAUSIBLE = {
    "fork_free_travel": (0.0, 150.0),
    "finger_height": (0.0, 100.0),
    "fork_tip_travel": (0.0, 80.0),
    "engagement_travel": (0.0, 300.0),
}


def ranked(readings):
    predictions = predict_many(TWIN, tuple(PLAUSIBLE), tuple(FAULTS.values()))
    found = log_likelihoods(predictions, readings, mistyped=0.01)
    return dict(zip(FAULTS, found, strict=True))


def at(name, value, u=1.5):
    return value_read(name, value, u, PLAUSIBLE[name])


def near_zero():
    return Reading("fork_free_travel", -inf, 1.0, 1.5, PLAUSIBLE["fork_free_travel"])


HEALTHY_HEIGHT = read(TWIN, "finger_height")
HEALTHY_FREE = read(TWIN, "fork_free_travel")
HEALTHY_TIP = read(TWIN, "fork_tip_travel")


def test_no_free_travel_and_right_fingers_point_at_fork_pivot_or_bearing():
    found = ranked([near_zero(), at("finger_height", HEALTHY_HEIGHT, 0.5)])
    assert (
        min(found["pivot"], found["bearing"])
        > max(found["stack"], found["air"], found["disc"], found["healthy"]) + 2.0
    )


def test_no_free_travel_and_fingers_out_in_proportion_point_at_the_stack():
    out = HEALTHY_FREE / 1.8
    found = ranked([near_zero(), at("finger_height", HEALTHY_HEIGHT + out, 0.5)])
    assert found["stack"] > max(v for n, v in found.items() if n != "stack") + 2.0


def test_both_right_and_a_short_tip_point_at_the_hydraulics():
    found = ranked(
        [
            at("fork_free_travel", HEALTHY_FREE),
            at("finger_height", HEALTHY_HEIGHT, 0.5),
            at("fork_tip_travel", HEALTHY_TIP - 5.0, 1.0),
        ]
    )
    assert found["air"] > max(v for n, v in found.items() if n != "air") + 2.0


def test_all_travels_right_and_no_release_point_at_the_disc():
    found = ranked(
        [
            at("fork_free_travel", HEALTHY_FREE),
            at("finger_height", HEALTHY_HEIGHT, 0.5),
            at("fork_tip_travel", HEALTHY_TIP, 1.0),
            Reading("engagement_travel", 150.0, inf, 3.0, PLAUSIBLE["engagement_travel"]),
        ]
    )
    assert found["disc"] > max(v for n, v in found.items() if n != "disc") + 2.0


def test_readings_that_fit_point_at_nothing():
    found = ranked([at("fork_free_travel", HEALTHY_FREE), at("fork_tip_travel", HEALTHY_TIP, 1.0)])
    assert found["healthy"] >= max(v for n, v in found.items() if n != "disc") - 1e-9


@pytest.mark.parametrize(
    ("low", "high", "u", "plausible", "words"),
    [
        (2.0, 1.0, 0.5, WIDE, "read as"),
        (nan, nan, 0.5, WIDE, "read as"),
        (-inf, inf, 0.5, WIDE, "read as"),
        (1.0, 1.0, 0.0, WIDE, "instrument"),
        (1.0, 1.0, nan, WIDE, "instrument"),
        (1.0, 1.0, 0.5, (5.0, 5.0), "plausibly"),
        (1.0, 1.0, 0.5, (0.0, inf), "plausibly"),
        (60.0, 60.0, 0.5, WIDE, "outside"),
        (60.0, inf, 0.5, WIDE, "outside"),
    ],
)
def test_readings_that_can_not_be_are_refused(low, high, u, plausible, words):
    with pytest.raises(ValueError, match=words):
        Reading("a", low, high, u, plausible)


def test_questions_that_can_not_be_answered_are_refused():
    predictions, _ = drawn_predictions(1)
    with pytest.raises(UnknownIdError, match="'z'"):
        log_likelihoods(predictions, [value_read("z", 1.0, 0.5, WIDE)])
    with pytest.raises(ValueError, match="mistyped"):
        log_likelihoods(predictions, [], mistyped=1.0)
    five = [Reading("a", 0.0, 1.0, 0.5, WIDE)] * 5
    with pytest.raises(ValueError, match="5 readings"):
        log_likelihoods(predictions, five)
    assert predict(TWIN, ("plate_lift",)).band("plate_lift", 0.5)[0] > 0.0


def test_several_shares_of_slips_at_once():
    predictions = Predictions(("x",), np.array([[1.0], [4.0]]), np.array([[[0.5]], [[2.0]]]))
    readings = [value_read("x", 1.5, 0.3, (0.0, 9.0)), Reading("x", 2.0, inf, 0.3, (0.0, 9.0))]
    shares = (0.0, 0.01, 0.2)
    found = log_likelihoods_by_share(predictions, readings, shares)
    for share, row in zip(shares, found, strict=True):
        assert row == pytest.approx(log_likelihoods(predictions, readings, mistyped=share))
