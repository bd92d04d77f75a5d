"""What a timeline means: grades, choices, work at the job, repairs since, and what goes stale."""

from dataclasses import replace
from math import inf, log
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.assess import run
from diagnose.case import PENDING, STILL_THERE, Case, Entry
from diagnose.errors import UnknownIdError
from diagnose.evidence import MISTAKEN, likelihood_ratios, read_case
from diagnose.fault_sets import best_sets
from diagnose.mending import repairs_in
from diagnose.network import compile_network
from tests.diagnose.oracles import enumeration
from tests.small_bases import make_base
from tests.strategies import groups_for, networks

CAUSES = ("air", "leak", "fork", "pivot")
FINDINGS = ("spongy", "wet", "grooved", "flat")


@pytest.fixture(scope="module")
def base():
    """Four causes with a sign each, a complaint, and work on each of them."""
    with TemporaryDirectory() as folder:
        return make_base(
            Path(folder),
            complaints={"drags": {}},
            findings={name: {} for name in FINDINGS},
            causes={
                cause: {"brings": {"drags": 0.6}, "shows": {finding: 0.8}}
                for cause, finding in zip(CAUSES, FINDINGS, strict=True)
            },
            checks={
                **{f"look_{name}": {"finding": name} for name in FINDINGS},
                "walk_round": {
                    "answers": {
                        "dry": {"wet": "no", "spongy": "probably not"},
                        "damp": {"wet": "probably"},
                        "pool": {"wet": "yes", "spongy": "probably"},
                    }
                },
            },
            work={
                "bled": {
                    "answers": {
                        "well": {
                            "changes": {"air": "less likely"},
                            "cures": {"air": 0.75},
                        },
                        "badly": {"changes": {"air": "likelier"}},
                        "properly": {"changes": {"air": "ruled out"}},
                    }
                },
                "fork_job": {"answers": {"new": {"cures": {"fork": 0.9, "pivot": 0.5}}}},
                "hose": {"answers": {"new": {"cures": {"leak": 0.6, "air": 0.5}}}},
            },
        )


@pytest.fixture(scope="module")
def network(base):
    return compile_network(base, {})


def said(answer, **subject):
    return Entry(answer=answer, **subject)


def observed(network, *entries):
    situation = read_case(network, Case(entries=entries))
    return {name: seen.ratio for name, seen in situation.observed.items()}


def chances(network, *entries):
    marginals = run(network, read_case(network, Case(entries=entries)))
    return dict(zip(network.causes, marginals.cause, strict=True))


class TestGrades:
    GRADES = (("yes", inf), ("probably", 5.0), ("probably not", 0.2), ("no", 0.0))

    @pytest.mark.parametrize(("answer", "ratio"), GRADES)
    def test_a_check_of_one_finding(self, base, answer, ratio):
        entry = said(answer, check="look_wet")
        assert likelihood_ratios(base, entry) == {"wet": ratio}

    @pytest.mark.parametrize(("answer", "ratio"), GRADES)
    def test_a_complaint(self, base, answer, ratio):
        assert likelihood_ratios(base, said(answer, complaint="drags")) == {"drags": ratio}

    @pytest.mark.parametrize("answer", ["can't tell", "could not check", "don't know"])
    @pytest.mark.parametrize(
        "subject", [{"check": "look_wet"}, {"complaint": "drags"}, {"check": "walk_round"}]
    )
    def test_no_answer_is_no_evidence(self, network, answer, subject):
        assert observed(network, said(answer, **subject)) == {}
        assert chances(network, said(answer, **subject)) == chances(network)

    @pytest.mark.parametrize(
        ("answer", "expected"),
        [
            ("dry", {"wet": 0.0, "spongy": 0.2}),
            ("damp", {"wet": 5.0}),
            ("pool", {"wet": inf, "spongy": 5.0}),
        ],
    )
    def test_a_choice_reads_several_findings(self, network, answer, expected):
        assert observed(network, said(answer, check="walk_round")) == expected

    def test_what_is_likelier_with_a_cause_makes_it_likelier(self, network):
        by_grade = [
            chances(network, said(answer, check="look_spongy"))["air"]
            for answer in ("no", "probably not", "can't tell", "probably", "yes")
        ]
        assert by_grade == sorted(by_grade)
        assert len(set(by_grade)) == 5


class TestUnknownNames:
    @pytest.mark.parametrize(
        "entry",
        [
            said("yes", complaint="squeals"),
            said("yes", check="look_up"),
            said("maybe", check="look_wet"),
            said("maybe", complaint="drags"),
            said("yes", check="walk_round"),
            said("well", work="painted"),
            said("twice", work="bled"),
        ],
    )
    def test_are_refused_by_name(self, network, entry):
        with pytest.raises(UnknownIdError) as refused:
            read_case(network, Case(entries=(entry,)))
        assert entry.subject[1] in str(refused.value)


class TestWorkAtTheJob:
    @pytest.mark.parametrize(
        ("answer", "factor"), [("badly", 3.0), ("well", 0.25), ("properly", 0.0)]
    )
    def test_changes_the_odds(self, network, answer, factor):
        situation = read_case(network, Case(entries=(said(answer, work="bled"),)))
        before = network.prior / (1.0 - network.prior)
        after = situation.prior / (1.0 - situation.prior)
        i = network.cause_index["air"]
        assert after[i] == pytest.approx(factor * before[i])
        assert np.delete(after, i) == pytest.approx(np.delete(before, i))

    def test_what_is_ruled_out_is_not_there_whatever_is_seen(self, network):
        found = chances(
            network, said("properly", work="bled"), said("probably", check="look_spongy")
        )
        assert found["air"] == 0.0

    def test_not_known_changes_nothing(self, network):
        assert chances(network, said("don't know", work="bled")) == chances(network)


class TestRepairsSince:
    def test_the_complaint_that_stays_speaks_against_what_was_repaired(self, network):
        complaint = said("yes", complaint="drags")
        repaired = Entry(work="bled", answer="well", when="since")
        assert (
            chances(network, complaint, repaired)["air"] < 0.5 * chances(network, complaint)["air"]
        )

    def test_it_does_not_matter_when_the_driver_complained(self, network):
        """A complaint is about now: the driver came back with it."""
        complaint = said("yes", complaint="drags")
        repaired = Entry(work="bled", answer="well", when="since")
        assert chances(network, complaint, repaired) == pytest.approx(
            chances(network, repaired, complaint)
        )

    def test_what_was_seen_before_is_stale_where_the_repair_touched_it(self, network):
        """By hand, for one cause: still there, or cured and explaining only the past."""
        seen = said("yes", check="look_spongy")
        repaired = Entry(work="bled", answer="well", when="since")
        before, after = chances(network, seen, repaired), chances(network, repaired, seen)
        assert before["air"] < after["air"]
        alone = ("air",)
        small = replace(
            network,
            causes=alone + network.causes[-1:],
            prior=np.array([0.2, 0.1]),
            q=network.q[[0, -1]],
            groups=(),
        )
        shows, leak = small.q[:, 1], small.leak[1]
        on = [1 - (1 - leak) * m for m in (1.0, 1 - shows[0], 1 - shows[1], np.prod(1 - shows))]
        stayed = 0.2 * 0.25 * (0.9 * on[1] + 0.1 * on[3])
        cured = 0.2 * 0.75 * 0.1 * on[3]  # with the unknown cause there now
        never = 0.8 * 0.1 * on[2]
        expected = stayed / (stayed + cured + never)
        assert chances(small, seen, repaired)["air"] == pytest.approx(expected, rel=1e-12)

    @given(st.data())
    def test_any_timeline_equals_enumeration(self, network, base, data):
        net = data.draw(networks(causes=(4, 4), findings=(5, 5)))
        groups = data.draw(st.one_of(st.just(()), groups_for(net)))
        self.compare(network, base, net, groups, data)

    def compare(self, network, base, net, groups, data):
        """The last finding is the complaint; priors, links and leaks are those drawn."""
        drawn = replace(
            network,
            causes=(*CAUSES, "unknown"),
            findings=(*FINDINGS, "drags"),
            prior=np.append(net.prior, 0.05),
            q=np.vstack((net.q, np.full(5, 0.1))),
            leak=net.leak,
            groups=groups,
        )
        entries = data.draw(st.permutations(self.entries(net.ratios, data)))
        situation = read_case(drawn, Case(entries=tuple(entries)))
        seen, repairs = self.as_told(base, drawn, entries)
        together = {s: row for group in groups for s, row in group.together.items()}
        masses = enumeration.without_nobody(
            enumeration.joint_with_cures(drawn.prior, drawn.q, drawn.leak, seen, repairs, together)
        )
        marginals = run(drawn, situation)
        assert marginals.cause == pytest.approx(enumeration.marginals(masses, 5), abs=1e-9)
        assert marginals.log_evidence == pytest.approx(log(sum(masses.values())), abs=1e-8)
        posterior = enumeration.posterior(masses)
        assert marginals.outsider == pytest.approx(posterior[frozenset({4})], abs=1e-9)
        for finding, share in marginals.unexplained.items():
            expected = enumeration.unexplained_with_cures(
                drawn.prior, drawn.q, drawn.leak, seen, repairs, finding, together
            )
            assert share == pytest.approx(expected, abs=1e-9)
        for limit in (1000, 3):
            found = best_sets(
                marginals.messages, situation.modes.present, limit=limit, mass=2.0, floor=0.0
            )
            expected = sorted((p for p in posterior.values() if p > 1e-12), reverse=True)[:limit]
            listed = [s.p for s in found.sets][: len(expected)]
            assert listed == pytest.approx(expected, abs=1e-9)
            for s in found.sets:
                assert s.p == pytest.approx(posterior[s.causes], abs=1e-9)

    @staticmethod
    def entries(ratios, data):
        answers = {inf: "yes", 0.0: "no", 5.0: "probably", 0.2: "probably not"}
        made = []
        for f, ratio in ratios.items():
            answer = answers.get(ratio, "can't tell")
            subject = {"complaint": "drags"} if f == 4 else {"check": f"look_{FINDINGS[f]}"}
            made.append(Entry(answer=answer, **subject))
        works = data.draw(st.lists(st.sampled_from(["bled", "fork_job", "hose"]), max_size=3))
        done = {"bled": "well", "fork_job": "new", "hose": "new"}
        return made + [Entry(work=work, answer=done[work], when="since") for work in works]

    @staticmethod
    def as_told(base, network, entries):
        repairs: list = []
        stamps = {}
        for entry in entries:
            if entry.work is None:
                for name, ratio in likelihood_ratios(base, entry).items():
                    stamps[name] = (ratio, len(repairs))
            else:
                answer = next(a for a in base.work[entry.work].answers if a.id == entry.answer)
                cures = {network.cause_index[c]: base.strength(s) for c, s in answer.cures.items()}
                repairs.append(cures)
        seen = {
            network.finding_index[name]: (ratio, len(repairs) if name == "drags" else done)
            for name, (ratio, done) in stamps.items()
        }
        return seen, repairs


@pytest.fixture(scope="module")
def same(tmp_path_factory):
    """A base in which the work cures just as surely as the repair."""
    base = make_base(
        tmp_path_factory.mktemp("bases") / "same",
        complaints={"drags": {}},
        findings={name: {} for name in FINDINGS},
        causes={
            cause: {
                "brings": {"drags": 0.6},
                "shows": {finding: 0.8},
                "repair": {"cures": {"p": 0.9, "source": "judgement"}},
            }
            for cause, finding in zip(CAUSES, FINDINGS, strict=True)
        },
        checks={f"look_{name}": {"finding": name} for name in FINDINGS},
        work={"fork_job": {"answers": {"new": {"cures": {"fork": 0.9, "pivot": 0.5}}}}},
    )
    return compile_network(base, {})


class TestRepairsAsEntries:
    """The surest work that cures air is bleeding, 0.75; the repair itself cures always, 0.97."""

    COMPLAINT = said("yes", complaint="drags")
    SPONGY = said("yes", check="look_spongy")
    PENDING = Entry(repair="fork", answer=PENDING)
    DRIVEN = Entry(repair="fork", answer=STILL_THERE)

    @pytest.mark.parametrize("place", [0, 1, 2, 3])
    def test_a_repair_that_did_not_help_counts_as_the_work_that_stands_for_it(self, same, place):
        entries = [self.COMPLAINT, said("yes", check="look_grooved"), self.SPONGY]
        work = Entry(work="fork_job", answer="new", when="since")
        as_repair, as_work = (
            read_case(same, Case(entries=(*entries[:place], entry, *entries[place:])))
            for entry in (self.DRIVEN, work)
        )
        assert as_repair.stale == as_work.stale
        assert as_repair.observed == as_work.observed
        assert run(same, as_repair).cause == pytest.approx(run(same, as_work).cause, abs=1e-12)

    @given(st.permutations([COMPLAINT, SPONGY, said("no", check="look_flat")]), st.data())
    def test_pending_repairs_change_nothing_of_what_was_seen_before(self, network, entries, data):
        causes = data.draw(st.lists(st.sampled_from(CAUSES), min_size=1, unique=True))
        pending = [Entry(repair=cause, answer=PENDING) for cause in causes]
        assert chances(network, *entries, *pending) == chances(network, *entries)

    def test_a_complaint_told_after_a_pending_repair_is_of_the_time_before_it(self, network):
        assert chances(network, self.PENDING, self.COMPLAINT) == chances(network, self.COMPLAINT)

    def test_the_planner_is_told_what_is_pending(self, network):
        case = Case(entries=(self.COMPLAINT, self.PENDING, self.DRIVEN))
        situation = read_case(network, case)
        fork, pivot = network.cause_index["fork"], network.cause_index["pivot"]
        assert situation.pending == ((1, {fork: 0.97, pivot: 0.5}),)
        assert read_case(network, Case(entries=(self.COMPLAINT, self.DRIVEN))).pending == ()

    def test_what_is_seen_only_after_it_is_turned_on_by_what_it_has_left(self, network):
        """By hand, for one cause and the unknown: cured, it explains the complaint and not this."""
        alone = ("air",)
        small = replace(
            network,
            causes=alone + network.causes[-1:],
            prior=np.array([0.2, 0.1]),
            q=network.q[[0, -1]],
            groups=(),
        )
        pending = Entry(repair="air", answer=PENDING)
        found = chances(small, self.COMPLAINT, pending, self.SPONGY)
        (brings, shows), (other, strange) = small.q[0, :2], small.q[1, :2]
        leak, late = small.leak[0], small.leak[1]
        told = {  # complaint, by (air, unknown)
            (a, u): 1 - (1 - leak) * (1 - brings) ** a * (1 - other) ** u
            for a in (0, 1)
            for u in (0, 1)
        }
        seen = {
            (a, u): 1 - (1 - late) * (1 - shows) ** a * (1 - strange) ** u
            for a in (0, 1)
            for u in (0, 1)
        }
        prior = {(a, u): (0.2 if a else 0.8) * (0.1 if u else 0.9) for a in (0, 1) for u in (0, 1)}
        mass = {
            (a, u): prior[a, u] * told[a, u] * (0.03 * seen[a, u] + 0.97 * seen[0, u])
            if a
            else prior[a, u] * told[a, u] * seen[a, u]
            for a, u in prior
            if a or u
        }
        expected = (mass[1, 0] + mass[1, 1]) / sum(mass.values())
        assert found["air"] == pytest.approx(expected, rel=1e-12)

    def test_a_sign_from_before_a_pending_repair_is_worth_another_look(self, network):
        grooved = said("yes", check="look_grooved")
        case = Case(entries=(self.COMPLAINT, grooved, self.SPONGY, self.PENDING))
        assert read_case(network, case).stale == {"grooved"}
        again = case.with_entry(said("no", check="look_grooved"))
        assert read_case(network, again).stale == set()

    def test_what_the_repair_can_not_have_changed_is_corrected_as_ever(self, network):
        firm = said("no", check="look_spongy")
        case = Case(entries=(self.COMPLAINT, self.SPONGY, self.PENDING)).with_entry(firm)
        situation = read_case(network, case)
        assert situation.observed["spongy"].ratio == 0.0


class TestFaultsThatWereSeen:
    COMPLAINT = said("yes", complaint="drags")

    def odds(self, network, *entries):
        p = chances(network, self.COMPLAINT, *entries)["air"]
        return p / (1.0 - p)

    def test_what_was_seen_when_it_was_put_right_was_there(self, network):
        """Whatever else is known, its odds rise by what a mistake is unlikely."""
        for told in ((), (said("no", check="look_spongy"),), (said("yes", check="look_wet"),)):
            done, seen = (Entry(repair="air", answer=PENDING, seen=s) for s in (False, True))
            ratio = self.odds(network, *told, seen) / self.odds(network, *told, done)
            assert ratio == pytest.approx(1.0 / MISTAKEN, rel=1e-9)
            again = self.odds(network, *told, seen, seen)
            assert again == pytest.approx(self.odds(network, *told, seen, done), rel=1e-9)

    def test_after_the_drive_it_is_there_if_the_repair_failed(self, network):
        """By hand, for one cause: still there, cured, or taken for faulty by mistake."""
        small = replace(
            network,
            causes=("air", network.causes[-1]),
            prior=np.array([0.2, 0.1]),
            q=network.q[[0, -1]],
            groups=(),
        )
        brings, leak = small.q[:, 0], small.leak[0]
        on = {
            (a, u): 1 - (1 - leak) * (1 - brings[0]) ** a * (1 - brings[1]) ** u
            for a in (0, 1)
            for u in (0, 1)
        }
        driven = Entry(repair="air", answer=STILL_THERE, seen=True)
        ((_, cures),) = [
            (r.entry, r.cures) for r in repairs_in(small, Case(entries=(driven,))).every
        ]
        stayed = 0.2 * (1 - cures[0]) * (0.9 * on[1, 0] + 0.1 * on[1, 1])
        cured = 0.2 * cures[0] * 0.1 * on[0, 1]  # with the unknown cause there now
        never = 0.8 * MISTAKEN * 0.1 * on[0, 1]
        expected = stayed / (stayed + cured + never)
        found = chances(small, self.COMPLAINT, driven)["air"]
        assert found == pytest.approx(expected, rel=1e-12)


class TestStaleness:
    BLED = Entry(work="bled", answer="well", when="since")

    def stale(self, network, *entries):
        return read_case(network, Case(entries=entries)).stale

    def test_what_the_repaired_cause_shows(self, network):
        entries = (said("yes", check="look_spongy"), said("no", check="look_wet"), self.BLED)
        assert self.stale(network, *entries) == {"spongy"}

    def test_not_what_was_seen_after_it(self, network):
        again = said("no", check="look_spongy")
        assert self.stale(network, said("yes", check="look_spongy"), self.BLED, again) == set()

    def test_not_the_complaint_nor_what_was_not_seen(self, network):
        assert self.stale(network, said("yes", complaint="drags"), self.BLED) == set()

    def test_not_what_tells_how_it_came_about(self, network, knowledge):
        seen = said("yes", check="look_spongy")
        assert self.stale(network, seen, self.BLED) == {"spongy"}
        findings = dict(network.base.findings)
        findings["spongy"] = findings["spongy"].model_copy(update={"past": True})
        past = replace(network, base=replace(network.base, findings=findings))
        assert self.stale(past, seen, self.BLED) == set()
        told = {name for name, finding in knowledge.findings.items() if finding.past}
        assert {"there_from_first_drive", "came_on_later"} <= told

    def test_not_by_work_at_the_job(self, network):
        entries = (said("yes", check="look_spongy"), said("well", work="bled"))
        assert self.stale(network, *entries) == set()


class TestTimeline:
    ENTRIES = (
        said("yes", complaint="drags"),
        said("probably", check="look_spongy"),
        said("no", check="look_wet"),
        said("badly", work="bled"),
        said("probably not", check="look_grooved"),
    )

    @given(st.permutations(ENTRIES))
    def test_the_order_of_evidence_is_irrelevant(self, network, entries):
        assert chances(network, *entries) == pytest.approx(chances(network, *self.ENTRIES))

    def test_a_changed_answer_counts_as_if_it_had_been_the_first(self, network):
        case = Case(entries=self.ENTRIES)
        changed = case.with_entry(said("yes", check="look_wet"))
        assert len(changed.entries) == len(case.entries)
        straight = [
            said("yes", check="look_wet") if e.check == "look_wet" else e for e in self.ENTRIES
        ]
        assert chances(network, *changed.entries) == chances(network, *straight)

    def test_an_answer_taken_back_leaves_no_trace(self, network):
        case = Case(entries=self.ENTRIES[:2])
        back = case.with_entry(said("yes", check="look_flat")).without(("check", "look_flat"))
        assert back == case

    def test_the_answer_after_a_repair_is_a_new_one(self, network):
        repaired = Entry(work="bled", answer="well", when="since")
        case = Case(entries=(said("yes", check="look_spongy"), repaired))
        again = case.with_entry(said("no", check="look_spongy"))
        assert len(again.entries) == 3
        assert observed(network, *again.entries) == {"spongy": 0.0}

    def test_work_at_the_job_is_corrected_in_place_even_after_a_repair(self, network):
        case = Case(
            entries=(said("badly", work="bled"), Entry(work="hose", answer="new", when="since"))
        )
        corrected = case.with_entry(said("well", work="bled"))
        assert [e.answer for e in corrected.entries] == ["well", "new"]

    def test_work_since_does_not_replace_the_same_work_at_the_job(self, network):
        case = Case(entries=(said("badly", work="bled"),))
        again = case.with_entry(Entry(work="bled", answer="well", when="since"))
        assert [(e.when, e.answer) for e in again.entries] == [("job", "badly"), ("since", "well")]


def test_a_hint_does_not_unsay_what_was_sure(knowledge):
    network = compile_network(knowledge, {})
    sure = Entry(check="fingers_straightedge", answer="right")
    hint = Entry(check="fingers_through_window", answer="uneven")
    soft = Entry(check="finger_spread", answer="marginal")
    repair = Entry(work="cover_work", answer="new", when="since")

    def ratio(*entries):
        return read_case(network, Case(entries=entries)).observed["fingers_uneven"].ratio

    assert ratio(sure, soft) == 0.0
    assert ratio(soft, sure) == 0.0
    assert ratio(sure, hint) == inf  # as sure, and later
    assert ratio(sure, repair, soft) == 5.0
