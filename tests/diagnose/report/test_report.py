"""The record of a report: every figure is the assessment's, and the customer's holds no notes."""

import re
from dataclasses import replace

import pytest

from diagnose.assess import assess
from diagnose.case import Case, Entry, Found, spent
from diagnose.case_file import read_case_file
from diagnose.comparison import AGAIN, AT_THE_EDGE, FIT_WORDS, FITS
from diagnose.explain import explain
from diagnose.forecasts import HEALTHY, forecasts, reading_words, verdicts
from diagnose.physics.observables import read
from diagnose.planning.advice import advise
from diagnose.readings import spans_of
from diagnose.records.kept import KeptConflict
from diagnose.records.merging import Conflict
from diagnose.report import Photograph, foot_line, report_of
from diagnose.report.told import dates_of, spoken_time
from diagnose.sentences import chance_words, counts, hours, verdict
from diagnose.system import system_of
from tests.diagnose.report.reporting import (
    EXAMPLE,
    NOTE,
    RECORDED,
    TWIN,
    entry,
    measured_case,
    strings_in,
)


@pytest.fixture(scope="module")
def found(knowledge):
    return assess(knowledge, measured_case(knowledge))


@pytest.fixture(scope="module")
def advice(found):
    return advise(found)


@pytest.fixture(scope="module")
def report(found, advice):
    return report_of(found, advice)


@pytest.fixture(scope="module")
def for_customer(found, advice):
    return report_of(found, advice, edition="customer")


@pytest.fixture(scope="module")
def example(knowledge):
    return assess(knowledge, read_case_file(EXAMPLE, knowledge))


def closed(knowledge, **fields):
    return assess(knowledge, measured_case(knowledge, **fields))


class TestConclusion:
    def test_it_names_the_likeliest_cause_with_its_word_and_its_number(self, found, report):
        first = found.causes[0]
        assert first.name in report.conclusion[0]
        assert chance_words(first.p) in report.conclusion[0]
        assert counts(first.p) in report.conclusion[0]
        assert len(report.conclusion) <= 3

    def test_it_says_how_likely_several_and_something_unknown_are(self, found, report):
        assert f"several at once ({counts(found.several)})" in report.conclusion[1]
        assert counts(found.unknown) in report.conclusion[1]

    def test_it_says_whether_the_gearbox_comes_out(self, found, advice, report):
        head, reason = verdict(found, advice)
        assert f"{head}. {reason}" in report.conclusion[2]
        assert advice.options[0].name.lower() in report.conclusion[2].lower()

    def test_it_says_so_when_no_known_cause_explains_the_answers(self, knowledge):
        told = replace(assess(knowledge, Case()), unknown=0.7)
        line = report_of(told).conclusion[0]
        assert line.startswith("No cause known here explains it well")
        assert counts(told.unknown) in line

    @pytest.mark.parametrize(
        ("sure", "words"),
        [
            ("part seen", "the faulty part was seen"),
            ("complaint gone", "the complaint was gone after the repair"),
            ("not confirmed", "not confirmed"),
        ],
    )
    def test_of_a_closed_case_it_says_what_was_found_and_how_surely(self, knowledge, sure, words):
        told = closed(knowledge, found=Found(causes=("hub_drags",), sure=sure))
        report = report_of(told)
        place = [c.id for c in told.causes].index("hub_drags")
        assert report.conclusion[0] == f"Found: {knowledge.causes['hub_drags'].name}."
        assert words in report.conclusion[1]
        assert counts(told.causes[place].p) in report.conclusion[1]
        assert f"number {place + 1} of {len(told.causes)}" in report.conclusion[1]

    def test_what_the_set_up_rules_out_can_still_have_been_found(self, knowledge):
        allowed = {c.id for c in closed(knowledge).causes}
        ruled = next(c for c in knowledge.causes if c not in allowed)
        report = report_of(closed(knowledge, found=Found(causes=(ruled,))))
        assert "ruled out by the set-up as told" in report.conclusion[1]
        assert report.accounts == ()

    def test_the_conclusions_of_the_recorded_cases_are_what_they_say_was_found(self, knowledge):
        for name in ("A04", "B10"):
            case = read_case_file(RECORDED / f"{name}.yaml", knowledge)
            report = report_of(assess(knowledge, case))
            assert all(knowledge.causes[c].name in report.conclusion[0] for c in case.found.causes)

    def test_of_several_that_fit_it_says_which_has_which_chance(self, knowledge):
        causes = ("hub_drags", "disc_bent", "cover_faulty_new")
        told = closed(knowledge, found=Found(causes=causes))
        report = report_of(told)
        assert report.conclusion[0].endswith("What was seen fits any of them.")
        for name in causes:
            chance = told.cause(name)
            assert f"{chance.name} ({chance_words(chance.p)}" in report.conclusion[1]

    def test_a_case_without_an_answer_says_that_nothing_was_told(self, knowledge):
        report = report_of(assess(knowledge, Case()))
        assert report.conclusion[0].startswith("Nothing was told yet")
        assert report.accounts == ()
        assert report.cutaway is None

    def test_what_hardly_stands_out_is_not_called_most_likely(self, knowledge):
        case = Case(entries=(Entry(complaint="hard_to_select", answer="yes"),))
        told = assess(knowledge, case)
        assert told.causes[0].p < 0.10
        assert report_of(told).conclusion[0].startswith("No cause stands out yet")


class TestCutaway:
    """Figures of the drawing against the release model, asked without any drawing."""

    @staticmethod
    def told(knowledge, cause, **fields):
        setup = knowledge.setups[TWIN]
        case = Case(setup=TWIN, facts=setup.facts, found=Found(causes=(cause,)), **fields)
        return assess(knowledge, case)

    def test_air_costs_travel_and_clearance(self, knowledge):
        drawn = report_of(self.told(knowledge, "air_in_system")).cutaway
        assert drawn.cause == "air_in_system"
        assert drawn.lines[0].startswith("Clearance per face:")
        for name in ("Fork tip", "Bearing", "Plate lift", "Clearance per face"):
            line = next(line for line in drawn.lines if line.startswith(f"{name}:"))
            faulty, healthy = (float(n) for n in re.findall(r"[\d.]+(?= mm)", line))
            assert faulty < healthy

    def test_the_figures_are_those_of_the_release_model(self, knowledge):
        told = self.told(knowledge, "air_in_system")
        line = next(x for x in report_of(told).cutaway.lines if x.startswith("Fork tip:"))
        _, healthy = (float(n) for n in re.findall(r"[\d.]+(?= mm)", line))
        assert healthy == pytest.approx(read(system_of(told.case), "fork_tip_travel"), abs=0.051)

    def test_a_cause_that_moves_no_figure_is_shown_where_it_lies(self, knowledge):
        drawn = report_of(self.told(knowledge, "pilot_tight")).cutaway
        assert drawn.lines == ()
        assert "pilot bearing" in {w.text for w in drawn.picture.words if w.ink == "fault"}

    def test_a_cause_elsewhere_has_none(self, knowledge):
        assert report_of(self.told(knowledge, "synchros_worn")).cutaway is None

    def test_a_set_up_that_is_not_known_has_none(self, knowledge):
        told = assess(knowledge, Case(found=Found(causes=("air_in_system",))))
        assert report_of(told).cutaway is None

    @pytest.mark.parametrize(
        ("cause", "part"), [("flywheel_runs_out", "flywheel"), ("slave_leaks", "slave cylinder")]
    )
    def test_the_part_that_is_at_fault_is_marked_and_no_other(self, knowledge, cause, part):
        """On paper a mark reads as blame: a flywheel that runs out is no fault of the discs."""
        drawn = report_of(self.told(knowledge, cause)).cutaway
        marked = {w.text for w in drawn.picture.words if w.ink == "fault"}
        assert marked == {f"Faulty: {drawn.name}", part}

    def test_it_speaks_the_unit_that_was_read_in(self, knowledge):
        read = (entry(knowledge, "fork_free_travel_twin", "1 1/4 in"),)
        drawn = report_of(self.told(knowledge, "air_in_system", entries=read)).cutaway
        assert all(" mm" not in line for line in drawn.lines)
        assert any(" in," in line for line in drawn.lines)


class TestFigures:
    def test_every_reading_is_there_in_the_order_it_was_taken(self, found, report):
        base = found.network.base
        read = [i for i, e in enumerate(found.case.entries, 1) if e.reading]
        assert [figure.place for figure in report.figures] == read
        for figure in report.figures:
            told = found.case.entries[figure.place - 1]
            assert told.reading in figure.said
            assert figure.said == reading_words(base, told)

    def test_every_prediction_is_the_engine_s_own(self, found, report):
        drawn = [figure for figure in report.figures if figure.foretold]
        assert len(drawn) == 5
        for figure in drawn:
            every = forecasts(found, figure.measurement.id, top=len(found.causes))
            for row in figure.foretold:
                assert row.forecast in every
            assert figure.foretold[0].forecast.cause == HEALTHY

    def test_causes_that_share_a_row_predict_just_the_same(self, found, report):
        names = {c.name: c.id for c in found.causes}
        shared = [(f, row) for f in report.figures for row in f.foretold if row.others]
        assert shared
        for figure, row in shared:
            ids = [names[name] for name in row.others]
            _, *others = forecasts(found, figure.measurement.id, causes=ids)
            assert {other.laws for other in others} == {row.forecast.laws}

    def test_the_word_goes_with_how_the_reading_fits(self, report):
        bounds = {FIT_WORDS[0]: (FITS, 1.1), FIT_WORDS[1]: (AT_THE_EDGE, FITS)}
        for figure in report.figures:
            for row in figure.foretold:
                low, high = bounds.get(row.fit, (0.0, AT_THE_EDGE))
                assert low <= row.forecast.fit(figure.spans) < high

    def test_limits_are_held_against_as_the_engine_does(self, found, report):
        base = found.network.base
        held = 0
        for figure in report.figures:
            told = found.case.entries[figure.place - 1]
            spans = spans_of(figure.measurement, base.checks[told.check], told)
            assert figure.limits == verdicts(figure.measurement, found.case.facts, spans, None)
            held += len(figure.limits)
        assert held > 10

    def test_what_nothing_predicts_says_why(self, report):
        alone = next(f for f in report.figures if f.measurement.id == "floater_lug_gap")
        assert alone.foretold == ()
        assert "band" in alone.remark

    def test_a_reading_before_a_repair_that_moved_it_says_that_it_no_longer_counts(self, knowledge):
        mended = Entry(repair="flywheel_runs_out", answer="still there", seen=True)
        late = entry(knowledge, "fork_free_travel_twin", "1 1/4 in")
        more = (mended, late)
        told = assess(knowledge, measured_case(knowledge, more=more))
        report = report_of(told)
        counting = {taken.entry + 1 for taken in told.situation.measured.taken}
        runout = next(f for f in report.figures if f.measurement.id == "flywheel_runout")
        assert "no longer counts" in runout.remark
        assert {f.place for f in report.figures if f.foretold} == counting
        assert all(f.remark for f in report.figures if f.place not in counting)


class TestEvidence:
    def test_the_account_has_the_weights_of_the_engine(self, found, report):
        first = found.causes[0]
        account = report.accounts[0]
        assert (account.cause, account.p, account.prior) == (first.id, first.p, first.prior)
        weights = {w.left_out for w in explain(found, first.id).weights}
        assert account.spoken
        assert {spoken.weight for spoken in account.spoken} <= weights

    def test_what_was_ruled_out_was_likelier_by_the_complaint_alone(self, knowledge, example):
        """The chance at first is that of a case that knows no check: another way to the number."""
        report = report_of(example)
        bare = example.case.model_copy(
            update={"entries": tuple(e for e in example.case.entries if e.check is None)}
        )
        first = assess(knowledge, bare)
        assert report.ruled_out
        for gone in report.ruled_out:
            assert gone.p == example.cause(gone.cause).p < 0.10
            assert gone.first == pytest.approx(first.cause(gone.cause).p, rel=1e-9)
            assert gone.p < gone.first

    def test_it_names_the_answer_that_did_most(self, example):
        for gone in report_of(example).ruled_out:
            weights = {w.key: w.left_out for w in explain(example, gone.cause).weights}
            worst = min(weights, key=weights.get)
            if weights[worst] <= -0.5:
                alone = assess(
                    example.network.base,
                    example.case.without_entry(example.situation.entry_of(worst)),
                )
                assert alone.cause(gone.cause).p > gone.p
                assert gone.by

    def test_what_was_found_is_not_called_ruled_out(self, knowledge):
        told = closed(knowledge, found=Found(causes=("hub_drags",)))
        assert "hub_drags" not in {gone.cause for gone in report_of(told).ruled_out}


class TestEditions:
    def test_the_customer_s_has_no_notes(self, report, for_customer):
        assert any(NOTE in text for text in strings_in(report))
        assert not any(NOTE in text for text in strings_in(for_customer))

    def test_the_customer_s_has_no_word_of_why_it_is_taken_for_found(self, knowledge):
        told = closed(knowledge, found=Found(causes=("hub_drags",), why=NOTE), origin=NOTE)
        assert any(NOTE in text for text in strings_in(report_of(told).about))
        assert not any(NOTE in t for t in strings_in(report_of(told, edition="customer")))

    def test_the_customer_s_has_hours_only_if_they_are_asked_for(self, found, advice, for_customer):
        assert for_customer.hours is None
        assert all(told.hours is None for told in (*for_customer.findings, *for_customer.work))
        said = " ".join(strings_in(for_customer))
        assert hours(advice.options[0].hours) not in said
        asked = report_of(found, advice, edition="customer", hours=True)
        assert asked.hours is not None
        assert asked.work[0].hours == 6.5

    def test_the_customer_s_has_no_plan(self, report, for_customer):
        assert report.plan
        assert for_customer.plan == ()

    def test_both_have_the_same_conclusion_figures_and_cautions(self, report, for_customer):
        assert for_customer.conclusion[:2] == report.conclusion[:2]
        assert for_customer.figures == report.figures
        assert for_customer.cautions == report.cautions
        assert for_customer.stops == report.stops


class TestRest:
    def test_hours_are_those_of_the_case(self, found, report):
        assert report.hours.whole == pytest.approx(spent(found.case))
        assert (report.hours.work, report.hours.looking) == (6.5, 0.25)

    def test_hours_of_ways_are_those_no_entry_holds(self, knowledge):
        """A difference of sums leaves some 1e-15 h, which would be told as less than a minute."""
        hours_told = (0.1, 0.1, 0.25, 0.8, 0.1, 4.5, 0.2, 1.0, 6.5)
        entries = tuple(
            Entry(check="pump_pedal", answer="can't tell", hours=told) for told in hours_told
        )
        report = report_of(assess(knowledge, Case(entries=entries)))
        assert report.hours.ways == 0.0
        moved = report_of(assess(knowledge, Case(entries=entries, moved=0.5)))
        assert moved.hours.ways == 0.5

    @pytest.mark.parametrize(
        ("sure", "after"),
        [
            (None, "; not driven yet"),
            ("complaint gone", "; the complaint was gone"),
            ("part seen", ""),
            ("customer silent", ""),
        ],
    )
    def test_a_repair_says_what_became_of_the_complaint(self, knowledge, sure, after):
        done = Entry(repair="air_in_system", answer="not driven yet", seen=True)
        found = None if sure is None else Found(causes=("air_in_system",), sure=sure)
        report = report_of(assess(knowledge, Case(entries=(done,), found=found)))
        assert report.work[0].said == f"done, the fault was seen{after}"
        driven = [line for line in report.open if "driven" in line or "no drive" in line]
        assert bool(driven) is (sure in {None, "part seen"})

    @pytest.mark.parametrize(
        ("fields", "said"),
        [
            ({}, "in, as far as was noted"),
            ({"stands": "gearbox_out"}, "out"),
            ({"stands": "clutch_off"}, "out; it stands with the clutch off the flywheel"),
        ],
    )
    def test_it_says_whether_the_gearbox_is_out(self, knowledge, fields, said):
        case = Case(entries=(Entry(check="pump_pedal", answer="no"),), **fields)
        assert dict(report_of(assess(knowledge, case)).setup)["Gearbox"] == said

    def test_what_was_seen_with_the_gearbox_out_says_so(self, report):
        inside = {t.place for t in report.findings if "Seen with the gearbox out." in t.remark}
        assert inside == {5, 6, 7, 8}
        assert dict(report.setup)["Gearbox"] == "in again, after it had been out"

    def test_sources_of_the_limits_are_named(self, knowledge, report, for_customer):
        named = {s for f in report.figures for v in f.limits for s in v.limit.source}
        assert dict(report.sources) == {
            s: knowledge.sources[s].title for s in named & set(knowledge.sources)
        }
        assert len(report.sources) > 2
        assert for_customer.sources == ()

    def test_words_that_closed_cases_moved_are_told_in_the_foot(self, report):
        assert "closed cases" not in foot_line(report)
        taught = replace(report, knowledge=f"{report.knowledge}+0123abcd")
        assert "with what closed cases taught" in foot_line(taught)
        assert taught.knowledge in foot_line(taught)

    def test_the_sheet_of_the_kit_stands_as_typed(self, found, report):
        assert [value for _, value in report.kit] == list(found.case.kit.values())

    def test_who_and_when_stand_beside_each_answer(self, report):
        assert report.people == ("Ana", "Maive", "Odrin")
        assert report.date == "20 Nov 2026 to 24 Nov 2026"
        assert report.complaints[0].who == "Maive"
        assert {told.when for told in report.findings} == {"24 Nov 2026, 09:40"}

    def test_stop_notices_are_the_assessment_s(self, found, report):
        texts = [found.network.base.cautions[name].text for name in found.stops()]
        assert texts
        assert list(report.stops) == texts

    def test_the_first_caution_says_what_comes_before_the_report(self, found, report):
        assert "maker’s figures, local rules and licensed practice come first" in report.cautions[0]
        cause = found.network.base.causes[found.causes[0].id]
        needed = {c.text for c in found.network.base.repair_cautions(cause)}
        assert needed <= set(report.cautions)

    def test_the_closing_list_of_an_open_case_is_the_advice_s(self, example):
        advice = advise(example)
        report = report_of(example, advice)
        assert report.closing == tuple(line.text for line in advice.closing)

    def test_the_next_step_stands_first_in_what_is_open(self, advice, report):
        assert advice.options[0].name.lower() in report.open[0].lower()

    def test_a_closed_case_has_no_next_step_even_with_an_advice(self, knowledge, advice):
        told = closed(knowledge, found=Found(causes=("hub_drags",)))
        report = report_of(told, advice)
        assert report.plan == ()
        assert not any(line.startswith("Next:") for line in report.open)
        assert knowledge.causes["hub_drags"].before_closing in report.closing

    def test_an_answer_before_work_that_may_have_changed_it_says_so(self, knowledge):
        case = read_case_file(RECORDED / "A04.yaml", knowledge)
        told = assess(knowledge, case)
        marked = {t.place - 1 for t in report_of(told).findings if AGAIN in t.remark}
        stale = {
            told.situation.entry_of(k) for k in told.situation.stale & set(told.situation.keys)
        }
        assert marked
        assert marked == {i for i in stale if case.entries[i].check is not None}

    def test_photographs_and_versions_are_handed_through(self, found, knowledge):
        picture = Photograph("Hub", "seen from behind", b"x")
        report = report_of(found, photographs=[picture], program="9.9", made="30 Nov 2026")
        assert report.photographs == (picture,)
        assert (report.knowledge, report.program) == (knowledge.version, "9.9")
        assert report.made == "30 Nov 2026"

    def test_answers_of_two_people_that_nobody_settled_are_told(self, found):
        counts_now = Entry(check="pump_pedal", answer="no", by="Odrin")
        other = Entry(check="pump_pedal", answer="yes", by="Maive")
        conflict = Conflict(
            "entries", "check pump_pedal", counts_now.model_dump(), other.model_dump()
        )
        kept = KeptConflict(1, 4, "Maive", "2026-11-24T09:40:00+00:00", conflict)
        line = next(x for x in report_of(found, conflicts=[kept]).open if "Not settled" in x)
        finding = found.network.base.findings["pumping_helps"]
        assert "by Odrin: “No:" in line
        assert "by Maive: “Yes:" in line
        assert finding.name in line
        assert finding.absent in line

    def test_a_set_up_that_nobody_settled_is_told(self, found):
        conflict = Conflict("facts", "release", ["cable"], ["rod"])
        kept = KeptConflict(1, 4, "Maive", "2026-11-24T09:40:00+00:00", conflict)
        report = report_of(found, conflicts=[kept])
        assert any("is not settled" in line for line in report.open)

    def test_an_empty_case_has_a_report(self, knowledge):
        report = report_of(assess(knowledge, Case()))
        assert report.title
        assert report.conclusion
        assert report.figures == report.findings == report.work == ()

    def test_the_same_case_gives_the_same_report(self, found, advice, report):
        assert report_of(found, advice) == report


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("2026-11-24T09:15", "24 Nov 2026, 09:15"),
        ("2026-11-24", "24 Nov 2026"),
        ("last Tuesday", "last Tuesday"),
        ("", ""),
    ],
)
def test_times_are_said_as_people_do_and_else_as_typed(typed, said):
    assert spoken_time(typed) == said


def test_a_case_without_dates_has_none():
    assert dates_of((Entry(complaint="x", answer="yes", at="soon"),)) == ""


@pytest.mark.parametrize(
    ("typed", "said"),
    [("1 3/8", "1 3/8 in"), ("35 mm", "35 mm"), ("1; 1 1/4", "1; 1 1/4 in"), ("none", "none")],
)
def test_a_reading_without_a_unit_gets_the_one_that_was_meant(knowledge, typed, said):
    told = Entry(check="fork_free_travel_twin", answer="right", reading=typed)
    assert reading_words(knowledge, told) == said


def test_the_set_up_used_here_is_one_of_the_base(knowledge):
    assert TWIN in knowledge.setups
