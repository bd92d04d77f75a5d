"""Readings as evidence: equality with plain enumeration, what counts as a number, what goes stale.

The oracle enumerates all sets of causes (`tests.diagnose.oracles.enumeration`); the readings' joint
density is worked out here from the release model's prediction for each set, term by term over the
slips, sharing no code with the engine's likelihood.
"""

from itertools import combinations, product
from math import erf, exp, inf, pi, prod, sqrt

import numpy as np
import pytest

from diagnose.assess import assess
from diagnose.case import PENDING, Case, Entry
from diagnose.gauge import answer_for_reading
from diagnose.outlook import Outlook
from diagnose.physics.predict import Shift, predict
from diagnose.system import system_of
from tests.diagnose.oracles import enumeration
from tests.small_bases import make_base

SETUP = "twin_external"
SYSTEM = system_of(Case(setup=SETUP))
SLIP, MOVES = 0.02, 0.25
SCALE = {
    "mistyped": SLIP,
    "unknown": {"rate": 0.05, "brings": 0.1, "shows": 2.0, "moves": MOVES},
}
CAUSES = {
    "spacer": {"rate": 0.1, "brings": {"sticks": 0.4}, "shifts": {"pivot_height": (6.35, 0.5)}},
    "thin": {
        "rate": 0.15,
        "brings": {"sticks": 0.3, "slips": 0.6},
        "shifts": {"stack_excess": (-1.5, 0.6), "runout": (0.02, 0.01)},
    },
    "air": {"rate": 0.3, "brings": {"sticks": 0.7}, "shifts": {"air": (2500.0, 1000.0)}},
    "bore": {
        "rate": 0.1,
        "brings": {"slips": 0.2},
        "shifts": {"runout": {"by": 0.3, "spread": 0.15, "chance": "often"}},
    },
    "oil": {"rate": 0.2, "brings": {"slips": 0.8}, "shows": {"smell": 0.7}},
}
MEASUREMENTS = {
    "free": {"model": "fork_free_travel", "plausible": ["0 mm", "100 mm"], "open_below": True},
    "height": {"model": "finger_height", "plausible": ["0 mm", "150 mm"]},
    "stroke": {"model": "fork_tip_travel", "plausible": ["0 mm", "100 mm"]},
    "runout": {
        "healthy": {"mean": "0.06 mm", "spread": "0.03 mm"},
        "plausible": ["0 mm", "5 mm"],
        "instruments": {"dial": {"name": "dial", "uncertainty": "0.02 mm"}},
    },
}
EDGES = {"free": "10 mm", "height": "40 mm", "stroke": "18 mm", "runout": "0.2 mm"}


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    return make_base(
        tmp_path_factory.mktemp("base") / "base",
        scale=SCALE,
        complaints={"sticks": {}, "slips": {}},
        findings={"smell": {"unexplained": 0.1}, "little": {"unexplained": 0.05}},
        causes=CAUSES,
        measurements=MEASUREMENTS,
        checks={
            "nose": {"finding": "smell"},
            **{
                f"read_{name}": {
                    "gauge": name,
                    "answers": {"low": {"little": "yes"}, "high": {"little": "no"}},
                    "edges": [EDGES[name]],
                }
                for name in MEASUREMENTS
            },
        },
    )


def told(base, readings, **answers):
    entries = [
        Entry(complaint=name, answer=answer)
        if name in base.complaints
        else Entry(check=name, answer=answer)
        for name, answer in answers.items()
    ]
    for name, text in readings:
        check = base.checks[f"read_{name}"]
        answer = answer_for_reading(base, check, text).id if text else "low"
        entries.append(Entry(check=check.id, answer=answer, reading=text))
    return Case(setup=SETUP, entries=tuple(entries))


AXES = {name: m.get("model", name) for name, m in MEASUREMENTS.items()}
AXES["free, three times"] = AXES["free"]  # the mean counts, with its own uncertainty
UNCERTAINTY = {"free": 1.0, "height": 1.0, "stroke": 1.0, "runout": 0.02}
UNCERTAINTY["free, three times"] = 1.0 / sqrt(3.0)
RANGE = {"free": 100.0, "height": 150.0, "stroke": 100.0, "runout": 5.0}
RANGE["free, three times"] = RANGE["free"]


# Mean and spread of what moves the runout, and how often it does ("often" is 0.5).
RUNOUT = {"thin": (0.02, 0.01, 1.0), "bore": (0.3, 0.15, 0.5)}


def law(causes, names):
    """Mean and covariance of readings on the chain under some causes, from the model itself."""
    shifts = [
        Shift(figure, *size)
        for cause in causes
        for figure, size in CAUSES.get(cause, {}).get("shifts", {}).items()
        if figure != "runout"
    ]
    chain = list(dict.fromkeys(names))
    found = predict(SYSTEM, [AXES[n] for n in chain], shifts)
    at = [chain.index(name) for name in names]
    covariance = found.covariance[0][np.ix_(at, at)]
    return found.mean[0, at], covariance + np.diag([UNCERTAINTY[name] ** 2 for name in names])


def runout_laws(causes, n):
    """The laws that n readings of the runout may follow, each with its weight."""
    movers = [RUNOUT[cause] for cause in causes if cause in RUNOUT]
    for state in product((False, True), repeat=len(movers)):
        weight, mean, variance = 1.0, 0.06, 0.03**2
        for (size, spread, chance), is_on in zip(movers, state, strict=True):
            weight *= chance if is_on else 1.0 - chance
            mean += size * is_on
            variance += spread**2 * is_on
        yield weight, np.full(n, mean), np.full((n, n), variance) + 0.02**2 * np.eye(n)


def density(mean, covariance, values):
    """Normal density of values, by the determinant and the inverse."""
    off = np.array(values) - mean
    power = -0.5 * off @ np.linalg.inv(covariance) @ off
    return exp(power) / sqrt((2.0 * pi) ** len(values) * np.linalg.det(covariance))


def joint_density(mean, covariance, spans):
    """Density of the values times the chance of at most one interval, given the values."""
    values = [i for i, (low, high) in enumerate(spans) if low == high]
    wide = [i for i, (low, high) in enumerate(spans) if low != high]
    at = np.array([spans[i][0] for i in values])
    whole = density(mean[values], covariance[np.ix_(values, values)], at) if values else 1.0
    if wide:
        (i,) = wide
        middle, variance = mean[i], covariance[i, i]
        if values:
            tied = covariance[i, values] @ np.linalg.inv(covariance[np.ix_(values, values)])
            middle = middle + tied @ (at - mean[values])
            variance = variance - tied @ covariance[values, i]
        low, high = ((end - middle) / sqrt(2.0 * variance) for end in spans[i])
        whole *= 0.5 * (erf(high) - erf(low))
    return whole


def likelihood(causes, names, spans, slip):
    """Chance of the readings under a set of causes: those on the chain, and those beside it."""
    chain = [i for i, name in enumerate(names) if name != "runout"]
    alone = [i for i, name in enumerate(names) if name == "runout"]
    whole = 1.0
    if chain:
        mine = [names[i] for i in chain]
        whole *= with_slips(*law(causes, mine), mine, [spans[i] for i in chain], slip)
    if alone:
        ends = [spans[i] for i in alone]
        whole *= sum(
            weight * with_slips(mean, covariance, ["runout"] * len(alone), ends, slip)
            for weight, mean, covariance in runout_laws(causes, len(alone))
        )
    return whole


def with_slips(mean, covariance, names, spans, slip):
    """Density of readings of which up to two may be slips, or all of them."""
    k = len(names)
    flat = [
        1.0 / RANGE[n] if low == high else (min(high, RANGE[n]) - max(low, 0.0)) / RANGE[n]
        for n, (low, high) in zip(names, spans, strict=True)
    ]
    total = 0.0
    for count in sorted({*range(min(k, 2) + 1), k}):
        for gone in combinations(range(k), count):
            left = [i for i in range(k) if i not in gone]
            rest = [spans[i] for i in left]
            term = joint_density(mean[left], covariance[np.ix_(left, left)], rest) if left else 1.0
            slips = prod(flat[i] for i in gone)
            total += slip**count * (1.0 - slip) ** (k - count) * slips * term
    return total


def by_hand(base, case, names, spans, ratios):
    """Chance of each cause by enumerating all sets."""
    network = assess(base, case).network
    masses = enumeration.joint(network.prior, network.q, network.leak, ratios)
    outsider = len(network.causes) - 1
    weighted = {}
    for causes, mass in masses.items():
        if causes:
            strange = outsider in causes
            slip = SLIP + MOVES * (1.0 - SLIP) if strange else SLIP
            known = [network.causes[c] for c in sorted(causes) if c != outsider]
            weighted[causes] = mass * likelihood(known, names, spans, slip)
    return weighted, network


CASES = {
    "one value": [("free", "14 mm")],
    "two that go together": [("free", "14 mm"), ("height", "50 mm")],
    "the whole chain and one beside it": [
        ("free", "12 mm"),
        ("height", "49 mm"),
        ("stroke", "15 mm"),
        ("runout", "0.4 mm"),
    ],
    "a fork that does not move": [("free", "would not move"), ("height", "45 mm")],
    "an interval": [("height", "47 to 52 mm"), ("free", "1/2 in")],
    "a band without a number": [("stroke", ""), ("height", "45 mm")],
    "one read three times": [("free", "14 mm; 15 mm; 13 mm"), ("runout", "0.05 mm")],
    "one of three lies far apart": [("free", "14 mm; 15 mm; 60 mm"), ("height", "45 mm")],
}
ENDS = {
    "would not move": [(-inf, 1.0)],
    "47 to 52 mm": [(47.0, 52.0)],
    "1/2 in": [(12.7, 12.7)],
    "": [(-inf, 18.0)],
    "14 mm; 15 mm; 13 mm": [(14.0, 14.0)],
    "14 mm; 15 mm; 60 mm": [(14.0, 14.0), (15.0, 15.0), (60.0, 60.0)],
}


@pytest.mark.parametrize("readings", CASES.values(), ids=CASES)
@pytest.mark.parametrize(
    "answers", [{}, {"sticks": "yes", "slips": "no"}, {"sticks": "yes", "nose": "probably"}]
)
def test_equality_with_enumeration(base, readings, answers):
    case = told(base, readings, **answers)
    names, spans = [], []
    for name, text in readings:
        ends = ENDS.get(text) or [(float(text.split()[0]),) * 2]
        together = ";" in text and len(ends) == 1
        names += [f"{name}, three times" if together else name] * len(ends)
        spans += ends
    network = assess(base, case).network
    ratio = {"yes": inf, "no": 0.0, "probably": 5.0}
    ratios = {
        network.finding_index["smell" if name == "nose" else name]: ratio[answer]
        for name, answer in answers.items()
    }
    weighted, network = by_hand(base, case, names, spans, ratios)
    found = assess(base, case)
    expected = enumeration.marginals(weighted, len(network.causes))
    assert found.marginals.left_out == 0.0
    assert found.marginals.cause == pytest.approx(expected, abs=1e-9)
    total = sum(weighted.values())
    for listed in found.found.sets:
        assert listed.p == pytest.approx(weighted[listed.causes] / total, abs=1e-9)


def test_fork_and_stack_are_told_apart_by_two_readings_together(base):
    """As much free travel is gone in both; the fingers say whether the stack took it."""
    kit = {"finger_height": "45 mm"}
    fork = told(base, [("free", "20 mm"), ("height", "45 mm")], sticks="yes").with_kit(kit)
    stack = told(base, [("free", "20 mm"), ("height", "50.7 mm")], sticks="yes").with_kit(kit)
    one, other = assess(base, fork), assess(base, stack)
    assert one.cause("spacer").p > 10.0 * one.cause("thin").p
    assert other.cause("thin").p > 10.0 * other.cause("spacer").p


def test_a_figure_of_the_sheet_makes_a_reading_tell_more(base):
    """Without the kit's figure, 50.7 mm may just be another kit's height."""
    case = told(base, [("height", "50.7 mm")], sticks="yes")
    vague, sharp = assess(base, case), assess(base, case.with_kit({"finger_height": "45 mm"}))
    same = assess(base, case.with_kit({"finger_height": "50.7 mm"}))
    assert same.cause("thin").p < vague.cause("thin").p < sharp.cause("thin").p


def test_findings_of_the_band_do_not_count_twice(base):
    found = assess(base, told(base, [("free", "14 mm")]))
    assert "little" not in found.situation.observed
    assert found.situation.keys == ("reading:free",)


def test_without_a_set_up_the_band_counts(base):
    case = told(base, [("free", "4 mm"), ("runout", "0.1 mm")]).model_copy(update={"setup": None})
    found = assess(base, case)
    assert set(found.situation.keys) == {"little", "reading:runout"}


def test_one_slip_does_not_decide(base):
    """The finger height is 10 mm off, everything else is right: a slip, not a stack."""
    right = [("free", "30.6 mm"), ("stroke", "19.6 mm"), ("runout", "0.05 mm")]
    good = assess(base, told(base, right, slips="yes"))
    off = assess(base, told(base, [*right, ("height", "85 mm")], slips="yes"))
    before = [c.id for c in good.causes if c.p > 0.1]
    assert [c.id for c in off.causes if c.p > 0.1] == before


def test_a_repair_of_what_moves_a_reading_makes_it_stale(base, tmp_path):
    more = make_base(
        tmp_path / "base",
        scale=SCALE,
        complaints={"sticks": {}, "slips": {}},
        findings={"little": {}},
        causes={name: {k: v for k, v in c.items() if k != "shows"} for name, c in CAUSES.items()},
        measurements=MEASUREMENTS,
        checks={
            f"read_{name}": {
                "gauge": name,
                "answers": {"low": {"little": "yes"}, "high": {"little": "no"}},
                "edges": [EDGES[name]],
            }
            for name in MEASUREMENTS
        },
        work={"bled": {"answers": {"bled": {"cures": {"air": 0.8}}}}},
    )
    before = told(more, [("free", "14 mm"), ("stroke", "12 mm")], sticks="yes")
    after = before.with_entry(Entry(work="bled", answer="bled", when="since"))
    found = assess(more, after)
    assert found.situation.stale >= {"reading:stroke"}
    assert "reading:free" not in found.situation.stale
    assert set(found.situation.keys) == {"sticks", "reading:free"}
    again = after.with_entry(Entry(check="read_stroke", answer="low", reading="12 mm"))
    assert "reading:stroke" in assess(more, again).situation.keys
    # A cylinder that still strokes too little was not cured by bleeding.
    assert assess(more, again).cause("air").p > found.cause("air").p
    # Nobody has driven yet: the old reading tells of the complaint, the new one of what is left.
    pending = before.with_entry(Entry(repair="air", answer=PENDING))
    found, plain = assess(more, pending), assess(more, before)
    assert found.cause("air").p == plain.cause("air").p
    assert found.situation.stale == {"reading:stroke"}
    retaken = pending.with_entry(Entry(check="read_stroke", answer="high", reading="19.6 mm"))
    situation = assess(more, retaken).situation
    assert [t.entry for t in situation.measured.taken] == [
        t.entry for t in plain.situation.measured.taken
    ]
    assert situation.after["little"].entry == 4
    assert "reading:stroke" not in situation.stale


class TestWhatAGaugeWouldShow:
    def outlook(self, base, readings):
        found = assess(base, told(base, readings))
        sets = [frozenset(), frozenset({found.network.cause_index["thin"]})]
        return Outlook(found.situation.measured, sets), base.checks["read_height"]

    def test_bands_are_chances(self, base):
        outlook, check = self.outlook(base, [("free", "25 mm")])
        rows = outlook.bands(check, base.measurements["height"])
        assert np.sum(rows, axis=0) == pytest.approx([1.0, 1.0])
        assert min(row.min() for row in rows) >= 0.0

    def test_they_follow_the_model_and_what_was_read(self, base):
        """The height's law given the free travel, by conditioning its joint law by hand."""
        outlook, check = self.outlook(base, [("free", "25 mm")])
        low, _ = outlook.bands(check, base.measurements["height"])
        for chance, causes in zip(low, ((), ("thin",)), strict=True):
            mean, covariance = law(causes, ["height", "free"])
            gain = covariance[0, 1] / covariance[1, 1]
            middle = mean[0] + gain * (25.0 - mean[1])
            deviation = sqrt(covariance[0, 0] - gain * covariance[0, 1])
            inside = 0.5 * (1.0 + erf((40.0 - middle) / (deviation * sqrt(2.0))))
            assert chance == pytest.approx((1.0 - SLIP) * inside + SLIP * 40.0 / 150.0)

    def test_what_is_not_known_may_move_it_anywhere(self, base):
        found = assess(base, told(base, []))
        outsider = frozenset({found.network.cause_index["unknown"]})
        outlook = Outlook(found.situation.measured, [frozenset(), outsider])
        low, high = outlook.bands(base.checks["read_runout"], base.measurements["runout"])
        assert low[0] > low[1] > 0.5
        assert high[1] == pytest.approx(1.0 - low[1])
