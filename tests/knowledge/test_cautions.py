"""Work that can hurt has its caution named at the check: by how deep it is, and by what is done.

R-SAFE-1 (asbestos), R-SAFE-2 (jacks and stands), R-SAFE-3 and R-HYD-4 (brake fluid), and common
practice for engines that run, helpers at the pedal, flywheels that can burst and springs that are
pressed. The words are those of the `do` voice, which says what the hands do.
"""

import re
from typing import NamedTuple

import pytest

from knowledge.load import load_base

BASE = load_base()
TAKEN_OUT = {"lifting", "gearbox_jack", "dust", "battery_off"}
BY_LEVEL = {
    "under": {"lifting"},
    "gearbox_out": TAKEN_OUT,
    "clutch_off": TAKEN_OUT,
    "flywheel_off": TAKEN_OUT,
}


class Rule(NamedTuple):
    """Words of the hands' work, and cautions of which one at least must stand before it."""

    does: str
    words: str
    one_of: frozenset[str]


RULES = (
    Rule(
        "runs the engine",
        r"\bidling\b|\b[Ii]dle\b|\brevs\b|Start it|Start and stop the engine|cranks|engine running",
        frozenset({"running", "road"}),
    ),
    Rule(
        "drives",
        r"\bRide with|[Pp]ull(ing)? away|on the road|[Ll]evel road|Drive until|drive to where",
        frozenset({"road"}),
    ),
    Rule(
        "opens or touches fluid",
        r"Cap off|\bcap, open it|Bleed until|[Oo]pen the bleed screw|union above|outlet"
        r"|a little fluid|reservoir, |brake reservoir|boot back|pushrod and down the bulkhead"
        r"|Dry every union|Fill it, press",
        frozenset({"brake_fluid"}),
    ),
    Rule(
        "opens a line or screw",
        r"Bleed until|[Oo]pen the bleed screw|union above|outlet|drop from the bleed screw",
        frozenset({"fluid_boils"}),
    ),
    Rule("works with nobody at the pedal", r"[Nn]obody at the pedal", frozenset({"pinch"})),
    Rule(
        "asks much of the flywheel",
        r"revs through|[Rr]aise the revs|full throttle|Make it shake|Start and stop the engine",
        frozenset({"burst"}),
    ),
    Rule(
        "presses the cover's spring",
        r"Press the fingers|Draw the cover down",
        frozenset({"spring_load"}),
    ),
    Rule("goes to the hot exhaust", r"exhaust by hand|[Dd]rive until it fails", frozenset({"hot"})),
)


def checks_that(rule):
    return [check for check in BASE.checks.values() if re.search(rule.words, check.do)]


@pytest.mark.parametrize("level", BY_LEVEL)
def test_a_check_names_the_cautions_of_its_level(level):
    checks = [check for check in BASE.checks.values() if check.from_ == level]
    assert checks
    lacking = {c.id: BY_LEVEL[level] - set(c.cautions) for c in checks}
    assert {name: left for name, left in lacking.items() if left} == {}


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.does)
def test_a_check_names_the_caution_of_what_it_does(rule):
    found = checks_that(rule)
    assert found
    assert [c.id for c in found if not rule.one_of & set(c.cautions)] == []


def test_a_helper_at_the_pedal_and_hands_below_mean_the_fork_window():
    """Under the vehicle a foot on the pedal moves fork, rod and bearing."""
    pressed = [
        check
        for check in BASE.checks.values()
        if check.helper and check.from_ in {"bay", "under"} and re.search(r"\bpress", check.do)
    ]
    assert len(pressed) >= 8
    assert [c.id for c in pressed if "pinch" not in c.cautions] == []


def test_every_caution_says_that_maker_rules_or_law_come_first():
    """But those that quote no practice: keep your hands out, let it cool."""
    deferring = re.compile(r"maker|local rules|obey the law|own sheet", re.IGNORECASE)
    silent = {c.id for c in BASE.cautions.values() if not deferring.search(c.text)}
    assert {name for name in silent if BASE.cautions[name].level == "caution"} == {"pinch", "hot"}


@pytest.mark.parametrize(
    ("caution", "words"),
    [
        ("lifting", r"rated stands.*Never under a vehicle that only a jack holds"),
        ("gearbox_jack", r"strapped.*Nobody under it"),
        ("dust", r"asbestos.*wet it or use a filtered vacuum.*Never blow"),
        ("brake_fluid", r"eyes and paint"),
        ("fluid_boils", r"140 degrees C"),
        ("running", r"parking brake on, wheels chocked, a person in the seat"),
        ("pinch", r"fork window"),
        ("burst", r"in the plane of the flywheel"),
        ("shared_fluid", r"do not drive"),
        ("stop_burst", r"burst"),
    ],
)
def test_a_caution_says_the_thing_itself(caution, words):
    assert re.search(words, BASE.cautions[caution].text)


def test_what_can_burst_stops_the_case():
    """Cracks that are seen, and a knock, outrank every ranking."""
    for name in ("flywheel_cracks_found", "plate_cracks_found"):
        assert BASE.observable(name).stop == "stop_burst"
    assert BASE.observable("knock").stop == "stop_knock"
