"""What the scripts share, and check.py, as far as they can be tried without installing."""

import ast
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "packaging"
SCRIPTS = sorted(FOLDER.glob("*.py"))
ALLOWED_AT_THE_TOP = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "diagnose",
    "knowledge",
    "ui",
    "tests",
    "packaging",
}


class TestFolder:
    def test_is_not_a_package(self):
        # It would hide the installed library of the same name from pytest and others.
        assert not (FOLDER / "__init__.py").exists()

    def test_hides_no_module_of_pythons_own(self):
        names = {path.stem for path in FOLDER.iterdir()}
        assert names.isdisjoint(sys.stdlib_module_names)

    def test_is_last_on_the_path_of_a_running_script(self):
        code = (
            "import runpy, sys; sys.path.insert(0, sys.argv[2]);"
            "runpy.run_path(sys.argv[1], run_name='start');"
            "print(sys.path.index(sys.argv[2]) - len(sys.path))"
        )
        done = subprocess.run(
            [sys.executable, "-c", code, FOLDER / "start.py", FOLDER],
            capture_output=True,
            text=True,
            check=True,
        )
        assert done.stdout.strip() == "-1"

    def test_top_level_of_the_repository(self):
        git = shutil.which("git") or pytest.skip("there is no git to ask")
        listed = subprocess.run(
            [git, "-C", ROOT, "ls-files"], capture_output=True, text=True, check=False
        )
        top = {line.partition("/")[0] for line in listed.stdout.splitlines()}
        if not top:
            pytest.skip("nothing is tracked here: this is not a clone")
        assert {name for name in top if not name.startswith(".")} <= ALLOWED_AT_THE_TOP


class TestOldPython:
    @pytest.mark.parametrize("version", [(3, 11), (3, 12), (4, 0)])
    def test_new_enough(self, script, version):
        assert script("oldest_python").sentence(version) == ""

    @pytest.mark.parametrize("version", [(2, 7), (3, 6), (3, 10)])
    def test_too_old_is_one_sentence(self, script, version):
        sentence = script("oldest_python").sentence(version)
        assert f"this is Python {version[0]}.{version[1]}" in sentence
        assert sentence.count(". ") == 0
        assert "\n" not in sentence

    def test_agrees_with_the_project(self, script):
        project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
        oldest = ".".join(map(str, script("oldest_python").OLDEST))
        assert project["requires-python"] == f">={oldest}"

    @pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
    def test_an_old_python_can_read_the_scripts(self, path):
        # Else it would answer with a syntax error before it could be refused.
        ast.parse(path.read_text("utf-8"), feature_version=(3, 7))

    @pytest.mark.parametrize("name", ["start", "check"])
    def test_is_refused_before_anything_else(self, name):
        code = (
            "import runpy, sys; sys.version_info = (3, 9, 2, 'final', 0);"
            "runpy.run_path(sys.argv[1], run_name='__main__')"
        )
        done = subprocess.run(
            [sys.executable, "-c", code, FOLDER / f"{name}.py"],
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 1
        assert done.stdout == ""
        assert done.stderr.startswith("Pull Once needs Python")
        assert done.stderr.count("\n") == 1


class TestStamp:
    CONTENT = (b"[project]", "3.11.7 (main)", "place")

    def test_is_the_same_for_the_same(self, script):
        digest = script("environment").digest
        assert digest(*self.CONTENT) == digest(*self.CONTENT)

    @pytest.mark.parametrize(
        "other",
        [
            (b"[project] ", "3.11.7 (main)", "place"),
            (b"[project]", "3.12.0 (main)", "place"),
            (b"[project]", "3.11.7 (main)", "elsewhere"),
            (b"[project]3", ".11.7 (main)", "place"),
        ],
    )
    def test_changes_with_each_part(self, script, other):
        digest = script("environment").digest
        assert digest(*self.CONTENT) != digest(*other)

    @pytest.mark.parametrize(
        ("stamp", "extra", "current"),
        [
            ("abc \n", "", True),
            ("abc \n", "dev", False),
            ("abc dev\n", "dev", True),
            ("abc dev\n", "", True),
            ("other dev\n", "dev", False),
            ("other\n", "", False),
            ("", "", False),
            ("\n", "dev", False),
        ],
    )
    def test_says_what_is_installed(self, script, stamp, extra, current):
        assert script("environment").is_current(stamp, "abc", extra) is current

    def test_a_prepared_environment_is_left_alone(self, script, monkeypatch, tmp_path):
        environment = script("environment")
        python = environment.python_of(tmp_path)
        python.parent.mkdir()
        python.touch()
        stamp = tmp_path / "stamp"
        pyproject = (ROOT / "pyproject.toml").read_bytes()
        stamp.write_text(f"{environment.digest(pyproject, sys.version, str(ROOT))} dev\n")
        monkeypatch.setattr(environment, "FOLDER", tmp_path)
        monkeypatch.setattr(environment, "STAMP", stamp)
        monkeypatch.setattr(environment, "install", lambda *_: pytest.fail("installed again"))
        assert environment.prepare() == python
        assert environment.prepare("dev") == python

    def test_a_failed_installation_leaves_no_stamp(self, script, monkeypatch, tmp_path):
        environment = script("environment")

        def fail(*_):
            sys.exit("no network")

        stamp = tmp_path / "stamp"
        stamp.write_text("of before\n")
        monkeypatch.setattr(environment, "FOLDER", tmp_path)
        monkeypatch.setattr(environment, "STAMP", stamp)
        monkeypatch.setattr(environment, "make", lambda _: None)
        monkeypatch.setattr(environment, "install", fail)
        with pytest.raises(SystemExit, match="no network"):
            environment.prepare()
        assert not stamp.exists()

    @pytest.mark.parametrize(
        ("system", "parts"),
        [("posix", ("bin", "python")), ("nt", ("Scripts", "python.exe"))],
    )
    def test_interpreter(self, script, system, parts):
        assert script("environment").python_of(Path("v"), system) == Path("v", *parts)

    def test_version_of(self, script, tmp_path):
        environment = script("environment")
        assert environment.version_of(Path(sys.executable)) == sys.version
        assert environment.version_of(tmp_path / "python") == ""


class TestSystemPackages:
    @pytest.mark.parametrize(
        ("os_release", "expected"),
        [
            ({"ID": "debian"}, True),
            ({"ID": "ubuntu", "ID_LIKE": "debian"}, True),
            ({"ID": "linuxmint", "ID_LIKE": "ubuntu debian"}, True),
            ({"ID": "fedora"}, False),
            ({"ID": "rocky", "ID_LIKE": "rhel centos fedora"}, False),
            ({"ID": "debianesque"}, False),
            ({}, False),
        ],
    )
    def test_debian_like(self, script, os_release, expected):
        assert script("system_packages").debian_like(os_release) is expected

    def test_line_for_a_user_and_for_root(self, script):
        line = script("system_packages").install_line
        assert line(["a", "b"], root=True) == (
            "apt-get update && apt-get install -y --no-install-recommends a b"
        )
        assert line(["a"], root=False) == (
            "sudo apt-get update && sudo apt-get install -y --no-install-recommends a"
        )

    def test_provided(self, script):
        listing = [
            "ii \tlibgl1\t",
            "ii \tlibglib2.0-0t64\tlibglib2.0-0 (= 2.80.0-6), libglib2.0-data:any",
            "rc \txvfb\txserver",
        ]
        assert script("system_packages").provided(listing) == {
            "libgl1",
            "libglib2.0-0t64",
            "libglib2.0-0",
            "libglib2.0-data",
        }

    def test_a_user_is_told_the_line(self, script, monkeypatch, capsys):
        packages = script("system_packages")
        monkeypatch.setattr(packages, "is_root", lambda: False)
        assert packages.install(["libgl1"]) is False
        assert packages.install_line(["libgl1"], root=False) in capsys.readouterr().out

    def test_nothing_is_done_elsewhere(self, script, monkeypatch):
        packages = script("system_packages")
        monkeypatch.setattr(packages, "on_debian", lambda: False)
        monkeypatch.setattr(packages, "install", lambda _: pytest.fail("installed"))
        assert packages.ensure(["libgl1"]) is False

    @pytest.mark.parametrize(("lacking", "calls"), [((), 0), (("libgl1",), 1)])
    def test_only_what_is_missing_is_installed(self, script, monkeypatch, lacking, calls):
        packages = script("system_packages")
        installed = []
        monkeypatch.setattr(packages, "on_debian", lambda: True)
        monkeypatch.setattr(packages, "missing", lambda _: lacking)
        monkeypatch.setattr(packages, "install", lambda names: installed.append(names) or True)
        assert packages.ensure(["libgl1", "libegl1"]) is True
        assert installed == [lacking] * calls


class TestCheck:
    def test_all_steps_end_with_the_tests(self, script):
        check = script("check")
        assert check.chosen([]) == check.STEPS
        assert list(check.STEPS)[-1] == "tests"

    def test_chosen_steps_keep_their_order(self, script):
        assert list(script("check").chosen(["tests", "lint"])) == ["lint", "tests"]

    def test_an_unknown_step_is_named(self, script):
        with pytest.raises(ValueError, match="no step nonsense: there are format, lint"):
            script("check").chosen(["lint", "nonsense"])

    def test_a_failed_step_does_not_stop_the_others(self, script, capfd):
        fail = [sys.executable, "-c", "raise SystemExit(4)"]
        work = [sys.executable, "-c", "print('worked')"]
        assert script("check").run_all({"one": fail, "two": work, "three": fail}) == [
            "one",
            "three",
        ]
        output = capfd.readouterr().out
        assert "one: FAILED with exit status 4" in output
        assert output.index("two: running") < output.index("worked") < output.index("two: ok")

    @pytest.mark.parametrize(("status", "expected"), [(0, 0), (5, 1)])
    def test_exit_status(self, script, monkeypatch, capsys, status, expected):
        check = script("check")
        monkeypatch.setattr(check.environment, "prepare", lambda _: Path("python"))
        monkeypatch.setattr(check.system_packages, "ensure", lambda _: True)
        monkeypatch.setattr(check.subprocess, "call", lambda *_, **__: status)
        assert check.main(["lint", "tests"]) == expected
        assert ("Failed: lint, tests" in capsys.readouterr().out) is bool(expected)

    def test_steps_run_without_a_screen(self, script, capfd, monkeypatch):
        monkeypatch.setenv("QT_QPA_PLATFORM", "xcb")
        show = "import os; print(os.environ['QT_QPA_PLATFORM'], os.environ['LANG'])"
        assert script("check").run("show", [sys.executable, "-c", show])
        assert "offscreen C.UTF-8" in capfd.readouterr().out
