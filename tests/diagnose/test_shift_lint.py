"""What causes do to readings, held against the release systems: each rule on a base made for it."""

import pytest

from diagnose.shift_lint import RULES, shift_issues
from tests.small_bases import make_base

FACTS = {
    "release": {
        "values": {
            "external_slave": {"name": "slave", "share": 0.5},
            "cable": {"name": "cable", "share": 0.5},
        }
    },
    "cover": {
        "values": {"push": {"name": "push", "share": 0.9}, "pull": {"name": "pull", "share": 0.1}}
    },
}
SETUPS = {
    "twin_external": {"facts": {"release": ["external_slave"], "cover": ["push"]}},
    "light_cable": {"facts": {"release": ["cable"], "cover": ["push"]}},
}
MEASUREMENTS = {
    "free_travel": {"model": "fork_free_travel"},
    "wobble": {"healthy": {"mean": "0.2 mm", "spread": "0.1 mm"}},
    "groove": {},
}


def check(gauge, low, middle, high, **more):
    shows = {"low": low, "middle": middle, "high": high}
    return {"gauge": gauge, "edges": ["20 mm", "40 mm"], "answers": shows} | more


CHECKS = {
    "fork": check("free_travel", {"short": "yes"}, {"short": "no", "long": "no"}, {"long": "yes"}),
    "dial": check("wobble", {"bent": "no"}, {"bent": "probably"}, {"bent": "yes"}),
    "probe": check("groove", {"worn": "no"}, {"worn": "probably"}, {"worn": "yes"}),
}


def issues_of(tmp_path, checks=CHECKS, **causes):
    """Issues of a base with some causes, each given by its shifts and what else it has."""
    base = make_base(
        tmp_path / "base",
        facts=FACTS,
        setups=SETUPS,
        complaints={"noise": {}},
        findings={name: {} for name in ("short", "long", "bent", "worn", "loose")},
        mechanisms={"stroke_gone": {"brings": {"noise": "often"}, "shows": {"short": "always"}}},
        causes={name: {"brings": {"noise": "often"}} | more for name, more in causes.items()},
        measurements=MEASUREMENTS,
        checks=checks | {"feel": {"finding": "loose"}},
    )
    found = shift_issues(base)
    assert list(found) == sorted(found)
    for issue in found:
        assert issue.severity == RULES[issue.rule][0]
        assert issue.position.file == "base.yaml"
    return [(issue.rule, issue.message) for issue in found]


CABLE, SLAVE = {"release": ["cable"]}, {"release": ["external_slave"]}


class TestIdleShift:
    def test_a_figure_that_plays_no_part_where_the_cause_can_be(self, tmp_path):
        air = {"air": ("2 cm3", "1 cm3")}
        assert issues_of(tmp_path, fluid={"shifts": air}) == []
        assert issues_of(tmp_path, fluid={"shifts": air, "when": SLAVE}) == []
        assert issues_of(tmp_path, fluid={"shifts": air, "when": CABLE}) == [
            ("idle-shift", "no reading depends on 'air', which 'fluid' shifts")
        ]

    def test_a_figure_that_no_reading_is_made_of(self, tmp_path):
        assert issues_of(tmp_path, load={"shifts": {"finger_load": "100 N"}}) == [
            ("idle-shift", "no reading depends on 'finger_load', which 'load' shifts")
        ]

    def test_each_shift_where_it_holds(self, tmp_path):
        shifts = [{"by": "2 cm3", "when": SLAVE}, {"by": "3 cm3", "when": CABLE}]
        assert issues_of(tmp_path, fluid={"shifts": {"air": shifts}}) == [
            ("idle-shift", "no reading depends on 'air', which 'fluid' shifts")
        ]

    def test_a_shift_for_set_ups_that_its_cause_is_never_in(self, tmp_path):
        shift = {"by": "2 mm", "when": CABLE}
        assert issues_of(tmp_path, stack={"shifts": {"stack_excess": shift}, "when": SLAVE}) == [
            ("idle-shift", "'stack' occurs in no set-up in which its shift of 'stack_excess' is")
        ]

    def test_where_no_set_up_fits_nothing_can_be_said(self, tmp_path):
        pull = {"cover": ["pull"]}
        assert issues_of(tmp_path, fluid={"shifts": {"finger_load": "100 N"}, "when": pull}) == []


class TestNoShift:
    def test_a_finding_that_only_a_predicted_gauge_tells(self, tmp_path):
        assert issues_of(tmp_path, fork={"shows": {"short": "often"}}) == [
            ("no-shift", "'fork' shows 'short', but shifts nothing that 'fork' measures")
        ]
        moved = {"shows": {"short": "often"}, "shifts": {"bearing_height": ("6 mm", "1 mm")}}
        assert issues_of(tmp_path, fork=moved) == []

    def test_a_spread_alone_moves_a_reading_too(self, tmp_path):
        wider = {"shows": {"short": "often"}, "shifts": {"bearing_height": ("0 mm", "6 mm")}}
        assert issues_of(tmp_path, fork=wider) == []

    def test_a_shift_of_something_else_does_not_count(self, tmp_path):
        other = {"shows": {"short": "often"}, "shifts": {"hose_swell": 1.0}}
        assert [rule for rule, _ in issues_of(tmp_path, fork=other)] == ["no-shift"]

    def test_what_a_cause_shows_by_what_it_brings_about(self, tmp_path):
        assert issues_of(tmp_path, fork={"brings": {"stroke_gone": "always"}}) == [
            ("no-shift", "'fork' shows 'short', but shifts nothing that 'fork' measures")
        ]
        assert issues_of(tmp_path, fork={"brings": {"stroke_gone": 0.4, "noise": "often"}}) == []

    def test_a_reading_that_stands_alone(self, tmp_path):
        assert issues_of(tmp_path, disc={"shows": {"bent": "always"}}) == [
            ("no-shift", "'disc' shows 'bent', but shifts nothing that 'dial' measures")
        ]
        shifted = {"shows": {"bent": "always"}, "shifts": {"wobble": ("3 mm", "1 mm")}}
        assert issues_of(tmp_path, disc=shifted) == []

    def test_bands_that_count_as_they_are(self, tmp_path):
        """Nothing predicts the groove, and what is loose is felt besides."""
        assert issues_of(tmp_path, disc={"shows": {"worn": "always", "loose": "always"}}) == []

    def test_a_finding_that_is_also_seen(self, tmp_path):
        seen = CHECKS | {"look": {"finding": "short"}}
        assert issues_of(tmp_path, checks=seen, fork={"shows": {"short": "often"}}) == []

    def test_where_cause_and_check_never_meet_nothing_is_asked(self, tmp_path):
        checks = CHECKS | {"fork": CHECKS["fork"] | {"when": CABLE}}
        cause = {"shows": {"short": "often"}, "when": SLAVE}
        assert issues_of(tmp_path, checks=checks, fork=cause) == []


class TestOtherWay:
    @pytest.mark.parametrize(
        ("finding", "amount", "way"),
        [
            ("short", "8 mm", None),  # a taller bearing takes free travel
            ("long", "8 mm", "down"),
            ("short", "-8 mm", "up"),
            ("long", "-8 mm", None),
            ("long", "0.01 mm", None),  # too little to speak of a way
        ],
    )
    def test_the_side_of_the_bands(self, finding, amount, way, tmp_path):
        shift = {"bearing_height": (amount, "2 mm")}
        found = issues_of(tmp_path, fork={"shows": {finding: "always"}, "shifts": shift})
        told = f"'fork' shows {finding!r}, but its shifts move the reading of 'fork' {way}"
        assert found == ([] if way is None else [("other-way", told)])

    def test_a_reading_that_stands_alone(self, tmp_path):
        trued = {"shows": {"bent": "often"}, "shifts": {"wobble": ("-0.15 mm", "0.1 mm")}}
        assert issues_of(tmp_path, disc=trued) == [
            ("other-way", "'disc' shows 'bent', but its shifts move the reading of 'dial' down")
        ]

    def test_bands_in_the_middle_have_no_side(self, tmp_path):
        checks = CHECKS | {"dial": check("wobble", {"bent": "no"}, {"bent": "yes"}, {"bent": "no"})}
        cause = {"shows": {"bent": "often"}, "shifts": {"wobble": ("-0.15 mm", "0.1 mm")}}
        assert issues_of(tmp_path, checks=checks, disc=cause) == []


def test_the_shipped_base_is_clean(knowledge):
    assert [str(issue) for issue in shift_issues(knowledge)] == []
