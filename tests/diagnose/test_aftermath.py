"""What pending repairs leave: against plain enumeration over both times."""

from dataclasses import replace
from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.aftermath import left_now
from diagnose.assess import assess, run
from diagnose.case import PENDING, STILL_THERE, Case, Entry
from diagnose.evidence import likelihood_ratios, read_case
from diagnose.fault_sets import FaultSet, best_sets
from diagnose.mending import TELLING, cures_of
from diagnose.network import compile_network
from tests.diagnose.oracles import enumeration
from tests.small_bases import make_base
from tests.strategies import groups_for, networks

CAUSES = ("air", "leak", "fork", "pivot")
FINDINGS = ("spongy", "wet", "grooved", "flat")
COMPLAINT = Entry(complaint="drags", answer="yes")
BLEEDING = Entry(repair="air", answer=PENDING)
SPONGY = Entry(check="look_spongy", answer="yes")
FIRM = Entry(check="look_spongy", answer="no")


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    """Four causes with a sign each, and a complaint; two pieces of work cure two of them."""
    return make_base(
        tmp_path_factory.mktemp("bases") / "aftermath",
        complaints={"drags": {}},
        findings={name: {} for name in FINDINGS},
        causes={
            cause: {
                "brings": {"drags": 0.6},
                "shows": {finding: 0.8},
                "repair": {"cures": {"p": 0.75, "source": "judgement"}},
            }
            for cause, finding in zip(CAUSES, FINDINGS, strict=True)
        },
        checks={f"look_{name}": {"finding": name} for name in FINDINGS},
        work={
            "fork_job": {"answers": {"new": {"cures": {"fork": 0.9, "pivot": 0.5}}}},
            "hose": {"answers": {"new": {"cures": {"leak": 0.6, "pivot": 0.5}}}},
        },
    )


@pytest.fixture(scope="module")
def network(base):
    return compile_network(base, {})


def left(base, *entries):
    """Chance of each set of causes (ids) that may be there now; all sets are listed."""
    found = assess(base, Case(entries=entries))
    network = found.network
    sets = best_sets(
        found.marginals.messages, found.situation.modes.present, limit=64, mass=2.0, floor=0.0
    )
    now = left_now(network, found.situation, sets.sets)
    assert sum(s.p for s in now) == pytest.approx(sets.covered)
    return {frozenset(network.causes[i] for i in s.causes): s.p for s in now}


def chance(left_sets, cause):
    return sum(p for causes, p in left_sets.items() if cause in causes)


def test_without_a_pending_repair_nothing_changes(base):
    sets = (FaultSet(frozenset({0}), 0.7), FaultSet(frozenset({1, 2}), 0.2))
    found = assess(base, Case(entries=(COMPLAINT, SPONGY)))
    assert left_now(found.network, found.situation, sets) == sets


def test_a_repair_takes_its_cause_away_with_its_chance_of_cure(base):
    before = left(base, COMPLAINT, SPONGY)
    after = left(base, COMPLAINT, SPONGY, BLEEDING)
    alone = before[frozenset({"air"})]
    assert after[frozenset()] == pytest.approx(0.75 * alone)
    assert chance(after, "air") == pytest.approx(0.25 * chance(before, "air"))
    assert chance(after, "fork") == pytest.approx(chance(before, "fork"))


def test_several_repairs_before_one_drive_work_each_for_itself(base):
    before = left(base, COMPLAINT, SPONGY)
    both = (BLEEDING, Entry(repair="fork", answer=PENDING))
    after = left(base, COMPLAINT, SPONGY, *both)
    assert chance(after, "air") == pytest.approx(0.25 * chance(before, "air"))
    assert chance(after, "fork") == pytest.approx(0.25 * chance(before, "fork"))
    assert chance(after, "pivot") == pytest.approx(0.5 * chance(before, "pivot"))


def test_a_sign_that_is_gone_says_that_the_repair_helped(base):
    """By hand, for the cause alone: 0.75 x (1 - leak) against 0.25 x (1 - leak) x (1 - 0.8)."""
    blind = left(base, COMPLAINT, SPONGY, BLEEDING)
    firm = left(base, COMPLAINT, SPONGY, BLEEDING, FIRM)
    still = left(base, COMPLAINT, SPONGY, BLEEDING, SPONGY)
    gone, alone = frozenset(), frozenset({"air"})
    assert firm[gone] / firm[alone] == pytest.approx(0.75 / (0.25 * 0.2))
    assert firm[gone] > blind[gone] > still[gone]
    assert chance(firm, "air") < chance(blind, "air") < chance(still, "air")


def test_what_was_seen_before_the_repair_still_counts_for_what_the_complaint_tells_of(base):
    found = assess(base, Case(entries=(COMPLAINT, SPONGY, BLEEDING, FIRM)))
    plain = assess(base, Case(entries=(COMPLAINT, SPONGY)))
    assert found.cause("air").p == pytest.approx(plain.cause("air").p)
    assert found.situation.observed["spongy"].entry == 1
    assert found.situation.after["spongy"].entry == 3


@given(st.data())
def test_any_timeline_equals_enumeration(network, base, data):
    net = data.draw(networks(causes=(4, 4), findings=(5, 5)))
    groups = data.draw(st.one_of(st.just(()), groups_for(net)))
    drawn = replace(
        network,
        causes=(*CAUSES, "unknown"),
        findings=(*FINDINGS, "drags"),
        prior=np.append(net.prior, 0.05),
        q=np.vstack((net.q, np.full(5, 0.1))),
        leak=net.leak,
        groups=groups,
    )
    entries = data.draw(timelines(net.ratios))
    situation = read_case(drawn, Case(entries=entries))
    marginals = run(drawn, situation)
    told, cures, driven, pending_at = as_told(base, drawn, entries)
    together = {s: row for group in groups for s, row in group.together.items()}
    counted = [row for row in told if row[3]]
    for rows, whole in ((counted, False), (told, True)):
        masses = enumeration.joint_over_time(
            drawn.prior, drawn.q, drawn.leak, [r[:3] for r in rows], cures, driven, together
        )
        masses = {key: mass for key, mass in masses.items() if key[0]}
        total = sum(masses.values())
        if not whole:
            expected = [
                sum(m for (then, _), m in masses.items() if c in then) / total for c in range(5)
            ]
            assert marginals.cause == pytest.approx(expected, abs=1e-9)
    by_now: dict = {}
    for (_, now), mass in masses.items():
        by_now[now] = by_now.get(now, 0.0) + mass / total
    found = best_sets(marginals.messages, situation.modes.present, limit=1000, mass=2.0, floor=0.0)
    listed = {s.causes: s.p for s in left_now(drawn, situation, found.sets)}
    for causes, p in by_now.items():
        assert listed.get(causes, 0.0) == pytest.approx(p, abs=1e-8)
    assert [i for i, _ in situation.pending] == pending_at


@st.composite
def timelines(draw, ratios):
    """Answers and driven repairs in any order; then pending repairs with answers between them."""
    words = {inf: "yes", 0.0: "no", 5.0: "probably", 0.2: "probably not"}
    first = [
        Entry(
            answer=words.get(ratio, "can't tell"),
            **({"complaint": "drags"} if f == 4 else {"check": f"look_{FINDINGS[f]}"}),
        )
        for f, ratio in ratios.items()
    ]
    done = st.lists(st.sampled_from(CAUSES), max_size=1)
    first += [Entry(repair=cause, answer=STILL_THERE) for cause in draw(done)]
    entries = list(draw(st.permutations(first)))
    for cause in draw(st.lists(st.sampled_from(CAUSES), max_size=2, unique=True)):
        entries.append(Entry(repair=cause, answer=PENDING))
        looks = st.lists(st.sampled_from(FINDINGS), max_size=2, unique=True)
        answers = st.sampled_from(["yes", "no", "probably", "probably not"])
        entries += [Entry(check=f"look_{f}", answer=draw(answers)) for f in draw(looks)]
    return tuple(entries)


def as_told(base, network, entries):
    """Tell what the oracle needs: answers, cures in order, how many were driven, what is pending.

    An answer is (finding, ratio, repairs before it, whether it counts for what was there then).
    """
    cures, pending_at = [], []
    told: dict = {}
    for i, entry in enumerate(entries):
        if entry.repair is not None:
            cures.append(
                {network.cause_index[c]: p for c, p in cures_of(base, entry.repair).items()}
            )
            pending_at += [i] if entry.is_pending else []
            continue
        for name, ratio in likelihood_ratios(base, entry).items():
            f = network.finding_index[name]
            told.setdefault(f, []).append((ratio, len(cures)))
    driven = len(cures) - len(pending_at)
    rows = []
    for f, answers in told.items():
        if network.findings[f] == "drags":
            rows.append((f, answers[-1][0], driven, True))
            continue
        rows += _kept(network, f, answers, cures, driven)
    return rows, cures, driven, pending_at


def _kept(network, f, answers, cures, driven):
    """Which answers about one finding count, and which of them for the earlier time."""
    then = now = None

    def touched(old, new):
        between = cures[max(old[1], driven) : new[1]]
        return any(network.q[c, f] >= TELLING for repair in between for c in repair)

    for answer in answers:
        old = now or then
        sure = answer[0] in {0.0, inf}
        hint = old is not None and not sure and old[0] in {0.0, inf}
        if hint and not (old[1] < min(answer[1], driven)) and not touched(old, answer):
            continue
        if answer[1] > driven:
            now = answer
        if then is None or not touched(then, answer):
            then = answer
    rows = [(f, *then, True)]
    if now is not None and now != then:
        rows.append((f, *now, False))
    return rows
