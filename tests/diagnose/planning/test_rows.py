"""The belief as rows: which causes have to be put right before the complaint is gone."""

from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.aftermath import left_now
from diagnose.assess import assess
from diagnose.case import PENDING, STILL_THERE, Case, Entry
from diagnose.network import UNKNOWN
from diagnose.planning.rows import rows_of
from tests.small_bases import make_base

DRAGS = Entry(complaint="drags", answer="yes")
SLIPS = Entry(complaint="slips", answer="yes")
WET = Entry(check="look_wet", answer="yes")


def cured(p):
    return {"cures": {"p": p, "source": "judgement"}}


CAUSES = {
    "air": {
        "rate": 0.3,
        "brings": {"drags": 0.8},
        "shows": {"spongy": 0.9},
        "repair": cured(1.0),
    },
    "leak": {
        "rate": 0.2,
        "brings": {"drags": 0.6},
        "shows": {"wet": 0.9},
        "repair": cured(0.75),
    },
    "disc": {
        "rate": 0.2,
        "brings": {"slips": 0.8},
        "shows": {"glazed": 0.9},
        "repair": cured(1.0),
    },
    "stain": {
        "rate": 0.2,
        "brings": {"judders": 0.5},
        "shows": {"wet": 0.9},
        "repair": cured(1.0),
    },
}
FINDINGS = ("spongy", "wet", "glazed")
answers = st.dictionaries(
    st.sampled_from(FINDINGS), st.sampled_from(["yes", "probably", "probably not", "no"])
)


@pytest.fixture(scope="module")
def base():
    """Two causes of dragging, one of slipping, and one that only looks like a leak."""
    with TemporaryDirectory() as folder:
        return make_base(
            Path(folder),
            complaints={"drags": {}, "slips": {}, "judders": {}},
            findings={name: {} for name in FINDINGS},
            causes=CAUSES,
            checks={f"look_{name}": {"finding": name} for name in FINDINGS},
        )


def read(base, *entries, sets=300):
    return assess(base, Case(entries=entries), sets=sets)


def told(answered):
    return [Entry(check=f"look_{name}", answer=a) for name, a in answered.items()]


def by_name(assessment, rows):
    """Chance of each (present, needed) pair of sets of cause ids; without the well row."""
    names = np.array(assessment.network.causes)
    found = {}
    for weight, needs, causes in zip(rows.weights, rows.needs, rows.sets, strict=True):
        key = frozenset(names[list(causes)].tolist()), frozenset(names[needs].tolist())
        found[key] = found.get(key, 0.0) + float(weight)
    return found


def needed(assessment, rows):
    """Chance that each cause has to be put right, by id."""
    chance = rows.weights @ rows.needs
    return dict(zip(assessment.network.causes, chance.tolist(), strict=True))


class TestRows:
    @settings(max_examples=15)
    @given(answers, st.lists(st.sampled_from([DRAGS, SLIPS]), min_size=1, unique=True))
    def test_the_weights_sum_to_one_and_only_the_last_row_needs_nothing(
        self, base, answered, complaints
    ):
        rows = rows_of(read(base, *complaints, *told(answered)))
        assert rows.weights.sum() == pytest.approx(1.0)
        assert (rows.weights >= 0.0).all()
        assert rows.needs[:-1].any(axis=1).all()
        assert not rows.needs[-1].any()
        assert rows.sets[-1] == frozenset()

    @settings(max_examples=15)
    @given(answers)
    def test_what_is_needed_is_present(self, base, answered):
        """But for a complaint that none of the causes brings: that is laid on the unknown."""
        found = read(base, DRAGS, SLIPS, *told(answered))
        for present, needs in by_name(found, rows_of(found)):
            assert needs - {UNKNOWN} <= present

    @settings(max_examples=15)
    @given(answers)
    def test_weighed_together_the_sets_hold_the_chances_of_the_assessment(self, base, answered):
        """Within what is not listed one by one."""
        found = read(base, DRAGS, *told(answered))
        rows = rows_of(found)
        assert rows.listed == found.found.covered
        chance = np.zeros(len(found.network.causes))
        for weight, causes in zip(rows.weights, rows.sets, strict=True):
            chance[list(causes)] += weight
        missing = 1.0 - rows.listed + 1e-4
        assert chance == pytest.approx(np.array(found.marginals.cause), abs=missing)

    def test_of_many_sets_that_are_not_listed_the_causes_stay(self, base):
        """Only three sets are listed; what is left lies on single causes, as it is behind it."""
        few, all_of_them = (read(base, DRAGS, sets=n) for n in (3, 300))
        rows = rows_of(few)
        assert rows.listed < 0.95
        assert rows.weights.sum() == pytest.approx(1.0)
        mine, whole = needed(few, rows), needed(all_of_them, rows_of(all_of_them))
        for cause in ("air", "leak"):
            assert mine[cause] == pytest.approx(whole[cause], abs=1.0 - rows.listed)
            assert mine[cause] > 0.05

    @settings(max_examples=15)
    @given(answers)
    def test_taking_a_needed_cause_away_leaves_the_row_without_it(self, base, answered):
        found = read(base, DRAGS, SLIPS, *told(answered))
        rows = rows_of(found)
        for row, cause in np.argwhere(rows.needs).tolist():
            left = rows.rest[row, cause]
            without = rows.needs[row].copy()
            without[cause] = False
            assert rows.needs[left].tolist() == without.tolist()
            if without.any():
                assert rows.sets[left] == rows.sets[row] - {cause}
        others = np.argwhere(~rows.needs)
        assert (rows.rest[tuple(others.T)] == others[:, 0]).all()

    def test_findings_are_there_as_often_as_the_causes_of_a_row_bring_them(self, base):
        found = read(base, DRAGS)
        rows, network = rows_of(found), found.network
        for on, causes in zip(rows.on, rows.sets, strict=True):
            missed = (1.0 - network.leak) * np.prod(1.0 - network.q[list(causes)], axis=0)
            assert on == pytest.approx(1.0 - missed)


class TestWhatIsNeeded:
    def test_what_the_driver_would_not_notice_is_not_needed(self, base):
        """A stain is there in one of four, but it never makes a clutch drag."""
        spongy = Entry(check="look_spongy", answer="yes")
        found = read(base, DRAGS, WET, spongy, Entry(complaint="judders", answer="no"))
        need = needed(found, rows_of(found))
        assert found.cause("stain").p > 0.25
        assert need["stain"] < 0.01
        assert need["air"] > 0.7

    def test_it_is_once_the_driver_complains_of_it(self, base):
        found = read(base, DRAGS, WET, Entry(complaint="judders", answer="yes"))
        assert needed(found, rows_of(found))["stain"] > 0.8

    def test_two_complaints_may_need_two_causes(self, base):
        """Nothing brings both, so where two are present both have to be put right."""
        found = read(base, DRAGS, SLIPS, *told({"spongy": "yes", "glazed": "yes", "wet": "no"}))
        rows = rows_of(found)
        both = by_name(found, rows)[frozenset({"air", "disc"}), frozenset({"air", "disc"})]
        assert both > 0.8

    def test_either_of_two_that_bring_one_complaint_may_be_behind_it(self, base):
        """Air brings it in 80 of 100, a leak in 60: both, just the one or just the other."""
        found = read(base, DRAGS, *told({"spongy": "yes", "wet": "yes"}))
        rows, pair = rows_of(found), frozenset({"air", "leak"})
        mine = by_name(found, rows)
        shares = [mine[pair, frozenset(n)] for n in (pair, {"air"}, {"leak"})]
        expected = np.array([0.8 * 0.6, 0.8 * 0.4, 0.2 * 0.6])
        leak = 0.2 * 0.4 * 0.02
        assert np.array(shares) / sum(shares) == pytest.approx(expected / expected.sum(), abs=leak)


class TestPendingRepairs:
    def test_what_they_may_have_cured_is_the_chance_of_a_vehicle_that_is_well(self, base):
        """Against what is left of all sets (`diagnose.aftermath`): cured in 75 of 100."""
        before = read(base, DRAGS, *told({"wet": "yes", "spongy": "no"}))
        after = read(
            base,
            DRAGS,
            *told({"wet": "yes", "spongy": "no"}),
            Entry(repair="leak", answer=PENDING),
        )
        rows = rows_of(after)
        left = {s.causes: s.p for s in left_now(after.network, after.situation, after.found.sets)}
        behind = needed(before, rows_of(before))["leak"]
        assert rows.weights[-1] > left.get(frozenset(), 0.0) - 1e-9
        assert rows.weights[-1] == pytest.approx(0.75 * behind, abs=0.01)
        assert needed(after, rows)["leak"] == pytest.approx(0.25 * behind, abs=0.01)

    @pytest.mark.parametrize("tried", [(), (Entry(repair="leak", answer=STILL_THERE),)])
    def test_without_one_or_after_a_drive_in_vain_no_vehicle_is_well(self, base, tried):
        assert rows_of(read(base, DRAGS, WET, *tried)).weights[-1] == 0.0

    def test_a_sure_repair_leaves_nothing_of_its_cause(self, base):
        mended = Entry(repair="air", answer=PENDING)
        found = read(base, DRAGS, *told({"spongy": "yes"}), mended)
        assert needed(found, rows_of(found))["air"] == pytest.approx(0.0, abs=1e-9)

    def test_with_few_sets_listed_the_others_are_cured_as_often(self, base):
        mended = Entry(repair="air", answer=PENDING)
        few, whole = (read(base, DRAGS, mended, sets=n) for n in (2, 300))
        assert needed(few, rows_of(few))["air"] == pytest.approx(0.0, abs=1e-9)
        well = rows_of(whole).weights[-1]
        assert rows_of(few).weights[-1] == pytest.approx(well, abs=1.0 - rows_of(few).listed)
