"""The engine and its knowledge work where PySide6 is not installed."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent

# Put before a program, this makes Python behave as if Qt were not there.
NO_QT = """
import sys

class NoQt:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in {"PySide6", "shiboken6"}:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)

sys.meta_path.insert(0, NoQt())
"""
IMPORT_ALL = """
import importlib, pkgutil
import diagnose, knowledge
for package in (diagnose, knowledge):
    for module in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
            print(module.name)
"""
RUN_DIAGNOSE = """
import runpy
runpy.run_module("diagnose", run_name="__main__", alter_sys=True)
"""


def without_qt(program, *arguments):
    return subprocess.run(
        [sys.executable, "-c", NO_QT + program, *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("module", ["PySide6", "PySide6.QtCore", "shiboken6"])
def test_qt_is_hidden(module):
    done = without_qt(f"import {module}")
    assert done.returncode == 1
    assert "ModuleNotFoundError" in done.stderr


def test_every_module_imports():
    done = without_qt(IMPORT_ALL)
    assert done.returncode == 0, done.stderr
    assert {"knowledge.load", "diagnose.case"} <= set(done.stdout.split())


@pytest.mark.parametrize("command", ["rank", "advise"])
def test_the_example_is_diagnosed(command):
    done = without_qt(RUN_DIAGNOSE, command, str(ROOT / "knowledge/examples/example.yaml"))
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip()
