"""What a gauge that has not been read yet would show, for each set of causes.

On the chain it must be the conditional law of the joint one, so it is held against the ratio of two
joint likelihoods: that of the readings with the band as a further one, and without it.
"""

from math import erf, hypot, sqrt

import numpy as np
import pytest

from diagnose.assess import assess
from diagnose.case import Case, Entry
from diagnose.gauge import answer_for_reading, band, plausible_range
from diagnose.network import UNKNOWN
from diagnose.outlook import Outlook
from diagnose.physics.likelihood import Reading, log_likelihoods
from diagnose.physics.predict import Shift, predict
from diagnose.physics.presets import PRESETS
from diagnose.planning.advice import advise
from diagnose.system import system_of
from tests.small_bases import make_base

TWIN = "twin_external"
SLIP, MOVES = 0.02, 0.25
SHIFTS = {
    "thin": (Shift("stack_excess", -1.5, 0.6),),
    "spacer": (Shift("pivot_height", 6.35, 0.5),),
    "bore": (),
}
CAUSES = {
    "thin": {"stack_excess": (-1.5, 0.6)},
    "spacer": {"pivot_height": (6.35, 0.5)},
    "bore": {"runout": {"by": 0.3, "spread": 0.15, "chance": "often"}},
}
MEASUREMENTS = {
    "free": {"model": "fork_free_travel"},
    "height": {"model": "finger_height"},
    "stroke": {"model": "fork_tip_travel"},
    "runout": {
        "healthy": {"mean": "0.06 mm", "spread": "0.03 mm"},
        "plausible": ["0 mm", "5 mm"],
        "instruments": {"dial": {"name": "dial", "uncertainty": "0.02 mm"}},
    },
    "depth": {},
}
EDGES = {
    "free": ["10 mm", "25 mm"],
    "height": ["40 mm", "50 mm"],
    "stroke": ["12 mm", "20 mm"],
    "runout": ["0.1 mm", "0.3 mm"],
    "depth": ["1 mm", "2 mm"],
}


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    return make_base(
        tmp_path_factory.mktemp("base") / "base",
        scale={
            "mistyped": SLIP,
            "unknown": {"rate": 0.05, "brings": 0.1, "shows": 2.0, "moves": MOVES},
        },
        complaints={"sticks": {}},
        findings={"off": {}},
        causes={name: {"shifts": c, "brings": {"sticks": 0.5}} for name, c in CAUSES.items()},
        measurements=MEASUREMENTS,
        checks={
            f"read_{name}": {
                "gauge": name,
                "answers": {"low": {"off": "yes"}, "middle": {"off": "no"}, "high": {"off": "yes"}},
                "edges": list(edges),
            }
            for name, edges in EDGES.items()
        },
    )


def told(base, readings):
    entries = []
    for name, text in readings.items():
        answer = answer_for_reading(base, base.checks[f"read_{name}"], text)
        entries.append(Entry(check=f"read_{name}", answer=answer.id, reading=text))
    return assess(base, Case(setup=TWIN, entries=tuple(entries)))


SETS = ((), ("thin",), ("spacer",), ("thin", "spacer"), ("bore",), (UNKNOWN,), ("thin", UNKNOWN))


def outlook(found, sets=SETS):
    index = found.network.cause_index
    return Outlook(found.situation.measured, [frozenset(index[c] for c in s) for s in sets])


def bands(base, found, name, sets=SETS):
    return outlook(found, sets).bands(base.checks[f"read_{name}"], base.measurements[name])


def slip_or(chance, answer, base, name, causes):
    """A chance that holds if the reading is no slip, and otherwise a share of all readings."""
    astray = SLIP + (1.0 - SLIP) * MOVES * (UNKNOWN in causes)
    low, high = plausible_range(base.measurements[name])
    span = band(base.measurements[name], answer)
    flat = (min(span.high, high) - max(span.low, low)) / (high - low)
    return (1.0 - astray) * chance + astray * flat


READINGS = [
    {},
    {"free": "22 mm"},
    {"free": "22 mm", "height": "48 mm"},
    {"stroke": "14 mm; 15 mm", "height": "48 mm"},
]


@pytest.mark.parametrize("readings", READINGS, ids=["nothing", "one", "two", "repeats"])
@pytest.mark.parametrize("name", ["free", "height", "stroke"])
def test_it_is_what_the_readings_so_far_leave(base, readings, name):
    found = told(base, readings)
    taken = found.situation.measured.readings
    model = MEASUREMENTS[name]["model"]
    names = tuple(dict.fromkeys((model, *(r.observable for r in taken))))
    rows = bands(base, found, name)
    for i, causes in enumerate(SETS):
        shifts = [s for c in causes if c != UNKNOWN for s in SHIFTS[c]]
        law = predict(system_of(found.case), names, shifts)
        before = log_likelihoods(law, taken)[0]
        for row, answer in zip(rows, base.checks[f"read_{name}"].answers, strict=True):
            span = band(base.measurements[name], answer)
            more = Reading(model, span.low, span.high, 1.0, (0.0, 150.0))
            after = log_likelihoods(law, (*taken, more))[0]
            chance = float(np.exp(after - before))
            assert row[i] == pytest.approx(slip_or(chance, answer, base, name, causes), abs=1e-9)


def test_what_stands_alone_follows_its_laws_however_much_was_read(base):
    def below(edge, mean, deviation):
        return 0.5 * (1.0 + erf((edge - mean) / deviation / sqrt(2.0)))

    healthy = below(0.1, 0.06, hypot(0.03, 0.02))
    moved = below(0.1, 0.36, hypot(0.03, 0.15, 0.02))
    for readings in ({}, {"free": "22 mm"}, {"runout": "0.5 mm"}):
        low, _, _ = bands(base, told(base, readings), "runout")
        first = base.checks["read_runout"].answers[0]
        expected = {(): healthy, ("thin",): healthy, ("bore",): 0.5 * healthy + 0.5 * moved}
        for causes, chance in expected.items():
            wanted = slip_or(chance, first, base, "runout", causes)
            assert low[SETS.index(causes)] == pytest.approx(wanted)


def test_a_range_that_was_read_is_left_out(base):
    plain, wide = told(base, {}), told(base, {"height": "47 to 52 mm"})
    assert np.array(bands(base, plain, "free")) == pytest.approx(
        np.array(bands(base, wide, "free"))
    )


def test_what_nothing_predicts(base):
    found = outlook(told(base, {}))
    assert found.predicts(base.measurements["free"])
    assert not found.predicts(base.measurements["depth"])


@pytest.mark.parametrize("setup", PRESETS)
def test_the_answers_of_every_shipped_gauge_share_one_whole(knowledge, setup):
    case = Case(setup=setup, facts=knowledge.setups[setup].facts)
    found = assess(knowledge, case)
    names = [frozenset({found.network.cause_index[c.id]}) for c in found.causes]
    foreseen = Outlook(found.situation.measured, [frozenset(), *names])
    looked_at = 0
    for check in knowledge.checks.values():
        if check.gauge and foreseen.predicts(knowledge.measurements[check.gauge]):
            rows = np.array(foreseen.bands(check, knowledge.measurements[check.gauge]))
            assert rows.min() >= 0.0
            assert rows.sum(axis=0) == pytest.approx(np.ones(rows.shape[1]))
            looked_at += 1
    assert looked_at >= 12


def test_advice_counts_on_what_a_gauge_will_tell(knowledge):
    """Where the clutch bites is the cheapest thing to read of one that does not release."""
    facts = knowledge.setups[TWIN].facts
    case = Case(setup=TWIN, facts=facts, entries=(Entry(complaint="no_release", answer="yes"),))
    options = {option.id: option for option in advise(assess(knowledge, case)).options}
    assert options["bite_point"].gain > 0.0
