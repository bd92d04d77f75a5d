"""The noise logic of bearing makers' technical pages, row by row (R-NOISE-1).

What is heard with the pedal up, touched or down, in gear or in neutral, says which bearing carries
load or turns at that moment. The rows are theirs; the shipped knowledge must order its causes so.
Light vehicles with a bearing for a pilot, since every row speaks of all three bearings.
"""

import pytest

from diagnose.assess import Assessment, assess
from diagnose.case import Case, Entry
from knowledge.model import KnowledgeBase

FACTS = {
    "release": ("external_slave",),
    "discs": ("one",),
    "cover": ("push",),
    "pilot": ("bearing",),
}

INPUT = ("input_bearing_worn", "idle_rattle_by_design")
RELEASE = ("bearing_worn", "bearing_new_faulty")
PILOT = ("pilot_worn", "pilot_damaged_fitting", "pilot_tight")

# State of pedal and gear, engine idling; the reading; entries; what it speaks for; what against.
ROWS = [
    (
        "pedal up, neutral; goes away when the pedal is pressed: input bearing, or idle rattle",
        (
            Entry(complaint="noise_released", answer="yes"),
            Entry(check="noise_by_pedal", answer="up"),
        ),
        (INPUT,),
        (RELEASE, PILOT),
    ),
    (
        "chirp as the pedal is first touched: release bearing meets the fingers",
        (
            Entry(complaint="noise_pressed", answer="yes"),
            Entry(check="noise_by_pedal", answer="touch"),
        ),
        (RELEASE,),
        (INPUT, PILOT),
    ),
    (
        "pedal down, in gear, vehicle held: release or pilot",
        (
            Entry(complaint="noise_pressed", answer="yes"),
            Entry(check="noise_by_pedal", answer="down"),
        ),
        (RELEASE, PILOT),
        (INPUT,),
    ),
    (
        "the same, then to neutral, noise stays: release bearing",
        (
            Entry(complaint="noise_pressed", answer="yes"),
            Entry(check="noise_down_in_gear", answer="stays"),
        ),
        (RELEASE,),
        (INPUT, PILOT),
    ),
    (
        "the same, then to neutral, noise stops: the pilot has lost its relative speed",
        (
            Entry(complaint="noise_pressed", answer="yes"),
            Entry(check="noise_down_in_gear", answer="stops"),
        ),
        (PILOT,),
        (INPUT, RELEASE),
    ),
]
IDS = [row[0].split(":")[0] for row in ROWS]


@pytest.mark.parametrize(("row", "entries", "speaks_for", "against"), ROWS, ids=IDS)
def test_row_names_its_bearing(knowledge, row, entries, speaks_for, against):
    heard = chances(knowledge, entries)
    for group in speaks_for:
        assert best(heard, group) > max(best(heard, other) for other in against), row


@pytest.mark.parametrize(("row", "entries", "speaks_for", "against"), ROWS, ids=IDS)
def test_row_raises_its_bearing_and_lowers_the_others(knowledge, row, entries, speaks_for, against):
    """Against the complaint alone, so that the row itself does it and not how common a cause is."""
    told, heard = chances(knowledge, entries[:1]), chances(knowledge, entries)
    bearings = [cause for group in speaks_for for cause in group]
    rivals = [cause for group in against for cause in group]
    assert sum(heard[c] for c in bearings) > sum(told[c] for c in bearings), row
    assert sum(heard[c] for c in rivals) < sum(told[c] for c in rivals), row


@pytest.mark.parametrize(
    ("entries", "speaks_for"), [(ROWS[i][1], ROWS[i][2]) for i in (1, 3, 4)], ids=IDS[1:2] + IDS[3:]
)
def test_leader_is_of_the_bearing_the_row_names(knowledge, entries, speaks_for):
    """Where a row names one bearing, no other cause of the base comes before it."""
    assert assess(knowledge, Case(facts=FACTS, entries=entries)).causes[0].id in speaks_for[0]


def test_sticking_pilot_also_drags(knowledge):
    """With the pilot's noise the shaft may go on turning: a seized pilot explains both."""
    noise = ROWS[-1][1]
    drags = (*noise, Entry(complaint="gears_grind", answer="yes"))
    assert chances(knowledge, drags)["pilot_tight"] > chances(knowledge, noise)["pilot_tight"]


def test_wait_for_the_shaft_to_stop(knowledge):
    """In neutral with the pedal just pressed the shaft still turns: the check says to wait."""
    assert "wait until all has stopped" in knowledge.checks["noise_by_pedal"].do


def chances(base: KnowledgeBase, entries: tuple[Entry, ...]) -> dict[str, float]:
    found: Assessment = assess(base, Case(facts=FACTS, entries=entries))
    return {cause.id: cause.p for cause in found.causes}


def best(heard: dict[str, float], causes: tuple[str, ...]) -> float:
    return max(heard[cause] for cause in causes)
