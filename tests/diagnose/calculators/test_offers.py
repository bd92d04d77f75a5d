"""What comes out of a calculator as an entry of a case."""

import pytest

from diagnose.calculators import CALCULATORS, calculate, calculator_for, offers
from diagnose.calculators.offers import worked_out
from diagnose.case import Case, Entry
from diagnose.gauge import answer_for_reading, read_gauge
from diagnose.physics.orders import turning_parts

TIR = {"readings": ("0 thou", "3 thou", "-2 thou", "3 thou"), "closing": ("0",)}  # R-TIR-1


@pytest.fixture
def case_of(knowledge):
    def make(setup):
        return Case().with_facts(knowledge.setups[setup].facts, setup=setup)

    return make


@pytest.fixture
def offered(knowledge, case_of):
    def make(name, *, setup="twin_external", **typed):
        calculator = CALCULATORS[name]
        texts = {
            option.replace("_", "-"): (text,) if isinstance(text, str) else text
            for option, text in typed.items()
        }
        outcome = calculate(calculator, texts)
        return {
            offer.check: offer
            for offer in offers(knowledge, case_of(setup), calculator, texts, outcome)
        }

    return make


def test_declarations_name_what_there_is(knowledge):
    for calculator in CALCULATORS.values():
        options = {option.name: option for option in calculator.options}
        for reading in calculator.readings:
            measurement = knowledge.measurements[reading.measurement]
            assert bool(reading.result) != bool(reading.option)
            assert not reading.option or reading.option in options
            assert reading.instrument is None or reading.instrument in measurement.instruments
            assert all(word in options[name].choices for name, word in reading.when.items())
        for told in calculator.answers:
            answers = {answer.id for answer in knowledge.checks[told.check].answers}
            assert set(told.answers.values()) <= answers


def test_every_part_that_turns_has_its_answer():
    """But for the firing of all cylinders and a slipping clutch: no answer stands for these."""
    parts = turning_parts(900, cylinders=6, shaft_speed=600, gear_ratio=2, axle_ratio=4)
    (told,) = CALCULATORS["frequency"].answers
    assert {part.id for part in parts} - told.answers.keys() == {"firing", "slip"}


@pytest.mark.parametrize(
    ("part", "measurement"),
    [
        ("housing-bore", "bore_runout"),
        ("housing-face", "housing_face_runout"),
        ("flywheel-face", "flywheel_runout"),
        ("pilot-bore", "pilot_bore_runout"),
        ("disc-face", "disc_runout"),
    ],
)
def test_a_turn_of_the_dial_is_a_reading_of_its_part(part, measurement, knowledge, offered):
    found = offered("runout", part=part, **TIR)
    assert found
    for check, offer in found.items():
        record = knowledge.measurements[knowledge.checks[check].gauge]
        assert record.id == measurement
        (span,) = read_gauge(record, offer.reading)
        assert span.low == span.high == pytest.approx(0.127, rel=1e-3)  # R-TIR-1: 0.005 in
        assert offer.reading.endswith(record.unit)
        assert offer.instrument == "dial"
        answer = answer_for_reading(knowledge, knowledge.checks[check], offer.reading)
        assert offer.answer == answer.id
        assert not offer.refusal


@pytest.mark.parametrize("part", ["shaft", "flywheel-bore"])
def test_a_part_without_a_check_is_no_reading(part, offered):
    assert offered("runout", part=part, **TIR) == {}


def test_a_reading_can_go_into_a_case(offered):
    (offer,) = offered("runout", part="housing-bore", **TIR).values()
    entry = Entry(
        check=offer.check,
        answer=offer.answer,
        reading=offer.reading,
        instrument=offer.instrument,
        note=offer.note,
    )
    assert entry.reading == "0.005 in"
    assert "0 thou, 3 thou, -2 thou, 3 thou" in entry.note
    assert "back at the first place 0" in entry.note


def test_measured_travels(offered):
    found = offered(
        "stack-or-fork",
        fingers="45 mm",
        kit_fingers="45 mm",
        free_travel="1 1/8 in",
        kit_free_travel=("1 in", "1 1/2 in"),
        fork_ratio="1.8",
    )
    assert found["fork_free_travel_twin"].reading == "1.125 in"
    assert found["fork_free_travel_twin"].answer == "right"
    told = offered(
        "stack-or-fork", fingers="20", kit_fingers="20", fingers_told="depth", fork_ratio="1.8"
    )
    assert told == {}  # a depth is no height


def test_what_was_left_out_is_no_reading(offered):
    travel = {"master": "22 mm", "slave": "25 mm", "stroke": "25 mm"}
    assert offered("slave-travel", **travel) == {}
    found = offered("slave-travel", measured="12 mm", **travel)
    assert {offer.reading for offer in found.values()} == {"12 mm"}


def test_a_check_of_another_setup_is_not_offered(knowledge, offered):
    travel = {"free_travel": "30 mm", "kit_free_travel": "30 mm", "fork_ratio": "1.8"}
    assert "fork_free_travel_twin" in offered("stack-or-fork", **travel)
    assert knowledge.checks["fork_free_travel_twin"].when["discs"] == ("two", "three")
    assert "fork_free_travel_twin" not in offered("stack-or-fork", setup="light_external", **travel)


def test_the_two_spin_down_tests_answer_two_checks(offered):  # R-DRAG-1, R-DRAG-2
    assert offered("spin-down", test="grind", time="2 s")["spin_down_grind"].answer == "short"
    assert "spin_down_grind" not in offered("spin-down", test="wait", clash="no")
    assert offered("spin-down", test="wait", clash="no")["spin_down_reverse"].answer == "clean"
    assert offered("spin-down", test="wait", clash="yes") == {}  # later, or never?


def test_a_slip_of_the_dial_is_refused(knowledge, offered):
    readings = ("0 mm", "4 mm", "-4 mm", "4 mm")
    assert knowledge.measurements["flywheel_runout"].plausible[1] == "5 mm"
    (offer,) = offered("runout", part="flywheel-face", readings=readings).values()
    assert offer.answer == ""
    assert "can hardly be right" in offer.refusal


@pytest.mark.parametrize(
    ("typed", "answer"),
    [  # 750 rpm is 12.5 turns a second
        ({"frequency": "12.5 Hz", "pedal_down": "stays"}, "engine"),
        ({"frequency": "12.5 Hz", "pedal_down": "goes"}, "input_shaft"),
        ({"frequency": "6.25 Hz"}, "half_engine"),
        ({"frequency": "90 Hz"}, "nothing"),
        ({"frequency": "9 Hz", "shaft": "300 rpm"}, "take_up"),
        ({"frequency": "5 Hz", "gear_ratio": "2.5"}, "propshaft"),
        ({"frequency": "10 Hz", "gear_ratio": "2.5"}, "propshaft"),  # joints: twice a turn
        (
            {"frequency": "1.25 Hz", "gear_ratio": "2.5", "axle_ratio": "4", "doubt": "0.1"},
            "wheels",
        ),
    ],
)
def test_which_part_turns_answers_the_check(typed, answer, offered):
    found = offered("frequency", engine="750 rpm", **typed)
    assert found["vibration_frequency"].answer == answer
    assert found["vibration_frequency"].reading == ""


@pytest.mark.parametrize(
    "typed",
    [
        {"frequency": "12.5 Hz"},  # crankshaft, or the disc that turns with it
        {"frequency": "50 Hz", "cylinders": "8"},  # firing has no answer
    ],
)
def test_what_is_not_settled_answers_nothing(typed, offered):
    assert offered("frequency", engine="750 rpm", **typed) == {}


def test_what_was_typed_is_kept_and_no_more_than_a_note_holds():
    calculator = CALCULATORS["runout"]
    assert worked_out(calculator, {"readings": ("1", "2")}).endswith("dial readings 1, 2.")
    long = worked_out(calculator, {"readings": ("0.123 mm",) * 500})
    assert len(long) == 2000
    assert long.endswith("…")


def test_a_check_finds_its_calculator(knowledge):
    for check, name, words in (
        ("bore_runout", "runout", {"part": "housing-bore"}),
        ("disc_runout", "runout", {"part": "disc-face"}),
        ("spin_down_grind", "spin-down", {"test": "grind"}),
        ("vibration_frequency", "frequency", {}),
    ):
        calculator, given = calculator_for(knowledge, check)
        assert (calculator.name, given) == (name, words)
    assert calculator_for(knowledge, "pump_pedal") is None
    for check in knowledge.checks:
        found = calculator_for(knowledge, check)
        if found is not None:
            assert all(word in found[0].option(name).choices for name, word in found[1].items())
