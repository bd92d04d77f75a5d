"""The command ``gauge``: plain lines, JSON, and what is refused."""

import argparse
import json
from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculators import CALCULATORS, CalculatorError, add_gauge_parser, calculate
from diagnose.calculators.calculator import LENGTH_UNIT, Option, Values, digits, say
from diagnose.calculators.units import tape
from diagnose.errors import PullOnceError
from diagnose.physics.runout_limits import limits_for
from knowledge.quantity import parse_quantity

NAMES = [
    "runout",
    "slave-travel",
    "torque",
    "bolt",
    "stack-or-fork",
    "fluid",
    "spin-down",
    "frequency",
    "convert",
]
# One plain use of each.
USES = {
    "runout": (
        "--readings",
        "0",
        "3",
        "-2",
        "3",
        "--unit",
        "thou",
        "--closing",
        "0",
        "--size",
        "1",
    ),
    "slave-travel": ("--master", "3/4 in", "--slave", "7/8 in", "--stroke", "1/4 in"),
    "torque": (
        *("--outer", "300 mm", "--inner", "130", "--clamp", "24300.2 N"),
        *("--friction", "0.2", "--engine", "600 Nm"),
    ),
    "bolt": ("1/2-13", "--grade", "8"),
    "stack-or-fork": (
        *("--fingers", "48 mm", "--kit-fingers", "45 mm", "--fork-ratio", "1.8"),
        *("--free-travel", "1 in", "--kit-free-travel", "1 in", "1 1/2 in"),
    ),
    "fluid": ("4", "--boils", "150 °C"),
    "spin-down": (
        "--test",
        "grind",
        "--time",
        "2 s",
        "--idle",
        "750 rpm",
        "--oil-temperature",
        "60",
    ),
    "frequency": ("12.5 Hz", "--engine", "750 rpm", "--cylinders", "8"),
    "convert": ("1 3/8 in", "mm"),
}

# What people type, right and wrong.
TYPED = (
    *("0", "1", "2", "12", "45", "200", "750", "0.3", "-0.2", "1e4", "1e400", "nan", ""),
    *("1 3/8 in", "35 mm", "0.003 in", "0 mm", "100 N", "2 s", "60 Nm", "12 Hz", "750 rpm"),
    *("M10", "M10x1.25", "3/8-16", "1/0-13", "3", "6", "9", "1:30", "90 deg", "4 furlongs"),
)


def gauge(*words):
    parser = argparse.ArgumentParser(prog="pull-once")
    add_gauge_parser(parser.add_subparsers(required=True))
    arguments = parser.parse_args(["gauge", *words])
    return arguments.command(arguments)


@pytest.fixture
def run(capsys):
    def lines(*words):
        capsys.readouterr()
        assert gauge(*words) == 0
        return capsys.readouterr().out

    return lines


@pytest.fixture
def results(run):
    def values(*words):
        data = json.loads(run(*words, "--json"))
        return {key: result["value"] for key, result in data["results"].items()}

    return values


def worked(name, **typed):
    """Values by key, through the door that dialogs use."""
    texts = {
        option.replace("_", "-"): (text,) if isinstance(text, str) else tuple(text)
        for option, text in typed.items()
    }
    outcome = calculate(CALCULATORS[name], texts)
    return {result.key: result.value for result in outcome.results}


class TestAll:
    def test_the_names(self):
        assert list(CALCULATORS) == NAMES
        assert set(USES) == set(NAMES)

    @pytest.mark.parametrize("name", NAMES)
    def test_plain_lines(self, name, run):
        out = run(name, *USES[name])
        calculator = CALCULATORS[name]
        lines = out.strip().splitlines()
        assert lines[-1] == calculator.deferral
        assert "maker" in calculator.deferral or "cap" in calculator.deferral or "kit" in lines[-1]
        assert lines[-2].startswith("Source: ")
        assert len(lines) > 2
        assert " nan" not in out

    @pytest.mark.parametrize("name", NAMES)
    def test_json_holds_what_the_lines_say(self, name, run):
        data = json.loads(run(name, *USES[name], "--json"))
        assert list(data) == [
            "calculator",
            "typed",
            "results",
            "notes",
            "cautions",
            "sources",
            "deferral",
        ]
        assert data["calculator"] == name
        lines = run(name, *USES[name])
        assert all(note in lines for note in data["notes"])
        # One caution, result or note a line, then source and deferral.
        count = len(data["cautions"]) + len(data["results"]) + len(data["notes"]) + 2
        assert len(lines.strip().splitlines()) == count

    @pytest.mark.parametrize("name", NAMES)
    def test_names_and_keys_are_unique(self, name):
        parser = argparse.ArgumentParser()
        add_gauge_parser(parser.add_subparsers())
        arguments = parser.parse_args(["gauge", name, *USES[name]])
        options = [option.name for option in CALCULATORS[name].options]
        assert len(options) == len(set(options))
        texts = {option: getattr(arguments, option.replace("-", "_")) for option in options}
        typed = {o: (t,) if isinstance(t, str) else tuple(t) for o, t in texts.items() if t}
        keys = [result.key for result in calculate(CALCULATORS[name], typed).results]
        assert len(keys) == len(set(keys))

    @pytest.mark.parametrize("name", NAMES)
    def test_a_source_id_is_told(self, name):
        sources = " ".join(CALCULATORS[name].sources)
        assert "R-" in sources

    def test_cautions_are_in_the_knowledge_and_come_first(self, knowledge, run):
        for calculator in CALCULATORS.values():
            assert set(calculator.cautions) <= knowledge.cautions.keys()
        first = run("fluid", "4").splitlines()[0]
        assert first == f"! {knowledge.cautions['brake_fluid'].text}"

    @pytest.mark.parametrize("name", NAMES)
    def test_help(self, name, capsys):
        with pytest.raises(SystemExit) as stop:
            gauge(name, "--help")
        assert stop.value.code == 0
        out = " ".join(capsys.readouterr().out.split())
        for option in CALCULATORS[name].options:
            assert option.text in out

    @given(st.data())
    def test_whatever_is_typed_is_worked_out_or_refused(self, data):
        calculator = CALCULATORS[data.draw(st.sampled_from(NAMES))]
        texts = st.one_of(st.sampled_from(TYPED), st.text(max_size=6))
        typed = {}
        for option in calculator.options:
            words = st.sampled_from(option.choices) if option.choices else texts
            if option.required or data.draw(st.booleans()):
                size = data.draw(st.integers(1, 6)) if option.many else 1
                typed[option.name] = tuple(data.draw(words) for _ in range(size))
        with suppress(PullOnceError):
            lines = [result.line for result in calculate(calculator, typed).results]
            assert lines
            assert not any(" nan" in line or "inf " in line for line in lines)

    def test_wrong_usage(self, capsys):
        for words in ((), ("nothing",), ("fluid", "7"), ("torque",)):
            with pytest.raises(SystemExit) as stop:
                gauge(*words)
            assert stop.value.code == 2
        assert "usage" in capsys.readouterr().err


class TestRunout:
    def test_the_manual(self, run):  # R-TIR-1
        out = run("runout", *USES["runout"])
        assert "T.I.R., highest less lowest reading: 0.127 mm (0.005 in)" in out
        assert "no source" in out  # the validity rule is unconfirmed, R-TIR-5

    def test_both_tables(self, results):  # R-RUNOUT-1, R-RUNOUT-2
        found = results("runout", *USES["runout"])
        assert [found["limit_1"], found["limit_2"]] == [
            x.tir for x in limits_for("housing_bore", size="1")
        ]
        assert found["within_limit_1"] > 0.99

    def test_the_figure_of_the_maker_replaces_them(self, results):
        found = results("runout", *USES["runout"], "--limit", "5")
        assert found["limit_1"] == pytest.approx(0.127)
        assert found["within_limit_1"] == pytest.approx(0.5)
        assert "limit_2" not in found

    def test_a_set_that_does_not_close(self):
        with pytest.raises(PullOnceError, match="does not close"):
            worked("runout", readings=("0", "3", "-2", "3"), unit="thou", closing="1")

    def test_a_reading_in_inches_is_of_a_dial_in_thousandths(self):  # half a division of closing
        readings = ("0 in", "0.003 in", "-0.002 in", "0.003 in")
        assert worked("runout", readings=readings, closing="0.0004 in")["tir"] > 0.0
        with pytest.raises(PullOnceError, match="does not close"):
            worked("runout", readings=readings, closing="0.0004 in", graduation="0.0005 in")

    def test_dowels(self, results):  # R-TIR-5: half of 0.014, and the housing goes the other way
        words = ("--readings", "0", "7", "14", "7", "--unit", "thou", "--dowels", "7", "14")
        found = results("runout", *words)
        assert found["offset"] == pytest.approx(0.007 * 25.4)
        assert found["direction"] == "12 o'clock"
        assert found["dowel"] == pytest.approx(0.007 * 25.4)
        assert found["dowel_direction"] == "6 o'clock"
        assert found["left_tir"] == pytest.approx(0.0, abs=1e-9)

    def test_dowels_do_not_move_a_pilot_bore(self):
        with pytest.raises(CalculatorError, match="housing bore"):
            worked("runout", readings=("0",) * 4, part="pilot-bore", dowels=("0.2",))

    def test_the_other_convention_is_named_and_no_default(self, run):  # R-TIR-6
        words = ("runout", "--readings", "0", ".1", ".1", "0")
        assert "NOT the usual" not in run(*words)
        assert "NOT the usual T.I.R.: vertical plus horizontal total: 0.2 mm" in run(
            *words, "--convention", "totals"
        )

    def test_clock_positions(self, results):
        found = results(
            "runout", "--at", "1:30", "4:30", "7:30", "10:30", "--readings", "0", ".1", ".2", ".1"
        )
        assert found["direction"] == "1:30 o'clock"

    def test_a_face(self, results):  # R-RUNOUT-3
        words = ("--part", "flywheel-face", "--readings", "0", ".05", ".1", ".05")
        found = results("runout", *words, "--radius", "100 mm")
        assert found["tilt"] == pytest.approx(0.5)
        assert found["high_side"] == "6 o'clock"
        assert 0.1 in {found[f"limit_{n}"] for n in range(1, 5)}
        assert "offset" not in found


class TestRelease:
    @pytest.mark.parametrize(
        ("master", "slave", "travel"),
        [
            ("5/8 in", "5/8 in", 0.250),
            ("5/8 in", "3/4 in", 0.174),
            ("5/8 in", "7/8 in", 0.128),
            ("3/4 in", "5/8 in", 0.360),
            ("3/4 in", "7/8 in", 0.184),
            ("7/8 in", "5/8 in", 0.490),
            ("7/8 in", "3/4 in", 0.340),
        ],
    )
    def test_the_travel_table(self, master, slave, travel):  # R-HYD-1
        found = worked("slave-travel", master=master, slave=slave, stroke="1/4 in")
        assert found["travel"] / 25.4 == pytest.approx(travel, abs=6e-4)

    def test_a_ring(self):  # R-HYD-2
        found = worked(
            "slave-travel", master="0.75 in", slave="2 in", core="1.375 in", stroke="1.25 in"
        )
        assert found["travel"] / 25.4 == pytest.approx(0.333, abs=5e-4)
        assert found["displaced"] / 25.4**3 == pytest.approx(0.552, abs=5e-4)

    def test_air(self):  # worked example W1: 1.940 cm3 of 2 lost, tip travel 15.903 of 19.732
        found = worked(
            "slave-travel",
            master="22.225",
            slave="25.4",
            pedal="150",
            play="8.25",
            pedal_ratio="5.5",
            air="2 cm3",
            force="1666.667 N",
        )
        assert found["travel"] == pytest.approx(19.732, abs=1e-3)
        assert found["lost"] == pytest.approx(1940, abs=1)
        assert found["travel_left"] == pytest.approx(15.903, abs=1e-3)

    def test_air_can_take_all(self):
        found = worked(
            "slave-travel", master="16", slave="19", stroke="5", air="5 cm3", force="1500 N"
        )
        assert found["travel_left"] == 0.0

    @pytest.mark.parametrize(
        ("typed", "why"),
        [
            ({"master": "16", "slave": "19"}, "stroke"),
            ({"master": "16", "slave": "19", "core": "20", "stroke": "10"}, "core"),
            ({"master": "16", "slave": "19", "stroke": "10", "air": "1"}, "pressure"),
            ({"master": "16 N", "slave": "19", "stroke": "10"}, "length"),
            ({"master": "160", "slave": "19", "stroke": "10"}, "can't be 160"),
            ({"slave": "19", "stroke": "10"}, "master is missing"),
        ],
    )
    def test_refused(self, typed, why):
        with pytest.raises(CalculatorError, match=why):
            worked("slave-travel", **typed)

    def test_stack(self, results):  # trade notes, section 3
        found = results(
            *("stack-or-fork", "--fingers", "50", "--kit-fingers", "45", "--fork-ratio", "1.8"),
            *("--free-travel", "22.75", "--kit-free-travel", "31.75", "--diaphragm-ratio", "3.8"),
        )
        assert found["stack"] > 0.8
        assert found["fingers_out"] == pytest.approx(5.0, rel=0.1)
        assert found["stack_thin"] == pytest.approx(found["fingers_out"] / 3.8)

    def test_a_depth_is_told_the_other_way(self):
        kit = {"kit_free_travel": "31.75", "free_travel": "22.75", "fork_ratio": "1.8"}
        height = worked("stack-or-fork", fingers="50", kit_fingers="45", **kit)
        depth = worked("stack-or-fork", fingers="15", kit_fingers="20", fingers_told="depth", **kit)
        assert depth == pytest.approx(height)

    def test_a_fork_that_will_not_move_stops_the_drive(self, knowledge, run):
        out = run(
            *("stack-or-fork", "--fingers", "45", "--kit-fingers", "45", "--fork-ratio", "1.8"),
            *("--free-travel", "0", "--kit-free-travel", "1 in", "1 1/2 in"),
        )
        assert out.startswith(f"! {knowledge.cautions['stop_no_travel'].text}")
        assert "Look at pivot" in out

    def test_the_figure_of_the_kit_is_wanted(self):
        with pytest.raises(CalculatorError, match="kit"):
            worked("stack-or-fork", fingers="45", fork_ratio="1.8")

    def test_a_spacer(self):  # W1: 6.35 mm takes 17.78 with a middle pivot
        found = worked(
            "stack-or-fork",
            fingers="45",
            kit_fingers="45",
            free_travel="13.97",
            kit_free_travel="31.75",
            fork_ratio="1.8",
            layout="middle-pivot",
        )
        assert found["spacer"] == pytest.approx(6.35, rel=0.05)


class TestOthers:
    def test_torque(self):  # R-TORQUE-7
        found = worked(
            "torque", outer="300", inner="130", clamp="24300.2 N", friction="0.2", discs="1"
        )
        assert found["bedded"] == pytest.approx(1044.91e3, abs=5)
        assert found["new"] == pytest.approx(1099.35e3, abs=5)
        assert found["faces"] == 2

    def test_a_twin_disc_has_four_faces(self):
        typed = {"outer": "265", "inner": "180", "clamp": "9300 N", "friction": "0.3"}
        one, two = (worked("torque", discs=n, **typed) for n in ("1", "2"))
        assert (one["faces"], two["faces"]) == (2, 4)
        assert two["bedded"] == pytest.approx(2.0 * one["bedded"])

    @pytest.mark.parametrize("typed", [{"outer": "130", "inner": "300"}, {"discs": "1.5"}])
    def test_no_clutch(self, typed):
        usual = {"outer": "300", "inner": "130", "clamp": "9000 N", "friction": "0.3"}
        with pytest.raises(CalculatorError):
            worked("torque", **{**usual, **typed})

    def test_bolt(self):  # R-BOLT-4: 106.4 lbf ft dry, 79.8 with K 0.15
        dry = worked("bolt", size="1/2-13", grade="8")
        oiled = worked("bolt", size="1/2-13", grade="8", factor="0.15")
        foot = parse_quantity("1 lbf ft").value
        assert dry["torque"] / foot == pytest.approx(106.4, abs=0.2)
        assert oiled["torque"] / foot == pytest.approx(79.8, abs=0.2)

    def test_a_torque_gives_its_preload_back(self):
        found = worked("bolt", size="M10x1.25", grade="10.9", torque="60 Nm")
        assert found["load_of_torque"] * 0.2 * 10.0 == pytest.approx(60e3)

    @pytest.mark.parametrize(
        "typed", [{"size": "M10"}, {"size": "M10", "grade": "8"}, {"size": "x", "grade": "8"}]
    )
    def test_no_bolt(self, typed):
        with pytest.raises(PullOnceError):
            worked("bolt", **typed)

    def test_fluid(self):  # R-HYD-4
        assert (worked("fluid", **{"class": "5.1"})["dry"]) == 260.0
        assert "renew" in worked("fluid", **{"class": "4", "boils": "300 °F"})["verdict"]

    def test_the_trap_is_told(self, run):  # R-HYD-4
        assert "270 and 190 °C are wrong" in run("fluid", "5.1")

    def test_the_two_spin_down_tests_do_not_mix(self):  # R-DRAG-1, R-DRAG-2
        assert worked("spin-down", test="grind", time="2 s")["within_3_s"] > 0.99
        assert worked("spin-down", test="wait", clash="yes") == {"clash_after_9_s": True}
        with pytest.raises(CalculatorError, match="no time to read"):
            worked("spin-down", test="wait", time="5 s")
        with pytest.raises(CalculatorError, match="answer"):
            worked("spin-down", test="wait")
        with pytest.raises(CalculatorError, match="time"):
            worked("spin-down", test="grind")

    def test_oil_and_idle_are_asked_for(self, run):  # R-DRAG-3
        out = run("spin-down", "--test", "grind", "--time", "2 s")
        assert "oil temperature and idle" in out
        assert "Write down" not in run("spin-down", *USES["spin-down"])

    def test_drag_from_a_time(self):  # J dw/dt = T_drive - T_drag: 62.83 rad/s in 3 s
        found = worked("spin-down", inertia="0.01 kg m2", idle="600", time="3", drag="0.5 Nm")
        assert found["mean_torque"] == pytest.approx(209.44, abs=0.01)
        assert found["drive_torque"] == pytest.approx(500 - 209.44, abs=0.01)
        assert found["stop_time"] == pytest.approx(3 * 209.44 / 500, abs=1e-4)

    def test_a_driven_shaft_never_stands(self, run):
        words = ("--inertia", "0.01", "--idle", "600", "--drag", "0.5 Nm", "--drive", "0.6 Nm")
        assert (
            json.loads(run("spin-down", *words, "--json"))["results"]["stop_time"]["value"] is None
        )
        assert "never" in run("spin-down", *words)

    @pytest.mark.parametrize("typed", [{}, {"inertia": "0.01"}, {"inertia": "0.01", "idle": "600"}])
    def test_nothing_to_work_out(self, typed):
        with pytest.raises(CalculatorError):
            worked("spin-down", **typed)

    def test_frequency(self):  # R-JUDDER-1: 12.5 Hz at 750 rpm
        found = worked("frequency", frequency="12.5 Hz", engine="750 rpm", cylinders="8")
        assert found["engine"] == 12.5
        assert found["firing"] == 50.0
        assert found["fits"] == "engine, input_shaft"
        assert found["bands"] == "judder"

    def test_wheels_need_their_gear(self):
        with pytest.raises(CalculatorError, match="gear ratio"):
            worked("frequency", frequency="12", engine="750", axle_ratio="4")

    def test_convert(self, run):  # R-UNIT-1
        assert run("convert", "1 3/8 in", "mm").startswith("1 3/8 in: 34.925 mm\n")
        assert worked("convert", quantity="1 lbf ft", to="N mm")["value"] == pytest.approx(
            1355.8179483314
        )
        assert worked("convert", quantity="35 mm", to="inches")["tape"] == "1 3/8 in"

    @pytest.mark.parametrize(
        ("quantity", "unit"), [("35 mm", "N"), ("35", "mm"), ("x", "mm"), ("1 in", "cubit")]
    )
    def test_no_conversion(self, quantity, unit):
        with pytest.raises(CalculatorError):
            worked("convert", quantity=quantity, to=unit)

    @given(st.floats(0.001, 1e4), st.sampled_from(["in", "thou", "ft", "cm"]))
    def test_units_there_and_back(self, value, unit):  # R-UNIT-1
        there = worked("convert", quantity=f"{value!r} {unit}", to="mm")["value"]
        back = worked("convert", quantity=f"{there!r} mm", to=unit)["value"]
        assert back == pytest.approx(value)

    def test_an_unknown_option(self):
        with pytest.raises(CalculatorError, match="does not ask"):
            calculate(CALCULATORS["fluid"], {"colour": ("red",)})

    def test_a_choice_from_a_dialog_is_held_to_the_list(self):
        with pytest.raises(CalculatorError, match="3, 4, 5"):
            worked("fluid", **{"class": "7"})


class TestTape:
    @pytest.mark.parametrize(
        ("inches", "words"),
        [(1.375, "1 3/8 in"), (0.5, "1/2 in"), (2.0, "2 in"), (0.0, "0 in"), (-0.25, "-1/4 in")],
    )
    def test_marks(self, inches, words):
        assert tape(inches) == words

    @given(st.floats(0.0, 100.0))
    def test_read_back_to_half_a_mark(self, inches):
        back = parse_quantity(tape(inches)).value / 25.4
        assert abs(back - inches) <= 1 / 128 + 1e-12
        assert (Fraction(back).limit_denominator(64) * 64).denominator == 1


class TestWords:
    @pytest.mark.parametrize(
        ("value", "unit", "words"),
        [
            (0.127, "mm", "0.127 mm (0.005 in)"),
            (144267.0, "N mm", "144.3 N m (106.4 lbf ft)"),
            (205.0, "degC", "205 °C (401 °F)"),
            (0.5, "share", "50.0 in 100"),
            (True, "", "yes"),
            (None, "mm", "none"),
            ("6 o'clock", "", "6 o'clock"),
            (12.5, "Hz", "12.5 Hz"),
        ],
    )
    def test_values(self, value, unit, words):
        assert say(value, unit) == words

    @given(st.floats(1e-6, 1e9))
    def test_four_digits_and_no_power_of_ten(self, value):
        text = digits(value)
        assert "e" not in text
        assert float(text) == pytest.approx(value, rel=6e-4)

    def test_the_unit_of_bare_lengths(self):
        options = {o.name: o for o in (LENGTH_UNIT, Option("gap", "gap", unit="mm"))}
        typed = {"gap": ("2",), "unit": ("thou",)}
        assert Values(options, typed).number("gap") == pytest.approx(0.0508)
        assert Values(options, {**typed, "gap": ("2 mm",)}).number("gap") == 2.0
        assert Values(options, {**typed, "gap": ("2 mm",)}).written_in("gap") == "mm"
