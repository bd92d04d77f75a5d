"""What if: chances against plain enumeration, laws against the outlook, slides against signs."""

from itertools import combinations
from statistics import NormalDist

import numpy as np
import pytest

from diagnose.case import Case
from diagnose.effects import Effects, Law
from diagnose.gauge import plausible_range
from diagnose.network import compile_network
from diagnose.outlook import Outlook
from diagnose.physics.normal import probability_between
from diagnose.physics.predict import Shift, predict
from diagnose.readings import ReadingEvidence
from diagnose.sliders import MARGINS, SLIDERS
from diagnose.what_if import WhatIf
from tests.diagnose.oracles.enumeration import missed
from tests.small_bases import make_base

TWIN = "twin_external"


def made(knowledge, setup=TWIN):
    return WhatIf.of(knowledge, Case(setup=setup, facts=knowledge.setups[setup].facts))


@pytest.fixture
def gated(tmp_path):
    base = make_base(
        tmp_path / "base",
        complaints={"shakes": {"unexplained": 0.04}, "smells": {}},
        findings={"wet": {"unexplained": 0.1}},
        mechanisms={"both": {"gate": "all", "of": ["a", "b"], "brings": {"shakes": "always"}}},
        causes={
            "a": {"brings": {"smells": "often"}},
            "b": {"shows": {"wet": 0.7}},
            "c": {"brings": {"shakes": 0.3, "smells": 0.2}, "shows": {"wet": 0.4}},
        },
    )
    network = compile_network(base, {})
    return WhatIf(network, Effects(network, None, {}))


@pytest.mark.parametrize("size", [0, 1, 2, 3])
def test_chances_are_those_of_plain_enumeration(gated, size):
    """Noisy-OR with net leak, and what two causes do only together (engine notes, section 2)."""
    network = gated.network
    q = network.q.tolist()
    shakes = network.finding_index["shakes"]
    pair = frozenset({network.cause_index["a"], network.cause_index["b"]})
    joint = [1.0 - (1.0 - q[min(pair)][f]) * (1.0 - q[max(pair)][f]) for f in range(3)]
    joint[shakes] = 0.97
    for causes in combinations("abc", size):
        present = [network.cause_index[name] for name in causes]
        for f, chance in enumerate(gated.chances(causes)):
            on = 1.0 - (1.0 - network.leak[f]) * missed(present, f, q, {pair: joint})
            assert chance.p == pytest.approx(on, abs=1e-12)
            assert chance.healthy == pytest.approx(network.leak[f], abs=1e-12)


def test_a_cause_that_the_set_up_rules_out_cannot_be_chosen(knowledge):
    with pytest.raises(KeyError):
        made(knowledge, "light_cable").chances(("air_in_system",))


@pytest.mark.parametrize(
    "causes",
    [(), ("air_in_system",), ("pivot_spacer_left_in", "disc_bent"), ("flywheel_face_too_deep",)],
)
def test_the_law_of_a_reading_is_that_of_the_outlook(knowledge, causes):
    what_if = made(knowledge)
    chosen = frozenset(what_if.network.cause_index[c] for c in causes)
    outlook = Outlook(ReadingEvidence(what_if.effects, ()), [chosen])
    slip = knowledge.scale.mistyped
    laws = {r.measurement.id: r.laws for r in what_if.readings(causes)}
    looked_at = 0
    for check in knowledge.checks.values():
        record = outlook.measurement(check)
        if record is None or record.id not in laws:  # can't be taken here
            continue
        edges = [record.value(a.below) for a in check.answers if a.below is not None]
        ends = np.array([-np.inf, *edges, np.inf])
        least, most = plausible_range(record)
        flat = np.diff(np.clip(ends, least, most)) / (most - least)
        inside = sum(_between(law, ends) for law in laws[record.id])
        foreseen = np.array(outlook.bands(check, record))[:, 0]
        assert (1.0 - slip) * inside + slip * flat == pytest.approx(foreseen, abs=1e-12)
        looked_at += 1
    assert looked_at >= 12


def _between(law: Law, ends):
    z = (ends - law.mean) / law.deviation
    return law.weight * np.asarray(probability_between(z[:-1], z[1:]))


def test_with_nothing_slid_nothing_changes(knowledge):
    what_if = made(knowledge)
    still = {slider.id: 0.0 for slider in what_if.sliders()}
    assert what_if.chances(("disc_bent",), still) == what_if.chances(("disc_bent",))
    assert what_if.readings(("disc_bent",), still) == what_if.readings(("disc_bent",))


# The signs are those of the trade, as in the tests of the signs of shifts.
@pytest.mark.parametrize(
    ("slider", "amount", "signs"),
    [
        ("spacer", 6.0, {"fork_free_travel": -1, "finger_height": 0, "fork_tip_travel": 0}),
        ("spacer", -6.0, {"fork_free_travel": 1, "finger_height": 0}),
        ("air", 4.0, {"fork_tip_travel": -1, "engagement_height": -1, "fork_free_travel": 0}),
        ("stack", 1.0, {"finger_height": -1, "fork_free_travel": 1}),
        ("stack", -1.0, {"finger_height": 1, "fork_free_travel": -1}),
        ("step", 1.0, {"finger_height": 1, "fork_free_travel": -1, "flywheel_step": 1}),
        ("bearing", 5.0, {"fork_free_travel": -1, "finger_height": 0}),
        ("play", 30.0, {"pedal_free_play": 1, "fork_tip_travel": -1, "engagement_height": -1}),
        ("lift", 1.0, {"engagement_height": -1, "fork_free_travel": 0}),
    ],
)
def test_a_slide_moves_readings_the_way_a_fitter_says(knowledge, slider, amount, signs):
    what_if = made(knowledge)
    moved = {r.measurement.id: r.moved for r in what_if.readings((), {slider: amount})}
    for name, sign in signs.items():
        assert np.sign(np.round(moved[name], 2)) == sign, name


def test_a_slide_as_large_as_a_fault_reads_like_the_fault(knowledge):
    """The base's spacer is 6.35 mm thick; only the spread of the fault is then missing."""
    what_if = made(knowledge)
    name = "fork_free_travel"
    slid, fault = (
        next(r for r in readings if r.measurement.id == name)
        for readings in (
            what_if.readings((), {"spacer": 6.35}),
            what_if.readings(("pivot_spacer_left_in",)),
        )
    )
    assert slid.laws[0].mean == pytest.approx(fault.laws[0].mean, abs=0.6)


def test_air_without_end_keeps_the_clutch_from_releasing(knowledge):
    what_if = made(knowledge)

    def chance(amount):
        found = what_if.chances((), {"air": amount})
        return next(c.p for c in found if c.id == "no_release")

    steps = [chance(amount) for amount in (0.0, 1.0, 2.0, 4.0, 8.0)]
    assert steps == sorted(steps)
    assert steps[0] < 0.05
    assert steps[-1] > 0.4


@pytest.mark.parametrize(
    ("setup", "slid", "complaint", "finding"),
    [
        (TWIN, {"air": 3.0}, "engages_low", "bites_near_floor"),
        ("light_cable", {"play": 45.0}, "engages_low", "bites_near_floor"),
        ("light_concentric", {"lift": 1.2}, "engages_low", "bites_near_floor"),
        ("old_rods", {"spacer": 3.0}, "engages_high", "bites_near_top"),
    ],
)
def test_a_bite_that_is_slid_to_an_end_of_the_pedal_is_complained_of(
    knowledge, setup, slid, complaint, finding
):
    """As often as the model puts the bite into that quarter of the way, on top of the leak."""
    what_if = made(knowledge, setup)
    low = complaint == "engages_low"
    moved = [
        Shift(figure, share * amount)
        for name, amount in slid.items()
        for figure, share in SLIDERS[name].figures.items()
    ]
    told = []
    for shifts in ((), moved):
        found = predict(what_if.effects.system, ("engagement_share",), shifts)
        mean, spread = found.mean[0, 0], np.sqrt(found.covariance[0, 0, 0])
        told.append(1.0 - NormalDist().cdf((0.75 - mean) / spread) if low
                    else NormalDist().cdf((0.25 - mean) / spread))  # fmt: skip
    more = (told[1] - told[0]) / (1.0 - told[0])
    assert more > 0.3
    chances = {c.id: c for c in what_if.chances((), slid)}
    for name in (complaint, finding):
        least = 1.0 - (1.0 - chances[name].healthy) * (1.0 - more)
        assert chances[name].p >= least - 1e-9
    other = "engages_high" if low else "engages_low"
    assert chances[other].p == pytest.approx(chances[other].healthy, abs=0.01)


def test_only_what_can_be_taken_on_the_set_up_is_foretold(knowledge):
    def names(setup):
        return {r.measurement.id for r in made(knowledge, setup).readings()}

    assert "pull_bearing_travel" in names("truck_pull")
    assert "pull_bearing_travel" not in names(TWIN)
    assert "fork_free_travel" not in names("light_concentric")


def test_a_slide_that_breaks_no_margin_changes_no_chance(knowledge):
    what_if = made(knowledge)
    still, slid = what_if.chances(), what_if.chances((), {"air": 0.25})
    assert [c.p for c in slid] == pytest.approx([c.p for c in still], abs=0.01)


def test_only_what_moves_something_can_be_slid(knowledge):
    assert "air" in {s.id for s in made(knowledge).sliders()}
    assert "air" not in {s.id for s in made(knowledge, "light_cable").sliders()}
    assert WhatIf.of(knowledge, Case()).sliders() == ()


def test_margins_and_sliders_name_what_the_base_has(knowledge):
    known = {*knowledge.mechanisms, *knowledge.complaints, *knowledge.findings}
    assert {margin.brings for margin in MARGINS} <= known
    named = {name for slider in SLIDERS.values() for name in slider.readings}
    assert named <= set(knowledge.measurements)
