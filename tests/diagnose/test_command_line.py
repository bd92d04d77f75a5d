"""The command line: exit statuses, one sentence and a next step, and the JSON others build on."""

import json
import subprocess
import sys
from math import log
from pathlib import Path

import pytest

from diagnose import __main__ as command_line
from diagnose.__main__ import main
from diagnose.assess import assess
from diagnose.case import Case, Entry, Found
from diagnose.case_file import read_case_file, write_case_file
from diagnose.planning.advice import advise
from diagnose.sentences import advice_reason
from knowledge.load import load_base
from knowledge.raw import KINDS

ROOT = Path(__file__).parents[2]
SMALL = ROOT / "tests" / "knowledge" / "small"
EXAMPLE = ROOT / "knowledge" / "examples" / "example.yaml"
CASE = Case(
    title="Blue van",
    facts={"release": ("cable",)},
    entries=(
        Entry(complaint="hard_to_shift", answer="yes"),
        Entry(complaint="rattles", answer="no"),
        Entry(check="free_play", answer="fits", reading="1 in"),
        Entry(check="look_inside", answer="disc", stage="inside"),
    ),
    found=Found(causes=("disc_bent",)),
)


@pytest.fixture
def small(monkeypatch):
    """The small base stands in for the one that ships with the program."""
    monkeypatch.setattr("knowledge.load.base_folder", lambda: SMALL)
    return load_base()


@pytest.fixture
def case_file(tmp_path):
    path = tmp_path / "van.yaml"
    write_case_file(path, CASE)
    return path


@pytest.fixture
def run(capsys):
    """Run a command: (exit status, standard output, standard error)."""

    def run_main(*words):
        capsys.readouterr()
        status = main([str(word) for word in words])
        return (status, *capsys.readouterr())

    return run_main


class TestRank:
    def test_json(self, small, case_file, run):
        status, out, err = run("rank", case_file, "--json")
        assert (status, err) == (0, "")
        data = json.loads(out)
        assert list(data) == ["causes", "sets", "unknown", "covered", "left_out", "readings"]
        found = assess(small, read_case_file(case_file, small))
        assert data["causes"] == [{"id": c.id, "name": c.name, "p": c.p} for c in found.causes]
        assert data["sets"] == [{"ids": list(s.ids), "p": s.p} for s in found.sets]
        assert data["unknown"] == found.unknown
        assert data["covered"] == found.covered
        assert (data["left_out"], data["readings"]) == (0.0, [])

    def test_what_the_numbers_mean(self, small, case_file, run):
        data = json.loads(run("rank", case_file, "--json")[1])
        # With a cable there is no air in the fluid; the disc was seen to run out.
        assert {c["id"] for c in data["causes"]} == small.causes.keys() - {"air"}
        assert data["causes"][0]["id"] == "disc_bent"
        chances = [c["p"] for c in data["causes"]]
        assert chances == sorted(chances, reverse=True)
        assert all(0.0 <= p <= 1.0 for p in (*chances, data["unknown"]))
        sets = [s["p"] for s in data["sets"]]
        assert sets == sorted(sets, reverse=True)
        assert data["covered"] == pytest.approx(sum(sets) + data["unknown"], abs=1e-9)
        # Every set counts for its causes: what is covered bounds each cause from below.
        for cause in data["causes"]:
            listed = sum(s["p"] for s in data["sets"] if cause["id"] in s["ids"])
            assert listed <= cause["p"] + 1e-9 <= listed + 1.0 - data["covered"] + 2e-9

    def test_lines(self, small, case_file, run):
        status, out, err = run("rank", case_file)
        assert (status, err) == (0, "")
        lines = out.split("\n")
        found = assess(small, CASE)
        assert lines[:2] == ["Blue van", "What it may be:"]
        assert lines[2].startswith(f"  1  {100 * found.causes[0].p:5.1f} in 100")
        assert "the new disc is bent (almost certain)" in lines[2]
        assert f"{100 * found.unknown:5.1f} in 100  something this tool does not know" in out
        assert not any(line.startswith("STOP") for line in lines)

    @pytest.mark.parametrize("command", ["rank", "advise"])
    @pytest.mark.parametrize(
        ("answer", "stops"),
        [("yes", True), ("probably", True), ("can't tell", False), ("no", False)],
    )
    def test_a_stop_stands_before_everything(self, command, answer, stops, small, tmp_path, run):
        path = tmp_path / "case.yaml"
        entries = (Entry(complaint="rattles", answer=answer),)
        write_case_file(path, Case(title="Rattler", entries=entries))
        status, out, _ = run(command, path)
        assert status == 0
        assert (out.split("\n")[1] == "STOP: Do not drive it.") is stops
        if command == "advise":
            data = json.loads(run(command, path, "--json")[1])
            assert data["stops"] == (["no_drive"] if stops else [])


class TestAdvise:
    def test_json(self, small, case_file, run):
        status, out, err = run("advise", case_file, "--json")
        assert (status, err) == (0, "")
        data = json.loads(out)
        found = assess(small, read_case_file(case_file, small))
        advice = advise(found)
        assert list(data) == [
            *("options", "expected", "outside", "inside", "go_inside", "gap", "gap_share", "flips"),
            *("glances", "closing", "too_long", "left", "money", "refined"),
            *("spent", "reason", "stops"),
        ]
        assert [o["id"] for o in data["options"]] == [o.id for o in advice.options]
        assert list(data["options"][0]) == [
            *("kind", "id", "name", "level", "hours", "way", "expected", "gain", "outcomes"),
            "designed",
        ]
        assert data["expected"] == pytest.approx(advice.expected)
        assert data["go_inside"] == advice.go_inside
        assert data["reason"] == advice_reason(found, advice)
        assert data["spent"] == 0.0
        assert len(data["options"][0]["outcomes"]) == len(advice.options[0].outcomes) > 0

    def test_cautions_stand_before_the_work(self, small, tmp_path, run):
        path = tmp_path / "case.yaml"
        entries = (
            Entry(complaint="hard_to_shift", answer="yes"),
            Entry(complaint="rattles", answer="no"),
            Entry(check="free_play", answer="fits"),
        )
        write_case_file(path, Case(entries=entries, facts={"release": ("cable",)}))
        lines = run("advise", path)[1].split("\n")
        (at,) = [
            i for i, line in enumerate(lines) if line.startswith("Next: look at fork and disc")
        ]
        assert lines[at + 1] == "  Caution: Put it on stands first."
        assert lines[at + 2] == f"  {small.checks['look_inside'].do}"
        assert lines[-2] == (
            "The maker's figures, local rules and licensed practice come before this advice."
        )

    def test_a_closed_case_is_told_as_found(self, small, case_file, run):
        lines = run("advise", case_file)[1].split("\n")
        name = small.causes["disc_bent"].name
        assert lines[0] == CASE.title
        assert lines[1].startswith(f"Found: {name}; ")
        assert not any(line.startswith("Next:") for line in lines)

    def test_the_shipped_example(self, run):
        for words in (("rank",), ("advise",), ("rank", "--json"), ("advise", "--json")):
            status, out, err = run(*words, EXAMPLE)
            assert (status, err) == (0, "")
            assert out


class TestEvaluate:
    def test_json(self, small, case_file, tmp_path, run):
        write_case_file(
            tmp_path / "bus.yaml", CASE.model_copy(update={"found": Found(causes=("fork_worn",))})
        )
        status, out, err = run("evaluate", tmp_path, "--json")
        assert (status, err) == (0, "")
        data = json.loads(out)
        assert list(data) == ["stages", "cases"]
        assert list(data["stages"]) == ["before", "all"]
        for scores in data["stages"].values():
            assert list(scores) == ["n", "top1", "top3", "top5", "mrr", "brier", "log_score"]
        assert [(c["id"], c["stage"]) for c in data["cases"]] == [
            *(("bus", "before"), ("bus", "all"), ("van", "before"), ("van", "all")),
        ]
        assert all(list(c) == ["id", "stage", "rank", "p"] for c in data["cases"])
        for stage, scores in data["stages"].items():
            cases = [c for c in data["cases"] if c["stage"] == stage]
            assert scores["n"] == len(cases) == 2
            for n in (1, 3, 5):
                assert scores[f"top{n}"] == sum(c["rank"] <= n for c in cases) / 2
            assert scores["mrr"] == pytest.approx(sum(1 / c["rank"] for c in cases) / 2)
            assert scores["log_score"] == pytest.approx(sum(log(c["p"]) for c in cases) / 2)
            assert 0.0 <= scores["brier"] <= 2.0

    def test_what_was_seen_inside_counts_only_at_the_end(self, small, case_file, run):
        data = json.loads(run("evaluate", case_file, "--json")[1])
        before, after = data["cases"]
        assert before["p"] == assess(small, CASE.before_opening()).cause("disc_bent").p
        assert after["p"] == assess(small, CASE).cause("disc_bent").p
        assert before["p"] < after["p"]

    def test_lines(self, small, case_file, run):
        status, out, err = run("evaluate", case_file)
        assert (status, err) == (0, "")
        p = assess(small, CASE).cause("disc_bent").p
        assert f"van             all        1  {p:.3f}" in out.split("\n")

    def test_a_case_that_does_not_say_what_was_found(self, small, tmp_path, run):
        write_case_file(tmp_path / "open.yaml", CASE.model_copy(update={"found": None}))
        status, out, err = run("evaluate", tmp_path)
        assert (status, out) == (1, "")
        assert err == "The case 'open' does not say what was found. Add 'found' to it.\n"

    def test_a_case_whose_set_up_rules_out_what_was_found(self, small, tmp_path, run):
        write_case_file(
            tmp_path / "odd.yaml", CASE.model_copy(update={"found": Found(causes=("air",))})
        )
        status, _, err = run("evaluate", tmp_path)
        assert status == 1
        assert "rules out what was found (air). Correct its facts" in err

    def test_a_folder_without_cases(self, small, tmp_path, run):
        assert run("evaluate", tmp_path) == (
            1,
            "",
            "There is no case file in that folder. Name a folder of .yaml case files.\n",
        )


class TestLint:
    def test_clean(self, small, run):
        status, out, err = run("lint")
        assert (status, err) == (0, "")
        assert out.split("\n")[-2] == "Clean."
        assert f"Knowledge {small.version}: 5 causes, 2 mechanisms, 2 complaints, 3 checks" in out
        assert "11 from published sources, 28 common practice, 12 judgement." in out

    def test_issues(self, small, tmp_path, run):
        (tmp_path / "own.yaml").write_text("zones: [{id: boot, name: Boot}]\n", encoding="utf-8")
        status, out, err = run("lint", tmp_path)
        assert (status, err) == (1, "")
        assert f"{tmp_path.name}/own.yaml:1:9  warning: nothing uses 'boot' [unused]" in out
        assert out.split("\n")[-2] == "1 to look at."

    def test_shifts_are_held_against_the_set_ups(self, small, tmp_path, run):
        (tmp_path / "own.yaml").write_text(
            "setups:\n"
            "- {id: light_cable, name: Cable, facts: {release: [cable]}, source: judgement}\n"
            "causes: [{id: cable_long, shifts: {air: {by: 2 cm3}}}]\n"
            "zones: [{id: boot, name: Boot}]\n",
            encoding="utf-8",
        )
        status, out, err = run("lint", tmp_path)
        assert (status, err) == (1, "")
        lines = out.split("\n")
        assert lines[0].endswith("own.yaml:4:9  warning: nothing uses 'boot' [unused]")
        idle = "no reading depends on 'air', which 'cable_long' shifts [idle-shift]"
        assert lines[1] == f"tree.yaml:37:3  error: {idle}"
        assert lines[-2] == "2 to look at."

    def test_a_bad_folder_lists_everything(self, small, tmp_path, run):
        shop = tmp_path / "shop"
        shop.mkdir()
        (shop / "a.yaml").write_text("zones:\n- {id: boot, nam: Boot}\n", encoding="utf-8")
        (shop / "b.yaml").write_text("causes: [{id: air, zone: peddal}]\n", encoding="utf-8")
        (shop / "c.yaml").write_text("off: [blet]\nzones: [\n", encoding="utf-8")
        (shop / "d.yaml").write_text("off: [blet]\n", encoding="utf-8")
        for words in (("lint", shop), ("lint", "--over", shop)):
            status, out, err = run(*words)
            assert (status, out) == (1, "")
            assert [
                line.split("  ")[0] for line in err.split("\n") if line.startswith("shop/")
            ] == [
                *("shop/a.yaml:2:3", "shop/a.yaml:2:14", "shop/b.yaml:1:26", "shop/c.yaml:3:1"),
                "shop/d.yaml:1:7",
            ]
            assert "(did you mean 'pedal'?)" in err
            assert err.split("\n")[-2] == "The knowledge can't be used: 5 to mend, listed above."

    def test_the_same_folder_can_not_be_used_for_a_case(self, small, case_file, tmp_path, run):
        shop = tmp_path / "shop"
        shop.mkdir()
        (shop / "a.yaml").write_text("causes: [{id: air, zone: peddal}]\n", encoding="utf-8")
        status, out, err = run("rank", "--over", shop, case_file)
        assert (status, out) == (1, "")
        assert "shop/a.yaml:1:26  'peddal' is not known among zones" in err

    def test_what_is_laid_over_counts(self, small, case_file, tmp_path, run):
        shop = tmp_path / "shop"
        shop.mkdir()
        (shop / "a.yaml").write_text("causes: [{id: disc_bent, name: Bent}]\n", encoding="utf-8")
        data = json.loads(run("rank", "--over", shop, case_file, "--json")[1])
        assert data["causes"][0] == {"id": "disc_bent", "name": "Bent", "p": data["causes"][0]["p"]}

    def test_the_shipped_base_by_name(self, run):
        assert "Knowledge " in run("lint")[1]


def test_schema(run):
    status, out, err = run("schema")
    assert (status, err) == (0, "")
    assert json.loads(out)["properties"].keys() == {*KINDS, "scale", "off"}


KNOWN_ERRORS = {
    "not there": (None, "van.yaml can't be read: no such file or directory. Check the file"),
    "empty": (b"", "van.yaml is empty. Choose another file."),
    "no case": (b"zones: []\n", "van.yaml is no case file: it does not say 'pull_once_case'."),
    "newer": (b"pull_once_case: 99\n", "van.yaml was written by a newer version of the program"),
    "not text": (
        b"pull_once_case: 1\n\xff\xfe",
        "van.yaml can't be used:\nvan.yaml:2:1  this is not UTF-8 text",
    ),
    "broken": (
        b"pull_once_case: 1\ntitle: [\n",
        "van.yaml can't be used:\nvan.yaml:3:1  not readable as YAML",
    ),
    "unknown id": (
        b"pull_once_case: 1\nentries: [{check: free_plai, answer: much}]\n",
        "van.yaml can't be used:\nvan.yaml:2:19  'free_plai' is no check of the knowledge base",
    ),
    "wrong unit": (
        b"pull_once_case: 1\nentries: [{check: free_play, answer: much, reading: 3 N}]\n",
        "van.yaml can't be used:\nvan.yaml:2:53  '3 N' is a force, but a length is wanted here.",
    ),
    "no number": (
        b"pull_once_case: 1\nhours: {out: soon}\n",
        "van.yaml can't be used:\nvan.yaml:2:14  'soon' does not fit here: it takes a number",
    ),
}


@pytest.mark.parametrize("command", ["rank", "advise", "evaluate"])
@pytest.mark.parametrize("fault", KNOWN_ERRORS)
def test_a_known_error_is_a_sentence_and_a_next_step(command, fault, small, tmp_path, run):
    content, said = KNOWN_ERRORS[fault]
    path = tmp_path / "van.yaml"
    if content is not None:
        path.write_bytes(content)
    status, out, err = run(command, path)
    assert (status, out) == (1, "")
    assert err.startswith(said)
    assert err.endswith(".\n")
    assert "Traceback" not in err
    if content is not None:
        assert path.read_bytes() == content


def test_certain_answers_that_contradict_each_other_are_no_error(small, tmp_path, run):
    path = tmp_path / "case.yaml"
    write_case_file(
        path,
        Case(
            entries=(
                *(Entry(complaint=name, answer="no") for name in small.complaints),
                Entry(check="look_inside", answer="sound"),
                Entry(check="free_play", answer="fits"),
                Entry(check="pump_pedal", answer="no"),
            )
        ),
    )
    for command in ("rank", "advise"):
        status, out, err = run(command, path)
        assert (status, err) == (0, "")
        assert out


class Failing:
    def __init__(self, error):
        self.error = error

    def __call__(self, *_, **__):
        raise self.error


def test_a_bug_is_reported_with_status_3(small, case_file, run, monkeypatch):
    monkeypatch.setattr(command_line, "assess", Failing(ZeroDivisionError("of the program")))
    status, out, err = run("rank", case_file)
    assert (status, out) == (3, "")
    assert "Traceback (most recent call last)" in err
    assert "ZeroDivisionError: of the program" in err
    assert err.split("\n")[-2].startswith("This is a fault of the program, not yours.")


def test_the_system_may_refuse(small, case_file, run, monkeypatch):
    monkeypatch.setattr(command_line, "_print", Failing(OSError(28, "No space left on device")))
    status, _, err = run("rank", case_file)
    assert status == 1
    assert err == (
        "The system refused: [Errno 28] No space left on device. Free the disc or check the path.\n"
    )


def test_broken_off_by_the_user(small, case_file, run, monkeypatch):
    monkeypatch.setattr(command_line, "assess", Failing(KeyboardInterrupt()))
    assert run("rank", case_file) == (130, "", "")


@pytest.mark.parametrize(
    "words", [[], ["rank"], ["dig"], ["rank", "a", "b"], ["rank", "a", "--xml"], ["evaluate"]]
)
def test_wrong_usage(words, capsys):
    with pytest.raises(SystemExit) as caught:
        main(words)
    assert caught.value.code == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("usage: pull-once")


def test_help(capsys):
    with pytest.raises(SystemExit) as caught:
        main(["--help"])
    assert caught.value.code == 0
    out = capsys.readouterr().out
    for command in ("rank", "advise", "evaluate", "lint", "schema"):
        assert command in out


class TestProcess:
    """In a process of its own: pipes and terminals as they are."""

    def start(self, *words, **options):
        return subprocess.Popen(
            [sys.executable, "-m", "diagnose", *map(str, words)],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            **options,
        )

    def test_a_reader_that_has_gone(self):
        process = self.start("schema")
        process.stdout.close()  # long before the first word is written
        said = process.stderr.read()
        process.stderr.close()
        assert process.wait() == 1
        assert said == b""

    def test_a_terminal_that_knows_only_ascii(self):
        environment = {"PYTHONIOENCODING": "ascii", "PATH": "", "PYTHONUTF8": "0"}
        out, err = self.start("advise", EXAMPLE, env=environment).communicate()
        assert err == b""
        assert out.decode("ascii").strip()

    def test_json_is_ascii_so_that_every_file_can_take_it(self):
        out, err = self.start("rank", EXAMPLE, "--json").communicate()
        assert err == b""
        assert json.loads(out.decode("ascii"))["causes"]
