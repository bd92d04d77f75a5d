"""Cases with readings on the shipped knowledge, over all set-ups: what must hold for every one."""

import json
from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.__main__ import main
from diagnose.assess import assess, run
from diagnose.case import GRADES, Case, Entry
from diagnose.case_file import write_case_file
from diagnose.comparison import ALL_BY_BANDS, counting, read_entries, why_no_number
from diagnose.errors import PullOnceError, TooWideError, UnknownIdError
from diagnose.explain import doubts, explain
from diagnose.forecasts import forecasts, spoken_band
from diagnose.gauge import answer_for_reading, plausible_range
from diagnose.kit_sheet import sheet_for
from diagnose.physics.normal import MAX_BOX
from diagnose.physics.presets import PRESETS
from diagnose.planning.advice import advise
from diagnose.sentences import (
    advice_reason,
    explanation_lines,
    left_out_line,
    look_again,
    statement,
    verdict,
)
from diagnose.system import figure_of
from knowledge.load import load_base
from knowledge.quantity import in_unit
from knowledge.tree import share_that_fits

BASE = load_base()
TWIN = "twin_external"
GAUGES = tuple(check for check in BASE.checks.values() if check.gauge)
OTHERS = tuple(check for check in BASE.checks.values() if not check.gauge)


def facts_of(setup):
    return BASE.setups[setup].facts if setup else {}


def gauges_of(setup):
    return [c for c in GAUGES if share_that_fits(BASE, facts_of(setup), c.when) > 0.0]


def gauge_for(setup, measurement):
    return next(c for c in gauges_of(setup) if c.gauge == measurement)


def read(check, text, instrument=None):
    answer = answer_for_reading(BASE, check, text).id
    return Entry(check=check.id, answer=answer, reading=text, instrument=instrument)


def case_of(setup, readings, complaints=("no_release",), kit=(), more=()):
    """A case: ``readings`` are measurements and what was typed."""
    said = [Entry(complaint=c, answer="yes") for c in complaints]
    taken = [read(gauge_for(setup, name), text) for name, text in readings]
    entries = (*said, *taken, *more)
    return Case(setup=setup, facts=facts_of(setup), kit=dict(kit), entries=entries)


def written(value, unit):
    return f"{in_unit(value, unit):.6g} {unit}"


@st.composite
def texts(draw, measurement):
    """What somebody may type for a measurement, up to the ends of what is plausible."""
    low, high = plausible_range(measurement)
    share = st.one_of(st.sampled_from([0.0, 1.0]), st.floats(0.0, 0.3), st.floats(0.0, 1.0))
    values = share.map(lambda s: written(low + s * (high - low), measurement.unit))
    kind = draw(st.sampled_from(["value"] * 5 + ["several", "more", "less", "none", "range"]))
    if kind == "several":
        return "; ".join(draw(st.lists(values, min_size=2, max_size=4)))
    if kind == "range":
        first, last = sorted(draw(st.tuples(share, share)))
        ends = [low + s * (high - low) for s in (first, last)]
        return " to ".join(written(end, measurement.unit) for end in ends)
    words = {"value": "", "more": "more than ", "less": "less than "}
    return "would not move" if kind == "none" else words[kind] + draw(values)


@st.composite
def entries_for(draw, setup):
    said = st.builds(
        lambda name, answer: Entry(complaint=name, answer=answer),
        st.sampled_from(sorted(BASE.complaints)),
        st.sampled_from(GRADES),
    )
    looked = st.sampled_from(OTHERS).flatmap(
        lambda check: st.sampled_from([a.id for a in check.answers] or GRADES).map(
            lambda answer: Entry(check=check.id, answer=answer)
        )
    )
    work = st.sampled_from(list(BASE.work.values())).flatmap(
        lambda w: st.builds(
            lambda answer, when: Entry(work=w.id, answer=answer, when=when),
            st.sampled_from([a.id for a in w.answers]),
            st.sampled_from(["job", "since"]),
        )
    )
    entries = draw(st.lists(said, max_size=3)) + draw(st.lists(looked, max_size=5))
    entries += draw(st.lists(work, max_size=2))
    for check in draw(st.lists(st.sampled_from(gauges_of(setup)), max_size=6)):
        measurement = BASE.measurements[check.gauge]
        if draw(st.integers(0, 4)) == 0:  # a band, without a number
            answer = draw(st.sampled_from(check.answers)).id
            entries.append(Entry(check=check.id, answer=answer))
            continue
        instrument = draw(st.sampled_from([None, *measurement.instruments]))
        try:
            entries.append(read(check, draw(texts(measurement)), instrument))
        except PullOnceError:  # an empty range, or an end rounded beyond what is plausible
            continue
    return tuple(draw(st.permutations(entries)))


@st.composite
def kits_for(draw, setup):
    """Figures of the sheet, from half to one and a half times the preset's."""
    if setup is None:
        return {}
    rows = [row.figure for group in sheet_for(PRESETS[setup]) for row in group.rows]
    kit = {}
    for figure in draw(st.lists(st.sampled_from(rows), max_size=3, unique=True)):
        if figure == "engine_torque":
            continue
        nominal = figure_of(PRESETS[setup], figure).nominal
        unit = {"clamp_load": "N"}.get(figure, "mm")
        unit = "" if "ratio" in figure or figure == "friction" else unit
        kit[figure] = f"{nominal * draw(st.floats(0.5, 1.5)):.4g} {unit}".strip()
    return kit


@st.composite
def cases(draw):
    setup = draw(st.sampled_from([*PRESETS, None]))
    facts = facts_of(setup) if draw(st.booleans()) else {}
    return Case(
        setup=setup,
        facts=facts,
        kit=draw(kits_for(setup)),
        entries=draw(entries_for(setup)),
        stands=draw(st.sampled_from(list(BASE.levels))),
    )


def weighed_or_refused(case):
    try:
        return assess(BASE, case), ""
    except PullOnceError as error:
        return None, error.sentence


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(case=cases())
def test_any_case_is_weighed_and_put_in_words_or_refused_with_a_sentence(case):
    found, refusal = weighed_or_refused(case)
    if found is None:
        assert refusal.endswith(".")
        return
    assert all(0.0 <= c.p <= 1.0 for c in found.causes)
    assert 0.0 <= found.unknown <= 1.0
    assert sum(s.p for s in found.sets) + found.unknown <= 1.0 + 1e-9
    assert found.several <= found.covered + 1e-9 <= 1.0 + 2e-9
    assert 0.0 <= found.marginals.left_out < 1.0 + 1e-12
    assert all(0.0 <= share <= 1.0 + 1e-9 for share in found.unexplained.values())
    first = found.causes[0]
    for chance in found.causes:  # what is listed never says more than the chances do
        listed = sum(s.p for s in found.sets if chance.id in s.ids)
        assert listed <= chance.p + 1e-6

    advice = advise(found)
    said = [
        *explanation_lines(found, explain(found, first.id)),
        *look_again(found),
        advice_reason(found, advice),
        *verdict(found, advice),
    ]
    assert all(said)
    assert not any("nan" in line.split() or "inf" in line.split() for line in said)
    assert all(0.0 <= doubt.chance <= 1.0 for doubt in doubts(found))
    for name, measurement in BASE.measurements.items():
        for forecast in forecasts(found, name, top=3):
            assert forecast.low < forecast.middle < forecast.high
            assert spoken_band(measurement, forecast.low, forecast.high)


@settings(max_examples=8)
@given(case=cases())
def test_the_same_case_is_weighed_the_same(case):
    try:
        first, again = assess(BASE, case), assess(load_base(), case)
    except PullOnceError:
        return
    assert [(c.id, c.p) for c in first.causes] == [(c.id, pytest.approx(c.p)) for c in again.causes]


READINGS = (
    ("fork_free_travel", "1/2 in"),
    ("finger_height", "48 mm"),
    ("fork_tip_travel", "14 to 16 mm"),
    ("spin_down", "more than 15 s"),
)


def test_the_order_of_readings_does_not_matter():
    chances = []
    for order in list(permutations(READINGS))[::5]:
        found = assess(BASE, case_of(TWIN, order))
        chances.append({c.id: c.p for c in found.causes})
    for other in chances[1:]:
        assert other == pytest.approx(chances[0], abs=1e-6)


@pytest.mark.parametrize(
    "texts", [("1 in", "25.4 mm", "1", '1"', "1000 thou"), ("2 1/2 in", "63.5 mm", "6.35 cm")]
)
def test_the_unit_does_not_matter(texts):
    found = [assess(BASE, case_of(TWIN, [("fork_free_travel", text)])) for text in texts]
    for other in found[1:]:
        assert [c.p for c in other.causes] == pytest.approx([c.p for c in found[0].causes])


@pytest.mark.parametrize("setup", PRESETS)
def test_a_healthy_reading_raises_no_cause_that_predicts_something_else(setup):
    before = assess(BASE, case_of(setup, []))
    for check in gauges_of(setup):
        told = forecasts(before, check.gauge, top=len(before.causes))
        if not told:
            continue
        healthy, *others = told
        text = written(healthy.middle, BASE.measurements[check.gauge].unit)
        after = assess(BASE, case_of(setup, [], more=[read(check, text)]))
        factor = {c.id: after.cause(c.id).p / c.p for c in before.causes if c.p > 1e-6}
        alone = max(factor[f.cause] for f in others if not f.moved and f.cause in factor)
        for forecast in others:
            if forecast.moved and forecast.cause in factor:
                # A cause that makes a reading scatter less may gain by that, and no more.
                narrower = max(1.0, healthy.laws[0].deviation / forecast.laws[0].deviation)
                assert factor[forecast.cause] < 1.05 * narrower * alone, (check.id, forecast.cause)


class TestWhatNothingExplains:
    """Readings far beyond what any cause predicts are laid on what this tool does not know."""

    KIT = (("finger_height", "45 mm"),)
    WILD = (
        ("finger_height", "85 mm"),
        ("fork_tip_travel", "60 mm"),
        ("pedal_free_play", "100 mm"),
        ("engagement_height", "250 mm"),
        ("finger_spread", "10 mm"),
        ("fork_free_travel", "3 1/2 in"),
    )

    @pytest.mark.parametrize("count", range(2, 7))
    def test_however_many_there_are(self, count):
        few = assess(BASE, case_of(TWIN, self.WILD[:1], kit=self.KIT))
        many = assess(BASE, case_of(TWIN, self.WILD[:count], kit=self.KIT))
        assert many.unknown > few.unknown
        assert max(c.p for c in many.causes) < 0.2
        # Nothing is left out for all that: no larger set would explain them any better.
        assert many.marginals.left_out < 0.1

    @pytest.mark.parametrize(
        ("measurement", "once", "repeated"),
        [
            ("finger_height", "85 mm", "85 mm; 85 mm; 85 mm"),
            ("finger_height", "15 mm", "15 mm; 14 mm; 16 mm"),
            ("pilot_bore_runout", "1 mm", "1 mm; 1.01 mm; 0.99 mm; 1 mm"),
            ("idle_speed", "1700", "1700; 1700; 1700"),
        ],
    )
    def test_however_often_it_is_read(self, measurement, once, repeated):
        one = assess(BASE, case_of(TWIN, [(measurement, once)], kit=self.KIT))
        more = assess(BASE, case_of(TWIN, [(measurement, repeated)], kit=self.KIT))
        for chance in one.causes:
            assert more.cause(chance.id).p == pytest.approx(chance.p, abs=0.02)
        assert more.unknown == pytest.approx(one.unknown, abs=0.02)

    def test_repeats_of_a_reading_that_is_explained_make_it_surer(self):
        one, more = (
            assess(BASE, case_of(TWIN, [("fork_tip_travel", text)], kit=self.KIT))
            for text in ("13 mm", "13 mm; 13 mm; 13 mm; 13 mm")
        )
        (single,), (mean,) = (a.situation.measured.readings for a in (one, more))
        assert mean.uncertainty == pytest.approx(0.5 * single.uncertainty)
        assert more.cause("air_in_system").p == pytest.approx(one.cause("air_in_system").p, abs=0.1)


class TestIntervals:
    CHAIN = (
        ("pedal_free_play", "5 to 10 mm"),
        ("finger_spread", "less than 0.5 mm"),
        ("fork_free_travel", "1/2 to 3/4 in"),
        ("fork_tip_travel", "10 to 14 mm"),
        ("engagement_height", "less than 30 mm"),
        ("finger_height", "48 to 52 mm"),
    )

    def counting(self, case):
        return [t.measurement.id for t in assess(BASE, case).situation.measured.taken]

    MIDDLES = (
        ("pedal_free_play", "7.5 mm"),
        ("finger_spread", "less than 0.5 mm"),
        ("fork_free_travel", "5/8 in"),
        ("fork_tip_travel", "12 mm"),
        ("engagement_height", "less than 30 mm"),
        ("finger_height", "50 mm"),
    )
    ONE_SIDED = (
        ("finger_spread", "less than 0.5 mm"),
        ("pedal_free_play", "13 mm"),
        ("fork_tip_travel", "less than 15 mm"),
        ("fork_free_travel", "more than 1/2 in"),
        ("engagement_height", "less than 30 mm"),
        ("finger_height", "more than 40 mm"),
    )

    def test_of_more_than_can_be_taken_together_the_narrowest_are_read_as_values(self):
        assert self.counting(case_of(TWIN, self.CHAIN)) == [name for name, _ in self.CHAIN]
        found = assess(BASE, case_of(TWIN, self.CHAIN))
        readings = {r.observable: r for r in found.situation.measured.readings}
        assert sum(not r.is_value for r in readings.values()) == MAX_BOX
        stack, play = readings["finger_height"], readings["pedal_free_play"]
        assert (stack.low, play.low) == (50.0, 7.5)
        # Half the range over the root of 3, and the instrument (R-GUM-4).
        assert stack.uncertainty == pytest.approx((2.0**2 / 3.0 + 0.3**2) ** 0.5)
        assert play.uncertainty == pytest.approx((2.5**2 / 3.0 + 1.5**2) ** 0.5)
        middles = assess(BASE, case_of(TWIN, self.MIDDLES))
        for chance in middles.causes:
            assert found.cause(chance.id).p == pytest.approx(chance.p, abs=0.08)

    def test_of_too_many_that_are_one_sided_the_latest_count(self):
        names = [name for name, _ in self.ONE_SIDED]
        found = assess(BASE, case_of(TWIN, self.ONE_SIDED))
        assert [t.measurement.id for t in found.situation.measured.taken] == names[1:]
        shown = gauge_for(TWIN, names[0]).reads()
        assert set(shown) <= found.situation.observed.keys()  # it counts by its band

    def test_what_stands_alone_takes_no_room(self):
        alone = (("spin_down", "more than 15 s"), ("disc_runout", "0.8 to 1.2 mm"))
        names = [name for name, _ in (*self.CHAIN[-MAX_BOX:], *alone)]
        assert self.counting(case_of(TWIN, (*self.CHAIN[-MAX_BOX:], *alone))) == names

    def test_what_has_gone_stale_takes_no_room(self):
        before = case_of(TWIN, self.CHAIN[-MAX_BOX:])
        bled = before.with_entry(Entry(work="bled", answer="thoroughly", when="since"))
        again = bled
        for name, text in self.CHAIN[-MAX_BOX:]:
            again = again.with_entry(read(gauge_for(TWIN, name), text))
        found = assess(BASE, again)
        holding = [t.entry for t in found.situation.measured.taken]
        assert set(range(len(bled.entries), len(again.entries))) <= set(holding)

    def test_a_band_without_a_number_is_one(self):
        check = gauge_for(TWIN, "fork_tip_travel")
        chosen = case_of(TWIN, [], more=[Entry(check=check.id, answer="short")])
        typed = case_of(TWIN, [("fork_tip_travel", "6 to 11 mm")])
        one, other = assess(BASE, chosen), assess(BASE, typed)
        assert [c.p for c in one.causes] == pytest.approx([c.p for c in other.causes])

    def test_the_same_end_read_twice_says_it_once(self):
        once, twice = (
            assess(BASE, case_of(TWIN, [("spin_down", text)]))
            for text in ("more than 15 s", "more than 15 s; more than 15 s")
        )
        assert [c.p for c in once.causes] == pytest.approx([c.p for c in twice.causes])


class TestEntries:
    def test_two_checks_of_one_measurement_both_count(self):
        checks = [BASE.checks[name] for name in ("pedal_play_linkage", "pedal_play_hydraulic")]
        assert {c.gauge for c in checks} == {"pedal_free_play"}
        case = case_of("truck_pull", [], more=[read(c, "3 1/2 in") for c in checks])
        taken = assess(BASE, case).situation.measured.taken
        assert [t.check for t in taken] == [c.id for c in checks]
        assert len({t.key for t in taken}) == 1

    @pytest.mark.parametrize("answer", ["can't tell", "could not check", "don't know"])
    def test_what_could_not_be_read_says_nothing(self, answer):
        plain = assess(BASE, case_of(TWIN, []))
        skipped = [Entry(check=check.id, answer=answer) for check in gauges_of(TWIN)]
        found = assess(BASE, case_of(TWIN, [], more=skipped))
        assert found.situation.keys == plain.situation.keys
        assert found.causes == plain.causes

    def test_a_sharper_instrument_tells_more(self):
        check = gauge_for(TWIN, "finger_height")
        rule, depth = (
            assess(
                BASE,
                case_of(
                    TWIN,
                    [],
                    kit=[("finger_height", "45 mm")],
                    more=[read(check, "47 mm", instrument)],
                ),
            )
            for instrument in ("rule", "depth_gauge")
        )
        assert rule.cause("facing_worn").p < depth.cause("facing_worn").p

    def test_an_instrument_that_the_measurement_does_not_know(self):
        check = gauge_for(TWIN, "finger_height")
        case = case_of(TWIN, [], more=[read(check, "47 mm", "laser")])
        with pytest.raises(UnknownIdError, match="Height of the fingers is not read with 'laser'"):
            assess(BASE, case)


class TestSentences:
    def test_bands_stand_in_units_of_the_workshop_and_never_below_nothing(self):
        case = case_of(
            "light_cable", [("pedal_free_play", "none"), ("finger_spread", "1.2 mm")], ("slips",)
        )
        found = assess(BASE, case)
        lines = "\n".join(explanation_lines(found, explain(found, "facing_worn")))
        assert "“Free play at the pedal: none (without a fault 10 to 35 mm)”" in lines
        assert "With this cause it would be none to 35 mm." in lines
        assert "“Spread of the finger tips: 1.2 mm (without a fault 0 to 0.62 mm)”" in lines

    @pytest.mark.parametrize("typed", ["1.2", "1.2 mm"])
    def test_a_reading_is_told_with_its_unit_whether_it_was_typed_or_not(self, typed):
        found = assess(BASE, case_of("light_cable", [("finger_spread", typed)], ("slips",)))
        said = statement(found, "reading:finger_spread")
        assert said == "Spread of the finger tips: 1.2 mm (without a fault 0 to 0.62 mm)"

    def test_how_often_a_cause_moves_it_is_told(self):
        found = assess(BASE, case_of("truck_pull", [("spin_down", "more than 15 s")]))
        lines = "\n".join(explanation_lines(found, explain(found, "hub_drags")))
        share = BASE.scale.strength[BASE.causes["hub_drags"].shifts["spin_down"][0].chance or ""]
        assert f" s, in about {round(100 * share)} in 100 cases." in lines

    def test_the_healthy_band_is_that_of_the_instrument_it_was_read_with(self):
        check = gauge_for(TWIN, "spline_play")
        said = {}
        for instrument in ("dial", "rule"):
            found = assess(BASE, case_of(TWIN, [], more=[read(check, "0.5 mm", instrument)]))
            said[instrument] = statement(found, "reading:spline_play")
        # 0.5 mm, spread 0.25; 1.645 times the root of 0.25^2 + 0.05^2, and + 0.4^2.
        assert said["dial"].endswith("0.5 mm (without a fault 0.08 to 0.92 mm)")
        assert said["rule"].endswith("0.5 mm (without a fault 0 to 1.3 mm)")


MEASURED = {
    "cable": case_of("light_cable", [("pedal_free_play", "none")], ("slips",)),
    "truck": case_of(
        "truck_pull", [("pedal_free_play", "3 1/2 in"), ("spin_down", "more than 15 s")]
    ),
    "ring": case_of(
        "light_concentric",
        [("engagement_height", "less than 10 mm"), ("finger_height", "48 mm")],
        kit=[("finger_height", "40 mm")],
    ),
    "twin": case_of(TWIN, READINGS, kit=[("pivot_spacer", "1/4 in")]),
}


class TestWhatIsLeftOut:
    def test_it_is_said_in_the_terminal_where_it_counts(self):
        found = assess(BASE, case_of(TWIN, [("fork_free_travel", "1 in")]))
        for share, said in ((0.004, ""), (0.12, "about 12 in 100")):
            told = replace(found, marginals=replace(found.marginals, left_out=share))
            assert said in left_out_line(told)
            assert bool(left_out_line(told)) == bool(said)

    def test_a_figure_of_the_sheet_that_clashes_is_named(self, tmp_path, capsys):
        kit = {"facing_inner": "280 mm", "facing_outer": "200 mm"}
        write_case_file(tmp_path / "case.yaml", case_of(TWIN, [], kit=kit))
        assert main(["rank", str(tmp_path / "case.yaml")]) == 0
        assert "Left out of the kit's sheet: " in capsys.readouterr().out

    def test_very_many_answers_leave_readings_to_their_bands(self, monkeypatch):
        """As if the findings hung together too closely whenever readings tie causes."""
        case = case_of(TWIN, [("fork_free_travel", "0.2 in")])

        def too_wide_with_readings(network, situation, **limits):
            if situation.measured.taken:
                raise TooWideError(30)
            return run(network, situation, **limits)

        monkeypatch.setattr("diagnose.assess.run", too_wide_with_readings)
        found = assess(BASE, case)
        assert found.by_bands
        assert "fork_free_travel_small" in found.situation.observed
        assert "readings count by their bands only" in look_again(found)[0]
        (fork,) = read_entries(found)
        assert counting(found) == frozenset()
        assert why_no_number(found, fork) == ALL_BY_BANDS
        no_reading = case.model_copy(update={"entries": case.entries[:1]})
        assert not assess(BASE, no_reading).by_bands


class TestCommandLine:
    @pytest.mark.parametrize("name", MEASURED)
    def test_rank_and_advise(self, name, tmp_path, capsys):
        path = tmp_path / "case.yaml"
        write_case_file(path, MEASURED[name])
        for command in ("rank", "advise"):
            assert main([command, str(path)]) == 0
            plain = capsys.readouterr().out
            assert "nan" not in plain.split()
            assert main([command, str(path), "--json"]) == 0
            assert json.loads(capsys.readouterr().out)
        assert main(["rank", str(path), "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
        taken = assess(BASE, MEASURED[name]).situation.measured.taken
        assert [r["measurement"] for r in told["readings"]] == [t.measurement.id for t in taken]

    @pytest.mark.parametrize(
        ("right", "broken", "said"),
        [
            ('pivot_spacer: "1/4 in"', 'pivot_spacer: "1/4 elbow"', "'elbow' is not a unit"),
            ('pivot_spacer: "1/4 in"', 'pivot_spacer: "900 mm"', "900 mm can't be right"),
            ('pivot_spacer: "1/4 in"', 'colour: "blue"', "no figure 'colour'"),
            ('reading: "48 mm"', 'reading: "plenty"', "'plenty' is not a number"),
            ('reading: "48 mm"', 'reading: "48 in"', "48 in can hardly be right here"),
            ('reading: "48 mm"', 'reading: "120 mm"', "does not go with the answer"),
            ('reading: "48 mm"', 'reading: "48 mm"\n  instrument: laser', "with 'laser'"),
        ],
    )
    def test_a_broken_file_is_refused_with_a_sentence(self, right, broken, said, tmp_path, capsys):
        path = tmp_path / "case.yaml"
        write_case_file(path, MEASURED["twin"])
        text = path.read_text(encoding="utf-8")
        assert right in text
        path.write_text(text.replace(right, broken), encoding="utf-8")
        assert main(["rank", str(path)]) == 1
        shown = capsys.readouterr()
        assert shown.out == ""
        assert said in shown.err
        assert "Traceback" not in shown.err
