"""The command ``gauge``: plain lines, JSON, what is refused, and what comes from a case."""

import argparse
import json
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculators import CALCULATORS, add_gauge_parser, calculate
from diagnose.errors import PullOnceError
from knowledge.load import base_folder
from tests.diagnose.calculators.gauging import USES, gauge

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
# What people type, right and wrong.
TYPED = (
    *("0", "1", "2", "12", "45", "200", "750", "0.3", "-0.2", "1e4", "1e400", "nan", ""),
    *("1 3/8 in", "35 mm", "0.003 in", "0 mm", "100 N", "2 s", "60 Nm", "12 Hz", "750 rpm"),
    *("M10", "M10x1.25", "3/8-16", "1/0-13", "3", "6", "9", "1:30", "90 deg", "4 furlongs"),
)


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
            "from_case",
            "headline",
            "results",
            "notes",
            "readings",
            "cautions",
            "sources",
            "deferral",
        ]
        assert data["calculator"] == name
        lines = run(name, *USES[name])
        assert all(note in lines for note in data["notes"])
        # One caution, result, note or reading a line, then source and deferral.
        parts = ("cautions", "results", "notes", "readings", "from_case")
        count = sum(len(data[part]) for part in parts) + bool(data["headline"]) + 2
        assert len(lines.strip().splitlines()) == count
        assert data["headline"] in lines

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
            assert option.label in out
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


class TestCase:
    @pytest.fixture
    def example(self):
        return str(base_folder().parent / "examples" / "example.yaml")

    def test_what_is_left_out_comes_from_the_case(self, example, run):
        out = run("slave-travel", "--case", example, "--slave", "1 in")
        assert "bore of the master: 22.225 mm, from the set-up" in out
        assert "bore of the slave: " not in out  # it was typed
        data = json.loads(run("torque", "--case", example, "--json"))
        assert data["from_case"]["discs"] == "2"
        assert data["typed"] == {}
        assert data["results"]["faces"]["value"] == 4

    def test_without_a_case_it_is_wanted(self, capsys):
        with pytest.raises(SystemExit) as stop:
            gauge("slave-travel", "--slave", "1 in")
        assert stop.value.code == 2
        assert "--master" in capsys.readouterr().err

    def test_a_reading_for_a_case_is_named(self, knowledge, run):
        out = run("runout", *USES["runout"])
        name = knowledge.measurements["bore_runout"].name
        assert f"In a case: 0.005 in is a reading of “{name}”." in out
        data = json.loads(run("runout", *USES["runout"], "--json"))
        assert data["readings"] == {"bore_runout": "0.005 in"}
        assert json.loads(run("bolt", *USES["bolt"], "--json"))["readings"] == {}

    def test_one_line_of_readings(self, results):
        words = ("--closing", "0 thou", "--readings", "0 3 -2 3 thou")
        assert results("runout", *words)["tir"] == pytest.approx(0.127)  # R-TIR-1
