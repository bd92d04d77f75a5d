"""What the calculators give, against published figures."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculators import CALCULATORS, CalculatorError, calculate
from diagnose.errors import PullOnceError
from diagnose.physics.runout_limits import limits_for
from knowledge.quantity import parse_quantity
from tests.diagnose.calculators.gauging import USES, worked


class TestRunout:
    def test_the_manual(self, run):  # R-TIR-1
        out = run("runout", *USES["runout"])
        assert "T.I.R., highest less lowest reading: 0.127 mm (0.005 in)" in out
        assert "no source" in out  # the validity rule is unconfirmed, R-TIR-5

    def test_the_headline_counts_the_limits(self, run):
        words = ("runout", "--readings", "0", "3", "-2", "3", "--unit", "thou")
        assert "T.I.R. 0.127 mm (0.005 in). The set is not closed yet." in run(*words)
        closed = (*words, "--closing", "0")
        assert "(0.005 in): within every limit.\n" in run(*closed, "--size", "1")
        assert "(0.005 in): above the limit.\n" in run(*closed, "--limit", "4")
        large = ("runout", "--readings", "0", "9", "0", "0", "--unit", "thou", "--closing", "0")
        # R-RUNOUT-1 allows 0.008 in for this size, R-RUNOUT-2 0.012 in
        assert "(0.009 in): above 1 of 2 limits.\n" in run(*large, "--size", "1")

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

    def test_fluid_and_hose(self):
        """R-HOSE-1, structure: V0 p/K + Va (1 - pa/(pa + p)) + c L p, over the slave's area."""
        found = worked(
            "slave-travel",
            master="16",
            slave="20",
            stroke="25",
            force="942.4778 N",  # 3 MPa on 314.159 mm2
            air="1 cm3",
            fluid="50 cm3",
            modulus="1500 MPa",
            hose="400 mm",
            hose_swell="0.3",
        )
        assert found["pressure"] == pytest.approx(3.0, rel=1e-6)
        assert found["lost_fluid"] == pytest.approx(50e3 * 3.0 / 1500.0, rel=1e-6)
        assert found["lost_air"] == pytest.approx(967.3, abs=0.1)  # R-HYD-5: 96.7 % of 1 cm3
        assert found["lost_hose"] == pytest.approx(0.3 * 400.0 * 3.0, rel=1e-6)
        parts = found["lost_fluid"] + found["lost_air"] + found["lost_hose"]
        assert found["lost"] == pytest.approx(parts)
        assert found["travel"] - found["travel_left"] == pytest.approx(parts / 314.159, rel=1e-5)

    def test_a_measured_travel_tells_what_did_not_arrive(self):  # W1: 5 cm3 of air
        typed = {"master": "22.225", "slave": "25.4", "pedal": "150", "play": "8.25"}
        typed |= {"pedal_ratio": "5.5", "force": "1666.667 N", "measured": "10.160"}
        found = worked("slave-travel", **typed)
        assert found["missing"] == pytest.approx(4851, abs=1)
        assert found["as_air"] == pytest.approx(5000, abs=2)
        assert found["arrives"] == pytest.approx(10.160 / 19.732, abs=1e-4)
        explained = worked("slave-travel", air="5 cm3", **typed)
        assert explained.get("unexplained", 0.0) == pytest.approx(0.0, abs=1.0)

    def test_more_than_the_bores_give_is_questioned(self, run):
        words = ("--master", "16", "--slave", "20", "--stroke", "10", "--measured", "9 mm")
        assert "check bores" in run("slave-travel", *words)

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
            ({"master": "16", "slave": "19", "stroke": "10", "hose": "300"}, "pressure"),
            (
                {"master": "16", "slave": "19", "stroke": "10", "hose": "300", "force": "900"},
                "[Ss]welling of the hose is missing",
            ),
            (
                {"master": "16", "slave": "19", "stroke": "10", "fluid": "30", "force": "900"},
                "[Bb]ulk modulus of the fluid is missing",
            ),
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

    def test_it_says_which_part_turns(self, run):  # 750 rpm is 12.5 turns a second
        out = run("frequency", "12.5 Hz", "--engine", "750 rpm", "--pedal-down", "stays")
        assert "12.5 Hz: crankshaft, flywheel and cover." in out
        out = run("frequency", "12.5 Hz", "--engine", "750 rpm", "--pedal-down", "goes")
        assert "12.5 Hz: disc and input shaft, turning with the engine." in out
        assert "90 Hz: nothing that turns." in run("frequency", "90 Hz", "--engine", "750 rpm")

    def test_judder_keeps_its_own_frequency(self, run):  # R-JUDDER-1: 5 to 20 Hz at take-up
        out = run("frequency", "9 Hz", "--engine", "750 rpm", "--shaft", "300 rpm")
        assert "judder at take-up" in out

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
